"""Organisms that store phosphorus: with the sewage's carbon, with purchased carbon, with a trim.

The reserve of the verdict (potential at full content) and the derated content of the reported
values are never multiplied; washout is a check of its own.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, replace

from pcompare import basis
from pcompare.arrays import (
    Array,
    Quantity,
    as_cases,
    highest,
    maximum,
    minimum,
    plain,
    solve_monotone,
    where,
)
from pcompare.equations import carbon, growth, layouts, storage
from pcompare.equations import stoichiometry as stoich
from pcompare.records import Design, Feed, Inputs, Operation, Reactor, Requirement, Variant, Zones
from pcompare.strategies import fermenter, plant, salt, sizes, sizing, treatment

EXISTING, PURCHASED = "bio_existing_carbon", "bio_purchased_carbon"
FERMENTED = "bio_fermented_carbon"
TRIM, TRIM_FILTER = "bio_with_salt_trim", "bio_with_salt_trim_and_filter"
TRAIN = "biological"
TRAINS = {EXISTING: TRAIN, FERMENTED: TRAIN, PURCHASED: TRAIN, TRIM: "trim", TRIM_FILTER: "filter"}
POINTS: dict[str, tuple[tuple[str, ...], ...]] = {
    EXISTING: (),
    FERMENTED: (),
    PURCHASED: (),
    TRIM: ((treatment.SLUDGE,),),
    TRIM_FILTER: ((treatment.FILTER,), (treatment.SLUDGE, treatment.FILTER)),
}
RETURN_PASSES = 10
PURCHASE_PASSES = 6  # each gains most of a digit
LARGEST_GROWTH = 2.0  # of the tanks: beyond it the sludge-age check fails instead


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Site:
    """The sewage, the zones and the sludge of one biological layout."""

    sewage: Feed
    zones: Zones
    state: Reactor
    returned: Quantity
    fermented: bool  # primary sludge is fermented for its acids
    acids: Quantity  # kg COD/d of it
    gas_energy: Quantity  # kWh/d that the digester's lost gas would have made


# Three strategies and their candidates share one layout and one sludge: both functions are pure,
# so the last few answers are kept, by the identity of the inputs.
@functools.lru_cache(maxsize=4)
def zones(inputs: Inputs) -> Zones:
    """Lay out the zones at point values, adding volume where nitrification needs it.

    The mixed liquor stays as it is, so the sludge age grows with the volume: tanks are added until
    it holds the nitrifiers in the coldest month with the larger unaerated share. The anaerobic
    zone itself comes out of the existing tanks, or is built, as the user says.
    """
    fixed = plain(inputs)
    layout = fixed.choice("bio.layout")
    anaerobic = fixed["bio.anaerobic_fraction"]
    inside = _zones(fixed, layout, as_cases(0.0))
    coldest = basis.nitrifier_minimum_srt(fixed, inside, fixed["influent.temperature_minimum"])
    needed = highest(coldest) * fixed.coefficient("nitrifier_safety")
    short = maximum(needed / inside.srt - 1.0, 0.0)
    share = where(fixed["permit.ammonia"] > 0.0, minimum(short, LARGEST_GROWTH), 0.0)
    if fixed.choice("bio.zone") == "new tank":
        share = maximum(share, anaerobic / (1.0 - anaerobic))
    if layout == "anoxic-recycle":
        # Thinner sludge in the anaerobic zone: the same mass takes a larger tank.
        factor = layouts.anaerobic_volume_factor(fixed["bio.anoxic_recycle_ratio"])
        share = share + anaerobic * (factor - 1.0)
    return _zones(fixed, layout, share * fixed["secondary.volume"])


def _zones(inputs: Inputs, layout: str, added: Array) -> Zones:
    volume = inputs["secondary.volume"] + added
    none = as_cases(0.0)
    denitrifies = layout != "anaerobic-aerobic"
    extra = {"five-stage": "second_anoxic", "return-denitrified": "return_anoxic"}.get(layout)
    recycle = minimum(
        inputs["secondary.internal_recycle_ratio"], inputs.coefficient("internal_recycle_limit")
    )
    return Zones(
        layout=layout,
        anaerobic_fraction=inputs["bio.anaerobic_fraction"],
        anoxic_fraction=inputs["bio.anoxic_fraction"] if denitrifies else none,
        extra_fraction=inputs[f"bio.{extra}_fraction"] if extra else none,
        internal_recycle=recycle if denitrifies else 0.0 * recycle,
        # The mixed liquor stays as it is, so the sludge age grows with the volume.
        srt=inputs["secondary.srt"] * volume / inputs["secondary.volume"],
        volume=volume,
        added_volume=added,
        phosphorus_content="phosphorus_content_anoxic"
        if denitrifies
        else "phosphorus_content_storing",
    )


@functools.lru_cache(maxsize=4)
def _site(inputs: Inputs, laid_out: Zones, fermented: bool = False) -> _Site:
    """Solve the sludge, and close the loop of the phosphorus that sludge treatment returns.

    What is stored returns more than what is grown in. Only the phosphorus load changes from pass
    to pass, by a fifth of the change before or less.
    """
    returned = sizing.returned_share(inputs, "ordinary")
    fed = _fed(inputs, returned, fermented)
    site = _Site(
        sewage=fed.sewage,
        zones=laid_out,
        state=basis.reactor(inputs, fed.sewage, laid_out),
        returned=returned,
        fermented=fermented,
        acids=fed.acids,
        gas_energy=fed.gas_energy,
    )
    for _ in range(RETURN_PASSES):
        site = _with_return(inputs, site, site.state)
    return site


def _fed(inputs: Inputs, returned: Quantity, fermented: bool) -> fermenter.Fermented:
    """Give the settled sewage, with the acids of its own sludge where that is fermented."""
    sewage = basis.feed(inputs, inputs["primary.capture"], returned)
    if fermented:
        return fermenter.ferment(inputs, sewage, returned)
    none = 0.0 * sewage.flow
    return fermenter.Fermented(sewage=sewage, acids=none, gas_energy=none)


def _with_return(inputs: Inputs, site: _Site, state: Reactor) -> _Site:
    """Give a site the phosphorus that comes back from the sludge of ``state``."""
    grown = state.ordinary_phosphorus
    back = sizing.returned_share(inputs, "ordinary") * grown + sizing.returned_share(
        inputs, "stored"
    ) * (state.phosphorus_taken - grown)
    returned = back / site.sewage.phosphorus
    sewage = _fed(inputs, returned, site.fermented).sewage
    again = basis.with_feed(inputs, sewage, site.zones, site.state)
    return replace(site, sewage=sewage, state=again, returned=returned)


# --- what the carbon does ---------------------------------------------------------------------


def _cod_per_phosphorus(inputs: Inputs, site: _Site, content: str = "") -> Quantity:
    """Give the stored COD for one more unit of phosphorus, at the layout's content [g COD/g P]."""
    c = inputs.coefficient
    return carbon.cod_per_phosphorus(
        site.zones.srt,
        c("storing_yield"),
        _storing_decay(inputs, site),
        c("storing_residue"),
        c(content or site.zones.phosphorus_content),
        c("phosphorus_content_ordinary"),
    )


