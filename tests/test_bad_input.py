"""What people send: every fault is one clear message with its exact place, never a traceback."""

from __future__ import annotations

import datetime
import functools
import io
import os
import re
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.chart import BarChart, Reference

from pcompare.errors import InputError
from pcompare.inputs import archive, layout, reader, schema

from .forms import parts_of, place_of, zipped
from .plants import even_form, even_text

DATA = even_form()
US_DATA = even_form("us")


def spoiled(tmp_path, cells, data=DATA, name="plant.xlsx"):
    """Save the form with some cells changed: field or (sheet, cell) to value."""
    book = opened(data)
    kept = []
    for key, value in cells.items():
        sheet, where = key if isinstance(key, tuple) else place_of(key)
        cell = book[sheet][where] if isinstance(where, str) else book[sheet].cell(where, 3)
        kept.append((cell, cell.value, cell.number_format))
        cell.value = value
    path = tmp_path / name
    book.save(path)
    for cell, value, number_format in kept:
        cell.value, cell.number_format = value, number_format
    return path


@functools.cache
def opened(data):
    """Open the form once; who changes a cell puts it back."""
    return load_workbook(io.BytesIO(data))


def faults(path, overrides=()):
    with pytest.raises(InputError) as caught:
        reader.read(path, overrides)
    return [str(fault).replace("\u202f", " ") for fault in caught.value.faults]


def fault(path, overrides=()):
    (only,) = faults(path, overrides)
    return only


def toml(tmp_path, text):
    path = tmp_path / "plant.toml"
    path.write_text(text, encoding="utf-8")
    return path


def example(*lines, without=()):
    text = even_text()
    kept = [line for line in text.splitlines() if not line.startswith(tuple(without) or "\0")]
    return "\n".join((*kept, *lines))


# --- cells --------------------------------------------------------------------------------------


NEEDS_FLOW = "needs a number from 10 to 2 000 000 m³/d"


@pytest.mark.parametrize(
    ("value", "found"),
    [
        ("lots", "'lots'"),
        ("12 mg/L", "'12 mg/L' (write the number alone; its unit is fixed)"),
        ("12,5", "'12,5' (a comma; write a decimal point, and nothing between thousands)"),
        ("１５０", "'１５０'"),
        ("1_50", "'1_50' (write the digits without anything between them)"),
        ("NaN", "'NaN'"),
        ("inf", "'inf'"),
        (1e308, "1e+308"),
        (True, "the logical value true"),
        (datetime.datetime(2026, 3, 1), "the date 2026-03-01"),
        (-5, "-5 m³/d"),
        (9.5, "9.5 m³/d"),
        (3_000_000, "3 000 000 m³/d"),
        (None, "nothing"),
        ("  ", "nothing"),
        ("#DIV/0!", "the error #DIV/0!"),
        ("<b>&amp;\x01", None),
    ],
)
def test_a_number_cell(tmp_path, value, found):
    if found is None:  # a control character cannot even be saved
        value, found = "<b>&amp;", "'<b>&amp;'"
    path = spoiled(tmp_path, {"flow.average": value})
    expected = f"Plant!C4 (Average flow): found {found}; {NEEDS_FLOW}"
    assert fault(path).replace("−", "-") == expected


def test_the_example_of_the_plan_all_at_once(tmp_path):
    cells = {"flow.average": "lots", "influent.orthophosphate": 9, "prices.liquid_alum": "dear"}
    path = spoiled(tmp_path, cells)
    with pytest.raises(InputError) as caught:
        reader.read(path)
    text = str(caught.value).replace("\u202f", " ")
    assert text.splitlines() == [
        "plant.xlsx: 3 problems",
        f"  Plant!C4 (Average flow): found 'lots'; {NEEDS_FLOW}",
        "  Water!C5 (Orthophosphate): found 9 mg P/L, above total phosphorus 6.8 mg P/L in "
        "Water!C4; needs at most that",
        "  Prices!C4 (Liquid alum, as delivered): found 'dear'; needs a number from 0 to "
        "1 000 000 money/t",
    ]


def test_a_formula_without_a_stored_value(tmp_path):
    path = spoiled(tmp_path, {"flow.average": "=10000*2"})
    assert fault(path) == (
        "Plant!C4 (Average flow): found a formula without a stored value; needs a value: open the "
        "file in a spreadsheet program, save it and run again"
    )


def test_an_optional_formula_without_a_value_is_not_taken_for_empty(tmp_path):
    sheet, row = place_of("prices.cake")
    assert f"{sheet}!C{row} (" in fault(spoiled(tmp_path, {"prices.cake": "=70*1.1"}))


def test_an_empty_optional_cell_takes_the_default(tmp_path):
    got = reader.read(spoiled(tmp_path, {"prices.cake": None, ("Prices", "D4"): None,
                                         ("Prices", "E4"): None}))  # fmt: skip
    assert got["prices.cake"].item() == schema.fields()["prices.cake"].default
    assert got.origins["prices.cake"] == "default"


