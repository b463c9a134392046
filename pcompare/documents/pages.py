"""Headings, turned pages, and where pages break: no heading stands alone at a page's foot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pcompare.documents import fonts, style

# isort: split
from reportlab.graphics.shapes import Drawing
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    NextPageTemplate,
    PageBreak,
    Paragraph,
)

UPRIGHT, WIDE = "later", "wide"  # page templates
BEGINNING = 96.0  # points of a long table or text that stay with its heading
LEAD = 60.0  # points of opening sentences that stay with the table or figure after them


class Heading(Paragraph):
    """A heading that the outline lists."""

    def __init__(self, text: str, level: int) -> None:
        super().__init__(style.markup(text), style.HEADINGS[level])
        self.outline_text = fonts.printable(text)
        self.outline_level = level


def section(text: str, level: int) -> list[Flowable]:
    """Give a heading; ``kept`` sees to it that it does not stand alone."""
    return [Heading(text, level)]


def titled(text: str, content: Flowable) -> list[Flowable]:
    """Give a small heading, which the outline does not list, and its content."""
    return [style.para(text, style.HEADINGS[2]), content]


def turned(content: Sequence[Flowable]) -> list[Flowable]:
    """Set something on turned pages of its own."""
    return [
        NextPageTemplate(WIDE),
        PageBreak(),
        *content,
        NextPageTemplate(UPRIGHT),
        PageBreak(),
    ]


def kept(story: Sequence[Flowable]) -> Iterator[Flowable]:
    """Put before each heading, or run of them, a break that leaves room for what it opens."""
    width, limit = style.WIDTH, _height(style.PAGE[1])
    for place, flowable in enumerate(story):
        if isinstance(flowable, NextPageTemplate):
            is_wide = flowable.action[1] == WIDE
            width = style.WIDE if is_wide else style.WIDTH
            limit = _height(style.TURNED[1] if is_wide else style.PAGE[1])
        if is_heading(flowable) and not (place and is_heading(story[place - 1])):
            yield CondPageBreak(min(_room(story[place:], width), limit))
        yield flowable


def _height(page: float) -> float:
    return page - style.TOP - style.BOTTOM - 1.0


def is_heading(flowable: Flowable) -> bool:
    """Tell whether a flowable is a heading of any level."""
    return isinstance(flowable, Paragraph) and flowable.style in style.HEADINGS


def _room(story: Sequence[Flowable], width: float) -> float:
    """Height of the headings that a story begins with and of what has to stay with them."""
    needed, opening = 0.0, 0.0
    for flowable in story:
        height = tall(flowable, width)
        if is_heading(flowable):
            needed += height
        elif isinstance(flowable, Paragraph) and opening + height <= LEAD:
            opening += height
        else:
            whole = isinstance(flowable, style.Kept)
            return needed + opening + (height if whole else min(height, BEGINNING))
    return needed + opening


def tall(flowable: Flowable, width: float) -> float:
    """Height that a flowable takes on a page, with the space around it."""
    if isinstance(flowable, style.Kept):
        return float(sum(tall(part, width) for part in flowable.contents))
    if isinstance(flowable, NextPageTemplate | PageBreak):
        return 0.0
    _, height = flowable.wrap(width, 1e6)
    return float(height + flowable.getSpaceBefore() + flowable.getSpaceAfter())


def figure(number: int, title: str, drawing: Drawing, caption: str) -> Flowable:
    """Keep a figure's title, drawing and caption on one page."""
    return style.Kept(
        [
            style.para(f"Figure {number}. {title}", style.HEADINGS[2]),
            style.gap(3),
            drawing,
            style.para(caption, style.CAPTION),
        ]
    )
