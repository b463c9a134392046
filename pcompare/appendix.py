"""What the appendices list: every field with its source, every equation used, every work cited."""

from __future__ import annotations

from collections.abc import Iterable

from pcompare import catalogue, tables
from pcompare.arrays import as_cases, plain
from pcompare.findings import EquationRow, FieldRow, PublishedNumber
from pcompare.inputs import schema
from pcompare.recording import Recorded, walk
from pcompare.records import Inputs


def field_rows(inputs: Inputs) -> dict[str, FieldRow]:
    """Describe every field of one set of inputs, in the form's order."""
    return {field.name: _row(field, inputs) for field in schema.fields().values()}


def _row(field: schema.Field, inputs: Inputs) -> FieldRow:
    name = field.name
    origin = inputs.origins.get(name, "default")
    given = not origin.startswith("default")
    value: str | float | tuple[float, ...]
    if name in inputs.values:
        numbers = tuple(map(float, as_cases(plain(inputs[name]))[0]))
        value = numbers if len(numbers) > 1 else numbers[0]
    else:
        value = inputs.choices.get(name, "")
    return FieldRow(
        name=name,
        sheet=field.sheet,
        label=field.label,
        unit=field.unit,
        value=value,
        low=inputs.low.get(name),
        high=inputs.high.get(name),
        status="given" if given else field.status,
        source=inputs.notes.get(name, "") if given else field.source,
        locator="" if given else field.locator,
        origin=origin,
    )


def used_equations(
    recorded: Iterable[Recorded], beside: Iterable[str] = ()
) -> tuple[EquationRow, ...]:
    """List the equations that recorded numbers went through, and those beside, by subject."""
    names = {node.name.split(".")[0] for node in walk(*recorded) if node.operation == "equation"}
    names.update(beside)
    rows = [catalogue.equation_row(name) for name in names]
    return tuple(sorted(rows, key=lambda row: (row.subject, row.name)))


def references_of(names: Iterable[str]) -> tuple[str, ...]:
    """Keys of the works that some equations cite, each once."""
    keys: dict[str, None] = {}
    for name in names:
        for reference in catalogue.equation_row(name.split(".")[0]).references:
            keys[reference.split(",")[0].strip()] = None
    return tuple(keys)


def cited_sources(
    fields: Iterable[FieldRow], equations: Iterable[EquationRow], methods: Iterable[str] = ()
) -> dict[str, str]:
    """Give the citation of every work that fields, equations or methods rest on, by key."""
    keys = {*(row.source for row in fields), *methods}
    keys.update(ref.split(",")[0].strip() for row in equations for ref in row.references)
    return {key: text for key, text in tables.sources().items() if key in keys}


def published_numbers() -> tuple[PublishedNumber, ...]:
    """List every published check with what the equations give, subject by subject."""
    found = catalogue.verify().by_subject()
    return tuple(
        PublishedNumber(
            subject=subject, check=f.check, equation=f.equation, expected=f.expected,
            computed=f.computed, difference=f.difference, tolerance=f.tolerance, unit=f.unit,
            passed=f.passed, status=f.status, source=", ".join(filter(None, (f.source, f.locator))),
        )
        for subject, findings in found.items()
        for f in findings
    )  # fmt: skip