def _storing_decay(inputs: Inputs, site: _Site) -> Quantity:
    c = inputs.coefficient
    return growth.temperature_corrected(
        c("storing_decay"), c("decay_theta"), site.sewage.temperature
    )


def _solids_per_cod(inputs: Inputs, site: _Site) -> Quantity:
    """Solids that stored COD makes, ash of polyphosphate included [g TSS/g COD]."""
    c = inputs.coefficient
    decay = _storing_decay(inputs, site)
    ash = storage.storage_ash_content(
        c(site.zones.phosphorus_content),
        c("heterotroph_ash"),
        c("polyphosphate_mass"),
        c("phosphorus_content_ordinary"),
    )
    return carbon.volatile_per_cod(
        site.zones.srt, c("storing_yield"), decay, c("storing_residue")
    ) + carbon.ash_per_cod(site.zones.srt, c("storing_yield"), decay, ash)


def _excess(
    soluble: Quantity,
    inputs: Inputs,
    sewage: Feed,
    present: Quantity,
    made: Quantity,
    solids_per_phosphorus: Quantity,
    target: Array,
) -> Quantity:
    """Total phosphorus above the target when carbon brings the soluble part here [mg P/L]."""
    production = made + stoich.mass_load((present - soluble) * solids_per_phosphorus, sewage.flow)
    return treatment.settled_phosphorus(inputs, sewage, soluble, production) - target


