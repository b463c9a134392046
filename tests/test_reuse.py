"""The reuse loop: closed form against cycle after cycle, and its limits."""

from __future__ import annotations

import inspect

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from molmass import Formula
from scipy.linalg import solve as solve_linear

from pcompare.equations import alkalinity, ions, reuse_forms
from pcompare.equations import reuse as eq

concentrations = st.floats(0.0, 1000.0)
returns = st.floats(0.0, 1.0)
losses = st.floats(0.0, 0.6)


def cycle_after_cycle(source, increment, returned, evaporated, cycles):
    """Follow the salt itself: use adds to it, evaporation takes water only."""
    supply = source
    for _ in range(cycles):
        effluent = (supply + increment) / (1.0 - evaporated)
        supply = (1.0 - returned) * source + returned * effluent
    return supply


@given(concentrations, concentrations, returns, losses, st.integers(0, 12))
def test_closed_form_agrees_with_iteration(source, increment, returned, evaporated, cycles):
    """Below and above a multiplier of one; very near to one the closed form divides by nothing."""
    assume(abs(eq.loop_multiplier(returned, evaporated) - 1.0) > 1e-3)
    expected = cycle_after_cycle(source, increment, returned, evaporated, cycles)
    found = eq.supply_after_cycles(source, increment, returned, evaporated, float(cycles))
    assert found == pytest.approx(expected, rel=1e-10, abs=1e-9)


def test_multiplier_of_one_rises_by_the_same_each_cycle():
    for cycles in (0, 1, 7):
        expected = cycle_after_cycle(200.0, 50.0, 0.5, 0.5, cycles)
        found = eq.supply_after_cycles(200.0, 50.0, 0.5, 0.5, float(cycles))
        assert found == pytest.approx(expected, rel=1e-14)


@given(concentrations, concentrations, st.floats(0.0, 0.6), st.floats(0.0, 0.3))
def test_many_cycles_reach_the_long_run(source, increment, returned, evaporated):
    settled = eq.long_run_supply(source, increment, returned, evaporated)
    after = eq.supply_after_cycles(source, increment, returned, evaporated, 400.0)
    assert after == pytest.approx(settled, rel=1e-10, abs=1e-9)


def test_long_run_agrees_with_scipy():
    """The balance as two equations, supply and effluent, solved together."""
    for source, increment, returned, evaporated in (
        (200.0, 250.0, 0.5, 0.1),
        (30.0, 77.5, 0.3, 0.0),
    ):
        matrix = [[1.0, -returned], [-1.0, 1.0 - evaporated]]
        supply, effluent = solve_linear(matrix, [(1.0 - returned) * source, increment])
        found = eq.long_run_supply(source, increment, returned, evaporated)
        assert found == pytest.approx(supply, rel=1e-12)
        once_more = eq.supply_after_cycles(supply, increment, returned, evaporated, 0.0)
        assert once_more == pytest.approx(supply, rel=1e-12)
        gain = eq.loop_multiplier(returned, evaporated) * (supply + increment)
        assert gain == pytest.approx(returned * effluent, rel=1e-12)


@given(concentrations, concentrations)
def test_no_return_no_increment(source, increment):
    assert eq.long_run_supply(source, increment, 0.0, 0.1) == pytest.approx(source, rel=1e-14)


@given(
    concentrations, concentrations, st.floats(0.0, 0.6), st.floats(0.0, 0.3), st.floats(1.0, 99.0)
)
def test_increment_is_multiplied_by_the_gain(source, increment, returned, evaporated, more):
    """A chemical that adds to each use raises the supply by m/(1 - m) of itself."""
    multiplier = eq.loop_multiplier(returned, evaporated)
    before = eq.long_run_supply(source, increment, returned, evaporated)
    after = eq.long_run_supply(source, increment + more, returned, evaporated)
    assert after - before == pytest.approx(more * multiplier / (1.0 - multiplier), abs=1e-8)


@pytest.mark.parametrize(
    ("cation", "base", "equivalents"),
    [("Na", "NaOH", 1.0), ("Ca", "Ca(OH)2", 2.0), ("Mg", "Mg(OH)2", 2.0)],
)
@given(st.floats(0.0, 500.0))
def test_replacement_is_the_cation_of_the_base(cation, base, equivalents, lost):
    dose = alkalinity.base_dose(lost, base, equivalents)
    expected = ions.ion_from_base(dose, base, 1.0, cation)
    assert eq.replacement_cation(lost, cation) == pytest.approx(expected, rel=1e-13, abs=1e-300)


@given(st.floats(0.0, 500.0), st.sampled_from(["Na", "Ca"]))
def test_restored_solids_are_residue_of_cation_and_bicarbonate(lost, cation):
    name = {"Na": "sodium", "Ca": "calcium"}[cation]
    water = dict.fromkeys(inspect.signature(ions.dissolved_solids_residue).parameters, 0.0)
    water[name] = eq.replacement_cation(lost, cation)
    water["bicarbonate"] = lost / alkalinity.alkalinity_all_hydroxide(1.0, 1.0)
    expected = ions.dissolved_solids_residue(**water)
    assert eq.restored_solids(lost, cation) == pytest.approx(expected, rel=1e-12, abs=1e-300)


def test_replacement_agrees_with_molmass():
    half = Formula("CaCO3").mass / 2.0
    sodium, calcium = Formula("Na").mass / half, Formula("Ca").mass / 2.0 / half
    assert eq.replacement_cation(1.0, "Na") == pytest.approx(sodium, rel=2e-4)
    assert eq.replacement_cation(1.0, "Ca") == pytest.approx(calcium, rel=2e-4)
    for cation, charge in (("K", 1.0), ("Mg", 2.0)):
        expected = Formula(cation).mass / charge / half
        assert eq.replacement_cation(1.0, cation) == pytest.approx(expected, rel=2e-4)
    residue = sodium + Formula("CO3").mass / 2.0 / half
    assert eq.restored_solids(1.0, "Na") == pytest.approx(residue, rel=2e-4)


