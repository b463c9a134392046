"""The pH solver beside PHREEQC on the same waters, and the ledger of ions that uses it."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pcompare.arrays import Quantity
    from pcompare.records import Inputs, Operation
    from pcompare.strategies.treatment import Treatment

RUNS = 20
Figures = dict[str, str]


def median(work: Callable[[], object]) -> float:
    """Median time of some runs after one warm-up, in milliseconds."""
    work()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times.append(1000.0 * (time.perf_counter() - start))
    return statistics.median(times)


def ph_solver(count: int = 2000) -> Figures:
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
    ours = median(lambda: oracle.solved(water)) / 1000.0
    many = {name: np.tile(column, (10_000 // count, 1)) for name, column in water.items()}
    large = median(lambda: oracle.solved(many))
    worst = float(np.abs(found - answer["ph"]).max())
    print(f"\npH of {count} waters: PHREEQC batched {batched:.2f} s, here {1000 * ours:.2f} ms, "
          f"ratio {batched / ours:.0f}; largest difference {worst:.1e}")  # fmt: skip
    print(f"pH of 10 000 waters here: {large:.1f} ms ({acid_base.__name__})")
    return {
        f"pH of {count} waters, beside PHREEQC batched through its Python interface": (
            f"{batched / ours:.0f} times as fast, {worst:.0e} pH apart at most"
        )
    }


# What two forked processes share: treatments to book, and operations whose water is to be told.
BOOKED: list[tuple[Inputs, Treatment]] = []
WATERS: list[tuple[Inputs, Operation]] = []


def book(first: int, step: int) -> int:
    """Book each of some treatments with its ions and pH; the waters stay where they are made."""
    from pcompare.strategies import dissolved, ledger

    for one in BOOKED[first::step]:
        ledger.ledger(*one)
    return sum(
        int(dissolved.quantities(cases, run.water)["ph"].size) for cases, run in WATERS[first::step]
    )


def book_half(first: int) -> int:
    """Book every second one."""
    return book(first, 2)


def ledger_of_ions(draws: int = 10_000, months: int = 12) -> None:
    """Time the full ledger of ions, with pH, of every strategy over draws and months.

    The ledger alone: the treatments that it books are worked out beforehand.
    """
    import multiprocessing

    import numpy as np

    from pcompare import evaluation, run, uncertainty
    from pcompare.arrays import as_cases
    from pcompare.inputs import reader
    from pcompare.strategies import plant

    inputs = reader.read()
    wave = 1.0 + 0.1 * np.sin(np.arange(months))
    monthly = {
        n: as_cases(inputs[n] * wave)
        for n in ("influent.tp", "influent.alkalinity", "influent.temperature_average")
    }
    year = replace(inputs, values={**inputs.values, **monthly})
    chosen = run.carried_designs(run.compare(year))
    drawn = uncertainty.uniform(year, draws, 1)
    chunk, uncertainty.CHUNK = uncertainty.CHUNK, 500  # small enough for a processor's cache
    whole, dissolve = plant.ledger, evaluation.dissolve

    def kept(cases: Inputs, treated: Treatment) -> dict[str, Quantity]:
        BOOKED.append((cases, treated))
        return whole(cases, treated)

    def told(cases: Inputs, operation: Operation) -> Operation:
        WATERS.append((cases, operation))
        return dissolve(cases, operation)

    plant.ledger, evaluation.dissolve = kept, told
    for cases in uncertainty.chunks(year, drawn, draws):
        evaluation.evaluate(cases, chosen)
    plant.ledger, evaluation.dissolve, uncertainty.CHUNK = whole, dissolve, chunk
    start = time.perf_counter()
    waters = book(0, 1)
    alone = time.perf_counter() - start
    with multiprocessing.get_context("fork").Pool(2) as two:
        start = time.perf_counter()
        two.map(book_half, (0, 1))
        together = time.perf_counter() - start
    print(
        f"\nledger of ions, {draws} draws x {months} months x {len(chosen)} strategies "
        f"({waters} waters): {alone:.1f} s on one core, {together:.1f} s on two"
    )


def main() -> Figures:
    """Run both; give the ratio to PHREEQC."""
    found = ph_solver()
    ledger_of_ions()
    return found


if __name__ == "__main__":
    main()
