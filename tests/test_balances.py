"""Phosphorus, COD, nitrogen, charge and money close for any valid plant.

The answer is known without the code: what goes in comes out.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from pcompare import basis, evaluation, lines
from pcompare.arrays import as_cases
from pcompare.costs import capital
from pcompare.equations.alkalinity import alkalinity_of_strong_ions
from pcompare.equations.stoichiometry import mass_load
from pcompare.records import Candidate, Feed, Inputs
from pcompare.strategies import fermenter, treatment

from .plants import example, plants

TOLERANCE = 1e-9
MAY_BE_NULL = (
    "metal_to_p_removed", "cost_per_kg_p", "ph_filter", "solids_for_target", "freezing_margin",
)  # fmt: skip


def fed(inputs: Inputs, candidate: Candidate) -> Feed:
    """What enters the reactor, from what the candidate says of its primary tanks."""
    q = candidate.monthly
    sewage = basis.feed(
        inputs,
        q["primary_capture"],
        q["returned_share"],
        q["precipitated_primary"],
        q["salt_solids_primary"],
    )
    if candidate.strategy == "bio_fermented_carbon":
        return fermenter.ferment(inputs, sewage, q["returned_share"]).sewage
    return sewage


def everything(inputs: Inputs) -> list[Candidate]:
    found = evaluation.point(inputs)
    return [c for candidates in found.values() for c in candidates]


def close(left: object, right: object, scale: object) -> None:
    difference = np.abs(np.asarray(left) - np.asarray(right))
    assert (difference <= TOLERANCE * np.maximum(np.abs(np.asarray(scale)), 1.0)).all(), difference


def phosphorus_in_is_phosphorus_out(inputs: Inputs, found: list[Candidate]) -> None:
    for c in found:
        q, flow = c.monthly, inputs["flow.average"]
        sewage = fed(inputs, c)
        raw = mass_load(inputs["influent.tp"], flow)
        effluent = mass_load(q["effluent_tp"], flow)
        arriving = inputs["secondary.effluent_tss"]
        wasted = q["solids_phosphorus"] * (q["solids_production"] - mass_load(arriving, flow))
        on_filter = 0.0
        if "filter" in c.design.points:
            came = q["solids_phosphorus"] * arriving + q["precipitated_filter"]
            on_filter = mass_load(came - q["effluent_particulate_p"], flow)
        close(
            raw + sewage.returned_phosphorus,
            effluent + wasted + on_filter + sewage.primary_phosphorus,
            raw,
        )


def cod_and_nitrogen_close_in_the_reactor(inputs: Inputs, found: list[Candidate]) -> None:
    for c in found:
        zones, flow = c.design.zones, inputs["flow.average"]
        sewage = fed(inputs, c)
        state = basis.reactor(inputs, sewage, zones)
        bought = c.monthly["carbon_dose"] * inputs.coefficient("acetic_acid_usable")
        state = basis.with_carbon(inputs, sewage, zones, state, bought)
        cod_in = mass_load(sewage.cod, flow) + bought
        in_sludge = inputs.coefficient("cod_per_vss") * state.volatile_mass / zones.srt
        out = state.oxygen_carbon + in_sludge + mass_load(sewage.soluble_inert, flow)
        close(cod_in, out, cod_in)
        nitrogen_in = sewage.nitrogen + inputs["influent.nitrate"]
        nitrogen_out = (
            state.nitrogen_assimilated
            + state.organic_nitrogen
            + state.ammonia
            + state.nitrate
            + state.denitrified
        )
        close(nitrogen_in, nitrogen_out, nitrogen_in)


def charge_closes_for_every_strategy(inputs: Inputs, found: list[Candidate]) -> None:
    """Alkalinity less the strong ions is the same in influent and effluent."""
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
    for c in found:
        q = c.monthly
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
        close(before, after, 100.0)


def dissolved_solids_are_the_sum_of_the_ions(inputs: Inputs, found: list[Candidate]) -> None:
    parts = [
        "chloride_added", "sulfate_added", "sodium_added", "calcium_added", "magnesium_added",
        "potassium_change", "bicarbonate_change", "other_ions_change",
    ]  # fmt: skip
    for c in found:
        close(sum(c.monthly[p] for p in parts), c.monthly["tds_increase_ion_sum"], 1000.0)


def money_adds_up(inputs: Inputs, found: list[Candidate]) -> None:
    for c in found:
        items = sum(c.reduced[name] for name in lines.COST_ITEMS)
        close(items, c.reduced["annual_cost"], items)
        direct = sum(capital.direct_cost(inputs, item) for item in c.design.capital)
        soft = (1.0 + inputs["finance.contingency"]) * (1.0 + inputs["finance.engineering"])
        close(direct * soft, c.reduced["capital"], direct)


def no_number_is_missing_or_absurd(inputs: Inputs, found: list[Candidate]) -> None:
    """PH lies between 5 and 11, masses are not negative, and only what cannot exist is nan."""
    for c in found:
        for quantity, value in c.reduced.items():
            if quantity in MAY_BE_NULL:
                continue
            assert np.isfinite(as_cases(value)).all(), (c.strategy, quantity, value)
        assert (c.monthly["ph"] > 5.0).all() and (c.monthly["ph"] < 11.0).all()
        for mass in ("metal_dose", "base_dose", "carbon_dose", "chemical_sludge", "sludge_total",
                     "effluent_soluble_p", "effluent_particulate_p"):  # fmt: skip
            assert (c.monthly[mass] >= -1e-12).all(), (c.strategy, mass)


CHECKS = (
    phosphorus_in_is_phosphorus_out,
    cod_and_nitrogen_close_in_the_reactor,
    charge_closes_for_every_strategy,
    dissolved_solids_are_the_sum_of_the_ions,
    money_adds_up,
    no_number_is_missing_or_absurd,
)


@settings(max_examples=50)
@given(plants())
def test_balances_close(inputs: Inputs) -> None:
    """Every check on one evaluation of a random plant: the evaluation is what takes the time."""
    found = everything(inputs)
    for check in CHECKS:
        check(inputs, found)


@pytest.mark.parametrize(
    "product", sorted(p for p, k in treatment.products().items() if k != "lime")
)
def test_charge_and_phosphorus_close_for_every_salt(product: str) -> None:
    inputs = example(chemical__products=product, influent__alkalinity=180.0)
    found = [*evaluation.point_of(inputs, "salt_single_point"),
             *evaluation.point_of(inputs, "salt_tertiary")]  # fmt: skip
    phosphorus_in_is_phosphorus_out(inputs, found)
    charge_closes_for_every_strategy(inputs, found)


@pytest.mark.parametrize("base", ["hydrated_lime", "quicklime", "magnesium_hydroxide", "soda_ash"])
def test_charge_closes_with_every_base(base: str) -> None:
    inputs = example(chemical__base=base, influent__alkalinity=120.0)
    charge_closes_for_every_strategy(inputs, everything(inputs))


@pytest.mark.parametrize("months", [1, 12])
def test_months_do_not_change_a_steady_year(months: int) -> None:
    """Twelve equal months are one year."""
    inputs = example(influent__temperature_average=[16.0] * months)
    one = everything(example(influent__temperature_average=16.0))
    for a, b in zip(everything(inputs), one, strict=True):
        for quantity in a.reduced:
            np.testing.assert_allclose(
                a.reduced[quantity], b.reduced[quantity], rtol=1e-9, atol=1e-12, err_msg=quantity
            )


def test_phosphorus_of_the_fermenter_comes_back_with_the_same_share():
    """Each mg that the acids bring returns as any other: entering = new / (1 - share)."""
    inputs = example()
    (found,) = evaluation.point(inputs)["bio_fermented_carbon"]
    sewage = fed(inputs, found)
    share = found.monthly["returned_share"]
    entering = mass_load(sewage.phosphorus, inputs["flow.average"])
    np.testing.assert_allclose(sewage.returned_phosphorus, share * entering, rtol=1e-12)
