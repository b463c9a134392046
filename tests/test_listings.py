"""Equations, tables and published checks as they are listed on a terminal."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from pcompare import catalogue, listings, tables


def test_equations_are_listed_with_subject_unit_and_summary():
    rows = catalogue.equation_rows()
    text = listings.equation_list(rows).splitlines()
    listed = [line for line in text if line.startswith("  ")]
    for row, line in zip(rows, listed, strict=True):
        assert line.startswith(f"  {row.name} ")
        assert f"[{row.unit}]" in line and line.endswith(row.summary)
        above = [head for head in text[: text.index(line)] if head.isupper()]
        assert above[-1] == row.subject.upper()


@pytest.mark.parametrize("name", ["biology", "SOURCES", "input_fields"])
def test_a_reference_table_is_printed_whole(name):
    rows = tables.read(name)
    head, *body = listings.reference_table(rows).splitlines()
    assert head.split() == list(rows[0].cells)
    assert len(body) == len(rows)
    for row, line in zip(rows, body, strict=True):
        assert all(row.text(column) in line for column in row.cells)


def test_a_calculated_answer_has_name_figures_and_unit():
    answers = [
        catalogue.Answer(name="dose", value=1234.5678, unit="mg/L"),
        catalogue.Answer(name="x", value=math.nan, unit="-"),
    ]
    assert listings.calculated(answers) == "dose  1234.57  [mg/L]\nx     –        [-]"


@pytest.fixture(scope="module")
def report():
    return catalogue.verify()


def test_verify_lists_each_check_and_counts_the_grades(report):
    head, *body, none, last = listings.verify_table(report).splitlines()
    subjects = [line.partition(":")[0] for line in body if line and not line.startswith(" ")]
    assert subjects == [subject.upper() for subject in report.by_subject()]
    listed = [line for line in body if line.startswith(" ")]
    findings = [f for found in report.by_subject().values() for f in found]
    assert sorted(f.check for f in findings) == sorted(f.check for f in report.findings)
    assert head.split() == [
        "check",
        "equation",
        "expected",
        "computed",
        "difference",
        "tolerance",
        "status",
        "source",
    ]
    for finding, line in zip(findings, listed, strict=True):
        assert finding.check in line and finding.equation in line and finding.source in line
        assert finding.expected in line and f" {finding.status} " in line
        assert (" pass " in line) == finding.passed
    assert none == "Equations without an outside number: 0."
    assert last.startswith(f"{len(report.findings)} of {len(report.findings)} checks pass.")
    counts = [int(part.split()[0]) for part in last.partition("check: ")[2].split("; ")]
    assert sum(counts) == len(catalogue.load())


def test_a_failed_check_is_seen(report):
    first = replace(report.findings[0], passed=False)
    failed = replace(report, findings=(first, *report.findings[1:]))
    table = listings.verify_table(failed)
    count = len(report.findings)
    (line,) = [line for line in table.splitlines() if " FAIL " in line]
    assert line.split()[0] == first.check
    subject = catalogue.describe(first.equation).subject
    of_subject = len(report.by_subject()[subject])
    assert f"{subject.upper()}: {of_subject - 1} of {of_subject} pass" in table
    assert f"{count - 1} of {count} checks pass" in table
    assert json.loads(listings.verify_json(failed))["passed"] is False


def test_verify_as_json_holds_every_check(report):
    found = json.loads(listings.verify_json(report))
    assert found["format"] == "pcompare checks 1"
    assert len(found["checks"]) == len(report.findings)
    keys = {"check", "equation", "source", "locator", "expected", "computed", "tolerance",
            "passed", "grade"}  # fmt: skip
    assert all(set(check) >= keys for check in found["checks"])
    assert set(found["grades"]) == set(catalogue.load())
