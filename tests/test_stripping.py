"""Side-stream stripping: balances of phosphorus, the cap of the plant, and lime on the overflow."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import tables
from pcompare.equations import lime, lime_solids, stripping

LOADS = st.floats(0.0, 500.0)


def test_an_impossible_release_is_clipped():
    """2 000 m3/d of sludge at 6 g VSS/L would release twice what the plant receives."""
    content = tables.coefficients()["stripping_content"].value
    released = stripping.stripper_release(2000.0 * 6.0, content)
    assert released == pytest.approx(120.0)
    assert stripping.release_within_balance(released, 60.0, 0.0, 0.0) == 60.0
    assert stripping.release_within_balance(released, 60.0, 6.0, 14.0) == 40.0


@given(LOADS, LOADS, LOADS, LOADS)
def test_release_never_exceeds_sludge_or_balance(release, entering, leaving, wasted):
    found = stripping.release_within_balance(release, entering, leaving, wasted)
    assert 0.0 <= found <= release
    assert found <= max(entering - leaving - wasted, 0.0)
    assert found in (0.0, release, entering - leaving - wasted)


@given(st.floats(0.0, 500.0), st.floats(0.0, 5.0), st.floats(0.02, 0.3), st.floats(0.02, 0.3))
def test_overflow_and_underflow_share_the_phosphate(release, before, over, under):
    flow = 10000.0
    phosphate = stripping.overflow_phosphate(release, before, over, under, flow)
    out = (over + under) * flow * phosphate / 1000.0
    assert out == pytest.approx(release + (over + under) * flow * before / 1000.0)
    precipitated = stripping.stripped_phosphorus(phosphate, before, over, flow)
    assert precipitated == pytest.approx(release * over / (over + under), abs=1e-9)


def test_overflow_below_the_residual_gives_nothing():
    assert stripping.stripped_phosphorus(0.4, 1.0, 0.15, 10000.0) == 0.0


def test_lime_follows_the_small_overflow():
    """At 10 to 20 % of the flow a tenth to a fifth of the lime, whatever the phosphorus."""
    dose = lime.lime_dose(200.0, 0.6)
    whole = stripping.overflow_lime(dose, 1.0, 10000.0)
    for share in (0.1, 0.2):
        assert stripping.overflow_lime(dose, share, 10000.0) == pytest.approx(share * whole)
    assert 60.0 <= dose <= 300.0


@given(st.floats(0.0, 60.0), st.floats(0.0, 600.0), st.floats(0.05, 0.3))
def test_solids_hold_the_phosphorus_that_was_precipitated(phosphorus, carbonate, share):
    flow = 12000.0
    solids = stripping.overflow_solids(phosphorus, carbonate, share, flow)
    precipitated = stripping.stripped_phosphorus(phosphorus, 0.0, share, flow)
    apatite = lime_solids.apatite_solids(1.0)
    assert solids == pytest.approx(apatite * precipitated + share * flow * carbonate / 1000.0)
