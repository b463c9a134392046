"""The calculation book, read back cell by cell."""

from __future__ import annotations

import io
import math
import re
import time
from dataclasses import replace

import openpyxl
import pytest

from pcompare import lines, run
from pcompare.documents import book_style, calculation_book, salt_words
from pcompare.documents.results_json import all_lines
from pcompare.inputs import reader
from tests.documents_dossier import invented, ugly
from tests.plants import example


def opened(dossier, **options):
    data = calculation_book.book(dossier)
    return openpyxl.load_workbook(io.BytesIO(data), **options)


def rows_by_key(sheet, column=2):
    return {row[column - 1].value: row for row in sheet.iter_rows() if row[column - 1].value}


SHEETS = [calculation_book.sheet_name(label, []) for label in lines.LABELS.values()]


def test_sheets():
    book = opened(invented())
    assert book.sheetnames == [
        "Contents",
        "Inputs",
        "Design",
        "Plant basis",
        *SHEETS,
        "Comparison",
        "Checks",
        "Other products",
        "Metal salts",
        "Dose models",
        "Equations",
        "Sources",
        "Provenance",
    ]


def test_the_contents_lead_to_every_sheet(example_book):
    book = openpyxl.load_workbook(io.BytesIO(example_book))
    links = [row[0].value for row in book["Contents"].iter_rows(min_row=4)]
    found = [re.fullmatch(r'=HYPERLINK\("#(.+)!A1","(.+)"\)', link or "") for link in links]
    assert [m[2] for m in found if m] == book.sheetnames[1:]
    assert [m[1].strip("'") for m in found if m] == book.sheetnames[1:]
    rows = rows_by_key(book["Contents"], 1)
    assert rows["Balances and solved values that do not hold now"][1].value.startswith("=COUNTIF(")


def test_wide_sheets_print_in_parts_that_can_be_read():
    assert book_style.parts(["A", "B"], [40.0, 60.0]) == ([], 100)
    head = ["A", *"BCDEFG", *book_style.MONTHS]
    breaks, scale = book_style.parts(head, [60.0, 60.0, 60.0, 60.0, 20.0, 20.0, 3.0, *[11.0] * 12])
    assert breaks[-1] == 7 and len(breaks) >= 2 and 60 <= scale <= 100


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
    assert [sheet.cell(2, c).value for c in range(12, 24)] == [100.0 + m for m in range(12)]
    assert sheet["L1"].value == "Jan"


def test_every_line_of_every_strategy():
    dossier = invented(monthly=True)
    book = opened(dossier)
    written = {}
    for name in ("Plant basis", *SHEETS):
        written |= rows_by_key(book[name])
    salts = {line.key for found in dossier.salts.values() for line in found.values()}
    beside = beside_keys(dossier)
    expected = [line for line in all_lines(dossier) if line.key not in salts | beside]
    assert len(expected) > 5 * len(lines.LINES)
    for line in expected:
        row = [cell.value for cell in written[line.key]]
        assert row[0] == line.label
        # The file holds 16 digits.
        assert row[2] == (line.value and pytest.approx(line.value, rel=1e-15))
        assert row[3] == (line.unit or None)
        for found, end in zip(row[4:7], (line.low, line.middle, line.high), strict=True):
            assert found == (end if end is None else pytest.approx(end, rel=5e-5))  # five figures
        if line.months:
            assert row[12:24] == pytest.approx(list(line.months), rel=1e-15)
        if line.value is None:
            assert row[9] == line.reason


def beside_keys(dossier):
    results = dossier.comparison.strategies.values()
    return {x.key for r in results for found in r.others.values() for x in found.values()}


def test_every_line_with_every_other_product():
    """Its key is the head of the column and the name of the row."""
    dossier = invented()
    rows = list(opened(dossier)["Other products"].iter_rows(min_row=3, values_only=True))
    found = {
        f"{subject}.{row[1]}": value
        for row in rows[1:]
        if row[1]
        for subject, value in zip(rows[0][3:], row[3:], strict=True)
    }
    assert beside_keys(dossier)
    for line in all_lines(dossier):
        if line.key in beside_keys(dossier) and line.value is not None:
            assert found[line.key] == pytest.approx(line.value, rel=1e-9)  # ten figures


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
    checks = [row for row in book["Checks"].iter_rows(min_row=4, values_only=True) if row[1]]
    expected = [
        (r.label, f"{c.label} ({c.sense})", c.needed, c.found, "yes" if c.met else "no",
         c.unit or None, c.key)
        for r in results
        for c in r.checks
    ]  # fmt: skip
    cached = [r for r in opened(dossier, data_only=True)["Checks"].iter_rows(values_only=True)]
    found = [
        (*r[:4], *r[6:9]) for r in cached if r[8] in {c.key for x in results for c in x.checks}
    ]
    assert found == expected
    assert len(checks) == len(expected)


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
        assert row[3:] == pytest.approx(values, rel=1e-9)  # ten figures
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


@pytest.fixture(scope="module")
def example_dossier():
    return run.dossier(reader.read(), draws=0)


