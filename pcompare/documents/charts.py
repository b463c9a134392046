"""Vector charts with direct labels. Positions are scaled from values; no value is made here.

Every chart survives missing, infinite, single and all-zero values; where nothing can be drawn it
says so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pcompare import lines
from pcompare.documents import fonts, style
from pcompare.documents.words import Figures, value
from pcompare.records import Dossier, StrategyResult

# isort: split
from reportlab.graphics.shapes import Circle, Drawing, Group, Line, PolyLine, Rect, String
from reportlab.lib.colors import Color, white

FONT_SIZE = 7.8
ROW = 13.0  # height of one bar with its space
LABEL_WIDTH = 150.0  # of the labels left of bars
DASHES: tuple[list[float] | None, ...] = (None, [5, 2], [1.5, 1.8], [7, 2, 1.5, 2])
THIN = "\u202f"


@dataclass(frozen=True, kw_only=True, slots=True)
class Scale:
    """Maps values of an axis to points, with round ticks inside its range."""

    low: float
    high: float
    start: float  # point of ``low``
    stop: float  # point of ``high``
    logarithmic: bool = False

    def at(self, number: float) -> float:
        """Give the position of a value; values outside the range land on its ends."""
        low, high = self.low, self.high
        held = min(max(number, low), high)
        if self.logarithmic:
            low, high, held = math.log(low), math.log(high), math.log(held)
        return self.start + (held - low) / (high - low) * (self.stop - self.start)

    @property
    def ticks(self) -> list[float]:
        """Round values inside the range: 1, 2, 5 and their powers of ten, or even steps."""
        if self.logarithmic:
            first = math.floor(math.log10(self.low))
            powers = [10.0**i for i in range(first, first + 8)]
            marks = [m * p for p in powers for m in (1.0, 2.0, 5.0)]
        else:
            step = round_step((self.high - self.low) / 5.0)
            marks = [i * step for i in range(math.ceil(self.low / step - 1e-9), 60 + 1)]
            marks = [m for m in marks if m <= self.high + 1e-9 * step][:12]
        margin = 1e-9 * abs(self.high)
        return [m for m in marks if self.low - margin <= m <= self.high + margin]


def round_step(rough: float) -> float:
    """Give the next round step, 1, 2 or 5 times a power of ten, at or above a rough one."""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * (1 - 1e-9))


def finite(numbers: Sequence[float]) -> list[float]:
    """Leave out what cannot be drawn."""
    return [n for n in numbers if math.isfinite(n)]


def linear(numbers: Sequence[float], start: float, stop: float) -> Scale:
    """Make a scale that holds zero and all finite values, with room at the ends."""
    held = [0.0, *finite(numbers)]
    low, high = min(held), max(held)
    if low == high:
        high = 1.0
    step = round_step((high - low) / 5.0)
    return Scale(
        low=step * math.floor(low / step + 1e-9), high=step * math.ceil(high / step - 1e-9),
        start=start, stop=stop,
    )  # fmt: skip


def falling(numbers: Sequence[float], start: float, stop: float) -> Scale:
    """Make a scale for limits, strict ones to the right: logarithmic where they span far."""
    low, high = min(numbers), max(numbers)
    if low == high:
        low, high = low - 0.5 * (abs(low) or 1.0), high + 0.5 * (abs(high) or 1.0)
    far = low > 0.0 and high / low >= 5.0
    return Scale(low=low, high=high, start=stop, stop=start, logarithmic=far)


def tick_text(number: float, step_hint: float) -> str:
    """Print a tick with no more decimals than its neighbours need."""
    places = max(0, -math.floor(math.log10(step_hint) + 1e-9)) if step_hint > 0.0 else 0
    text = f"{number:,.{places}f}".replace(",", THIN).replace("-", "−")
    return "0" if not text.strip("−0.") else text


def money_scale(highest: float) -> tuple[float, str]:
    """Choose in what multiples an axis of large numbers is labelled."""
    if highest >= 2e6:
        return 1e6, "million "
    return (1e3, "thousand ") if highest >= 2e4 else (1.0, "")


# --- pieces -----------------------------------------------------------------------------------


def text(
    x: float, y: float, words: str, *, anchor: str = "start", size: float = FONT_SIZE,
    color: Color = style.INK, strong: bool = False, room: float = 0.0,
) -> String:  # fmt: skip
    """Set one line of text, cut to ``room`` points if that is given."""
    font = fonts.STRONG if strong else fonts.TEXT
    shown = fit(fonts.printable(words), room, size, font) if room else fonts.printable(words)
    return String(x, y, shown, textAnchor=anchor, fontName=font, fontSize=size, fillColor=color)


def fit(words: str, room: float, size: float = FONT_SIZE, font: str = fonts.TEXT) -> str:
    """Cut text to a width, with an ellipsis."""
    if fonts.width(words, size, font) <= room:
        return words
    while words and fonts.width(words + "…", size, font) > room:
        words = words[:-1]
    return words.rstrip() + "…"


def rule(x1: float, y1: float, x2: float, y2: float, color: Color = style.RULE,
         width: float = 0.5, dash: list[float] | None = None) -> Line:  # fmt: skip
    """Draw one straight line."""
    return Line(x1, y1, x2, y2, strokeColor=color, strokeWidth=width, strokeDashArray=dash)


def apart(wanted: Sequence[float], low: float, high: float, least: float) -> list[float]:
    """Move label positions so that none overlap, each as near as may be to where it belongs."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    placed = list(wanted)
    floor = low
    for i in order:
        placed[i] = floor = max(wanted[i], floor)
        floor += least
    ceiling = high
    for i in reversed(order):
        placed[i] = ceiling = min(placed[i], ceiling)
        ceiling -= least
    return placed