def test_choice_date_and_text_cells(tmp_path):
    path = spoiled(
        tmp_path,
        {"permit.averaging": "yearly", "project.date": "31/3/2026", "project.name": None,
         "permit.months": "June", "chemical.products": "alum"},
    )  # fmt: skip
    found = faults(path)
    assert [text.split(";")[0] for text in found] == [
        "Project!C4 (Name of the plant): found nothing",
        "Project!C5 (Date of this estimate): found '31/3/2026'",
        "Permit!C5 (Averaging period of the limit): found 'yearly'",
        "Permit!C6 (Months in which the limit holds): found 'June'",
        "Salts!C4 (Metal salts considered): found 'alum'",
    ]


def test_us_units_in_messages(tmp_path):
    cells = {"influent.temperature_average": 10, "flow.average": 20000}
    found = faults(spoiled(tmp_path, cells, data=US_DATA))
    assert found[0] == (
        "Plant!C4 (Average flow): found 20 000 MGD; needs a number from 0.002642 to 528.3 MGD"
    )
    assert "found 10 °F; needs a number from 35.6 to 95 °F" in found[1]


@pytest.mark.parametrize(
    ("low", "high", "message"),
    [
        (5, None, "range (Cake hauled and placed): found no high end; needs both ends, or neither"),
        (None, 5, "range (Cake hauled and placed): found no low end; needs both ends, or neither"),
        ("few", 200, "found 'few'; needs a number from 0 to 1 000 000 money/t as its low end"),
        (100, 200, "found low 100 money/t, value 77 money/t, high 200 money/t; needs low, value "
         "and high in rising order. Change or empty the range"),
        (90, 60, "needs low, value and high in rising order"),
    ],
)  # fmt: skip
def test_ranges(tmp_path, low, high, message):
    sheet, row = place_of("prices.cake")
    path = spoiled(tmp_path, {(sheet, f"D{row}"): low, (sheet, f"E{row}"): high})
    text = fault(path)
    assert text.startswith(f"{sheet}!D{row}:E{row}, ")
    assert message in text


# --- contradictions -----------------------------------------------------------------------------

