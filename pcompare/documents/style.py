"""How the memo looks: page, colours, paragraphs and tables."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from pcompare.documents import fonts
from pcompare.documents.flowables import LOWERED, Grid, Item, Plan, Text

# isort: split
# Only now: these copy the default font when they are imported.
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Paragraph, Spacer

PAGE = A4
LEFT, RIGHT, TOP, BOTTOM = 25 * mm, 20 * mm, 24 * mm, 22 * mm
WIDTH = PAGE[0] - LEFT - RIGHT
TURNED = landscape(PAGE)
WIDE = TURNED[0] - LEFT - RIGHT  # text width of a turned page
USER_TEXT = 200  # characters of the user's own text that are printed

INK = HexColor("#1f2328")
QUIET = HexColor("#5b6570")
RULE = HexColor("#b9c0c7")
HAIR = HexColor("#dfe3e7")
WASH = HexColor("#f3f5f7")
ALARM = HexColor("#8c2f39")
# From dark to light, so that neighbours differ on a grey printer too.
PALETTE = tuple(
    map(
        HexColor,
        (
            "#17324d",
            "#d98324",
            "#2e7f78",
            "#a9c4dd",
            "#8c2f39",
            "#c9b679",
            "#5f5f8c",
            "#9a9a9a",
            "#3f6b35",
        ),
    )
)

BODY_SIZE, SMALL_SIZE = 9.6, 8.2


def _style(name: str, size: float, lead: float = 1.32, **more: Any) -> ParagraphStyle:
    settings: dict[str, Any] = {
        "fontName": fonts.TEXT,
        "bulletFontName": fonts.TEXT,
        "fontSize": size,
        "leading": size * lead,
        "textColor": INK,
        "splitLongWords": 1,
        **more,
    }
    return ParagraphStyle(name, **settings)


BODY = _style("body", BODY_SIZE, 1.4, spaceAfter=5)
LEAD = _style("lead", 10.6, 1.42, spaceAfter=6)
SMALL = _style("small", SMALL_SIZE)
QUIET_SMALL = _style("quiet", SMALL_SIZE, textColor=QUIET, spaceAfter=6)
CAPTION = _style("caption", SMALL_SIZE, textColor=QUIET, spaceBefore=5, spaceAfter=12)
LABEL = _style("label", SMALL_SIZE, textColor=QUIET)
CELL = _style("cell", SMALL_SIZE, 1.24)
CELL_RIGHT = _style("cell right", SMALL_SIZE, 1.24, alignment=TA_RIGHT)
CELL_STRONG = _style("cell strong", SMALL_SIZE, 1.24, fontName=fonts.STRONG)
CELL_ALARM = _style("cell alarm", SMALL_SIZE, 1.24, fontName=fonts.STRONG, textColor=ALARM)
CELL_ALARM_RIGHT = _style("cell alarm right", SMALL_SIZE, 1.24, fontName=fonts.STRONG,
                          textColor=ALARM, alignment=TA_RIGHT)  # fmt: skip
HEAD_CELL = _style("head cell", SMALL_SIZE, 1.18, fontName=fonts.STRONG)
HEAD_RIGHT = _style("head right", SMALL_SIZE, 1.18, fontName=fonts.STRONG, alignment=TA_RIGHT)
TITLE = _style("title", 23, 1.16, fontName=fonts.STRONG, spaceAfter=4)
SUBTITLE = _style("subtitle", 12, 1.3, textColor=QUIET, spaceAfter=10)
BULLET = _style("bullet", BODY_SIZE, 1.38, leftIndent=11, bulletIndent=1, spaceAfter=3)
HEADINGS = (
    _style("heading 1", 14.5, 1.2, fontName=fonts.STRONG, spaceBefore=16, spaceAfter=6),
    _style("heading 2", 11.2, 1.25, fontName=fonts.STRONG, spaceBefore=11, spaceAfter=4),
    _style("heading 3", BODY_SIZE, 1.3, fontName=fonts.STRONG, spaceBefore=7, spaceAfter=2),
)

# A table stays on one page up to so many rows, upright and turned, and up to so many points.
WHOLE, WHOLE_WIDE, TALL = 20, 8, 330.0
NAMES = 100.0  # points that the names at the left of a table keep whatever the numbers ask for


def para(text: str, style: ParagraphStyle = BODY, limit: int = 0) -> Text:
    """Make a paragraph of plain text; no markup of the text is read."""
    return Text(text, style, limit=limit)


def bullet(text: str) -> Item:
    """Make one item of a list."""
    return Item(text, BULLET)


class Kept(KeepTogether):
    """Flowables that stay on one page, and can be measured before they are laid out."""

    def __init__(self, contents: Sequence[Flowable]) -> None:
        super().__init__(list(contents))
        self.contents = tuple(contents)


def gap(height: float) -> Spacer:
    """Leave white space."""
    return Spacer(1, height)


Cell = str | Flowable


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    widths: Sequence[float],
    *,
    numbers: Sequence[int] = (),
    bands: Sequence[int] = (),
    width: float = WIDTH,
    ditto: bool = False,
) -> Flowable:
    """Set a table with quiet rules, a repeated head and numbers aligned on the decimal point.

    Parameters
    ----------
    head : sequence of str
    rows : sequence of sequences
        Text becomes a paragraph, except in the columns of ``numbers``, where short text is set
        on the decimal point and anything longer is set right.
    widths : sequence of float
        Shares of the width; a column that is too narrow for one of its numbers is given more.
    numbers : sequence of int
        Columns of numbers.
    bands : sequence of int
        Rows (counted from 0 below the head) that open a group.
    width : float
        Width of the whole table.
    ditto : bool
        An empty first cell means the same as the cell above it.
    """
    if not rows:
        return para("No rows.", QUIET_SMALL)
    top = [para(text, HEAD_RIGHT if i in numbers else HEAD_CELL) for i, text in enumerate(head)]
    columns = _fitted(head, rows, widths, numbers, width)
    body = [
        [_cell(cell, i in numbers, r in bands, columns[i] - 6.0) for i, cell in enumerate(row)]
        for r, row in enumerate(rows)
    ]
    whole = Grid(
        [top, *body],
        plan=Plan(
            heads=1,
            columns=len(head),
            groups={r + 1 for r in bands},
            ditto=ditto,
            is_named=(len(head) - 1) * len(rows) >= len(head) + len(rows),
        ),
        colWidths=columns,
        repeatRows=1,
        splitInRow=int(any(len(c) > LONG for row in rows for c in row if isinstance(c, str))),
        style=[
            *LOOK,
            *(() if width <= WIDTH else CLOSE),
            *_aligned(body, numbers, columns),
            *_banded(bands, len(rows)),
        ],
        spaceBefore=3,
        spaceAfter=9,
        hAlign="LEFT",
    )
    is_short = len(rows) <= (WHOLE if width <= WIDTH else WHOLE_WIDE)
    return Kept([whole]) if is_short and whole.wrap(width, 1e6)[1] <= TALL else whole


Command = tuple[Any, ...]
LOOK: tuple[Command, ...] = (
    ("FONT", (0, 0), (-1, -1), fonts.TEXT, SMALL_SIZE, SMALL_SIZE * 1.24),
    ("TEXTCOLOR", (0, 0), (-1, -1), INK),
    ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
    ("VALIGN", (0, 1), (-1, -1), "TOP"),
    ("TOPPADDING", (0, 0), (-1, -1), 2.6),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 3.2),
    ("LEFTPADDING", (0, 0), (-1, -1), 3),
    ("RIGHTPADDING", (0, 0), (-1, -1), 3),
    ("LEFTPADDING", (0, 0), (0, -1), 0),
    ("LINEABOVE", (0, 0), (-1, 0), 0.8, INK),
    ("LINEBELOW", (0, 0), (-1, 0), 0.5, INK),
    ("LINEBELOW", (0, 1), (-1, -2), 0.35, HAIR),
    ("LINEBELOW", (0, -1), (-1, -1), 0.5, RULE),
)


# Turned pages are low: their rows stand closer.
CLOSE: tuple[Command, ...] = (
    ("TOPPADDING", (0, 1), (-1, -1), 2.0),
    ("BOTTOMPADDING", (0, 1), (-1, -1), 2.6),
)


def _aligned(
    body: Sequence[Sequence[Cell]], numbers: Sequence[int], columns: Sequence[float]
) -> list[Command]:
    """Set numbers on the decimal point, with room for the longest fraction of their column.

    A number that is wider than its column even so is set smaller: it is never broken.
    """
    found: list[Command] = []
    for column in numbers:
        room = 3.0 + max(_fraction(row[column]) for row in body)
        for r, row in enumerate(body, 1):
            text = row[column]
            if not isinstance(text, str):
                continue
            cell = ((column, r), (column, r))
            share = (columns[column] - 6.0) / max(fonts.width(text, SMALL_SIZE), 1.0)
            if share < 1.0:
                found += [("ALIGN", *cell, "RIGHT"), ("FONTSIZE", *cell, SMALL_SIZE * share)]
            else:
                found += [("ALIGN", *cell, "DECIMAL"), ("RIGHTPADDING", *cell, room)]
    return found


def _banded(bands: Sequence[int], rows: int) -> list[Command]:
    """Shade the rows that open a group, and keep each with the row after it."""
    found: list[Command] = []
    for r in bands:
        found += [
            ("SPAN", (0, r + 1), (-1, r + 1)),
            ("BACKGROUND", (0, r + 1), (-1, r + 1), WASH),
            ("LEFTPADDING", (0, r + 1), (0, r + 1), 3),
            ("NOSPLIT", (0, r + 1), (-1, min(r + 2, rows))),
        ]
    return found


def _fitted(
    head: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    shares: Sequence[float],
    numbers: Sequence[int],
    width: float,
) -> list[float]:
    """Give the widths of the columns: as shared out, but wide enough for every number.

    No word of a head is broken either, nor one of a text cell that fits the column's share. What
    a column lacks is taken from those that have more than they need.
    """
    widths = [share * width / sum(shares) for share in shares]
    heads = [_head_need(text) for text in head]
    needs = list(heads)
    for i, need in enumerate(heads):
        cells = [row[i] for row in rows if i < len(row)]
        if i in numbers:
            needs[i] = max(need, _need(cells))
        else:
            least = max(_words_need(cells), 0.0 if i else NAMES)
            needs[i] = max(need, min(least, widths[i]))
    fixed: dict[int, float] = {}
    while True:
        free = [i for i in range(len(widths)) if i not in fixed]
        scale = (width - sum(fixed.values())) / (sum(widths[i] for i in free) or 1.0)
        short = {i: needs[i] for i in free if needs[i] > widths[i] * scale}
        if not short:
            break
        fixed |= short
    fitted = [fixed[i] if i in fixed else w * scale for i, w in enumerate(widths)]
    return _squeezed(fitted, [heads[i] if i in numbers else w for i, w in enumerate(fitted)], width)


def _squeezed(wanted: Sequence[float], least: Sequence[float], width: float) -> list[float]:
    """Take what is too much from the columns that can give: numbers may be set smaller."""
    over = max(sum(wanted) - width, 0.0)
    spare = [max(w - low, 0.0) for w, low in zip(wanted, least, strict=True)]
    part = min(over / (sum(spare) or 1.0), 1.0)
    held = [w - part * more for w, more in zip(wanted, spare, strict=True)]
    return [w * width / sum(held) for w in held]


def _need(cells: Sequence[Cell]) -> float:
    """Width that numbers on one decimal point need; of longer text, that of its longest part."""
    whole = fraction = longest = 0.0
    for cell in cells:
        text = cell.getPlainText() if isinstance(cell, Paragraph) else cell
        if not isinstance(text, str):
            continue
        text = fonts.printable(text)
        if isinstance(cell, Paragraph) or _is_long(text):
            parts = (fonts.width(part, SMALL_SIZE) for part in text.split(" "))
            longest = max(longest, *parts)
        else:
            behind = _fraction(text)
            whole = max(whole, fonts.width(text, SMALL_SIZE) - behind)
            fraction = max(fraction, behind)
    return 6.5 + max(whole + fraction, longest)


def _words_need(cells: Sequence[Cell]) -> float:
    """Width that the longest word of text cells needs."""
    texts = (fonts.printable(cell) for cell in cells if isinstance(cell, str))
    words = {word for text in texts for word in text.split(" ")}
    return 6.5 + max((fonts.width(word, SMALL_SIZE) for word in words), default=0.0)


def _head_need(text: str) -> float:
    words = fonts.printable(text).split(" ")
    return 6.5 + max(fonts.width(word, SMALL_SIZE, fonts.STRONG) for word in words)


SHORT = 14  # characters of a number; several words that are longer are set as text
LONG = 800  # characters of a cell that might outgrow a page, which splits inside the row


def _is_long(text: str) -> bool:
    return len(text) > SHORT and " " in text


def _fraction(cell: Cell) -> float:
    """Width of what stands right of the last whole digit: decimals, or a sign like %."""
    if not isinstance(cell, str) or not any(c.isdigit() for c in cell):
        return 0.0
    found = re.search(r"(\.\d*)?\D*$", cell)
    return fonts.width(found.group(), SMALL_SIZE) if found else 0.0


def _cell(cell: Cell, is_number: bool, opens_group: bool, room: float) -> Cell:
    """Make a cell's content: text on one line is left to the table, which is five times faster."""
    if not isinstance(cell, str):
        return cell
    if opens_group:
        return para(cell, CELL_STRONG)
    if is_number:
        text = fonts.printable(cell)
        return para(cell, CELL_RIGHT) if _is_long(text) else text
    text = fonts.printable(cell)
    fits = not LOWERED.search(text) and fonts.width(text, SMALL_SIZE) <= room
    return text if fits else para(cell, CELL)


def lightness(color: Color) -> float:
    """Rough grey value of a colour, from 0 for black to 1 for white; picks black or white text."""
    return float(0.3 * color.red + 0.59 * color.green + 0.11 * color.blue)
