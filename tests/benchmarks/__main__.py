"""Run the benchmarks, or those that are named: ``python -m tests.benchmarks waters odds``.

Each prints what it measured and a ratio to what a user would do otherwise; none is a test.
"""

from __future__ import annotations

import sys

from tests.benchmarks import calculation, commands, hottest, odds, plants, spreadsheet, waters

ALL = {
    "commands": commands.main,  # start-up, and all documents
    "calculation": calculation.main,  # one plant, no draws
    "waters": waters.main,  # pH beside PHREEQC
    "odds": odds.main,  # growth with the draws
    "spreadsheet": spreadsheet.main,  # one row for each draw
    "plants": plants.main,  # many plants, and growth with their number
    "hottest": hottest.main,  # where the time goes
}


def main(names: list[str]) -> None:
    unknown = [name for name in names if name not in ALL]
    if unknown:
        sys.exit(f"benchmarks: found {', '.join(unknown)}; needs any of {', '.join(ALL)}")
    for name in names or ALL:
        ALL[name]()


if __name__ == "__main__":
    main(sys.argv[1:])
