"""Bars with direct labels. Positions are scaled from values; no value is made here.

Every chart survives missing, infinite, single and all-zero values; where nothing can be drawn it
says so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from pcompare import lines
from pcompare.documents import fonts, names, style
from pcompare.documents.drawing import (
    FONT_SIZE,
    Anchor,
    Scale,
    box,
    fit,
    linear,
    multiple,
    nothing,
    rule,
    span,
    text,
    tick_text,
)
from pcompare.documents.flowables import Chart
from pcompare.documents.words import Figures, lower, number
from pcompare.findings import Dossier, Swing
from pcompare.records import StrategyResult

# isort: split
from reportlab.graphics.shapes import Group, Rect
from reportlab.lib.colors import Color, white

ROW = 14.0  # height of one bar with its space
NAMES = 122.0  # width of the names left of bars
TORNADO_NAMES = 186.0
TOLD = 4  # inputs that the words beside the tornado name with numbers
NUMBER = 36.0  # width of a number beside its bar
SHORT_NAMES = {"cost_salt": "Chemical", "cost_carbon": "Carbon", "cost_sludge": "Cake",
               "cost_energy": "Power"}  # fmt: skip

# --- bars -------------------------------------------------------------------------------------


def sludge_bars(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the increase of raw sludge and of cake."""
    return _multiples(dossier, figures, width, ("sludge_increase", "cake_increase"))


