"""The recording number: the same value, the way it was made, and nothing decided by it."""

from __future__ import annotations

import operator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import arrays
from pcompare.recording import REDUCTIONS, UFUNCS, Recorded, walk

A = np.linspace(0.5, 3.0, 12).reshape(1, 12)
B = np.linspace(2.0, 0.1, 12).reshape(1, 12)


def fields():
    return Recorded.field("a", A), Recorded.field("b", B)


BINARY = {
    operator.add: "+", operator.sub: "-", operator.mul: "*", operator.truediv: "/",
    operator.pow: "^", operator.lt: "<", operator.le: "<=", operator.gt: ">", operator.ge: ">=",
    operator.eq: "=", operator.ne: "<>", arrays.maximum: "maximum", arrays.minimum: "minimum",
}  # fmt: skip
UNARY = {
    operator.neg: "negative", operator.pos: "positive", abs: "absolute", arrays.exp: "exp",
    arrays.log: "log", arrays.log10: "log10", arrays.sqrt: "sqrt", arrays.total: "total",
    arrays.mean: "mean", arrays.highest: "highest", arrays.lowest: "lowest",
    arrays.normal_cdf: "normal_cdf",
}  # fmt: skip


@pytest.mark.parametrize("function", BINARY, ids=BINARY.get)
def test_operation_of_two(function):
    a, b = fields()
    made = function(a, b)
    np.testing.assert_array_equal(made.plain, function(A, B))
    assert made.operation == BINARY[function]
    assert made.operands == (a, b)


@pytest.mark.parametrize("function", UNARY, ids=UNARY.get)
def test_operation_of_one(function):
    a, _ = fields()
    made = function(a)
    np.testing.assert_array_equal(made.plain, function(A))
    assert made.operation == UNARY[function]
    assert made.operands == (a,)
    assert made.shape == made.plain.shape


@pytest.mark.parametrize("other", [2.0, 3, np.float64(0.5), B, np.full((1, 1), 4.0)])
@pytest.mark.parametrize(
    "function", [operator.add, operator.sub, operator.mul, operator.truediv, operator.pow]
)
def test_a_number_or_an_array_on_either_side(function, other):
    a, _ = fields()
    for made, expected in (
        (function(a, other), function(A, other)),
        (function(other, a), function(other, A)),
    ):
        assert isinstance(made, Recorded)
        np.testing.assert_array_equal(made.plain, expected)
        assert len(made.operands) == 2


def test_a_named_constant_stays_itself_in_the_graph():
    a, _ = fields()
    mass = arrays.NamedConstant(30.974, "M(P)")
    made = a / mass
    assert made.operands[1] is mass


def test_where_and_ratio():
    a, b = fields()
    np.testing.assert_array_equal(arrays.where(a > b, a, b).plain, np.maximum(A, B))
    safe = arrays.ratio(a, b - b, -1.0)
    np.testing.assert_array_equal(safe.plain, np.full_like(A, -1.0))
    assert "where" in {node.operation for node in walk(safe)}


def test_logical_operations_of_conditions():
    a, b = fields()
    np.testing.assert_array_equal(((a > 1.0) & (b > 1.0)).plain, (A > 1.0) & (B > 1.0))
    np.testing.assert_array_equal(((a > 1.0) | (b > 1.0)).plain, (A > 1.0) | (B > 1.0))


# ------------------------------------------------ nothing is decided by a recording number


def test_it_decides_nothing():
    a, b = fields()
    with pytest.raises(TypeError, match="cannot decide"):
        bool(a)
    with pytest.raises(TypeError, match="cannot decide"):
        if a > b:
            pass
    with pytest.raises(TypeError, match="cannot decide"):
        max(a, b)
    with pytest.raises(TypeError, match="cannot decide"):
        sorted([a, b])
    with pytest.raises(TypeError, match="not a float"):
        float(a)


