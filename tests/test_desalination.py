"""A side stream through membranes: water and salt balanced, and the price of a kilogram."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare.equations import desalination


@given(st.floats(0.3, 1.0), st.floats(0.3, 0.95), st.floats(0.8, 1.0))
def test_blending_the_treated_part_back_leaves_what_is_kept(kept, recovery, rejection):
    """Bypass and permeate together, by balances of water and of salt."""
    treated = desalination.side_stream_fraction(kept, recovery, rejection)
    brine = desalination.brine_fraction(treated, recovery)
    permeate = treated * recovery
    assert permeate + brine == pytest.approx(treated, rel=1e-12)
    water = 1.0 - brine
    salt = (1.0 - treated) + permeate * (1.0 - rejection)
    assert salt / water == pytest.approx(kept, rel=1e-9)


def test_nothing_to_take_out_treats_nothing():
    assert desalination.side_stream_fraction(1.0, 0.75, 0.97) == 0.0
    assert desalination.brine_fraction(0.0, 0.75) == 0.0


@given(st.floats(0.1, 5.0), st.floats(0.8, 1.0), st.floats(100.0, 5000.0))
def test_a_kilogram_costs_the_permeate_that_carries_it(cost, rejection, feed):
    """A cubic metre of permeate has left rejection x feed grams behind."""
    removed = rejection * feed / 1000.0  # kg/m3
    found = desalination.removal_unit_cost(cost, rejection, feed)
    assert found * removed == pytest.approx(cost, rel=1e-12)
