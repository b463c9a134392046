"""Ions, dissolved solids, conductivity: against an equilibrium program and where known."""

from __future__ import annotations

import functools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from pcompare.equations import ions as eq
from pcompare.tables import molar_mass
from tests import test_acid_base

IONS = ("sodium", "potassium", "calcium", "magnesium", "ammonium", "chloride", "sulfate", "nitrate",
        "bicarbonate", "carbonate", "dihydrogen_phosphate", "hydrogen_phosphate")  # fmt: skip
NOTHING = dict.fromkeys(IONS, 0.0)
amounts = st.floats(0.0, 500.0)
waters = st.fixed_dictionaries({name: st.floats(0.0, 5.0) for name in IONS})
MASS = {"sodium": "Na", "potassium": "K", "calcium": "Ca", "magnesium": "Mg", "ammonium": "N",
        "chloride": "Cl", "sulfate": "SO4", "nitrate": "N"}  # fmt: skip


@functools.cache
def measured_by_program():
    """Give the open waters of the acid-base test at 25 degC, with the program's conductivity."""
    water, answer = test_acid_base.reference("open")
    warm = (water["temperature"] == 25.0) & (answer["ph"] > 6.5) & (answer["ph"] < 9.0)
    assert warm.sum() >= 5
    names = {"Na": "sodium", "K": "potassium", "Ca": "calcium", "Mg": "magnesium",
             "Cl": "chloride", "S": "sulfate", "Ntr": "nitrate"}  # fmt: skip
    ions = {new: water[old][warm] * molar_mass(MASS[new]) for old, new in names.items()}
    ions["ammonium"] = answer["ammonium"][warm] * molar_mass("N")
    for name in IONS[8:]:
        ions[name] = answer[name][warm]
    return ions, answer["ionic_strength"][warm], answer["conductivity"][warm]


def test_conductivity_agrees_with_an_equilibrium_program():
    """The program also counts hydrogen, hydroxide and phosphate ions: 0.2 % at most."""
    ions, strength, expected = measured_by_program()
    np.testing.assert_allclose(
        eq.conductivity(**ions, ionic_strength=strength), expected, rtol=2e-3
    )


def test_ion_masses_agree_with_molmass():
    def mass(formula):
        return Formula(formula).mass

    for found, expected in (
        (eq.ion_from_metal(1.0, 3.0, "Cl"), 3.0 * mass("Cl")),
        (eq.ion_from_metal(1.0, 1.5, "SO4"), 1.5 * mass("SO4")),
        (eq.ion_from_metal(1.0, 1.3, "Na"), 1.3 * mass("Na")),
        (eq.ion_from_base(1.0, "Na2CO3", 2.0, "Na"), 2.0 * mass("Na") / mass("Na2CO3")),
        (eq.ion_from_base(1.0, "Ca(OH)2", 1.0, "Ca"), mass("Ca") / mass("Ca(OH)2")),
        (eq.ion_from_base(1.0, "Mg(OH)2", 1.0, "Mg"), mass("Mg") / mass("Mg(OH)2")),
        (eq.ion_into_polyphosphate(1.0, 0.4, "K"), 0.4 * mass("K") / mass("P")),
        (eq.ion_into_polyphosphate(1.0, 0.3, "Mg"), 0.3 * mass("Mg") / mass("P")),
        (eq.ion_mass(2.0, "HCO3"), 2.0 * mass("HCO3")),
        (eq.other_ions(14.0, 0.0, 0.0, 0.0, 0.0), 14.0 * mass("NH4") / mass("N")),
        (eq.other_ions(0.0, 14.0, 0.0, 0.0, 0.0), 14.0 * mass("NO3") / mass("N")),
        (eq.other_ions(0.0, 0.0, 1.0, 2.0, 3.0),
         mass("CO3") + 2.0 * mass("H2PO4") + 3.0 * mass("HPO4")),
        (eq.sodium_adsorption_ratio(100.0, 50.0, 20.0),
         100.0 / mass("Na") / math.sqrt(50.0 / mass("Ca") + 20.0 / mass("Mg"))),
        (eq.larson_ratio(100.0, 50.0, 3.0, 0.1),
         (100.0 / mass("Cl") + 100.0 / mass("SO4")) / 3.2),
    ):  # fmt: skip
        assert float(found) == pytest.approx(expected, rel=2e-4)


def test_dissolved_solids_agree_with_molmass():
    one = {name: Formula(symbol).mass for name, symbol in MASS.items()}
    one |= dict.fromkeys(IONS[8:], 1.0)
    formulas = ("Na", "K", "Ca", "Mg", "NH4", "Cl", "SO4", "NO3", "CO3", "H2PO4", "HPO4")
    rest = sum(Formula(f).mass for f in formulas)
    whole, half = Formula("HCO3").mass, Formula("CO3").mass / 2.0
    assert eq.dissolved_solids_ion_sum(**one) == pytest.approx(rest + whole, rel=1e-4)
    assert eq.dissolved_solids_residue(**one) == pytest.approx(rest + half, rel=1e-4)


@given(waters)
def test_residue_is_less_by_the_carbon_dioxide_of_bicarbonate(water):
    """Two bicarbonates lose one carbon dioxide and one water on drying."""
    loss = water["bicarbonate"] * (molar_mass("CO2") + molar_mass("H2O")) / 2.0
    less = eq.dissolved_solids_ion_sum(**water) - eq.dissolved_solids_residue(**water)
    assert less == pytest.approx(loss, rel=1e-9, abs=1e-10)


