"""The pipeline: one calculation for its three readers, provenance, and what a dossier holds."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from pcompare import designing, evaluation, lines, run
from pcompare.arrays import as_cases, plain
from pcompare.recording import Recorded, solved_below, walk
from pcompare.strategies import STRATEGIES

from .plants import example


@pytest.fixture(scope="module")
def dossier():
    return run.dossier(example(), draws=50)


def test_recorded_equals_point_line_by_line():
    inputs = example()
    designs = designing.designs(inputs)
    point = evaluation.evaluate(inputs, designs)
    leaves = {name: Recorded.field(name, plain(v)) for name, v in inputs.values.items()}
    recorded = evaluation.evaluate(replace(inputs, values=leaves), designs)
    for name, candidates in point.items():
        for a, b in zip(candidates, recorded[name], strict=True):
            for quantity, value in a.reduced.items():
                np.testing.assert_allclose(
                    np.asarray(plain(b.reduced[quantity]), float),
                    np.asarray(value, float),
                    rtol=1e-12,
                    atol=1e-12,
                    err_msg=f"{name}.{quantity}",
                )


def test_a_design_operated_again_gives_its_own_point():
    """What a design was sized on is what it does at the same values."""
    inputs = example()
    point = designing.point(inputs)
    again = evaluation.evaluate(inputs, designing.designs(inputs))
    for name, candidates in point.items():
        for a, b in zip(candidates, again[name], strict=True):
            for quantity, value in a.reduced.items():
                np.testing.assert_allclose(
                    np.asarray(b.reduced[quantity], float), np.asarray(value, float),
                    rtol=1e-9, atol=1e-9, err_msg=f"{name}.{quantity}",
                )  # fmt: skip


def test_many_cases_equal_each_case_alone():
    inputs = example()
    limits = [2.0, 0.7, 0.3, 0.1]
    column = replace(inputs, values={**inputs.values, "permit.tp": as_cases(limits).T})
    together = designing.point(column)
    for row, limit in enumerate(limits):
        alone = example(permit__tp=limit)
        single = designing.point(alone)
        for name, candidates in single.items():
            for a, b in zip(candidates, together[name], strict=True):
                for quantity, value in a.reduced.items():
                    many = np.broadcast_to(as_cases(b.reduced[quantity]), (len(limits), 1))
                    np.testing.assert_allclose(
                        many[row], as_cases(value)[0], rtol=1e-9, atol=1e-9,
                        err_msg=f"{name}.{quantity} at {limit}",
                    )  # fmt: skip


def test_every_residual_of_a_solved_value_is_zero(dossier):
    solved = [n for n in walk(*dossier.recorded.values()) if n.operation == "solved"]
    assert solved
    for node in solved:
        assert np.abs(node.residual.plain).max() < 1e-9


def test_share_of_lines_live_without_a_solved_value_is_known(dossier):
    """A guard: the share that a workbook can recalculate without a solver."""
    live = sum(not solved_below(node) for node in dossier.recorded.values())
    assert live / len(dossier.recorded) > 0.35


def test_every_strategy_reports_every_quantity(dossier):
    for strategy in STRATEGIES:
        result = dossier.comparison.strategies[strategy.name]
        assert list(result.lines) == [kind.quantity for kind in lines.LINES]
        for line in result.lines.values():
            assert (line.value is None) == bool(line.reason), line.key


def test_carried_lines_name_their_equations_and_works(dossier):
    for result in dossier.comparison.strategies.values():
        for line in result.lines.values():
            if line.value not in (None, 0.0) and line.key in dossier.recorded:
                assert line.equation, line.key
                assert set(line.sources) <= set(dossier.sources), line.key


def test_low_middle_and_high_stand_in_order(dossier):
    spread = [
        line
        for result in dossier.comparison.strategies.values()
        for line in result.lines.values()
        if line.middle is not None
    ]
    assert spread
    assert all(line.low <= line.middle <= line.high for line in spread)


def test_run_id_follows_inputs_seed_and_draws():
    inputs = example()
    one = run.provenance(inputs, 100, 1)
    assert one.run_id == run.provenance(example(), 100, 1).run_id
    others = [
        run.provenance(inputs, 100, 2),
        run.provenance(inputs, 101, 1),
        run.provenance(example(permit__tp=0.7), 100, 1),
    ]
    assert len({one.run_id, *(o.run_id for o in others)}) == 4


def test_a_draw_never_builds_a_different_plant(dossier):
    """The same draws give the same study, and no draws give none."""
    again = run.study(dossier.inputs, dossier.comparison, 50, 1)
    assert again.lines == dossier.study.lines
    assert run.study(dossier.inputs, dossier.comparison, 0, 1).lines == {}


def test_doses_rise_and_never_fall_as_the_limit_falls(dossier):
    sweep = run.targets(example(), 2.0, 0.05, 12)
    for name in ("salt_single_point", "bio_with_salt_trim"):
        dose = sweep.values[name]["metal_dose"]
        product_steps = [b - a for a, b in pairwise(dose)]
        sludge = sweep.values[name]["chemical_sludge"]
        assert all(b >= a - 1e-9 for a, b in pairwise(sludge)), name
        assert sum(step > 0 for step in product_steps) >= 2, name


def test_difference_is_the_first_less_the_reference(dossier):
    compared = dossier.comparison
    first, reference = (compared.strategies[n] for n in (compared.ranking[0], compared.reference))
    for quantity in lines.DIFFERENCES:
        line = compared.difference[quantity]
        assert line.value == pytest.approx(first.value(quantity) - reference.value(quantity))
        assert line.low is not None and line.low <= line.high


def test_notes_say_where_there_is_nothing_to_ferment(dossier):
    assert not any("to ferment" in note for note in dossier.comparison.notes)
    bare = run.compare(example(primary__capture=0.0))
    assert any("no primary sludge to ferment" in note for note in bare.notes)
    existing, fermented = (
        bare.strategies[name] for name in ("bio_existing_carbon", "bio_fermented_carbon")
    )
    assert fermented.value("effluent_tp") == existing.value("effluent_tp")


def test_a_note_tells_a_plant_that_cannot_nitrify_from_a_salt_that_fails(dossier):
    assert not any("does not nitrify safely" in note for note in dossier.comparison.notes)
    cold = run.compare(example(influent__temperature_minimum=6.0))
    assert any("does not nitrify safely" in note for note in cold.notes)
    missed = {c.key for c in cold.strategies["salt_single_point"].checks if not c.met}
    assert missed == {"sludge_age"}


@pytest.mark.parametrize(
    ("fields", "reached", "verdict"),
    [
        ({}, "3 of 4 are reached", "not enough."),
        ({"influent__vfa": 90.0}, "4 of 4 are reached", "carbon enough."),
        (
            {"influent__vfa": 90.0, "bio__layout": "anaerobic-aerobic"},
            "4 of 4 are reached",
            "not enough: the ratios do not see the nitrate that comes back, the model does.",
        ),
    ],
)
def test_the_screening_note_follows_the_ratios_and_the_verdict(fields, reached, verdict):
    note = run.compare(example(**fields)).notes[0]
    assert reached in note
    assert note.endswith(verdict)


def test_every_layout_with_an_anaerobic_zone_takes_the_same_labour():
    labour = {row["cost_labour"].value for row in run.layouts(example()).values()}
    assert len(labour) == 1
    assert min(labour) > 0.0


def test_lime_is_bought_as_pure_hydroxide_by_its_strategy_and_as_a_base():
    """One price, one meaning: money for each kilogram of Ca(OH)2."""
    inputs = example(chemical__base="hydrated_lime")
    found = run.compare(inputs).strategies["lime"]
    price = float(plain(inputs["prices.hydrated_lime"])[0, 0])
    use = found.value("lime_dose") * float(inputs["flow.average"][0, 0]) / 1000.0
    assert found.value("cost_salt") == pytest.approx(use / 1000.0 * price * 365.0, rel=1e-9)
