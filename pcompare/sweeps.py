"""Things that become the cases axis: effluent limits and the ends of a tornado."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
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
    return put(inputs, {field: np.array(points, dtype=np.float64)})


def put(inputs: Inputs, columns: Mapping[str, Array]) -> Inputs:
    """Put values of some fields, one for each case, on the cases axis."""
    cases = {name: column.reshape(-1, 1) for name, column in columns.items()}
    return replace(inputs, values={**inputs.values, **cases})


def one_at_a_time(inputs: Inputs, fields: Sequence[str], points: Array) -> Inputs:
    """Give one case for each field, that field at its point and all others as they are.

    ``points`` has shape (cases, 1). A field with months keeps its shape over the year.
    """
    values = dict(inputs.values)
    for name in dict.fromkeys(fields):
        column = np.repeat(as_cases(inputs[name]), len(fields), axis=0)
        centre = float(np.mean(column[0]))
        rows = [i for i, field in enumerate(fields) if field == name]
        column[rows] = column[rows] * (points[rows] / centre) if centre else points[rows]
        values[name] = column
    return replace(inputs, values=values)


def tornado(inputs: Inputs, fields: Sequence[str]) -> Inputs:
    """Two cases for each field, at its low and its high, all others as they are."""
    pairs = [end for name in fields for end in (inputs.low[name], inputs.high[name])]
    twice = [name for name in fields for _ in range(2)]
    return one_at_a_time(inputs, twice, np.array(pairs).reshape(-1, 1))


def ends(difference: Array) -> list[tuple[float, float]]:
    """Read the pairs of results that ``tornado`` asked for."""
    flat = difference[:, 0]
    return [(float(flat[i]), float(flat[i + 1])) for i in range(0, len(flat), 2)]


def grid(across: Mapping[str, Array], up: Mapping[str, Array]) -> dict[str, Array]:
    """Give two groups of fields as cases, every value of one with every value of the other.

    The fields of a group move together; the cases run along ``across`` first.
    """
    width = len(next(iter(across.values())))
    height = len(next(iter(up.values())))
    return {
        **{name: np.tile(values, height) for name, values in across.items()},
        **{name: np.repeat(values, width) for name, values in up.items()},
    }
