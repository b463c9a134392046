"""What is imported when: help at once, point values without scipy or pandas."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("numpy", "openpyxl", "reportlab", "scipy", "pandas", "xlsxwriter", "pypdf")


def imported(*arguments):
    """Run the command and give the top-level names of everything that Python imported for it."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "pcompare", *arguments],
        capture_output=True, text=True, encoding="utf-8", timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    reported = [line for line in done.stderr.splitlines() if line.startswith("import time:")]
    assert len(reported) > 30  # the report is there to be read
    return {line.rpartition("|")[2].strip().partition(".")[0] for line in reported}


@pytest.mark.parametrize("arguments", [("--help",), ("--version",), ("memo", "--help")])
def test_help_imports_nothing_heavy(arguments):
    found = imported(*arguments)
    assert "argparse" in found or arguments == ("--version",)
    assert found.isdisjoint(HEAVY)


@pytest.mark.parametrize(
    "arguments",
    [("compare",), ("check",), ("explain", "no_action.capital")],
    ids=lambda a: a[0],
)
def test_point_values_need_neither_scipy_nor_pandas_nor_documents(arguments):
    found = imported(*arguments)
    assert "numpy" in found  # the list of heavy names means something
    assert found.isdisjoint(set(HEAVY) - {"numpy"})


def test_the_public_names_come_without_weight():
    """Importing the package loads nothing heavy; asking it for a name does."""
    script = (
        "import sys, pcompare\n"
        "assert 'numpy' not in sys.modules\n"
        "names = [getattr(pcompare, name) for name in pcompare.__all__]\n"
        "assert all(map(callable, names)) and 'numpy' in sys.modules\n"
        "print(pcompare.__version__)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(".") == 2


def test_an_unknown_public_name_is_an_attribute_error():
    import pcompare

    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        pcompare.nothing  # noqa: B018
