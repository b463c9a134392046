"""The table of contents: laid out before the pages are known, filled in when they are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pcompare.documents import fonts, style
from pcompare.documents.drawing import fit
from pcompare.documents.flowables import Heading
from pcompare.documents.tagging import Element, TaggedCanvas

# isort: split
from reportlab.platypus import Flowable

ROW, SIZE = 11.8, 8.8  # points from line to line, and of the letters
COLUMNS, GUTTER, INDENT = 2, 26.0, 12.0
NUMBER = 22.0  # room for the number of a page
HIGHEST = 640.0  # a list that is longer is set closer


class Contents(Flowable):
    """The headings with their pages, in two columns, each line a link.

    Parameters
    ----------
    headings : sequence of Heading
        Those of the first two levels, in reading order; each has its ``key``.
    """

    def __init__(self, headings: Sequence[Heading]) -> None:
        super().__init__()
        self.headings = headings
        self.spaceAfter = 10.0

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Take half as many lines as there are headings."""
        self.rows = math.ceil(len(self.headings) / COLUMNS)
        self.lead = min(ROW, HIGHEST / max(self.rows, 1))
        self.width, self.height = availWidth, self.lead * self.rows
        return self.width, self.height

    def draw(self) -> None:
        """Draw line by line, down the first column and then down the second."""
        canvas: Any = self.canv
        wide = (self.width - GUTTER * (COLUMNS - 1)) / COLUMNS
        whole = canvas.within.add(Element("TOC"))
        inner = whole
        for i, heading in enumerate(self.headings):
            column, row = divmod(i, self.rows)
            left, low = column * (wide + GUTTER), self.height - self.lead * row - SIZE
            is_first = heading.level == self.headings[0].level
            entry = (whole if is_first else inner).add(Element("TOCI"))
            link = entry.add(Element("Link"))
            if is_first and self._goes_on(i):
                inner = entry.add(Element("TOC"))
            self._line(canvas, heading, link, is_first, (left, low, wide))

    def _goes_on(self, place: int) -> bool:
        """Tell whether the heading at a place has headings below it."""
        after = self.headings[place + 1 : place + 2]
        return any(heading.level > self.headings[place].level for heading in after)

    def _line(
        self, canvas: TaggedCanvas, heading: Heading, link: Element, is_first: bool,
        place: tuple[float, float, float],
    ) -> None:  # fmt: skip
        left, low, wide = place
        font, start = (fonts.STRONG, left) if is_first else (fonts.TEXT, left + INDENT)
        canvas.begin(link)
        canvas.setFont(font, SIZE)
        canvas.setFillColor(style.INK)
        room, words = left + wide - NUMBER - start, heading.outline_text
        if fonts.width(words, SIZE, font) > room:  # a product in brackets can be left out here
            words = fit(words.partition(" (")[0], room, SIZE, font)
        canvas.drawString(start, low, words)

        def number(late: TaggedCanvas) -> None:
            late.setFont(font, SIZE)
            late.setFillColor(style.INK)
            late.drawRightString(left + wide, low, str(late.places[heading.key]))

        canvas.later(number)
        canvas.end()
        rect = (left, low - 3.0, left + wide, low + self.lead - 3.0)
        canvas.link(link, heading.outline_text, heading.key, rect)
