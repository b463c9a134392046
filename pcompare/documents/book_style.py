"""How the calculation book looks and is written: sheets, cells and their styles.

Each number is written as a ``Cell``: a value now, and where a formula is given for it, that formula
with the value beside it as the cached result. Text is only ever written as text.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias
from xml.sax.saxutils import escape

from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from pcompare.records import Dossier

LONGEST = 32_000  # characters that a cell holds, with room for escapes
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
INK, RULE, WASH, ALARM = "#1F2328", "#B9C0C7", "#F3F5F7", "#8C2F39"
# How a calculated number is shown, from which size on; the cell holds all its digits.
PLAIN = "General"
SMALL = "0.0000E+00_);-0.0000E+00_);0_)"
FIGURES = ((1e5, "#,##0_)"), (1.0, "#,##0.000_)"), (1e-3, "0.000000_)"), (0.0, SMALL))
MOST_GIVEN = 9  # signs of a number that somebody gave
LINE_HEIGHT = 13.5  # points
ENTRY, HELD, BAD = "#FFF8DC", "#E3ECF5", "#F6D5D8"


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """A value, and the formula that makes it where there is one; the value is its cached result.

    A formula without a value is not written: a cell that has no value shows none.
    """

    value: float | str | bool | None
    formula: str = ""
    style: str = "number"


@dataclass(frozen=True, kw_only=True, slots=True)
class MonthRow:
    """Twelve cells that share one formula, with the value of each cached to so many digits."""

    values: tuple[float | bool, ...]
    formula: str
    digits: int = 17


Content: TypeAlias = str | float | bool | Cell | MonthRow | None


def sheet_name(wanted: str, taken: Iterable[str]) -> str:
    """Make a sheet name that a spreadsheet accepts: at most 31 characters, unique, no signs.

    Examples
    --------
    >>> sheet_name("Metal salt: one point, A/B & a long name", ["Inputs"])
    'Metal salt one point, A B & a'
    >>> sheet_name("Inputs", ["inputs"])
    'Inputs 2'
    """
    bare = re.sub(r"[\[\]:*?/\\\x00-\x1f]+", " ", wanted)
    bare = re.sub(r"\s+", " ", bare).strip(" '") or "Sheet"
    if len(bare) > 31:
        whole_words = bare[:32].rpartition(" ")[0]
        bare = (whole_words if len(whole_words) > 15 else bare[:31]).strip(" '")
    if bare.lower() == "history":  # a spreadsheet keeps this name for itself
        bare = "History of"
    used = {name.lower() for name in taken}
    name, number = bare, 1
    while name.lower() in used:
        number += 1
        ending = f" {number}"
        name = bare[: 31 - len(ending)].rstrip() + ending
    return name


def _figures(value: float, calculated: bool) -> str:
    """Choose how a number is shown: as it was given, or with some figures of what it came to."""
    if not calculated and len(repr(value)) <= MOST_GIVEN:
        return "number"
    return next(look for size, look in FIGURES if abs(value) >= size)


def _lines_of(cells: Sequence[Content], widths: Sequence[float]) -> int:
    """Count the lines that the longest text of a row takes."""
    texts = ((cell, width) for cell, width in zip(cells, widths, strict=False))
    counts = (-(-len(c) // max(int(w * 1.1), 1)) for c, w in texts if isinstance(c, str))
    return max(1, min(30, max(counts, default=1)))


@dataclass(frozen=True, slots=True)
class _Shared:
    """A row of months as the file stores it: the formula once, then its number."""

    row: MonthRow
    number: int
    style: int

    def xml(self, row: int, column: int) -> str:
        """Give the twelve cells, ``row`` and ``column`` counting from 0."""
        names = [f"{xl_col_to_name(column + i)}{row + 1}" for i in range(len(self.row.values))]
        text = escape(self.row.formula.removeprefix("="))
        reach = f"{names[0]}:{names[-1]}"
        first = f'<f t="shared" ref="{reach}" si="{self.number}">{text}</f>'
        other = f'<f t="shared" si="{self.number}"/>'
        return "".join(
            self._cell(name, value, first if i == 0 else other)
            for i, (name, value) in enumerate(zip(names, self.row.values, strict=True))
        )

    def _cell(self, name: str, value: float | bool, formula: str) -> str:
        if isinstance(value, bool):
            return f'<c r="{name}" s="{self.style}" t="b">{formula}<v>{value:d}</v></c>'
        cached = f"<v>{value:.{self.row.digits}g}</v>" if math.isfinite(value) else ""
        return f'<c r="{name}" s="{self.style}">{formula}{cached}</c>'


class _Sheet(Worksheet):  # type: ignore[misc]
    """A sheet that writes rows of months with one shared formula each.

    Its formulas use no function younger than the file format: the library would look for a hundred
    and fifty younger names in each, which takes half of the time of writing.
    """

    shared = 0  # formulas so far

    def write_months(self, row: int, column: int, months: MonthRow, look: Any) -> None:
        """Keep a row of months for writing."""
        self._check_dimensions(row, column)
        self._check_dimensions(row, column + len(months.values) - 1)
        self.table[row][column] = _Shared(months, self.shared, look._get_xf_index())
        self.shared += 1

    def _write_cell(self, row: int, col: int, cell: Any) -> None:
        if isinstance(cell, _Shared):
            self.fh.write(cell.xml(row, col))
        else:
            super()._write_cell(row, col, cell)

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


class Writer:
    """Writes tables, sheet by sheet, in one calm style."""

    def __init__(self, workbook: Any, dossier: Dossier) -> None:
        self.workbook = workbook
        self.run = f"Run {dossier.provenance.run_id}"
        self.names: list[str] = []
        base = {"font_name": "Calibri", "font_size": 10, "font_color": INK, "valign": "top"}
        number = {**base, "num_format": PLAIN}
        looks: dict[str, dict[str, Any]] = {
            "text": base,
            "wrapped": {**base, "text_wrap": True},
            "number": number,
            "entry": {**number, "bg_color": ENTRY},
            "held": {**number, "bg_color": HELD},
            **{look: {**base, "num_format": look} for _, look in FIGURES},
            "head": {**base, "bold": True, "bottom": 1, "bottom_color": RULE, "text_wrap": True,
                     "valign": "bottom", "bg_color": WASH},
            "band": {**base, "bold": True, "bg_color": WASH},
            "title": {**base, "bold": True, "font_size": 13},
            "alarm": {**base, "bold": True, "font_color": ALARM},
            "bad": {"bold": True, "font_color": ALARM, "bg_color": BAD},
        }  # fmt: skip
        self.formats = {name: workbook.add_format(look) for name, look in looks.items()}

    def table(
        self, name: str, title: str, head: Sequence[str], rows: Iterable[Sequence[Content]],
        widths: Sequence[float], *, keys_in_first: bool = False, wrapped: bool = False,
    ) -> Any:  # fmt: skip
        """Write one sheet: a title, a frozen head and the rows; one text alone opens a group.

        With ``keys_in_first`` there is no title, so that the head stands in the first row. Long
        texts are ``wrapped`` on sheets that are read as text.
        """
        self.names.append(sheet_name(name, self.names))
        sheet = self.workbook.add_worksheet(self.names[-1], worksheet_class=_Sheet)
        top = 0
        if not keys_in_first:
            self.put(sheet, 0, 0, title, "title")
            top = 2
        for column, words in enumerate(head):
            self.put(sheet, top, column, words, "head")
        row = top
        for row, cells in enumerate(rows, top + 1):
            style = "band" if len(cells) == 1 else ""
            if wrapped and not style:
                sheet.set_row(row, LINE_HEIGHT * _lines_of(cells, widths))
            for column, cell in enumerate(cells):
                long = wrapped and isinstance(cell, str) and not style
                self.put(sheet, row, column, cell, "wrapped" if long else style)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width)
        self._page(sheet, top, row, len(head))
        return sheet

    def put(self, sheet: Any, row: int, column: int, content: Content, style: str = "") -> None:
        """Write one cell by its kind; nothing is guessed from the text."""
        if isinstance(content, MonthRow):
            values = [abs(value) for value in content.values if math.isfinite(value)]
            look = self.formats[_figures(min(values, default=0.0), calculated=True)]
            sheet.write_months(row, column, content, look)
        elif isinstance(content, Cell):
            self._cell(sheet, row, column, content, style)
        elif isinstance(content, bool):
            words, look = ("yes", "text") if content else ("no", "alarm")
            sheet.write_string(row, column, words, self.formats[style or look])
        elif isinstance(content, str):
            if content:
                text = content.encode("utf-8", "replace").decode("utf-8")[:LONGEST]
                sheet.write_string(row, column, text, self.formats[style or "text"])
        elif content is not None:
            self._cell(sheet, row, column, Cell(value=content), style)

    def _cell(self, sheet: Any, row: int, column: int, cell: Cell, style: str) -> None:
        """Write a number or a formula with what it comes to."""
        value = cell.value
        if value is None or (isinstance(value, float) and not math.isfinite(value)):
            return
        if isinstance(value, float) and not style and cell.style == "number":
            style = _figures(value, calculated=bool(cell.formula))
        look = self.formats[style or cell.style]
        if cell.formula:
            sheet.write_formula(row, column, cell.formula, look, value)
        elif isinstance(value, bool):
            sheet.write_boolean(row, column, value, look)
        elif isinstance(value, str):
            sheet.write_string(row, column, value, look)
        else:
            sheet.write_number(row, column, value, look)

    def alarm(self, sheet: Any, cells: str, rule: Mapping[str, Any]) -> None:
        """Turn cells red where a rule says so."""
        sheet.conditional_format(cells, {**rule, "format": self.formats["bad"]})

    def _page(self, sheet: Any, top: int, last: int, columns: int) -> None:
        """Freeze the head and set the page for printing."""
        sheet.freeze_panes(top + 1, 1)
        sheet.hide_gridlines(2)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(top)
        sheet.set_margins(left=0.5, right=0.5, top=0.7, bottom=0.7)
        sheet.print_area(0, 0, max(last, top), columns - 1)
        sheet.set_footer(f"&L&8{self.run.replace('&', '&&')}&C&8&A&R&8page &P of &N")
