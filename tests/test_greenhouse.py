"""Greenhouse gas: formulas against molmass, sense checks, zeros and proportion."""

from __future__ import annotations

import inspect

import molmass
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import tables
from pcompare.equations import greenhouse

AMOUNTS = st.floats(0.0, 1e6)
YEARLY = 1000.0 / 365.0  # kg/d that make one tonne in a year


def test_fossil_carbon_agrees_with_molmass():
    """Mass of carbon dioxide per mass of compound, by another program's atomic weights."""
    dioxide = molmass.Formula("CO2").mass
    for compound in ("C2H4O2", "C3H6O2", "CH4O", "C2H6O", "C3H8O3", "C6H12O6"):
        formula = molmass.Formula(compound)
        carbons = formula.composition()["C"].count
        expected = carbons * dioxide / formula.mass
        computed = greenhouse.fossil_carbon_emission(YEARLY, compound)
        assert computed == pytest.approx(expected, rel=2e-4)  # abridged weights


def test_nitrous_oxide_agrees_with_molmass():
    """Mass of nitrous oxide per mass of its nitrogen, by another program's atomic weights."""
    expected = molmass.Formula("N2O").mass / molmass.Formula("N2").mass
    assert greenhouse.nitrous_oxide_emission(YEARLY, 1.0, 1.0) == pytest.approx(expected, rel=1e-4)


def test_a_compound_without_carbon_sets_none_free():
    assert greenhouse.fossil_carbon_emission(1000.0, "NaOH") == 0.0


def test_glycerol_and_lime_by_hand():
    """3 x 44.009/92.094 for glycerol; 44.009/56.077 for the calcination of lime, as a ratio."""
    glycerol = greenhouse.fossil_carbon_emission(YEARLY, "C3H8O3")
    assert glycerol == pytest.approx(3 * 44.009 / 92.094, abs=5e-5)
    lime = tables.molar_mass("CO2") / tables.molar_mass("CaO")
    assert lime == pytest.approx(0.78480, abs=5e-6)


def test_alum_for_a_small_plant():
    """3785.41 m3/d, 4 mg P/L at two mol per mol: 37.8, between 4.6 and 155.6 t CO2e/y."""
    factor = tables.coefficients()["emission_per_metal"]
    dose = 2.0 * 4.0 / tables.molar_mass("P")
    low, middle, high = (
        greenhouse.coagulant_emission(dose, 3785.41, value)
        for value in (factor.low, factor.value, factor.high)
    )
    assert low == pytest.approx(4.6, abs=0.05)
    assert middle == pytest.approx(37.8, abs=0.05)
    assert high == pytest.approx(155.6, abs=0.05)


def test_process_nitrous_oxide_dwarfs_the_coagulant():
    """35 mg N/L in the same plant: 332 t CO2e/y."""
    load = 35.0 * 3785.41 / 1000.0
    coefficients = tables.coefficients()
    emission = greenhouse.nitrous_oxide_emission(
        load, coefficients["nitrous_oxide_fraction"].value, coefficients["gwp_nitrous_oxide"].value
    )
    assert emission == pytest.approx(332.0, abs=0.5)


@pytest.mark.parametrize(
    "name",
    [
        "coagulant_emission",
        "mass_emission",
        "energy_emission",
        "haulage_emission",
        "nitrous_oxide_emission",
    ],
)
@given(amount=AMOUNTS, factor=st.floats(0.001, 500.0))
def test_emissions_are_proportional_and_zero_for_nothing(name, amount, factor):
    """A product of its arguments: nothing used is nothing emitted, twice used is twice."""
    function = getattr(greenhouse, name)
    others = [factor] * (len(inspect.signature(function).parameters) - 1)
    assert function(0.0, *others) == 0.0
    assert function(2.0 * amount, *others) == pytest.approx(2.0 * function(amount, *others))


def test_calcination_agrees_with_molmass():
    """One mole of carbon dioxide for each of calcium, by another program's atomic weights."""
    dioxide = molmass.Formula("CO2").mass
    for formula in ("CaO", "Ca(OH)2"):
        expected = dioxide / molmass.Formula(formula).mass
        assert greenhouse.calcination_emission(YEARLY, formula) == pytest.approx(expected, rel=2e-4)
    assert greenhouse.calcination_emission(YEARLY, "NaOH") == 0.0
