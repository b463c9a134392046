"""The words of the command line: what each command takes, and the help that says so."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence

from pcompare.errors import shown

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeAlias

    _Commands: TypeAlias = "argparse._SubParsersAction[_Parser]"

Options = argparse.Namespace  # what one command was given
HELP_WIDTH = 88
MOST_DRAWS, MOST_STEPS = 100_000, 1000  # beyond what memory holds
CASE_HELP = "a filled form (.xlsx) or a .toml with the same fields; left out: the worked example"


class _Parser(argparse.ArgumentParser):
    """A parser whose help has one width, so that nothing is loaded to ask the terminal for its."""

    def __init__(self, **options: Any) -> None:
        super().__init__(formatter_class=_lines_of_help, **options)


def _lines_of_help(prog: str) -> argparse.HelpFormatter:
    return argparse.HelpFormatter(prog, width=HELP_WIDTH)


def parser(only: str | None = None) -> _Parser:
    """Build the command line, of ``only`` one command where that is known: each takes its time."""
    top = _Parser(
        prog="pcompare",
        description="Compare metal salt, biological removal and both together for one plant and "
        "one phosphorus limit. Planning level: not a design.",
    )
    top.add_argument("--version", action="store_true", help="print the version")
    commands = top.add_subparsers(dest="command", metavar="COMMAND")
    for name, add in ARGUMENTS.items():
        if only in (None, name):
            add(commands)
    return top


def _form_arguments(commands: _Commands) -> None:
    form = commands.add_parser("form", help="write the input form")
    form.add_argument("file", metavar="FILE.xlsx")
    form.add_argument("--blank", action="store_true", help="without the worked example")
    form.add_argument("--overwrite", action="store_true", help="replace a form that is there")
    _units(form)


def _check_arguments(commands: _Commands) -> None:
    check = _with_case(commands, "check", "read and validate, and print what was understood")
    _units(check)


def _compare_arguments(commands: _Commands) -> None:
    compare = _with_case(commands, "compare", "side-by-side table, point values")
    compare.add_argument("--json", metavar="FILE", help="results as JSON; - for standard output")
    compare.add_argument("--csv", metavar="FILE", help="results as CSV")
    _units(compare)


def _memo_arguments(commands: _Commands) -> None:
    memo = _with_case(commands, "memo", "options memo, board brief, calculation book and results")
    _with_draws(memo)


def _brief_arguments(commands: _Commands) -> None:
    brief = _with_case(commands, "brief", "board brief alone: two pages in plain words")
    _with_draws(brief)


def _with_draws(command: _Parser) -> None:
    command.add_argument(
        "--out", metavar="DIR", default="reports", help="folder (default: reports)"
    )
    command.add_argument("--draws", type=_draws, default=2000, metavar="N", help="default 2000")
    command.add_argument("--seed", type=_count, default=1, metavar="N", help="default 1")
    _units(command)


def _targets_arguments(commands: _Commands) -> None:
    targets = _with_case(commands, "targets", "every strategy against the effluent limit")
    targets.add_argument("--from", dest="start", type=float, default=2.0, metavar="MG_P_L")
    targets.add_argument("--to", dest="stop", type=float, default=0.05, metavar="MG_P_L")
    targets.add_argument("--steps", type=_steps, default=20, metavar="N")


def _explain_arguments(commands: _Commands) -> None:
    explain = _with_case(commands, "explain", "how one number was made", key_first=False)
    explain.add_argument("--depth", type=_count, default=6, metavar="N", help="default 6")
    explain.add_argument(
        "--json", nargs="?", const="-", metavar="FILE",
        help="every step once, as JSON; without a file on standard output",
    )  # fmt: skip


def _calc_arguments(commands: _Commands) -> None:
    calc = commands.add_parser(
        "calc", help="one cited equation by name; without one, list them", add_help=False
    )
    calc.add_argument("equation", nargs="?", help="with --help: what it is, with an example")
    calc.add_argument("arguments", nargs="*", metavar="name=value", help="@NAME: a coefficient")
    calc.add_argument("-h", "--help", action="store_true", help="show this, or the equation's own")
    calc.set_defaults(usage=calc.format_help)


def _tables_arguments(commands: _Commands) -> None:
    tables = commands.add_parser("tables", help="the reference tables with sources and status")
    tables.add_argument("name", nargs="?")


def _verify_arguments(commands: _Commands) -> None:
    verify = commands.add_parser("verify", help="every published check")
    verify.add_argument("--json", metavar="FILE", help="as JSON; - for standard output")


def _portfolio_arguments(commands: _Commands) -> None:
    command = commands.add_parser(
        "portfolio",
        help="many plants: a row for each in a CSV, or a folder of forms",
        description="Compare many plants. PLANTS is a CSV with a column 'name' and columns named "
        "by fields of the form, in the units that `pcompare check` prints, or a folder of forms. "
        "What has no column comes from the base form, and so do months and quoted prices; an empty "
        "cell leaves it as it is there, but a field without a default must be given. Writes "
        "results.csv, columns.csv (what each column holds), faults.csv and summary.pdf. The same "
        "command goes on where it was stopped. Exit status 1 where a plant was skipped for a fault "
        "of its input.",
    )
    command.add_argument("plants", metavar="PLANTS", help="a .csv, or a folder of forms")
    command.add_argument(
        "--base", metavar="FORM",
        help="the form that the plants of a CSV share; left out: the worked example",
    )  # fmt: skip
    command.add_argument(
        "--out", metavar="DIR", default="portfolio", help="folder (default: portfolio)"
    )
    command.add_argument(
        "--jobs", type=_count, default=0, metavar="N", help="processes (default: one for each core)"
    )
    _units(command)


def _count(text: str, most: int = 10**18 - 1) -> int:
    value = int(text) if text.isascii() and text.isdigit() and len(text) <= 18 else -1
    if not 0 <= value <= most:
        room = f"from 0 to {most}" if most <= MOST_DRAWS else "of at most 18 digits, 0 or more"
        raise argparse.ArgumentTypeError(f"found {shown(text)}; needs a whole number {room}")
    return value


def _draws(text: str) -> int:
    return _count(text, MOST_DRAWS)


def _steps(text: str) -> int:
    return _count(text, MOST_STEPS)


def _units(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--units",
        choices=("si", "us"),
        default="si",
        help="units printed; --set and JSON stay in base units",
    )


def _with_case(
    commands: _Commands,
    name: str,
    text: str,
    key_first: bool = True,
) -> _Parser:
    command = commands.add_parser(name, help=text)
    command.add_argument("case", nargs="?", metavar="CASE", help=CASE_HELP)
    if not key_first:
        command.add_argument("key", metavar="LINE_KEY", help="for instance no_action.effluent_tp")
    command.add_argument(
        "--set", dest="overrides", action="append", default=[], metavar="FIELD=VALUE",
        help="overrule one field, in base units; may be repeated",
    )  # fmt: skip
    return command


ARGUMENTS: dict[str, Callable[[_Commands], None]] = {
    "form": _form_arguments,
    "check": _check_arguments,
    "compare": _compare_arguments,
    "memo": _memo_arguments,
    "brief": _brief_arguments,
    "targets": _targets_arguments,
    "portfolio": _portfolio_arguments,
    "explain": _explain_arguments,
    "calc": _calc_arguments,
    "tables": _tables_arguments,
    "verify": _verify_arguments,
}


def parsed(arguments: Sequence[str] | None) -> Options:
    """Parse the command line; ``explain`` may have options between its case and its key."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    asked = next((word for word in given if not word.startswith("-")), None)
    top = parser(asked if asked in ARGUMENTS else None)
    options, rest = top.parse_known_args(given)
    if rest:
        late_key = options.command == "explain" and options.case is None and len(rest) == 1
        if not late_key or rest[0].startswith("-"):
            top.error(f"unrecognized arguments: {' '.join(rest)}")
        options.case, options.key = options.key, rest[0]
    return options
