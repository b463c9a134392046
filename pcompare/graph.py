"""A recording as a list of distinct steps, ready to become cells.

Equal operations on equal operands are one step, however often they were recorded; what adds nothing
(times one, plus zero, a sum over a single month) is left out. What the steps are does not depend on
the values, so two runs of one plant have the same steps in the same order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from pcompare.arrays import Array, NamedConstant, plain
from pcompare.recording import REDUCTIONS, Recorded

MOST_INLINE = 30  # operations in one formula
MOST_IN_PASS = 40  # the same, inside the passes to a root
MOST_REPEATED = 10  # operations that are rather written again than given a cell
SHOWN = 2  # passes of a loop, at either end, that stand in the book equation by equation
NOBODY: frozenset[str] = frozenset()
LEAVES = ("field", "constant", "fixed")
COMMUTE = ("+", "*", "maximum", "minimum", "and", "or", "=")
SUMS = frozenset(REDUCTIONS.values())
ADDED_UP = frozenset(("total", "mean"))  # sums that reach over an expression as well as over cells
PLAIN_ARITHMETIC = frozenset(("+", "-", "*", "/"))


class Step:
    """One distinct step of a recording.

    Attributes
    ----------
    operation : str
        As of a recording number; besides ``constant``, and ``ratio`` of numerator, denominator and
        what stands where the denominator is zero.
    operands : tuple of Step or number
    name : str
        The field, constant or equation, or what a design calls a number it holds.
    value : array (1, months)
    number : int
        Place in the list.
    residual : Step, number or None
        Of a solved value: what must be zero. A solved value with operands has a formula as well.
    users : int
        How many steps and results use it.
    cell : bool
        Whether it takes a cell of its own; otherwise it stands inside the formula that uses it.
    turn : (int, int) or None
        Of an equation inside a loop: its pass, and how many there are.
    owners : frozenset of str
        The subjects (strategies) whose results rest on it.
    below : tuple of Step
        The steps among the operands.

    """

    __slots__ = (
        "below", "cell", "name", "number", "operands", "operation", "owners", "residual", "turn",
        "users", "value",
    )  # fmt: skip

    def __init__(
        self, operation: str, operands: tuple[Operand, ...], name: str, value: Array
    ) -> None:
        self.operation = operation
        self.operands = operands
        self.below = tuple([part for part in operands if type(part) is Step])
        self.name = name
        self.value = value
        self.number = -1
        self.residual: Operand | None = None
        self.users = 0
        self.cell = False
        self.turn: tuple[int, int] | None = None
        self.owners: frozenset[str] = NOBODY

    @property
    def months(self) -> int:
        """Months that the value has: 1 or 12."""
        return int(self.value.shape[1])


Operand: TypeAlias = "Step | float | bool"


@dataclass(frozen=True, slots=True)
class Graph:
    """The steps below some results, operands before what uses them, and the results themselves."""

    steps: tuple[Step, ...]
    results: Mapping[str, Operand]

    @property
    def solved(self) -> tuple[Step, ...]:
        """The values found by iteration, in order."""
        return tuple(step for step in self.steps if step.operation == "solved")

    def resting_on_values(self) -> set[int]:
        """Give the numbers of all steps that rest on a solved value without a formula."""
        marked: set[int] = set()
        for step in self.steps:
            held = step.operation == "solved" and not step.operands
            if held or any(part.number in marked for part in step.below):
                marked.add(step.number)
        return marked

    def live_share(self, keys: Iterable[str]) -> float:
        """Share of results that follow every input without a value found by iteration."""
        marked = self.resting_on_values()
        found = [self.results[key] for key in keys]
        held = sum(isinstance(step, Step) and step.number in marked for step in found)
        return 1.0 - held / len(found)


def graph(results: Mapping[str, Any], owners: Mapping[str, str]) -> Graph:
    """Reduce recorded results to their distinct steps.

    Parameters
    ----------
    results : mapping of str to recording number or number
    owners : mapping of str to str
        The subject of each result: steps that rest on one subject alone can stand with it. A
        result that is left out has none.

    Returns
    -------
    Graph
    """
    builder = _Builder()
    builder.add(results.values())
    found = {key: builder.operand(value) for key, value in results.items()}
    return _marked(found, owners)


class _Builder:
    """Makes one step of all recording numbers that are the same."""

    def __init__(self) -> None:
        self.of_value: dict[int, Operand] = {}  # by identity: recording numbers and arrays
        self.known: dict[tuple[Any, ...], Step] = {}
        self.kept: list[Any] = []  # what an identity is used of, kept alive
        self.waiting: list[tuple[Step, Any]] = []  # solved, residual not made yet

    def operand(self, value: Any) -> Operand:
        """Give the step of a recording number, or the number that it is."""
        if type(value) is float:
            return value
        found = self.of_value.get(id(value))
        if found is None:
            found = self.of_value[id(value)] = self._plain(value)
            self.kept.append(value)
        return found

    def add(self, roots: Iterable[Any]) -> None:
        """Make the steps of some results, then of what must be zero of their solved values."""
        wanted = list(roots)
        while wanted:
            self._make(wanted)
            done, self.waiting = self.waiting, []
            wanted = [residual for _, residual in done]
            self._make(wanted)
            for step, residual in done:
                step.residual = self.operand(residual)

    def _make(self, roots: Iterable[Any]) -> None:
        """Make the steps of recording numbers, operands before what uses them."""
        known, kept = self.of_value, self.kept
        stack = [root for root in roots if type(root) is Recorded]
        while stack:
            node = stack[-1]
            if id(node) in known:
                stack.pop()
                continue
            missing = [p for p in node.operands if type(p) is Recorded and id(p) not in known]
            if node.passes is not None and id(node.passes) not in known:
                missing.append(node.passes)
            if missing:
                stack.extend(missing)
                continue
            stack.pop()
            known[id(node)] = self._step(node)
            kept.append(node)

    def _plain(self, value: Any) -> Operand:
        if isinstance(value, NamedConstant):
            return self._known("constant", (), value.name, np.array([[float(value)]]))
        array = np.atleast_2d(np.asarray(value))
        first = array.flat[0]
        if array.size > 1 and not (array == first).all():
            return self._known("fixed", (), "by month", array)
        return bool(first) if array.dtype == bool else float(first)

    def _known(
        self, operation: str, operands: tuple[Operand, ...], name: str, value: Array
    ) -> Step:
        """Give the step of an operation on operands, the same one each time."""
        parts = [o.number if type(o) is Step else repr(o) for o in operands]
        if len(parts) == 2 and operation in COMMUTE and _turned(*parts):
            parts.reverse()
        content = value.tobytes() if operation in ("fixed", "constant") else b""
        key = (operation, name, content, *parts)
        step = self.known.get(key)
        if step is None:
            if value.shape[1] > 1:
                widest = [o.value.shape[1] for o in operands if type(o) is Step]
                if widest and max(widest) == 1:
                    value = value[:, :1]
            step = Step(operation, operands, name, value)
            step.number = len(self.known)
            self.known[key] = step
        return step

    def _step(self, node: Recorded) -> Operand:
        operation = node.operation
        if operation == "solved":
            return self._solved(node)
        if operation in LEAVES:
            return self._known(operation, (), node.name, node.plain)
        operands = tuple([self.operand(part) for part in node.operands])
        if operation == "equation" and type(operands[0]) is Step:
            return self._equation(node, operands)
        return self._reduced(node, operands)

    def _equation(self, node: Recorded, operands: tuple[Operand, ...]) -> Step:
        """Name a result, and the pass of a loop that it belongs to if it belongs to one alone."""
        count = len(self.known)
        step = self._known("equation", operands, node.name, node.plain)
        if len(self.known) > count:
            step.turn = node.turn
        elif step.turn != node.turn:
            step.turn = None
        return step

    def _solved(self, node: Recorded) -> Step:
        count = len(self.known)
        if node.passes is not None:
            step = self._known("solved", (self.operand(node.passes),), "", node.plain)
        else:  # its residual tells it from others, so it is a step of its own
            step = self._known("solved", (), f"number {count}", node.plain)
        if len(self.known) > count:
            self.waiting.append((step, node.residual))
        return step

    def _reduced(self, node: Recorded, operands: tuple[Operand, ...]) -> Operand:
        """Leave out what adds nothing; otherwise make the step."""
        operation, value = node.operation, node.plain
        for part in operands:
            if type(part) is Step:
                break
        else:
            return self._plain(value)
        simple = _simplified(operation, operands, value)
        if simple is not None:
            return simple
        if operation in SUMS and isinstance(operands[0], Step) and operands[0].months == 1:
            wide = plain(node.operands[0]).shape[1]
            if operation != "total" or wide == 1:
                return operands[0]
            operation, operands = "*", (float(wide), operands[0])
        if operation == "where":
            operation, operands = _as_ratio(operands)
        return self._known(operation, operands, node.name, value)


def _turned(a: int | str, b: int | str) -> bool:
    """Tell whether two operands stand the other way round: numbers last, steps in their order."""
    if isinstance(a, int) and isinstance(b, int):
        return b < a
    return isinstance(b, int)


def _is(part: Operand, number: float) -> bool:
    return not isinstance(part, Step) and part == number


def _simplified(operation: str, operands: tuple[Operand, ...], value: Array) -> Operand | None:
    """Give what an operation comes to without being done, or None."""
    if operation == "where":
        chosen, yes, no = operands
        if not isinstance(chosen, Step):
            return yes if chosen else no
        return yes if yes is no else None
    if operation == "positive":
        return operands[0]
    if len(operands) != 2:
        return None
    a, b = operands
    if isinstance(a, Step) and isinstance(b, Step):
        return a if a is b and operation in ("maximum", "minimum") else None
    if operation == "+" and (_is(a, 0.0) or _is(b, 0.0)):
        return b if _is(a, 0.0) else a
    if operation == "*" and (_is(a, 1.0) or _is(b, 1.0)):
        return b if _is(a, 1.0) else a
    nothing = _is(a, 0.0) or (operation == "*" and _is(b, 0.0))
    if operation in ("*", "/") and nothing and bool(np.isfinite(value).all()):
        return 0.0
    if (operation == "-" and _is(b, 0.0)) or (operation in ("/", "^") and _is(b, 1.0)):
        return a
    return None


def _as_ratio(operands: tuple[Operand, ...]) -> tuple[str, tuple[Operand, ...]]:
    """Write a division that is guarded against zero as one step."""
    zero, empty, quotient = operands
    if (
        isinstance(zero, Step)
        and zero.operation == "="
        and isinstance(quotient, Step)
        and quotient.operation == "/"
        and isinstance(quotient.operands[1], Step)
        and quotient.operands[1].operation == "where"
        and quotient.operands[1].operands[0] is zero
        and _is(quotient.operands[1].operands[1], 1.0)
    ):
        numerator, guarded = quotient.operands
        denominator = guarded.operands[2]  # type: ignore[union-attr]
        compared = [part for part in zero.operands if part is not denominator]
        if len(compared) == 1 and _is(compared[0], 0.0):
            return "ratio", (numerator, denominator, empty)
    return "where", operands


def _marked(results: Mapping[str, Operand], owners: Mapping[str, str]) -> Graph:
    """Give the steps in use their numbers, and settle which of them take a cell."""
    order = _reached(results.values())
    for step in order:
        for part in (*step.below, step.residual):
            if isinstance(part, Step):
                part.users += 1
    for result in results.values():
        if isinstance(result, Step):
            result.users += 1
    _settle_owners(order, results, owners)
    size: dict[int, int] = {}
    outside = _outside_passes(order, results.values())
    for number, step in enumerate(order):
        step.number = number
        # An equation on the way to a root is one of many trials: it stands inside their formulas.
        named = step.operation == "equation" and not _amid(step) and id(step) in outside
        step.cell = named or step.operation == "solved" or step.operation in LEAVES
        most = MOST_INLINE if id(step) in outside else MOST_IN_PASS
        inside = [part for part in step.below if not part.cell]
        if step.operation in SUMS:
            for part in inside:
                part.cell = part.cell or not (step.operation in ADDED_UP and _is_arithmetic(part))
            inside = [part for part in inside if not part.cell]
        while inside and 1 + sum(size[p.number] for p in inside) > most:
            largest = max(inside, key=lambda p: size[p.number])
            largest.cell = True
            inside = [p for p in inside if p is not largest and not p.cell]
        size[number] = 1 + sum(size[p.number] for p in inside)
        if (step.users - 1) * size[number] > MOST_REPEATED:
            step.cell = True
    return Graph(steps=tuple(order), results=results)


def _amid(step: Step) -> bool:
    """Tell whether a step belongs to the middle passes of a loop, which take few cells."""
    return step.turn is not None and SHOWN < step.turn[0] <= step.turn[1] - SHOWN


def _outside_passes(order: Iterable[Step], results: Iterable[Operand]) -> set[int]:
    """Give the identities of all steps that are not merely on the way to a root."""
    found: set[int] = set()
    stack = [step for step in results if isinstance(step, Step)]
    stack += [step.residual for step in order if isinstance(step.residual, Step)]
    while stack:
        step = stack.pop()
        if id(step) not in found:
            found.add(id(step))
            if step.operation != "solved":
                stack.extend(step.below)
    return found


def _is_arithmetic(step: Step) -> bool:
    """Tell whether a step stands inside a formula as nothing but plain arithmetic on cells."""
    return step.cell or (
        step.operation in PLAIN_ARITHMETIC and all(_is_arithmetic(part) for part in step.below)
    )


def _reached(roots: Iterable[Operand]) -> list[Step]:
    """List the steps below some results and below the residuals of their solved values."""
    order: list[Step] = []
    seen: set[int] = set()
    later = [root for root in roots if isinstance(root, Step)]
    while later:
        stack = [(root, False) for root in reversed(later)]
        later = []
        while stack:
            step, done = stack.pop()
            if done:
                order.append(step)
            elif id(step) not in seen:
                seen.add(id(step))
                stack.append((step, True))
                stack.extend((part, False) for part in reversed(step.below))
                if isinstance(step.residual, Step):
                    later.append(step.residual)
    return order


def _settle_owners(
    order: list[Step], results: Mapping[str, Operand], owners: Mapping[str, str]
) -> None:
    """Hand the owners of results down to what they are made of; a residual goes with its value."""
    bits = {name: 1 << place for place, name in enumerate(dict.fromkeys(owners.values()))}
    marks = dict.fromkeys(map(id, order), 0)
    for key, result in results.items():
        if isinstance(result, Step) and key in owners:
            marks[id(result)] |= bits[owners[key]]
    for _ in range(2):  # a residual rests on the solved value that it belongs to
        for step in reversed(order):
            mark = marks[id(step)]
            if step.operation == "solved" and isinstance(step.residual, Step):
                marks[id(step.residual)] |= mark
            for part in step.below:
                marks[id(part)] |= mark
    known: dict[int, frozenset[str]] = {}
    for step in order:
        mark = marks[id(step)]
        if mark not in known:
            known[mark] = frozenset(name for name, bit in bits.items() if mark & bit)
        step.owners = known[mark]
