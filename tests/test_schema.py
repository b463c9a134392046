"""The one list of fields, and the strict reading of single values."""

from __future__ import annotations

import datetime
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import tables
from pcompare.errors import TableError
from pcompare.inputs import schema, text_values

FIELDS = schema.fields()


def plain(text):
    return text.replace("\u202f", " ")


def refusal(name, value, system="si"):
    with pytest.raises(schema.NotUnderstood) as caught:
        schema.understood(FIELDS[name], value, system)
    return plain(caught.value.found), plain(caught.value.needs)


def test_sheets_stand_in_the_order_of_the_form():
    assert list(schema.sheets()) == [
        "Project", "Plant", "Water", "Permit", "Treatment", "Solids", "Salts", "Reuse", "Prices",
        "Capital", "Finance", "Decision", "Coefficients",
    ]  # fmt: skip
    listed = [field.name for fields in schema.sheets().values() for field in fields]
    assert sorted(listed) == sorted(FIELDS)


def test_every_field_says_what_it_is():
    for field in FIELDS.values():
        assert field.label, field.name
        assert field.sheet == "Coefficients" or field.help.endswith("."), field.name
        assert field.status in tables.STATUSES, field.name
        assert field.source in tables.sources(), field.name
        assert field.name.count(".") == 1, field.name
        assert (field.source == "JUDGEMENT") == (field.status == "judgement"), field.name


def test_labels_of_one_sheet_differ_but_for_sizes_and_exponents():
    for name, fields in schema.sheets().items():
        labels = [f.label for f in fields if not f.name.endswith(("_size", "_exponent"))]
        assert len(set(labels)) == len(labels), name


def test_every_coefficient_is_a_field():
    coefficients = {f"coefficient.{name}" for name in tables.coefficients()}
    assert coefficients == {name for name in FIELDS if name.startswith("coefficient.")}


def test_defaults_can_be_taken_back():
    """What the form is written with, the reader takes, in both systems."""
    from pcompare.units import show

    for field in FIELDS.values():
        values = [field.default, field.low, field.high, *(field.usual or ())]
        for value in (v for v in values if v is not None):
            assert schema.understood(field, value) == value, field.name
            if field.numeric:
                converted = show(value, field.unit, "us")[0]
                back = schema.understood(field, converted, "us")
                assert math.isclose(back, value, rel_tol=1e-9, abs_tol=1e-12), field.name


def test_limits_themselves_are_taken_in_both_systems():
    from pcompare.units import show

    for field in FIELDS.values():
        if field.numeric:
            for limit in field.hard:
                assert schema.understood(field, limit) == limit, field.name
                converted = show(limit, field.unit, "us")[0]
                back = schema.understood(field, converted, "us")
                assert field.hard[0] <= back <= field.hard[1], field.name


def test_a_coefficient_keeps_its_sign():
    positive, negative = FIELDS["coefficient.cake_dryness"], "coefficient.cake_change_biological"
    assert positive.hard[0] > 0.0
    assert refusal(positive.name, 0.0)[0] == "0 kg/kg"
    assert refusal(positive.name, -0.2)[0] == "-0.2 kg/kg"
    assert schema.understood(FIELDS[negative], 0.0) == 0.0
    assert refusal(negative, 0.01)[0] == "0.01 kg/kg"
    both = FIELDS["coefficient.cake_change_chemical"].hard
    assert both[0] < 0.0 < both[1]


NEEDS_FLOW = "a number from 10 to 2 000 000 m³/d"


