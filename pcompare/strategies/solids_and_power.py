"""The sludge line, air and power: the same functions for every strategy."""

from __future__ import annotations

from pcompare.arrays import Quantity
from pcompare.equations import aeration, fermentation, sludge
from pcompare.equations import nitrogen as nit
from pcompare.equations import stoichiometry as stoich
from pcompare.records import Inputs
from pcompare.strategies import sizing, treatment
from pcompare.strategies.treatment import FILTER, SLUDGE, Treatment


def sludge_line(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Raw sludge, cake and polymer; the change of dryness falls on all cake."""
    c = inputs.coefficient
    sewage, peak = run.sewage, sizing.peak(inputs)
    made_by_salt = run.total("solids", SLUDGE)
    production = treatment.solids_production(sewage, run.zones, run.reactor, made_by_salt)
    raw, volatile = _raw(inputs, run, production)
    dry, gas = raw, 0.0 * raw
    if inputs.choice("solids.digestion") == "anaerobic":
        gas = _gas_electricity(inputs, sewage.primary_volatile, volatile)
        dry = sludge.digested_solids(volatile, raw - volatile, c("volatile_destruction"))
    dryness, polymer = c("cake_dryness"), c("polymer_dose")
    if run.biological:
        dryness = dryness + c("cake_change_biological")
        polymer = polymer * (1.0 + c("polymer_increase_biological"))
    elif run.product:
        dryness = dryness + c("cake_change_chemical")
    inert = stoich.mass_load(made_by_salt, sewage.flow) * run.zones.srt
    held = run.reactor.solids_mass + inert
    liquor = sludge.mixed_liquor(held * peak, run.zones.volume)
    return {
        "sludge_total": raw,
        "solids_production": production,
        "cake_total": sludge.wet_cake(dry, dryness),
        "polymer_use": sludge.polymer_use(dry, polymer),
        "digester_energy": gas,
        "mixed_liquor": liquor,
        "volume_taken": run.zones.volume * inert / held,
        "clarifier_loading": sludge.clarifier_loading(
            sewage.flow * peak,
            inputs["secondary.return_ratio"],
            liquor,
            inputs["secondary.clarifier_area"],
        ),
    }


def _gas_electricity(inputs: Inputs, primary: Quantity, volatile: Quantity) -> Quantity:
    """Electricity of the gas from primary [kg VSS/d] and all volatile solids [kWh/d]."""
    c = inputs.coefficient
    per_primary = c("primary_cod_content") * inputs["influent.tss"] / inputs["influent.vss"]
    cod = primary * per_primary + (volatile - primary) * c("cod_per_vss")
    methane = fermentation.methane_from_cod(cod * c("volatile_destruction"))
    return fermentation.methane_electricity(
        methane, c("methane_heating_value"), c("engine_efficiency")
    )


def _raw(inputs: Inputs, run: Treatment, production: Quantity) -> tuple[Quantity, Quantity]:
    """Raw sludge of the whole plant and its volatile part [kg/d]."""
    sewage = run.sewage
    arriving = inputs["secondary.effluent_tss"]
    wasted = production - stoich.mass_load(arriving, sewage.flow)
    share = treatment.volatile_share(run.reactor, run.zones, production)
    raw = sewage.primary_solids + wasted + run.limed_aside
    volatile = sewage.primary_volatile + wasted * share
    if run.filtered:
        # The backwash brings back what the filter holds.
        on_filter = arriving + run.total("solids", FILTER)
        held = 1.0 - inputs["filter.effluent_tss"] / on_filter
        raw = raw + stoich.mass_load(on_filter * held, sewage.flow)
        volatile = volatile + stoich.mass_load(arriving * held, sewage.flow) * share
    return raw, volatile


def air_and_power(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Oxygen by part, blower, mixers and pumps."""
    c = inputs.coefficient
    state, flow = run.reactor, run.sewage.flow
    demand = (
        state.oxygen_carbon
        + nit.nitrification_oxygen(state.nitrified, flow)
        - nit.denitrification_oxygen_credit(state.denitrified, flow)
    )
    if run.product:
        # All iron ends oxidised, also what came too late to take phosphorus.
        taken = stoich.oxygen_for_metal(
            run.total("molar"), treatment.property_of(inputs, run.product, "oxygen_per_metal"), 1.0
        )
        demand = demand + stoich.mass_load(taken, flow)
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
    lifted = flow if run.filtered else 0.0 * flow
    pumped_back = flow * inputs["secondary.return_ratio"]
    recycled = flow * run.zones.internal_recycle
    return {
        "oxygen_demand": demand,
        "aeration_energy": aeration.daily_energy(power),
        "mixing_energy": aeration.mixing_energy(run.zones.mixed_volume, c("mixing_power"))
        + 0.0 * flow,
        "pumping_energy": aeration.pumping_energy(
            pumped_back, c("return_head"), c("pump_efficiency")
        )
        + aeration.pumping_energy(recycled, c("recycle_head"), c("pump_efficiency"))
        + aeration.pumping_energy(lifted, c("filter_head"), c("pump_efficiency")),
    }
