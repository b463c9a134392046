"""Lime: the balance of equivalents, the solids, and an equilibrium program run live."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from pcompare import tables
from pcompare.equations import acid_base
from pcompare.equations import lime as eq
from pcompare.equations import lime_solids as solids
from pcompare.equations.alkalinity import alkalinity_of_strong_ions
from pcompare.tables import molar_mass
from tests.test_acid_base import DATABASE

HALF = molar_mass("CaCO3") / 2.0  # mg CaCO3 per meq
NOTHING = dict.fromkeys(
    ("sodium", "potassium", "calcium", "magnesium", "ammonium", "chloride", "sulfate", "nitrate",
     "phosphate"), 0.0,
)  # fmt: skip
FACTORS = (0.7, 0.85, 1.15, 1.325, 1.5)
RESIDUALS = (1.5, 0.8, 0.4, 0.15, 0.05)
amounts = st.floats(0.0, 500.0)


def table(prefix):
    """Give the rows of a table against pH, in order of pH."""
    rows = [r for r in tables.read("lime") if r.text("name").startswith(prefix)]
    place = [float(r.text("name").removeprefix(prefix).replace("_", ".")) for r in rows]
    return place, rows


# ------------------------------------------------ an equilibrium program

PHASES = """
PHASES
Calcite
    CaCO3 = CO3-2 + Ca+2
    -log_k -8.48
Brucite
    Mg(OH)2 + 2H+ = Mg+2 + 2H2O
    -log_k 16.84
Apatite
    Ca5(PO4)3OH + H+ = 5Ca+2 + 3PO4-3 + H2O
    -log_k -44.2
