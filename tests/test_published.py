"""Every published check, and how well each equation is founded."""

from __future__ import annotations

import importlib
import inspect
import re

import pytest

from pcompare import catalogue, tables
from pcompare.errors import TableError, UsageError

CHECKS = catalogue.published_checks()
HEADER = "check,equation,inputs,result,expected,unit,tolerance,source,locator,status,note\n"
LEAST = 40  # rows; fewer would mean that a file is not found
WIDE = 0.01  # relative; a wider tolerance needs its reason


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: f"{c.check}-{c.equation}")
def test_published_value(check):
    finding = catalogue.run_check(check)
    assert finding.passed, (
        f"{check.file}, line {check.line}: {check.equation}({'; '.join(check.inputs)}) gives "
        f"{finding.computed:.9g} {check.unit}; {check.source}, {check.locator} has "
        f"{check.expected} within {check.tolerance:.3g} ({check.note})"
    )


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: f"{c.check}-{c.equation}")
def test_unit_of_the_check_is_the_unit_of_the_equation(check):
    units = {term.name: term.unit for term in catalogue.describe(check.equation).returns}
    documented = units[check.result or check.equation]
    assert documented in ("*", check.unit), f"{check.file}, line {check.line}: {check.unit}"


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: f"{c.check}-{c.equation}")
def test_published_value_has_its_place_and_a_wide_tolerance_its_reason(check):
    where = f"{check.file}, line {check.line}"
    assert check.locator, f"{where}: no locator"
    # Half a unit of the last digit that the source prints is its own reason.
    bare = re.sub(r"[eE].*|[^\d]", "", check.expected).lstrip("0")
    half_unit = 0.5 * 10.0 ** -(max(len(bare), 1) - 1)
    if check.tolerance > max(WIDE, half_unit * 1.001) * abs(float(check.expected)) > 0.0:
        assert check.note, f"{where}: a tolerance of {check.tolerance} without its reason"


def test_there_are_many_published_checks():
    assert len(CHECKS) >= LEAST


def test_every_equation_is_founded(capsys):
    verification = catalogue.verify()
    with capsys.disabled():
        counts = ", ".join(f"{verification.count(g)} {g}" for g in catalogue.GRADES)
        print(f"\nequations by their best check: {counts}")
    unfounded = [name for name, grade in verification.grades.items() if grade == catalogue.NONE]
    assert unfounded == []


@pytest.mark.parametrize(
    "row",
    list(tables.rows_of(catalogue.checks_folder() / catalogue.ORACLES)),
    ids=lambda row: f"{row.text('equation')}-{row.text('oracle')}",
)
def test_oracle_test_exists_and_uses_the_equation(row):
    module, _, function = row.text("test").partition("::")
    test = getattr(importlib.import_module(f"tests.{module}"), function)
    body = test.hypothesis.inner_test if hasattr(test, "hypothesis") else test
    assert row.text("equation") in catalogue.load()
    assert row.text("equation") in inspect.getsource(body)


# ------------------------------------------------ the reader of the checks


def read_one(tmp_path, monkeypatch, line):
    """Read and run one row, as if it were the only one."""
    (tmp_path / "row.csv").write_text(HEADER + line + "\n", encoding="utf-8")
    (tmp_path / catalogue.ORACLES).write_text("equation,oracle,test\n", encoding="utf-8")
    monkeypatch.setattr(catalogue, "checks_folder", lambda: tmp_path)
    (check,) = catalogue.published_checks()
    return catalogue.run_check(check)


RECOVERY = "x,capital_recovery,rate={rate}; years=10,{result},{expected},1/y,{tolerance},"
REST = "NEWNAN,p. 180,{status},"


def recovery(*, rate="0.07", result="", expected="0.1424", tolerance="", status="secondary"):
    text = RECOVERY + REST
    return text.format(
        rate=rate, result=result, expected=expected, tolerance=tolerance, status=status
    )


@pytest.mark.parametrize(
    ("expected", "tolerance", "read"),
    [
        ("0.1424", "", 0.00005),
        ("5703", "", 0.5),
        ("2.1e-5", "", 0.05e-5),
        ("1.2E+03", "", 50.0),
        ("-0.50", "", 0.005),
        ("0.1424", "0.002", 0.002),
        ("200", "0.5 %", 1.0),
        ("-200", "0.5%", 1.0),
    ],
)
def test_tolerance(tmp_path, monkeypatch, expected, tolerance, read):
    row = recovery(expected=expected, tolerance=tolerance)
    finding = read_one(tmp_path, monkeypatch, row)
    assert finding.tolerance == pytest.approx(read, rel=1e-12)


def test_a_wrong_value_does_not_pass(tmp_path, monkeypatch):
    finding = read_one(tmp_path, monkeypatch, recovery(expected="0.1426"))
    assert not finding.passed
    assert finding.difference == pytest.approx(0.142378 - 0.1426, abs=1e-6)


def test_a_check_that_fails_gives_no_grade(tmp_path, monkeypatch):
    read_one(tmp_path, monkeypatch, recovery(expected="0.1426"))
    verification = catalogue.verify()
    assert verification.grades["capital_recovery"] == catalogue.NONE
    assert not verification.passed


@pytest.mark.parametrize(
    ("status", "grade"),
    [
        ("published", catalogue.PUBLISHED),
        ("secondary", catalogue.PUBLISHED),
        ("memory", catalogue.COMPUTED),
        ("computed", catalogue.COMPUTED),
    ],
)
def test_grade_follows_the_status(tmp_path, monkeypatch, status, grade):
    assert read_one(tmp_path, monkeypatch, recovery(status=status)).grade == grade
    assert catalogue.verify().grades["capital_recovery"] == grade


