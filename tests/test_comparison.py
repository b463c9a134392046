"""Feasibility, what is carried, ranking and the sentence that follows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pcompare import comparison, designing, run
from pcompare.arrays import as_cases
from pcompare.findings import Swing
from pcompare.records import Requirement

from .plants import example


def requirement(needed, found, sense="at most"):
    return Requirement(
        key="k", label="l", needed=as_cases(needed), found=as_cases(found), unit="-", sense=sense
    )


@pytest.mark.parametrize(
    ("needed", "found", "sense", "expected"),
    [
        (1.0, 1.0, "at most", True),
        (1.0, 1.0 + 1e-9, "at most", True),
        (1.0, 1.01, "at most", False),
        (80.0, 79.99999999, "at least", True),
        (80.0, 79.0, "at least", False),
    ],
)
def test_met_allows_rounding_only(needed, found, sense, expected):
    assert comparison.met(requirement(needed, found, sense)).item() is expected


def test_the_worst_month_decides():
    assert not comparison.met(requirement(1.0, [0.5, 0.5, 1.2])).item()


def test_cheapest_feasible_candidate_is_carried_case_by_case():
    inputs = example()
    alum, ferric = designing.point(inputs)["salt_single_point"]

    def priced(candidate, worth, found):
        return replace(
            candidate,
            reduced={"present_worth": as_cases(worth).T, "x": as_cases(worth).T},
            requirements=(requirement(as_cases([1.0, 1.0, 1.0]).T, as_cases(found).T),),
        )

    a = priced(alum, [5.0, 5.0, 5.0], [0.5, 2.0, 2.0])
    b = priced(ferric, [6.0, 6.0, 4.0], [0.5, 0.5, 2.0])
    index = comparison.choose((a, b))
    assert index[:, 0].tolist() == [0, 1, 1]
    assert comparison.carry((a, b), index, "x")[:, 0].tolist() == [5.0, 6.0, 4.0]


def test_rounding_does_not_choose_among_what_costs_the_same():
    failed = np.array([[0, 0, 0], [0, 0, 0], [1, 0, 0]])
    worth = np.array([[3.0, 3.0 - 1e-13, 4.0], [3.0, 2.999, 4.0], [1.0, 5.0 + 1e-12, 5.0]])
    assert comparison.least(failed, worth).tolist() == [0, 1, 1]


def test_ranking_is_by_present_worth_of_what_meets_everything():
    compared = run.compare(example())
    worths = [compared.strategies[n].value("present_worth") for n in compared.ranking]
    assert worths == sorted(worths)
    assert all(compared.strategies[n].meets_permit for n in compared.ranking)
    assert "no_action" not in compared.ranking


def test_no_recommendation_when_nothing_is_feasible():
    compared = run.compare(example(permit__tp=0.05))
    assert compared.ranking == ()
    assert "No strategy" in compared.recommendation
    assert "governing period" in compared.recommendation


def test_the_nearest_misses_fewest_and_by_least():
    compared = run.compare(example(permit__tp=0.05))
    near = compared.strategies[compared.nearest]
    misses = {
        name: [c for c in result.checks if not c.met]
        for name, result in compared.strategies.items()
        if name != "no_action"
    }
    assert len(misses[near.name]) == min(map(len, misses.values()))
    assert f"Nearest is {near.label}:" in compared.recommendation
    assert "none is recommended" in compared.recommendation
    worst = max(map(comparison.shortfall, misses[near.name]))
    for name, missed in misses.items():
        if len(missed) == len(misses[near.name]):
            assert max(map(comparison.shortfall, missed)) >= worst, name


@pytest.mark.parametrize(("share", "is_close"), [(0.1, True), (0.01, False)])
def test_close_is_what_the_field_says(share, is_close):
    compared = run.compare(example(decision__close_share=share))
    assert ("is close" in compared.recommendation) == is_close


def test_the_recommended_strategy_is_first_in_the_ranking():
    compared = run.compare(example())
    assert compared.recommendation.startswith(compared.strategies[compared.ranking[0]].label)


def test_what_would_change_it_names_only_what_turns_the_order():
    compared = run.compare(example())
    swing = Swing(
        field="a.b", label="A price", unit="money/t", low_input=1.0, high_input=9.0,
        at_low=-50.0, at_high=80.0,
    )  # fmt: skip
    steady = replace(swing, label="Another", at_low=10.0, at_high=20.0)
    told = comparison.what_would_change(compared, (swing, steady))
    assert len(told) == 1 and "A price at 1" in told[0]
    told = comparison.what_would_change(compared, (steady,))
    assert "No single input" in told[0]


def test_null_lines_say_why():
    compared = run.compare(example())
    salt = compared.strategies["salt_single_point"].lines
    assert salt["anaerobic_phosphate"].value is None
    assert "store phosphorus" in salt["anaerobic_phosphate"].reason
    assert np.isnan(compared.strategies["no_action"].value("cost_per_kg_p"))


def test_the_products_beside_each_other_are_each_at_their_best():
    """Where a product has several variants the row shows the one that would be carried."""
    inputs = example()
    compared = run.compare(inputs)
    several = 0
    for name, candidates in designing.point(inputs).items():
        result = compared.strategies[name]
        for product, lines_of in result.others.items():
            made = [c for c in candidates if c.design.product == product]
            several += len(made) > 1
            fewest = min(int(comparison.unmet(c.requirements).max()) for c in made)
            worth = min(
                float(as_cases(c.reduced["present_worth"]).max())
                for c in made
                if int(comparison.unmet(c.requirements).max()) == fewest
            )
            assert lines_of["present_worth"].value == pytest.approx(worth, rel=1e-12)
        if result.product:
            carried = result.others[result.product]["present_worth"].value
            assert carried == result.value("present_worth")
    assert several
