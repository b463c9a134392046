"""Present worth over the planning period: capital, replacements, annual cost, salvage.

Constant money and a real discount rate. How often assets are replaced is read off plain values; the
years, the money and the rate are not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from math import nan

from pcompare.arrays import Quantity, maximum, plain, where
from pcompare.costs import capital
from pcompare.equations import finance
from pcompare.recording import Recorded
from pcompare.records import CashYear, Inputs

SPARE = 12  # replacements of one asset in a recording
LIVES = {"structure": "finance.life_structures", "equipment": "finance.life_equipment"}


def present_worth(inputs: Inputs, costs: Mapping[str, Quantity], annual: Quantity) -> Quantity:
    """Bring capital by kind of asset and the annual cost to present worth [money]."""
    rate, period = inputs["finance.discount_rate"], inputs["finance.period"]
    worth = annual * finance.uniform_present_worth(rate, period)
    for kind, direct in costs.items():
        cost = capital.with_soft_costs(inputs, direct)
        worth = worth + cost * _asset_factor(rate, period, inputs[LIVES[kind]])
    return worth


def cash_years(
    inputs: Inputs, costs: Mapping[str, Quantity], annual: Quantity
) -> tuple[CashYear, ...]:
    """List the same money row by row: first cost, each year, each replacement, what is left.

    How many rows there are is a choice, read off plain values; what stands in them is not.
    """
    rate, period = inputs["finance.discount_rate"], inputs["finance.period"]
    none = 0.0 * annual
    first, left, replaced = none, none, []
    for kind, direct in costs.items():
        cost, life = capital.with_soft_costs(inputs, direct), inputs[LIVES[kind]]
        first = first + cost
        left = left + cost * _salvage_share(period, life)
        for times in range(1, _needed(period, life) + 1):
            year = times * life
            spent = where(year < period, cost, 0.0)
            replaced.append((f"Replacement {times} of {kind}", year, spent))
    rows = [("First cost", none, first, none, none)]
    for year in range(1, int(plain(period).max()) + 1):
        paid = where(year <= period, annual, 0.0)
        rows.append((f"Year {year}", float(year) + none, none, paid, none))
    rows += [(label, year, spent, none, none) for label, year, spent in replaced]
    rows.append(("What is left", period, none, none, left))
    rows.sort(key=lambda row: float(plain(row[1]).max()))
    return tuple(
        CashYear(
            label=label,
            year=year,
            capital=spent,
            annual=paid,
            salvage=salvage,
            factor=(factor := finance.single_present_worth(rate, year)),
            worth=(spent + paid - salvage) * factor,
        )
        for label, year, spent, paid, salvage in rows
    )


def _asset_factor(rate: Quantity, period: Quantity, life: Quantity) -> Quantity:
    """Present worth of an asset kept in use for the period, per unit of its cost.

    First cost, plus each replacement within the period, less the straight-line salvage of the
    last one at its end.
    """
    factor: Quantity = 1.0
    most = _replacements(period, life)
    for times in range(1, most + 1):
        year = times * life
        within = where(year < period, 1.0, 0.0)
        factor = factor + within * finance.single_present_worth(rate, year)
    if isinstance(life, Recorded):  # more replacements than are written out have no answer
        factor = where(period > (most + 1.0) * life, nan, factor)
    salvage = _salvage_share(period, life)
    return factor - salvage * finance.single_present_worth(rate, period)


def _salvage_share(period: Quantity, life: Quantity) -> Quantity:
    """Share of the cost that the last replacement is worth at the end of the period."""
    last = 0.0 * period
    for times in range(1, _replacements(period, life) + 1):
        year = times * life
        last = where(year < period, year, last)
    age = maximum(period - last, 0.0)
    return finance.straight_line_salvage(1.0 + 0.0 * age, life, age)


def _needed(period: Quantity, life: Quantity) -> int:
    """Count the replacements within the period at point values."""
    return math.ceil(float((plain(period) / plain(life)).max())) - 1


def _replacements(period: Quantity, life: Quantity) -> int:
    """Count what to write out: a recording has spare ones, so that lives and period stay live."""
    needed = _needed(period, life)
    return max(needed, SPARE) if isinstance(life, Recorded) else needed
