"""Limits and tornado ends on the cases axis."""

from __future__ import annotations

import numpy as np
import pytest

from pcompare import sweeps

from .plants import example


def test_limits_fall_evenly_on_a_logarithmic_scale():
    points = sweeps.limits(2.0, 0.05, 20)
    assert points[0] == 2.0 and points[-1] == pytest.approx(0.05)
    steps = np.diff(np.log(points))
    np.testing.assert_allclose(steps, steps[0])
    assert sweeps.limits(1.0, 0.5, 1) == (1.0,)


def test_tornado_moves_one_field_at_a_time():
    inputs = example()
    fields = [n for n in sorted(inputs.low) if inputs.low[n] < inputs.high[n]][:5]
    cases = sweeps.tornado(inputs, fields)
    for i, name in enumerate(fields):
        column = cases[name][:, 0]
        assert column[2 * i] == pytest.approx(inputs.low[name])
        assert column[2 * i + 1] == pytest.approx(inputs.high[name])
        others = np.delete(column, [2 * i, 2 * i + 1])
        np.testing.assert_allclose(others, inputs[name].mean())
    assert sweeps.ends(np.arange(10.0).reshape(-1, 1)) == [(0, 1), (2, 3), (4, 5), (6, 7), (8, 9)]


def test_a_grid_runs_every_pair_and_moves_a_group_together():
    across = {"prices.cake": np.array([1.0, 2.0, 3.0]), "prices.caustic": np.array([10.0, 20, 30])}
    up = {"prices.labour": np.array([5.0, 6.0])}
    cases = sweeps.put(example(), sweeps.grid(across, up))
    pairs = np.hstack([cases["prices.cake"], cases["prices.labour"]])
    assert pairs.tolist() == [[1, 5], [2, 5], [3, 5], [1, 6], [2, 6], [3, 6]]
    np.testing.assert_allclose(cases["prices.caustic"], 10.0 * cases["prices.cake"])
