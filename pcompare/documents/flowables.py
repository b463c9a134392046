"""Paragraphs, tables and drawings that know what they are for a screen reader.

A piece of a flowable that is split over pages belongs to the same element as the rest.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from pcompare.documents import fonts
from pcompare.documents.tagging import HEADER, Element, TaggedCanvas

# isort: split
from reportlab.graphics.shapes import Drawing
from reportlab.lib.attrmap import AttrMap, AttrMapValue
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.textobject import PDFTextObject
from reportlab.platypus import Paragraph, Table
from reportlab.platypus.paraparser import ParaFrag

NO_BREAK = "\u00a0"
SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
LOWERED = re.compile("([₀-₉]+)")
SAMPLE = 'a<sub rise="1.7" size="6">b</sub><b>c</b>'
BULLET = "•"
REFERENCE = re.compile("\ue000(\\w+)\ue001")


def see(key: str) -> str:
    """Refer in a text to the table or figure of a key; its number follows when all are known."""
    return f"\ue000{key}\ue001"


# --- paragraphs -------------------------------------------------------------------------------


class Text(Paragraph):
    """A paragraph of plain text: no markup in it is ever read.

    Lowered digits are set as subscripts, and stay digits for whoever searches the text.

    Parameters
    ----------
    text : str or None
        What is printed; None for the piece of a paragraph that is split.
    style : ParagraphStyle
    strong : str
        Strong words that it opens with.
    limit : int
        Longest text in characters; 0 for no limit.
    """

    role = "P"
    canv: Any

    def __init__(
        self, text: str | None, style: ParagraphStyle, *, strong: str = "", limit: int = 0,
        lowered: bool = True, **more: Any,
    ) -> None:  # fmt: skip
        self._looks = (strong, limit, lowered)
        self._refers = text if text and REFERENCE.search(text) else ""
        if text is not None:
            more["frags"] = list(_pieces(text, style, strong, limit, lowered))
        super().__init__(text or "", style, **more)
        self.element: Element | None = None
        self._wrapped_to = -1.0

    def reset(self, text: str) -> None:
        """Print another text."""
        self.frags = list(_pieces(text, self.style, *self._looks))
        self._wrapped_to = -1.0

    def resolve(self, known: Mapping[str, str]) -> None:
        """Put names in the place of references by key."""
        if self._refers:
            text = REFERENCE.sub(lambda found: known.get(found.group(1), fonts.BOX), self._refers)
            self.reset(text)

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Break the lines, once for each width."""
        if availWidth != self._wrapped_to or not hasattr(self, "blPara"):
            super().wrap(availWidth, availHeight)
            self._wrapped_to = availWidth
        return self.width, self.height

    def split(self, availWidth: float, availHeight: float) -> list[Any]:
        """Split, so that every piece belongs to one element."""
        pieces: list[Any] = super().split(availWidth, availHeight)
        if len(pieces) > 1:
            self.element = self.element or self.made()
            for piece in pieces:
                piece.element = self.element
                piece.role = self.role
        return pieces

    def made(self) -> Element:
        """Give the element of this paragraph, not yet in its place."""
        return Element(self.role)

    def beginText(self, x: float, y: float) -> PDFTextObject:
        """Give the object that lines are put into."""
        return _Lines(self.canv, x, y)

    def draw(self) -> None:
        """Draw the text as content of its element."""
        if not self.frags:
            return
        with marked(self.canv, self):
            super().draw()


class _Lines(PDFTextObject):
    """Lines of text that end in a space, so that the words of two lines are not read as one."""

    def _textOut(self, text: str, TStar: int = 0) -> None:
        super()._textOut(text + " " if TStar else text, TStar)  # type: ignore[misc]


@contextmanager
def marked(canvas: Any, flowable: Any) -> Iterator[None]:
    """Mark what a flowable draws as content of its element, which is made when it is needed."""
    if not isinstance(canvas, TaggedCanvas) or canvas.is_marking:
        yield
        return
    if flowable.element is None:
        flowable.element = flowable.made()
    with canvas.marked(flowable.element):
        yield


def _pieces(
    text: str, style: ParagraphStyle, strong: str, limit: int, lowered: bool
) -> Iterator[ParaFrag]:
    """Cut text into plain and lowered pieces, without any parser of markup."""
    plain, sub, bold = _samples(style)
    shown = _held(text, limit)
    if strong:
        yield bold.clone(text=_held(strong, 0).translate(SUBSCRIPTS) + " ")
    if not lowered:
        shown = shown.translate(SUBSCRIPTS)
    for i, part in enumerate(LOWERED.split(shown)):
        if part:
            yield sub.clone(text=part.translate(SUBSCRIPTS)) if i % 2 else plain.clone(text=part)


