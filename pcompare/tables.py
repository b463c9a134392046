"""The reference tables: found, read, checked, and asked for by name.

The folder lies inside the installed package, or beside it in a checkout. Every row of numbers
carries its unit, status and source; ``reference_tables/README.md`` is the contract.
"""

from __future__ import annotations

import csv
import functools
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from pcompare.arrays import NamedConstant
from pcompare.errors import TableError

STATUSES = ("published", "secondary", "memory", "computed", "judgement", "common_practice")
# Tables whose rows are one named number each: together they are the coefficients.
COEFFICIENT_TABLES = (
    "biology", "nitrogen", "settling", "precipitation", "alkalinity", "acid_base", "aeration",
    "solids", "reliability", "greenhouse_gas", "carbon_sources", "metal_salts", "bases", "lime",
    "fermentation", "recovery", "screening",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One row: its cells as text, its file and its line."""

    file: str
    line: int
    cells: dict[str, str]

    def text(self, column: str) -> str:
        """Give a cell's text; a missing column is a fault of the file."""
        if column not in self.cells:
            raise TableError(self.file, self.line, column, "no such column", "this column")
        return self.cells[column]

    def number(self, column: str, default: float | None = None) -> float:
        """Give a cell as a number; an empty cell takes ``default`` if there is one."""
        text = self.text(column)
        if not text and default is not None:
            return default
        try:
            value = float(text)
        except ValueError:
            value = float("nan")
        if value != value or value in (float("inf"), float("-inf")):
            raise TableError(self.file, self.line, column, f"'{text}'", "a number")
        return value


@dataclass(frozen=True, kw_only=True, slots=True)
class Coefficient:
    """One named number of the reference tables with its unit, status, source and range."""

    name: str
    label: str
    value: float
    unit: str
    status: str
    source: str
    locator: str
    low: float
    high: float
    note: str
    table: str


def folder() -> Path:
    """Find the reference tables: inside the package first, beside it second."""
    here = Path(__file__).resolve().parent
    for place in (here / "reference_tables", here.parent / "reference_tables"):
        if (place / "SOURCES.csv").is_file():
            return place
    raise TableError("reference_tables/SOURCES.csv", 1, "key", "no such file", "a whole install")


_found_once = functools.cache(folder)


@functools.cache
def read(name: str) -> tuple[Row, ...]:
    """Read one table by name, without its ``#`` comment lines."""
    path = _found_once() / f"{name}.csv"
    if not re.fullmatch(r"\w{1,40}", name) or not path.is_file():
        found = f"{name[:40]}.csv"
        raise TableError(found, 1, "", "no such table", "one of " + ", ".join(names()))
    return tuple(rows_of(path))


def rows_of(path: Path) -> Iterator[Row]:
    """Read the rows of one CSV file under the contract of the reference tables."""
    with path.open(encoding="utf-8", newline="") as stream:
        lines = [(n, line) for n, line in enumerate(stream, 1) if line.strip() and line[0] != "#"]
    if not lines:
        raise TableError(path.name, 1, "", "an empty file", "a header row")
    file = path.name
    reader = csv.reader(line for _, line in lines)
    header = [cell.strip() for cell in next(reader)]
    for (number, _), cells in zip(lines[1:], reader, strict=False):
        if len(cells) != len(header):
            found = f"{len(cells)} cells"
            raise TableError(file, number, header[-1], found, f"{len(header)} cells")
        yield Row(file=file, line=number, cells=_stripped(header, cells))


def _stripped(header: list[str], cells: list[str]) -> dict[str, str]:
    return dict(zip(header, map(str.strip, cells), strict=True))


def names() -> list[str]:
    """List the tables."""
    return sorted(path.stem for path in _found_once().glob("*.csv"))


@functools.cache
def sources() -> dict[str, str]:
    """Give each work's full citation by its key."""
    return {row.text("key"): row.text("citation") for row in read("SOURCES")}


@functools.cache
def coefficients() -> dict[str, Coefficient]:
    """Give every coefficient by name, from all tables of single numbers."""
    found: dict[str, Coefficient] = {}
    for table in COEFFICIENT_TABLES:
        for row in read(table):
            item = _coefficient(row, table)
            if item.name in found:
                raise TableError(row.file, row.line, "name", f"'{item.name}' again", "a new name")
            found[item.name] = item
    return found


def _coefficient(row: Row, table: str) -> Coefficient:
    """Read and check one row of a table of single numbers."""
    value = row.number("value")
    low, high = row.number("low", value), row.number("high", value)
    status = row.text("status")
    if status not in STATUSES:
        raise TableError(
            row.file, row.line, "status", f"'{status}'", "one of " + ", ".join(STATUSES)
        )
    if not low <= value <= high:
        raise TableError(row.file, row.line, "low", f"{low} and {high}", f"a range around {value}")
    source = row.text("source")
    if source not in sources():
        raise TableError(row.file, row.line, "source", f"'{source}'", "a key of SOURCES.csv")
    return Coefficient(
        name=row.text("name"), label=row.text("label"), value=value, unit=row.text("unit"),
        status=status, source=source, locator=row.text("locator"), low=low, high=high,
        note=row.text("note"), table=table,
    )  # fmt: skip


@functools.cache
def constant(name: str) -> NamedConstant:
    """Give a universal constant of ``constants.csv`` by name, in its printed unit."""
    if name not in _constants():
        raise TableError("constants.csv", 1, "name", f"no '{name}'", "a row for it")
    return NamedConstant(_constants()[name].number("value"), name)


@functools.cache
def _constants() -> dict[str, Row]:
    return {row.text("name"): row for row in read("constants")}


@functools.cache
def _atomic_weights() -> dict[str, float]:
    return {row.text("element"): row.number("value") for row in read("atomic_weights")}


@functools.cache
def molar_mass(formula: str) -> NamedConstant:
    """Sum the atomic weights of a formula such as ``Al2(SO4)3.14H2O``.

    Parameters
    ----------
    formula : str
        Element symbols, counts, brackets and ``.`` before water of crystallisation.

    Returns
    -------
    float
        Molar mass. [g/mol]

    Examples
    --------
    >>> round(molar_mass("Al2(SO4)3.14H2O"), 2)
    594.34

    """
    mass = sum(
        count * _atomic_weights()[element] for element, count in composition(formula).items()
    )
    return NamedConstant(mass, f"M({formula})")


@functools.cache
def composition(formula: str) -> Mapping[str, int]:
    """Count the atoms of each element in a formula."""
    counts: dict[str, int] = {}
    for part in formula.split("."):
        lead = re.match(r"\d+", part)
        times = int(lead.group()) if lead else 1
        for element, count in _atoms(part[lead.end() :] if lead else part).items():
            counts[element] = counts.get(element, 0) + times * count
    return MappingProxyType(counts)


def _atoms(part: str) -> dict[str, int]:
    """Count the atoms of one part of a formula, brackets by a stack."""
    stack: list[dict[str, int]] = [{}]
    tokens = re.findall(r"([A-Z][a-z]?|\(|\))(\d*)", part)
    fault = ValueError(f"found formula '{part}'; needs symbols, counts and brackets in pairs")
    if "".join(a + b for a, b in tokens) != part or not part:
        raise fault
    for token, digits in tokens:
        count = int(digits or 1)
        if token == "(":
            stack.append({})
        elif token == ")":
            if len(stack) == 1 or not stack[-1]:
                raise fault
            for element, inner in stack.pop().items():
                stack[-1][element] = stack[-1].get(element, 0) + inner * count
        else:
            stack[-1][token] = stack[-1].get(token, 0) + count
    if len(stack) > 1:
        raise fault
    return stack[0]
