"""The months in which the limit holds: outside them no salt is dosed and no carbon bought."""

from __future__ import annotations

from pcompare.arrays import Array, Quantity, as_cases, highest, where
from pcompare.records import Inputs

MONTHS = 12
NOWHERE = 1e9  # what a month outside the season counts for: nothing is worse or better


def held(inputs: Inputs) -> Array:
    """Give 1 in each month that the limit holds and 0 in the others, (1, 12); or (1, 1)."""
    text = inputs.choice("permit.months")
    if text == "all":
        return as_cases(1.0)
    numbers = {int(month) for month in text.split(",")}
    return as_cases([[float(month in numbers) for month in range(1, MONTHS + 1)]])


def inside(inputs: Inputs, wanted: Quantity, otherwise: Quantity) -> Quantity:
    """Give one value in the months that the limit holds and another in the rest."""
    months = held(inputs)
    return wanted if months.all() else where(months > 0.0, wanted, otherwise)


def worst(inputs: Inputs, value: Quantity) -> Quantity:
    """Give the highest month of those in which the limit holds."""
    return highest(inside(inputs, value, -NOWHERE))