CONTRADICTIONS = [
    ("influent.orthophosphate", 7.0, "above total phosphorus 6.8 mg P/L in Water!C4"),
    ("influent.nonreactive_p", 3.0, "and soluble non-reactive phosphorus 3 mg P/L, together, "
     "above total phosphorus"),
    ("influent.vfa", 120.0, "above readily biodegradable COD 112 mg COD/L in Water!C9"),
    ("influent.rbcod", 500.0, "above COD 495 mg COD/L in Water!C7"),
    ("influent.rbcod", 450.0, "of the COD as inert, together above COD 495"),
    ("influent.bod5", 496.0, "above COD 495 mg COD/L in Water!C7"),
    ("influent.vss", 226.0, "above suspended solids 225 mg/L in Water!C11"),
    ("influent.ammonia", 41.5, "above total Kjeldahl nitrogen 41 mg N/L in Water!C13"),
    ("influent.temperature_minimum", 18.0, "above water temperature, yearly mean 17 °C"),
    ("permit.tp", 7.0, "above total phosphorus 6.8 mg P/L in Water!C4"),
    ("bio.anaerobic_fraction", 0.4, None),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value", "words"), CONTRADICTIONS)
def test_contradictions(tmp_path, name, value, words):
    cells = {name: value}
    if words is None:
        cells["bio.anoxic_fraction"], words = 0.5, "found 0.4, and anoxic share of the sludge 0.5"
    sheet, row = place_of(name)
    if name == "influent.nonreactive_p":  # told at the first of the two
        row = place_of("influent.orthophosphate")[1]
        book = {("Water", "D6"): None, ("Water", "E6"): None}
        cells.update(book)
    text = fault(spoiled(tmp_path, cells))
    assert text.startswith(f"{sheet}!C{row} (")
    assert words in text


def test_just_equal_is_no_contradiction(tmp_path):
    cells = {"influent.orthophosphate": 6.77, "influent.vfa": 112, "influent.ammonia": 41,
             "influent.vss": 225, "influent.temperature_minimum": 17}  # fmt: skip
    assert reader.read(spoiled(tmp_path, cells)).values


def test_contradictions_look_at_each_month(tmp_path):
    tp = [6.8] * 6 + [4.0] + [6.8] * 5
    text = fault(toml(tmp_path, example("[months.influent]", f"tp = {tp}")))
    assert "found 4.1 mg P/L in month 7, above total phosphorus 4 mg P/L" in text
    ortho = [4.1] * 6 + [2.0] + [4.1] * 5
    lines = ("[months.influent]", f"tp = {tp}", f"orthophosphate = {ortho}")
    assert reader.read(toml(tmp_path, example(*lines)))


def test_a_sludge_age_below_washout_is_said_with_its_cell(tmp_path):
    got = reader.read(spoiled(tmp_path, {"secondary.srt": 4.0}))
    (text,) = [w for w in got.warnings if "organisms which store" in w]
    # 4.5 d at 20 degC with 0.923 for each degree: 8.2 d at 12.5 degC.
    assert text.startswith("Treatment!C") and "4 d is below the 8.2 d" in text


def test_the_extra_zone_of_a_layout_counts_as_unaerated(tmp_path):
    cells = {"bio.layout": "five-stage", "bio.anaerobic_fraction": 0.15,
             "bio.anoxic_fraction": 0.4, "bio.second_anoxic_fraction": 0.3}  # fmt: skip
    text = fault(spoiled(tmp_path, cells))
    assert "found 0.15, and anoxic share of the sludge 0.4, and second anoxic share" in text
    assert "together at most 0.8" in text


@pytest.mark.parametrize(
    ("field", "value"),
    [("secondary.srt", 0.0), ("secondary.return_ratio", -0.5),
     ("secondary.internal_recycle_ratio", -1.0), ("bio.side_stream_share", 1.2)],
)  # fmt: skip
def test_impossible_ages_and_recycles_are_refused(tmp_path, field, value):
    sheet, row = place_of(field)
    assert fault(spoiled(tmp_path, {field: value})).startswith(f"{sheet}!C{row} (")


# --- the months sheet ---------------------------------------------------------------------------


def test_months(tmp_path):
    monthly = [field.name for field in schema.monthly()]
    row = layout.FIRST_ROW + monthly.index("influent.tp")
    cells = {("Months", f"{column}{row}"): 7.0 for column in "CDEFGHIJKLMN"}
    assert reader.read(spoiled(tmp_path, cells))["influent.tp"].shape == (1, 12)
    gap = {**cells, ("Months", f"E{row}"): None}
    assert fault(spoiled(tmp_path, gap)) == (
        f"Months!C{row}:N{row} (Total phosphorus): found nothing for Mar; needs all 12 months, or "
        "none"
    )
    wrong = {**cells, ("Months", f"F{row}"): "x"}
    text = fault(spoiled(tmp_path, wrong))
    assert text.startswith(f"Months!C{row}:N{row}, month 4 (Total phosphorus): found 'x'; needs")
    nameless = {**cells, ("Months", f"O{row}"): "influent.ph"}
    assert fault(spoiled(tmp_path, nameless)).startswith(f"Months!O{row} (Name): found 'influent")


# --- the shape of the form ----------------------------------------------------------------------


def changed(tmp_path, change):
    book = load_workbook(io.BytesIO(DATA))
    change(book)
    path = tmp_path / "plant.xlsx"
    book.save(path)
    return path


def test_a_missing_sheet_is_one_fault(tmp_path):
    def rename(book):
        book["Water"].title = "Waters"

    assert fault(changed(tmp_path, rename)) == (
        "Water: found no such sheet, but 'Waters'; needs the sheet as `pcompare form` writes it"
    )


def test_without_its_first_sheet_no_unit_is_guessed(tmp_path):
    assert fault(changed(tmp_path, lambda book: book.remove(book["Read me"]))).startswith(
        "Read me: found no such sheet; needs the first sheet, which names the units"
    )


@pytest.mark.parametrize(("value", "found"), [("metric", "'metric'"), (None, "nothing"), (1, "1")])
def test_units_that_are_none(tmp_path, value, found):
    path = spoiled(tmp_path, {("Read me", "B4"): value})
    assert fault(path) == f"Read me!B4 (Units of this form): found {found}; needs si or us"


def test_names_in_column_k(tmp_path):
    cells = {("Plant", "K4"): "flow.averag", ("Plant", "K8"): "flow.peak_factor"}
    assert faults(spoiled(tmp_path, cells)) == [
        "Plant!K4 (Name): found 'flow.averag'; needs a field name of this sheet, such as "
        "flow.average",
        "Plant!K8 (Name): found 'flow.peak_factor' again, as in row 7; needs each once",
        "Plant (Average flow): found no row for it; needs flow.average in column K of its row",
        "Plant (Equivalent households): found no row for it; needs plant.households in column K "
        "of its row",
    ]


def test_a_chart_in_place_of_a_sheet(tmp_path):
    def swap(book):
        book.remove(book["Water"])
        chart = BarChart()
        chart.add_data(Reference(book["Plant"], min_col=3, min_row=4, max_row=5))
        book.create_chartsheet("Water").add_chart(chart)

    assert fault(changed(tmp_path, swap)).startswith("Water: found no such sheet")


def test_another_workbook(tmp_path):
    book = Workbook()
    book.active["A1"] = "shopping"
    path = tmp_path / "list.xlsx"
    book.save(path)
    found = faults(path)
    assert len(found) == 1 + len(schema.sheets())
    assert all("found no such sheet" in text for text in found)


# --- files that are no form ---------------------------------------------------------------------


def test_wrong_endings(tmp_path):
    for name, found in (("a.xls", "'.xls'"), ("a.ods", "'.ods'"), ("a", "a name without an ending"),
                        ("a.pdf", "'.pdf'")):  # fmt: skip
        text = fault(tmp_path / name)
        assert text.startswith(f"{name}: found {found}; needs a .xlsx form or a .toml file")
    assert "Save it as .xlsx" in fault(tmp_path / "a.ods")


@pytest.mark.parametrize("ending", ["xlsx", "toml"])
def test_files_that_cannot_be_read(tmp_path, ending):
    name = f"a.{ending}"
    path = tmp_path / name
    assert fault(path) == f"{name}: found no such file or directory; needs a file that can be read"
    path.mkdir()
    assert fault(path) == f"{name}: found a folder; needs a file"
    path.rmdir()
    os.mkfifo(path)
    assert fault(path) == f"{name}: found a device or pipe; needs a file"
    path.unlink()
    path.write_bytes(b"")
    assert fault(path).startswith(f"{name}: found an empty file")
    with path.open("wb") as stream:
        stream.truncate(reader.LARGEST[f".{ending}"] + 1)
    assert f"MB; needs at most {reader.LARGEST[f'.{ending}'] // 1_000_000} MB" in fault(path)
    assert "null byte" in fault(f"a\0.{ending}")
    assert "too long" in fault("n" * 300 + f".{ending}")


def test_a_file_that_vanishes_or_is_forbidden(tmp_path, monkeypatch):
    path = spoiled(tmp_path, {})

    def forbidden(self):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(reader.Path, "read_bytes", forbidden)
    assert fault(path) == "plant.xlsx: found permission denied; needs leave to read it"


def xlsx(tmp_path, data):
    path = tmp_path / "plant.xlsx"
    path.write_bytes(data)
    return path


def test_not_a_zip_and_half_a_zip(tmp_path):
    no_workbook = "plant.xlsx: found no workbook inside; needs a whole .xlsx file"
    assert fault(xlsx(tmp_path, b"name,value\nflow.average,3\n")) == no_workbook
    assert fault(xlsx(tmp_path, DATA[: len(DATA) // 2])) == no_workbook
    assert "old .xls file, or one locked by a password" in fault(
        xlsx(tmp_path, archive.OLD_OR_LOCKED + b"\0" * 600)
    )


def test_a_zip_that_is_no_workbook(tmp_path):
    text = fault(xlsx(tmp_path, zipped({"a.txt": "hello"})))
    assert text.startswith("plant.xlsx: found a workbook that cannot be read (")


def test_a_zip_that_unpacks_to_too_much(tmp_path):
    bomb = zipped({**parts_of(DATA), "xl/big.xml": b"\0" * 60_000_000})
    assert len(bomb) < 1_000_000
    text = fault(xlsx(tmp_path, bomb))
    assert re.search(r"parts that unpack to 6\d MB; needs at most 400 parts and 50 MB$", text)
    many = zipped({f"xl/{i}.xml": b"" for i in range(401)})
    assert "found 401 parts" in fault(xlsx(tmp_path, many))


def test_a_directory_that_lies_about_sizes(tmp_path):
    """Whatever the directory claims, no more than that is unpacked, and the rest is missed."""
    parts = parts_of(DATA)
    name = "xl/worksheets/sheet2.xml"
    data = bytearray(zipped({**parts, name: parts[name] + b" " * 1_000_000}))
    start = data.rindex(b"PK\x01\x02", 0, data.rindex(name.encode()))
    data[start + 24 : start + 28] = (10).to_bytes(4, "little")  # unpacked size in the directory
    assert fault(xlsx(tmp_path, bytes(data))).startswith(f"plant.xlsx, part '{name}': found a dam")


def test_entities_that_grow(tmp_path):
    entities = "".join(
        f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' if i else '<!ENTITY a0 "lol">' for i in range(12)
    )
    parts = parts_of(DATA)
    plant = next(name for name, part in parts.items() if b"Average flow" in part)
    sheet = parts[plant].replace(b"Average flow", b"&a11;", 1)
    parts[plant] = f'<?xml version="1.0"?><!DOCTYPE worksheet [{entities}]>'.encode() + sheet
    message = fault(xlsx(tmp_path, zipped(parts)))
    assert message.startswith(f"plant.xlsx, part '{plant}': found a document type (DOCTYPE); needs")


def test_a_sheet_that_claims_to_be_huge_is_read_by_its_fixed_cells(tmp_path):
    def fill(book):
        book["Plant"]["XFD1048576"] = "far away"

    path = changed(tmp_path, fill)
    assert reader.read(path)["flow.average"].item() == 20000.0


@settings(max_examples=40)
@given(position=st.integers(0, len(DATA) - 1), byte=st.integers(0, 255))
def test_any_damaged_byte_gives_a_case_or_one_clear_error(tmp_path_factory, position, byte):
    data = bytearray(DATA)
    data[position] = byte
    path = xlsx(tmp_path_factory.mktemp("damaged"), bytes(data))
    try:
        reader.read(path)
    except InputError as error:
        assert str(error).startswith("plant.xlsx: ")


# --- TOML ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"[flow\naverage = 1", "found text that is not TOML: "),
        (b"[flow]\naverage = 1\naverage = 2\n", "line 3"),
        (b"\xff\xfe[flow]", "found text that is not UTF-8"),
        (b"a = " + b"[" * 100_000, "found "),
        (b"a = " + b"9" * 10_000, "found text that is not TOML: "),
        (b"flow", "found text that is not TOML: "),
    ],
    ids=["open bracket", "twice", "utf-16", "deep", "long number", "bare word"],
)
def test_not_toml(tmp_path, data, words):
    path = tmp_path / "plant.toml"
    path.write_bytes(data)
    text = fault(path)
    assert text.startswith("plant.toml: found ")
    assert words in text
    assert "\n" not in text


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("average = 'lots'", "found 'lots'; " + NEEDS_FLOW),
        ("average = nan", "found no number (NaN); " + NEEDS_FLOW),
        ("average = inf", "found inf; " + NEEDS_FLOW),
        ("average = 1e308", "found 1e+308; " + NEEDS_FLOW),
        ("average = true", "found the logical value true; " + NEEDS_FLOW),
        ("average = 2026-01-01", "found the date 2026-01-01; " + NEEDS_FLOW),
        ("average = [1, 2]", "found a list of 2 values; " + NEEDS_FLOW),
        ("average = {a = 1}", "found a group of values; " + NEEDS_FLOW),
        ("average = {}", "found a group of values; " + NEEDS_FLOW),
        ("average = 0x" + "f" * 5000, "found a whole number of more than 300 digits; "
         + NEEDS_FLOW),
        ("average = ''", "found nothing; " + NEEDS_FLOW),
    ],
    ids=lambda text: text[:30],
)  # fmt: skip
def test_values_with_key_and_line(tmp_path, line, message):
    text = example(without=["average ="]).replace("[flow]", f"[flow]\n{line}")
    number = text.splitlines().index(line) + 1
    assert fault(toml(tmp_path, text)) == (f"flow.average, line {number} (Average flow): {message}")


