"""Charts of chance: what drives the difference, and maps of who is cheapest.

Positions are scaled from values; no value is made here. Regions of a map differ in lightness and
carry their name or number, so that they can be told apart in grey.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from pcompare import lines
from pcompare.documents import fonts, names, style, words
from pcompare.documents.drawing import (
    FONT_SIZE,
    Scale,
    box,
    fit,
    nothing,
    rule,
    text,
    tick_text,
)
from pcompare.documents.flowables import Chart
from pcompare.documents.words import Figures
from pcompare.findings import ChoiceMap, Dossier, Driver

# isort: split
from reportlab.graphics.shapes import Circle
from reportlab.lib.colors import Color, HexColor, white

LABELS, NUMBERS = 196.0, 86.0  # room for names left and figures right of the bars
ROW, BAR = 15.0, 9.0
MOST, TOLD = 12, 4  # drivers drawn, and told with numbers in words
HEIGHT, LEFT, BOTTOM, TOP = 168.0, 46.0, 32.0, 18.0
# From light to dark in even steps of grey.
SHADES = tuple(
    map(
        HexColor,
        ("#f2efe6", "#e0c98f", "#d9a05b", "#5fa39a", "#5f5f8c", "#7c2a33", "#17324d"),
    )
)
NOBODY = "none feasible"

Cell = tuple[int, int]  # row from below, column from the left


# --- drivers ----------------------------------------------------------------------------------


def drivers(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the rank correlation of each driver with the difference between the two best."""
    found = sorted(dossier.study.drivers, key=lambda d: -abs(d.rank_correlation.value))[:MOST]
    found = [d for d in found if math.isfinite(d.rank_correlation.value)]
    if not found:
        return nothing(width, "there are too few draws, or fewer than two alternatives compete")
    height = ROW * len(found) + 40.0
    told = [
        f"{d.label} {_signed(d.rank_correlation.value)} and {words.share(d.variance_share.value)} "
        "of the variance"
        for d in found[:TOLD]
    ]
    drawing = Chart(
        width, height,
        f"Bars for {len(found)} inputs: rank correlation with what the runner-up costs beyond the "
        f"best. {'; '.join(told)}.",
    )  # fmt: skip
    reach = max(0.2, 1.15 * max(abs(d.rank_correlation.value) for d in found))
    scale = Scale(low=-reach, high=reach, start=LABELS, stop=width - NUMBERS)
    top = height - 14.0
    bottom = top - ROW * len(found)
    for tick in scale.ticks:
        at = scale.at(tick)
        drawing.add(rule(at, bottom, at, top, style.HAIR, 0.4))
        words_ = tick_text(tick, 0.1)
        drawing.add(text(at, bottom - 10, words_, anchor="middle", color=style.QUIET))
    middle = (scale.start + scale.stop) / 2
    title = "rank correlation; to the right, more of it favours the best"
    drawing.add(text(middle, bottom - 22, title, anchor="middle", color=style.QUIET))
    drawing.add(text(width, top + 4, "share of variance", anchor="end", strong=True))
    for i, driver in enumerate(found):
        _driver(drawing, driver, scale, top - ROW * (i + 1), width)
    drawing.add(rule(scale.at(0.0), bottom, scale.at(0.0), top, style.QUIET, 0.6))
    return drawing


def _driver(drawing: Chart, driver: Driver, scale: Scale, y: float, width: float) -> None:
    found = driver.rank_correlation.value
    label = fit(fonts.printable(driver.label), LABELS - 8.0)
    drawing.add(text(0, y + 4, label))
    x1, x2 = sorted((scale.at(0.0), scale.at(found)))
    color = style.PALETTE[0] if found > 0.0 else style.PALETTE[1]
    drawing.add(box(x1, y + 2.5, max(x2 - x1, 0.6), BAR, color))
    number = _signed(found)
    if found > 0.0:
        drawing.add(text(x2 + 3, y + 4, number))
    else:
        drawing.add(text(x1 - 3, y + 4, number, anchor="end"))
    part = driver.variance_share
    drawing.add(text(width, y + 4, words.share(part.value), anchor="end"))


def _signed(number: float) -> str:
    return f"{number:.2f}".replace("-", "−")


# --- maps -------------------------------------------------------------------------------------


def choice_map(
    dossier: Dossier, found: ChoiceMap, figures: Figures, width: float = style.WIDTH
) -> Chart:
    """Draw who is cheapest over two inputs, with the case as it stands."""
    if not found.winners or not found.winners[0]:
        return nothing(width, "the map is empty")
    held = list(_order(dossier))
    key = [name for name in held if any(name in row for row in found.winners)]
    columns, rows = len(found.across), len(found.up)
    size = (width - LEFT) / columns, HEIGHT / rows
    key_height = 12.0 * len(key) + 4.0
    base = BOTTOM + key_height
    drawing = Chart(width, base + HEIGHT + TOP, _map_told(found, key, figures))
    x = _axis(found.across, LEFT, width, figures, found.units[0])
    y = _axis(found.up, base, base + HEIGHT, figures, found.units[1])
    here = int((y.at(figures.shown(found.now[1], found.units[1])) - base) / size[1])
    _cells(drawing, found, held, base, size)
    _edges(drawing, found, base, size)
    _names(drawing, found, held, key, base, size, here)
    _axes(drawing, found, figures, x, y, base, width)
    _here(drawing, found, figures, x, y)
    _key(drawing, held, key)
    return drawing


