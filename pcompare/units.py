"""Base units inside, SI or US customary on paper: one registry of exact factors.

Codes are ASCII and stand in data, JSON and ``--set``; pretty forms appear in documents only. Every
factor follows from exact definitions: the international foot (0.3048 m), the avoirdupois pound
(0.45359237 kg), the US gallon (231 cubic inches) and standard gravity (9.80665 m/s2), as printed in
NIST Handbook 44, Appendix C, and NIST Special Publication 811, Appendix B.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass

from pcompare.errors import Fault, PCompareError

HOURS_PER_DAY = 24.0
DAYS_PER_YEAR = 365.0  # of a planning year
DAYS_PER_MONTH = DAYS_PER_YEAR / 12.0
KILOGRAMS_PER_TONNE = 1000.0

FOOT = 0.3048  # m
INCH = FOOT / 12.0  # m
MILE = 5280.0 * FOOT / 1000.0  # km
SQUARE_FOOT = FOOT * FOOT  # m2
GALLON = 231.0 * INCH**3  # m3
MILLION_GALLONS = 1e6 * GALLON  # m3
POUND = 0.45359237  # kg
SHORT_TON = 2000.0 * POUND / KILOGRAMS_PER_TONNE  # t
PSI = POUND * 9.80665 / INCH**2 / 1000.0  # kPa
HORSEPOWER = 550.0 * FOOT * POUND * 9.80665  # W, mechanical

SYSTEMS = ("si", "us")
THIN = "\N{NARROW NO-BREAK SPACE}"
DASH = "\N{EN DASH}"
MINUS = "\N{MINUS SIGN}"
UNGROUPED = 4  # digits up to which a whole number is not parted

# How codes look on paper, applied in this order.
LETTERS = (
    (r" product\b", ""),  # of a volume: the label says of what
    (r"\bdegC\b", "°C"),
    (r"\buS\b", "µS"),
    (r"\b(m|mol|L)2\b", r"\1²"),
    (r"\b(m|mol|L)3\b", r"\1³"),
    (r"\bCaCO3\b", "CaCO₃"),
    (r"\bCO2e\b", "CO₂e"),
    (r"\bO2\b", "O₂"),
)


@dataclass(frozen=True, slots=True)
class Customary:
    """How a base unit is shown in US customary units: base = factor * shown + offset."""

    pretty: str
    factor: float
    offset: float = 0.0


# Base unit -> US customary. A unit that is not named here is the same in both systems: mg/L, kWh,
# mol, days, money, and tonnes of CO2e, which are reported in metric tonnes everywhere.
US: dict[str, Customary] = {
    "m3/d": Customary("MGD", MILLION_GALLONS),
    "m3 product/d": Customary("gal/d", GALLON),
    "m3": Customary("gal", GALLON),
    "m2": Customary("ft²", SQUARE_FOOT),
    "m": Customary("ft", FOOT),
    "1/m": Customary("1/ft", 1.0 / FOOT),
    "m/h": Customary("gal/(min ft²)", 60.0 * GALLON / SQUARE_FOOT),
    "km": Customary("mi", MILE),
    "degC": Customary("°F", 5.0 / 9.0, -160.0 / 9.0),
    "K": Customary("°F", 5.0 / 9.0),  # a difference of temperatures
    "kPa": Customary("psi", PSI),
    "kg": Customary("lb", POUND),
    "kg/d": Customary("lb/d", POUND),
    "kg TSS/d": Customary("lb TSS/d", POUND),
    "kg COD/d": Customary("lb COD/d", POUND),
    "t": Customary("short ton", SHORT_TON),
    "t/d": Customary("short ton/d", SHORT_TON),
    "kg/t": Customary("lb/short ton", POUND / SHORT_TON),
    "kg/L": Customary("lb/gal", POUND / (1000.0 * GALLON)),
    "kg/(m2 h)": Customary("lb/(ft² h)", POUND / SQUARE_FOOT),
    "kg/(m2 d)": Customary("lb/(ft² d)", POUND / SQUARE_FOOT),
    "kg/m3": Customary("lb/kgal", POUND / (1000.0 * GALLON)),
    "kWh/m3": Customary("kWh/kgal", 1.0 / (1000.0 * GALLON)),
    "W/m3": Customary("hp/Mgal", HORSEPOWER / MILLION_GALLONS),
    "money/kg": Customary("money/lb", 1.0 / POUND),
    "money/m3": Customary("money/kgal", 1.0 / (1000.0 * GALLON)),
    "t/y": Customary("short ton/y", SHORT_TON),
    "money/t": Customary("money/short ton", 1.0 / SHORT_TON),
    "kg CO2e/kWh": Customary("lb CO₂e/kWh", POUND),
    "kg CO2e/(t km)": Customary("lb CO₂e/(short ton mi)", POUND / (SHORT_TON * MILE)),
}


def _customary(unit: str, system: str) -> Customary | None:
    """Find how a unit is shown in ``us``; None where it is shown as it is."""
    if system not in SYSTEMS:
        raise PCompareError(str(Fault(where="units", found=repr(system), needs="si or us")))
    return US.get(unit) if system == "us" else None


@functools.cache
def pretty(unit: str, system: str = "si") -> str:
    """Give a unit's printed form in ``si`` or ``us``; a dash for a pure number.

    Examples
    --------
    >>> pretty("m3/d"), pretty("m3/d", "us"), pretty("mg CaCO3/L"), pretty("-")
    ('m³/d', 'MGD', 'mg CaCO₃/L', '–')
    """
    customary = _customary(unit, system)
    if customary is not None:
        return customary.pretty
    if unit == "-":
        return DASH
    for pattern, letters in LETTERS:
        unit = re.sub(pattern, letters, unit)
    return unit


def show(value: float, unit: str, system: str = "si") -> tuple[float, str]:
    """Convert a base value for paper: the number and its printed unit.

    Examples
    --------
    >>> value, unit = show(100.0, "degC", "us")
    >>> round(value, 9), unit
    (212.0, '°F')
    """
    customary = _customary(unit, system)
    if customary is not None:
        value = (value - customary.offset) / customary.factor
    return value, pretty(unit, system)


def to_base(value: float, unit: str, system: str = "si") -> float:
    """Convert a value as it is shown back to the base unit."""
    customary = _customary(unit, system)
    return value if customary is None else value * customary.factor + customary.offset


def grouped(text: str) -> str:
    """Set thin spaces between the thousands of a plain decimal number, and a true minus.

    Examples
    --------
    >>> grouped("1234"), grouped("-1234567.5").replace(THIN, "_")
    ('1234', '−1_234_567.5')
    """
    sign = MINUS if text.startswith("-") else ""
    whole, point, decimals = text.lstrip("-").partition(".")
    if len(whole) > UNGROUPED:
        whole = f"{int(whole):,}".replace(",", THIN)
    return sign + whole + point + decimals


def significant(value: float, figures: int = 3) -> str:
    """Write a number with some significant figures; a dash where there is none.

    Very large and very small numbers take an exponent.

    Examples
    --------
    >>> significant(0.012345), significant(1234.5, 2), significant(float("nan"))
    ('0.0123', '1200', '–')
    """
    if not math.isfinite(value):
        return DASH
    if value == 0.0:
        return "0"
    # The exponent is read after rounding: 9.996 becomes 10.0, not 10.00.
    mantissa, exponent = f"{value:.{figures - 1}e}".split("e")
    power = int(exponent)
    if not -5 <= power < 15:
        return f"{mantissa.replace('-', MINUS)}e{power}"
    decimals = max(figures - 1 - power, 0)
    return grouped(f"{float(f'{mantissa}e{exponent}'):.{decimals}f}")
