"""Who may import whom, read from the source.

An allow-list: a module or a library that is not named here may not be imported. The rules in words:
documents cannot calculate, equations cannot know about plants, only ``cli`` prints, only ``files``
writes, only ``uncertainty`` draws, and nothing heavy is imported before it is needed.
"""

from __future__ import annotations

import ast
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

import pcompare

HERE = Path(pcompare.__file__).parent
GROUND = (
    "errors", "units", "lines", "arrays", "rows", "shapes", "tables", "records", "findings",
    "products", "recording", "graph", "files", "beside",
)  # fmt: skip
CALCULATING = (
    "nitrate", "basis", "strategies", "costs", "impacts", "evaluation", "designing", "balances",
    "traced",
)  # fmt: skip

MAY_IMPORT = {
    **{layer: GROUND[:place] for place, layer in enumerate(GROUND)},
    "streams": (),
    "command_line": ("errors",),
    "equations": ("errors", "units", "arrays", "tables"),
    "nitrate": (*GROUND, "equations"),
    "basis": (*GROUND, "equations", "nitrate"),
    "strategies": (*GROUND, "equations", "basis"),
    "costs": (*GROUND, "equations"),
    "impacts": (*GROUND, "equations"),
    "evaluation": (*GROUND, "equations", "basis", "strategies", "costs", "impacts"),
    "designing": (*GROUND, "strategies", "costs", "evaluation", "comparison"),
    "balances": (*GROUND, "equations", "basis", "strategies"),
    "traced": (
        *GROUND, "basis", "strategies", "costs", "evaluation", "balances",
    ),
    "comparison": GROUND,
    "money": (*GROUND, "equations", "costs"),
    "uncertainty": GROUND,
    "sweeps": GROUND,
    "inputs": (*GROUND, "equations"),
    "downstream": (
        *GROUND, "equations", "strategies", "costs", "impacts", "evaluation",
    ),
    "risk": (*GROUND, "uncertainty"),
    "what_if": (
        *GROUND, "equations", "evaluation", "designing", "comparison", "sweeps", "appendix",
        "inputs", "strategies",
    ),
    "documents": GROUND,
    "terminal": GROUND,
    "listings": (*GROUND, "catalogue", "terminal"),
    "catalogue": (*GROUND, "equations"),
    "appendix": (*GROUND, "catalogue", "inputs"),
    "run": (
        *GROUND, *CALCULATING, "equations", "comparison", "money", "uncertainty", "sweeps",
        "appendix", "downstream", "risk", "what_if", "version",
    ),
    "explain": (
        *GROUND, "run", "equations", "inputs", "catalogue", "appendix", "traced", "designing",
        "strategies", "comparison",
    ),
    "portfolio": (
        *GROUND, "equations", "strategies", "designing", "comparison", "inputs", "version",
    ),
}  # fmt: skip
ABOVE_ALL = ("cli", "__init__", "__main__")  # may import everything

# Library -> the layers that may import it; "later" means inside a function only.
LIBRARIES = {
    "numpy": {
        "arrays": "at once", "rows": "at once", "recording": "at once", "comparison": "at once",
        "run": "at once",
        "uncertainty": "at once", "sweeps": "at once", "inputs": "at once", "portfolio": "at once",
        "explain": "at once", "designing": "at once", "downstream": "at once", "money": "at once",
        "shapes": "at once", "risk": "at once", "graph": "at once", "traced": "at once",
        "what_if": "at once",
    },
    "scipy": {"arrays": "later", "uncertainty": "later", "shapes": "later"},
    "pandas": {"comparison": "later", "records": "later"},
    "openpyxl": {"inputs": "at once", "documents": "at once"},
    "xlsxwriter": {"documents": "at once"},
    "reportlab": {"documents": "at once"},
    "pypdf": {"documents": "at once"},
    "tomllib": {"inputs": "at once"},
    "argparse": {"command_line": "at once"},
}  # fmt: skip
# What may be imported as the program starts: none of these reaches a heavy library.
LIGHT = (
    "pcompare", "pcompare.cli", "pcompare.command_line", "pcompare.errors", "pcompare.streams",
    "pcompare.units", "pcompare.lines",
)  # fmt: skip
# What documents may take from the array contract: shapes and kinds, no operation.
SHAPES_ONLY = {"Array", "NamedConstant", "Quantity", "as_cases", "plain"}
CLOCKS = {"now", "today", "utcnow", "time", "localtime", "gmtime", "perf_counter"}


