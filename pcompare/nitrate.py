"""Nitrate of each layout of zones: what leaves, and what reaches the anaerobic zone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pcompare.arrays import Quantity, maximum
from pcompare.equations import growth, layouts
from pcompare.equations import nitrogen as nit
from pcompare.equations.stoichiometry import concentration_from_load
from pcompare.records import Feed, Inputs, Zones


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Sludge:
    """What denitrification needs to know of the sludge."""

    oxidised: Quantity  # mg N/L formed and brought
    cod_left: Quantity  # kg COD/d that the ordinary organisms use
    heterotrophs: Quantity  # kg VSS
    decay: Quantity  # 1/d
    readily: Quantity  # mg COD/L, readily biodegradable, that reaches the anoxic zone


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Nitrate:
    """Nitrate of the effluent, and of the flow that feeds the anaerobic zone."""

    effluent: Quantity  # mg N/L
    fed: Quantity  # mg N/L, in the flow that feeds the anaerobic zone
    fed_oxygen: Quantity  # mg O2/L, in the same flow
    feed_ratio: Quantity  # that flow over the influent flow


def has_anaerobic_zone(layout: str) -> bool:
    """Tell whether a layout keeps organisms that store phosphorus."""
    return layout not in ("aerobic", "anoxic-aerobic", "four-stage")


def of_layout(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    """Work out the nitrate of one layout."""
    return LAYOUTS[zones.layout](inputs, sewage, zones, sludge)


def _returning(inputs: Inputs, effluent: Quantity) -> Nitrate:
    """Return sludge feeds the anaerobic zone, less what the clarifier's blanket removes."""
    c = inputs.coefficient
    return Nitrate(
        effluent=effluent,
        fed=layouts.nitrate_after_blanket(effluent, c("blanket_denitrification")),
        fed_oxygen=c("return_oxygen"),
        feed_ratio=inputs["secondary.return_ratio"],
    )


