"""How much metal a residual takes at a dosing point, by the model the user chose; and back.

Published models differ about threefold at 0.1 mg P/L, so the choice is the user's and the memo
prints the spread. The kinetic and the fixed ratio are the uptake form with other constants.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pcompare.arrays import Array, Quantity, maximum, minimum, solve_monotone
from pcompare.equations import precipitation
from pcompare.equations import stoichiometry as stoich
from pcompare.records import (
    Feed,
    Inputs,
    Reactor,
    Zones,
)
from pcompare.rows import name_at
from pcompare.strategies import season, treatment
from pcompare.strategies.treatment import FILTER, PRIMARY, SLUDGE, Dose

MODELS = ("uptake", "handbook ratio", "kinetic", "fixed ratio")
EFFICIENCY = {
    PRIMARY: "mixing_efficiency_primary",
    SLUDGE: "mixing_efficiency",
    FILTER: "mixing_efficiency_filter",
}
FLOOR = {
    PRIMARY: "soluble_floor_primary",
    SLUDGE: "soluble_floor_activated_sludge",
    FILTER: "soluble_floor_filter",
}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Model:
    """A dose model at one point, as numbers."""

    kind: str
    least: Quantity  # mol/mol: metal per phosphorus where residual phosphorus is plentiful
    half: Quantity  # mg P/L: residual at which the dose per phosphorus removed doubles
    conversion: Quantity  # share of the metal fed that acts on phosphorus


def model(inputs: Inputs, product: str, point: str) -> Model:
    """Give the dose model for a product at a point."""
    c = inputs.coefficient
    kind = inputs.choice("chemical.dose_model")
    none = 0.0 * c("half_effect_residual")
    conversion = treatment.property_of(inputs, product, "conversion")
    first = name_at(product, 0)
    if f"coefficient.{first}_fixed_ratio" in inputs.values:  # binds by its own stoichiometry
        least = treatment.property_of(inputs, product, "fixed_ratio")
        return Model(kind="fixed ratio", least=least, half=none, conversion=conversion)
    if kind == "kinetic":
        # Metal per phosphorus is 1 + k/S: the uptake form with least 1 and half k.
        half = precipitation.kinetic_metal_ratio(
            1.0, c("kinetic_precipitation_rate"), c("kinetic_redissolution_rate")
        )
        return Model(kind=kind, least=none + 1.0, half=half - 1.0, conversion=conversion)
    if kind == "fixed ratio":
        return Model(kind=kind, least=c("fixed_metal_ratio"), half=none, conversion=conversion)
    if kind == "handbook ratio":
        return Model(
            kind=kind,
            least=c("handbook_intercept"),
            half=c("handbook_slope"),
            conversion=conversion,
        )
    least = precipitation.minimum_metal_ratio(c("uptake_capacity"), c(EFFICIENCY[point]))
    return Model(kind=kind, least=least, half=c("half_effect_residual"), conversion=conversion)


def metal_for(used: Model, present: Quantity, residual: Quantity) -> Quantity:
    """Metal to feed so that a residual is left [mmol/L]."""
    if used.kind == "handbook ratio":
        acting = precipitation.metal_dose_by_handbook(present, residual, used.least, used.half)
    else:
        acting = precipitation.metal_dose_for_residual(present, residual, used.least, used.half)
    return acting / used.conversion


def residual_for(used: Model, present: Quantity, metal_molar: Quantity) -> Quantity:
    """Residual that a feed of metal leaves [mg P/L]."""
    acting = metal_molar * used.conversion
    if used.kind == "handbook ratio":
        return precipitation.residual_by_handbook(present, acting, used.least, used.half)
    return precipitation.residual_for_metal_dose(present, acting, used.least, used.half)


def floor(inputs: Inputs, point: str, present: Quantity) -> Quantity:
    """Lowest orthophosphate that any dose reaches at a point [mg P/L]."""
    return minimum(inputs.coefficient(FLOOR[point]), present)


def dosed(
    inputs: Inputs, product: str, point: str, present: Quantity, wanted: Quantity, most: Quantity
) -> tuple[Dose, Quantity]:
    """Dose towards a residual, up to a capacity [kg metal/d]; give it and the residual it leaves.

    More metal goes below neither the floor nor the capacity. Outside the season none is fed.
    """
    used = model(inputs, product, point)
    aim = minimum(maximum(wanted, floor(inputs, point, present)), present)
    aim = season.inside(inputs, aim, present)
    limit = _moles(inputs, product, most)
    molar = minimum(metal_for(used, present, aim), limit)
    left = residual_for(used, present, molar)
    left = minimum(maximum(left, floor(inputs, point, present)), present)
    solids = treatment.chemical_solids(inputs, product, present - left, molar)
    return Dose(point=point, molar=molar, precipitated=present - left, solids=solids), left


def _moles(inputs: Inputs, product: str, load: Quantity) -> Quantity:
    """Turn metal [kg/d] into its amount in the water [mmol/L]."""
    mass = stoich.concentration_from_load(load, inputs["flow.average"])
    return treatment.by_metal(inputs, product, lambda metal: stoich.metal_moles(mass, metal))


def reach(inputs: Inputs, product: str, point: str, residual: Quantity, most: Quantity) -> Quantity:
    """Give the phosphorus above a residual that a capacity [kg metal/d] can take [mg P/L]."""
    limit = _moles(inputs, product, most)
    each = metal_for(model(inputs, product, point), residual + 1.0, residual)
    return limit / each


def sludge_target(
    inputs: Inputs, product: str, sewage: Feed, zones: Zones, state: Reactor, target: Array
) -> Quantity:
    """Residual in the activated sludge that brings total phosphorus to the target [mg P/L]."""
    present = treatment.at_dose(sewage, state)
    used, made = model(inputs, product, SLUDGE), state.solids_mass / zones.srt
    return solve_monotone(
        _settled_excess,
        floor(inputs, SLUDGE, present),
        present,
        inputs, sewage, product, present, made, used, target,
    )  # fmt: skip


def _settled_excess(
    soluble: Quantity,
    inputs: Inputs,
    sewage: Feed,
    product: str,
    present: Quantity,
    made: Quantity,
    used: Model,
    target: Array,
) -> Quantity:
    """Total phosphorus behind the clarifiers above the target [mg P/L]."""
    molar = metal_for(used, present, soluble)
    solids = treatment.chemical_solids(inputs, product, present - soluble, molar)
    production = made + stoich.mass_load(solids, sewage.flow)
    return treatment.settled_phosphorus(inputs, sewage, soluble, production) - target


def filter_target(
    inputs: Inputs, product: str, sewage: Feed, present: Quantity, content: Quantity, target: Array
) -> Quantity:
    """Residual ahead of the filter that brings total phosphorus to the target [mg P/L].

    ``content`` is the phosphorus content of the solids that come from the clarifiers [kg/kg].
    """
    used = model(inputs, product, FILTER)
    return solve_monotone(
        _filtered_excess,
        floor(inputs, FILTER, present),
        present,
        inputs, sewage, product, present, content, used, target,
    )  # fmt: skip


def _filtered_excess(
    soluble: Quantity,
    inputs: Inputs,
    sewage: Feed,
    product: str,
    present: Quantity,
    content: Quantity,
    used: Model,
    target: Array,
) -> Quantity:
    """Total phosphorus behind the filter above the target [mg P/L]."""
    molar = metal_for(used, present, soluble)
    solids = treatment.chemical_solids(inputs, product, present - soluble, molar)
    held = treatment.content_on_filter(inputs, content, present - soluble, solids)
    left = precipitation.effluent_total_phosphorus(
        soluble, sewage.nonreactive, held, inputs["filter.effluent_tss"]
    )
    return left - target


def with_model(inputs: Inputs, kind: str) -> Inputs:
    """Give the same plant with another dose model."""
    return replace(inputs, choices={**inputs.choices, "chemical.dose_model": kind})
