"""Shapes against scipy's distributions and published figures; which correlations can hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from pcompare import shapes

Z90 = stats.norm.ppf(0.9)
SCIPY = {
    "triangular": lambda a, c, b: stats.triang((c - a) / (b - a), a, b - a),
    "pert": lambda a, c, b: stats.beta(
        1.0 + 4.0 * (c - a) / (b - a), 1.0 + 4.0 * (b - c) / (b - a), a, b - a
    ),
    "lognormal": lambda a, c, b: stats.lognorm(np.log(b / a) / (2.0 * Z90), 0.0, (a * b) ** 0.5),
    "uniform": lambda a, c, b: stats.uniform(a, b - a),
}


def quantile(shape, chance, low, mode, high):
    numbers = (np.array(x, dtype=float) for x in (chance, low, mode, high))
    return shapes.QUANTILES[shape](*numbers)


@pytest.mark.parametrize("shape", shapes.SHAPES)
@given(st.floats(1e-6, 1.0 - 1e-6), st.floats(0.1, 1e3), st.floats(0.0, 1.0), st.floats(1e-3, 1e3))
def test_quantiles_are_those_of_scipy(shape, chance, low, share, width):
    high = low + width
    mode = low + share * width
    exact = SCIPY[shape](low, mode, high).ppf(chance)
    assert quantile(shape, chance, low, mode, high) == pytest.approx(exact, rel=1e-8)


def test_triangular_matches_the_published_quantile():
    """EnvStats manual, qtri(0.25, min 1, max 4, mode 3) = 2.224745 (CRAN)."""
    assert quantile("triangular", 0.25, 1.0, 3.0, 4.0) == pytest.approx(2.224745, abs=5e-7)


def test_triangular_of_100_150_300():
    """Mean 183.3333, sd 42.4918, P10 131.623, P50 177.526, P90 245.228, by the closed forms."""
    found = quantile("triangular", [0.1, 0.5, 0.9], 100.0, 150.0, 300.0)
    np.testing.assert_allclose(found, [131.623, 177.526, 245.228], atol=1e-3)
    many = quantile("triangular", (np.arange(200_000) + 0.5) / 200_000, 100.0, 150.0, 300.0)
    assert many.mean() == pytest.approx(183.3333, abs=1e-3)
    assert many.std() == pytest.approx(42.4918, abs=1e-3)


def test_pert_of_100_150_300_has_the_spread_of_the_scaled_beta():
    """Mean (a + 4 c + b)/6; standard deviation 35.63, where (b - a)/6 would be 33.33."""
    many = quantile("pert", (np.arange(200_000) + 0.5) / 200_000, 100.0, 150.0, 300.0)
    assert many.mean() == pytest.approx(1000.0 / 6.0, abs=1e-3)
    assert many.std() == pytest.approx(35.63, abs=5e-3)


def test_lognormal_of_half_and_double():
    """Sigma 0.540866 and mean 1.157506 for P10 0.5 and P90 2."""
    assert shapes.log_spread(np.array(0.5), np.array(2.0)) == pytest.approx(0.540866, abs=1e-6)
    many = quantile("lognormal", (np.arange(2_000_000) + 0.5) / 2_000_000, 0.5, 1.0, 2.0)
    assert many.mean() == pytest.approx(1.157506, abs=2e-5)


def test_the_cost_risk_example_of_a_federal_guide():
    """GAO-20-195G: seven elements; the sum has mean 82 244 and sd 4 599.6 where independent."""
    rows = [
        (17955, 19645, 21785), (8500, 10553, 13000), (4000, 4306, 5100), (4100, 4305, 4650),
        (550, 600, 650), (32300, 35547, 52500), (1950, 2136, 2600),
    ]  # fmt: skip
    numbers = (np.arange(100_000) + 0.5) / 100_000
    drawn = [quantile("triangular", numbers, *row) for row in rows]
    assert sum(row[1] for row in rows) == 77_092
    assert sum(d.mean() for d in drawn) == pytest.approx(82_244.0, abs=0.1)
    assert sum(d.var() for d in drawn) ** 0.5 == pytest.approx(4599.6, abs=0.1)
    # All of them together in one rank: the comonotone sum.
    together = sum(drawn)
    assert np.quantile(together, 0.5) == pytest.approx(81_422.0, rel=3e-5)
    assert np.mean(together <= 77_092) == pytest.approx(0.256, abs=5e-4)


@given(st.lists(st.floats(-0.95, 0.95), min_size=3, max_size=3))
def test_three_correlations_can_hold_as_their_determinant_says(ranks):
    """For three fields the matrix is positive definite where 1 + 2abc - a2 - b2 - c2 > 0."""
    a, b, c = (2.0 * np.sin(np.pi * r / 6.0) for r in ranks)
    determinant = 1.0 + 2.0 * a * b * c - a * a - b * b - c * c
    assume(abs(determinant) > 1e-6)
    pairs = dict(zip([("x", "y"), ("y", "z"), ("x", "z")], ranks, strict=True))
    assert shapes.can_hold(pairs) == (determinant > 0.0)


def test_a_contradiction_is_told_by_the_pairs_that_make_it():
    bad = {("x", "y"): 0.6, ("y", "z"): 0.6, ("x", "z"): -0.6}
    found = shapes.contradiction(bad | {("p", "q"): 0.5, ("x", "p"): 0.1})
    assert found == bad
    assert shapes.can_hold({p: r for p, r in bad.items() if p != ("x", "z")})


def test_a_pair_that_is_not_given_counts_as_none():
    assert not shapes.can_hold({("x", "y"): 0.9, ("y", "z"): 0.9})
    assert shapes.can_hold({("x", "y"): 0.9, ("y", "z"): 0.9, ("x", "z"): 0.8})


def test_fields_fall_into_groups():
    pairs = {("a", "b"): 0.1, ("c", "d"): 0.1, ("b", "e"): 0.1}
    assert shapes.groups(pairs) == [("a", "b", "e"), ("c", "d")]
    assert shapes.groups({}) == []
    joined = shapes.groups({("a", "b"): 0.1, ("c", "d"): 0.1, ("b", "c"): 0.1})
    assert joined == [("a", "b", "c", "d")]
