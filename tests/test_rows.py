"""Rows of the cases axis: each product for its own, and arrays that travel together."""

from __future__ import annotations

import numpy as np

from pcompare import rows
from pcompare.arrays import as_cases
from pcompare.rows import Alternatives, in_rows, name_at, of_each, row_of


def test_names_side_by_side_look_up_each_for_its_rows():
    several = Alternatives(("a", "b"), 2)
    numbers = {"a": 1.0, "b": 2.0}
    assert of_each("b", numbers.__getitem__) == 2.0
    np.testing.assert_array_equal(of_each(several, numbers.__getitem__), [[1], [1], [2], [2]])
    rows = {"a": as_cases([[1], [2], [3], [4]]), "b": as_cases([[5], [6], [7], [8]])}
    np.testing.assert_array_equal(of_each(several, rows.__getitem__), [[1], [2], [7], [8]])
    assert [name_at(several, row) for row in range(4)] == ["a", "a", "b", "b"]
    assert name_at("a", 3) == "a"


def test_rows_of_arrays_below_each_other():
    parts = [as_cases(1.0), as_cases([[2.0, 3.0]]), as_cases([[4.0], [5.0]])]
    stacked = in_rows(parts, [1, 2, 2])
    np.testing.assert_array_equal(stacked, [[1, 1], [2, 3], [2, 3], [4, 4], [5, 5]])
    np.testing.assert_array_equal(row_of(stacked, 3), [[4, 4]])
    assert row_of(parts[0], 3) is parts[0] and row_of(0.5, 3) == 0.5


def test_many_small_arrays_travel_as_one():
    small = {"a": np.array([[1.0]]), "b": np.ones((2, 12)), "flag": np.array([[True]]), "n": 3.0}
    names, shapes, flat, rest = rows.packed(small)
    assert names == ("a", "b") and flat.shape == (25,) and set(rest) == {"flag", "n"}
    back = rows.unpacked(names, shapes, flat, rest)
    assert back.keys() == small.keys()
    for name, value in small.items():
        np.testing.assert_array_equal(back[name], value)
    assert rows.unpacked(*rows.packed({})) == {}
