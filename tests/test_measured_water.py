"""Inorganic carbon from measured pH, and an acid dose against the full database with ion pairs.

Ion pairs (CaHCO3+, MgSO4, CaHPO4, ...) are what this package leaves out. Taken from a measured
pH and alkalinity through an acid dose the errors nearly cancel, because the same pairs stand on
both sides; what is left is told here with its size, not hidden.
"""

from __future__ import annotations

import numpy as np
import pytest

from pcompare.equations import acid_base, measured_water
from pcompare.equations.measured_water import inorganic_carbon_from_ph
from pcompare.tables import molar_mass

HALF = molar_mass("CaCO3") / 2.0  # mg CaCO3 per meq
COUNT = 220
AMMONIUM = """
SOLUTION_MASTER_SPECIES
Amm AmmH+ 0 AmmH 17.031
SOLUTION_SPECIES
AmmH+ = AmmH+
    -gamma 2.5 0
AmmH+ = Amm + H+
    -analytic 0.6322 -0.001225 -2835.76
END
"""


def waters():
    """Random waters in mmol/kgw, as a plant's liquor may be, each with an acid dose."""
    random = np.random.default_rng(20260331)

    def draw(low, high):
        return np.round(random.uniform(low, high, COUNT), 4)

    found = {
        "Ca": draw(0.3, 2.5), "Mg": draw(0.1, 1.2), "K": draw(0.1, 0.7),
        "S(6)": draw(0.1, 1.5), "P": draw(0.005, 0.3), "Amm": draw(0.02, 2.5),
        "temp": draw(6.0, 28.0), "pH": draw(6.7, 7.9), "alkalinity": draw(1.2, 6.0),
    }  # fmt: skip
    # Sodium enough that chloride, which closes the charge, stays well above nothing.
    anions = draw(0.5, 6.0) + found["alkalinity"] + 2.0 * found["S(6)"] + 2.0 * found["P"]
    cations = 2.0 * (found["Ca"] + found["Mg"]) + found["K"] + found["Amm"]
    found["Na"] = np.round(np.maximum(anions - cations, 0.5), 4)
    # The acid of a metal salt, three equivalents per metal, up to two thirds of the alkalinity.
    found["acid"] = np.round(found["alkalinity"] * random.uniform(0.05, 0.65, COUNT), 4)
    return found


def with_ion_pairs(water):
    """PH after the dose by the database phreeqc.dat, chloride closing the charge."""
    from phreeqpython import PhreeqPython

    engine = PhreeqPython(database="phreeqc.dat").ip
    engine.run_string(AMMONIUM)
    blocks = ["SELECTED_OUTPUT", "-reset false", "-high_precision true", "USER_PUNCH",
              "-headings ph cl", "-start", '10 PUNCH -LA("H+"), 1e3*TOT("Cl")', "-end"]  # fmt: skip
    columns = {name: column.tolist() for name, column in water.items()}
    for i in range(COUNT):
        blocks += [f"SOLUTION {i + 1}", "units mmol/kgw", f"temp {columns['temp'][i]!r}",
                   f"pH {columns['pH'][i]!r}", f"Alkalinity {columns['alkalinity'][i]!r}",
                   "Cl 1 charge"]  # fmt: skip
        blocks += [f"{n} {columns[n][i]!r}" for n in ("Ca", "Mg", "Na", "K", "S(6)", "P", "Amm")]
        blocks += ["END", f"USE solution {i + 1}", "REACTION 1", "HCl 1",
                   f"{columns['acid'][i]!r} mmol", "END"]  # fmt: skip
    engine.run_string("\n".join(blocks))
    _, *rows = engine.get_selected_output_array()
    table = np.array(rows, dtype=float)
    return table[1::2, 0], table[0::2, 1]  # after the dose; chloride of the start


@pytest.fixture(scope="module")
def compared():
    water = waters()
    expected, chloride = with_ion_pairs(water)
    strength = acid_base.strong_ion_strength(
        water["Na"] * molar_mass("Na"), water["K"] * molar_mass("K"),
        water["Ca"] * molar_mass("Ca"), water["Mg"] * molar_mass("Mg"),
        chloride * molar_mass("Cl"), water["S(6)"] * molar_mass("SO4"), 0.0,
    )  # fmt: skip
    phosphate, ammonia = water["P"] * molar_mass("P"), water["Amm"] * molar_mass("N")
    carbon = inorganic_carbon_from_ph(
        water["pH"], water["alkalinity"] * HALF, phosphate, ammonia, strength, water["temp"]
    )
    after = acid_base.ph_closed(
        (water["alkalinity"] - water["acid"]) * HALF, carbon.inorganic_carbon, phosphate,
        ammonia, strength + 0.5 * water["acid"], water["temp"],
    )  # fmt: skip
    return water, carbon, np.asarray(after.ph), expected


def test_acid_dose_agrees_with_the_database_that_has_ion_pairs(compared):
    """PHREEQC 3, phreeqc.dat, live: p99 below 0.02 and all below 0.05 in pH."""
    _, _, found, expected = compared
    error = np.abs(found - expected)
    assert np.quantile(error, 0.99) < 0.02, np.quantile(error, [0.5, 0.99, 1.0])
    assert error.max() < 0.05


def test_the_dose_moved_the_ph(compared):
    """The check above cannot pass by standing still."""
    water, _, found, _ = compared
    assert (water["pH"] - found > 0.05).all()
    assert (water["pH"] - found).max() > 0.8


def test_measured_ph_comes_back_from_the_carbon(compared):
    water, carbon, _, _ = compared
    strength = carbon.ionic_strength  # only to have the shape
    again = acid_base.ph_closed(
        water["alkalinity"] * HALF, carbon.inorganic_carbon, water["P"] * molar_mass("P"),
        water["Amm"] * molar_mass("N"), 5.0 + 0.0 * strength, water["temp"],
    )  # fmt: skip
    back = inorganic_carbon_from_ph(
        again.ph, water["alkalinity"] * HALF, water["P"] * molar_mass("P"),
        water["Amm"] * molar_mass("N"), 5.0 + 0.0 * strength, water["temp"],
    )  # fmt: skip
    np.testing.assert_allclose(back.inorganic_carbon, carbon.inorganic_carbon, rtol=1e-9)


def test_more_alkalinity_at_one_ph_is_more_carbon():
    low = inorganic_carbon_from_ph(7.2, 100.0, 3.0, 1.0, 5.0, 15.0).inorganic_carbon
    high = inorganic_carbon_from_ph(7.2, 200.0, 3.0, 1.0, 5.0, 15.0).inorganic_carbon
    assert high > 1.8 * low


def test_the_residual_tells_how_far_carbon_and_strength_are_from_settled():
    water = (7.2, 150.0, 3.0, 20.0, 5.0, 15.0)
    found = inorganic_carbon_from_ph(*water)
    carbon, strength = float(found.inorganic_carbon), float(found.ionic_strength)
    assert measured_water._residual(carbon, strength, *water) == pytest.approx(
        (0.0, 0.0), abs=1e-12
    )
    off, _ = measured_water._residual(carbon + 0.5, strength, *water)
    assert off == pytest.approx(-0.5, abs=1e-9)
    _, off = measured_water._residual(carbon, strength * 1.1, *water)
    assert off == pytest.approx(-0.1 * strength, rel=0.05)  # ionic strength hardly feeds back
