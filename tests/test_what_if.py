"""Where the answer turns: crossings, break-evens and maps, checked by running the plant there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pcompare import evaluation, run, what_if
from pcompare.arrays import as_cases

from .plants import example


@pytest.fixture(scope="module")
def inputs():
    return example()


@pytest.fixture(scope="module")
def compared(inputs):
    return run.compare(inputs)


@pytest.fixture(scope="module")
def chosen(compared):
    return run.carried_designs(compared)


@pytest.fixture(scope="module")
def swings(inputs, compared):
    return run.sensitivity(inputs, compared)


@pytest.fixture(scope="module")
def evens(inputs, compared, swings, chosen):
    return what_if.break_evens(inputs, compared, swings, chosen)


def worths(inputs, chosen, names):
    found = evaluation.evaluate(inputs, chosen)
    return [float(as_cases(found[n][0].reduced["present_worth"])[0, 0]) for n in names]


def test_at_a_break_even_both_cost_the_same(inputs, compared, chosen, evens):
    winner = compared.ranking[0]
    roots = [(e, at) for e in evens for at in e.at]
    assert len(roots) > 3
    for even, at in roots:
        assert even.low <= at <= even.high
        there = replace(inputs, values={**inputs.values, even.field: as_cases(at)})
        a, b = worths(there, chosen, (winner, even.against))
        assert a == pytest.approx(b, rel=1e-9), even.field


def test_none_in_range_is_an_answer(inputs, compared, chosen, evens):
    """Where no root is told, the same strategy is cheaper at both ends."""
    winner = compared.ranking[0]
    none = [e for e in evens if not e.at]
    assert none
    for even in none[:6]:
        cheaper = set()
        for end in np.linspace(even.low, even.high, 5):
            there = replace(inputs, values={**inputs.values, even.field: as_cases(end)})
            a, b = worths(there, chosen, (winner, even.against))
            cheaper.add(a < b)
        assert len(cheaper) == 1, even.field


def test_break_evens_agree_with_the_tornado(evens, swings, compared):
    """An input whose swing turns the order has a break-even against the runner-up."""
    at = {e.field: e.at for e in evens if e.against == compared.ranking[1]}
    for swing in swings:
        if swing.field in at and min(swing.at_low, swing.at_high) < 0.0:
            assert at[swing.field], swing.field


def test_a_curve_that_crosses_twice_has_two_roots():
    def gap(names, points):
        return (points - 1.25) * (points - 6.5)

    (found,) = what_if._roots([("a", "x")], [(0.0, 8.0)], gap)
    assert found == pytest.approx((1.25, 6.5), abs=1e-9)
    assert what_if._roots([("a", "x")], [(2.0, 6.0)], gap) == [()]


def test_the_map_of_prices_is_what_the_plant_costs_there(inputs, compared, swings, chosen):
    (prices,) = what_if.price_maps(inputs, compared, swings, chosen)
    assert prices.labels[1].startswith("Acetic acid")
    salts = {chosen[n][0].product for n in compared.ranking} - {""}
    rng = np.random.default_rng(5)
    for _ in range(8):
        i, j = rng.integers(len(prices.across)), rng.integers(len(prices.up))
        carried = chosen[next(n for n in compared.ranking if chosen[n][0].product)][0].product
        factor = prices.across[i] / float(inputs[f"prices.{carried}"][0, 0])
        there = {f"prices.{s}": inputs[f"prices.{s}"] * factor for s in salts}
        there["prices.acetic_acid"] = as_cases(prices.up[j])
        case = replace(inputs, values={**inputs.values, **there})
        costs = worths(case, chosen, compared.ranking)
        assert prices.winners[j][i] == compared.ranking[int(np.argmin(costs))]


def test_the_map_of_limit_and_rate_is_a_comparison_of_its_own(inputs):
    limits = (1.0, 0.5)
    swept, policy = what_if.redesigned(inputs, limits)
    alone = what_if.targets_at(inputs, limits)
    assert swept.feasible == alone.feasible
    for name, values in alone.values.items():
        for quantity, row in values.items():
            np.testing.assert_allclose(swept.values[name][quantity], row, rtol=1e-12)
    assert policy.across[0] > policy.across[-1]  # stricter to the right
    for i, j in ((3, 0), (8, 2), (11, 3)):
        there = example(permit__tp=policy.across[i], finance__discount_rate=policy.up[j])
        ranking = run.compare(there).ranking
        assert policy.winners[j][i] == (ranking[0] if ranking else "")


def test_a_crossing_has_its_strategies_on_either_side(inputs):
    crossings = what_if.crossings(inputs, run.targets(inputs))
    assert len(crossings) > 2
    for crossing in crossings:
        sides = []
        for factor in (1.02, 1.0 / 1.02):
            ranking = run.compare(example(permit__tp=crossing.at * factor)).ranking
            sides.append(ranking[0] if ranking else "")
        assert sides == [crossing.before, crossing.after]
        if crossing.fails:
            there = run.compare(example(permit__tp=crossing.at / 1.02))
            assert crossing.before not in there.ranking
    assert [c.at for c in crossings] == sorted((c.at for c in crossings), reverse=True)


def test_no_crossing_where_one_strategy_holds_all_along(inputs):
    sweep = run.targets(inputs, 1.5, 1.3, 4)
    assert len(set(what_if.cheapest(sweep))) == 1
    assert what_if.crossings(inputs, sweep) == ()


def test_margins_are_there_to_be_used_up(inputs, compared):
    """A plant whose sludge age holds its nitrifiers meets that in every draw but the extreme."""
    study = run.study(inputs, compared, 300, 1)
    assert not set(run.MARGINS) & set(study.varied)
    strict = replace(inputs, low={}, high={})
    one = run.study(strict, compared, 5, 1)
    for name, result in compared.strategies.items():
        assert one.odds[name].meets.value >= float(result.meets_permit), name


def test_two_seeds_of_the_plant_agree_within_four_standard_errors(inputs, compared):
    one, two = (run.study(inputs, compared, 800, seed) for seed in (1, 2))
    for name, mine in one.odds.items():
        theirs = two.odds[name]
        for figure in ("meets", "keeps", "cheapest", "cheapest_kept", "in_period", "regret"):
            a, b = getattr(mine, figure), getattr(theirs, figure)
            if np.isfinite(a.value):
                error = (a.error**2 + b.error**2) ** 0.5
                assert abs(a.value - b.value) <= 4.0 * error + 1e-12, (name, figure)


def test_the_class_of_the_estimate_is_half_to_double(inputs, compared):
    """Class 5: 1.0 M to 4.0 M on 2.0 M, its outer ends."""
    found = what_if.estimate_class(inputs, compared)
    assert "no_action" not in found
    for name, (low, high) in found.items():
        capital = compared.strategies[name].value("capital")
        assert (low, high) == (0.5 * capital, 2.0 * capital)
