"""Acids from the plant's own primary sludge: what a fermenter adds to the sewage and takes away.

Acids leave for the reactor with the nitrogen and phosphorus that come free; the volatile solids
they are made of no longer feed the digester, so gas is lost.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pcompare import basis
from pcompare.arrays import Array, Quantity, as_cases, highest, plain
from pcompare.equations import fermentation, growth
from pcompare.equations.stoichiometry import concentration_from_load, mass_load
from pcompare.records import Feed, Inputs
from pcompare.strategies import sizing


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Fermented:
    """Sewage with its own sludge's acids, and what the digester lacks."""

    sewage: Feed
    acids: Quantity  # kg COD/d
    gas_energy: Quantity  # kWh/d of electricity that the lost gas would have made


def ferment(inputs: Inputs, sewage: Feed, returned: Quantity) -> Fermented:
    """Ferment all primary sludge for the holding time, and send the acids to the reactor.

    A share ``returned`` of all phosphorus that enters comes back, that of the acids too.
    """
    c, flow = inputs.coefficient, sewage.flow
    rate = growth.temperature_corrected(c("acid_rate"), c("acid_theta"), sewage.temperature)
    yielded = fermentation.acid_yield(
        c("acid_yield_primary"), rate, inputs["bio.fermenter_holding"]
    )
    acids = fermentation.acid_load(sewage.primary_volatile, yielded)
    cod_per_volatile = c("primary_cod_content") * inputs["influent.tss"] / inputs["influent.vss"]
    used = fermentation.volatile_solids_fermented(acids, cod_per_volatile)
    phosphorus = fermentation.released_with_acids(acids, c("fermentation_phosphorus"))
    nitrogen = fermentation.released_with_acids(acids, c("fermentation_nitrogen"))
    added = concentration_from_load(acids, flow)
    stored = added * c("fermentate_usable")
    enriched = replace(
        sewage,
        vfa=sewage.vfa + stored,
        slowly_biodegradable=sewage.slowly_biodegradable + added - stored,
        cod=sewage.cod + added,
        brought_phosphorus=sewage.brought_phosphorus + concentration_from_load(phosphorus, flow),
        nitrogen=sewage.nitrogen + concentration_from_load(nitrogen, flow),
        primary_solids=sewage.primary_solids - used,
        primary_volatile=sewage.primary_volatile - used,
        primary_phosphorus=sewage.primary_phosphorus - phosphorus,
    )
    gas = 0.0 * acids
    if inputs.choice("solids.digestion") == "anaerobic":
        gas = fermentation.methane_electricity(
            fermentation.methane_from_cod(acids), c("methane_heating_value"), c("engine_efficiency")
        )
    return Fermented(sewage=basis.with_return(enriched, returned), acids=acids, gas_energy=gas)


def volume(inputs: Inputs) -> Array:
    """Size the fermenter at point values, for the peak month [m3]."""
    fixed = plain(inputs)
    fed = mass_load(fixed["influent.vss"] * fixed["primary.capture"], fixed["flow.average"])
    size = fermentation.fermenter_volume(
        fed * sizing.peak(fixed),
        fixed["bio.fermenter_holding"],
        fixed.coefficient("fermenter_solids"),
    )
    return as_cases(highest(size))
