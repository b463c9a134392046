"""Lime into the primary tanks: it softens, precipitates apatite and settles with the sewage.

The dose follows alkalinity and pH, not phosphorus. Carbon dioxide of the activated sludge brings
the pH down again; what a plant without it would need is reported.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pcompare import basis
from pcompare.arrays import Array, Quantity, as_cases, maximum, minimum, plain, where
from pcompare.equations import acid_base, lime, lime_solids
from pcompare.equations import stoichiometry as stoich
from pcompare.equations.measured_water import MeasuredCarbon, inorganic_carbon_from_ph
from pcompare.records import (
    Design,
    Feed,
    Inputs,
    Operation,
    Variant,
)
from pcompare.strategies import plant, season, sizes, sizing, treatment
from pcompare.strategies.treatment import PRIMARY, Dose, Treatment
from pcompare.tables import molar_mass

NAME = "lime"
PRODUCT = "hydrated_lime"
TRAIN = "metal"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Limed:
    """What lime does ahead of the primary tanks, per litre of plant flow."""

    dose: Quantity  # mg Ca(OH)2/L
    precipitated: Quantity  # mg P/L
    solids: Quantity  # mg/L
    calcium: Quantity  # mg/L, change
    magnesium: Quantity  # mg/L, change
    alkalinity: Quantity  # mg CaCO3/L, change
    dioxide: Quantity  # mg CO2/L to bring the water back to bicarbonate


def variants(inputs: Inputs) -> tuple[Variant, ...]:
    """Lime has one variant: the primary tanks."""
    return (Variant(PRODUCT, (PRIMARY,)),)


def limed(inputs: Inputs, most: Quantity) -> Limed:
    """Dose to the target pH in season, up to a capacity [kg Ca(OH)2/d], and settle what forms."""
    c = inputs.coefficient
    ph, temperature = c("lime_target_ph"), inputs["influent.temperature_average"]
    dose = minimum(
        dose_to(inputs, ph), stoich.concentration_from_load(most, inputs["flow.average"])
    )
    present, residual = inputs["influent.orthophosphate"], residual_at(inputs, ph)
    precipitated = minimum(maximum(present - residual, 0.0), bound_by_calcium(inputs, dose))
    carbonate = carbonate_solids(inputs, ph, dose, precipitated)
    left = lime_solids.magnesium_left(
        ph, temperature, inputs["influent.magnesium"], c("magnesium_hydroxide_solubility_product")
    )
    hydroxide = lime_solids.magnesium_hydroxide_solids(inputs["influent.magnesium"], left)
    found = {
        "dose": dose,
        "precipitated": precipitated,
        "solids": carbonate + hydroxide + lime_solids.apatite_solids(precipitated),
        "calcium": calcium_change(dose, carbonate, precipitated),
        "magnesium": left - inputs["influent.magnesium"],
        "alkalinity": lime.alkalinity_from_lime(dose, carbonate, hydroxide, precipitated),
        "dioxide": lime.recarbonation_dioxide(0.0 * dose, c("lime_carbonate_left")),
    }
    return Limed(**{name: season.inside(inputs, x, 0.0 * x) for name, x in found.items()})


def dose_to(inputs: Inputs, ph: Quantity) -> Quantity:
    """Lime that brings water of the sewage's alkalinity to a pH [mg Ca(OH)2/L]."""
    columns = ("9_5", "10_0", "10_5", "11_0", "11_3")
    table = (inputs.coefficient(f"lime_per_alkalinity_{x}") for x in columns)
    return lime.lime_dose(inputs["influent.alkalinity"], lime.lime_per_alkalinity(ph, *table))


def residual_at(inputs: Inputs, ph: Quantity) -> Quantity:
    """Soluble phosphorus that lime leaves at a pH [mg P/L]."""
    columns = ("9_0", "9_5", "10_0", "10_5", "11_0")
    return lime.lime_residual_phosphorus(
        ph, *(inputs.coefficient(f"lime_residual_{x}") for x in columns)
    )


def calcium_at_hand(inputs: Inputs, dose: Quantity) -> Quantity:
    """Calcium of the sewage and of the lime [mg/L]."""
    return inputs["influent.calcium"] + dose * (molar_mass("Ca") / molar_mass("Ca(OH)2"))


def bound_by_calcium(inputs: Inputs, dose: Quantity) -> Quantity:
    """Phosphorus that all calcium at hand takes up as apatite: none goes beyond it [mg P/L]."""
    return calcium_at_hand(inputs, dose) / lime_solids.calcium_in_apatite(1.0)


def calcium_change(dose: Quantity, carbonate: Quantity, precipitated: Quantity) -> Quantity:
    """Calcium that lime brings, less that of its solids [mg/L]."""
    in_solids = lime_solids.calcium_in_apatite(precipitated) + carbonate * (
        molar_mass("Ca") / molar_mass("CaCO3")
    )
    return dose * (molar_mass("Ca") / molar_mass("Ca(OH)2")) - in_solids


