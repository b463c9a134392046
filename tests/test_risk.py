"""Odds, regret and drivers, on models whose answer is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pcompare import risk, uncertainty
from pcompare.arrays import as_cases
from pcompare.findings import Estimate

from .plants import example

DRAWS = 20_000
# Four independent inputs of a linear model: range and factor. Uniform: variance width^2 / 12.
RANGES = {
    "coefficient.alpha": (0.0, 1.0, 30.0),
    "coefficient.beta": (0.0, 2.0, 10.0),
    "secondary.effluent_tss": (5.0, 9.0, -4.0),
    "influent.nonreactive_p": (0.0, 0.1, 1.0),
}


def plain(shape="uniform"):
    inputs = example()
    middles = {n: as_cases(0.5 * (low + high)) for n, (low, high, _) in RANGES.items()}
    return replace(
        inputs,
        values={**inputs.values, **middles},
        low={n: low for n, (low, _, _) in RANGES.items()},
        high={n: high for n, (_, high, _) in RANGES.items()},
        shapes=dict.fromkeys(RANGES, shape),
    )


def linear(case):
    gap = sum(case[n] * factor for n, (_, _, factor) in RANGES.items())
    return {"a.present_worth": 100.0 + 0.0 * gap, "b.present_worth": 90.0 + gap}


def shares(scale=1.0 / 12.0):
    parts = {n: (factor * (high - low)) ** 2 * scale for n, (low, high, factor) in RANGES.items()}
    return {n: part / sum(parts.values()) for n, part in parts.items()}, sum(parts.values())


@pytest.fixture(scope="module")
def found():
    return risk.study(plain(), DRAWS, 1, linear, ("a", "b"))


@pytest.mark.parametrize("shape", ["uniform", "triangular", "pert"])
def test_known_shares_of_the_variance_are_recovered(shape):
    """Of a linear model with independent inputs of one symmetric shape, shares are known."""
    study = risk.study(plain(shape), DRAWS, 3, linear, ("a", "b"))
    known, _ = shares()
    assert {d.field for d in study.drivers} == set(RANGES)
    for driver in study.drivers:
        share = driver.variance_share
        assert abs(share.value - known[driver.field]) < 4.0 * share.error, driver.field
        assert share.error < 0.01


def test_rank_correlations_have_the_sign_and_order_of_the_model(found):
    known, _ = shares()
    by_field = {d.field: d.rank_correlation.value for d in found.drivers}
    order = sorted(by_field, key=lambda n: -abs(by_field[n]))
    assert order == sorted(known, key=lambda n: -known[n])
    for name, (_, _, factor) in RANGES.items():
        assert by_field[name] * factor > 0.0 or abs(by_field[name]) < 0.03


def test_rank_correlation_is_spearmans():
    from scipy import stats

    numbers = uncertainty.hypercube(500, uncertainty.stream(1, "x"))
    other = numbers + np.sin(40.0 * numbers)
    ranked = stats.rankdata(other)
    found = risk.rank_correlation(numbers, ranked)
    assert found.value == pytest.approx(stats.spearmanr(numbers, other).statistic, abs=1e-12)


def test_two_seeds_differ_by_at_most_four_standard_errors(found):
    other = risk.study(plain(), DRAWS, 2, linear, ("a", "b"))

    def agree(first, second):
        assert abs(first.value - second.value) <= 4.0 * (first.error**2 + second.error**2) ** 0.5

    agree(found.information, other.information)
    agree(found.gaps[0].mean, other.gaps[0].mean)
    for name in ("a", "b"):
        agree(found.odds[name].cheapest, other.odds[name].cheapest)
        agree(found.odds[name].regret, other.odds[name].regret)
    mine, theirs = ({d.field: d for d in s.drivers} for s in (found, other))
    for name in RANGES:
        agree(mine[name].rank_correlation, theirs[name].rank_correlation)
        agree(mine[name].variance_share, theirs[name].variance_share)


def test_odds_of_the_cheapest_sum_to_one(found):
    assert sum(o.cheapest.value for o in found.odds.values()) == pytest.approx(1.0)
    assert sum(found.chance_cheapest.values()) == pytest.approx(1.0)


def test_the_paired_difference_has_the_known_mean_and_quantiles(found):
    """The mean of the linear gap is that of its middles; P50 lies by it, as it is symmetric."""
    mean = -10.0 + sum(0.5 * (low + high) * f for low, high, f in RANGES.values())
    (gap,) = found.gaps
    assert gap.strategy == "b"
    assert abs(gap.mean.value - mean) < 4.0 * gap.mean.error
    assert gap.low < gap.middle < gap.high
    assert gap.middle == pytest.approx(mean, abs=0.4)
    assert gap.below.value == found.odds["b"].cheapest.value


def test_knowing_one_input_is_worth_what_the_integral_says(found):
    """Expected saving E[max(0, -E[gap | x])] less max(0, -E[gap]), for x uniform and gap linear."""
    mean = -10.0 + sum(0.5 * (low + high) * f for low, high, f in RANGES.values())
    by_field = {d.field: d.information for d in found.drivers}
    x = (np.arange(200_000) + 0.5) / 200_000 - 0.5
    for name, (low, high, factor) in RANGES.items():
        conditional = mean + factor * (high - low) * x
        exact = np.maximum(-conditional, 0.0).mean() - max(0.0, -mean)
        assert by_field[name] == pytest.approx(exact, abs=0.05), name


def test_no_input_is_worth_more_than_knowing_everything(found):
    assert max(d.information for d in found.drivers) <= found.information.value
    assert found.noise < 0.05 * found.information.value
    assert [d.information for d in found.drivers] == sorted(
        (d.information for d in found.drivers), reverse=True
    )


def test_perfect_information_is_the_smaller_expected_regret(found):
    regrets = [found.odds[name].regret.value for name in ("a", "b")]
    assert found.information.value == min(regrets)
    for name in ("a", "b"):
        assert 0.0 <= regrets[0] <= found.odds[name].largest_regret or name == "b"


def test_a_share_has_the_error_of_a_binomial():
    flags = np.repeat([True, False], [30, 70])
    assert risk.share(flags) == Estimate(0.3, (0.3 * 0.7 / 100) ** 0.5)


def test_a_strategy_that_misses_counts_neither_as_kept_nor_as_cheapest_kept():
    """Three draws in ten miss the permit, and half of the rest the salt limits."""

    def flagged(case):
        x = case["coefficient.alpha"]
        return {
            "a.present_worth": 100.0 + 0.0 * x,
            "a.meets": x < 0.7,
            "a.keeps": x < 0.35,
            "b.present_worth": 200.0 + 0.0 * x,
            "b.meets": x < 0.9,
            "b.keeps": x < 0.9,
        }

    study = risk.study(plain(), 1000, 1, flagged, ("a", "b"))
    a, b = study.odds["a"], study.odds["b"]
    assert (a.meets.value, a.keeps.value) == (0.7, 0.35)
    assert a.cheapest.value == 1.0
    assert (a.cheapest_kept.value, b.cheapest_kept.value) == (0.35, pytest.approx(0.55))
    assert study.none_keeps.value == pytest.approx(0.1)


def test_without_contenders_there_is_nobody_to_regret():
    study = risk.study(plain(), 100, 1, linear, ())
    assert study.gaps == study.drivers == ()
    assert study.information == Estimate(0.0, 0.0)
    assert not any(o.competes for o in study.odds.values())


@pytest.mark.parametrize("draws", [1, 2, 49])
def test_few_draws_tell_no_drivers(draws):
    study = risk.study(plain(), draws, 1, linear, ("a", "b"))
    assert study.drivers == ()
    assert study.lines["a.present_worth"] == (100.0, 100.0, 100.0)
