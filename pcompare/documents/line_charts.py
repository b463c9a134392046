"""Lines against the effluent limit, stricter to the right, each labelled where it ends.

Positions are scaled from values; no value is made here. Lines survive missing, infinite and single
values; where nothing can be drawn the chart says so.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pcompare import lines
from pcompare.documents import fonts, names, salt_words, style
from pcompare.documents.drawing import (
    FONT_SIZE,
    Anchor,
    Scale,
    apart,
    falling,
    finite,
    linear,
    multiple,
    nothing,
    rule,
    text,
    tick_text,
)
from pcompare.documents.flowables import Chart
from pcompare.documents.words import Figures, lower, value
from pcompare.findings import Dossier, Sweep
from pcompare.units import significant

# isort: split
from reportlab.graphics.shapes import Circle, Group, Polygon, PolyLine
from reportlab.lib.colors import Color, HexColor, white

DASHES: tuple[list[float] | None, ...] = (None, [5, 2], [1.5, 1.8], [7, 2, 1.5, 2])
BAND = HexColor("#e6ecf2")
HEIGHT, LEFT, BOTTOM, LABELS = 236.0, 44.0, 34.0, 124.0
UNIT = "mg P/L"


@dataclass(frozen=True, kw_only=True, slots=True)
class Series:
    """One line: its name, its values in the printed unit, what is met, and how it looks."""

    label: str
    values: Sequence[float]
    met: Sequence[bool]
    color: Color
    dash: list[float] | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """A value on the axis of the limits, drawn as an upright line with its label."""

    at: float  # in the printed unit
    label: str
    color: Color


@dataclass(frozen=True, kw_only=True, slots=True)
class Placed:
    """A mark with the place of its label above the chart."""

    mark: Mark
    at: float
    left: bool
    low: float
    high: float
    row: int


# --- the charts -------------------------------------------------------------------------------


def dose_against_limit(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the metal dose of each strategy that doses, against the effluent limit."""
    return _of_strategies(dossier, figures, width, "metal_dose", "Metal dose")


