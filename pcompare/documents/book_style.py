"""How the calculation book looks and is written: sheets, cells and their styles.

Each number is written as a ``Cell``: a value now, and where a formula is given for it, that formula
with the value beside it as the cached result. Text is only ever written as text.
"""

from __future__ import annotations

import functools
import io
import math
import re
import zipfile
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
DENSITY = 8  # of packing, from 1 to 9
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


def packed(workbook: bytes) -> bytes:
    """Give the same file as densely packed as is worth its time: a thirtieth smaller."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook)) as loose,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=DENSITY) as dense,
    ):
        for part in loose.infolist():
            dense.writestr(part, loose.read(part), compresslevel=DENSITY)
    return out.getvalue()


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


class _Sheet(Worksheet):  # type: ignore[misc]
    """A sheet whose rows are written as the text of the file, in their order.

    The library keeps every cell as an object until it closes the file, looks for a hundred and
    fifty functions younger than the file format in each formula, and knows no formulas that cells
    share; all of that takes most of the time of a book.
    """

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []  # rows so far
        self.shared = 0  # formulas of rows of months so far

    def add_row(self, number: int, cells: Sequence[str], height: float = 0.0) -> None:
        """Add the cells of a row; ``number`` counts from 1."""
        high = f' ht="{height:g}" customHeight="1"' if height else ""
        self.texts.append(f'<row r="{number}"{high}>{"".join(cells)}</row>')

    def close_rows(self, last: int, columns: int) -> None:
        """Say how far the rows reach."""
        self.dim_rowmin, self.dim_rowmax = 0, last
        self.dim_colmin, self.dim_colmax = 0, columns

    def string(self, cell: str, look: int, text: str) -> str:
        """Give a cell with a text."""
        number = self.str_table._get_shared_string_index(text)
        return f'<c r="{cell}" s="{look}" t="s"><v>{number}</v></c>'

    def months(self, row: int, column: int, look: int, months: MonthRow) -> str:
        """Give the cells of a row of months: the formula once, then its number."""
        text = escape(months.formula.removeprefix("="))
        names = [f"{_letters(column + i)}{row}" for i in range(len(months.values))]
        first = f'<f t="shared" ref="{names[0]}:{names[-1]}" si="{self.shared}">{text}</f>'
        other = f'<f t="shared" si="{self.shared}"/>'
        self.shared += 1
        return "".join(
            [
                value_cell(name, look, value, other if i else first, months.digits)
                for i, (name, value) in enumerate(zip(names, months.values, strict=True))
            ]
        )

    def _write_rows(self) -> None:
        self.fh.write("".join(self.texts))


@functools.cache
def _letters(column: int) -> str:
    return str(xl_col_to_name(column))


def value_cell(
    cell: str, look: int, value: float | str | bool, formula: str = "", digits: int = 16
) -> str:
    """Give a cell with a value, and the formula that makes it as the file writes it."""
    if isinstance(value, bool):
        return f'<c r="{cell}" s="{look}" t="b">{formula}<v>{value:d}</v></c>'
    if isinstance(value, str):
        return f'<c r="{cell}" s="{look}" t="str">{formula}<v>{escape(value)}</v></c>'
    cached = f"<v>{value:.{digits}g}</v>" if math.isfinite(value) else ""
    return f'<c r="{cell}" s="{look}">{formula}{cached}</c>'


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
        self.looks = {name: made._get_xf_index() for name, made in self.formats.items()}

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
        top = 1
        if not keys_in_first:
            self._row(sheet, 1, [title], "title")
            top = 3
        self._row(sheet, top, head, "head")
        row = top
        for row, cells in enumerate(rows, top + 1):
            if len(cells) == 1:
                self._row(sheet, row, cells, "band")
            elif wrapped:
                self._row(sheet, row, cells, "", LINE_HEIGHT * _lines_of(cells, widths))
            else:
                self._row(sheet, row, cells)
        sheet.close_rows(row - 1, len(head) - 1)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width)
        self._page(sheet, top, row, len(head))
        return sheet

    def _row(
        self, sheet: Any, row: int, cells: Sequence[Content], style: str = "", height: float = 0.0
    ) -> None:
        """Write one row; with a height its texts are wrapped."""
        text = style or ("wrapped" if height else "text")
        made = [
            self._cell(sheet, row, column, content, style, text)
            for column, content in enumerate(cells)
            if content is not None and content != ""
        ]
        sheet.add_row(row, made, height)

    def _cell(
        self, sheet: Any, row: int, column: int, content: Content, style: str, text: str
    ) -> str:
        """Give one cell by its kind; nothing is guessed from the text."""
        if isinstance(content, MonthRow):
            values = [abs(value) for value in content.values if math.isfinite(value)]
            look = self.looks[_figures(min(values, default=0.0), calculated=True)]
            return str(sheet.months(row, column, look, content))
        place = f"{_letters(column)}{row}"
        if isinstance(content, str):
            words = content.encode("utf-8", "replace").decode("utf-8")[:LONGEST]
            return str(sheet.string(place, self.looks[text], words))
        if isinstance(content, bool):
            words, shown = ("yes", "text") if content else ("no", "alarm")
            return str(sheet.string(place, self.looks[style or shown], words))
        cell = content if isinstance(content, Cell) else Cell(value=content)
        return self._value(sheet, place, cell, style)

    def _value(self, sheet: Any, place: str, cell: Cell, style: str) -> str:
        """Give a number, or a formula with what it comes to."""
        value = cell.value
        if value is None or (isinstance(value, float) and not math.isfinite(value)):
            return ""
        if isinstance(value, float) and not style and cell.style == "number":
            style = _figures(value, calculated=bool(cell.formula))
        look = self.looks[style or cell.style]
        if cell.formula:
            formula = f"<f>{escape(cell.formula.removeprefix('='))}</f>"
            return value_cell(place, look, value, formula)
        if isinstance(value, str):
            return str(sheet.string(place, look, value))
        return value_cell(place, look, value)

    def alarm(self, sheet: Any, cells: str, rule: Mapping[str, Any]) -> None:
        """Turn cells red where a rule says so."""
        sheet.conditional_format(cells, {**rule, "format": self.formats["bad"]})

    def _page(self, sheet: Any, top: int, last: int, columns: int) -> None:
        """Freeze the head and set the page for printing."""
        sheet.freeze_panes(top, 1)
        sheet.hide_gridlines(2)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(top - 1)
        sheet.set_margins(left=0.5, right=0.5, top=0.7, bottom=0.7)
        sheet.print_area(0, 0, last - 1, columns - 1)
        sheet.set_footer(f"&L&8{self.run.replace('&', '&&')}&C&8&A&R&8page &P of &N")
