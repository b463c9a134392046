"""The brief's picture of salt: every option shown against the limits of the users.

Positions are scaled from values; no value is made here. A circle is a normal year, a triangle the
drought: told by shape and lightness, never by colour alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pcompare.documents import brief_choice as chosen
from pcompare.documents import brief_outlook, brief_words, fonts, style
from pcompare.documents.drawing import Anchor, Scale, linear, nothing, rule, text, tick_text
from pcompare.documents.flowables import Chart
from pcompare.documents.words import Figures
from pcompare.findings import Dossier, UsedWater, UseLimit
from pcompare.records import StrategyResult
from pcompare.units import significant

# isort: split
from reportlab.graphics.shapes import Circle, Polygon, Shape
from reportlab.lib.colors import Color, white

SIZE = 9.0
NAMES, VERDICT, GAP = 142.0, 62.0, 16.0
ROW, HEAD, FOOT = 25.0, 47.0, 27.0
PANELS = 2  # limits drawn beside each other
FILL: Mapping[str, Color] = {"normal": style.PALETTE[0], "drought": style.PALETTE[1],
                             "effluent": style.PALETTE[2]}  # fmt: skip
SITUATIONS = {"normal": "a normal year", "drought": "the drought",
              "effluent": "the treated water"}  # fmt: skip
WORDS = {"normal": "normal year", "drought": "drought", "effluent": "treated water, undiluted"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """One value of one option in one situation, in printed units."""

    when: str
    value: float


def salt(
    dossier: Dossier, shown: Sequence[StrategyResult], figures: Figures, width: float = style.WIDTH
) -> Chart:
    """Draw what each option leaves in the water against the limits, in as many as two panels."""
    picture = dossier.reuse
    results = [r for r in shown if r.name in picture.water]
    held = brief_outlook.governing(dossier)[:PANELS]
    if not results or not any(marks(dossier, r, x, figures) for r in results for x in held):
        return nothing(width, "salt rises without end, or nothing is known of it", SIZE)
    height = HEAD + ROW * len(results) + FOOT
    told = [_told(dossier, results, limit, figures) for limit in held]
    drawing = Chart(width, height, f"Marks for each option against limits. {' '.join(told)}")
    top = height - HEAD
    _names(drawing, dossier, results, top, width)
    each = (width - NAMES - VERDICT) / len(held)
    for place, limit in enumerate(held):
        rows = [marks(dossier, r, limit, figures) for r in results]
        left = NAMES + each * place
        _panel(drawing, rows, limit, figures, (left + GAP, left + each - GAP), top)
    _key(drawing, height, situations(dossier), all(limit.own for limit in held))
    return drawing


def _told(
    dossier: Dossier, results: Sequence[StrategyResult], limit: UseLimit, figures: Figures
) -> str:
    """Say what every option leaves of one quantity, and the limit."""
    unit = brief_words.unit_words(limit.unit, figures)
    what = brief_words.capital(brief_outlook.water(limit.quantity))
    rows = [
        f"{brief_words.titled(r)} "
        + ", ".join(f"{significant(m.value, 3)} in {SITUATIONS[m.when]}" for m in found)
        for r in results
        if (found := marks(dossier, r, limit, figures))
    ]
    level = figures.exact(limit.value, limit.unit)
    return f"{what}, limit {level} {unit}: {'; '.join(rows)}."


def situations(dossier: Dossier) -> tuple[str, ...]:
    """Name what is drawn: both kinds of year, or the treated water where none comes back."""
    return ("normal", "drought") if chosen.is_reused(dossier) else ("effluent",)


def marks(
    dossier: Dossier, result: StrategyResult, limit: UseLimit, figures: Figures
) -> list[Mark]:  # fmt: skip
    """Give what can be drawn of one option against one limit."""
    used = dossier.reuse.water.get(result.name, {}).get(limit.quantity)
    if used is None:
        return []
    found = [(when, _of(used, when)) for when in situations(dossier)]
    return [
        Mark(when=when, value=figures.shown(value, limit.unit))
        for when, value in found
        if value is not None and math.isfinite(value)
    ]


def _of(used: UsedWater, when: str) -> float | None:
    return {"normal": used.normal, "drought": used.drought, "effluent": used.effluent}[when]


def _names(
    drawing: Chart, dossier: Dossier, results: Sequence[StrategyResult], top: float, width: float
) -> None:
    """Set the names at the left and, where the water is used again, the verdict at the right."""
    for i, words in enumerate(("Limits", "kept?")):
        drawing.add(text(width, top + 17 - 11 * i, words, anchor="end", size=SIZE, strong=True))
    for i, result in enumerate(results, 1):
        y = top - ROW * i
        drawing.add(rule(0, y, width, y, style.HAIR, 0.4))
        _lines(drawing, broken(brief_words.titled(result), NAMES - 6), 0, y, "start")
        _lines(drawing, verdict(dossier, result.name), width, y, "end")


def _lines(drawing: Chart, parts: Sequence[str], x: float, y: float, anchor: Anchor) -> None:
    """Set one or two lines of text in the middle of a row."""
    for i, part in enumerate(parts):
        at = y + ROW / 2 - 3 + 5.4 * (len(parts) - 1) - 10.8 * i
        drawing.add(text(x, at, part, anchor=anchor, size=SIZE))


def verdict(dossier: Dossier, name: str) -> tuple[str, ...]:
    """Say in words whether an option keeps every limit that counts."""
    if not chosen.is_reused(dossier):
        return ("yes" if chosen.keeps_salt(dossier, name, "effluent") else "no",)
    normal, drought = (chosen.keeps_salt(dossier, name, when) for when in ("normal", "drought"))
    if normal and drought:
        return ("yes, in both",)
    return ("normal: yes", "drought: no") if normal else ("no",)


def broken(words: str, room: float, most: int = 2) -> list[str]:
    """Break a name into lines of a width; the last is cut where drawn."""
    found = [""]
    for word in words.split(" "):
        longer = f"{found[-1]} {word}".strip()
        if fonts.width(longer, SIZE) <= room or len(found) == most:
            found[-1] = longer
        else:
            found.append(word)
    last = found[-1]
    while fonts.width(last, SIZE) > room:
        last = last.removesuffix("…")[:-1].rstrip() + "…"
    return [*found[:-1], last]


def _panel(
    drawing: Chart, rows: Sequence[Sequence[Mark]], limit: UseLimit, figures: Figures,
    ends: tuple[float, float], top: float,
) -> None:  # fmt: skip
    """Draw one quantity: marks of every option, and the limit as an upright line."""
    level = figures.shown(limit.value, limit.unit)
    x = linear([1.12 * level, *(m.value for row in rows for m in row)], *ends)
    bottom = top - ROW * len(rows)
    step = x.ticks[1] - x.ticks[0] if len(x.ticks) > 1 else x.high
    room = fonts.width(tick_text(x.high, step), SIZE) + 8.0
    last = -math.inf
    for tick in x.ticks:
        drawing.add(rule(x.at(tick), bottom, x.at(tick), top, style.HAIR, 0.4))
        if x.at(tick) - last >= room:
            last = x.at(tick)
            words = tick_text(tick, step)
            drawing.add(text(last, bottom - 11, words, anchor="middle", size=SIZE))
    unit = brief_words.unit_words(limit.unit, figures)
    title = f"{brief_words.capital(brief_outlook.water(limit.quantity))}, {unit}".rstrip(", ")
    middle = (ends[0] + ends[1]) / 2
    across = ends[1] - ends[0] + 2 * GAP
    drawing.add(text(middle, bottom - 23, title, anchor="middle", size=SIZE, room=across))
    at = x.at(level)
    drawing.add(rule(at, bottom, at, top + 4, style.INK, 1.5))
    words = f"limit {figures.exact(limit.value, limit.unit)}"
    anchor: Anchor = "end" if at > middle else "start"
    drawing.add(text(at, top + 7, words, anchor=anchor, size=SIZE, strong=True))
    for i, row in enumerate(rows, 1):
        _row(drawing, row, x, top - ROW * (i - 0.5))


def _row(drawing: Chart, row: Sequence[Mark], x: Scale, y: float) -> None:
    """Draw the marks of one option, joined by a thin line, the later above the earlier."""
    if len(row) > 1:
        drawing.add(rule(x.at(row[0].value), y, x.at(row[-1].value), y, style.QUIET, 0.7))
    for mark in row:
        drawing.add(symbol(mark.when, x.at(mark.value), y))


def symbol(when: str, x: float, y: float) -> Shape:
    """Draw the mark of one situation."""
    if when == "drought":
        points = [x - 5.0, y - 4.0, x + 5.0, y - 4.0, x, y + 5.2]
        return Polygon(points, fillColor=FILL[when], strokeColor=style.INK, strokeWidth=0.7)
    return Circle(x, y, 3.9, fillColor=FILL[when], strokeColor=white, strokeWidth=0.5)


def _key(drawing: Chart, height: float, whens: Sequence[str], is_own: bool) -> None:
    """Name the symbols above the chart."""
    x = NAMES + GAP
    for when in whens:
        drawing.add(symbol(when, x, height - 8))
        drawing.add(text(x + 9, height - 11, WORDS[when], size=SIZE))
        x += 26.0 + fonts.width(WORDS[when], SIZE)
    drawing.add(rule(x, height - 13, x, height - 3, style.INK, 1.5))
    drawing.add(
        text(
            x + 6,
            height - 11,
            f"limit {'of the users' if is_own else 'for drinking water'}",
            size=SIZE,
        )
    )