@dataclass(frozen=True)
class Imported:
    """One import as it stands in the source."""

    target: str  # full dotted name
    line: int
    later: bool  # inside a function
    typing: bool  # under TYPE_CHECKING


@dataclass(frozen=True)
class Source:
    """One module of the package."""

    path: Path
    name: str  # dotted, below pcompare
    layer: str
    tree: ast.Module

    def __str__(self) -> str:
        return self.name


def sources():
    for path in sorted(HERE.rglob("*.py")):
        parts = path.relative_to(HERE).with_suffix("").parts
        name = ".".join(parts)
        tree = ast.parse(path.read_text(encoding="utf-8"))
        yield Source(path=path, name=name, layer=parts[0], tree=tree)


def imports(source):
    """List the imports, with names taken from a package as modules of it where they are modules."""
    found = []

    def visit(node, later, typing):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.Import):
                found.extend(Imported(a.name, child.lineno, later, typing) for a in child.names)
            elif isinstance(child, ast.ImportFrom):
                assert child.level == 0, f"{source.name}, line {child.lineno}: relative import"
                for alias in child.names:
                    target = f"{child.module}.{alias.name}"
                    found.append(Imported(target, child.lineno, later, typing))
            else:
                inside = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
                guarded = isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test)
                visit(child, later or inside, typing or guarded)

    visit(source.tree, False, False)
    return found


def layer_of(target):
    """Give the layer of ``pcompare.x.y.name``; a name of pcompare itself is its version."""
    parts = target.split(".")
    is_module = (HERE / parts[1]).is_dir() or (HERE / f"{parts[1]}.py").is_file()
    if parts[1].startswith("__") or not (is_module or parts[1] in MAY_IMPORT):
        return "version"
    return parts[1]


SOURCES = list(sources())
every_module = pytest.mark.parametrize("source", SOURCES, ids=str)


@every_module
def test_module_has_a_place_in_the_plan(source):
    assert source.layer in MAY_IMPORT or source.layer in ABOVE_ALL, (
        f"{source.layer} is not in the allow-list of this test"
    )


@every_module
def test_imports_within_the_package(source):
    if source.layer in ABOVE_ALL:
        return
    for found in imports(source):
        if found.target.split(".")[0] != "pcompare":
            continue
        layer = layer_of(found.target)
        assert layer == source.layer or layer in MAY_IMPORT[source.layer], (
            f"{source.name}, line {found.line}: {source.layer} may not import {layer}"
        )


@every_module
def test_imports_of_libraries(source):
    for found in imports(source):
        library = found.target.split(".")[0]
        if library == "pcompare" or (
            library in sys.stdlib_module_names and library not in LIBRARIES
        ):
            continue
        where = f"{source.name}, line {found.line}: {source.layer}"
        assert library in LIBRARIES, f"{where} imports {library}, which has no place in the plan"
        when = LIBRARIES[library].get(source.layer)
        assert when, f"{where} may not import {library}"
        assert when == "at once" or found.later or found.typing, (
            f"{where} may import {library} only inside a function"
        )


@pytest.mark.parametrize("source", [s for s in SOURCES if s.layer in ABOVE_ALL], ids=str)
def test_nothing_heavy_at_the_start(source):
    """Nothing is loaded before the arguments are parsed."""
    for found in imports(source):
        if found.later or found.typing or found.target.split(".")[0] != "pcompare":
            continue
        allowed = any(found.target in (m, f"{m}.{found.target.rpartition('.')[2]}") for m in LIGHT)
        assert allowed, f"{source.name}, line {found.line}: {found.target} is imported at the start"


