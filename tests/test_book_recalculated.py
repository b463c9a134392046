"""The calculation book, recalculated by a spreadsheet program, is the package's own calculation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pcompare import run, traced
from pcompare.arrays import as_cases, plain
from pcompare.documents import calculation_book
from pcompare.documents.book_checks import CLOSED
from pcompare.documents.book_plan import FIELD_MONTHS, HEAD_ROWS, STEP_MONTHS, Plan
from pcompare.errors import InputError
from pcompare.graph import Step
from pcompare.inputs import reader, schema
from tests.plants import example
from tests.spreadsheet import Book, recalculated

RELATIVE, OF_LARGEST_TERM, RESIDUAL = 1e-9, 1e-12, 1e-9
CASES = 20
UNCHECKED = ("coefficient.", "prices.")  # valid alone: nothing else has to fit them
# The odds asked for are a choice of the design; the others are for months and 1 without.
NOT_VARIED = ("permit.reliability", "flow.load_share", "flow.strength")


@pytest.fixture(scope="module")
def dossier():
    """The worked example, with its months."""
    return run.dossier(reader.read(), draws=0)


@pytest.fixture(scope="module")
def even():
    return run.dossier(example(), draws=0)


def terms(step: Step, depth: int = 8) -> float:
    """The largest number that a step is added up from."""
    largest = float(np.abs(step.value.astype(float)).max())
    if depth:
        largest = max([largest, *(terms(part, depth - 1) for part in step.below)])
    return largest


def agree(found: object, expected: float, step: object) -> bool:
    if not isinstance(found, float):
        return False
    if abs(found - expected) <= RELATIVE * abs(expected):
        return True
    return isinstance(step, Step) and abs(found - expected) <= OF_LARGEST_TERM * terms(step)


def cells_of_lines(plan: Plan):
    """Sheet and row of every line that has a formula."""
    for sheet in plan.line_sheets:
        for number, line in sheet.numbered():
            if not isinstance(line, str) and f"line {line.key}" in plan.results:
                yield line.key, sheet.name, number


def disagreements(plan: Plan, book: Book, recording) -> list[str]:
    """Every line, month by month too, whose cell is not the package's value."""
    faults = []
    for key, sheet, number in cells_of_lines(plan):
        step = plan.graph.results[f"line {key}"]
        expected = float(recording.lines[key].plain[0, 0])
        found = book.values(sheet).get(f"C{number}")
        if not agree(found, expected, step):
            faults.append(f"{key}: {sheet}!C{number} is {found!r}, not {expected!r}")
        if key in recording.months:
            months = as_cases(recording.months[key].plain)[0]
            step = plan.graph.results.get(f"months {key}")
            for column, month in zip(STEP_MONTHS, months, strict=True):
                found = book.values(sheet).get(f"{column}{number}")
                if not agree(found, float(month), step):
                    faults.append(f"{key}: {sheet}!{column}{number} is {found!r}, not {month!r}")
    return faults


def large_residuals(plan: Plan, book: Book) -> list[str]:
    faults = []
    for step in plan.graph.solved:
        place = plan.residual_places[step.number]
        values = book.values(place.sheet)
        columns = STEP_MONTHS if step.months > 1 else ("C",)
        for column in columns:
            rest = values.get(f"{column}{place.row}")
            if not isinstance(rest, float) or abs(rest) > RESIDUAL:
                faults.append(f"{place.sheet}!{column}{place.row} is {rest!r}, not 0")
    return faults


def errors(book: Book) -> list[str]:
    return [
        f"{sheet}!{cell}: {value}"
        for sheet in book.sheets
        for cell, value in book.values(sheet).items()
        if isinstance(value, str) and value.startswith("#")
    ]