def _held(text: str, limit: int) -> str:
    """Make text printable, and keep numbers in one piece where a paragraph would break them."""
    return fonts.printable(text, limit).replace("\u202f", NO_BREAK).replace(" °", f"{NO_BREAK}°")


@functools.cache
def _samples(style: ParagraphStyle) -> tuple[ParaFrag, ...]:
    """Give a plain, a lowered and a strong piece of a style, to be copied."""
    return tuple(Paragraph(SAMPLE, style).frags)


class Heading(Text):
    """A heading: of a level, or one below the heading before it.

    Parameters
    ----------
    text : str
    style : ParagraphStyle
    level : int
        From 1 for the title; 0 for one below the last heading that stands in the outline.
    """

    def __init__(
        self, text: str | None, style: ParagraphStyle, level: int = 0, **more: Any
    ) -> None:
        super().__init__(text, style, **more)
        self.level = level
        self.key = ""  # of its bookmark
        self.outline_text = fonts.printable(text or "")

    def split(self, availWidth: float, availHeight: float) -> list[Any]:
        """Never split: a heading that does not fit goes to the next page."""
        return []

    def draw(self) -> None:
        """Draw the heading, and let those without a level of their own know this one."""
        if self.level:
            self.canv.level = self.level
        self.role = f"H{self.level or getattr(self.canv, 'level', 1) + 1}"
        super().draw()


class Item(Text):
    """An item of a list; items that follow each other make one list."""

    role = "LBody"
    is_first = True  # piece: the bullet stands before it

    def split(self, availWidth: float, availHeight: float) -> list[Any]:
        """Leave the bullet with the first piece."""
        pieces = super().split(availWidth, availHeight)
        for piece in pieces[1:]:
            piece.is_first = False
        return pieces

    def draw(self) -> None:
        """Draw the bullet as the label of the item, and the text as its body."""
        canvas = self.canv
        if not isinstance(canvas, TaggedCanvas):
            super().draw()
            return
        self.element = self.element or self.made()
        if self.is_first:
            item = _list(canvas.within).add(Element("LI"))
            item.add(Element("Lbl"))
            item.add(self.element)
            with canvas.marked(item.kids[0]):  # type: ignore[arg-type]
                canvas.setFont(self.style.fontName, self.style.fontSize)
                canvas.setFillColor(self.style.textColor)
                low = self.height - self.style.fontSize
                canvas.drawString(self.style.bulletIndent, low, BULLET)
        super().draw()


def _list(parent: Element) -> Element:
    """Give the list that is open at the end of an element, or open one."""
    last = parent.kids[-1] if parent.kids else None
    if isinstance(last, Element) and last.role == "L":
        return last
    return parent.add(Element("L", attributes="/O/List/ListNumbering/Disc"))


# --- tables -----------------------------------------------------------------------------------


class Panel(Table):
    """Text beside or under rules: a table to the eye only."""

    def __init__(self, data: Any, **more: Any) -> None:
        super().__init__(data, **{**more, "renderCB": _decoration})


def _decoration(table: Any, command: str, *_: Any) -> None:
    """Mark the background and the rules of a table as something that is not read out."""
    canvas = table.canv
    if not isinstance(canvas, TaggedCanvas):
        return
    if command in ("startBG", "startLines"):
        canvas.begin_artifact()
    elif command in ("endBG", "endLines"):
        canvas.end()


@dataclass
class Plan:
    """What the pieces of one table share.

    Parameters
    ----------
    heads : int
        Rows at the top that head the columns.
    columns : int
        Number of columns.
    groups : collection of int
        Rows, heads counted, that say what the rows below have in common.
    ditto : bool
        An empty first cell means the same as the cell above it.
    is_named : bool
        The first cell of a row heads the row; in a table of few cells that is one head too many.
    """

    heads: int
    columns: int
    groups: Collection[int] = ()
    ditto: bool = False
    is_named: bool = True
    element: Element = field(default_factory=lambda: Element("Table"))
    rows: dict[int, Element] = field(default_factory=dict)
    cells: dict[tuple[int, int], Element] = field(default_factory=dict)
    covering: tuple[int, int] = (0, 0)  # the last head of rows, and how many it covers

    def cell(self, row: int, column: int, is_blank: bool) -> Element | None:
        """Give the element of a cell, in its place; none where the head above covers it."""
        if (row, column) in self.cells:
            return self.cells[row, column]
        if row not in self.rows:
            self.rows[row] = self.element.add(Element("TR"))
        scope = self._scope(row, column)
        if scope == "Row" and is_blank and self.ditto:
            head, covered = self.covering
            self.covering = (head, covered + 1)
            self.cells[head, 0].attributes = f"{SCOPE}Row/RowSpan {covered + 1}"
            return None
        if scope == "Row":
            self.covering = (row, 1)
        is_head = bool(scope) and not (scope == "Row" and is_blank)
        made = Element("TH", attributes=f"{SCOPE}{scope}") if is_head else Element("TD")
        self.cells[row, column] = self.rows[row].add(made)
        if row in self.groups:
            rest = Element("TD", attributes=f"/O/Table/ColSpan {self.columns - 1}")
            self.cells[row, 1] = self.rows[row].add(rest)
        return made

    def _scope(self, row: int, column: int) -> str:
        """Say what a cell heads: its column, its row, or nothing."""
        if row < self.heads:
            return "Column"
        return "" if column or not self.is_named else "Row"