@pytest.mark.parametrize("layer", ["errors", "units", "lines"])
def test_light_modules_stay_light(layer):
    for source in SOURCES:
        if source.layer == layer:
            for found in imports(source):
                assert found.target.split(".")[0] not in LIBRARIES
                assert not found.target.startswith(("pcompare.arrays", "pcompare.tables"))


@pytest.mark.parametrize("source", [s for s in SOURCES if s.layer == "equations"], ids=str)
def test_equations_use_the_array_contract_alone(source):
    """No numpy, no float() of a value, no table read while the module is imported."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            assert node.value.id not in ("np", "numpy"), f"{source.name}, line {node.lineno}: np."
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in ("float", "int", "bool", "print", "open"), (
                f"{source.name}, line {node.lineno}: {node.func.id}() in an equation"
            )
    for statement in source.tree.body:
        for node in ast.walk(statement):
            if isinstance(statement, ast.Assign | ast.AnnAssign) and isinstance(node, ast.Call):
                called = ast.unparse(node.func)
                assert called.removeprefix("tables.") not in ("constant", "molar_mass", "read"), (
                    f"{source.name}, line {node.lineno}: a table is read on import"
                )


@pytest.mark.parametrize("source", [s for s in SOURCES if s.layer == "documents"], ids=str)
def test_documents_cannot_calculate(source):
    """They may know the shape of an array and the kinds of numbers, and none of the operations."""
    for found in imports(source):
        if found.target.startswith("pcompare.arrays."):
            name = found.target.rpartition(".")[2]
            assert name in SHAPES_ONLY, f"{source.name}, line {found.line}: arrays.{name}"
        assert found.target != "pcompare.arrays", f"{source.name}: take names, not the module"


def calls(source):
    return (node for node in ast.walk(source.tree) if isinstance(node, ast.Call))


@every_module
def test_only_the_command_line_prints(source):
    if source.layer != "cli":
        for node in calls(source):
            assert ast.unparse(node.func) not in ("print", "sys.stdout.write", "sys.stderr.write")


@every_module
def test_only_files_writes(source):
    if source.layer == "files":
        return
    for node in calls(source):
        name = node.func.attr if isinstance(node.func, ast.Attribute) else ast.unparse(node.func)
        assert name not in ("write_text", "write_bytes", "mkdir", "unlink", "rename"), (
            f"{source.name}, line {node.lineno}: {name}"
        )
        if name == "open":
            texts = [*node.args, *(k.value for k in node.keywords)]
            modes = [t.value for t in texts if isinstance(t, ast.Constant)]
            writes = [m for m in modes if isinstance(m, str) and m.strip("bt+U") in ("w", "a", "x")]
            assert not writes, f"{source.name}, line {node.lineno}: opened to write"


@every_module
def test_only_uncertainty_draws_and_nobody_reads_a_clock(source):
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            place = f"{source.name}, line {node.lineno}"
            if node.value.id in ("np", "numpy") and node.attr == "random":
                assert source.layer == "uncertainty", f"{place}: random numbers"
            if node.value.id in ("time", "datetime", "date"):
                kind = (node.value.id, node.attr)  # datetime.time is a kind of value, no clock
                assert node.attr not in CLOCKS or kind == ("datetime", "time"), f"{place}: a clock"
    for found in imports(source):
        assert found.target.split(".")[0] not in ("random", "secrets"), f"{source.name}: random"


def test_the_plan_has_no_circle():
    """Every layer stands above what it imports, so there is an order to learn them in."""
    left = {layer: set(below) - {"version"} for layer, below in MAY_IMPORT.items()}
    while left:
        free = {layer for layer, below in left.items() if not below & left.keys()}
        assert free, f"in a circle: {sorted(left)}"
        left = {layer: below for layer, below in left.items() if layer not in free}