@pytest.mark.slow
@pytest.mark.parametrize("case", ["dossier", "even"])
def test_recalculated_from_scratch_every_line_is_the_packages_value(
    program, tmp_path, request, case
):
    dossier = request.getfixturevalue(case)
    soffice = program("soffice")
    data = calculation_book.book(dossier)
    plan = Plan(dossier)
    book = recalculated(soffice, tmp_path, {"book": Book(data).without_values()})["book"]
    assert sum(1 for _ in cells_of_lines(plan)) > 800
    assert disagreements(plan, book, dossier.recording) == []
    assert large_residuals(plan, book) == []
    assert errors(book) == []
    assert failed_checks(book) == []
    # The cached values were those of the package as well: a preview shows what a program computes.
    cached = Book(data)
    for _, sheet, number in cells_of_lines(plan):
        assert f"C{number}" in cached.values(sheet)
        break


def cells_of(values, row: int, months) -> dict[str, float]:
    """Cells of a number, or of its months."""
    columns = months if len(values) > 1 else ("C",)
    return {f"{c}{row}": float(v) for c, v in zip(columns, values, strict=True)}


def another(rng: np.random.Generator, live: set[str]):
    """Draw other numbers for every numeric field, valid together; months each on their own."""
    base = reader.read()
    for _ in range(200):
        overrides = []
        for field in schema.fields().values():
            if not field.numeric or field.name not in base.values or field.name in NOT_VARIED:
                continue
            row = as_cases(base.values[field.name])[0]
            if field.name.startswith(UNCHECKED) or len(row) > 1:
                continue
            value = float(row[0])
            drawn = value * (1.0 + rng.uniform(-0.1, 0.1))
            if field.kind == "integer":
                drawn = round(drawn) + int(rng.integers(-1, 2))
            drawn = min(max(drawn, field.hard[0]), field.hard[1])
            overrides.append(f"{field.name}={drawn!r}")
        try:
            drawn_inputs = reader.read(None, overrides)
        except InputError:
            continue
        values = dict(drawn_inputs.values)
        for name, value in values.items():
            if name.startswith(UNCHECKED) or as_cases(value).shape[1] > 1:
                values[name] = value * (1.0 + rng.uniform(-0.02, 0.02, as_cases(value).shape))
        for name in sorted(live):
            if not as_cases(base.values[name]).any() and rng.uniform() < 0.3:
                low, high = (schema.fields()[name].usual or (0.0, 0.05))[:2]
                values[name] = as_cases(rng.uniform(low, high))
        return replace(drawn_inputs, values=values)
    pytest.fail("no valid numbers were drawn")


def written(data: bytes, plan: Plan, inputs, again: Plan) -> bytes:
    """The book with other inputs and the solved values that go with them, nothing cached."""
    assert len(again.graph.solved) == len(plan.graph.solved)
    rows = {row.name: number for number, row in enumerate(plan.dossier.fields, 2)}
    book = Book(data)
    cells: dict[str, dict[str, float]] = {"Inputs": {}}
    for name, value in inputs.values.items():
        cells["Inputs"] |= cells_of(as_cases(value)[0], rows[name], FIELD_MONTHS)
    for step, other in zip(plan.graph.solved, again.graph.solved, strict=True):
        if not step.operands:
            place = plan.places[step.number]
            found = cells.setdefault(place.sheet, {})
            found |= cells_of(other.value[0], place.row, STEP_MONTHS)
    for sheet, numbers in cells.items():
        book.set(sheet, numbers)
    return book.without_values()


def failed_checks(book: Book) -> list[str]:
    """Balances that do not close and residuals that are not zero; a missed permit is no fault."""
    rows = book.values("Checks")
    return [cell for cell, value in rows.items() if cell[0] == "G" and value == "NO"]


def open_balances(recording) -> list[str]:
    """Cells of the balances that the package's own run leaves open.

    Drawn at random, the ions that a base or a salt brings do not keep its charge.
    """
    found = []
    for number, balance in enumerate(recording.balances, HEAD_ROWS + 2):
        left, right, scale = (
            float(as_cases(plain(x)).item()) for x in (balance.left, balance.right, balance.scale)
        )
        if abs(left - right) > CLOSED * max(abs(scale), 1.0):
            found.append(f"G{number}")
    return found


