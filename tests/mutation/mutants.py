"""Make the mutants of one module of equations, and put one in place of the original.

The mutants are those of cosmic-ray; what is chosen here is which of its kinds count. A kind that
fails on any number (``1.0 << 2.0``) would only flatter the score and is left out, as are texts,
messages, annotations and decorators.

Two kinds of our own control the run: ``nothing`` leaves the module as it is and must survive,
``stop`` makes a function stop at once and must be killed.
"""

from __future__ import annotations

import ast
import functools
import importlib
import inspect
import sys
import types
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pcompare import arrays, equations

FOLDER = Path(equations.__file__).parent
# Each operator is replaced by its nearest: any other changes more and is easier to notice.
BINARY = (
    ("Add", "Sub"), ("Sub", "Add"), ("Mul", "Div"), ("Div", "Mul"), ("Pow", "Mul"),
    ("BitAnd", "BitOr"), ("BitOr", "BitAnd"),
)  # fmt: skip
# Each comparison by the one that differs at the limit alone, and by its opposite.
COMPARISONS = (
    ("Lt", "LtE"), ("Lt", "GtE"), ("LtE", "Lt"), ("LtE", "Gt"), ("Gt", "GtE"), ("Gt", "LtE"),
    ("GtE", "Gt"), ("GtE", "Lt"), ("Eq", "NotEq"), ("NotEq", "Eq"), ("Is", "IsNot"),
    ("IsNot", "Is"),
)  # fmt: skip
KINDS = {
    "binary_operator_replacement": [f"ReplaceBinaryOperator_{a}_{b}" for a, b in BINARY],
    "comparison_operator_replacement": [
        f"ReplaceComparisonOperator_{a}_{b}" for a, b in COMPARISONS
    ],
    "unary_operator_replacement": [f"ReplaceUnaryOperator_Delete_{a}" for a in ("USub", "Not")],
    "boolean_replacer": [
        "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue",
    ],
    "number_replacer": ["NumberReplacer"],
}  # fmt: skip
NOTHING, STOP = "nothing", "stop"  # the controls


@dataclass(frozen=True)
class Mutant:
    """One change of one module: the ``occurrence``-th place where the operator applies."""

    module: str
    kind: str
    occurrence: int
    line: int
    column: int
    function: str  # at the top level; empty outside functions
    text: str  # of the line, as it was


def modules() -> list[str]:
    return sorted(path.stem for path in FOLDER.glob("*.py") if path.stem != "__init__")


@functools.cache
def operators() -> dict[str, Any]:
    """Take the chosen operators from the tool."""
    home = "cosmic_ray.operators"
    return {
        name: getattr(importlib.import_module(f"{home}.{file}"), name)()
        for file, names in KINDS.items()
        for name in names
    }


@functools.cache
def source(module: str) -> str:
    """Give the source of a module with its docstrings emptied, every line in its place."""
    text = (FOLDER / f"{module}.py").read_text(encoding="utf-8")
    lines = text.splitlines()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            assert isinstance(node.value.value, str)
            lines[node.lineno - 1] = " " * node.col_offset + '""'
            for line in range(node.lineno, node.end_lineno or 0):
                lines[line] = ""
    return "\n".join(lines) + "\n"


def _left_alone(tree: ast.Module) -> list[tuple[Any, Any]]:
    """Give the spans that no mutant may touch."""
    spans = []
    for node in ast.walk(tree):
        beside = [getattr(node, "annotation", None), getattr(node, "returns", None)]
        beside += getattr(node, "decorator_list", [])
        beside += [node] if isinstance(node, ast.JoinedStr) else []
        spans += [
            ((part.lineno, part.col_offset), (part.end_lineno, part.end_col_offset))
            for part in beside
            if part is not None
        ]
    return spans


@functools.cache
def _statements(module: str) -> list[tuple[int, int]]:
    """Give of each top-level statement its first line, decorators included, and its last."""
    return [
        (min([node.lineno, *(d.lineno for d in getattr(node, "decorator_list", []))]),
         node.end_lineno or node.lineno)
        for node in ast.parse(source(module)).body
    ]  # fmt: skip


