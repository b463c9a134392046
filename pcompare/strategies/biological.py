"""Organisms that store phosphorus: on the sewage's carbon, on more of it, or with a trim of salt.

What carbon and salt are installed for is the bad month that the wanted reliability has to bear;
what they use is the average of good months and bad.
"""

from __future__ import annotations

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
    ratio,
    settled,
)
from pcompare.equations import stoichiometry as stoich
from pcompare.equations.alkalinity import alkalinity_of_strong_ions
from pcompare.records import (
    Design,
    Inputs,
    Operation,
    Reactor,
    Variant,
    Zones,
)
from pcompare.rows import Alternatives
from pcompare.strategies import (
    carbon_supply,
    fermenter,
    organisms,
    plant,
    salt,
    season,
    shortfall,
    sizes,
    sizing,
    treatment,
    zones,
)
from pcompare.strategies.carbon_supply import Product
from pcompare.strategies.organisms import FERMENTER, SIDE_STREAM, Site
from pcompare.strategies.shortfall import Held, Varying

EXISTING, PURCHASED = "bio_existing_carbon", "bio_purchased_carbon"
FERMENTED, SIDE = "bio_fermented_carbon", "bio_return_sludge_fermentation"
TRIM, TRIM_FILTER = "bio_with_salt_trim", "bio_with_salt_trim_and_filter"
TRAINS = {TRIM: "trim", TRIM_FILTER: "filter"}
SOURCES = {FERMENTED: FERMENTER, SIDE: SIDE_STREAM}
POINTS: dict[str, tuple[tuple[str, ...], ...]] = {
    TRIM: ((treatment.SLUDGE,),),
    TRIM_FILTER: ((treatment.FILTER,), (treatment.SLUDGE, treatment.FILTER)),
}
PURCHASE_PASSES = 3


def variants(inputs: Inputs, strategy: str) -> tuple[Variant, ...]:
    """Every salt behind the organisms, or every carbon product.

    The cheapest product is also tried with acids made on site: so the cheapest mix is carried.
    """
    if strategy in POINTS:
        return tuple(
            Variant(product=product, points=points)
            for points in POINTS[strategy]
            for product in salt.products(inputs)
        )
    if strategy == PURCHASED:
        alone = tuple(Variant(carbon=name) for name in carbon_supply.considered(inputs))
        best = carbon_supply.cheapest(inputs)
        mixed = (
            (FERMENTER, SIDE_STREAM) if plain(inputs["primary.capture"]).any() else (SIDE_STREAM,)
        )
        return alone + tuple(Variant(carbon=best, source=source) for source in mixed)
    return (Variant(source=SOURCES.get(strategy, "")),)


def operate(inputs: Inputs, chosen: Design) -> Operation:
    """Run the organisms on the carbon they get, and dose what is dosed behind or into them."""
    return _judged(inputs, chosen, _settled(inputs, chosen))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Bought:
    """What is bought of one product, and what it does."""

    wanted: Quantity  # mg P/L, soluble, that the target allows
    cod: Quantity  # kg COD/d, average of good months and bad
    standby: Quantity  # kg COD/d that the bad month of the wanted reliability takes
    taken: Quantity  # g P/g COD that it takes up
    full: Quantity  # g P/g COD at the full content


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Settled:
    """Organisms, carbon and salt as they settle with each other.

    Capacity is asked for only where it binds: what does not bind may change afterwards.
    """

    site: Site
    state: Reactor
    bought: _Bought
    odds: Varying
    behind: salt.Behind
    run: treatment.Treatment
    found: dict[str, Quantity]


def _settled(inputs: Inputs, chosen: Design) -> _Settled:
    site = organisms.solved(inputs, chosen.zones, chosen.source == FERMENTER)
    if chosen.carbon:
        site, state, bought = _with_purchase(inputs, chosen, site)
    else:
        state, bought = site.state, _nothing_bought(inputs, chosen, site)
    odds = organisms.varying(inputs, site)
    # A trim follows the months: the odds of the acids tell how much it takes on average.
    behind = salt.behind(inputs, chosen, site.sewage, state, odds)
    run = treatment.Treatment(
        capture=inputs["primary.capture"],
        sewage=site.sewage,
        zones=site.zones,
        reactor=state,
        product=chosen.product,
        doses=behind.doses,
        soluble_secondary=behind.secondary,
        soluble=behind.final,
        carbon=bought.cod,
        base=chosen.base,
        base_capacity=chosen.sizes["base"],
        returned=site.returned,
        stored=site.stored,
        biological=True,
        filtered=treatment.FILTER in chosen.points,
        **_brought(inputs, chosen, site, bought.cod),
    )
    wanted = behind.wanted if chosen.product else bought.wanted
    found = {
        **plant.quantities(inputs, run),
        **organisms.carbon_lines(inputs, site, state, wanted, behind.secondary),
        **carbon_supply.bought_lines(inputs, chosen.carbon, bought.cod),
        "carbon_standby": bought.standby,
        **{f"standby_{point}": share for point, share in behind.standby.items()},
        "standby_share": _standby(behind),
        **_recovery_lines(site),
    }
    if chosen.product:
        stored = state.phosphorus_taken - state.ordinary_phosphorus
        bound = run.total("precipitated")
        found["metal_share"] = ratio(bound, bound + stored, 0.0)
    return _Settled(
        site=site, state=state, bought=bought, odds=odds, behind=behind, run=run, found=found
    )


