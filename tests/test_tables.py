"""Reading of the reference tables: formulas, rows, and faults by file, line and column."""

from __future__ import annotations

import molmass
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare import tables
from pcompare.arrays import NamedConstant
from pcompare.errors import TableError

# ------------------------------------------------ formulas


@pytest.mark.parametrize(
    ("formula", "counts"),
    [
        ("P", {"P": 1}),
        ("FeCl3", {"Fe": 1, "Cl": 3}),
        ("Al2(SO4)3", {"Al": 2, "S": 3, "O": 12}),
        ("Al2(SO4)3.14H2O", {"Al": 2, "S": 3, "O": 26, "H": 28}),
        ("MgNH4PO4.6H2O", {"Mg": 1, "N": 1, "H": 16, "P": 1, "O": 10}),
        ("Fe(OH)3", {"Fe": 1, "O": 3, "H": 3}),
        ("Ca5(PO4)3(OH)", {"Ca": 5, "P": 3, "O": 13, "H": 1}),
        ("((CH3)2(CH2)3)2", {"C": 10, "H": 24}),
        ("2H2O", {"H": 4, "O": 2}),
    ],
)
def test_atoms_are_counted(formula, counts):
    assert tables.composition(formula) == counts


@pytest.mark.parametrize(
    "formula",
    ["", ".", "fecl3", "Fe Cl3", "Fe-Cl", "Fe(OH", "FeOH)3", "Fe)OH(", "()", "3", "Fe..Cl", "Fe³"],
)
def test_a_text_that_is_no_formula_is_a_fault(formula):
    with pytest.raises(ValueError, match="formula"):
        tables.composition(formula)


def test_an_unknown_element_is_a_fault():
    with pytest.raises((ValueError, KeyError)) as raised:
        tables.molar_mass("Xx2O3")
    assert "Xx" in str(raised.value)


@pytest.mark.parametrize(
    "formula",
    ["AlPO4", "FePO4", "Al(OH)3", "Fe(OH)3", "Al2(SO4)3", "FeCl3", "CaCO3", "NaOH", "C2H4O2",
     "CO2", "N2O", "Ca(OH)2", "Mg(OH)2", "Na2CO3", "K3PO4"],
)  # fmt: skip
def test_molar_mass_agrees_with_molmass(formula):
    """Another program's atomic weights, which are not abridged to five digits."""
    assert tables.molar_mass(formula) == pytest.approx(molmass.Formula(formula).mass, rel=1e-4)


def test_atomic_weights_agree_with_molmass():
    """Every weight, whether a formula here needs it or not; five digits, and sulfur varies."""
    for row in tables.read("atomic_weights"):
        element, weight = row.text("element"), row.number("value")
        assert weight == pytest.approx(molmass.Formula(element).mass, rel=2e-4), element


def test_molar_mass_as_printed():
    """OpenStax, Chemistry 2e, formula mass of calcium phosphate: 310.18."""
    assert tables.molar_mass("Ca3(PO4)2") == pytest.approx(310.18, abs=0.01)


@given(st.integers(1, 30))
def test_water_of_crystallisation_adds_whole_waters(count):
    dry, water = tables.molar_mass("Al2(SO4)3"), tables.molar_mass("H2O")
    assert tables.molar_mass(f"Al2(SO4)3.{count}H2O") == pytest.approx(dry + count * water)


def test_a_molar_mass_knows_its_name():
    mass = tables.molar_mass("AlPO4")
    assert isinstance(mass, NamedConstant)
    assert mass.name == "M(AlPO4)"


def test_a_constant_knows_its_name_and_an_unknown_one_is_a_fault():
    zero = tables.constant("zero_celsius")
    assert (zero, zero.name) == (273.15, "zero_celsius")
    with pytest.raises(TableError, match=r"constants\.csv.*no 'speed_of_light'"):
        tables.constant("speed_of_light")


# ------------------------------------------------ rows and their faults

HEADER = "name,label,value,unit,low,high,status,source,locator,note\n"
GOOD = "one,One,1.5,kg/d,1,2,judgement,JUDGEMENT,,\n"


def rows(tmp_path, text):
    path = tmp_path / "table.csv"
    path.write_text(text, encoding="utf-8")
    return tuple(tables.rows_of(path))


def coefficient(tmp_path, text):
    return [tables._coefficient(row, "table") for row in rows(tmp_path, HEADER + text)]


