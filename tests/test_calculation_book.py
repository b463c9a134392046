"""The calculation book, read back cell by cell."""

from __future__ import annotations

import io
import math
import time
from dataclasses import replace

import openpyxl
import pytest

from pcompare import lines
from pcompare.documents import calculation_book, salt_words
from pcompare.documents.results_json import all_lines
from tests.documents_dossier import invented, ugly


def opened(dossier, **options):
    data = calculation_book.book(dossier, options.pop("formulas", None))
    return openpyxl.load_workbook(io.BytesIO(data), **options)


def rows_by_key(sheet, column=2):
    return {row[column - 1].value: row for row in sheet.iter_rows() if row[column - 1].value}


SHEETS = [calculation_book.sheet_name(label, []) for label in lines.LABELS.values()]


def test_sheets():
    book = opened(invented())
    assert book.sheetnames == [
        "Inputs",
        "Plant basis",
        *SHEETS,
        "Metal salts",
        "Dose models",
        "Comparison",
        "Checks",
        "Equations",
        "Sources",
        "Provenance",
    ]


def test_inputs_have_the_name_in_a_and_the_value_in_c():
    dossier = invented()
    sheet = opened(dossier)["Inputs"]
    assert [sheet.cell(1, c).value for c in (1, 2, 3)] == ["Field", "Label", "Value"]
    for number, row in enumerate(dossier.fields, 2):
        assert sheet.cell(number, 1).value == row.name
        assert sheet.cell(number, 3).value == row.value
        assert sheet.cell(number, 4).value == (row.unit or None)
        assert sheet.cell(number, 5).value == row.low
        assert sheet.cell(number, 7).value == (row.status or None)
        assert sheet.cell(number, 9).value == (row.origin or None)


def test_months_of_an_input_stand_in_columns_of_their_own():
    dossier = invented()
    row = replace(dossier.fields[1], value=tuple(100.0 + m for m in range(12)))
    sheet = opened(replace(dossier, fields=(row, *dossier.fields[2:])))["Inputs"]
    assert sheet["C2"].value == "by month"
    assert [sheet.cell(2, c).value for c in range(11, 23)] == [100.0 + m for m in range(12)]
    assert sheet["K1"].value == "Jan"


def test_every_line_of_every_strategy():
    dossier = invented(monthly=True)
    book = opened(dossier)
    written = {}
    for name in ("Plant basis", *SHEETS):
        written |= rows_by_key(book[name])
    salts = {line.key for found in dossier.salts.values() for line in found.values()}
    expected = [line for line in all_lines(dossier) if line.key not in salts]
    assert len(expected) > 5 * len(lines.LINES)
    for line in expected:
        row = [cell.value for cell in written[line.key]]
        assert row[0] == line.label
        # The file holds 16 digits.
        assert row[2] == (line.value and pytest.approx(line.value, rel=1e-15))
        assert row[3] == (line.unit or None)
        for found, expected_end in zip(row[4:7], (line.low, line.middle, line.high), strict=True):
            wanted = (
                expected_end if expected_end is None else pytest.approx(expected_end, rel=1e-15)
            )
            assert found == wanted
        if line.months:
            assert row[12:24] == pytest.approx(list(line.months), rel=1e-15)
        if line.value is None:
            assert row[9] == line.reason


def test_comparison_and_checks():
    dossier = invented()
    book = opened(dossier)
    found = rows_by_key(book["Comparison"])
    results = list(dossier.comparison.strategies.values())
    for kind in lines.LINES:
        row = [cell.value for cell in found[kind.quantity]]
        for cell, result in zip(row[3:], results, strict=True):
            value = result.lines[kind.quantity].value
            assert cell == (value and pytest.approx(value, rel=1e-15))
    met = [c.value for c in found["meets_permit"]][3:]
    assert met == ["yes" if r.meets_permit else "no" for r in results]
    ranking = dossier.comparison.ranking
    places = {name: i for i, name in enumerate(ranking, 1)}
    assert [c.value for c in found["ranking"]][3:] == [places.get(r.name) for r in results]
    checks = [row for row in book["Checks"].iter_rows(min_row=4, values_only=True) if row[0]]
    expected = [
        (r.label, c.label, c.sense, c.needed, c.found, c.unit, "yes" if c.met else "no", c.key)
        for r in results
        for c in r.checks
    ]
    assert checks == expected


def test_every_salt_with_its_lines():
    dossier = invented()
    sheet = opened(dossier)["Metal salts"]
    found = rows_by_key(sheet)
    order = [name for name, _ in salt_words.by_worth(dossier.salts)]
    assert [c.value for c in found["product"]][3:] == order
    for kind in lines.LINES:
        values = [dossier.salts[name][kind.quantity].value for name in order]
        if all(value is None for value in values):
            assert kind.quantity not in found
            continue
        row = [cell.value for cell in found[kind.quantity]]
        assert row[:3] == [kind.label, kind.quantity, kind.unit]
        assert row[3:] == pytest.approx(values, rel=1e-15)
    carried = [c.value for c in next(sheet.iter_rows(min_row=4, max_row=4))][3:]
    assert carried == ["yes" if name == "ferric_chloride" else "no" for name in order]
    reached = [c.value for c in next(sheet.iter_rows(min_row=5, max_row=5))][3:]
    assert set(reached) == {"yes"}


