"""Docstrings of the equations are data: calc, verify and the memo print them."""

from __future__ import annotations

import inspect
import re

import pytest

from pcompare import catalogue, tables

EQUATIONS = catalogue.load()
every_equation = pytest.mark.parametrize("name", EQUATIONS)
TEXT = ("str", str)


def signature(name):
    return inspect.signature(EQUATIONS[name])


@every_equation
def test_summary_is_one_sentence(name):
    summary = catalogue.describe(name).summary
    assert summary.endswith(".")
    assert len(summary) <= 100
    assert inspect.getdoc(EQUATIONS[name]).split("\n")[0].strip().endswith(".")


@every_equation
def test_parameters_are_those_of_the_signature(name):
    documented = [term.name for term in catalogue.describe(name).parameters]
    assert documented == list(signature(name).parameters)


@every_equation
def test_every_quantity_has_a_unit_and_every_term_a_description(name):
    found = catalogue.describe(name)
    parameters = signature(name).parameters
    for term in found.parameters:
        is_text = parameters[term.name].annotation in TEXT
        assert bool(term.unit) != is_text, f"{term.name}: unit '{term.unit}'"
        assert term.description.endswith((".", ")")) or term.unit, term.name
        assert term.description, term.name
    assert found.returns
    for term in found.returns:
        assert term.unit, f"result {term.name}: no unit"
        assert term.description, f"result {term.name}: no description"


@every_equation
def test_kinds_are_quantity_or_text(name):
    """The word after the colon: quantity, or str for a text argument."""
    sections = catalogue._sections(inspect.getdoc(EQUATIONS[name]))
    parameters = signature(name).parameters
    for head in re.findall(r"^(\S.*)$", sections.get("Parameters", ""), re.MULTILINE):
        names, _, kind = head.partition(":")
        for parameter in names.split(","):
            expected = "str" if parameters[parameter.strip()].annotation in TEXT else "quantity"
            assert kind.strip().startswith(expected), head
    for head in re.findall(r"^(\S.*)$", sections["Returns"], re.MULTILINE):
        assert head.rpartition(":")[2].strip() == "quantity", head


@every_equation
def test_results_are_those_of_the_named_tuple(name):
    """A function that returns several quantities documents each by the name of its field."""
    returned = signature(name).return_annotation
    function = inspect.unwrap(EQUATIONS[name])
    kind = function.__globals__.get(returned, returned)
    fields = getattr(kind, "_fields", (name,))
    assert tuple(term.name for term in catalogue.describe(name).returns) == tuple(fields)


@every_equation
def test_everything_is_annotated(name):
    for parameter in signature(name).parameters.values():
        assert parameter.annotation in ("Quantity", *TEXT), parameter
    assert signature(name).return_annotation is not inspect.Signature.empty


@every_equation
def test_example_runs_the_equation(name):
    """Doctest runs it; here only that there is one and that it is about this equation."""
    example = catalogue.describe(name).example
    assert ">>> " in example
    assert f"{name}(" in example


@every_equation
def test_references_are_known_works(name):
    found = catalogue.describe(name)
    for reference in found.references:
        assert re.match(r"[A-Z][A-Z0-9_]+(,|;|$)", reference), f"'{reference}' begins with no key"
    for key in found.sources:
        assert key in tables.sources(), f"{key} is not a key of SOURCES.csv"


@pytest.mark.parametrize("side", ["parameters", "returns"])
def test_one_name_has_one_unit(side):
    """Across all equations; ``[*]`` is the unit of whatever is given."""
    units: dict[str, dict[str, list[str]]] = {}
    for found in catalogue.describe_all():
        for term in getattr(found, side):
            if term.unit not in ("", "*"):
                units.setdefault(term.name, {}).setdefault(term.unit, []).append(found.name)
    several = {name: found for name, found in units.items() if len(found) > 1}
    assert several == {}


def test_units_are_written_in_one_way():
    """ASCII codes, as in data and JSON; no unit is spelled in two ways."""
    spelled: dict[str, set[str]] = {}
    for found in catalogue.describe_all():
        for term in (*found.parameters, *found.returns):
            assert term.unit.isascii(), f"{found.name}, {term.name}: [{term.unit}]"
            bare = re.sub(r"[^A-Za-z0-9/]", "", term.unit).lower()
            spelled.setdefault(bare or term.unit, set()).add(term.unit)
    assert {bare: ways for bare, ways in spelled.items() if len(ways) > 1} == {}


@every_equation
def test_no_name_is_short_for_something(name):
    """Full words: a name of one or two letters is a symbol that the reader must look up."""
    allowed = {"ph"}
    for term in catalogue.describe(name).parameters:
        assert len(term.name) > 2 or term.name in allowed, term.name