def test_comments_and_empty_lines_are_passed_over_but_counted(tmp_path):
    (row,) = rows(tmp_path, "# a comment\n\n" + HEADER + "# another\n" + GOOD)
    assert (row.file, row.line) == ("table.csv", 5)
    assert row.number("value") == 1.5
    assert row.text("unit") == "kg/d"


def test_a_good_row_becomes_a_coefficient(tmp_path):
    (item,) = coefficient(tmp_path, GOOD)
    assert (item.name, item.value, item.low, item.high) == ("one", 1.5, 1.0, 2.0)


def test_without_a_range_the_value_is_its_own(tmp_path):
    (item,) = coefficient(tmp_path, GOOD.replace(",1,2,", ",,,"))
    assert (item.low, item.high) == (1.5, 1.5)


@pytest.mark.parametrize(
    ("text", "line", "column", "found"),
    [
        (GOOD.replace("1.5", "much"), 2, "value", "'much'"),
        (GOOD.replace("1.5", ""), 2, "value", "''"),
        (GOOD.replace("1.5", "nan"), 2, "value", "'nan'"),
        (GOOD.replace("1.5", "inf"), 2, "value", "'inf'"),
        (GOOD + GOOD.replace(",1,2,", ",1.6,2,"), 3, "low", "1.6 and 2.0"),
        (GOOD.replace(",1,2,", ",1,1.4,"), 2, "low", "1.0 and 1.4"),
        (GOOD.replace("judgement", "guess"), 2, "status", "'guess'"),
        (GOOD.replace("JUDGEMENT", "NOBODY"), 2, "source", "'NOBODY'"),
        (GOOD + GOOD.replace(",,\n", "\n"), 3, "note", "8 cells"),
        (GOOD.replace(",,\n", ",,,\n"), 2, "note", "11 cells"),
    ],
)
def test_a_bad_row_is_named_by_file_line_and_column(tmp_path, text, line, column, found):
    with pytest.raises(TableError) as raised:
        coefficient(tmp_path, text)
    message = str(raised.value)
    assert message.startswith(f"table.csv, line {line}, column '{column}': found {found}; needs ")


def test_a_missing_column_is_named(tmp_path):
    (row,) = rows(tmp_path, "name,label\none,One\n")
    with pytest.raises(TableError, match="column 'value': found no such column"):
        row.number("value")


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n"])
def test_an_empty_file_is_a_fault(tmp_path, text):
    with pytest.raises(TableError, match="an empty file"):
        rows(tmp_path, text)


def test_an_unknown_table_is_a_fault_that_lists_the_known():
    with pytest.raises(TableError, match=r"no such table; needs one of .*atomic_weights"):
        tables.read("unobtainium")


def test_a_name_that_stands_in_two_tables_is_a_fault(tmp_path, monkeypatch):
    double = rows(tmp_path, HEADER + GOOD + GOOD)
    sources = tables.read("SOURCES")
    monkeypatch.setattr(tables, "COEFFICIENT_TABLES", ("table",))
    monkeypatch.setattr(tables, "read", lambda name: sources if name == "SOURCES" else double)
    tables.coefficients.cache_clear()
    try:
        with pytest.raises(TableError, match="'one' again"):
            tables.coefficients()
    finally:
        tables.coefficients.cache_clear()


# ------------------------------------------------ the finder


def test_the_package_is_searched_before_what_lies_beside_it(tmp_path, monkeypatch):
    package = tmp_path / "pcompare"
    beside = tmp_path / "reference_tables"
    beside.mkdir()
    package.mkdir()
    (beside / "SOURCES.csv").write_text("key,citation\n", encoding="utf-8")
    monkeypatch.setattr(tables, "__file__", str(package / "tables.py"))
    assert tables.folder() == beside
    inside = package / "reference_tables"
    inside.mkdir()
    assert tables.folder() == beside, "an empty folder is not the tables"
    (inside / "SOURCES.csv").write_text("key,citation\n", encoding="utf-8")
    assert tables.folder() == inside


def test_without_any_tables_the_install_is_not_whole(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "__file__", str(tmp_path / "pcompare" / "tables.py"))
    with pytest.raises(TableError, match="a whole install"):
        tables.folder()


def test_every_table_of_coefficients_is_there():
    assert set(tables.COEFFICIENT_TABLES) <= set(tables.names())
    assert {item.table for item in tables.coefficients().values()} == set(tables.COEFFICIENT_TABLES)
