"""Time the commands and the point calculation; print medians and ratios."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pcompare.arrays import Quantity
    from pcompare.records import Inputs
    from pcompare.strategies.treatment import Treatment

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


BOOKED: list[tuple[Inputs, Treatment]] = []  # what two forked processes share


def book_half(first: int) -> int:
    """Book every second treatment; the waters stay where they are made."""
    from pcompare.strategies import ledger

    return sum(int(ledger.ledger(*one)["ph"].size) for one in BOOKED[first::2])


def ledger_of_ions(draws: int = 10_000, months: int = 12) -> None:
    """Time the full ledger of ions, with pH, of every strategy over draws and months.

    The ledger alone: the treatments that it books are worked out beforehand.
    """
    import multiprocessing

    import numpy as np

    from pcompare import evaluation, run, uncertainty
    from pcompare.arrays import as_cases
    from pcompare.inputs import reader
    from pcompare.strategies import ledger, plant

    inputs = reader.read()
    wave = 1.0 + 0.1 * np.sin(np.arange(months))
    monthly = {
        n: as_cases(inputs[n] * wave)
        for n in ("influent.tp", "influent.alkalinity", "influent.temperature_average")
    }
    year = replace(inputs, values={**inputs.values, **monthly})
    chosen = run.carried_designs(run.compare(year))
    drawn = uncertainty.draw(year, draws, 1)
    chunk, uncertainty.CHUNK = uncertainty.CHUNK, 500  # small enough for a processor's cache
    booked: list[tuple[Inputs, Treatment]] = []
    whole = ledger.ledger

    def kept(cases: Inputs, treated: Treatment) -> dict[str, Quantity]:
        booked.append((cases, treated))
        return whole(cases, treated)

    plant.ledger = kept
    for cases in uncertainty.chunks(year, drawn, draws):
        evaluation.evaluate(cases, chosen)
    plant.ledger, uncertainty.CHUNK = whole, chunk
    start = time.perf_counter()
    waters = sum(whole(*one)["ph"].size for one in booked)
    alone = time.perf_counter() - start
    BOOKED[:] = booked
    with multiprocessing.get_context("fork").Pool(2) as two:
        start = time.perf_counter()
        two.map(book_half, (0, 1))
        together = time.perf_counter() - start
    print(
        f"\nledger of ions, {draws} draws x {months} months x {len(chosen)} strategies "
        f"({waters} waters): {alone:.1f} s on one core, {together:.1f} s on two"
    )


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
    ledger_of_ions()

    draws()


if __name__ == "__main__":
    main()
