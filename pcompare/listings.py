"""Equations, reference tables and published checks as text for a terminal: text in, text out."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict

from pcompare import tables
from pcompare.catalogue import GRADES, NONE, Answer, Description, Finding, Verification
from pcompare.findings import EquationRow
from pcompare.terminal import columns
from pcompare.units import significant


def equation_list(rows: Sequence[EquationRow]) -> str:
    """List the equations by subject."""
    cells = columns([[f"  {r.name}", f"[{r.unit}]", r.summary] for r in rows]).splitlines()
    text: list[str] = []
    subject = ""
    for row, line in zip(rows, cells, strict=True):
        if row.subject != subject:
            subject = row.subject
            text += [*([""] if text else []), subject.upper()]
        text.append(line)
    return "\n".join([*text, "", "pcompare calc NAME --help shows arguments and an example."])


def described(equation: Description) -> str:
    """Print what an equation is: arguments, results, notes, the docstring's example, works."""
    given = [[f"  {t.name}", f"[{t.unit or 'text'}]", t.description] for t in equation.parameters]
    gives = [[f"  {t.name}", f"[{t.unit}]", t.description] for t in equation.returns]
    call = " ".join(f"{t.name}={t.unit or 'TEXT'}" for t in equation.parameters)
    parts = [
        f"{equation.name} ({equation.subject})\n{equation.summary}",
        f"Call: pcompare calc {equation.name} {call}",
        f"Arguments\n{columns(given)}" if given else "",
        f"Gives\n{columns(gives)}",
        f"Notes\n{_indented(equation.notes)}" if equation.notes else "",
        f"Example\n{_indented(equation.example)}" if equation.example else "",
        "References\n" + "\n".join(f"  {r}" for r in equation.references),
    ]
    return "\n\n".join(part for part in parts if part)


def _indented(text: str) -> str:
    return "\n".join(f"  {line}".rstrip() for line in text.splitlines())


def reference_table(rows: Sequence[tables.Row]) -> str:
    """Print one reference table."""
    head = list(rows[0].cells)
    return columns([head, *([row.text(c) for c in head] for row in rows)])


def calculated(answers: Sequence[Answer]) -> str:
    """Print the results of one equation."""
    return columns([[a.name, significant(a.value, 6), f"[{a.unit}]"] for a in answers])


VERIFY_HEAD = ("  check", "equation", "expected", "computed", "difference", "tolerance", "",
               "status", "source")  # fmt: skip


def verify_table(report: Verification) -> str:
    """Print every published check by subject, then how well each equation is founded."""
    grouped = report.by_subject()
    body = [_finding(f) for findings in grouped.values() for f in findings]
    head, *rows = columns([list(VERIFY_HEAD), *body], "<<>>>><").splitlines()
    text, place = [head], 0
    for subject, findings in grouped.items():
        passed = sum(f.passed for f in findings)
        text.append(f"\n{subject.upper()}: {passed} of {len(findings)} pass")
        text += rows[place : place + len(findings)]
        place += len(findings)
    passed = sum(f.passed for f in report.findings)
    grades = "; ".join(f"{report.count(grade)} {grade}" for grade in GRADES)
    text += [
        f"\nEquations without an outside number: {report.count(NONE)}.",
        f"{passed} of {len(report.findings)} checks pass. Equations by their best check: {grades}.",
    ]
    return "\n".join(text)


def _finding(found: Finding) -> list[str]:
    return [
        f"  {found.check}",
        found.equation,
        found.expected,
        significant(found.computed, 6),
        significant(found.difference, 2),
        significant(found.tolerance, 2),
        "pass" if found.passed else "FAIL",
        found.status,
        f"{found.source}, {found.locator}",
    ]


def verify_json(report: Verification) -> str:
    """Give every published check and the grade of every equation as JSON."""
    document = {
        "format": "pcompare checks 1",
        "passed": report.passed,
        "checks": [asdict(f) for f in report.findings],
        "grades": dict(report.grades),
    }
    return json.dumps(document, indent=1, sort_keys=True)
