"""The plant as it stands, held at its alkalinity reserve: what everything is measured against."""

from __future__ import annotations

from pcompare import basis
from pcompare.arrays import as_cases
from pcompare.records import Design, Inputs, Operation
from pcompare.strategies import plant, sizing

NAME = "no_action"
TRAIN = "metal"  # a settled activated-sludge effluent


def design(inputs: Inputs, baseline: Operation | None = None) -> tuple[Design, ...]:
    """Nothing is built; the base that nitrification alone needs belongs here."""
    return (
        Design(
            strategy=NAME,
            product="",
            design_mean=sizing.design_mean(inputs, TRAIN),
            sizes={"base": as_cases(plant.UNLIMITED)},
            capital=(),
            choices={"layout": inputs.choice("secondary.layout")},
            zones=basis.existing_zones(inputs),
        ),
    )


def operate(inputs: Inputs, chosen: Design) -> Operation:
    """Run the plant without any phosphorus removal beyond what growth takes up."""
    returned = sizing.returned_share(inputs, "ordinary")
    sewage = basis.feed(inputs, inputs["primary.capture"], returned)
    zones = chosen.zones
    state = basis.reactor(inputs, sewage, zones)
    run = plant.Treatment(
        sewage=sewage,
        zones=zones,
        reactor=state,
        product="",
        metal_molar=0.0 * sewage.flow,
        soluble=plant.at_dose(sewage, state),
        carbon=0.0 * sewage.flow,
        base_capacity=chosen.sizes["base"],
        returned=returned,
        biological=False,
    )
    return plant.operation(inputs, chosen, run, TRAIN)
