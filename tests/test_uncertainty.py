"""Draws: their distribution, their independence, and the plant that is held."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pcompare import shapes, uncertainty
from pcompare.arrays import as_cases

from .plants import example
from .test_shapes import SCIPY

DRAWS = 20_000


def test_triangular_draws_have_the_mean_and_spread_of_the_formula():
    """Mean (a+b+c)/3 and variance of the triangular distribution, within 4 standard errors."""
    inputs = example()
    low, mode, high = 100.0, 150.0, 300.0
    inputs = replace(
        inputs,
        values={**inputs.values, "prices.caustic": as_cases(mode)},
        low={"prices.caustic": low},
        high={"prices.caustic": high},
    )
    drawn = uncertainty.draw(inputs, DRAWS, 7)["prices.caustic"]
    mean = (low + mode + high) / 3.0
    sd = ((low**2 + mode**2 + high**2 - low * mode - low * high - mode * high) / 18.0) ** 0.5
    assert drawn.mean() == pytest.approx(mean, abs=4.0 * sd / DRAWS**0.5)
    assert drawn.std() == pytest.approx(sd, rel=0.03)
    assert low <= drawn.min() and drawn.max() <= high


def test_each_field_has_a_stream_of_its_own():
    """Taking one field's range away moves no other draw, unless they move together."""
    inputs = example()
    fields = uncertainty.varied_fields(inputs)
    assert len(fields) > 10
    (gone,) = [name for name in fields if name == "coefficient.alpha"]
    first = uncertainty.draw(inputs, 100, 3)
    fewer = replace(inputs, low={k: v for k, v in inputs.low.items() if k != gone})
    second = uncertainty.draw(fewer, 100, 3)
    assert gone not in second
    for name in second:
        np.testing.assert_array_equal(first[name], second[name])


@pytest.mark.parametrize("draws", [1, 7, 1000])
def test_one_draw_lies_in_each_of_as_many_equal_parts(draws):
    """The definition of a Latin hypercube, which putting into other ranks keeps."""
    for name, numbers in uncertainty.uniform(example(), draws, 5).items():
        assert sorted(np.floor(numbers * draws)) == list(range(draws)), name


@settings(max_examples=15)
@given(st.floats(-0.9, 0.9), st.integers(0, 10**6))
def test_a_rank_correlation_is_met(rank, seed):
    """Spearman's coefficient of the draws is the one asked for, by scipy's own function."""
    pair = ("coefficient.alpha", "coefficient.beta")
    inputs = replace(example(), correlations={pair: rank})
    drawn = uncertainty.draw(inputs, 2000, seed)
    found = stats.spearmanr(*(drawn[name][:, 0] for name in pair)).statistic
    assert found == pytest.approx(rank, abs=0.02)


def test_capital_and_prices_move_together_as_the_fields_say():
    inputs = example(decision__correlation_capital=0.7, decision__correlation_prices=0.3)
    drawn = uncertainty.uniform(inputs, 4000, 2)

    def found(first, second):
        return stats.spearmanr(drawn[first], drawn[second]).statistic

    assert found("capital.filter", "capital.storage") == pytest.approx(0.7, abs=0.02)
    assert found("prices.cake", "prices.caustic") == pytest.approx(0.3, abs=0.03)
    assert found("prices.cake", "capital.storage") == pytest.approx(0.3, abs=0.03)
    assert abs(found("prices.cake", "coefficient.alpha")) < 4.0 / 4000**0.5


def test_a_pair_of_ones_own_rules_over_what_is_taken():
    pair = ("prices.cake", "prices.caustic")
    inputs = replace(example(), correlations={pair: -0.4})
    pairs, share = uncertainty.correlations(inputs)
    assert pairs[pair] == -0.4
    assert 0.0 < share <= 1.0
    assert shapes.can_hold(pairs)
    drawn = uncertainty.uniform(inputs, 4000, 2)
    found = stats.spearmanr(*(drawn[name] for name in pair)).statistic
    assert found == pytest.approx(-0.4, abs=0.03)


def test_what_is_taken_is_weakened_where_ones_own_leaves_no_room():
    """Two prices that oppose each other cannot both go with all the others."""
    own = {("capital.feed_system", "capital.storage"): -0.9}
    pairs, share = uncertainty.correlations(replace(example(), correlations=own))
    assert share < 1.0
    assert shapes.can_hold(pairs)


