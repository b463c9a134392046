"""The families of answers, in printing order.

Each strategy is a pair: ``design(inputs, baseline)`` makes every choice once at point values and
returns its candidates; ``operate(inputs, design)`` is arithmetic without choices.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pcompare.records import Design, Inputs, Operation
from pcompare.strategies import biological, no_action, salt


@dataclass(frozen=True, kw_only=True, slots=True)
class Strategy:
    """One strategy: its name, family and two stages."""

    name: str
    kind: str  # "baseline", "chemical", "biological" or "combined"
    design: Callable[[Inputs, Operation], tuple[Design, ...]]
    operate: Callable[[Inputs, Design], Operation]


STRATEGIES: tuple[Strategy, ...] = (
    Strategy(
        name=no_action.NAME,
        kind="baseline",
        design=no_action.design,
        operate=no_action.operate,
    ),
    Strategy(name=salt.NAME, kind="chemical", design=salt.design, operate=salt.operate),
    Strategy(
        name=biological.EXISTING,
        kind="biological",
        design=biological.design_existing,
        operate=biological.operate_existing,
    ),
    Strategy(
        name=biological.PURCHASED,
        kind="biological",
        design=biological.design_purchased,
        operate=biological.operate_purchased,
    ),
    Strategy(
        name=biological.TRIM,
        kind="combined",
        design=biological.design_trim,
        operate=biological.operate_trim,
    ),
)
