"""Nitrifiers and nitrate: inverses, balances put back, limits, directions and all branches."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import tables
from pcompare.equations import growth as organisms
from pcompare.equations import nitrogen as nit
from pcompare.equations import storage
from pcompare.recording import Recorded

RATES = {"growth_rate": 0.90, "nitrifier_decay_rate": 0.17}


def rates(temperature):
    c = tables.coefficients()
    return tuple(
        organisms.temperature_corrected(
            c[f"nitrifier_{kind}"].value, c[f"nitrifier_{kind}_theta"].value, temperature
        )
        for kind in ("growth", "decay")
    )


# ------------------------------------------------ nitrifiers


@pytest.mark.parametrize(
    ("temperature", "printed", "tolerance"),
    [(8.0, 3.70, 0.005), (10.0, 3.11, 0.005), (14.0, 2.22, 0.005), (20.0, 1.37, 0.005),
     (25.0, 0.93, 0.005)],
)  # fmt: skip
def test_least_sludge_age_by_temperature(temperature, printed, tolerance):
    growth, decay = rates(temperature)
    least = nit.nitrifier_minimum_srt(growth, decay, 0.0, 1.0, 1.0)
    assert least == pytest.approx(printed, abs=tolerance)


def test_growth_of_one_set_with_decay_of_the_other_washes_out():
    """The trap of mixed sets: textbook growth with measured decay at 8 degC, 40 % unaerated."""
    growth = organisms.temperature_corrected(0.45, 1.123, 8.0)
    _, decay = rates(8.0)
    assert nit.nitrifier_minimum_srt(growth, decay, 0.4, 1.0, 1.0) == nit.NEVER


@given(
    st.floats(0.1, 1.5), st.floats(0.01, 0.2), st.floats(0.0, 0.6), st.floats(0.3, 1.0),
    st.floats(2.0, 60.0), st.floats(0.1, 2.0), st.floats(5.0, 80.0),
)  # fmt: skip
def test_ammonia_and_sludge_age_are_inverse(growth, decay, unaerated, oxygen, srt, half, available):
    """The sludge age that holds the ammonia left is the sludge age that left it."""
    left = nit.effluent_ammonia(growth, decay, unaerated, oxygen, srt, half, available)
    washout = nit.nitrifier_minimum_srt(growth, decay, unaerated, oxygen, 1.0)
    assert 0.0 < left <= available
    if left < available:
        assert srt > washout
        held = nit.nitrifier_minimum_srt(growth, decay, unaerated, oxygen, nit.monod(left, half))
        assert held == pytest.approx(srt, rel=1e-9)
    else:
        # Either washed out, or so close to it that there is not enough ammonia to live on.
        short = nit.nitrifier_minimum_srt(
            growth, decay, unaerated, oxygen, nit.monod(available, half)
        )
        assert srt <= short * (1.0 + 1e-9)


def test_least_sludge_age_is_finite_where_nothing_grows():
    for growth, unaerated, oxygen in ((0.0, 0.0, 1.0), (0.9, 1.0, 1.0), (0.9, 0.0, 0.0)):
        assert nit.nitrifier_minimum_srt(growth, 0.17, unaerated, oxygen, 1.0) == nit.NEVER


def test_least_sludge_age_moves_one_way():
    """Cold, unaerated mass, little oxygen and a low ammonia limit all ask for more sludge age."""
    warm = np.linspace(6.0, 28.0, 12)[np.newaxis, :]
    growth, decay = rates(warm)
    share = np.linspace(0.1, 1.0, 12)[np.newaxis, :]
    assert (np.diff(nit.nitrifier_minimum_srt(growth, decay, 0.2, 0.8, 1.0)) < 0.0).all()
    assert (np.diff(nit.nitrifier_minimum_srt(2.0, 0.05, 1.0 - share, 0.8, 1.0)) < 0.0).all()
    assert (np.diff(nit.nitrifier_minimum_srt(2.0, 0.05, 0.0, share, 1.0)) < 0.0).all()
    assert (np.diff(nit.nitrifier_minimum_srt(2.0, 0.05, 0.0, 1.0, share)) < 0.0).all()


def test_ammonia_falls_with_sludge_age_and_passes_through_below_washout():
    srt = np.array([[0.5, 1.0, 1.3, 1.6, 2.0, 3.0, 5.0, 10.0, 30.0]])
    left = nit.effluent_ammonia(**RATES, unaerated_fraction=0.0, oxygen_factor=1.0, srt=srt,
                                half_constant_ammonia=0.5, ammonium_available=30.0)  # fmt: skip
    assert (left[0, :3] == 30.0).all()
    assert (np.diff(left[0, 2:]) < 0.0).all()


def test_monod_limits():
    assert nit.monod(0.0, 0.5) == 0.0
    assert nit.monod(0.5, 0.5) == 0.5
    assert nit.monod(1e9, 0.5) == pytest.approx(1.0, rel=1e-9)


# ------------------------------------------------ nitrate


@given(
    st.floats(1.0, 80.0), st.floats(0.1, 100.0), st.floats(0.2, 1.5), st.floats(0.0, 4.0),
    st.floats(0.0, 4.0),
)  # fmt: skip
def test_best_recycle_loads_the_zone_to_its_potential(nitrified, potential, s, o_a, o_s):
    """Put back: nitrate and oxygen that the two streams carry in are the potential."""
    best = nit.best_internal_recycle(nitrified, potential, s, o_a, o_s)
    carried = (best + s) * nit.nitrate_after_recycle(nitrified, s, best)
    load = carried + (best * o_a + s * o_s) / nit.oxygen_per_nitrate()
    if best == 0.0:
        assert load >= potential * (1.0 - 1e-12)  # the return sludge alone is too much
    elif best == nit.NEVER:
        assert load <= potential * (1.0 + 1e-5)  # all the nitrate there is, and room left
    else:
        assert load == pytest.approx(potential, rel=1e-9)


def test_best_recycle_as_oxygen_vanishes():
    """Continuous down to no oxygen at all, where it is C/B."""
    for oxygen in (1e-3, 1e-6, 1e-9, 1e-12, 0.0):
        best = nit.best_internal_recycle(30.0, 24.0, 0.5, oxygen, 0.0)
        assert best == pytest.approx(3.5, rel=10.0 * oxygen + 1e-12)


def test_best_recycle_at_its_ends():
    assert nit.best_internal_recycle(30.0, 5.0, 0.5, 2.0, 1.0) == 0.0
    assert nit.best_internal_recycle(30.0, 40.0, 0.5, 0.0, 0.0) == nit.NEVER
    assert nit.best_internal_recycle(30.0, 30.0, 0.5, 0.0, 0.0) == nit.NEVER
    assert nit.best_internal_recycle(0.0, 0.0, 0.5, 0.0, 0.0) == 0.0


def test_best_recycle_moves_one_way():
    more = np.linspace(12.0, 60.0, 12)[np.newaxis, :]
    assert (np.diff(nit.best_internal_recycle(30.0, more, 0.5, 2.0, 1.0)) > 0.0).all()
    assert (np.diff(nit.best_internal_recycle(more, 40.0, 0.5, 2.0, 1.0)) < 0.0).all()
    oxygen = np.linspace(0.0, 4.0, 12)[np.newaxis, :]
    assert (np.diff(nit.best_internal_recycle(30.0, 24.0, 0.5, oxygen, 1.0)) < 0.0).all()


def test_without_recycles_all_nitrate_leaves():
    assert nit.nitrate_after_recycle(30.0, 0.0, 0.0) == 30.0


def test_denitrification_potential_without_a_zone_is_the_readily_biodegradable_part():
    args = {"slow_rate": 0.1, "organism_yield": 0.45, "decay_rate": 0.24, "srt": 10.0,
            "cod_per_vss": 1.48}  # fmt: skip
    none = nit.denitrification_potential(0.0, anoxic_fraction=0.0, biodegradable_cod=300.0, **args)
    some = nit.denitrification_potential(
        100.0, anoxic_fraction=0.0, biodegradable_cod=300.0, **args
    )
    assert none == 0.0
    # What nitrate takes from COD is what COD costs by nitrate, the other way round.
    assert some * storage.cod_per_nitrate(0.666) == pytest.approx(100.0, rel=1e-12)


# ------------------------------------------------ electrons


def test_oxygen_equivalents_by_electrons():
    """NH4+ to NO3- gives 8 electrons, NO3- to N2 takes 5: the ratio is known without weights."""
    assert nit.oxygen_per_nitrate() / nit.oxygen_per_ammonia() == pytest.approx(5.0 / 8.0)
    assert nit.nitrification_oxygen(20.0, 5000.0) == pytest.approx(
        100.0 * nit.oxygen_per_ammonia(), rel=1e-12
    )
    assert nit.denitrification_oxygen_credit(20.0, 5000.0) == pytest.approx(
        100.0 * nit.oxygen_per_nitrate(), rel=1e-12
    )
    assert nit.nitrification_oxygen(0.0, 5000.0) == 0.0


def test_alkalinity_and_oxygen_tell_the_same_story():
    """Carbon oxidised by nitrate needs as much less oxygen as its electrons say: 2.5/4 of 4.57."""
    saved = nit.denitrification_oxygen_credit(1.0, 1000.0) / nit.nitrification_oxygen(1.0, 1000.0)
    assert saved == pytest.approx(0.625, rel=1e-12)


# ------------------------------------------------ one calculation, all branches

BRANCHES = {
    nit.nitrifier_minimum_srt: {
        "growth_rate": [0.9, 0.45, 0.1, 0.0], "nitrifier_decay_rate": [0.17, 0.13, 0.2, 0.1],
        "unaerated_fraction": [0.0, 0.4, 0.4, 0.0], "oxygen_factor": [1.0, 0.8, 0.8, 1.0],
        "ammonia_factor": [1.0, 0.7, 1.0, 1.0],
    },
    nit.effluent_ammonia: {
        "growth_rate": [0.9, 0.9, 0.3, 0.9], "nitrifier_decay_rate": [0.17, 0.17, 0.2, 0.17],
        "unaerated_fraction": [0.0, 0.3, 0.4, 0.0], "oxygen_factor": [0.8, 0.8, 0.8, 1.0],
        "srt": [10.0, 6.0, 10.0, 1.37], "half_constant_ammonia": [0.5, 0.7, 0.5, 0.5],
        "ammonium_available": [30.0, 40.0, 30.0, 20.0],
    },
    nit.best_internal_recycle: {
        "nitrogen_nitrified": [30.0, 30.0, 30.0, 30.0], "potential": [24.0, 40.0, 5.0, 40.0],
        "return_ratio": [0.5, 0.5, 0.5, 0.5], "recycle_oxygen": [2.0, 2.0, 2.0, 0.0],
        "return_oxygen": [1.0, 1.0, 1.0, 0.0],
    },
}  # fmt: skip


@pytest.mark.parametrize("function", BRANCHES, ids=lambda f: f.__name__)
def test_one_calculation_in_every_branch(function):
    cases = {k: np.array([v]) for k, v in BRANCHES[function].items()}
    together = function(**cases)
    recorded = function(**{k: Recorded.field(k, v) for k, v in cases.items()})
    np.testing.assert_allclose(recorded.plain, together, rtol=1e-12)
    assert len(set(together[0].tolist())) > 2, "the cases fall into one branch"
    for place in range(4):
        alone = function(**{k: float(v[0, place]) for k, v in cases.items()})
        assert together[0, place] == pytest.approx(alone, rel=1e-12)


# ------------------------------------------------ a low sludge age without nitrification


def window(temperature, *, unaerated=0.25, oxygen=2.0):
    """Sludge ages that lose nitrifiers and keep the storing organisms, by the tables."""
    c = tables.coefficients()
    growth, decay = rates(temperature)
    factor = nit.monod(oxygen, c["half_oxygen"].value)
    lost = nit.storing_washout(
        c["storing_loss_srt"].value, c["storing_loss_theta"].value, temperature
    )
    washout = nit.nitrifier_washout(growth, decay, unaerated, factor)
    return lost, washout, nit.washout_window(washout, lost)


def test_window_is_open_in_the_cold_and_closes_near_20_degrees():
    """About 3 to 5 d at 12 to 18 degC, as practised; a dynamic model nitrifies at 20 degC."""
    for temperature in (12.0, 14.0, 16.0):
        lost, washout, width = window(temperature)
        assert width > 0.2, temperature
        assert 3.0 < lost < washout < 6.0, temperature
    assert abs(window(18.0)[2]) < 0.2
    for temperature in (20.0, 22.0, 25.0):
        assert window(temperature)[2] < 0.0, temperature


def test_little_oxygen_and_unaerated_sludge_open_the_window():
    wide = window(18.0, oxygen=1.0)[2]
    assert wide > window(18.0)[2]
    assert window(18.0, unaerated=0.4)[2] > window(18.0)[2]


def test_storing_organisms_are_lost_where_plants_lost_them():
    """Lost at 5 d and kept at 15 d at 10 degC; lost at 3 d and kept at 4 d by the model at 20."""
    c = tables.coefficients()
    cold = window(10.0)[0]
    assert 5.0 <= round(cold, 1) <= 15.0
    warm = c["storing_loss_srt"]
    assert warm.low <= 3.0 <= warm.high <= 4.0


def test_age_to_design_for_lies_above_the_bare_loss():
    c = tables.coefficients()
    for temperature in (8.0, 10.0, 14.0, 20.0, 25.0):
        safe = organisms.temperature_corrected(
            c["storing_washout_srt"].value, c["storing_washout_theta"].value, temperature
        )
        assert safe > 1.2 * window(temperature)[0], temperature


def test_nitrifier_washout_is_the_least_age_at_plenty_of_ammonia():
    for ammonia in (0.5, 2.0, 25.0):
        factor = nit.monod(ammonia, 0.5)
        assert nit.nitrifier_washout(0.9, 0.17, 0.3, 0.8) < nit.nitrifier_minimum_srt(
            0.9, 0.17, 0.3, 0.8, factor
        )
    assert nit.nitrifier_washout(0.9, 0.17, 1.0, 0.8) == nit.NEVER
