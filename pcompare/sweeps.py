"""Things that become the cases axis: effluent limits and the ends of a tornado."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pcompare.arrays import Array, as_cases
from pcompare.records import Inputs


def limits(start: float, stop: float, steps: int) -> tuple[float, ...]:
    """Effluent limits from ``start`` to ``stop`` mg P/L, evenly on a logarithmic scale."""
    if steps == 1:
        return (start,)
    step = math.log(stop / start) / (steps - 1)
    return tuple(start * math.exp(step * i) for i in range(steps))


def along(inputs: Inputs, field: str, points: Sequence[float]) -> Inputs:
    """Put the values of one field on the cases axis."""
    column = np.array(points, dtype=np.float64).reshape(-1, 1)
    return replace(inputs, values={**inputs.values, field: column})


def tornado(inputs: Inputs, fields: Sequence[str]) -> Inputs:
    """Two cases for each field, at its low and its high, all others as they are."""
    count = 2 * len(fields)
    values = dict(inputs.values)
    for i, name in enumerate(fields):
        column = np.repeat(as_cases(inputs[name]), count, axis=0)
        centre = float(np.mean(column[0]))
        for row, end in ((2 * i, inputs.low[name]), (2 * i + 1, inputs.high[name])):
            column[row] = column[row] * (end / centre) if centre else end
        values[name] = column
    return replace(inputs, values=values)


def ends(difference: Array) -> list[tuple[float, float]]:
    """Read the pairs of results that ``tornado`` asked for."""
    flat = difference[:, 0]
    return [(float(flat[i]), float(flat[i + 1])) for i in range(0, len(flat), 2)]
