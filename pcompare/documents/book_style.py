"""How the calculation book looks and is written: sheets, cells and their styles.

Each number is written as a ``Cell``: a value now, and where a formula is given for it, that formula
with the value beside it as the cached result. Text is only ever written as text.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias
from xml.sax.saxutils import escape

from pcompare.documents.book_file import MonthRow, Sheet, letters, value_cell
from pcompare.findings import Dossier

LONGEST = 32_000  # characters that a cell holds, with room for escapes
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
INK, RULE, WASH, ALARM = "#1F2328", "#B9C0C7", "#F3F5F7", "#8C2F39"
# How a calculated number is shown, from which size on; the cell holds all its digits.
PLAIN = "General_)"
SMALL = "0.0000E+00_);-0.0000E+00_);0_)"
FIGURES = ((1e5, "#,##0_)"), (1.0, "#,##0.000_)"), (1e-3, "0.000000_)"), (0.0, SMALL))
LEFT_OVER = re.compile(r"(,? (with|and|of|the|in|a|&))+$")  # words that say nothing at an end
MOST_GIVEN = 9  # signs of a number that somebody gave
LINE_HEIGHT = 13.5  # points
PAGE_WIDTH = 271.0  # mm between the margins of a page
LEAST_SCALE = 60  # percent: figures of six points
ROWS_TO_LOOK_AT = 60  # that tell which columns hold numbers
ENTRY, HELD, BAD = "#FFF8DC", "#E3ECF5", "#F6D5D8"


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """A value, and the formula that makes it where there is one; the value is its cached result.

    A formula without a value is not written: a cell that has no value shows none.
    """

    value: float | str | bool | None
    formula: str = ""
    style: str = "number"


Content: TypeAlias = str | float | bool | Cell | MonthRow | None


def sheet_name(wanted: str, taken: Iterable[str]) -> str:
    """Make a sheet name that a spreadsheet accepts: at most 31 characters, unique, no signs.

    Examples
    --------
    >>> sheet_name("Metal salt: one point, A/B & a long name", ["Inputs"])
    'Metal salt one point, A B'
    >>> sheet_name("Inputs", ["inputs"])
    'Inputs 2'
    """
    bare = re.sub(r"[\[\]:*?/\\\x00-\x1f]+", " ", wanted)
    bare = re.sub(r"\s+", " ", bare).strip(" '") or "Sheet"
    if len(bare) > 31:
        whole_words = bare[:32].rpartition(" ")[0]
        bare = (LEFT_OVER.sub("", whole_words) if len(whole_words) > 15 else bare[:31]).strip(" '")
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


class Writer:
    """Writes tables, sheet by sheet, in one calm style."""

    def __init__(self, workbook: Any, dossier: Dossier) -> None:
        self.workbook = workbook
        self.run = f"Run {dossier.provenance.run_id}"
        self.names: list[str] = []
        self.titles: dict[str, str] = {}  # by name of the sheet, in the order of writing
        self.reserved: dict[str, Any] = {}
        base = {"font_name": "Calibri", "font_size": 10, "font_color": INK, "valign": "top"}
        number = {**base, "num_format": PLAIN}
        looks: dict[str, dict[str, Any]] = {
            "text": base,
            "wrapped": {**base, "text_wrap": True},
            "number": number,
            "entry": {**number, "bg_color": ENTRY},
            "held": {**number, "bg_color": HELD},
            "link": {**base, "underline": 1},
            "left": {**base, "align": "left"},
            **{look: {**base, "num_format": look} for _, look in FIGURES},
            **{f"{name} {look}": {**base, "num_format": look, "bg_color": colour}
               for name, colour in (("entry", ENTRY), ("held", HELD)) for _, look in FIGURES},
            "head": {**base, "bold": True, "bottom": 1, "bottom_color": RULE, "text_wrap": True,
                     "valign": "bottom", "bg_color": WASH},
            "number head": {**base, "bold": True, "bottom": 1, "bottom_color": RULE,
                            "text_wrap": True, "valign": "bottom", "bg_color": WASH,
                            "align": "right", "indent": 1},
            "band": {**base, "bold": True, "bg_color": WASH},
            "title": {**base, "bold": True, "font_size": 13},
            "alarm": {**base, "bold": True, "font_color": ALARM},
            "bad": {"bold": True, "font_color": ALARM, "bg_color": BAD},
        }  # fmt: skip
        self.formats = {name: workbook.add_format(look) for name, look in looks.items()}
        self.looks = {name: made._get_xf_index() for name, made in self.formats.items()}

    def reserve(self, name: str) -> None:
        """Keep the next place for a sheet that is written later."""
        self.reserved[name] = self._sheet(name)

    def _sheet(self, name: str) -> Any:
        self.names.append(sheet_name(name, self.names))
        return self.workbook.add_worksheet(self.names[-1], worksheet_class=Sheet)

    def table(
        self, name: str, title: str, head: Sequence[str], rows: Iterable[Sequence[Content]],
        widths: Sequence[float], *, keys_in_first: bool = False, wrapped: bool = False,
    ) -> Any:  # fmt: skip
        """Write one sheet: a title, a frozen head and the rows; one text alone opens a group.

        With ``keys_in_first`` there is no title, so that the head stands in the first row. Long
        texts are ``wrapped`` on sheets that are read as text.
        """
        sheet = self.reserved.pop(name, None) or self._sheet(name)
        self.titles[sheet.get_name()] = title
        top = 1
        if not keys_in_first:
            self._row(sheet, 1, [title], "title")
            top = 3
        rows = list(rows)
        self._head(sheet, top, head, rows, widths)
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
        self._page(sheet, top, row, head, widths)
        return sheet

    def _head(
        self, sheet: Any, row: int, head: Sequence[str], rows: Sequence[Sequence[Content]],
        widths: Sequence[float],
    ) -> None:  # fmt: skip
        """Write the heads of columns, those of numbers to the right."""
        looked_at = rows[:ROWS_TO_LOOK_AT]
        balance: Counter[int] = Counter()  # numbers less texts
        for cells in looked_at:
            for i, cell in enumerate(cells):
                balance[i] += _is_number(cell) - (isinstance(cell, str) and bool(cell))
        made = [
            self._cell(sheet, row, i, words, "number head" if right else "head",
                       "number head" if right else "head")
            for i, words in enumerate(head)
            for right in (balance[i] > 0 or words in MONTHS,)
        ]  # fmt: skip
        high = _lines_of(head, [0.8 * width for width in widths])  # bold, and broken at words
        sheet.add_row(row, made, LINE_HEIGHT * high if high > 1 else 0.0)

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
        sheet.add_row(row, made, height, self.looks["band"] if style == "band" else 0)

    def _cell(
        self, sheet: Any, row: int, column: int, content: Content, style: str, text: str
    ) -> str:
        """Give one cell by its kind; nothing is guessed from the text."""
        if isinstance(content, MonthRow):
            values = [abs(value) for value in content.values if math.isfinite(value)]
            look = self.looks[_figures(min(values, default=0.0), calculated=True)]
            return str(sheet.months(row, column, look, content))
        place = f"{letters(column)}{row}"
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
        shown = style or cell.style
        if isinstance(value, float) and not style and shown in ("number", "entry", "held"):
            figures = _figures(value, calculated=bool(cell.formula))
            if shown == "number":
                shown = figures
            elif figures != "number":
                shown = f"{shown} {figures}"
        look = self.looks[shown]
        if cell.formula:
            formula = f"<f>{escape(cell.formula.removeprefix('='))}</f>"
            return value_cell(place, look, value, formula)
        if isinstance(value, str):
            return str(sheet.string(place, look, value))
        return value_cell(place, look, value)

    def alarm(self, sheet: Any, cells: str, rule: Mapping[str, Any]) -> None:
        """Turn cells red where a rule says so."""
        sheet.conditional_format(cells, {**rule, "format": self.formats["bad"]})

    def _page(
        self, sheet: Any, top: int, last: int, head: Sequence[str], widths: Sequence[float]
    ) -> None:
        """Freeze the head and set the pages: one page wide, or parts side by side that can be read.

        Every part repeats the first column; the months are a part of their own.
        """
        sheet.freeze_panes(top, 1)
        sheet.hide_gridlines(2)
        sheet.set_landscape()
        sheet.set_paper(9)
        breaks, scale = parts(head, widths)
        if breaks:
            sheet.set_print_scale(scale)
            sheet.set_v_pagebreaks(breaks)
            sheet.print_across()
            sheet.repeat_columns(0, 0)
        else:
            sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(top - 1)
        sheet.set_margins(left=0.5, right=0.5, top=0.7, bottom=0.7)
        sheet.print_area(0, 0, last - 1, len(head) - 1)
        sheet.set_footer(f"&L&8{self.run.replace('&', '&&')}&C&8&A&R&8page &P of &N")


def _is_number(content: Content) -> bool:
    value = content.value if isinstance(content, Cell) else content
    return isinstance(value, float | MonthRow) and not isinstance(value, bool)


def parts(head: Sequence[str], widths: Sequence[float]) -> tuple[list[int], int]:
    """Give the columns before which a page ends, and the scale in percent; none for one page."""
    sizes = [(7.0 * width + 5.0) * 25.4 / 96.0 for width in widths]  # mm
    if PAGE_WIDTH / sum(sizes) * 100.0 >= LEAST_SCALE:
        return [], 100
    breaks: list[int] = []
    used, widest = 0.0, 0.0
    for column, (words, size) in enumerate(zip(head, sizes, strict=False)):
        full = used + size > PAGE_WIDTH / LEAST_SCALE * 100.0
        if column > 1 and (full or words == MONTHS[0]):
            breaks.append(column)
            used = sizes[0]
        used += size
        widest = max(widest, used)
    return breaks, min(100, int(PAGE_WIDTH / widest * 100.0))
