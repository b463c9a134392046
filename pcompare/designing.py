"""Every alternative of one plant designed at point values, and compared.

Here every choice is made: the trial of a split, the case of a column. What a design then does is
``evaluation``.
"""

from __future__ import annotations

import functools
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from pcompare import comparison
from pcompare.arrays import Array, as_cases, highest, plain
from pcompare.beside import beside
from pcompare.costs import capital
from pcompare.evaluation import basis_lines, candidate, present_worth
from pcompare.records import (
    Candidate,
    Comparison,
    Design,
    Inputs,
    Operation,
    Variant,
)
from pcompare.rows import Alternatives, name_at, row_of
from pcompare.strategies import (
    STRATEGIES,
    Strategy,
    carbon_supply,
    lime,
    no_action,
    sizing,
    stripping,
    treatment,
)
from pcompare.strategies.dissolved import dissolve, dissolve_together

# Fields of which a design asks only whether they are zero: what is then left out, or not asked for.
SET_OR_NOT = (
    "primary.capture", "bio.anoxic_fraction", "capital.index_then", "permit.ammonia",
    "permit.total_nitrogen",
)  # fmt: skip
# Organisms alone share one sludge, and what is limed aside shares nothing with the others.
ASIDE = {s.name for s in STRATEGIES if s.kind == "biological"} | {lime.NAME, stripping.NAME}

_Run: TypeAlias = tuple[Strategy, tuple[Variant, ...], Operation]  # of variants side by side
_Place: TypeAlias = tuple[Candidate, int | None]  # made side by side in which row, or alone


def compare(inputs: Inputs, processes: int = 1, variants: bool = True) -> Comparison:
    """Design, operate and compare every strategy at point values.

    Without ``variants`` only the one that each strategy carries comes along.
    """
    found = point(inputs, processes=processes, variants=variants)
    close = float(as_cases(inputs["decision.close_share"])[0, 0])
    share = float(plain(inputs.coefficient("metal_share_maximum")).max())
    basis = basis_lines(inputs, found["no_action"][0])
    return comparison.compare(found, basis, close, share, variants)


def point(
    inputs: Inputs,
    only: Collection[str] | None = None,
    processes: int = 1,
    variants: bool = True,
) -> dict[str, tuple[Candidate, ...]]:
    """Design, operate and cost every variant of every strategy, or of some, at point values.

    With more than one of ``processes`` those of ``ASIDE``, about half of the work, are made beside
    the others. Without ``variants`` only those are given that are carried.
    """
    baseline = dissolve(inputs, no_action.operate(inputs, no_action.design(inputs)))
    found = {no_action.NAME: (candidate(inputs, "baseline", baseline, baseline),)}
    asked = [s for s in STRATEGIES if only is None or s.name in only]
    apart = [s for s in asked if s.name in ASIDE]
    rest = [s for s in asked if s.name not in ASIDE]

    def made(strategies: Sequence[Strategy]) -> dict[str, tuple[Candidate, ...]]:
        every = _of_strategies(inputs, baseline, strategies)
        if not variants:
            every = {name: [_carried(places)] for name, places in every.items()}
        return {name: tuple(_at_row(*place) for place in every[name]) for name in every}

    aside = beside(lambda: made(apart), processes if apart and rest else 1)
    both = made(rest) | aside()
    return found | {s.name: both[s.name] for s in asked}


def _of_strategies(
    inputs: Inputs, baseline: Operation, strategies: Sequence[Strategy]
) -> dict[str, list[_Place]]:
    """Make every variant; of one plant, those that differ by the product alone in one pass."""
    cases = _cases(inputs)
    alone = cases > 1
    variants = {s.name: s.variants(inputs) for s in strategies}
    designed = (
        (strategy, together, _designed(inputs, cases, baseline, strategy, together))
        for strategy in strategies
        for together in _abreast(inputs, variants[strategy.name], alone)
    )
    runs: Iterator[_Run]
    if alone:  # one after the other: of many cases each is large
        runs = ((strategy, one, dissolve(inputs, run)) for strategy, one, run in designed)
    else:
        runs = _dissolved(inputs, list(designed))
    found: dict[tuple[str, Variant], _Place] = {}
    for strategy, together, run in runs:
        made = candidate(inputs, strategy.kind, run, baseline)
        for row, variant in enumerate(together):
            found[strategy.name, variant] = made, row if len(together) > 1 else None
    return {name: [found[name, v] for v in each] for name, each in variants.items()}


def _dissolved(inputs: Inputs, designed: Sequence[_Run]) -> Iterator[_Run]:
    """Add what dissolves to all runs of one plant at once."""
    whole = dissolve_together(inputs, [run for _, _, run in designed])
    for (strategy, together, _), run in zip(designed, whole, strict=True):
        yield strategy, together, run


def _carried(places: Sequence[_Place]) -> _Place:
    """Choose as ``comparison.choose`` does, before any variant is taken out of its pass."""
    worth = [row_of(as_cases(made.reduced["present_worth"]), row or 0) for made, row in places]
    failed = [row_of(comparison.unmet(made.requirements), row or 0) for made, row in places]
    return places[int(comparison.least(np.hstack(failed), np.hstack(worth))[0])]


