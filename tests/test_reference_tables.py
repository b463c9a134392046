"""The contract of the reference tables, table by table.

The counts and sums at the end are a guard against a slip of the keyboard. They verify nothing: what
a number rests on is its source, and the published checks.
"""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from pcompare import tables

SINGLE = (*tables.COEFFICIENT_TABLES,)
COLUMNS = {
    "SOURCES": ("key", "citation"),
    "atomic_weights": ("element", "value", "unit", "status", "source", "locator", "note"),
    "constants": ("name", "value", "unit", "status", "source", "locator", "note"),
    "water_use_limits": (
        "name", "use", "quantity", "value", "unit", "sense", "class", "status", "source",
        "locator", "note",
    ),
    "input_fields": (
        "field", "sheet", "label", "unit", "kind", "choices", "hard_low", "hard_high", "usual_low",
        "usual_high", "value", "low", "high", "monthly", "status", "source", "locator", "help",
    ),
    **dict.fromkeys(
        SINGLE,
        ("name", "label", "value", "unit", "low", "high", "status", "source", "locator", "note"),
    ),
}  # fmt: skip
KINDS = ("number", "integer", "text", "date", "choice")
NEEDS_NO_PLACE = ("judgement", "common_practice", "computed")

# Rows and the sum of the column of values as written, against a slip of the keyboard only.
GUARD: dict[str, tuple[int, str]] = {
    "acid_base": (2, "-5.38"),
    "aeration": (12, "25.26"),
    "alkalinity": (3, "80.6666666666666666"),
    "atomic_weights": (18, "731.8580"),
    "bases": (40, "40.6500000000089"),
    "biology": (29, "23.020"),
    "carbon_sources": (24, "19.562"),
    "constants": (98, "-849822898512.67150659255"),
    "fermentation": (12, "39.535"),
    "greenhouse_gas": (20, "317.0354"),
    "lime": (13, "87.675"),
    "metal_salts": (92, "50.4691"),
    "nitrogen": (19, "15.652"),
    "precipitation": (16, "10.108"),
    "recovery": (7, "5.725"),
    "reliability": (6, "2.95"),
    "screening": (8, "198"),
    "settling": (7, "2.931"),
    "solids": (14, "4516.88"),
    "water_use_limits": (144, "34180.55"),
}

every_table = pytest.mark.parametrize("table", tables.names())
NUMBERS = [t for t in tables.names() if t != "input_fields" and "value" in tables.read(t)[0].cells]
every_number_table = pytest.mark.parametrize("table", NUMBERS)


def where(row, column):
    return f"{row.file}, line {row.line}, column '{column}'"


@every_table
def test_columns(table):
    rows = tables.read(table)
    assert rows, f"{table} has no rows"
    wanted = COLUMNS.get(table)
    columns = tuple(rows[0].cells)
    if wanted:
        assert columns == wanted
    else:  # a table with a shape of its own still says what each row rests on
        assert {"status", "source"} <= set(columns)
        assert "value" not in columns or {"unit", "locator"} <= set(columns)


@every_table
def test_first_column_names_each_row_once(table):
    names = [next(iter(row.cells.values())).strip() for row in tables.read(table)]
    assert all(names)
    twice = sorted({name for name in names if names.count(name) > 1})
    assert twice == [] or table not in COLUMNS


@every_number_table
def test_rows_of_numbers(table):
    for row in tables.read(table):
        status, source = row.text("status"), row.text("source")
        value = row.number("value")
        assert row.text("unit"), where(row, "unit")
        assert row.text("unit").isascii(), where(row, "unit")
        assert status in tables.STATUSES, where(row, "status")
        assert source in tables.sources(), where(row, "source")
        no_place = status in NEEDS_NO_PLACE or source == "COMMON_PRACTICE"
        assert row.text("locator") or no_place, where(row, "locator")
        if "low" in row.cells:
            assert row.number("low", value) <= value <= row.number("high", value), where(row, "low")


@every_table
def test_status_and_source_of_every_row(table):
    for row in tables.read(table):
        if row.cells.get("status"):
            assert row.text("status") in tables.STATUSES, where(row, "status")
            assert row.text("source") in tables.sources(), where(row, "source")


@every_table
def test_nothing_is_blank_or_padded(table):
    for row in tables.read(table):
        for column, cell in row.cells.items():
            assert cell == cell.strip(), where(row, column)
            assert "\n" not in cell, where(row, column)


def test_status_and_source_agree():
    """What is said to be judgement has no work to cite, and what is sourced cites one."""
    for item in tables.coefficients().values():
        assert (item.source == "JUDGEMENT") == (item.status == "judgement"), item.name
        if item.status == "published":
            assert item.locator, item.name


def test_coefficients_have_labels_and_names_that_serve_as_fields():
    for item in tables.coefficients().values():
        assert item.name.isidentifier(), item.name
        assert item.label[:1].isupper() or not item.label[:1].isalpha(), item.name
        assert not item.label.endswith("."), item.name
        assert len(item.label) <= 90, item.name


def test_fractions_lie_between_nothing_and_everything():
    for item in tables.coefficients().values():
        if item.unit == "kg/kg" and "change" not in item.name:
            assert 0.0 <= item.low <= item.high <= 1.0, item.name


def test_input_fields():
    if "input_fields" not in tables.names():
        pytest.skip("no table of input fields")
    for row in tables.read("input_fields"):
        kind, value = row.text("kind"), row.text("value")
        assert kind in KINDS, where(row, "kind")
        assert row.text("monthly") in ("yes", "no"), where(row, "monthly")
        assert row.text("label"), where(row, "label")
        if kind not in ("number", "integer"):
            continue
        assert row.text("unit"), where(row, "unit")
        order = [
            row.number(column)
            for column in ("hard_low", "usual_low", "usual_high", "hard_high")
            if row.text(column)
        ]
        assert order == sorted(order), where(row, "hard_low")
        if value:
            number = row.number("value")
            assert row.text("status") in tables.STATUSES, where(row, "status")
            assert row.text("source") in tables.sources(), where(row, "source")
            low, high = row.number("hard_low", -math.inf), row.number("hard_high", math.inf)
            assert low <= number <= high, where(row, "value")
            assert row.number("low", number) <= number <= row.number("high", number)


def test_citations_are_whole():
    for key, citation in tables.sources().items():
        assert key.isascii(), key
        assert key == key.strip().replace(" ", "_"), key
        assert len(citation) >= 15, key


def test_readme_names_every_table():
    readme = (tables.folder() / "README.md").read_text(encoding="utf-8")
    for table in tables.names():
        assert f"{table}.csv" in readme, f"README.md does not mention {table}.csv"


@pytest.mark.parametrize("table", GUARD)
def test_guard_against_typing(table):
    """Decimal arithmetic is exact: beside a huge coefficient a small one still counts."""
    rows = tables.read(table)
    count, total = GUARD[table]
    assert len(rows) == count
    assert sum(Decimal(row.text("value")) for row in rows) == Decimal(total)


@every_number_table
def test_every_table_of_numbers_has_its_guard(table):
    assert table in GUARD, f"add the count and the sum of {table} to GUARD"
