"""The organisms that store phosphorus in one layout of zones: what they get, need and leave.

The reserve of the verdict (potential at full content) and the derated content of the reported
values are never multiplied; washout is a check of its own.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from math import nan

from pcompare import basis
from pcompare.arrays import Array, Quantity, as_cases, highest, maximum, minimum, plain, settled
from pcompare.equations import carbon, growth, storage
from pcompare.equations import stoichiometry as stoich
from pcompare.equations.nitrogen import storing_washout
from pcompare.records import (
    Feed,
    Inputs,
    Reactor,
    Requirement,
    Zones,
)
from pcompare.strategies import fermenter, recovery, season, shortfall, sizing, treatment
from pcompare.strategies.carbon_supply import Product
from pcompare.strategies.shortfall import Varying

RETURN_PASSES = 4
FERMENTER, SIDE_STREAM = "fermenter", "side stream"  # sources of acids on site


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Site:
    """The sewage, the zones and the sludge of one biological layout."""

    sewage: Feed
    zones: Zones
    state: Reactor
    returned: Quantity
    stored: Quantity  # mg P/L of polyphosphate that leaves with the sludge
    recovered: recovery.Recovered | None
    fermented: bool  # primary sludge is fermented for its acids
    acids: Quantity  # kg COD/d of it
    gas_energy: Quantity  # kWh/d that the digester's lost gas would have made
    cod_per_phosphorus: Quantity  # g COD to store for one more g P, at the layout's content
    solids_per_cod: Quantity  # g TSS that stored COD makes, ash of polyphosphate included


# Several strategies and their candidates share one layout and one sludge: the function is pure, so
# the last few answers are kept, by the identity of the inputs.
@functools.lru_cache(maxsize=4)
def solved(inputs: Inputs, laid_out: Zones, fermented: bool = False) -> Site:
    """Solve the sludge, and close the loop of the phosphorus that sludge treatment returns.

    What is stored returns more than what is grown in. Only the phosphorus load changes from step
    to step, by four tenths of the change before or less over random plants.
    """
    returned = sizing.returned_share(inputs, "ordinary")
    fed = _fed(inputs, returned, fermented)
    site = Site(
        sewage=fed.sewage,
        zones=laid_out,
        state=basis.reactor(inputs, fed.sewage, laid_out),
        returned=returned,
        stored=0.0 * fed.sewage.flow,
        recovered=None,
        fermented=fermented,
        acids=fed.acids,
        gas_energy=fed.gas_energy,
        cod_per_phosphorus=cod_per_phosphorus(
            inputs, fed.sewage, laid_out, laid_out.phosphorus_content
        ),
        solids_per_cod=_solids_per_cod(inputs, fed.sewage, laid_out),
    )

    def again(returned: Quantity) -> tuple[Quantity]:
        at = with_return(inputs, site, returned)
        return (come_back(inputs, at, at.state).share,)

    (returned,) = settled(again, (returned,), RETURN_PASSES)
    at = with_return(inputs, site, returned)
    return closed(at, come_back(inputs, at, at.state))


def _fed(inputs: Inputs, returned: Quantity, fermented: bool) -> fermenter.Fermented:
    """Give the settled sewage, with the acids of its own sludge where that is fermented."""
    sewage = basis.feed(inputs, inputs["primary.capture"], returned)
    if fermented:
        return fermenter.ferment(inputs, sewage, returned)
    none = 0.0 * sewage.flow
    return fermenter.Fermented(sewage=sewage, acids=none, gas_energy=none)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Back:
    """Phosphorus that comes back from sludge treatment, and what of the sludge's does not."""

    share: Quantity  # of the reactor's phosphorus
    kept: Quantity  # mg P/L of polyphosphate that leaves with the sludge
    recovered: recovery.Recovered | None


def come_back(inputs: Inputs, site: Site, state: Reactor) -> Back:
    """Work out what comes back from the sludge of ``state``."""
    grown = state.ordinary_phosphorus
    stored = state.phosphorus_taken - grown
    from_stored = sizing.returned_share(inputs, "stored") * stored
    back = sizing.returned_share(inputs, "ordinary") * grown + from_stored
    flow = site.sewage.flow
    found = recovery.recover(
        inputs, flow, stoich.mass_load(back, flow), stoich.mass_load(inputs["influent.tp"], flow)
    )
    if found is not None:
        back = back - stoich.concentration_from_load(found.phosphorus, flow)
    return Back(share=back / site.sewage.phosphorus, kept=stored - from_stored, recovered=found)


