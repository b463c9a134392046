"""Conversions by atomic weight: against an independent table, and there and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from pcompare.equations import stoichiometry as eq
from pcompare.tables import molar_mass

amounts = st.floats(1e-6, 1e6)
ELEMENTS = ("H", "C", "N", "O", "F", "Na", "Mg", "Al", "Si", "P", "S", "Cl", "K", "Ca", "Mn", "Fe",
            "La", "Ce")  # fmt: skip
HYDRATES = {"Al2(SO4)3.14H2O": 14, "Al2(SO4)3.18H2O": 18, "FeSO4.7H2O": 7, "Ca5(PO4)3OH": 0}


def test_molar_masses_agree_with_molmass():
    # Standard weights are intervals for some elements: two tables differ by up to 0.015 %.
    for formula in ELEMENTS:
        assert eq.metal_mass(1.0, formula) == pytest.approx(Formula(formula).mass, rel=2e-4)
        assert eq.metal_moles(Formula(formula).mass, formula) == pytest.approx(1.0, rel=2e-4)
    assert eq.phosphorus_moles(Formula("P").mass) == pytest.approx(1.0, rel=2e-4)
    for formula, water in HYDRATES.items():
        expected = Formula(formula.partition(".")[0]).mass + water * Formula("H2O").mass
        assert eq.metal_mass(1.0, formula) == pytest.approx(expected, rel=1e-4)


def test_strengths_agree_with_molmass():
    alum = Formula("Al2(SO4)3").mass + 14.0 * Formula("H2O").mass
    expected = 0.485 * 2.0 * Formula("Al").mass / alum
    given_salt = eq.metal_fraction_from_salt(0.485, "Al2(SO4)3.14H2O", "Al")
    assert given_salt == pytest.approx(expected, rel=1e-4)
    expected = 0.083 * 2.0 * Formula("Al").mass / Formula("Al2O3").mass
    assert eq.metal_fraction_from_oxide(0.083) == pytest.approx(expected, rel=1e-4)


@given(amounts, st.sampled_from(["Al", "Fe", "Ce", "La"]))
def test_moles_and_mass_are_inverse(dose, metal):
    assert eq.metal_mass(eq.metal_moles(dose, metal), metal) == pytest.approx(dose, rel=1e-14)


@given(amounts, amounts)
def test_load_and_concentration_are_inverse(concentration, flow):
    load = eq.mass_load(concentration, flow)
    assert eq.concentration_from_load(load, flow) == pytest.approx(concentration, rel=1e-14)


@given(amounts, amounts, st.floats(0.01, 1.0))
def test_product_carries_the_metal(dose, flow, fraction):
    """The metal in the product is the metal that the dose asks for."""
    product = eq.product_load(dose, flow, fraction)
    assert product * fraction == pytest.approx(eq.mass_load(dose, flow), rel=1e-14)


@given(amounts, st.floats(0.8, 2.0))
def test_volume_weighs_what_the_product_weighs(product, density):
    litres = 1000.0 * eq.product_volume(product, density)
    assert litres * density == pytest.approx(product, rel=1e-14)


def test_same_metal_from_salt_and_from_oxide():
    """All aluminium of alum can be written as oxide: both ways give one strength."""
    oxide = molar_mass("Al2O3") / molar_mass("Al2(SO4)3.14H2O")
    by_salt = eq.metal_fraction_from_salt(1.0, "Al2(SO4)3.14H2O", "Al")
    assert eq.metal_fraction_from_oxide(oxide) == pytest.approx(by_salt, rel=1e-14)
    assert oxide == pytest.approx(0.1715, abs=1e-4)  # 17.15 % Al2O3 in dry alum


def test_nothing_in_nothing_out():
    assert (
        eq.metal_mass(0.0, "Al") == eq.mass_load(0.0, 5.0) == eq.product_load(0.0, 5.0, 0.1) == 0.0
    )


def test_a_metal_that_is_not_in_the_formula_is_refused():
    with pytest.raises(KeyError):
        eq.metal_fraction_from_salt(0.4, "FeCl3", "Al")


@given(amounts, st.floats(0.0, 1.0))
def test_oxygen_follows_the_iron_that_is_oxidised(iron, conversion):
    """Four irons to one O2: 0.143 mg per mg Fe, and none for what stays ferrous."""
    found = eq.oxygen_for_metal(iron, 0.25, conversion)
    oxidised = eq.metal_mass(iron * conversion, "Fe")
    assert found == pytest.approx(0.14325 * oxidised, rel=1e-4, abs=1e-12)
    assert eq.oxygen_for_metal(iron, 0.0, conversion) == 0.0
