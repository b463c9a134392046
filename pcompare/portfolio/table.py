"""The results as CSV: one row for each plant, plain column names, and what each column means.

Every column is of one kind throughout: whole numbers, numbers or text; empty where nothing is
known. Text that a spreadsheet would take for a formula begins with an apostrophe.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pcompare import lines
from pcompare.findings import PlantFault
from pcompare.inputs import schema
from pcompare.portfolio import fleet
from pcompare.portfolio.fleet import CHOSEN, Column
from pcompare.portfolio.tasks import CURRENCY, UNUSUAL, Result

WHOLE, NUMBER, TEXT = "integer", "number", "text"
FORMULA = ("=", "+", "-", "@")  # begin what a spreadsheet calculates
ROWS = 1000  # that are written at a time
LOADS = {
    "metal_load": "Metal dosed, as a load",
    "salt_load": "Dissolved solids, ion sum, change, as a load",
}
JUDGED = {
    "meets": ("-", WHOLE, "1 where every requirement is met, else 0"),
    "rank": ("-", WHOLE, "Place by present worth among those that meet every requirement"),
    "product": ("", TEXT, "Metal salt or lime that is carried"),
    "carbon": ("", TEXT, "Carbon that is bought, with the source of acids on site"),
    "missed": ("", TEXT, "Requirements that are missed, by key"),
}
FIRST: tuple[tuple[str, str, str, str], ...] = (
    ("row", "-", WHOLE, "Line of the plant in the CSV, or place of its form in the folder"),
    ("name", "", TEXT, "Name of the plant, or of its form"),
    ("recommended", "", TEXT,
     "Strategy of least present worth that meets every requirement; empty where none does"),
    ("runner_up", "", TEXT, "The next by present worth"),
    ("lead", "money", NUMBER, "Present worth of the next less that of the recommended"),
    ("close", "-", WHOLE, "1 where that is within what the level of estimate can tell apart"),
    ("nearest", "", TEXT, "Where none meets every requirement: the strategy that misses least"),
    ("missed", "", TEXT, "Requirements that the nearest misses, by key"),
    (UNUSUAL, "", TEXT, "Fields of the plant outside their usual range"),
    (CURRENCY, "", TEXT, "Currency of all money in the row"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """What one column holds."""

    column: str
    unit: str
    kind: str
    description: str


def told() -> Iterator[Told]:
    """Name every column in the order that it is written in."""
    yield from (Told(*row) for row in FIRST)
    for name in fleet.PLANT:
        field = schema.fields()[name]
        label = f"{field.label}, mean of the months" if field.monthly else field.label
        yield Told(name.replace(".", "_"), field.unit, NUMBER, label)
    everything = (*fleet.QUANTITIES, *fleet.LOADS)
    yield from _strategy(CHOSEN, "Recommended strategy", ("product", "carbon"), everything)
    none = fleet.BASELINE
    yield from _strategy(none, lines.LABELS[none], ("meets", "missed"), ("effluent_tp",))
    for strategy in fleet.STRATEGY_NAMES:
        yield from _strategy(strategy, lines.LABELS[strategy], tuple(JUDGED), everything)


def _strategy(
    name: str, label: str, judged: Sequence[str], quantities: Sequence[str]
) -> Iterator[Told]:
    for key in judged:
        unit, kind, description = JUDGED[key]
        yield Told(fleet.column(name, key), unit, kind, f"{label}: {_small(description)}")
    for quantity in quantities:
        yield _quantity(name, label, quantity)


def _quantity(name: str, label: str, quantity: str) -> Told:
    if quantity in LOADS:
        description, unit = LOADS[quantity], "kg/d"
    else:
        kind = lines.KINDS[quantity]
        reduced = "" if kind.reduced_by == lines.SUM else f" ({kind.reduced_by})"
        description, unit = f"{kind.label}{reduced}", kind.unit
    return Told(fleet.column(name, quantity), unit, NUMBER, f"{label}: {_small(description)}")


def _small(words: str) -> str:
    """Put words behind a colon; an abbreviation keeps its letters."""
    return words[0].lower() + words[1:] if words[1:2].islower() else words


def safe(text: str) -> str:
    """Give text that no spreadsheet takes for a formula.

    Examples
    --------
    >>> safe("=1+1"), safe("Northfield")
    ("'=1+1", 'Northfield')
    """
    return f"'{text}" if text.startswith(FORMULA) else text


def results(found: Sequence[Result]) -> bytes:
    """Write every plant that was compared, in the order of the input."""
    columns = list(told())
    whole = [result for result in found if len(result.rows)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([c.column for c in columns])
    if whole:
        order = np.argsort(np.concatenate([r.rows for r in whole]), kind="stable")
        joined = [(c, _values(whole, c.column)[order]) for c in columns]
        for start in range(0, len(order), ROWS):
            cells = [_cells(c, values[start : start + ROWS]) for c, values in joined]
            writer.writerows(zip(*cells, strict=True))
    return out.getvalue().encode()


def _values(found: Sequence[Result], name: str) -> Column:
    """Join one column over the chunks."""
    own = {"row": "rows", "name": "names"}
    parts = [getattr(r, own[name]) if name in own else r.columns[name] for r in found]
    return np.concatenate(parts)


def _cells(told: Told, values: Column) -> list[str]:
    if told.kind == TEXT:
        return [safe(str(value)) for value in values]
    pattern = "%d" if told.kind == WHOLE else "%.12g"
    return ["" if value != value else pattern % value for value in values.tolist()]


def dictionary() -> bytes:
    """Write what each column of the results holds."""
    rows = ((t.column, t.unit.strip("-"), t.kind, t.description) for t in told())
    return _csv(("column", "unit", "type", "description"), rows)


def faults(found: Iterable[PlantFault]) -> bytes:
    """Write every fault of the plants that were skipped."""
    ordered = sorted(found, key=lambda fault: fault.row)
    rows = ((str(f.row), safe(f.name), safe(f.message)) for f in ordered)
    return _csv(("row", "name", "message"), rows)


def _csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue().encode()
