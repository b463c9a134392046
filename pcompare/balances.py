"""Balances that must close for every strategy, as two sides of one number.

What goes in comes out: the answer is known without the calculation. On recording numbers both
sides become formulas of the calculation book.
"""

from __future__ import annotations

from collections.abc import Iterator

from pcompare import lines
from pcompare.arrays import Quantity, absolute, mean, weighted_mean
from pcompare.equations.alkalinity import alkalinity_of_strong_ions
from pcompare.equations.stoichiometry import mass_load
from pcompare.findings import Balance, CashYear
from pcompare.records import Candidate, Inputs
from pcompare.strategies.treatment import FILTER

IONS = (
    "chloride_added", "sulfate_added", "sodium_added", "calcium_added", "magnesium_added",
    "potassium_change", "bicarbonate_change", "other_ions_change",
)  # fmt: skip
ALKALINITY = (
    "alkalinity_influent", "alkalinity_ammonification", "alkalinity_nitrification",
    "alkalinity_denitrification", "alkalinity_metal", "alkalinity_lime", "alkalinity_phosphorus",
    "alkalinity_carbon",
)  # fmt: skip


def balances(inputs: Inputs, candidate: Candidate, cash: tuple[CashYear, ...]) -> Iterator[Balance]:
    """Give every balance of one strategy, months reduced."""
    q, flow = candidate.monthly, inputs["flow.average"]

    def closed(label: str, left: Quantity, right: Quantity, scale: Quantity, unit: str) -> Balance:
        return Balance(
            strategy=candidate.strategy, label=label, left=left, right=right, scale=scale, unit=unit
        )

    came, went = _phosphorus(inputs, candidate)
    yield closed("Phosphorus in and out of the plant", mean(came), mean(went), mean(came), "kg/d")
    before, after = _charge(inputs, candidate)
    yield closed(
        "Alkalinity less strong ions, influent and effluent",
        weighted_mean(before, flow),
        weighted_mean(after, flow),
        weighted_mean(inputs["influent.alkalinity"] + 0.0 * after, flow),
        "mg CaCO3/L",
    )
    terms = [weighted_mean(q[name], flow) for name in ALKALINITY]
    yield closed(
        "Alkalinity terms and alkalinity before base",
        sum(terms[1:], terms[0]),
        candidate.reduced["alkalinity_before_base"],
        sum((absolute(t) for t in terms[1:]), absolute(terms[0])),
        "mg CaCO3/L",
    )
    parts = [candidate.reduced[name] for name in IONS]
    yield closed(
        "Ions and dissolved solids, change",
        sum(parts[1:], parts[0]),
        candidate.reduced["tds_increase_ion_sum"],
        sum((absolute(p) for p in parts[1:]), absolute(parts[0])),
        "mg/L",
    )
    items = [candidate.reduced[name] for name in lines.COST_ITEMS]
    yield closed(
        "Cost items and annual cost",
        sum(items[1:], items[0]),
        candidate.reduced["annual_cost"],
        sum((absolute(i) for i in items[1:]), absolute(items[0])),
        "money/y",
    )
    yield closed(
        "Money year by year and present worth",
        sum((row.worth for row in cash[1:]), cash[0].worth),
        candidate.reduced["present_worth"],
        sum((absolute(row.worth) for row in cash[1:]), absolute(cash[0].worth)),
        "money",
    )


def _phosphorus(inputs: Inputs, candidate: Candidate) -> tuple[Quantity, Quantity]:
    """Give phosphorus that enters the plant, returns included, and that leaves it [kg/d]."""
    q, flow = candidate.monthly, inputs["flow.average"]
    arriving = inputs["secondary.effluent_tss"]
    wasted = q["solids_phosphorus"] * (q["solids_production"] - mass_load(arriving, flow))
    left = mass_load(q["effluent_tp"], flow) + wasted + q["primary_phosphorus"] + q["stripped_p"]
    if FILTER in candidate.design.points:
        came = q["solids_phosphorus"] * arriving + q["precipitated_filter"]
        left = left + mass_load(came - q["effluent_particulate_p"], flow)
    return mass_load(inputs["influent.tp"], flow) + q["returned_phosphorus"], left


def _charge(inputs: Inputs, candidate: Candidate) -> tuple[Quantity, Quantity]:
    """Give alkalinity less the strong ions, before and after [mg CaCO3/L]."""
    q = candidate.monthly
    before = inputs["influent.alkalinity"] - alkalinity_of_strong_ions(
        inputs["influent.sodium"],
        inputs["influent.potassium"],
        inputs["influent.calcium"],
        inputs["influent.magnesium"],
        inputs["influent.ammonia"],
        inputs["influent.chloride"],
        inputs["influent.sulfate"],
        inputs["influent.nitrate"],
        inputs["influent.orthophosphate"],
    )
    after = q["alkalinity_residual"] - alkalinity_of_strong_ions(
        q["effluent_sodium"],
        q["effluent_potassium"],
        q["effluent_calcium"],
        q["effluent_magnesium"],
        q["effluent_ammonia"],
        q["effluent_chloride"],
        q["effluent_sulfate"],
        q["effluent_nitrate"],
        q["effluent_soluble_p"] - inputs["influent.nonreactive_p"],
    )
    return before, after
