"""Where everything stands in the calculation book: one cell for each step of the recording.

A line, a sum of money or a side of a balance is the home of the step that makes it; fields stand
on the sheet of the inputs, constants among the reference values, what a design holds on a sheet of
its own, and every other step in the working of the strategy that alone uses it, or in the shared
working.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from pcompare import lines
from pcompare.arrays import as_cases, plain
from pcompare.documents.book_file import MonthRow
from pcompare.documents.book_formulas import (
    Formulas,
    Place,
    cell_names,
)
from pcompare.documents.book_style import Cell, Content, sheet_name
from pcompare.findings import CashYear, Dossier, Recording
from pcompare.graph import LEAVES, Graph, Operand, Step, graph
from pcompare.records import Line, StrategyResult

INPUTS, REFERENCE, DESIGN, BASIS = "Inputs", "Reference values", "Design", "Plant basis"
LIFECYCLE, CHECKS, SHARED = "Lifecycle", "Checks", "W_shared"
HEAD_ROWS = 3  # title, an empty row and the head
# Digits of months that are cached beside their formula; a program computes all of them anew.
LINE_DIGITS, WORKING_DIGITS = 8, 4
FIELD_MONTHS = tuple("LMNOPQRSTUVW")
STEP_MONTHS = tuple("MNOPQRSTUVWX")
CASH_COLUMNS = {"year": "C", "capital": "D", "annual": "E", "salvage": "F", "factor": "G",
                "worth": "H"}  # fmt: skip

Row: TypeAlias = str | Line  # the name of a group, or a line


@dataclass(frozen=True, slots=True)
class LineSheet:
    """One sheet of lines: its name, its title and its rows."""

    name: str
    title: str
    rows: tuple[Row, ...]

    def numbered(self) -> Iterator[tuple[int, Row]]:
        """Give the rows with their numbers on the sheet."""
        return enumerate(self.rows, HEAD_ROWS + 1)


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One row of a working: a step, or what must be zero of the solved value above it."""

    step: Step
    residual: bool = False


# Of the last recording: while others work on the rest of a dossier, its steps can be made.
@functools.lru_cache(maxsize=1)
def steps(recording: Recording) -> tuple[dict[str, Any], Graph]:
    """Give every number that the book shows, and the distinct steps that make them."""
    results = {k: v for k, v in _results(recording) if _is_finite(v)}
    return results, graph(results, _owners(results))


