"""Acids from sludge: what the coefficients were set to give, balances, limits and directions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import tables
from pcompare.equations import carbon, fermentation, growth
from pcompare.equations.stoichiometry import concentration_from_load

YIELDS = st.floats(0.01, 0.5)
RATES = st.floats(0.01, 1.0)
TIMES = st.floats(0.01, 20.0)


def c(name):
    return tables.coefficients()[name].value


def acids(kind, temperature, days):
    rate = growth.temperature_corrected(c("acid_rate"), c("acid_theta"), temperature)
    return fermentation.acid_yield(c(f"acid_yield_{kind}"), rate, days)


# ------------------------------------------------ what the coefficients were set to give


@pytest.mark.parametrize(("temperature", "days"), [(20.0, 3.0), (20.0, 5.0), (15.0, 5.0),
                                                   (11.0, 5.0), (11.0, 8.0)])  # fmt: skip
def test_yield_lies_in_the_band_of_practice(temperature, days):
    assert 0.10 <= acids("primary", temperature, days) <= 0.20


def test_yield_never_leaves_the_widest_band_known():
    for temperature in (8.0, 12.0, 20.0, 28.0):
        for days in (1.5, 4.0, 8.0):
            assert 0.03 <= acids("primary", temperature, days) <= 0.30


def test_cold_is_made_good_by_sludge_age():
    assert acids("primary", 11.0, 6.76) == pytest.approx(acids("primary", 20.0, 4.0), rel=0.01)


def test_rise_of_acids_in_the_sewage_is_that_of_practice():
    """Raw sewage of 176 mg VSS/L of which 60 % settle: 10 to 25 mg/L as acetic acid."""
    load = fermentation.acid_load(15000.0 * 0.176 * 0.6, acids("primary", 18.0, 4.0))
    rise = concentration_from_load(load, 15000.0) / carbon.carbon_product_cod("C2H4O2")
    assert 10.0 <= rise <= 25.0


def test_side_stream_gains_about_one_milligram():
    """A twelfth of the return sludge for 30 h; one full-scale plant reported about 1 mg P/L."""
    flow = 15000.0
    solids = fermentation.side_stream_solids(0.08, 0.6, 3000.0, flow)
    made = fermentation.side_stream_carbon(
        solids, acids("return", 20.0, 30.0 / 24.0), c("side_stream_stored")
    )
    per_phosphorus = carbon.cod_per_phosphorus(
        12.0, c("storing_yield"), c("storing_decay"), c("storing_residue"),
        c("phosphorus_content_storing"), c("phosphorus_content_ordinary"),
    )  # fmt: skip
    gain = concentration_from_load(made.stored / per_phosphorus, flow)
    assert 0.7 <= gain <= 1.3


# ------------------------------------------------ balances, limits, directions


@given(st.floats(100.0, 1e5), YIELDS, st.floats(0.0, 1.0))
def test_side_stream_shares_what_it_makes(solids, made, stored):
    found = fermentation.side_stream_carbon(solids, made, stored)
    assert found.stored + found.left == pytest.approx(fermentation.acid_load(solids, made))
    assert found.stored >= 0.0
    assert found.left >= 0.0


@given(YIELDS, RATES, TIMES, st.floats(1.0, 3.0))
def test_longer_and_warmer_give_more_and_never_all(largest, rate, days, factor):
    found = fermentation.acid_yield(largest, rate, days)
    assert 0.0 < found < largest
    assert fermentation.acid_yield(largest, rate, days * factor) >= found
    assert fermentation.acid_yield(largest, rate * factor, days) >= found
    # one mixed tank: what is left over what is made is the time constant over the time
    assert (largest - found) / found == pytest.approx(1.0 / (rate * days))


def test_nothing_held_gives_nothing():
    assert fermentation.acid_yield(0.3, 0.25, 0.0) == 0.0
    assert fermentation.methane_from_cod(0.0) == 0.0


@given(st.floats(1.0, 1e4), st.floats(1.2, 2.0))
def test_cod_of_the_lost_solids_is_that_of_the_acids(load, content):
    assert fermentation.volatile_solids_fermented(load, content) * content == pytest.approx(load)


def test_methane_holds_the_oxygen_demand_of_the_cod():
    """Burning the methane takes as much oxygen as oxidising the COD would have."""
    volume = fermentation.methane_from_cod(1000.0)
    kilomoles = volume / 22.414
    assert kilomoles * 2.0 * 31.998 == pytest.approx(1000.0, rel=1e-4)
    energy = fermentation.methane_electricity(volume, c("methane_heating_value"), 1.0)
    assert energy == pytest.approx(kilomoles * 802.3 / 3.6, rel=1e-3)


def test_a_side_stream_holds_its_solids_for_its_retention():
    """Mass held over volume is the concentration of the return sludge."""
    flow, ratio, share, days, mixed = 15000.0, 0.6, 0.08, 1.25, 3000.0
    held = fermentation.side_stream_solids(share, ratio, mixed, flow) * days
    volume = fermentation.side_stream_volume(share, ratio, flow, days)
    assert held / volume * 1000.0 == pytest.approx(mixed * (1.0 + ratio) / ratio)


def test_nutrients_released_undo_little_of_the_gain():
    """Even at the upper end the phosphorus released is a fraction of what the acids remove."""
    released = fermentation.released_with_acids(
        1000.0, tables.coefficients()["fermentation_phosphorus"].high
    )
    assert released < 0.25 * 1000.0 / 8.12