@pytest.mark.parametrize(
    ("lines", "place", "words"),
    [
        (["[infuent]", "tp = 3"], "infuent.tp", "close to it: influent.tp"),
        (["[zzz]", "qqq = 3"], "zzz.qqq", "a field that `pcompare check` lists"),
        (["[months.influent]", "tp = [1, 2]"], "months.influent.tp", "found 2 values; needs 12"),
        (["[months.influent]", "tp = 6"], "months.influent.tp", "needs 12 numbers in brackets"),
        (["[months.influent]", "ph = [" + "7," * 12 + "]"], "months.influent.ph",
         "found monthly values; needs one value for the year"),
        (["[months.influent]", "tq = 6"], "months.influent.tq", "close to it: influent.tp"),
        (["[range]", "influent.tp = 6"], "range.influent.tp", "needs [low, high]"),
        (["[range]", "influent.tp = [5, 6, 7]"], "range.influent.tp", "found a list of 3 values"),
        (["[range]", "influent.tp = [7, 9]"], "range.influent.tp", "low 7 mg P/L, value 6.8"),
        (["[range]", "influent.tp = [5, 'x']"], "range.influent.tp", "found 'x'"),
        (["[range]", "project.name = [5, 6]"], "range.project.name", "this field is no number"),
        (["[range]", "influent.tp = [nan, 7]"], "range.influent.tp", "found no number (NaN)"),
        (["[range]", "influent.tp = [7, 6]"], "range.influent.tp", "in rising order"),
        (["[note]", "nothing = 'x'"], "note.nothing", "no such field as 'nothing'"),
    ],
    ids=lambda part: part if isinstance(part, str) and "." in part else "",
)  # fmt: skip
def test_keys_with_their_line(tmp_path, lines, place, words):
    text = example(*lines)
    number = len(text.splitlines())
    message = fault(toml(tmp_path, text))
    assert message.startswith(f"{place}, line {number}")
    assert words in message


