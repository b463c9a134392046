"""The plant as it stands, held at its alkalinity reserve: what everything is measured against."""

from __future__ import annotations

from pcompare import basis
from pcompare.arrays import as_cases
from pcompare.records import Design, Inputs, Operation
from pcompare.strategies import plant, sizing, treatment
from pcompare.strategies.sizes import UNLIMITED

NAME = "no_action"
TRAIN = "metal"  # a settled activated-sludge effluent


def design(inputs: Inputs) -> Design:
    """Nothing is built; the base that nitrification alone needs belongs here."""
    return Design(
        strategy=NAME,
        product="",
        design_mean=sizing.design_mean(inputs, TRAIN),
        sizes={"base": as_cases(UNLIMITED)},
        capital=(),
        choices={"layout": inputs.choice("secondary.layout")},
        zones=basis.existing_zones(inputs),
        points=(),
        base=sizing.cheapest_base(inputs),
    )


def operate(inputs: Inputs, chosen: Design) -> Operation:
    """Run the plant without any phosphorus removal beyond what growth takes up."""
    returned = sizing.returned_share(inputs, "ordinary")
    sewage = basis.feed(inputs, inputs["primary.capture"], returned)
    zones = chosen.zones
    state = basis.reactor(inputs, sewage, zones)
    left = treatment.at_dose(sewage, state)
    run = treatment.Treatment(
        capture=inputs["primary.capture"],
        sewage=sewage,
        zones=zones,
        reactor=state,
        product="",
        doses=(),
        soluble_secondary=left,
        soluble=left,
        carbon=0.0 * sewage.flow,
        base=chosen.base,
        base_capacity=chosen.sizes["base"],
        returned=returned,
        biological=False,
        filtered=False,
    )
    return plant.operation(inputs, chosen, run, TRAIN)
