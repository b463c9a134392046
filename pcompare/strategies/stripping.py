"""Phosphate stripped from part of the return sludge, and limed on the small flow that carries it.

The plant keeps its zones: the sludge takes phosphorus up under air and lets it go in the stripper.
Its own phosphorus balance caps the release; what lime takes never comes back. Waste sludge is
counted with the phosphorus of ordinary sludge, which is cautious.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from pcompare import basis
from pcompare.arrays import Array, Quantity, as_cases, maximum, minimum, plain, ratio, settled
from pcompare.equations import lime as lime_equations
from pcompare.equations import stoichiometry as stoich
from pcompare.equations import stripping
from pcompare.equations.sludge import mixed_liquor
from pcompare.records import (
    Design,
    Feed,
    Inputs,
    Operation,
    Reactor,
    Variant,
)
from pcompare.strategies import lime, organisms, plant, season, sizes, sizing, treatment

NAME = "side_stream_stripping"
PRODUCT = "hydrated_lime"
TRAIN = "biological"
PASSES = 3  # the overflow returns an eighth of what it is fed


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Stripped:
    """What stripper and lime take, per litre of plant flow."""

    phosphorus: Quantity  # mg P/L
    lime: Quantity  # mg Ca(OH)2/L
    solids: Quantity  # kg/d
    calcium: Quantity  # mg/L, change
    alkalinity: Quantity  # mg CaCO3/L, change


def variants(inputs: Inputs) -> tuple[Variant, ...]:
    """Give the one variant of stripping."""
    return (Variant(product=PRODUCT),)


def operate(inputs: Inputs, chosen: Design) -> Operation:
    """Strip and lime as much as the target asks for, as far as the stripper goes."""
    c, zones = inputs.coefficient, chosen.zones
    returned = sizing.returned_share(inputs, "ordinary")
    sewage = basis.feed(inputs, inputs["primary.capture"], returned)
    state = basis.reactor(inputs, sewage, zones)
    done = _strip(inputs, chosen, sewage, state)
    # What is limed aside never meets the sludge: it is taken from what the reactor is fed.
    spared = replace(sewage, phosphorus=sewage.phosphorus - done.phosphorus)
    state = basis.with_feed(inputs, spared, zones, state)
    left = treatment.at_dose(spared, state)
    run = treatment.Treatment(
        capture=inputs["primary.capture"],
        sewage=spared,
        zones=zones,
        reactor=state,
        product="",
        doses=(),
        soluble_secondary=left,
        soluble=left,
        carbon=0.0 * sewage.flow,
        base=chosen.base,
        base_capacity=chosen.sizes["base"],
        returned=returned,
        biological=True,
        filtered=False,
        calcium=done.calcium,
        softening=done.alkalinity,
        limed_aside=done.solids,
        precipitated_aside=done.phosphorus,
    )
    use = stoich.mass_load(done.lime, sewage.flow)
    product = use / c(f"{PRODUCT}_strength")
    return plant.operation(
        inputs,
        chosen,
        run,
        TRAIN,
        organisms.washout(inputs, zones),
        lime_use=use,
        lime_dose=done.lime,
        product_use=product,
        product_volume=stoich.product_volume(product, c(f"{PRODUCT}_density")),
        chemical_sludge=done.solids,
        stripped_p=stoich.mass_load(done.phosphorus, sewage.flow),
    )


def _strip(inputs: Inputs, chosen: Design, sewage: Feed, state: Reactor) -> _Stripped:
    c, flow = inputs.coefficient, sewage.flow
    ph = c("stripper_ph")
    residual = lime.residual_at(inputs, ph)
    present = treatment.at_dose(sewage, state)
    wanted = maximum(present - _wanted(inputs, chosen, sewage, state), 0.0)
    full, dose = inputs["bio.stripper_overflow"], lime.dose_to(inputs, ph)
    most = minimum(
        _most(inputs, sewage, state, chosen.zones.volume, present, residual),
        full * lime.bound_by_calcium(inputs, dose),
    )
    # The share of the flow, or of the time, that the target and the lime feed let it run.
    running = minimum(
        ratio(season.inside(inputs, minimum(wanted, most), 0.0 * most), most, 0.0),
        chosen.sizes["lime"] / stripping.overflow_lime(dose, full, flow),
    )
    over, held = full * running, most / full
    carbonate = lime.carbonate_solids(inputs, ph, dose, held)
    return _Stripped(
        phosphorus=most * running,
        lime=over * dose,
        solids=stripping.overflow_solids(held, carbonate, over, flow),
        calcium=over * lime.calcium_change(dose, carbonate, held),
        alkalinity=over * lime_equations.alkalinity_from_lime(dose, carbonate, 0.0 * held, held),
    )


def _most(
    inputs: Inputs,
    sewage: Feed,
    state: Reactor,
    volume: Array,
    present: Quantity,
    residual: Quantity,
) -> Quantity:
    """Phosphorus that the stripper takes out when all of it runs [mg P/L of plant flow].

    The overflow shares the release with the sludge that goes back. What it carries off is capped
    by the plant's balance: no more than would leave with the effluent, down to the floor.
    """
    c, flow = inputs.coefficient, sewage.flow
    under, over = inputs["bio.stripper_share"], inputs["bio.stripper_overflow"]
    returned = inputs["secondary.return_ratio"]
    thick = mixed_liquor(state.volatile_mass, volume) * ((1.0 + returned) / returned)
    by_mass = stripping.stripper_release(
        stoich.mass_load(thick, under * flow), c("stripping_content")
    )
    carried_share = over / (over + under)
    floor = minimum(c("soluble_floor_biological"), present) + sewage.nonreactive
    carried = stripping.release_within_balance(
        by_mass * carried_share,
        stoich.mass_load(sewage.phosphorus, flow),
        stoich.mass_load(floor, flow),
        stoich.mass_load(state.phosphorus_taken + sewage.bound_phosphorus, flow),
    )

    def again(taken: Quantity) -> tuple[Quantity]:
        rich = stripping.overflow_phosphate(
            carried / carried_share, present - taken, over, under, flow
        )
        out = stripping.stripped_phosphorus(rich, residual, over, flow)
        return (minimum(stoich.concentration_from_load(out, flow), present + 0.0 * out),)

    (taken,) = settled(again, (0.0 * present,), PASSES)
    return taken


def _wanted(inputs: Inputs, chosen: Design, sewage: Feed, state: Reactor) -> Quantity:
    """Soluble phosphorus that the target allows [mg P/L]."""
    content = treatment.content_of_solids(
        sewage, treatment.at_dose(sewage, state), state.solids_mass / chosen.zones.srt
    )
    particulate = content * inputs["secondary.effluent_tss"]
    return maximum(
        chosen.design_mean - sewage.nonreactive - particulate,
        inputs.coefficient("soluble_floor_biological"),
    )


def design(
    inputs: Inputs, baseline: Operation, variant: Variant, decisions: Mapping[str, Array]
) -> Operation:
    """Size the stripper, and lime feed and store; at point values it runs as sized."""
    zones = basis.existing_zones(inputs)
    endless = {"lime": as_cases(sizes.UNLIMITED)}
    free = sizes.unlimited(inputs, NAME, variant, TRAIN, zones, endless)
    free_run = operate(inputs, free)
    found, fixed = free_run.quantities, plain(inputs)
    volume = sizing.capacity(inputs, found["product_volume"])
    held = fixed["bio.stripper_share"] * fixed["flow.average"] * fixed["bio.stripper_retention"]
    built = {
        **free.sizes,
        **sizes.base(inputs, found, baseline),
        "lime": sizing.capacity(inputs, found["lime_use"]),
        "product_volume": volume,
        "storage": volume * plain(inputs["chemical.storage_days"]),
        "stripper": sizing.capacity(inputs, held),
    }
    sized = replace(
        free,
        sizes=built,
        capital=(*sizes.stripper_items(built), *sizes.base_items(built, free.base)),
        choices={"product": PRODUCT, "base": free.base, "dosing points": "overflow of a stripper"},
    )
    return replace(free_run, design=sized)
