"""The documents in ``reports/`` are those that the command beside them makes today."""

from __future__ import annotations

import json
import math
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.spreadsheet import Book

REPORTS = Path(__file__).parent.parent / "reports"
RELATIVE = 1e-9
# Another processor may round the last digits of a sum otherwise, and of millions of money.
ABSOLUTE, OF_BOOK = 1e-12, 1e-6
FEW_DIGITS = 6e-4  # of the months that the book keeps beside their formulas
MONTHS = frozenset("MNOPQRSTUVWX")


def command() -> list[str]:
    """The one command that README.md of the reports names, as arguments."""
    text = (REPORTS / "README.md").read_text(encoding="utf-8")
    (line,) = re.findall(r"^ {4}pcompare (.+)$", text, re.MULTILINE)
    return shlex.split(line)


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("reports")
    arguments = command()
    arguments[arguments.index("--out") + 1] = str(folder)
    subprocess.run([sys.executable, "-m", "pcompare", *arguments], check=True, timeout=600)
    return folder


def close(
    found: object, wanted: object, relative: float = RELATIVE, absolute: float = ABSOLUTE
) -> bool:
    if isinstance(found, float | int) and isinstance(wanted, float | int):
        return math.isclose(found, wanted, rel_tol=relative, abs_tol=absolute)
    return found == wanted


def leaves(value: object, path: str = "") -> Iterator[tuple[str, object]]:
    """Every number and text of a document in JSON, with its path."""
    if isinstance(value, dict):
        for key, part in value.items():
            yield from leaves(part, f"{path}/{key}")
    elif isinstance(value, list):
        for place, part in enumerate(value):
            yield from leaves(part, f"{path}/{place}")
    else:
        yield path, value


def differences(found: dict, wanted: dict) -> list[str]:
    """What one mapping has that the other has not, or has otherwise."""
    faults = [f"{key}: only in one of them" for key in sorted(found.keys() ^ wanted.keys())]
    return faults + [
        f"{key}: {wanted[key]!r} in reports/, now {found[key]!r}"
        for key in wanted.keys() & found.keys()
        if not close(found[key], wanted[key])
    ]


def test_the_command_names_a_folder():
    assert command()[0] == "memo" and "--out" in command()


@pytest.mark.parametrize(
    ("found", "wanted", "count"),
    [
        ({"a": 1.0, "b": "x"}, {"a": 1.0 + 1e-12, "b": "x"}, 0),
        ({"a": 1.0}, {"a": 1.0 + 1e-6}, 1),
        ({"a": 1.0}, {"a": "1.0"}, 1),
        ({"a": 1.0}, {"b": 1.0}, 2),
        ({"a": None}, {"a": 0.0}, 1),
    ],
)
def test_a_difference_is_seen(found, wanted, count):
    assert len(differences(found, wanted)) == count


@pytest.mark.slow
@pytest.mark.parametrize("name", ["options_memo.pdf", "board_brief.pdf"])
def test_the_pdfs_have_the_same_text_on_every_page(made, name):
    pages = [[p.extract_text() for p in PdfReader(at / name).pages] for at in (made, REPORTS)]
    assert len(pages[0]) == len(pages[1]), "another number of pages"
    assert all(map(str.strip, pages[0])), "a page without text"
    changed = [i for i, (a, b) in enumerate(zip(*pages, strict=True), 1) if a != b]
    assert not changed, f"pages of {name} that read otherwise now"


@pytest.mark.slow
def test_the_results_have_the_same_values(made):
    found, wanted = (
        dict(leaves(json.loads((at / "results.json").read_text(encoding="utf-8"))))
        for at in (made, REPORTS)
    )
    assert len(wanted) > 10_000
    assert differences(found, wanted) == []


@pytest.mark.slow
def test_the_book_has_the_same_cells(made):
    found, wanted = (Book((at / "calculation_book.xlsx").read_bytes()) for at in (made, REPORTS))
    assert list(found.sheets) == list(wanted.sheets)
    faults = []
    for sheet in wanted.sheets:
        faults += [
            f"{sheet}!{fault}"
            for fault in differences(found.formulas(sheet), wanted.formulas(sheet))
        ]
        now, then = found.values(sheet), wanted.values(sheet)
        faults += [f"{sheet}!{cell}: only in one of them" for cell in now.keys() ^ then.keys()]
        faults += [
            f"{sheet}!{cell}: {then[cell]!r} in reports/, now {now[cell]!r}"
            for cell in now.keys() & then.keys()
            if not close(
                now[cell], then[cell], FEW_DIGITS if cell[0] in MONTHS else RELATIVE, OF_BOOK
            )
        ]
    assert faults == []