def nothing(width: float, why: str) -> Drawing:
    """Say that there is nothing to draw."""
    drawing = Drawing(width, 34)
    drawing.add(
        Rect(0, 2, width, 28, fillColor=style.WASH, strokeColor=style.HAIR, strokeWidth=0.5)
    )
    drawing.add(text(8, 12, f"Nothing to draw: {why}.", color=style.QUIET, room=width - 16))
    return drawing


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
    height, left, bottom, right = 218.0, 44.0, 34.0, width - 118.0
    y = linear([v for row in series.values() for v in row], bottom, height - 24.0)
    x = falling(finite(points), left, right)
    drawing = Drawing(width, height)
    factor, multiple = money_scale(y.high) if "money" in unit else (1.0, "")
    _frame(drawing, x, y, factor)
    drawing.add(
        text(0, height - 9, f"{label}, {multiple}{figures.unit(unit)}", strong=True, room=right)
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


def _limit_lines(
    drawing: Drawing, dossier: Dossier, figures: Figures, x: Scale, y: Scale
) -> None:
    """Draw the permit's limit and the floors of soluble phosphorus, each labelled on the line."""
    marks = [(value(dossier.inputs, "permit.tp"), "permit limit", style.ALARM)]
    for name, words in (
        ("coefficient.soluble_floor_activated_sludge", "floor of soluble P, salt"),
        ("coefficient.soluble_floor_biological", "floor of soluble P, organisms"),
    ):
        marks.append((value(dossier.inputs, name), words, style.QUIET))
    merged: dict[float, tuple[str, Color]] = {}
    for number, words, color in marks:
        if not math.isfinite(number):
            continue
        shown = figures.shown(number, "mg P/L")
        if shown in merged:
            merged[shown] = ("floor of soluble P", merged[shown][1])
        elif x.low * (1 - 1e-9) <= shown <= x.high * (1 + 1e-9):
            merged[shown] = (words, color)
    for i, (shown, (words, color)) in enumerate(merged.items()):
        at = x.at(shown)
        drawing.add(rule(at, y.start, at, y.stop + 4, color, 0.8, [3, 2]))
        label = f"{words} {figures.number(shown, '-')}"
        near_end = at > x.start - fonts.width(label, FONT_SIZE)
        anchor = "end" if near_end else "start"
        drawing.add(
            text(at + (-3 if near_end else 3), y.stop - 4 - 9 * (i % 2), label, anchor=anchor,
                 color=color)
        )  # fmt: skip


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
    for (x1, y1, met1), (x2, y2, met2) in zip(dots, dots[1:], strict=False):
        both = met1 and met2
        group.add(
            PolyLine([x1, y1, x2, y2], strokeColor=color, strokeWidth=1.5 if both else 0.5,
                     strokeDashArray=dash if both else None)
        )  # fmt: skip
    for dot_x, dot_y, met in dots:
        group.add(
            Circle(dot_x, dot_y, 1.7, strokeColor=color, strokeWidth=0.7,
                   fillColor=color if met else white)
        )  # fmt: skip
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
    return _bars(dossier, figures, width, ("sludge_increase",), ("cake_increase",))


def salt_bars(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Drawing:
    """Draw what is added to the water: chloride, sulfate, sodium and both dissolved solids."""
    added = ("chloride_added", "sulfate_added", "sodium_added", "tds_increase_residue",
             "tds_increase_ion_sum")  # fmt: skip
    return _bars(dossier, figures, width, added)


def compared_results(dossier: Dossier) -> list[StrategyResult]:
    """Give the strategies that something is added by: all but the baseline."""
    return [r for r in dossier.comparison.strategies.values() if r.kind != "baseline"]


def _bars(
    dossier: Dossier, figures: Figures, width: float, *panels: tuple[str, ...]
) -> Drawing:
    """Draw groups of horizontal bars, one row per strategy; a panel shares one scale."""
    results = compared_results(dossier)
    panels = tuple(
        tuple(q for q in panel if any(math.isfinite(r.value(q)) for r in results if q in r.lines))
        for panel in panels
    )
    panels = tuple(panel for panel in panels if panel)
    if not panels:
        return nothing(width, "no alternative has a value")
    rows = sum(len(panel) * (len(results) + 1.6) for panel in panels)
    height = rows * ROW + 6.0
    drawing = Drawing(width, height)
    y = height
    for panel in panels:
        y = _panel(drawing, results, figures, panel, y)
    return drawing


def _panel(
    drawing: Drawing, results: Sequence[StrategyResult], figures: Figures,
    quantities: Sequence[str], y: float,
) -> float:  # fmt: skip
    """Draw one panel downwards from ``y``; give where it ends."""
    unit = lines.KINDS[quantities[0]].unit
    numbers = {
        q: [figures.shown(r.value(q), unit) if q in r.lines else math.nan for r in results]
        for q in quantities
    }
    room = 46.0  # for the numbers at the ends of bars, on either side
    scale = linear(
        [n for row in numbers.values() for n in row], LABEL_WIDTH + room, drawing.width - room
    )
    for quantity in quantities:
        y -= ROW * 1.1
        label = f"{lines.KINDS[quantity].label}, {figures.unit(unit)}"
        drawing.add(text(0, y, label, strong=True, room=drawing.width))
        top = y - 3
        for result, number in zip(results, numbers[quantity], strict=True):
            y -= ROW
            drawing.add(text(0, y + 2, result.label, room=LABEL_WIDTH - 6))
            _bar(drawing, scale, number, y, figures.number(result.value(quantity), unit))
        drawing.add(rule(scale.at(0.0), top, scale.at(0.0), y - 1, style.QUIET, 0.6))
        y -= ROW * 0.5
    return y


def _bar(drawing: Drawing, scale: Scale, number: float, y: float, label: str) -> None:
    zero = scale.at(0.0)
    if not math.isfinite(number):
        drawing.add(text(zero + 3, y + 2, "no value", color=style.QUIET))
        return
    end = scale.at(number)
    if end != zero:
        drawing.add(
            Rect(min(zero, end), y, abs(end - zero), ROW - 4.5, strokeColor=None,
                 fillColor=style.PALETTE[0] if number > 0.0 else style.PALETTE[3])
        )  # fmt: skip
    below = number < 0.0
    drawing.add(
        text(end + (-3 if below else 3), y + 1.4, label, anchor="end" if below else "start")
    )


def cost_items(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Drawing:
    """Draw the annual cost of each strategy as one bar of its items; savings run to the left."""
    results = compared_results(dossier)
    used = [
        item
        for item in lines.COST_ITEMS
        if any(item in r.lines and _drawable(r.value(item)) for r in results)
    ]
    if not used:
        return nothing(width, "no alternative has an annual cost")
    stacks = {r.name: [(i, r.value(i)) for i in used if _drawable(r.value(i))] for r in results}
    reach = [sum(v for _, v in s if v > 0.0) for s in stacks.values()]
    depth = [sum(v for _, v in s if v < 0.0) for s in stacks.values()]
    key, key_height = _key(used, width)
    row = 20.0
    height = row * len(results) + 40.0 + key_height
    drawing = Drawing(width, height)
    scale = linear([*reach, *depth], LABEL_WIDTH + 8.0, width - 62.0)
    bottom = key_height + 28.0
    _money_axis(drawing, scale, bottom, height - 12.0, figures, "money/y")
    for i, result in enumerate(results):
        y = height - 12.0 - row * (i + 1)
        drawing.add(text(0, y + 6, result.label, room=LABEL_WIDTH - 6))
        _stack(drawing, scale, stacks[result.name], used, y)
        total = figures.number(result.value("annual_cost"), "money/y", 2)
        end = scale.at(sum(v for _, v in stacks[result.name] if v > 0.0))
        drawing.add(text(end + 4, y + 6, total, strong=True))
    drawing.add(rule(scale.at(0.0), bottom, scale.at(0.0), height - 12, style.QUIET, 0.6))
    drawing.add(key)
    return drawing


def _drawable(number: float) -> bool:
    return math.isfinite(number) and number != 0.0


def _stack(
    drawing: Drawing, scale: Scale, parts: Sequence[tuple[str, float]], used: Sequence[str],
    y: float,
) -> None:  # fmt: skip
    """Draw the items of one strategy end to end, each named inside where there is room."""
    right = left = 0.0
    for item, number in parts:
        start = right if number > 0.0 else left
        if number > 0.0:
            right += number
        else:
            left += number
        x1, x2 = sorted((scale.at(start), scale.at(start + number)))
        color = style.PALETTE[used.index(item) % len(style.PALETTE)]
        drawing.add(
            Rect(x1, y + 2, x2 - x1, 13, fillColor=color, strokeColor=white, strokeWidth=0.6)
        )
        words = lines.KINDS[item].label.split(" ")[-1 if item == "cost_salt" else 0]
        if fonts.width(words, 7.0) < x2 - x1 - 5:
            ink = white if style.lightness(color) < 0.55 else style.INK
            drawing.add(text((x1 + x2) / 2, y + 6, words, anchor="middle", size=7.0, color=ink))


def _key(used: Sequence[str], width: float) -> tuple[Group, float]:
    """Draw the key of the items in as many rows as they take."""
    group, x, row = Group(), 0.0, 0
    spots: list[tuple[float, int, str]] = []
    for item in used:
        need = fonts.width(lines.KINDS[item].label, FONT_SIZE) + 24.0
        if x + need > width:
            x, row = 0.0, row + 1
        spots.append((x, row, item))
        x += need
    for i, (left, line, item) in enumerate(spots):
        y = 12.0 * (row - line)
        color = style.PALETTE[i % len(style.PALETTE)]
        group.add(Rect(left, y, 8, 8, fillColor=color, strokeColor=None))
        group.add(text(left + 11, y + 1, lines.KINDS[item].label))
    return group, 12.0 * (row + 1)


def _money_axis(
    drawing: Drawing, scale: Scale, bottom: float, top: float, figures: Figures, unit: str
) -> None:
    """Draw a horizontal axis of money with round ticks."""
    factor, multiple = money_scale(max(abs(scale.high), abs(scale.low)))
    step = scale.ticks[1] - scale.ticks[0] if len(scale.ticks) > 1 else scale.high
    for tick in scale.ticks:
        at = scale.at(tick)
        drawing.add(rule(at, bottom, at, top, style.HAIR, 0.4))
        words = tick_text(tick / factor, step / factor)
        drawing.add(text(at, bottom - 9, words, anchor="middle", color=style.QUIET))
    middle = (scale.start + scale.stop) / 2
    words = f"{multiple}{figures.unit(unit)}"
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
    scale = linear(numbers, LABEL_WIDTH + 52.0, width - 52.0)
    top = height - 16.0
    _money_axis(drawing, scale, bottom, top, figures, "money")
    zero = scale.at(0.0)
    if scale.low < 0.0:
        drawing.add(text(zero - 4, top + 5, "the order turns", anchor="end", color=style.ALARM))
    for i, swing in enumerate(swings):
        y = top - row * (i + 1)
        label = f"{swing.label}, {figures.unit(swing.unit)}".rstrip(", ")
        drawing.add(text(0, y + 5, label, room=LABEL_WIDTH))
        ends = ((swing.at_low, swing.low_input), (swing.at_high, swing.high_input))
        (x1, first), (x2, last) = sorted((scale.at(at), given) for at, given in ends)
        if x1 < zero:
            drawing.add(_swing_part(x1, min(x2, zero), y, style.PALETTE[1]))
        if x2 > zero:
            drawing.add(_swing_part(max(x1, zero), x2, y, style.PALETTE[0]))
        drawing.add(text(x1 - 3, y + 5, figures.number(first, swing.unit), anchor="end"))
        drawing.add(text(x2 + 3, y + 5, figures.number(last, swing.unit)))
    drawing.add(rule(zero, bottom, zero, top + 2, style.ALARM, 0.9))
    return drawing


def _swing_part(x1: float, x2: float, y: float, color: Color) -> Rect:
    return Rect(x1, y + 2.5, max(x2 - x1, 0.6), 11, fillColor=color, strokeColor=None)
