"""What every strategy does to the rest of the plant, by the same functions.

Effluent phosphorus, the alkalinity ledger, dissolved ions, the sludge line, air and power: one
``Treatment`` goes in, the quantities of ``pcompare.lines`` come out.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from pcompare import tables
from pcompare.arrays import Quantity, maximum, minimum
from pcompare.equations import (
    acid_base,
    aeration,
    alkalinity,
    carbon,
    ions,
    precipitation,
    sludge,
)
from pcompare.equations import nitrogen as nit
from pcompare.equations import stoichiometry as stoich
from pcompare.records import Design, Feed, Inputs, Operation, Reactor, Requirement, Zones
from pcompare.strategies import sizing

BASE = "NaOH"
ACID = "C2H4O2"
UNLIMITED = 1e12  # kg/d: a capacity that never binds, for sizing


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Treatment:
    """One way to run the plant: the sludge, and what is dosed into it."""

    sewage: Feed
    zones: Zones
    reactor: Reactor
    product: str  # metal salt, or ""
    metal_molar: Quantity  # mmol/L of plant flow
    soluble: Quantity  # mg P/L, reactive, that leaves
    carbon: Quantity  # kg COD/d purchased
    base_capacity: Quantity  # kg/d
    returned: Quantity  # share of the reactor's phosphorus that sludge treatment returns
    biological: bool  # organisms that store phosphorus are kept


@functools.cache
def metal_of(product: str) -> str:
    """Element symbol of a product's metal."""
    for row in tables.read("products"):
        if row.text("product") == product:
            return row.text("metal")
    raise KeyError(product)


def at_dose(treatment_feed: Feed, state: Reactor) -> Quantity:
    """Soluble reactive phosphorus that meets the salt: what the organisms leave [mg P/L]."""
    return treatment_feed.phosphorus - treatment_feed.nonreactive - state.phosphorus_taken


def chemical_solids(
    inputs: Inputs, product: str, precipitated: Quantity, metal_molar: Quantity
) -> Quantity:
    """Solids that a salt makes, with the allowance above stoichiometry [mg/L]."""
    made = precipitation.chemical_solids(precipitated, metal_molar, metal_of(product))
    return made * inputs.coefficient("solids_allowance")


def solids_production(
    sewage: Feed, zones: Zones, state: Reactor, chemical_solids: Quantity
) -> Quantity:
    """Solids made in the reactor, those that leave with the effluent included [kg/d]."""
    return state.solids_mass / zones.srt + stoich.mass_load(chemical_solids, sewage.flow)


def effluent_phosphorus(
    inputs: Inputs, sewage: Feed, soluble: Quantity, production: Quantity
) -> Quantity:
    """Total phosphorus of the effluent by the closed balance of its solids [mg P/L]."""
    return precipitation.effluent_total_phosphorus(
        soluble,
        sewage.nonreactive,
        content_of_solids(sewage, soluble, production),
        inputs["secondary.effluent_tss"],
    )


def content_of_solids(sewage: Feed, soluble: Quantity, production: Quantity) -> Quantity:
    """Phosphorus content of the activated-sludge solids [kg/kg]."""
    bound = stoich.mass_load(sewage.phosphorus - sewage.nonreactive - soluble, sewage.flow)
    return precipitation.phosphorus_in_solids(bound, production)


def operation(
    inputs: Inputs,
    chosen: Design,
    run: Treatment,
    train: str,
    extra: tuple[Requirement, ...] = (),
    **told: Quantity,
) -> Operation:
    """Run the plant under one design and hold it against the permit and the tanks."""
    found = {**quantities(inputs, run), **told}
    found.update(sizing.chance(inputs, train, found["effluent_tp"]))
    found["effluent_tp_governing"] = sizing.governing(inputs, found["effluent_tp"])
    found["design_mean"] = chosen.design_mean
    asked = sizing.requirements(inputs, run.zones, run.reactor, found, chosen.design_mean)
    return Operation(design=chosen, quantities=found, requirements=(*asked, *extra))


