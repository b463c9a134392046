"""The steady-state storage model as a whole: two worked plants, balances, directions, limits."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import tables
from pcompare.equations import carbon, growth, storage
from pcompare.recording import Recorded

PASSES = 20

# Raw sewage, 14 degC, sludge age 20 d; and a medium sewage, 20 degC, sludge age 10 d.
RAW = {
    "flow": 15000.0, "cod": 750.0, "soluble_inert": 53.0, "particulate_inert": 112.0, "vfa": 22.0,
    "fermentable": 124.0, "phosphorus": 17.0, "ash": 49.0, "temperature": 14.0, "srt": 20.0,
    "anaerobic": 0.10, "stages": 2.0, "returned": 0.75, "nitrate": 0.5, "floor": 0.0,
    "content": 0.38,
}  # fmt: skip
MEDIUM = {
    "flow": 20000.0, "cod": 500.0, "soluble_inert": 25.0, "particulate_inert": 75.0, "vfa": 30.0,
    "fermentable": 70.0, "phosphorus": 9.0, "ash": 40.0, "temperature": 20.0, "srt": 10.0,
    "anaerobic": 0.12, "stages": 2.0, "returned": 0.6, "nitrate": 4.0, "floor": 0.10,
    "content": 0.38,
}  # fmt: skip


def coefficient(name):
    return tables.coefficients()[name].value


def plant(sewage, *, passes=PASSES, storing=True, **changes):
    """Run the whole model; the worked plants carry the rounded debits 8.6 and 3.0."""
    p = SimpleNamespace(**{**sewage, **changes})
    c = coefficient
    theta, srt, flow = c("decay_theta"), p.srt, p.flow
    decay = growth.temperature_corrected(c("heterotroph_decay"), theta, p.temperature)
    slow_decay = growth.temperature_corrected(c("storing_decay"), theta, p.temperature)
    rate = growth.temperature_corrected(
        c("fermentation_rate"), c("fermentation_theta"), p.temperature
    )
    biodegradable = flow * (p.cod - p.soluble_inert - p.particulate_inert) / 1000.0
    debit = storage.acceptor_debit(p.returned, p.nitrate, 0.0, 0.0, 0.0, 8.6, 3.0)
    fermentable = storage.fermentables_after_debit(p.fermentable, debit)
    vfa = storage.vfa_after_debit(p.vfa, p.fermentable, debit)
    stored, left, heterotrophs = 0.0 * biodegradable, None, None
    for _ in range(passes if storing else 0):
        heterotrophs = growth.active_mass(
            biodegradable - stored, srt, c("heterotroph_yield"), decay
        )
        left = storage.fermentables_leaving(
            fermentable, p.returned, rate, p.anaerobic, p.stages, heterotrophs, flow
        )
        stored = storage.cod_stored(flow, fermentable, left, p.returned, vfa)
    masses = _masses(p, c, biodegradable, stored, decay, slow_decay)
    return SimpleNamespace(
        sewage=p, debit=debit, fermentable=fermentable, left=left, stored=stored, **masses
    )


def _masses(p, c, biodegradable, stored, decay, slow_decay):
    srt, flow, cod_per_vss = p.srt, p.flow, c("cod_per_vss")
    other_cod = biodegradable - stored
    heterotrophs = growth.active_mass(other_cod, srt, c("heterotroph_yield"), decay)
    residue = growth.endogenous_mass(heterotrophs, srt, decay, c("heterotroph_residue"))
    storing = growth.active_mass(stored, srt, c("storing_yield"), slow_decay)
    storing_residue = growth.endogenous_mass(storing, srt, slow_decay, c("storing_residue"))
    inert = growth.inert_mass(flow, p.particulate_inert, srt, cod_per_vss)
    volatile = storing + storing_residue + heterotrophs + residue + inert
    ordinary = c("phosphorus_content_ordinary")
    others = sum(
        storage.phosphorus_into_mass(ordinary, m, srt, flow)
        for m in (storing_residue, heterotrophs, residue, inert)
    )
    potential = others + storage.phosphorus_into_mass(p.content, storing, srt, flow)
    removed = np.minimum(potential, p.phosphorus - p.floor)
    content = storage.content_for_removal(removed, others, storing, srt, flow)
    heterotroph_ash = c("heterotroph_ash")
    ash_content = storage.storage_ash_content(
        content, heterotroph_ash, c("polyphosphate_mass"), ordinary
    )
    ash = storage.ash_mass(flow, p.ash, srt, heterotrophs, heterotroph_ash, storing, ash_content)
    oxygen_storing = growth.oxygen_for_carbon(
        stored, srt, c("storing_yield"), slow_decay, c("storing_residue"), cod_per_vss
    )
    oxygen_other = growth.oxygen_for_carbon(
        other_cod, srt, c("heterotroph_yield"), decay, c("heterotroph_residue"), cod_per_vss
    )
    soluble = p.phosphorus - removed
    released = storage.phosphorus_release(c("release_ratio"), stored, flow)
    return {
        "heterotrophs": heterotrophs, "residue": residue, "storing": storing,
        "storing_residue": storing_residue, "inert": inert, "volatile": volatile, "ash_mass": ash,
        "solids": volatile + ash, "others": others, "potential": potential, "removed": removed,
        "content": content, "ash_content": ash_content, "oxygen": oxygen_storing + oxygen_other,
        "oxygen_storing": oxygen_storing, "soluble": soluble, "released": released,
        "anaerobic": storage.anaerobic_phosphate(p.phosphorus, p.returned, soluble, released),
        "nitrogen": growth.nitrogen_into_sludge(c("nitrogen_content"), volatile, srt, flow),
        "solids_phosphorus": removed * srt * flow / 1000.0 / (volatile + ash),
    }  # fmt: skip


def cod_gap(run):
    """COD in less COD out, as a share of what comes in."""
    p = run.sewage
    out = run.oxygen + coefficient("cod_per_vss") * run.volatile / p.srt
    return (out + p.flow * p.soluble_inert / 1000.0) / (p.flow * p.cod / 1000.0) - 1.0


# ------------------------------------------------ the two worked plants, printed digits


@pytest.mark.parametrize(
    ("name", "printed", "tolerance"),
    [
        ("fermentable", 120.775, 0.0005), ("left", 14.21, 0.005), ("stored", 1768.6, 0.05),
        ("storing", 9509, 0.5), ("storing_residue", 1602, 0.5), ("heterotrophs", 12503, 0.5),
        ("residue", 10111, 0.5), ("inert", 22703, 0.5), ("volatile", 56428, 0.5),
        ("ash_mass", 28938, 0.5), ("solids", 85366, 0.5), ("potential", 16.74, 0.005),
        ("soluble", 0.263, 0.0005), ("released", 59.0, 0.05), ("anaerobic", 43.5, 0.05),
        ("nitrogen", 18.81, 0.005), ("oxygen", 6279, 0.5), ("oxygen_storing", 946, 0.5),
        ("solids_phosphorus", 0.0588, 0.00005),
    ],
)  # fmt: skip
def test_raw_sewage(name, printed, tolerance):
    assert getattr(plant(RAW), name) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("name", "printed", "tolerance"),
    [
        ("fermentable", 49.36, 0.005), ("left", 7.775, 0.0005), ("stored", 1338.4, 0.1),
        ("storing", 4302, 0.5), ("storing_residue", 430, 0.5), ("heterotrophs", 8817, 0.5),
        ("residue", 4232, 0.5), ("inert", 10135, 0.5), ("volatile", 27916, 0.5),
        ("ash_mass", 13065, 0.5), ("solids", 40981, 0.5), ("potential", 11.72, 0.005),
        ("removed", 8.90, 1e-9), ("content", 0.2491, 0.00005), ("ash_content", 0.870, 0.0005),
        ("soluble", 0.10, 1e-9), ("anaerobic", 26.6, 0.05), ("oxygen", 5368, 0.5),
        ("nitrogen", 13.96, 0.005), ("solids_phosphorus", 0.0434, 0.00005),
    ],
)  # fmt: skip
def test_medium_sewage(name, printed, tolerance):
    assert getattr(plant(MEDIUM), name) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("changes", "stored", "potential", "anaerobic"),
    [
        ({"nitrate": 0.0}, 81.56, 13.43, 31.15),
        ({"vfa": 50.0, "cod": 520.0}, 86.92, 14.18, 32.8),
        ({"content": 0.25}, 66.92, 8.92, 26.6),
    ],
)
def test_medium_sewage_variants(changes, stored, potential, anaerobic):
    run = plant(MEDIUM, **changes)
    assert run.stored * 1000.0 / run.sewage.flow == pytest.approx(stored, abs=0.005)
    assert run.potential == pytest.approx(potential, abs=0.005)
    assert run.anaerobic == pytest.approx(anaerobic, abs=0.05)


def test_raw_sewage_with_partly_anoxic_uptake():
    run = plant(RAW, content=coefficient("phosphorus_content_anoxic"))
    assert run.potential == pytest.approx(12.62, abs=0.005)
    assert run.soluble == pytest.approx(4.38, abs=0.005)


def test_raw_sewage_against_the_same_sludge_without_storage():
    with_storage, without = plant(RAW), plant(RAW, storing=False)
    content = coefficient("phosphorus_content_ordinary")
    plain = storage.phosphorus_into_mass(content, without.volatile, 20.0, 15000.0)
    assert without.volatile == pytest.approx(51025, abs=0.5)
    assert without.solids == pytest.approx(68074, abs=1.0)
    assert without.oxygen == pytest.approx(6679, abs=0.5)
    assert plain == pytest.approx(5.10, abs=0.005)
    assert with_storage.oxygen / without.oxygen == pytest.approx(0.940, abs=0.0005)
    assert with_storage.volatile / without.volatile == pytest.approx(1.106, abs=0.0005)
    assert with_storage.solids / without.solids == pytest.approx(1.254, abs=0.002)
    extra = (with_storage.solids - without.solids) / 20.0
    assert extra / ((with_storage.removed - plain) * 15.0) == pytest.approx(4.95, rel=0.005)


@pytest.mark.parametrize(
    ("nitrate", "potential"),
    [(0, 16.98), (0.5, 16.74), (2, 16.02), (5, 14.56), (10, 12.06), (15, 9.49), (20, 6.78)],
)
def test_nitrate_in_the_return_sludge(nitrate, potential):
    assert plant(RAW, nitrate=float(nitrate)).potential == pytest.approx(potential, abs=0.005)


@pytest.mark.parametrize(
    ("temperature", "potentials"),
    [
        (10.0, (21.6, 20.2, 18.6, 17.3, 15.2)),
        (14.0, (21.5, 19.8, 18.1, 16.7, 14.6)),
        (20.0, (21.2, 19.1, 17.3, 15.9, 13.7)),
    ],
)
def test_sludge_age_and_temperature(temperature, potentials):
    srt = np.array([[5.0, 10.0, 15.0, 20.0, 30.0]])
    run = plant(RAW, srt=srt, temperature=temperature)
    np.testing.assert_allclose(run.potential, [potentials], atol=0.051)


@pytest.mark.parametrize(
    ("anaerobic", "stages", "potential"),
    [(0.05, 1, 13.96), (0.10, 1, 15.75), (0.10, 2, 16.74), (0.10, 4, 17.34), (0.20, 2, 18.12)],
)
def test_zone_size_and_stages(anaerobic, stages, potential):
    run = plant(RAW, anaerobic=anaerobic, stages=float(stages))
    assert run.potential == pytest.approx(potential, abs=0.005)


def test_one_pass_is_not_enough():
    """The first pass leaves all COD to ordinary heterotrophs, so too much is stored."""
    first, whole = plant(RAW, passes=1), plant(RAW)
    assert first.left == pytest.approx(10.98, abs=0.005)
    assert first.stored / whole.stored == pytest.approx(1.048, abs=0.0005)


def test_twenty_passes_are_converged():
    for sewage in (RAW, MEDIUM):
        assert plant(sewage).stored == pytest.approx(plant(sewage, passes=60).stored, rel=1e-14)


# ------------------------------------------------ balances

SEWAGES = st.fixed_dictionaries(
    {
        "flow": st.floats(50.0, 1e6), "soluble_inert": st.floats(5.0, 80.0),
        "particulate_inert": st.floats(0.0, 200.0), "vfa": st.floats(0.0, 80.0),
        "fermentable": st.floats(0.0, 200.0), "slow": st.floats(1.5, 10.0),
        "phosphorus": st.floats(1.0, 20.0), "ash": st.floats(0.0, 100.0),
        "temperature": st.floats(6.0, 30.0), "srt": st.floats(2.0, 40.0),
        "anaerobic": st.floats(0.0, 0.3), "stages": st.sampled_from([1.0, 2.0, 3.0, 4.0]),
        "returned": st.floats(0.2, 1.5), "nitrate": st.floats(0.0, 30.0),
    }
)  # fmt: skip


def sewage_of(drawn):
    """Slowly biodegradable COD is a multiple of the readily biodegradable, as in any sewage."""
    readily = drawn["vfa"] + drawn["fermentable"]
    slow = 20.0 + drawn["slow"] * readily
    cod = drawn["soluble_inert"] + drawn["particulate_inert"] + readily + slow
    return {**drawn, "cod": cod, "floor": 0.05, "content": 0.38}


@given(SEWAGES)
def test_cod_closes_for_any_sewage(drawn):
    """Oxygen, sludge and soluble inert COD are all that COD can become; converged or not."""
    run = plant(sewage_of(drawn))
    assert abs(cod_gap(run)) < 1e-9
    assert run.stored >= 0.0
    assert run.stored <= run.sewage.flow * (run.sewage.vfa + run.sewage.fermentable) / 1000.0


@given(SEWAGES)
def test_twenty_passes_converge_for_any_sewage(drawn):
    sewage = sewage_of(drawn)
    once, more = plant(sewage), plant(sewage, passes=PASSES + 1)
    assert more.stored == pytest.approx(once.stored, rel=1e-11, abs=1e-12)


@given(SEWAGES)
def test_phosphorus_closes_with_the_content_found(drawn):
    run = plant(sewage_of(drawn))
    p = run.sewage
    into = run.others + storage.phosphorus_into_mass(run.content, run.storing, p.srt, p.flow)
    if run.storing > 1e-6:
        assert into == pytest.approx(run.removed, rel=1e-9)
    assert run.removed <= run.potential * (1.0 + 1e-12)


def test_worked_plants_close():
    for sewage in (RAW, MEDIUM):
        assert abs(cod_gap(plant(sewage))) < 1e-9


# ------------------------------------------------ directions


@pytest.mark.parametrize(
    ("name", "values", "sign"),
    [
        ("nitrate", np.linspace(0.0, 20.0, 9), -1),
        ("srt", np.linspace(4.0, 40.0, 9), -1),
        ("temperature", np.linspace(8.0, 28.0, 9), -1),
        ("stages", np.arange(1.0, 7.0), 1),
        ("anaerobic", np.linspace(0.02, 0.3, 9), 1),
        ("content", np.linspace(0.15, 0.38, 5), 1),
    ],
)
def test_potential_moves_one_way(name, values, sign):
    """Nitrate eats the carbon, decay eats the organisms, warmth speeds decay; zones ferment."""
    potential = plant(RAW, **{name: values[np.newaxis, :]}).potential
    assert (sign * np.diff(potential) > 0.0).all()


def test_more_volatile_fatty_acids_take_more_phosphorus():
    vfa = np.linspace(0.0, 100.0, 9)[np.newaxis, :]
    assert (np.diff(plant(RAW, vfa=vfa, cod=728.0 + vfa).potential) > 0.0).all()


def test_anaerobic_phosphate_is_diluted_by_the_return_sludge():
    half, one = (storage.anaerobic_phosphate(9.0, s, 0.1, 30.0) for s in (0.5, 1.0))
    assert one / half == pytest.approx(0.75, abs=0.005)


# ------------------------------------------------ limits


def test_without_carbon_nothing_is_stored():
    run = plant(RAW, vfa=0.0, fermentable=0.0)
    assert run.stored == 0.0
    assert run.content == 0.0
    assert run.released == 0.0


def test_without_an_anaerobic_zone_only_acids_are_stored():
    run = plant(RAW, anaerobic=0.0)
    assert run.stored == pytest.approx(15.0 * 22.0, rel=1e-12)


def test_nitrate_takes_fermentables_first_and_acids_then():
    debit = np.array([[0.0, 20.0, 30.0, 40.0, 50.0, 60.0]])
    fermentable = storage.fermentables_after_debit(30.0, debit)
    acids = storage.vfa_after_debit(20.0, 30.0, debit)
    np.testing.assert_allclose(fermentable, [[30.0, 10.0, 0.0, 0.0, 0.0, 0.0]])
    np.testing.assert_allclose(acids, [[20.0, 20.0, 20.0, 10.0, 0.0, 0.0]])


def test_at_20_degrees_nothing_is_corrected():
    assert growth.temperature_corrected(0.24, 1.029, 20.0) == 0.24


def test_polyphosphate_ash_is_never_negative():
    assert storage.storage_ash_content(0.01, 0.15, 3.286, 0.03) == 0.15


@given(st.floats(2.0, 40.0), st.floats(0.2, 0.6), st.floats(0.0, 0.3), st.floats(0.0, 0.4))
def test_added_carbon_closed_form_is_the_model(srt, organism_yield, decay, residue):
    """1 kg of stored COD through the masses gives the ratios of the closed form."""
    mass = growth.active_mass(1.0, srt, organism_yield, decay)
    left = growth.endogenous_mass(mass, srt, decay, residue)
    taken = (0.3 * mass + 0.03 * left) / srt
    volatile = carbon.volatile_per_cod(srt, organism_yield, decay, residue)
    per_phosphorus = carbon.cod_per_phosphorus(srt, organism_yield, decay, residue, 0.3, 0.03)
    oxygen = growth.oxygen_for_carbon(1.0, srt, organism_yield, decay, residue, 1.48)
    assert per_phosphorus == pytest.approx(1.0 / taken, rel=1e-12)
    assert volatile == pytest.approx((mass + left) / srt, rel=1e-12)
    assert carbon.ash_per_cod(srt, organism_yield, decay, 1.3) == pytest.approx(1.3 * mass / srt)
    assert carbon.oxygen_per_cod(volatile, 1.48) == pytest.approx(oxygen, rel=1e-9, abs=1e-12)


def test_ratios_at_other_contents():
    """Design practice scales the need by the content that the organisms reach."""
    need = [carbon.cod_per_phosphorus(10.0, 0.45, 0.04, 0.25, f, 0.03) for f in (0.38, 0.30, 0.25)]
    assert need[1] / need[0] == pytest.approx(1.26, abs=0.01)
    assert need[2] / need[0] == pytest.approx(1.51, abs=0.01)


# ------------------------------------------------ compounds


@pytest.mark.parametrize("formula", ["CH4N2O", "H2O", "NaCl"])
def test_compound_without_a_plain_cod_is_refused(formula):
    with pytest.raises(ValueError, match=f"found formula '{formula}'; needs carbon"):
        carbon.carbon_product_cod(formula)


def test_carbon_dioxide_has_no_cod():
    assert carbon.carbon_product_cod("CO2") == 0.0


# ------------------------------------------------ one calculation, all branches


def test_whole_model_recorded_is_the_whole_model():
    """All 20 passes with recording numbers: the same to the last digits, no draw decided."""
    months = np.linspace(0.0, 22.0, 12)[np.newaxis, :]  # nitrate up to where acids are debited
    changes = {"nitrate": months, "temperature": 8.0 + months, "flow": 15000.0 + 100.0 * months}
    expected = plant(RAW, **changes)
    recorded = plant(RAW, **{k: Recorded.field(k, v) for k, v in changes.items()})
    for name in ("stored", "left", "solids", "oxygen", "potential", "content", "anaerobic"):
        value = getattr(recorded, name)
        assert isinstance(value, Recorded)
        np.testing.assert_allclose(value.plain, getattr(expected, name), rtol=1e-12)


def test_cases_are_the_plants_one_by_one():
    rng = np.random.default_rng(5)
    nitrate, srt = 25.0 * rng.random((4, 12)), 5.0 + 20.0 * rng.random((4, 1))
    together = plant(RAW, nitrate=nitrate, srt=srt)
    for place in np.ndindex(4, 12):
        alone = plant(RAW, nitrate=float(nitrate[place]), srt=float(srt[place[0], 0]))
        for name in ("stored", "solids", "oxygen", "potential", "content"):
            value = getattr(together, name)[place]
            assert value == pytest.approx(getattr(alone, name), rel=1e-12)


def test_every_acceptor_of_electrons_costs_its_cod():
    """Nitrate and oxygen, of the return sludge by its share of the flow and of the sewage."""
    ones = {"return_ratio": 0.5, "return_nitrate": 0.0, "influent_nitrate": 0.0,
            "return_oxygen": 0.0, "influent_oxygen": 0.0, "nitrate_debit": 8.6,
            "oxygen_debit": 3.0}  # fmt: skip
    for name, expected in (("return_nitrate", 4.3), ("influent_nitrate", 8.6),
                           ("return_oxygen", 1.5), ("influent_oxygen", 3.0)):  # fmt: skip
        assert storage.acceptor_debit(**{**ones, name: 1.0}) == pytest.approx(expected)