@pytest.fixture(scope="module")
def example_book(example_dossier):
    return calculation_book.book(example_dossier)


@pytest.fixture(scope="module")
def live(example_book):
    return openpyxl.load_workbook(io.BytesIO(example_book))


@pytest.fixture(scope="module")
def cached(example_book):
    return openpyxl.load_workbook(io.BytesIO(example_book), data_only=True)


def test_every_number_of_a_carried_line_is_a_formula_with_its_value_cached(
    example_dossier, live, cached
):
    for name in ("Plant basis", *SHEETS):
        formulas, values = rows_by_key(live[name]), rows_by_key(cached[name])
        for result in example_dossier.comparison.strategies.values():
            for line in result.lines.values():
                if line.key not in formulas:
                    continue
                written = formulas[line.key][2].value
                if line.value is None:
                    assert written is None
                    assert formulas[line.key][9].value == line.reason
                else:
                    assert isinstance(written, str) and written.startswith("="), line.key
                    assert values[line.key][2].value == pytest.approx(line.value, rel=1e-14)


def test_formulas_reach_fields_by_name_and_stay_short(live):
    formulas = [cell.value for sheet in live for row in sheet.iter_rows() for cell in row
                if cell.data_type == "f"]  # fmt: skip
    assert len(formulas) > 5000
    assert max(map(len, formulas)) < 1000
    assert any("finance_discount_rate" in formula for formula in formulas)
    for formula in formulas:
        assert "http" not in formula and "[" not in formula  # no links to other files
    for name, defined in live.defined_names.items():
        assert "_" in name and re.fullmatch(r"('[^']+'|\w+)!\$C\$\d+", defined.attr_text)


def test_solved_values_stand_above_what_must_be_zero(live, cached):
    found = {}
    for sheet in live:
        if not sheet.title.startswith("W_"):
            continue
        for key, row in rows_by_key(sheet).items():
            if str(key).startswith("residual."):
                above = live[sheet.title].cell(row[0].row - 1, 2).value
                assert above == f"solved.{key.partition('.')[2]}"
                column = 13 if row[2].value == "by month" else 3
                assert row[column - 1].value.startswith("=")
                assert abs(cached[sheet.title][row[column - 1].coordinate].value) < 1e-9
                held = live[sheet.title].cell(row[0].row - 1, column).value
                found[above] = isinstance(held, str)
    assert len(found) > 40 and 2 < sum(found.values()) < len(found)


def test_every_check_holds(cached):
    rows = list(cached["Checks"].iter_rows(min_row=4, values_only=True))
    heads = [row[0] for row in rows if row[0] and not row[1]]
    assert [head.partition(":")[0].partition(" of ")[0] for head in heads] == [
        "Balances", "Values found by iteration", "Requirements",
        "Published numbers, as printed, and what the equations give",
    ]  # fmt: skip
    assert not [row for row in rows if row[6] == "NO"]
    assert sum(row[8] == "balance" for row in rows) == 6 * len(SHEETS)


def test_lifecycle_adds_up_to_present_worth(example_dossier, cached):
    found = rows_by_key(cached["Lifecycle"])
    for name, result in example_dossier.comparison.strategies.items():
        total = found[f"{name}.present_worth"][7].value
        assert total == pytest.approx(result.value("present_worth"), rel=1e-12, abs=1e-6)


def test_the_same_run_gives_the_same_live_book(example_dossier, example_book):
    assert calculation_book.book(run.dossier(reader.read(), draws=0)) == example_book


def test_the_book_stays_small(example_dossier, example_book):
    """Below a megabyte with room for the percentiles, six bytes for each of three a line."""
    results = example_dossier.comparison.strategies.values()
    count = sum(line.value is not None for r in results for line in r.lines.values())
    assert len(example_book) + 3 * 6 * count < 1_000_000
    assert len(calculation_book.book(run.dossier(example(), draws=0))) < 700_000


def test_the_worst_run_opens_without_errors():
    dossier = ugly()
    book = opened(dossier)
    assert len(book.sheetnames) == len(set(map(str.lower, book.sheetnames))) == 20
    assert all(len(name) <= 31 for name in book.sheetnames)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "e", (sheet.title, cell.coordinate)
                # Only the checks count by themselves where nothing was recorded.
                assert cell.data_type != "f" or sheet.title in ("Checks", "Contents")
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
        if not sheet.sheet_properties.pageSetUpPr.fitToPage:  # parts side by side
            assert sheet.page_setup.scale >= 60 and sheet.print_title_cols == "$A:$A"
            assert sheet.col_breaks.brk
        assert sheet.sheet_state == "visible"


@pytest.mark.parametrize(
    ("wanted", "taken", "expected"),
    [
        ("Metal salt", [], "Metal salt"),
        ("a/b:c*d?e[f]g\\h", [], "a b c d e f g h"),
        ("x" * 40, [], "x" * 31),
        ("x" * 40, ["X" * 31], "x" * 29 + " 2"),
        ("Biological, carbon of the sewage", [], "Biological, carbon"),
        ("Metal salt in stages, with a filter", [], "Metal salt in stages"),
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
