"""Designs at point values: what is made together is what is made alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pcompare import designing, evaluation, lines, run
from pcompare.arrays import as_cases
from pcompare.inputs import reader, schema
from pcompare.strategies import STRATEGIES, no_action
from pcompare.strategies.dissolved import dissolve, dissolve_together

from .plants import example

EVERY_CARBON = ", ".join(schema.carbon_products())


def asking(inputs, **choices):
    asked = {name.replace("__", "."): choice for name, choice in choices.items()}
    return replace(inputs, choices={**inputs.choices, **asked})


def all_products():
    return asking(run.with_every_salt(reader.read()), bio__carbon_products=EVERY_CARBON)


def assert_same(found, expected):
    """Hold every quantity, size, requirement and choice of two candidates against each other."""
    where = f"{expected.strategy}, {expected.design.choices}"
    assert found.design.choices == expected.design.choices
    assert (found.design.product, found.design.carbon, found.design.points) == (
        expected.design.product, expected.design.carbon, expected.design.points,
    )  # fmt: skip
    for kind in ("monthly", "reduced"):
        ours, others = getattr(found, kind), getattr(expected, kind)
        assert ours.keys() == others.keys()
        for name, value in others.items():
            np.testing.assert_allclose(
                *np.broadcast_arrays(as_cases(ours[name]), as_cases(value)),
                rtol=1e-12, atol=1e-12, err_msg=f"{where}: {name}",
            )  # fmt: skip
    assert found.design.sizes.keys() == expected.design.sizes.keys()
    for name, size in expected.design.sizes.items():
        np.testing.assert_allclose(found.design.sizes[name], size, rtol=1e-12, err_msg=name)
    for ours, other in zip(found.design.capital, expected.design.capital, strict=True):
        assert ours.key == other.key
        np.testing.assert_allclose(ours.size, other.size, rtol=1e-12)
    for ours, other in zip(found.requirements, expected.requirements, strict=True):
        assert ours.key == other.key
        np.testing.assert_allclose(ours.needed, other.needed, rtol=1e-12)
        np.testing.assert_allclose(ours.found, other.found, rtol=1e-12, atol=1e-12)


@pytest.mark.parametrize(
    "choices",
    [{}, {"chemical__solids_formula": "empirical"}, {"reuse__salt_cost": "damage"}],
    ids=["as it is", "fitted solids", "salt counts"],
)
def test_products_side_by_side_are_each_product_alone(monkeypatch, choices):
    inputs = asking(all_products(), **choices)
    together = designing.point(inputs)
    one_by_one = designing._abreast
    monkeypatch.setattr(
        designing, "_abreast", lambda inputs, variants, alone: one_by_one(inputs, variants, True)
    )
    alone = designing.point(asking(all_products(), **choices))
    metals = {c.design.product for c in together["salt_single_point"]}
    assert len(metals) > 5
    for name, candidates in alone.items():
        for found, expected in zip(together[name], candidates, strict=True):
            assert_same(found, expected)


def test_what_needs_other_formulas_stands_apart():
    """A metal that binds by its own stoichiometry, and a product without a freezing point."""
    inputs = all_products()
    salts = next(s for s in STRATEGIES if s.name == "salt_single_point").variants(inputs)
    groups = designing._abreast(inputs, salts, False)
    assert sorted(v.product for group in groups for v in group) == sorted(v.product for v in salts)
    of_each_group = [{v.product for v in group} for group in groups]
    (rare,) = (group for group in of_each_group if "cerium_chloride" in group)
    assert "ferric_chloride" not in rare
    assert any({"ferric_chloride", "liquid_alum"} <= group for group in of_each_group)


def test_without_variants_the_carried_ones_are_the_same():
    inputs = reader.read()
    whole, carried = designing.compare(inputs), designing.compare(inputs, variants=False)
    assert whole.ranking == carried.ranking
    assert whole.recommendation == carried.recommendation
    assert whole.notes == carried.notes
    for name, result in whole.strategies.items():
        other = carried.strategies[name]
        assert other.label == result.label
        for quantity in lines.KINDS:
            assert other.lines[quantity].value == result.lines[quantity].value


def test_two_processes_give_what_one_gives():
    inputs = reader.read()
    one, two = designing.point(inputs), designing.point(inputs, processes=2)
    assert list(one) == list(two)
    for name, candidates in one.items():
        for found, expected in zip(two[name], candidates, strict=True):
            assert_same(found, expected)


def test_waters_together_are_each_water_alone():
    inputs = reader.read()
    baseline = no_action.operate(inputs, no_action.design(inputs))
    runs = [baseline]
    for strategy in STRATEGIES:
        design = designing.point_of(inputs, strategy.name)[0].design
        runs.append(strategy.operate(inputs, design))
    for found, operation in zip(dissolve_together(inputs, runs), runs, strict=True):
        expected = dissolve(inputs, operation).quantities
        assert found.quantities.keys() == expected.keys()
        for name, value in expected.items():
            ours = np.broadcast_to(as_cases(found.quantities[name]), as_cases(value).shape)
            np.testing.assert_allclose(ours, value, rtol=1e-12, atol=1e-12, err_msg=name)
    assert dissolve_together(inputs, []) == []


@pytest.mark.parametrize("growth", [-0.05, -0.01, 0.02])
def test_what_is_built_serves_today_whatever_the_load_does(growth):
    """Where the load falls, the largest month is today's: a design sized on it can do its work."""
    inputs = example(flow__growth=growth)
    point = designing.point(inputs)
    again = evaluation.evaluate(inputs, designing.designs(inputs))
    steady = designing.point(example())
    for name, candidates in point.items():
        for a, b, c in zip(candidates, again[name], steady[name], strict=True):
            for quantity in ("effluent_tp", "metal_dose", "base_dose", "carbon_dose"):
                np.testing.assert_allclose(
                    b.monthly[quantity], a.monthly[quantity], rtol=1e-9, atol=1e-12,
                    err_msg=f"{name}.{quantity}",
                )  # fmt: skip
            for size, value in c.design.sizes.items():
                if growth < 0.0:
                    np.testing.assert_allclose(a.design.sizes[size], value, rtol=1e-9)
                elif size in ("product_volume", "base_volume", "carbon_volume"):
                    assert (a.design.sizes[size] >= value).all()