END
"""
PUNCHED = {
    "ph": '-LA("H+")', "ionic_strength": "MU", "calcite": '1e3*EQUI("Calcite")',
    "brucite": '1e3*EQUI("Brucite")', "apatite": '1e3*EQUI("Apatite")',
    "carbon": '1e3*TOT("C")', "hydroxide": '1e3*MOL("OH-")', "magnesium": '1e3*TOT("Mg")',
    "bicarbonate": '1e3*MOL("HCO3-")', "carbonate": '1e3*MOL("CO3-2")',
}  # fmt: skip
DOSES = np.arange(0.3, 1.9, 0.05)  # mg Ca(OH)2 per mg CaCO3 of alkalinity


@functools.cache
def limed(alkalinity):
    """Add lime in steps to a sewage of this alkalinity [mg CaCO3/L], to equilibrium."""
    from phreeqpython import PhreeqPython

    engine = PhreeqPython().ip
    engine.load_database_string(DATABASE.removesuffix("END\n") + PHASES)
    water = {"Na": 4.0, "S": 0.5, "P": 0.2}
    # Hardness goes with alkalinity: 27-108 mg/L of calcium, 7-29 mg/L of magnesium.
    water["Ca"], water["Mg"] = 0.00675 * alkalinity, 0.003 * alkalinity
    strong = water["Na"] + 2.0 * (water["Ca"] + water["Mg"] - water["S"]) - water["P"]
    # Weights are spelled out: what is remembered must not depend on a table changed by a test.
    water["Cl"] = strong - alkalinity / 50.0435
    carbon = alkalinity / 50.0435 * 1.1  # about pH 7.3
    blocks = [
        "SELECTED_OUTPUT", "-reset false", "-high_precision true", "USER_PUNCH",
        "-headings " + " ".join(PUNCHED), "-start", f"10 PUNCH {', '.join(PUNCHED.values())}",
        "-end",
    ]  # fmt: skip
    for factor in DOSES:
        dose = float(factor) * alkalinity / 74.092
        blocks += ["SOLUTION 1", "units mmol/kgw", "temp 20", "pH 7 charge"]
        blocks += [f"{name} {value!r}" for name, value in water.items()]
        blocks += [f"C {carbon!r}", "EQUILIBRIUM_PHASES 1", "Calcite 0 0", "Brucite 0 0",
                   "Apatite 0 0", "REACTION 1", "CaO 1 H2O 1", f"{dose!r} mmol", "END"]  # fmt: skip
    engine.run_string("\n".join(map(str, blocks)))
    header, *rows = engine.get_selected_output_array()
    assert header == list(PUNCHED)
    # Each solution is punched before and after its reaction: keep the second.
    found = np.array(rows[1::2], dtype=float).T
    assert len(found[0]) == len(DOSES)
    return water, carbon, dict(zip(header, found, strict=True))


def test_balance_agrees_with_an_equilibrium_program():
    """The dose comes back from what precipitates and what stays; 0.1 mg/L is its rounding."""
    for alkalinity in (100.0, 250.0, 400.0):
        water, carbon, found = limed(alkalinity)
        place = (found["ph"], found["ionic_strength"], 20.0)
        phosphorus = 3.0 * found["apatite"] * molar_mass("P")
        made = solids.calcium_carbonate_solids(carbon, found["carbon"], 1e9)
        magnesium = solids.magnesium_hydroxide_solids(
            water["Mg"] * molar_mass("Mg"), found["magnesium"] * molar_mass("Mg")
        )
        np.testing.assert_allclose(made, found["calcite"] * molar_mass("CaCO3"), atol=0.1)
        np.testing.assert_allclose(magnesium, found["brucite"] * molar_mass("Mg(OH)2"), atol=0.1)
        hydroxide = eq.hydroxide_alkalinity(*place)
        np.testing.assert_allclose(hydroxide, found["hydroxide"] * HALF, rtol=1e-3)
        carbonate = (found["bicarbonate"] + 2.0 * found["carbonate"]) * HALF
        held = eq.inorganic_carbon_from_alkalinity(carbonate, *place)
        np.testing.assert_allclose(held, found["carbon"], rtol=1e-3)
        dose = eq.lime_dose_by_stoichiometry(
            alkalinity, hydroxide + carbonate, made, magnesium, phosphorus
        )
        expected = DOSES * alkalinity
        np.testing.assert_allclose(dose, expected, rtol=2e-3, atol=0.3)
        change = eq.alkalinity_from_lime(expected, made, magnesium, phosphorus)
        np.testing.assert_allclose(change, hydroxide + carbonate - alkalinity, atol=0.6)


@pytest.mark.parametrize("alkalinity", [100.0, 150.0, 250.0, 400.0])
def test_dose_table_agrees_with_an_equilibrium_program(alkalinity):
    """Each dose stands within 0.15 of its column's range, which was made with other waters."""
    _, _, found = limed(alkalinity)
    places, rows = table("lime_per_alkalinity_")
    for place, row in zip(places, rows, strict=True):
        factor = np.interp(place, found["ph"], DOSES)
        assert row.number("low") - 0.15 <= factor <= row.number("high") + 0.15, (place, factor)


# ------------------------------------------------ tables against pH


def test_columns_are_those_of_the_table():
    assert tuple(table("lime_per_alkalinity_")[0]) == eq.DOSE_PH
    assert tuple(table("lime_residual_")[0]) == eq.RESIDUAL_PH
    shipped = [row.number("value") for row in table("lime_per_alkalinity_")[1]]
    assert shipped == sorted(shipped), "more pH takes more lime"
    left = [row.number("value") for row in table("lime_residual_")[1]]
    assert left == sorted(left, reverse=True), "more pH leaves less phosphorus"


@given(st.floats(7.0, 13.0))
def test_interpolation_agrees_with_numpy(ph):
    factor = eq.lime_per_alkalinity(ph, *FACTORS)
    assert factor == pytest.approx(np.interp(ph, eq.DOSE_PH, FACTORS), rel=1e-12)
    residual = eq.lime_residual_phosphorus(ph, *RESIDUALS)
    assert residual == pytest.approx(np.interp(ph, eq.RESIDUAL_PH, RESIDUALS), rel=1e-12)


