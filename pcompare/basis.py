"""The plant without phosphorus removal: settled sewage, activated sludge, nitrogen.

The strategies use the same functions with organisms that store phosphorus added, so nothing here
is written twice. Whether the plant nitrifies follows from sludge age and temperature.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pcompare import nitrate
from pcompare.arrays import Quantity, as_cases, maximum, minimum, passes, plain, ratio, where
from pcompare.equations import fermentation, growth, storage
from pcompare.equations import nitrogen as nit
from pcompare.equations.sludge import mixed_liquor
from pcompare.equations.stoichiometry import concentration_from_load, mass_load
from pcompare.nitrate import Nitrate
from pcompare.records import (
    Feed,
    Inputs,
    Reactor,
    Zones,
)

PASSES = 16  # of the joint fixed point: 2e-11 of the answer is left over random plants


def feed(
    inputs: Inputs,
    primary_capture: Quantity,
    return_load: Quantity,
    precipitated: Quantity = 0.0,
    salt_solids: Quantity = 0.0,
) -> Feed:
    """Settle the sewage and add the phosphorus that the sludge line returns.

    ``primary_capture`` is the share of suspended solids settled [-]; ``return_load`` the share of
    the reactor's phosphorus load that comes back from sludge treatment [-]. ``precipitated``
    [mg P/L] and ``salt_solids`` [mg/L] are what a salt made ahead of the primary tanks: they
    settle with the same share, and the rest goes on as bound phosphorus and inert solids.
    """
    c = inputs.coefficient
    flow = inputs["flow.average"]
    bound, salt_left = (
        precipitated * (1.0 - primary_capture),
        salt_solids * (1.0 - primary_capture),
    )
    settled_solids = inputs["influent.tss"] * primary_capture
    settled_phosphorus = minimum(
        settled_solids * c("primary_phosphorus_content"),
        inputs["influent.tp"]
        - inputs["influent.orthophosphate"]
        - inputs["influent.nonreactive_p"],
    )
    settled_nitrogen = minimum(
        settled_solids * c("primary_nitrogen_content"),
        inputs["influent.tkn"] - inputs["influent.ammonia"],
    )
    cod, rbcod = inputs["influent.cod"], inputs["influent.rbcod"]
    soluble_inert = cod * c("soluble_inert_fraction")
    particulate = cod - soluble_inert - rbcod
    inert = minimum(cod * c("particulate_inert_fraction"), particulate)
    settled_cod = minimum(settled_solids * c("primary_cod_content"), particulate)
    left = 1.0 - ratio(settled_cod, particulate, 0.0)
    settled_phosphorus = settled_phosphorus + precipitated * primary_capture
    vfa, fermentable = inputs["influent.vfa"], rbcod - inputs["influent.vfa"]
    slow, inert_left = (particulate - inert) * left, inert * left
    brought = inputs["influent.tp"] - settled_phosphorus
    phosphorus, returned_phosphorus = _returning(brought, return_load, flow)
    return Feed(
        flow=flow,
        temperature=inputs["influent.temperature_average"],
        vfa=vfa,
        fermentable=fermentable,
        slowly_biodegradable=slow,
        soluble_inert=soluble_inert,
        particulate_inert=inert_left,
        cod=vfa + fermentable + slow + soluble_inert + inert_left,
        inorganic_solids=(inputs["influent.tss"] - inputs["influent.vss"]) * (1.0 - primary_capture)
        + salt_left,
        phosphorus=phosphorus,
        brought_phosphorus=brought,
        bound_phosphorus=bound,
        nonreactive=inputs["influent.nonreactive_p"],
        nitrogen=inputs["influent.tkn"] - settled_nitrogen,
        primary_solids=mass_load(settled_solids + salt_solids * primary_capture, flow),
        primary_volatile=mass_load(inputs["influent.vss"] * primary_capture, flow),
        primary_phosphorus=mass_load(settled_phosphorus, flow),
        returned_phosphorus=returned_phosphorus,
    )


def _returning(
    brought: Quantity, return_load: Quantity, flow: Quantity
) -> tuple[Quantity, Quantity]:
    """Phosphorus with the return load [mg P/L], and that load [kg P/d]."""
    phosphorus = brought / (1.0 - return_load)
    return phosphorus, mass_load(phosphorus * return_load, flow)


def with_return(sewage: Feed, return_load: Quantity) -> Feed:
    """Give the same sewage another share of its phosphorus that comes back."""
    phosphorus, returned = _returning(sewage.brought_phosphorus, return_load, sewage.flow)
    return replace(sewage, phosphorus=phosphorus, returned_phosphorus=returned)


def existing_zones(inputs: Inputs) -> Zones:
    """Describe the plant as it stands: no anaerobic zone."""
    anoxic = plain(inputs["secondary.anoxic_fraction"])
    aerobic_only = inputs.choice("secondary.layout") == "aerobic"
    return Zones(
        layout=inputs.choice("secondary.layout"),
        anaerobic_fraction=as_cases(0.0),
        anoxic_fraction=as_cases(0.0) if aerobic_only else anoxic,
        extra_fraction=as_cases(0.0),
        side_fraction=as_cases(0.0),
        side_volume=as_cases(0.0),
        internal_recycle=as_cases(0.0)
        if aerobic_only
        else plain(inputs["secondary.internal_recycle_ratio"]),
        srt=plain(inputs["secondary.srt"]),
        volume=plain(inputs["secondary.volume"]),
        added_volume=as_cases(0.0),
        phosphorus_content="phosphorus_content_storing",
    )


def reactor(inputs: Inputs, sewage: Feed, zones: Zones) -> Reactor:
    """Solve the activated sludge; organisms store phosphorus where there is an anaerobic zone.

    With an anaerobic zone, stored carbon, sludge masses and the nitrate that comes back are one
    joint fixed point of ``PASSES`` explicit passes.
    """
    none: Quantity = 0.0 * sewage.flow
    found = _Carbon(stored=none, fermentable=sewage.fermentable, added=none, hydrolysed=none)
    if nitrate.has_anaerobic_zone(zones.layout):
        for _ in passes(PASSES):
            masses = _masses(inputs, sewage, zones, found)
            _, fed = _nitrogen(inputs, sewage, zones, masses, found.fermentable)
            fermentable, stored = _stored_cod(inputs, sewage, zones, masses.heterotrophs, fed)
            aside = _side_stream(inputs, sewage, zones, masses)
            found = _Carbon(
                stored=stored + aside.stored,
                fermentable=fermentable,
                added=aside.stored + aside.left,
                hydrolysed=aside.stored + aside.left,
            )
    return _state(inputs, sewage, zones, found)


def with_feed(inputs: Inputs, sewage: Feed, zones: Zones, state: Reactor) -> Reactor:
    """Give the same sludge another phosphorus load: carbon and nitrogen stay as they are."""
    return replace(state, **_uptake(inputs, sewage, zones, state))


def with_carbon(
    inputs: Inputs,
    sewage: Feed,
    zones: Zones,
    state: Reactor,
    added_cod: Quantity,
    stored_cod: Quantity,
) -> Reactor:
    """Add purchased carbon [kg COD/d], of which a part is stored by the phosphorus organisms.

    The rest feeds the ordinary ones. What returned nitrate eats stays as it is, so the closed form
    of the carbon dose is exact.
    """
    before = _carbon_of(state)
    after = replace(before, stored=before.stored + stored_cod, added=before.added + added_cod)
    return _state(inputs, sewage, zones, after)


def without_uptake(state: Reactor, phosphorus: Quantity) -> Reactor:
    """Leave some phosphorus [mg P/L] to the water: what months short of acids do on average."""
    return replace(state, phosphorus_taken=state.phosphorus_taken - phosphorus)


def nitrifier_minimum_srt(inputs: Inputs, zones: Zones, temperature: Quantity) -> Quantity:
    """Sludge age below which nitrifiers wash out [d]."""
    fastest, decay, oxygen = _nitrifier_rates(inputs, temperature)
    unaerated = zones.unaerated_fraction
    limit = inputs["permit.ammonia"]
    # Without an ammonia limit only survival counts, and ammonia does not slow the growth.
    ammonia = where(limit > 0.0, nit.monod(limit, inputs["coefficient.half_ammonia"]), 1.0)
    return nit.nitrifier_minimum_srt(fastest, decay, unaerated, oxygen, ammonia)


def nitrifier_decay(inputs: Inputs, temperature: Quantity) -> Quantity:
    """Decay of nitrifiers [1/d]."""
    return _nitrifier_rates(inputs, temperature)[1]


def nitrifier_washout(inputs: Inputs, zones: Zones, temperature: Quantity) -> Quantity:
    """Sludge age below which nitrifiers cannot stay, however much ammonia there is [d]."""
    fastest, decay, oxygen = _nitrifier_rates(inputs, temperature)
    return nit.nitrifier_washout(fastest, decay, zones.unaerated_fraction, oxygen)


def _nitrifier_rates(inputs: Inputs, temperature: Quantity) -> tuple[Quantity, Quantity, Quantity]:
    """Growth and decay of nitrifiers [1/d], and what oxygen leaves of the growth [-]."""
    c = inputs.coefficient
    fastest = growth.temperature_corrected(
        c("nitrifier_growth"), c("nitrifier_growth_theta"), temperature
    )
    decay = growth.temperature_corrected(
        c("nitrifier_decay"), c("nitrifier_decay_theta"), temperature
    )
    return fastest, decay, nit.monod(inputs["secondary.oxygen"], c("half_oxygen"))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Carbon:
    """What the organisms that store phosphorus get, and what the sewage does not bring."""

    stored: Quantity  # kg COD/d
    fermentable: Quantity  # mg COD/L left by nitrate and oxygen
    added: Quantity  # kg COD/d beside the sewage's
    hydrolysed: Quantity  # kg COD/d of it that the reactor's own sludge gives


def _carbon_of(state: Reactor) -> _Carbon:
    return _Carbon(
        stored=state.stored_cod,
        fermentable=state.fermentable,
        added=state.added_cod,
        hydrolysed=state.hydrolysed_cod,
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Masses:
    """Sludge masses [kg VSS] for one amount of stored carbon, and the rates behind them."""

    cod_left: Quantity  # kg COD/d that the ordinary organisms use
    lost_growth: Quantity  # kg COD/d whose organisms a side stream takes apart again
    readily: Quantity  # kg COD/d that a side stream leaves for denitrification
    decay: Quantity  # 1/d
    storing_decay: Quantity  # 1/d
    heterotrophs: Quantity
    heterotroph_residue: Quantity
    storing: Quantity
    storing_residue: Quantity
    inert: Quantity

    @property
    def ordinary(self) -> Quantity:
        """Everything but the storing organisms themselves."""
        return self.heterotrophs + self.heterotroph_residue + self.storing_residue + self.inert


def _masses(inputs: Inputs, sewage: Feed, zones: Zones, found: _Carbon) -> _Masses:
    c = inputs.coefficient
    stored = found.stored
    srt = zones.srt
    decay = growth.temperature_corrected(
        c("heterotroph_decay"), c("decay_theta"), sewage.temperature
    )
    storing_decay = growth.temperature_corrected(
        c("storing_decay"), c("decay_theta"), sewage.temperature
    )
    left = mass_load(sewage.biodegradable, sewage.flow) + found.added - stored
    # Sludge that becomes carbon in a side stream is taken from the ordinary organisms: as much
    # less of them is there as this growth would have made.
    lost = found.hydrolysed / (c("cod_per_vss") * c("heterotroph_yield"))
    heterotrophs = growth.active_mass(left - lost, srt, c("heterotroph_yield"), decay)
    storing = growth.active_mass(stored, srt, c("storing_yield"), storing_decay)
    return _Masses(
        cod_left=left,
        lost_growth=lost,
        readily=found.hydrolysed * (1.0 - c("side_stream_stored")),
        decay=decay,
        storing_decay=storing_decay,
        heterotrophs=heterotrophs,
        heterotroph_residue=growth.endogenous_mass(
            heterotrophs, srt, decay, c("heterotroph_residue")
        ),
        storing=storing,
        storing_residue=growth.endogenous_mass(storing, srt, storing_decay, c("storing_residue")),
        inert=growth.inert_mass(sewage.flow, sewage.particulate_inert, srt, c("cod_per_vss")),
    )


def _state(
    inputs: Inputs,
    sewage: Feed,
    zones: Zones,
    found: _Carbon,
) -> Reactor:
    """Everything that follows once the stored carbon is known."""
    c = inputs.coefficient
    flow, srt = sewage.flow, zones.srt
    stored, fermentable = found.stored, found.fermentable
    m = _masses(inputs, sewage, zones, found)
    ordinary = storage.phosphorus_into_mass(c("phosphorus_content_ordinary"), m.ordinary, srt, flow)
    content = c(zones.phosphorus_content)
    potential = ordinary + storage.phosphorus_into_mass(content, m.storing, srt, flow)
    full = ordinary + storage.phosphorus_into_mass(
        c("phosphorus_content_storing"), m.storing, srt, flow
    )
    oxygen = growth.oxygen_for_carbon(
        m.cod_left - m.lost_growth,
        srt,
        c("heterotroph_yield"),
        m.decay,
        c("heterotroph_residue"),
        c("cod_per_vss"),
    ) + growth.oxygen_for_carbon(
        stored, srt, c("storing_yield"), m.storing_decay, c("storing_residue"), c("cod_per_vss")
    )
    # What was grown and taken apart again cost its oxygen of growth all the same.
    oxygen = oxygen + growth.oxygen_for_carbon(
        m.lost_growth,
        srt,
        c("heterotroph_yield"),
        0.0 * m.decay,
        c("heterotroph_residue"),
        c("cod_per_vss"),
    )
    nitrogen, fed = _nitrogen(inputs, sewage, zones, m, fermentable)
    none = 0.0 * potential
    sludge = Reactor(
        stored_cod=stored,
        fermentable=fermentable,
        added_cod=found.added,
        hydrolysed_cod=found.hydrolysed,
        storing_mass=m.storing,
        storing_residue=m.storing_residue,
        heterotroph_mass=m.heterotrophs,
        heterotroph_residue=m.heterotroph_residue,
        inert_mass=m.inert,
        volatile_mass=m.ordinary + m.storing,
        ash_mass=none,  # until the phosphorus it takes up is known
        phosphorus_taken=none,
        ordinary_phosphorus=none,
        phosphorus_potential=potential,
        phosphorus_potential_full=full,
        oxygen_carbon=oxygen,
        **nitrogen,
        feed_ratio=fed.feed_ratio,
        fed_nitrate=fed.fed,
        minimum_srt=nitrifier_minimum_srt(inputs, zones, sewage.temperature),
    )
    return with_feed(inputs, sewage, zones, sludge)


def _uptake(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Reactor) -> dict[str, Quantity]:
    """Phosphorus that the sludge takes of what comes, and the ash that it makes."""
    c, flow, srt = inputs.coefficient, sewage.flow, zones.srt
    cell = c("phosphorus_content_ordinary")
    open_to_uptake = maximum(
        sewage.phosphorus
        - sewage.bound_phosphorus
        - sewage.nonreactive
        - c("soluble_floor_biological"),
        0.0,
    )
    taken = minimum(sludge.phosphorus_potential, open_to_uptake)
    ordinary = minimum(storage.phosphorus_into_mass(cell, sludge.ordinary_mass, srt, flow), taken)
    actual = storage.content_for_removal(taken, ordinary, sludge.storing_mass, srt, flow)
    ash = storage.ash_mass(
        flow,
        sewage.inorganic_solids,
        srt,
        sludge.heterotroph_mass,
        c("heterotroph_ash"),
        sludge.storing_mass,
        storage.storage_ash_content(actual, c("heterotroph_ash"), c("polyphosphate_mass"), cell),
    )
    # Of the storing organisms' own phosphorus, an ordinary share is cell material.
    cell_share = minimum(
        storage.phosphorus_into_mass(cell, sludge.storing_mass, srt, flow), taken - ordinary
    )
    return {
        "phosphorus_taken": taken,
        "ordinary_phosphorus": ordinary + cell_share,
        "ash_mass": ash,
    }


def _nitrogen(
    inputs: Inputs, sewage: Feed, zones: Zones, m: _Masses, fermentable: Quantity
) -> tuple[dict[str, Quantity], Nitrate]:
    """Assimilate, nitrify and denitrify what the sludge and the layout allow."""
    c = inputs.coefficient
    organic = minimum(c("organic_nitrogen_fraction") * inputs["influent.tkn"], sewage.nitrogen)
    assimilated = minimum(
        growth.nitrogen_into_sludge(
            c("nitrogen_content"), m.ordinary + m.storing, zones.srt, sewage.flow
        ),
        sewage.nitrogen - organic,
    )
    available = sewage.nitrogen - organic - assimilated
    fastest, nitrifier_decay, oxygen = _nitrifier_rates(inputs, sewage.temperature)
    unaerated = zones.unaerated_fraction
    ammonia = nit.effluent_ammonia(
        fastest, nitrifier_decay, unaerated, oxygen, zones.srt, c("half_ammonia"), available
    )
    nitrified = available - ammonia
    oxidised = nitrified + inputs["influent.nitrate"]
    found = nitrate.of_layout(
        inputs, sewage, zones, _sludge(inputs, sewage, zones, oxidised, m, fermentable)
    )
    return {
        "nitrogen_assimilated": assimilated,
        "ammonia": ammonia,
        "nitrified": nitrified,
        "denitrified": oxidised - found.effluent,
        "nitrate": found.effluent,
        "organic_nitrogen": organic,
    }, found


def _sludge(
    inputs: Inputs,
    sewage: Feed,
    zones: Zones,
    oxidised: Quantity,
    m: _Masses,
    fermentable: Quantity,
) -> nitrate.Sludge:
    """Give what denitrification needs to know, with what fermentation leaves for it."""
    readily = sewage.vfa + sewage.fermentable
    if nitrate.has_anaerobic_zone(zones.layout):
        left = _fermentables_left(inputs, sewage, zones, fermentable, m.heterotrophs)
        aside = concentration_from_load(m.readily, sewage.flow)
        readily = (1.0 + _feed_ratio(inputs, zones)) * left + aside
    return nitrate.Sludge(
        oxidised=oxidised,
        cod_left=m.cod_left,
        heterotrophs=m.heterotrophs,
        decay=m.decay,
        readily=readily,
    )


def best_internal_recycle(inputs: Inputs, sewage: Feed, zones: Zones) -> Quantity:
    """Find the internal recycle ratio that loads the anoxic zone just to its potential."""
    state = reactor(inputs, sewage, zones)
    masses = _masses(inputs, sewage, zones, _carbon_of(state))
    sludge = _sludge(
        inputs,
        sewage,
        zones,
        state.nitrified + inputs["influent.nitrate"],
        masses,
        state.fermentable,
    )
    return nitrate.best_recycle(inputs, sewage, zones, sludge)


def _feed_ratio(inputs: Inputs, zones: Zones) -> Quantity:
    """Flow of sludge into the anaerobic zone over the influent flow [-]."""
    if zones.layout == "anoxic-recycle":
        return inputs["bio.anoxic_recycle_ratio"]
    return inputs["secondary.return_ratio"]


def _fermentables_left(
    inputs: Inputs, sewage: Feed, zones: Zones, fermentable: Quantity, heterotrophs: Quantity
) -> Quantity:
    c = inputs.coefficient
    rate = growth.temperature_corrected(
        c("fermentation_rate"), c("fermentation_theta"), sewage.temperature
    )
    return storage.fermentables_leaving(
        fermentable,
        _feed_ratio(inputs, zones),
        rate,
        zones.anaerobic_fraction,
        inputs["bio.anaerobic_stages"],
        heterotrophs,
        sewage.flow,
    )


def _side_stream(
    inputs: Inputs, sewage: Feed, zones: Zones, m: _Masses
) -> fermentation.SideStreamCarbon:
    """Carbon that return sludge gives where part of it is held aside without air [kg COD/d]."""
    none = 0.0 * sewage.flow
    if not plain(zones.side_fraction).any():
        return fermentation.SideStreamCarbon(stored=none, left=none)
    c = inputs.coefficient
    rate = growth.temperature_corrected(c("acid_rate"), c("acid_theta"), sewage.temperature)
    through = fermentation.side_stream_solids(
        inputs["bio.side_stream_share"],
        inputs["secondary.return_ratio"],
        mixed_liquor(m.ordinary + m.storing, zones.volume),
        sewage.flow,
    )
    yielded = fermentation.acid_yield(
        c("acid_yield_return"), rate, inputs["bio.side_stream_holding"]
    )
    return fermentation.side_stream_carbon(through, yielded, c("side_stream_stored"))


def _stored_cod(
    inputs: Inputs, sewage: Feed, zones: Zones, heterotrophs: Quantity, fed: Nitrate
) -> tuple[Quantity, Quantity]:
    """One pass: what nitrate and oxygen leave of the carbon is fermented and stored.

    Returns fermentable COD after the debit [mg COD/L] and stored COD [kg COD/d].
    """
    c = inputs.coefficient
    debit = storage.acceptor_debit(
        fed.feed_ratio,
        fed.fed,
        inputs["influent.nitrate"],
        fed.fed_oxygen,
        c("influent_oxygen"),
        storage.cod_per_nitrate(c("cod_yield")),
        storage.cod_per_oxygen(c("cod_yield")),
    )
    fermentable = storage.fermentables_after_debit(sewage.fermentable, debit)
    vfa = storage.vfa_after_debit(sewage.vfa, sewage.fermentable, debit)
    left = _fermentables_left(inputs, sewage, zones, fermentable, heterotrophs)
    return fermentable, storage.cod_stored(sewage.flow, fermentable, left, fed.feed_ratio, vfa)
