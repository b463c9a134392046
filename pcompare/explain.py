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
    """Lines of everything named that went into one value; sums and products are passed through."""
    indent = "  " * level
    for name, part in _named_inputs(node):
        lead = f"{indent}{name} = {_number(part)}" if name else f"{indent}{_number(part)}"
        if isinstance(part, NamedConstant):
            yield f"{lead}  constant {part.name}"
        elif not isinstance(part, Recorded):
            yield f"{lead}  fixed by the design"
        elif part.operation == "field":
            yield f"{lead}  {_where(fields[part.name])}"
        elif part.operation == "solved":
            yield f"{lead}  found by iteration; what must be zero is {_number(part.residual)}"
            if level < depth and part.residual is not None:
                yield from _below(part.residual, fields, level + 1, depth)
        elif part.operation == "equation":
            row = catalogue.equation_row(part.name.split(".")[0])
            works = "; ".join(row.references)
            yield f"{lead} [{row.unit}]  {part.name}: {row.summary} ({works})"
            if level < depth:
                yield from _below(part, fields, level + 1, depth)
        elif level <= depth:
            yield f"{lead}  worked out from"
            yield from _below(part, fields, level + 1, depth + 1)


def _named_inputs(node: Any) -> Iterator[tuple[str, Any]]:
    """Name and value of what a node was made from.

    An equation gives its arguments; anything else gives the nearest equations, fields and solved
    values below it, each once.
    """
    if not isinstance(node, Recorded):
        return
    if node.operation == "equation":
        for name, value in node.arguments.items():
            if not isinstance(value, str):
                yield name, value
        return
    seen: set[int] = set()
    level: list[Any] = list(node.operands)
    while level:
        part = level.pop(0)
        if id(part) in seen or not isinstance(part, Recorded):
            continue
        seen.add(id(part))
        if part.operation in ("equation", "field", "solved"):
            yield "", part
        else:
            level.extend(part.operands)


def _number(value: Any) -> str:
    numbers = as_cases(plain(value))[0]
    if len(numbers) > 1:
        return f"{significant(float(numbers.min()), 4)} to {significant(float(numbers.max()), 4)}"
    return significant(float(numbers[0]), 6)


def _where(row: FieldRow) -> str:
    place = row.origin if row.status == "given" else f"{row.source} {row.locator}".strip()
    return f"{row.name}: {row.label} [{row.unit}], {row.status}, {place}"
