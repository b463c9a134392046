"""The plant without phosphorus removal: settled sewage, activated sludge, nitrogen.

The strategies use the same functions with organisms that store phosphorus added, so nothing here
is written twice. Whether the plant nitrifies follows from sludge age and temperature.
"""

from __future__ import annotations

from pcompare.arrays import Quantity, as_cases, maximum, minimum, plain, where
from pcompare.equations import biological as bio
from pcompare.equations import nitrogen as nit
from pcompare.equations.stoichiometry import mass_load
from pcompare.records import Feed, Inputs, Reactor, Zones

PASSES = 20  # of the joint fixed point; it contracts to 2e-15 over these


def feed(inputs: Inputs, primary_capture: Quantity, return_load: Quantity) -> Feed:
    """Settle the sewage and add the phosphorus that the sludge line returns.

    ``primary_capture`` is the share of suspended solids settled [-]; ``return_load`` the share of
    the reactor's phosphorus load that comes back from sludge treatment [-].
    """
    c = inputs.coefficient
    flow = inputs["flow.average"]
    settled_solids = inputs["influent.tss"] * primary_capture
    settled_phosphorus = minimum(
        settled_solids * c("primary_phosphorus_content"),
        inputs["influent.tp"] - inputs["influent.orthophosphate"] - inputs["influent.nonreactive_p"],
    )
    settled_nitrogen = minimum(
        settled_solids * c("primary_nitrogen_content"),
        inputs["influent.tkn"] - inputs["influent.ammonia"],
    )
    cod, rbcod = inputs["influent.cod"], inputs["influent.rbcod"]
    soluble_inert = cod * c("soluble_inert_fraction")
    particulate = cod - soluble_inert - rbcod
    inert = minimum(cod * c("particulate_inert_fraction"), particulate)
    left = 1.0 - primary_capture
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
        inorganic_solids=(inputs["influent.tss"] - inputs["influent.vss"]) * left,
        phosphorus=phosphorus,
        nonreactive=inputs["influent.nonreactive_p"],
        nitrogen=inputs["influent.tkn"] - settled_nitrogen,
        primary_solids=mass_load(settled_solids, flow),
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
    state = _state(inputs, sewage, zones, stored)
    if zones.layout.startswith("anaerobic"):
        for _ in range(PASSES):
            stored = _stored_cod(inputs, sewage, zones, state)
            state = _state(inputs, sewage, zones, stored)
    return state


def with_carbon(
    inputs: Inputs, sewage: Feed, zones: Zones, state: Reactor, added_cod: Quantity
) -> Reactor:
    """Add purchased volatile fatty acids [kg COD/d], all stored by the phosphorus organisms.

    The ordinary organisms and the returned nitrate stay as they are, so the closed form of the
    carbon dose is exact.
    """
    return _state(inputs, sewage, zones, state.stored_cod + added_cod, added_cod)


def nitrifier_minimum_srt(inputs: Inputs, zones: Zones, temperature: Quantity) -> Quantity:
    """Sludge age below which nitrifiers wash out. [d]"""
    growth, decay, oxygen = _nitrifier_rates(inputs, temperature)
    unaerated = zones.anaerobic_fraction + zones.anoxic_fraction
    limit = inputs["permit.ammonia"]
    # Without an ammonia limit only survival counts, and ammonia does not slow the growth.
    ammonia = where(limit > 0.0, nit.monod(limit, inputs["coefficient.half_ammonia"]), 1.0)
    return nit.nitrifier_minimum_srt(growth, decay, unaerated, oxygen, ammonia)


def _nitrifier_rates(inputs: Inputs, temperature: Quantity) -> tuple[Quantity, Quantity, Quantity]:
    c = inputs.coefficient
    growth = bio.temperature_corrected(
        c("nitrifier_growth"), c("nitrifier_growth_theta"), temperature
    )
    decay = bio.temperature_corrected(c("nitrifier_decay"), c("nitrifier_decay_theta"), temperature)
    return growth, decay, nit.monod(inputs["secondary.oxygen"], c("half_oxygen"))