@pytest.mark.slow
def test_twenty_other_inputs_with_the_design_held(program, tmp_path, dossier):
    """Inputs and freshly solved values written into the book give every line of the fresh run."""
    soffice = program("soffice")
    data = calculation_book.book(dossier)
    plan = Plan(dossier)
    live = {step.name for step in plan.graph.steps if step.operation == "field"}
    rng = np.random.default_rng(7)
    files, fresh, moved = {}, {}, set()
    for case in range(CASES):
        inputs = another(rng, live)
        recording = traced.trace(inputs, dossier.comparison)
        again = Plan(replace(dossier, recording=recording))
        files[f"case{case}"] = written(data, plan, inputs, again)
        fresh[f"case{case}"] = (again, recording)
        moved |= {n for n in live if not np.array_equal(inputs.values[n], dossier.inputs.values[n])}
    assert live - moved <= set(NOT_VARIED), "fields that no case moves"
    print(f"{len(moved)} live fields in {len({n.split('.')[0] for n in moved})} groups moved")
    books = recalculated(soffice, tmp_path, files)
    changed = 0
    for name, (again, recording) in fresh.items():
        assert disagreements(again, books[name], recording) == [], name
        assert large_residuals(plan, books[name]) == [], name
        assert failed_checks(books[name]) == open_balances(recording), name
        key = "salt_single_point.present_worth"
        changed += (
            abs(recording.lines[key].plain.item() / dossier.recording.lines[key].plain.item() - 1.0)
            > 1e-3
        )
    assert changed > CASES / 2, "the drawn inputs hardly change anything"


# Fields that the rows of the lifecycle were written for otherwise.
OTHER_LIVES = (
    {"finance.period": 35.0},
    {"finance.period": 9.0},
    {"finance.period": 60.0, "finance.life_short_lived": 5.0, "finance.discount_rate": 0.0},
    {"finance.life_equipment": 4.0, "flow.growth": 0.02, "finance.escalation_salt": 0.01},
    {"finance.period": 1.0},
)


def free_assets():
    """The worked example where nothing that is built costs anything, and nothing is discounted."""
    base = reader.read()
    nothing = [
        n for n in base.values
        if n.startswith("capital.") and schema.fields()[n].unit.startswith("money")
    ]  # fmt: skip
    values = base.values | dict.fromkeys(nothing, as_cases(0.0))
    return replace(base, values=values), nothing


@pytest.mark.slow
def test_other_periods_and_lives_and_assets_that_cost_nothing(program, tmp_path, dossier):
    """Years and replacements without rows of their own count, and so do prices that were zero."""
    soffice = program("soffice")
    free, nothing = free_assets()
    files, fresh = {}, {}
    for case, changes in enumerate(OTHER_LIVES):
        values = dossier.inputs.values | {n: as_cases(v) for n, v in changes.items()}
        fresh[f"life{case}"] = (dossier, replace(dossier.inputs, values=values))
    without = run.dossier(free, draws=0)
    priced = {n: dossier.inputs.values[n] for n in nothing}
    fresh["free"] = (without, free)
    fresh["priced"] = (without, replace(free, values=free.values | priced))
    expected = {}
    for name, (base, inputs) in fresh.items():
        recording = traced.trace(inputs, base.comparison)
        again = Plan(replace(base, recording=recording))
        files[name] = written(calculation_book.book(base), Plan(base), inputs, again)
        expected[name] = (again, recording)
    books = recalculated(soffice, tmp_path, files)
    for name, (again, recording) in expected.items():
        assert disagreements(again, books[name], recording) == [], name
        assert failed_checks(books[name]) == [], name
        assert errors(books[name]) == [], name
    worth = [expected[n][1].lines["salt_tertiary.capital"].plain.item() for n in ("free", "priced")]
    assert worth[0] == 0.0 < worth[1]


def test_the_share_of_live_lines_does_not_fall(dossier, record_property):
    plan = Plan(dossier)
    keys = [key for key in plan.results if key.startswith("line ")]
    share = plan.graph.live_share(keys)
    record_property("live_share", share)
    print(f"{share:.1%} of {len(keys)} lines are live without a held value")
    assert share >= 0.83
