"""Vector charts with direct labels. Positions are scaled from values; no value is made here.

Every chart survives missing, infinite, single and all-zero values; where nothing can be drawn it
says so.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Any

from pcompare import lines
from pcompare.documents import fonts, style
from pcompare.documents.drawing import (
    FONT_SIZE,
    Anchor,
    Scale,
    apart,
    box,
    falling,
    finite,
    fit,
    linear,
    multiple,
    nothing,
    rule,
    text,
    tick_text,
)
from pcompare.documents.words import Figures, number, value
from pcompare.records import Dossier, StrategyResult

# isort: split
from reportlab.graphics.shapes import Circle, Drawing, Group, PolyLine, Rect
from reportlab.lib.colors import Color, white

ROW = 14.0  # height of one bar with its space
NAMES = 148.0  # width of the names left of bars
TORNADO_NAMES = 186.0
NUMBER = 36.0  # width of a number beside its bar
DASHES: tuple[list[float] | None, ...] = (None, [5, 2], [1.5, 1.8], [7, 2, 1.5, 2])
SHORT_NAMES = {"cost_salt": "Salt", "cost_carbon": "Carbon", "cost_sludge": "Cake",
               "cost_energy": "Power"}  # fmt: skip

# --- lines against the limit ------------------------------------------------------------------


def dose_against_limit(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Drawing:
    """Draw the metal dose of each strategy that doses, against the effluent limit."""
    return _against_limit(dossier, figures, width, "metal_dose", "Metal dose")


def cost_against_limit(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Drawing:
    """Draw the equal annual cost of each strategy against the effluent limit."""
    return _against_limit(dossier, figures, width, "equal_annual_cost", "Equal annual cost")


def _against_limit(
    dossier: Dossier, figures: Figures, width: float, quantity: str, label: str
) -> Drawing:
    sweep = dossier.targets
    unit = lines.KINDS[quantity].unit
    series = {
        name: [figures.shown(v, unit) for v in row[quantity]]
        for name, row in sweep.values.items()
        if quantity in row and any(v != 0.0 for v in finite(row[quantity]))
    }
    points = [figures.shown(p, sweep.unit) for p in sweep.points]
    if not finite(points) or not series:
        return nothing(width, "no alternative has a value along the limits")
    height, left, bottom, right = 228.0, 44.0, 34.0, width - 136.0
    y = linear([v for row in series.values() for v in row], bottom, height - 40.0)
    x = falling(finite(points), left, right)
    drawing = Drawing(width, height)
    factor, times = multiple(max(abs(y.high), abs(y.low)), "money" in unit)
    _frame(drawing, x, y, factor)
    drawing.add(
        text(0, height - 9, f"{label}, {times}{figures.unit(unit)}", strong=True, room=right)
    )
    title = f"{sweep.label}, {figures.unit(sweep.unit)} (stricter to the right)"
    drawing.add(text((left + right) / 2, 4, title, anchor="middle", color=style.QUIET))
    _limit_lines(drawing, dossier, figures, x, y)
    _series(drawing, dossier, series, points, x, y)
    return drawing


def _frame(drawing: Drawing, x: Scale, y: Scale, factor: float) -> None:
    """Draw grid, ticks and the axis lines."""
    left, right = x.stop, x.start
    step = y.ticks[1] - y.ticks[0] if len(y.ticks) > 1 else y.high
    for tick in y.ticks:
        drawing.add(rule(left, y.at(tick), right, y.at(tick), style.HAIR, 0.4))
        words = tick_text(tick / factor, step / factor)
        drawing.add(text(left - 4, y.at(tick) - 2.6, words, anchor="end", color=style.QUIET))
    for tick in x.ticks:
        drawing.add(rule(x.at(tick), y.start, x.at(tick), y.start - 3))
        words = tick_text(tick, tick if x.logarithmic else x.high - x.low)
        drawing.add(text(x.at(tick), y.start - 12, words, anchor="middle", color=style.QUIET))
    drawing.add(rule(left, y.start, right, y.start, style.QUIET, 0.6))


def _limit_lines(drawing: Drawing, dossier: Dossier, figures: Figures, x: Scale, y: Scale) -> None:
    """Draw the permit's limit and the floors of soluble phosphorus, each labelled on the line."""
    marks = [(value(dossier.inputs, "permit.tp"), "permit limit", style.ALARM)]
    for name, words in (
        ("coefficient.soluble_floor_activated_sludge", "floor of soluble P, salt"),
        ("coefficient.soluble_floor_biological", "floor of soluble P, organisms"),
    ):
        marks.append((value(dossier.inputs, name), words, style.QUIET))
    merged: dict[float, tuple[str, Color, float]] = {}
    for limit, words, color in marks:
        if not math.isfinite(limit):
            continue
        shown = figures.shown(limit, "mg P/L")
        if shown in merged:
            merged[shown] = ("floor of soluble P", merged[shown][1], limit)
        elif x.low * (1 - 1e-9) <= shown <= x.high * (1 + 1e-9):
            merged[shown] = (words, color, limit)
    for i, (shown, (words, color, limit)) in enumerate(merged.items()):
        at = x.at(shown)
        level = y.stop + 5 + 10 * (i % 2)
        drawing.add(rule(at, y.start, at, level + 6, color, 0.8, [3, 2]))
        label = f"{words} {figures.exact(limit, 'mg P/L')}"
        near_end = at > x.start - fonts.width(label, FONT_SIZE)
        anchor: Anchor = "end" if near_end else "start"
        drawing.add(text(at + (-3 if near_end else 3), level, label, anchor=anchor, color=color))


