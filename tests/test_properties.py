"""What must hold for any plant, whatever its form says: no formula is needed to know it.

Each random form is read as a user's file is and taken through the whole path. Changes whose sense
an engineer can foresee lie beside each other on the cases axis, every design made anew for each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pcompare import comparison, designing, evaluation, lines
from pcompare.arrays import Array, as_cases
from pcompare.balances import balances
from pcompare.costs import capital, cash_years
from pcompare.inputs import schema
from pcompare.records import Candidate, Inputs
from pcompare.strategies import STRATEGIES, lime, stripping
from pcompare.strategies.biological import EXISTING, PURCHASED, TRIM
from pcompare.strategies.salt import SINGLE
from pcompare.strategies.treatment import FILTER

from .random_forms import Form, forms
from .test_balances import CHECKS

# A form holds hundreds of values: a shorter one is not worth minutes of search, defaults are many.
MANY = settings(
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.large_base_example],
)
Found = Mapping[str, Sequence[Candidate]]
CLOSED = 1e-9
EQUAL = 1e-7  # to which a discount rate and a rise that all but meet are taken as equal
LOOP = 1e-5  # to which ten passes bring the loop of returns
# Lines that may be negative: differences against no action, and terms with a sign.
SIGNED = (
    "_increase", "_change", "_added", "alkalinity_", "cost_", "worth_", "greenhouse_", "annual_",
    "present_worth", "household_month", "freezing_margin", "digester_gain", "unmeasured_ions",
    "lorries",
)  # fmt: skip
NEVER_BELOW_ZERO = (
    "cost_salt", "cost_carbon", "cost_maintenance", "cost_labour", "worth_construction",
    "worth_replacement",
)  # fmt: skip


def every(found: Found) -> list[Candidate]:
    return [c for candidates in found.values() for c in candidates]


def told(c: Candidate) -> str:
    parts = (c.strategy, c.design.product, c.design.carbon, c.design.source, *c.design.points)
    return " ".join(filter(None, parts))


# --- one plant --------------------------------------------------------------------------------


@settings(MANY, max_examples=25)
@given(forms())
def test_one_plant_is_whole(form: Form) -> None:
    inputs = form.inputs
    found = designing.point(inputs)
    for check in CHECKS:
        check(inputs, every(found))
    for c in every(found):
        everything_closes(inputs, c)
        every_line_is_a_number_or_says_why(inputs, c)
        nothing_is_negative(c)
    the_order_of_the_list_does_not_matter(inputs, found)


def everything_closes(inputs: Inputs, c: Candidate) -> None:
    items = {name: c.reduced[name] for name in lines.COST_ITEMS}
    cash = cash_years.discounted(inputs, capital.assets(inputs, c.design), items)
    for b in balances(inputs, c, cash):
        missed = np.abs(as_cases(b.left) - as_cases(b.right))
        room = EQUAL if b.unit == "money" else CLOSED
        assert (missed <= room * np.maximum(as_cases(b.scale), 1.0)).all(), (told(c), b.label)


def every_line_is_a_number_or_says_why(inputs: Inputs, c: Candidate) -> None:
    limed = c.strategy in (lime.NAME, stripping.NAME)
    storing = c.kind in ("biological", "combined") and not limed
    missing = {
        "metal_to_p_removed": (as_cases(c.reduced["metal_dose"]) == 0.0).all(),
        "lime_dose": not limed,
        "recarbonation": c.strategy != lime.NAME,
        "ph_filter": FILTER not in c.design.points,
        "solids_for_target": False,  # sludge always holds phosphorus
        "anoxic_phosphate": not storing or inputs.choice("bio.layout") == "anaerobic-aerobic",
        **{name: not storing for name in ("vfa_required", "vfa_available", "reactor_phosphorus")},
    }
    for name, line in comparison.lines_of(c.strategy, c).items():
        if line.value is None:
            assert line.reason != "not defined for this strategy", (told(c), name)
            assert missing.get(name, True), (told(c), name, line.reason)
        else:
            assert np.isfinite([line.value, *line.months]).all(), (told(c), name)
            assert not missing.get(name, False), (told(c), name, line.value)


def nothing_is_negative(c: Candidate) -> None:
    for name, value in c.reduced.items():
        signed = any(part in name for part in SIGNED) and name not in NEVER_BELOW_ZERO
        assert signed or not (as_cases(value) < -1e-9).any(), (told(c), name, value)
    assert (as_cases(c.reduced["worth_salvage"]) <= 0.0).all(), told(c)


def the_order_of_the_list_does_not_matter(inputs: Inputs, found: Found) -> None:
    """The strategies listed backwards: the same results, the same ranking, the same words."""
    kept = designing.STRATEGIES
    try:
        designing.STRATEGIES = STRATEGIES[::-1]
        again = designing.point(inputs)
    finally:
        designing.STRATEGIES = kept
    assert list(again)[1:] == list(found)[:0:-1]
    results = []
    for run in (found, again):
        basis = evaluation.basis_lines(inputs, run["no_action"][0])
        results.append(comparison.compare(run, basis, 0.1))
    forward, backward = results
    assert forward.ranking == backward.ranking
    assert forward.reference == backward.reference
    assert forward.nearest == backward.nearest
    assert forward.notes == backward.notes
    for name, result in forward.strategies.items():
        other = backward.strategies[name]
        assert result.label == other.label
        for quantity, line in result.lines.items():
            assert line.value == other.lines[quantity].value, line.key


# --- plants side by side ----------------------------------------------------------------------


def stacked(plants: Sequence[Mapping[str, Any]], inputs: Inputs) -> Inputs:
    """Put plants on the cases axis; a field that is the same in all keeps its one case."""
    values = {}
    for name in inputs.values:
        rows = [as_cases(plant[name]) for plant in plants]
        same = all(row.shape == rows[0].shape and (row == rows[0]).all() for row in rows)
        months = max(row.shape[1] for row in rows)
        wide = [np.broadcast_to(row, (1, months)) for row in rows]
        values[name] = rows[0] if same else np.vstack(wide)
    return replace(inputs, values=values)


def column(c: Candidate, quantity: str, count: int) -> Array:
    """Give one reduced quantity of every case."""
    return np.broadcast_to(as_cases(c.reduced[quantity]), (count, 1))[:, 0]


SHARED = (
    "permit.ammonia", "permit.total_nitrogen", "flow.growth", "flow.phase_year",
    "flow.design_year", "finance.period",
)  # fmt: skip


@settings(MANY, max_examples=10)
@given(forms(), st.lists(forms(), min_size=2, max_size=2))
def test_plants_side_by_side_are_each_plant_alone(first: Form, others: list[Form]) -> None:
    """What is chosen by name, and whether a limit or a phase is set, is one for all cases."""
    shared = {
        name: first.inputs[name]
        for name in first.inputs.values
        if name in SHARED or name.startswith("prices.")
    }
    rows = [{**form.inputs.values, **shared} for form in (first, *others)]
    together = designing.point(stacked(rows, first.inputs))
    for place, row in enumerate(rows):
        alone = designing.point(replace(first.inputs, values=row))
        for a, b in zip(every(alone), every(together), strict=True):
            for quantity, value in a.reduced.items():
                np.testing.assert_allclose(
                    column(b, quantity, len(rows))[place], as_cases(value)[0, 0],
                    rtol=1e-7, atol=1e-7, err_msg=f"{told(a)}: {quantity}",
                )  # fmt: skip


# --- one plant, moved -------------------------------------------------------------------------

AS_IT_IS, STRICTER, STRICTEST, SURER = "as it is", "stricter", "strictest", "surer"
DEARER_SALT, DEARER_CARBON, HIGHER_RATE = "dearer salt", "dearer carbon", "higher rate"
MORE_ALKALINITY, MORE_ACIDS, MORE_PHOSPHORUS = "more alkalinity", "more acids", "more phosphorus"
COLDER, CLEARER, OTHER_MONEY, LARGER = "colder", "clearer effluent", "other money", "larger"
TRIPLE, DOUBLE = 3.0, 2.0
# What grows with a plant; capital grows along where its reference cost and size do.
SIZES = ("m3/d", "m3", "m2", "kg/d", "h/d", "m3 product/d")
GROWS = ("plant.households", "haul.load")
LOADS = ("kg/d", "kg TSS/d", "kg COD/d", "t/d", "m3 product/d", "m3", "kWh/d", "t CO2e/y")


def moves(inputs: Inputs) -> dict[str, dict[str, Any]]:
    """Give the fields that each move changes."""
    units = {name: field.unit for name, field in schema.fields().items() if field.numeric}
    acids = 0.2 * inputs["influent.rbcod"]
    alkalinity, sodium = inputs["influent.alkalinity"], inputs["influent.sodium"]
    salts = [f"prices.{p}" for p in schema.products()]
    carbons = [f"prices.{p}" for p in schema.carbon_products()]
    money = [name for name, unit in units.items() if unit.startswith("money")]
    large = [
        name
        for name, unit in units.items()
        if unit in SIZES or name in GROWS or (name.startswith("capital.") and unit == "money")
    ]
    large += [name for name in units if name.startswith("capital.") and name.endswith("_size")]

    def times(names: Sequence[str], factor: float) -> dict[str, Any]:
        return {name: inputs[name] * factor for name in names}

    return {
        AS_IT_IS: {},
        STRICTER: times(["permit.tp"], 0.6),
        STRICTEST: times(["permit.tp"], 0.3),
        SURER: {"permit.reliability": 1.0 - 0.5 * (1.0 - inputs["permit.reliability"])},
        DEARER_SALT: times(salts, 1.5),
        DEARER_CARBON: times(carbons, 1.5),
        HIGHER_RATE: {"finance.discount_rate": inputs["finance.discount_rate"] + 0.02},
        MORE_ALKALINITY: {
            "influent.alkalinity": alkalinity * 1.5,
            "influent.sodium": sodium + alkalinity * (0.5 * 22.99 / 50.04),
        },
        MORE_ACIDS: {
            f"influent.{name}": inputs[f"influent.{name}"] + acids
            for name in ("vfa", "rbcod", "cod")
        },
        MORE_PHOSPHORUS: times(["influent.tp", "influent.orthophosphate"], 1.2),
        COLDER: {"influent.temperature_minimum": inputs["influent.temperature_minimum"] - 2.0},
        CLEARER: times(["secondary.effluent_tss"], 0.5),
        OTHER_MONEY: times(money, TRIPLE),
        LARGER: times(dict.fromkeys(large), DOUBLE),
    }


class Moved:
    """Every candidate of one plant under every move."""

    def __init__(self, inputs: Inputs) -> None:
        self.inputs = inputs
        self.moves = moves(inputs)
        rows = [{**inputs.values, **changed} for changed in self.moves.values()]
        self.cases = stacked(rows, inputs)
        self.found = designing.point(self.cases)

    def value(self, c: Candidate, quantity: str, move: str) -> float:
        place = list(self.moves).index(move)
        return float(column(c, quantity, len(self.moves))[place])

    def feasible(self, c: Candidate, move: str) -> bool:
        place = list(self.moves).index(move)
        met = np.broadcast_to(comparison.feasible(c), (len(self.moves), 1))
        return bool(met[place, 0])

    def rises(self, c: Candidate, quantity: str, *order: str) -> None:
        """Hold that a quantity never falls from one move to the next."""
        for low, high in pairwise(order):
            a, b = self.value(c, quantity, low), self.value(c, quantity, high)
            room = LOOP * max(abs(a), abs(b), 1.0)
            assert b >= a - room, f"{told(c)}: {quantity} is {a} {low} and {b} {high}"

    def stays(self, c: Candidate, quantity: str, move: str, factor: float = 1.0) -> None:
        """Hold that a move leaves a quantity, or multiplies it."""
        a, b = factor * self.value(c, quantity, AS_IT_IS), self.value(c, quantity, move)
        if np.isnan(a) and np.isnan(b):
            return
        room = 1e-6 * max(abs(a), abs(b), 1.0)
        assert abs(b - a) <= room, f"{told(c)}: {quantity} should be {a} {move} and is {b}"


def simple_doses(m: Moved) -> list[Candidate]:
    """Metal at one point, alone or behind organisms.

    A split over points jumps from one trial to the next where another becomes cheaper. The
    handbook's ratio is per phosphorus that arrives: of a trim that takes little of it, the dose
    may fall with the limit, far outside the 75 to 95 % that the handbook tells it for.
    """
    handbook = m.inputs.choice("chemical.dose_model") == "handbook ratio"
    return [c for name in (SINGLE, *([] if handbook else [TRIM])) for c in m.found[name]]


def a_stricter_limit_takes_more_metal(m: Moved) -> None:
    for c in simple_doses(m):
        for quantity in (
            "metal_dose", "chemical_sludge", "product_use", "storage_volume", "cost_salt",
            "chloride_added", "sulfate_added",
        ):  # fmt: skip
            m.rises(c, quantity, AS_IT_IS, STRICTER, STRICTEST)
            m.rises(c, quantity, AS_IT_IS, SURER)
    for c in m.found[SINGLE]:
        m.rises(c, "sludge_total", AS_IT_IS, STRICTER, STRICTEST)
        m.rises(c, "present_worth", AS_IT_IS, STRICTER, STRICTEST)
    for c in every(m.found):
        m.rises(c, "design_mean", STRICTEST, STRICTER, AS_IT_IS)
        m.rises(c, "design_mean", SURER, AS_IT_IS)


def what_meets_a_limit_meets_a_looser_one(m: Moved) -> None:
    for name, candidates in m.found.items():
        for strict, loose in ((STRICTEST, STRICTER), (STRICTER, AS_IT_IS), (SURER, AS_IT_IS)):
            if any(m.feasible(c, strict) for c in candidates):
                assert any(m.feasible(c, loose) for c in candidates), f"{name}: {strict}, {loose}"


def dearer_goods_cost_those_who_buy_them(m: Moved) -> None:
    for c in every(m.found):
        product = c.design.product
        if product and product != lime.PRODUCT:
            m.rises(c, "present_worth", AS_IT_IS, DEARER_SALT)
        elif product != lime.PRODUCT:
            m.stays(c, "present_worth", DEARER_SALT)
        if c.design.carbon:
            m.rises(c, "present_worth", AS_IT_IS, DEARER_CARBON)
        else:
            m.stays(c, "present_worth", DEARER_CARBON)


def a_higher_rate_counts_the_future_less(m: Moved) -> None:
    """Not so the present worth as a whole: what is left at the end is counted less as well."""
    for c in every(m.found):
        m.rises(c, "worth_salvage", AS_IT_IS, HIGHER_RATE)
        m.rises(c, "worth_replacement", HIGHER_RATE, AS_IT_IS)
        m.rises(c, "worth_construction", HIGHER_RATE, AS_IT_IS)


def alkalinity_spares_base(m: Moved) -> None:
    """Lime is left out: its dose follows the alkalinity."""
    for c in every(m.found):
        if c.design.product != lime.PRODUCT:
            m.rises(c, "base_dose", MORE_ALKALINITY, AS_IT_IS)
            m.rises(c, "alkalinity_residual", AS_IT_IS, MORE_ALKALINITY)


def acids_serve_the_organisms(m: Moved) -> None:
    """Acids beside all else: in place of other COD they are less steady from year to year."""
    for c in m.found[EXISTING]:
        m.rises(c, "phosphorus_potential", AS_IT_IS, MORE_ACIDS)
        m.rises(c, "effluent_tp", MORE_ACIDS, AS_IT_IS)
    for c in m.found[PURCHASED]:
        m.rises(c, "carbon_dose", MORE_ACIDS, AS_IT_IS)
    for c in m.found[TRIM]:
        m.rises(c, "metal_dose", MORE_ACIDS, AS_IT_IS)


def more_phosphorus_takes_more_metal(m: Moved) -> None:
    for c in simple_doses(m):
        m.rises(c, "metal_dose", AS_IT_IS, MORE_PHOSPHORUS)
        m.rises(c, "chemical_sludge", AS_IT_IS, MORE_PHOSPHORUS)


def cold_takes_more_tanks(m: Moved) -> None:
    places = [list(m.moves).index(move) for move in (AS_IT_IS, COLDER)]
    for c in every(m.found):
        added = np.broadcast_to(as_cases(c.design.zones.added_volume), (len(m.moves), 1))
        assert added[places[1], 0] >= added[places[0], 0], told(c)


def clear_effluent_leaves_room_for_soluble_phosphorus(m: Moved) -> None:
    for c in m.found[SINGLE]:
        m.rises(c, "metal_dose", CLEARER, AS_IT_IS)
        m.rises(c, "effluent_particulate_p", CLEARER, AS_IT_IS)


def money_in_another_coin_is_the_same_money(m: Moved) -> None:
    for c in every(m.found):
        for quantity in c.reduced:
            coin = "money" in lines.KINDS[quantity].unit
            m.stays(c, quantity, OTHER_MONEY, TRIPLE if coin else 1.0)


def a_plant_twice_as_large_does_the_same_twice(m: Moved) -> None:
    for c in every(m.found):
        for quantity in c.reduced:
            unit = lines.KINDS[quantity].unit
            of_plant = unit in ("money", "money/y") and quantity != "household_month"
            twice = unit in LOADS or of_plant
            m.stays(c, quantity, LARGER, DOUBLE if twice else 1.0)


MOVES = (
    a_stricter_limit_takes_more_metal,
    what_meets_a_limit_meets_a_looser_one,
    dearer_goods_cost_those_who_buy_them,
    a_higher_rate_counts_the_future_less,
    alkalinity_spares_base,
    acids_serve_the_organisms,
    more_phosphorus_takes_more_metal,
    cold_takes_more_tanks,
    clear_effluent_leaves_room_for_soluble_phosphorus,
    money_in_another_coin_is_the_same_money,
    a_plant_twice_as_large_does_the_same_twice,
)


@settings(MANY, max_examples=25)
@given(forms())
def test_moves_go_the_way_they_must(form: Form) -> None:
    moved = Moved(form.inputs)
    for check in MOVES:
        check(moved)