def test_no_correlation_where_the_fields_say_none():
    inputs = example(decision__correlation_capital=0.0, decision__correlation_prices=0.0)
    assert uncertainty.correlations(inputs) == ({}, 1.0)


@pytest.mark.parametrize("shape", shapes.SHAPES)
def test_each_shape_is_drawn(shape):
    """Quantiles of the draws are those of scipy's distribution; see test_shapes."""
    name = "prices.caustic"
    inputs = replace(
        example(decision__correlation_prices=0.0, **{"prices__caustic": 150.0}),
        low={name: 100.0}, high={name: 300.0}, shapes={name: shape},
    )  # fmt: skip
    drawn = uncertainty.draw(inputs, 9999, 4)[name][:, 0]
    for chance in (0.1, 0.5, 0.9):
        exact = SCIPY[shape](100.0, 150.0, 300.0).ppf(chance)
        assert np.quantile(drawn, chance) == pytest.approx(exact, rel=1e-3)


def test_draws_of_two_fields_are_not_correlated():
    drawn = uncertainty.draw(example(), DRAWS, 3)
    a, b = (drawn[name][:, 0] for name in ("coefficient.alpha", "coefficient.beta"))
    assert abs(np.corrcoef(a, b)[0, 1]) < 4.0 / DRAWS**0.5


def test_months_keep_their_shape():
    inputs = example(influent__temperature_average=[10, 10, 11, 12, 14, 16, 18, 19, 17, 15, 13, 11])
    inputs = replace(
        inputs,
        low={"influent.temperature_average": 13.0},
        high={"influent.temperature_average": 15.0},
    )
    drawn = uncertainty.draw(inputs, 50, 1)["influent.temperature_average"]
    assert drawn.shape == (50, 12)
    shape = drawn / drawn[:, :1]
    np.testing.assert_allclose(shape, np.broadcast_to(shape[0], shape.shape), rtol=1e-12)


@pytest.mark.parametrize("draws", [1, uncertainty.CHUNK, uncertainty.CHUNK + 1])
def test_chunks_lose_no_draw(draws):
    inputs = example()
    drawn = uncertainty.draw(inputs, draws, 1)
    numbers = uncertainty.uniform(inputs, draws, 1)
    for name in list(drawn)[:3]:
        parts = [case[name] for case in uncertainty.chunks(inputs, numbers, draws)]
        np.testing.assert_array_equal(np.concatenate(parts), drawn[name])


def test_progress_is_told_after_each_chunk():
    told = []
    uncertainty.sample(
        example(), 4500, 1, lambda case: {"x.y": case["prices.cake"]},
        lambda done, whole: told.append((done, whole)),
    )  # fmt: skip
    assert told == [(2000, 4500), (4000, 4500), (4500, 4500)]


# Seven elements of cost: low, most likely, high (GAO-20-195G). Quantiles of their sum under a
# normal copula: exact for none, from ten million draws for 0.25 and 0.6.
ELEMENTS = (
    (17955, 19645, 21785), (8500, 10553, 13000), (4000, 4306, 5100), (4100, 4305, 4650),
    (550, 600, 650), (32300, 35547, 52500), (1950, 2136, 2600),
)  # fmt: skip


@pytest.mark.parametrize(
    ("rho", "quantiles", "below", "spread"),
    [
        (0.0, (76_715, 81_602, 86_446, 88_910), 0.126, 4_600),
        (0.25, (75_954, 81_603, 86_940, 89_663), 0.170, 5_172),
        (0.6, (75_030, 81_551, 87_602, 90_681), 0.216, 5_888),
    ],
)
def test_the_cost_risk_example_with_correlation(rho, quantiles, below, spread):
    draws, count = 40_000, len(ELEMENTS)
    columns = np.stack(
        [uncertainty.hypercube(draws, uncertainty.stream(8, f"e{i}")) for i in range(count)], axis=1
    )
    wanted = np.full((count, count), rho) + (1.0 - rho) * np.eye(count)
    columns = uncertainty._reordered(columns, wanted)
    parts = [
        shapes.triangular(columns[:, i], *(np.array(float(x)) for x in row))
        for i, row in enumerate(ELEMENTS)
    ]
    total = np.sum(parts, axis=0)
    found = np.quantile(total, (0.1, 0.5, 0.8, 0.9))
    np.testing.assert_allclose(found, quantiles, rtol=3e-3)
    assert np.mean(total <= 77_092) == pytest.approx(below, abs=0.01)
    assert total.std() == pytest.approx(spread, rel=0.015)
