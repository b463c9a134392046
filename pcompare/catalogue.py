"""Every cited equation by name: its description, one evaluation, and every published check.

Descriptions are read from the docstrings, which a test holds to the signatures. The checks are rows
of CSV files, inside the package or in ``tests/published`` beside it; each is graded by what it
rests on, and each equation by its best check that passes.
"""

from __future__ import annotations

import difflib
import functools
import importlib
import inspect
import math
import pkgutil
import re
import warnings
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from pcompare import equations, tables, units
from pcompare.arrays import EQUATIONS, as_cases
from pcompare.errors import Fault, TableError, UsageError, shown
from pcompare.findings import EquationRow

PUBLISHED, ORACLE, COMPUTED, NONE = GRADES = (
    "published or secondary",
    "live oracle",
    "independent computation",
    "none",
)
GRADE_OF_STATUS = {
    "published": PUBLISHED,
    "secondary": PUBLISHED,
    "memory": COMPUTED,
    "computed": COMPUTED,
}
ORACLES = "oracles.csv"  # beside the checks: equations that a test compares with another program
NOISE = 1e-12  # relative; floating-point noise allowed on top of every tolerance
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
# Each reference stands on a line of its own, or after a semicolon before the next key.
REFERENCE_ENDS = re.compile(r"\n(?!\s)|;\s+(?=[A-Z][A-Z0-9_]{2,}(?:,|;|$))", re.MULTILINE)


@dataclass(frozen=True, kw_only=True, slots=True)
class Term:
    """One argument or result of an equation; a text argument has no unit."""

    name: str
    unit: str
    description: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Description:
    """What the docstring of one equation says."""

    name: str
    subject: str
    summary: str
    parameters: tuple[Term, ...]
    returns: tuple[Term, ...]
    notes: str
    example: str
    references: tuple[str, ...]

    @property
    def formula(self) -> str:
        """The first sentence of the notes that holds an equals sign, else their first one."""
        sentences = [s.strip() for s in re.split(r"(?<=[.:;])\s+|\n\s*\n", self.notes) if s.strip()]
        found = next((s for s in sentences if "=" in s), sentences[0] if sentences else "")
        return " ".join(found.split()).rstrip(".:;,")

    @property
    def sources(self) -> tuple[str, ...]:
        """The keys of SOURCES.csv that the references begin with."""
        return tuple(reference.split(",")[0].strip() for reference in self.references)

    @property
    def row(self) -> EquationRow:
        """The equation as documents print it."""
        given_in = dict.fromkeys(term.unit for term in self.returns)
        return EquationRow(
            name=self.name, subject=self.subject, summary=self.summary, formula=self.formula,
            unit=", ".join(given_in), references=self.references,
            results={term.name: (term.unit, term.description) for term in self.returns},
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """One result of one evaluation."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True, slots=True)
class PublishedCheck:
    """One row of the published checks, as it is written."""

    check: str
    equation: str
    inputs: tuple[str, ...]
    result: str
    expected: str
    unit: str
    tolerance: float
    source: str
    locator: str
    status: str
    note: str
    file: str
    line: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """What became of one published check."""

    check: str
    equation: str
    source: str
    locator: str
    status: str
    expected: str
    computed: float
    unit: str
    tolerance: float
    difference: float
    passed: bool
    grade: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Verification:
    """All findings, and the grade of every equation by its best check that passes."""

    findings: tuple[Finding, ...]
    grades: Mapping[str, str]

    @property
    def passed(self) -> bool:
        """Whether every check passes and every equation has one."""
        return all(f.passed for f in self.findings) and NONE not in self.grades.values()

    def by_subject(self) -> dict[str, tuple[Finding, ...]]:
        """Give the findings under the subjects of their equations, in the order of reading."""
        found: dict[str, list[Finding]] = {describe(name).subject: [] for name in load()}
        for finding in self.findings:
            found[describe(finding.equation).subject].append(finding)
        return {subject: tuple(rows) for subject, rows in found.items()}

    def count(self, grade: str) -> int:
        """Count the equations with one grade."""
        return sum(found == grade for found in self.grades.values())


# ---------------------------------------------------------------- equations and their text


@functools.cache
def load() -> Mapping[str, Callable[..., Any]]:
    """Import every module of equations; give the functions by name, module by module."""
    for module in pkgutil.iter_modules(equations.__path__):
        importlib.import_module(f"{equations.__name__}.{module.name}")
    home = f"{equations.__name__}."
    ours = [item for item in EQUATIONS.items() if item[1].__module__.startswith(home)]
    return dict(sorted(ours, key=lambda item: _place(item[1])))


def _place(function: Callable[..., Any]) -> tuple[str, int]:
    """Give module and line, which is the order of reading."""
    return function.__module__, inspect.unwrap(function).__code__.co_firstlineno


@functools.cache
def describe(name: str) -> Description:
    """Read the docstring of one equation; an unknown name is a fault with its close matches."""
    function = _find(name)
    sections = _sections(inspect.getdoc(function) or "")
    returns = tuple(
        Term(name=term.name or name, unit=term.unit, description=term.description)
        for term in _terms(sections.get("Returns", ""))
    )
    return Description(
        name=name,
        subject=function.__module__.rpartition(".")[2].replace("_", " "),
        summary=" ".join(sections[""].partition("\n\n")[0].split()),
        parameters=tuple(_terms(sections.get("Parameters", ""))),
        returns=returns,
        notes=sections.get("Notes", ""),
        example=sections.get("Examples", ""),
        references=tuple(re.split(REFERENCE_ENDS, sections.get("References", "").strip())),
    )


def describe_all() -> tuple[Description, ...]:
    """Describe every equation, module by module."""
    return tuple(describe(name) for name in load())


def equation_row(name: str) -> EquationRow:
    """Give one equation as documents print it."""
    return describe(name).row


def equation_rows() -> tuple[EquationRow, ...]:
    """Give every equation as documents print it, module by module."""
    return tuple(map(equation_row, load()))


def _find(name: str) -> Callable[..., Any]:
    known = load()
    if name not in known:
        close = difflib.get_close_matches(name, known, n=3, cutoff=0.5)
        mend = f"Close to it: {', '.join(close)}" if close else ""
        fault = Fault(where="equation", found=shown(name), needs="the name of one", mend=mend)
        raise UsageError(str(fault))
    return known[name]


def _sections(text: str) -> dict[str, str]:
    """Split a NumPy docstring at its underlined titles; the part before them has the title ''."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}\n", text, flags=re.MULTILINE)
    return {
        "": parts[0].strip(),
        **dict(zip(parts[1::2], map(str.rstrip, parts[2::2]), strict=True)),
    }


