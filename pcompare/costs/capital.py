"""Capital: the user's reference costs, scaled to the sizes of a design, now and in a second phase.

What is sized for a load that grows may be built in two phases. Which price row, which phase and
which index apply are choices, read as plain values; the money is not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pcompare.arrays import Array, Quantity, as_cases, plain, where
from pcompare.equations import finance, lifecycle
from pcompare.records import CapitalItem, Design, Inputs

# What is sized by capacity, and so grows with the load; zones and tanks are not.
PHASED = (
    "feed_system", "dosing_point", "storage", "lime_system", "base_system", "carbon_system",
    "filter",
)  # fmt: skip
KINDS = ("structure", "equipment", "short_lived")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Assets:
    """Direct cost by kind of asset, at the start and in a second phase [money]."""

    now: dict[str, Quantity]
    later: dict[str, Quantity]
    later_year: float  # 0 where all is built at once


def assets(inputs: Inputs, design: Design) -> Assets:
    """Cost everything that a design builds, by kind of asset and by phase."""
    now = {kind: 0.0 * inputs["finance.contingency"] for kind in KINDS}
    later = dict(now)
    year = phase_year(inputs)
    for item in design.capital:
        first, second = _phases(inputs, item, year)
        for costs, cost in ((now, first), (later, second)):
            for kind, part in _by_kind(inputs, item, cost):
                costs[kind] = costs[kind] + part
    return Assets(now=now, later=later if year else {}, later_year=year)


def phase_year(inputs: Inputs) -> float:
    """Year of the second phase; 0 where the load does not grow or all is built at once."""
    return float(phase_years(inputs).max())


def phase_years(inputs: Inputs) -> Array:
    """Give the same year case by case; those that are designed together share it."""
    growth = plain(inputs["flow.growth"])
    return as_cases(where(growth > 0.0, plain(inputs["flow.phase_year"]), 0.0))


def direct_cost(inputs: Inputs, item: CapitalItem, share: Quantity = 1.0) -> Quantity:
    """Cost of one item, or of a share of its size, before contingency and engineering [money]."""
    cost = inputs[item.price]
    if (plain(inputs["capital.index_then"]) > 0.0).any():
        cost = finance.indexed_cost(cost, inputs["capital.index_now"], inputs["capital.index_then"])
    return finance.scaled_cost(
        cost, item.size * share, inputs[f"{item.price}_size"], inputs[f"{item.price}_exponent"]
    )


def with_soft_costs(inputs: Inputs, direct: Quantity) -> Quantity:
    """Add contingency and engineering, compounding or not [money]."""
    shares = inputs["finance.contingency"], inputs["finance.engineering"]
    if inputs.choice("finance.soft_costs") == "direct cost":
        return lifecycle.added_capital(direct, *shares)
    return lifecycle.compounded_capital(direct, *shares)


def lines(inputs: Inputs, found: Assets) -> dict[str, Quantity]:
    """Capital with its parts; that of a second phase is in the total, at today's prices [money]."""
    none = 0.0 * inputs["finance.contingency"]
    direct = sum((*found.now.values(), *found.later.values()), none)
    contingency = direct * inputs["finance.contingency"]
    whole = with_soft_costs(inputs, direct)
    return {
        "capital": whole,
        "capital_direct": direct,
        "capital_contingency": contingency,
        "capital_engineering": whole - direct - contingency,
        "capital_later": with_soft_costs(inputs, sum(found.later.values(), none)),
    }


def built(inputs: Inputs, design: Design) -> dict[str, float]:
    """Capital of each item by its key, soft costs and both phases included, at point values."""
    fixed, year = plain(inputs), phase_year(inputs)
    return {
        item.key: float(with_soft_costs(fixed, sum(_phases(fixed, plain(item), year))).max())
        for item in design.capital
    }


def _phases(inputs: Inputs, item: CapitalItem, year: float) -> tuple[Quantity, Quantity]:
    """Cost of what is built at the start and later: sizes add up, so economy of scale is lost."""
    whole = direct_cost(inputs, item)
    if not year or item.key not in PHASED:
        return whole, 0.0 * whole
    growth = inputs["flow.growth"]
    first = lifecycle.growth_factor(growth, year) / lifecycle.growth_factor(
        growth, inputs["flow.design_year"]
    )
    return direct_cost(inputs, item, first), direct_cost(inputs, item, 1.0 - first)


def _by_kind(inputs: Inputs, item: CapitalItem, cost: Quantity) -> Iterator[tuple[str, Quantity]]:
    """Part the cost of equipment into what lives as such and what is short-lived."""
    if item.kind != "equipment":
        yield item.kind, cost
        return
    short = inputs["finance.short_lived_share"]
    yield "short_lived", cost * short
    yield "equipment", cost * (1.0 - short)
