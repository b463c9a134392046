"""Tables for a terminal and for CSV: text in, text out; nothing is calculated or printed here."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from pcompare import lines
from pcompare.records import Comparison, Line, StrategyResult
from pcompare.units import DASH, pretty, show, significant

if TYPE_CHECKING:
    from pcompare.findings import Crossing, Sweep

LEAST_CHANCE = 0.001  # below it a chance is printed as less
GROUPS = tuple(dict.fromkeys(kind.group for kind in lines.LINES))


def columns(rows: Sequence[Sequence[str]], align: str = "<") -> str:
    """Set rows in columns; ``align`` gives one sign per column, the last repeating."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    signs = [align[min(i, len(align) - 1)] for i in range(len(widths))]
    return "\n".join(
        "  ".join(f"{c:{s}{w}}" for c, s, w in zip(row, signs, widths, strict=True)).rstrip()
        for row in rows
    )


def comparison_table(compared: Comparison, system: str) -> str:
    """Lay the strategies side by side, group by group, and say what follows."""
    results = list(compared.strategies.values())
    rows: list[list[str]] = [["", "", *(r.name for r in results)]]
    for group in GROUPS:
        rows.append([group.upper(), "", *("" for _ in results)])
        for kind in (k for k in lines.LINES if k.group == group):
            cells = [_cell(r.lines[kind.quantity], system) for r in results]
            rows.append([f"  {kind.label}", pretty(kind.unit, system), *cells])
    rows.append(["Meets every requirement", "", *("yes" if r.meets_permit else "no"
                                                   for r in results)])  # fmt: skip
    text = [columns(rows, "<<>"), "", *(_misses(r, system) for r in results)]
    said = [*(t for t in text if t is not None), compared.recommendation, "", *compared.notes]
    return "\n".join(said)


def _cell(line: Line, system: str) -> str:
    if line.value is None:
        return "–"
    if "probability" in line.key and 0.0 < line.value < LEAST_CHANCE:
        return f"<{LEAST_CHANCE:g}"
    return significant(show(line.value, line.unit, system)[0], 3)


def _misses(result: StrategyResult, system: str = "si") -> str | None:
    missed = []
    for check in result.checks:
        if not check.met:
            found, needed = (show(x, check.unit, system)[0] for x in (check.found, check.needed))
            missed.append(
                f"{check.label.lower()} {significant(found, 3)}, needs {check.sense} "
                f"{significant(needed, 3)} {pretty(check.unit, system)}"
            )
    return f"{result.label}: {'; '.join(missed)}" if missed else None


def comparison_csv(compared: Comparison) -> str:
    """Give every line of every strategy as CSV in base units."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["key", "label", "value", "unit", "reason"])
    for result in compared.strategies.values():
        for line in result.lines.values():
            value = "" if line.value is None else repr(line.value)
            writer.writerow([line.key, line.label, value, line.unit, line.reason])
    return out.getvalue()


SWEEP_HEADS = {
    "metal_dose": "metal dose",
    "carbon_dose": "bought carbon",
    "sludge_increase": "raw sludge",
    "tds_increase_residue": "dissolved salt",
    "chloride_added": "chloride",
    "annual_cost": "cost to run",
    "equal_annual_cost": "equal annual cost",
    "present_worth": "present worth",
    "probability_meets_permit": "chance, one period",
}
SWEEP_COLUMNS = tuple(SWEEP_HEADS)


def sweep_table(sweep: Sweep, crossings: Sequence[Crossing] = ()) -> str:
    """Every strategy along a sweep, then where the cheapest that meets everything changes."""
    parts = []
    for name, values in sweep.values.items():
        head = [sweep.label, "meets it", *SWEEP_HEADS.values()]
        units = (pretty(lines.KINDS[q].unit, "si").replace(DASH, "%") for q in SWEEP_COLUMNS)
        unit = [sweep.unit, "", *units]
        body = [
            [
                significant(point, 3),
                "yes" if sweep.feasible[name][i] else "no",
                *(_swept(q, values[q][i]) for q in SWEEP_COLUMNS),
            ]
            for i, point in enumerate(sweep.points)
        ]
        parts.append(f"{lines.LABELS[name]}\n{columns([head, unit, *body], '>')}")
    if crossings:
        parts.append("\n".join(map(_crossing, crossings)))
    return "\n\n".join(parts)


def _swept(quantity: str, value: float) -> str:
    """Print one value; a chance in percent."""
    if not quantity.startswith("probability") or math.isnan(value):
        return significant(value, 3)
    if value < 0.01:
        return "<1"
    return ">99" if value > 0.99 else f"{100.0 * value:.0f}"


def _crossing(crossing: Crossing) -> str:
    """Say what happens at one limit, going to stricter ones."""
    at = f"At {significant(crossing.at, 2)} mg P/L"
    before, after = (lines.LABELS.get(n, n) for n in (crossing.before, crossing.after))
    if not crossing.before:
        return f"{at} {after} begins to meet every requirement."
    why = "no longer meets every requirement" if crossing.fails else "is no longer the cheapest"
    then = f"{after} is the cheapest that does" if crossing.fails else f"{after} is"
    return f"{at} {before} {why}; " + (f"{then}." if crossing.after else "none does.")
