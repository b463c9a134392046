"""Headings, titles, turned pages, and where pages break: no heading stands alone at a foot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pcompare.documents import style
from pcompare.documents.flowables import Chart, Grid, Heading, Plan, Text
from pcompare.documents.tagging import Element

# isort: split
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    NextPageTemplate,
    PageBreak,
    Paragraph,
)

UPRIGHT, WIDE = "later", "wide"  # page templates
FIRST = 2  # level of a section's heading; the title of the memo has level 1
BEGINNING = 96.0  # points of a long table or text that stay with its heading
LEAD = 60.0  # points of opening sentences that stay with the table or figure after them


def section(text: str, level: int) -> list[Flowable]:
    """Give a heading that the outline lists; ``kept`` sees to it that it does not stand alone."""
    return [Heading(text, style.HEADINGS[level], level + FIRST)]


def small(text: str) -> Heading:
    """Give a small heading, which the outline does not list."""
    return Heading(text, style.HEADINGS[2])


class Title(Text):
    """The title of a table or figure, which gets its number when the whole memo is known."""

    def __init__(self, kind: str, text: str, key: str, plan: Plan | None = None) -> None:
        super().__init__(text, style.HEADINGS[2])
        self.kind, self.words, self.key, self.plan = kind, text, key, plan

    def split(self, availWidth: float, availHeight: float) -> list[Any]:
        """Never split: a title that does not fit goes to the next page."""
        return []

    def made(self) -> Element:
        """Stand first in the table that this is the title of, or before the figure."""
        if self.plan is None:
            return Element("P")
        if self.plan.element.parent is None:
            self.canv.within.add(self.plan.element)
        return self.plan.element.add(Element("Caption"))


def tabled(text: str, content: Flowable, key: str = "") -> list[Flowable]:
    """Give a table with its title; ``key`` is what other text refers to it by."""
    whole = content.contents[0] if isinstance(content, style.Kept) else content
    plan = whole.plan if isinstance(whole, Grid) else None
    return [Title("Table", text, key, plan), content]


def numbered(story: Sequence[Flowable]) -> None:
    """Give tables and figures their numbers, also where text refers to them."""
    flowables = [*_spread(story)]
    counts = dict.fromkeys(("Table", "Figure"), 0)
    known: dict[str, str] = {}
    for title in (f for f in flowables if isinstance(f, Title)):
        counts[title.kind] += 1
        name = f"{title.kind} {counts[title.kind]}"
        title.reset(f"{name}. {title.words}")
        if title.key:
            known[title.key] = name
    for text in (f for f in flowables if isinstance(f, Text)):
        text.resolve(known)
    for i, heading in enumerate(headings(flowables), 1):
        heading.key = f"heading-{i}"


def headings(story: Sequence[Flowable]) -> list[Heading]:
    """Give the headings that the outline and the contents list."""
    return [f for f in _spread(story) if isinstance(f, Heading) and f.level >= FIRST]


def _spread(story: Sequence[Flowable]) -> Iterator[Flowable]:
    for flowable in story:
        if isinstance(flowable, style.Kept):
            yield from _spread(flowable.contents)
        else:
            yield flowable


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


def figure(title: str, drawing: Chart, caption: str, key: str = "") -> Flowable:
    """Keep a figure's title, drawing and caption on one page."""
    return style.Kept(
        [
            Title("Figure", title, key),
            style.gap(3),
            drawing,
            style.para(caption, style.CAPTION),
        ]
    )
