"""Tables for the terminal: what stands in them, in which units, and how they are set."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import pytest

from pcompare import lines, run, terminal, what_if
from pcompare.findings import Crossing, Sweep
from pcompare.records import Check
from pcompare.units import pretty, show, significant

from .plants import example


@pytest.fixture(scope="module")
def compared():
    return run.compare(example())


def rows_of(text):
    """The rows of a comparison table by their label."""
    return {line[:60].strip().split("  ")[0]: line for line in text.splitlines()}


def test_columns_are_as_wide_as_their_widest_cell():
    text = terminal.columns([["a", "1", "x"], ["long", "22", ""], ["", "333", "y"]], "<>")
    assert text.splitlines() == ["a       1  x", "long   22", "      333  y"]


def test_alignment_signs_repeat_the_last():
    assert terminal.columns([["a", "b", "c"], ["dd", "ee", "ff"]], "<>") == "a    b   c\ndd  ee  ff"
    assert terminal.columns([["a", "b"], ["dd", "ee"]]) == "a   b\ndd  ee"


@pytest.mark.parametrize("system", ["si", "us"])
def test_every_line_of_every_strategy_stands_in_the_comparison(compared, system):
    text = terminal.comparison_table(compared, system)
    head = text.splitlines()[0].split()
    assert head == list(compared.strategies)
    found = iter(text.splitlines()[1:])
    for kind in lines.LINES:  # in the order of the vocabulary
        row = next(line for line in found if line.strip().startswith(kind.label))
        cells = [
            terminal._cell(result.lines[kind.quantity], system)
            for result in compared.strategies.values()
        ]
        unit = pretty(kind.unit, system)
        assert " ".join(row.split(" ")).split() == f"{kind.label} {unit} {' '.join(cells)}".split()


def test_a_cell_is_the_line_in_the_asked_units(compared):
    line = compared.strategies["salt_single_point"].lines["product_use"]
    assert line.value is not None and line.value > 0.0
    assert terminal._cell(line, "si") == significant(line.value, 3)
    assert terminal._cell(line, "us") == significant(show(line.value, "kg/d", "us")[0], 3)
    assert terminal._cell(replace(line, value=None), "si") == "–"


def test_a_chance_of_next_to_nothing_is_said_so(compared):
    line = compared.strategies["salt_single_point"].lines["probability_meets_permit"]
    shown = {4e-69: "<0.001", 0.00123: "0.00123", 0.95: "0.95", 0.0: "0"}
    for value, text in shown.items():
        assert terminal._cell(replace(line, value=value), "si").rstrip("0") == text.rstrip("0")


def test_groups_stand_once_and_in_order(compared):
    text = terminal.comparison_table(compared, "si")
    heads = [line for line in text.splitlines() if line and line.isupper()]
    assert heads == [group.upper() for group in dict.fromkeys(k.group for k in lines.LINES)]


def test_it_says_who_meets_the_limit_what_is_missed_and_what_follows(compared):
    text = terminal.comparison_table(compared, "si")
    results = list(compared.strategies.values())
    (verdict,) = [line for line in text.splitlines() if line.startswith("Meets every requirement")]
    assert verdict.split()[3:] == ["yes" if r.meets_permit else "no" for r in results]
    assert {"yes", "no"} <= set(verdict.split())
    for result in results:
        said = any(line.startswith(f"{result.label}: ") for line in text.splitlines())
        assert said is not result.meets_permit
    assert compared.notes
    assert text.endswith("\n".join([compared.recommendation, "", *compared.notes]))


def test_a_missed_check_says_what_was_found_and_needed(compared):
    result = compared.strategies["no_action"]
    checks = (
        Check(key="a", label="Mean phosphorus", needed=0.5, found=4.32, unit="mg P/L", met=False),
        Check(key="b", label="Alkalinity", needed=80.0, found=75.0, unit="mg CaCO3/L", met=False,
              sense="at least"),
        Check(key="c", label="Solids", needed=8.0, found=5.0, unit="mg/L", met=True),
    )  # fmt: skip
    assert terminal._misses(replace(result, checks=checks)) == (
        f"{result.label}: mean phosphorus 4.32, needs at most 0.500 mg P/L; "
        "alkalinity 75.0, needs at least 80.0 mg CaCO₃/L"
    )
    assert terminal._misses(replace(result, checks=checks[2:])) is None


def test_a_missed_check_speaks_the_units_of_its_table(compared):
    result = compared.strategies["no_action"]
    load = Check(key="a", label="Load", needed=100.0, found=200.0, unit="kg/d", met=False)
    strategies = {**compared.strategies, "no_action": replace(result, checks=(load,))}
    text = terminal.comparison_table(replace(compared, strategies=strategies), "us")
    assert "load 441, needs at most 220 lb/d" in text


def test_csv_is_in_base_units_and_loses_nothing(compared):
    rows = list(csv.DictReader(io.StringIO(terminal.comparison_csv(compared))))
    every = [line for r in compared.strategies.values() for line in r.lines.values()]
    assert [row["key"] for row in rows] == [line.key for line in every]
    for row, line in zip(rows, every, strict=True):
        assert row["unit"] == line.unit
        if line.value is None:
            assert row["value"] == "" and row["reason"] == line.reason != ""
        else:
            assert float(row["value"]) == line.value and row["reason"] == ""


def sweep(**values):
    return Sweep(
        along="permit.tp", label="Limit", unit="mg P/L", points=(1.0, 0.1),
        values={"salt_single_point": {q: (1234.0, math.nan) for q in terminal.SWEEP_COLUMNS}},
        feasible={"salt_single_point": (True, False)}, **values,
    )  # fmt: skip


def test_a_sweep_has_one_row_for_each_point():
    text = terminal.sweep_table(sweep())
    label, head, unit, first, second = text.splitlines()
    assert label == lines.LABELS["salt_single_point"]
    assert head.split("  ")[0].strip() == "Limit" and "meets it" in head
    assert unit.split()[:2] == ["mg", "P/L"]
    count = len(terminal.SWEEP_COLUMNS)
    assert first.split() == ["1.00", "yes", *["1230"] * (count - 1), ">99"]
    assert second.split() == ["0.100", "no", *["–"] * count]
    assert len({len(line) for line in (head, unit, first, second)}) == 1  # set to the right


def test_a_chance_along_a_sweep_is_in_percent():
    values = (1e-9, 0.95, 0.9999, math.nan)
    cells = [terminal._swept("probability_meets_permit", value) for value in values]
    assert cells == ["<1", "95", ">99", "–"]


def test_crossings_are_named_below_a_sweep():
    lost, gone, found = (
        Crossing(at=0.88, before="lime", after="salt_two_point", fails=False),
        Crossing(at=0.2, before="lime", after="", fails=True),
        Crossing(at=0.4, before="", after="lime", fails=False),
    )
    text = terminal.sweep_table(sweep(), (lost, gone, found)).splitlines()[-3:]
    lime, two = lines.LABELS["lime"], lines.LABELS["salt_two_point"]
    assert text[0] == f"At 0.88 mg P/L {lime} is no longer the cheapest; {two} is."
    assert text[1] == f"At 0.20 mg P/L {lime} no longer meets every requirement; none does."
    assert text[2] == f"At 0.40 mg P/L {lime} begins to meet every requirement."


def test_columns_of_a_sweep_are_lines():
    assert set(terminal.SWEEP_COLUMNS) <= set(lines.KINDS)
    assert set(terminal.SWEEP_COLUMNS) <= set(what_if.SWEPT)