def _soluble_target(inputs: Inputs, site: _Site, target: Array) -> Quantity:
    """Soluble phosphorus that more stored carbon would have to leave [mg P/L]."""
    present = treatment.at_dose(site.sewage, site.state)
    floor = minimum(inputs.coefficient("soluble_floor_biological"), present)
    made = site.state.solids_mass / site.zones.srt
    solids = _cod_per_phosphorus(inputs, site) * _solids_per_cod(inputs, site)
    return solve_monotone(
        _excess, floor, present, inputs, site.sewage, present, made, solids, target
    )


def _carbon_lines(
    inputs: Inputs, site: _Site, state: Reactor, wanted: Quantity, soluble: Quantity
) -> dict[str, Quantity]:
    """Need and supply of stored carbon, the potential, and phosphate in the anaerobic zone."""
    c, flow = inputs.coefficient, site.sewage.flow
    available = stoich.concentration_from_load(site.state.stored_cod, flow)
    unbounded = site.sewage.phosphorus - site.sewage.nonreactive - site.state.phosphorus_potential
    released = storage.phosphorus_release(c("release_ratio"), state.stored_cod, flow)
    return {
        "fermented_carbon": site.acids,
        "carbon_debit": site.sewage.fermentable - site.state.fermentable,
        "fed_nitrate": site.state.fed_nitrate,
        "gas_energy_lost": site.gas_energy,
        "vfa_available": available,
        # Beyond the floor the organisms have carbon to spare, so the need can be below the supply.
        "vfa_required": maximum(
            available + (unbounded - wanted) * _cod_per_phosphorus(inputs, site), 0.0
        ),
        "phosphorus_potential": state.phosphorus_potential,
        "anaerobic_phosphate": storage.anaerobic_phosphate(
            site.sewage.phosphorus, state.feed_ratio, soluble, released
        ),
    }


def _verdict(
    inputs: Inputs, site: _Site, state: Reactor, spare_carbon: Quantity
) -> tuple[Requirement, ...]:
    """Judge the organisms: reserve of potential at full content, and washout.

    ``spare_carbon`` [kg COD/d] is installed but not dosed: it is part of the reserve.
    """
    potential = state.phosphorus_potential_full + stoich.concentration_from_load(
        spare_carbon / _cod_per_phosphorus(inputs, site, "phosphorus_content_storing"),
        site.sewage.flow,
    )
    return (
        Requirement(
            key="potential",
            label="Biological potential above the reserve, worst month",
            needed=as_cases(0.0),
            found=-highest(_reserve(inputs, site) - potential),
            unit="mg P/L",
            sense="at least",
        ),
        *_washout(inputs, site),
    )


def _reserve(inputs: Inputs, site: _Site) -> Quantity:
    """Potential that the verdict asks for [mg P/L]."""
    c = inputs.coefficient
    return c("potential_reserve") * (site.sewage.phosphorus - c("soluble_floor_biological"))


def _carbon_capacity(inputs: Inputs, site: _Site, dosed: Quantity) -> Array:
    """Carbon to install: the dose of the peak month, and what the verdict's reserve asks for."""
    short = maximum(_reserve(inputs, site) - site.state.phosphorus_potential_full, 0.0)
    per = _cod_per_phosphorus(inputs, site, "phosphorus_content_storing")
    reserve = stoich.mass_load(short * per, site.sewage.flow) / inputs.coefficient(
        "acetic_acid_usable"
    )
    return maximum(sizing.capacity(inputs, dosed), as_cases(plain(highest(reserve))))


