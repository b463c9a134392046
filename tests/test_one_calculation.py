"""One calculation, three readers: a number, many cases and a recording number agree.

Each equation is called with the arguments of one of its published checks, spread a little so that
no two cases are alike, and in all the shapes that an argument may have.
"""

from __future__ import annotations

import inspect
import itertools

import numpy as np
import pytest

from pcompare import catalogue
from pcompare.recording import REDUCTIONS, UFUNCS, Recorded, walk

RTOL = 1e-12
SHAPES = ((3, 12), (3, 1), (1, 12), (1, 1))
OPERATIONS = {*UFUNCS.values(), *REDUCTIONS.values(), "where", "normal_cdf", "field", "solved"}
CHECKS = {check.equation: check for check in reversed(catalogue.published_checks())}


def arguments_of(name):
    """Give the texts and the numbers of the first published check of an equation."""
    if name not in CHECKS:
        pytest.fail(f"{name} has no published check to take arguments from")
    parameters = inspect.signature(catalogue.load()[name]).parameters
    values, faults = catalogue._arguments(name, CHECKS[name].inputs)
    assert not faults
    text = {k: v for k, v in values.items() if parameters[k].annotation in ("str", str)}
    return text, {k: v for k, v in values.items() if k not in text}


def spread(numbers, cases):
    """Give each argument another shape, its values up to 3 % below the published one."""
    rng = np.random.default_rng(12)
    shapes = itertools.cycle(SHAPES if cases else [s for s in SHAPES if s[0] == 1])
    return {
        key: value * (1.0 - 0.03 * rng.random(shape))
        for (key, value), shape in zip(numbers.items(), shapes, strict=False)
    }


def parts(result):
    return result if isinstance(result, tuple) else (result,)


def agree(computed, expected):
    np.testing.assert_allclose(computed, expected, rtol=RTOL, atol=0.0)


@pytest.mark.parametrize("name", catalogue.load())
def test_number_and_cases_agree(name):
    function = catalogue.load()[name]
    text, numbers = arguments_of(name)
    cases = spread(numbers, cases=True)
    together = parts(function(**text, **cases))
    shape = np.broadcast_shapes((1, 1), *(v.shape for v in cases.values()))
    for place in np.ndindex(shape):
        one = {k: float(np.broadcast_to(v, shape)[place]) for k, v in cases.items()}
        for part, alone in zip(together, parts(function(**text, **one)), strict=True):
            assert np.ndim(alone) == 0, "a number in, a number out"
            agree(np.broadcast_to(part, shape)[place], alone)


@pytest.mark.parametrize("name", catalogue.load())
def test_recorded_agrees_and_bears_the_name(name):
    function = catalogue.load()[name]
    text, numbers = arguments_of(name)
    if not numbers:
        pytest.skip(f"{name} takes no quantity: there is nothing to record")
    cases = spread(numbers, cases=False)
    fields = {key: Recorded.field(key, value) for key, value in cases.items()}
    expected = function(**text, **cases)
    recorded = function(**text, **fields)
    names = [f"{name}.{f}" for f in getattr(recorded, "_fields", ())] or [name]
    assert type(recorded) is (type(expected) if isinstance(expected, tuple) else Recorded)
    for part, value, label in zip(parts(recorded), parts(expected), names, strict=True):
        assert isinstance(part, Recorded)
        assert (part.operation, part.name) == ("equation", label)
        assert {**part.arguments} == {**part.arguments, **fields}
        agree(part.plain, value)
        below = walk(part)
        assert {node.operation for node in below} <= OPERATIONS | {"equation"}
        assert any(node.operation == "field" for node in below), "the result depends on no field"
