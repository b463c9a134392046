"""The commands. Each imports what it needs when it runs; only this module prints."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence

from pcompare import command_line, streams
from pcompare.errors import Fault, OutputError, PCompareError, UsageError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from pathlib import Path

    from pcompare.command_line import Options
    from pcompare.findings import (
        Dossier,
        Portfolio,
        Recording,
        Sweep,
    )
    from pcompare.records import Inputs

FAULTS = 10  # faults of plants that are printed


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and give its exit status."""
    streams.prepare()
    try:
        try:
            return _run(command_line.parsed(arguments))
        finally:
            sys.stdout.flush()  # a full disk or a closed pipe shows here, and not after the end
    except PCompareError as error:
        return _told(str(error), error.status)
    except BrokenPipeError:  # a kind of OSError, so it stands first
        streams.silence()
        return 0
    except OSError as error:
        streams.silence()
        where = str(error.filename or "standard output")
        reason = (error.strerror or str(error)).lower()
        needs = "a place with room, and leave to write"
        return _told(str(Fault(where=where, found=reason, needs=needs)), 1)
    except MemoryError:
        needs = "fewer draws or steps, or other programs closed"
        return _told(str(Fault(where="memory", found="too little", needs=needs)), 1)
    except KeyboardInterrupt:
        return _stopped()


def program() -> int:
    """Run one command as a process of its own."""
    import gc
    import os

    # No matrix here is large, and threads that wait for one are in the way of other processes.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(500_000)  # hardly anything here refers to itself in a circle
    try:
        status = main()
        if status == 0:
            sys.stderr.flush()
            # All is done and told, and nothing is open. Python would only put away what the system
            # takes back, and die of a Ctrl-C that comes while it does.
            os._exit(0)
    except KeyboardInterrupt:
        status = _stopped()
    return status


def _stopped() -> int:
    print("stopped; every document there is whole", file=sys.stderr)
    return 130


def _run(options: Options) -> int:
    if options.version:
        from pcompare import __version__

        print(f"pcompare {__version__}")
        return 0
    if options.command is None:
        command_line.parser().print_help()
        return 2
    return COMMANDS[options.command](options)


def _told(message: str, status: int) -> int:
    print(f"error: {message}", file=sys.stderr)
    return status


def _read(options: Options) -> Inputs:
    from pcompare.inputs import reader

    return reader.read(options.case, options.overrides)


def _case(options: Options) -> list[Path]:
    """List the input file, which is never written over."""
    from pathlib import Path

    case = getattr(options, "case", None)
    return [Path(case)] if case else []


def _form(options: Options) -> int:
    from pathlib import Path

    from pcompare import files
    from pcompare.inputs import form

    path = Path(options.file)
    if path.suffix.lower() != ".xlsx":
        raise UsageError(f"form: found '{path.name}'; needs a file name that ends in .xlsx")
    if path.exists() and not options.overwrite:
        needs = "a new name, or --overwrite where it may be lost"
        raise OutputError(str(path), "a file that is there already", needs)
    files.write(path, form.form(blank=options.blank, system=options.units))
    print(f"wrote {path}")
    return 0


def _check(options: Options) -> int:
    from pcompare.appendix import field_rows
    from pcompare.units import pretty, show, significant

    inputs = _read(options)
    rows = field_rows(inputs)
    for row in rows.values():
        if row.sheet == "Coefficients" and row.status != "given":
            continue
        if isinstance(row.value, str):
            print(f"{row.name:38} {row.value}")
            continue
        numbers = row.value if isinstance(row.value, tuple) else (row.value,)
        text = " ".join(significant(show(v, row.unit, options.units)[0], 4) for v in numbers)
        print(f"{row.name:38} {text} {pretty(row.unit, options.units)}  [{row.origin}]")
    for warning in inputs.warnings:
        print(f"note: {warning}")
    print(f"{inputs.name}: {len(rows)} fields understood, {len(inputs.warnings)} to look at")
    return 0


