"""The carbon budget month by month, and the sludge ages at which organisms are lost.

Positions are scaled from values; no value is made here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pcompare import lines
from pcompare.documents import style
from pcompare.documents.drawing import (
    FONT_SIZE,
    Scale,
    apart,
    box,
    finite,
    linear,
    nothing,
    rule,
    span,
    text,
    tick_text,
)
from pcompare.documents.flowables import Chart
from pcompare.documents.names import listed
from pcompare.documents.words import Figures, lower
from pcompare.findings import Dossier
from pcompare.records import Line, StrategyResult
from pcompare.units import significant

# isort: split
from reportlab.graphics.shapes import PolyLine
from reportlab.lib.colors import Color

NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
YEAR = ("Year",)
HEIGHT, LEFT, BOTTOM, LABELS = 210.0, 40.0, 30.0, 132.0
AT_HAND, EATEN, NEEDED = "vfa_available", "carbon_debit", "vfa_required"
SERIES = {
    "nitrifiers": "nitrifiers are lost below",
    "storing organisms": "storing organisms are lost below",
}


def carbon_budget(result: StrategyResult, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw what storage needs, what is at hand and what nitrate and oxygen eat, by month."""
    held, eaten, needed = (_months(result.lines[q]) for q in (AT_HAND, EATEN, NEEDED))
    count = len(held)
    if not finite([*held, *needed]) or not count == len(eaten) == len(needed):
        return nothing(width, "this alternative has no carbon budget")
    unit = lines.KINDS[AT_HAND].unit
    shown = [[figures.shown(v, unit) for v in row] for row in (held, eaten, needed)]
    stacked = [a + b for a, b in zip(shown[0], shown[1], strict=True)]
    right = width - LABELS
    y = linear([*stacked, *(1.08 * v for v in shown[2])], BOTTOM, HEIGHT - 24.0)
    drawing = Chart(width, HEIGHT, _budget_told(held, needed, figures, unit))
    _frame(drawing, y, LEFT, right)
    drawing.add(text(0, HEIGHT - 9, f"COD per litre of sewage, {figures.unit(unit)}", strong=True))
    each = (right - LEFT) / count
    wide = min(0.62 * each, 46.0)
    for i, name in enumerate(NAMES if count == len(NAMES) else YEAR):
        middle = LEFT + each * (i + 0.5)
        low, high, mark = y.at(shown[0][i]), y.at(stacked[i]), y.at(shown[2][i])
        drawing.add(box(middle - wide / 2, y.start, wide, low - y.start, style.PALETTE[0]))
        drawing.add(box(middle - wide / 2, low, wide, high - low, style.WASH, style.QUIET))
        over = 0.62 * each if wide == 0.62 * each else wide + 10.0
        drawing.add(rule(middle - over * 0.66, mark, middle + over * 0.66, mark, style.ALARM, 1.8))
        drawing.add(text(middle, y.start - 11, name, anchor="middle", color=style.QUIET))
    drawing.add(rule(LEFT, y.start, right, y.start, style.QUIET, 0.6))
    ends = [0.5 * shown[0][-1], shown[0][-1] + 0.5 * shown[1][-1], shown[2][-1]]
    words = (
        "stored by the organisms",
        "eaten first by nitrate and oxygen",
        "needed for the target",
    )
    places = apart([y.at(end) for end in ends], y.start, y.stop, FONT_SIZE + 3.0)
    for end, at, label, color in zip(
        ends, places, words, (style.PALETTE[0], style.QUIET, style.ALARM), strict=True
    ):
        drawing.add(rule(right - 0.2 * each, y.at(end), right + 8, at, color, 0.5))
        drawing.add(text(right + 10, at - 2.6, label, color=style.INK, room=LABELS - 11))
    return drawing


def _budget_told(
    held: Sequence[float], needed: Sequence[float], figures: Figures, unit: str
) -> str:
    """Say what is needed and stored over the months, and in which months too little is."""
    shown = NAMES if len(held) == len(NAMES) else YEAR
    want, have = (
        span([*zip(shown, row, strict=False)], lambda v: figures.number(v, unit), "in")
        for row in (needed, held)
    )
    short = [month for month, h, n in zip(shown, held, needed, strict=False) if h < n]
    told = f"Too little in {listed(short)}" if short else "Enough in every month"
    if len(short) == len(held):
        told = "Too little all year"
    return (
        f"Columns of carbon by month, in {figures.unit(unit)}. Needed for the target: {want}. "
        f"Stored by the organisms: {have}. {told}."
    )


def _months(line: Line) -> Sequence[float]:
    if line.months:
        return line.months
    return (math.nan if line.value is None else line.value,)


def _frame(drawing: Chart, y: Scale, left: float, right: float) -> None:
    step = y.ticks[1] - y.ticks[0] if len(y.ticks) > 1 else y.high
    for tick in y.ticks:
        drawing.add(rule(left, y.at(tick), right, y.at(tick), style.HAIR, 0.4))
        words = tick_text(tick, step)
        drawing.add(text(left - 4, y.at(tick) - 2.6, words, anchor="end", color=style.QUIET))


def washout(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the sludge age below which each kind of organism is lost, by temperature."""
    sweep = dossier.washout
    points = [figures.shown(p, sweep.unit) for p in sweep.points]
    rows = {name: sweep.values[name]["srt"] for name in SERIES if name in sweep.values}
    if not finite(points) or not rows:
        return nothing(width, "there is no temperature to draw against")
    right = width - LABELS - 26.0
    y = linear([v for row in rows.values() for v in row], BOTTOM, HEIGHT - 40.0)
    x = Scale(low=min(points), high=max(points), start=LEFT, stop=right)
    cold, warm = (f"{points[i]:.3g}" for i in (0, -1))
    told = [
        f"{SERIES[name].capitalize()} {significant(row[0], 3)} d at {cold} and "
        f"{significant(row[-1], 3)} d at {warm} {figures.unit(sweep.unit)}"
        for name, row in rows.items()
    ]
    alt = f"Lines of sludge age against the {lower(sweep.label)}. {'. '.join(told)}."
    drawing = Chart(width, HEIGHT - 16.0, alt)
    _frame(drawing, y, LEFT, right)
    drawing.add(text(0, HEIGHT - 25, "Sludge age, d", strong=True))
    for tick in x.ticks:
        drawing.add(text(x.at(tick), y.start - 11, tick_text(tick, 1.0), anchor="middle",
                         color=style.QUIET))  # fmt: skip
    title = f"{sweep.label}, {figures.unit(sweep.unit)}"
    drawing.add(text((LEFT + right) / 2, 4, title, anchor="middle", color=style.QUIET))
    drawing.add(rule(LEFT, y.start, right, y.start, style.QUIET, 0.6))
    looks: tuple[tuple[Color, list[float] | None], ...] = (
        (style.PALETTE[0], None),
        (style.PALETTE[1], [5.0, 2.0]),
    )
    placed = apart([y.at(row[-1]) for row in rows.values()], y.start, y.stop, FONT_SIZE + 3.0)
    for (name, row), (color, dash), at in zip(rows.items(), looks, placed, strict=False):
        dots = [c for p, v in zip(points, row, strict=True) for c in (x.at(p), y.at(v))]
        look: dict[str, Any] = {"strokeColor": color, "strokeWidth": 1.5, "strokeDashArray": dash}
        drawing.add(PolyLine(dots, **look))
        drawing.add(rule(right, y.at(row[-1]), right + 8, at, color, 0.5))
        drawing.add(text(right + 10, at - 2.6, SERIES[name], room=width - right - 11))
    return drawing
