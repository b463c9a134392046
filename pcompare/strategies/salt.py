"""Metal salt into the activated sludge, at one point: dose, design and operation.

The same dosing serves the salt trim behind organisms that store phosphorus.
"""

from __future__ import annotations

from collections.abc import Mapping

from pcompare import basis, lines
from pcompare.arrays import Array, Quantity, as_cases, maximum, minimum, plain, solve_monotone
from pcompare.equations import precipitation
from pcompare.equations import stoichiometry as stoich
from pcompare.records import CapitalItem, Design, Feed, Inputs, Operation, Reactor, Zones
from pcompare.strategies import plant, sizing

NAME = "salt_single_point"
TRAIN = "metal"
PRODUCTS = tuple(lines.PRODUCTS)


def design(inputs: Inputs, baseline: Operation) -> tuple[Design, ...]:
    """Size dosing for each product; which one is carried is decided by cost."""
    return tuple(_design_product(inputs, baseline, product) for product in PRODUCTS)


def operate(inputs: Inputs, chosen: Design) -> Operation:
    """Dose to the design mean, up to the installed capacity."""
    returned = sizing.returned_share(inputs, "metal")
    sewage = basis.feed(inputs, inputs["primary.capture"], returned)
    zones = chosen.zones
    state = basis.reactor(inputs, sewage, zones)
    molar, soluble = dose_to_target(inputs, sewage, zones, state, chosen)
    run = plant.Treatment(
        sewage=sewage,
        zones=zones,
        reactor=state,
        product=chosen.product,
        metal_molar=molar,
        soluble=soluble,
        carbon=0.0 * sewage.flow,
        base_capacity=chosen.sizes["base"],
        returned=returned,
        biological=False,
    )
    return plant.operation(inputs, chosen, run, TRAIN)


def dose_to_target(
    inputs: Inputs, sewage: Feed, zones: Zones, state: Reactor, chosen: Design
) -> tuple[Quantity, Quantity]:
    """Dose that brings total phosphorus to the design mean, and the residual it leaves.

    Returns metal [mmol/L] and soluble reactive phosphorus [mg P/L]. More metal goes below neither
    the floor nor the capacity: the effluent then misses, and a check says by how much.
    """
    present = plant.at_dose(sewage, state)
    floor = minimum(inputs.coefficient("soluble_floor_activated_sludge"), present)
    model, made = _dose_model(inputs), state.solids_mass / zones.srt
    target = solve_monotone(
        _excess, floor, present,
        inputs, sewage, chosen.product, present, made, model, chosen.design_mean,
    )  # fmt: skip
    wanted = precipitation.metal_dose_for_residual(present, target, *model)
    most = stoich.metal_moles(
        stoich.concentration_from_load(chosen.sizes["metal"], sewage.flow),
        plant.metal_of(chosen.product),
    )
    molar = minimum(wanted, most)
    left = precipitation.residual_for_metal_dose(present, molar, *model)
    return molar, minimum(maximum(left, floor), present)


def _dose_model(inputs: Inputs) -> tuple[Quantity, Quantity]:
    """Least metal per phosphorus [mol/mol] and half-effect residual [mg P/L]."""
    c = inputs.coefficient
    least = precipitation.minimum_metal_ratio(c("uptake_capacity"), c("mixing_efficiency"))
    return least, c("half_effect_residual")


def _excess(
    soluble: Quantity,
    inputs: Inputs,
    sewage: Feed,
    product: str,
    present: Quantity,
    made: Quantity,
    model: tuple[Quantity, Quantity],
    target: Array,
) -> Quantity:
    """Total phosphorus above the target when this much stays in solution [mg P/L]."""
    molar = precipitation.metal_dose_for_residual(present, soluble, *model)
    solids = plant.chemical_solids(inputs, product, present - soluble, molar)
    production = made + stoich.mass_load(solids, sewage.flow)
    return plant.effluent_phosphorus(inputs, sewage, soluble, production) - target


def unlimited(inputs: Inputs, strategy: str, product: str, train: str, laid_out: Zones) -> Design:
    """Make a design whose capacities never bind, from which the sizes are read."""
    endless = as_cases(plant.UNLIMITED)
    return Design(
        strategy=strategy,
        product=product,
        design_mean=sizing.design_mean(inputs, train),
        sizes={"metal": endless, "base": endless, "carbon": endless},
        capital=(),
        choices={},
        zones=laid_out,
    )


def _design_product(inputs: Inputs, baseline: Operation, product: str) -> Design:
    free = unlimited(inputs, NAME, product, TRAIN, basis.existing_zones(inputs))
    found = operate(inputs, free).quantities
    sizes = {**feed_sizes(inputs, found), **base_sizes(inputs, found, baseline)}
    return Design(
        strategy=NAME,
        product=product,
        design_mean=free.design_mean,
        sizes=sizes,
        capital=(*feed_capital(sizes), *base_capital(sizes)),
        choices={"product": product, "base": "caustic soda", "dosing point": "activated sludge"},
        zones=free.zones,
    )


def feed_sizes(inputs: Inputs, found: Mapping[str, Quantity]) -> dict[str, Array]:
    """Capacity of metal, feed and storage from the doses at point values."""
    volume = sizing.capacity(inputs, found["product_volume"])
    metal = stoich.mass_load(found["metal_dose"], inputs["flow.average"])
    return {
        "metal": sizing.capacity(inputs, metal),
        "product_volume": volume,
        "storage": volume * plain(inputs["chemical.storage_days"]),
    }


def base_sizes(
    inputs: Inputs, found: Mapping[str, Quantity], baseline: Operation
) -> dict[str, Array]:
    """Capacity of base, and what of it comes on top of no action."""
    volume = sizing.capacity(inputs, found["base_volume"])
    before = sizing.capacity(inputs, baseline.quantities["base_volume"])
    return {
        "base": sizing.capacity(inputs, found["base_use"]),
        "base_volume": volume,
        "base_volume_more": maximum(volume - before, 0.0),
    }


def feed_capital(sizes: Mapping[str, Array]) -> tuple[CapitalItem, ...]:
    """Feed system and storage of a metal salt."""
    return (
        CapitalItem(
            key="feed",
            label="Salt feed system",
            price="capital.feed_system",
            size=sizes["product_volume"],
            unit="m3 product/d",
            kind="equipment",
        ),
        CapitalItem(
            key="storage",
            label="Salt storage and containment",
            price="capital.storage",
            size=sizes["storage"],
            unit="m3",
            kind="structure",
        ),
    )


def base_capital(sizes: Mapping[str, Array]) -> tuple[CapitalItem, ...]:
    """List base feed, where more of it is needed than without action."""
    return (
        CapitalItem(
            key="base",
            label="Caustic feed and storage",
            price="capital.base_system",
            size=sizes["base_volume_more"],
            unit="m3 product/d",
            kind="equipment",
        ),
    )