def test_a_value_outside_any_group(tmp_path):
    text = "flow = 3\n" + example(without=["[flow]", "average", "peak_f"])
    found = faults(toml(tmp_path, text))
    assert found[0].startswith("flow, line 1: found no such field as 'flow'; needs a field")
    assert [text.split(" (")[0] for text in found[1:]] == ["flow.average"]


@pytest.mark.parametrize("kind", ["months", "range", "note"])
def test_a_value_in_place_of_a_group(tmp_path, kind):
    message = fault(toml(tmp_path, f"{kind} = 3\n" + example()))
    assert message == f"{kind}, line 1: found 3; needs fields under [{kind}]"


def test_a_group_written_twice_over(tmp_path):
    found = faults(toml(tmp_path, example().replace("[flow]", "[[flow]]")))
    assert found[0].startswith("flow: found no such field as 'flow'")


def test_everything_missing_is_named_once(tmp_path):
    found = faults(toml(tmp_path, "[flow]\n"))
    required = [name for name, field in schema.fields().items() if field.default is None]
    assert [text.split(" (")[0] for text in found] == required
    assert all("found nothing; needs" in text for text in found)


# --- --set --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("override", "message"),
    [
        ("flow.average", "--set flow.average: found no pair; needs FIELD=VALUE, in base units"),
        ("=3", "--set =3: found no pair; needs FIELD=VALUE, in base units"),
        ("", "--set: found no pair; needs FIELD=VALUE, in base units"),
        ("flow.avrage=3", "--set flow.avrage: found no such field as 'flow.avrage'; needs a field "
         "of the form; close to it: flow.average, flow.load_share"),
        ("flow.average=lots", "--set flow.average (Average flow): found 'lots'; " + NEEDS_FLOW),
        ("flow.average=", "--set flow.average (Average flow): found nothing; " + NEEDS_FLOW),
        ("permit.averaging=yearly", "--set permit.averaging (Averaging period of the limit): "
         "found 'yearly'; needs one of daily, weekly, monthly, annual"),
        ("influent.orthophosphate=9", "--set influent.orthophosphate (Orthophosphate): found "
         "9 mg P/L, above total phosphorus 6.8 mg P/L in example; needs at most that"),
    ],
)  # fmt: skip
def test_set(override, message):
    assert fault(None, [override]) == message