def _abreast(inputs: Inputs, variants: Sequence[Variant], alone: bool) -> list[tuple[Variant, ...]]:
    """Group variants of which only the product differs, if each is not to be ``alone``."""
    if alone:
        return [(variant,) for variant in variants]
    groups: dict[tuple[object, ...], list[Variant]] = {}
    for v in variants:
        alike = treatment.alike(inputs, v.product)
        groups.setdefault((v.points, v.source, bool(v.carbon), alike), []).append(v)
    return [tuple(group) for group in groups.values()]


def _side_by_side(variants: Sequence[Variant], rows: int) -> Variant:
    """Make one variant of several, each with some rows of the cases axis."""
    first = variants[0]
    if len(variants) == 1:
        return first
    product, carbon = (
        Alternatives(names, rows) if all(names) else ""
        for names in (tuple(v.product for v in variants), tuple(v.carbon for v in variants))
    )
    return replace(first, product=product, carbon=carbon)


def _at_row(made: Candidate, row: int | None) -> Candidate:
    """Take one candidate out of those made side by side, if it is not alone."""
    if row is None:
        return made
    design = made.design
    return replace(
        made,
        design=replace(
            design,
            product=name_at(design.product, row),
            carbon=name_at(design.carbon, row),
            sizes={name: row_of(size, row) for name, size in design.sizes.items()},
            capital=tuple(replace(i, size=row_of(i.size, row)) for i in design.capital),
            choices={name: name_at(choice, row) for name, choice in design.choices.items()},
        ),
        monthly={name: row_of(value, row) for name, value in made.monthly.items()},
        reduced={name: row_of(value, row) for name, value in made.reduced.items()},
        requirements=tuple(
            replace(r, needed=row_of(r.needed, row), found=row_of(r.found, row))
            for r in made.requirements
        ),
    )


def _cases(inputs: Inputs) -> int:
    """Count the cases of an input record."""
    return max(len(as_cases(value)) for value in inputs.values.values())


def point_of(inputs: Inputs, name: str) -> tuple[Candidate, ...]:
    """Design, operate and cost every variant of one strategy at point values."""
    return point(inputs, only=(name,))[name]


def decided(inputs: Inputs) -> Array:
    """Tell by case what design decides once for all cases, as numbers: (cases, decisions).

    Cases with the same choices and months may be designed together where these rows agree: the
    cheapest base and carbon, what is set or not, and the year of a second phase.
    """
    fixed = plain(inputs)
    bought = [carbon_supply.prices_per_stored(fixed)]
    if inputs.choice("chemical.base") == "cheapest":
        bought.append(sizing.prices_per_equivalent(fixed))
    cheapest = (
        np.argmin(np.hstack(np.broadcast_arrays(*prices.values())), axis=1, keepdims=True)
        for prices in bought
    )
    set_or_not = (highest(fixed[name]) > 0.0 for name in SET_OR_NOT)
    rows = np.broadcast_arrays(*cheapest, *set_or_not, capital.phase_years(fixed))
    return np.hstack([as_cases(row) for row in rows])


def designs(inputs: Inputs) -> dict[str, tuple[Design, ...]]:
    """Give the designs of every variant of every strategy at point values."""
    return {name: tuple(c.design for c in found) for name, found in point(inputs).items()}


def _designed(
    inputs: Inputs, cases: int, baseline: Operation, strategy: Strategy, variants: Sequence[Variant]
) -> Operation:
    """Design variants side by side; where a decision is left, take that of least present worth."""
    rows, variant = strategy.trials(variants[0]), _side_by_side(variants, 1)
    if not rows:
        return strategy.design(inputs, baseline, variant, {})
    count = len(next(iter(rows.values())))
    tried, before = (inputs, baseline) if cases == 1 else _tried(inputs, cases, count)
    cases = max(cases, len(variants))
    repeated = {name: np.tile(column, (cases, 1)) for name, column in rows.items()}
    run = strategy.design(tried, before, _side_by_side(variants, count), repeated)
    if _salt_counts(inputs):
        run = dissolve(tried, run)
    worth = np.broadcast_to(as_cases(present_worth(tried, run, before)), (cases * count, 1))
    short = np.broadcast_to(comparison.unmet(run.requirements), (cases * count, 1))
    best = comparison.least(short.reshape(cases, count), worth.reshape(cases, count))
    return strategy.design(
        inputs, baseline, variant, {name: column[best] for name, column in rows.items()}
    )


# Several variants try as many rows: the last few answers are kept, by the identity of the inputs.
@functools.lru_cache(maxsize=8)
def _tried(inputs: Inputs, cases: int, count: int) -> tuple[Inputs, Operation]:
    """Repeat every case ``count`` times, so that trials lie on the cases axis; and no action there.

    Trials are compared by requirements and money: what dissolves is left out if it costs nothing.
    """
    values = {
        name: np.repeat(value, count, axis=0) if len(as_cases(value)) > 1 else value
        for name, value in inputs.values.items()
    }
    tried = replace(inputs, values=values)
    run = no_action.operate(tried, no_action.design(tried))
    return tried, dissolve(tried, run) if _salt_counts(inputs) else run


def _salt_counts(inputs: Inputs) -> bool:
    """Tell whether dissolved salt is a part of the annual cost."""
    return inputs.choice("reuse.salt_cost") != "none"


def forget() -> None:
    """Let go of what is kept from one design to the next: of many plants it is large."""
    _tried.cache_clear()
