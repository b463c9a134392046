"""Run the benchmarks, or those that are named: ``python -m tests.benchmarks waters odds``.

Each prints what it measured and a ratio to what a user would do otherwise; none is a test. With
``--readme`` the figures are written to the README's table: those of the benchmarks that ran are
new, the others stay.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from tests.benchmarks import (
    calculation,
    commands,
    hottest,
    odds,
    paper,
    plants,
    spreadsheet,
    waters,
)

ALL = {
    "commands": commands.main,  # start-up, and all documents
    "calculation": calculation.main,  # one plant, no draws
    "waters": waters.main,  # pH beside PHREEQC
    "odds": odds.main,  # growth with the draws
    "paper": paper.main,  # memo and brief
    "spreadsheet": spreadsheet.main,  # one row for each draw
    "plants": plants.main,  # many plants, and growth with their number
    "hottest": hottest.main,  # where the time goes
}
README = Path(__file__).parents[2] / "README.md"
TABLE = re.compile(r"(?<=\| what \| measured \|\n\|---\|---\|\n)(?:\|.*\n)*")
ROW = re.compile(r"\| (.*) \| (.*) \|\n")


def main(arguments: list[str]) -> None:
    names = [name for name in arguments if name != "--readme"]
    unknown = [name for name in names if name not in ALL]
    if unknown:
        sys.exit(f"benchmarks: found {', '.join(unknown)}; needs any of {', '.join(ALL)}")
    found: dict[str, str] = {}
    for name in names or ALL:
        found |= ALL[name]()
    if "--readme" in arguments:
        README.write_text(told(README.read_text(encoding="utf-8"), found), encoding="utf-8")


def told(text: str, found: dict[str, str]) -> str:
    """Put figures into the README's table."""
    table = TABLE.search(text)
    if table is None:
        sys.exit("README.md: found no table headed 'what' and 'measured'; needs it for the figures")
    rows = dict(ROW.findall(table.group())) | found
    return TABLE.sub(lambda _: "".join(f"| {a} | {b} |\n" for a, b in rows.items()), text, count=1)


if __name__ == "__main__":
    main(sys.argv[1:])
