"""The array contract: shapes, reductions, the guarded ratio, the solver and the register."""

from __future__ import annotations

import inspect
import math
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import arrays
from pcompare.recording import Recorded, walk

MONTHS = np.arange(1.0, 13.0).reshape(1, 12)
FINITE = st.floats(-1e6, 1e6)


@pytest.mark.parametrize(
    ("value", "shape"),
    [(3.0, (1, 1)), (3, (1, 1)), ([1.0] * 12, (1, 12)), (np.ones((4, 1)), (4, 1))],
)
def test_everything_gets_cases_and_months(value, shape):
    given_shape = arrays.as_cases(value)
    assert given_shape.shape == shape
    assert given_shape.dtype == np.float64


@pytest.mark.parametrize(
    ("reduction", "expected"),
    [("total", 78.0), ("mean", 6.5), ("highest", 12.0), ("lowest", 1.0)],
)
def test_reductions_keep_the_axis(reduction, expected):
    value = np.vstack([MONTHS, 10.0 * MONTHS])
    reduced = getattr(arrays, reduction)(value)
    np.testing.assert_array_equal(reduced, [[expected], [10.0 * expected]])


# ------------------------------------------------ weighted_mean


def test_mean_concentration_is_load_over_flow():
    flow = 1000.0 * MONTHS
    concentration = 20.0 / MONTHS  # the same load every month
    assert arrays.weighted_mean(concentration, flow) == pytest.approx(20.0 * 12.0 / 78.0)


@pytest.mark.parametrize(
    ("value", "weight"),
    [
        (np.full((1, 1), 7.0), MONTHS),  # a yearly value, monthly flow
        (np.full((1, 12), 7.0), np.full((1, 1), 3.0)),  # monthly values, yearly flow
        (np.full((3, 1), 7.0), MONTHS),  # cases without months
    ],
)
def test_the_mean_of_a_constant_is_the_constant(value, weight):
    """Whichever of the two lacks months: each month counts once."""
    mean = arrays.weighted_mean(value, weight)
    np.testing.assert_allclose(mean, np.full((value.shape[0], 1), 7.0), rtol=1e-15)


def test_equal_weights_give_the_plain_mean():
    assert arrays.weighted_mean(MONTHS, np.full((1, 1), 5.0)) == pytest.approx(6.5)


@given(st.lists(st.tuples(st.floats(0.0, 100.0), st.floats(0.1, 10.0)), min_size=12, max_size=12))
def test_a_mean_lies_within_its_values(pairs):
    value, weight = (np.array([column]) for column in zip(*pairs, strict=True))
    mean = arrays.weighted_mean(value, weight).item()
    assert value.min() - 1e-9 <= mean <= value.max() + 1e-9


# ------------------------------------------------ ratio, normal distribution


@given(FINITE, st.floats(1e-3, 1e6) | st.floats(-1e6, -1e-3) | st.just(0.0))
def test_ratio_divides(numerator, denominator):
    expected = -1.0 if denominator == 0.0 else numerator / denominator
    assert arrays.ratio(numerator, denominator, -1.0) == expected


def test_ratio_never_evaluates_the_bad_branch():
    with np.errstate(all="raise"):
        result = arrays.ratio(np.array([[1.0, 2.0]]), np.array([[0.0, 4.0]]), math.nan)
    assert math.isnan(result[0, 0])
    assert result[0, 1] == 0.5


@pytest.mark.parametrize("size", [1, arrays.SMALL, arrays.SMALL + 1])
def test_normal_distribution_short_and_long_way_agree(size):
    """Up to a size the standard library, beyond it scipy: the same numbers, and back again."""
    scores = np.linspace(-6.0, 6.0, size).reshape(1, size)
    chances = arrays.normal_cdf(scores)
    one_by_one = [0.5 * math.erfc(-s / math.sqrt(2.0)) for s in scores[0]]
    np.testing.assert_allclose(chances[0], one_by_one, rtol=1e-13)
    np.testing.assert_allclose(arrays.normal_quantile(chances), scores, rtol=1e-6, atol=1e-9)
    assert chances.shape == scores.shape


def test_normal_distribution_at_known_places():
    assert arrays.normal_cdf(0.0) == 0.5
    assert arrays.normal_cdf(1.6448536269514722) == pytest.approx(0.95, rel=1e-14)
    assert arrays.normal_quantile(0.975) == pytest.approx(1.959963984540054, rel=1e-14)


# ------------------------------------------------ plain


def test_plain_reaches_into_tuples_and_mappings():
    field = Recorded.field("flow", MONTHS)
    assert arrays.plain(field) is field.plain
    assert arrays.plain((field, 2.0))[0] is field.plain
    assert arrays.plain({"a": field})["a"] is field.plain
    assert arrays.plain("Fe") == "Fe"
    assert arrays.plain(3.0) == 3.0


# ------------------------------------------------ solve_monotone


def cube(x, target):
    return x**3 - target


@given(st.floats(0.001, 900.0))
def test_crossing_of_a_known_function(target):
    root = arrays.solve_monotone(cube, 0.0, 10.0, target)
    assert root == pytest.approx(target ** (1.0 / 3.0), rel=1e-12)


