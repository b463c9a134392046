"""The recording number: a value that remembers how it was made.

Each operation gives a new node that points at its operands, so an expression is a graph in which
every node can become a cell. Nothing here is ever drawn, sorted or branched on: ``bool()`` and
``float()`` raise, so an ``if`` on a value fails in the first test.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np
from numpy.lib.mixins import NDArrayOperatorsMixin

from pcompare.arrays import Array, current_pass, normal_cdf, plain

# ufunc name -> operation name of the graph
UFUNCS = {
    "add": "+", "subtract": "-", "multiply": "*", "divide": "/", "power": "^",
    "negative": "negative", "positive": "positive", "absolute": "absolute",
    "exp": "exp", "log": "log", "log10": "log10", "sqrt": "sqrt",
    "maximum": "maximum", "minimum": "minimum",
    "less": "<", "less_equal": "<=", "greater": ">", "greater_equal": ">=",
    "equal": "=", "not_equal": "<>", "logical_and": "and", "bitwise_and": "and",
    "logical_or": "or", "bitwise_or": "or",
}  # fmt: skip
REDUCTIONS = {"sum": "total", "mean": "mean", "max": "highest", "amax": "highest",
              "min": "lowest", "amin": "lowest"}  # fmt: skip


class Recorded(NDArrayOperatorsMixin):
    """A value of shape (1, 1) or (1, 12) with the operation and operands that made it.

    Attributes
    ----------
    plain : array (1, months)
        The value.
    operation : str
        ``field`` (a leaf: an input or coefficient), ``fixed`` (a leaf: what a design holds),
        ``solved`` (a leaf whose ``residual`` must be zero), ``equation`` (a named result of one
        operand) or an operation of ``UFUNCS`` and ``REDUCTIONS``, ``where`` and ``normal_cdf``.
    operands : tuple
        Recorded nodes, plain numbers or arrays.
    name : str
        The field, or the equation.
    arguments : mapping
        Of an equation: argument name to what was given.
    residual : Recorded or None
        Of a solved value.
    passes : Recorded or None
        Of a solved value: the same number by a fixed count of explicit steps, where it has them.
    turn : (int, int) or None
        Of an equation inside a loop: the pass it was worked out in, and how many there are.

    """

    __slots__ = (
        "arguments", "name", "operands", "operation", "passes", "plain", "residual", "turn",
    )  # fmt: skip

    def __init__(
        self, value: Any, operation: str, operands: tuple[Any, ...] = (), name: str = ""
    ) -> None:
        self.plain = np.asarray(value)
        self.operation = operation
        self.operands = operands
        self.name = name
        self.arguments: Mapping[str, Any] = {}
        self.residual: Recorded | None = None
        self.passes: Recorded | None = None
        self.turn: tuple[int, int] | None = None

    @classmethod
    def field(cls, name: str, value: Array) -> Recorded:
        """Make the leaf of one input field."""
        return cls(value, "field", (), name)

    @classmethod
    def fixed(cls, name: str, value: Array) -> Recorded:
        """Make the leaf of one number that a design holds."""
        return cls(value, "fixed", (), name)

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the value."""
        return self.plain.shape

    def __array_ufunc__(self, ufunc: Any, method: str, *inputs: Any, **kwargs: Any) -> Any:
        """Record an arithmetic operation."""
        operation = UFUNCS.get(ufunc.__name__)
        if method != "__call__" or operation is None or kwargs:
            raise TypeError(f"{ufunc.__name__}.{method} is not an operation of pcompare.arrays")
        values = [part.plain if type(part) is Recorded else plain(part) for part in inputs]
        return Recorded(ufunc(*values), operation, inputs)

    def __array_function__(self, function: Any, types: Any, args: Any, kwargs: Any) -> Any:
        """Record ``where`` or a reduction over the months."""
        name = function.__name__
        if name == "where" and len(args) == 3 and not kwargs:
            return Recorded(np.where(*map(plain, args)), "where", args)
        if name in REDUCTIONS and kwargs == {"axis": 1, "keepdims": True}:
            value = function(plain(args[0]), **kwargs)
            return Recorded(value, REDUCTIONS[name], args)
        raise TypeError(f"numpy.{name} is not an operation of pcompare.arrays")

    def normal_cdf(self) -> Recorded:
        """Record the standard normal distribution function."""
        return Recorded(normal_cdf(self.plain), "normal_cdf", (self,))

    def of_equation(self, name: str, arguments: Mapping[str, Any]) -> Recorded:
        """Name this result after the equation that gave it."""
        node = Recorded(self.plain, "equation", (self,), name)
        node.arguments = arguments
        node.turn = current_pass()
        return node

    def solved(self, value: Any, residual: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        """Make leaves of solved values, each with its residual as an expression."""
        several = isinstance(value, tuple)
        leaves = tuple(Recorded(v, "solved") for v in (value if several else (value,)))
        left_over = residual(*leaves, *arguments)
        for leaf, rest in zip(leaves, left_over if several else (left_over,), strict=True):
            leaf.residual = rest
        return leaves if several else leaves[0]

    def unrolled(self, passes: Callable[[], Any]) -> Recorded:
        """Keep beside a solved value the explicit steps that lead to the same number."""
        self.passes = passes()
        return self

    def __bool__(self) -> bool:
        """Refuse to decide anything."""
        raise TypeError("a recording number cannot decide anything: choices read plain values")

    def __float__(self) -> float:
        """Refuse to forget where the value came from."""
        raise TypeError("a recording number is not a float: use arrays.plain() in a choice")

    def __repr__(self) -> str:
        """Show the operation and the value."""
        return f"Recorded({self.operation} {self.name} {self.plain!r})"


def walk(*roots: Any) -> list[Recorded]:
    """List every node below ``roots``, operands before what uses them, each once.

    The residual of a solved value is listed, its explicit passes are not: they are another way to
    the same number.
    """
    order: list[Recorded] = []
    seen: set[int] = set()
    stack: list[tuple[Any, bool]] = [(root, False) for root in reversed(roots)]
    while stack:
        node, done = stack.pop()
        if not isinstance(node, Recorded):
            continue
        if done:
            order.append(node)
        elif id(node) not in seen:
            seen.add(id(node))
            stack.append((node, True))
            below = [*node.operands, node.residual]
            stack.extend((part, False) for part in reversed(below))
    return order


def nearest_equations(node: Recorded, most: int = 6) -> tuple[str, ...]:
    """Name the equations that gave a value: its own, or the nearest below sums and reductions."""
    names: list[str] = []
    seen: set[int] = set()
    level: list[Any] = [node]
    while level and len(names) < most:
        following: list[Any] = []
        for part in level:
            if not isinstance(part, Recorded) or id(part) in seen:
                continue
            seen.add(id(part))
            if part.operation == "equation":
                if part.name not in names:
                    names.append(part.name)
            else:
                following.extend(part.operands)
        level = following
    return tuple(names[:most])


def resting_on_solved(nodes: Iterable[Recorded], live: bool = False) -> set[int]:
    """Give the identities of all values below ``nodes`` that rest on one found by iteration.

    With ``live``, a solved value with explicit passes counts as what those rest on.
    """
    marked: set[int] = set()
    for node in below(nodes, passes=live):  # operands stand before what uses them
        if node.operation == "solved":
            rests = not live or node.passes is None or id(node.passes) in marked
        else:
            rests = any(id(part) in marked for part in node.operands)
        if rests:
            marked.add(id(node))
    return marked


def below(roots: Iterable[Any], passes: bool) -> list[Recorded]:
    """List what ``roots`` are made of, residuals left out and explicit passes taken in or not."""
    order: list[Recorded] = []
    seen: set[int] = set()
    stack: list[tuple[Any, bool]] = [(root, False) for root in reversed(list(roots))]
    while stack:
        node, done = stack.pop()
        if done:
            order.append(node)
        elif isinstance(node, Recorded) and id(node) not in seen:
            seen.add(id(node))
            stack.append((node, True))
            if passes and node.passes is not None:
                stack.append((node.passes, False))
            stack.extend((part, False) for part in reversed(node.operands))
    return order


def solved_below(node: Recorded) -> bool:
    """Tell whether a value rests on one found by iteration."""
    return id(node) in resting_on_solved([node])
