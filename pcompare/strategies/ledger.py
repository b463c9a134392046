"""The alkalinity ledger: what each process brings or takes, nothing counted twice."""

from __future__ import annotations

import functools

from pcompare import tables
from pcompare.arrays import Quantity, maximum, minimum
from pcompare.equations import alkalinity
from pcompare.equations import stoichiometry as stoich
from pcompare.records import Inputs
from pcompare.strategies.treatment import Treatment, property_of


@functools.cache
def formula_of(base: str) -> str:
    """Chemical formula of a base."""
    for row in tables.read("base_products"):
        if row.text("base") == base:
            return row.text("formula")
    raise KeyError(base)


def ledger(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Alkalinity by the strong-ion identity, and the base to hold the reserve."""
    c = inputs.coefficient
    flow, formula = run.sewage.flow, formula_of(run.base)
    terms = _terms(inputs, run)
    before = sum(terms.values())
    equivalents = c(f"{run.base}_equivalents_per_base")
    wanted = alkalinity.base_dose(
        maximum(inputs["permit.residual_alkalinity"] - before, 0.0), formula, equivalents
    )
    base = minimum(wanted, stoich.concentration_from_load(run.base_capacity, flow))
    residual = before + alkalinity.alkalinity_from_base(base, formula, equivalents)
    return {
        **terms,
        "alkalinity_before_base": before,
        "base_dose": base,
        "base_use": stoich.mass_load(base, flow),
        "base_volume": stoich.product_volume(
            stoich.product_load(base, flow, c(f"{run.base}_strength")), c(f"{run.base}_density")
        ),
        "alkalinity_residual": residual,
    }


def _terms(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Alkalinity that each process brings or takes, signed [mg CaCO3/L]."""
    state, flow = run.reactor, run.sewage.flow
    precipitated = run.total("precipitated") + run.precipitated_aside
    removed = inputs["influent.orthophosphate"] - run.soluble - precipitated
    metal: Quantity = 0.0 * flow
    if run.product:
        metal = alkalinity.alkalinity_from_metal(
            run.total("molar"),
            precipitated,
            property_of(inputs, run.product, "equivalents_per_metal"),
        )
    return {
        "alkalinity_influent": inputs["influent.alkalinity"] + 0.0 * flow,
        "alkalinity_ammonification": alkalinity.alkalinity_from_ammonification(
            state.ammonia + state.nitrified - inputs["influent.ammonia"]
        ),
        "alkalinity_nitrification": alkalinity.alkalinity_from_nitrification(state.nitrified),
        "alkalinity_denitrification": alkalinity.alkalinity_from_denitrification(state.denitrified),
        "alkalinity_metal": metal,
        "alkalinity_lime": run.softening + 0.0 * flow,
        "alkalinity_phosphorus": alkalinity.alkalinity_from_phosphorus_uptake(
            removed, run.stored + 0.0 * flow
        ),
        "alkalinity_carbon": run.carbon_alkalinity + 0.0 * flow,
    }
