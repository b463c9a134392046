"""Time the commands and the point calculation; print medians and ratios."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable

RUNS = 7


def median(work: Callable[[], object], runs: int = RUNS) -> float:
    """Median time of some runs after one warm-up, in milliseconds."""
    work()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(1000.0 * (time.perf_counter() - start))
    return statistics.median(times)


def process(*arguments: str) -> Callable[[], object]:
    return lambda: subprocess.run([sys.executable, *arguments], check=True, capture_output=True)


def main() -> None:
    from pcompare import evaluation
    from pcompare.inputs import reader

    inputs = reader.read()
    rows = [
        ("python -c pass", median(process("-c", "pass"))),
        ("import argparse", median(process("-c", "import argparse"))),
        ("import numpy, openpyxl", median(process("-c", "import numpy, openpyxl"))),
        ("pcompare --help", median(process("-m", "pcompare", "--help"))),
        ("pcompare check", median(process("-m", "pcompare", "check"))),
        ("pcompare compare", median(process("-m", "pcompare", "compare"))),
        (
            "point calculation, all strategies",
            median(lambda: evaluation.evaluate(inputs, evaluation.designs(inputs)), 20),
        ),
    ]
    with tempfile.TemporaryDirectory() as folder:
        memo = ("-m", "pcompare", "memo", "--out", folder, "--draws")
        rows.append(("pcompare memo --draws 0", median(process(*memo, "0"), 3)))
        rows.append(("pcompare memo --draws 2000", median(process(*memo, "2000"), 3)))
    print(f"{'':36}{'median ms':>10}")
    for name, value in rows:
        print(f"{name:36}{value:10.0f}")


if __name__ == "__main__":
    main()
