"""One plant at point values: every strategy designed, operated and costed."""

from __future__ import annotations

import statistics
import time

RUNS = 20


def main() -> dict[str, str]:
    """Time it in one process and in two; print medians."""
    from pcompare import designing
    from pcompare.inputs import reader

    inputs = reader.read()
    designing.point(inputs)  # tables are read once
    taken: dict[int, list[float]] = {1: [], 2: []}
    for _ in range(RUNS):
        for processes, times in taken.items():
            start = time.perf_counter()
            designing.point(inputs, processes=processes)
            times.append(1000.0 * (time.perf_counter() - start))
    one, two = (statistics.median(times) for times in taken.values())
    print(f"\npoint calculation, all strategies: {one:.0f} ms, in two processes {two:.0f} ms")
    return {"One plant, every strategy": f"{one:.0f} ms, in two processes {two:.0f} ms"}


if __name__ == "__main__":
    main()
