"""Present worth over the planning period, in closed form; and the same money year by year.

Constant money and a real discount rate. How often assets are replaced is read off plain values; the
years, the money and the rate are not. Operating cost is that of each year's average load:
what is bought, used and hauled grows with the flow, maintenance and labour do not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from math import nan
from typing import TypeAlias

from pcompare.arrays import Quantity, maximum, minimum, plain, where
from pcompare.costs import capital
from pcompare.costs.capital import Assets
from pcompare.equations import finance, lifecycle
from pcompare.recording import Recorded
from pcompare.records import CashFlow, CashYear, Inputs

_Row: TypeAlias = tuple[str, Quantity, Quantity, Quantity, Quantity]  # of a recording, see below
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
    again = _replacing(rate, period, life, start)
    salvage = _salvage_share(period, life, start)
    return again, salvage * finance.single_present_worth(rate, period)


def _replacing(
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


def _salvage_share(period: Quantity, life: Quantity, start: float) -> Quantity:
    """Share of the cost that the last replacement is worth at the end of the period."""
    last = start + 0.0 * period
    for times in range(1, _replacements(period, life, start) + 1):
        year = start + times * life
        last = where(year < period, year, last)
    age = maximum(period - last, 0.0)
    return finance.straight_line_salvage(1.0 + 0.0 * age, life, age)


def _needed(period: Quantity, life: Quantity, start: float) -> int:
    """Count the replacements within the period that any case sees."""
    return max(math.ceil(float(((plain(period) - start) / plain(life)).max())) - 1, 0)


def _replacements(period: Quantity, life: Quantity, start: float) -> int:
    """Count what to write out: a recording has spare ones, so that lives and period stay live."""
    needed = _needed(period, life, start)
    return max(needed, SPARE) if isinstance(life, Recorded) else needed


# --- year by year -----------------------------------------------------------------------------


def yearly(strategy: str, inputs: Inputs, found: Assets, items: Mapping[str, float]) -> CashFlow:
    """Give the same money as payments at the ends of years, undiscounted, at point values."""
    fixed = plain(inputs)
    period = int(fixed["finance.period"].max())
    paid: dict[str, dict[float, float]] = {
        "construction": {}, "replacement": {}, "operation": {}, "salvage": {},
    }  # fmt: skip
    for costs, start in ((found.now, 0.0), (found.later, found.later_year)):
        for kind, direct in costs.items():
            cost = _number(capital.with_soft_costs(fixed, plain(direct)))
            for part, year, amount in _asset_payments(
                cost, _number(fixed[LIVES[kind]]), start, period
            ):
                paid[part][year] = paid[part].get(year, 0.0) + amount
    for year in range(1, period + 1):
        paid["operation"][float(year)] = sum(
            cost * _number(_rise(fixed, item)) ** year for item, cost in items.items()
        )
    years = tuple(sorted({0.0, *(year for part in paid.values() for year in part)}))
    columns = {name: tuple(part.get(year, 0.0) for year in years) for name, part in paid.items()}
    return CashFlow(strategy=strategy, years=years, **columns)


def cash_years(
    inputs: Inputs, found: Assets, items: Mapping[str, Quantity]
) -> tuple[CashYear, ...]:
    """Give the same money row by row, discounted, as quantities: for a recording.

    How many rows there are is a choice, read off plain values; what stands in them is not. What a
    longer period or shorter lives add to the rows is one sum at the end of the period.
    """
    rate = discount_rate(inputs)
    rows = [*_operating_rows(inputs, items), *_asset_rows(inputs, found)]
    rows.sort(key=lambda row: float(plain(row[1]).max()))
    return tuple(_cash_year(rate, *row) for row in rows)


def _asset_rows(inputs: Inputs, found: Assets) -> Iterator[_Row]:
    """Give what is built, replaced and left at the end, kinds that cost nothing included."""
    rate, period = discount_rate(inputs), inputs["finance.period"]
    none = 0.0 * rate
    more, left = none, none
    phases = (("First cost", found.now, 0.0), ("Second phase", found.later, found.later_year))
    for label, costs, start in phases:
        spent = none
        for kind, direct in costs.items():
            cost, life = capital.with_soft_costs(inputs, direct), inputs[LIVES[kind]]
            spent = spent + cost
            left = left + cost * _salvage_share(period, life, start)
            count = _needed(period, life, start) if plain(cost).any() else 0
            for times in range(1, count + 1):
                year = start + times * life
                again = where(year < period, cost, 0.0)
                name = f"{label}: replacement {times} of {kind.replace('_', '-')}"
                yield name, year, again, none, none
            more = more + cost * _replacing(rate, period, life, start, count)
        if costs:
            yield label, start + none, spent, none, none
    at_end = finance.single_present_worth(rate, period)
    yield "Replacements beyond these, as one sum", period, more / at_end, none, none
    yield "What is left", period, none, none, left


def _operating_rows(inputs: Inputs, items: Mapping[str, Quantity]) -> Iterator[_Row]:
    """Give the annual cost of each year."""
    rate, period = discount_rate(inputs), inputs["finance.period"]
    none = 0.0 * rate
    last = int(plain(period).max())
    for count in range(1, last + 1):
        paid = sum((cost * _rise(inputs, item) ** count for item, cost in items.items()), none)
        paid = where(count <= period, paid, 0.0)
        yield f"Year {count}", float(count) + none, none, paid, none
    later = none
    for item, cost in items.items():
        pay = (cost, rate, escalation(inputs, item), growth(inputs, item))
        until = minimum(period, float(last))
        later = later + (
            lifecycle.operating_worth(*pay, period) - lifecycle.operating_worth(*pay, until)
        )
    at_end = finance.single_present_worth(rate, period)
    yield f"Years after year {last}, as one sum", period, none, later / at_end, none


def _cash_year(
    rate: Quantity, label: str, year: Quantity, spent: Quantity, paid: Quantity, left: Quantity
) -> CashYear:
    factor = finance.single_present_worth(rate, year)
    return CashYear(
        label=label,
        year=year,
        capital=spent,
        annual=paid,
        salvage=left,
        factor=factor,
        worth=(spent + paid - left) * factor,
    )


def _rise(inputs: Inputs, item: str) -> Quantity:
    return (1.0 + escalation(inputs, item)) * (1.0 + growth(inputs, item))


def _asset_payments(
    cost: float, life: float, start: float, period: int
) -> Iterator[tuple[str, float, float]]:
    """Pay for one asset: built, replaced whenever it ends, and sold at the end of the period."""
    yield "construction", start, cost
    year = start
    while year + life < period:
        year += life
        yield "replacement", year, cost
    yield "salvage", float(period), -cost * max(0.0, 1.0 - (period - year) / life)


def _number(value: Quantity) -> float:
    return float(plain(value).max()) if hasattr(plain(value), "max") else float(value)