def _state(
    inputs: Inputs, sewage: Feed, zones: Zones, stored: Quantity, purchased: Quantity = 0.0
) -> Reactor:
    """Everything that follows once the stored carbon [kg COD/d] is known."""
    c = inputs.coefficient
    flow, srt = sewage.flow, zones.srt
    decay = bio.temperature_corrected(
        c("heterotroph_decay"), c("decay_theta"), sewage.temperature
    )
    storing_decay = bio.temperature_corrected(
        c("storing_decay"), c("decay_theta"), sewage.temperature
    )
    left = mass_load(sewage.biodegradable, flow) + purchased - stored
    heterotrophs = bio.active_mass(left, srt, c("heterotroph_yield"), decay)
    residue = bio.endogenous_mass(heterotrophs, srt, decay, c("heterotroph_residue"))
    storing = bio.active_mass(stored, srt, c("storing_yield"), storing_decay)
    storing_residue = bio.endogenous_mass(storing, srt, storing_decay, c("storing_residue"))
    inert = bio.inert_mass(flow, sewage.particulate_inert, srt, c("cod_per_vss"))
    volatile = heterotrophs + residue + storing + storing_residue + inert

    other = heterotrophs + residue + storing_residue + inert
    ordinary = bio.phosphorus_into_mass(c("phosphorus_content_ordinary"), other, srt, flow)
    content = c(zones.phosphorus_content)
    potential = ordinary + bio.phosphorus_into_mass(content, storing, srt, flow)
    full = ordinary + bio.phosphorus_into_mass(
        c("phosphorus_content_storing"), storing, srt, flow
    )
    open_to_uptake = maximum(
        sewage.phosphorus - sewage.nonreactive - c("soluble_floor_biological"), 0.0
    )
    taken = minimum(potential, open_to_uptake)
    ordinary_taken = minimum(ordinary, taken)
    actual = bio.content_for_removal(taken, ordinary_taken, storing, srt, flow)
    ash = bio.ash_mass(
        flow,
        sewage.inorganic_solids,
        srt,
        heterotrophs,
        c("heterotroph_ash"),
        storing,
        bio.storage_ash_content(
            actual,
            c("heterotroph_ash"),
            c("polyphosphate_mass"),
            c("phosphorus_content_ordinary"),
        ),
    )
    oxygen = bio.oxygen_for_carbon(
        left, srt, c("heterotroph_yield"), decay, c("heterotroph_residue"), c("cod_per_vss")
    ) + bio.oxygen_for_carbon(
        stored, srt, c("storing_yield"), storing_decay, c("storing_residue"), c("cod_per_vss")
    )
    # Of the storing organisms' own phosphorus, an ordinary share is cell material.
    cell_share = minimum(
        bio.phosphorus_into_mass(c("phosphorus_content_ordinary"), storing, srt, flow),
        taken - ordinary_taken,
    )
    return Reactor(
        stored_cod=stored,
        storing_mass=storing,
        storing_residue=storing_residue,
        heterotroph_mass=heterotrophs,
        heterotroph_residue=residue,
        inert_mass=inert,
        volatile_mass=volatile,
        ash_mass=ash,
        phosphorus_taken=taken,
        ordinary_phosphorus=ordinary_taken + cell_share,
        phosphorus_potential=potential,
        phosphorus_potential_full=full,
        oxygen_carbon=oxygen,
        **_nitrogen(inputs, sewage, zones, volatile, heterotrophs, left, decay),
    )


def _nitrogen(
    inputs: Inputs,
    sewage: Feed,
    zones: Zones,
    volatile: Quantity,
    heterotrophs: Quantity,
    cod_left: Quantity,
    decay: Quantity,
) -> dict[str, Quantity]:
    """Assimilate, nitrify and denitrify what the sludge and the layout allow."""
    c = inputs.coefficient
    organic = minimum(c("organic_nitrogen_fraction") * inputs["influent.tkn"], sewage.nitrogen)
    assimilated = minimum(
        bio.nitrogen_into_sludge(c("nitrogen_content"), volatile, zones.srt, sewage.flow),
        sewage.nitrogen - organic,
    )
    available = sewage.nitrogen - organic - assimilated
    growth, nitrifier_decay, oxygen = _nitrifier_rates(inputs, sewage.temperature)
    unaerated = zones.anaerobic_fraction + zones.anoxic_fraction
    ammonia = nit.effluent_ammonia(
        growth, nitrifier_decay, unaerated, oxygen, zones.srt, c("half_ammonia"), available
    )
    nitrified = available - ammonia
    oxidised = nitrified + inputs["influent.nitrate"]
    nitrate = _effluent_nitrate(inputs, sewage, zones, oxidised, heterotrophs, cod_left, decay)
    return {
        "nitrogen_assimilated": assimilated,
        "ammonia": ammonia,
        "nitrified": nitrified,
        "denitrified": oxidised - nitrate,
        "nitrate": nitrate,
        "organic_nitrogen": organic,
        "minimum_srt": nitrifier_minimum_srt(inputs, zones, sewage.temperature),
    }