@pytest.mark.parametrize(
    "function",
    [
        np.sin,
        np.floor,
        lambda value: np.sum(value),
        lambda value: np.sum(value, axis=0, keepdims=True),
        lambda value: np.add.reduce(value),
        lambda value: np.add(value, 1.0, out=np.zeros((1, 12))),
        lambda value: np.concatenate([value, value]),
        lambda value: np.median(value, axis=1, keepdims=True),
        lambda value: np.where(value > 1.0),
    ],
)
def test_operations_outside_the_contract_raise(function):
    """Such a step could not become a cell."""
    with pytest.raises(TypeError, match=r"not an operation of pcompare\.arrays"):
        function(fields()[0])


# ------------------------------------------------ the graph


def test_walk_gives_operands_before_what_uses_them_and_each_once():
    a, b = fields()
    shared = a * b
    root = (shared + a) / (shared + 1.0)
    order = walk(root)
    assert len(order) == len({id(node) for node in order}) == 6
    place = {id(node): n for n, node in enumerate(order)}
    for node in order:
        for operand in node.operands:
            if isinstance(operand, Recorded):
                assert place[id(operand)] < place[id(node)]
    assert order[-1] is root


def test_walk_of_several_roots_shares_what_they_share():
    a, b = fields()
    shared = a + b
    order = walk(shared * 2.0, shared * 3.0)
    assert sum(node is shared for node in order) == 1
    assert len(order) == 5


def test_walk_reaches_the_residual_of_a_solved_value_once():
    a, _ = fields()
    root = arrays.solve_monotone(lambda x, target: x - target, 0.0, 5.0, a)
    order = walk(root)
    for expected in (a, root.residual, root):
        assert sum(node is expected for node in order) == 1


def test_walk_passes_over_numbers():
    assert walk(1.0, A, "Fe") == []


def test_walk_goes_deeper_than_the_stack_of_python():
    node = fields()[0]
    for _ in range(5000):
        node = node + 1.0
    assert len(walk(node)) == 5001


def test_twenty_passes_stay_a_graph_and_not_a_tree():
    """Each pass uses the last one twice: as a tree it would have two to the twentieth nodes."""
    a, node = fields()
    for _ in range(20):
        node = 0.5 * (node + a / (node + 1.0))
    assert len(walk(node)) == 2 + 4 * 20


def test_equation_node_keeps_value_name_and_arguments():
    a, b = fields()
    made = (a * b).of_equation("load", {"concentration": a, "flow": b})
    assert (made.operation, made.name) == ("equation", "load")
    assert made.arguments["flow"] is b
    np.testing.assert_array_equal(made.plain, A * B)
    assert "load" in repr(made)


def test_several_solved_values_have_a_residual_each():
    a, b = fields()

    def solver(a, b):
        return (a + b) / 2.0, (a - b) / 2.0

    def residual(x, y, a, b):
        return x + y - a, x - y - b

    x, y = arrays.solve(solver, residual, a, b)
    for solved in (x, y):
        np.testing.assert_allclose(solved.residual.plain, 0.0, atol=1e-15)
    np.testing.assert_array_equal(x.plain, (A + B) / 2.0)


@given(st.lists(st.floats(0.1, 10.0), min_size=12, max_size=12), st.floats(0.1, 3.0))
def test_any_expression_has_the_value_of_the_plain_one(months, factor):
    def expression(value):
        dose = arrays.maximum(factor * value - 1.0, 0.0)
        share = arrays.ratio(dose, dose + value, 0.0)
        return arrays.weighted_mean(arrays.exp(-share) + arrays.sqrt(value) ** 3, value)

    value = np.array([months])
    recorded = expression(Recorded.field("x", value))
    np.testing.assert_array_equal(recorded.plain, expression(value))


def test_every_operation_has_one_name():
    assert set(REDUCTIONS.values()) == {"total", "mean", "highest", "lowest"}
    assert len(set(UFUNCS.values())) == len(UFUNCS) - 2  # "and" and "or" have two spellings