def _aerobic(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    return _returning(inputs, sludge.oxidised)


def _anaerobic_aerobic(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    # Return sludge loses its nitrate in the anaerobic zone, at the organisms' cost.
    returned = inputs["secondary.return_ratio"]
    return _returning(inputs, nit.nitrate_after_recycle(sludge.oxidised, returned, 0.0))


def _potential(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Quantity:
    """Nitrate that the first anoxic zone can remove where no oxygen comes with its recycles."""
    c = inputs.coefficient
    rate = growth.temperature_corrected(
        c(
            "slow_denitrification_biop"
            if has_anaerobic_zone(zones.layout)
            else "slow_denitrification"
        ),
        c("slow_denitrification_theta"),
        sewage.temperature,
    )
    return nit.denitrification_potential(
        sludge.readily,
        rate,
        zones.anoxic_fraction,
        concentration_from_load(sludge.cod_left, sewage.flow),
        c("heterotroph_yield"),
        sludge.decay,
        zones.srt,
        c("cod_per_vss"),
    )


def _usable(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Quantity:
    """Nitrate that the first anoxic zone can remove, the oxygen of its recycles deducted."""
    c = inputs.coefficient
    oxygen = zones.internal_recycle * c("recycle_oxygen")
    if _takes_return_sludge(zones):
        oxygen = oxygen + inputs["secondary.return_ratio"] * c("return_oxygen")
    potential = _potential(inputs, sewage, zones, sludge)
    return maximum(potential - oxygen / nit.oxygen_per_nitrate(), 0.0)


def _takes_return_sludge(zones: Zones) -> bool:
    """Tell whether return sludge comes to the first anoxic zone, and not to an anaerobic one."""
    return not has_anaerobic_zone(zones.layout) or zones.layout == "anoxic-recycle"


def best_recycle(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Quantity:
    """Work out the internal recycle that loads the first anoxic zone just to its potential."""
    c = inputs.coefficient
    potential = _potential(inputs, sewage, zones, sludge)
    returned, oxygen = inputs["secondary.return_ratio"], c("recycle_oxygen")
    if _takes_return_sludge(zones):
        return nit.best_internal_recycle(
            sludge.oxidised, potential, returned, oxygen, c("return_oxygen")
        )
    # The nitrate of the return sludge is gone before the zone: a/(1 + s) takes the place of a, and
    # no return sludge comes.
    onto = 1.0 + returned
    best = nit.best_internal_recycle(
        sludge.oxidised, potential, 0.0 * returned, oxygen * onto, 0.0 * oxygen
    )
    return best * onto


def _anoxic_aerobic(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    """Recycles come back to the anoxic zone, which is the first."""
    usable = _usable(inputs, sewage, zones, sludge)
    diluted = nit.nitrate_after_recycle(
        sludge.oxidised, inputs["secondary.return_ratio"], zones.internal_recycle
    )
    return _returning(inputs, maximum(diluted, sludge.oxidised - usable))


def _three_zones(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    usable = _usable(inputs, sewage, zones, sludge)
    return _returning(
        inputs,
        layouts.nitrate_behind_anoxic_zone(
            sludge.oxidised, usable, inputs["secondary.return_ratio"], zones.internal_recycle
        ),
    )


def _endogenous(
    inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge, fraction: Quantity
) -> Quantity:
    """Nitrate that a zone without fresh sewage can remove [mg N/L of plant flow]."""
    c = inputs.coefficient
    storing = has_anaerobic_zone(zones.layout)
    rate = growth.temperature_corrected(
        c("endogenous_denitrification_biop" if storing else "endogenous_denitrification"),
        c("endogenous_denitrification_theta"),
        sewage.temperature,
    )
    return layouts.endogenous_denitrification(rate, fraction, sludge.heterotrophs, sewage.flow)


def _return_denitrified(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    """Return sludge passes an anoxic zone of its own before the anaerobic one."""
    before = _three_zones(inputs, sewage, zones, sludge)
    removable = _endogenous(inputs, sewage, zones, sludge, zones.extra_fraction)
    after = layouts.return_after_own_anoxic_zone(
        before.fed, before.fed_oxygen, removable, before.feed_ratio
    )
    return Nitrate(
        effluent=before.effluent,
        fed=after.nitrate,
        fed_oxygen=after.oxygen,
        feed_ratio=before.feed_ratio,
    )


def _second_removal(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Quantity:
    """Nitrate that the second anoxic zone takes from the stream that passes it [mg N/L]."""
    return layouts.second_anoxic_removal(
        _endogenous(inputs, sewage, zones, sludge, zones.extra_fraction),
        inputs["secondary.return_ratio"],
        inputs.coefficient("recycle_oxygen"),
    )


def _five_stages(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    before = _three_zones(inputs, sewage, zones, sludge)
    return _returning(
        inputs,
        layouts.nitrate_after_second_anoxic(
            before.effluent,
            _second_removal(inputs, sewage, zones, sludge),
            inputs.coefficient("second_anoxic_nitrate"),
        ),
    )


def _four_stages(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    return _returning(
        inputs,
        layouts.nitrate_four_stage(
            sludge.oxidised,
            _usable(inputs, sewage, zones, sludge),
            _second_removal(inputs, sewage, zones, sludge),
            inputs.coefficient("second_anoxic_nitrate"),
            inputs["secondary.return_ratio"],
            zones.internal_recycle,
        ),
    )


def _anoxic_recycle(inputs: Inputs, sewage: Feed, zones: Zones, sludge: Sludge) -> Nitrate:
    """Mixed liquor of the anoxic zone, nearly without nitrate, feeds the anaerobic zone."""
    c = inputs.coefficient
    found = layouts.nitrate_anoxic_recycle(
        sludge.oxidised,
        _usable(inputs, sewage, zones, sludge),
        c("anoxic_recycle_nitrate"),
        inputs["secondary.return_ratio"],
        zones.internal_recycle,
        inputs["bio.anoxic_recycle_ratio"],
    )
    return Nitrate(
        effluent=found.effluent,
        fed=found.anoxic,
        fed_oxygen=0.0 * c("return_oxygen"),
        feed_ratio=inputs["bio.anoxic_recycle_ratio"],
    )


LAYOUTS: dict[str, Callable[[Inputs, Feed, Zones, Sludge], Nitrate]] = {
    "aerobic": _aerobic,
    "anoxic-aerobic": _anoxic_aerobic,
    "anaerobic-aerobic": _anaerobic_aerobic,
    "anaerobic-anoxic-aerobic": _three_zones,
    "anoxic-recycle": _anoxic_recycle,
    "return-denitrified": _return_denitrified,
    "five-stage": _five_stages,
    "four-stage": _four_stages,
}
