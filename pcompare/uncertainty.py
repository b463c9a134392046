"""Chance: ranges become cases, and cases become spreads. The equations never know.

Each field is drawn from a stream of its own, so that a new field moves no other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from zlib import crc32

import numpy as np

from pcompare.arrays import Array, as_cases
from pcompare.records import Inputs, Study

CHUNK = 2000
QUANTILES = (0.10, 0.50, 0.90)


def varied_fields(inputs: Inputs) -> tuple[str, ...]:
    """Fields that have a range."""
    return tuple(sorted(name for name in inputs.low if inputs.low[name] < inputs.high[name]))


def triangular(uniform: Array, low: Array, mode: Array, high: Array) -> Array:
    """Turn uniform numbers into triangular ones."""
    split = (mode - low) / (high - low)
    left = low + np.sqrt(uniform * (high - low) * (mode - low))
    right = high - np.sqrt((1.0 - uniform) * (high - low) * (high - mode))
    return np.where(uniform < split, left, right)


def draw(inputs: Inputs, draws: int, seed: int) -> dict[str, Array]:
    """Draw every varied field, shape (draws, 1) or (draws, 12).

    A field with months keeps its shape over the year: the draw scales all of them.
    """
    drawn: dict[str, Array] = {}
    for name in varied_fields(inputs):
        stream = np.random.default_rng([seed, crc32(name.encode())])
        value = as_cases(inputs[name])
        mode = as_cases(value.mean())
        low, high = as_cases(inputs.low[name]), as_cases(inputs.high[name])
        uniform = stream.random((draws, 1))
        numbers = triangular(uniform, low, np.clip(mode, low, high), high)
        if value.shape[1] > 1:
            centre = float(mode[0, 0])
            numbers = value * (numbers / centre) if centre else value + numbers
        drawn[name] = numbers
    return drawn


def chunks(inputs: Inputs, drawn: Mapping[str, Array], draws: int) -> Iterator[Inputs]:
    """Give inputs with the drawn fields on the cases axis, a chunk at a time."""
    for start in range(0, draws, CHUNK):
        part = {name: numbers[start : start + CHUNK] for name, numbers in drawn.items()}
        yield replace(inputs, values={**inputs.values, **part})


def study(
    inputs: Inputs,
    draws: int,
    seed: int,
    evaluate: Callable[[Inputs], Mapping[str, Array]],
    contenders: tuple[str, ...],
) -> Study:
    """Run the draws and keep the spread of each line.

    ``evaluate`` gives line key to (cases, 1) from inputs with cases. ``contenders`` are the
    strategies that compete on present worth.
    """
    if draws == 0:
        return Study(draws=0, seed=seed, lines={}, chance_cheapest={}, varied=())
    drawn = draw(inputs, draws, seed)
    parts = [evaluate(case) for case in chunks(inputs, drawn, draws)]
    sizes = [min(CHUNK, draws - start) for start in range(0, draws, CHUNK)]
    whole = {
        key: np.concatenate(
            [np.broadcast_to(p[key], (n, 1))[:, 0] for p, n in zip(parts, sizes, strict=True)]
        )
        for key in parts[0]
    }
    return Study(
        draws=draws,
        seed=seed,
        lines={key: _spread(values) for key, values in whole.items() if np.isfinite(values).all()},
        chance_cheapest=_chance_cheapest(whole, contenders),
        varied=tuple(drawn),
    )


def _spread(values: Array) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, QUANTILES)
    return float(low), float(middle), float(high)


def _chance_cheapest(whole: Mapping[str, Array], contenders: tuple[str, ...]) -> dict[str, float]:
    if not contenders:
        return {}
    worth = np.stack([whole[f"{name}.present_worth"] for name in contenders])
    first = np.argmin(worth, axis=0)
    return {name: float(np.mean(first == i)) for i, name in enumerate(contenders)}