def _effluent_nitrate(
    inputs: Inputs,
    sewage: Feed,
    zones: Zones,
    oxidised: Quantity,
    heterotrophs: Quantity,
    cod_left: Quantity,
    decay: Quantity,
) -> Quantity:
    """Nitrate that leaves: what recycling cannot bring back, or the anoxic zone cannot remove."""
    c = inputs.coefficient
    returned, recycle = inputs["secondary.return_ratio"], zones.internal_recycle
    if zones.layout == "aerobic":
        return oxidised
    if zones.layout == "anaerobic-aerobic":
        # Return sludge loses its nitrate in the anaerobic zone, at the organisms' cost.
        return nit.nitrate_after_recycle(oxidised, returned, 0.0)
    storing = zones.layout.startswith("anaerobic")
    rate = bio.temperature_corrected(
        c("slow_denitrification_biop" if storing else "slow_denitrification"),
        c("slow_denitrification_theta"),
        sewage.temperature,
    )
    readily = sewage.vfa + sewage.fermentable
    if storing:
        left = _fermentables_left(inputs, sewage, zones, sewage.fermentable, heterotrophs)
        readily = (1.0 + returned) * left
    potential = nit.denitrification_potential(
        readily,
        rate,
        zones.anoxic_fraction,
        cod_left * 1000.0 / sewage.flow,  # kg/d in m3/d to mg/L
        c("heterotroph_yield"),
        decay,
        zones.srt,
        c("cod_per_vss"),
    )
    oxygen_back = recycle * c("recycle_oxygen") + (0.0 if storing else 1.0) * returned * c(
        "return_oxygen"
    )
    usable = maximum(potential - oxygen_back / nit.oxygen_per_nitrate(), 0.0)
    diluted = nit.nitrate_after_recycle(oxidised, returned, recycle)
    through = 1.0 + returned if storing else 1.0 + 0.0 * returned
    return minimum(oxidised, maximum(diluted, (oxidised - usable) / through))


def _fermentables_left(
    inputs: Inputs, sewage: Feed, zones: Zones, fermentable: Quantity, heterotrophs: Quantity
) -> Quantity:
    c = inputs.coefficient
    rate = bio.temperature_corrected(
        c("fermentation_rate"), c("fermentation_theta"), sewage.temperature
    )
    return bio.fermentables_leaving(
        fermentable,
        inputs["secondary.return_ratio"],
        rate,
        zones.anaerobic_fraction,
        inputs["bio.anaerobic_stages"],
        heterotrophs,
        sewage.flow,
    )


def _stored_cod(inputs: Inputs, sewage: Feed, zones: Zones, state: Reactor) -> Quantity:
    """One pass: what nitrate and oxygen leave of the carbon is fermented and stored. [kg COD/d]"""
    c = inputs.coefficient
    returned = inputs["secondary.return_ratio"]
    debit = bio.acceptor_debit(
        returned,
        state.nitrate,
        inputs["influent.nitrate"],
        c("return_oxygen"),
        c("influent_oxygen"),
        bio.cod_per_nitrate(c("cod_yield")),
        bio.cod_per_oxygen(c("cod_yield")),
    )
    fermentable = bio.fermentables_after_debit(sewage.fermentable, debit)
    vfa = bio.vfa_after_debit(sewage.vfa, sewage.fermentable, debit)
    left = _fermentables_left(inputs, sewage, zones, fermentable, state.heterotroph_mass)
    return bio.cod_stored(sewage.flow, fermentable, left, returned, vfa)

