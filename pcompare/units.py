"""Base units inside, SI or US customary on paper: one registry of exact factors.

Codes are ASCII and stand in data, JSON and ``--set``; pretty forms appear in documents only.
Factors follow the international definitions of foot (0.3048 m), pound (0.453 592 37 kg), US gallon
(231 cubic inches) and horsepower-free metric power (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pcompare.errors import Fault, PCompareError

DAYS_PER_YEAR = 365.0  # of a planning year
KILOGRAMS_PER_TONNE = 1000.0

FOOT = 0.3048  # m
INCH = FOOT / 12.0
POUND = 0.45359237  # kg
GALLON = 231.0 * (INCH * 100.0) ** 3 * 1e-6  # m3
SHORT_TON = 2000.0 * POUND / 1000.0  # t
MILE = 5280.0 * FOOT / 1000.0  # km
PSI = POUND * 9.80665 / (INCH * INCH) / 1000.0  # kPa
ACRE_FOOT_SQUARE = FOOT * FOOT  # m2
SYSTEMS = ("si", "us")
THIN = "\N{NARROW NO-BREAK SPACE}"
DASH = "\N{EN DASH}"


@dataclass(frozen=True, slots=True)
class Unit:
    """How one base unit is shown: pretty SI form, US form, and base = factor * us + offset."""

    si: str
    us: str
    factor: float = 1.0
    offset: float = 0.0


def _same(pretty: str) -> Unit:
    return Unit(pretty, pretty)


UNITS: dict[str, Unit] = {
    "": _same(""),
    "-": _same("–"),
    "m3/d": Unit("m³/d", "MGD", GALLON * 1e6),
    "m3 product/d": Unit("m³/d", "gal/d", GALLON),
    "m3": Unit("m³", "gal", GALLON),
    "m2": Unit("m²", "ft²", ACRE_FOOT_SQUARE),
    "m": Unit("m", "ft", FOOT),
    "km": Unit("km", "mi", MILE),
    "degC": Unit("°C", "°F", 5.0 / 9.0, -160.0 / 9.0),
    "kPa": Unit("kPa", "psi", PSI),
    "kg/d": Unit("kg/d", "lb/d", POUND),
    "kg": Unit("kg", "lb", POUND),
    "kg TSS/d": Unit("kg TSS/d", "lb TSS/d", POUND),
    "kg COD/d": Unit("kg COD/d", "lb COD/d", POUND),
    "t/d": Unit("t/d", "ton/d", SHORT_TON),
    "kg/t": Unit("kg/t", "lb/ton", POUND / SHORT_TON),
    "kg/(m2 h)": Unit("kg/(m² h)", "lb/(ft² h)", POUND / ACRE_FOOT_SQUARE),
    "W/m3": Unit("W/m³", "W/kgal", 1.0 / (GALLON * 1000.0)),
    "money": _same("money"),
    "money/y": _same("money/y"),
    "money/kg": Unit("money/kg", "money/lb", 1.0 / POUND),
    "money/t": Unit("money/t", "money/ton", 1.0 / SHORT_TON),
    "money/kWh": _same("money/kWh"),
    "money/h": _same("money/h"),
    "t CO2e/y": Unit("t CO₂e/y", "t CO₂e/y"),
    "uS/cm": _same("µS/cm"),
    "mg CaCO3/L": _same("mg CaCO₃/L"),
    "mg O2/L": _same("mg O₂/L"),
    "kg CO2e/mol": _same("kg CO₂e/mol"),
    "kg CO2e/kg": _same("kg CO₂e/kg"),
    "kg CO2e/kWh": _same("kg CO₂e/kWh"),
    "kg CO2e/(t km)": _same("kg CO₂e/(t km)"),
}


def _unit(unit: str) -> Unit:
    """Find a unit; one without a US form of its own is shown as it is written."""
    return UNITS.get(unit) or _same(unit)


def _known(system: str) -> None:
    if system not in SYSTEMS:
        raise PCompareError(str(Fault(where="units", found=repr(system), needs="si or us")))


def pretty(unit: str, system: str = "si") -> str:
    """Give a unit's printed form in ``si`` or ``us``."""
    _known(system)
    found = _unit(unit)
    return found.us if system == "us" else found.si


def show(value: float, unit: str, system: str = "si") -> tuple[float, str]:
    """Convert a base value for paper: the number and its printed unit."""
    _known(system)
    found = _unit(unit)
    if system == "us":
        return (value - found.offset) / found.factor, found.us
    return value, found.si


def to_base(value: float, unit: str, system: str = "si") -> float:
    """Convert a printed value back to the base unit."""
    _known(system)
    found = _unit(unit)
    return value * found.factor + found.offset if system == "us" else value


def grouped(text: str) -> str:
    """Put thin spaces between the thousands of a plain decimal number."""
    sign = "−" if text.startswith("-") else ""
    whole, point, part = text.lstrip("-").partition(".")
    parts: list[str] = []
    while len(whole) > 4 or (parts and len(whole) > 3):
        whole, last = whole[:-3], whole[-3:]
        parts.append(last)
    if parts and len(whole) > 3:
        whole, last = whole[:-3], whole[-3:]
        parts.append(last)
    return sign + THIN.join([whole, *reversed(parts)]) + point + part


def significant(value: float, figures: int = 3) -> str:
    """Write a number with some significant figures; a dash where there is none.

    Examples
    --------
    >>> significant(0.012345), significant(1234.5, 2), significant(float("nan"))
    ('0.0123', '1200', '–')
    """
    if not math.isfinite(value):
        return DASH
    if value == 0.0:
        return "0"
    places = figures - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, places)
    if rounded != 0.0 and math.floor(math.log10(abs(rounded))) > figures - 1 - places:
        places -= 1  # 9.996 became 10.0: one decimal fewer
    if places < -15 or places > 15:
        return f"{value:.{figures - 1}e}"
    return grouped(f"{rounded:.{max(places, 0)}f}")