def _terms(section: str) -> list[Term]:
    """Read ``name, name : kind`` (or ``kind`` alone) and the indented description below it."""
    terms: list[Term] = []
    for entry in re.split(r"\n(?!\s)", section.strip("\n")):
        head, _, body = entry.partition("\n")
        description = " ".join(body.split())
        unit = re.search(r"\[([^\]]+)\]$", description)
        heads = head.partition(":")[0].split(",") if ":" in head else [""]
        terms += [
            Term(
                name=name.strip(),
                unit=unit.group(1) if unit and unit.group(1) != "text" else "",
                description=description[: unit.start()].strip() if unit else description,
            )
            for name in (heads if head else [])
        ]
    return terms


# ---------------------------------------------------------------- one evaluation


def calc(name: str, assignments: Iterable[str]) -> tuple[Answer, ...]:
    """Evaluate one equation from texts such as ``flow=20000`` or ``metal=Fe``.

    Parameters
    ----------
    name : str
        The equation.
    assignments : iterable of str
        ``argument=value``; a value ``@NAME`` takes the coefficient of that name.

    Returns
    -------
    tuple of Answer
        One answer, or one for each field of the result.

    Raises
    ------
    UsageError
        Unknown equation or argument, a missing one, a value that is no number, or no answer.

    Examples
    --------
    >>> (answer,) = calc("single_present_worth", ["rate=0.15", "years=5"])
    >>> round(answer.value, 4), answer.unit
    (0.4972, '-')
    """
    arguments, faults = _arguments(name, assignments)
    if faults:
        raise UsageError("\n".join(map(str, faults)))
    try:
        return _evaluate(name, arguments)
    except (ArithmeticError, LookupError, TypeError, ValueError) as problem:
        fault = Fault(where=name, found=f"no answer ({problem})", needs="values in its range")
        raise UsageError(str(fault)) from problem


