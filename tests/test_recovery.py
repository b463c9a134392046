"""Struvite and the return load: another program's masses, the loop run to its end, limits."""

from __future__ import annotations

import molmass
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from pcompare import tables
from pcompare.equations import recovery, sludge
from pcompare.equations.alkalinity import alkalinity_from_base

SHARES = st.floats(0.0, 1.0)
MAGNESIUM = {"MgCl2": "MgCl2", "MgCl2.6H2O": "MgCl2H12O6", "Mg(OH)2": "Mg(OH)2", "MgO": "MgO"}


def mass(formula):
    return molmass.Formula(formula).mass


def c(name):
    return tables.coefficients()[name].value


# ------------------------------------------------ other programs


def test_masses_agree_with_molmass():
    phosphorus = mass("P")
    struvite = mass("MgNH4PO4H12O6")
    near = {"rel": 2e-4}
    assert recovery.struvite_mass(phosphorus) == pytest.approx(struvite, **near)
    assert recovery.nitrogen_in_struvite(phosphorus) == pytest.approx(mass("N"), **near)
    assert recovery.phosphate_as_oxide(2.0 * phosphorus) == pytest.approx(mass("P2O5"), **near)
    assert recovery.magnesium_demand(phosphorus, 1.0) == pytest.approx(mass("Mg"), **near)
    caustic = recovery.struvite_caustic(phosphorus, 1.0, 1.0, "MgCl2")
    assert caustic == pytest.approx(mass("NaOH"), **near)
    for formula, written in MAGNESIUM.items():
        product = recovery.magnesium_product(mass("Mg"), formula)
        assert product == pytest.approx(mass(written), **near), formula
    # mass shares of the printed composition: 12.62 % P, 5.71 % N, 9.90 % Mg
    assert 1.0 / recovery.struvite_mass(1.0) == pytest.approx(0.1262, abs=5e-5)


@given(st.floats(0.5, 30.0), st.floats(0.0, 0.5), st.floats(0.0, 0.9))
def test_loop_agrees_with_scipy(raw, left, share):
    """The closed form is where the residual crosses zero."""
    closed = recovery.reactor_phosphorus(raw, left, share)

    def miss(found):
        return recovery.return_load_residual(found, raw, left, share)

    crossing = optimize.brentq(miss, 0.0, 1000.0, xtol=1e-12, rtol=1e-14)
    assert closed == pytest.approx(crossing, rel=1e-9)
    assert miss(closed) == pytest.approx(0.0, abs=1e-9)


# ------------------------------------------------ the return load


def test_loop_is_what_going_round_it_gives():
    raw, left, share, feed = 7.0, 0.5, 0.2, 7.0
    for _ in range(60):
        feed = raw + share * (feed - left)
    assert recovery.reactor_phosphorus(raw, left, share) == pytest.approx(feed, rel=1e-12)


@given(st.floats(0.5, 30.0), SHARES, st.floats(0.0, 0.95))
def test_what_comes_in_goes_out(raw, part, share):
    """Effluent and sludge together carry the raw phosphorus, whatever goes round."""
    left = raw * part
    feed = recovery.reactor_phosphorus(raw, left, share)
    for_good = (1.0 - share) * (feed - left)
    assert left + for_good == pytest.approx(raw)
    assert feed >= raw * (1.0 - 1e-12)


def test_effluent_that_keeps_some_lowers_the_return():
    """With nothing left it is raw/(1 - share); whatever leaves cannot come back."""
    assert recovery.reactor_phosphorus(7.0, 0.0, 0.2) == pytest.approx(7.0 / 0.8)
    assert recovery.reactor_phosphorus(7.0, 1.0, 0.2) < 7.0 / 0.8


def test_usual_shares_give_the_usual_return():
    """Two thirds stored, digested: the 20 % that the sludge line is set to return."""
    share = recovery.returned_share(0.66, c("stored_release_share"), c("release_fixed_share"), 0.0)
    assert share == pytest.approx(c("return_phosphorus_stored"), abs=0.01)
    assert 0.10 <= share <= 0.30


# ------------------------------------------------ recovery


def test_recovery_of_the_liquor_is_a_small_share_of_the_influent():
    """90 % of the liquor, yet 10 to 25 % of what enters the plant."""
    entering = 100.0
    liquor = recovery.liquor_phosphorus(
        0.66 * 0.9 * entering, c("stored_release_share"), c("release_fixed_share")
    )
    found = recovery.recovered_phosphorus(
        liquor, c("recovery_efficiency"), c("recovery_product"), entering, c("recovery_ceiling")
    )
    assert 0.10 <= recovery.influent_share(found, entering) <= 0.25


@given(st.floats(0.0, 500.0), SHARES, SHARES, st.floats(0.0, 500.0), SHARES)
def test_recovery_keeps_its_ceilings(liquor, efficiency, product, entering, ceiling):
    found = recovery.recovered_phosphorus(liquor, efficiency, product, entering, ceiling)
    assert 0.0 <= found <= liquor
    assert found <= ceiling * entering
    assert recovery.influent_share(found, entering) <= 1.0


def test_nothing_enters_nothing_is_shared():
    assert recovery.influent_share(0.0, 0.0) == 0.0


@given(st.floats(0.1, 300.0), st.floats(0.0, 2.0), st.floats(1.0, 1.4))
def test_hydroxide_and_oxide_spare_the_caustic(load, acid, excess):
    """Alkalinity balance: acid set free, less base of the magnesium product, less caustic."""
    for formula in ("MgCl2", "MgCl2.6H2O", "Mg(OH)2", "MgO"):
        brought = excess * recovery.HYDROXIDE[formula]
        caustic = recovery.struvite_caustic(load, acid, excess, formula)
        moles = load / tables.molar_mass("P")
        equivalents = alkalinity_from_base(caustic, "NaOH", 1.0) / 50.04
        missing = max(acid - brought, 0.0) * moles
        assert equivalents == pytest.approx(missing, rel=1e-3, abs=1e-9)
    assert recovery.struvite_caustic(load, acid, excess, "MgO") == 0.0


@pytest.mark.parametrize("formula", ["CaCl2", "NaCl"])
def test_another_metal_is_a_fault(formula):
    with pytest.raises(ValueError, match="magnesium"):
        recovery.magnesium_product(1.0, formula)
    with pytest.raises(ValueError, match="needs one of"):
        recovery.struvite_caustic(1.0, 1.0, 1.0, formula)


def test_recovered_struvite_is_cake_that_is_not_hauled():
    """At 5 % of the dry solids, in the 2 to 8 % that plants report."""
    struvite = recovery.struvite_mass(15.0)
    cake = sludge.wet_cake(2400.0, 0.22) - sludge.wet_cake(2400.0 - struvite, 0.22)
    assert 0.02 <= cake / sludge.wet_cake(2400.0, 0.22) <= 0.08


def test_neutral_salts_of_magnesium_spare_no_caustic():
    """Chloride and sulfate bring no base; hydroxide and oxide two hydroxides for each magnesium."""
    one = tables.molar_mass("P")  # kg/d: one kilomole
    need = {f: recovery.struvite_caustic(one, 1.0, 0.2, f) for f in recovery.HYDROXIDE}
    neutral = need["MgCl2"]
    assert neutral == pytest.approx(mass("NaOH"), rel=2e-4)
    assert need["MgSO4"] == need["MgCl2.6H2O"] == neutral
    for formula in ("Mg(OH)2", "MgO"):
        assert need[formula] == pytest.approx((1.0 - 2.0 * 0.2) * neutral, rel=1e-12)