@pytest.mark.parametrize(
    ("value", "found"),
    [
        ("lots", "'lots'"),
        ("12 mg/L", "'12 mg/L' (write the number alone; its unit is fixed)"),
        ("12,5", "'12,5' (a comma; write a decimal point, and nothing between thousands)"),
        ("20,000", "'20,000' (a comma; write a decimal point, and nothing between thousands)"),
        ("1,234,567", "'1,234,567' (a comma; write a decimal point, and nothing between "
         "thousands)"),
        ("20 000", "'20 000' (write the digits without anything between them)"),
        ("20\u202f000", "'20 000' (write the digits without anything between them)"),
        ("1_50", "'1_50' (write the digits without anything between them)"),
        ("95 %", "'95 %' (write the number alone; its unit is fixed)"),
        ("１５０", "'１５０'"),
        ("١٥٠", "'١٥٠'"),
        ("0x20", "'0x20' (write the number alone; its unit is fixed)"),
        ("NaN", "'NaN'"),
        ("nan", "'nan'"),
        ("inf", "'inf'"),
        ("-Infinity", "'-Infinity'"),
        ("1e308", "'1e308' (too large)"),
        ("1e999", "'1e999' (too large)"),
        ("", "nothing"),
        ("--5", "'--5'"),
        (math.nan, "no number (NaN)"),
        (math.inf, "inf"),
        (1e308, "1e+308"),
        (10**400, "a whole number of more than 300 digits"),
        (True, "the logical value true"),
        (None, "nothing"),
        (datetime.datetime(2026, 3, 1), "the date 2026-03-01"),
        (datetime.date(2026, 3, 1), "the date 2026-03-01"),
        (datetime.datetime(2026, 3, 1, 12, 30), "the date 2026-03-01 12:30:00"),
        (datetime.time(6, 30), "the time 06:30:00"),
        ([1.0, 2.0], "a list of 2 values"),
        ({"a": 1}, "a group of values"),
        (9.9, "9.9 m³/d"),
        (-20000, "−20 000 m³/d"),
        (2_000_000.5, "2000000.5 m³/d"),
        ("2e7", "20 000 000 m³/d"),
    ],
)  # fmt: skip
def test_numbers_that_are_none(value, found):
    assert refusal("flow.average", value) == (found, NEEDS_FLOW)


@pytest.mark.parametrize(
    ("value", "number"),
    [("150", 150.0), (" 150.5 ", 150.5), ("1.5e3", 1500.0), ("+20", 20.0), (150, 150.0),
     ("150.", 150.0), (1.5e2, 150.0)],
)  # fmt: skip
def test_numbers(value, number):
    assert schema.understood(FIELDS["flow.average"], value) == number


def test_a_true_minus_sign_is_a_minus():
    assert schema.understood(FIELDS["site.design_air_temperature"], "−5") == -5.0


@given(st.floats(-1e6, 1e6))
def test_python_s_own_writing_of_a_number_is_read_exactly(number):
    assert text_values.plain_number(repr(number)) == number


@given(st.text(max_size=12))
def test_whatever_is_read_as_a_number_is_written_in_ascii_digits(text):
    try:
        number = text_values.plain_number(text)
    except ValueError:
        return
    assert math.isfinite(number)
    assert set(text.strip().replace("−", "-")) <= set("0123456789+-.eE")


def test_whole_numbers():
    assert schema.understood(FIELDS["finance.period"], 20.0) == 20.0
    found, needs = refusal("finance.period", "20.5")
    assert (found, needs) == ("20.5", "a whole number from 1 to 100 y")


def test_us_customary_units_in_messages():
    found, needs = refusal("influent.temperature_average", 10.0, "us")
    assert (found, needs) == ("10 °F", "a number from 35.6 to 95 °F")
    assert schema.understood(FIELDS["influent.temperature_average"], 50.0, "us") == 10.0


@pytest.mark.parametrize("value", ["monthly", "Monthly", " MONTHLY "])
def test_choices_in_any_case(value):
    assert schema.understood(FIELDS["permit.averaging"], value) == "monthly"


@pytest.mark.parametrize("value", ["yearly", "", 3, "month"])
def test_other_choices(value):
    assert refusal("permit.averaging", value)[1] == "one of daily, weekly, monthly, annual"


@pytest.mark.parametrize(
    "value",
    [datetime.date(2026, 3, 31), datetime.datetime(2026, 3, 31, 9), "2026-03-31", " 2026-03-31 "],
)
def test_dates(value):
    assert schema.understood(FIELDS["project.date"], value) == "2026-03-31"


@pytest.mark.parametrize(
    "value", ["31.3.2026", "2026-02-30", "20260331", "２０２６-03-31", 46112, True]
)
def test_other_dates(value):
    assert "year-month-day" in refusal("project.date", value)[1]