def carbonate_solids(
    inputs: Inputs, ph: Quantity, dose: Quantity, precipitated: Quantity
) -> Quantity:
    """Calcium carbonate from the carbon of the sewage, less what stays in solution [mg/L]."""
    raw = _raw_carbon(inputs)
    left = lime.inorganic_carbon_from_alkalinity(
        inputs.coefficient("lime_carbonate_left"),
        ph,
        raw.ionic_strength,
        inputs["influent.temperature_average"],
    )
    available = calcium_at_hand(inputs, dose) - lime_solids.calcium_in_apatite(precipitated)
    return lime_solids.calcium_carbonate_solids(raw.inorganic_carbon, left, available)


# Lime in the primary tanks and lime aside meet one sewage: the last answer is kept.
@functools.lru_cache(maxsize=1)
def _raw_carbon(inputs: Inputs) -> MeasuredCarbon:
    """Give the inorganic carbon of the sewage, from its measured pH."""
    strength = acid_base.strong_ion_strength(
        inputs["influent.sodium"],
        inputs["influent.potassium"],
        inputs["influent.calcium"],
        inputs["influent.magnesium"],
        inputs["influent.chloride"],
        inputs["influent.sulfate"],
        inputs["influent.nitrate"],
    )
    return inorganic_carbon_from_ph(
        inputs["influent.ph"],
        inputs["influent.alkalinity"],
        inputs["influent.orthophosphate"],
        inputs["influent.ammonia"],
        strength,
        inputs["influent.temperature_average"],
    )


def design(
    inputs: Inputs, baseline: Operation, variant: Variant, decisions: Mapping[str, Array]
) -> Operation:
    """Size lime feed and storage; at point values it runs as sized."""
    zones = basis.existing_zones(inputs)
    free = sizes.unlimited(inputs, NAME, variant, TRAIN, zones, {"lime": as_cases(sizes.UNLIMITED)})
    free_run = operate(inputs, free)
    found = free_run.quantities
    volume = sizing.capacity(inputs, found["product_volume"])
    built = {
        **free.sizes,
        **sizes.base(inputs, found, baseline),
        "lime": sizing.capacity(inputs, found["lime_use"]),
        "product_volume": volume,
        "storage": volume * plain(inputs["chemical.storage_days"]),
    }
    sized = Design(
        strategy=NAME,
        product=PRODUCT,
        design_mean=free.design_mean,
        sizes=built,
        capital=(*sizes.lime_items(built), *sizes.base_items(built, free.base)),
        choices={"product": PRODUCT, "base": free.base, "dosing points": PRIMARY},
        zones=zones,
        points=(PRIMARY,),
        base=free.base,
    )
    return replace(free_run, design=sized)


def operate(inputs: Inputs, chosen: Design) -> Operation:
    """Lime the sewage, settle it, and let the activated sludge do the rest."""
    c = inputs.coefficient
    done = limed(inputs, chosen.sizes["lime"])
    returned = sizing.returned_share(inputs, "metal")
    idle = plain(done.dose) <= 0.0
    if idle.any():  # sludge without lime gives back what it gives today
        returned = where(idle, sizing.returned_share(inputs, "ordinary"), returned)
    capture, sewage = _settled(inputs, done, returned)
    state = basis.reactor(inputs, sewage, chosen.zones)
    left = treatment.at_dose(sewage, state)
    run = Treatment(
        capture=capture,
        sewage=sewage,
        zones=chosen.zones,
        reactor=state,
        product="",
        doses=(
            Dose(
                point=PRIMARY,
                molar=0.0 * done.dose,
                precipitated=done.precipitated,
                solids=done.solids,
            ),
        ),
        soluble_secondary=left,
        soluble=left,
        carbon=0.0 * sewage.flow,
        base=chosen.base,
        base_capacity=chosen.sizes["base"],
        returned=returned,
        biological=False,
        filtered=False,
        calcium=done.calcium,
        magnesium=done.magnesium,
        softening=done.alkalinity,
    )
    use = stoich.mass_load(done.dose, sewage.flow)
    product = use / c(f"{PRODUCT}_strength")
    return plant.operation(
        inputs,
        chosen,
        run,
        TRAIN,
        lime_use=use,
        lime_dose=done.dose,
        product_use=product,
        product_volume=stoich.product_volume(product, c(f"{PRODUCT}_density")),
        chemical_sludge=stoich.mass_load(done.solids, sewage.flow),
        recarbonation=stoich.mass_load(done.dioxide, sewage.flow),
    )


def _settled(inputs: Inputs, done: Limed, returned: Quantity) -> tuple[Quantity, Feed]:
    """Settle limed sewage: the primary tanks take more, as with a metal salt."""
    capture = inputs["primary.capture"]
    more = maximum(inputs.coefficient("primary_capture_chemical"), capture)
    capture = where(capture > 0.0, season.inside(inputs, more, capture), capture)
    return capture, basis.feed(inputs, capture, returned, done.precipitated, done.solids)
