"""What is bought: price bases there and back, cost of a salt per phosphorus, credits, lorries."""

from __future__ import annotations

import molmass
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare.equations import purchases
from pcompare.units import SHORT_TON

PRICES = st.floats(0.01, 1e5)
SHARES = st.floats(0.02, 1.0)


def test_salt_cost_agrees_with_molmass():
    """Two mol of metal per mol: pounds of product per pound, by another program's weights."""
    phosphorus = molmass.Formula("P").mass
    for metal, share in (("Al", 0.0908), ("Fe", 0.3443), ("La", 0.22)):
        per_mass = 2.0 * molmass.Formula(metal).mass / phosphorus / share
        computed = purchases.salt_cost_per_phosphorus(1000.0, share, 2.0, metal)
        assert computed == pytest.approx(per_mass, rel=2e-4)


def test_pounds_of_product_per_pound_of_phosphorus():
    """19.19 for dry alum of 9.08 % Al and 10.47 for ferric chloride of 34.43 % Fe."""
    alum = purchases.salt_cost_per_phosphorus(1000.0, 0.0908, 2.0, "Al")
    ferric = purchases.salt_cost_per_phosphorus(1000.0, 0.3443, 2.0, "Fe")
    assert alum == pytest.approx(19.19, abs=0.005)
    assert ferric == pytest.approx(10.47, abs=0.005)


@given(PRICES, SHARES, SHARES)
def test_a_price_there_and_back_is_the_same(price, dry, mass):
    """The same money buys the same pure substance whatever the quotation counts."""
    delivered = purchases.price_on_basis(price, mass, dry, 1.0)
    back = purchases.price_on_basis(delivered, 1.0, 1.0, dry)
    assert back == pytest.approx(price / mass, rel=1e-12)


def test_a_short_ton_is_lighter_than_a_tonne():
    assert purchases.price_on_basis(100.0, SHORT_TON, 1.0, 1.0) == pytest.approx(110.2311, abs=1e-4)


@given(st.floats(0.0, 10.0), st.floats(0.01, 10.0), st.floats(1.0, 4.0))
def test_credits_cover_what_stands_above_the_target(total, target, ratio):
    found = purchases.phosphorus_to_cover(total, target, 1000.0, ratio)
    assert (found == 0.0) == (total <= target)
    assert found == pytest.approx(max(total - target, 0.0) * 365.0 * ratio)


def test_lorries_of_a_year():
    """A tank lorry each day, and a load of cake every second day."""
    month = purchases.lorry_loads(18.0, 18.0, 10.0, 20.0)
    assert 12.0 * month == pytest.approx(365.0 * 1.5)
