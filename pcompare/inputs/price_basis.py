"""Prices as the trade quotes them, brought to the basis of their field once, on entry, like units.

A quotation counts tonnes, short tons, pounds, kilograms, gallons or cubic metres, of the product as
delivered (wet), of what it holds (dry) or of its metal. Nothing is guessed: where quotations differ
so much that a price alone means nothing, its basis is asked for.
"""

from __future__ import annotations

from pcompare import products, tables
from pcompare.equations.purchases import price_on_basis
from pcompare.inputs import schema
from pcompare.inputs.draft import DEFAULT, Draft
from pcompare.units import GALLON, KILOGRAMS_PER_TONNE, POUND, SHORT_TON, show

ENDING = "_basis"
EXAMPLE = "example"
ASKED = ("prices.ferric_sulfate", f"prices.{schema.OWN_PRODUCT}")  # quoted in many ways
MASSES = {
    "t": 1.0,
    "short ton": SHORT_TON,
    "kg": 1.0 / KILOGRAMS_PER_TONNE,
    "lb": POUND / KILOGRAMS_PER_TONNE,
}  # t
VOLUMES = {"gal": GALLON, "m3": 1.0}  # m3


def apply(draft: Draft) -> None:
    """Bring every price that was quoted on a basis of its own to that of its field."""
    for basis in schema.fields():
        if basis.startswith("prices.") and basis.endswith(ENDING):
            price = basis.removesuffix(ENDING)
            if not draft.failed.intersection((price, basis, *_needs(price))):
                _apply(draft, price, basis)


def _apply(draft: Draft, price: str, basis: str) -> None:
    quoted, default = str(draft.given[basis]), schema.fields()[basis].default
    given = draft.places[price] not in (DEFAULT, EXAMPLE)
    if price in ASKED and given and draft.places[basis] == DEFAULT:
        needs = f"what it is for, in {basis}: {', '.join(schema.fields()[basis].choices)}"
        draft.fault(price, draft.where(price), "a price without its basis", needs)
    elif quoted != default and not given:
        needs = f"a price for one {quoted} in {price}"
        draft.fault(basis, draft.where(basis), f"'{quoted}', but no price", needs)
    elif quoted != default:
        _convert(draft, price, basis, quoted)


def _convert(draft: Draft, price: str, basis: str, quoted: str) -> None:
    """Change the price and its range, and keep what was quoted for the documents."""
    factor = _factor(draft, price, quoted)
    field = schema.fields()[price]
    system = draft.systems.get(price, draft.system)
    (typed,) = (show(number, field.unit, system)[0] for number in draft.numbers(price))
    draft.given[price] = typed * factor
    if price in draft.ranges:
        low, high = (show(end, field.unit, draft.system)[0] for end in draft.ranges[price])
        draft.ranges[price] = (low * factor, high * factor)
    draft.quoted[price] = f"quoted as {schema.written(typed)} for one {quoted}"
    # The price now stands on the basis of its field; a form written from it must say so too.
    draft.given[basis], draft.places[basis] = str(schema.fields()[basis].default), DEFAULT


def _factor(draft: Draft, price: str, quoted: str) -> float:
    """Price in the unit of its field for each unit of a price on the basis quoted."""
    what = price.removeprefix("prices.")
    unit, _, counted = quoted.rpartition(" ")
    unit = unit or quoted
    if unit in VOLUMES:
        mass, content = VOLUMES[unit] * _density(draft, what), 1.0
    else:
        mass, content = MASSES[unit], _content(draft, what, counted)
    default = str(schema.fields()[f"{price}{ENDING}"].default)
    per_tonne = price_on_basis(1.0, mass, content, _content(draft, what, default.split(" ")[-1]))
    in_kilograms = schema.fields()[price].unit == "money/kg"
    return float(per_tonne / KILOGRAMS_PER_TONNE if in_kilograms else per_tonne)


def _content(draft: Draft, what: str, counted: str) -> float:
    """Share of the product that a quotation counts [kg/kg]."""
    if counted == "wet":
        return 1.0
    if what == "polymer":
        return draft.mean("prices.polymer_active")
    if what == "cake":
        return draft.mean("coefficient.cake_dryness")
    if f"coefficient.{what}_strength" in schema.fields():
        return draft.mean(f"coefficient.{what}_strength")
    metal = draft.mean(f"coefficient.{what}_metal_fraction")
    if counted == "metal":
        return metal
    found = products.product(what)
    atoms = tables.composition(found.salt_formula)[found.metal]
    in_salt = atoms * tables.molar_mass(found.metal) / tables.molar_mass(found.salt_formula)
    return float(metal / in_salt)


def _density(draft: Draft, what: str) -> float:
    """Density of a product [t/m3]."""
    own = what == schema.OWN_PRODUCT
    return draft.mean("own_product.density" if own else f"coefficient.{what}_density")


def _needs(price: str) -> tuple[str, ...]:
    """Name the fields that a conversion of a price may read."""
    what = price.removeprefix("prices.")
    names = (
        "prices.polymer_active", "own_product.density", f"coefficient.{what}_strength",
        f"coefficient.{what}_metal_fraction", f"coefficient.{what}_density",
        "coefficient.cake_dryness",
    )  # fmt: skip
    return tuple(name for name in names if name in schema.fields())
