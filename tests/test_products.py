"""Products: the records, a user's own, and the identities that hold for every one of them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import products, tables
from pcompare.equations import alkalinity, ions, precipitation, specification, stoichiometry
from pcompare.errors import TableError
from pcompare.tables import Row, molar_mass

SALTS = [p for p in products.all_products() if p.kind != "lime"]
BASES = [row.text("base") for row in tables.read("base_products")]
FORMULAS = {row.text("base"): row.text("formula") for row in tables.read("base_products")}
PROPERTIES = ("metal_fraction", "density", "chloride_per_metal", "sulfate_per_metal",
              "sodium_per_metal", "equivalents_per_metal", "conversion",
              "oxygen_per_metal")  # fmt: skip
OF_BASES = ("strength", "density", "equivalents_per_base", "sodium_per_base", "calcium_per_base",
            "magnesium_per_base")  # fmt: skip
IONS = ("chloride", "sulfate", "sodium")
NOTHING = dict.fromkeys(
    ("sodium", "potassium", "calcium", "magnesium", "ammonium", "chloride", "sulfate", "nitrate",
     "phosphate"), 0.0,
)  # fmt: skip
ASKED = {"Al", "Fe", "Ce", "La", "Ca"}
every_salt = pytest.mark.parametrize("product", SALTS, ids=lambda p: p.name)
doses = st.floats(0.0, 3.0)
amounts = st.floats(0.0, 30.0)


def value(name):
    return tables.coefficients()[name].value


def ions_added(product, metal_molar):
    """Give chloride, sulfate and sodium that a dose adds [mg/L]."""
    return {
        ion: ions.ion_from_metal(metal_molar, value(f"{product.name}_{ion}_per_metal"), formula)
        for ion, formula in zip(IONS, ("Cl", "SO4", "Na"), strict=True)
    }


# ------------------------------------------------ the table


def test_every_kind_of_product_is_there():
    found = products.all_products()
    assert {p.metal for p in found} == ASKED
    assert {p.kind for p in found} == set(products.KINDS)
    assert {p.form for p in found} == set(products.FORMS)
    assert len({p.name for p in found}) == len({p.label for p in found}) == len(found) == 13
    assert all(p.handling.endswith(".") for p in found)


def test_a_product_by_name():
    assert products.product("ferric_chloride").metal == "Fe"
    with pytest.raises(KeyError):
        products.product("snake_oil")


@every_salt
def test_every_salt_has_its_numbers(product):
    known = tables.coefficients()
    for name in PROPERTIES:
        assert f"{product.name}_{name}" in known
    assert (f"{product.name}_fixed_ratio" in known) == (product.kind == "rare earth")


@pytest.mark.parametrize("base", BASES)
def test_every_base_has_its_numbers(base):
    for name in OF_BASES:
        assert f"{base}_{name}" in tables.coefficients()


def test_lime_has_its_numbers_among_the_bases():
    assert {p.name for p in products.all_products() if p.kind == "lime"} <= set(BASES)


def test_rows_of_numbers_belong_to_a_product():
    """A row whose product is not listed would be a number that nobody asks for."""
    names = tuple(p.name for p in products.all_products()) + tuple(BASES)
    for table in ("metal_salts", "bases"):
        for row in tables.read(table):
            assert row.text("name").startswith(names), row.text("name")


# ------------------------------------------------ identities of every product


@every_salt
@given(doses, amounts)
def test_strong_ions_close(product, metal_molar, precipitated):
    """Anions less cations added = alkalinity lost + phosphorus removed, for each product."""
    added = ions_added(product, metal_molar)
    net = (
        added["chloride"] / molar_mass("Cl")
        + 2.0 * added["sulfate"] / molar_mass("SO4")
        - added["sodium"] / molar_mass("Na")
    )
    change = alkalinity.alkalinity_from_metal(
        metal_molar, precipitated, value(f"{product.name}_equivalents_per_metal")
    )
    lost = -change * 2.0 / molar_mass("CaCO3")
    removed = precipitated / molar_mass("P")
    assert net == pytest.approx(lost + removed, rel=1e-11, abs=1e-11)


@every_salt
@given(doses, amounts)
def test_strong_ions_close_with_unoxidised_iron(product, metal_molar, precipitated):
    """What is not oxidised stays as a cation of charge two, and spares its alkalinity."""
    conversion, oxygen = (value(f"{product.name}_{p}") for p in ("conversion", "oxygen_per_metal"))
    added = ions_added(product, metal_molar)
    left = ions.metal_in_solution(metal_molar, conversion, product.metal)
    by_ions = (
        alkalinity.alkalinity_of_strong_ions(**{**NOTHING, **added, "phosphate": -precipitated})
        + 2.0 * left / molar_mass(product.metal) * molar_mass("CaCO3") / 2.0
    )
    used = alkalinity.equivalents_at_conversion(
        value(f"{product.name}_equivalents_per_metal"), conversion, oxygen
    )
    change = alkalinity.alkalinity_from_metal(metal_molar, precipitated, used)
    assert change == pytest.approx(by_ions, rel=1e-11, abs=1e-10)


@pytest.mark.parametrize("base", BASES)
@given(amounts)
def test_every_base_agrees_with_its_cations(base, dose):
    formula = FORMULAS[base]
    added = {
        ion: ions.ion_from_base(dose, formula, value(f"{base}_{ion}_per_base"), symbol)
        for ion, symbol in (("sodium", "Na"), ("calcium", "Ca"), ("magnesium", "Mg"))
    }
    by_ions = alkalinity.alkalinity_of_strong_ions(**{**NOTHING, **added})
    gained = alkalinity.alkalinity_from_base(dose, formula, value(f"{base}_equivalents_per_base"))
    assert gained == pytest.approx(by_ions, rel=1e-11, abs=1e-10)


@given(amounts, doses)
def test_same_metal_same_sludge(precipitated, metal_molar):
    """The solids depend on the metal alone: all products of one metal make the same."""
    by_metal = {}
    for product in SALTS:
        made = precipitation.chemical_solids(precipitated, metal_molar, product.metal)
        by_metal.setdefault(product.metal, set()).add((made, product.phosphate_solid))
    assert {metal: len(found) for metal, found in by_metal.items()} == dict.fromkeys(by_metal, 1)


@every_salt
@given(amounts, st.floats(1.0, 4.0))
def test_solids_are_those_of_the_record(product, precipitated, ratio):
    """Phosphate and hydroxide named in products.csv weigh what the equation says."""
    moles = precipitated / molar_mass("P")
    expected = moles * molar_mass(product.phosphate_solid)
    expected += (ratio - 1.0) * moles * molar_mass(product.hydroxide_solid)
    made = precipitation.chemical_solids(precipitated, ratio * moles, product.metal)
    assert made == pytest.approx(expected, rel=1e-10, abs=1e-12)


@every_salt
def test_zero_dose_zero_change(product):
    added = ions_added(product, 0.0)
    assert added == dict.fromkeys(IONS, 0.0)
    z, conversion, oxygen = (
        value(f"{product.name}_{p}")
        for p in ("equivalents_per_metal", "conversion", "oxygen_per_metal")
    )
    assert alkalinity.alkalinity_from_metal(0.0, 0.0, z) == 0.0
    assert ions.metal_in_solution(0.0, conversion, product.metal) == 0.0
    assert stoichiometry.oxygen_for_metal(0.0, oxygen, conversion) == 0.0
    assert precipitation.chemical_solids(0.0, 0.0, product.metal) == 0.0


@every_salt
@given(doses)
def test_iron_and_oxygen_balance(product, metal_molar):
    """Four irons give up four electrons to one O2; nothing is lost between solid and water."""
    conversion, oxygen = (value(f"{product.name}_{p}") for p in ("conversion", "oxygen_per_metal"))
    taken = stoichiometry.oxygen_for_metal(metal_molar, oxygen, conversion) / molar_mass("O2")
    left = ions.metal_in_solution(metal_molar, conversion, product.metal)
    acting = metal_molar - left / molar_mass(product.metal)
    assert 4.0 * taken == pytest.approx(acting if oxygen else 0.0, rel=1e-11, abs=1e-12)


@given(amounts, st.floats(0.05, 0.95))
def test_fixed_ratio_is_the_uptake_form_without_half_effect(present, share):
    """Rare earth: dose and residual are inverse, in proportion to what is removed."""
    ratio = value("cerium_chloride_fixed_ratio")
    dose = precipitation.metal_dose_for_residual(present + 0.1, share * (present + 0.1), ratio, 0.0)
    removed = (1.0 - share) * (present + 0.1) / molar_mass("P")
    assert dose == pytest.approx(ratio * removed, rel=1e-12)
    back = precipitation.residual_for_metal_dose(present + 0.1, dose, ratio, 0.0)
    assert back == pytest.approx(share * (present + 0.1), rel=1e-9)


# ------------------------------------------------ a user's own product

GOOD = {
    "product": "my_chloride", "label": "Ferric chloride, local", "metal": "Fe",
    "salt_formula": "FeCl3", "form": "liquid", "strength": "42", "basis": "salt % w/w",
    "density": "1.45", "basicity": "", "excess": "", "excess_formula": "", "conversion": "",
    "freezing_point": "", "note": "",
}  # fmt: skip
PACL = {**GOOD, "metal": "Al", "salt_formula": "AlCl3", "basis": "Al2O3 % w/w", "strength": "17",
        "basicity": "40", "density": "1.37"}  # fmt: skip


def own(**cells):
    return products.own_product(Row(file="own.csv", line=3, cells={**GOOD, **cells}))


def test_own_product():
    found = own()
    assert found.product.name == "my_chloride"
    assert found.product.phosphate_solid == "FePO4"
    assert (found.strength, found.basis, found.density) == (42.0, "salt % w/w", 1.45)
    assert (found.basicity, found.excess_fraction, found.conversion) == (0.0, 0.0, 1.0)
    assert math.isnan(found.freezing_point)


def test_own_product_feeds_the_equation():
    """The record holds just the arguments of the equation that turns it into properties."""
    found = own(**PACL)
    made = specification.product_properties(
        found.strength, found.basis, found.product.salt_formula, found.product.metal,
        found.density, found.basicity, found.excess_fraction, found.excess_formula,
    )  # fmt: skip
    assert found.basicity == 0.4
    assert made.metal_fraction == pytest.approx(0.17 * 0.5293, rel=1e-3)
    assert made.equivalents_per_metal == pytest.approx(1.8)


def test_own_pickle_liquor_with_free_acid():
    found = own(
        salt_formula="FeCl2", strength="10", basis="metal % w/w", excess="5",
        excess_formula="HCl", conversion="0.8", freezing_point="-20",
    )  # fmt: skip
    assert (found.excess_fraction, found.excess_formula) == (0.05, "HCl")
    assert (found.conversion, found.freezing_point) == (0.8, -20.0)


@pytest.mark.parametrize("measure", products.MEASURES)
@pytest.mark.parametrize("substance", products.SUBSTANCES)
def test_every_basis_is_read(substance, measure):
    found = own(**{**PACL, "basicity": "", "basis": f"{substance} {measure}", "strength": "2"})
    assert found.basis == f"{substance} {measure}"


def test_a_solid_of_high_basicity_may_hold_more_than_its_salt():
    assert own(**{**PACL, "strength": "48", "basicity": "83", "form": "solid"}).strength == 48.0


BAD = [
    ({**PACL, "basicity": "120"}, "basicity", "from 0 to 100 %"),
    ({**PACL, "basicity": "-1"}, "basicity", "from 0 to 100 %"),
    ({**PACL, "basicity": "0.5"}, "basicity", "percent"),
    ({**PACL, "basis": "salt % w/w"}, "basicity", "metal or Al2O3"),
    ({"metal": "Fe", "salt_formula": "FeCl2", "basis": "metal % w/w", "strength": "9",
      "basicity": "30"}, "basicity", "charge three"),
    ({"strength": "0"}, "strength", "more than 0"),
    ({"strength": "-5"}, "strength", "more than 0"),
    ({"strength": ""}, "strength", "a number"),
    ({"strength": "much"}, "strength", "a number"),
    ({"strength": "nan"}, "strength", "a number"),
    ({"strength": "101"}, "strength", "at most 100"),
    ({"strength": "40", "basis": "metal % w/w"}, "strength", "pure FeCl3 holds"),
    ({"strength": "1500", "basis": "salt g/L"}, "strength", "at most 1450 g/L"),
    ({"density": ""}, "density", "a number"),
    ({"density": "0"}, "density", "0.3 to 2.5 kg/L"),
    ({"density": "11.2"}, "density", "0.3 to 2.5 kg/L"),
    ({"density": "1450"}, "density", "0.3 to 2.5 kg/L"),
    ({"basis": ""}, "basis", "one of salt % w/w"),
    ({"basis": "percent"}, "basis", "one of salt % w/w"),
    ({"basis": "Al2O3 % w/w"}, "basis", "only aluminium"),
    ({"metal": "Zn"}, "metal", "one of Al, Fe, Ce, La"),
    ({"metal": ""}, "metal", "one of Al, Fe, Ce, La"),
    ({"salt_formula": "AlCl3"}, "salt_formula", "a salt of Fe"),
    ({"salt_formula": ""}, "salt_formula", "a formula"),
    ({"salt_formula": "FeCl3)"}, "salt_formula", "a formula"),
    ({"salt_formula": "FeXx3"}, "salt_formula", "a formula"),
    ({"salt_formula": "Fe(NO3)3"}, "salt_formula", "chloride, sulfate"),
    ({"salt_formula": "FeCl4"}, "salt_formula", "balance the charge"),
    ({"metal": "Al", "salt_formula": "AlCl2"}, "salt_formula", "balance the charge"),
    ({"form": "gas"}, "form", "one of liquid, solid"),
    ({"product": "My Salt"}, "product", "small letters"),
    ({"product": ""}, "product", "small letters"),
    ({"label": ""}, "label", "a name to print"),
    ({"excess": "5"}, "excess_formula", "what the excess is"),
    ({"excess": "80", "excess_formula": "HCl"}, "excess", "0 to 50"),
    ({"excess_formula": "HNO3"}, "excess_formula", "HCl, H2SO4 or NaOH"),
    ({"conversion": "0"}, "conversion", "0.01 to 1"),
    ({"conversion": "85"}, "conversion", "0.01 to 1"),
    ({"freezing_point": "warm"}, "freezing_point", "a number"),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "column", "part"), BAD)
def test_a_bad_row_is_named_by_file_line_and_column(cells, column, part):
    with pytest.raises(TableError) as raised:
        own(**cells)
    assert (raised.value.file, raised.value.line, raised.value.column) == ("own.csv", 3, column)
    assert part in str(raised.value)


@pytest.mark.parametrize("column", ["density", "basis", "strength", "metal", "label"])
def test_a_missing_column_is_named(column):
    cells = {name: text for name, text in GOOD.items() if name != column}
    with pytest.raises(TableError, match=f"column '{column}': found no such column"):
        products.own_product(Row(file="own.csv", line=3, cells=cells))


def write(path, *rows):
    lines = [",".join(GOOD), *(",".join({**GOOD, **row}.values()) for row in rows)]
    path.write_text("# own products\n" + "\n".join(lines).replace(
        "Ferric chloride, local", '"Ferric chloride, local"') + "\n", encoding="utf-8")  # fmt: skip


def test_own_products_of_a_file(tmp_path):
    path = tmp_path / "own.csv"
    write(path, {}, {"product": "other", "strength": "35"})
    assert [p.product.name for p in products.own_products(path)] == ["my_chloride", "other"]


@pytest.mark.parametrize("name", ["my_chloride", "liquid_alum"])
def test_a_name_in_use_is_refused(tmp_path, name):
    path = tmp_path / "own.csv"
    write(path, {}, {"product": name})
    with pytest.raises(TableError, match=r"own.csv, line 4, column 'product'"):
        products.own_products(path)


@pytest.mark.parametrize(("column", "text"), [("kind", "acid"), ("form", "gas"), ("metal", "Zn")])
def test_a_bad_row_of_the_table_itself_is_named(column, text):
    row = tables.read("products")[0]
    bad = Row(file=row.file, line=row.line, cells={**row.cells, column: text})
    with pytest.raises(TableError) as raised:
        products._product(bad)
    assert raised.value.column in (column, "salt_formula")
