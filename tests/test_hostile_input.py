"""Whatever is handed in: one clear message with its place and the way out, and nothing written."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import resource
import subprocess
import sys

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from pcompare import cli
from pcompare.errors import MOST_SHOWN
from pcompare.inputs import form, reader

from .forms import form_with
from .hostile_cases import ACCEPTED, CASES
from .plants import even_text

MEMORY, SECONDS = 1 << 30, 60  # bytes of address space and seconds of one core, at most
LONGEST_LINE = 600  # of a message


def memo(case, folder):
    """Give the command that would make documents of a case, and what lies in its folder before."""
    arguments = case.make(folder)
    there = sorted(path.name for path in folder.iterdir())
    return ["memo", *arguments, "--draws", "0", "--out", str(folder / "out")], there


def limited(arguments, **options):
    """Run the command with bounded memory and time."""

    def bound():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))

    return subprocess.run(
        [sys.executable, "-m", "pcompare", *arguments], preexec_fn=bound, capture_output=True,
        env={**os.environ, "PYTHONUTF8": "1", "OPENBLAS_NUM_THREADS": "1"},
        encoding="utf-8", timeout=300, check=False, **options,
    )  # fmt: skip


def check(case, folder, there, status, out, err):
    """Hold one case to what must be said: once, at its place, with what is needed."""
    assert status == 1, err[-2000:]
    assert out == ""
    assert "Traceback" not in err
    assert sorted(path.name for path in folder.iterdir()) == there
    head, first, *more = err.replace("\N{NARROW NO-BREAK SPACE}", " ").splitlines()
    problems = f"{case.faults} problem{'s' if case.faults > 1 else ''}"
    assert head.startswith("error: ") and head.endswith(f": {problems}")
    assert first.startswith(f"  {case.said}"), first
    assert case.needs in first
    assert len(more) == min(case.faults - 1, MOST_SHOWN)
    assert max(map(len, err.splitlines())) < LONGEST_LINE


@pytest.mark.parametrize("case", [case for case in CASES if not case.heavy], ids=str)
def test_one_clear_message(case, tmp_path, capsys):
    arguments, there = memo(case, tmp_path)
    status = cli.main(arguments)
    check(case, tmp_path, there, status, *capsys.readouterr())


@pytest.mark.parametrize("case", [case for case in CASES if case.heavy], ids=str)
def test_one_clear_message_in_bounded_memory_and_time(case, tmp_path):
    arguments, there = memo(case, tmp_path)
    done = limited(arguments)
    check(case, tmp_path, there, done.returncode, done.stdout, done.stderr)


def test_the_cases_are_many_and_each_is_another():
    assert len(CASES) >= 100
    assert len({case.name for case in CASES}) == len(CASES)
    assert len({(case.said, case.needs) for case in CASES}) > 60


@pytest.mark.parametrize(("name", "cells", "parts"), ACCEPTED, ids=lambda part: "")
def test_what_is_odd_and_no_fault_is_read(name, cells, parts, tmp_path):
    """In bounded memory and time as well, whatever range a sheet names."""
    path = tmp_path / f"{name} مخطط 🦆.xlsx"
    path.write_bytes(form_with(cells, parts))
    done = limited(["check", str(path)])
    assert (done.returncode, done.stderr) == (0, "")
    (flow,) = [line for line in done.stdout.splitlines() if line.startswith("flow.average ")]
    assert flow.split() == ["flow.average", "20", "000", "m³/d", "[Plant!C4]"]
    assert done.stdout.splitlines()[-1].startswith(f"{path.name}: ")


# --- text of the user's, in what we write ---------------------------------------------------------

NASTY = {
    "project.name": '=HYPERLINK("http://x.invalid","<b>Q1</b>")',
    "project.prepared_for": '<img src="/etc/passwd">&amp;Q2',
    "project.note": "@SUM(1;2)&<a href='http://x.invalid'>Q3</a>",
    "project.next_step": '<a href="javascript:x">-Q4</a>',
    "project.downstream_use": "+Q5<br/><para>|cmd",
}
NOTES = {"prices.cake": "=2+3&<i>Q6", "flow.average": "-Q7</para><seq>"}


@pytest.fixture(scope="module")
def nasty(tmp_path_factory):
    """The documents of a case full of markup and formulas, and the case as a form."""
    folder = tmp_path_factory.mktemp("nasty")
    lines = [
        line for line in even_text().splitlines() if f"project.{line.split(' =')[0]}" not in NASTY
    ]
    place = lines.index("[project]") + 1
    own = [f"{name.partition('.')[2]} = {json.dumps(value)}" for name, value in NASTY.items()]
    notes = ["[note]", *(f"{name} = {json.dumps(value)}" for name, value in NOTES.items())]
    case = folder / "=1+1<b>&Q8.toml"
    case.write_text("\n".join([*lines[:place], *own, *lines[place:], *notes]), encoding="utf-8")
    assert cli.main(["memo", str(case), "--draws", "0", "--out", str(folder / "out")]) == 0
    return folder / "out", case


def squeezed(text):
    return "".join(text.split())


@pytest.mark.parametrize("name", ["options_memo.pdf", "board_brief.pdf"])
def test_text_of_the_user_s_is_no_markup_in_a_document(nasty, name):
    reader = PdfReader(nasty[0] / name)
    text = squeezed("".join(page.extract_text() for page in reader.pages))
    seen = [value for value in (*NASTY.values(), *NOTES.values()) if squeezed(value) in text]
    assert NASTY["project.name"] in seen
    if name == "options_memo.pdf":  # one of them may be broken by the next column of its table
        assert all(f"Q{n}" in text for n in range(1, 9)) and len(seen) >= len(NASTY)
    for page in reader.pages:
        assert not page.images
        for annotation in page.get("/Annots", ()):
            assert "/URI" not in annotation.get_object().get("/A", {}), annotation.get_object()
    names = reader.trailer["/Root"].get("/Names", {})
    assert "/JavaScript" not in names and "/EmbeddedFiles" not in names
    assert "/OpenAction" not in reader.trailer["/Root"]


def test_text_of_the_user_s_is_no_formula_in_the_book(nasty):
    book = load_workbook(nasty[0] / "calculation_book.xlsx")
    seen = set()
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.hyperlink is None or "invalid" not in str(cell.hyperlink.target)
                marks = re.findall(r"Q[1-8]", cell.value) if isinstance(cell.value, str) else []
                if marks:
                    assert cell.data_type == "s", (sheet.title, cell.coordinate, cell.value)
                    seen.update(marks)
    assert {"Q1", "Q6", "Q7"} <= seen


def test_text_of_the_user_s_is_no_formula_in_a_form(nasty):
    inputs = reader.read(nasty[1])
    book = load_workbook(io.BytesIO(form.filled(inputs)))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    risky = [c for c in cells if isinstance(c.value, str) and c.value[0] in "=+-@"]
    assert {c.value for c in risky} >= {*NOTES.values(), NASTY["project.name"]}
    assert all(cell.quotePrefix for cell in risky)  # so that it stays text when it is edited


def test_text_of_the_user_s_is_kept_in_the_results(nasty):
    found = json.loads((nasty[0] / "results.json").read_bytes())
    for name, value in NASTY.items():
        assert found["inputs"][name]["value"] == value


def test_no_cell_of_the_csv_is_a_formula(nasty, capsys):
    assert cli.main(["compare", str(nasty[1]), "--csv", "-"]) == 0
    cells = [cell for row in csv.reader(io.StringIO(capsys.readouterr().out)) for cell in row]
    assert len(cells) > 1000
    for cell in cells:
        if cell[:1] in ("=", "+", "-", "@", "\t") and cell != "-":  # the unit of a pure number
            assert float(cell)