class Plan:
    """The steps of one run and the cell that each of them takes."""

    def __init__(self, dossier: Dossier) -> None:
        self.dossier = dossier
        self.results, self.graph = steps(dossier.recording)
        self.solved = {step.number: place for place, step in enumerate(self.graph.solved, 1)}
        self.line_sheets = _line_sheets(dossier)
        self.places: dict[int, Place] = {}
        self.home: dict[int, str] = {}  # step -> label of the line that is its home
        self.constants: list[Step] = []
        self.held: list[Step] = []
        self.working: dict[str, list[WorkRow]] = {}
        self.residual_places: dict[int, Place] = {}
        self.formulas = Formulas(self.places)
        self._place_leaves()
        self._place_lines()
        self._place_cash()
        self._place_balances()
        self._place_working()

    # --- what to write into a cell -------------------------------------------------------------

    def result(self, key: str, sheet: str, value: float | None) -> Cell:
        """Give the cell of a result: a formula where it is known how it was made."""
        if key not in self.results or value is None:
            return Cell(value=value)
        return Cell(value=value, formula=self._formula(self.graph.results[key], sheet, key))

    def month_cells(self, key: str, sheet: str, values: Sequence[float]) -> list[Content]:
        """Give the twelve cells of a line."""
        if key not in self.results or len(values) != len(STEP_MONTHS):
            return list(values)
        formula = self._formula(self.graph.results[key], sheet, key)
        return [MonthRow(values=tuple(values), formula=formula, digits=LINE_DIGITS)]

    def step_cells(self, step: Step, sheet: str) -> list[Content]:
        """Give the cells of one step that stands in a working: one, or a row of twelve."""
        values = [_value(v) for v in step.value[0]]
        if step.operation in LEAVES or (step.operation == "solved" and not step.operands):
            return list(values)
        return _cells(values, self.formulas.of_step(step, sheet))

    def residual_cells(self, step: Step, sheet: str) -> list[Content]:
        """Give the cells of what must be zero of a solved value."""
        rest = step.residual
        values = (
            [_value(v) for v in rest.value[0]] if isinstance(rest, Step) else [float(rest or 0)]
        )
        values = values * (step.months // len(values))
        return _cells(values, self.formulas.of_result(0.0 if rest is None else rest, sheet))

    def _formula(self, result: Operand, sheet: str, key: str) -> str:
        if isinstance(result, Step) and self.home.get(result.number) == key:
            return self.formulas.of_step(result, sheet)
        return self.formulas.of_result(result, sheet)

    def reference(self, step: Step, sheet: str) -> str:
        """Give a formula that shows the value of a step elsewhere."""
        return self.formulas.of_result(step, sheet)

    # --- places --------------------------------------------------------------------------------

    def _place_leaves(self) -> None:
        rows = {row.name: number for number, row in enumerate(self.dossier.fields, 2)}
        leaves = [step for step in self.graph.steps if step.operation in LEAVES]
        named = cell_names(s.name for s in leaves if s.months == 1 and s.operation != "fixed")
        for step in leaves:
            name = named.get(step.name, "")
            if step.operation == "field":
                place = Place(INPUTS, rows[step.name], months=FIELD_MONTHS, name=name)
            elif step.operation == "constant":
                place = Place(REFERENCE, HEAD_ROWS + 1 + len(self.constants), name=name)
                self.constants.append(step)
            else:
                place = Place(DESIGN, HEAD_ROWS + 1 + len(self.held), months=STEP_MONTHS)
                self.held.append(step)
            self.places[step.number] = place

    def _claim(self, key: str, place: Place, months: int = 1) -> None:
        """Make a cell the home of the step that gives a result, if it has none yet."""
        step = self.graph.results.get(key)
        if not isinstance(step, Step) or step.operation == "solved":
            return
        if step.number not in self.places and step.months == months:
            self.places[step.number] = place
            self.home[step.number] = key

    def _place_lines(self) -> None:
        for sheet in self.line_sheets:
            for number, row in sheet.numbered():
                if isinstance(row, Line):
                    place = Place(sheet.name, number, months=STEP_MONTHS)
                    self._claim(f"line {row.key}", place)
                    self._claim(f"months {row.key}", place, len(STEP_MONTHS))

    def _place_cash(self) -> None:
        for number, key, row in self.cash_rows():
            if row is not None:
                for what, column in CASH_COLUMNS.items():
                    self._claim(f"cash {key} {what}", Place(LIFECYCLE, number, column))

    def cash_rows(self) -> Iterator[tuple[int, str, CashYear | None]]:
        """Give the rows of the lifecycle; at the head of each strategy and at its end, none."""
        number = HEAD_ROWS
        for name, rows in self.dossier.recording.cash.items():
            yield (number := number + 1), name, None
            for place, row in enumerate(rows):
                yield (number := number + 1), f"{name} {place}", row
            yield (number := number + 1), name, None

    def _place_balances(self) -> None:
        for number, place in enumerate(range(len(self.dossier.recording.balances)), HEAD_ROWS + 2):
            self._claim(f"balance {place} left", Place(CHECKS, number, "C"))
            self._claim(f"balance {place} right", Place(CHECKS, number, "D"))

    def _place_working(self) -> None:
        for step in self.graph.steps:
            if not step.cell or step.number in self.places:
                continue
            sheet = _working_sheet(step)
            rows = self.working.setdefault(sheet, [])
            rows.append(WorkRow(step))
            self.places[step.number] = Place(sheet, HEAD_ROWS + len(rows), months=STEP_MONTHS)
            if step.operation == "solved":
                rows.append(WorkRow(step, residual=True))
                self.residual_places[step.number] = Place(
                    sheet, HEAD_ROWS + len(rows), months=STEP_MONTHS
                )


def _cells(values: list[Any], formula: str) -> list[Content]:
    if len(values) == 1:
        return [Cell(value=values[0], formula=formula)]
    return [MonthRow(values=tuple(values), formula=formula, digits=WORKING_DIGITS)]


def _value(value: Any) -> Any:
    return bool(value) if value.dtype == bool else float(value)


def _working_sheet(step: Step) -> str:
    if len(step.owners) != 1:
        return SHARED
    (owner,) = step.owners
    return f"W_{owner}"[:31]


def _is_finite(value: Any) -> bool:
    return all(math.isfinite(v) for v in as_cases(plain(value))[0])


# --- what is wanted of the recording --------------------------------------------------------------


def _results(recording: Recording) -> Iterator[tuple[str, Any]]:
    """Give every number that the book shows; the second word of its key is the subject."""
    for key, value in recording.lines.items():
        yield f"line {key}", value
    for key, value in recording.months.items():
        yield f"months {key}", value
    for name, rows in recording.cash.items():
        for place, row in enumerate(rows):
            for what in CASH_COLUMNS:
                yield f"cash {name} {place} {what}", getattr(row, what)
    for place, balance in enumerate(recording.balances):
        for side in ("left", "right", "scale"):
            yield f"balance {place} {side}", getattr(balance, side)
    for name, requirements in recording.requirements.items():
        for asked in requirements:
            yield f"needed {name} {asked.key}", asked.needed
            yield f"found {name} {asked.key}", asked.found


def _owners(results: Mapping[str, Any]) -> dict[str, str]:
    """Give the strategy of each result; differences and balances follow what they rest on."""
    owners: dict[str, str] = {}
    for key in results:
        subject = key.split(" ")[1].split(".")[0]
        if subject == "basis":
            owners[key] = "no_action"
        elif subject in lines.LABELS:
            owners[key] = subject
    return owners


def _line_sheets(dossier: Dossier) -> tuple[LineSheet, ...]:
    """Lay out the sheets of lines: the plant, then each strategy."""
    names = [INPUTS, REFERENCE, DESIGN]
    sheets: list[LineSheet] = []

    def add(wanted: str, title: str, rows: Iterable[Row]) -> None:
        names.append(sheet_name(wanted, names))
        sheets.append(LineSheet(names[-1], title, tuple(rows)))

    if dossier.comparison.basis:
        add(BASIS, "The plant as it stands", dossier.comparison.basis.values())
    for result in dossier.comparison.strategies.values():
        add(short_label(result), result.label, grouped(result.lines))
    return tuple(sheets)


def short_label(result: StrategyResult) -> str:
    """Give the name of a strategy without its product."""
    return lines.LABELS.get(result.name, result.label)


def grouped(found: Mapping[str, Line]) -> Iterator[Row]:
    """Put lines under the groups of the vocabulary; lines that it lacks come last."""
    group = ""
    for kind in lines.LINES:
        if kind.quantity in found:
            if kind.group != group:
                group = kind.group
                yield group
            yield found[kind.quantity]
    rest = [line for quantity, line in found.items() if quantity not in lines.KINDS]
    if rest:
        yield "Other"
        yield from rest
