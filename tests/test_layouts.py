"""Layouts: closed nitrate balances against flowsheets run to their end, and their table."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import catalogue, tables
from pcompare.equations import layouts, storage
from pcompare.equations import nitrogen as nit

NITRIFIED = st.floats(0.0, 60.0)
POTENTIAL = st.floats(0.0, 80.0)
RETURN = st.floats(0.3, 1.2)
RECYCLE = st.floats(0.0, 6.0)
LEAST = st.floats(0.0, 3.0)
ROUNDS = 4000  # of a flowsheet; slowest where the recycles are small against the plant flow
TABLE = {row.text("layout"): row for row in tables.read("layouts")}


def settled(step, *start):
    """Pass round a flowsheet until its nitrate no longer changes."""
    state = start
    for _ in range(ROUNDS):
        following = step(*state)
        if max(abs(a - b) for a, b in zip(state, following, strict=True)) < 1e-13:
            return following
        state = following
    return state


# ------------------------------------------------ closed balances against flowsheets


@given(NITRIFIED, POTENTIAL, RETURN, RECYCLE)
def test_anaerobic_zone_in_front(nitrified, potential, returned, recycle):
    """Return sludge loses its nitrate in the anaerobic zone; the anoxic zone takes the recycle."""
    through = 1.0 + returned + recycle

    def step(aerobic):
        entering = recycle * aerobic
        return ((entering - min(potential, entering) + nitrified) / through,)

    (aerobic,) = settled(step, nitrified)
    found = layouts.nitrate_behind_anoxic_zone(nitrified, potential, returned, recycle)
    assert found == pytest.approx(aerobic, abs=1e-9)


@given(NITRIFIED, POTENTIAL, st.floats(0.0, 10.0), LEAST, RETURN, RECYCLE)
def test_four_stages(nitrified, potential, removal, least, returned, recycle):
    through = 1.0 + returned + recycle

    def leaving(aerobic):
        return min(aerobic, max(least, aerobic - removal))

    def step(aerobic):
        entering = returned * leaving(aerobic) + recycle * aerobic
        return ((entering - min(potential, entering) + nitrified) / through,)

    (aerobic,) = settled(step, nitrified)
    found = layouts.nitrate_four_stage(nitrified, potential, removal, least, returned, recycle)
    assert found == pytest.approx(aerobic, abs=1e-9)
    effluent = layouts.nitrate_after_second_anoxic(found, removal, least)
    assert effluent == pytest.approx(leaving(aerobic), abs=1e-9)


@given(NITRIFIED, POTENTIAL, LEAST, RETURN, RECYCLE, st.floats(0.5, 2.0))
def test_anaerobic_zone_fed_from_the_anoxic_zone(
    nitrified, potential, least, returned, recycle, anoxic_recycle
):
    main = 1.0 + returned + recycle

    def step(aerobic):
        entering = (returned + recycle) * aerobic  # none comes from the anaerobic zone
        concentration = entering / (main + anoxic_recycle)
        fall = potential / (main + anoxic_recycle)
        anoxic = min(concentration, max(least, concentration - fall))
        return (anoxic + nitrified / main,)

    (aerobic,) = settled(step, nitrified)
    found = layouts.nitrate_anoxic_recycle(
        nitrified, potential, least, returned, recycle, anoxic_recycle
    )
    assert found.effluent == pytest.approx(aerobic, abs=1e-9)
    assert found.anoxic == pytest.approx(aerobic - nitrified / main, abs=1e-9)
    assert -1e-12 <= found.effluent <= nitrified + 1e-12


@given(st.floats(0.0, 20.0), st.floats(0.0, 4.0), st.floats(0.0, 15.0), RETURN)
def test_zone_of_the_return_sludge_closes_in_electrons(nitrate, oxygen, potential, returned):
    """What is lost of nitrate and oxygen is the potential, or all there was."""
    left = layouts.return_after_own_anoxic_zone(nitrate, oxygen, potential, returned)
    per_nitrate = nit.oxygen_per_nitrate()
    lost = nitrate - left.nitrate + (oxygen - left.oxygen) / per_nitrate
    assert lost == pytest.approx(min(potential / returned, nitrate + oxygen / per_nitrate))
    assert left.oxygen == 0.0 or left.nitrate == nitrate, "oxygen goes first"


def test_without_return_sludge_nothing_is_brought():
    left = layouts.return_after_own_anoxic_zone(5.0, 1.0, 3.0, 0.0)
    assert tuple(map(float, left)) == (5.0, 1.0)


@given(st.floats(0.02, 0.9), st.floats(0.1, 5.0))
def test_thin_anaerobic_zone(volume, recycle):
    """The solids that enter leave; share of the mass and volume factor say the same."""
    thin = layouts.anaerobic_solids(3000.0, recycle)
    assert (1.0 + recycle) * thin == pytest.approx(recycle * 3000.0)
    assert layouts.anaerobic_volume_factor(recycle) * thin == pytest.approx(3000.0)
    held, rest = volume * thin, (1.0 - volume) * 3000.0
    share = layouts.anaerobic_mass_share(volume, recycle)
    assert share == pytest.approx(held / (held + rest))
    assert share < volume


def test_without_recycle_no_anaerobic_zone():
    assert layouts.anaerobic_solids(3000.0, 0.0) == 0.0
    assert layouts.anaerobic_mass_share(0.2, 0.0) == 0.0
    assert layouts.anaerobic_volume_factor(0.0) == nit.NEVER


# ------------------------------------------------ what the layouts are for


def debits(nitrified=30.0, potential=30.0, returned=0.6, recycle=3.0):
    """COD that nitrate takes in the anaerobic zone of each layout of one plant [mg COD/L]."""
    c = {name: item.value for name, item in tables.coefficients().items()}
    per_nitrate = storage.cod_per_nitrate(c["cod_yield"])
    aerobic = layouts.nitrate_behind_anoxic_zone(nitrified, potential, returned, recycle)
    endogenous = layouts.endogenous_denitrification(
        c["endogenous_denitrification_biop"], 0.10, 9000.0, 15000.0
    )
    removal = layouts.second_anoxic_removal(endogenous, returned, c["recycle_oxygen"])
    found = {
        "anaerobic-aerobic": returned
        * layouts.nitrate_behind_anoxic_zone(nitrified, 0.0, returned, 0.0),
        "anaerobic-anoxic-aerobic": returned
        * layouts.nitrate_after_blanket(aerobic, c["blanket_denitrification"]),
        "anoxic-recycle": layouts.nitrate_anoxic_recycle(
            nitrified, potential, c["anoxic_recycle_nitrate"], returned, recycle, 1.0
        ).anoxic,
        "return-denitrified": returned
        * layouts.return_after_own_anoxic_zone(aerobic, 1.0, endogenous, returned).nitrate,
        "four-stage": 0.0,
        "five-stage": returned
        * layouts.nitrate_after_second_anoxic(aerobic, removal, c["second_anoxic_nitrate"]),
    }
    return {name: float(per_nitrate * value) for name, value in found.items()}


def test_each_layout_keeps_nitrate_away_better_than_the_one_it_improves_on():
    found = debits()
    assert set(found) == set(TABLE)
    order = ("anoxic-recycle", "five-stage", "anaerobic-anoxic-aerobic", "anaerobic-aerobic")
    assert [found[name] for name in order] == sorted(found[name] for name in order)
    assert found["return-denitrified"] < found["anaerobic-anoxic-aerobic"]


def test_second_anoxic_zone_reaches_what_five_stage_plants_reach():
    """1 to 3 mg N/L are known from practice, at an ordinary size of the zone."""
    returned = debits()["five-stage"] / (8.55 * 0.6)
    assert 1.0 <= returned <= 3.0


# ------------------------------------------------ the table


@pytest.mark.parametrize("row", TABLE.values(), ids=TABLE)
def test_row_agrees_with_its_zones(row):
    zones = row.text("zones").split("|")
    anoxic = zones.count("anoxic")
    assert zones[-1] == "aerobic"
    assert ("anaerobic" in zones) == (row.text("anaerobic_feed") != "none")
    assert (row.text("anaerobic_feed") == "none") == (row.text("anaerobic_nitrate") == "none")
    assert row.text("internal_recycle") == ("yes" if anoxic else "no")
    assert row.text("second_anoxic") == ("yes" if anoxic == 2 else "no")
    assert (row.text("volume_factor") == "1") == (row.text("anaerobic_feed") != "anoxic recycle")
    assert row.text("volume_factor") in ("1", "(1 + r)/r")


@pytest.mark.parametrize("row", TABLE.values(), ids=TABLE)
def test_row_names_equations_and_coefficients_that_exist(row):
    equation = row.text("anaerobic_nitrate")
    assert equation == "none" or equation in catalogue.load()
    assert row.text("phosphorus_content") in tables.coefficients()
    derated = "anoxic" in row.text("zones") and "anaerobic" in row.text("zones").split("|")
    assert (row.text("phosphorus_content") == "phosphorus_content_anoxic") == derated


@pytest.mark.parametrize("row", TABLE.values(), ids=TABLE)
def test_row_can_be_read(row):
    assert row.text("label")[0].isupper()
    assert row.text("description").endswith(".")
    assert 60 <= len(row.text("description")) <= 300


def test_oxygen_beyond_the_potential_leaves_a_zone_nothing_to_do():
    assert layouts.second_anoxic_removal(1.0, 0.5, 100.0) == 0.0


def test_a_blanket_takes_no_more_nitrate_than_there_is():
    assert layouts.nitrate_after_blanket(1.0, 2.0) == 0.0
    assert layouts.nitrate_after_blanket(3.0, 1.0) == 2.0