def _washout(inputs: Inputs, site: _Site) -> tuple[Requirement, ...]:
    return (
        Requirement(
            key="washout",
            label="Sludge age to keep the organisms that store phosphorus",
            needed=highest(
                growth.temperature_corrected(
                    inputs.coefficient("storing_washout_srt"),
                    inputs.coefficient("storing_washout_theta"),
                    inputs["influent.temperature_minimum"],
                )
            ),
            found=site.zones.srt,
            unit="d",
            sense="at least",
        ),
    )


# --- the strategies ---------------------------------------------------------------------------


def variants(inputs: Inputs, strategy: str) -> tuple[Variant, ...]:
    """Every product of a trimmed strategy, behind the organisms."""
    if not POINTS[strategy]:
        return (Variant(),)
    return tuple(
        Variant(product, points) for points in POINTS[strategy] for product in salt.products(inputs)
    )


def operate_existing(inputs: Inputs, chosen: Design) -> Operation:
    """Run on the carbon that the sewage brings."""
    site = _site(inputs, chosen.zones)
    none = 0.0 * site.sewage.flow
    wanted = _soluble_target(inputs, site, chosen.design_mean)
    return _run(inputs, chosen, site, site.state, none, wanted, TRAIN, reserve=True)


def operate_fermented(inputs: Inputs, chosen: Design) -> Operation:
    """Run on the carbon of the sewage and of its own primary sludge."""
    site = _site(inputs, chosen.zones, True)
    none = 0.0 * site.sewage.flow
    wanted = _soluble_target(inputs, site, chosen.design_mean)
    return _run(inputs, chosen, site, site.state, none, wanted, TRAIN, reserve=True)


def operate_purchased(inputs: Inputs, chosen: Design) -> Operation:
    """Buy the carbon that the target lacks, up to the installed capacity.

    What the bought carbon stores comes back in part and is stored again, so the phosphorus load
    and the purchase settle together.
    """
    site = _site(inputs, chosen.zones)
    wanted, bought, state = _purchase(inputs, site, chosen)
    for _ in range(PURCHASE_PASSES):
        site = _with_return(inputs, site, state)
        wanted, bought, state = _purchase(inputs, site, chosen)
    return _run(inputs, chosen, site, state, bought, wanted, TRAIN, reserve=True)


def _purchase(inputs: Inputs, site: _Site, chosen: Design) -> tuple[Quantity, Quantity, Reactor]:
    """Soluble target [mg P/L], carbon to buy [kg COD/d] and the sludge that has it."""
    wanted = _soluble_target(inputs, site, chosen.design_mean)
    gap = treatment.at_dose(site.sewage, site.state) - wanted
    need = stoich.mass_load(gap * _cod_per_phosphorus(inputs, site), site.sewage.flow)
    usable = inputs.coefficient("acetic_acid_usable")
    bought = minimum(need / usable, chosen.sizes["carbon"])
    state = basis.with_carbon(inputs, site.sewage, site.zones, site.state, bought * usable)
    return wanted, bought, state


def operate_trim(inputs: Inputs, chosen: Design) -> Operation:
    """Let the organisms take what they can and precipitate the rest."""
    site = _site(inputs, chosen.zones)
    none = 0.0 * site.sewage.flow
    wanted = _soluble_target(inputs, site, chosen.design_mean)
    return _run(
        inputs, chosen, site, site.state, none, wanted, TRAINS[chosen.strategy], reserve=False
    )


def _run(
    inputs: Inputs,
    chosen: Design,
    site: _Site,
    state: Reactor,
    carbon: Quantity,
    wanted: Quantity,
    train: str,
    *,
    reserve: bool,
) -> Operation:
    doses, secondary, final = salt.behind(inputs, chosen, site.sewage, state)
    run = treatment.Treatment(
        capture=inputs["primary.capture"],
        sewage=site.sewage,
        zones=site.zones,
        reactor=state,
        product=chosen.product,
        doses=doses,
        soluble_secondary=secondary,
        soluble=final,
        carbon=carbon,
        base=chosen.base,
        base_capacity=chosen.sizes["base"],
        returned=site.returned,
        biological=True,
        filtered=treatment.FILTER in chosen.points,
    )
    spare = 0.0 * carbon
    if chosen.strategy == PURCHASED:
        spare = (chosen.sizes["carbon"] - carbon) * inputs.coefficient("acetic_acid_usable")
    judged = _verdict(inputs, site, state, spare) if reserve else _washout(inputs, site)
    told = _carbon_lines(inputs, site, state, wanted, secondary)
    return plant.operation(inputs, chosen, run, train, judged, **told)


