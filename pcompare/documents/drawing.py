"""Scales and marks that the charts are drawn with: positions, ticks, text, rules and boxes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from pcompare.documents import fonts, style
from pcompare.documents.flowables import Chart

# isort: split
from reportlab.graphics.shapes import Line, Rect, String
from reportlab.lib.colors import Color

FONT_SIZE = 7.8
THIN = "\u202f"
Anchor = Literal["start", "middle", "end"]


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
    """Make a scale that holds zero and all finite values."""
    held = [0.0, *finite(numbers)]
    low, high = min(held), max(held)
    return Scale(low=low, high=high if high > low else low + 1.0, start=start, stop=stop)


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


def multiple(highest: float, money: bool) -> tuple[float, str]:
    """Choose in what multiples of the unit an axis is labelled, and what stands before the unit."""
    if money and 2e4 <= highest < 2e9:
        return (1e6, "million ") if highest >= 2e6 else (1e3, "thousand ")
    if 1e-3 <= highest < 1e6 or not highest > 0.0:
        return 1.0, ""
    power = 3 * math.floor(math.log10(highest) / 3.0)
    return 10.0**power, f"10^{power} "


def text(
    x: float, y: float, words: str, *, anchor: Anchor = "start", size: float = FONT_SIZE,
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
    look: dict[str, Any] = {"strokeColor": color, "strokeWidth": width, "strokeDashArray": dash}
    return Line(x1, y1, x2, y2, **look)


def box(x: float, y: float, width: float, height: float, fill: Color,
        edge: Color | None = None) -> Rect:  # fmt: skip
    """Draw one filled box, from its lower left corner; a hairline edge if one is wanted."""
    look: dict[str, Any] = {"fillColor": fill, "strokeColor": edge, "strokeWidth": 0.6}
    return Rect(x, y, width, height, **look)


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


def span(
    pairs: Sequence[tuple[str, float]], show: Callable[[float], str], where: str = "with"
) -> str:
    """Say in words which of several values is the lowest and which the highest."""
    held = [pair for pair in pairs if math.isfinite(pair[1])]
    if not held:
        return "no value"
    (least, low), (most, high) = (f(held, key=lambda pair: pair[1]) for f in (min, max))
    if show(low) == show(high):
        return f"{show(low)} {where} {'each' if len(held) > 1 else least}"
    return f"from {show(low)} {where} {least} to {show(high)} {where} {most}"


def nothing(width: float, why: str, size: float = FONT_SIZE) -> Chart:
    """Say that there is nothing to draw."""
    drawing = Chart(width, 34, f"An empty chart: {why}.")
    drawing.add(box(0, 2, width, 28, style.WASH, style.HAIR))
    drawing.add(text(8, 12, f"Nothing to draw: {why}.", size=size, color=style.QUIET,
                     room=width - 16))  # fmt: skip
    return drawing
