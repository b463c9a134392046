"""What salt does to those who use the water: printed tables of irrigation, and limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from pcompare.arrays import as_cases
from pcompare.equations import water_use

# Irrigation guideline (FAO29), Table 1: bands of the ratio; no restriction from, severe below.
BANDS = {
    (0.0, 2.99): (700.0, 200.0), (3.0, 5.99): (1200.0, 300.0), (6.0, 11.99): (1900.0, 500.0),
    (12.0, 19.99): (2900.0, 1300.0), (20.0, 39.99): (5000.0, 2900.0),
    (40.0, 80.0): (5000.0, 2900.0),
}  # fmt: skip


@pytest.mark.parametrize(("band", "bounds"), BANDS.items())
def test_bounds_of_infiltration_are_those_of_the_printed_band(band, bounds):
    found = water_use.infiltration_bounds(as_cases(band))
    np.testing.assert_array_equal(found.none, [[bounds[0]] * 2])
    np.testing.assert_array_equal(found.severe, [[bounds[1]] * 2])


@pytest.mark.parametrize(
    ("ion", "charge"), [("Na", 1), ("Cl", 1), ("HCO3", 1), ("SO4", 2), ("Ca", 2), ("Mg", 2)]
)
def test_a_milliequivalent_weighs_the_mass_over_the_charge(ion, charge):
    found = water_use.mass_from_equivalents(3.0, ion)
    assert found == pytest.approx(3.0 * Formula(ion).mass / charge, rel=2e-4)


@given(st.floats(100.0, 5000.0), st.floats(0.5, 12.0))
def test_leaching_leaves_the_soil_at_its_limit(conductivity, soil):
    """LR = ECw/(5 ECe - ECw), FAO29 equation 9; what asks for more than all water is all of it."""
    water = conductivity / 1000.0
    found = water_use.leaching_requirement(conductivity, soil)
    if 5.0 * soil > 2.0 * water:
        assert found * (5.0 * soil - water) == pytest.approx(water, rel=1e-12)
        assert found < 1.0
    else:
        assert found == 1.0


def test_a_crop_loses_nothing_below_its_threshold_and_no_more_than_all():
    """Maize: 1.7 dS/m and 12 % for each more (FAO29, Table 4, rounded yields 100, 90, 50, 0)."""
    for salinity, left, room in ((1.0, 100.0, 0.0), (1.7, 100.0, 0.0), (2.5, 90.0, 0.5),
                                 (5.9, 50.0, 0.5), (10.0, 0.0, 0.5), (30.0, 0.0, 0.0)):  # fmt: skip
        assert water_use.crop_yield(salinity, 1.7, 12.0) == pytest.approx(left, abs=room)


def test_bicarbonate_holds_as_many_equivalents_as_the_alkalinity():
    half = Formula("CaCO3").mass / 2.0
    found = water_use.bicarbonate_from_alkalinity(half)
    assert found == pytest.approx(Formula("HCO3").mass, rel=2e-4)


def test_a_tower_cannot_concentrate_what_is_not_there():
    assert np.isnan(water_use.concentration_cycles(1500.0, 0.0))
