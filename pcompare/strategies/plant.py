"""What every strategy reports: one ``Treatment`` goes in, the quantities of ``lines`` come out."""

from __future__ import annotations

from collections.abc import Mapping
from math import nan

from pcompare import units
from pcompare.arrays import Quantity, maximum, mean, ratio
from pcompare.equations import precipitation, specification
from pcompare.equations import stoichiometry as stoich
from pcompare.records import (
    Design,
    Inputs,
    Operation,
    Requirement,
)
from pcompare.rows import name_at
from pcompare.strategies import dissolved, sizing, treatment
from pcompare.strategies.ledger import ledger
from pcompare.strategies.shortfall import Held
from pcompare.strategies.solids_and_power import air_and_power, sludge_line
from pcompare.strategies.treatment import (
    DOSE_LINES,
    FILTER,
    PRIMARY,
    SLUDGE,
    Treatment,
    by_metal,
    property_of,
)

# What only some strategies use or make, in the units of its line: none of it unless they say so.
NOT_USED = (
    "lime_use",
    "gas_energy_lost",
    "carbon_dose",
    "carbon_use",
    "carbon_volume",
    "recovered_p",
    "struvite",
    "magnesium_use",
    "recovery_caustic",
    "stripped_p",
)


def operation(
    inputs: Inputs,
    chosen: Design,
    run: Treatment,
    train: str,
    extra: tuple[Requirement, ...] = (),
    **told: Quantity,
) -> Operation:
    """Run the plant under one design and hold it against the permit and the tanks."""
    return judged(inputs, chosen, run, {**quantities(inputs, run), **told}, train, extra)


def judged(
    inputs: Inputs,
    chosen: Design,
    run: Treatment,
    known: Mapping[str, Quantity],
    train: str,
    extra: tuple[Requirement, ...] = (),
    held: Held | None = None,
) -> Operation:
    """Hold a run, of which all quantities are known, against the permit and the tanks."""
    found = {**known, **sizing.chance(inputs, train, known["effluent_tp"], held)}
    found["effluent_tp_governing"] = sizing.governing_phosphorus(inputs, found["effluent_tp"])
    found["design_mean"] = chosen.design_mean
    found["solids_for_target"] = _solids_for_target(found, chosen.design_mean)
    standby = found["product_volume"] * known.get("standby_share", 1.0)
    found.update(_store(inputs, chosen.product, standby))
    found["deliveries"] = found["product_volume"] * (
        units.DAYS_PER_MONTH / inputs["chemical.delivery"]
    )
    asked = sizing.requirements(inputs, run.zones, run.reactor, found, chosen.design_mean)
    asked += sizing.dosing_requirements(inputs, run, chosen)
    return Operation(
        design=chosen,
        quantities=found,
        water=dissolved.water(inputs, run, known),
        requirements=(*asked, *extra),
    )


