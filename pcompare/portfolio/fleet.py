"""Many plants in one pass: each a row of the cases axis, designed together where choices agree.

What is told of a plant is what ``compare`` tells of it alone; a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pcompare import comparison, designing
from pcompare.arrays import Array, as_cases
from pcompare.equations.stoichiometry import mass_load
from pcompare.records import Candidate, Inputs
from pcompare.strategies import STRATEGIES

Column: TypeAlias = NDArray[Any]  # (plants,) of floats, nan where empty, or of text
# What is told of each strategy, by the keys of the lines.
QUANTITIES = (
    "effluent_tp", "metal_dose", "product_use", "base_dose", "carbon_dose", "sludge_increase",
    "alkalinity_residual", "chloride_added", "tds_increase_ion_sum", "energy_increase", "capital",
    "annual_cost", "present_worth", "equal_annual_cost", "cost_per_kg_p", "household_month",
    "greenhouse_gas", "probability_meets_permit",
)  # fmt: skip
NAMES = ("product", "carbon", "missed")  # likewise, as text
CHOSEN = "chosen"  # begins the columns of the strategy that is recommended
LOADS = {"metal_load": "metal_dose", "salt_load": "tds_increase_ion_sum"}  # mg/L to kg/d
BASELINE = "no_action"
PLANT = ("flow.average", "permit.tp")  # fields that are told again
STRATEGY_NAMES = tuple(strategy.name for strategy in STRATEGIES)


def split(inputs: Inputs, count: int) -> Iterator[tuple[comparison.Index, Inputs]]:
    """Part plants of the same choices and months into those that can be designed together.

    Gives the rows of each part, and their inputs.
    """
    decided = designing.decided(inputs)
    whole = np.broadcast_to(decided, (count, decided.shape[1]))
    _, part = np.unique(whole, axis=0, return_inverse=True)
    part = part.reshape(-1)
    for number in range(part.max() + 1):
        rows = np.flatnonzero(part == number)
        yield rows, _rows_of(inputs, rows)


def _rows_of(inputs: Inputs, rows: comparison.Index) -> Inputs:
    """Take some plants; a value that they share is kept once."""
    values = dict(inputs.values)
    for name, value in inputs.values.items():
        if value.shape[0] > 1:
            taken = value[rows]
            values[name] = taken[:1] if (taken == taken[:1]).all() else taken
    return replace(inputs, values=values)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Strategy:
    """One strategy of many plants, whichever of its candidates each plant carries."""

    name: str
    candidates: Sequence[Candidate]
    carried: comparison.Index  # (plants, 1)
    count: int

    def of_each(self, values: Sequence[Any]) -> Column:
        """Take, plant by plant, the value of the candidate that is carried: (plants,)."""
        columns = [np.broadcast_to(value, (self.count, 1)) for value in values]
        return np.take_along_axis(np.hstack(columns), self.carried, axis=1)[:, 0]

    def quantity(self, name: str) -> Column:
        """Take one quantity."""
        return self.of_each([as_cases(c.reduced.get(name, np.nan)) for c in self.candidates])

    def passes(self) -> Column:
        """Tell whether every requirement is met."""
        return self.of_each([comparison.feasible(c) for c in self.candidates])

    def missed(self) -> Column:
        """Name the requirements that are missed, with a space between them."""
        texts: list[list[str]] = [[] for _ in range(self.count)]
        for place, candidate in enumerate(self.candidates):
            carried = self.carried == place
            for requirement in candidate.requirements if carried.any() else ():
                missed = carried & ~comparison.met(requirement)
                for row in np.flatnonzero(missed[:, 0]):
                    texts[row].append(requirement.key)
        return text([" ".join(keys) for keys in texts])


def text(values: Iterable[str]) -> Column:
    """Make a column of text."""
    return np.array(list(values), dtype=object)


def evaluate(inputs: Inputs, count: int) -> tuple[dict[str, Column], dict[str, str]]:
    """Design and compare every strategy of ``count`` plants that can be designed together.

    Returns
    -------
    dict of str to array (plants,)
        Every column that ``told`` names.
    dict of str to str
        What each requirement asks, by its key.
    """
    found = designing.point(inputs)
    designing.forget()
    strategies = {
        name: _Strategy(
            name=name,
            candidates=candidates,
            carried=np.broadcast_to(comparison.choose(candidates), (count, 1)),
            count=count,
        )
        for name, candidates in found.items()
    }
    flow = np.broadcast_to(as_cases(inputs["flow.average"]).mean(axis=1, keepdims=True), (count, 1))
    baseline = strategies.pop(BASELINE)
    columns = {
        column(BASELINE, "meets"): np.where(baseline.passes(), 1.0, 0.0),
        column(BASELINE, "missed"): baseline.missed(),
        column(BASELINE, "effluent_tp"): baseline.quantity("effluent_tp"),
        **{
            name.replace(".", "_"): np.broadcast_to(
                as_cases(inputs[name]).mean(axis=1, keepdims=True), (count, 1)
            )[:, 0]
            for name in PLANT
        },
    }
    ranks, judged = _judged(list(strategies.values()), as_cases(inputs["decision.close_share"]))
    for place, strategy in enumerate(strategies.values()):
        columns |= _told(strategy, ranks[:, place], flow[:, 0])
    labels = {r.key: r.label for found in strategies.values()
              for c in found.candidates for r in c.requirements}  # fmt: skip
    return {**columns, **judged, **_chosen(columns, judged["recommended"])}, labels


def column(strategy: str, quantity: str) -> str:
    """Name a column."""
    return f"{strategy}_{quantity}"


def _judged(strategies: Sequence[_Strategy], close: Array) -> tuple[Array, dict[str, Column]]:
    """Rank the strategies of each plant, and say which is recommended or comes nearest."""
    names = text([*(s.name for s in strategies), ""])
    passes = _table(s.passes() for s in strategies)
    worth = _table(s.quantity("present_worth") for s in strategies)
    order = np.argsort(np.where(passes, worth, np.inf), axis=1, kind="stable")
    count = passes.sum(axis=1)
    place = np.argsort(order, axis=1, kind="stable") + 1.0
    first, second = (np.where(count > i, order[:, i], -1) for i in (0, 1))
    rows = np.arange(len(count))
    best = worth[rows, first]
    lead = np.where(count > 1, worth[rows, second] - best, np.nan)
    share = lead / np.maximum(np.abs(best), 1e-9)
    missed = _table(s.of_each([comparison.unmet(c.requirements) for c in s.candidates])
                    for s in strategies)  # fmt: skip
    by = _table(s.of_each([comparison.farthest(c.requirements) for c in s.candidates])
                for s in strategies)  # fmt: skip
    near = np.where(count > 0, -1, np.lexsort((worth, by, missed), axis=1)[:, 0])
    unmet = np.column_stack([*(s.missed() for s in strategies), text([""] * len(rows))])
    return np.where(passes, place, np.nan), {
        "recommended": names[first],
        "runner_up": names[second],
        "lead": lead,
        "close": np.where(count > 0, np.where(share < close[:, 0], 1.0, 0.0), np.nan),
        "nearest": names[near],
        "missed": unmet[rows, near],
    }


def _table(columns: Iterable[Column]) -> Array:
    return np.column_stack(list(columns))


def _told(strategy: _Strategy, rank: Column, flow: Column) -> dict[str, Column]:
    """Give everything that is told of one strategy."""
    designs = [c.design for c in strategy.candidates]
    carried = strategy.carried[:, 0]
    found: dict[str, Column] = {
        "meets": np.where(np.isnan(rank), 0.0, 1.0),
        "rank": rank,
        "product": text(d.product for d in designs)[carried],
        "carbon": text(comparison.carbon_key(d) for d in designs)[carried],
        "missed": strategy.missed(),
        **{name: strategy.quantity(name) for name in QUANTITIES},
    }
    found |= {load: mass_load(found[dose], flow) for load, dose in LOADS.items()}
    return {column(strategy.name, name): value for name, value in found.items()}


def _chosen(columns: Mapping[str, Column], recommended: Column) -> dict[str, Column]:
    """Take, plant by plant, the quantities of the strategy that is recommended."""
    found: dict[str, Column] = {}
    for name in ("product", "carbon", *QUANTITIES, *LOADS):
        whole: Column = (
            text([""] * len(recommended)) if name in NAMES else np.full(len(recommended), np.nan)
        )
        for strategy in STRATEGY_NAMES:
            rows = recommended == strategy
            whole[rows] = columns[column(strategy, name)][rows]
        found[column(CHOSEN, name)] = whole
    return found
