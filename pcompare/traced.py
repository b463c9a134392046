"""The carried designs run on recording numbers, so that every number knows how it was made.

What a design holds enters as ``fixed`` leaves: a recording follows the inputs through a plant that
stands as it was sized.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, replace
from typing import Any

import numpy as np

from pcompare import evaluation, lines
from pcompare.arrays import Quantity, as_cases, highest, lowest, mean, plain
from pcompare.balances import balances
from pcompare.costs import capital, cash_years
from pcompare.findings import CashYear, Recording
from pcompare.recording import Recorded
from pcompare.records import (
    Candidate,
    CapitalItem,
    Comparison,
    Design,
    Inputs,
    Requirement,
    Zones,
)
from pcompare.strategies import biological, no_action, sizing
from pcompare.strategies.treatment import FILTER


def trace(inputs: Inputs, compared: Comparison) -> Recording:
    """Run the designs that a comparison carries on recording numbers."""
    recorded = on_recording_numbers(inputs)
    held = _Held()
    designs = {n: (held.design(result.design),) for n, result in compared.strategies.items()}
    found = {n: c for n, (c,) in evaluation.evaluate(recorded, designs).items()}
    graphs = {
        f"{name}.{quantity}": value
        for name, candidate in found.items()
        for quantity, value in candidate.reduced.items()
        if isinstance(value, Recorded)
    }
    basis = evaluation.basis_quantities(recorded, found["no_action"])
    cash = {name: _cash(recorded, candidate) for name, candidate in found.items()}
    return Recording(
        lines={
            **{f"basis.{key}": mean(value) for key, value in basis.items()},
            **graphs,
            **_differences(compared, graphs),
        },
        months={**_months("basis", basis), **_monthly_lines(found)},
        requirements={name: _extremes(candidate) for name, candidate in found.items()},
        balances=tuple(b for n, c in found.items() for b in balances(recorded, c, cash[n])),
        cash=cash,
        making=dict(_making(recorded, compared)),
    )


def everything(recording: Recording) -> Iterator[Quantity]:
    """Give every number of a recording that was made by steps."""
    yield from recording.lines.values()
    yield from recording.months.values()
    for balance in recording.balances:
        yield from (balance.left, balance.right)
    for rows in recording.cash.values():
        yield from (row.worth for row in rows)
    for asked in recording.requirements.values():
        for requirement in asked:
            yield from (requirement.needed, requirement.found)
    yield from recording.making.values()


def trace_candidate(inputs: Inputs, design: Design, subject: str) -> dict[str, Recorded]:
    """Run one design on recording numbers: line key to the graph that made it."""
    held = _Held()
    without = held.design(no_action.design(inputs))
    recorded = on_recording_numbers(inputs)
    found = evaluation.evaluate_one(recorded, held.design(design), without)
    return {
        f"{subject}.{quantity}": value
        for quantity, value in found.reduced.items()
        if isinstance(value, Recorded)
    }


def on_recording_numbers(inputs: Inputs) -> Inputs:
    """Make every numeric field the leaf of a recording."""
    leaves = {name: Recorded.field(name, plain(v)) for name, v in inputs.values.items()}
    return replace(inputs, values=leaves)


def _extremes(candidate: Candidate) -> tuple[Requirement, ...]:
    """Give what is asked for and found in the month that decides."""
    rows = []
    for asked in candidate.requirements:
        at_least = asked.sense == "at least"
        needed, found = (
            value if isinstance(value, Recorded) else as_cases(value)
            for value in (asked.needed, asked.found)
        )
        rows.append(
            replace(
                asked,
                needed=highest(needed) if at_least else lowest(needed),
                found=lowest(found) if at_least else highest(found),
            )
        )
    return tuple(rows)


def _cash(inputs: Inputs, candidate: Candidate) -> tuple[CashYear, ...]:
    items = {name: candidate.reduced[name] for name in lines.COST_ITEMS}
    return cash_years.discounted(inputs, capital.assets(inputs, candidate.design), items)


def _months(subject: str, values: Mapping[str, Quantity]) -> dict[str, Recorded]:
    return {
        f"{subject}.{quantity}": value
        for quantity, value in values.items()
        if isinstance(value, Recorded) and value.shape[1] > 1
    }


def _monthly_lines(found: Mapping[str, Candidate]) -> dict[str, Recorded]:
    """Give the months of every line that has them."""
    return {
        key: value
        for name, candidate in found.items()
        for key, value in _months(name, candidate.monthly).items()
        if key.rpartition(".")[2] in lines.KINDS
    }


def _differences(compared: Comparison, graphs: Mapping[str, Recorded]) -> dict[str, Recorded]:
    """Give the recommended strategy less the reference."""
    if not compared.ranking:
        return {}
    first, reference = compared.ranking[0], compared.reference
    return {
        f"difference.{q}": graphs[f"{first}.{q}"] - graphs[f"{reference}.{q}"]
        for q in lines.DIFFERENCES
        if f"{first}.{q}" in graphs and f"{reference}.{q}" in graphs
    }


def _making(inputs: Inputs, compared: Comparison) -> Iterator[tuple[str, Recorded]]:
    """Give how the mean that each strategy is sized to was chosen: live, beside the fixed one."""
    for name, result in compared.strategies.items():
        made = chosen_mean(inputs, result.design)
        if made is not None:
            yield f"{name}.design_mean", made


def chosen_mean(inputs: Inputs, design: Design) -> Recorded | None:
    """Give how the mean that a design is sized to follows from the inputs, if it still does."""
    made = sizing.wanted_mean(inputs, _train(design))
    same = np.array_equal(as_cases(plain(made)), as_cases(design.design_mean))
    return made if same and isinstance(made, Recorded) else None


def _train(design: Design) -> str:
    """Name the train whose variability a design was sized with."""
    if FILTER in design.points:
        return "filter"
    return biological.TRAINS.get(design.strategy, no_action.TRAIN)


class _Held:
    """Turns what designs hold into leaves; what designs share stays shared."""

    def __init__(self) -> None:
        self.leaves: dict[tuple[int, str], tuple[object, Recorded]] = {}
        self.zones: dict[int, tuple[Zones, Zones]] = {}

    def design(self, design: Design) -> Design:
        """Give a design whose numbers are leaves."""
        sizes: dict[str, Quantity] = {
            key: self.leaf(key, value) for key, value in design.sizes.items()
        }
        return replace(
            design,
            design_mean=self.leaf("design_mean", design.design_mean),
            sizes=sizes,
            capital=tuple(self._item(item) for item in design.capital),
            zones=self._laid_out(design.zones),
        )

    def leaf(self, name: str, value: Quantity) -> Quantity:
        """Give the leaf of one number, by the identity of the number."""
        # One empty zone may serve as several: each keeps its own name.
        key = (id(value), name if name.startswith("zones.") else "")
        if key not in self.leaves:
            self.leaves[key] = (value, Recorded.fixed(name, np.asarray(as_cases(value))))
        return self.leaves[key][1]

    def _item(self, item: CapitalItem) -> CapitalItem:
        return replace(item, size=self.leaf(f"size of {item.key}", item.size))

    def _laid_out(self, zones: Zones) -> Zones:
        if id(zones) not in self.zones:
            sizes = {field.name: getattr(zones, field.name) for field in fields(zones)}
            leaves: dict[str, Any] = {
                key: self.leaf(f"zones.{key}", value)
                for key, value in sizes.items()
                if not isinstance(value, str)
            }
            self.zones[id(zones)] = (zones, replace(zones, **leaves))
        return self.zones[id(zones)][1]
