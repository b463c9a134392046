"""Capital: the user's reference costs, scaled to the sizes of a design."""

from __future__ import annotations

from pcompare.arrays import Quantity
from pcompare.equations import finance
from pcompare.records import CapitalItem, Design, Inputs


def direct_cost(inputs: Inputs, item: CapitalItem) -> Quantity:
    """Cost of one item before contingency and engineering [money]."""
    return finance.scaled_cost(
        inputs[item.price],
        item.size,
        inputs[f"{item.price}_size"],
        inputs[f"{item.price}_exponent"],
    )


def with_soft_costs(inputs: Inputs, direct: Quantity) -> Quantity:
    """Add contingency and engineering, which compound [money]."""
    return direct * (1.0 + inputs["finance.contingency"]) * (1.0 + inputs["finance.engineering"])


def by_kind(inputs: Inputs, design: Design) -> dict[str, Quantity]:
    """Direct cost of all items by kind of asset [money]."""
    costs: dict[str, Quantity] = {}
    for item in design.capital:
        cost = direct_cost(inputs, item)
        costs[item.kind] = costs[item.kind] + cost if item.kind in costs else cost
    return costs