def with_return(inputs: Inputs, site: Site, share: Quantity) -> Site:
    """Give a site whose phosphorus comes back to this share."""
    sewage = basis.with_return(site.sewage, share)
    again = basis.with_feed(inputs, sewage, site.zones, site.state)
    moved = replace(site, sewage=sewage, state=again, returned=share)
    return replace(moved, state=short_of_acids(inputs, moved, again, 0.0 * sewage.flow))


def closed(site: Site, back: Back) -> Site:
    """Give a site what its settled return leaves and recovers."""
    return replace(site, stored=back.kept, recovered=back.recovered)


# --- what the carbon does ---------------------------------------------------------------------


def cod_per_phosphorus(inputs: Inputs, sewage: Feed, zones: Zones, content: str) -> Quantity:
    """Give the stored COD for one more unit of phosphorus at a content [g COD/g P]."""
    c = inputs.coefficient
    return carbon.cod_per_phosphorus(
        zones.srt,
        c("storing_yield"),
        _decay(inputs, sewage, "storing_decay"),
        c("storing_residue"),
        c(content),
        c("phosphorus_content_ordinary"),
    )


def phosphorus_per_cod(inputs: Inputs, site: Site, bought: Product, content: str) -> Quantity:
    """Give the phosphorus that bought COD takes up at a content, stored or not [g P/g COD]."""
    c = inputs.coefficient
    grown = carbon.cod_per_phosphorus(
        site.zones.srt,
        c("heterotroph_yield"),
        _decay(inputs, site.sewage, "heterotroph_decay"),
        c("heterotroph_residue"),
        c("phosphorus_content_ordinary"),
        c("phosphorus_content_ordinary"),
    )
    stored = bought.usable / cod_per_phosphorus(inputs, site.sewage, site.zones, content)
    return stored + (1.0 - bought.usable) / grown


def _decay(inputs: Inputs, sewage: Feed, rate: str) -> Quantity:
    c = inputs.coefficient
    return growth.temperature_corrected(c(rate), c("decay_theta"), sewage.temperature)


def _solids_per_cod(inputs: Inputs, sewage: Feed, zones: Zones) -> Quantity:
    """Solids that stored COD makes, ash of polyphosphate included [g TSS/g COD]."""
    c = inputs.coefficient
    decay = _decay(inputs, sewage, "storing_decay")
    ash = storage.storage_ash_content(
        c(zones.phosphorus_content),
        c("heterotroph_ash"),
        c("polyphosphate_mass"),
        c("phosphorus_content_ordinary"),
    )
    return carbon.volatile_per_cod(
        zones.srt, c("storing_yield"), decay, c("storing_residue")
    ) + carbon.ash_per_cod(zones.srt, c("storing_yield"), decay, ash)


def soluble_target(inputs: Inputs, site: Site, target: Array) -> Quantity:
    """Soluble phosphorus that more stored carbon would have to leave [mg P/L]."""
    present = treatment.at_dose(site.sewage, site.state)
    made = stoich.concentration_from_load(site.state.solids_mass / site.zones.srt, site.sewage.flow)
    wanted = carbon.soluble_for_total(
        target - site.sewage.nonreactive,
        site.sewage.phosphorus - site.sewage.nonreactive,
        present,
        inputs["secondary.effluent_tss"],
        made,
        site.cod_per_phosphorus * site.solids_per_cod,
    )
    floor = minimum(inputs.coefficient("soluble_floor_biological"), present)
    return minimum(maximum(wanted, floor), present)


# --- acids that vary --------------------------------------------------------------------------


def varying(inputs: Inputs, site: Site) -> Varying:
    """Describe the phosphorus left as the acids of the sewage vary, before anything is dosed."""
    came = site.sewage.phosphorus - site.sewage.bound_phosphorus - site.sewage.nonreactive
    return shortfall.varying(
        inputs,
        site.cod_per_phosphorus,
        came - site.state.phosphorus_potential,
        came - site.state.ordinary_phosphorus,
    )


def floor(inputs: Inputs, site: Site) -> Quantity:
    """Soluble phosphorus that organisms leave with acids enough [mg P/L]."""
    open_to_uptake = site.sewage.phosphorus - site.sewage.bound_phosphorus - site.sewage.nonreactive
    return minimum(inputs.coefficient("soluble_floor_biological"), open_to_uptake)


