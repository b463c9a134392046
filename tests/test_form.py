"""The form: what stands in it, and that reading it back gives what was written."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from openpyxl import load_workbook

from pcompare.errors import InputError
from pcompare.inputs import form, layout, reader, schema

from .plants import even, even_form

EXAMPLE = even()
SYSTEMS = {"si": 1e-12, "us": 1e-9}
MONTHLY = np.array([[6.0, 6.2, 6.4, 6.6, 6.8, 7.0, 7.2, 7.0, 6.8, 6.6, 6.4, 6.2]])


def book_of(data, **options):
    return load_workbook(io.BytesIO(data), **options)


def read_back(tmp_path, data):
    path = tmp_path / "form.xlsx"
    path.write_bytes(data)
    return reader.read(path)


@pytest.fixture(scope="module", params=SYSTEMS)
def written(request):
    return request.param, even_form(request.param)


@pytest.fixture(scope="module")
def blank():
    return form.form(blank=True)


def rows(sheet):
    for row in range(layout.FIRST_ROW, sheet.max_row + 1):
        yield row, sheet.cell(row, layout.NAME).value


def test_form_and_back_is_the_example(tmp_path, written):
    system, data = written
    got = read_back(tmp_path, data)
    assert got.choices == EXAMPLE.choices
    assert got.warnings == EXAMPLE.warnings
    for name, value in EXAMPLE.values.items():
        np.testing.assert_allclose(got[name], value, rtol=SYSTEMS[system], err_msg=name)
    for mine, theirs in ((EXAMPLE.low, got.low), (EXAMPLE.high, got.high)):
        assert mine.keys() == theirs.keys()
        for name, end in mine.items():
            assert theirs[name] == pytest.approx(end, rel=SYSTEMS[system], abs=1e-12), name


def test_defaults_stay_defaults(tmp_path, written):
    got = read_back(tmp_path, written[1])
    for name, origin in EXAMPLE.origins.items():
        if origin == "default":
            assert got.origins[name] == "default", name
            if name in EXAMPLE.values:
                assert np.array_equal(got[name], EXAMPLE[name]), name
    assert got.origins["influent.tp"] == "Water!C4"


@pytest.mark.parametrize("system", SYSTEMS)
def test_months_ranges_notes_and_ugly_text_come_back(tmp_path, system):
    values = {**EXAMPLE.values, "influent.tp": MONTHLY, "influent.temperature_average": MONTHLY + 9}
    texts = {
        "project.name": "=1+1",
        "project.prepared_for": "+49 30 1234",
        "project.note": "@home -- Ελλάδα, Дон; CaCO₃ <b>",
        "project.downstream_use": "-",
        "permit.months": "5, 6",
    }
    case = replace(
        EXAMPLE,
        values=values,
        choices={**EXAMPLE.choices, **texts},
        low={**EXAMPLE.low, "influent.vfa": 24.0, "haul.distance": 11.0},
        high={**EXAMPLE.high, "influent.vfa": 48.0, "haul.distance": 77.0},
        notes={"prices.cake": "=bid of May", "influent.tp": "laboratory, 2025"},
    )
    got = read_back(tmp_path, form.filled(case, system))
    assert {name: got.choice(name) for name in texts} == texts
    assert got.notes == case.notes
    assert got["influent.tp"].shape == (1, 12)
    for name, value in values.items():
        np.testing.assert_allclose(got[name], value, rtol=SYSTEMS[system], err_msg=name)
    assert got.low["haul.distance"] == pytest.approx(11.0, rel=SYSTEMS[system])
    assert got.high["influent.vfa"] == pytest.approx(48.0, rel=SYSTEMS[system])
    assert got.origins["prices.cake"].startswith("Prices!C"), "a default with a source is vouched"


@pytest.mark.parametrize("system", SYSTEMS)
def test_shapes_and_correlations_come_back(tmp_path, system):
    shapes = {"prices.cake": "lognormal", "prices.caustic": "pert", "prices.polymer": "uniform"}
    pairs = {("prices.cake", "prices.electricity"): 0.3, ("prices.cake", "prices.labour"): -0.125}
    got = read_back(
        tmp_path, form.filled(replace(EXAMPLE, shapes=shapes, correlations=pairs), system)
    )
    assert got.shapes == shapes
    assert got.correlations == pairs
    assert EXAMPLE.shapes == {} and EXAMPLE.correlations == {}


def test_the_form_offers_the_shapes(written):
    book = book_of(written[1])
    for name, fields in schema.sheets().items():
        checks = [
            check
            for check in book[name].data_validations.dataValidation
            if check.formula1 == '"triangular,pert,lognormal,uniform"'
        ]
        offered = {str(cell) for check in checks for cell in check.cells}
        cells = " ".join(offered)
        assert ("L" in cells) == any(field.numeric for field in fields), name


def test_no_cell_is_a_formula_or_an_error(written):
    for sheet in book_of(written[1]).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type in "snd", f"{sheet.title}!{cell.coordinate}"


def test_text_that_looks_like_a_formula_keeps_its_quote(tmp_path):
    case = replace(EXAMPLE, choices={**EXAMPLE.choices, "project.name": "=A1"})
    cell = book_of(form.filled(case))["Project"]["C4"]
    assert (cell.value, cell.data_type, cell.quotePrefix) == ("=A1", "s", True)


def test_sheets_in_order(written):
    names = book_of(written[1]).sheetnames
    assert names == [
        layout.READ_ME, *schema.sheets(), layout.CORRELATION, layout.MONTHS, layout.LISTS,
    ]  # fmt: skip
    assert set(layout.PURPOSES) == {*schema.sheets(), layout.CORRELATION, layout.MONTHS}


def test_no_sheet_row_or_column_is_hidden(written):
    for sheet in book_of(written[1]).worksheets:
        assert sheet.sheet_state == "visible"
        assert not any(row.hidden for row in sheet.row_dimensions.values())
        assert not any(column.hidden for column in sheet.column_dimensions.values())


def test_whole_numbers_are_whole_and_asked_for_as_such(written):
    """In both units: a count of households is 31000, never 31000.0 or 3.1e4."""
    book = book_of(written[1])
    whole = [field for field in schema.fields().values() if field.kind == "integer"]
    assert whole
    for field in whole:
        sheet = book[field.sheet]
        row = next(row for row, name in rows(sheet) if name == field.name)
        assert isinstance(sheet.cell(row, layout.VALUE).value, int), field.name
        (check,) = [c for c in sheet.data_validations.dataValidation if f"C{row}" in c.sqref]
        assert check.type == "whole", field.name


def test_a_blank_form_names_every_required_field_at_its_cell(tmp_path, blank):
    path = tmp_path / "blank.xlsx"
    path.write_bytes(blank)
    with pytest.raises(InputError) as caught:
        reader.read(path)
    expected = [
        f"{field.sheet}!C{row} ({field.label})"
        for fields in schema.sheets().values()
        for row, field in enumerate(fields, layout.FIRST_ROW)
        if field.default is None
    ]
    assert [fault.where for fault in caught.value.faults] == expected
    assert {fault.found for fault in caught.value.faults} == {"nothing"}


def test_units_are_those_of_the_form(written):
    system, data = written
    book = book_of(data)
    assert book[layout.READ_ME][layout.SYSTEM_CELL].value == system
    for name, fields in schema.sheets().items():
        for (row, found), field in zip(rows(book[name]), fields, strict=True):
            assert found == field.name
            assert (book[name].cell(row, layout.UNIT).value or "") == field.unit_in(system)
    flow = book["Plant"]["C4"].value
    assert flow == (20000 if system == "si" else pytest.approx(5.28344, abs=5e-6))


def test_labels_do_not_contradict_the_unit_column():
    """A label names no size unit: the same label stands beside tonnes and short tons."""
    for field in schema.fields().values():
        for word in ("tonne", "m3", "m²", "cubic", "kg", "metre of"):
            assert field.sheet == schema.COEFFICIENTS or word not in field.label, field.name


def test_blank_shows_defaults_and_leaves_the_rest_empty(blank):
    book = book_of(blank)
    for name, fields in schema.sheets().items():
        for (row, _), field in zip(rows(book[name]), fields, strict=True):
            cells = [book[name].cell(row, column).value for column in (3, 4, 5)]
            assert cells == [field.default, field.low, field.high], field.name
    months = book[layout.MONTHS]
    for row in range(layout.FIRST_ROW, months.max_row + 1):
        assert all(months.cell(row, 3 + i).value is None for i in range(12))


def test_choices_come_from_a_visible_list(written):
    book = book_of(written[1])
    lists = book[layout.LISTS]
    assert lists.sheet_state == "visible"
    checked = 0
    for name, fields in schema.sheets().items():
        found = {
            str(cells): check
            for check in book[name].data_validations.dataValidation
            for cells in check.sqref.ranges
        }
        for (row, _), field in zip(rows(book[name]), fields, strict=True):
            check = found.get(f"C{row}")
            if field.kind == "choice":
                sheet, _, cells = check.formula1.partition("!")
                assert (check.type, sheet) == ("list", layout.LISTS)
                offered = [cell.value for (cell,) in lists[cells.replace("$", "")]]
                assert offered == list(field.choices)
                checked += 1
            elif field.numeric:
                assert check is not None or f"C{row}:E{row}" in found, field.name
    assert checked == sum(field.kind == "choice" for field in schema.fields().values())


def test_pages_print_with_their_headings(written):
    system, data = written
    for sheet in book_of(data).worksheets:
        assert sheet.page_setup.orientation == "landscape"
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
        assert int(sheet.page_setup.paperSize) == (9 if system == "si" else 1)
        if sheet.title != layout.READ_ME:
            assert sheet.print_title_rows == "$3:$3"
            assert sheet.freeze_panes == "B4"


def test_what_must_be_given_is_marked(blank):
    book = book_of(blank)
    for name, fields in schema.sheets().items():
        for (row, _), field in zip(rows(book[name]), fields, strict=True):
            cell = book[name].cell(row, layout.VALUE)
            assert (cell.border.left.style == "medium") == (field.default is None), field.name
            assert cell.fill.fgColor.rgb.endswith(form.sheet_style.TINT)


def test_dates_are_dates_and_texts_stay_text(written):
    book = book_of(written[1])
    date = book["Project"]["C5"]
    assert date.is_date
    assert date.value.date().isoformat() == EXAMPLE.choice("project.date")
    assert book["Project"]["C4"].number_format == "@"


@pytest.mark.parametrize("value", ["5-9", "5, 6, 7, 8, 9"])
def test_a_form_filled_by_hand(tmp_path, blank, value):
    """A blank form becomes a case by typing the required values, and one optional text."""
    book = book_of(blank)
    for name, fields in schema.sheets().items():
        for (row, _), field in zip(rows(book[name]), fields, strict=True):
            if field.default is None:
                numeric = field.numeric
                typed = EXAMPLE[field.name].item() if numeric else EXAMPLE.choice(field.name)
                book[name].cell(row, layout.VALUE).value = typed
            if field.name == "permit.months":
                book[name].cell(row, layout.VALUE).value = value
    path = tmp_path / "mine.xlsx"
    book.save(path)
    got = reader.read(path)
    assert got.choice("permit.months") == "5, 6, 7, 8, 9"
    assert got["influent.tp"].item() == EXAMPLE["influent.tp"].item()
    assert got.origins["flow.peak_factor"] == "default"


def test_rows_may_be_moved(tmp_path, written):
    book = book_of(written[1])
    sheet = book["Plant"]
    first, second = layout.FIRST_ROW, layout.FIRST_ROW + 1
    for column in range(1, len(layout.HEADINGS) + 1):
        a, b = sheet.cell(first, column), sheet.cell(second, column)
        a.value, b.value = b.value, a.value
    sheet.insert_rows(first, 3)
    path = tmp_path / "moved.xlsx"
    book.save(path)
    got = reader.read(path)
    assert got["flow.average"].item() == pytest.approx(20000.0, rel=1e-9)
    assert got.origins["flow.average"] == f"Plant!C{second + 3}"


def test_the_example_with_its_months_comes_back(tmp_path):
    """Months that follow from the load are written as the year's value, so they may be changed."""
    example = reader.read()
    got = read_back(tmp_path, form.form())
    for name, value in example.values.items():
        np.testing.assert_allclose(got[name], value, rtol=1e-12, err_msg=name)
    assert got.yearly == example.yearly
    sheet = book_of(form.form())[layout.MONTHS]
    filled = {
        sheet.cell(row, layout.MONTH_NAME).value
        for row in range(layout.FIRST_ROW, sheet.max_row + 1)
        if sheet.cell(row, layout.MONTH_FIRST).value is not None
    }
    assert filled == {
        "flow.average", "flow.load_share", "influent.vfa", "influent.temperature_average",
    }  # fmt: skip
