"""The odds: how their time and memory grow with the draws, and the organisms' share of it."""

from __future__ import annotations

import resource
import time


def organisms(count: int = 10_000, months: int = 12) -> None:
    """Time every biological strategy over draws and months: operation, ledgers, money, climate."""
    from pcompare import evaluation, run, uncertainty
    from pcompare.inputs import reader

    year = reader.read()
    assert year["influent.vfa"].shape[1] == months
    everything = run.carried_designs(run.compare(year))
    chosen = {n: d for n, d in everything.items() if n == "no_action" or n.startswith("bio")}
    drawn = uncertainty.uniform(year, count, 1)
    start = time.perf_counter()
    for cases in uncertainty.chunks(year, drawn, count):
        evaluation.evaluate(cases, chosen)
    seconds = time.perf_counter() - start
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"\n{count} draws x {months} months x {len(chosen) - 1} biological strategies: "
          f"{seconds:.1f} s on one core, {held:.0f} MB at most")  # fmt: skip


def draws() -> dict[str, str]:
    """Time the draws at three sizes: the time for each draw must not grow with their number."""
    each = []
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
        each.append(f"{1e6 * seconds / count:.0f}")
    return {"1 000 draws of all strategies, of 1 000, 10 000 and 100 000": f"{', '.join(each)} ms"}


def main() -> dict[str, str]:
    """Run both; give the time of 1 000 draws as their number grows."""
    organisms()
    return draws()


if __name__ == "__main__":
    main()
