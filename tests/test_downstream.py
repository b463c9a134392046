"""Salt downstream: charge, loops, droughts, limits, room and cost on whole plants."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pcompare import designing, downstream, evaluation, run
from pcompare.arrays import as_cases
from pcompare.equations import acid_base, reuse_forms, water_use
from pcompare.equations import acid_base_solver as solver
from pcompare.impacts import reuse, salt_room, use_limits
from pcompare.tables import molar_mass
from tests.plants import even, example, plants

EXAMPLE = even()
COMPARED = run.compare(EXAMPLE)
PICTURE = downstream.picture(EXAMPLE, COMPARED)
SALTS = ("salt_single_point", "salt_two_point", "salt_tertiary")
ONE = "salt_single_point"


def picture(**fields):
    """Give the picture of the worked example with some fields changed, designs as they are."""
    return downstream.picture(changed(**fields), COMPARED)


def changed(**fields):
    names = {name.replace("__", "."): value for name, value in fields.items()}
    words = {n: v for n, v in names.items() if isinstance(v, str)}
    numbers = {n: as_cases(v) for n, v in names.items() if n not in words}
    return replace(EXAMPLE, values={**EXAMPLE.values, **numbers},
                   choices={**EXAMPLE.choices, **words})  # fmt: skip


# --- the ledger of ions -------------------------------------------------------------------------


def charge(inputs, quantities):
    """Sum the charge of every species, hydrogen and hydroxide too [meq/L]."""
    q, temperature = quantities, inputs["influent.temperature_average"]
    ph, strength = q["ph"], q["ionic_strength"]
    constants = acid_base.acid_constants(temperature)
    activity = solver.activities(10.0**-ph, strength, constants)
    carbonate = acid_base.carbonate_species_open(
        ph, strength, temperature, inputs.coefficient("log_pco2_basin")
    )
    phosphate = acid_base.phosphate_species(ph, strength, temperature, q["effluent_phosphate"])
    ammonia = acid_base.ammonia_species(ph, strength, temperature, q["effluent_ammonia"])

    def molar(name, formula):
        return q[f"effluent_{name}"] / molar_mass(formula)

    cations = (
        molar("sodium", "Na") + molar("potassium", "K") + 2.0 * molar("calcium", "Ca")
        + 2.0 * molar("magnesium", "Mg") + ammonia.ammonium + 1000.0 * 10.0**-ph / activity.one
    )  # fmt: skip
    hydroxide = 1000.0 * constants.k_water / 10.0**-ph / activity.one
    anions = (
        molar("chloride", "Cl") + 2.0 * molar("sulfate", "SO4") + molar("nitrate", "N")
        + carbonate.bicarbonate + 2.0 * carbonate.carbonate
        + phosphate.dihydrogen_phosphate + 2.0 * phosphate.hydrogen_phosphate
        + 3.0 * phosphate.phosphate_ion + hydroxide
    )  # fmt: skip
    return cations - anions + q["unmeasured_ions"]


@settings(max_examples=20)
@given(plants())
def test_every_effluent_is_electroneutral_with_the_ions_not_measured(inputs):
    """To 1e-9 eq/L for every strategy; the unmeasured ions are those of the sewage."""
    for candidates in designing.point(inputs).values():
        for candidate in candidates:
            left = charge(inputs, candidate.monthly)
            assert np.abs(left).max() < 1e-6, candidate.strategy  # meq/L


def test_unmeasured_ions_are_equal_in_all_strategies_and_told():
    left = [r.value("unmeasured_ions") for r in COMPARED.strategies.values()]
    np.testing.assert_allclose(left, left[0], atol=1e-9)
    assert pytest.approx(left[0]) == PICTURE.unmeasured
    assert not PICTURE.notes
    off = picture(influent__sodium=100.0)
    assert off.unmeasured == pytest.approx(PICTURE.unmeasured - 28.0 / 22.99, abs=1e-3)
    assert off.unmeasured_share > downstream.IMBALANCE and "lacks anions" in off.notes[0]


def test_biological_removal_is_not_free_of_salt():
    """Potassium and magnesium go with stored phosphorus: a third of a mole each per mole."""
    lines = COMPARED.strategies["bio_existing_carbon"].lines
    assert lines["potassium_change"].value < -1.0
    assert lines["magnesium_added"].value < -0.5
    molar = lines["potassium_change"].value / 39.1, lines["magnesium_added"].value / 24.3
    assert molar[0] == pytest.approx(molar[1], rel=0.01)


# --- the loop -----------------------------------------------------------------------------------


@given(st.floats(0.0, 1000.0), st.floats(-300.0, 1000.0), st.floats(0.0, 0.85),
       st.floats(0.0, 0.1))  # fmt: skip
def test_closed_form_is_what_iteration_comes_to(source, increment, returned, evaporated):
    supply = source
    for _ in range(3000):
        effluent = max((supply + increment) / (1.0 - evaporated), 0.0)
        supply = (1.0 - returned) * source + returned * effluent
    found = float(reuse_forms.settled_supply(source, increment, returned, evaporated))
    assert found == pytest.approx(supply, rel=1e-9, abs=1e-7)


def test_the_picture_is_the_line_in_a_normal_year():
    for name, result in COMPARED.strategies.items():
        for key in use_limits.UNITS:
            assert PICTURE.water[name][key].normal == pytest.approx(
                result.value(f"reuse_{key}"), rel=1e-12
            )


def test_no_dose_changes_nothing():
    """A strategy that does nothing leaves the supply of no action; so does a dose of zero."""
    inputs = EXAMPLE
    found = designing.point(inputs)["no_action"][0]
    again = reuse.long_run(inputs, found.monthly, found.monthly)
    for key, value in again.items():
        np.testing.assert_allclose(value, found.monthly[key], rtol=1e-14)
    products = salt_room.Products(
        names=("x",), metals=("Fe",),
        per_metal={"chloride_per_metal": 3.0, "sulfate_per_metal": 0.0, "sodium_per_metal": 0.0,
                   "equivalents_per_metal": 3.0},
    )  # fmt: skip
    undosed = salt_room.dosed(products, 0.0, found.monthly)
    handed = reuse.handed_on(found.monthly, found.monthly)
    for key, value in undosed.items():
        np.testing.assert_allclose(as_cases(value), as_cases(handed[key]), rtol=1e-12)


def test_metal_with_sodium_put_back_adds_what_stoichiometry_says():
    """1 mg Fe as ferric chloride, made good with caustic: 3.14 mg of ions, as residue too."""
    found = designing.point(EXAMPLE)["no_action"][0].monthly
    products = salt_room.Products(
        names=("x",), metals=("Fe",),
        per_metal={"chloride_per_metal": 3.0, "sulfate_per_metal": 0.0, "sodium_per_metal": 0.0,
                   "equivalents_per_metal": 3.0},
    )  # fmt: skip
    one, none = (salt_room.dosed(products, dose, found) for dose in (1.0, 0.0))
    np.testing.assert_allclose(one["tds"] - none["tds"], 3.1396, rtol=1e-3)
    np.testing.assert_allclose(one["chloride"] - none["chloride"], 1.9045, rtol=1e-3)


@pytest.mark.parametrize("form", ["river", "reservoir", "aquifer", "blend"])
def test_every_form_has_its_long_run(form):
    found = picture(reuse__form=form)
    assert found.form == form and found.normal.steady
    for name in found.water:
        assert found.water[name]["tds"].normal > 210.0
    lake = found.normal.evaporation_fraction
    assert lake == pytest.approx(0.08 if form != "reservoir" else 1.0 - 0.92 * 0.9)
    moved = found.drought.return_fraction != pytest.approx(found.normal.return_fraction)
    assert moved == (form != "blend")
    assert found.approach.along == ("years" if form in ("reservoir", "aquifer") else "cycles")


def test_the_approach_ends_in_the_long_run():
    for form in ("river", "aquifer", "reservoir"):
        found = picture(reuse__form=form, reuse__return_fraction=0.2)
        row = found.approach.values[ONE]["tds"]
        end = found.water[ONE]["tds"].normal
        assert abs(row[-1] - end) < 0.05 * abs(row[0] - end)
        assert list(row) == sorted(row)


def test_return_is_capped_by_what_comes_back_and_one_has_no_steady_state():
    capped = picture(reuse__return_fraction=0.9, reuse__capture_fraction=0.6)
    assert capped.normal.capped and capped.normal.multiplier == pytest.approx(0.6)
    whole = picture(reuse__return_fraction=1.0)
    assert not whole.normal.steady and whole.normal.reason
    assert all(one.normal is None for water in whole.water.values() for one in water.values())
    assert not any(whole.passes(name, "normal") for name in whole.verdicts)
    inputs = changed(reuse__return_fraction=1.0)
    line = run.compare(inputs).strategies[ONE].lines["reuse_tds"]
    assert line.value is None and "no steady state" in line.reason


def test_cycles_and_shares_lead_to_the_limit():
    """At the cycles told the supply stands at the limit, and at the share its long run does."""
    found = picture(reuse__limit_tds=330.0)
    inputs = changed(reuse__limit_tds=330.0)
    verdict = found.verdicts[ONE]["own.tds"]
    assert not verdict.normal and 0.0 < verdict.cycles < 5.0
    curve = dict(zip(found.approach.points, found.approach.values[ONE]["tds"], strict=True))
    assert curve[math.floor(verdict.cycles)] < 330.0 < curve[math.ceil(verdict.cycles)]
    shared = run.compare(replace(inputs, values={
        **inputs.values, "reuse.return_fraction": as_cases(verdict.largest_share)}))  # fmt: skip
    assert shared.strategies[ONE].value("reuse_tds") == pytest.approx(330.0, rel=1e-6)


# --- drought ------------------------------------------------------------------------------------


def test_loads_of_each_person_stay_in_a_drought():
    """Phosphorus per day, and what people add to the water per day, are what they were."""
    cuts = [(0.0, 0.0), (0.3, 0.25)]
    cases = downstream._cases(EXAMPLE, cuts)
    for field in ("tp", "cod", "tkn", "vfa"):
        load = cases["flow.average"] * cases[f"influent.{field}"]
        np.testing.assert_allclose(load, np.broadcast_to(load[:1], load.shape), rtol=1e-12)
    for ion in ("sodium", "chloride", "calcium"):
        added = cases[f"influent.{ion}"] - EXAMPLE[f"reuse.source_{ion}"]
        load = cases["flow.average"] * added
        np.testing.assert_allclose(load, np.broadcast_to(load[:1], load.shape), rtol=1e-12)


def test_no_drought_is_the_normal_year():
    none = picture(reuse__drought_river_flow_cut=0.0, reuse__drought_use_cut=0.0)
    for water in none.water.values():
        for one in water.values():
            assert one.drought == pytest.approx(one.normal, rel=1e-9)
    for curve in PICTURE.curves.values():
        for name, rows in curve.values.items():
            assert rows["tds"][0] == pytest.approx(PICTURE.water[name]["tds"].normal, rel=1e-9)


def test_a_lower_river_is_saltier_and_the_curves_hold_the_design_drought():
    for name, rows in PICTURE.curves["river"].values.items():
        assert list(rows["chloride"]) == sorted(rows["chloride"]), name
    both = PICTURE.curves["both"]
    place = both.points.index(0.5)  # the design drought of the example
    for name, water in PICTURE.water.items():
        assert both.values[name]["tds"][place] == pytest.approx(water["tds"].drought, rel=1e-9)
        assert both.feasible[name][place] == PICTURE.passes(name, "drought")


def test_saving_water_makes_the_effluent_saltier_undiluted():
    for name, rows in PICTURE.curves["use"].values.items():
        assert list(rows["effluent_chloride"]) == sorted(rows["effluent_chloride"]), name


def test_the_example_passes_in_a_normal_year_and_its_salts_fail_in_the_drought():
    assert all(PICTURE.passes(name, "normal") for name in PICTURE.verdicts)
    failing = {name for name in PICTURE.verdicts if not PICTURE.passes(name, "drought")}
    assert failing == set(SALTS)


# --- limits -------------------------------------------------------------------------------------


def test_limits_are_in_the_unit_of_their_quantity():
    by_key = {limit.key: limit for limit in PICTURE.limits}
    assert by_key["fao_conductivity_none"].value == 700.0
    assert by_key["sans_conductivity"].value == 1700.0
    assert by_key["eu_conductivity"].value == pytest.approx(2790.0)
    assert by_key["fao_chloride_none"].value == pytest.approx(141.8, abs=0.1)
    assert by_key["fao_bicarbonate_moderate"].value == pytest.approx(518.5, rel=1e-3)
    assert by_key["tower_tds_high"].value == pytest.approx(500.0)  # 1500 at three cycles
    assert by_key["aquatic_chloride_chronic"].value == 230.0
    assert {limit.quantity for limit in PICTURE.limits} <= set(use_limits.UNITS)


def test_zero_is_no_limit_and_without_any_the_published_ones_count():
    bare = picture(reuse__limit_tds=0.0, reuse__limit_chloride=0.0)
    assert bare.governing == use_limits.FALLBACK
    assert not any(limit.own for limit in bare.limits)
    more = picture(reuse__limit_sar=2.0, reuse__limit_conductivity=700.0)
    assert more.governing == ("own.tds", "own.chloride", "own.conductivity", "own.sar")
    assert more.verdicts[ONE]["own.sar"].drought is False


def test_every_verdict_follows_from_the_water():
    for name, verdicts in PICTURE.verdicts.items():
        for limit in PICTURE.limits:
            for when in ("effluent", "normal", "drought"):
                value = getattr(PICTURE.water[name][limit.quantity], when)
                assert getattr(verdicts[limit.key], when) == (value <= limit.value * (1 + 1e-6))


@given(st.floats(0.0, 60.0), st.floats(10.0, 9000.0))
def test_more_salt_never_closes_a_soil(ratio, conductivity):
    order = ("severe", "slight to moderate", "none")
    here = order.index(use_limits.restriction(ratio, conductivity))
    saltier = order.index(use_limits.restriction(ratio, 2.0 * conductivity))
    more_sodium = order.index(use_limits.restriction(1.5 * ratio, conductivity))
    assert more_sodium <= here <= saltier


@given(st.floats(0.0, 30.0))
def test_yield_falls_from_all_to_nothing(salinity):
    for threshold, slope in use_limits.crops().values():
        found = float(water_use.crop_yield(salinity, threshold, slope))
        assert 0.0 <= found <= 100.0
        assert (found == 100.0) == (salinity <= threshold) or slope * (salinity - threshold) < 1e-9
    assert len(use_limits.crops()) == 33


# --- room and cost ------------------------------------------------------------------------------


def test_at_its_room_a_product_stands_at_the_limit():
    cuts = downstream._cuts(EXAMPLE)[:2]
    cases = downstream._cases(EXAMPLE, cuts)
    found = evaluation.evaluate(cases, {n: (r.design,) for n, r in COMPARED.strategies.items()})
    water = found["no_action"][0].monthly
    checked = 0
    for room in PICTURE.rooms:
        limit = PICTURE.limit(room.limit)
        for place, dose in enumerate((room.normal, room.drought)):
            if not dose:
                continue
            products = salt_room.Products(
                names=(room.product,),
                metals=(downstream.treatment.metal_of(EXAMPLE, room.product),),
                per_metal={
                    what: downstream.treatment.property_of(EXAMPLE, room.product, what)
                    for what in salt_room.PROPERTIES
                },
            )
            dosed = salt_room.dosed(products, dose, water)
            settled = reuse.judged(reuse.supply(cases, dosed, reuse.loop(cases)))
            value = np.broadcast_to(settled[limit.quantity], (2, 1))[place, 0]
            assert value == pytest.approx(limit.value, rel=1e-6), room
            checked += 1
    assert checked > 20


def test_room_is_nothing_where_the_limit_is_passed_without_metal():
    tight = picture(reuse__limit_tds=300.0, reuse__limit_sar=3.0)
    rooms = [room for room in tight.rooms if room.limit == "own.tds"]
    assert rooms and all(room.normal == 0.0 and room.reason for room in rooms)
    chloride = {r.product: r for r in tight.rooms if r.limit == "own.chloride"}
    assert chloride["liquid_alum"].normal is None and chloride["liquid_alum"].reason
    assert chloride["ferric_chloride"].normal > chloride["ferric_chloride"].drought > 0.0


def test_damage_and_removal_bracket_the_salt():
    cost = PICTURE.costs[ONE]
    water = COMPARED.strategies
    assert cost.damage == pytest.approx(375.0 * cost.salt)
    assert cost.removal_high / cost.removal_low == pytest.approx(0.66 / 0.39)
    lost = water["no_action"].value("alkalinity_residual") - water[ONE].value("alkalinity_residual")
    restored = lost / 50.0435 * (22.98977 + 30.0045)
    per_litre = water[ONE].value("tds_increase_residue") + restored
    assert cost.salt == pytest.approx(per_litre * 20000.0 * 365.0 / 1e6, rel=1e-4)
    assert cost.water_lost == pytest.approx(0.25 * cost.treated_fraction)
    assert PICTURE.costs["bio_existing_carbon"].removal_low == 0.0


def test_salt_enters_the_cost_only_where_the_user_says_so():
    plain = COMPARED.strategies[ONE]
    assert plain.value("cost_downstream_salt") == 0.0
    for counted, expected in (
        ("damage", PICTURE.costs[ONE].damage),
        ("removal", 0.5 * (PICTURE.costs[ONE].removal_low + PICTURE.costs[ONE].removal_high)),
    ):
        found = run.compare(changed(reuse__salt_cost=counted)).strategies[ONE]
        assert found.value("cost_downstream_salt") == pytest.approx(expected, rel=1e-9)
        assert found.value("annual_cost") - plain.value("annual_cost") == pytest.approx(expected)


def test_twelve_equal_months_are_one_year():
    inputs = example(influent__temperature_average=[17.0] * 12)
    one = downstream.picture(example(influent__temperature_average=17.0), COMPARED)
    twelve = downstream.picture(inputs, COMPARED)
    for name, water in twelve.water.items():
        for key, used in water.items():
            assert used.drought == pytest.approx(one.water[name][key].drought, rel=1e-9)
