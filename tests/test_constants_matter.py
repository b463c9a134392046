"""A change of one percent in any sourced number is noticed by a published check or an oracle.

A number that nothing notices might as well be wrong. Judgement and common practice are exempt:
there is no source that could notice. Only the checks that use a number are run again.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import importlib
from typing import ClassVar

import pytest

from pcompare import catalogue, tables
from tests import test_tables

CHANGE = 1.01
UNSOURCED = ("judgement", "common_practice")
# Sourced numbers that no check can notice, each with its reason.
EXEMPT: dict[str, str] = {}

CACHES = (
    tables.constant, tables._constants, tables.molar_mass, tables._atomic_weights,
    tables.coefficients,
)  # fmt: skip
READ = tables.read


class Watched(tables.Row):
    """A row that notes when its value is asked for."""

    __slots__ = ()
    seen: ClassVar[set[tuple[str, str]]] = set()

    def number(self, column, default=None):
        if column == "value":
            self.seen.add((self.file, next(iter(self.cells.values()))))
        return super().number(column, default)


@contextlib.contextmanager
def reading(read):
    """Read the tables by another function, with nothing remembered before or after."""
    tables.read = functools.cache(read)
    for cache in CACHES:
        cache.cache_clear()
    try:
        yield
    finally:
        tables.read = READ
        for cache in CACHES:
            cache.cache_clear()


def changed(file, name):
    """Read the tables with one number a percent larger, free of its range."""

    def read(table):
        return tuple(
            dataclasses.replace(row, cells={**row.cells, **larger(row)})
            if (row.file, next(iter(row.cells.values()))) == (file, name)
            else row
            for row in READ(table)
        )

    return reading(read)


def larger(row):
    value = row.number("value")
    free = {column: "" for column in ("low", "high") if column in row.cells}
    return {"value": repr(value * CHANGE if value else 0.01), **free}


@functools.cache
def uses():
    """Give the checks that use each number: for atomic weights, the checks that use any."""
    found = {}
    for check in catalogue.published_checks():
        Watched.seen.clear()
        with reading(watched_rows):
            if not catalogue.run_check(check).passed:
                continue
        seen = {key for key in Watched.seen if key[0] in ("constants.csv", "atomic_weights.csv")}
        for text in check.inputs:
            name = text.partition("=")[2].strip()
            if name.startswith("@"):
                seen.add((f"{tables.coefficients()[name[1:]].table}.csv", name[1:]))
        for key in seen:
            found.setdefault(key, []).append(check)
    return found


def watched_rows(table):
    return tuple(Watched(file=r.file, line=r.line, cells=r.cells) for r in READ(table))


@functools.cache
def oracles():
    """Give the oracle tests of each equation."""
    found = {}
    for row in tables.rows_of(catalogue.checks_folder() / catalogue.ORACLES):
        module, _, function = row.text("test").partition("::")
        test = getattr(importlib.import_module(f"tests.{module}"), function)
        found.setdefault(row.text("equation"), []).append(test)
    return found


def oracles_of(file, checks):
    """Give the oracle tests of whatever uses a number; every atomic weight has one."""
    if file == "atomic_weights.csv":
        return {test_tables.test_atomic_weights_agree_with_molmass}
    return {test for check in checks for test in oracles().get(check.equation, ())}


def fails(test):
    try:
        test()
    except AssertionError:
        return True
    return False


def numbers():
    """List every number of the tables that equations use: file, name, status."""
    for table in ("atomic_weights", "constants", *tables.COEFFICIENT_TABLES):
        for row in tables.read(table):
            yield row.file, next(iter(row.cells.values())), row.text("status")


SOURCED = [(f, n) for f, n, status in numbers() if status not in UNSOURCED and n not in EXEMPT]


@pytest.mark.parametrize(("file", "name"), SOURCED, ids=lambda part: part.removesuffix(".csv"))
def test_one_percent_is_noticed(file, name):
    checks = uses().get((file, name), [])
    with changed(file, name):
        if any(not catalogue.run_check(check).passed for check in checks):
            return
        if any(fails(test) for test in oracles_of(file, checks)):
            return
    equations = sorted({check.equation for check in checks})
    pytest.fail(f"{file}: one percent more of {name} is not noticed; used by {equations}")


def test_exempt_numbers_are_printed(capsys):
    unsourced = [(f, n, s) for f, n, s in numbers() if s in UNSOURCED]
    known = {name for _, name, _ in numbers()}
    with capsys.disabled():
        print(f"\nexempt from the one percent: {len(unsourced) + len(EXEMPT)}")
        for file, name, status in unsourced:
            print(f"  {name} ({file}): {status}")
        for name, reason in EXEMPT.items():
            print(f"  {name}: {reason}")
    assert set(EXEMPT) <= known, "an exemption for a number that is gone"
    assert all(EXEMPT.values())
    assert len(EXEMPT) <= 0.1 * len(known), "exemptions are for the few"


def test_the_change_reaches_the_equations():
    """The test of the test: a changed weight, constant and coefficient are seen."""
    weight, factor = tables.molar_mass("P"), tables.coefficients()["grid_factor"].value
    with changed("atomic_weights.csv", "P"):
        assert tables.molar_mass("P") == pytest.approx(weight * CHANGE)
    with changed("greenhouse_gas.csv", "grid_factor"):
        assert tables.coefficients()["grid_factor"].value == pytest.approx(factor * CHANGE)
    assert tables.molar_mass("P") == weight
