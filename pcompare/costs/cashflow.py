"""Present worth over the planning period, in closed form.

Constant money and a real discount rate. How often assets are replaced is read off plain values; the
years, the money and the rate are not. Operating cost is that of each year's average load:
what is bought, used and hauled grows with the flow, maintenance and labour do not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from math import nan

from pcompare.arrays import Quantity, maximum, plain, where
from pcompare.costs import capital
from pcompare.costs.capital import Assets
from pcompare.equations import finance, lifecycle
from pcompare.recording import Recorded
from pcompare.records import Inputs

SPARE = 12  # replacements of one asset in a recording

LIVES = {
    "structure": "finance.life_structures",
    "equipment": "finance.life_equipment",
    "short_lived": "finance.life_short_lived",
}
STEADY = ("cost_maintenance", "cost_labour")  # do not grow with the flow


def discount_rate(inputs: Inputs) -> Quantity:
    """Real rate, from the nominal one where that is given [-]."""
    rate = inputs["finance.discount_rate"]
    if inputs.choice("finance.rate_kind") == "nominal":
        return finance.real_rate(rate, inputs["finance.inflation"])
    return rate


def escalation(inputs: Inputs, item: str) -> Quantity:
    """Real price rise of one item of the annual cost, ``cost_salt`` and so on [-]."""
    return inputs[f"finance.escalation_{item.removeprefix('cost_')}"]


def growth(inputs: Inputs, item: str) -> Quantity:
    """Growth of what one item of the annual cost pays for [-]."""
    return 0.0 * inputs["flow.growth"] if item in STEADY else inputs["flow.growth"]


def worth(
    inputs: Inputs, found: Assets, items: Mapping[str, Quantity], rate: Quantity | None = None
) -> dict[str, Quantity]:
    """Present worth and its parts [money]."""
    rate = discount_rate(inputs) if rate is None else rate
    period = inputs["finance.period"]
    none = 0.0 * rate
    built, replaced, left = none, none, none
    for costs, start in ((found.now, 0.0), (found.later, found.later_year)):
        for kind, direct in costs.items():
            cost = capital.with_soft_costs(inputs, direct)
            again, salvage = _asset_factors(rate, period, inputs[LIVES[kind]], start)
            built = built + (lifecycle.payment_worth(cost, rate, start) if start else cost)
            replaced = replaced + cost * again
            left = left - cost * salvage
    operated = sum(
        (
            lifecycle.operating_worth(
                cost, rate, escalation(inputs, item), growth(inputs, item), period
            )
            for item, cost in items.items()
        ),
        none,
    )
    return {
        "worth_construction": built,
        "worth_replacement": replaced,
        "worth_operation": operated,
        "worth_salvage": left,
        "present_worth": built + replaced + operated + left,
    }


def _asset_factors(
    rate: Quantity, period: Quantity, life: Quantity, start: float
) -> tuple[Quantity, Quantity]:
    """Present worth of keeping an asset in use for the period, per unit of its cost.

    Gives each replacement within the period, and the straight-line salvage of the last one at its
    end.
    """
    again = replacing(rate, period, life, start)
    salvage = salvage_share(period, life, start)
    return again, salvage * finance.single_present_worth(rate, period)


def replacing(
    rate: Quantity, period: Quantity, life: Quantity, start: float, after: int = 0
) -> Quantity:
    """Present worth of the replacements within the period, but the first ``after`` of them."""
    again: Quantity = 0.0 * rate
    most = _replacements(period, life, start)
    for times in range(after + 1, most + 1):
        year = start + times * life
        within = where(year < period, 1.0, 0.0)
        again = again + within * finance.single_present_worth(rate, year)
    if isinstance(life, Recorded):  # more replacements than are written out have no answer
        again = where(period > start + (most + 1.0) * life, nan, again)
    return again


def salvage_share(period: Quantity, life: Quantity, start: float) -> Quantity:
    """Share of the cost that the last replacement is worth at the end of the period."""
    last = start + 0.0 * period
    for times in range(1, _replacements(period, life, start) + 1):
        year = start + times * life
        last = where(year < period, year, last)
    age = maximum(period - last, 0.0)
    return finance.straight_line_salvage(1.0 + 0.0 * age, life, age)


def needed(period: Quantity, life: Quantity, start: float) -> int:
    """Count the replacements within the period that any case sees."""
    return max(math.ceil(float(((plain(period) - start) / plain(life)).max())) - 1, 0)


def _replacements(period: Quantity, life: Quantity, start: float) -> int:
    """Count what to write out: a recording has spare ones, so that lives and period stay live."""
    count = needed(period, life, start)
    return max(count, SPARE) if isinstance(life, Recorded) else count
