"""Time many plants from one CSV at three sizes: the time for each must not grow with their number.

Run it alone with ``python -m tests.benchmarks.plants``. Time is that of the clock and of all
processors together; memory is that of all processes of the command together, at most.
"""

from __future__ import annotations

import os
import random
import resource
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

SIZES = (1_000, 4_000, 16_000)
# A dozen columns, each plant its own: all strengths move together, and a little by themselves.
STRENGTHS = ("influent.tp", "influent.orthophosphate", "influent.cod", "influent.bod5",
             "influent.rbcod", "influent.vfa", "influent.tkn", "influent.ammonia")  # fmt: skip
LIMITS = (0.1, 0.2, 0.3, 0.5, 1.0)


def write(path: Path, count: int) -> None:
    """Write a CSV of unlike plants around the worked example, none with a fault."""
    from pcompare.inputs import reader

    example = reader.read()
    source = random.Random(count)
    with path.open("w", encoding="utf-8") as out:
        columns = ("flow.average", "influent.alkalinity", "influent.temperature_minimum",
                   "permit.tp", *STRENGTHS)  # fmt: skip
        out.write(f"name,{','.join(columns)}\n")
        for i in range(count):
            strong = source.uniform(0.8, 1.2)
            own = [
                10.0 ** source.uniform(2.7, 5.3),
                float(example["influent.alkalinity"].mean()) * source.uniform(0.97, 1.03),
                source.uniform(8.0, 12.0),
                source.choice(LIMITS),
                *(
                    float(example[name].mean()) * strong * source.uniform(0.97, 1.03)
                    for name in STRENGTHS
                ),
            ]
            out.write(f"plant {i},{','.join(f'{x:.6g}' for x in own)}\n")


def memory(session: int) -> float:
    """Resident memory of all processes of a session [MB]; Linux only."""
    pages = 0
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if int((folder / "stat").read_text().rpartition(")")[2].split()[3]) == session:
                pages += int((folder / "statm").read_text().split()[1])
        except (OSError, ValueError, IndexError):
            continue  # it has just ended
    return pages * resource.getpagesize() / 1e6


def timed(path: Path, out: Path) -> tuple[float, float, float]:
    """Run the command; give seconds of the clock and of all processors, and MB at most."""
    command = [sys.executable, "-m", "pcompare", "portfolio", str(path), "--out", str(out)]
    before, begin = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    most = [0.0]
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, start_new_session=True
    ) as started:

        def watch() -> None:
            while started.poll() is None:
                most[0] = max(most[0], memory(started.pid))
                time.sleep(0.1)

        watching = threading.Thread(target=watch)
        watching.start()
        _, errors = started.communicate()
        watching.join()
    seconds, after = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_CHILDREN)
    assert started.returncode == 0, errors.decode()
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return seconds, spent, most[0]


def main(sizes: tuple[int, ...] = SIZES) -> dict[str, str]:
    """Print the time and memory of each size, and how both grow."""
    cores = len(os.sched_getaffinity(0))
    print(f"\nmany plants from one CSV, 12 columns, worked example as base, {cores} cores")
    print(f"{'plants':>10}{'seconds':>10}{'of processors':>15}{'ms per plant':>14}{'MB':>8}")
    rates = []
    with tempfile.TemporaryDirectory() as folder:
        for count in sizes:
            path = Path(folder) / f"{count}.csv"
            write(path, count)
            seconds, spent, most = timed(path, Path(folder) / f"out {count}")
            rates.append(1000.0 * spent / count)
            print(f"{count:10}{seconds:10.1f}{spent:15.1f}{rates[-1]:14.2f}{most:8.0f}", flush=True)
    print(f"time of processors for a plant, last over first: {rates[-1] / rates[0]:.2f}")
    return {
        f"`pcompare portfolio`, {count} plants of a dozen columns each, every strategy": (
            f"{seconds:.0f} s, {most:.0f} MB; a plant takes {rates[-1] / rates[0]:.2f} of its time "
            f"among {sizes[0]}"
        )
    }


if __name__ == "__main__":
    main(tuple(map(int, sys.argv[1:])) or SIZES)
