"""The plant without phosphorus removal: settled sewage, activated sludge, nitrogen.

The strategies use the same functions with organisms that store phosphorus added, so nothing here
is written twice. Whether the plant nitrifies follows from sludge age and temperature.
"""

from __future__ import annotations

from dataclasses import dataclass

from pcompare import nitrate
from pcompare.arrays import Quantity, as_cases, maximum, minimum, plain, ratio, where
from pcompare.equations import growth, storage
from pcompare.equations import nitrogen as nit
from pcompare.equations.stoichiometry import mass_load
from pcompare.nitrate import Nitrate
from pcompare.records import Feed, Inputs, Reactor, Zones

PASSES = 20  # of the joint fixed point; it contracts to 2e-15 over these


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
    phosphorus = (inputs["influent.tp"] - settled_phosphorus) / (1.0 - return_load)
    vfa, fermentable = inputs["influent.vfa"], rbcod - inputs["influent.vfa"]
    slow, inert_left = (particulate - inert) * left, inert * left
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
        bound_phosphorus=bound,
        nonreactive=inputs["influent.nonreactive_p"],
        nitrogen=inputs["influent.tkn"] - settled_nitrogen,
        primary_solids=mass_load(settled_solids + salt_solids * primary_capture, flow),
        primary_volatile=mass_load(inputs["influent.vss"] * primary_capture, flow),
        primary_phosphorus=mass_load(settled_phosphorus, flow),
        returned_phosphorus=mass_load(phosphorus * return_load, flow),
    )


