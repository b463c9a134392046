"""Steps of a recording as spreadsheet formulas: every step that has a cell stands there by name.

A step of twelve months is a row of twelve cells that share one formula. Brackets stand where the
order of calculation needs them, so that sums and products are worked out in the package's order;
powers and signs always have them, for programs differ there, and so has a whole sum, for a program
may round a bare difference to zero.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from pcompare.graph import SUMS, Operand, Step

# How tightly operators bind; what stands alone binds most.
OPERATORS = {"<": 1, "<=": 1, ">": 1, ">=": 1, "=": 1, "<>": 1, "+": 2, "-": 2, "*": 3, "/": 3,
             "^": 4}  # fmt: skip
ALONE = 5
CALLS = {
    "exp": "EXP", "log": "LN", "log10": "LOG10", "sqrt": "SQRT", "absolute": "ABS",
    "maximum": "MAX", "minimum": "MIN", "and": "AND", "or": "OR", "where": "IF",
    "normal_cdf": "NORMSDIST", "total": "SUM", "mean": "AVERAGE", "highest": "MAX",
    "lowest": "MIN",
}  # fmt: skip


Text: TypeAlias = tuple[str, int]  # of a formula, and how tightly its last operator binds


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
        return _whole(self._made(step, sheet))

    def of_result(self, result: Operand, sheet: str) -> str:
        """Give the formula of a result: a reference to its cell where it has one."""
        return _whole(self._part(result, sheet))

    def _made(self, step: Step, sheet: str) -> Text:
        operation = step.operation
        if operation in SUMS:
            return self._sum(step, sheet)
        parts = [self._part(part, sheet) for part in step.operands]
        if operation in ("equation", "solved"):
            return parts[0]
        if operation in OPERATORS:
            return _joined(parts[0], operation, parts[1])
        if operation == "negative":
            return f"(-{_bracketed(parts[0], ALONE)})", ALONE
        if operation == "ratio":
            numerator, denominator, empty = parts
            zero = _joined(denominator, "=", ("0", ALONE))[0]
            return f"IF({zero},{empty[0]},{_joined(numerator, '/', denominator)[0]})", ALONE
        return f"{CALLS[operation]}({','.join([text for text, _ in parts])})", ALONE

    def _sum(self, step: Step, sheet: str) -> Text:
        """Reach over a row of cells, or over an expression of such rows."""
        row = step.operands[0]
        assert isinstance(row, Step)
        over = self._over(row, sheet)[0]
        if row.number in self.places:
            return f"{CALLS[step.operation]}({over})", ALONE
        added: Text = (f"SUMPRODUCT({over})", ALONE)
        return _joined(added, "/", (str(row.months), ALONE)) if step.operation == "mean" else added

    def _over(self, part: Operand, sheet: str) -> Text:
        """Give plain arithmetic over whole rows."""
        if not isinstance(part, Step) or part.months == 1:
            return self._part(part, sheet)
        place = self.places.get(part.number)
        if place is not None:
            return f"{_elsewhere(place, sheet)}{place.range}", ALONE
        left, right = (self._over(operand, sheet) for operand in part.operands)
        return _joined(left, part.operation, right)

    def _part(self, part: Operand, sheet: str) -> Text:
        if not isinstance(part, Step):
            return number_text(part), ALONE
        place = self.places.get(part.number)
        if place is None:
            return self._made(part, sheet)
        if part.months > 1:
            return f"{_elsewhere(place, sheet)}{place.months[0]}{place.row}", ALONE
        return place.name or f"{_elsewhere(place, sheet)}${place.column}{place.row}", ALONE


def _joined(left: Text, operation: str, right: Text) -> Text:
    """Join two parts; what stands right of an operator is worked out before it only in brackets."""
    tight = OPERATORS[operation]
    in_turn = tight + (operation not in ("+", "-", "*", "/"))
    first, second = _bracketed(left, in_turn), _bracketed(right, tight + 1)
    return f"{first}{operation}{second}", tight


def _bracketed(part: Text, least: int) -> str:
    text, tight = part
    return text if tight >= least else f"({text})"


def _whole(part: Text) -> str:
    """Give a formula; a sum or difference in brackets, see above."""
    text, tight = part
    return f"=({text})" if tight == OPERATORS["+"] else f"={text}"


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