def test_cases_settle_each_by_itself():
    returned = np.array([[0.3], [0.5]])
    found = eq.long_run_supply(200.0, 250.0, returned, 0.0)
    np.testing.assert_allclose(found, [[307.142857], [450.0]], rtol=1e-8)


# --- how many cycles, and how far to blend ------------------------------------------------------


@given(
    st.floats(10.0, 500.0), st.floats(5.0, 500.0), st.floats(0.05, 0.9), st.floats(0.0, 0.6),
    st.floats(0.3, 9.0),
)  # fmt: skip
def test_cycles_to_a_limit_lead_to_it(source, increment, returned, evaporated, cycles):
    """The limit is what the supply has after so many cycles, above and below a multiplier of 1."""
    assume(abs(eq.loop_multiplier(returned, evaporated) - 1.0) > 1e-3)
    limit = eq.supply_after_cycles(source, increment, returned, evaporated, cycles)
    settled = eq.long_run_supply(source, increment, returned, evaporated)
    assume(not 0.0 < settled - limit < 1e-6 * settled)  # so near that no cycle is told from another
    found = reuse_forms.cycles_to_limit(source, increment, returned, evaporated, limit)
    assert found == pytest.approx(cycles, rel=1e-6)


@pytest.mark.parametrize(("multiplier", "rise"), [((0.5, 0.5), 150.0), ((0.4, 0.6), 170.0)])
def test_with_a_multiplier_of_one_every_cycle_adds_the_same(multiplier, rise):
    """Of 50 mg/L added to 200: g = 50 + (1 - r) 200."""
    for cycles in (0.5, 1.0, 4.0):
        limit = 200.0 + cycles * rise
        found = reuse_forms.cycles_to_limit(200.0, 50.0, *multiplier, limit)
        assert found == pytest.approx(cycles, rel=1e-12)


def test_a_limit_is_passed_at_once_or_never():
    settled = eq.long_run_supply(200.0, 50.0, 0.5, 0.1)
    never, soon = (
        reuse_forms.cycles_to_limit(200.0, 50.0, 0.5, 0.1, settled * x) for x in (1.001, 0.999)
    )
    assert never == np.inf
    assert np.isfinite(soon) and soon > 5.0
    for limit in (150.0, 200.0):  # the source itself is not below it
        assert reuse_forms.cycles_to_limit(200.0, 50.0, 0.5, 0.1, limit) == 0.0
        assert reuse_forms.largest_share(200.0, 50.0, 0.1, limit) == 0.0
    # Nothing returned, nothing added: the supply stays what it is.
    assert reuse_forms.cycles_to_limit(200.0, 50.0, 0.0, 0.1, 201.0) == np.inf
    assert reuse_forms.cycles_to_limit(200.0, 0.0, 0.5, 0.0, 201.0) == np.inf
    # A multiplier of one, and use that takes out what evaporation leaves behind, or more.
    for taken in (-100.0, -100.5):
        assert reuse_forms.cycles_to_limit(200.0, taken, 0.5, 0.5, 201.0) == np.inf


@given(st.floats(1.0, 300.0), st.floats(1.0, 500.0), st.floats(0.0, 0.4), st.floats(0.02, 0.7))
def test_the_largest_share_settles_at_the_limit(source, increment, evaporated, share):
    assume(eq.loop_multiplier(share, evaporated) < 0.95)
    limit = eq.long_run_supply(source, increment, share, evaporated)
    assume(limit > source * (1.0 + 1e-6))
    found = reuse_forms.largest_share(source, increment, evaporated, limit)
    assert found == pytest.approx(share, rel=1e-6)


def test_a_limit_that_no_share_passes_allows_all_effluent():
    """Use that takes more away than evaporation leaves behind: less salt with every cycle."""
    assert reuse_forms.largest_share(200.0, -190.0, 0.1, 205.0) == 1.0
    for taken in (-1.0, -0.5, -0.25):
        assert reuse_forms.largest_share(200.0, taken, 0.0, 200.5) == 1.0
    # Half a milligram of room and a quarter for each use: two thirds, by r = L - C0/(D + L - C0).
    found = reuse_forms.largest_share(200.0, 0.25, 0.0, 200.5)
    assert found == pytest.approx(2.0 / 3.0, rel=1e-9)
    assert reuse_forms.largest_share(200.0, 1.0, 0.0, 1e9) == pytest.approx(1.0)


def test_a_loop_without_a_steady_state_and_one_that_is_emptied():
    assert np.isnan(reuse_forms.settled_supply(200.0, 50.0, 0.95, 0.1))  # m above one
    assert np.isnan(reuse_forms.settled_supply(200.0, 50.0, 0.5, 0.5))  # m of one
    # More is taken out than arrives: only source water is left, (1 - r) of the supply.
    assert reuse_forms.settled_supply(200.0, -1000.0, 0.3, 0.1) == pytest.approx(140.0)
    found = reuse_forms.settled_supply(200.0, 250.0, 0.5, 0.1)
    assert found == eq.long_run_supply(200.0, 250.0, 0.5, 0.1)


def test_saving_water_spares_no_salt_that_use_takes_out():
    """Loads of each person stay; where use adds none there is none to concentrate."""
    assert reuse_forms.drought_concentration(300.0, 200.0, 0.2) == pytest.approx(325.0)
    for arriving in (200.0, 300.0):
        assert reuse_forms.drought_concentration(200.0, arriving, 0.2) == 200.0
