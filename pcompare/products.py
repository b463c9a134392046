"""The products that precipitate phosphorus: those of ``products.csv``, and a user's own.

A product is a row, not code. Its numbers are coefficients named ``PRODUCT_property``. A user's own
product is one row of a CSV file that quotes its strength as the trade does; here the row is read
and checked, and ``product_properties`` of the equations makes the same properties of it.
"""

from __future__ import annotations

import functools
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from pcompare import tables
from pcompare.errors import TableError, shown
from pcompare.tables import Row
from pcompare.units import GALLON, POUND

METALS = ("Al", "Fe", "Ce", "La")
KINDS = ("metal salt", "lime", "rare earth")
FORMS = ("liquid", "solid")
SUBSTANCES = ("salt", "Al2O3", "metal")
# Each way to state a strength, and what a litre of water would read if it were all product.
MEASURES = {"% w/w": 100.0, "% w/v": 100.0, "g/L": 1000.0, "lb/gal": 1000.0 * GALLON / POUND}
BASES = tuple(f"{substance} {measure}" for substance in SUBSTANCES for measure in MEASURES)
EXCESSES = {"": "HCl", "HCl": "HCl", "H2SO4": "H2SO4", "NaOH": "NaOH"}  # none is no HCl
DENSITY = (0.3, 2.5)  # kg/L: outside it a density was meant in another unit


@dataclass(frozen=True, kw_only=True, slots=True)
class Product:
    """What a product is, without its numbers.

    Attributes
    ----------
    name : str
        The name that its coefficients begin with.
    metal : str
        Element symbol; two products of one metal make the same sludge.
    kind, form : str
        One of ``KINDS`` and of ``FORMS``, as delivered.
    salt_formula : str
        Formula of the neutral salt, with the hydrate water that its strength counts.
    phosphate_solid, hydroxide_solid : str
        What the metal ends as; lime makes no hydroxide of its own.

    """

    name: str
    label: str
    metal: str
    kind: str
    form: str
    salt_formula: str
    phosphate_solid: str
    hydroxide_solid: str
    handling: str
    status: str
    source: str
    locator: str
    note: str


@dataclass(frozen=True, kw_only=True, slots=True)
class OwnProduct:
    """A user's own product: the same record, and its specification as the supplier quotes it.

    The fields from ``strength`` to ``excess_formula`` are arguments of ``product_properties``.
    """

    product: Product
    strength: float  # in the unit of the basis
    basis: str  # one of BASES
    density: float  # kg/L
    basicity: float  # share, not percent
    excess_fraction: float  # kg free acid or caustic per kg product
    excess_formula: str
    conversion: float  # share of the metal that acts
    freezing_point: float  # degC; nan where the supplier states none


@functools.cache
def all_products() -> tuple[Product, ...]:
    """List the products of the reference tables, in their order."""
    return tuple(_product(row) for row in tables.read("products"))


def product(name: str) -> Product:
    """Give one product by name; a name that is unknown is a ``KeyError``."""
    return {found.name: found for found in all_products()}[name]


def _product(row: Row) -> Product:
    """Read and check one row of the table."""
    found = Product(
        name=row.text("product"), label=row.text("label"), metal=row.text("metal"),
        kind=_one_of(row, "kind", KINDS), form=_one_of(row, "form", FORMS),
        salt_formula=row.text("salt_formula"), phosphate_solid=row.text("phosphate_solid"),
        hydroxide_solid=row.text("hydroxide_solid"), handling=row.text("handling"),
        status=_one_of(row, "status", tables.STATUSES), source=row.text("source"),
        locator=row.text("locator"), note=row.text("note"),
    )  # fmt: skip
    _formula(row, found.metal)
    return found


def own_products(path: Path) -> tuple[OwnProduct, ...]:
    """Read a user's own products from a CSV file.

    Parameters
    ----------
    path : Path
        UTF-8, one header row: ``product, label, metal, salt_formula, form, strength, basis,
        density`` and, where they apply, ``basicity`` [%], ``excess`` [% w/w], ``excess_formula``,
        ``conversion``, ``freezing_point`` [degC] and ``note``.

    Returns
    -------
    tuple of OwnProduct

    Raises
    ------
    TableError
        A row that cannot be used, with file, line and column.

    """
    taken = {found.name for found in all_products()}
    found: list[OwnProduct] = []
    for row in tables.rows_of(path):
        found.append(own_product(row, taken))
        taken.add(found[-1].product.name)
    return tuple(found)


def own_product(row: Row, taken: Collection[str] = ()) -> OwnProduct:
    """Read and check one row of a user's own product; ``taken`` are names already in use.

    Examples
    --------
    >>> cells = dict(product="my_salt", label="Salt", metal="Fe", salt_formula="FeCl3",
    ...     form="liquid", strength="42", basis="salt % w/w", density="1.45")
    >>> own_product(Row(file="own.csv", line=2, cells=cells)).strength
    42.0
    """
    metal = _one_of(row, "metal", METALS)
    salt = _formula(row, metal)
    density = _between(row, "density", *DENSITY, "kg/L")
    basis = _one_of(row, "basis", BASES)
    if basis.startswith("Al2O3") and metal != "Al":
        raise _fault(row, "basis", "salt or metal: only aluminium is quoted as Al2O3")
    basicity = _basicity(row, basis, metal)
    described = Product(
        name=_name(row, taken), label=row.text("label"), metal=metal, kind=_kind(metal),
        form=_one_of(row, "form", FORMS), salt_formula=salt, phosphate_solid=f"{metal}PO4",
        hydroxide_solid=f"{metal}(OH)3", handling="", status="common_practice",
        source="COMMON_PRACTICE", locator=f"{row.file}, line {row.line}", note=_text(row, "note"),
    )  # fmt: skip
    return OwnProduct(
        product=described,
        strength=_strength(row, basis, f"{metal}(OH)3" if basicity else salt, metal, density),
        basis=basis,
        density=density,
        basicity=basicity,
        excess_fraction=_optional(row, "excess", 0.0, 0.0, 50.0, "% w/w") / 100.0,
        excess_formula=_excess_formula(row),
        conversion=_optional(row, "conversion", 1.0, 0.01, 1.0, "as a share"),
        freezing_point=_optional(row, "freezing_point", float("nan"), -80.0, 60.0, "degC"),
    )