def quantities(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Work out everything that one treatment does, month by month."""
    dosed = _dosed(inputs, run)
    result = {
        **_effluent(inputs, run, dosed["chemical_solids"]),
        **_reported_dose(inputs, run, dosed),
        **_ledger_and_ions(inputs, run, dosed["precipitated"]),
        **_sludge_line(inputs, run, dosed["chemical_solids"]),
        **_air_and_power(inputs, run),
    }
    result.update(_carbon(inputs, run))
    result["recoverable_p"] = _recoverable(inputs, run, dosed["precipitated"])
    return result


def _carbon(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Purchased carbon as COD, as pure acetic acid and as product."""
    c = inputs.coefficient
    bought = run.carbon + 0.0 * run.sewage.flow
    acid = bought / carbon.carbon_product_cod(ACID)
    return {
        "carbon_dose": bought,
        "carbon_use": acid,
        "carbon_volume": stoich.product_volume(
            acid / c("acetic_acid_strength"), c("acetic_acid_density")
        ),
    }


def _dosed(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Phosphorus precipitated [mg P/L] and the solids it makes [mg/L]."""
    none = 0.0 * run.sewage.flow
    if not run.product:
        return {"precipitated": none, "chemical_solids": none}
    precipitated = at_dose(run.sewage, run.reactor) - run.soluble
    solids = chemical_solids(inputs, run.product, precipitated, run.metal_molar)
    return {"precipitated": precipitated, "chemical_solids": solids}


def _effluent(inputs: Inputs, run: Treatment, chemical: Quantity) -> dict[str, Quantity]:
    production = solids_production(run.sewage, run.zones, run.reactor, chemical)
    content = content_of_solids(run.sewage, run.soluble, production)
    solids = inputs["secondary.effluent_tss"]
    soluble = run.soluble + run.sewage.nonreactive
    return {
        "effluent_tp": effluent_phosphorus(inputs, run.sewage, run.soluble, production),
        "effluent_soluble_p": soluble + 0.0 * run.sewage.flow,
        "effluent_particulate_p": content * solids,
        "solids_phosphorus": content,
        "effluent_ammonia": run.reactor.ammonia,
        "effluent_nitrate": run.reactor.nitrate,
        "effluent_nitrogen": run.reactor.ammonia
        + run.reactor.nitrate
        + run.reactor.organic_nitrogen
        + solids * inputs.coefficient("nitrogen_content"),
    }


def _reported_dose(
    inputs: Inputs, run: Treatment, dosed: dict[str, Quantity]
) -> dict[str, Quantity]:
    none = 0.0 * run.sewage.flow
    if not run.product:
        return {"metal_dose": none, "metal_to_p_removed": none / 1.0 + float("nan"),
                "metal_molar": none, "product_use": none, "product_volume": none,
                "chemical_sludge": none}  # fmt: skip
    c = inputs.coefficient
    dose = stoich.metal_mass(run.metal_molar, metal_of(run.product))
    use = stoich.product_load(dose, run.sewage.flow, c(f"{run.product}_metal_fraction"))
    return {
        "metal_dose": dose,
        "metal_molar": run.metal_molar,
        "metal_to_p_removed": precipitation.metal_to_phosphorus_removed(
            run.metal_molar, dosed["precipitated"]
        ),
        "product_use": use,
        "product_volume": stoich.product_volume(use, c(f"{run.product}_density")),
        "chemical_sludge": stoich.mass_load(dosed["chemical_solids"], run.sewage.flow),
    }


def stored_phosphorus(run: Treatment) -> Quantity:
    """Polyphosphate that leaves with the sludge, as phosphorus, returns deducted [mg P/L]."""
    stored = run.reactor.phosphorus_taken - run.reactor.ordinary_phosphorus
    return stored * (1.0 - run.returned)


def _ledger_and_ions(inputs: Inputs, run: Treatment, precipitated: Quantity) -> dict[str, Quantity]:
    """Alkalinity by the strong-ion identity, base to hold the reserve, and every ion."""
    c = inputs.coefficient
    state, flow = run.reactor, run.sewage.flow
    stored = stored_phosphorus(run)
    removed = inputs["influent.orthophosphate"] - run.soluble - precipitated
    metal: Quantity = 0.0 * flow
    if run.product:
        metal = alkalinity.alkalinity_from_metal(
            run.metal_molar, precipitated, c(f"{run.product}_equivalents_per_metal")
        )
    terms = {
        "alkalinity_influent": inputs["influent.alkalinity"] + 0.0 * flow,
        "alkalinity_ammonification": alkalinity.alkalinity_from_ammonification(
            state.ammonia + state.nitrified - inputs["influent.ammonia"]
        ),
        "alkalinity_nitrification": alkalinity.alkalinity_from_nitrification(state.nitrified),
        "alkalinity_denitrification": alkalinity.alkalinity_from_denitrification(state.denitrified),
        "alkalinity_metal": metal,
        "alkalinity_phosphorus": alkalinity.alkalinity_from_phosphorus_uptake(removed, stored),
    }
    before = sum(terms.values())
    wanted = alkalinity.base_dose(
        maximum(inputs["permit.residual_alkalinity"] - before, 0.0),
        BASE,
        c("caustic_equivalents_per_base"),
    )
    base = minimum(wanted, stoich.concentration_from_load(run.base_capacity, flow))
    residual = before + alkalinity.alkalinity_from_base(
        base, BASE, c("caustic_equivalents_per_base")
    )
    return {
        **terms,
        "alkalinity_before_base": before,
        "base_dose": base,
        "base_wanted": wanted,
        "base_use": stoich.mass_load(base, flow),
        "base_volume": stoich.product_volume(
            stoich.product_load(base, flow, c("caustic_strength")), c("caustic_density")
        ),
        "alkalinity_residual": residual,
        **_dissolved(inputs, run, stored, base, residual),
    }


def _ions(inputs: Inputs, run: Treatment, stored: Quantity, base: Quantity) -> dict[str, Quantity]:
    """Give the inert ions of the effluent [mg/L]."""
    c = inputs.coefficient
    none = 0.0 * run.sewage.flow
    added = {"chloride": none, "sulfate": none, "sodium": none}
    if run.product:
        for ion, make in (
            ("chloride", ions.chloride_from_metal),
            ("sulfate", ions.sulfate_from_metal),
            ("sodium", ions.sodium_from_metal),
        ):
            added[ion] = make(run.metal_molar, c(f"{run.product}_{ion}_per_metal"))
    return {
        "sodium": inputs["influent.sodium"]
        + added["sodium"]
        + ions.sodium_from_base(base, BASE, c("caustic_sodium_per_base")),
        "potassium": inputs["influent.potassium"]
        - ions.potassium_into_polyphosphate(stored, c("potassium_per_phosphorus")),
        "calcium": inputs["influent.calcium"] + none,
        "magnesium": inputs["influent.magnesium"]
        - ions.magnesium_into_polyphosphate(stored, c("magnesium_per_phosphorus")),
        "chloride": inputs["influent.chloride"] + added["chloride"],
        "sulfate": inputs["influent.sulfate"] + added["sulfate"],
    }


def _dissolved(
    inputs: Inputs, run: Treatment, stored: Quantity, base: Quantity, residual: Quantity
) -> dict[str, Quantity]:
    """PH at the basin's carbon dioxide, dissolved solids and the ratios of the ions."""
    c = inputs.coefficient
    state, temperature = run.reactor, run.sewage.temperature
    ion = _ions(inputs, run, stored, base)
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
        "conductivity": ions.conductivity(*everything, solved.ionic_strength),
        "sar": ions.sodium_adsorption_ratio(ion["sodium"], ion["calcium"], ion["magnesium"]),
        "chloride_sulfate_ratio": ions.chloride_sulfate_ratio(ion["chloride"], ion["sulfate"]),
        "larson_ratio": ions.larson_ratio(
            ion["chloride"], ion["sulfate"], carbonate.bicarbonate, carbonate.carbonate
        ),
        **{f"effluent_{name}": value for name, value in ion.items()},
    }


def _sludge_line(inputs: Inputs, run: Treatment, chemical: Quantity) -> dict[str, Quantity]:
    """Raw sludge, cake and polymer; the change of dryness falls on all cake."""
    c = inputs.coefficient
    sewage, state, srt = run.sewage, run.reactor, run.zones.srt
    production = solids_production(sewage, run.zones, state, chemical)
    lost = stoich.mass_load(inputs["secondary.effluent_tss"], sewage.flow)
    wasted = production - lost
    volatile = sewage.primary_volatile + wasted * (state.volatile_mass / srt) / production
    raw = sewage.primary_solids + wasted
    digests = inputs.choice("solids.digestion") == "anaerobic"
    dry = (
        sludge.digested_solids(volatile, raw - volatile, c("volatile_destruction"))
        if digests
        else raw
    )
    dryness, polymer = c("cake_dryness"), c("polymer_dose")
    if run.product and not run.biological:
        dryness = dryness + c("cake_change_chemical")
    if run.biological:
        dryness = dryness + c("cake_change_biological")
        polymer = polymer * (1.0 + c("polymer_increase_biological"))
    peak = inputs["flow.peak_factor"]
    held = (state.solids_mass + stoich.mass_load(chemical, sewage.flow) * srt) * peak
    liquor = sludge.mixed_liquor(held, run.zones.volume)
    return {
        "sludge_total": raw,
        "solids_production": production,
        "cake_total": sludge.wet_cake(dry, dryness),
        "polymer_use": sludge.polymer_use(dry, polymer),
        "mixed_liquor": liquor,
        "clarifier_loading": sludge.clarifier_loading(
            sewage.flow * peak,
            inputs["secondary.return_ratio"],
            liquor,
            inputs["secondary.clarifier_area"],
        ),
    }


def _air_and_power(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Oxygen by part, blower, mixers and pumps."""
    c = inputs.coefficient
    state, flow = run.reactor, run.sewage.flow
    demand = (
        state.oxygen_carbon
        + nit.nitrification_oxygen(state.nitrified, flow)
        - nit.denitrification_oxygen_credit(state.denitrified, flow)
    )
    depth, pressure = inputs["secondary.basin_depth"], inputs["site.altitude_pressure"]
    saturation = aeration.mean_saturation(
        aeration.oxygen_saturation(20.0), depth, c("diffuser_depth_factor")
    )
    standard = aeration.standard_transfer_rate(
        demand,
        c("alpha"),
        c("beta"),
        run.sewage.temperature,
        saturation,
        inputs["secondary.oxygen"],
        aeration.pressure_ratio(pressure),
    )
    power = aeration.blower_power(
        aeration.air_flow(standard, c("transfer_efficiency_per_m") * depth),
        inputs["site.design_air_temperature"],
        pressure,
        aeration.outlet_pressure(pressure, depth, c("air_line_loss")),
        c("blower_efficiency"),
    )
    unaerated = run.zones.volume * (run.zones.anaerobic_fraction + run.zones.anoxic_fraction)
    pumped_back = flow * inputs["secondary.return_ratio"]
    recycled = flow * run.zones.internal_recycle
    return {
        "oxygen_demand": demand,
        "aeration_energy": aeration.daily_energy(power),
        "mixing_energy": aeration.mixing_energy(unaerated, c("mixing_power")) + 0.0 * flow,
        "pumping_energy": aeration.pumping_energy(
            pumped_back, c("return_head"), c("pump_efficiency")
        )
        + aeration.pumping_energy(recycled, c("recycle_head"), c("pump_efficiency")),
    }


def _recoverable(inputs: Inputs, run: Treatment, precipitated: Quantity) -> Quantity:
    """Phosphorus that digestion frees: most of what is stored, little of what metal holds."""
    if inputs.choice("solids.digestion") != "anaerobic":
        return 0.0 * run.sewage.flow
    c = inputs.coefficient
    stored = run.reactor.phosphorus_taken - run.reactor.ordinary_phosphorus
    freed = stored * c("stored_release_share") + precipitated * c("metal_release_share")
    return stoich.mass_load(freed, run.sewage.flow)
