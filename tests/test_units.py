"""Factors against numbers that are defined or printed elsewhere, and the writing of numbers."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import lines, units
from pcompare.errors import PCompareError
from pcompare.inputs import schema

# What one base unit is in US customary units, from NIST Special Publication 811, Appendix B.8 and
# Handbook 44, Appendix C: as printed there, by their inverse where only that is printed.
PRINTED = [
    ("m3/d", 1.0 / 3785.411784, 1e-12),  # a gallon is 3.785411784 L exactly
    ("m3", 1000.0 / 3.785411784, 1e-12),
    ("m3 product/d", 264.1720524, 1e-9),
    ("m2", 10.76391042, 1e-9),
    ("m", 1.0 / 0.3048, 1e-12),
    ("km", 0.621371192, 1e-8),
    ("kg/d", 2.204622622, 1e-9),
    ("t/d", 1.102311311, 1e-9),
    ("kg/t", 2.0, 1e-12),  # 10 lb per short ton is 5 kg per tonne
    ("kPa", 0.1450377377, 1e-9),  # psi 6.894757 kPa
    ("kg/L", 8.345404452, 1e-9),  # lb/gal 119.8264 kg/m3
    ("W/m3", 3785.411784 / 745.6998716, 1e-9),  # horsepower (550 ft lbf/s) 745.6999 W
    ("money/kg", 0.45359237, 1e-12),
    ("money/t", 0.90718474, 1e-12),
    ("money/m3", 3.785411784, 1e-12),  # per thousand gallons
    ("t/y", 1.102311311, 1e-9),
    ("m/h", 1000.0 / 3.785411784 / 60.0 / 10.76391042, 1e-9),
    ("1/m", 0.3048, 1e-12),
    ("K", 1.8, 1e-12),  # a difference of temperatures: no offset
    ("kg/m3", 8.345404452, 1e-9),  # lb per thousand gallons: as lb/gal, and a tonne is 1000 kg
    ("kWh/m3", 3.785411784, 1e-12),
    ("kg", 2.204622622, 1e-9),
    ("t", 1.102311311, 1e-9),
    ("kg TSS/d", 2.204622622, 1e-9),
    ("kg COD/d", 2.204622622, 1e-9),
    ("kg/(m2 h)", 1.0 / 4.882428, 5e-7),  # pound per square foot, seven figures
    ("kg/(m2 d)", 1.0 / 4.882428, 5e-7),
    ("kg CO2e/kWh", 2.204622622, 1e-9),
    ("kg CO2e/(t km)", 2.0 * 1.609344, 1e-9),  # as kg/t, and a mile is 1.609344 km
]


@pytest.mark.parametrize(("unit", "expected", "tolerance"), PRINTED)
def test_factors(unit, expected, tolerance):
    assert units.show(1.0, unit, "us")[0] == pytest.approx(expected, rel=tolerance)
    assert units.show(1.0, unit, "si")[0] == 1.0


def test_a_load_is_the_trade_s_8_34():
    """1 mg/L in 1 MGD is 8.3454 lb/d."""
    flow = units.to_base(1.0, "m3/d", "us")
    assert units.show(flow * 1e-3, "kg/d", "us")[0] == pytest.approx(8.3454, abs=5e-5)


def test_temperatures_have_an_offset():
    for celsius, fahrenheit in ((0.0, 32.0), (100.0, 212.0), (-40.0, -40.0), (20.0, 68.0)):
        assert units.show(celsius, "degC", "us")[0] == pytest.approx(fahrenheit, abs=1e-12)
        assert units.to_base(fahrenheit, "degC", "us") == pytest.approx(celsius, abs=1e-12)


@given(st.floats(-1e12, 1e12), st.sampled_from(sorted(units.US)))
def test_there_and_back(value, unit):
    shown, _ = units.show(value, unit, "us")
    assert units.to_base(shown, unit, "us") == pytest.approx(value, rel=1e-12, abs=1e-10)
    assert units.to_base(value, unit, "si") == value


@pytest.mark.parametrize(
    ("unit", "si", "us"),
    [
        ("m3/d", "m³/d", "MGD"),
        ("m3 product/d", "m³/d", "gal/d"),
        ("degC", "°C", "°F"),
        ("uS/cm", "µS/cm", "µS/cm"),
        ("mg P/L", "mg P/L", "mg P/L"),
        ("mg CaCO3/L", "mg CaCO₃/L", "mg CaCO₃/L"),
        ("mg O2/L", "mg O₂/L", "mg O₂/L"),
        ("kg/(m2 h)", "kg/(m² h)", "lb/(ft² h)"),
        ("t CO2e/y", "t CO₂e/y", "t CO₂e/y"),
        ("kg/d", "kg/d", "lb/d"),
        ("t/d", "t/d", "short ton/d"),
        ("mol3/L3", "mol³/L³", "mol³/L³"),
        ("m3/(g d)", "m³/(g d)", "m³/(g d)"),
        ("kWh/d", "kWh/d", "kWh/d"),
        ("-", "–", "–"),
        ("", "", ""),
    ],
)
def test_pretty(unit, si, us):
    assert units.pretty(unit) == si
    assert units.pretty(unit, "us") == us


# Shown alike in both systems, on purpose: what the trade writes in metric units on both sides.
ALIKE = {
    "", "-", "d", "y", "h/d", "1/d",
    "mg/L", "mg P/L", "mg N/L", "mg COD/L", "mg CaCO3/L", "mg O2/L", "mg/mg",
    "mol/mol", "mol3/L3", "eq/eq", "eq/mol", "kg/kg", "kg N/kg N",
    "g COD/g COD", "g COD/g TSS", "g COD/g VSS", "g N/g TSS", "g N/g VSS", "g P/g TSS",
    "g P/g VSS", "g VSS/g COD", "g/g", "g/g COD", "g/g P", "g/g VSS", "mg P/mg COD",
    "L/(mg d)", "m3/(g d)", "mg N/(mg VSS d)",
    "meq/L", "mol/L", "kWh/d", "uS/cm", "money", "money/y", "money/h", "money/kWh",
    "t CO2e/y", "kg CO2e/mol", "kg CO2e/kg", "money/t CO2e",
}  # fmt: skip


def used_units():
    found = {field.unit for field in schema.fields().values()}
    return sorted(found | {kind.unit for kind in lines.LINES})


def test_every_code_in_use_is_converted_or_alike_on_purpose():
    """A new code is a decision: a row of ``units.US``, or a word here."""
    assert set(used_units()) - set(units.US) - ALIKE == set()
    assert set(units.US) & ALIKE == set()


def test_every_conversion_is_held_against_a_printed_factor():
    assert {unit for unit, *_ in PRINTED} == set(units.US) - {"degC"}


@pytest.mark.parametrize("system", units.SYSTEMS)
@pytest.mark.parametrize("unit", sorted({*used_units(), *units.US}))
def test_powers_and_indices_are_printed_as_such(unit, system):
    printed = units.pretty(unit, system).replace("1/", "")
    assert not any(c.isascii() and c.isdigit() for c in printed)
    assert "deg" not in printed and "uS" not in printed and "product" not in printed


@pytest.mark.parametrize("unit", used_units())
def test_us_paper_shows_no_metric_size(unit):
    """Metres, kilometres and tonnes go; concentrations, energy and reaction constants stay."""
    shown = units.pretty(unit, "us")
    laboratory = re.search(r"(\bmg|\bg|\bmol|CO₂e)\b", shown)
    ratio = re.fullmatch(r"(\w+)( \w+)?/\1( \w+)?", unit)
    if not (laboratory or ratio):
        assert not re.search(r"\b(m|m²|m³|km|t|kPa|kg)(?![a-z²³])\b", shown)


def test_an_unknown_system_is_refused():
    with pytest.raises(PCompareError, match="found 'metric'; needs si or us"):
        units.show(1.0, "kg", "metric")


@pytest.mark.parametrize(
    ("value", "figures", "text"),
    [
        (0.0, 3, "0"),
        (-0.0, 3, "0"),
        (math.nan, 3, "–"),
        (math.inf, 3, "–"),
        (-math.inf, 3, "–"),
        (1.0, 3, "1.00"),
        (9.994, 3, "9.99"),
        (9.996, 3, "10.0"),
        (999.6, 3, "1000"),
        (0.09996, 3, "0.100"),
        (1234.5, 2, "1200"),
        (1234.0, 4, "1234"),
        (12345.0, 3, "12_300"),
        (1234567.0, 7, "1_234_567"),
        (-1234567.0, 3, "−1_230_000"),
        (-0.5, 1, "−0.5"),
        (0.00012345, 3, "0.000123"),
        (3.2e-9, 2, "3.2e-9"),
        (-4.56e21, 3, "−4.56e21"),
        (9996.0, 3, "10_000"),  # the carry makes a fifth figure, and a thin space
        (9.999e-6, 3, "0.0000100"),  # and ends where no exponent is needed
        (9.99e14, 3, "999_000_000_000_000"),
        (1e15, 3, "1.00e15"),
        (2.5, 1, "2"),  # half to even, as Python formats
    ],
)
def test_significant(value, figures, text):
    assert units.significant(value, figures) == text.replace("_", units.THIN)


@given(st.floats(1e-5, 1e14), st.integers(1, 6), st.sampled_from([1.0, -1.0]))
def test_what_is_written_lies_within_half_a_unit_of_the_last_figure(value, figures, sign):
    text = units.significant(sign * value, figures)
    back = float(text.replace(units.THIN, "").replace(units.MINUS, "-"))
    assert abs(back - sign * value) <= 0.5001 * 10.0 ** (
        math.floor(math.log10(value)) - figures + 1
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [("1", "1"), ("1234", "1234"), ("12345", "12_345"), ("-12345.678", "−12_345.678"),
     ("1000000", "1_000_000"), ("0.1234567", "0.1234567")],
)  # fmt: skip
def test_grouped(text, expected):
    assert units.grouped(text) == expected.replace("_", units.THIN)
