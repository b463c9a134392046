"""Where an equation changes units on the way: by exactly a thousand, or the hours of a day.

One of everything goes in, and a thousand cubic metres a day, so that 1 mg/L is 1 kg/d. A printed
example, rounded to three figures, would not see 999 in place of 1000.
"""

from __future__ import annotations

import pytest

from pcompare.equations import (
    aeration,
    fermentation,
    growth,
    layouts,
    nitrogen,
    reuse_forms,
    sludge,
    storage,
)

FLOW = 1000.0  # m3/d: 1 mg/L is 1 kg/d
# Worked out when the test runs, not when it is read.
EXACT = {
    "inert COD of a day into sludge": lambda: growth.inert_mass(FLOW, 1.0, 1.0, 1.0),
    "nitrogen of sludge wasted, per litre": lambda: growth.nitrogen_into_sludge(
        1.0, 1.0, 1.0, FLOW
    ),
    "hours in a tank of a day's flow": lambda: growth.retention_time(FLOW, FLOW) / 24.0,
    "nitrate that sludge takes up, per litre": lambda: layouts.endogenous_denitrification(
        1.0, 1.0, 1.0, FLOW
    ),
    "oxygen for ammonia": lambda: (
        nitrogen.nitrification_oxygen(1.0, FLOW) / nitrogen.oxygen_per_ammonia()
    ),
    "oxygen back from nitrate": lambda: (
        nitrogen.denitrification_oxygen_credit(1.0, FLOW) / nitrogen.oxygen_per_nitrate()
    ),
    "salt into a reservoir": lambda: reuse_forms.reservoir_concentration(FLOW, 0.0, 1.0, 0.0),
    "cake of a tonne of dry solids": lambda: sludge.wet_cake(1000.0, 1.0),
    "mixed liquor": lambda: sludge.mixed_liquor(1.0, 1000.0),
    "load of a clarifier of 1 m2 in an hour": lambda: sludge.clarifier_loading(
        FLOW, 0.0, 24.0, 1.0
    ),
    "polymer for a tonne": lambda: sludge.polymer_use(1000.0, 1.0),
    "kilowatt-hours of a watt per cubic metre": lambda: aeration.mixing_energy(1000.0, 1.0) / 24.0,
    "phosphorus of organisms wasted, per litre": lambda: storage.phosphorus_into_mass(
        1.0, 1.0, 1.0, FLOW
    ),
    "content that a removal asks for": lambda: storage.content_for_removal(
        1.0, 0.0, 1.0, 1.0, FLOW
    ),
    "release, per litre": lambda: storage.phosphorus_release(1.0, 1.0, FLOW),
    "acids stored": lambda: storage.cod_stored(FLOW, 0.0, 0.0, 0.0, 1.0),
    "ash of a day's sewage": lambda: storage.ash_mass(FLOW, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0),
    "return sludge into a side stream": lambda: fermentation.side_stream_solids(
        1.0, 0.0, 1.0, FLOW
    ),
}


@pytest.mark.parametrize("name", EXACT)
def test_units_change_by_exactly_what_they_are(name):
    assert float(EXACT[name]()) == pytest.approx(1.0, rel=1e-12)


def test_fermentation_in_one_stage_is_half_where_its_rate_meets_the_flow():
    """A stage of a kilogram in 1000 m3/d at 1 L/(mg d): half of what enters leaves."""
    left = storage.fermentables_leaving(2.0, 0.0, 1.0, 1.0, 1.0, 1.0, FLOW)
    assert float(left) == pytest.approx(1.0, rel=1e-12)


def test_methane_of_a_kilogram_of_cod_is_350_litres():
    """Two moles of oxygen burn one of methane, 22.414 L at 0 degC and one atmosphere."""
    expected = 1000.0 / (4.0 * 15.999) * 22.414e-3
    assert float(fermentation.methane_from_cod(1.0)) == pytest.approx(expected, rel=1e-4)
