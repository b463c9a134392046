"""A recording reduced to distinct steps: shared once, nothing added that adds nothing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pcompare import arrays, graph, run, traced
from pcompare.arrays import NamedConstant, plain
from pcompare.documents.book_formulas import Formulas, Place
from pcompare.recording import Recorded, below
from tests.plants import plants

COLUMNS = tuple("ABCDEFGHIJKL")


def field(name, *values):
    return Recorded.field(name, np.array([values or (2.0,)]))


def reduced(**results):
    return graph.graph(results, dict.fromkeys(results, "one"))


def formula(result, **places):
    found = reduced(x=result)
    known = {
        step.number: Place("Here", row, months=COLUMNS, name=step.name if step.months == 1 else "")
        for row, step in enumerate(found.steps, 1)
        if step.operation in graph.LEAVES
    }
    return Formulas(known).of_result(found.results["x"], "Here")


def test_equal_operations_on_equal_operands_are_one_step():
    a, b = field("a"), field("b", 3.0)
    found = reduced(first=(a + b) * 2.0, second=(b + a) * 2.0, third=(a - b) * 2.0)
    assert found.results["first"] is found.results["second"]
    assert found.results["first"] is not found.results["third"]
    assert len(found.steps) == 6  # a, b, their sum and difference, and each doubled


@pytest.mark.parametrize(
    ("made", "left"),
    [
        (lambda a: a + 0.0, "a"),
        (lambda a: 0.0 + a, "a"),
        (lambda a: a - 0.0, "a"),
        (lambda a: 1.0 * a, "a"),
        (lambda a: a / 1.0, "a"),
        (lambda a: a**1.0, "a"),
        (lambda a: arrays.mean(a), "a"),
        (lambda a: arrays.total(a), "a"),
        (lambda a: arrays.where(True, a, 5.0), "a"),
        (lambda a: 0.0 * a, 0.0),
        (lambda a: 0.0 * a + 3.0, 3.0),
    ],
)
def test_what_adds_nothing_is_left_out(made, left):
    result = reduced(x=made(field("a"))).results["x"]
    assert (result.name if isinstance(result, graph.Step) else result) == left


@pytest.mark.parametrize("made", [lambda a: a - a, lambda a: 0.0 - a, lambda a: 1.0 / a])
def test_what_changes_the_value_stays(made):
    assert len(reduced(x=made(field("a"))).steps) == 2


def test_a_sum_of_twelve_equal_months_counts_them_all():
    """The months come from a zero that is left out, and must not be lost with it."""
    a, months = field("a", 2.0), field("m", *range(12))
    result = reduced(x=arrays.total(a + 0.0 * months)).results["x"]
    assert result.operation == "*" and result.value.item() == 24.0
    assert reduced(x=arrays.mean(a + 0.0 * months)).results["x"].name == "a"


def test_a_guarded_division_is_one_step():
    a, b = field("top", 6.0), field("below", 3.0)
    assert formula(arrays.ratio(a, b, 0.0)) == "=IF(below=0,0,top/below)"


@pytest.mark.parametrize(
    ("made", "written"),
    [
        (lambda a, b: a + b + 1.0, "=(a+b+1)"),
        (lambda a, b: a + (b + 1.0), "=(a+(b+1))"),  # in the package's order
        (lambda a, b: a - (b - 1.0), "=(a-(b-1))"),
        (lambda a, b: a * b / 3.0, "=a*b/3"),
        (lambda a, b: a * (b / 3.0), "=a*(b/3)"),
        (lambda a, b: (a + b) * 3.0 - b, "=((a+b)*3-b)"),
        (lambda a, b: -(a**2.0) + b * NamedConstant(4.0, "k"), "=((-(a^2))+b*k)"),
        (lambda a, b: (-a) ** 2.0, "=(-a)^2"),  # programs disagree on -a^2
        (lambda a, b: (a**b) ** 2.0, "=(a^b)^2"),
        (lambda a, b: (a * b) ** (a + b), "=(a*b)^(a+b)"),
        (lambda a, b: a - -1.5, "=(a-(-1.5))"),
        (lambda a, b: arrays.where(a > b, arrays.exp(a), -1.5), "=IF(a>b,EXP(a),(-1.5))"),
        (lambda a, b: arrays.where(a + b <= a * b, a, b), "=IF(a+b<=a*b,a,b)"),
        (lambda a, b: arrays.maximum(a - b, arrays.log10(b)), "=MAX(a-b,LOG10(b))"),
    ],
)
def test_brackets_stand_where_the_order_needs_them(made, written):
    assert formula(made(field("a"), field("b", 3.0))) == written


@settings(max_examples=200)
@given(st.recursive(
    st.sampled_from("ab") | st.floats(0.5, 3.0).map(lambda x: round(x, 2)),
    lambda part: st.tuples(st.sampled_from("+-*/^<n"), part, part),
    max_leaves=12,
))  # fmt: skip
def test_a_formula_is_worked_out_as_the_package_does(tree):
    """Python binds as spreadsheets do, but for powers and signs, which always have brackets."""
    values = {"a": 1.25, "b": 0.75}

    def made(part):
        if not isinstance(part, tuple):
            return field(part, values[part]) if isinstance(part, str) else part
        sign, left, right = part[0], made(part[1]), made(part[2])
        if sign == "n":
            return -left
        if sign == "<":
            return arrays.where(left < right, left, right)
        if sign == "^":
            return arrays.exp(arrays.minimum(left, 2.0)) ** arrays.minimum(right, 3.0)
        return {"+": np.add, "-": np.subtract, "*": np.multiply, "/": np.divide}[sign](left, right)

    with np.errstate(all="ignore"):
        result = made(tree)
        expected = float(plain(result).item() if isinstance(result, Recorded) else result)
    if not isinstance(result, Recorded) or not math.isfinite(expected):
        return
    text = formula(result).removeprefix("=").replace("^", "**")
    known = {"IF": lambda c, x, y: x if c else y, "EXP": lambda x: float(np.exp(x)),
             "MIN": min, "MAX": max, **values}  # fmt: skip
    try:
        found = eval(text, known)
    except (ZeroDivisionError, OverflowError):
        return
    assert found == pytest.approx(expected, rel=1e-14, abs=1e-300) or isinstance(found, complex)


def test_months_are_a_row_and_its_sum_reaches_over_it():
    months, weight = field("m", *range(1, 13)), field("w", *range(2, 14))
    assert formula(arrays.total(months)) == "=SUM($A1:$L1)"
    assert formula(arrays.highest(months)) == "=MAX($A1:$L1)"
    assert formula(months * 2.0) == "=A1*2"  # filled to the right, it follows the months
    assert formula(arrays.total(months * weight)) == "=SUMPRODUCT($A1:$L1*$A2:$L2)"
    assert formula(arrays.mean(months + weight)) == "=SUMPRODUCT($A1:$L1+$A2:$L2)/12"


def test_an_equation_and_what_is_shared_take_cells_and_the_rest_does_not():
    a, b = field("a"), field("b", 3.0)
    named = (a * b).of_equation("load", {})
    shared = arrays.exp(a + b) * a - b / a + a
    shared = shared + a * b / shared.shape[0] + arrays.sqrt(b - 0.5) * (a - b)
    found = reduced(x=named + shared / 2.0, y=shared * 3.0)
    cells = {step.operation for step in found.steps if step.cell}
    assert cells == {"field", "equation", "+"}
    assert not any(s.cell for s in reduced(x=(a + b) / 2.0, y=(a + b) * 3.0).steps if s.below)


def test_the_more_often_a_part_is_used_the_smaller_it_may_be_to_take_a_cell():
    a, b = field("a"), field("b", 3.0)
    part = a / b + a - b  # 3 operations
    for users, takes in ((2, False), (4, False), (5, True)):
        found = reduced(**{f"x{i}": part * (i + 2.0) for i in range(users)})
        assert any(s.cell and s.operation == "-" for s in found.steps) is takes


def test_the_middle_passes_of_a_loop_take_few_cells():
    x = field("a")
    for _ in arrays.passes(7):
        x = arrays.exp(x / 9.0).of_equation("grown", {})
    assert arrays.current_pass() is None
    found = reduced(x=(x * 2.0).of_equation("last", {}))
    turns = [s.turn for s in found.steps if s.cell and s.operation == "equation"]
    assert turns == [(1, 7), (2, 7), (6, 7), (7, 7), None]


def test_what_every_pass_works_out_alike_belongs_to_none():
    a = field("a")
    found = {}
    for number in arrays.passes(6):
        found[str(number)] = arrays.exp(a).of_equation("same", {}) * float(number + 1)
    (step,) = (s for s in reduced(**found).steps if s.operation == "equation")
    assert step.turn is None and step.cell


def test_a_loop_that_is_left_early_leaves_no_pass_behind():
    with pytest.raises(ZeroDivisionError):
        for _ in arrays.passes(3):
            raise ZeroDivisionError
    assert arrays.current_pass() is None
    for _ in arrays.passes(3):
        for _ in arrays.passes(2):
            pass
        assert arrays.current_pass() == (1, 3)
        break
    assert arrays.current_pass() is None


def test_steps_know_the_subjects_that_rest_on_them():
    a, b = field("a"), field("b", 3.0)
    results = {"x": a * 2.0, "y": a * b, "z": a - b}
    found = graph.graph(results, {"x": "one", "y": "two"})
    owners = {step.name or step.operation: set(step.owners) for step in found.steps}
    assert owners["a"] == {"one", "two"} and owners["b"] == {"two"} and owners["-"] == set()


def test_a_solved_value_with_passes_is_live_and_one_without_is_held():
    a = field("a", 2.0)
    root = arrays.solve_monotone(lambda x, target: x**3 - target, 0.0, 5.0, a)
    held = arrays.solve(lambda t: t / 2.0, lambda x, t: 2.0 * x - t, a)
    found = reduced(live=root + 1.0, held=held + 1.0)
    assert found.live_share(["live"]) == 1.0
    assert found.live_share(["live", "held"]) == 0.5
    assert len(found.solved) == 2
    for step in found.solved:
        np.testing.assert_allclose(step.residual.value, 0.0, atol=1e-14)


def test_the_steps_do_not_depend_on_the_values():
    def made(value):
        a = field("a", value)
        return reduced(x=arrays.where(a > 1.0, a * 2.0, arrays.sqrt(a)) + arrays.ratio(1.0, a, 0.0))

    first, second = ([(s.operation, s.number) for s in made(v).steps] for v in (0.25, 4.0))
    assert first == second


@given(st.floats(0.01, 50.0), st.floats(1.0, 3.0), st.floats(-1.0, 60.0))
def test_the_explicit_root_is_the_bracketed_one(high, power, target):
    """Inside the bracket and at both of its ends; how close is tested on the plants themselves."""

    def function(x, power, target):
        return x**power + 0.1 * x - target

    arguments = (arrays.as_cases(power), arrays.as_cases(target))
    low, high = arrays.as_cases(0.0), arrays.as_cases(high)
    expected = arrays.solve_monotone(function, low, high, *arguments)
    found = arrays.explicit_root(function, low, high, *arguments)
    assert found.item() == pytest.approx(expected.item(), rel=1e-6, abs=1e-6)


@settings(max_examples=15)
@given(plants())
def test_the_explicit_passes_of_any_plant_end_at_the_solved_value(inputs):
    recording = traced.trace(inputs, run.compare(inputs))
    count = 0
    for node in below(recording.lines.values(), passes=True):
        if node.operation == "solved" and node.passes is not None:
            np.testing.assert_allclose(node.passes.plain, node.plain, rtol=1e-11)
            count += 1
    assert count > 2


@settings(max_examples=15)
@given(plants())
def test_every_balance_of_any_plant_closes(inputs):
    recording = traced.trace(inputs, run.compare(inputs))
    for balance in recording.balances:
        left, right, scale = (plain(x) for x in (balance.left, balance.right, balance.scale))
        assert abs(left - right) <= 1e-9 * max(abs(scale), 1.0), (balance.strategy, balance.label)
