"""Steps of a recording as spreadsheet formulas: every operator in brackets, every step in its cell.

A step of twelve months is a row of twelve cells. Its formula is made once, with a sign where the
column stands, and set column by column.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from pcompare.graph import SUMS, Operand, Step

OPERATORS = {"+", "-", "*", "/", "^", "<", "<=", ">", ">=", "=", "<>"}
CALLS = {
    "exp": "EXP", "log": "LN", "log10": "LOG10", "sqrt": "SQRT", "absolute": "ABS",
    "maximum": "MAX", "minimum": "MIN", "and": "AND", "or": "OR", "where": "IF",
    "normal_cdf": "NORMSDIST", "total": "SUM", "mean": "AVERAGE", "highest": "MAX",
    "lowest": "MIN",
}  # fmt: skip
FIRST_OF_FIELDS, FIRST_OF_STEPS = "\x01", "\x02"  # stand for the column of a month


@dataclass(frozen=True, slots=True)
class Place:
    """Where a step stands; ``row`` counts from 1."""

    sheet: str
    row: int
    column: str = "C"
    month: str = FIRST_OF_STEPS
    name: str = ""  # of the cell, where it has one

    def __str__(self) -> str:
        """Give sheet and cell, as a reader writes it."""
        return f"{quoted(self.sheet)}!{self.column}{self.row}"


@dataclass(frozen=True, slots=True)
class Months:
    """The columns of the twelve months, on the sheet of the inputs and on all others."""

    fields: tuple[str, ...]
    steps: tuple[str, ...]

    def set(self, formula: str) -> Iterator[str]:
        """Give the formula of each month."""
        for field, step in zip(self.fields, self.steps, strict=True):
            yield formula.replace(FIRST_OF_FIELDS, field).replace(FIRST_OF_STEPS, step)

    def row(self, place: Place) -> str:
        """Give the range of twelve cells at a place."""
        columns = self.fields if place.month == FIRST_OF_FIELDS else self.steps
        return f"{columns[0]}{place.row}:{columns[-1]}{place.row}"


class Formulas:
    """Writes the formula of a step from the places of what it is made of."""

    def __init__(self, places: Mapping[int, Place], months: Months) -> None:
        self.places = places
        self.months = months

    def of_step(self, step: Step, sheet: str) -> str:
        """Give the formula that makes a step, for a cell on ``sheet``."""
        return f"={self._made(step, sheet)}"

    def of_result(self, result: Operand, sheet: str) -> str:
        """Give the formula of a result: a reference to its cell where it has one."""
        return f"={self._part(result, sheet)}"

    def _made(self, step: Step, sheet: str) -> str:
        operation = step.operation
        if operation in SUMS:
            row = step.operands[0]
            assert isinstance(row, Step)
            place = self.places[row.number]
            return f"{CALLS[operation]}({_elsewhere(place, sheet)}{self.months.row(place)})"
        parts = [self._part(part, sheet) for part in step.operands]
        if operation in ("equation", "solved"):
            return parts[0]
        if operation in OPERATORS:
            return f"({parts[0]}{operation}{parts[1]})"
        if operation == "negative":
            return f"(-{parts[0]})"
        if operation == "ratio":
            numerator, denominator, empty = parts
            return f"IF(({denominator}=0),{empty},({numerator}/{denominator}))"
        return f"{CALLS[operation]}({','.join(parts)})"

    def _part(self, part: Operand, sheet: str) -> str:
        if not isinstance(part, Step):
            return number_text(part)
        place = self.places.get(part.number)
        if place is None:
            return self._made(part, sheet)
        if part.months > 1:
            return f"{_elsewhere(place, sheet)}{place.month}{place.row}"
        return place.name or f"{_elsewhere(place, sheet)}{place.column}{place.row}"


def _elsewhere(place: Place, sheet: str) -> str:
    return "" if place.sheet == sheet else f"{quoted(place.sheet)}!"


def quoted(sheet: str) -> str:
    """Quote a sheet's name where a formula needs it.

    Examples
    --------
    >>> quoted("W_lime"), quoted("Metal salt, one point"), quoted("Plant's")
    ('W_lime', "'Metal salt, one point'", "'Plant''s'")
    """
    if re.fullmatch(r"[A-Za-z_]+", sheet):
        return sheet
    return "'" + sheet.replace("'", "''") + "'"


def number_text(value: float) -> str:
    """Write a number so that a formula holds all its digits.

    Examples
    --------
    >>> number_text(1000.0), number_text(-1.5), number_text(1e-9), number_text(True)
    ('1000', '(-1.5)', '1E-09', 'TRUE')
    """
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if math.isnan(value):
        return "NA()"
    if not math.isfinite(value):
        raise ValueError("a formula cannot hold an endless number")
    text = repr(float(value)).upper().removesuffix(".0")
    return f"({text})" if value < 0.0 else text


def cell_names(names: Iterable[str]) -> dict[str, str]:
    """Make names of cells from names of fields, each unlike all others and unlike a cell.

    Examples
    --------
    >>> cell_names(["influent.tp", "M(CaCO3)", "flow.a_b", "flow_a.b", "x.1"])
    {'influent.tp': 'influent_tp', 'M(CaCO3)': 'M_CaCO3', 'x.1': 'x_1'}
    """
    made = {name: re.sub(r"\W+", "_", name, flags=re.ASCII).strip("_") for name in names}
    count: dict[str, int] = {}
    for text in made.values():
        count[text.lower()] = count.get(text.lower(), 0) + 1
    return {
        name: text
        for name, text in made.items()
        if count[text.lower()] == 1 and re.fullmatch(r"[A-Za-z]\w*_\w+", text)
    }