@given(st.text(max_size=40))
def test_any_text_after_set_gives_a_case_or_one_clear_error(text):
    try:
        reader.read(None, [text])
    except InputError as error:
        assert str(error).startswith("worked example: 1 problem\n  --set")


# --- text of any length and script --------------------------------------------------------------

LONG = "x" * 100_000


@pytest.mark.parametrize(
    "override",
    [LONG, f"{LONG}=1", f"influent.{LONG}=1", f"flow.average={LONG}",
     "flow.average=" + "9" * 100_000, f"permit.averaging={LONG}", f"project.date={LONG}",
     f"permit.months={LONG}", f"chemical.products={LONG}", f"plant.households={LONG}"],
    ids=lambda text: text[:20],
)  # fmt: skip
def test_a_long_text_makes_a_short_message(override):
    text = fault(None, [override])
    assert text.startswith("--set ")
    assert len(text) < 600
    assert "\n" not in text


@pytest.mark.parametrize(
    "text",
    [f"{LONG} = 1", f"[{LONG}]\na = 1", f"[influent]\n{LONG} = 1", f"[note]\n{LONG} = 'a'",
     f"[months.influent]\n{LONG} = [1]", f"[range]\n{LONG} = [1, 2]"],
    ids=lambda text: text[:20],
)  # fmt: skip
def test_a_long_key_makes_a_short_message(tmp_path, text):
    assert max(map(len, faults(toml(tmp_path, text)))) < 600


def test_long_text_and_long_notes_are_cut(tmp_path):
    lines = ("[note]", f"prices.cake = '{LONG}'")
    got = reader.read(toml(tmp_path, example(*lines)), [f"project.note={LONG}"])
    assert got.notes == {"prices.cake": "x" * 200}
    assert got.choice("project.note") == "x" * 200
    longest = "y" * 32_767  # that a cell holds
    path = spoiled(tmp_path, {"project.note": longest, "flow.average": longest})
    assert len(fault(path)) < 300
    cut = reader.read(spoiled(tmp_path, {"project.note": longest}))
    assert cut.choice("project.note") == "y" * 200
    assert cut.warnings[0].startswith("Project!C7 (Remark): only the first 200 characters")


@pytest.mark.parametrize(
    "name", ["Klärwerk 🦆 水処理", "محطة المعالجة", "מתקן", "Очистные сооружения", "e\u0301 ẞ"]
)
def test_names_of_any_script_are_kept(tmp_path, name):
    path = spoiled(tmp_path, {"project.name": name}, name=f"{name}.xlsx")
    got = reader.read(path)
    assert (got.choice("project.name"), got.name) == (name, path.name)
    assert reader.read(None, [f"project.name={name}"]).choice("project.name") == name


