"""Units: exact factors against printed ones, every code accounted for, numbers as text."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import lines, units
from pcompare.errors import PCompareError
from pcompare.inputs import schema

DAY, HOUR = 86400.0, 3600.0  # s

# Conversion factors as printed in NIST Special Publication 811 (2008), appendix B.8, to SI units;
# seven figures, exact ones in full. Each line says which base unit it makes.
GALLON = 3.785411784e-3  # m3, exact: Handbook 44 (appendix C), 231 cubic inches
GALLON_PER_DAY = 4.381264e-8  # m3/s
GALLON_PER_MINUTE = 6.309020e-5  # m3/s
POUND = 0.45359237  # kg, exact
SHORT_TON = 907.18474  # kg, exact: 2000 lb
SQUARE_FOOT = 9.290304e-2  # m2, exact
PRINTED = {
    "m3/d": 1e6 * GALLON_PER_DAY * DAY,
    "m3 product/d": GALLON_PER_DAY * DAY,
    "m3": GALLON,
    "m2": SQUARE_FOOT,
    "m": 0.3048,
    "1/m": 1.0 / 0.3048,
    "m/h": GALLON_PER_MINUTE / SQUARE_FOOT * HOUR,
    "km": 1.609344,  # mile
    "kPa": 6.894757,  # pound-force per square inch
    "kg": POUND,
    "kg/d": POUND,
    "kg TSS/d": POUND,
    "kg COD/d": POUND,
    "t": SHORT_TON / 1000.0,
    "t/d": SHORT_TON / 1000.0,
    "kg/t": POUND / (SHORT_TON / 1000.0),
    "kg/L": 1.198264e2 / 1000.0,  # pound per US gallon is 119.8264 kg/m3
    "kg/(m2 h)": 4.882428,  # pound per square foot
    "kg/(m2 d)": 4.882428,
    "W/m3": 7.456999e2 / (1e6 * GALLON),  # horsepower of 550 foot pound-force per second
    "money/kg": 1.0 / POUND,
    "money/t": 1000.0 / SHORT_TON,
    "kg CO2e/kWh": POUND,
    "kg CO2e/(t km)": POUND / (SHORT_TON / 1000.0 * 1.609344),
}

# Shown alike in both systems, on purpose: what the trade writes in metric units on both sides.
ALIKE = {
    "", "-", "d", "y", "h/d", "1/d",
    "mg/L", "mg P/L", "mg N/L", "mg COD/L", "mg CaCO3/L", "mg O2/L", "mg/mg",
    "mol/mol", "mol3/L3", "eq/eq", "eq/mol", "kg/kg", "kg N/kg N",
    "g COD/g COD", "g COD/g TSS", "g COD/g VSS", "g N/g TSS", "g N/g VSS", "g P/g TSS",
    "g P/g VSS", "g VSS/g COD", "g/g P", "g/g VSS", "mg P/mg COD",
    "L/(mg d)", "m3/(g d)", "mg N/(mg VSS d)",
    "kWh/d", "uS/cm", "money", "money/y", "money/h", "money/kWh",
    "t CO2e/y", "kg CO2e/mol", "kg CO2e/kg",
}  # fmt: skip


def used():
    """Every code that a line or a field carries."""
    return {kind.unit for kind in lines.LINES} | {f.unit for f in schema.fields().values()}


def test_every_code_in_use_is_converted_or_alike_on_purpose():
    assert used() - set(units.US) - ALIKE == set()
    assert set(units.US) & ALIKE == set()


def test_every_factor_is_held_against_a_printed_one():
    assert set(PRINTED) == set(units.US) - {"degC"}


@pytest.mark.parametrize("unit", PRINTED)
def test_factor_is_the_printed_one(unit):
    assert units.to_base(1.0, unit, "us") == pytest.approx(PRINTED[unit], rel=5e-7)
    assert units.to_base(1.0, unit) == 1.0


@pytest.mark.parametrize(
    ("unit", "exact"),
    [("m3", 0.003785411784), ("kg", 0.45359237), ("t", 0.90718474), ("km", 1.609344),
     ("m2", 0.09290304), ("m", 0.3048)],
)  # fmt: skip
def test_exact_definitions_hold_to_the_last_figure(unit, exact):
    assert units.to_base(1.0, unit, "us") == pytest.approx(exact, rel=4e-16)


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0, 32), (100, 212), (-40, -40), (37, 98.6)])
def test_temperature_has_an_offset(celsius, fahrenheit):
    assert units.show(celsius, "degC", "us") == (pytest.approx(fahrenheit), "°F")
    assert units.to_base(fahrenheit, "degC", "us") == pytest.approx(celsius, abs=1e-12)


@given(st.sampled_from(sorted(units.US)), st.floats(-1e9, 1e9))
def test_there_and_back(unit, value):
    shown, _ = units.show(value, unit, "us")
    assert units.to_base(shown, unit, "us") == pytest.approx(value, rel=1e-12, abs=1e-11)


@pytest.mark.parametrize("unit", sorted(ALIKE))
def test_alike_is_alike(unit):
    assert units.show(3.25, unit, "us") == (3.25, units.pretty(unit, "si"))
    assert units.to_base(3.25, unit, "us") == 3.25


@pytest.mark.parametrize("system", units.SYSTEMS)
def test_no_code_is_printed_raw(system):
    """Powers, indices and degrees stand as a reader writes them; a pure number has a dash."""
    for unit in used() | set(units.US):
        printed = units.pretty(unit, system)
        bare = printed.replace("CaCO₃", "").replace("CO₂e", "").replace("O₂", "")
        assert not any(c.isascii() and c.isdigit() for c in bare.replace("1/", "")), printed
        assert "deg" not in printed and "uS" not in printed and "product" not in printed


@pytest.mark.parametrize(
    ("unit", "si", "us"),
    [
        ("m3/d", "m³/d", "MGD"),
        ("m3 product/d", "m³/d", "gal/d"),
        ("kg/(m2 h)", "kg/(m² h)", "lb/(ft² h)"),
        ("m3/(g d)", "m³/(g d)", "m³/(g d)"),
        ("mol3/L3", "mol³/L³", "mol³/L³"),
        ("mg CaCO3/L", "mg CaCO₃/L", "mg CaCO₃/L"),
        ("t CO2e/y", "t CO₂e/y", "t CO₂e/y"),
        ("uS/cm", "µS/cm", "µS/cm"),
        ("-", "–", "–"),
        ("", "", ""),
    ],
)
def test_printed_forms(unit, si, us):
    assert (units.pretty(unit), units.pretty(unit, "us")) == (si, us)


@pytest.mark.parametrize("call", [units.pretty, lambda u, s: units.show(1.0, u, s),
                                  lambda u, s: units.to_base(1.0, u, s)])  # fmt: skip
def test_an_unknown_system_is_refused(call):
    with pytest.raises(PCompareError, match="found 'imperial'; needs si or us"):
        call("m3/d", "imperial")


# --------------------------------------------------------------------------- numbers as text

THIN, MINUS, DASH = "\N{NARROW NO-BREAK SPACE}", "\N{MINUS SIGN}", "\N{EN DASH}"


@pytest.mark.parametrize(
    ("value", "figures", "text"),
    [
        (0.0, 3, "0"),
        (-0.0, 3, "0"),
        (1.0, 3, "1.00"),
        (9.994, 3, "9.99"),
        (9.996, 3, "10.0"),  # carries into a new figure
        (99.96, 3, "100"),
        (999.6, 3, "1000"),
        (9996.0, 3, f"10{THIN}000"),
        (0.09996, 3, "0.100"),
        (0.00099996, 4, "0.001000"),
        (-9.996, 3, f"{MINUS}10.0"),
        (0.96, 1, "1"),
        (1234.5, 2, "1200"),
        (12345.0, 2, f"12{THIN}000"),
        (-1234567.0, 4, f"{MINUS}1{THIN}235{THIN}000"),
        (123456789.0, 9, f"123{THIN}456{THIN}789"),
        (12345.678, 8, f"12{THIN}345.678"),
        (1e-5, 3, "0.0000100"),
        (9.9e-6, 3, "9.90e-6"),
        (9.999e-6, 3, "0.0000100"),  # rounds up to where no exponent is needed
        (9.99e14, 3, f"999{THIN}000{THIN}000{THIN}000{THIN}000"),
        (1e15, 3, "1.00e15"),
        (-1.5e-9, 2, f"{MINUS}1.5e-9"),
        (math.nan, 3, DASH),
        (math.inf, 3, DASH),
        (-math.inf, 3, DASH),
    ],
)
def test_significant_figures(value, figures, text):
    assert units.significant(value, figures) == text


@given(st.floats(1e-12, 1e20), st.integers(1, 8), st.booleans())
def test_significant_loses_only_what_it_must(value, figures, negative):
    value = -value if negative else value
    text = units.significant(value, figures).replace(THIN, "").replace(MINUS, "-")
    assert abs(float(text) - value) <= 0.5000001 * abs(value) * 10.0 ** (1 - figures)


@given(st.integers(0, 10**18))
def test_thousands_are_parted_and_nothing_else_changes(number):
    text = units.grouped(str(number))
    assert text.replace(THIN, "") == str(number)
    if number < 10_000:
        assert THIN not in text
    else:
        first, *others = text.split(THIN)
        assert 1 <= len(first) <= 3
        assert others and all(len(part) == 3 for part in others)


def test_decimals_are_never_parted():
    assert units.grouped("-12345.67890") == f"{MINUS}12{THIN}345.67890"
    assert units.grouped("0.12345") == "0.12345"
