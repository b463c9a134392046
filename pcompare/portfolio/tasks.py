"""One chunk of plants: the function that a process, or an engine of many machines, is given.

A ``Task`` holds all that ``work`` needs, and a ``Result`` all that it finds; both travel as they
are. Memory grows with the plants of one chunk, never with those of the whole.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from pcompare.errors import InputError
from pcompare.findings import PlantFault
from pcompare.inputs import checks, plants_file, reader, schema
from pcompare.inputs.draft import DEFAULT, Draft
from pcompare.inputs.plants_file import Plant
from pcompare.portfolio import fleet
from pcompare.portfolio.fleet import Column, text

CURRENCY, UNUSUAL = "currency", "unusual"


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """Plants to read and compare.

    Attributes
    ----------
    number : int
        Which chunk this is, from 0.
    base : Draft
        What the plants of a CSV share.
    fields : tuple of str
        The field of each cell of a plant.
    comma : bool
        Whether a comma is the decimal sign.
    folder : str
        Where the forms stand that the plants name; empty for a CSV.
    """

    number: int
    plants: tuple[Plant, ...]
    base: Draft
    fields: tuple[str, ...] = ()
    comma: bool = False
    folder: str = ""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Result:
    """What was found of one chunk: columns of the plants compared, and the faults of others."""

    number: int
    rows: Column
    names: Column
    columns: dict[str, Column]
    faults: tuple[PlantFault, ...]
    labels: dict[str, str]  # of requirements, by key


def work(task: Task) -> Result:
    """Read the plants of one chunk, and compare those without a fault."""
    drafts: list[Draft] = []
    sound: list[Plant] = []
    faults: list[PlantFault] = []
    for plant in task.plants:
        try:
            draft = _draft(task, plant)
        except InputError as error:
            faults += [PlantFault(plant.row, plant.name, str(f)) for f in error.faults]
            continue
        sound.append(plant)
        drafts.append(draft)
    columns, labels = _compared(drafts)
    if drafts:
        columns[CURRENCY] = text(str(draft.given["finance.currency"]) for draft in drafts)
        columns[UNUSUAL] = text(_unusual(task, draft) for draft in drafts)
    return Result(
        number=task.number,
        rows=np.array([plant.row for plant in sound], dtype=np.int64),
        names=text(plant.name for plant in sound),
        columns=columns,
        faults=tuple(faults),
        labels=labels,
    )


def _draft(task: Task, plant: Plant) -> Draft:
    """Read one plant and check it as a whole, as ``compare`` does."""
    if task.folder:
        draft = plants_file.form_of(Path(task.folder), plant)
    else:
        draft = plants_file.draft_of(task.base, task.fields, task.comma, plant)
    reader.finish(draft)
    if draft.noted:
        raise InputError(plant.name, draft.faults)
    return draft


def _compared(drafts: Sequence[Draft]) -> tuple[dict[str, Column], dict[str, str]]:
    """Compare plants, those together that can be, and put the parts in their order again."""
    columns: dict[str, Column] = {}
    labels: dict[str, str] = {}
    for places, inputs in plants_file.together(drafts):
        for rows, part in fleet.split(inputs, len(places)):
            found, asked = fleet.evaluate(part, len(rows))
            labels |= asked
            for name, values in found.items():
                if name not in columns:
                    columns[name] = np.empty(len(drafts), dtype=values.dtype)
                columns[name][places[rows]] = values
    return columns, labels


def _unusual(task: Task, draft: Draft) -> str:
    """Name the fields whose value for this plant lies outside its usual range."""
    known = schema.fields()
    names = [n for n in task.fields if known[n].numeric] if task.fields else list(_given(draft))
    found = checks.unusual(draft, (known[name] for name in names))
    return " ".join(field.name for field, _, _ in found)


def _given(draft: Draft) -> Iterator[str]:
    return (n for n, field in schema.fields().items()
            if field.numeric and draft.places[n] != DEFAULT)  # fmt: skip
