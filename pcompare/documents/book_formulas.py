"""Steps of a recording as spreadsheet formulas: every operator in brackets, every step in its cell.

A step of twelve months is a row of twelve cells that share one formula.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pcompare.graph import SUMS, Operand, Step

OPERATORS = {"+", "-", "*", "/", "^", "<", "<=", ">", ">=", "=", "<>"}
CALLS = {
    "exp": "EXP", "log": "LN", "log10": "LOG10", "sqrt": "SQRT", "absolute": "ABS",
    "maximum": "MAX", "minimum": "MIN", "and": "AND", "or": "OR", "where": "IF",
    "normal_cdf": "NORMSDIST", "total": "SUM", "mean": "AVERAGE", "highest": "MAX",
    "lowest": "MIN",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Place:
    """Where a step stands; ``row`` counts from 1."""

    sheet: str
    row: int
    column: str = "C"
    months: tuple[str, ...] = ()  # columns of the twelve months
    name: str = ""  # of the cell, where it has one

    @property
    def range(self) -> str:
        """Give the twelve cells of the months, without the sheet."""
        return f"${self.months[0]}{self.row}:${self.months[-1]}{self.row}"

    def __str__(self) -> str:
        """Give sheet and cell, as a reader writes it."""
        return f"{quoted(self.sheet)}!{self.column}{self.row}"


class Formulas:
    """Writes the formula of a step from the places of what it is made of.

    The formula of a row of months is that of its first cell: months of other rows stand in it as
    relative references, everything else as absolute ones, so that it can be filled to the right.
    """

    def __init__(self, places: Mapping[int, Place]) -> None:
        self.places = places

    def of_step(self, step: Step, sheet: str) -> str:
        """Give the formula that makes a step, for a cell on ``sheet``."""
        return f"={self._made(step, sheet)}"

    def of_result(self, result: Operand, sheet: str) -> str:
        """Give the formula of a result: a reference to its cell where it has one."""
        return f"={self._part(result, sheet)}"

    def _made(self, step: Step, sheet: str) -> str:
        operation = step.operation
        if operation in SUMS:
            return self._sum(step, sheet)
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

    def _sum(self, step: Step, sheet: str) -> str:
        """Reach over a row of cells, or over an expression of such rows."""
        row = step.operands[0]
        assert isinstance(row, Step)
        if row.number in self.places:
            return f"{CALLS[step.operation]}({self._over(row, sheet)})"
        added = f"SUMPRODUCT({self._over(row, sheet)})"
        return f"({added}/{row.months})" if step.operation == "mean" else added

    def _over(self, part: Operand, sheet: str) -> str:
        """Give plain arithmetic over whole rows."""
        if not isinstance(part, Step) or part.months == 1:
            return self._part(part, sheet)
        place = self.places.get(part.number)
        if place is not None:
            return f"{_elsewhere(place, sheet)}{place.range}"
        left, right = (self._over(operand, sheet) for operand in part.operands)
        return f"({left}{part.operation}{right})"

    def _part(self, part: Operand, sheet: str) -> str:
        if not isinstance(part, Step):
            return number_text(part)
        place = self.places.get(part.number)
        if place is None:
            return self._made(part, sheet)
        if part.months > 1:
            return f"{_elsewhere(place, sheet)}{place.months[0]}{place.row}"
        return place.name or f"{_elsewhere(place, sheet)}${place.column}{place.row}"


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
