"""The families of answers, in printing order.

Each strategy has variants (products, dosing points) and two stages: ``design`` makes every choice
of one variant at point values and gives its operation there, with the design inside; ``operate``
is arithmetic without choices. Where a continuous
choice is left, ``trials`` gives a row of decisions; the cheapest is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

from pcompare.arrays import Array
from pcompare.records import (
    Design,
    Inputs,
    Operation,
    Variant,
)
from pcompare.strategies import biological, lime, salt, stripping

Decisions = Mapping[str, Array]


@dataclass(frozen=True, kw_only=True, slots=True)
class Strategy:
    """One strategy: its name, family, variants and two stages."""

    name: str
    kind: str  # "chemical", "biological" or "combined"
    variants: Callable[[Inputs], tuple[Variant, ...]]
    design: Callable[[Inputs, Operation, Variant, Decisions], Operation]
    operate: Callable[[Inputs, Design], Operation]
    trials: Callable[[Variant], Decisions]


def _none(variant: Variant) -> Decisions:
    return {}


def _salt(name: str) -> Strategy:
    def design(i: Inputs, baseline: Operation, variant: Variant, decisions: Decisions) -> Operation:
        return salt.design(i, baseline, name, variant, decisions)

    return Strategy(
        name=name,
        kind="chemical",
        variants=partial(salt.variants, strategy=name),
        design=design,
        operate=salt.operate,
        trials=salt.trials,
    )


def _biological(name: str, kind: str) -> Strategy:
    def design(i: Inputs, baseline: Operation, variant: Variant, decisions: Decisions) -> Operation:
        return biological.design(i, baseline, name, variant, decisions)

    return Strategy(
        name=name,
        kind=kind,
        variants=partial(biological.variants, strategy=name),
        design=design,
        operate=biological.operate,
        trials=salt.trials,
    )


STRATEGIES: tuple[Strategy, ...] = (
    _salt(salt.SINGLE),
    _salt(salt.TWO_POINT),
    _salt(salt.TERTIARY),
    Strategy(
        name=lime.NAME,
        kind="chemical",
        variants=lime.variants,
        design=lime.design,
        operate=lime.operate,
        trials=_none,
    ),
    _biological(biological.EXISTING, "biological"),
    _biological(biological.FERMENTED, "biological"),
    _biological(biological.SIDE, "biological"),
    _biological(biological.PURCHASED, "biological"),
    Strategy(
        name=stripping.NAME,
        kind="combined",
        variants=stripping.variants,
        design=stripping.design,
        operate=stripping.operate,
        trials=_none,
    ),
    _biological(biological.TRIM, "combined"),
    _biological(biological.TRIM_FILTER, "combined"),
)