def test_the_dose_models_along_the_limit():
    dossier = invented()
    sweep = dossier.dose_models
    rows = list(opened(dossier)["Dose models"].iter_rows(min_row=3, values_only=True))
    assert "Kinetic equilibrium: metal dose, mg/L" in rows[0]
    column = rows[0].index("Kinetic equilibrium: metal dose, mg/L")
    for i, point in enumerate(sweep.points):
        assert rows[1 + i][0] == point
        dose = sweep.values["kinetic"]["metal_dose"][i]
        assert rows[1 + i][column] == pytest.approx(dose, rel=1e-15)
        assert rows[1 + i][column + 1] == ("yes" if sweep.feasible["kinetic"][i] else "no")


def test_without_salts_or_models_there_are_no_sheets_of_them():
    dossier = replace(invented(), salts={})
    models = replace(dossier.dose_models, values={}, feasible={})
    names = opened(replace(dossier, dose_models=models)).sheetnames
    assert "Metal salts" not in names
    assert "Dose models" not in names


def test_text_never_becomes_a_formula_a_link_or_a_number():
    texts = ["=1+1", "+1", "-1", "@x", "http://a.b", "12", "{=1}", "mailto:a@b"]
    dossier = invented()
    fields = tuple(replace(dossier.fields[-1], name=f"x.{i}", value=t) for i, t in enumerate(texts))
    sheet = opened(replace(dossier, fields=fields))["Inputs"]
    for number, text in enumerate(texts, 2):
        cell = sheet.cell(number, 3)
        assert (cell.data_type, cell.value, cell.hyperlink) == ("s", text, None)


def test_a_line_may_become_a_formula_with_its_value_cached():
    dossier = invented()
    key = "salt_single_point.metal_dose"
    formulas = {key: "=1+2", "salt_single_point.vfa_required": "=4"}
    sheet = "Metal salt, one point"
    live = rows_by_key(opened(dossier, formulas=formulas)[sheet])
    cached = rows_by_key(opened(dossier, formulas=formulas, data_only=True)[sheet])
    assert live[key][2].value == "=1+2"
    assert cached[key][2].value == 14.7
    # A line without a value shows none, whatever its formula.
    assert live["salt_single_point.vfa_required"][2].value is None


def test_the_worst_run_opens_without_errors():
    dossier = ugly()
    book = opened(dossier)
    assert len(book.sheetnames) == len(set(map(str.lower, book.sheetnames))) == 17
    assert all(len(name) <= 31 for name in book.sheetnames)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type not in ("e", "f"), (sheet.title, cell.coordinate)
                assert not (isinstance(cell.value, float) and math.isnan(cell.value))
    values = {row[0].value: row[2].value for row in book["Inputs"].iter_rows()}
    assert values["project.downstream_use"] == dossier.inputs.choices["project.downstream_use"]
    remarks = [
        row[1].value for row in book["Provenance"].iter_rows() if row[0].value == "To look at"
    ]
    assert remarks == list(dossier.inputs.warnings)


def test_heads_are_frozen_and_pages_fit():
    for sheet in opened(invented()):
        assert sheet.freeze_panes
        assert sheet.print_title_rows
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.sheet_state == "visible"


@pytest.mark.parametrize(
    ("wanted", "taken", "expected"),
    [
        ("Metal salt", [], "Metal salt"),
        ("a/b:c*d?e[f]g\\h", [], "a b c d e f g h"),
        ("x" * 40, [], "x" * 31),
        ("x" * 40, ["X" * 31], "x" * 29 + " 2"),
        ("Biological, carbon of the sewage", [], "Biological, carbon of the"),
        ("'quoted'", [], "quoted"),
        ("History", [], "History of"),
        ("[]", [], "Sheet"),
    ],
)
def test_sheet_names(wanted, taken, expected):
    assert calculation_book.sheet_name(wanted, taken) == expected


def test_same_run_same_bytes_at_another_time(monkeypatch):
    first = calculation_book.book(invented())
    later = time.time() + 86_400.0 * 400
    monkeypatch.setattr(time, "time", lambda: later)
    monkeypatch.setattr(time, "localtime", lambda *_: time.gmtime(later))
    assert calculation_book.book(invented()) == first


def test_the_files_date_is_the_projects():
    assert opened(invented()).properties.created.isoformat() == "2026-11-02T00:00:00"
    assert opened(ugly()).properties.created.isoformat() == "1980-01-01T00:00:00"
