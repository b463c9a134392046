"""The steady-state storage model against a dynamic one: ten cases of two layouts at 20 degC.

The target values were computed with the published dynamic model by another hand. They leave open
the alkalinity of the sewage (7 mol/m3 here), what becomes of oxygen in the return flows (carried
here) and inorganic solids of the sewage (none here).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from pcompare import tables
from pcompare.equations import growth, storage
from tests import test_biological
from tests.dynamic_model import (
    COMPONENTS,
    PLACE,
    Balances,
    Plant,
    Zone,
    contents,
    municipal_sewage,
    parameters,
    rates,
    seeded,
    steady_state,
    stoichiometry,
)

AEROBIC = (Zone(0.72), Zone(0.72), Zone(2.4, 2.0), Zone(2.4, 2.0))
ANOXIC = (Zone(0.72), Zone(0.72), Zone(1.2), Zone(1.2), Zone(3.6, 2.0), Zone(3.6, 2.0))
LAST_ANAEROBIC = 1
ANAEROBIC_MASS = {AEROBIC: 0.23, ANOXIC: 0.13}  # of the steady-state model, back-calculated
PHOSPHORUS, FLOOR, LIMIT = 9.0, 0.05, 1.0


def case(zones, age, acids, nitrifying, *values):
    names = ("anaerobic", "phosphate", "nitrate", "share")
    targets = dict(zip(names, values, strict=True))
    return SimpleNamespace(zones=zones, age=age, acids=acids, nitrifying=nitrifying, **targets)


CASES = {
    1: case(AEROBIC, 5.0, 40.0, True, 10.8, 3.57, 15.5, 0.030),
    2: case(AEROBIC, 5.0, 40.0, False, 30.5, 0.04, 0.0, 0.047),
    3: case(AEROBIC, 5.0, 60.0, False, 34.3, 0.03, 0.0, 0.046),
    4: case(AEROBIC, 3.0, 60.0, False, 6.1, 5.06, 0.0, 0.020),
    5: case(AEROBIC, 4.0, 60.0, False, 18.9, 0.13, 0.0, 0.043),
    6: case(ANOXIC, 10.0, 40.0, True, 19.2, 1.67, 5.9, 0.046),
    7: case(ANOXIC, 10.0, 60.0, True, 24.0, 0.27, 5.8, 0.051),
    8: case(ANOXIC, 10.0, 80.0, True, 28.8, 0.07, 5.6, 0.050),
    9: case(ANOXIC, 15.0, 80.0, True, 36.1, 0.19, 5.9, 0.055),
    10: case(ANOXIC, 15.0, 100.0, True, 41.6, 0.07, 5.7, 0.054),
}
WASHED_OUT = 4
every_case = pytest.mark.parametrize("number", CASES)


def dynamic_plant(number, *, alkalinity=7.0):
    row = CASES[number]
    p = parameters() if row.nitrifying else parameters(mu_aut=0.0)
    return Plant(
        zones=row.zones,
        sludge_age=row.age,
        influent=municipal_sewage(p, acids=row.acids, alkalinity=alkalinity),
        p=p,
        internal_recycle=3.0 if row.zones is ANOXIC else 0.0,
        recycle_to=LAST_ANAEROBIC + 1,
    )


@cache
def dynamic(number):
    return steady_state(dynamic_plant(number))


def steady(number, *, nitrate=None, content=0.38):
    """Run the steady-state model on the same plant, with the nitrate of the dynamic effluent."""
    row = CASES[number]
    sewage = {
        "flow": 1000.0, "cod": 390.0 + row.acids, "soluble_inert": 25.0, "vfa": row.acids,
        "particulate_inert": 50.0, "fermentable": 60.0, "phosphorus": PHOSPHORUS, "ash": 0.0,
        "temperature": 20.0, "srt": row.age, "anaerobic": ANAEROBIC_MASS[row.zones],
        "stages": 2.0, "returned": 0.5, "floor": FLOOR, "content": content,
        "nitrate": max(dynamic(number).at(-1, "s_no3"), 0.0) if nitrate is None else nitrate,
    }  # fmt: skip
    return test_biological.plant(sewage)


def assert_reproduced(state, row):
    """Closer than 8 % (anaerobic), 3 % (nitrate), 5 % (solids); effluent 20 % or 0.1 mg/L."""
    assert state.at(LAST_ANAEROBIC, "s_po4") == pytest.approx(row.anaerobic, rel=0.08)
    assert state.at(-1, "s_po4") == pytest.approx(row.phosphate, rel=0.20, abs=0.1)
    assert state.at(-1, "s_no3") == pytest.approx(row.nitrate, rel=0.03, abs=0.01)
    assert state.phosphorus_share == pytest.approx(row.share, rel=0.05)


# ------------------------------------------------ the matrix and the rates


@pytest.mark.parametrize(("place", "name"), list(enumerate(("COD", "N", "P", "charge"))))
def test_every_process_conserves(place, name):
    """Oxygen and nitrate are written out, so COD is a check of them; the others by construction."""
    p = parameters()
    gap = np.abs(stoichiometry(p) @ contents(p)[place])
    assert gap.max() < 1e-12, name


@pytest.mark.parametrize(
    ("process", "component", "printed"),
    [
        (0, "s_nh4", 0.01), (0, "s_po4", 0.0), (0, "s_alk", 0.001),
        (3, "s_o2", -0.6), (3, "s_nh4", -0.022), (3, "s_po4", -0.004), (3, "s_alk", -0.001),
        (4, "s_nh4", -0.07), (4, "s_po4", -0.02), (4, "s_alk", 0.021),
        (5, "s_no3", -0.21), (5, "s_alk", 0.014), (6, "s_no3", -0.21), (6, "s_alk", 0.036),
        (7, "s_nh4", 0.03), (7, "s_po4", 0.01), (7, "s_alk", -0.014),
        (8, "s_nh4", 0.032), (8, "s_po4", 0.01), (8, "s_alk", 0.002),
        (9, "s_po4", 0.40), (9, "s_alk", 0.009), (10, "s_o2", -0.20), (10, "s_alk", 0.016),
        (11, "s_no3", -0.07), (11, "s_n2", 0.07), (11, "s_alk", 0.021),
        (12, "s_o2", -0.60), (12, "s_nh4", -0.07), (12, "s_po4", -0.02), (12, "s_alk", -0.004),
        (13, "s_no3", -0.21), (13, "s_alk", 0.011),
        (15, "s_po4", 1.0), (15, "s_alk", -0.016), (16, "s_a", 1.0), (16, "s_alk", -0.016),
        (17, "s_o2", -18.05), (17, "s_nh4", -4.24), (17, "s_no3", 4.17), (17, "s_alk", -0.600),
    ],
)  # fmt: skip
def test_coefficients_worked_by_hand(process, component, printed):
    places = len(str(printed).partition(".")[2])
    value = stoichiometry(parameters())[process, PLACE[component]]
    assert value == pytest.approx(printed, abs=0.51 * 10.0**-places)


def rich(**changes):
    """A liquor with plenty of everything, so that each rate is its constant times a mass."""
    c = np.full(len(COMPONENTS), 1e6)
    for name, value in {
        "x_h": 100.0,
        "x_pao": 100.0,
        "x_pp": 1.0,
        "x_aut": 10.0,
        **changes,
    }.items():
        c[PLACE[name]] = value
    return rates(c, parameters())


def test_unlimited_rates_are_constants_times_masses():
    """Only the shares of two substrates and the room for phosphorus (0.33 / 0.35) are left."""
    unlimited = rich()
    expected = {0: 300.0, 3: 300.0, 4: 300.0, 8: 40.0, 9: 150.0, 10: 141.43, 12: 100.0, 17: 10.0}
    expected |= {14: 20.0, 15: 0.2, 18: 1.5}
    np.testing.assert_allclose(unlimited[list(expected)], list(expected.values()), rtol=1e-3)


def test_anoxic_and_anaerobic_rates_are_reduced_and_switched():
    aerobic, anoxic, anaerobic = rich(), rich(s_o2=0.0), rich(s_o2=0.0, s_no3=0.0)
    for without_nitrate, full, share in ((1, 0, 0.6), (5, 3, 0.8), (11, 10, 0.6), (13, 12, 0.6)):
        assert anoxic[without_nitrate] == pytest.approx(share * aerobic[full], rel=1e-3)
    assert anaerobic[2] == pytest.approx(0.4 * aerobic[0], rel=1e-3)
    assert anaerobic[7] == pytest.approx(300.0, rel=1e-3)
    needs_acceptor = [0, 1, 3, 4, 5, 6, 10, 11, 12, 13, 17]
    assert (anaerobic[needs_acceptor] == 0.0).all()
    assert aerobic[[1, 2, 5, 6, 7, 11, 13]].max() < 1e-3


def test_storage_ends_with_its_means():
    assert rich(x_pp=0.0)[9] == 0.0  # no polyphosphate, no energy to store acids
    assert rich(x_pp=34.0)[10] == 0.0  # organisms full of polyphosphate
    assert (rich(x_pha=0.0)[[10, 11, 12, 13]] == 0.0).all()


def test_jacobian_is_the_slope_of_the_balances():
    plant = dynamic_plant(6)
    balances, y = Balances(plant), seeded(plant, 400.0)
    direction = np.random.default_rng(3).uniform(0.5, 1.0, y.size) * y
    ahead, behind = (balances.change(y + sign * 1e-6 * direction) for sign in (1.0, -1.0))
    slope = balances.jacobian(y) @ direction
    np.testing.assert_allclose(slope, (ahead - behind) / 2e-6, rtol=1e-5, atol=1e-2)


# ------------------------------------------------ whole plant


@every_case
def test_whole_plant_closes(number):
    """What enters leaves with effluent and sludge; COD, with the oxygen supplied."""
    state = dynamic(number)
    content = contents(state.plant.p)
    entering, leaving = content @ state.plant.influent, content @ state.leaving()
    entering[0] -= state.oxygen_supplied
    np.testing.assert_allclose(leaving[:4], entering[:4], rtol=1e-9, atol=1e-9)
    assert entering[2] == pytest.approx(PHOSPHORUS, rel=1e-12)
    assert (state.c > -1e-9).all()


@every_case
def test_sludge_age_is_as_stated(number):
    """Wasting a volume is wasting a mass: the solids of all zones are nearly the same."""
    state = dynamic(number)
    held = state.plant.volumes @ state.solids
    assert held / (state.plant.wasted * state.solids[-1]) == pytest.approx(
        CASES[number].age, rel=0.01
    )


@every_case
def test_state_is_stable(number):
    assert dynamic(number).slowest_return() < 0.0


@pytest.mark.parametrize("number", [1, 5, 6])
def test_start_does_not_matter(number):
    few = steady_state(dynamic_plant(number), storing=40.0)
    np.testing.assert_allclose(few.c, dynamic(number).c, rtol=1e-6, atol=1e-6)


# ------------------------------------------------ the ten cases


@every_case
def test_case(number):
    assert_reproduced(dynamic(number), CASES[number])


@pytest.mark.parametrize("number", [1, 5, 6])
@pytest.mark.parametrize("alkalinity", [5.0, 10.0])
def test_alkalinity_left_open_decides_nothing(number, alkalinity):
    row = CASES[number]
    state = steady_state(dynamic_plant(number, alkalinity=alkalinity))
    assert state.at(LAST_ANAEROBIC, "s_po4") == pytest.approx(row.anaerobic, rel=0.15)
    assert state.at(-1, "s_po4") == pytest.approx(row.phosphate, rel=0.20, abs=0.1)
    assert state.phosphorus_share == pytest.approx(row.share, rel=0.05)


def test_working_storage_shows_in_both_profiles():
    for number in (2, 3, 9, 10):
        state = dynamic(number)
        assert state.at(LAST_ANAEROBIC, "s_po4") > 3.0 * PHOSPHORUS
        assert state.at(-1, "s_po4") < 0.2
    assert 25.0 < dynamic(2).at(LAST_ANAEROBIC, "s_po4") < 40.0


def test_acids_and_nitrate_move_the_effluent_as_they_should():
    effluent = {number: dynamic(number).at(-1, "s_po4") for number in CASES}
    assert effluent[6] > effluent[7] > effluent[8]
    assert effluent[9] > effluent[10]
    assert effluent[1] > effluent[2] > effluent[3]


# ------------------------------------------------ the steady-state model on the same plants


@pytest.mark.parametrize(
    ("number", "anaerobic", "potential", "soluble"),
    [
        (1, 17.4, 8.23, 0.77), (2, 35.4, 15.7, FLOOR), (3, 42.1, 18.5, FLOOR),
        (6, 28.0, 10.8, FLOOR), (7, 34.8, 13.3, FLOOR), (8, 41.6, 15.9, FLOOR),
        (10, 48.5, 16.2, FLOOR),
    ],
)  # fmt: skip
def test_steady_state_model(number, anaerobic, potential, soluble):
    """To the digits with the rounded nitrate; with the nitrate found here within 1 %."""
    rounded, run = steady(number, nitrate=CASES[number].nitrate), steady(number)
    digit = 0.005 if potential < 10.0 else 0.051
    assert rounded.anaerobic == pytest.approx(anaerobic, abs=0.051)
    assert rounded.potential == pytest.approx(potential, abs=digit)
    assert rounded.soluble == pytest.approx(soluble, abs=0.005)
    assert run.anaerobic == pytest.approx(anaerobic, rel=0.01)
    assert run.potential == pytest.approx(potential, rel=0.01)


@pytest.mark.parametrize(("number", "potential"), [(6, 8.07), (7, 9.72), (8, 11.40)])
def test_derated_content(number, potential):
    content = test_biological.coefficient("phosphorus_content_anoxic")
    run = steady(number, nitrate=CASES[number].nitrate, content=content)
    assert run.potential == pytest.approx(potential, abs=0.0101)


@pytest.mark.parametrize(("number", "content"), [(1, 0.16), (6, 0.22)])
def test_content_that_removes_what_the_dynamic_model_removes(number, content):
    """Two digits with the effluent of the target case; 0.025 off with the effluent found here."""
    row, effluent = CASES[number], dynamic(number).at(-1, "s_po4")

    def found(run, phosphate):
        removed, flow = PHOSPHORUS - phosphate, run.sewage.flow
        return storage.content_for_removal(removed, run.others, run.storing, row.age, flow)

    target = found(steady(number, nitrate=row.nitrate), row.phosphate)
    assert target == pytest.approx(content, abs=0.0051)
    assert found(steady(number), effluent) == pytest.approx(content, abs=0.025)


def test_steady_state_model_is_optimistic():
    """It releases more than the dynamic model wherever storage works, by 15 to 60 %."""
    excess = {
        number: steady(number).anaerobic / dynamic(number).at(LAST_ANAEROBIC, "s_po4")
        for number in (1, 2, 3, 6, 7, 8, 10)
    }
    assert min(excess.values()) > 1.10
    assert max(excess.values()) < 1.75


def has_reserve(number):
    reserve = test_biological.coefficient("potential_reserve")
    return steady(number).potential >= reserve * (PHOSPHORUS - FLOOR)


def meets_limit(number):
    return dynamic(number).at(-1, "s_po4") <= LIMIT


def test_reserve_decides_as_the_dynamic_model_does():
    """All but one: in case 4 the sludge is too young, which the reserve cannot see."""
    assert {n for n in CASES if has_reserve(n) != meets_limit(n)} == {WASHED_OUT}
    assert {n for n in CASES if not meets_limit(n)} == {1, 6, WASHED_OUT}


def test_without_the_reserve_a_failing_plant_would_pass():
    assert steady(6).potential > PHOSPHORUS - FLOOR
    assert not meets_limit(6)


# ------------------------------------------------ washout


def test_washout_is_seen_by_the_check_of_sludge_age():
    """The least sludge age is on the safe side: 4 d (case 5) still works, 3 d (case 4) fails."""
    least = tables.coefficients()["storing_washout_srt"]
    assert abs(dynamic(WASHED_OUT).at(-1, "x_pao")) < 1e-6
    assert CASES[WASHED_OUT].age < least.value
    assert dynamic(5).at(-1, "x_pao") > 100.0
    kept = steady_state(replace(dynamic_plant(5), sludge_age=least.value))
    assert kept.at(-1, "x_pao") > dynamic(5).at(-1, "x_pao")


def test_no_plant_that_fails_passes_both_checks():
    """Reserve and sludge age together never pass what the dynamic model fails."""
    least = test_biological.coefficient("storing_washout_srt")
    needed = growth.temperature_corrected(
        least, test_biological.coefficient("storing_washout_theta"), 20.0
    )
    passed = {n for n in CASES if has_reserve(n) and CASES[n].age >= needed}
    assert all(meets_limit(n) for n in passed)
    assert {n for n in CASES if meets_limit(n)} - passed == {5}  # cautious: 4 d is enough there