@given(waters, waters)
def test_dissolved_solids_mix(one, other):
    """Dissolved solids of a sum of waters are the sum of theirs."""
    both = {name: one[name] + other[name] for name in IONS}
    parts = eq.dissolved_solids_ion_sum(**one) + eq.dissolved_solids_ion_sum(**other)
    assert eq.dissolved_solids_ion_sum(**both) == pytest.approx(parts, rel=1e-12, abs=1e-12)


@given(waters)
def test_the_ion_sum_has_no_part_left_out(water):
    """The six inert ions, bicarbonate and the others make up the ion sum."""
    six = sum(
        water[n] for n in ("sodium", "potassium", "calcium", "magnesium", "chloride", "sulfate")
    )
    rest = {n: water[n] for n in ("ammonium", "nitrate", "carbonate", *IONS[10:])}
    parts = six + eq.ion_mass(water["bicarbonate"], "HCO3") + eq.other_ions(**rest)
    assert eq.dissolved_solids_ion_sum(**water) == pytest.approx(parts, rel=1e-12, abs=1e-12)


def test_ferric_chloride_moves_dissolved_solids_as_known():
    """Per mg Fe while alkalinity lasts: -1.373 as ion sum, +0.293 as residue, +1.904 chloride."""
    dose = 1.0 / molar_mass("Fe")
    chloride = eq.ion_from_metal(dose, 3.0, "Cl")
    change = {**NOTHING, "chloride": chloride, "bicarbonate": -3.0 * dose}
    assert eq.dissolved_solids_ion_sum(**change) == pytest.approx(-1.3733, abs=2e-3)
    assert eq.dissolved_solids_residue(**change) == pytest.approx(0.2928, abs=2e-3)
    sodium = eq.ion_from_base(3.0 * dose * molar_mass("NaOH"), "NaOH", 1.0, "Na")
    made_good = {**change, "sodium": sodium, "bicarbonate": 0.0}
    assert eq.dissolved_solids_ion_sum(**made_good) == pytest.approx(3.1396, abs=1e-3)


def test_nothing_dissolved_conducts_nothing():
    assert eq.conductivity(**NOTHING, ionic_strength=0.0) == 0.0
    assert eq.dissolved_solids_ion_sum(**NOTHING) == eq.dissolved_solids_residue(**NOTHING) == 0.0


@given(waters, st.sampled_from(IONS), st.floats(1e-4, 0.1))
def test_every_ion_conducts_and_salt_damps(water, name, strength):
    more = {**water, name: water[name] + 1.0}
    base = eq.conductivity(**water, ionic_strength=strength)
    assert eq.conductivity(**more, ionic_strength=strength) > base
    assert eq.conductivity(**more, ionic_strength=0.0) > eq.conductivity(
        **more, ionic_strength=strength
    )


@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_ions_of_a_product_are_proportional_to_the_metal(metal, per_metal, factor):
    for ion in ("Cl", "SO4", "Na"):
        once = eq.ion_from_metal(metal, per_metal, ion)
        more = eq.ion_from_metal(factor * metal, per_metal, ion)
        assert more == pytest.approx(factor * once, rel=1e-12)


@given(st.floats(1.0, 500.0), st.floats(1.0, 300.0), st.floats(1.0, 100.0), st.floats(1.1, 5.0))
def test_sodium_adsorption_ratio_scales_with_the_root(sodium, calcium, magnesium, factor):
    """A water evaporated to a part of its volume gains in the ratio by the root."""
    once = eq.sodium_adsorption_ratio(sodium, calcium, magnesium)
    more = eq.sodium_adsorption_ratio(*(factor * ion for ion in (sodium, calcium, magnesium)))
    assert more == pytest.approx(once * math.sqrt(factor), rel=1e-12)


def test_ratio_without_a_denominator_is_not_a_number():
    assert math.isnan(eq.sodium_adsorption_ratio(10.0, 0.0, 0.0))
    assert math.isnan(eq.chloride_sulfate_ratio(10.0, 0.0))
    assert math.isnan(eq.larson_ratio(10.0, 5.0, 0.0, 0.0))


def test_chloride_salt_raises_and_sulfate_salt_lowers_the_ratio():
    base = eq.chloride_sulfate_ratio(106.4, 72.0)
    ferric = eq.chloride_sulfate_ratio(106.4 + eq.ion_from_metal(0.4, 3.0, "Cl"), 72.0)
    alum = eq.chloride_sulfate_ratio(106.4, 72.0 + eq.ion_from_metal(0.4, 1.5, "SO4"))
    assert alum < base < ferric


@given(st.floats(0.0, 5.0), st.floats(0.0, 1.0))
def test_metal_in_solution_is_what_is_not_converted(metal, conversion):
    left = eq.metal_in_solution(metal, conversion, "Fe") / molar_mass("Fe")
    assert left == pytest.approx(metal * (1.0 - conversion), rel=1e-12, abs=1e-15)
    assert eq.metal_in_solution(metal, 1.0, "Fe") == 0.0


def test_ionic_strength_is_half_the_sum_of_charge_squared():
    """A millimole per litre of sodium chloride is 0.001, of calcium sulfate 0.004 mol/L."""
    names = ("sodium", "potassium", "calcium", "magnesium", "ammonium", "chloride", "sulfate",
             "nitrate", "bicarbonate")  # fmt: skip
    for charge, ions in ((1, ("sodium", "chloride")), (1, ("potassium", "nitrate")),
                         (1, ("ammonium", "bicarbonate")), (2, ("calcium", "sulfate")),
                         (2, ("magnesium", "sulfate"))):  # fmt: skip
        water = dict.fromkeys(names, 0.0)
        water |= {n: 1.0 if n == "bicarbonate" else molar_mass(MASS[n]) for n in ions}
        assert eq.ionic_strength(**water) == pytest.approx(1e-3 * charge**2, rel=1e-12)
