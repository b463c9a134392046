"""What added salt costs downstream: damage to users, or membranes that take it back out.

Two answers to one question: they bracket the worth of a kilogram and are never added together.
"""

from __future__ import annotations

from collections.abc import Mapping

from pcompare import units
from pcompare.arrays import Quantity, maximum, mean, minimum
from pcompare.equations import desalination
from pcompare.equations.stoichiometry import mass_load
from pcompare.records import Inputs


def yearly_costs(
    inputs: Inputs, effluent: Mapping[str, Quantity], before: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    """Salt beyond no action [t/y], its damage and its removal [money/y], months reduced.

    Parameters
    ----------
    inputs : Inputs
    effluent, before : mapping of str to quantity
        Effluent as it counts downstream, of the strategy and of no action.

    Returns
    -------
    dict
    """
    flow, solids = inputs["flow.average"], effluent["tds"]
    added = solids - before["tds"]
    salt = mean(mass_load(added, flow)) * units.DAYS_PER_YEAR  # kg/y
    kept = minimum(before["tds"] / maximum(solids, before["tds"]), 1.0)
    recovery = inputs["reuse.desalination_recovery"]
    treated = desalination.side_stream_fraction(
        kept, recovery, inputs["reuse.desalination_rejection"]
    )
    permeate = mean(treated * recovery * flow) * units.DAYS_PER_YEAR  # m3/y
    return {
        "salt": salt / units.KILOGRAMS_PER_TONNE,
        "damage": salt * inputs["reuse.damage_cost"],
        "removal_low": permeate * inputs["reuse.desalination_cost_low"],
        "removal_high": permeate * inputs["reuse.desalination_cost_high"],
        "treated_fraction": mean(treated),
        "water_lost": mean(desalination.brine_fraction(treated, recovery)),
    }


def chosen_cost(
    inputs: Inputs, effluent: Mapping[str, Quantity], before: Mapping[str, Quantity]
) -> Quantity:
    """Give the one that the user counts in the annual cost [money/y]: removal at its middle."""
    found = yearly_costs(inputs, effluent, before)
    if inputs.choice("reuse.salt_cost") == "damage":
        return found["damage"]
    return 0.5 * (found["removal_low"] + found["removal_high"])
