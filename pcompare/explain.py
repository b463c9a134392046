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
        [f"{key} = {_number(recorded[key])}", *_below(recorded[key], fields, 1, depth, set())]
    )


def _below(
    node: Any, fields: dict[str, FieldRow], level: int, depth: int, shown: set[int]
) -> Iterator[str]:
    """Lines of everything named that went into one value; sums and products are passed through.

    ``shown`` holds the steps told already: one that stands in many places, as in a loop of passes,
    is told once.
    """
    indent = "  " * level
    for name, part in _named_inputs(node):
        lead = f"{indent}{name} = {_number(part)}" if name else f"{indent}{_number(part)}"
        if isinstance(part, NamedConstant):
            yield f"{lead}  constant {part.name}"
        elif not isinstance(part, Recorded):
            yield f"{lead}  fixed by the design"
        elif part.operation == "field":
            yield f"{lead}  {_where(fields[part.name])}"
        else:
            told = id(part) in shown
            yield f"{lead}{_step(part)}{'; as above' if told else ''}"
            below = part.residual if part.operation == "solved" else part
            named = part.operation in ("solved", "equation")
            if not told and (level < depth or not named):
                shown.add(id(part))
                deeper = depth if named else depth + 1
                yield from _below(below, fields, level + 1, deeper, shown)


def _step(part: Recorded) -> str:
    """Say what made a value: an equation with its works, an iteration, or plain arithmetic."""
    if part.operation == "solved":
        return f"  found by iteration; what must be zero is {_number(part.residual)}"
    if part.operation == "equation":
        row = catalogue.equation_row(part.name.split(".")[0])
        works = "; ".join(row.references)
        return f" [{row.unit}]  {part.name}: {row.summary} ({works})"
    return "  worked out from"


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
