"""What has to work with the lowest versions of libraries as with the newest: every kind of use.

``.ci/run`` runs this module, among others, in an environment that has exactly the lower bounds of
``pyproject.toml``; the whole suite runs with the newest.
"""

from __future__ import annotations

import io
import json
import re
import sys
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from pcompare import cli

from .forms import form_with, number

PROJECT = tomllib.loads((Path(__file__).parent.parent / "pyproject.toml").read_text())["project"]
WANTED = PROJECT["dependencies"] + PROJECT["optional-dependencies"]["test"]
BOUND = re.compile(r"[A-Za-z0-9-]+>=[0-9]+(\.[0-9]+)*")


def numbers(text):
    return [int(part) for part in re.findall(r"\d+", text)]


@pytest.mark.parametrize("wanted", WANTED)
def test_every_library_has_a_lower_bound_and_meets_it(wanted):
    """And no other bound, so that the lowest versions can be read off."""
    assert BOUND.fullmatch(wanted)
    name, _, bound = wanted.partition(">=")
    assert numbers(version(name)) >= numbers(bound)


@pytest.fixture(scope="module")
def documents(tmp_path_factory):
    """Documents of a filled form, with draws."""
    folder = tmp_path_factory.mktemp("lowest")
    case = folder / "plant.xlsx"
    case.write_bytes(form_with({("Plant", "C4"): number(21000)}))
    assert cli.main(["memo", str(case), "--draws", "20", "--out", str(folder / "out")]) == 0
    return folder / "out"


def test_results(documents):
    found = json.loads((documents / "results.json").read_bytes())
    assert found["inputs"]["flow.average"]["value"] == 21000
    lines = [line for line in found["lines"].values() if line["middle"] is not None]
    assert len(lines) > 100
    assert all(line["low"] <= line["middle"] <= line["high"] for line in lines)


@pytest.mark.parametrize("name", ["options_memo.pdf", "board_brief.pdf"])
def test_pages(documents, name):
    reader = PdfReader(documents / name)
    assert len(reader.pages) >= 2
    assert reader.outline
    text = "".join(page.extract_text() for page in reader.pages)
    assert "Lower Quillmere" in text


def test_the_book(documents):
    data = (documents / "calculation_book.xlsx").read_bytes()
    live = [c for s in load_workbook(io.BytesIO(data)) for row in s.iter_rows() for c in row]
    kept = load_workbook(io.BytesIO(data), data_only=True)
    assert sum(cell.data_type == "f" for cell in live) > 5000
    stored = [c for s in kept for row in s.iter_rows() for c in row]
    assert not [cell for cell in stored if cell.data_type == "e"]


@pytest.mark.parametrize(
    "arguments",
    [("form", "new.xlsx"), ("check",), ("compare",), ("targets", "--steps", "2"),
     ("explain", "salt_single_point.ph"), ("calc",), ("tables",), ("verify",)],
    ids=lambda arguments: arguments[0],
)  # fmt: skip
def test_commands(arguments, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert cli.main(list(arguments)) == 0
    out, err = capsys.readouterr()
    assert out and err == "", sys.version