def quantities(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Work out everything that one treatment does, month by month."""
    return {
        **_effluent(inputs, run),
        **_reported_dose(inputs, run),
        **ledger(inputs, run),
        **sludge_line(inputs, run),
        **air_and_power(inputs, run),
        "recoverable_p": _recoverable(inputs, run),
        # What a balance over the plant needs beside the reported lines.
        **dict.fromkeys(NOT_USED, 0.0 * run.sewage.flow),
        "feed_cod": stoich.mass_load(run.sewage.cod, run.sewage.flow),
        "feed_nitrogen": run.sewage.nitrogen + 0.0 * run.sewage.flow,
        "returned_phosphorus": run.sewage.returned_phosphorus + 0.0 * run.sewage.flow,
        "primary_phosphorus": run.sewage.primary_phosphorus + 0.0 * run.sewage.flow,
        "ordinary_phosphorus": run.reactor.ordinary_phosphorus,
        "stored_phosphorus": run.reactor.phosphorus_taken - run.reactor.ordinary_phosphorus,
        "bought_cod": run.carbon + 0.0 * run.sewage.flow,
        "oxygen_carbon": run.reactor.oxygen_carbon,
        "volatile_production": run.reactor.volatile_mass / run.zones.srt,
        "soluble_inert": run.sewage.soluble_inert + 0.0 * run.sewage.flow,
        "nitrogen_assimilated": run.reactor.nitrogen_assimilated,
        "organic_nitrogen": run.reactor.organic_nitrogen,
        "denitrified": run.reactor.denitrified,
        "returned_share": run.returned + 0.0 * run.sewage.flow,
        "primary_capture": run.capture + 0.0 * run.sewage.flow,
        "precipitated_primary": run.total("precipitated", PRIMARY),
        "salt_solids_primary": run.total("solids", PRIMARY),
        "precipitated_filter": run.total("precipitated", FILTER),
    }


def _effluent(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    """Phosphorus behind the clarifiers, or behind the filter, and nitrogen."""
    sewage, solids = run.sewage, inputs["secondary.effluent_tss"]
    production = treatment.solids_production(
        sewage, run.zones, run.reactor, run.total("solids", SLUDGE)
    )
    content = treatment.content_of_solids(sewage, run.soluble_secondary, production)
    leaving = content
    if run.filtered:
        leaving = treatment.content_on_filter(
            inputs, content, run.total("precipitated", FILTER), run.total("solids", FILTER)
        )
        solids = inputs["filter.effluent_tss"]
    state = run.reactor
    volatile = treatment.volatile_share(state, run.zones, production)
    return {
        "effluent_tp": precipitation.effluent_total_phosphorus(
            run.soluble, sewage.nonreactive, leaving, solids
        ),
        "effluent_soluble_p": run.soluble + sewage.nonreactive + 0.0 * sewage.flow,
        "effluent_particulate_p": leaving * solids,
        "effluent_solids": solids + 0.0 * sewage.flow,
        "solids_phosphorus": content,
        "leaving_phosphorus": leaving,
        "effluent_ammonia": state.ammonia,
        "effluent_nitrate": state.nitrate,
        "effluent_nitrogen": state.ammonia
        + state.nitrate
        + state.organic_nitrogen
        + solids * volatile * inputs.coefficient("nitrogen_content"),
    }


def _solids_for_target(found: dict[str, Quantity], target: Quantity) -> Quantity:
    """Effluent solids that would meet the target with this soluble phosphorus [mg/L]."""
    room = maximum(target - found["effluent_soluble_p"], 0.0)
    return ratio(room, found["leaving_phosphorus"], nan)


def _reported_dose(inputs: Inputs, run: Treatment) -> dict[str, Quantity]:
    none = 0.0 * run.sewage.flow
    points = dict.fromkeys(DOSE_LINES.values(), none)
    if not run.product:
        nothing = ("metal_dose", "metal_molar", "product_use", "product_volume", "chemical_sludge")
        return {**dict.fromkeys(nothing, none), **points, "metal_to_p_removed": none + nan}

    def mass(molar: Quantity) -> Quantity:
        return by_metal(inputs, run.product, lambda metal: stoich.metal_mass(molar, metal))

    molar = run.total("molar")
    dose = mass(molar)
    use = stoich.product_load(
        dose, run.sewage.flow, property_of(inputs, run.product, "metal_fraction")
    )
    for point, name in DOSE_LINES.items():
        points[name] = mass(run.total("molar", point))
    return {
        "metal_dose": dose,
        "metal_molar": molar,
        "metal_to_p_removed": precipitation.metal_to_phosphorus_removed(
            mean(molar * run.sewage.flow), mean(run.total("precipitated") * run.sewage.flow)
        ),
        "product_use": use,
        "product_volume": stoich.product_volume(use, property_of(inputs, run.product, "density")),
        "chemical_sludge": stoich.mass_load(run.total("solids"), run.sewage.flow),
        **points,
    }


def _store(inputs: Inputs, product: str, volume: Quantity) -> dict[str, Quantity]:
    """Store of a product, its containment, and its margin against freezing."""
    none = 0.0 * volume
    stored = volume * sizing.peak(inputs) * inputs["chemical.storage_days"]
    margin = none + nan
    if f"coefficient.{name_at(product, 0)}_freezing_point" in inputs.values:
        margin = none + specification.freezing_margin(
            inputs["site.lowest_temperature"], property_of(inputs, product, "freezing_point")
        )
    return {
        "storage_volume": stored,
        "containment_volume": stored * inputs.coefficient("containment_share"),
        "freezing_margin": margin,
    }


def _recoverable(inputs: Inputs, run: Treatment) -> Quantity:
    """Phosphorus that digestion frees: most of what is stored, little of what metal holds."""
    if inputs.choice("solids.digestion") != "anaerobic":
        return 0.0 * run.sewage.flow
    c = inputs.coefficient
    stored = run.reactor.phosphorus_taken - run.reactor.ordinary_phosphorus
    held = run.total("precipitated")
    freed = stored * c("stored_release_share") + held * c("metal_release_share")
    return stoich.mass_load(freed, run.sewage.flow)
