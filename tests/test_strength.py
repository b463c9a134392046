"""Strength of products: one metal whatever the basis, and every row of the tables from its spec."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from pcompare import products, tables
from pcompare.equations import specification, stoichiometry
from pcompare.equations import strength as eq

MEASURES = ("% w/w", "% w/v", "g/L", "lb/gal")
densities = st.floats(0.8, 2.0)
fractions = st.floats(0.001, 0.6)
# How each product is quoted: strength, basis, density, basicity, free acid or excess caustic.
QUOTED = {
    "liquid_alum": (647.0, "salt g/L", 1.335, 0.0, 0.0, "HCl"),
    "ferric_chloride": (40.0, "salt % w/w", 1.42, 0.0, 0.0, "HCl"),
    "ferric_sulfate": (12.0, "metal % w/w", 1.56, 0.0, 0.0, "HCl"),
    "ferric_chloride_sulfate": (12.3, "metal % w/w", 1.5, 0.0, 0.0, "HCl"),
    "ferrous_chloride": (10.0, "metal % w/w", 1.22, 0.0, 0.0, "HCl"),
    "ferrous_sulfate": (100.0, "salt % w/w", 1.0, 0.0, 0.0, "HCl"),
    "pickle_liquor": (8.5, "metal % w/w", 1.2, 0.0, 0.07, "H2SO4"),
    "polyaluminium_chloride": (10.0, "Al2O3 % w/w", 1.2, 0.5, 0.0, "HCl"),
    "sodium_aluminate": (32.0, "salt % w/w", 1.5, 0.0, 0.10, "NaOH"),
    "cerium_chloride": (22.0, "metal % w/w", 1.5, 0.0, 0.0, "HCl"),
    "lanthanum_chloride": (22.0, "metal % w/w", 1.5, 0.0, 0.0, "HCl"),
}
SALTS = [p for p in products.all_products() if p.kind != "lime"]


def quoted(fraction, measure, density):
    """State a mass fraction as the trade does, by plain arithmetic."""
    return {
        "% w/w": 100.0 * fraction,
        "% w/v": 100.0 * fraction * density,
        "g/L": 1000.0 * fraction * density,
        "lb/gal": fraction * density * 3.785411784 / 0.45359237,
    }[measure]


@pytest.mark.parametrize("measure", MEASURES)
@given(fractions, densities)
def test_every_basis_gives_the_same_metal(measure, fraction, density):
    """Salt, oxide and metal in any measure: one product, one metal fraction."""
    salt, metal = "Al2(SO4)3.14H2O", "Al"
    by_salt = stoichiometry.metal_fraction_from_salt(fraction, salt, metal)
    oxide = by_salt / stoichiometry.metal_fraction_from_oxide(1.0)
    for substance, amount in (("salt", fraction), ("Al2O3", oxide), ("metal", by_salt)):
        found = eq.metal_fraction_from_strength(
            quoted(amount, measure, density), f"{substance} {measure}", salt, metal, density
        )
        assert found == pytest.approx(by_salt, rel=1e-12)


@given(fractions, densities)
def test_volume_strengths_are_inverse(fraction, density):
    grams, pounds = eq.mass_per_volume(fraction, density), eq.pounds_per_gallon(fraction, density)
    assert eq.fraction_from_mass_per_volume(grams, density) == pytest.approx(fraction, rel=1e-14)
    assert eq.fraction_from_pounds_per_gallon(pounds, density) == pytest.approx(fraction, rel=1e-14)
    # 1 lb/gal is 119.8264 g/L
    assert grams / pounds == pytest.approx(119.8264, rel=1e-6)


@pytest.mark.parametrize(
    ("basis", "metal"),
    [("salt ppm", "Fe"), ("brine % w/w", "Fe"), ("Al2O3 % w/w", "Fe"), ("", "Fe"), ("metal", "Fe")],
)
def test_an_unknown_basis_is_refused(basis, metal):
    with pytest.raises(ValueError, match="found basis"):
        eq.metal_fraction_from_strength(10.0, basis, "FeCl3", metal, 1.4)


def test_every_basis_that_a_user_may_name_is_known_to_the_equation():
    for basis in products.BASES:
        assert eq.metal_fraction_from_strength(5.0, basis, "AlCl3", "Al", 1.2) > 0.0


def test_strengths_agree_with_molmass():
    """No arguments: run again with every changed atomic weight."""
    alum = Formula("Al2(SO4)3").mass + 14.0 * Formula("H2O").mass
    found = eq.metal_fraction_from_strength(48.5, "salt % w/w", "Al2(SO4)3.14H2O", "Al", 1.3)
    assert found == pytest.approx(0.485 * 2.0 * Formula("Al").mass / alum, rel=1e-4)
    found = specification.excess_per_metal(0.07, "H2SO4", 0.085, "Fe")
    acid = 0.07 / Formula("H2SO4").mass / (0.085 / Formula("Fe").mass)
    assert found == pytest.approx(acid, rel=1e-4)
    properties = specification.product_properties(
        8.5, "metal % w/w", "FeSO4", "Fe", 1.2, 0.0, 0.07, "H2SO4"
    )
    assert properties.sulfate_per_metal == pytest.approx(1.0 + acid, rel=1e-4)


def test_printed_alum_of_27_percent_oxide_is_a_misprint():
    """One operator handbook prints it: dry alum 14H2O holds 17.15 % Al2O3."""
    dry = eq.metal_fraction_from_strength(100.0, "salt % w/w", "Al2(SO4)3.14H2O", "Al", 1.0)
    assert dry / stoichiometry.metal_fraction_from_oxide(1.0) == pytest.approx(0.1715, abs=1e-4)


# ------------------------------------------------ what a specification says


@pytest.mark.parametrize("product", SALTS, ids=lambda p: p.name)
def test_rows_of_the_table_follow_from_the_specification(product):
    """Each shipped number again from formula and strength; three printed digits are allowed."""
    strength, basis, density, *rest = QUOTED[product.name]
    found = specification.product_properties(
        strength, basis, product.salt_formula, product.metal, density, *rest
    )
    known = tables.coefficients()
    for name, value in found._asdict().items():
        row = known[f"{product.name}_{name}"]
        tolerance = {"metal_fraction": 3e-3}.get(name, 4e-4)
        assert value == pytest.approx(row.value, rel=tolerance, abs=1e-12), row.name
    assert density == pytest.approx(known[f"{product.name}_density"].value)


@pytest.mark.parametrize("product", SALTS, ids=lambda p: p.name)
def test_oxygen_is_for_iron_of_charge_two(product):
    known = tables.coefficients()
    ferrous = product.salt_formula.partition(".")[0] in ("FeCl2", "FeSO4")
    assert (known[f"{product.name}_oxygen_per_metal"].value == 0.25) == ferrous
    assert (known[f"{product.name}_conversion"].value < 1.0) == ferrous


@given(st.floats(0.0, 1.0))
def test_basicity(basicity):
    """Hydroxide and chloride together balance the metal; at 1 no alkalinity is used."""
    found = specification.product_properties(
        10.0, "Al2O3 % w/w", "AlCl3", "Al", 1.2, basicity, 0.0, "HCl"
    )
    hydroxide = specification.hydroxide_from_basicity(basicity)
    assert hydroxide + found.chloride_per_metal == pytest.approx(3.0, rel=1e-14)
    assert specification.basicity_from_hydroxide(hydroxide) == pytest.approx(basicity, rel=1e-14)
    assert found.equivalents_per_metal == pytest.approx(3.0 * (1.0 - basicity), abs=1e-14)
    assert found.oxygen_per_metal == 0.0


def test_basicity_of_one_uses_no_alkalinity():
    pure = specification.product_properties(
        10.0, "Al2O3 % w/w", "AlCl3", "Al", 1.2, 1.0, 0.0, "HCl"
    )
    assert pure.equivalents_per_metal == 0.0
    assert pure.chloride_per_metal == 0.0


@given(st.floats(0.01, 0.2), st.floats(0.03, 0.15))
def test_free_acid_adds_to_the_alkalinity_used(acid, iron):
    """1.373 and 1.021 mg CaCO3 per mg of HCl and H2SO4, whatever the metal."""
    for formula, expected in (("HCl", 1.373), ("H2SO4", 1.021)):
        found = specification.product_properties(
            100.0 * iron, "metal % w/w", "FeCl2", "Fe", 1.2, 0.0, acid, formula
        )
        more = (found.equivalents_per_metal - 2.0) * 50.04 * iron / 55.845
        assert more / acid == pytest.approx(expected, rel=1e-3)


@given(st.floats(0.0, 0.2))
def test_excess_caustic_adds_to_the_alkalinity_gained(caustic):
    found = specification.product_properties(
        32.0, "salt % w/w", "NaAlO2", "Al", 1.5, 0.0, caustic, "NaOH"
    )
    assert found.equivalents_per_metal == pytest.approx(-found.sodium_per_metal, rel=1e-14)
    assert found.sodium_per_metal >= 1.0
    assert found.oxygen_per_metal == 0.0


def test_freezing_margin_has_the_sign_of_safety():
    assert (
        specification.freezing_margin(-20.0, -15.6) < 0.0 < specification.freezing_margin(5, -15.6)
    )
