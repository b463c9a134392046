"""The alkalinity ledger and the dissolved ions: nothing counted twice, charge always closed."""

from __future__ import annotations

import functools
from math import nan

from pcompare import tables
from pcompare.arrays import Quantity, maximum, minimum
from pcompare.equations import acid_base, alkalinity, conductivity, ions
from pcompare.equations import stoichiometry as stoich
from pcompare.records import Inputs
from pcompare.strategies.treatment import FILTER, Treatment, property_of


@functools.cache
def formula_of(base: str) -> str:
    """Chemical formula of a base."""
    for row in tables.read("base_products"):
        if row.text("base") == base:
            return row.text("formula")
    raise KeyError(base)


def ledger(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Alkalinity by the strong-ion identity, base to hold the reserve, and every ion."""
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
        **_dissolved(inputs, run, base, residual),
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


def _ions(inputs: Inputs, run: Treatment, base: Quantity) -> dict[str, Quantity]:
    """Give the inert ions of the effluent [mg/L]."""
    c = inputs.coefficient
    formula = formula_of(run.base)
    none = 0.0 * run.sewage.flow
    stored = run.stored + none
    added = {"chloride": none + run.chloride, "sulfate": none, "sodium": none + run.sodium}
    if run.product:
        metal = run.total("molar")
        for ion, symbol in (("chloride", "Cl"), ("sulfate", "SO4"), ("sodium", "Na")):
            per_metal = property_of(inputs, run.product, f"{ion}_per_metal")
            added[ion] = added[ion] + ions.ion_from_metal(metal, per_metal, symbol)
    return {
        "sodium": inputs["influent.sodium"]
        + added["sodium"]
        + ions.ion_from_base(base, formula, c(f"{run.base}_sodium_per_base"), "Na"),
        "potassium": inputs["influent.potassium"]
        - ions.ion_into_polyphosphate(stored, c("potassium_per_phosphorus"), "K"),
        # Lime may take all of it: a rounding below nothing is nothing.
        "calcium": maximum(inputs["influent.calcium"] + run.calcium, 0.0)
        + ions.ion_from_base(base, formula, c(f"{run.base}_calcium_per_base"), "Ca"),
        "magnesium": inputs["influent.magnesium"]
        + run.magnesium
        - ions.ion_into_polyphosphate(stored, c("magnesium_per_phosphorus"), "Mg")
        + ions.ion_from_base(base, formula, c(f"{run.base}_magnesium_per_base"), "Mg"),
        "chloride": inputs["influent.chloride"] + added["chloride"],
        "sulfate": inputs["influent.sulfate"] + added["sulfate"],
    }


def _dissolved(
    inputs: Inputs, run: Treatment, base: Quantity, residual: Quantity
) -> dict[str, Quantity]:
    """Give pH at the basin's carbon dioxide, dissolved solids and the ratios of the ions."""
    c = inputs.coefficient
    state, temperature = run.reactor, run.sewage.temperature
    ion = _ions(inputs, run, base)
    cations = (ion["sodium"], ion["potassium"], ion["calcium"], ion["magnesium"])
    anions = (ion["chloride"], ion["sulfate"], state.nitrate)
    strength = acid_base.strong_ion_strength(*cations, *anions)
    solved = acid_base.ph_open(
        residual, run.soluble, state.ammonia, strength, temperature, c("log_pco2_basin")
    )
    carbonate = acid_base.carbonate_species_open(
        solved.ph, solved.ionic_strength, temperature, c("log_pco2_basin")
    )
    phosphate = acid_base.phosphate_species(
        solved.ph, solved.ionic_strength, temperature, run.soluble
    )
    everything = (
        *cations,
        state.ammonia,
        *anions,
        carbonate.bicarbonate,
        carbonate.carbonate,
        phosphate.dihydrogen_phosphate,
        phosphate.hydrogen_phosphate,
    )
    return {
        "ph": solved.ph,
        "ph_filter": _ph_ahead_of_filter(inputs, run, residual, strength),
        "bicarbonate": ions.ion_mass(carbonate.bicarbonate, "HCO3"),
        "other_ions": ions.other_ions(
            state.ammonia,
            state.nitrate,
            carbonate.carbonate,
            phosphate.dihydrogen_phosphate,
            phosphate.hydrogen_phosphate,
        ),
        "tds_ion_sum": ions.dissolved_solids_ion_sum(*everything),
        "tds_residue": ions.dissolved_solids_residue(*everything),
        "conductivity": conductivity.conductivity_with_pairs(*everything, solved.ionic_strength),
        "sar": ions.sodium_adsorption_ratio(ion["sodium"], ion["calcium"], ion["magnesium"]),
        "chloride_sulfate_ratio": ions.chloride_sulfate_ratio(ion["chloride"], ion["sulfate"]),
        "larson_ratio": ions.larson_ratio(
            ion["chloride"], ion["sulfate"], carbonate.bicarbonate, carbonate.carbonate
        ),
        "conductivity_standard": conductivity.conductivity_standard(
            *everything, solved.ionic_strength
        ),
        "ionic_strength": solved.ionic_strength,
        "carbonate": ions.ion_mass(carbonate.carbonate, "CO3"),
        "effluent_phosphate": run.soluble + 0.0 * solved.ph,
        "effluent_metal": 0.0 * solved.ph,  # all of it is counted as solids
        "unmeasured_ions": alkalinity.unmeasured_ions(
            residual, *cations, state.ammonia, *anions, run.soluble
        ),
        **{f"effluent_{name}": value for name, value in ion.items()},
    }


def _ph_ahead_of_filter(
    inputs: Inputs, run: Treatment, residual: Quantity, strength: Quantity
) -> Quantity:
    """Give the pH just after the dose ahead of the filter, before any carbon dioxide leaves."""
    if FILTER not in (dose.point for dose in run.doses):
        return nan + 0.0 * run.sewage.flow
    c, state, temperature = inputs.coefficient, run.reactor, run.sewage.temperature
    taken = alkalinity.alkalinity_from_metal(
        run.total("molar", FILTER),
        run.total("precipitated", FILTER),
        property_of(inputs, run.product, "equivalents_per_metal"),
    )
    phosphate, pressure = run.soluble_secondary, c("log_pco2_basin")
    came = acid_base.ph_open(
        residual - taken, phosphate, state.ammonia, strength, temperature, pressure
    )
    carbon = acid_base.inorganic_carbon_open(came.ph, came.ionic_strength, temperature, pressure)
    return acid_base.ph_closed(
        residual, carbon, run.soluble, state.ammonia, strength, temperature
    ).ph
