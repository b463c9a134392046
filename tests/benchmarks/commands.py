"""The commands as they are installed: how long they take beside what they cannot do without."""

from __future__ import annotations

import contextlib
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

RUNS = 15
# What each command is held against, and how many times as long it may take.
RATIOS = (
    ("pcompare --help", "import argparse", 2.0),
    ("pcompare compare", "import numpy, openpyxl", 1.5),
)


@contextlib.contextmanager
def installed() -> Iterator[Path]:
    """Install the package from its wheel into a folder of its own, compiled, and clear it away."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps",
             "--target", folder, "."],
            check=True,
        )  # fmt: skip
        yield Path(folder)


def seconds(command: Sequence[str | Path], path: Path) -> float:
    """Run a command once."""
    start = time.perf_counter()
    subprocess.run(
        command,
        check=True,
        capture_output=True,
        cwd=path,
        env={**os.environ, "PYTHONPATH": str(path)},
    )
    return time.perf_counter() - start


def start_up(path: Path) -> dict[str, str]:
    """Run small commands in turn, so that all see the same machine; print medians and ratios."""
    program = path / "bin" / "pcompare"
    commands: dict[str, list[str | Path]] = {
        "python -c pass": [sys.executable, "-c", "pass"],
        "import argparse": [sys.executable, "-c", "import argparse"],
        "import numpy": [sys.executable, "-c", "import numpy"],
        "import numpy, openpyxl": [sys.executable, "-c", "import numpy, openpyxl"],
        "pcompare --help": [sys.executable, program, "--help"],
        "pcompare check": [sys.executable, program, "check"],
        "pcompare compare": [sys.executable, program, "compare"],
    }
    taken: dict[str, list[float]] = {name: [] for name in commands}
    for number in range(RUNS + 1):
        for name, command in commands.items():
            one = seconds(command, path)
            if number:  # the first warms up
                taken[name].append(one)
    median = {name: 1000.0 * statistics.median(all_of) for name, all_of in taken.items()}
    print(f"{'installed from the wheel':36}{'median ms':>10}{'/ pass':>8}{'/ numpy':>9}")
    for name, value in median.items():
        print(f"{name:36}{value:10.0f}{value / median['python -c pass']:8.1f}"
              f"{value / median['import numpy']:9.1f}")  # fmt: skip
    told = {}
    for name, base, most in RATIOS:
        ratio = statistics.median(a / b for a, b in zip(taken[name], taken[base], strict=True))
        print(f"{name} / {base}: {ratio:.2f} (wanted: at most {most:g})")
        told[f"`{name}`, beside `python -c '{base}'`"] = (
            f"{ratio:.1f} times as long, {median[name]:.0f} ms to {median[base]:.0f} ms"
        )
    return told


def documents(path: Path) -> dict[str, str]:
    """Time all documents of the example at three numbers of draws."""
    told = {}
    program = path / "bin" / "pcompare"
    print(f"\n{'all documents of the example':36}{'seconds':>10}{'MB at most':>12}")
    for draws in (0, 2000, 10_000):
        out = path / f"out{draws}"
        command = [sys.executable, program, "memo", "--out", out, "--draws", str(draws)]
        taken = min(seconds(command, path) for _ in range(3))
        # Of the largest process: a copy shares with the first what it does not change.
        held = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
        print(f"pcompare memo --draws {draws:<14}{taken:10.1f}{held:12.0f}")
        told[f"All documents of the example, {draws} draws"] = f"{taken:.1f} s, {held:.0f} MB"
    return told


def main() -> dict[str, str]:
    """Run both on an installed wheel."""
    with installed() as path:
        return start_up(path) | documents(path)


if __name__ == "__main__":
    main()
