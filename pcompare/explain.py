"""How one number was made: from a line back to the form's cells and the reference tables.

The steps form a graph, each told once; ``text`` writes it as a tree, ``document`` as JSON.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from pcompare import appendix, catalogue, comparison, run, traced
from pcompare.arrays import NamedConstant, as_cases, plain
from pcompare.designing import compare, point_of
from pcompare.errors import Fault, InputError
from pcompare.findings import FieldRow
from pcompare.recording import Recorded
from pcompare.records import (
    Comparison,
    Design,
    Inputs,
    Line,
)
from pcompare.units import significant

FORMAT = "pcompare explanation 1"
FIXED = "fixed by the design"
WORKED_OUT = "worked out from"
NUMBER = "a number of the equation, or from a choice of the form"


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One step to a number, or one of the numbers it starts from.

    Attributes
    ----------
    kind : str
        ``field`` or ``coefficient`` (a cell of the form or a row of a table), ``constant``,
        ``fixed`` (by the design), ``number``, ``equation``, ``iteration`` or ``arithmetic``.
    key : str
        The field, constant or equation.
    what : str
        What it is, in words.
    equation : str
        The equation in words.
    status, source : str
        How sure the number is; for an equation what its best check rests on. Where it is from.
    values : tuple of float
        One, or twelve months.
    residual : float or None
        Of an iteration: what must be zero.
    inputs : tuple of (str, int)
        Argument and number of the step that it was given.
    """

    kind: str
    key: str = ""
    what: str = ""
    equation: str = ""
    unit: str = ""
    status: str = ""
    source: str = ""
    values: tuple[float, ...] = ()
    residual: float | None = None
    inputs: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Explanation:
    """One line and every step below it; the last step is the line's own."""

    line: Line
    steps: tuple[Step, ...]
    chosen: bool = False  # the design fixed the number; the steps tell how

    @property
    def root(self) -> int:
        """Number of the step that made the line; -1 where the line has no value."""
        return len(self.steps) - 1


class Explainer:
    """Explains the lines of one run; what lines share is recorded once."""

    def __init__(self, inputs: Inputs) -> None:
        self.inputs = inputs
        self.compared = compare(inputs)
        self.recording = traced.trace(inputs, self.compared)
        self.fields = appendix.field_rows(inputs)
        self.grades = catalogue.verify().grades
        self.lines = _lines(inputs, self.compared)
        self._making: dict[str, Recorded] = dict(self.recording.making)
        self._others: dict[str, Mapping[str, Recorded]] = {}

    def explain(self, key: str) -> Explanation:
        """Explain one line; an unknown key is a fault with its close matches."""
        if key not in self.lines:
            close = get_close_matches(key, self.lines, n=3)
            needs = "a line key such as " + (", ".join(close) or "salt_single_point.metal_dose")
            raise InputError("explain", [Fault(where="LINE_KEY", found=f"'{key}'", needs=needs)])
        line = self.lines[key]
        if line.value is None:
            return Explanation(line=line, steps=())
        steps = _Steps(self.fields, self.grades)
        steps.add(self.node(key))
        chosen = key in self._making
        return Explanation(line=line, steps=tuple(steps.found), chosen=chosen)

    def node(self, key: str) -> Any:
        """Give the recorded number of a line that has a value.

        What a design fixed is given as it was chosen.
        """
        subject = key.rpartition(".")[0]
        if key not in self.recording.lines and subject not in self._others:
            self._others[subject] = self._beside(subject)
        for found in (self._making, self.recording.lines):
            if key in found:
                return found[key]
        return self._others[subject][key]

    def _beside(self, subject: str) -> Mapping[str, Recorded]:
        """Record a candidate that is not carried: ``strategy.products.X``, carbons or salts."""
        strategy, among, product = subject.split(".")
        inputs = run.with_every_salt(self.inputs) if among == "salts" else self.inputs
        named = comparison.carbon_key if among == "carbons" else _product
        found = [c for c in point_of(inputs, strategy) if named(c.design) == product]
        design = comparison.best(found).design
        making = traced.chosen_mean(traced.on_recording_numbers(inputs), design)
        if making is not None:
            self._making[f"{subject}.design_mean"] = making
        return traced.trace_candidate(inputs, design, subject)


def _product(design: Design) -> str:
    return design.product