def cost_against_limit(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the equal annual cost of each strategy against the effluent limit."""
    return _of_strategies(dossier, figures, width, "equal_annual_cost", "Equal annual cost")


def _of_strategies(
    dossier: Dossier, figures: Figures, width: float, quantity: str, label: str
) -> Chart:
    sweep, unit = dossier.targets, lines.KINDS[quantity].unit
    order = list(dict.fromkeys([*dossier.comparison.strategies, *sweep.values]))
    series = [
        _series(
            sweep, name, quantity, figures, names.short(name, _full_label(dossier, name)),
            order.index(name),
        )
        for name, row in sweep.values.items()
        if quantity in row and any(v != 0.0 for v in finite(row[quantity]))
    ]  # fmt: skip
    marks = [_permit(dossier, figures), *_floors(dossier, figures)]
    if not series:
        return nothing(width, "no alternative has a value along the limits")
    return _chart(sweep, series, marks, figures, width, label, unit)


def dose_models(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the dose of the carried salt by each published model, and the band between them."""
    sweep = dossier.dose_models
    series = [
        _series(sweep, kind, "metal_dose", figures, salt_words.model_name(kind), i)
        for i, (kind, row) in enumerate(sweep.values.items())
        if finite(row.get("metal_dose", ()))
    ]
    product = salt_words.carried(dossier)
    found = dossier.salts.get(product, {})
    mean = salt_words.value(found, "design_mean")
    marks = [
        _permit(dossier, figures),
        _mark(mean, f"sized to a mean of {figures.number(mean, UNIT)}", style.INK, figures),
        _floor(dossier, "coefficient.soluble_floor_activated_sludge", "floor of soluble P",
               figures),
    ]  # fmt: skip
    if not series:
        return nothing(width, "no dose model has a value along the limits")
    label = f"Metal dose, {names.product(product).lower()}" if product else "Metal dose"
    return _chart(sweep, series, marks, figures, width, label, "mg/L", band=True)


def _series(
    sweep: Sweep, name: str, quantity: str, figures: Figures, label: str, place: int
) -> Series:
    unit = lines.KINDS[quantity].unit
    return Series(
        label=label,
        values=[figures.shown(v, unit) for v in sweep.values[name][quantity]],
        met=sweep.feasible.get(name, ()),
        color=style.PALETTE[place % len(style.PALETTE)],
        dash=DASHES[(place + place // len(style.PALETTE)) % len(DASHES)],  # no pair twice
    )


def _full_label(dossier: Dossier, name: str) -> str:
    """Give a strategy's name without its product, which may change along the limits."""
    result = dossier.comparison.strategies.get(name)
    return lines.LABELS.get(name) or (result.label if result is not None else name)


# --- marks ------------------------------------------------------------------------------------


def _mark(at: float, label: str, color: Color, figures: Figures) -> Mark:
    return Mark(at=figures.shown(at, UNIT), label=label, color=color)


def _permit(dossier: Dossier, figures: Figures) -> Mark:
    limit = value(dossier.inputs, "permit.tp")
    return _mark(limit, f"permit limit {figures.exact(limit, UNIT)}", style.ALARM, figures)


def _floor(dossier: Dossier, field: str, label: str, figures: Figures) -> Mark:
    floor = value(dossier.inputs, field)
    return _mark(floor, f"{label} {figures.exact(floor, UNIT)}", style.QUIET, figures)


def _floors(dossier: Dossier, figures: Figures) -> list[Mark]:
    """Give the floors of soluble phosphorus; two that fall together make one."""
    salt = "coefficient.soluble_floor_activated_sludge"
    organisms = "coefficient.soluble_floor_biological"
    if value(dossier.inputs, salt) == value(dossier.inputs, organisms):
        return [_floor(dossier, salt, "floor of soluble P", figures)]
    return [
        _floor(dossier, salt, "floor of soluble P, salt", figures),
        _floor(dossier, organisms, "floor of soluble P, organisms", figures),
    ]


# --- drawing ----------------------------------------------------------------------------------


def _chart(
    sweep: Sweep, series: Sequence[Series], marks: Sequence[Mark], figures: Figures, width: float,
    label: str, unit: str, *, band: bool = False,
) -> Chart:  # fmt: skip
    points = [figures.shown(p, sweep.unit) for p in sweep.points]
    if not finite(points):
        return nothing(width, "there is no limit to draw against")
    right = width - LABELS
    x = falling(finite(points), LEFT, right)
    placed = _placed([m for m in marks if math.isfinite(m.at) and _within(m.at, x)], x)
    top = HEIGHT - 30.0 - 10.0 * max((one.row for one in placed), default=0)
    y = _upright([v for one in series for v in one.values], top, logarithmic=band)
    about = (
        f"{lower(label)} in {figures.unit(unit)} against the {lower(sweep.label)} in "
        f"{figures.unit(sweep.unit)}"
    )
    drawing = Chart(width, HEIGHT, _told(about, points, series, marks))
    if band:
        _band(drawing, series, points, x, y)
    factor, times = multiple(max(abs(y.high), abs(y.low)), "money" in unit)
    _frame(drawing, x, y, factor)
    scaled = f"{label}, {times}{figures.unit(unit)}" + (", logarithmic" if y.logarithmic else "")
    drawing.add(text(0, HEIGHT - 9, scaled, strong=True, room=right))
    title = f"{sweep.label}, {figures.unit(sweep.unit)} (stricter to the right)"
    drawing.add(text((LEFT + right) / 2, 4, title, anchor="middle", color=style.QUIET))
    _draw_marks(drawing, placed, y)
    _draw_series(drawing, series, points, x, y)
    return drawing


def _told(
    about: str, points: Sequence[float], series: Sequence[Series], marks: Sequence[Mark]
) -> str:
    """Say where each line begins and ends, how far it meets everything, and what is marked."""
    told = [one.label + traced(points, one, "meeting every requirement down") for one in series]
    marked = [m.label for m in marks if math.isfinite(m.at)]
    return f"Lines of {about}. {'; '.join(told)}. Marked: {names.listed(marked)}."


def traced(points: Sequence[float], one: Series, how: str) -> str:
    """Say the first and the last value of a line, and how far all requirements are met on it."""
    dots = [(p, v, i < len(one.met) and one.met[i])
            for i, (p, v) in enumerate(zip(points, one.values, strict=False))
            if math.isfinite(p) and math.isfinite(v)]  # fmt: skip
    if not dots:
        return " has no value"
    first, last = (f"{significant(v, 3)} at {p:.3g}" for p, v, _ in (dots[0], dots[-1]))
    met = [p for p, _, is_met in dots if is_met]
    word, _, way = how.rpartition(" ")
    far = min(met, default=0.0) if way == "down" else max(met, default=0.0)
    return f" from {first} to {last}, {f'{how} to {far:.3g}' if met else f'{word} nowhere'}"


def _upright(numbers: Sequence[float], top: float, *, logarithmic: bool) -> Scale:
    """Scale the values; by ratios where that is wanted and all of them are above zero."""
    held = finite(numbers)
    if not logarithmic or not held or min(held) <= 0.0 or max(held) < 1.5 * min(held):
        return linear([*held, 1.05 * max(held, default=0.0)], BOTTOM, top)
    low, high = 0.9 * min(held), 1.05 * max(held)
    return Scale(low=low, high=high, start=BOTTOM, stop=top, logarithmic=True)


def _within(at: float, x: Scale) -> bool:
    return x.low * (1 - 1e-9) <= at <= x.high * (1 + 1e-9)


def _frame(drawing: Chart, x: Scale, y: Scale, factor: float) -> None:
    """Draw grid, ticks and the axis lines."""
    left, right = x.stop, x.start
    step = y.ticks[1] - y.ticks[0] if len(y.ticks) > 1 else y.high
    for tick in y.ticks:
        drawing.add(rule(left, y.at(tick), right, y.at(tick), style.HAIR, 0.4))
        words = tick_text(tick / factor, (tick if y.logarithmic else step) / factor)
        drawing.add(text(left - 4, y.at(tick) - 2.6, words, anchor="end", color=style.QUIET))
    for tick in x.ticks:
        drawing.add(rule(x.at(tick), y.start, x.at(tick), y.start - 3))
        words = tick_text(tick, tick if x.logarithmic else x.high - x.low)
        drawing.add(text(x.at(tick), y.start - 12, words, anchor="middle", color=style.QUIET))
    drawing.add(rule(left, y.start, right, y.start, style.QUIET, 0.6))


def _placed(marks: Sequence[Mark], x: Scale) -> list[Placed]:
    """Place the labels from left to right, each in the lowest row in which it meets no other.

    The first stands left of its line and the others right of theirs, where there is room.
    """
    placed: list[Placed] = []
    for mark in sorted(marks, key=lambda m: x.at(m.at)):
        at, wide = x.at(mark.at), fonts.width(mark.label, FONT_SIZE) + 6.0
        fits_left, fits_right = at - wide >= x.stop, at + wide <= x.start
        left = (fits_left and not placed) or not fits_right
        low, high = (at - wide, at) if left else (at, at + wide)
        row = 0
        while any(p.row == row and low < p.high and high > p.low for p in placed):
            row += 1
        placed.append(Placed(mark=mark, at=at, left=left, low=low, high=high, row=row))
    return placed


def _draw_marks(drawing: Chart, placed: Sequence[Placed], y: Scale) -> None:
    for one in placed:
        level = y.stop + 5.0 + 10.0 * one.row
        drawing.add(rule(one.at, y.start, one.at, level + 6, one.mark.color, 0.8, [3, 2]))
        anchor: Anchor = "end" if one.left else "start"
        side = -3 if one.left else 3
        drawing.add(text(one.at + side, level, one.mark.label, anchor=anchor, color=one.mark.color))


def _band(
    drawing: Chart, series: Sequence[Series], points: Sequence[float], x: Scale, y: Scale
) -> None:
    """Shade between the lowest and the highest line."""
    ends: list[tuple[float, float, float]] = []
    for i, point in enumerate(points):
        found = finite([one.values[i] for one in series if i < len(one.values)])
        if math.isfinite(point) and found:
            ends.append((x.at(point), y.at(min(found)), y.at(max(found))))
    if len(ends) < 2:
        return
    upper = [at for left, _, high in ends for at in (left, high)]
    lower = [at for left, low, _ in reversed(ends) for at in (left, low)]
    look: dict[str, Any] = {"fillColor": BAND, "strokeColor": None}
    drawing.add(Polygon([*upper, *lower], **look))


def _draw_series(
    drawing: Chart, series: Sequence[Series], points: Sequence[float], x: Scale, y: Scale
) -> None:
    """Draw each line, full where everything is met, and its label at the end."""
    ends: list[tuple[float, float, Series]] = []
    for one in series:
        dots = [
            (x.at(p), y.at(v), i < len(one.met) and one.met[i])
            for i, (p, v) in enumerate(zip(points, one.values, strict=False))
            if math.isfinite(p) and math.isfinite(v)
        ]
        if dots:
            drawing.add(trace(dots, one))
            last = max(dots)
            ends.append((last[0], last[1], one))
    placed = apart([end[1] for end in ends], y.start, y.stop - 2.0, FONT_SIZE + 2.0)
    for (end_x, end_y, one), at in zip(ends, placed, strict=True):
        drawing.add(rule(end_x + 2, end_y, x.start + 10, at, one.color, 0.5))
        drawing.add(text(x.start + 12, at - 2.6, one.label, room=drawing.width - x.start - 13))


def trace(dots: Sequence[tuple[float, float, bool]], one: Series) -> Group:
    """Draw one line: stretches that meet everything strong, all others thin, with open dots."""
    group = Group()
    for (x1, y1, met1), (x2, y2, met2) in itertools.pairwise(dots):
        both = met1 and met2
        look: dict[str, Any] = {"strokeColor": one.color, "strokeWidth": 1.5 if both else 0.5}
        if both:
            look["strokeDashArray"] = one.dash
        group.add(PolyLine([x1, y1, x2, y2], **look))
    for dot_x, dot_y, met in dots:
        filled = one.color if met else white
        group.add(
            Circle(dot_x, dot_y, 1.7, strokeColor=one.color, strokeWidth=0.7, fillColor=filled)
        )
    return group
