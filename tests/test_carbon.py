"""Carbon that is bought: another program's compositions, the table of products, the cheapest."""

from __future__ import annotations

import molmass
import pytest

from pcompare import tables
from pcompare.equations import carbon, stoichiometry
from pcompare.equations.alkalinity import alkalinity_from_sodium_acetate
from pcompare.equations.nitrogen import NEVER

PRODUCTS = {row.text("product"): row for row in tables.read("carbon_products")}
every_product = pytest.mark.parametrize("product", PRODUCTS)
# Carbon, hydrogen, oxygen and metal atoms, as written by another program
WRITTEN = {
    "C2H4O2": (2, 4, 2, 0), "C2H3O2Na": (2, 3, 2, 1), "C3H6O2": (3, 6, 2, 0),
    "C3H8O3": (3, 8, 3, 0), "C2H6O": (2, 6, 1, 0), "C12H22O11": (12, 22, 11, 0),
    "CH4O": (1, 4, 1, 0),
}  # fmt: skip


def c(name):
    return tables.coefficients()[name].value


def cod(product):
    """COD of the compound, or of the product where it has no formula [g COD/g]."""
    formula = PRODUCTS[product].text("formula")
    return carbon.carbon_product_cod(formula) if formula else c(f"{product}_cod")


def strength(product):
    return c(f"{product}_strength") if PRODUCTS[product].text("formula") else 1.0


def test_products_agree_with_molmass():
    """Oxygen to burn the compound to carbon dioxide, water and the hydroxide of its metal."""
    for formula, (c_atoms, h_atoms, o_atoms, metal) in WRITTEN.items():
        oxygen = (c_atoms + (h_atoms + metal) / 4 - o_atoms / 2) * molmass.Formula("O2").mass
        expected = oxygen / molmass.Formula(formula).mass
        assert carbon.carbon_product_cod(formula) == pytest.approx(expected, rel=1e-4), formula
        sodium = metal * molmass.Formula("Na").mass / oxygen
        assert carbon.sodium_per_cod(formula) == pytest.approx(sodium, rel=1e-4), formula
        alkalinity = metal * molmass.Formula("CaCO3").mass / 2.0 / oxygen
        assert carbon.alkalinity_per_cod(formula) == pytest.approx(alkalinity, rel=1e-4), formula


def test_every_formula_of_the_table_is_held_against_molmass():
    formulas = {row.text("formula") for row in PRODUCTS.values()} - {""}
    assert formulas == set(WRITTEN)


@every_product
def test_every_product_has_its_numbers(product):
    names = (
        "density",
        "usable",
        *(("strength",) if PRODUCTS[product].text("formula") else ("cod",)),
    )
    for name in names:
        assert f"{product}_{name}" in tables.coefficients()
    assert 0.0 <= c(f"{product}_usable") <= 1.0


@every_product
def test_every_product_says_what_it_is(product):
    row = PRODUCTS[product]
    assert row.text("origin") in ("fossil", "biogenic")
    assert row.text("form") in ("liquid", "solid")
    assert row.text("freezing")
    assert row.text("handling").endswith(".")
    assert row.text("usable_reason").endswith(".")


@pytest.mark.parametrize(
    ("product", "low", "high"),
    [
        ("acetic_acid", 0.911, 0.913), ("sodium_acetate", 0.270, 0.272),
        ("propionic_acid", 1.47, 1.49), ("glycerol", 1.17, 1.19), ("ethanol", 1.59, 1.61),
        ("methanol", 1.18, 1.20), ("molasses", 1.0, 1.2), ("sugar", 0.8, 0.9),
    ],
)  # fmt: skip
def test_cod_of_a_litre_as_delivered(product, low, high):
    assert low <= cod(product) * strength(product) * c(f"{product}_density") <= high


@every_product
def test_use_and_volume_bring_the_cod_back(product):
    used = carbon.carbon_product_use(1000.0, cod(product), strength(product))
    assert used * strength(product) * cod(product) == pytest.approx(1000.0)
    volume = stoichiometry.product_volume(used, c(f"{product}_density"))
    assert volume * 1000.0 * c(f"{product}_density") == pytest.approx(used)


def test_alkalinity_of_acetate_is_told_in_one_way():
    per_cod = carbon.alkalinity_per_cod("C2H3O2Na")
    assert alkalinity_from_sodium_acetate(1.0) == pytest.approx(per_cod, rel=1e-4)


def test_salt_and_alkalinity_per_phosphorus():
    """At 8.12 g COD for each g P: 2.92 g of sodium and 6.35 g of alkalinity."""
    assert 8.12 * carbon.sodium_per_cod("C2H3O2Na") == pytest.approx(2.92, abs=0.005)
    assert 8.12 * carbon.alkalinity_per_cod("C2H3O2Na") == pytest.approx(6.35, abs=0.005)


def test_what_cannot_be_used_is_never_the_cheapest():
    """Methanol at half the price of all others, and its neighbours by usable share alone."""

    def price(product, per_kilogram):
        return carbon.price_per_usable_cod(
            per_kilogram, cod(product), strength(product), c(f"{product}_usable")
        )

    prices = {product: price(product, 0.5) for product in PRODUCTS}
    prices["methanol"] = price("methanol", 0.25)
    assert prices["methanol"] == NEVER
    assert min(prices, key=prices.__getitem__) == "propionic_acid"
    assert prices["glycerol"] * c("glycerol_usable") * cod("glycerol") == pytest.approx(
        0.5 / c("glycerol_strength")
    )


def test_potassium_brings_as_much_alkalinity_as_sodium():
    """One equivalent for each atom, 64 g COD for each acetate: 50.04/63.996."""
    for formula in ("C2H3O2Na", "C2H3O2K"):
        expected = molmass.Formula("CaCO3").mass / 2.0 / (2.0 * molmass.Formula("O2").mass)
        assert carbon.alkalinity_per_cod(formula) == pytest.approx(expected, rel=2e-4)


def test_a_compound_without_oxygen_takes_all_of_its_own():
    """CH4 + 2 O2: methane, by molmass."""
    expected = 2.0 * molmass.Formula("O2").mass / molmass.Formula("CH4").mass
    assert carbon.carbon_product_cod("CH4") == pytest.approx(expected, rel=2e-4)
