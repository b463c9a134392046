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


def ph_solver(count: int = 2000) -> None:
    """Time the pH solver and PHREEQC, batched, on the same waters; print ratio and difference."""
    import numpy as np

    from pcompare.equations import acid_base
    from tests import test_acid_base as oracle

    oracle.COUNT = count
    oracle.reference.cache_clear()
    start = time.perf_counter()
    water, answer = oracle.reference("open")
    batched = time.perf_counter() - start
    found = np.asarray(oracle.solved(water).ph)
    ours = median(lambda: oracle.solved(water), 20) / 1000.0
    many = {name: np.tile(column, (10_000 // count, 1)) for name, column in water.items()}
    large = median(lambda: oracle.solved(many), 20)
    worst = float(np.abs(found - answer["ph"]).max())
    print(f"\npH of {count} waters: PHREEQC batched {batched:.2f} s, here {1000 * ours:.2f} ms, "
          f"ratio {batched / ours:.0f}; largest difference {worst:.1e}")  # fmt: skip
    print(f"pH of 10 000 waters here: {large:.1f} ms ({acid_base.__name__})")


def draws() -> None:
    """Time the draws at three sizes: the time for each draw must not grow with their number."""
    import resource

    from pcompare import run
    from pcompare.inputs import reader

    inputs = reader.read()
    compared = run.compare(inputs)
    run.study(inputs, compared, 1000, 1)  # scipy.stats is loaded once
    print(f"\n{'draws':>10}{'seconds':>10}{'ms per 1000':>14}{'MB at most':>12}")
    for count in (1_000, 10_000, 100_000):
        start = time.perf_counter()
        run.study(inputs, compared, count, 1)
        seconds = time.perf_counter() - start
        held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
        print(f"{count:10}{seconds:10.2f}{1e6 * seconds / count:14.0f}{held:12.0f}")


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
            median(lambda: evaluation.point(inputs), 20),
        ),
    ]
    with tempfile.TemporaryDirectory() as folder:
        memo = ("-m", "pcompare", "memo", "--out", folder, "--draws")
        rows.append(("pcompare memo --draws 0", median(process(*memo, "0"), 3)))
        rows.append(("pcompare memo --draws 2000", median(process(*memo, "2000"), 3)))
        rows.append(("pcompare memo --draws 10000", median(process(*memo, "10000"), 1)))
    print(f"{'':36}{'median ms':>10}")
    for name, value in rows:
        print(f"{name:36}{value:10.0f}")
    ph_solver()
    draws()


if __name__ == "__main__":
    main()