def test_text():
    name = FIELDS["project.name"]
    assert schema.understood(name, " Two\nlines\x07 and\tmore ") == "Two lines and more"
    assert schema.understood(name, 12.0) == "12"
    assert refusal("project.name", True) == ("the logical value true", "text")


@pytest.mark.parametrize(
    ("text", "months"),
    [("all", "all"), ("ALL", "all"), ("6", "6"), (6, "6"), ("5, 6,7", "5, 6, 7"),
     ("9,5-7", "5, 6, 7, 9"), ("1-12", "all"), ("11–12", "11, 12")],
)  # fmt: skip
def test_seasons(text, months):
    assert schema.understood(FIELDS["permit.months"], text) == months


@pytest.mark.parametrize("text", ["", "13", "0", "7-5", "June", "5;6", "5,,6", "1-13"])
def test_other_seasons(text):
    assert refusal("permit.months", text)[1] == "all, or month numbers such as 5, 6, 7-9"


def test_products():
    field = FIELDS["chemical.products"]
    assert schema.understood(field, "Ferric chloride,liquid_alum") == "ferric_chloride, liquid_alum"
    for text in ("", "alum", "liquid_alum,", "liquid_alum, liquid alum", "caustic"):
        assert "liquid_alum, ferric_chloride" in refusal("chemical.products", text)[1]
    assert schema.understood(field, "own product") == "own_product"
    for product in schema.products():
        assert f"prices.{product}" in FIELDS


HEAD = (
    "field,sheet,label,unit,kind,choices,hard_low,hard_high,usual_low,usual_high,value,low,high,"
    "monthly,status,source,locator,help\n"
)


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("a.b,S,L,mg/L,numer,,0,1,,,,,,no,judgement,JUDGEMENT,,H.", "kind"),
        ("a.b,S,L,mg/L,number,,0,1,,,,,,no,guess,JUDGEMENT,,H.", "status"),
        ("a.b,S,L,mg/L,number,,0,1,,,,,,no,judgement,NOBODY,,H.", "source"),
        ("a.b,S,L,mg/L,number,,2,1,,,,,,no,judgement,JUDGEMENT,,H.", "hard_low"),
        ("a.b,S,L,mg/L,number,,0,1,0.5,0.2,,,,no,judgement,JUDGEMENT,,H.", "hard_low"),
        ("a.b,S,L,mg/L,number,,0,1,,,3,,,no,judgement,JUDGEMENT,,H.", "low"),
        ("a.b,S,L,mg/L,number,,0,1,,,0.5,0.6,0.7,no,judgement,JUDGEMENT,,H.", "low"),
        ("a.b,S,L,mg/L,number,,0,1,,,0.5,0.4,,no,judgement,JUDGEMENT,,H.", "low"),
        ("a.b,S,L,mg/L,number,,0,1,,,lots,,,no,judgement,JUDGEMENT,,H.", "value"),
        ("a.b,S,L,,choice,x|y,,,,,z,,,no,judgement,JUDGEMENT,,H.", "value"),
    ],
)
def test_a_row_that_contradicts_itself_is_named(tmp_path, row, column):
    path = tmp_path / "input_fields.csv"
    path.write_text(HEAD + row + "\n", encoding="utf-8")
    with pytest.raises(TableError) as caught:
        schema._field(next(tables.rows_of(path)))
    assert (caught.value.file, caught.value.line) == ("input_fields.csv", 2)
    assert caught.value.column == column


def test_a_field_named_twice_is_refused(tmp_path, monkeypatch):
    row = "a.b,S,L,mg/L,number,,0,1,,,,,,no,judgement,JUDGEMENT,,H.\n"
    path = tmp_path / "input_fields.csv"
    path.write_text(HEAD + row + row, encoding="utf-8")
    monkeypatch.setattr(tables, "read", lambda name: tuple(tables.rows_of(path)))
    with pytest.raises(TableError, match=r"line 3, column 'field': found 'a\.b' again"):
        schema.fields.__wrapped__()
