"""Solids: what the units say, balances, and the whole-cake effect."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare.equations import sludge

LOADS = st.floats(0.0, 1e6)


@given(LOADS, LOADS, st.floats(0.0, 1.0))
def test_digestion_keeps_the_inert_and_only_destroys_volatile_solids(volatile, inert, destroyed):
    left = sludge.digested_solids(volatile, inert, destroyed)
    assert inert * (1.0 - 1e-12) <= left <= (volatile + inert) * (1.0 + 1e-12)
    gone = volatile * destroyed
    assert left + gone == pytest.approx(volatile + inert, rel=1e-12, abs=1e-9)


def test_without_digestion_all_solids_stay_and_with_all_destroyed_only_the_inert():
    assert sludge.digested_solids(700.0, 300.0, 0.0) == 1000.0
    assert sludge.digested_solids(700.0, 300.0, 1.0) == 300.0


@given(st.floats(1.0, 1e6), st.floats(0.1, 1.0))
def test_cake_is_solids_and_water(dry, dryness):
    """1 t of cake holds dryness x 1000 kg of solids; the rest is water and never negative."""
    cake = sludge.wet_cake(dry, dryness)
    assert cake * 1000.0 * dryness == pytest.approx(dry, rel=1e-12)
    assert cake * 1000.0 >= dry * (1.0 - 1e-12)


def test_four_points_wetter_is_a_fifth_more_of_all_cake():
    assert sludge.wet_cake(5000.0, 0.20) / sludge.wet_cake(5000.0, 0.24) == pytest.approx(1.2)


@given(st.floats(1.0, 1e6), st.floats(10.0, 1e6))
def test_mixed_liquor_holds_the_mass(mass, volume):
    """mg/L is g/m3."""
    assert sludge.mixed_liquor(mass, volume) * volume / 1000.0 == pytest.approx(mass, rel=1e-12)


def test_clarifier_loading_is_overflow_plus_return_times_solids():
    """1 m/h of overflow, a return ratio of 1 and 3 kg/m3: 6 kg/(m2 h)."""
    assert sludge.clarifier_loading(24.0 * 500.0, 1.0, 3000.0, 500.0) == pytest.approx(6.0)


def test_clarifier_loading_moves_with_what_loads_it():
    base = sludge.clarifier_loading(20000.0, 0.5, 3000.0, 1500.0)
    assert sludge.clarifier_loading(40000.0, 0.5, 3000.0, 1500.0) == pytest.approx(2.0 * base)
    assert sludge.clarifier_loading(20000.0, 0.5, 6000.0, 1500.0) == pytest.approx(2.0 * base)
    assert sludge.clarifier_loading(20000.0, 0.5, 3000.0, 3000.0) == pytest.approx(0.5 * base)
    assert sludge.clarifier_loading(20000.0, 1.0, 3000.0, 1500.0) == pytest.approx(base * 2 / 1.5)


def test_polymer_of_us_practice():
    """10 lb for each short ton is 5 kg for each tonne, whatever the pound weighs."""
    pound, short_ton = 0.45359237, 907.18474
    assert sludge.polymer_use(short_ton, 5.0) == pytest.approx(10.0 * pound, rel=1e-12)
    assert sludge.polymer_use(0.0, 8.0) == 0.0
