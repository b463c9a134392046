"""What dissolves in the effluent: every ion, pH, dissolved solids; charge always closed.

A treatment tells its water. What follows from the water asks for no plant and no product, so the
waters of several strategies are worked out together where there is one case of each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from itertools import accumulate
from math import nan

from pcompare.arrays import Quantity, as_cases, maximum, where
from pcompare.equations import acid_base, alkalinity, conductivity, ions
from pcompare.records import Inputs, Operation, Water
from pcompare.rows import in_rows
from pcompare.strategies.ledger import formula_of
from pcompare.strategies.treatment import FILTER, Treatment, property_of


def water(inputs: Inputs, run: Treatment, known: Mapping[str, Quantity]) -> Water:
    """Tell the water that a treatment leaves, of which alkalinity and base are ``known``."""
    none = 0.0 * run.sewage.flow
    filtered = FILTER in (dose.point for dose in run.doses)
    taken = none
    if filtered:
        taken = alkalinity.alkalinity_from_metal(
            run.total("molar", FILTER),
            run.total("precipitated", FILTER),
            property_of(inputs, run.product, "equivalents_per_metal"),
        )
    return Water(
        **_ions(inputs, run, known["base_dose"]),
        ammonia=run.reactor.ammonia,
        nitrate=run.reactor.nitrate,
        phosphate=run.soluble,
        alkalinity=known["alkalinity_residual"],
        temperature=run.sewage.temperature,
        dosed_late=as_cases(float(filtered)),
        late_alkalinity=taken,
        late_phosphate=run.soluble_secondary,
    )


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


def dissolve(inputs: Inputs, operation: Operation) -> Operation:
    """Add what dissolves to the quantities of an operation."""
    return _with(operation, quantities(inputs, operation.water))


def dissolve_together(inputs: Inputs, operations: Sequence[Operation]) -> list[Operation]:
    """Do the same for several operations of one plant in one pass, as rows of one array."""
    if not operations:
        return []
    waters = [operation.water for operation in operations]
    names = [field.name for field in fields(Water)]
    counts = [max(len(as_cases(getattr(w, name))) for name in names) for w in waters]
    stacked = {name: in_rows([getattr(w, name) for w in waters], counts) for name in names}
    found = quantities(inputs, Water(**stacked))
    ends = accumulate(counts)
    return [
        _with(operation, {name: value[end - count : end] for name, value in found.items()})
        for operation, count, end in zip(operations, counts, ends, strict=True)
    ]


def _with(operation: Operation, found: Mapping[str, Quantity]) -> Operation:
    return replace(operation, quantities={**operation.quantities, **found})


def quantities(inputs: Inputs, found: Water) -> dict[str, Quantity]:
    """Give pH at the basin's carbon dioxide, dissolved solids and the ratios of the ions."""
    pressure, temperature = inputs.coefficient("log_pco2_basin"), found.temperature
    cations = (found.sodium, found.potassium, found.calcium, found.magnesium)
    anions = (found.chloride, found.sulfate, found.nitrate)
    strength = acid_base.strong_ion_strength(*cations, *anions)
    solved = acid_base.ph_open(
        found.alkalinity, found.phosphate, found.ammonia, strength, temperature, pressure
    )
    carbonate = acid_base.carbonate_species_open(
        solved.ph, solved.ionic_strength, temperature, pressure
    )
    phosphate = acid_base.phosphate_species(
        solved.ph, solved.ionic_strength, temperature, found.phosphate
    )
    everything = (
        *cations,
        found.ammonia,
        *anions,
        carbonate.bicarbonate,
        carbonate.carbonate,
        phosphate.dihydrogen_phosphate,
        phosphate.hydrogen_phosphate,
    )
    return {
        "ph": solved.ph,
        "ph_filter": _ph_ahead_of_filter(pressure, found, strength),
        "bicarbonate": ions.ion_mass(carbonate.bicarbonate, "HCO3"),
        "other_ions": ions.other_ions(
            found.ammonia,
            found.nitrate,
            carbonate.carbonate,
            phosphate.dihydrogen_phosphate,
            phosphate.hydrogen_phosphate,
        ),
        "tds_ion_sum": ions.dissolved_solids_ion_sum(*everything),
        "tds_residue": ions.dissolved_solids_residue(*everything),
        "conductivity": conductivity.conductivity_with_pairs(*everything, solved.ionic_strength),
        "sar": ions.sodium_adsorption_ratio(found.sodium, found.calcium, found.magnesium),
        "chloride_sulfate_ratio": ions.chloride_sulfate_ratio(found.chloride, found.sulfate),
        "larson_ratio": ions.larson_ratio(
            found.chloride, found.sulfate, carbonate.bicarbonate, carbonate.carbonate
        ),
        "conductivity_standard": conductivity.conductivity_standard(
            *everything, solved.ionic_strength
        ),
        "ionic_strength": solved.ionic_strength,
        "carbonate": ions.ion_mass(carbonate.carbonate, "CO3"),
        "effluent_phosphate": found.phosphate + 0.0 * solved.ph,
        "effluent_metal": 0.0 * solved.ph,  # all of it is counted as solids
        "unmeasured_ions": alkalinity.unmeasured_ions(
            found.alkalinity, *cations, found.ammonia, *anions, found.phosphate
        ),
        "effluent_sodium": found.sodium,
        "effluent_potassium": found.potassium,
        "effluent_calcium": found.calcium,
        "effluent_magnesium": found.magnesium,
        "effluent_chloride": found.chloride,
        "effluent_sulfate": found.sulfate,
    }


def _ph_ahead_of_filter(pressure: Quantity, found: Water, strength: Quantity) -> Quantity:
    """Give the pH just after the dose ahead of the filter, before any carbon dioxide leaves."""
    late = as_cases(found.dosed_late) > 0.0
    if not late.any():
        return nan + 0.0 * found.temperature
    before = found.alkalinity - found.late_alkalinity
    came = acid_base.ph_open(
        before, found.late_phosphate, found.ammonia, strength, found.temperature, pressure
    )
    carbon = acid_base.inorganic_carbon_open(
        came.ph, came.ionic_strength, found.temperature, pressure
    )
    ph = acid_base.ph_closed(
        found.alkalinity, carbon, found.phosphate, found.ammonia, strength, found.temperature
    ).ph
    return ph if late.all() else where(late, ph, nan)
