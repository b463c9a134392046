"""Dose against residual, chemical solids: limits, direction, balances and the inverse."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula
from scipy.optimize import brentq

from pcompare.equations import precipitation as eq
from pcompare.tables import molar_mass

MODEL = (1.745, 0.098)  # metal per phosphorus and half-effect residual
phosphorus = st.floats(0.05, 50.0)
metals = st.sampled_from(["Al", "Fe"])
all_metals = st.sampled_from(["Al", "Fe", "Ce", "La"])


@given(phosphorus, st.floats(1e-6, 1.0), st.floats(0.5, 5.0), st.floats(1e-3, 1.0))
def test_residual_is_the_inverse_of_the_dose(present, share, least, half):
    residual = present * share
    dose = eq.metal_dose_for_residual(present, residual, least, half)
    back = eq.residual_for_metal_dose(present, dose, least, half)
    # Near no removal the dose itself holds only the digits of a difference.
    assert back == pytest.approx(residual, rel=1e-12, abs=4e-15 * present / half * (half + present))


@given(phosphorus, st.floats(-9.0, 6.0), st.floats(0.5, 5.0), st.floats(1e-3, 1.0))
def test_dose_for_the_residual_of_a_dose_is_the_dose(present, exponent, least, half):
    """Tiny to absurdly large doses; a tiny one is known only as the difference of two residuals."""
    dose = 10.0**exponent
    residual = eq.residual_for_metal_dose(present, dose, least, half)
    assert 0.0 < residual <= present * (1.0 + 1e-15)
    back = eq.metal_dose_for_residual(present, residual, least, half)
    lost = 8e-16 * least * present / 30.974 * (1.0 + half / residual)
    assert back == pytest.approx(dose, rel=1e-12, abs=lost)


def test_residual_agrees_with_scipy():
    for present in (0.3, 5.0, 12.0):
        for dose in (0.01, 0.1, 0.5, 2.0):

            def surplus(residual, present=present, dose=dose):
                return eq.metal_dose_for_residual(present, residual, *MODEL) - dose

            expected = brentq(surplus, 1e-9, present, xtol=1e-15, rtol=1e-14)
            found = eq.residual_for_metal_dose(present, dose, *MODEL)
            assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("half", [0.0, 0.098, 20.0])
def test_no_dose_leaves_what_arrives(half):
    for present in (0.0, 0.05, 5.0, 40.0):
        left = eq.residual_for_metal_dose(present, 0.0, 1.745, half)
        assert left == pytest.approx(present, rel=1e-15, abs=1e-15)


def test_no_removal_takes_no_dose():
    assert eq.metal_dose_for_residual(5.0, 5.0, *MODEL) == 0.0
    assert eq.metal_dose_for_residual(5.0, 6.0, *MODEL) == 0.0


def test_huge_dose_leaves_the_tail_of_the_hyperbola():
    """For a dose without end the residual is P0 K b / (Me M): known, small and positive."""
    left = eq.residual_for_metal_dose(5.0, 1e9, *MODEL)
    assert left == pytest.approx(5.0 * 0.098 * 1.745 / (1e9 * 30.974), rel=1e-8)


@given(phosphorus, st.floats(0.05, 0.95), st.floats(1.001, 3.0))
def test_dose_and_ratio_rise_as_the_target_falls(present, share, harder):
    easy, hard = present * share, present * share / harder
    dose, more = (eq.metal_dose_for_residual(present, s, *MODEL) for s in (easy, hard))
    assert more > dose
    ratio = eq.metal_to_phosphorus_removed(dose, present - easy)
    assert eq.metal_to_phosphorus_removed(more, present - hard) > ratio >= MODEL[0]
    assert eq.kinetic_metal_ratio(hard, 1.0, 0.6) > eq.kinetic_metal_ratio(easy, 1.0, 0.6) > 1.0


def test_ratio_without_removal_is_not_a_number():
    assert math.isnan(eq.metal_to_phosphorus_removed(0.3, 0.0))


def test_ratio_without_metal_is_not_a_number_whatever_rounding_leaves():
    assert math.isnan(eq.metal_to_phosphorus_removed(0.0, 1e-17))


def test_ratio_without_removal_leaves_the_other_cases_alone():
    found = eq.metal_to_phosphorus_removed(np.array([[1.0, 1.0]]), np.array([[0.0, 30.974]]))
    assert np.isnan(found[0, 0])
    assert found[0, 1] == pytest.approx(1.0)


@given(st.floats(0.0, 20.0), st.floats(1.0, 5.0), all_metals)
def test_solids_hold_the_metal_and_the_phosphorus(precipitated, ratio, metal):
    """Elements balance: metal, phosphate and hydroxide weigh what the solids weigh."""
    moles = precipitated / molar_mass("P")
    dose = ratio * moles
    expected = (
        dose * molar_mass(metal)
        + moles * molar_mass("PO4")
        + 3.0 * (dose - moles) * (molar_mass("OH"))
    )
    assert eq.chemical_solids(precipitated, dose, metal) == pytest.approx(expected, rel=1e-12)


@given(st.floats(0.1, 20.0), st.floats(1.0, 5.0), metals)
def test_empirical_solids_add_a_known_mass(precipitated, ratio, metal):
    """Both forms hold the same metal: they differ by H2PO4 and hydroxide alone."""
    moles = precipitated / molar_mass("P")
    simple = eq.chemical_solids(precipitated, ratio * moles, metal)
    empirical = eq.chemical_solids_empirical(precipitated, ratio * moles, metal)
    if metal == "Fe" and ratio < 1.6:
        assert empirical == pytest.approx(simple, rel=1e-14)
    elif ratio > 1.6 or metal == "Al":
        extra = moles * (molar_mass("H2PO4") - molar_mass("PO4") + 2.0 * molar_mass("OH"))
        assert empirical - simple == pytest.approx(extra, rel=1e-9)


def test_solids_agree_with_molmass():
    moles = 4.5 / Formula("P").mass
    for metal, ratio in (("Al", 0.8), ("Fe", 1.6)):
        dose = 2.0 * moles
        phosphate, hydroxide = (Formula(f"{metal}{rest}").mass for rest in ("PO4", "(OH)3"))
        simple = moles * phosphate + (dose - moles) * hydroxide
        assert eq.chemical_solids(4.5, dose, metal) == pytest.approx(simple, rel=1e-4)
        ten = Formula(f"{metal}{round(10 * ratio)}(H2PO4)10(OH){round(30 * ratio) - 10}").mass
        mixed = moles * ten / 10.0 + (dose - ratio * moles) * hydroxide
        assert eq.chemical_solids_empirical(4.5, dose, metal) == pytest.approx(mixed, rel=1e-4)


def test_same_metal_same_solids_and_linear():
    """A dose twice as large for twice the phosphorus gives twice the solids."""
    once = eq.chemical_solids(2.0, 0.2, "Al")
    assert eq.chemical_solids(4.0, 0.4, "Al") == pytest.approx(2.0 * once, rel=1e-14)
    assert eq.chemical_solids(0.0, 0.0, "Fe") == 0.0


def test_content_of_no_solids_is_zero():
    assert eq.phosphorus_in_solids(0.0, 0.0) == 0.0


@given(st.floats(0.0, 5.0), st.floats(0.0, 0.5), st.floats(0.0, 0.08), st.floats(0.0, 30.0))
def test_effluent_phosphorus_is_the_sum_of_its_parts(soluble, other, content, solids):
    total = eq.effluent_total_phosphorus(soluble, other, content, solids)
    assert total == pytest.approx(soluble + other + content * solids, rel=1e-14)
    assert total >= soluble


# --- the handbook's table -----------------------------------------------------------------------

HANDBOOK = (0.618, 1.3)  # intercept and slope of the line through 75, 85 and 95 % removal


@given(phosphorus, st.floats(0.01, 0.99), st.floats(0.01, 20.0))
def test_the_handbook_tells_metal_by_the_share_removed_alone(present, share, factor):
    """Ten times the phosphorus, ten times the metal; weak sewage is no exception."""
    once = eq.metal_dose_by_handbook(present, share * present, *HANDBOOK)
    more = eq.metal_dose_by_handbook(factor * present, share * factor * present, *HANDBOOK)
    assert more == pytest.approx(factor * once, rel=1e-9)
    moles = once / (present / molar_mass("P"))
    assert moles == pytest.approx(0.618 - 1.3 * math.log10(share), rel=1e-9)
    back = eq.residual_by_handbook(present, once, *HANDBOOK)
    assert back == pytest.approx(share * present, rel=1e-9)


def test_the_handbook_doses_nothing_where_nothing_is_to_be_removed():
    for present, residual in ((0.0, 0.1), (0.3, 0.3), (0.3, 0.5), (5.0, 6.0)):
        assert eq.metal_dose_by_handbook(present, residual, *HANDBOOK) == 0.0
    assert eq.residual_by_handbook(0.0, 1.0, *HANDBOOK) == 0.0
    # The line begins above nothing: a dose below its intercept removes nothing.
    below = 0.6 * 5.0 / molar_mass("P")
    assert eq.residual_by_handbook(5.0, below, *HANDBOOK) == pytest.approx(5.0)


def test_short_of_metal_there_is_no_hydroxide():
    """A millimole of phosphorus and half as much metal: phosphate alone, none taken away."""
    for metal in ("Al", "Fe"):
        phosphate = Formula(f"{metal}PO4").mass
        found = eq.chemical_solids(molar_mass("P"), 0.5, metal)
        assert found == pytest.approx(phosphate, rel=2e-4)


@pytest.mark.parametrize(("metal", "bound"), [("Al", 0.8), ("Fe", 1.6)])
def test_the_measured_solid_forms_as_soon_as_there_is_metal_for_it(metal, bound):
    """Me_r (H2PO4) (OH)_(3r-1) by molmass, at r metal for each phosphorus and above."""
    one = bound * Formula(metal).mass + Formula("H2PO4").mass
    one += (3.0 * bound - 1.0) * Formula("OH").mass
    found = eq.chemical_solids_empirical(molar_mass("P"), bound, metal)
    assert found == pytest.approx(one, rel=2e-4)
    more = eq.chemical_solids_empirical(molar_mass("P"), bound + 1.0, metal) - found
    assert more == pytest.approx(Formula(f"{metal}O3H3").mass, rel=2e-4)


@given(st.floats(0.05, 5.0), st.floats(0.5, 100.0), st.floats(0.1, 100.0), st.floats(1.1, 10.0))
def test_the_kinetic_ratio_is_that_of_two_opposed_rates(residual, forward, back, factor):
    """Beyond one it grows with redissolution and falls with precipitation and the residual."""
    beyond = eq.kinetic_metal_ratio(residual, forward, back) - 1.0
    assert beyond > 0.0
    for changed, expected in (
        ((residual, forward * factor, back), beyond / factor),
        ((residual, forward, back * factor), beyond * factor),
        ((residual * factor, forward, back), beyond / factor),
    ):
        found = eq.kinetic_metal_ratio(*changed) - 1.0
        assert found == pytest.approx(expected, rel=1e-6, abs=1e-12)
