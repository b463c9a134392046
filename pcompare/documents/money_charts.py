"""Charts of money and climate: what is built, payments year by year, emissions by scope."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pcompare.documents import fonts, names, style
from pcompare.documents.charts import NAMES, compared_results
from pcompare.documents.drawing import (
    FONT_SIZE,
    Scale,
    box,
    linear,
    multiple,
    nothing,
    rule,
    text,
    tick_text,
)
from pcompare.documents.flowables import Chart
from pcompare.documents.words import Figures, lower, number
from pcompare.findings import CashFlow, Dossier

# isort: split
from reportlab.lib.colors import white

ROW = 20.0  # height of one stacked bar with its space
KEY_ROW = 12.0
PANEL = 118.0  # height of one picture of payments over the years
AXIS = 46.0  # width of the numbers beside it
# What is built, in groups that the colours of one chart can tell apart.
BUILT: dict[str, tuple[str, ...]] = {
    "Chemical feed": ("feed_system", "dosing_point", "lime_system"),
    "Chemical store": ("storage",),
    "Base": ("base_system",),
    "Zones and recycle": ("zone_conversion", "recycle_pumps"),
    "New tanks": ("new_tank",),
    "Fermenter": ("fermenter",),
    "Carbon feed": ("carbon_system",),
    "Filter": ("filter",),
}
SCOPES = {
    "Scope 1, at the plant": "greenhouse_scope_1",
    "Scope 2, electricity": "greenhouse_scope_2",
    "Scope 3, bought and hauled": "greenhouse_scope_3",
}
PAYMENTS = ("construction", "replacement", "operation", "salvage")


@dataclass(frozen=True, kw_only=True, slots=True)
class Stack:
    """One row: its name, its parts by label, and the number behind it."""

    name: str
    parts: Mapping[str, float]
    total: str


def built(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the capital of each strategy as one bar of what is built."""
    rows = [
        Stack(
            name=names.short(result.name, result.label),
            parts=_grouped(dossier.money.built.get(result.name, {})),
            total=figures.number(number(result, "capital"), "money", 2),
        )
        for result in compared_results(dossier)
    ]
    return stacked(rows, tuple(BUILT), figures, "money", width, "capital by what is built")


def _grouped(costs: Mapping[str, float]) -> dict[str, float]:
    return {label: sum(costs.get(key, 0.0) for key in keys) for label, keys in BUILT.items()}