OPERATE = {
    EXISTING: operate_existing,
    FERMENTED: operate_fermented,
    PURCHASED: operate_purchased,
    TRIM: operate_trim,
    TRIM_FILTER: operate_trim,
}


def design(
    inputs: Inputs,
    baseline: Operation,
    strategy: str,
    variant: Variant,
    decisions: Mapping[str, Array],
) -> Operation:
    """Convert zones, and size what is dosed behind or into them."""
    laid_out = zones(inputs)
    free = sizes.unlimited(inputs, strategy, variant, TRAINS[strategy], laid_out, decisions)
    free_run = OPERATE[strategy](inputs, free)
    found = free_run.quantities
    built = {
        **free.sizes,
        **sizes.base(inputs, found, baseline),
        **_zone_sizes(inputs, laid_out),
        **_carbon_sizes(inputs, strategy, laid_out, found),
    }
    capital = (*sizes.zone_items(built), *sizes.base_items(built, free.base))
    choices = {"layout": laid_out.layout, "base": free.base}
    if strategy == FERMENTED:
        built["fermenter"] = fermenter.volume(inputs)
        capital += (sizes.fermenter_item(built),)
        choices["carbon"] = "fermented primary sludge"
    if strategy == PURCHASED:
        capital += (sizes.carbon_item(built),)
        choices["carbon"] = "acetic acid"
    if variant.product:
        built.update(sizes.feed(inputs, found, variant.points))
        capital += sizes.salt_items(built, variant.points)
        choices["product"] = variant.product
        choices["dosing points"] = " and ".join(variant.points)
    sized = Design(
        strategy=strategy,
        product=variant.product,
        design_mean=free.design_mean,
        sizes=built,
        capital=capital,
        choices=choices,
        zones=laid_out,
        points=variant.points,
        base=free.base,
    )
    if strategy == PURCHASED:  # the reserve is judged by the carbon installed
        return OPERATE[strategy](inputs, sized)
    return replace(free_run, design=sized)


def _carbon_sizes(
    inputs: Inputs, strategy: str, laid_out: Zones, found: Mapping[str, Quantity]
) -> dict[str, Array]:
    """Capacity of purchased carbon as COD [kg/d] and as product [m3/d]."""
    if strategy != PURCHASED:
        return {"carbon": as_cases(0.0), "carbon_volume": as_cases(0.0)}
    fixed = plain(inputs)
    installed = _carbon_capacity(fixed, _site(fixed, laid_out), plain(found["carbon_dose"]))
    acid = installed / carbon.carbon_product_cod(plant.ACID)
    c = fixed.coefficient
    volume = stoich.product_volume(acid / c("acetic_acid_strength"), c("acetic_acid_density"))
    return {"carbon": installed, "carbon_volume": as_cases(volume)}


def _zone_sizes(inputs: Inputs, laid_out: Zones) -> dict[str, Array]:
    """Volumes to convert or build, and the recycle that comes on top of today's."""
    fixed = plain(inputs)
    today = basis.existing_zones(fixed)
    anoxic_before = today.anoxic_fraction * today.volume
    anoxic = (laid_out.anoxic_fraction + laid_out.extra_fraction) * laid_out.volume
    recycle = maximum(laid_out.internal_recycle - today.internal_recycle, 0.0)
    return {
        "zone_volume": laid_out.anaerobic_fraction * laid_out.volume
        + maximum(anoxic - anoxic_before, 0.0),
        "added_volume": laid_out.added_volume,
        "recycle_flow": sizing.capacity(fixed, recycle * fixed["flow.average"]),
    }