def short_of_acids(inputs: Inputs, site: Site, state: Reactor, made_good: Quantity) -> Reactor:
    """Leave to the water what months short of acids leave on average.

    ``made_good`` [mg P/L] is what bought carbon takes up of it.
    """
    lowest = floor(inputs, site)
    on_average = lowest + varying(inputs, site).excess(lowest) - made_good
    present = treatment.at_dose(site.sewage, state)
    return basis.without_uptake(state, maximum(on_average - present, 0.0))


# --- what is told and judged ------------------------------------------------------------------


def carbon_lines(
    inputs: Inputs, site: Site, state: Reactor, wanted: Quantity, soluble: Quantity
) -> dict[str, Quantity]:
    """Need and supply of stored carbon, the potential, and phosphate in the anaerobic zone."""
    c, flow = inputs.coefficient, site.sewage.flow
    available = stoich.concentration_from_load(site.state.stored_cod, flow)
    odds = varying(inputs, site)
    released = storage.phosphorus_release(c("release_ratio"), state.stored_cod, flow)
    anaerobic = storage.anaerobic_phosphate(
        site.sewage.phosphorus, state.feed_ratio, soluble, released
    )
    return {
        "fermented_carbon": site.acids,
        "side_stream_carbon": site.state.hydrolysed_cod,
        "carbon_debit": site.sewage.fermentable - site.state.fermentable,
        "fed_nitrate": site.state.fed_nitrate,
        "gas_energy_lost": site.gas_energy,
        "vfa_available": available,
        # Beyond the floor the organisms have carbon to spare, so the need can be below the supply.
        "vfa_required": maximum(available + (odds.left - wanted) * odds.cod_per_phosphorus, 0.0),
        "acids_short_chance": odds.chance(wanted),
        "acids_short": odds.excess(wanted) * odds.cod_per_phosphorus,
        "phosphorus_potential": state.phosphorus_potential,
        "metal_share": 0.0 * available,
        "reactor_phosphorus": site.sewage.phosphorus + 0.0 * flow,
        "anaerobic_phosphate": anaerobic,
        "anoxic_phosphate": _anoxic(inputs, site, state, anaerobic, soluble),
    }


def _anoxic(
    inputs: Inputs, site: Site, state: Reactor, anaerobic: Quantity, soluble: Quantity
) -> Quantity:
    """Phosphate behind the anoxic zone; nan where a layout has none [mg P/L]."""
    if not plain(site.zones.anoxic_fraction).any():
        return nan + 0.0 * anaerobic
    others = site.zones.internal_recycle
    if site.zones.layout == "anoxic-recycle":  # return sludge comes to the anoxic zone too
        others = others + inputs["secondary.return_ratio"]
    share = inputs.coefficient("anoxic_uptake_share")
    return storage.anoxic_phosphate(anaerobic, soluble, state.feed_ratio, others, share)


def verdict(inputs: Inputs, site: Site, state: Reactor, spare: Quantity) -> tuple[Requirement, ...]:
    """Judge the organisms: reserve of potential at full content, and washout.

    ``spare`` [mg P/L] is what installed carbon that is not dosed would take up.
    """
    potential = state.phosphorus_potential_full + spare
    return (
        Requirement(
            key="potential",
            label="Biological potential above the reserve, worst month",
            needed=as_cases(0.0),
            found=-season.worst(inputs, reserve(inputs, site) - potential),
            unit="mg P/L",
            sense="at least",
        ),
        *washout(inputs, site.zones),
    )


def reserve(inputs: Inputs, site: Site) -> Quantity:
    """Potential that the verdict asks for [mg P/L]."""
    c = inputs.coefficient
    return c("potential_reserve") * (site.sewage.phosphorus - c("soluble_floor_biological"))


def washout(inputs: Inputs, zones: Zones) -> tuple[Requirement, ...]:
    """Hold the sludge age against the washout of the organisms that store phosphorus."""
    needed = storing_washout(
        inputs.coefficient("storing_washout_srt"),
        inputs.coefficient("storing_washout_theta"),
        inputs["influent.temperature_minimum"],
    )
    return (
        Requirement(
            key="washout",
            label="Sludge age to keep the organisms that store phosphorus",
            needed=highest(needed),
            found=zones.srt,
            unit="d",
            sense="at least",
        ),
    )