def scopes(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the greenhouse gas of each strategy by scope."""
    rows = [
        Stack(
            name=names.short(result.name, result.label),
            parts={label: number(result, quantity) for label, quantity in SCOPES.items()},
            total=figures.number(number(result, "greenhouse_gas"), "t CO2e/y", 2),
        )
        for result in compared_results(dossier)
    ]
    return stacked(rows, tuple(SCOPES), figures, "t CO2e/y", width, "greenhouse gas by scope")


def stacked(
    rows: Sequence[Stack],
    labels: Sequence[str],
    figures: Figures,
    unit: str,
    width: float,
    what: str,
) -> Chart:
    """Draw one bar for each row, its parts end to end; what is saved runs left of zero."""
    used = [label for label in labels if any(_drawable(r.parts.get(label, 0.0)) for r in rows)]
    if not used:
        return nothing(width, "no alternative has a value")
    key = _key_rows(used, width)
    height = ROW * len(rows) + 40.0 + KEY_ROW * len(key)
    alt = f"Bars of {what}, in {figures.unit(unit)}. {'; '.join(_told(row, used) for row in rows)}."
    drawing = Chart(width, height, alt)
    right = [sum(max(_held(r, label), 0.0) for label in used) for r in rows]
    left = [sum(min(_held(r, label), 0.0) for label in used) for r in rows]
    room = max(fonts.width(r.total, FONT_SIZE, fonts.STRONG) for r in rows)
    scale = linear([*right, *left], NAMES + 8.0, width - room - 8.0)
    bottom, top = KEY_ROW * len(key) + 28.0, height - 12.0
    _axis(drawing, scale, bottom, top, figures.unit(unit), money="money" in unit)
    for i, row in enumerate(rows):
        y = top - ROW * (i + 1)
        drawing.add(text(0, y + 6, row.name, room=NAMES - 6))
        _bar(drawing, scale, row, used, y)
        drawing.add(text(scale.at(right[i]) + 4, y + 6, row.total, strong=True))
    zero = scale.at(0.0)
    drawing.add(rule(zero, bottom, zero, top, style.QUIET, 0.6))
    _draw_key(drawing, key, used)
    return drawing


def _told(row: Stack, used: Sequence[str]) -> str:
    """Say the number of a row and the largest part of it."""
    most = max(used, key=lambda label: _held(row, label))
    largest = f", above all {lower(most)}" if _held(row, most) > 0.0 else ""
    return f"{row.name} {row.total}{largest}"


def _drawable(amount: float) -> bool:
    return math.isfinite(amount) and amount != 0.0


def _held(row: Stack, label: str) -> float:
    amount = row.parts.get(label, 0.0)
    return amount if math.isfinite(amount) else 0.0


def _bar(drawing: Chart, scale: Scale, row: Stack, used: Sequence[str], y: float) -> None:
    ends = [0.0, 0.0]  # left and right of zero
    for i, label in enumerate(used):
        amount = _held(row, label)
        if amount == 0.0:
            continue
        side = int(amount > 0.0)
        x1, x2 = sorted((scale.at(ends[side]), scale.at(ends[side] + amount)))
        ends[side] += amount
        drawing.add(box(x1, y + 2, x2 - x1, 13, style.PALETTE[i % len(style.PALETTE)], white))


def _axis(
    drawing: Chart, scale: Scale, bottom: float, top: float, unit: str, *, money: bool
) -> None:
    """Draw a horizontal axis with round ticks and its unit."""
    factor, times = multiple(max(abs(scale.high), abs(scale.low)), money=money)
    step = scale.ticks[1] - scale.ticks[0] if len(scale.ticks) > 1 else scale.high
    for tick in scale.ticks:
        at = scale.at(tick)
        drawing.add(rule(at, bottom, at, top, style.HAIR, 0.4))
        words = tick_text(tick / factor, step / factor)
        drawing.add(text(at, bottom - 9, words, anchor="middle", color=style.QUIET))
    middle = (scale.start + scale.stop) / 2
    drawing.add(text(middle, bottom - 20, f"{times}{unit}", anchor="middle", color=style.QUIET))


def _key_rows(labels: Sequence[str], width: float) -> list[list[tuple[float, str]]]:
    """Place the labels of a key in as many rows as they take."""
    rows: list[list[tuple[float, str]]] = [[]]
    x = 0.0
    for label in labels:
        need = fonts.width(label, FONT_SIZE) + 19.0
        if x + need > width and rows[-1]:
            x = 0.0
            rows.append([])
        rows[-1].append((x, label))
        x += need
    return rows


def _draw_key(
    drawing: Chart, rows: Sequence[Sequence[tuple[float, str]]], labels: Sequence[str]
) -> None:
    for i, row in enumerate(rows):
        y = KEY_ROW * (len(rows) - 1 - i)
        for x, label in row:
            drawing.add(
                box(x, y, 8, 8, style.PALETTE[list(labels).index(label) % len(style.PALETTE)])
            )
            drawing.add(text(x + 11, y + 1, label))


# --- year by year -----------------------------------------------------------------------------


def years(dossier: Dossier, figures: Figures, width: float = style.WIDTH) -> Chart:
    """Draw the payments of the two leading strategies, year by year, to one scale."""
    leading = [n for n in dossier.comparison.ranking[:2] if n in dossier.money.cash]
    flows = [dossier.money.cash[n] for n in leading]
    if not flows or not any(_drawable(v) for f in flows for v in f.total):
        return nothing(width, "no alternative meets every requirement")
    key = [[(0.0, "")]]
    key = _key_rows([p.capitalize() for p in PAYMENTS], width)
    foot = 22.0 + KEY_ROW * len(key)
    told = [_paid(dossier.comparison.strategies[f.strategy].label, f, figures) for f in flows]
    alt = f"Columns of payments by year, in {figures.unit('money')}. {' '.join(told)}"
    drawing = Chart(width, PANEL * len(flows) + foot, alt)
    reach = [end for f in flows for year in _stacks(f).values() for end in _ends(year)]
    for i, flow in enumerate(flows):
        bottom = foot + PANEL * (len(flows) - 1 - i)
        result = dossier.comparison.strategies[flow.strategy]
        scale = linear(reach, bottom + 6.0, bottom + PANEL - 22.0)
        drawing.add(text(0, bottom + PANEL - 11, result.label, strong=True, room=width))
        _panel(drawing, flow, scale, figures, width)
    last = max(y for f in flows for y in _stacks(f))
    for year in range(0, last + 1, 5 if last > 12 else 1):
        x = _place(year, last, width)
        drawing.add(text(x, foot - 6, str(year), anchor="middle", color=style.QUIET))
    drawing.add(text(width / 2, foot - 16, "year", anchor="middle", color=style.QUIET))
    _draw_key(drawing, key, [p.capitalize() for p in PAYMENTS])
    return drawing


def _paid(label: str, flow: CashFlow, figures: Figures) -> str:
    """Say what is paid in all: to build, to replace and to run, and what is left at the end."""
    sums = [figures.number(sum(getattr(flow, part)), "money", 2) for part in PAYMENTS]
    last = f"{max(flow.years):.0f}"
    return (
        f"{label}, {last} years in all: "
        + ", ".join(f"{part} {total}" for part, total in zip(PAYMENTS, sums, strict=True))
        + "."
    )


def _place(year: int, last: int, width: float) -> float:
    """Give the middle of a year's column."""
    each = (width - AXIS) / (last + 1)
    return AXIS + each * (year + 0.5)


def _stacks(flow: CashFlow) -> dict[int, list[float]]:
    """Sum the payments of each whole year: construction, replacement, operation, salvage."""
    found: dict[int, list[float]] = {}
    for i, year in enumerate(flow.years):
        row = found.setdefault(math.ceil(year), [0.0] * len(PAYMENTS))
        for j, part in enumerate(PAYMENTS):
            row[j] += getattr(flow, part)[i]
    return found


def _ends(amounts: Sequence[float]) -> tuple[float, float]:
    return sum(a for a in amounts if a < 0.0), sum(a for a in amounts if a > 0.0)


def _panel(drawing: Chart, flow: CashFlow, scale: Scale, figures: Figures, width: float) -> None:
    """Draw one strategy's columns over its own axis."""
    stacks = _stacks(flow)
    last = max(stacks)
    factor, times = multiple(max(abs(scale.high), abs(scale.low)), money=True)
    step = scale.ticks[1] - scale.ticks[0] if len(scale.ticks) > 1 else scale.high
    for tick in scale.ticks:
        y = scale.at(tick)
        drawing.add(rule(AXIS, y, width, y, style.HAIR, 0.4))
        words = tick_text(tick / factor, step / factor)
        drawing.add(text(AXIS - 4, y - 2.6, words, anchor="end", color=style.QUIET))
    unit = f"{times}{figures.unit('money')}"
    drawing.add(text(width, scale.stop + 11, unit, anchor="end", color=style.QUIET))
    wide = 0.72 * (width - AXIS) / (last + 1)
    for year, amounts in stacks.items():
        x, ends = _place(year, last, width) - wide / 2, [0.0, 0.0]
        for j, amount in enumerate(amounts):
            side = int(amount > 0.0)
            y1, y2 = sorted((scale.at(ends[side]), scale.at(ends[side] + amount)))
            ends[side] += amount
            if y2 > y1:
                drawing.add(box(x, y1, wide, y2 - y1, style.PALETTE[j]))
    drawing.add(rule(AXIS, scale.at(0.0), width, scale.at(0.0), style.QUIET, 0.6))