SCOPE = "/O/Table/Scope/"


class Grid(Table):
    """A table whose rows, cells and heads are known to a screen reader."""

    canv: Any
    _nrows: int  # reportlab's
    _ncols: int
    _hmax: int

    def __init__(self, data: Any, *, plan: Plan | None = None, **more: Any) -> None:
        super().__init__(data, **{**more, "renderCB": _cells})
        self.plan = plan or Plan(heads=0, columns=self._ncols)
        self.numbers: list[int | None] = list(range(self._nrows))  # None for a repeated head
        self.outer: Element | None = None  # while a cell is open: what it stands in
        self._is_measured = False

    def _calc(self, availWidth: float, availHeight: float) -> None:
        """Measure the rows once: the widths of the columns are given and do not change."""
        if not self._is_measured:
            super()._calc(availWidth, availHeight)  # type: ignore[misc]
            self._is_measured = bool(self._hmax == self._nrows)

    def split(self, availWidth: float, availHeight: float) -> list[Any]:
        """Split, so that every row knows which of the whole table it is."""
        pieces: list[Any] = super().split(availWidth, availHeight)
        if len(pieces) == 2:
            first, rest = pieces
            again = min(self.repeatRows, self.plan.heads)
            first.plan = rest.plan = self.plan
            first.numbers = self.numbers[: first._nrows]
            left = rest._nrows - again
            rest.numbers = [*([None] * again), *self.numbers[len(self.numbers) - left :]]
        return pieces


def _cells(grid: Any, command: str, *args: Any) -> None:
    """Open and close the elements of a table while reportlab draws it."""
    canvas, plan = grid.canv, grid.plan
    if not isinstance(canvas, TaggedCanvas):
        return
    if command == "startTable" and plan.element.parent is None:
        canvas.within.add(plan.element)
    elif command == "startRow" and grid.numbers[args[0]] is None:
        canvas.begin_artifact(HEADER)
    elif command == "endRow" and canvas.is_marking:
        canvas.end()
    elif command == "startCell" and not canvas.is_marking:
        _open(canvas, grid, grid.numbers[args[0]], args[1], args[2])
    elif command == "endCell" and grid.outer is not None:
        if canvas.is_marking:
            canvas.end()
        canvas.within, grid.outer = grid.outer, None
    else:
        _decoration(grid, command)


def _open(canvas: TaggedCanvas, grid: Any, row: int, column: int, content: Any) -> None:
    """Open one cell; several flowables in it are elements of their own."""
    parts = content if isinstance(content, list | tuple) else [content]
    is_blank = all(part == "" or not getattr(part, "frags", True) for part in parts)
    cell = grid.plan.cell(row, column, is_blank)
    if cell is None or is_blank:
        return
    grid.outer = canvas.within
    if len(parts) > 1 or getattr(parts[0], "in_parts", False):
        canvas.within = cell
    else:
        canvas.begin(cell)


# --- figures ----------------------------------------------------------------------------------


class Chart(Drawing):
    """A drawing that tells in words what it shows.

    Parameters
    ----------
    width, height : float
        Points.
    alt : str
        One or a few sentences with the numbers that matter.
    """

    _attrMap = AttrMap(BASE=Drawing, alt=AttrMapValue(None), element=AttrMapValue(None))

    def __init__(self, width: float, height: float, alt: str = "") -> None:
        super().__init__(width, height)
        self.alt = alt
        self.element: Element | None = None

    def made(self) -> Element:
        """Give the element of this drawing, with the box that it takes on the page."""
        x, y = self.canv.absolutePosition(0, 0)
        box = f"{x:.1f} {y:.1f} {x + self.width:.1f} {y + self.height:.1f}"
        place = f"/O/Layout/Placement/Block/BBox[{box}]"
        return Element("Figure", fonts.printable(self.alt), place)

    def draw(self, *args: Any) -> None:
        """Draw everything as content of one figure."""
        with marked(self.canv, self):
            super().draw(*args)