def _compare(options: Options) -> int:
    from pcompare import designing, terminal
    from pcompare.beside import cores

    inputs = _read(options)
    if options.json is not None:
        from pcompare import run
        from pcompare.documents import results_json

        _emit(options, options.json, results_json.document(run.dossier(inputs, draws=0)))
        if options.json == "-":
            return 0
    compared = designing.compare(inputs, cores(), variants=False)
    if options.csv is not None:
        _emit(options, options.csv, terminal.comparison_csv(compared).encode())
        if options.csv == "-":
            return 0
    print(terminal.comparison_table(compared, options.units))
    for warning in inputs.warnings:
        print(f"note: {warning}")
    return 0


def _emit(options: Options, target: str, data: bytes) -> None:
    """Write bytes to a file, or to standard output for ``-``."""
    if target == "-":
        # Bytes, not text: a terminal of few letters must not lose any of a document.
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        return
    from pathlib import Path

    from pcompare import files

    files.write(Path(target), data, never=_case(options))
    print(f"wrote {target}")


def _progress() -> Callable[[int, int], None] | None:
    """Show on a terminal how many draws are done; nothing where the output goes elsewhere."""
    if not sys.stderr.isatty():
        return None

    def shown(done: int, whole: int) -> None:
        last = "\n" if done >= whole else ""
        print(f"\r{done} of {whole} draws", end=last, file=sys.stderr, flush=True)

    return shown


def _memo(options: Options) -> int:
    import gc
    from pathlib import Path

    from pcompare import files, run
    from pcompare.beside import beside, cores

    # Every step of the calculation stays until the book is written: to look for rubbish among
    # them again and again would take a fifth of the time.
    gc.set_threshold(1_000_000)
    inputs = _read(options)
    folder = files.ensure_folder(Path(options.out))
    dossier = run.dossier(inputs, options.draws, options.seed, _progress(), cores(), _steps_of_book)
    # The book stays here: a copy that walked through all steps would copy their memory as well.
    pages = beside(lambda: _pages_of(dossier, options.units), cores())
    tables = _tables_of(dossier)
    written = {folder / name: content for name, content in (pages() | tables).items()}
    files.write_all(written, never=_case(options))
    for path in written:
        print(f"wrote {path}")
    print(dossier.comparison.recommendation)
    return 0


def _steps_of_book(recording: Recording) -> None:
    from pcompare.documents import book_plan

    book_plan.steps(recording)


def _pages_of(dossier: Dossier, units: str) -> dict[str, bytes]:
    from pcompare.documents import brief, memo

    return {
        "options_memo.pdf": memo.memo(dossier, units=units),
        "board_brief.pdf": brief.brief(dossier, units=units),
    }


def _tables_of(dossier: Dossier) -> dict[str, bytes]:
    from pcompare.documents import calculation_book, results_json

    return {
        "calculation_book.xlsx": calculation_book.book(dossier),
        "results.json": results_json.document(dossier),
    }


def _brief(options: Options) -> int:
    from pathlib import Path

    from pcompare import files, run
    from pcompare.documents import brief

    inputs = _read(options)
    folder = files.ensure_folder(Path(options.out))
    dossier = run.dossier(inputs, options.draws, options.seed)
    path = folder / "board_brief.pdf"
    files.write(path, brief.brief(dossier, units=options.units), never=_case(options))
    print(f"wrote {path}")
    return 0


def _portfolio(options: Options) -> int:
    from pathlib import Path

    from pcompare import files
    from pcompare.beside import cores
    from pcompare.documents import portfolio_summary
    from pcompare.portfolio import runner

    source, out = Path(options.plants), Path(options.out)
    base = Path(options.base) if options.base else None
    if base is not None and source.is_dir():
        raise UsageError(f"portfolio: found --base and the folder {source}; needs forms alone")
    spread = runner.processes(options.jobs or cores())
    try:
        found = runner.run(source, out, base, spread, _plants_done())
    except KeyboardInterrupt:
        print("stopped; the same command goes on from what is done", file=sys.stderr)
        return 130
    files.write(out / "summary.pdf", portfolio_summary.summary(found, options.units))
    if found.taken_over:
        print(f"took over {found.taken_over} of {found.chunks} chunks of an earlier run")
    for name in (*runner.FILES, "summary.pdf"):
        print(f"wrote {out / name}")
    if found.assumed:
        print(
            "note: no base form; taken for every plant from the worked example, a fictional plant: "
            + ", ".join(found.assumed)
        )
    print(portfolio_summary.answer(found))
    return _tell_skipped(found, out / runner.FILES[-1])