def test_each_case_has_its_own_crossing_and_bracket():
    targets = np.array([[1.0, 8.0], [27.0, 64.0]])
    roots = arrays.solve_monotone(cube, np.zeros((2, 1)), np.full((1, 1), 5.0), targets)
    np.testing.assert_allclose(roots, [[1.0, 2.0], [3.0, 4.0]], rtol=1e-14)
    alone = arrays.solve_monotone(cube, 0.0, 5.0, 27.0)
    assert roots[1, 0] == alone, "a case must not depend on its neighbours"


@pytest.mark.parametrize(("target", "end"), [(-1.0, 0.0), (0.0, 0.0), (1000.0, 2.0), (8.0, 2.0)])
def test_without_a_crossing_the_nearer_end(target, end):
    root = arrays.solve_monotone(cube, 0.0, 2.0, target)
    assert root == pytest.approx(end, abs=1e-15 + 1e-15 * end)


@pytest.mark.parametrize("target", [-5.0, 0.5, 8.0, 100.0])
def test_residual_is_zero_at_a_crossing_and_at_a_justified_end(target):
    """The residual is an expression: a spreadsheet can tell whether a solved cell still holds."""
    given_target = Recorded.field("target", np.full((1, 1), target))
    root = arrays.solve_monotone(cube, 0.0, 2.0, given_target)
    assert root.operation == "solved"
    assert isinstance(root.residual, Recorded)
    assert root.residual.plain.item() == pytest.approx(0.0, abs=1e-12)
    assert any(node is given_target for node in walk(root.residual))


def test_residual_shows_an_answer_that_no_longer_holds():
    target = Recorded.field("target", np.full((1, 1), 1.0))
    low = Recorded.field("low", np.zeros((1, 1)))

    def stale(*_):
        return np.full((1, 1), 1.5)

    def residual(x, low, target):
        return cube(x, target)

    root = arrays.solve(stale, residual, low, target)
    assert root.residual.plain.item() == pytest.approx(1.5**3 - 1.0)


def test_recorded_and_plain_solve_alike():
    targets = np.linspace(0.1, 9.0, 12).reshape(1, 12)
    plain = arrays.solve_monotone(cube, 0.0, 5.0, targets)
    recorded = arrays.solve_monotone(cube, 0.0, 5.0, Recorded.field("target", targets))
    np.testing.assert_array_equal(recorded.plain, plain)


# ------------------------------------------------ constants and the register


def test_a_named_constant_is_a_number_with_a_name():
    mass = arrays.NamedConstant(30.974, "M(P)")
    assert mass == 30.974
    assert mass.name == "M(P)"
    assert mass * 2.0 == 61.948


class Pair(NamedTuple):
    """Two results."""

    whole: float
    half: float


@pytest.fixture
def register(monkeypatch):
    """An empty register for the length of a test."""
    monkeypatch.setattr(arrays, "EQUATIONS", {})
    return arrays.EQUATIONS


def test_registering_an_equation(register):
    @arrays.equation
    def doubled(amount):
        """Twice the amount."""
        return 2.0 * amount

    assert list(register) == ["doubled"]
    assert doubled(3.0) == 6.0
    assert inspect.signature(doubled).parameters.keys() == {"amount"}
    field = Recorded.field("amount", MONTHS)
    recorded = doubled(field)
    assert (recorded.operation, recorded.name) == ("equation", "doubled")
    assert recorded.arguments == {"amount": field}


def test_a_tuple_of_results_is_named_field_by_field(register):
    @arrays.equation
    def both(amount):
        """The amount and its half."""
        return Pair(amount + 0.0, 0.5 * amount)

    assert both(4.0) == Pair(4.0, 2.0)
    recorded = both(Recorded.field("amount", MONTHS))
    assert isinstance(recorded, Pair)
    assert [part.name for part in recorded] == ["both.whole", "both.half"]


def test_two_equations_cannot_share_a_name(register):
    def same(amount):
        """Nothing."""
        return amount

    arrays.equation(same)
    with pytest.raises(ValueError, match="two equations are called same"):
        arrays.equation(same)


def test_a_geometric_row_is_settled_in_one_pass():
    """A step that leaves a quarter of the way to 2 ends there: three members tell the end."""
    (found,) = arrays.settled(lambda x: (2.0 + 0.25 * (x - 2.0),), (np.array([[3.0, -1.0]]),), 1)
    np.testing.assert_allclose(found, 2.0, rtol=1e-15)


def test_a_contraction_settles_as_far_as_many_plain_steps():
    """Each of several on its own."""
    start = np.array([[0.1], [0.7], [1.4]])
    (found,) = arrays.settled(lambda x: (np.cos(0.4 * x),), (start,), 4)
    plain = start
    for _ in range(200):
        plain = np.cos(0.4 * plain)
    np.testing.assert_allclose(found, plain, rtol=1e-15)


def test_what_stands_still_stays():
    start = (np.array([[0.0, 5.0]]), 7.0)
    found = arrays.settled(lambda x, y: (x, y), start, 3)
    np.testing.assert_array_equal(found[0], start[0])
    assert found[1] == 7.0


def test_a_row_that_hardly_contracts_is_not_thrown_far():
    """With a quotient of 0.99 the end would be 99 steps away: no more than one is taken."""
    (found,) = arrays.settled(lambda x: (0.99 * x,), (np.array([[100.0]]),), 1)
    assert 97.0 < found[0, 0] < 100.0
