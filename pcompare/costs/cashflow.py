"""Present worth over the planning period: capital, replacements, annual cost, salvage.

Constant money and a real discount rate. The years in which assets are replaced are choices, read
as plain values; the money and the rate are not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from pcompare.arrays import Array, Quantity, maximum, plain, where
from pcompare.costs import capital
from pcompare.equations import finance
from pcompare.records import Inputs

LIVES = {"structure": "finance.life_structures", "equipment": "finance.life_equipment"}


def present_worth(inputs: Inputs, costs: Mapping[str, Quantity], annual: Quantity) -> Quantity:
    """Bring capital by kind of asset and the annual cost to present worth [money]."""
    rate, period = inputs["finance.discount_rate"], inputs["finance.period"]
    worth = annual * finance.uniform_present_worth(rate, period)
    for kind, direct in costs.items():
        cost = capital.with_soft_costs(inputs, direct)
        life = plain(inputs[LIVES[kind]])
        worth = worth + cost * _asset_factor(rate, plain(period), life)
    return worth


def _asset_factor(rate: Quantity, period: Array, life: Array) -> Quantity:
    """Present worth of an asset kept in use for the period, per unit of its cost.

    First cost, plus each replacement within the period, less the straight-line salvage of the
    last one at its end.
    """
    factor: Quantity = 1.0
    last = 0.0 * period
    for times in range(1, math.ceil(float((period / life).max()))):
        year = times * life
        within = year < period
        factor = factor + where(within, 1.0, 0.0) * finance.single_present_worth(rate, year)
        last = where(within, year, last)
    age = maximum(period - last, 0.0)
    salvage = finance.straight_line_salvage(1.0 + 0.0 * age, life, age)
    return factor - salvage * finance.single_present_worth(rate, period)