def _judged(inputs: Inputs, chosen: Design, settled: _Settled) -> Operation:
    """Hold it against the permit and the tanks, with what is installed."""
    site, bought, behind = settled.site, settled.bought, settled.behind
    flow, most = site.sewage.flow, chosen.sizes["carbon"]
    if chosen.product:
        extra = organisms.washout(inputs, site.zones)
        wanted, reach = behind.wanted, salt.reach(inputs, chosen, behind)
    else:
        # Carbon at the full content that is installed and not used.
        spare = stoich.concentration_from_load(most - bought.cod, flow) * bought.full
        extra = organisms.verdict(inputs, site, settled.state, spare)
        wanted = bought.wanted
        reach = stoich.concentration_from_load(most, flow) * bought.taken
    held = Held(
        varying=settled.odds,
        floor=organisms.floor(inputs, site),
        wanted=wanted,
        reach=reach,
        mean=behind.final,
    )
    train = TRAINS.get(chosen.strategy, "biological")
    return plant.judged(inputs, chosen, settled.run, settled.found, train, extra, held)


# --- carbon that is bought --------------------------------------------------------------------


def _nothing_bought(inputs: Inputs, chosen: Design, site: Site) -> _Bought:
    none = 0.0 * site.sewage.flow
    wanted = organisms.soluble_target(inputs, site, chosen.design_mean)
    return _Bought(wanted=wanted, cod=none, standby=none, taken=none, full=none)


def _with_purchase(inputs: Inputs, chosen: Design, site: Site) -> tuple[Site, Reactor, _Bought]:
    """Buy the carbon that the target lacks, up to the installed capacity.

    What the bought carbon stores comes back in part and is stored again, so the phosphorus load
    and the purchase settle together.
    """
    product = carbon_supply.product(inputs, chosen.carbon)
    contents = (site.zones.phosphorus_content, "phosphorus_content_storing")
    taken, full = (organisms.phosphorus_per_cod(inputs, site, product, c) for c in contents)

    def buying(share: Quantity) -> tuple[Site, Reactor, _Bought, organisms.Back]:
        at = organisms.with_return(inputs, site, share)
        state, bought = _purchase(inputs, at, chosen, product, taken, full)
        return at, state, bought, organisms.come_back(inputs, at, state)

    (share,) = settled(lambda share: (buying(share)[-1].share,), (site.returned,), PURCHASE_PASSES)
    at, state, bought, back = buying(share)
    return organisms.closed(at, back), state, bought


def _purchase(
    inputs: Inputs,
    site: Site,
    chosen: Design,
    product: Product,
    taken: Quantity,
    full: Quantity,
) -> tuple[Reactor, _Bought]:
    """Work out what to buy, and the sludge that has it."""
    flow = site.sewage.flow
    wanted = organisms.soluble_target(inputs, site, chosen.design_mean)
    odds = organisms.varying(inputs, site)

    def needed(gap: Quantity) -> Quantity:
        return season.inside(inputs, stoich.mass_load(gap / taken, flow), 0.0 * flow)

    cod = minimum(needed(odds.excess(wanted)), chosen.sizes["carbon"])
    bought = _Bought(
        wanted=wanted,
        cod=cod,
        standby=needed(odds.excess_at(shortfall.low_score(inputs), wanted)),
        taken=taken,
        full=full,
    )
    fed = basis.with_carbon(inputs, site.sewage, site.zones, site.state, cod, cod * product.usable)
    made_good = stoich.concentration_from_load(cod, flow) * taken
    return organisms.short_of_acids(inputs, site, fed, made_good), bought


def _standby(behind: salt.Behind) -> Quantity:
    """Metal of the bad month over that of the average one, at all points together."""
    everywhere: Quantity = 0.0 * behind.final
    held = everywhere
    for dose in behind.doses:
        everywhere = everywhere + dose.molar
        held = held + dose.molar * behind.standby[dose.point]
    return ratio(held, everywhere, 1.0)