@pytest.mark.parametrize(
    ("row", "column", "part"),
    [
        (recovery(status="judgement"), "status", "one of published"),
        (recovery(expected="about 5"), "expected", "'about 5'"),
        (recovery(expected="nan"), "expected", "'nan'"),
        (recovery(tolerance="small"), "tolerance", "'small'"),
        (recovery(tolerance="-1"), "tolerance", "'-1'"),
        (recovery(rate="much"), "inputs", "'much'"),
        (recovery(rate="@no_such_name"), "inputs", "a coefficient"),
        (recovery(rate="0.07; speed=3"), "inputs", "one of rate, years"),
        (recovery(result="field"), "result", "'field'"),
        (recovery().replace("capital_recovery", "capital"), "equation", "'capital'"),
        (recovery().replace("NEWNAN", "NOBODY"), "source", "'NOBODY'"),
    ],
)
def test_a_bad_row_is_named_by_file_line_and_column(tmp_path, monkeypatch, row, column, part):
    with pytest.raises(TableError) as raised:
        read_one(tmp_path, monkeypatch, row)
    message = str(raised.value)
    assert message.startswith(f"row.csv, line 2, column '{column}': found ")
    assert part in message


def test_the_same_check_twice_is_a_fault(tmp_path, monkeypatch):
    with pytest.raises(TableError, match="'x' again"):
        read_one(tmp_path, monkeypatch, recovery() + "\n" + recovery())


def test_a_coefficient_may_stand_for_a_number(tmp_path, monkeypatch):
    row = "x,energy_emission,energy=1; grid_factor=@grid_factor,,1,t CO2e/y,,NEWNAN,p,computed,"
    finding = read_one(tmp_path, monkeypatch, row)
    assert finding.computed == pytest.approx(0.365 * tables.coefficients()["grid_factor"].value)


# ------------------------------------------------ calc


def test_calc_gives_value_and_unit():
    (answer,) = catalogue.calc(
        "coagulant_emission", ["metal_molar=0.2582811", "flow=3785.41", "factor_per_metal=0.106"]
    )
    assert (answer.name, answer.unit) == ("coagulant_emission", "t CO2e/y")
    assert answer.value == pytest.approx(37.83, abs=0.005)


def test_calc_gives_every_field_of_a_result():
    several = [d for d in catalogue.describe_all() if len(d.returns) > 1]
    assert several, "no equation gives several results"
    checked = next(c for c in CHECKS if c.equation == several[0].name)
    answers = catalogue.calc(checked.equation, checked.inputs)
    assert [a.name for a in answers] == [term.name for term in several[0].returns]
    assert all(a.unit for a in answers)


@pytest.mark.parametrize(
    ("name", "assignments", "parts"),
    [
        ("capital_recovry", [], ["found 'capital_recovry'", "Close to it: capital_recovery"]),
        ("xyzzy", [], ["found 'xyzzy'; needs the name of one"]),
        ("capital_recovery", ["rate=0.07"],
         ["argument years: found nothing; needs years=number [y]"]),
        ("capital_recovery", ["rate=0.07", "years=10", "pace=1"],
         ["found argument 'pace'; needs one of rate, years"]),
        ("capital_recovery", ["rate=low", "years"],
         ["argument rate: found 'low'; needs a number", "found 'years'; needs argument=value",
          "argument years: found nothing"]),
        ("capital_recovery", ["rate=0.07", "rate=0.08", "years=10"], ["a second value"]),
        ("capital_recovery", ["rate=１", "years=1_0"], ["found '１'", "found '1_0'"]),
        ("capital_recovery", ["rate=nan", "years=inf"], ["found 'nan'", "found 'inf'"]),
        ("capital_recovery", ["rate=@grid_facto", "years=10"], ["grid_factor"]),
        ("household_month_cost", ["annual_cost=1", "households=0"], ["no answer", "zero"]),
        ("fossil_carbon_emission", ["mass_use=1", "formula=water"], ["no answer", "water"]),
        ("fossil_carbon_emission", ["mass_use=1"], ["needs formula=text"]),
    ],
)  # fmt: skip
def test_calc_says_what_is_wrong(name, assignments, parts):
    with pytest.raises(UsageError) as raised:
        catalogue.calc(name, assignments)
    for part in parts:
        assert part in str(raised.value)


def test_calc_takes_a_coefficient_by_name():
    (answer,) = catalogue.calc("energy_emission", ["energy=1000", "grid_factor=@grid_factor"])
    assert answer.value == pytest.approx(365.0 * tables.coefficients()["grid_factor"].value)


# ------------------------------------------------ descriptions


def test_description_of_one_equation():
    found = catalogue.describe("equal_annual_cost")
    assert found.subject == "finance"
    assert found.summary == "Equal yearly cost that has the same present worth."
    assert [(p.name, p.unit) for p in found.parameters] == [
        ("present_worth", "money"), ("rate", "-"), ("years", "y"),
    ]  # fmt: skip
    assert found.parameters[0].description == "Present worth of all costs."
    assert [(r.name, r.unit) for r in found.returns] == [("equal_annual_cost", "money/y")]
    assert found.formula == "EAC = present_worth CRF(rate, years)"
    assert found.sources == ("NPF", "RUS1780")
    assert ">>> " in found.example
    assert found.row.unit == "money/y"
    assert found.row.references == found.references


def test_descriptions_come_module_by_module():
    subjects = [d.subject for d in catalogue.describe_all()]
    assert subjects == sorted(subjects, key=lambda s: s.replace(" ", "_"))
    assert {"finance", "greenhouse", "reliability"} <= set(subjects)
