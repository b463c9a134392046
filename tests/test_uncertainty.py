"""Draws: their distribution, their independence, and the plant that is held."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pcompare import uncertainty
from pcompare.arrays import as_cases

from .plants import example

DRAWS = 20_000


def test_triangular_matches_the_published_quantile():
    """EnvStats manual, qtri(0.25, min 1, max 4, mode 3) = 2.224745 (CRAN)."""
    found = uncertainty.triangular(np.array(0.25), np.array(1.0), np.array(3.0), np.array(4.0))
    assert found == pytest.approx(2.224745, abs=5e-7)


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
    """Taking one field's range away moves no other draw."""
    inputs = example()
    fields = uncertainty.varied_fields(inputs)
    assert len(fields) > 10
    first = uncertainty.draw(inputs, 100, 3)
    fewer = replace(inputs, low={k: v for k, v in inputs.low.items() if k != fields[0]})
    second = uncertainty.draw(fewer, 100, 3)
    assert fields[0] not in second
    for name in second:
        np.testing.assert_array_equal(first[name], second[name])


def test_draws_of_two_fields_are_not_correlated():
    drawn = uncertainty.draw(example(), DRAWS, 3)
    a, b = (drawn[name][:, 0] for name in list(drawn)[:2])
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
    name = next(iter(drawn))
    parts = [case[name] for case in uncertainty.chunks(inputs, drawn, draws)]
    np.testing.assert_array_equal(np.concatenate(parts), drawn[name])


def test_two_seeds_agree_within_their_standard_errors():
    inputs = example()

    def linear(case):
        price = case["prices.electricity"]
        return {"x.present_worth": price * 1000.0, "y.present_worth": price * 0.0 + 110.0}

    studies = [uncertainty.study(inputs, DRAWS, seed, linear, ("x", "y")) for seed in (1, 2)]
    chances = [s.chance_cheapest["x"] for s in studies]
    error = (2.0 * 0.25 / DRAWS) ** 0.5
    assert abs(chances[0] - chances[1]) < 4.0 * error
    assert sum(studies[0].chance_cheapest.values()) == pytest.approx(1.0)