def _series(
    drawing: Drawing, dossier: Dossier, series: Mapping[str, Sequence[float]],
    points: Sequence[float], x: Scale, y: Scale,
) -> None:  # fmt: skip
    """Draw each strategy's line, full where it meets the limit, and its label at the end."""
    ends: list[tuple[float, float, str, Color]] = []
    for name, row in series.items():
        index = _place(dossier, name)
        color = style.PALETTE[index % len(style.PALETTE)]
        dash = DASHES[index % len(DASHES)]
        met = dossier.targets.feasible.get(name, ())
        dots = [
            (x.at(p), y.at(v), i < len(met) and met[i])
            for i, (p, v) in enumerate(zip(points, row, strict=False))
            if math.isfinite(p) and math.isfinite(v)
        ]
        if not dots:
            continue
        drawing.add(_trace(dots, color, dash))
        last = max(dots)
        ends.append((last[0], last[1], _label(dossier, name), color))
    wanted = [end[1] for end in ends]
    placed = apart(wanted, y.start, y.stop, FONT_SIZE + 2.0)
    for (end_x, end_y, words, color), at in zip(ends, placed, strict=True):
        drawing.add(rule(end_x + 2, end_y, x.start + 10, at, color, 0.5))
        drawing.add(text(x.start + 12, at - 2.6, words, room=drawing.width - x.start - 13))


def _trace(
    dots: Sequence[tuple[float, float, bool]], color: Color, dash: list[float] | None
) -> Group:
    """Draw one line: stretches that meet the limit strong, all others thin, with open dots."""
    group = Group()
    for (x1, y1, met1), (x2, y2, met2) in itertools.pairwise(dots):
        both = met1 and met2
        look: dict[str, Any] = {"strokeColor": color, "strokeWidth": 1.5 if both else 0.5}
        if both:
            look["strokeDashArray"] = dash
        group.add(PolyLine([x1, y1, x2, y2], **look))
    for dot_x, dot_y, met in dots:
        filled = color if met else white
        group.add(Circle(dot_x, dot_y, 1.7, strokeColor=color, strokeWidth=0.7, fillColor=filled))
    return group


def _place(dossier: Dossier, name: str) -> int:
    """Give a strategy's place in the order of printing, which fixes its colour."""
    names = [*dossier.comparison.strategies, *dossier.targets.values]
    return list(dict.fromkeys(names)).index(name)


