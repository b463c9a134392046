"""One way to run the plant, and the phosphorus that it leaves."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass

from pcompare import tables
from pcompare.arrays import Quantity
from pcompare.equations import precipitation, specification
from pcompare.equations import stoichiometry as stoich
from pcompare.records import (
    Feed,
    Inputs,
    Reactor,
    Zones,
)
from pcompare.rows import of_each

OWN = "own_product"  # the name of the product that the user specifies
FITTED = ("Al", "Fe")  # metals whose solids have a formula fitted to real sludge
PRIMARY, SLUDGE, FILTER = "primary", "activated sludge", "filter"  # dosing points, downstream
DOSE_LINES = {
    PRIMARY: "metal_dose_primary",
    SLUDGE: "metal_dose_sludge",
    FILTER: "metal_dose_filter",
}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Dose:
    """Metal at one point and what it does there, per litre of plant flow."""

    point: str
    molar: Quantity  # mmol/L
    precipitated: Quantity  # mg P/L
    solids: Quantity  # mg/L


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Treatment:
    """The sludge, and what is dosed into the plant."""

    capture: Quantity  # share of suspended solids that the primary tanks settle
    sewage: Feed
    zones: Zones
    reactor: Reactor
    product: str  # metal salt, or ""
    doses: tuple[Dose, ...]
    soluble_secondary: Quantity  # mg P/L, reactive, that leaves the clarifiers
    soluble: Quantity  # mg P/L, reactive, that leaves the plant
    carbon: Quantity  # kg COD/d purchased
    base: str  # product that holds the alkalinity
    base_capacity: Quantity  # kg/d
    returned: Quantity  # share of the reactor's phosphorus that sludge treatment returns
    biological: bool  # organisms that store phosphorus are kept
    filtered: bool  # a filter follows the clarifiers
    stored: Quantity = 0.0  # mg P/L of polyphosphate that leaves with the sludge
    calcium: Quantity = 0.0  # mg/L, change by lime and its solids
    magnesium: Quantity = 0.0  # mg/L, the same, and by recovery
    sodium: Quantity = 0.0  # mg/L, with bought carbon and with recovery
    chloride: Quantity = 0.0  # mg/L, with recovery
    softening: Quantity = 0.0  # mg CaCO3/L, alkalinity by lime and its solids
    carbon_alkalinity: Quantity = 0.0  # mg CaCO3/L, by bought carbon and by recovery
    precipitated_aside: Quantity = 0.0  # mg P/L, limed on a side stream
    limed_aside: Quantity = 0.0  # kg/d of solids that lime makes on a side stream

    def total(self, what: str, *points: str) -> Quantity:
        """Sum one attribute of the doses over all points, or over some."""
        none = 0.0 * self.sewage.flow
        doses = (d for d in self.doses if not points or d.point in points)
        return sum((getattr(d, what) for d in doses), none)


@functools.cache
def products() -> dict[str, str]:
    """Give the kind of every product of the tables, by name."""
    return {row.text("product"): row.text("kind") for row in tables.read("products")}


@functools.cache
def _metals() -> dict[str, str]:
    return {row.text("product"): row.text("metal") for row in tables.read("products")}


def metal_of(inputs: Inputs, product: str) -> str:
    """Element symbol of the metal of one product."""
    if product == OWN:
        return "Al" if "Al" in tables.composition(inputs.choice("own_product.salt")) else "Fe"
    return _metals()[product]


def by_metal(inputs: Inputs, product: str, value: Callable[[str], Quantity]) -> Quantity:
    """Work out what depends on the metal of a product, given its symbol."""
    value = functools.cache(value)
    return of_each(product, lambda one: value(metal_of(inputs, one)))


def alike(inputs: Inputs, product: str) -> tuple[bool, ...]:
    """Tell what of a product asks for other formulas, so that it cannot stand beside another."""
    fixed = (f"coefficient.{product}_{what}" for what in ("fixed_ratio", "freezing_point"))
    return tuple(name in inputs.values for name in fixed)


def property_of(inputs: Inputs, product: str, name: str) -> Quantity:
    """Give one number of a product: from the tables, or from the user's own specification."""
    return of_each(product, lambda one: _property(inputs, one, name))


def _property(inputs: Inputs, product: str, name: str) -> Quantity:
    if product != OWN:
        return inputs.coefficient(f"{product}_{name}")
    if name in ("density", "conversion"):
        return inputs[f"own_product.{name}"]
    found = specification.product_properties(
        inputs["own_product.strength"],
        inputs.choice("own_product.basis"),
        inputs.choice("own_product.salt"),
        metal_of(inputs, product),
        inputs["own_product.density"],
        inputs["own_product.basicity"],
        inputs["own_product.excess"],
        inputs.choice("own_product.excess_formula"),
    )
    return getattr(found, name)


def at_dose(sewage: Feed, state: Reactor) -> Quantity:
    """Soluble reactive phosphorus that meets the salt: what the organisms leave [mg P/L]."""
    dissolved = sewage.phosphorus - sewage.bound_phosphorus - sewage.nonreactive
    return dissolved - state.phosphorus_taken


def chemical_solids(
    inputs: Inputs, product: str, precipitated: Quantity, metal_molar: Quantity
) -> Quantity:
    """Solids that a salt makes, with the allowance above stoichiometry [mg/L]."""
    empirical = inputs.choice("chemical.solids_formula") == "empirical"

    def solids(metal: str) -> Quantity:
        if empirical and metal in FITTED:
            return precipitation.chemical_solids_empirical(precipitated, metal_molar, metal)
        return precipitation.chemical_solids(precipitated, metal_molar, metal)

    return by_metal(inputs, product, solids) * inputs.coefficient("solids_allowance")


def solids_production(
    sewage: Feed, zones: Zones, state: Reactor, made_by_salt: Quantity
) -> Quantity:
    """Solids made in the reactor, those that leave with the effluent included [kg/d]."""
    return state.solids_mass / zones.srt + stoich.mass_load(made_by_salt, sewage.flow)


def volatile_share(state: Reactor, zones: Zones, production: Quantity) -> Quantity:
    """Volatile share of the solids that the basin wastes and loses [-]."""
    return state.volatile_mass / zones.srt / production


def content_of_solids(sewage: Feed, soluble: Quantity, production: Quantity) -> Quantity:
    """Phosphorus content of the activated-sludge solids [kg/kg]."""
    bound = stoich.mass_load(sewage.phosphorus - sewage.nonreactive - soluble, sewage.flow)
    return precipitation.phosphorus_in_solids(bound, production)


def settled_phosphorus(
    inputs: Inputs, sewage: Feed, soluble: Quantity, production: Quantity
) -> Quantity:
    """Total phosphorus behind the clarifiers by the closed balance of solids [mg P/L]."""
    return precipitation.effluent_total_phosphorus(
        soluble,
        sewage.nonreactive,
        content_of_solids(sewage, soluble, production),
        inputs["secondary.effluent_tss"],
    )


def content_on_filter(
    inputs: Inputs, content: Quantity, precipitated: Quantity, solids: Quantity
) -> Quantity:
    """Phosphorus content of the solids that a filter holds and lets through [kg/kg]."""
    arriving = inputs["secondary.effluent_tss"]
    return precipitation.phosphorus_in_solids(content * arriving + precipitated, arriving + solids)