def _lines(inputs: Inputs, compared: Comparison) -> dict[str, Line]:
    """Give every line of a run by its key, as the results list them."""
    found = list(compared.basis.values()) + list(run.differences(compared).values())
    for result in compared.strategies.values():
        found += result.lines.values()
        for beside in (*result.others.values(), *result.carbons.values()):
            found += beside.values()
    for lines in run.salts(inputs).values():
        found += lines.values()
    return {line.key: line for line in found}


class _Steps:
    """Lists the steps below a number, operands before what uses them."""

    def __init__(self, fields: Mapping[str, FieldRow], grades: Mapping[str, str]) -> None:
        self.fields = fields
        self.grades = grades
        self.found: list[Step] = []
        self.known: dict[Any, int] = {}
        self.kept: list[Any] = []  # so that no identity is used twice

    def add(self, value: Any) -> int:
        """Add a value with everything below it; give its number."""
        stack: list[tuple[Any, bool]] = [(value, False)]
        while stack:
            part, done = stack.pop()
            key = _identity(part)
            if key in self.known:
                continue
            if done or not isinstance(part, Recorded):
                self.known[key] = len(self.found)
                self.kept.append(part)
                self.found.append(self._step(part))
                continue
            stack.append((part, True))
            stack += [(below, False) for _, below in reversed(list(named_inputs(part)))]
        return self.known[_identity(value)]

    def _step(self, part: Any) -> Step:
        values = tuple(map(float, as_cases(plain(part))[0]))
        if isinstance(part, NamedConstant):
            return Step(
                kind="constant", key=part.name, values=values, what="constant of the tables"
            )
        if not isinstance(part, Recorded):
            return Step(kind="number", values=values, what=NUMBER)
        if part.operation == "field":
            return _field_step(self.fields[part.name], values)
        if part.operation == "fixed":
            return Step(kind="fixed", key=part.name, values=values, what=FIXED)
        inputs = tuple((n, self.known[_identity(p)]) for n, p in named_inputs(part))
        if part.operation == "solved":
            rest = float(abs(plain(part.residual)).max()) if part.residual is not None else 0.0
            return Step(
                kind="iteration", what="by iteration", values=values, residual=rest, inputs=inputs
            )
        if part.operation == "equation":
            return self._equation_step(part.name, values, inputs)
        return Step(kind="arithmetic", what=WORKED_OUT, values=values, inputs=inputs)

    def _equation_step(
        self, name: str, values: tuple[float, ...], inputs: tuple[tuple[str, int], ...]
    ) -> Step:
        row = catalogue.equation_row(name.split(".")[0])
        unit, meaning = row.results.get(name.partition(".")[2], (row.unit, ""))
        return Step(
            kind="equation",
            key=name,
            what=f"{row.summary} {meaning}".strip(),
            equation=row.formula,
            unit=unit,
            status=self.grades[row.name],
            source="; ".join(row.references),
            values=values,
            inputs=inputs,
        )


def _identity(part: Any) -> Any:
    if isinstance(part, Recorded):
        return id(part)
    name = part.name if isinstance(part, NamedConstant) else ""
    return name, as_cases(plain(part)).tobytes()


def _field_step(row: FieldRow, values: tuple[float, ...]) -> Step:
    return Step(
        kind="coefficient" if row.name.startswith("coefficient.") else "field",
        key=row.name,
        what=row.label,
        unit=row.unit,
        status=row.status,
        source=row.origin if row.status == "given" else f"{row.source} {row.locator}".strip(),
        values=values,
    )


def named_inputs(node: Recorded) -> Iterator[tuple[str, Any]]:
    """Give name and value of what a number was made from.

    An equation gives its arguments; a number found by iteration gives what stands in the equation
    it solves; anything else gives the nearest equations, fields and solved values below it.
    """
    if node.operation == "equation":
        for name, value in node.arguments.items():
            if not isinstance(value, str):
                yield name, value
        return
    seen: set[int] = {id(node)}
    level: list[Any] = [node.residual] if node.operation == "solved" else list(node.operands)
    while level:
        part = level.pop(0)
        if id(part) in seen or not isinstance(part, Recorded):
            continue
        seen.add(id(part))
        if part.operation == "solved" and node.operation == "solved":
            yield "", part
        elif part.operation in ("equation", "field", "fixed", "solved"):
            if node.operation == "solved" and _rests_on(part, node):
                level.extend(part.operands)  # the equation being solved: through it, not round it
            else:
                yield "", part
        else:
            level.extend(part.operands)