def _evaluate(name: str, arguments: Mapping[str, float | str]) -> tuple[Answer, ...]:
    """Call one equation and give its results as plain numbers with their units."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # the answer itself shows it
        result = load()[name](**arguments)
    values = result if isinstance(result, tuple) else (result,)
    terms = describe(name).returns
    return tuple(
        Answer(name=term.name, value=as_cases(value).item(), unit=term.unit)
        for term, value in zip(terms, values, strict=True)
    )


def _arguments(
    name: str, assignments: Iterable[str]
) -> tuple[dict[str, float | str], tuple[Fault, ...]]:
    """Read ``argument=value`` texts for one equation, with every fault in them."""
    parameters = inspect.signature(_find(name)).parameters
    values: dict[str, float | str] = {}
    faults: list[Fault] = []
    for assignment in assignments:
        key, equals, text = (part.strip() for part in assignment.partition("="))
        where = f"{name}, argument {key}"
        if not equals:
            faults.append(Fault(where=name, found=shown(assignment), needs="argument=value"))
        elif key not in parameters:
            needs = "one of " + ", ".join(parameters)
            faults.append(Fault(where=name, found=f"argument {shown(key)}", needs=needs))
        elif key in values:
            faults.append(Fault(where=where, found="a second value", needs="one value"))
        elif parameters[key].annotation in ("str", str):
            values[key] = text
        else:
            try:
                values[key] = _number(text, _unit(name, key))
            except ValueError as problem:
                values[key] = text  # given, if badly: not missing as well
                faults.append(Fault(where=where, found=shown(text), needs=str(problem)))
    for key, parameter in parameters.items():
        if key not in values and parameter.default is parameter.empty:
            needs = f"{key}={_kind(name, key)}"
            faults.append(Fault(where=f"{name}, argument {key}", found="nothing", needs=needs))
    return values, tuple(faults)


def _unit(name: str, key: str) -> str:
    return next((t.unit for t in describe(name).parameters if t.name == key), "")


def _kind(name: str, key: str) -> str:
    """Say what an argument takes: a number with its unit, or text."""
    unit = _unit(name, key)
    return f"number [{unit}]" if unit else "text"


def _number(text: str, unit: str) -> float:
    """Read a number, with its unit or without, or the coefficient that ``@NAME`` asks for."""
    if text.startswith("@"):
        known = tables.coefficients()
        if text[1:] not in known:
            close = ", ".join(difflib.get_close_matches(text[1:], known, n=3))
            raise ValueError(
                "a coefficient of the reference tables" + (f": {close}" if close else "")
            )
        return known[text[1:]].value
    number = NUMBER.match(text)
    if number is None or not math.isfinite(float(number[0])):
        raise ValueError("a number such as 0.5 or 2.1e-5, or @ and the name of a coefficient")
    value, given = float(number[0]), text[number.end() :].strip()
    if given in ("", unit, units.pretty(unit)):
        return value
    if given == units.pretty(unit, "us"):
        return units.to_base(value, unit, "us")
    if unit in ("-", "*"):
        raise ValueError("a number alone")
    known_as = dict.fromkeys((unit, units.pretty(unit, "us")))
    raise ValueError(f"a number in {' or '.join(known_as)}")


# ---------------------------------------------------------------- the published checks


def verify() -> Verification:
    """Run every published check, and grade every equation by its best one that passes."""
    findings = tuple(run_check(row) for row in published_checks())
    tested = {row.text("equation") for row in tables.rows_of(checks_folder() / ORACLES)}
    grades = {}
    for name in load():
        found = {
            finding.grade for finding in findings if finding.passed and finding.equation == name
        }
        found |= {ORACLE} if name in tested else set()
        grades[name] = next((grade for grade in GRADES if grade in found), NONE)
    return Verification(findings=findings, grades=grades)


def checks_folder() -> Path:
    """Find the published checks: inside the package first, beside it second."""
    here = Path(__file__).resolve().parent
    for place in (here / "published_checks", here.parent / "tests" / "published"):
        if (place / ORACLES).is_file():
            return place
    raise TableError(
        f"published_checks/{ORACLES}", 1, "equation", "no such file", "a whole install"
    )


def published_checks() -> tuple[PublishedCheck, ...]:
    """Read every row of every file of checks."""
    checks: dict[tuple[object, ...], PublishedCheck] = {}  # one name may serve several results
    for path in sorted(checks_folder().glob("*.csv")):
        if path.name == ORACLES:
            continue
        for row in tables.rows_of(path):
            check = _published_check(row)
            key = (check.check, check.equation, check.inputs, check.result)
            if key in checks:
                raise TableError(row.file, row.line, "check", f"'{check.check}' again", "a new one")
            checks[key] = check
    return tuple(checks.values())


def _published_check(row: tables.Row) -> PublishedCheck:
    """Read one row of checks."""
    status, source = row.text("status"), row.text("source")
    if status not in GRADE_OF_STATUS:
        needs = "one of " + ", ".join(GRADE_OF_STATUS)
        raise TableError(row.file, row.line, "status", f"'{status}'", needs)
    if source not in tables.sources():
        raise TableError(row.file, row.line, "source", f"'{source}'", "a key of SOURCES.csv")
    parts = (part.strip() for part in row.text("inputs").split(";"))
    return PublishedCheck(
        check=row.text("check"), equation=row.text("equation"),
        inputs=tuple(part for part in parts if part), result=row.text("result"),
        expected=row.text("expected"), unit=row.text("unit"), tolerance=_tolerance(row),
        source=source, locator=row.text("locator"), status=status, note=row.text("note"),
        file=row.file, line=row.line,
    )  # fmt: skip


def _tolerance(row: tables.Row) -> float:
    """Read a tolerance, absolute or in percent; empty is half a unit of the last printed digit."""
    text, printed = row.text("tolerance"), row.text("expected")
    try:
        exponent = Decimal(printed).as_tuple().exponent
    except InvalidOperation:
        exponent = "n"
    if not isinstance(exponent, int):
        raise TableError(row.file, row.line, "expected", f"'{printed}'", "a number as printed")
    if not text:
        return float(Decimal(5).scaleb(exponent - 1))
    number = text.removesuffix("%").strip()
    if not NUMBER.fullmatch(number) or float(number) < 0.0:
        raise TableError(row.file, row.line, "tolerance", f"'{text}'", "0.01, '0.5 %' or nothing")
    return abs(float(printed)) * float(number) / 100.0 if "%" in text else float(number)


def run_check(check: PublishedCheck) -> Finding:
    """Evaluate one published check; a row that cannot be run is a fault of its file."""
    if check.equation not in load():
        needs = "the name of an equation"
        raise TableError(check.file, check.line, "equation", shown(check.equation), needs)
    arguments, faults = _arguments(check.equation, check.inputs)
    for fault in faults:
        found = f"{fault.found} ({fault.where})"
        raise TableError(check.file, check.line, "inputs", found, fault.needs)
    answers = {answer.name: answer for answer in _evaluate(check.equation, arguments)}
    wanted = check.result or check.equation
    if wanted not in answers:
        needs = "one of " + ", ".join(answers)
        raise TableError(check.file, check.line, "result", shown(check.result), needs)
    computed, expected = answers[wanted].value, float(check.expected)
    difference = computed - expected
    return Finding(
        check=check.check, equation=check.equation, source=check.source, locator=check.locator,
        status=check.status, expected=check.expected, computed=computed, unit=check.unit,
        tolerance=check.tolerance, difference=difference,
        passed=abs(difference) <= check.tolerance + NOISE * abs(expected),
        grade=GRADE_OF_STATUS[check.status],
    )  # fmt: skip