def _kind(metal: str) -> str:
    return "rare earth" if metal in ("Ce", "La") else "metal salt"


def _name(row: Row, taken: Collection[str]) -> str:
    """Check a name: it serves as the beginning of field names."""
    name = row.text("product")
    if not (name.isidentifier() and name.isascii() and name == name.lower()):
        raise _fault(row, "product", "small letters, digits and _, such as my_salt")
    if name in taken:
        raise _fault(row, "product", "a name that no other product has")
    if not row.text("label"):
        raise _fault(row, "label", "a name to print")
    return name


def _formula(row: Row, metal: str) -> str:
    """Check a formula: one metal with chloride, sulfate, sodium and water, or lime."""
    text = row.text("salt_formula")
    try:
        atoms = tables.composition(text)
        tables.molar_mass(text)
    except (KeyError, ValueError):
        raise _fault(row, "salt_formula", "a formula such as FeCl3 or Al2(SO4)3.14H2O") from None
    if metal not in atoms:
        raise _fault(row, "salt_formula", f"a salt of {metal or 'a metal'}")
    strange = set(atoms) - {metal, "Cl", "S", "Na", "O", "H"}
    if strange or atoms.get("O", 0) < 4 * atoms.get("S", 0):
        raise _fault(row, "salt_formula", f"{metal} with chloride, sulfate, sodium and water only")
    if metal in METALS and "Na" not in atoms:
        charge, charges = _charge(text, metal), (2.0, 3.0) if metal == "Fe" else (3.0,)
        if charge not in charges:
            needs = f"anions that balance the charge of {metal}, not {charge:g} for each"
            raise _fault(row, "salt_formula", needs)
    return text


def _charge(salt: str, metal: str) -> float:
    """Give the charge of the anions for each metal; aluminate has none."""
    atoms = tables.composition(salt)
    return (atoms.get("Cl", 0) + 2 * atoms.get("S", 0)) / atoms[metal]


def _strength(row: Row, basis: str, pure: str, metal: str, density: float) -> float:
    """Check a strength: above zero, and no more than the pure salt would hold."""
    substance, _, measure = basis.partition(" ")
    whole = MEASURES[measure] * (1.0 if measure == "% w/w" else density)
    share = tables.composition(pure)[metal] * tables.molar_mass(metal) / tables.molar_mass(pure)
    in_oxide = 2.0 * tables.molar_mass("Al") / tables.molar_mass("Al2O3")
    most = whole * {"salt": 1.0, "metal": share, "Al2O3": share / in_oxide}[substance]
    value = row.number("strength")
    if not 0.0 < value <= most:
        needs = f"more than 0 and at most {most:.4g} {measure}, which pure {pure} holds"
        raise _fault(row, "strength", needs)
    return value


def _basicity(row: Row, basis: str, metal: str) -> float:
    """Check a basicity: percent in the file, a share in the record."""
    percent = _optional(row, "basicity", 0.0, 0.0, 100.0, "%")
    if 0.0 < percent <= 1.0:
        raise _fault(row, "basicity", "percent, such as 50 for one half")
    if percent and basis.startswith("salt"):
        raise _fault(row, "basicity", "a strength as metal or Al2O3: a basic salt has no one mass")
    if percent and _charge(row.text("salt_formula"), metal) != 3.0:
        raise _fault(row, "basicity", "nothing, or a salt of a metal of charge three")
    return percent / 100.0


def _excess_formula(row: Row) -> str:
    formula = _text(row, "excess_formula")
    if formula not in EXCESSES:
        raise _fault(row, "excess_formula", "HCl, H2SO4 or NaOH, or nothing")
    if not formula and _text(row, "excess") and row.number("excess"):
        raise _fault(row, "excess_formula", "HCl, H2SO4 or NaOH: what the excess is")
    return EXCESSES[formula]


def _text(row: Row, column: str) -> str:
    """Give a cell of a column that may be left out."""
    return row.text(column) if column in row.cells else ""


def _optional(row: Row, column: str, default: float, low: float, high: float, unit: str) -> float:
    """Give a number that may be left out."""
    return _between(row, column, low, high, unit) if _text(row, column) else default


def _between(row: Row, column: str, low: float, high: float, unit: str) -> float:
    value = row.number(column)
    if not low <= value <= high:
        raise _fault(row, column, f"a number from {low:g} to {high:g} {unit}")
    return value


def _one_of(row: Row, column: str, allowed: Collection[str]) -> str:
    text = row.text(column)
    if text not in allowed:
        raise _fault(row, column, "one of " + ", ".join(allowed))
    return text


def _fault(row: Row, column: str, needs: str) -> TableError:
    return TableError(row.file, row.line, column, shown(row.cells.get(column, "")), needs)
