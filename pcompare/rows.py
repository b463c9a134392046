"""Rows of the cases axis: products side by side, arrays below each other, many packed into one."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from pcompare.arrays import Array, Quantity, as_cases


class Alternatives(str):
    """Names of products side by side: each has ``rows`` rows of the cases axis, in turn.

    It reads as one name, so that what does not depend on the product need not know.
    """

    names: tuple[str, ...]
    rows: int

    def __new__(cls, names: tuple[str, ...], rows: int = 1) -> Alternatives:
        """Put names side by side."""
        self = super().__new__(cls, " or ".join(names))
        self.names = names
        self.rows = rows
        return self


def of_each(name: str, value: Callable[[str], Quantity]) -> Quantity:
    """Look up by name what depends on a product; for products side by side, each for its rows.

    Parameters
    ----------
    name : str or Alternatives
    value : callable
        Gives the quantity of one product: for the rows of all, or one row for all of its own.

    Returns
    -------
    quantity, or array (products times rows, 1 or months)

    """
    if not isinstance(name, Alternatives):
        return value(name)
    rows = name.rows
    parts = []
    for place, one in enumerate(name.names):
        found = as_cases(value(one))
        parts.append(found if len(found) == 1 else found[place * rows : (place + 1) * rows])
    return in_rows(parts, [rows] * len(parts))


def in_rows(parts: Sequence[Quantity], counts: Sequence[int]) -> Array:
    """Set arrays below each other on the cases axis, each with its count of rows.

    Those of one row are repeated, and the months of all are as many as of any.
    """
    arrays = [as_cases(part) for part in parts]
    months = max(array.shape[1] for array in arrays)
    result = np.empty((sum(counts), months))
    start = 0
    for array, count in zip(arrays, counts, strict=True):
        result[start : start + count] = array
        start += count
    return result


def packed(values: Mapping[str, Quantity]) -> tuple[Any, ...]:
    """Put many small arrays into one, to travel between processes; see ``unpacked``."""
    arrays = {
        name: value
        for name, value in values.items()
        if type(value) is np.ndarray and value.dtype == np.float64
    }
    rest = {name: value for name, value in values.items() if name not in arrays}
    shapes = [array.shape for array in arrays.values()]
    flat = [array.ravel() for array in arrays.values()]
    return tuple(arrays), shapes, np.concatenate(flat) if flat else np.empty(0), rest


def unpacked(
    names: tuple[str, ...], shapes: list[tuple[int, ...]], flat: Array, rest: dict[str, Quantity]
) -> dict[str, Quantity]:
    """Give what was ``packed``."""
    found, start = dict(rest), 0
    for name, shape in zip(names, shapes, strict=True):
        end = start + math.prod(shape)
        found[name] = flat[start:end].reshape(shape)
        start = end
    return found


def name_at(name: str, row: int) -> str:
    """Give the one name of products side by side that a row belongs to."""
    return name.names[row // name.rows] if isinstance(name, Alternatives) else name


def row_of(value: Quantity, row: int) -> Quantity:
    """Give one row of the cases axis, or all there is where no case differs."""
    if isinstance(value, np.ndarray) and value.shape[0] > 1:
        return value[row : row + 1]
    return value