# ------------------------------------------------ balances


@given(amounts, st.floats(0.0, 400.0), st.floats(0.0, 60.0), st.floats(0.0, 20.0))
def test_alkalinity_agrees_with_the_ions(dose, carbonate, hydroxide, phosphorus):
    """Strong ions: calcium of lime less that of the solids, magnesium and phosphate removed."""
    calcium = (
        dose * molar_mass("Ca") / molar_mass("Ca(OH)2")
        - carbonate * molar_mass("Ca") / molar_mass("CaCO3")
        - solids.calcium_in_apatite(phosphorus)
    )
    magnesium = -hydroxide * molar_mass("Mg") / molar_mass("Mg(OH)2")
    by_ions = alkalinity_of_strong_ions(
        **{**NOTHING, "calcium": calcium, "magnesium": magnesium, "phosphate": -phosphorus}
    )
    found = eq.alkalinity_from_lime(dose, carbonate, hydroxide, phosphorus)
    assert found == pytest.approx(by_ions, rel=1e-11, abs=1e-9)


@given(amounts, amounts, st.floats(0.0, 400.0), st.floats(0.0, 60.0), st.floats(0.0, 20.0))
def test_dose_by_stoichiometry_is_the_inverse(alkalinity, left, carbonate, hydroxide, phosphorus):
    made = (carbonate, hydroxide, phosphorus)
    dose = eq.lime_dose_by_stoichiometry(alkalinity, left, *made)
    change = eq.alkalinity_from_lime(dose, *made)
    assert change == pytest.approx(left - alkalinity, rel=1e-11, abs=1e-9)


@given(st.floats(0.0, 20.0))
def test_apatite_holds_its_calcium_and_phosphorus(phosphorus):
    rest = phosphorus / molar_mass("P") / 3.0 * (3.0 * 4.0 * molar_mass("O") + molar_mass("OH"))
    weight = phosphorus + solids.calcium_in_apatite(phosphorus) + rest
    assert solids.apatite_solids(phosphorus) == pytest.approx(weight, rel=1e-12, abs=1e-12)


@given(st.floats(0.0, 10.0), st.floats(0.0, 10.0), st.floats(-50.0, 400.0))
def test_calcium_carbonate_takes_no_more_than_there_is(carbon, left, calcium):
    made = solids.calcium_carbonate_solids(carbon, left, calcium)
    moles = made / molar_mass("CaCO3")
    assert 0.0 <= moles <= max(carbon - left, 0.0) * (1.0 + 1e-12)
    assert moles * molar_mass("Ca") <= max(calcium, 0.0) * (1.0 + 1e-12)


@given(st.floats(8.0, 12.0), st.floats(0.0, 25.0), st.floats(0.0, 50.0))
def test_magnesium_falls_with_ph_and_never_grows(ph, temperature, magnesium):
    product = tables.coefficients()["magnesium_hydroxide_solubility_product"].value
    left = solids.magnesium_left(ph, temperature, magnesium, product)
    assert 0.0 <= left <= magnesium
    assert solids.magnesium_left(ph + 0.3, temperature, magnesium, product) <= left
    assert solids.magnesium_hydroxide_solids(magnesium, left) >= 0.0


def test_nothing_in_nothing_out():
    assert eq.alkalinity_from_lime(0.0, 0.0, 0.0, 0.0) == 0.0
    assert eq.lime_dose_by_stoichiometry(250.0, 250.0, 0.0, 0.0, 0.0) == 0.0
    assert eq.lime_dose(0.0, 1.2) == eq.quicklime_dose(0.0) == eq.recarbonation_dioxide(0, 0) == 0.0
    assert solids.apatite_solids(0.0) == solids.hardness(0.0, 0.0) == 0.0