def _map_told(found: ChoiceMap, key: Sequence[str], figures: Figures) -> str:
    """Say over what the map runs, how much of it each alternative takes, and where the case is."""
    cells = [name for row in found.winners for name in row]
    parts = sorted(((cells.count(name) / len(cells), _name(name)) for name in key), reverse=True)
    told = [f"{name} on {words.share(part)}" for part, name in parts]
    axes = [
        f"{words.lower(label)} from {figures.number(min(values), unit)} to "
        f"{figures.amount(max(values), unit)}"
        for label, values, unit in zip(
            found.labels, (found.across, found.up), found.units, strict=True
        )
    ]
    here = [figures.given(v, u) for v, u in zip(found.now, found.units, strict=True)]
    return (
        f"A map over {' and '.join(axes)}. Lowest present worth, by share of the map: "
        f"{', '.join(told)}. This case stands at {' and '.join(here)}."
    )


def _order(dossier: Dossier) -> Iterator[str]:
    """Give every strategy that any map holds, in one order, so that shades mean the same."""
    seen = {name for one in dossier.maps for row in one.winners for name in row}
    yield from (name for name in ("", *lines.LABELS) if name in seen)
    yield from sorted(seen - {"", *lines.LABELS})


def shade(name: str, held: Sequence[str]) -> Color:
    """Give the shade of one strategy: spread evenly over those that the maps hold."""
    if not name:
        return white
    others = [other for other in held if other]
    place = others.index(name)
    if len(others) == 1:
        return SHADES[1]
    return SHADES[round(place * (len(SHADES) - 1) / (len(others) - 1)) % len(SHADES)]


def _cells(
    drawing: Chart, found: ChoiceMap, held: Sequence[str], base: float,
    size: tuple[float, float],
) -> None:  # fmt: skip
    wide, high = size
    for j, row in enumerate(found.winners):
        start = 0
        for i in range(1, len(row) + 1):
            if i == len(row) or row[i] != row[start]:
                x, y = LEFT + wide * start, base + high * j
                color = shade(row[start], held)
                drawing.add(box(x, y, wide * (i - start) + 0.2, high + 0.2, color))
                start = i


def _edges(drawing: Chart, found: ChoiceMap, base: float, size: tuple[float, float]) -> None:
    """Draw the border between regions, and the frame."""
    wide, high = size
    for j, row in enumerate(found.winners):
        y = base + high * j
        for i, name in enumerate(row):
            x = LEFT + wide * i
            if i and row[i - 1] != name:
                drawing.add(rule(x, y, x, y + high, style.INK, 0.7))
            if j and found.winners[j - 1][i] != name:
                drawing.add(rule(x, y, x + wide, y, style.INK, 0.7))
    right, top = LEFT + wide * len(found.across), base + HEIGHT
    for ends in ((LEFT, base, right, base), (LEFT, top, right, top),
                 (LEFT, base, LEFT, top), (right, base, right, top)):  # fmt: skip
        drawing.add(rule(*ends, style.QUIET, 0.6))


def regions(winners: Sequence[Sequence[str]]) -> list[tuple[str, list[Cell]]]:
    """Split a map into regions of touching cells of one strategy."""
    left = {(j, i) for j, row in enumerate(winners) for i in range(len(row))}
    found = []
    while left:
        first = min(left)
        left.discard(first)
        name, cells, open_ = winners[first[0]][first[1]], [first], [first]
        while open_:
            j, i = open_.pop()
            for cell in ((j + 1, i), (j - 1, i), (j, i + 1), (j, i - 1)):
                if cell in left and winners[cell[0]][cell[1]] == name:
                    left.discard(cell)
                    cells.append(cell)
                    open_.append(cell)
        found.append((name, cells))
    return found


