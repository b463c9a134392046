"""The alkalinity ledger: signs, and the strong-ion identity for every chemical."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from pcompare.equations import alkalinity as eq
from pcompare.equations import ions
from pcompare.tables import molar_mass

HALF = molar_mass("CaCO3") / 2.0  # mg CaCO3 per meq
NAMES = ("sodium", "potassium", "calcium", "magnesium", "ammonium", "chloride", "sulfate",
         "nitrate", "phosphate")  # fmt: skip
NOTHING = dict.fromkeys(NAMES, 0.0)
# Chloride, sulfate and sodium per metal, and equivalents per metal.
PRODUCTS = {
    "alum": (0.0, 1.5, 0.0, 3.0),
    "ferric chloride": (3.0, 0.0, 0.0, 3.0),
    "ferric sulfate": (0.0, 1.5, 0.0, 3.0),
    "ferric chloride sulfate": (1.0, 1.0, 0.0, 3.0),
    "ferrous chloride, oxidised": (2.0, 0.0, 0.0, 2.0),
    "ferrous sulfate, oxidised": (0.0, 1.0, 0.0, 2.0),
    "polyaluminium chloride, basicity 0.5": (1.5, 0.0, 0.0, 1.5),
    "polyaluminium chloride, basicity 0.7": (0.9, 0.0, 0.0, 0.9),
    "sodium aluminate, Na:Al 1.3": (0.0, 0.0, 1.3, -1.3),
}
doses = st.floats(0.0, 5.0)
amounts = st.floats(0.0, 50.0)


def change_of(**ions_added):
    """Change of alkalinity by electroneutrality alone."""
    return eq.alkalinity_of_strong_ions(**{**NOTHING, **ions_added})


def meets(found, expected):
    assert found == pytest.approx(expected, rel=1e-12, abs=1e-10)


@pytest.mark.parametrize("product", PRODUCTS)
@given(doses, amounts)
def test_metal_agrees_with_the_ions_it_adds(product, metal, precipitated):
    """Net strong-ion equivalents added = alkalinity lost + phosphorus removed."""
    chloride, sulfate, sodium, equivalents = PRODUCTS[product]
    by_ions = change_of(
        chloride=ions.ion_from_metal(metal, chloride, "Cl"),
        sulfate=ions.ion_from_metal(metal, sulfate, "SO4"),
        sodium=ions.ion_from_metal(metal, sodium, "Na"),
        phosphate=-precipitated,
    )
    meets(eq.alkalinity_from_metal(metal, precipitated, equivalents), by_ions)


@given(amounts)
def test_nitrogen_agrees_with_its_ions(nitrogen):
    nitrified = change_of(ammonium=-nitrogen, nitrate=nitrogen)
    meets(eq.alkalinity_from_nitrification(nitrogen), nitrified)
    meets(eq.alkalinity_from_denitrification(nitrogen), change_of(nitrate=-nitrogen))
    meets(eq.alkalinity_from_ammonification(nitrogen), change_of(ammonium=nitrogen))
    meets(eq.alkalinity_from_ammonification(-nitrogen), change_of(ammonium=-nitrogen))


@given(amounts, st.floats(0.0, 1.0))
def test_uptake_agrees_with_its_ions(removed, share):
    """A third of a mole of potassium and of magnesium goes along with each mole stored."""
    stored = removed * share
    by_ions = change_of(
        phosphate=-removed,
        potassium=-ions.ion_into_polyphosphate(stored, 1.0 / 3.0, "K"),
        magnesium=-ions.ion_into_polyphosphate(stored, 1.0 / 3.0, "Mg"),
    )
    meets(eq.alkalinity_from_phosphorus_uptake(removed, stored), by_ions)


@given(amounts)
def test_acetate_agrees_with_its_sodium(carbon):
    """Two moles of O2 oxidise one of acetate: C2H3O2- + H+ + 2 O2."""
    moles = carbon / (4.0 * molar_mass("O"))
    meets(eq.alkalinity_from_sodium_acetate(carbon), change_of(sodium=moles * molar_mass("Na")))


@pytest.mark.parametrize(
    ("base", "equivalents", "cation", "per_base"),
    [("NaOH", 1.0, "sodium", 1.0), ("Na2CO3", 2.0, "sodium", 2.0), ("NaHCO3", 1.0, "sodium", 1.0),
     ("Ca(OH)2", 2.0, "calcium", 1.0), ("CaO", 2.0, "calcium", 1.0),
     ("Mg(OH)2", 2.0, "magnesium", 1.0)],
)  # fmt: skip
@given(amounts)
def test_base_agrees_with_its_cation(base, equivalents, cation, per_base, dose):
    symbol = {"sodium": "Na", "calcium": "Ca", "magnesium": "Mg"}[cation]
    added = ions.ion_from_base(dose, base, per_base, symbol)
    gained = eq.alkalinity_from_base(dose, base, equivalents)
    meets(gained, change_of(**{cation: added}))
    meets(eq.base_dose(gained, base, equivalents), dose)


@given(doses, amounts)
def test_all_hydroxide_is_the_bound(metal, precipitated):
    """The credit for phosphate is all that lies between the two figures."""
    bound = eq.alkalinity_all_hydroxide(metal, 3.0)
    net = -eq.alkalinity_from_metal(metal, precipitated, 3.0)
    assert bound >= net
    meets(bound - net, HALF * precipitated / molar_mass("P"))


def test_signs():
    assert eq.alkalinity_from_nitrification(1.0) < 0.0 < eq.alkalinity_from_denitrification(1.0)
    assert eq.alkalinity_from_metal(1.0, 0.0, 3.0) < 0.0
    assert eq.alkalinity_from_metal(1.0, 0.0, -1.3) > 0.0, "aluminate is a base"
    assert eq.alkalinity_from_metal(1.0, 0.0, 0.0) == 0.0, "basicity one uses none"


def test_no_dose_no_change():
    assert eq.alkalinity_from_metal(0.0, 0.0, 3.0) == 0.0
    assert eq.alkalinity_of_strong_ions(**NOTHING) == 0.0


def test_factors_agree_with_molmass():
    half = Formula("CaCO3").mass / 2.0
    nitrogen, phosphorus = Formula("N").mass, Formula("P").mass
    for found, expected in (
        (eq.alkalinity_from_nitrification(1.0), -2.0 * half / nitrogen),
        (eq.alkalinity_from_denitrification(1.0), half / nitrogen),
        (eq.alkalinity_from_ammonification(1.0), half / nitrogen),
        (eq.alkalinity_from_phosphorus_uptake(1.0, 0.0), half / phosphorus),
        (eq.alkalinity_from_sodium_acetate(1.0), half / (2.0 * Formula("O2").mass)),
        (eq.alkalinity_from_metal(0.5, 1.0, 3.0), half * (1.0 / phosphorus - 1.5)),
        (eq.alkalinity_all_hydroxide(0.5, 3.0), half * 1.5),
        (eq.alkalinity_from_base(1.0, "NaOH", 1.0), half / Formula("NaOH").mass),
        (eq.base_dose(1.0, "Mg(OH)2", 2.0), Formula("Mg(OH)2").mass / 2.0 / half),
    ):
        assert found == pytest.approx(expected, rel=2e-4)


@given(st.floats(0.0, 1.0), st.floats(2.0, 4.0))
def test_conversion_spares_the_alkalinity_of_what_stays_ferrous(conversion, equivalents):
    """Nothing oxidised: only the free acid is used. All oxidised: nothing changes."""
    found = eq.equivalents_at_conversion(equivalents, conversion, 0.25)
    meets(found, equivalents - 2.0 * (1.0 - conversion))
    meets(eq.equivalents_at_conversion(equivalents, 1.0, 0.25), equivalents)
    meets(eq.equivalents_at_conversion(2.0, 0.0, 0.25), 0.0)
    meets(eq.equivalents_at_conversion(3.0, 0.0, 0.0), 0.0)


MILLIEQUIVALENT = {
    "alkalinity": ("CaCO3", 2, -1), "sodium": ("Na", 1, 1), "potassium": ("K", 1, 1),
    "calcium": ("Ca", 2, 1), "magnesium": ("Mg", 2, 1), "ammonium": ("N", 1, 1),
    "chloride": ("Cl", 1, -1), "sulfate": ("SO4", 2, -1), "nitrate": ("N", 1, -1),
    "phosphate": ("P", 1, -1),
}  # fmt: skip


@pytest.mark.parametrize("name", MILLIEQUIVALENT)
def test_an_analysis_counts_equivalents_of_every_ion(name):
    """One milliequivalent by molmass, alone and against as much of its counter-charge."""
    formula, charge, sign = MILLIEQUIVALENT[name]
    water = {**NOTHING, "alkalinity": 0.0, name: Formula(formula).mass / charge}
    found = eq.charge_error(**water)
    sums = (1.0, 0.0) if sign > 0 else (0.0, 1.0)
    assert (found.cations, found.anions) == pytest.approx(sums, rel=3e-4)
    assert found.share == sign
    counter = "chloride" if sign > 0 else "sodium"
    water[counter] = Formula("Cl" if sign > 0 else "Na").mass
    assert eq.charge_error(**water).share == pytest.approx(0.0, abs=3e-4)
    # Three of one to one of the other: half of the sum is missing.
    water[counter] *= 3.0
    assert eq.charge_error(**water).share == pytest.approx(-0.5 * sign, abs=3e-4)


def test_an_analysis_of_nothing_has_no_error():
    assert eq.charge_error(**NOTHING, alkalinity=0.0).share == 0.0