def test_signs_that_turn_or_hide_text_are_dropped(tmp_path):
    """A direction mark could make a message read as another; a control sign could move a cursor."""
    assert (
        reader.read(None, ["project.name=a\u202eb\x1b[31mc"]).choice("project.name") == "a b [31mc"
    )
    assert fault(None, ["\u202eabc\n\x1b[2J=1"]).startswith("--set abc [2J: found no such field")
    text = faults(toml(tmp_path, example("[zz]", '"a\\nb\\u001b[31m\\u202e" = 1')))[0]
    assert text.startswith("zz.a b [31m: found no such field as 'zz.a b [31m'")
    path = tmp_path / "a\n\u202eb.toml"
    with pytest.raises(InputError) as caught:
        reader.read(path)
    assert str(caught.value).isprintable() or str(caught.value).count("\n") == 1
    assert str(caught.value).startswith("a b.toml: 1 problem\n  a b.toml: found no such file")


@pytest.mark.parametrize("name", ["project.name", "project.note", "finance.currency"])
@pytest.mark.parametrize("text", ["", " ", "\u202e"])
def test_empty_text_is_nothing(name, text):
    label = schema.fields()[name].label
    assert fault(None, [f"{name}={text}"]) == f"--set {name} ({label}): found nothing; needs text"


# --- the command line ---------------------------------------------------------------------------


def test_the_command_ends_with_status_1_and_no_traceback(tmp_path):
    path = spoiled(tmp_path, {"flow.average": "lots"})
    done = subprocess.run(
        [sys.executable, "-m", "pcompare", "check", str(path)],
        capture_output=True, text=True, encoding="utf-8", timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.startswith("error: plant.xlsx: 1 problem\n  Plant!C4 (Average flow): found")
    assert "Traceback" not in done.stderr


# --- salt and reuse -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "value", "side", "share"),
    [
        ("influent.sodium", 2, "cations", 21),
        ("influent.alkalinity", 5, "anions", 38),
    ],
)
def test_an_analysis_far_off_balance_is_refused_with_its_side(tmp_path, field, value, side, share):
    """By how much and which side, at the cell of an ion of that side; a small error is carried."""
    text = fault(spoiled(tmp_path, {field: value}))
    name, row = place_of("influent.sodium" if side == "cations" else "influent.alkalinity")
    assert text.startswith(f"{name}!C{row} (")
    assert f"ions {share} % of their sum out of balance, too few {side}" in text
    assert "needs an analysis in balance within 10 %" in text
    reader.read(spoiled(tmp_path, {"influent.sodium": 60}))


@pytest.mark.parametrize(
    ("field", "value", "found"),
    [
        ("reuse.evaporation_fraction", 1, "found 1; needs a number from 0 to 0.99"),
        ("reuse.return_fraction", 1.2, "found 1.2; needs a number from 0 to 1"),
        ("reuse.return_fraction", -0.1, "found -0.1; needs a number from 0 to 1"),
        ("reuse.capture_fraction", 1.01, "found 1.01; needs a number from 0 to 1"),
        ("reuse.drought_river_flow_cut", 1, "found 1; needs a number from 0 to 0.99"),
        ("reuse.drought_use_cut", 0.9, "found 0.9; needs a number from 0 to 0.8"),
        ("reuse.limit_tds", "lots", "found 'lots'; needs a number from 0 to 10 000 mg/L"),
        ("reuse.limit_sar", "none", "found 'none'; needs a number from 0 to 100"),
        ("reuse.limit_conductivity", "n/a", "found 'n/a'; needs a number from 0 to 20 000 µS/cm"),
        ("reuse.form", "canal", "found 'canal'; needs one of river, reservoir, aquifer, blend"),
        ("reuse.salt_cost", "both", "found 'both'; needs one of none, damage, removal"),
    ],
)
def test_reuse_fields_say_what_they_need(tmp_path, field, value, found):
    sheet, row = place_of(field)
    text = fault(spoiled(tmp_path, {field: value}))
    assert text.startswith(f"{sheet}!C{row} ({schema.fields()[field].label})")
    assert found in text