def widest(
    cells: Sequence[Cell], taken: int = -9, needed: float = math.inf
) -> tuple[int, int, int]:  # fmt: skip
    """Find where a region's label fits best: row, first column and length of a long run.

    It is the middle of the runs that have as many columns as ``needed``, or of the longest; and it
    keeps away from the row that is ``taken`` where another serves as well.
    """
    runs = []
    for j in sorted({row for row, _ in cells}):
        columns = sorted(i for row, i in cells if row == j)
        start = columns[0]
        for before, after in zip(columns, [*columns[1:], -9], strict=True):
            if after != before + 1:
                runs.append((j, start, before - start + 1))
                start = after
    enough = min(needed, max(length for *_, length in runs))
    long = [run for run in runs if run[2] >= enough]
    for away in (2, 1, 0):
        free = [run for run in long if abs(run[0] - taken) >= away]
        if free:
            break
    return free[len(free) // 2]


def _names(
    drawing: Chart, found: ChoiceMap, held: Sequence[str], key: Sequence[str], base: float,
    size: tuple[float, float], taken: int,
) -> None:  # fmt: skip
    """Name every region that has room for its name, and number the others."""
    wide, high = size
    for name, cells in regions(found.winners):
        label = _name(name)
        needed = (fonts.width(label, FONT_SIZE, fonts.STRONG) + 6.0) / wide
        j, start, length = widest(cells, taken, needed)
        if fonts.width(label, FONT_SIZE, fonts.STRONG) > wide * length - 6.0:
            label = str(key.index(name) + 1)
        if fonts.width(label, FONT_SIZE, fonts.STRONG) > wide * length:
            continue  # too thin for a number: the key and the neighbours tell
        dark = name and style.lightness(shade(name, held)) < 0.5
        x = LEFT + wide * (start + length / 2.0)
        y = base + high * (j + 0.5) - 2.8
        ink = white if dark else style.INK
        drawing.add(text(x, y, label, anchor="middle", strong=True, color=ink))


def _name(name: str) -> str:
    return names.short(name, lines.LABELS.get(name, name)) if name else NOBODY


def _axis(values: Sequence[float], start: float, stop: float, figures: Figures, unit: str) -> Scale:
    """Scale an axis of cells, whose values may rise or fall, evenly or by even ratios."""
    shown = [figures.shown(v, unit) for v in values]
    low, high = min(shown), max(shown)
    logarithmic = low > 0.0 and len(shown) > 2 and _even_ratios(shown)
    half = 0.5 / max(len(shown) - 1, 1)  # of a cell, beyond its middle
    if logarithmic:
        more = (high / low) ** half
        low, high = low / more, high * more
    else:
        more = (high - low or 1.0) * half
        low, high = low - more, high + more
    if shown[0] > shown[-1]:
        start, stop = stop, start
    return Scale(low=low, high=high, start=start, stop=stop, logarithmic=logarithmic)


def _even_ratios(shown: Sequence[float]) -> bool:
    first, last = shown[1] / shown[0], shown[-1] / shown[-2]
    return abs(first / last - 1.0) < 1e-6


def _axes(
    drawing: Chart, found: ChoiceMap, figures: Figures, x: Scale, y: Scale, base: float,
    width: float,
) -> None:  # fmt: skip
    for tick, label in _ticks(x):
        drawing.add(rule(x.at(tick), base, x.at(tick), base - 3))
        drawing.add(text(x.at(tick), base - 12, label, anchor="middle", color=style.QUIET))
    for tick, label in _ticks(y):
        drawing.add(rule(LEFT, y.at(tick), LEFT - 3, y.at(tick)))
        drawing.add(text(LEFT - 5, y.at(tick) - 2.6, label, anchor="end", color=style.QUIET))
    titles = [
        f"{label}, {figures.unit(unit)}".rstrip(", ")
        for label, unit in zip(found.labels, found.units, strict=True)
    ]
    middle = (LEFT + width) / 2
    drawing.add(text(middle, base - 24, titles[0], anchor="middle", color=style.QUIET))
    drawing.add(text(0, drawing.height - 9, titles[1], strong=True, room=width))


def _ticks(scale: Scale) -> list[tuple[float, str]]:
    """Give round values of an axis with their labels; even steps where ratios give too few."""
    ticks = scale.ticks
    if scale.logarithmic and len(ticks) >= 3:
        return [(tick, tick_text(tick, tick)) for tick in ticks]
    if scale.logarithmic:
        ticks = replace(scale, logarithmic=False).ticks
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    return [(tick, tick_text(tick, step)) for tick in ticks]


def _here(drawing: Chart, found: ChoiceMap, figures: Figures, x: Scale, y: Scale) -> None:
    """Mark the case as it stands, on white so that it shows on any shade."""
    across, up = (figures.shown(v, u) for v, u in zip(found.now, found.units, strict=True))
    if not (x.low <= across <= x.high and y.low <= up <= y.high):
        return
    at, high = x.at(across), y.at(up)
    look: dict[str, Any] = {"strokeColor": style.ALARM, "strokeWidth": 1.2, "fillColor": white}
    drawing.add(Circle(at, high, 3.4, **look))
    words_ = "this case"
    wide = fonts.width(words_, FONT_SIZE, fonts.STRONG)
    left = at + 6.0 if at + wide + 10.0 < drawing.width else at - wide - 10.0
    drawing.add(box(left, high - 4.5, wide + 4.0, 10.5, white, style.ALARM))
    drawing.add(text(left + 2.0, high - 2.0, words_, strong=True, color=style.ALARM))


def _key(drawing: Chart, held: Sequence[str], key: Sequence[str]) -> None:
    for i, name in enumerate(key):
        y = 12.0 * (len(key) - 1 - i)
        drawing.add(box(LEFT, y, 16, 9, shade(name, held), style.QUIET))
        label = lines.LABELS.get(name, name) or "No alternative meets every requirement"
        drawing.add(text(LEFT + 21, y + 1.6, f"{i + 1}: {label}"))
