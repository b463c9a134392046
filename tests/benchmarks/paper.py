"""Memo and brief: processor time to print them, beside the calculation of the same run."""

from __future__ import annotations

import gc
import io
import time
from collections.abc import Callable
from typing import TypeVar

Made = TypeVar("Made")
RUNS = 3


def main() -> dict[str, str]:
    """Print the example without draws; the ratio is to all that is calculated for it."""
    import pypdf

    from pcompare import run
    from pcompare.documents import brief, memo
    from pcompare.inputs import reader

    gc.set_threshold(1_000_000)  # as the command does
    dossier, worked = _timed(lambda: run.dossier(reader.read(), draws=0), 1)
    print(f"\npaper, processor time: calculation of the run {worked:.2f} s")
    for name, make in (("memo", memo.memo), ("brief", brief.brief)):
        data, taken = _timed(lambda make=make: make(dossier), RUNS)  # type: ignore[misc]
        count = len(pypdf.PdfReader(io.BytesIO(data)).pages)
        each, ratio = 1000.0 * taken / count, taken / worked
        print(
            f"{name:6}{count:4} pages{len(data) / 1e6:6.2f} MB{taken:6.2f} s{each:6.1f} ms a page"
        )
        print(f"{'':6}{ratio:5.2f} of the calculation")
    return {}


def _timed(work: Callable[[], Made], runs: int) -> tuple[Made, float]:
    """Give what was made and the least processor time of some runs."""
    taken = []
    for _ in range(runs):
        start = time.process_time()
        made = work()
        taken.append(time.process_time() - start)
    return made, min(taken)


if __name__ == "__main__":
    main()
