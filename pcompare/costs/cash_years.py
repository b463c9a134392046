"""The money of ``cashflow`` year by year, as payments and as rows of a recording."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeAlias

from pcompare.arrays import Quantity, minimum, plain, where
from pcompare.costs import capital, cashflow
from pcompare.costs.capital import Assets
from pcompare.equations import finance, lifecycle
from pcompare.findings import CashFlow, CashYear
from pcompare.records import Inputs

_Row: TypeAlias = tuple[str, Quantity, Quantity, Quantity, Quantity]  # of a recording, see below


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
                cost, _number(fixed[cashflow.LIVES[kind]]), start, period
            ):
                paid[part][year] = paid[part].get(year, 0.0) + amount
    for year in range(1, period + 1):
        paid["operation"][float(year)] = sum(
            cost * _number(_rise(fixed, item)) ** year for item, cost in items.items()
        )
    years = tuple(sorted({0.0, *(year for part in paid.values() for year in part)}))
    columns = {name: tuple(part.get(year, 0.0) for year in years) for name, part in paid.items()}
    return CashFlow(strategy=strategy, years=years, **columns)


def discounted(
    inputs: Inputs, found: Assets, items: Mapping[str, Quantity]
) -> tuple[CashYear, ...]:
    """Give the same money row by row, discounted, as quantities: for a recording.

    How many rows there are is a choice, read off plain values; what stands in them is not. What a
    longer period or shorter lives add to the rows is one sum at the end of the period.
    """
    rate = cashflow.discount_rate(inputs)
    rows = [*_operating_rows(inputs, items), *_asset_rows(inputs, found)]
    rows.sort(key=lambda row: float(plain(row[1]).max()))
    return tuple(_cash_year(rate, *row) for row in rows)


def _asset_rows(inputs: Inputs, found: Assets) -> Iterator[_Row]:
    """Give what is built, replaced and left at the end, kinds that cost nothing included."""
    rate, period = cashflow.discount_rate(inputs), inputs["finance.period"]
    none = 0.0 * rate
    more, left = none, none
    phases = (("First cost", found.now, 0.0), ("Second phase", found.later, found.later_year))
    for label, costs, start in phases:
        spent = none
        for kind, direct in costs.items():
            cost, life = capital.with_soft_costs(inputs, direct), inputs[cashflow.LIVES[kind]]
            spent = spent + cost
            left = left + cost * cashflow.salvage_share(period, life, start)
            count = cashflow.needed(period, life, start) if plain(cost).any() else 0
            for times in range(1, count + 1):
                year = start + times * life
                again = where(year < period, cost, 0.0)
                name = f"{label}: replacement {times} of {kind.replace('_', '-')}"
                yield name, year, again, none, none
            more = more + cost * cashflow.replacing(rate, period, life, start, count)
        if costs:
            yield label, start + none, spent, none, none
    at_end = finance.single_present_worth(rate, period)
    yield "Replacements beyond these, as one sum", period, more / at_end, none, none
    yield "What is left", period, none, none, left


def _operating_rows(inputs: Inputs, items: Mapping[str, Quantity]) -> Iterator[_Row]:
    """Give the annual cost of each year."""
    rate, period = cashflow.discount_rate(inputs), inputs["finance.period"]
    none = 0.0 * rate
    last = int(plain(period).max())
    for count in range(1, last + 1):
        paid = sum((cost * _rise(inputs, item) ** count for item, cost in items.items()), none)
        paid = where(count <= period, paid, 0.0)
        yield f"Year {count}", float(count) + none, none, paid, none
    later = none
    for item, cost in items.items():
        pay = (cost, rate, cashflow.escalation(inputs, item), cashflow.growth(inputs, item))
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
    return (1.0 + cashflow.escalation(inputs, item)) * (1.0 + cashflow.growth(inputs, item))


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