def mutants(module: str) -> Iterator[Mutant]:
    """List every mutant of a module, statement by statement."""
    from cosmic_ray.ast import ast_nodes, get_ast

    tree = ast.parse(source(module))
    lines = source(module).splitlines(keepends=True)
    spans = _left_alone(tree)
    for statement, (first, last) in zip(tree.body, _statements(module), strict=True):
        nodes = list(ast_nodes(get_ast("".join(lines[first - 1 : last]))))
        kinds = (ast.FunctionDef, ast.ClassDef)
        function = statement.name if isinstance(statement, kinds) else ""
        for kind, operator in operators().items():
            places = [place for node in nodes for place in operator.mutation_positions(node)]
            for occurrence, ((row, column), _) in enumerate(places):
                line = first + row - 1
                if not any(low <= (line, column) < high for low, high in spans):
                    text = lines[line - 1].strip()
                    yield Mutant(module, kind, occurrence, line, column, function, text)


def is_function(mutant: Mutant) -> bool:
    """Tell whether a mutant changes a function, not a constant or a class of its module."""
    name = mutant.function.lstrip("_")
    return bool(name) and name[0].islower()


def controls(module: str) -> Iterator[Mutant]:
    """List the controls of a module: itself unchanged, and each function made to stop."""
    tree = ast.parse(source(module))
    lines = source(module).splitlines()
    yield Mutant(module, NOTHING, 0, 1, 0, "", "")
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            line = node.lineno
            yield Mutant(module, STOP, 0, line, 0, node.name, lines[line - 1].strip())


def mutated(mutant: Mutant) -> str:
    """Give the source of the module with the change made."""
    from cosmic_ray.mutating import mutate_code

    text = source(mutant.module)
    if mutant.kind == NOTHING:
        return text
    if mutant.kind == STOP:
        tree = ast.parse(text)
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and node.name == mutant.function:
                node.body = ast.parse("raise ArithmeticError('stop')").body
        return ast.unparse(tree)
    lines = text.splitlines(keepends=True)
    (place,) = (p for p in _statements(mutant.module) if p[0] <= mutant.line <= p[1])
    first, last = place
    old = "".join(lines[first - 1 : last])
    new: str = mutate_code(old, operators()[mutant.kind], mutant.occurrence)
    assert new != old, mutant
    return "".join([*lines[: first - 1], new, *lines[last:]])


def changed_line(mutant: Mutant, text: str) -> str:
    """Give the first line that a mutant changes, as it now stands."""
    if mutant.kind not in operators():
        return mutant.kind
    lines = zip(source(mutant.module).splitlines(), text.splitlines(), strict=False)
    return next(new for old, new in lines if new != old).strip()


def put_in_place(module_name: str, text: str) -> None:
    """Give the functions and constants of a module that is already in use those of ``text``.

    Functions keep their identity and take the new code, so whoever holds them runs the change;
    a constant is replaced wherever it was imported by its name. Every cache is emptied.
    """
    module = importlib.import_module(f"{equations.__name__}.{module_name}")
    fresh = types.ModuleType(module.__name__)
    fresh.__file__ = module.__file__
    code = compile(text, str(module.__file__), "exec")
    known = dict(arrays.EQUATIONS)
    arrays.EQUATIONS.clear()
    exec(code, fresh.__dict__)
    arrays.EQUATIONS.clear()
    arrays.EQUATIONS.update(known)
    for name, new in vars(fresh).items():
        old = vars(module).get(name)
        if name.startswith("__") or new is old:
            continue
        if inspect.isclass(old):
            for method, body in vars(new).items():
                _swap(vars(old).get(method), body)
        elif not _swap(old, new):
            vars(module)[name] = new
            if not isinstance(old, int):  # small numbers are shared by all who use them
                _replace(name, old, new)
    for other in list(sys.modules.values()):
        if other.__name__.startswith(("pcompare", "tests")):
            for cached in vars(other).values():
                if hasattr(cached, "cache_clear"):
                    cached.cache_clear()


def _replace(name: str, old: Any, new: Any) -> None:
    """Give a constant its new value in every module that imported it."""
    for other in list(sys.modules.values()):
        if getattr(other, "__dict__", {}).get(name) is old:
            setattr(other, name, new)


def _swap(old: Any, new: Any) -> bool:
    """Give a function, under whatever wraps it, the body of another."""
    old, new = (f.fget if isinstance(f, property) else f for f in (old, new))
    old, new = inspect.unwrap(old), inspect.unwrap(new)
    if not isinstance(old, types.FunctionType) or old.__code__.co_freevars:
        return False
    old.__code__, old.__defaults__ = new.__code__, new.__defaults__
    old.__kwdefaults__ = new.__kwdefaults__
    return True