@given(amounts, amounts)
def test_recarbonation_leaves_bicarbonate(hydroxide, carbonate):
    """A single stage: hydroxide passes through carbonate, so that carbon equals alkalinity."""
    dioxide = eq.recarbonation_dioxide(hydroxide, hydroxide + carbonate) / molar_mass("CO2")
    carbon = carbonate / HALF / 2.0 + dioxide
    assert carbon == pytest.approx((hydroxide + carbonate) / HALF, rel=1e-12, abs=1e-12)


def test_lime_sludge_is_many_times_that_of_a_metal_salt():
    """An alkalinity of 250 mg/L to pH 11 makes about 610 mg/L, 1.75-2.1 mg per mg of lime."""
    dose = eq.lime_dose(250.0, 1.256)
    before = eq.inorganic_carbon_from_alkalinity(250.0, 7.3, 0.01, 20.0)
    after = eq.inorganic_carbon_from_alkalinity(20.0, 11.0, 0.01, 20.0)
    made = (
        solids.calcium_carbonate_solids(before, after, 60.0 + 0.54 * dose)
        + solids.magnesium_hydroxide_solids(20.0, solids.magnesium_left(11.0, 20.0, 20.0, 8.9e-12))
        + solids.apatite_solids(6.0)
    )
    assert 1.75 <= made / dose <= 2.1


def test_lime_agrees_with_molmass():
    """No arguments: run again with every changed atomic weight."""
    lime, quick = Formula("Ca(OH)2").mass, Formula("CaO").mass
    calcite, apatite = Formula("CaCO3").mass, Formula("Ca5(PO4)3OH").mass
    calcium, magnesium = Formula("Ca").mass, Formula("Mg").mass
    phosphorus, dioxide = Formula("P").mass, Formula("CO2").mass
    for found, expected in (
        (eq.quicklime_dose(1.0), quick / lime),
        (eq.recarbonation_dioxide(1.0, 0.0), dioxide / calcite),
        (eq.alkalinity_from_lime(1.0, 0.0, 0.0, 0.0), calcite / lime),
        (eq.lime_dose_by_stoichiometry(0.0, 1.0, 0.0, 0.0, 0.0), lime / calcite),
        (solids.apatite_solids(1.0), apatite / (3.0 * phosphorus)),
        (solids.calcium_in_apatite(1.0), 5.0 * calcium / (3.0 * phosphorus)),
        (solids.calcium_carbonate_solids(1.0, 0.0, 1e9), calcite),
        (solids.magnesium_hydroxide_solids(1.0, 0.0), Formula("Mg(OH)2").mass / magnesium),
        (solids.hardness(1.0, 1.0), calcite * (1.0 / calcium + 1.0 / magnesium)),
    ):
        assert found == pytest.approx(expected, rel=2e-4)


def test_magnesium_left_is_the_solubility_product():
    """Mg (OH)2 in mol/L, at pH 11 and 25 degC where OH is a millimole."""
    hydroxide = acid_base.acid_constants(25.0).k_water * 1e11
    left = solids.magnesium_left(11.0, 25.0, 500.0, 8.9e-12)
    moles = left / molar_mass("Mg") / 1000.0
    assert moles * hydroxide**2 / 8.9e-12 == pytest.approx(1.0, rel=1e-9)


def test_residuals_stand_at_their_own_ph():
    table = (1.5, 0.8, 0.4, 0.15, 0.05)
    for ph, expected in zip((9.0, 9.5, 10.0, 10.5, 11.0), table, strict=True):
        assert eq.lime_residual_phosphorus(ph, *table) == pytest.approx(expected, rel=1e-12)
    assert eq.lime_residual_phosphorus(9.25, *table) == pytest.approx(1.15, rel=1e-12)
    assert eq.lime_residual_phosphorus(8.0, *table) == 1.5
    assert eq.lime_residual_phosphorus(12.0, *table) == pytest.approx(0.05, rel=1e-12)


def test_magnesium_that_stays_makes_no_solids():
    assert solids.magnesium_hydroxide_solids(10.0, 12.0) == 0.0
    assert solids.magnesium_hydroxide_solids(10.0, 10.0) == 0.0
