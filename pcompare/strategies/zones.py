"""The zones of a biological strategy, laid out once at point values.

The mixed liquor stays as it is, so the sludge age grows with the volume: tanks are added until it
holds the nitrifiers in the coldest month with the larger unaerated share. The anaerobic zone comes
out of the existing tanks, or is built, as the user says.
"""

from __future__ import annotations

import functools
from dataclasses import replace

from pcompare import basis
from pcompare.arrays import Array, as_cases, highest, maximum, minimum, plain, where
from pcompare.equations import fermentation, layouts
from pcompare.records import Inputs, Zones
from pcompare.strategies import sizing

LARGEST_GROWTH = 2.0  # of the tanks: beyond it the sludge-age check fails instead
PASSES = 30  # each closes half of what is left or more
EXTRA = {"five-stage": "second_anoxic", "return-denitrified": "return_anoxic"}


# Several strategies share one layout: the function is pure, so the last few answers are kept, by
# the identity of the inputs.
@functools.lru_cache(maxsize=4)
def laid_out(inputs: Inputs, side_stream: bool = False) -> Zones:
    """Lay out the zones, with a side stream that ferments return sludge or without."""
    fixed = plain(inputs)
    layout = fixed.choice("bio.layout")
    anaerobic = fixed["bio.anaerobic_fraction"]
    share = _for_nitrification(fixed, layout, side_stream)
    if fixed.choice("bio.zone") == "new tank":
        share = maximum(share, anaerobic / (1.0 - anaerobic))
    if layout == "anoxic-recycle":
        # Thinner sludge in the anaerobic zone: the same mass takes a larger tank.
        factor = layouts.anaerobic_volume_factor(fixed["bio.anoxic_recycle_ratio"])
        share = share + anaerobic * (factor - 1.0)
    found = _zones(fixed, layout, share * fixed["secondary.volume"], side_stream)
    return replace(found, internal_recycle=_recycle(fixed, found))


def _for_nitrification(inputs: Inputs, layout: str, side_stream: bool) -> Array:
    """Tanks to add so that nitrifiers stay in the coldest month, over those that stand [-].

    A side stream keeps its size, so its share of the sludge falls as tanks are added.
    """
    if not sizing.has_limit(inputs, "permit.ammonia"):
        return as_cases(0.0)
    share = as_cases(0.0)
    stands = inputs["secondary.volume"]
    for _ in range(PASSES if side_stream else 1):
        found = _zones(inputs, layout, share * stands, side_stream)
        coldest = basis.nitrifier_minimum_srt(inputs, found, inputs["influent.temperature_minimum"])
        needed = highest(coldest) * inputs.coefficient("nitrifier_safety")
        volume = needed / inputs["secondary.srt"] * stands
        tanks = volume - found.side_fraction * found.volume
        share = minimum(maximum(tanks / stands - 1.0, 0.0), LARGEST_GROWTH)
    return as_cases(where(inputs["permit.ammonia"] > 0.0, share, 0.0))


def _zones(inputs: Inputs, layout: str, added: Array, side_stream: bool) -> Zones:
    tanks = inputs["secondary.volume"] + added
    none = as_cases(0.0)
    denitrifies = layout != "anaerobic-aerobic"
    extra = EXTRA.get(layout)
    side, liquor = _side_stream(inputs) if side_stream else (none, none)
    volume = tanks + liquor
    main = tanks / volume
    recycle = inputs.coefficient("internal_recycle_limit")
    return Zones(
        layout=layout,
        anaerobic_fraction=inputs["bio.anaerobic_fraction"] * main,
        anoxic_fraction=inputs["bio.anoxic_fraction"] * main if denitrifies else none,
        extra_fraction=inputs[f"bio.{extra}_fraction"] * main if extra else none,
        side_fraction=liquor / volume,
        side_volume=side,
        internal_recycle=recycle if denitrifies else 0.0 * recycle,
        srt=inputs["secondary.srt"] * volume / inputs["secondary.volume"],
        volume=volume,
        added_volume=added,
        phosphorus_content="phosphorus_content_anoxic"
        if denitrifies
        else "phosphorus_content_storing",
    )


def _side_stream(inputs: Inputs) -> tuple[Array, Array]:
    """Volume of the side stream, and of mixed liquor that would hold as much sludge [m3].

    Return sludge is thicker than the liquor by (1 + s)/s.
    """
    returned = inputs["secondary.return_ratio"]
    flow = as_cases(inputs["flow.average"].mean(axis=1, keepdims=True))
    volume = fermentation.side_stream_volume(
        inputs["bio.side_stream_share"], returned, flow, inputs["bio.side_stream_holding"]
    )
    return volume, volume * (1.0 + returned) / returned


def _recycle(inputs: Inputs, zones: Zones) -> Array:
    """Take the best internal recycle of the average month, up to the practical limit."""
    if not zones.anoxic_fraction.any():
        return zones.internal_recycle
    sewage = basis.feed(
        inputs, inputs["primary.capture"], sizing.returned_share(inputs, "ordinary")
    )
    best = basis.best_internal_recycle(inputs, sewage, zones)
    middle = as_cases(best.mean(axis=1, keepdims=True))
    return minimum(middle, zones.internal_recycle)