def existing_zones(inputs: Inputs) -> Zones:
    """Describe the plant as it stands: no anaerobic zone."""
    anoxic = plain(inputs["secondary.anoxic_fraction"])
    aerobic_only = inputs.choice("secondary.layout") == "aerobic"
    return Zones(
        layout=inputs.choice("secondary.layout"),
        anaerobic_fraction=as_cases(0.0),
        anoxic_fraction=as_cases(0.0) if aerobic_only else anoxic,
        extra_fraction=as_cases(0.0),
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
    stored: Quantity = 0.0 * sewage.flow
    fermentable = sewage.fermentable
    if nitrate.has_anaerobic_zone(zones.layout):
        for _ in range(PASSES):
            masses = _masses(inputs, sewage, zones, stored, 0.0)
            _, fed = _nitrogen(inputs, sewage, zones, masses, fermentable)
            fermentable, stored = _stored_cod(inputs, sewage, zones, masses.heterotrophs, fed)
    return _state(inputs, sewage, zones, stored, fermentable)


def with_feed(inputs: Inputs, sewage: Feed, zones: Zones, state: Reactor) -> Reactor:
    """Give the same sludge another phosphorus load: carbon and nitrogen stay as they are."""
    return _state(inputs, sewage, zones, state.stored_cod, state.fermentable)


def with_carbon(
    inputs: Inputs, sewage: Feed, zones: Zones, state: Reactor, added_cod: Quantity
) -> Reactor:
    """Add purchased volatile fatty acids [kg COD/d], all stored by the phosphorus organisms.

    The ordinary organisms and the returned nitrate stay as they are, so the closed form of the
    carbon dose is exact.
    """
    return _state(inputs, sewage, zones, state.stored_cod + added_cod, state.fermentable, added_cod)


def nitrifier_minimum_srt(inputs: Inputs, zones: Zones, temperature: Quantity) -> Quantity:
    """Sludge age below which nitrifiers wash out [d]."""
    fastest, decay, oxygen = _nitrifier_rates(inputs, temperature)
    unaerated = zones.unaerated_fraction
    limit = inputs["permit.ammonia"]
    # Without an ammonia limit only survival counts, and ammonia does not slow the growth.
    ammonia = where(limit > 0.0, nit.monod(limit, inputs["coefficient.half_ammonia"]), 1.0)
    return nit.nitrifier_minimum_srt(fastest, decay, unaerated, oxygen, ammonia)


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
class _Masses:
    """Sludge masses [kg VSS] for one amount of stored carbon, and the rates behind them."""

    cod_left: Quantity  # kg COD/d that the ordinary organisms use
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


def _masses(
    inputs: Inputs, sewage: Feed, zones: Zones, stored: Quantity, purchased: Quantity
) -> _Masses:
    c = inputs.coefficient
    srt = zones.srt
    decay = growth.temperature_corrected(
        c("heterotroph_decay"), c("decay_theta"), sewage.temperature
    )
    storing_decay = growth.temperature_corrected(
        c("storing_decay"), c("decay_theta"), sewage.temperature
    )
    left = mass_load(sewage.biodegradable, sewage.flow) + purchased - stored
    heterotrophs = growth.active_mass(left, srt, c("heterotroph_yield"), decay)
    storing = growth.active_mass(stored, srt, c("storing_yield"), storing_decay)
    return _Masses(
        cod_left=left,
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
    stored: Quantity,
    fermentable: Quantity,
    purchased: Quantity = 0.0,
) -> Reactor:
    """Everything that follows once the stored carbon [kg COD/d] is known."""
    c = inputs.coefficient
    flow, srt = sewage.flow, zones.srt
    m = _masses(inputs, sewage, zones, stored, purchased)
    ordinary = storage.phosphorus_into_mass(c("phosphorus_content_ordinary"), m.ordinary, srt, flow)
    content = c(zones.phosphorus_content)
    potential = ordinary + storage.phosphorus_into_mass(content, m.storing, srt, flow)
    full = ordinary + storage.phosphorus_into_mass(
        c("phosphorus_content_storing"), m.storing, srt, flow
    )
    open_to_uptake = maximum(
        sewage.phosphorus
        - sewage.bound_phosphorus
        - sewage.nonreactive
        - c("soluble_floor_biological"),
        0.0,
    )
    taken = minimum(potential, open_to_uptake)
    ordinary_taken = minimum(ordinary, taken)
    actual = storage.content_for_removal(taken, ordinary_taken, m.storing, srt, flow)
    ash = storage.ash_mass(
        flow,
        sewage.inorganic_solids,
        srt,
        m.heterotrophs,
        c("heterotroph_ash"),
        m.storing,
        storage.storage_ash_content(
            actual,
            c("heterotroph_ash"),
            c("polyphosphate_mass"),
            c("phosphorus_content_ordinary"),
        ),
    )
    oxygen = growth.oxygen_for_carbon(
        m.cod_left, srt, c("heterotroph_yield"), m.decay, c("heterotroph_residue"), c("cod_per_vss")
    ) + growth.oxygen_for_carbon(
        stored, srt, c("storing_yield"), m.storing_decay, c("storing_residue"), c("cod_per_vss")
    )
    # Of the storing organisms' own phosphorus, an ordinary share is cell material.
    cell_share = minimum(
        storage.phosphorus_into_mass(c("phosphorus_content_ordinary"), m.storing, srt, flow),
        taken - ordinary_taken,
    )
    nitrogen, fed = _nitrogen(inputs, sewage, zones, m, fermentable)
    return Reactor(
        stored_cod=stored,
        fermentable=fermentable,
        storing_mass=m.storing,
        storing_residue=m.storing_residue,
        heterotroph_mass=m.heterotrophs,
        heterotroph_residue=m.heterotroph_residue,
        inert_mass=m.inert,
        volatile_mass=m.ordinary + m.storing,
        ash_mass=ash,
        phosphorus_taken=taken,
        ordinary_phosphorus=ordinary_taken + cell_share,
        phosphorus_potential=potential,
        phosphorus_potential_full=full,
        oxygen_carbon=oxygen,
        **nitrogen,
        feed_ratio=fed.feed_ratio,
        fed_nitrate=fed.fed,
        minimum_srt=nitrifier_minimum_srt(inputs, zones, sewage.temperature),
    )


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
    found = _nitrate(inputs, sewage, zones, oxidised, m, fermentable)
    return {
        "nitrogen_assimilated": assimilated,
        "ammonia": ammonia,
        "nitrified": nitrified,
        "denitrified": oxidised - found.effluent,
        "nitrate": found.effluent,
        "organic_nitrogen": organic,
    }, found


def _nitrate(
    inputs: Inputs,
    sewage: Feed,
    zones: Zones,
    oxidised: Quantity,
    m: _Masses,
    fermentable: Quantity,
) -> Nitrate:
    """Nitrate of the layout, with what fermentation leaves for the anoxic zone."""
    readily = sewage.vfa + sewage.fermentable
    if nitrate.has_anaerobic_zone(zones.layout):
        left = _fermentables_left(inputs, sewage, zones, fermentable, m.heterotrophs)
        readily = (1.0 + _feed_ratio(inputs, zones)) * left
    sludge = nitrate.Sludge(
        oxidised=oxidised,
        cod_left=m.cod_left,
        heterotrophs=m.heterotrophs,
        decay=m.decay,
        readily=readily,
    )
    return nitrate.of_layout(inputs, sewage, zones, sludge)


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
