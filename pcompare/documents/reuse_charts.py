"""The reused supply along a drought: one line for each group of alternatives that go together.

Positions are scaled from values; no value is made here. Where nothing can be drawn it says so.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pcompare.documents import names, style
from pcompare.documents.drawing import (
    FONT_SIZE,
    Scale,
    apart,
    finite,
    linear,
    nothing,
    rule,
    text,
    tick_text,
)
from pcompare.documents.flowables import Chart
from pcompare.documents.line_charts import DASHES, Series, trace, traced
from pcompare.documents.words import Figures, lower
from pcompare.findings import Dossier, Sweep, UseLimit

# isort: split
from reportlab.lib.colors import Color

TOGETHER = 0.015  # lines within this share of each other all along are drawn as one
HEIGHT, LEFT, BOTTOM, LABELS = 196.0, 44.0, 34.0, 150.0
HEAD_ROOM = 26.0  # points above the plot for the title of its axis and the design drought


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Alternatives whose lines fall together."""

    members: tuple[str, ...]
    values: tuple[float, ...]
    met: tuple[bool, ...]


def drought(dossier: Dossier, figures: Figures, quantity: str, width: float = style.WIDTH) -> Chart:
    """Draw one quantity of the reused supply along the drought that cuts river and use together."""
    picture = dossier.reuse
    sweep = picture.curves["both"]
    groups = grouped(sweep, quantity)
    what = next(q for q in picture.quantities if q.key == quantity)
    if not groups or not finite([v for g in groups for v in g.values]):
        return nothing(width, "no drought with a steady state can be drawn")
    right = width - LABELS
    x = linear([100.0 * p for p in sweep.points], LEFT, right)
    held = [x for x in picture.limits if x.key in picture.governing and x.quantity == quantity]
    numbers = [figures.shown(v, what.unit) for g in groups for v in g.values]
    top = HEIGHT - HEAD_ROOM
    y = linear([*numbers, *(1.1 * limit.value for limit in held)], BOTTOM, top)
    points = [100.0 * p for p in sweep.points]
    series = [_series(i, group, what.unit, figures) for i, group in enumerate(groups)]
    limits = [f"{x.use.lower()} {figures.given(x.value, x.unit)}" for x in held]
    limits.append(f"design drought {100.0 * picture.drought.river_cut:.3g} %")
    told = "; ".join(one.label + traced(points, one, "within every limit up") for one in series)
    drawing = Chart(
        width, HEIGHT,
        f"Lines of {lower(what.label)} in {figures.unit(what.unit)} against "
        f"{lower(sweep.label)} in %. {told}. Marked: {names.listed(limits)}.",
    )  # fmt: skip
    _frame(drawing, x, y)
    unit = figures.unit(what.unit)
    drawing.add(text(0, HEIGHT - 9, f"{what.label}, {unit}".rstrip(", "), strong=True, room=right))
    title = f"{sweep.label}, %"
    drawing.add(text((LEFT + right) / 2, 4, title, anchor="middle", color=style.QUIET))
    for limit in held:
        _limit(drawing, limit, x, y, figures)
    _design(drawing, 100.0 * picture.drought.river_cut, x, y)
    _draw(drawing, series, points, x, y)
    return drawing


def grouped(sweep: Sweep, quantity: str) -> list[Group]:
    """Put alternatives together whose lines a reader could not tell apart, in printing order."""
    groups: list[Group] = []
    for name, rows in sweep.values.items():
        row = rows.get(quantity, ())
        met = sweep.feasible.get(name, ())
        for place, group in enumerate(groups):
            if group.met == met and _alike(group.values, row):
                members = (*group.members, name)
                groups[place] = Group(members=members, values=group.values, met=met)
                break
        else:
            if finite(row):
                groups.append(Group(members=(name,), values=tuple(row), met=tuple(met)))
    return groups


def _alike(one: Sequence[float], other: Sequence[float]) -> bool:
    return len(one) == len(other) and all(
        abs(a - b) <= TOGETHER * max(abs(a), abs(b)) or (math.isnan(a) and math.isnan(b))
        for a, b in zip(one, other, strict=True)
    )


def _series(place: int, group: Group, unit: str, figures: Figures) -> Series:
    label = names.short(group.members[0])
    if len(group.members) > 1:
        label += f" and {len(group.members) - 1} more"
    return Series(
        label=label,
        values=[figures.shown(v, unit) for v in group.values],
        met=group.met,
        color=style.PALETTE[place % len(style.PALETTE)],
        dash=DASHES[(place + place // len(style.PALETTE)) % len(DASHES)],
    )


def _frame(drawing: Chart, x: Scale, y: Scale) -> None:
    """Draw grid, ticks and the axis line."""
    step = y.ticks[1] - y.ticks[0] if len(y.ticks) > 1 else y.high
    for tick in y.ticks:
        drawing.add(rule(x.start, y.at(tick), x.stop, y.at(tick), style.HAIR, 0.4))
        words = tick_text(tick, step)
        drawing.add(text(x.start - 4, y.at(tick) - 2.6, words, anchor="end", color=style.QUIET))
    for tick in x.ticks:
        drawing.add(rule(x.at(tick), y.start, x.at(tick), y.start - 3))
        words = tick_text(tick, 10.0)
        drawing.add(text(x.at(tick), y.start - 12, words, anchor="middle", color=style.QUIET))
    drawing.add(rule(x.start, y.start, x.stop, y.start, style.QUIET, 0.6))


def _limit(drawing: Chart, limit: UseLimit, x: Scale, y: Scale, figures: Figures) -> None:
    """Draw a limit as a level line with its name above it."""
    level = y.at(figures.shown(limit.value, limit.unit))
    drawing.add(rule(x.start, level, x.stop, level, style.ALARM, 0.9))
    words = f"{limit.use.lower()}, {figures.given(limit.value, limit.unit)}"
    drawing.add(text(x.start + 3, level + 3, words, color=style.ALARM, room=x.stop - x.start))


def _design(drawing: Chart, at: float, x: Scale, y: Scale) -> None:
    """Draw the design drought as an upright line."""
    if not x.low <= at <= x.high:
        return
    color: Color = style.QUIET
    drawing.add(rule(x.at(at), y.start, x.at(at), y.stop + 6, color, 0.8, [3, 2]))
    left = x.at(at) > 0.5 * (x.start + x.stop)
    side = -3 if left else 3
    drawing.add(
        text(x.at(at) + side, y.stop + 1, "design drought", anchor="end" if left else "start",
             color=color)
    )  # fmt: skip


def _draw(
    drawing: Chart, series: Sequence[Series], points: Sequence[float], x: Scale, y: Scale
) -> None:
    """Draw each line and its label where it ends."""
    ends: list[tuple[float, float, Series]] = []
    for one in series:
        dots = [
            (x.at(p), y.at(v), i < len(one.met) and one.met[i])
            for i, (p, v) in enumerate(zip(points, one.values, strict=False))
            if math.isfinite(p) and math.isfinite(v)
        ]
        if dots:
            drawing.add(trace(dots, one))
            ends.append((dots[-1][0], dots[-1][1], one))
    placed = apart([end[1] for end in ends], y.start, y.stop - 2.0, FONT_SIZE + 2.0)
    for (end_x, end_y, one), at in zip(ends, placed, strict=True):
        drawing.add(rule(end_x + 2, end_y, x.stop + 10, at, one.color, 0.5))
        drawing.add(text(x.stop + 12, at - 2.6, one.label, room=drawing.width - x.stop - 13))