def salt_bars(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw what is added to the water: chloride, sulfate, sodium and both dissolved solids."""
    ions = ("chloride_added", "sulfate_added", "sodium_added")
    solids = ("tds_increase_residue", "tds_increase_ion_sum")
    return _multiples(dossier, figures, width, ions, solids)


def compared_results(dossier: Dossier) -> list[StrategyResult]:
    """Give the strategies that something is added by: all but the baseline."""
    return [r for r in dossier.comparison.strategies.values() if r.kind != "baseline"]


def _multiples(dossier: Dossier, figures: Figures, width: float, *groups: tuple[str, ...]) -> Chart:
    """Draw columns of bars, one per quantity, one row per strategy; all of one unit to scale."""
    results = compared_results(dossier)
    drawn = [[q for q in group if _has_values(results, q)] for group in groups]
    drawn = [group for group in drawn if group]
    if not drawn:
        return nothing(width, "no alternative has a value")
    each = (width - NAMES) / max(map(len, drawn))
    heights = [_head(group, figures, each) + ROW * len(results) + 9.0 for group in drawn]
    told = [_told(results, quantity, figures) for group in drawn for quantity in group]
    drawing = Chart(width, sum(heights), f"Bars, one for each alternative. {' '.join(told)}")
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


def _told(results: Sequence[StrategyResult], quantity: str, figures: Figures) -> str:
    """Say which alternative has the least of a quantity and which the most."""
    kind = lines.KINDS[quantity]
    pairs = [(names.short(r.name, r.label), number(r, quantity)) for r in results]
    reach = span(pairs, lambda value: figures.number(value, kind.unit))
    return f"{kind.label}, {figures.unit(kind.unit)}: {reach}."


def _row_of_columns(
    drawing: Chart, results: Sequence[StrategyResult], figures: Figures, group: Sequence[str],
    reach: Mapping[str, list[float]], high: float, each: float,
) -> None:  # fmt: skip
    """Draw the names of the strategies once, and one column of bars for each quantity."""
    top = high - _head(group, figures, each)
    right = NAMES + each * len(group)
    for i, result in enumerate(results, 1):
        drawing.add(rule(0, top - ROW * i - 1, right, top - ROW * i - 1, style.HAIR, 0.35))
        drawing.add(
            text(0, top - ROW * i + 2.6, names.short(result.name, result.label), room=NAMES - 6)
        )
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
    label = kind.label.replace(" °", "\u00a0°")
    for word in f"{label}, {figures.unit(kind.unit)}".split(" "):
        longer = f"{found[-1]} {word}".strip()
        if fonts.width(longer, FONT_SIZE, fonts.STRONG) <= room - 8.0:
            found[-1] = longer
        else:
            found.append(word)
    return [part for part in found if part]


def _bar_column(
    drawing: Chart, results: Sequence[StrategyResult], quantity: str, figures: Figures,
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


def cost_items(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
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
    totals = [figures.number(number(r, "annual_cost"), "money/y", 2) for r in results]
    told = [_made_up(r, total, stacks[r.name]) for r, total in zip(results, totals, strict=True)]
    alt = f"Bars of the annual cost by item, in {figures.unit('money/y')}. {'; '.join(told)}."
    drawing = Chart(width, height, alt)
    room = max(fonts.width(total, FONT_SIZE, fonts.STRONG) for total in totals)
    scale = linear([*reach, *depth], NAMES + 8.0, width - room - 8.0)
    bottom = key_height + 28.0
    _money_axis(drawing, scale, bottom, height - 12.0, figures, "money/y")
    for i, (result, total) in enumerate(zip(results, totals, strict=True)):
        y = height - 12.0 - row * (i + 1)
        drawing.add(text(0, y + 6, names.short(result.name, result.label), room=NAMES - 6))
        _stack(drawing, scale, stacks[result.name], used, y)
        end = scale.at(sum(v for _, v in stacks[result.name] if v > 0.0))
        drawing.add(text(end + 4, y + 6, total, strong=True))
    drawing.add(rule(scale.at(0.0), bottom, scale.at(0.0), height - 12, style.QUIET, 0.6))
    drawing.add(key)
    return drawing


def _made_up(result: StrategyResult, total: str, parts: Sequence[tuple[str, float]]) -> str:
    """Say what the cost of an alternative is and which item is the largest of it."""
    most = max(parts, key=lambda part: part[1], default=("", 0.0))
    largest = f", above all {lower(lines.KINDS[most[0]].label)}" if most[1] > 0.0 else ""
    return f"{names.short(result.name, result.label)} {total}{largest}"


def _drawable(amount: float) -> bool:
    return math.isfinite(amount) and amount != 0.0


def _stack(
    drawing: Chart, scale: Scale, parts: Sequence[tuple[str, float]], used: Sequence[str],
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
    drawing: Chart, scale: Scale, bottom: float, top: float, figures: Figures, unit: str
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
) -> Chart:
    """Draw what each input does to the present worth of the runner-up less that of the best."""
    swings = [
        s for s in dossier.sensitivity if math.isfinite(s.at_low) and math.isfinite(s.at_high)
    ][:most]
    if not swings:
        return nothing(width, "fewer than two alternatives compete, or no input has a range")
    row, bottom = 17.0, 26.0
    height = row * len(swings) + bottom + 20.0
    drawing = Chart(width, height, _swings_told(swings, figures))
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


def _swings_told(swings: Sequence[Swing], figures: Figures) -> str:
    """Say which inputs move the difference most, and which turn the order."""
    told = [
        f"{one.label} from {figures.end(one.low_input, one.unit)} to "
        f"{figures.given(one.high_input, one.unit)}: {figures.number(one.at_low, 'money', 2)} to "
        f"{figures.number(one.at_high, 'money', 2)}"
        for one in swings[:TOLD]
    ]
    turn = [lower(one.label) for one in swings if min(one.at_low, one.at_high) < 0.0]
    order = (
        f"Alone and within its range, each of these turns the order: {'; '.join(turn)}"
        if turn
        else "No input alone turns the order"
    )
    return (
        f"Bars for {len(swings)} inputs: the runner-up's present worth less that of the best, in "
        f"{figures.unit('money')}, at the low and at the high of each. {'; '.join(told)}. {order}."
    )


def _end_label(drawing: Chart, x: float, y: float, words: str, anchor: Anchor) -> None:
    """Set the input's value beside the bar, on white where it crosses the line of zero."""
    wide = fonts.width(words, FONT_SIZE)
    left = x - wide if anchor == "end" else x
    drawing.add(box(left - 1, y + 3, wide + 2, 10, white))
    drawing.add(text(x, y + 5, words, anchor=anchor))


def _swing_part(x1: float, x2: float, y: float, color: Color) -> Rect:
    return box(x1, y + 2.5, max(x2 - x1, 0.6), 11, color)