def _label(dossier: Dossier, name: str) -> str:
    """Give a strategy's name without its product, which may change along the limits."""
    if name in lines.LABELS:
        return lines.LABELS[name]
    result = dossier.comparison.strategies.get(name)
    return result.label if result is not None else name


# --- bars -------------------------------------------------------------------------------------


def sludge_bars(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Drawing:
    """Draw the increase of raw sludge and of cake."""
    return _multiples(dossier, figures, width, ("sludge_increase", "cake_increase"))


def salt_bars(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Drawing:
    """Draw what is added to the water: chloride, sulfate, sodium and both dissolved solids."""
    ions = ("chloride_added", "sulfate_added", "sodium_added")
    solids = ("tds_increase_residue", "tds_increase_ion_sum")
    return _multiples(dossier, figures, width, ions, solids)


def compared_results(dossier: Dossier) -> list[StrategyResult]:
    """Give the strategies that something is added by: all but the baseline."""
    return [r for r in dossier.comparison.strategies.values() if r.kind != "baseline"]


def _multiples(
    dossier: Dossier, figures: Figures, width: float, *groups: tuple[str, ...]
) -> Drawing:
    """Draw columns of bars, one per quantity, one row per strategy; all of one unit to scale."""
    results = compared_results(dossier)
    drawn = [[q for q in group if _has_values(results, q)] for group in groups]
    drawn = [group for group in drawn if group]
    if not drawn:
        return nothing(width, "no alternative has a value")
    each = (width - NAMES) / max(map(len, drawn))
    heights = [_head(group, figures, each) + ROW * len(results) + 9.0 for group in drawn]
    drawing = Drawing(width, sum(heights))
    reach: dict[str, list[float]] = {}
    for quantity in (q for group in drawn for q in group):
        unit = lines.KINDS[quantity].unit
        values = [figures.shown(number(r, quantity), unit) for r in results]
        reach.setdefault(unit, []).extend(values)
    top = drawing.height
    for group, height in zip(drawn, heights, strict=True):
        _row_of_columns(drawing, results, figures, group, reach, top, each)
        top -= height
    return drawing


def _row_of_columns(
    drawing: Drawing, results: Sequence[StrategyResult], figures: Figures, group: Sequence[str],
    reach: Mapping[str, list[float]], high: float, each: float,
) -> None:  # fmt: skip
    """Draw the names of the strategies once, and one column of bars for each quantity."""
    top = high - _head(group, figures, each)
    right = NAMES + each * len(group)
    for i, result in enumerate(results, 1):
        drawing.add(rule(0, top - ROW * i - 1, right, top - ROW * i - 1, style.HAIR, 0.35))
        drawing.add(text(0, top - ROW * i + 2.6, result.label, room=NAMES - 6))
    for place, quantity in enumerate(group):
        left = NAMES + each * place
        scale = linear(reach[lines.KINDS[quantity].unit], left + NUMBER + 4.0, left + each - 6.0)
        for i, part in enumerate(_heading(quantity, figures, each)):
            drawing.add(text(left + 4, high - 8.0 - 9.4 * i, part, strong=True))
        _bar_column(drawing, results, quantity, figures, scale, left, top)


def _head(group: Sequence[str], figures: Figures, each: float) -> float:
    return max(len(_heading(q, figures, each)) for q in group) * 9.4 + 5.0


def _has_values(results: Sequence[StrategyResult], quantity: str) -> bool:
    return any(math.isfinite(number(r, quantity)) for r in results)


def _heading(quantity: str, figures: Figures, room: float) -> list[str]:
    """Break a quantity's label and unit into lines that fit a column."""
    kind = lines.KINDS[quantity]
    found = [""]
    for word in f"{kind.label}, {figures.unit(kind.unit)}".split(" "):
        longer = f"{found[-1]} {word}".strip()
        if fonts.width(longer, FONT_SIZE, fonts.STRONG) <= room - 8.0:
            found[-1] = longer
        else:
            found.append(word)
    return [part for part in found if part]


def _bar_column(
    drawing: Drawing, results: Sequence[StrategyResult], quantity: str, figures: Figures,
    scale: Scale, left: float, top: float,
) -> None:  # fmt: skip
    """Draw one column: the number, then its bar from the column's zero line."""
    unit = lines.KINDS[quantity].unit
    zero = scale.at(0.0)
    for i, result in enumerate(results, 1):
        y = top - ROW * i
        label = figures.number(number(result, quantity), unit)
        drawing.add(text(left + NUMBER, y + 2.6, label, anchor="end"))
        shown = figures.shown(number(result, quantity), unit)
        if _drawable(shown):
            end = scale.at(shown)
            fill = style.PALETTE[0 if shown > 0.0 else 1]
            drawing.add(box(min(zero, end), y + 2, max(abs(end - zero), 0.4), ROW - 6, fill))
    drawing.add(rule(zero, top, zero, top - ROW * len(results), style.QUIET, 0.5))


def cost_items(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Drawing:
    """Draw the annual cost of each strategy as one bar of its items; savings run to the left."""
    results = compared_results(dossier)
    used = [item for item in lines.COST_ITEMS if any(_drawable(number(r, item)) for r in results)]
    if not used:
        return nothing(width, "no alternative has an annual cost")
    stacks = {r.name: [(i, number(r, i)) for i in used if _drawable(number(r, i))] for r in results}
    reach = [sum(v for _, v in s if v > 0.0) for s in stacks.values()]
    depth = [sum(v for _, v in s if v < 0.0) for s in stacks.values()]
    key, key_height = _key(used, width)
    row = 20.0
    height = row * len(results) + 40.0 + key_height
    drawing = Drawing(width, height)
    totals = [figures.number(number(r, "annual_cost"), "money/y", 2) for r in results]
    room = max(fonts.width(total, FONT_SIZE, fonts.STRONG) for total in totals)
    scale = linear([*reach, *depth], NAMES + 8.0, width - room - 8.0)
    bottom = key_height + 28.0
    _money_axis(drawing, scale, bottom, height - 12.0, figures, "money/y")
    for i, (result, total) in enumerate(zip(results, totals, strict=True)):
        y = height - 12.0 - row * (i + 1)
        drawing.add(text(0, y + 6, result.label, room=NAMES - 6))
        _stack(drawing, scale, stacks[result.name], used, y)
        end = scale.at(sum(v for _, v in stacks[result.name] if v > 0.0))
        drawing.add(text(end + 4, y + 6, total, strong=True))
    drawing.add(rule(scale.at(0.0), bottom, scale.at(0.0), height - 12, style.QUIET, 0.6))
    drawing.add(key)
    return drawing


def _drawable(amount: float) -> bool:
    return math.isfinite(amount) and amount != 0.0


def _stack(
    drawing: Drawing, scale: Scale, parts: Sequence[tuple[str, float]], used: Sequence[str],
    y: float,
) -> None:  # fmt: skip
    """Draw the items of one strategy end to end, each named inside where there is room."""
    right = left = 0.0
    for item, amount in parts:
        start = right if amount > 0.0 else left
        if amount > 0.0:
            right += amount
        else:
            left += amount
        x1, x2 = sorted((scale.at(start), scale.at(start + amount)))
        color = style.PALETTE[used.index(item) % len(style.PALETTE)]
        drawing.add(box(x1, y + 2, x2 - x1, 13, color, white))
        words = SHORT_NAMES.get(item, lines.KINDS[item].label)
        if fonts.width(words, 7.0) < x2 - x1 - 5:
            ink = white if style.lightness(color) < 0.55 else style.INK
            drawing.add(text((x1 + x2) / 2, y + 6, words, anchor="middle", size=7.0, color=ink))


def _key(used: Sequence[str], width: float) -> tuple[Group, float]:
    """Draw the key of the items in as many rows as they take."""
    group, x, row = Group(), 0.0, 0
    spots: list[tuple[float, int, str]] = []
    for item in used:
        need = fonts.width(lines.KINDS[item].label, FONT_SIZE) + 19.0
        if x + need > width:
            x, row = 0.0, row + 1
        spots.append((x, row, item))
        x += need
    for i, (left, line, item) in enumerate(spots):
        y = 12.0 * (row - line)
        color = style.PALETTE[i % len(style.PALETTE)]
        group.add(box(left, y, 8, 8, color))
        group.add(text(left + 11, y + 1, lines.KINDS[item].label))
    return group, 12.0 * (row + 1)


def _money_axis(
    drawing: Drawing, scale: Scale, bottom: float, top: float, figures: Figures, unit: str
) -> None:
    """Draw a horizontal axis of money with round ticks."""
    factor, times = multiple(max(abs(scale.high), abs(scale.low)), money=True)
    step = scale.ticks[1] - scale.ticks[0] if len(scale.ticks) > 1 else scale.high
    for tick in scale.ticks:
        at = scale.at(tick)
        drawing.add(rule(at, bottom, at, top, style.HAIR, 0.4))
        words = tick_text(tick / factor, step / factor)
        drawing.add(text(at, bottom - 9, words, anchor="middle", color=style.QUIET))
    middle = (scale.start + scale.stop) / 2
    words = f"{times}{figures.unit(unit)}"
    drawing.add(text(middle, bottom - 20, words, anchor="middle", color=style.QUIET))


# --- tornado ----------------------------------------------------------------------------------


def tornado(
    dossier: Dossier, figures: Figures, width: float = style.WIDTH, most: int = 12
) -> Drawing:
    """Draw what each input does to the present worth of the runner-up less that of the best."""
    swings = [
        s for s in dossier.sensitivity if math.isfinite(s.at_low) and math.isfinite(s.at_high)
    ][:most]
    if not swings:
        return nothing(width, "fewer than two alternatives compete, or no input has a range")
    row, bottom = 17.0, 26.0
    height = row * len(swings) + bottom + 20.0
    drawing = Drawing(width, height)
    numbers = [n for s in swings for n in (s.at_low, s.at_high)]
    scale = linear(numbers, TORNADO_NAMES + 44.0, width - 44.0)
    top = height - 16.0
    _money_axis(drawing, scale, bottom, top, figures, "money")
    zero = scale.at(0.0)
    drawing.add(rule(zero, bottom, zero, top + 2, style.ALARM, 0.9))
    if scale.low < 0.0:
        drawing.add(text(zero - 4, top + 5, "the order turns", anchor="end", color=style.ALARM))
    for i, swing in enumerate(swings):
        y = top - row * (i + 1)
        unit = f", {figures.unit(swing.unit)}".rstrip(", ")
        label = fit(fonts.printable(swing.label), TORNADO_NAMES - fonts.width(unit, FONT_SIZE))
        drawing.add(text(0, y + 5, label + unit))
        ends = ((swing.at_low, swing.low_input), (swing.at_high, swing.high_input))
        (x1, first), (x2, last) = sorted((scale.at(at), given) for at, given in ends)
        if x1 < zero:
            drawing.add(_swing_part(x1, min(x2, zero), y, style.PALETTE[1]))
        if x2 > zero:
            drawing.add(_swing_part(max(x1, zero), x2, y, style.PALETTE[0]))
        _end_label(drawing, x1 - 3, y, figures.end(first, swing.unit), "end")
        _end_label(drawing, x2 + 3, y, figures.end(last, swing.unit), "start")
    return drawing


def _end_label(drawing: Drawing, x: float, y: float, words: str, anchor: Anchor) -> None:
    """Set the input's value beside the bar, on white where it crosses the line of zero."""
    wide = fonts.width(words, FONT_SIZE)
    left = x - wide if anchor == "end" else x
    drawing.add(box(left - 1, y + 3, wide + 2, 10, white))
    drawing.add(text(x, y + 5, words, anchor=anchor))


def _swing_part(x1: float, x2: float, y: float, color: Color) -> Rect:
    return box(x1, y + 2.5, max(x2 - x1, 0.6), 11, color)