# --- shapes and correlations ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "where", "said"),
    [
        (['[shape]', 'prices.cake = "gamma"'], "shape.prices.cake, line 2, shape",
         "found 'gamma'; needs one of triangular, pert, lognormal, uniform"),
        (["[shape]", "prices.cake = 3"], "shape.prices.cake", "found 3; needs one of triangular"),
        (["[shape]", 'project.name = "pert"'], "shape.project.name", "this field is no number"),
        (["[shape]", 'prices.kake = "pert"'], "shape.prices.kake", "close to it: prices.cake"),
        (["[shape]", 'prices.pickle_liquor = "lognormal"'], "shape.prices.pickle_liquor",
         "found lognormal from a low of 0 money/t; needs a low above zero"),
        (["[shape]", 'finance.maintenance = "lognormal"', "[range]",
          "finance.maintenance = [0.001, 0.15]"], "shape.finance.maintenance",
         "which here reaches from"),
        (['correlation = [["prices.cake", "prices.kake", 0.5]]'], "correlation, line 1, pair 1",
         "close to it: prices.cake"),
        (['correlation = [["prices.cake", "prices.cake", 0.5]]'], "correlation",
         "found prices.cake with itself"),
        (['correlation = [["prices.cake", "project.name", 0.5]]'], "correlation",
         "found project.name, which is no number"),
        (['correlation = [["prices.cake", "prices.labour", 1.0]]'], "correlation",
         "found 1; needs a rank correlation above −1 and below 1"),
        (['correlation = [["prices.cake", "prices.labour", "x"]]'], "correlation", "found 'x'"),
        (['correlation = [["prices.cake", "prices.labour", nan]]'], "correlation",
         "found no number"),
        (['correlation = [["prices.cake", 0.5]]'], "pair 1", "found a list of 2 values"),
        (['correlation = [["prices.cake", 2, 0.5]]'], "pair 1", "found 2; needs two field names"),
        (["correlation = 0.5"], "correlation", "needs a list of [field, field, rank correlation]"),
        (['correlation = [["prices.cake", "prices.labour", 0.5],',
          '  ["prices.labour", "prices.cake", 0.4]]'], "pair 2", "again; needs each pair once"),
        (['correlation = [["prices.cake", "prices.labour", 0.6],',
          '  ["prices.labour", "prices.caustic", 0.6], ["prices.cake", "prices.caustic", -0.6]]'],
         "pair 1", "prices.cake with prices.labour 0.6"),
    ],
)  # fmt: skip
def test_a_wrong_shape_or_correlation_is_one_message(tmp_path, lines, where, said):
    path = tmp_path / "case.toml"
    example = reader.EXAMPLE_FILE.read_text()
    top = [line for line in lines if line.startswith("correlation")]
    if top:
        path.write_text("\n".join(lines) + "\n" + example)
    else:
        path.write_text(example + "\n".join(lines) + "\n")
    found = faults(path)
    assert len(found) == 1, found
    if where.endswith("shape"):
        where = where.partition(",")[0]
    assert where in found[0]
    assert said in found[0]


def test_an_impossible_correlation_names_its_pairs_and_rows(tmp_path):
    rows = [("prices.cake", "prices.labour", 0.6), ("prices.labour", "prices.caustic", 0.6),
            ("prices.cake", "prices.caustic", -0.6),
            ("prices.polymer", "prices.cake", 0.1)]  # fmt: skip
    cells = {
        (layout.CORRELATION, f"{'ABC'[i]}{layout.FIRST_ROW + n}"): value
        for n, row in enumerate(rows)
        for i, value in enumerate(row)
    }
    (found,) = faults(spoiled(tmp_path, cells))
    for n in range(3):
        assert f"Correlation!A{layout.FIRST_ROW + n}:C{layout.FIRST_ROW + n}" in found
    assert "prices.polymer" not in found
    assert "positive definite" in found
    for text in ("prices.cake with prices.labour 0.6", "prices.cake with prices.caustic -0.6"):
        assert text in found


def test_a_wrong_shape_in_the_form_is_told_with_its_cell(tmp_path):
    sheet, row = place_of("prices.cake")
    (found,) = faults(spoiled(tmp_path, {(sheet, f"L{row}"): "bell"}))
    assert found.startswith(f"Prices!L{row}, shape (Cake hauled and placed): found 'bell'")


def test_a_half_filled_pair_is_told_with_its_row(tmp_path):
    cells = {(layout.CORRELATION, "A4"): "prices.cake", (layout.CORRELATION, "C4"): 0.4}
    (found,) = faults(spoiled(tmp_path, cells))
    assert found.startswith("Correlation!A4:C4: found nothing; needs two field names")


def test_a_shape_or_pair_without_a_range_is_remarked(tmp_path):
    case = tmp_path / "case.toml"
    example = reader.EXAMPLE_FILE.read_text()
    pair = 'correlation = [["influent.cod", "prices.cake", 0.5]]\n'
    case.write_text(pair + example + '[shape]\ninfluent.cod = "pert"\n')
    warnings = reader.read(case).warnings
    assert any("influent.cod has no range, so the pair has no effect" in w for w in warnings)
    assert any("no range, so its shape has no effect" in w for w in warnings)


def test_a_shape_may_be_set(tmp_path):
    assert reader.read(overrides=["shape.prices.cake=PERT"]).shapes == {"prices.cake": "pert"}
    (found,) = faults(None, ["shape.prices.cake=bell"])
    assert found.startswith("--set shape.prices.cake, shape (Cake hauled and placed): found 'bell'")
    (found,) = faults(None, ["shape.prices.kake=pert"])
    assert "close to it: prices.cake" in found
