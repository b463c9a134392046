"""Lognormal reliability against scipy, sums written out, limits and directions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from pcompare.arrays import normal_quantile
from pcompare.equations import reliability

SPREADS = st.floats(0.05, 2.0)
SCORES = st.floats(-3.0, 3.0)
CORRELATIONS = st.floats(0.0, 0.98)


# ------------------------------------------------ another program: scipy


@given(SPREADS, SCORES, st.floats(0.01, 50.0), st.floats(0.01, 50.0))
def test_lognormal_agrees_with_scipy(variability, score, mean_value, limit):
    """The distribution with this mean and variability, found by scipy from its moments."""
    sigma = float(reliability.lognormal_sigma(variability))
    unit = stats.lognorm(s=sigma)
    first, second = unit.stats(moments="mv")
    assert np.sqrt(second) / first == pytest.approx(variability, rel=1e-9)
    ours = stats.lognorm(s=sigma, scale=mean_value / first)
    chance = stats.norm.cdf(score)
    quantile = reliability.lognormal_quantile(mean_value, variability, score)
    assert quantile == pytest.approx(ours.ppf(chance), rel=1e-9)
    within = reliability.chance_within(limit, mean_value, variability)
    assert within == pytest.approx(ours.cdf(limit), rel=1e-9, abs=1e-12)
    design = limit * reliability.coefficient_of_reliability(variability, score)
    at_design = stats.lognorm(s=sigma, scale=design / first)
    assert at_design.cdf(limit) == pytest.approx(chance, abs=1e-9)


# ------------------------------------------------ written out


@given(SPREADS, st.integers(1, 40), CORRELATIONS)
def test_averaging_is_the_variance_of_a_correlated_mean(variability, samples, correlation):
    """The mean of n values: the sum of the whole correlation matrix over n squared."""
    apart = np.abs(np.subtract.outer(np.arange(samples), np.arange(samples)))
    matrix = np.power(correlation, apart)
    expected = variability * np.sqrt(matrix.sum()) / samples
    computed = reliability.averaged_variability(variability, samples, correlation)
    assert computed == pytest.approx(expected, rel=1e-9)


def test_averaging_shown_by_simulation():
    """Means of a simulated autoregressive series spread as the formula says, within 2 %."""
    rng = np.random.default_rng(20)
    correlation, days, periods = 0.8, 30, 20000
    noise = rng.standard_normal((periods, days))
    series = np.empty_like(noise)
    series[:, 0] = noise[:, 0]
    for day in range(1, days):
        shock = np.sqrt(1.0 - correlation**2) * noise[:, day]
        series[:, day] = correlation * series[:, day - 1] + shock
    expected = reliability.averaged_variability(1.0, days, correlation)
    assert series.mean(axis=1).std() == pytest.approx(float(expected), rel=0.02)


@pytest.mark.parametrize(
    ("variability", "ratios"), [(0.3, (1.62, 0.59)), (0.5, (2.18, 0.43)), (1.0, (3.93, 0.23))]
)
def test_reliable_and_ideal_against_the_median(variability, ratios):
    """95th and 3.84th percentile over the median, for the usual scores."""
    median = reliability.lognormal_quantile(1.0, variability, 0.0)
    for score, printed in zip((1.645, -1.770), ratios, strict=True):
        percentile = reliability.lognormal_quantile(1.0, variability, score)
        assert percentile / median == pytest.approx(printed, abs=0.006)


# ------------------------------------------------ round trips, limits and directions


@given(SPREADS, st.floats(0.5, 0.999), st.floats(0.01, 10.0))
def test_designing_to_the_coefficient_gives_the_reliability(variability, wanted, limit):
    score = float(normal_quantile(wanted))
    design = limit * reliability.coefficient_of_reliability(variability, score)
    assert reliability.chance_within(limit, design, variability) == pytest.approx(wanted, rel=1e-9)
    assert reliability.lognormal_quantile(design, variability, score) == pytest.approx(limit)


@given(SPREADS)
def test_designing_to_the_limit_itself_passes_more_often_than_not(variability):
    """A lognormal mean lies above the median, so the chance is a little over one half."""
    chance = reliability.chance_within(1.0, 1.0, variability)
    assert 0.5 < chance < 0.85


@given(SPREADS, SPREADS, st.floats(0.9, 0.99))
def test_a_steadier_train_may_be_designed_nearer_to_the_limit(one, other, wanted):
    score = float(normal_quantile(wanted))
    steady, restless = sorted((one, other))
    nearer = reliability.coefficient_of_reliability(steady, score)
    # Holds while sigma is below the score: at most 1.27 against at least 1.28 here.
    assert nearer >= reliability.coefficient_of_reliability(restless, score)


def test_without_spread_the_mean_decides():
    chances = reliability.chance_within(0.8, np.array([[0.7, 0.8, 0.9]]), 0.0)
    np.testing.assert_array_equal(chances, [[1.0, 1.0, 0.0]])
    assert reliability.coefficient_of_reliability(0.0, 1.645) == 1.0
    assert reliability.lognormal_quantile(0.8, 0.0, 1.645) == 0.8


def test_no_phosphorus_keeps_any_limit_and_no_limit_is_kept_by_any():
    assert reliability.chance_within(0.1, 0.0, 0.5) == 1.0
    assert reliability.chance_within(0.0, 0.1, 0.5) == 0.0


@given(SPREADS, CORRELATIONS)
def test_averaging_limits(variability, correlation):
    average = reliability.averaged_variability
    assert average(variability, 1, correlation) == pytest.approx(variability, rel=1e-9)
    assert average(variability, 9, 0.0) == pytest.approx(variability / 3.0, rel=1e-12)
    assert average(variability, 30, 1.0) == pytest.approx(variability, rel=1e-12)
    assert average(variability, 30, correlation) < variability


@given(CORRELATIONS, CORRELATIONS)
def test_resemblance_leaves_more_of_the_spread(one, other):
    low, high = sorted((one, other))
    average = reliability.averaged_variability
    assert average(0.5, 30, low) <= average(0.5, 30, high) * (1.0 + 1e-12)


def test_full_correlation_is_approached_smoothly():
    for gap in (1e-3, 1e-4, 2e-5, 9e-6, 1e-9):
        kept = reliability.averaged_variability(1.0, 365, 1.0 - gap)
        assert kept == pytest.approx(1.0, abs=70.0 * gap + 1e-9)


@given(st.floats(0.0, 1.0), st.integers(1, 60))
def test_every_further_period_can_only_lower_the_chance(chance, periods):
    assert reliability.chance_all_periods(chance, 1) == chance
    assert 0.0 <= reliability.chance_all_periods(chance, periods) <= chance
    assert reliability.chance_all_periods(1.0, periods) == 1.0


# ------------------------------------------------ carbon that varies


def distribution(mean_value, variability):
    sigma = np.sqrt(np.log(1.0 + variability**2))
    return stats.lognorm(s=sigma, scale=mean_value / np.exp(0.5 * sigma**2))


def test_shortfall_agrees_with_scipy():
    """What is missing on average: the distribution function integrated up to the need."""
    for mean_value, need, variability in (
        (10.0, 10.0, 1.0), (20.0, 30.0, 0.4), (40.0, 30.0, 0.4), (25.0, 8.0, 0.8), (5.0, 60.0, 0.2),
    ):  # fmt: skip
        acids = distribution(mean_value, variability)
        chance = reliability.carbon_shortfall_chance(mean_value, need, variability)
        assert chance == pytest.approx(acids.cdf(need), rel=1e-9)
        missing, _ = integrate.quad(acids.cdf, 0.0, need, epsabs=1e-12, limit=200)
        expected = reliability.expected_carbon_shortfall(mean_value, need, variability)
        assert expected == pytest.approx(missing, rel=1e-8)


@given(st.floats(1.0, 100.0), st.floats(0.5, 200.0), SPREADS, SPREADS)
def test_spread_only_adds_to_what_is_missing(mean_value, need, one, other):
    low, high = sorted((one, other))
    steady = reliability.expected_carbon_shortfall(mean_value, need, low)
    restless = reliability.expected_carbon_shortfall(mean_value, need, high)
    slack = 1e-9 * (need + mean_value)
    assert max(need - mean_value, 0.0) - slack <= steady <= restless + slack <= need + 2.0 * slack


@given(st.floats(1.0, 100.0), st.floats(1.0, 100.0), st.floats(0.0, 100.0), SPREADS)
def test_a_trim_supplies_what_its_capacity_lets_it(mean_value, need, capacity, spread):
    """Mean of min(capacity, what is missing), by the same function taken twice."""
    capacity = min(capacity, need)
    whole = reliability.expected_carbon_shortfall(mean_value, need, spread)
    beyond = reliability.expected_carbon_shortfall(mean_value, need - capacity, spread)
    chance = reliability.carbon_shortfall_chance(mean_value, need, spread)
    slack = 1e-9 * (need + mean_value)
    assert -slack <= whole - beyond <= capacity * chance + slack


def test_carbon_without_spread():
    chance = reliability.carbon_shortfall_chance
    missing = reliability.expected_carbon_shortfall
    needs = np.array([[20.0, 30.0, 40.0]])
    np.testing.assert_array_equal(chance(30.0, needs, 0.0), [[0.0, 0.0, 1.0]])
    np.testing.assert_allclose(missing(30.0, needs, 0.0), [[0.0, 0.0, 10.0]], atol=1e-12)


def test_carbon_that_is_not_needed_is_never_missing():
    for mean_value, spread in ((0.0, 0.0), (0.0, 0.5), (30.0, 0.0), (30.0, 0.5)):
        assert reliability.carbon_shortfall_chance(mean_value, 0.0, spread) == 0.0
        assert reliability.expected_carbon_shortfall(mean_value, 0.0, spread) == 0.0


def test_without_any_carbon_all_of_the_need_is_missing():
    assert reliability.carbon_shortfall_chance(0.0, 25.0, 0.5) == 1.0
    assert reliability.expected_carbon_shortfall(0.0, 25.0, 0.5) == pytest.approx(25.0)


@pytest.mark.parametrize("size", [1e-3, 1.0, 1e3])
def test_the_odds_of_carbon_do_not_depend_on_its_unit(size):
    """A tenth of a milligram short of two tenths, as a gram of two: the need may be small."""
    for need in (0.5, 1.0, 2.0):
        chance = reliability.carbon_shortfall_chance(size, need * size, 0.4)
        assert chance == pytest.approx(reliability.carbon_shortfall_chance(10.0, need * 10.0, 0.4))
        assert 0.0 < float(chance) < 1.0
        short = reliability.expected_carbon_shortfall(size, need * size, 0.4)
        whole = reliability.expected_carbon_shortfall(10.0, need * 10.0, 0.4)
        assert float(short) / size == pytest.approx(float(whole) / 10.0)
