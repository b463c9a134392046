"""How one number was made: from a line back to the form's cells and the reference tables."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from pcompare import appendix, catalogue, run
from pcompare.arrays import NamedConstant, as_cases, plain
from pcompare.errors import Fault, InputError
from pcompare.recording import Recorded
from pcompare.records import FieldRow, Inputs
from pcompare.units import significant

SIGNS = {"+", "-", "*", "/", "^", "<", "<=", ">", ">=", "=", "<>", "and", "or"}


def tree(inputs: Inputs, key: str, depth: int) -> str:
    """Write the tree from one line to its inputs, ``depth`` equations deep."""
    recorded = run.record(inputs, run.compare(inputs))
    if key not in recorded:
        close = get_close_matches(key, recorded, n=3)
        needs = "a line key such as " + (", ".join(close) or "salt_single_point.metal_dose")
        raise InputError("explain", [Fault(where="LINE_KEY", found=f"'{key}'", needs=needs)])
    fields = appendix.field_rows(inputs)
    return "\n".join(
        [f"{key} = {_number(recorded[key])}", *_below(recorded[key], fields, 1, depth)]
    )


def _below(node: Any, fields: dict[str, FieldRow], level: int, depth: int) -> Iterator[str]:
    """Lines of everything that went into one value."""
    indent = "  " * level
    for name, part in _inputs_of(node):
        lead = f"{indent}{name} = {_number(part)}" if name else f"{indent}{_number(part)}"
        if isinstance(part, Recorded) and part.operation == "field":
            yield f"{lead}  {_where(fields[part.name])}"
        elif isinstance(part, NamedConstant):
            yield f"{lead}  constant {part.name}"
        elif isinstance(part, Recorded) and part.operation == "equation":
            row = catalogue.equation_row(part.name.split(".")[0])
            works = "; ".join(row.references)
            yield f"{lead} [{row.unit}]  {part.name}: {row.summary} ({works})"
            if level < depth:
                yield from _below(part, fields, level + 1, depth)
        elif isinstance(part, Recorded) and part.operation == "solved":
            yield f"{lead}  found by iteration; what must be zero is {_number(part.residual)}"
        elif isinstance(part, Recorded):
            yield f"{lead}  by {part.operation}"
            if level < depth:
                yield from _below(part, fields, level + 1, depth)


def _inputs_of(node: Any) -> Iterator[tuple[str, Any]]:
    """Name and value of what a node was made from: an equation's arguments, or operands."""
    if not isinstance(node, Recorded):
        return
    if node.operation == "equation":
        for name, value in node.arguments.items():
            if not isinstance(value, str):
                yield name, value
        return
    for value in node.operands:
        if node.operation in SIGNS or isinstance(value, Recorded):
            yield "", value


def _number(value: Any) -> str:
    numbers = as_cases(plain(value))[0]
    if len(numbers) > 1:
        return f"{significant(float(numbers.min()), 4)} to {significant(float(numbers.max()), 4)}"
    return significant(float(numbers[0]), 6)


def _where(row: FieldRow) -> str:
    place = row.origin if row.status == "given" else f"{row.source} {row.locator}".strip()
    return f"{row.name}: {row.label} [{row.unit}], {row.status}, {place}"
