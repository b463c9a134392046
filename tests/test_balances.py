"""Phosphorus, COD, nitrogen, charge and money close for any valid plant.

The answer is known without the code: what goes in comes out.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from pcompare import designing, lines
from pcompare.arrays import as_cases
from pcompare.costs import capital
from pcompare.equations.alkalinity import alkalinity_of_strong_ions
from pcompare.equations.stoichiometry import mass_load
from pcompare.records import Candidate, Inputs
from pcompare.strategies import treatment

from .plants import LAYOUTS, example, plants

TOLERANCE = 1e-9
MAY_BE_NULL = (
    "metal_to_p_removed", "cost_per_kg_p", "anoxic_phosphate", "ph_filter", "solids_for_target",
    "freezing_margin",
)  # fmt: skip


def everything(inputs: Inputs) -> list[Candidate]:
    found = designing.point(inputs)
    return [c for candidates in found.values() for c in candidates]


def close(left: object, right: object, scale: object) -> None:
    difference = np.abs(np.asarray(left) - np.asarray(right))
    assert (difference <= TOLERANCE * np.maximum(np.abs(np.asarray(scale)), 1.0)).all(), difference


def phosphorus_in_is_phosphorus_out(inputs: Inputs, found: list[Candidate]) -> None:
    for c in found:
        q, flow = c.monthly, inputs["flow.average"]
        raw = mass_load(inputs["influent.tp"], flow)
        effluent = mass_load(q["effluent_tp"], flow)
        arriving = inputs["secondary.effluent_tss"]
        wasted = q["solids_phosphorus"] * (q["solids_production"] - mass_load(arriving, flow))
        on_filter = 0.0
        if "filter" in c.design.points:
            came = q["solids_phosphorus"] * arriving + q["precipitated_filter"]
            on_filter = mass_load(came - q["effluent_particulate_p"], flow)
        leaves = effluent + wasted + on_filter + q["primary_phosphorus"] + q["stripped_p"]
        close(raw + q["returned_phosphorus"], leaves, raw)


def returned_phosphorus_is_what_sludge_treatment_lets_go(
    inputs: Inputs, found: list[Candidate]
) -> None:
    """What the organisms stored comes back by its share, less what leaves as struvite."""
    c = inputs.coefficient
    if inputs.choice("solids.digestion") != "anaerobic":
        return
    for candidate in found:
        if not candidate.strategy.startswith("bio"):
            continue
        q = candidate.monthly
        grown, stored = q["ordinary_phosphorus"], q["stored_phosphorus"]
        back = grown * c("return_phosphorus_ordinary") + stored * c("return_phosphorus_stored")
        came = q["returned_phosphorus"] + q["recovered_p"]
        np.testing.assert_allclose(mass_load(back, inputs["flow.average"]), came, rtol=1e-9)


def cod_and_nitrogen_close_in_the_reactor(inputs: Inputs, found: list[Candidate]) -> None:
    for c in found:
        q, flow = c.monthly, inputs["flow.average"]
        cod_in = q["feed_cod"] + q["bought_cod"]
        in_sludge = inputs.coefficient("cod_per_vss") * q["volatile_production"]
        close(cod_in, q["oxygen_carbon"] + in_sludge + mass_load(q["soluble_inert"], flow), cod_in)
        nitrogen_in = q["feed_nitrogen"] + inputs["influent.nitrate"]
        nitrogen_out = (
            q["nitrogen_assimilated"]
            + q["organic_nitrogen"]
            + q["effluent_ammonia"]
            + q["effluent_nitrate"]
            + q["denitrified"]
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
        found = capital.assets(inputs, c.design)
        direct = sum((*found.now.values(), *found.later.values()))
        if not found.later:
            whole = sum(capital.direct_cost(inputs, item) for item in c.design.capital)
            close(whole, direct, direct)
        shares = inputs["finance.contingency"], inputs["finance.engineering"]
        soft = 1.0 + sum(shares)
        if inputs.choice("finance.soft_costs") == "cost with contingency":
            soft = (1.0 + shares[0]) * (1.0 + shares[1])
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
    returned_phosphorus_is_what_sludge_treatment_lets_go,
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
    found = [*designing.point_of(inputs, "salt_single_point"),
             *designing.point_of(inputs, "salt_tertiary")]  # fmt: skip
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


@pytest.mark.parametrize("layout", LAYOUTS)
def test_balances_close_in_every_layout_and_month(layout: str) -> None:
    """Twelve months of their own, every source of carbon, and struvite from the liquor."""
    swing = np.cos(np.arange(12.0) / 6.0 * np.pi)
    inputs = example(
        bio__layout=layout,
        bio__carbon_products="acetic_acid, sodium_acetate, glycerol, molasses",
        recovery__product="struvite",
        influent__temperature_average=[17.0 + 5.0 * swing],
        flow__average=[20000.0 * (1.0 + 0.2 * swing)],
        influent__vfa=[33.0 + 12.0 * swing],
        influent__cod=[495.0 - 60.0 * swing],
        permit__months="4, 5, 6, 7, 8, 9, 10",
    )
    found = everything(inputs)
    assert all(c.monthly["effluent_tp"].shape == (1, 12) for c in found)
    for check in CHECKS:
        check(inputs, found)


def test_outside_the_season_nothing_is_dosed_or_bought() -> None:
    found = everything(example(permit__months="6, 7, 8"))
    season = np.isin(np.arange(12), (5, 6, 7))
    for c in found:
        for quantity in ("metal_dose", "lime_dose", "carbon_dose"):
            used = c.monthly.get(quantity)
            if used is not None and c.reduced[quantity] > 0.0:
                assert (used[0, ~season] == 0.0).all() and (used[0, season] > 0.0).all()