def _brought(inputs: Inputs, chosen: Design, site: Site, cod: Quantity) -> dict[str, Quantity]:
    """Give the ions that bought carbon and recovery bring, and their alkalinity."""
    none = 0.0 * site.sewage.flow
    found = {"sodium": none, "chloride": none, "magnesium": none, "carbon_alkalinity": none}
    if chosen.carbon:
        product = carbon_supply.product(inputs, chosen.carbon)
        dosed = stoich.concentration_from_load(cod, site.sewage.flow)
        found["sodium"] = dosed * product.sodium
        found["carbon_alkalinity"] = dosed * product.alkalinity
    if site.recovered is not None:
        ions = {name: getattr(site.recovered, name) for name in ("sodium", "chloride", "magnesium")}
        found.update({name: found[name] + more for name, more in ions.items()})
        found["carbon_alkalinity"] = found["carbon_alkalinity"] + alkalinity_of_strong_ions(
            **ions, potassium=none, calcium=none, ammonium=none, sulfate=none, nitrate=none,
            phosphate=none,
        )  # fmt: skip
    return found


def _recovery_lines(site: Site) -> dict[str, Quantity]:
    none = 0.0 * site.sewage.flow
    found = site.recovered
    if found is None:
        return dict.fromkeys(("recovered_p", "struvite", "magnesium_use", "recovery_caustic"), none)
    return {
        "recovered_p": found.phosphorus,
        "struvite": found.struvite,
        "magnesium_use": found.compound,
        "recovery_caustic": found.caustic,
    }


# --- design -----------------------------------------------------------------------------------


def design(
    inputs: Inputs,
    baseline: Operation,
    strategy: str,
    variant: Variant,
    decisions: Mapping[str, Array],
) -> Operation:
    """Convert zones, and size what is dosed behind or into them."""
    train = TRAINS.get(strategy, "biological")
    laid_out = zones.laid_out(inputs, variant.source == SIDE_STREAM)
    free = sizes.unlimited(inputs, strategy, variant, train, laid_out, decisions)
    run = _settled(inputs, free)
    found = run.found
    built = {
        **free.sizes,
        **sizes.base(inputs, found, baseline),
        **_zone_sizes(inputs, laid_out),
        **_carbon_sizes(inputs, free, found),
    }
    capital = (*sizes.zone_items(built), *sizes.base_items(built, free.base))
    choices = {"layout": laid_out.layout, "base": free.base}
    if variant.source == FERMENTER:
        built["fermenter"] = fermenter.volume(inputs)
        capital += (sizes.fermenter_item(built),)
    if variant.source == SIDE_STREAM:
        built["side_stream"] = laid_out.side_volume
        capital += (sizes.side_stream_item(built),)
    if variant.carbon:
        capital += (sizes.carbon_item(built),)
    if variant.carbon or variant.source:
        choices["carbon"] = _carbon_named(variant)
    if plain(found["recovered_p"]).any():
        built["recovery"] = sizing.capacity(inputs, found["recovered_p"])
        capital += (sizes.recovery_item(built),)
        choices["recovery"] = "struvite"
    if variant.product:
        standby = {p: as_cases(plain(found[f"standby_{p}"])) for p in variant.points}
        built.update(sizes.feed(inputs, found, variant.points, standby))
        capital += sizes.salt_items(built, variant.points)
        choices["product"] = variant.product
        choices["dosing points"] = " and ".join(variant.points)
    # At point values nothing that is sized so binds; odds and reserve go by what is installed.
    sized = replace(free, sizes=built, capital=capital, choices=choices)
    return _judged(inputs, sized, run)


def _carbon_named(variant: Variant) -> str:
    if isinstance(variant.carbon, Alternatives):
        each = (_carbon_named(replace(variant, carbon=name)) for name in variant.carbon.names)
        return Alternatives(tuple(each), variant.carbon.rows)
    made = {FERMENTER: "fermented primary sludge", SIDE_STREAM: "fermented return sludge"}
    parts = (variant.carbon.replace("_", " "), made.get(variant.source, ""))
    return " and ".join(filter(None, parts))


def _carbon_sizes(inputs: Inputs, free: Design, found: Mapping[str, Quantity]) -> dict[str, Array]:
    """Capacity of purchased carbon as COD [kg/d] and as product [m3/d].

    It bears the bad month at the peak factor, and what the verdict's reserve asks for.
    """
    if not free.carbon:
        return {"carbon": as_cases(0.0), "carbon_volume": as_cases(0.0)}
    fixed = plain(inputs)
    site = organisms.solved(fixed, free.zones, free.source == FERMENTER)
    product = carbon_supply.product(fixed, free.carbon)
    short = organisms.reserve(fixed, site) - site.state.phosphorus_potential_full
    full = organisms.phosphorus_per_cod(fixed, site, product, "phosphorus_content_storing")
    reserve = stoich.mass_load(
        maximum(season.inside(fixed, short, 0.0 * short), 0.0) / full, site.sewage.flow
    )
    standby = maximum(plain(found["carbon_standby"]), plain(found["carbon_dose"]))
    installed = maximum(sizing.capacity(fixed, standby), as_cases(plain(highest(reserve))))
    volume = carbon_supply.bought_lines(fixed, free.carbon, installed)["carbon_volume"]
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