def _tell_skipped(found: Portfolio, listed: Path) -> int:
    """Print the first faults of plants, and give the exit status."""
    if not found.skipped:
        return 0
    print(f"{found.skipped} of {found.plants} plants skipped:", file=sys.stderr)
    for fault in found.faults[:FAULTS]:
        print(f"  {fault.name or 'without a name'}: {fault.message}", file=sys.stderr)
    if len(found.faults) > FAULTS:
        print(f"  and {len(found.faults) - FAULTS} more in {listed}", file=sys.stderr)
    return 1


def _plants_done() -> Callable[[int, int], None] | None:
    """Show on a terminal how many plants are done and how long the rest will take."""
    if not sys.stderr.isatty():
        return None
    from time import monotonic

    begin = monotonic()
    before: list[int] = []  # plants that were done as this run began

    def shown(done: int, whole: int) -> None:
        since = monotonic() - begin
        if not before:
            before.append(done)
            return
        left = since * (whole - done) / max(done - before[0], 1)
        told = f"about {left:.0f} s left" if done < whole else f"{since:.0f} s"
        last = "\n" if done >= whole else ""
        print(f"\r{done} of {whole} plants, {told}    ", end=last, file=sys.stderr, flush=True)

    return shown


def _targets(options: Options) -> int:
    from pcompare import run, terminal, what_if

    lowest, highest = 0.001, 100.0  # mg P/L
    if not lowest <= options.stop < options.start <= highest or options.steps < 1:
        raise UsageError(
            f"targets: found --from {options.start} --to {options.stop} --steps {options.steps}; "
            f"needs limits from {highest:g} down to {lowest:g} mg P/L, falling, and at least 1 step"
        )
    inputs = _read(options)
    sweep: Sweep = run.targets(inputs, options.start, options.stop, options.steps)
    print(terminal.sweep_table(sweep, what_if.crossings(inputs, sweep)))
    return 0


def _explain(options: Options) -> int:
    from pcompare import explain

    told = explain.Explainer(_read(options)).explain(options.key)
    if options.json is not None:
        _emit(options, options.json, f"{explain.document(told)}\n".encode())
    else:
        print(explain.text(told, options.depth))
    return 0


def _calc(options: Options) -> int:
    from pcompare import catalogue, listings

    if options.help:
        described = options.equation and catalogue.describe(options.equation)
        print(listings.described(described) if described else options.usage())
    elif options.equation is None:
        print(listings.equation_list(catalogue.equation_rows()))
    else:
        print(listings.calculated(catalogue.calc(options.equation, options.arguments)))
    return 0


def _tables(options: Options) -> int:
    from pcompare import listings, tables

    if options.name and options.name not in tables.names():
        known = ", ".join(tables.names())
        raise UsageError(
            f"tables: found '{options.name[:40]}', no such table; needs one of {known}"
        )
    print(listings.reference_table(tables.read(options.name)) if options.name
          else "\n".join(tables.names()))  # fmt: skip
    return 0


def _verify(options: Options) -> int:
    from pcompare import catalogue, listings

    report = catalogue.verify()
    if options.json is not None:
        _emit(options, options.json, listings.verify_json(report).encode())
    else:
        print(listings.verify_table(report))
    return 0 if report.passed else 1


COMMANDS = {
    "form": _form,
    "check": _check,
    "compare": _compare,
    "memo": _memo,
    "brief": _brief,
    "targets": _targets,
    "portfolio": _portfolio,
    "explain": _explain,
    "calc": _calc,
    "tables": _tables,
    "verify": _verify,
}
