"""Limits of those who use the water: the user's own first, then the published ones."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Mapping

from pcompare import tables
from pcompare.arrays import as_cases
from pcompare.equations import water_use
from pcompare.findings import UseLimit, UseQuantity
from pcompare.records import Inputs

QUANTITIES = (
    UseQuantity(key="tds", label="Dissolved solids, residue at 180 °C", unit="mg/L"),
    UseQuantity(key="chloride", label="Chloride", unit="mg/L"),
    UseQuantity(key="sulfate", label="Sulfate", unit="mg/L"),
    UseQuantity(key="sodium", label="Sodium", unit="mg/L"),
    UseQuantity(key="bicarbonate", label="Bicarbonate", unit="mg/L"),
    UseQuantity(key="conductivity", label="Conductivity at 25 °C", unit="uS/cm"),
    UseQuantity(key="sar", label="Sodium adsorption ratio", unit="-"),
)
UNITS = {quantity.key: quantity.unit for quantity in QUANTITIES}
FORMULAS = {"chloride": "Cl", "sulfate": "SO4", "sodium": "Na", "bicarbonate": "HCO3"}
MICRO_PER = {"uS/cm": 1.0, "mS/m": 10.0, "dS/m": 1000.0}
TOWER = "tower_"  # rows that hold in a tower, which concentrates its supply
FALLBACK = ("us_secondary_tds", "us_secondary_chloride")  # where the user has no limit
ROUNDING = 1e-6  # a limit passed by less is kept


def limits(inputs: Inputs) -> tuple[UseLimit, ...]:
    """Give every limit on a quantity that is followed here, in the unit of the quantity."""
    return (*_own(inputs), *(limit for limit in _published(_cycles(inputs))))


def governing(found: tuple[UseLimit, ...]) -> tuple[str, ...]:
    """Name the limits that say whether a strategy passes: the user's own, if there are any."""
    return tuple(limit.key for limit in found if limit.own) or FALLBACK


def met(value: float | None, limit: UseLimit) -> bool:
    """Tell whether a value keeps a limit; what has no steady state keeps none."""
    if value is None or math.isnan(value):
        return False
    room = ROUNDING * max(abs(limit.value), 1.0)
    if limit.sense == "at least":
        return value >= limit.value - room
    return value <= limit.value + room


def restriction(ratio: float, conductivity: float) -> str:
    """Name the restriction that sodium puts on irrigation, by ratio and conductivity."""
    if math.isnan(ratio) or math.isnan(conductivity):
        return "no steady state"
    bounds = water_use.infiltration_bounds(ratio)
    if conductivity >= float(bounds.none):
        return "none"
    return "slight to moderate" if conductivity >= float(bounds.severe) else "severe"


@functools.cache
def crops() -> Mapping[str, tuple[float, float]]:
    """Give threshold [dS/m] and slope [% m/dS] of each crop."""
    found: dict[str, dict[str, float]] = {}
    for row in tables.read("water_use_limits"):
        if row.text("quantity").startswith("crop "):
            found.setdefault(row.text("use"), {})[row.text("quantity")] = row.number("value")
    return {crop: (v["crop threshold"], v["crop slope"]) for crop, v in found.items()}


def _cycles(inputs: Inputs) -> float:
    return float(as_cases(inputs["reuse.cooling_cycles"])[0, 0])


def _own(inputs: Inputs) -> Iterator[UseLimit]:
    """Give the limits that the user entered; 0 means none."""
    for quantity in QUANTITIES:
        field = f"reuse.limit_{quantity.key}"
        value = float(as_cases(inputs[field])[0, 0])
        if value > 0.0:
            yield UseLimit(
                key=f"own.{quantity.key}",
                use="Limit of the users",
                quantity=quantity.key,
                value=value,
                unit=quantity.unit,
                sense="at most",
                grade="met",
                status="",
                source="",
                locator=inputs.origins.get(field, ""),
                note=inputs.notes.get(field, ""),
            )


@functools.cache
def _published(cycles: float) -> tuple[UseLimit, ...]:
    return tuple(_of_row(row, cycles) for row in tables.read("water_use_limits")
                 if row.text("quantity") in UNITS)  # fmt: skip


def _of_row(row: tables.Row, cycles: float) -> UseLimit:
    quantity, note = row.text("quantity"), row.text("note")
    value = _in_unit_of_quantity(row.number("value"), row.text("unit"), quantity)
    if row.text("name").startswith(TOWER):
        note = f"{value:g} {UNITS[quantity]} in the tower at {cycles:g} cycles of concentration"
        value = value / cycles
    return UseLimit(
        key=row.text("name"),
        use=row.text("use"),
        quantity=quantity,
        value=value,
        unit=UNITS[quantity],
        sense=row.text("sense"),
        grade=row.text("class"),
        status=row.text("status"),
        source=row.text("source"),
        locator=row.text("locator"),
        note=note,
    )


def _in_unit_of_quantity(value: float, unit: str, quantity: str) -> float:
    """Convert a printed limit once: equivalents to mass, any conductivity to uS/cm at 25 degC."""
    if unit == "meq/L":
        return float(water_use.mass_from_equivalents(value, FORMULAS[quantity]))
    if unit == "uS/cm at 20 degC":
        return float(water_use.conductivity_at_25(value))
    return value * MICRO_PER.get(unit, 1.0)