def _rests_on(part: Recorded, leaf: Recorded) -> bool:
    """Tell whether a number was made with a certain other one."""
    seen: set[int] = set()
    stack: list[Any] = [part]
    while stack:
        node = stack.pop()
        if node is leaf:
            return True
        if isinstance(node, Recorded) and id(node) not in seen:
            seen.add(id(node))
            stack.extend(node.operands)
    return False


# ---------------------------------------------------------------- text and JSON


def tree(inputs: Inputs, key: str, depth: int) -> str:
    """Write the tree from one line to its inputs, ``depth`` equations deep."""
    return text(Explainer(inputs).explain(key), depth)


def text(told: Explanation, depth: int) -> str:
    """Write an explanation as a tree; a step that stands in many places is told once."""
    line = told.line
    if not told.steps:
        return f"{line.key} = nothing: {line.label.lower()}; {line.reason}"
    unit = f" [{line.unit}]" if line.unit else ""
    head = f"{line.key} = {_written(told.steps[-1].values)}{unit}  {line.label}"
    if told.chosen:
        head += "; fixed by the design, which chose it so"
    return "\n".join([head, *_branches(told, depth)])


def _branches(told: Explanation, depth: int) -> Iterator[str]:
    shown: set[int] = set()
    root = told.steps[told.root]
    whole = root.kind in ("equation", "iteration") or not root.inputs
    first = [("", told.root)] if whole else list(root.inputs)
    stack = [(name, number, 1, depth) for name, number in reversed(first)]
    while stack:
        name, number, level, left = stack.pop()
        step = told.steps[number]
        again = number in shown and bool(step.inputs)
        yield "  " * level + _told(name, step) + ("; as above" if again else "")
        passed = step.kind == "arithmetic"  # plain sums cost no depth
        if not again and (left > 1 or passed):
            shown.add(number)
            below = left if passed else left - 1
            stack += [(n, i, level + 1, below) for n, i in reversed(step.inputs)]


def _told(name: str, step: Step) -> str:
    lead = f"{name} = {_written(step.values)}" if name else _written(step.values)
    if step.kind in ("field", "coefficient"):
        return f"{lead}  {step.key}: {step.what} [{step.unit}], {step.status}, {step.source}"
    if step.kind == "constant":
        return f"{lead}  constant {step.key}"
    if step.kind == "fixed":
        return f"{lead}  {step.key.replace('_', ' ')}: {FIXED}; run pcompare again to change it"
    if step.kind == "iteration":
        zero = significant(step.residual or 0.0, 6)
        return f"{lead}  found by iteration; what must be zero is {zero}"
    if step.kind == "equation":
        formula = f": {step.equation}" if step.equation else ""
        return (
            f"{lead} [{step.unit}]  {step.key}: {step.what}{' ' if formula else ''}"
            f"{formula.removeprefix(': ')} ({step.source}; {step.status})"
        )
    return f"{lead}  {WORKED_OUT if step.inputs else NUMBER}"


def _written(values: tuple[float, ...]) -> str:
    if min(values) < max(values):
        return f"{significant(min(values), 4)} to {significant(max(values), 4)}"
    return significant(values[0], 6)


def document(told: Explanation) -> str:
    """Give an explanation as JSON: every step once, in the order of calculation."""
    line = told.line
    found = {
        "format": FORMAT,
        "line": line.key,
        "label": line.label,
        "unit": line.unit,
        "value": line.value,
        "reason": line.reason,
        "chosen_by_design": told.chosen,
        "root": told.root if told.steps else None,
        "steps": [_as_json(number, step) for number, step in enumerate(told.steps)],
    }
    return json.dumps(found, ensure_ascii=False, allow_nan=False, indent=1)


def _as_json(number: int, step: Step) -> dict[str, Any]:
    finite = [v if abs(v) < float("inf") else None for v in step.values]
    found: dict[str, Any] = {
        "step": number,
        "kind": step.kind,
        "name": step.key,
        "what": step.what,
        "value": finite if len(finite) > 1 else finite[0],
        "unit": step.unit,
        "equation": step.equation,
        "status": step.status,
        "source": step.source,
        "inputs": [{"name": name, "step": below} for name, below in step.inputs],
    }
    if step.residual is not None:
        found["residual"] = step.residual
    return found
