"""Shapes of what is uncertain, as quantile functions, and which correlations can hold together."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final, TypeAlias

import numpy as np

from pcompare.arrays import Array

TRIANGULAR, PERT, LOGNORMAL, UNIFORM = "triangular", "pert", "lognormal", "uniform"
SHAPES: Final = (TRIANGULAR, PERT, LOGNORMAL, UNIFORM)
Pair: TypeAlias = tuple[str, str]

Z90 = 1.2815515655446004  # standard normal number not exceeded in nine of ten
PERT_WEIGHT = 4.0  # of the mode in a PERT distribution
FARTHEST = 5.0  # standard normal number that a draw of millions does not reach
LEAST_EIGENVALUE = 1e-8  # of a correlation matrix that can be factored


def triangular(uniform: Array, low: Array, mode: Array, high: Array) -> Array:
    """Turn uniform numbers into triangular ones.

    Notes
    -----
    Below F(mode) = (mode - low)/(high - low): low + sqrt(u (high - low)(mode - low)), above it
    high - sqrt((1 - u)(high - low)(high - mode)).
    """
    split = (mode - low) / (high - low)
    left = low + np.sqrt(uniform * (high - low) * (mode - low))
    right = high - np.sqrt((1.0 - uniform) * (high - low) * (high - mode))
    return np.where(uniform < split, left, right)


def pert(uniform: Array, low: Array, mode: Array, high: Array) -> Array:
    """Turn uniform numbers into those of a scaled beta distribution of mean (a + 4 c + b)/6."""
    from scipy.special import betaincinv

    rise = 1.0 + PERT_WEIGHT * (mode - low) / (high - low)
    fall = 1.0 + PERT_WEIGHT * (high - mode) / (high - low)
    return np.asarray(low + (high - low) * betaincinv(rise, fall, uniform))


def lognormal(uniform: Array, low: Array, mode: Array, high: Array) -> Array:
    """Turn uniform numbers into lognormal ones with ``low`` and ``high`` as P10 and P90.

    The median is the geometric mean of both ends; ``mode`` is not used.
    """
    from scipy.special import ndtri

    return np.asarray(np.sqrt(low * high) * np.exp(log_spread(low, high) * ndtri(uniform)))


def log_spread(low: Array, high: Array) -> Array:
    """Give the standard deviation of the logarithm from P10 and P90."""
    return np.asarray(np.log(high / low) / (2.0 * Z90))


def farthest(low: float, high: float) -> tuple[float, float]:
    """Give the ends that lognormal draws between P10 and P90 do not pass."""
    reach = float(np.exp(FARTHEST * log_spread(np.asarray(low), np.asarray(high))))
    middle = (low * high) ** 0.5
    return middle / reach, middle * reach


def even(uniform: Array, low: Array, mode: Array, high: Array) -> Array:
    """Stretch uniform numbers from ``low`` to ``high``; ``mode`` is not used."""
    return low + (high - low) * uniform


QUANTILES: Mapping[str, Callable[[Array, Array, Array, Array], Array]] = {
    TRIANGULAR: triangular,
    PERT: pert,
    LOGNORMAL: lognormal,
    UNIFORM: even,
}


# --- correlation ------------------------------------------------------------------------------


def matrix(names: Sequence[str], pairs: Mapping[Pair, float]) -> Array:
    """Give the correlation of normal scores that makes the rank correlations of ``pairs``.

    Notes
    -----
    A rank correlation r belongs to 2 sin(pi r / 6) between normal scores.
    """
    place = {name: i for i, name in enumerate(names)}
    found = np.eye(len(names))
    for (first, second), rank in pairs.items():
        if first in place and second in place:
            i, j = place[first], place[second]
            found[i, j] = found[j, i] = 2.0 * np.sin(np.pi * rank / 6.0)
    return found


def can_hold(pairs: Mapping[Pair, float]) -> bool:
    """Tell whether rank correlations can hold together: their matrix is positive definite."""
    if not pairs:
        return True
    smallest = np.linalg.eigvalsh(matrix(members(pairs), pairs))[0]
    return bool(smallest > LEAST_EIGENVALUE)


def members(pairs: Mapping[Pair, float]) -> tuple[str, ...]:
    """Name every field of some pairs, in order."""
    return tuple(sorted({name for pair in pairs for name in pair}))


def contradiction(pairs: Mapping[Pair, float]) -> dict[Pair, float]:
    """Find a few pairs that contradict each other: without any one of them the rest can hold."""
    left = dict(pairs)
    for pair in list(left):
        without = {p: r for p, r in left.items() if p != pair}
        if not can_hold(without):
            left = without
    return left


def groups(pairs: Mapping[Pair, float]) -> list[tuple[str, ...]]:
    """Split the fields of some pairs into groups that have nothing to do with each other."""
    found: list[set[str]] = []
    for pair in pairs:
        joined = set(pair).union(*(g for g in found if g & set(pair)))
        found = [*(g for g in found if not g & set(pair)), joined]
    return sorted(tuple(sorted(group)) for group in found)
