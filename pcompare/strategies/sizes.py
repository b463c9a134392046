"""Capacities and what is built for them, read off a run whose capacities do not bind."""

from __future__ import annotations

from collections.abc import Mapping

from pcompare.arrays import Array, Quantity, as_cases, maximum, plain, ratio
from pcompare.equations import stoichiometry as stoich
from pcompare.records import (
    CapitalItem,
    Design,
    Inputs,
    Operation,
    Variant,
    Zones,
)
from pcompare.strategies import sizing
from pcompare.strategies.treatment import DOSE_LINES, FILTER, PRIMARY, SLUDGE

UNLIMITED = 1e12  # kg/d: a capacity that never binds
METAL = {PRIMARY: "metal_primary", SLUDGE: "metal_sludge", FILTER: "metal_filter"}


def unlimited(
    inputs: Inputs,
    strategy: str,
    variant: Variant,
    train: str,
    laid_out: Zones,
    decisions: Mapping[str, Array],
) -> Design:
    """Make a design whose capacities never bind, from which the sizes are read."""
    endless = as_cases(UNLIMITED)
    area = {"filter_area": sizing.filter_area(inputs)} if FILTER in variant.points else {}
    return Design(
        strategy=strategy,
        product=variant.product,
        design_mean=sizing.design_mean(inputs, train),
        sizes={
            **dict.fromkeys((*METAL.values(), "base", "carbon"), endless),
            **area,
            **decisions,
        },
        capital=(),
        choices={},
        zones=laid_out,
        points=variant.points,
        base=sizing.cheapest_base(inputs),
        carbon=variant.carbon,
        source=variant.source,
    )


def feed(
    inputs: Inputs,
    found: Mapping[str, Quantity],
    points: tuple[str, ...],
    standby: Mapping[str, Array] | None = None,
) -> dict[str, Array]:
    """Capacity of metal at each point, of feed and of storage.

    ``standby`` is what the bad month takes at each point over the average one.
    """
    flow = inputs["flow.average"]
    average = {
        point: sizing.capacity(inputs, stoich.mass_load(found[DOSE_LINES[point]], flow))
        for point in points
    }
    metal = {p: size * (standby[p] if standby else 1.0) for p, size in average.items()}
    volume = sizing.capacity(inputs, found["product_volume"]) * ratio(
        sum(metal.values()), sum(average.values()), 1.0
    )
    return {
        **{METAL[point]: size for point, size in metal.items()},
        "product_volume": volume,
        "storage": volume * plain(inputs["chemical.storage_days"]),
    }


def base(inputs: Inputs, found: Mapping[str, Quantity], baseline: Operation) -> dict[str, Array]:
    """Capacity of base, and what of it comes on top of no action."""
    volume = sizing.capacity(inputs, found["base_volume"])
    before = sizing.capacity(inputs, baseline.quantities["base_volume"])
    return {
        "base": sizing.capacity(inputs, found["base_use"]),
        "base_volume": volume,
        "base_volume_more": maximum(volume - before, 0.0),
    }


def _item(key: str, label: str, size: Array, unit: str, kind: str) -> CapitalItem:
    return CapitalItem(
        key=key, label=label, price=f"capital.{key}", size=size, unit=unit, kind=kind
    )


def salt_items(sizes: Mapping[str, Array], points: tuple[str, ...]) -> tuple[CapitalItem, ...]:
    """Feed system and storage of a metal salt, and the filter where there is one."""
    volume = sizes["product_volume"]
    items: tuple[CapitalItem, ...] = (
        _item("feed_system", "Salt feed system", volume, "m3 product/d", "equipment"),
        _item("storage", "Salt storage and containment", sizes["storage"], "m3", "structure"),
    )
    more = len(points) - 1
    if more > 0:
        # Each further dosing point takes pumps, piping and controls of its own.
        size = volume / len(points) * more
        items += (
            _item("dosing_point", "Further dosing points", size, "m3 product/d", "equipment"),
        )
    if FILTER in points:
        items += (_item("filter", "Filter", sizes["filter_area"], "m2", "structure"),)
    return items


def lime_items(sizes: Mapping[str, Array]) -> tuple[CapitalItem, ...]:
    """Lime feed with slurry tanks, and the store."""
    return (
        _item(
            "lime_system",
            "Lime slurry and feed system",
            sizes["product_volume"],
            "m3 product/d",
            "equipment",
        ),
        _item("storage", "Lime store", sizes["storage"], "m3", "structure"),
    )


# What a base is fed from: a liquid, a stirred slurry, slaked or wetted lime, a dry powder.
BASE_SYSTEMS = {
    "caustic": "base_system",
    "magnesium_hydroxide": "slurry_base_system",
    "hydrated_lime": "lime_base_system",
    "quicklime": "lime_base_system",
    "soda_ash": "dry_base_system",
    "sodium_bicarbonate": "dry_base_system",
}


def base_items(sizes: Mapping[str, Array], base: str) -> tuple[CapitalItem, ...]:
    """List feed and store of the base, where more of it is needed than without action."""
    return (
        CapitalItem(
            key="base_system",
            label="Base feed and storage",
            price=f"capital.{BASE_SYSTEMS[base]}",
            size=sizes["base_volume_more"],
            unit="m3 product/d",
            kind="equipment",
        ),
    )


def zone_items(sizes: Mapping[str, Array]) -> tuple[CapitalItem, ...]:
    """List what makes and feeds the unaerated zones."""
    return (
        _item(
            "zone_conversion",
            "Baffles, mixers and controls of the zones",
            sizes["zone_volume"],
            "m3",
            "equipment",
        ),
        _item("new_tank", "New tank volume", sizes["added_volume"], "m3", "structure"),
        _item(
            "recycle_pumps", "Internal recycle pumps", sizes["recycle_flow"], "m3/d", "equipment"
        ),
    )


def fermenter_item(sizes: Mapping[str, Array]) -> CapitalItem:
    """Fermenter for primary sludge with its elutriation."""
    return _item("fermenter", "Primary sludge fermenter", sizes["fermenter"], "m3", "structure")


def side_stream_item(sizes: Mapping[str, Array]) -> CapitalItem:
    """Tank in which part of the return sludge is fermented."""
    return _item(
        "side_stream", "Return sludge side stream", sizes["side_stream"], "m3", "structure"
    )


def stripper_items(sizes: Mapping[str, Array]) -> tuple[CapitalItem, ...]:
    """Tank in which return sludge lets phosphate go, and lime on its overflow."""
    return (
        _item("stripper", "Stripper tank", sizes["stripper"], "m3", "structure"),
        *lime_items(sizes),
    )


def recovery_item(sizes: Mapping[str, Array]) -> CapitalItem:
    """Struvite reactor with its feeds and product store."""
    return _item("recovery", "Struvite reactor", sizes["recovery"], "kg/d", "equipment")


def carbon_item(sizes: Mapping[str, Array]) -> CapitalItem:
    """Feed and storage of bought carbon."""
    return _item(
        "carbon_system",
        "Carbon feed and storage",
        sizes["carbon_volume"],
        "m3 product/d",
        "equipment",
    )
