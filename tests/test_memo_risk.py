"""Section 8 of the memo: every number of odds, gaps, drivers and break-evens; maps in grey."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from reportlab.graphics.shapes import Rect, String

from pcompare.documents import memo_risk, names, risk_charts, risk_words, style, words
from pcompare.findings import Crossing, Estimate
from tests.documents_dossier import invented, ugly
from tests.test_memo import SI, read, squeezed, text_of

# isort: split
from pcompare.documents import memo


@pytest.fixture(scope="module")
def dossier():
    return invented()


@pytest.fixture(scope="module")
def printed(dossier):
    text = squeezed("".join(text_of(read(memo.memo(dossier)))))
    start = text.rindex("10Whatwouldchangetheanswer")
    return text[start : text.index("11Cautions", start)]


def test_the_odds_of_every_alternative_are_printed(dossier, printed):
    for name, odds in dossier.study.odds.items():
        cells = [
            risk_words.odds(odds.meets),
            risk_words.odds(odds.keeps),
            words.share(odds.in_period.value),
            risk_words.odds(odds.cheapest) if odds.competes else words.NONE,
            risk_words.odds(odds.cheapest_kept),
        ]
        label = dossier.comparison.strategies[name].label
        assert squeezed(label + "".join(cells)) in printed, name


def test_every_gap_and_regret_is_printed(dossier, printed):
    for gap in dossier.study.gaps:
        odds = dossier.study.odds[gap.strategy]
        numbers = [gap.low, gap.middle, gap.high, gap.mean.value]
        cells = [SI.number(n, "money", 2) for n in numbers]
        cells.append(risk_words.odds(gap.below))
        cells += [SI.number(n, "money", 2) for n in (odds.regret.value, odds.largest_regret)]
        label = dossier.comparison.strategies[gap.strategy].label
        assert squeezed(label + "".join(cells)) in printed, gap.strategy


def test_what_is_worth_finding_out_is_ranked_and_noise_is_left_out(dossier, printed):
    start = printed.index("Whattofindoutfirst")
    table = printed[start : printed.index("Worthofknowing", start)]
    assert "1Liquidalum41000" in table and "2Volatilefattyacids29000" in table
    assert "Electricity" not in table  # its 12 is less than what noise seems worth
    assert squeezed("Knowing every input before choosing would be worth 210 000 EUR") in printed


def test_break_evens_are_printed_or_none_in_range(dossier, printed):
    start = printed.index("Break-evenThevalue")
    table = printed[start : printed.index("Whowinswhere", start)]
    for even in dossier.break_evens:
        found = table[table.index(squeezed(even.label)) :]
        if even.at:
            numbers = [SI.number(at, even.unit) for at in even.at]
            assert squeezed(" and ".join(numbers)) in found
        assert "noneinrange" in found


def test_crossings_are_named(dossier, printed):
    for crossing in dossier.crossings:
        assert squeezed(risk_words.crossing_sentence(crossing, SI)) in printed


@pytest.mark.parametrize(
    ("before", "after", "fails", "said"),
    [
        ("lime", "salt_two_point", False,
         "Metal salt, two points becomes cheaper than Lime in the primary tanks."),
        ("lime", "salt_two_point", True, "is then the cheapest that does."),
        ("lime", "", True, "and none does beyond it."),
        ("", "lime", False, "Lime in the primary tanks begins to meet every requirement."),
    ],
)  # fmt: skip
def test_a_crossing_says_what_happens(before, after, fails, said):
    one = Crossing(at=0.5, before=before, after=after, fails=fails)
    assert risk_words.crossing_sentence(one, SI).endswith(said)


def test_seed_draws_correlation_and_margins_are_told(printed):
    for text in ("2000 draws of 2 uncertain inputs, seed 1", "Latin hypercubes",
                 "Margins that the plant was sized with may be used up"):  # fmt: skip
        assert squeezed(text) in printed


def test_correlation_that_was_weakened_is_told(dossier):
    weak = replace(dossier, study=replace(dossier.study, correlation_share=0.4))
    assert "only 40" in " ".join(risk_words.how_drawn(weak))
    assert "is kept" not in " ".join(risk_words.how_drawn(dossier))


def test_the_recommendation_has_reference_odds_and_close_calls(dossier):
    text = " ".join(risk_words.recommendation(dossier, SI)).replace(words.NO_BREAK, " ")
    best = dossier.comparison.strategies[dossier.comparison.ranking[0]]
    assert text.startswith(f"Recommended: {best.label}, measured against metal salt, one point")
    assert "is close, at" in text
    assert "cheapest of the 10 that compete in 58 ± 1.1 % of the draws" in text
    assert "Metal salt in stages" in text and "most often" in text
    assert "No alternative keeps all limits in 4 ± 0.4 %" in text


def test_close_is_what_the_field_says(dossier):
    """At two percent nothing is close any more."""
    far = {**dossier.inputs.values, "decision.close_share": dossier.inputs["permit.tp"] * 0 + 0.02}
    other = replace(dossier, inputs=replace(dossier.inputs, values=far))
    assert "is close" in " ".join(words.next_sentences(dossier, SI))
    assert "is close" not in " ".join(words.next_sentences(other, SI))


def test_nothing_feasible_recommends_nothing_and_says_what_it_would_take(dossier):
    compared = replace(dossier.comparison, ranking=(), nearest="bio_existing_carbon")
    none = replace(dossier, comparison=compared)
    text = " ".join(risk_words.recommendation(none, SI)).replace(words.NO_BREAK, " ")
    assert "none is recommended" in text
    assert "Nearest is Biological, carbon of the sewage. It would take: mean total" in text
    assert "With a limit of 0.17 mg P/L or more" in text
    assert "Recommended" not in text


def test_the_class_of_the_estimate_stands_beside_the_spread(dossier, printed):
    for name, (low, high) in dossier.estimate_class.items():
        line = dossier.comparison.strategies[name].lines["capital"]
        row = [
            SI.number(line.value, "money", 2),
            SI.spread(line.low, line.high, "money"),
            SI.spread(low, high, "money"),
        ]
        label = dossier.comparison.strategies[name].label
        assert squeezed(label + "".join(row)) in printed, name


def test_without_draws_there_are_no_odds():
    titles = [
        flowable.outline_text
        for flowable in memo_risk.risk(invented(draws=0), SI)
        if type(flowable).__name__ == "Heading"
    ]
    assert not any("odds" in title for title in titles)
    numbers = [title.split()[0] for title in titles[1:]]
    assert numbers == [f"10.{i}" for i in range(1, len(numbers) + 1)]


def test_odds_round_as_their_error_allows():
    found = [
        risk_words.odds(Estimate(value, 0.01)).replace(words.NO_BREAK, " ")
        for value in (0.253, 0.0, 1.0, math.nan)
    ]
    assert found == ["25 ± 1.0 %", "less than 1 %", "more than 99 %", words.NONE]


# --- maps -------------------------------------------------------------------------------------


def strings(drawing):
    return [one for one in drawing.contents if isinstance(one, String)]


@pytest.mark.parametrize("count", range(2, len(risk_charts.SHADES) + 1))
def test_shades_differ_in_grey(count):
    held = ["", *list(names.SHORT)[1 : count + 1]]
    shades = [style.lightness(risk_charts.shade(name, held)) for name in held]
    for first, second in itertools.combinations(shades, 2):
        assert abs(first - second) > 0.05


def test_every_region_of_a_map_carries_its_name_or_number(dossier):
    for one in dossier.maps:
        drawing = risk_charts.choice_map(dossier, one, SI)
        said = [string.text for string in strings(drawing)]
        for name, _ in risk_charts.regions(one.winners):
            label = names.short(name, name) if name else risk_charts.NOBODY
            assert label in said or any(text.isdigit() for text in said), name
        keyed = {name for row in one.winners for name in row}
        assert sum(text[:1].isdigit() and ": " in text for text in said) == len(keyed)
        assert "this case" in said


def test_cells_of_a_map_stand_where_their_values_are(dossier):
    """The corner of nobody, at the strictest limits, is drawn at the right."""
    one = dossier.maps[1]
    drawing = risk_charts.choice_map(dossier, one, SI, width=466.0)
    label = next(s for s in strings(drawing) if s.text == risk_charts.NOBODY)
    assert label.x > 0.8 * 466.0
    ticks = {s.text: s.x for s in strings(drawing) if s.text in ("1", "0.1")}
    assert ticks["1"] < ticks["0.1"]
    boxes = [r for r in drawing.contents if isinstance(r, Rect)]
    assert max(r.x + r.width for r in boxes) <= 467.0


def test_regions_touch_and_the_label_takes_the_longest_run():
    winners = [("a", "a", "b"), ("a", "b", "b"), ("c", "c", "a")]
    found = risk_charts.regions(winners)
    assert sorted((name, len(cells)) for name, cells in found) == [
        ("a", 1), ("a", 3), ("b", 3), ("c", 2),
    ]  # fmt: skip
    cells = next(cells for name, cells in found if (name, len(cells)) == ("a", 3))
    assert risk_charts.widest(cells) == (0, 0, 2)
    block = [(j, i) for j in range(6) for i in range(4)]
    assert abs(risk_charts.widest(block, 3)[0] - 3) > 1
    assert risk_charts.widest(block[:12], 1)[0] != 1  # three rows: the next one has to do
    assert risk_charts.widest(block[:4], 0) == (0, 0, 4)
    stair = [(j, i) for j in range(7) for i in range(7 - j)]  # widest at its edge
    assert risk_charts.widest(stair) == (0, 0, 7)
    assert risk_charts.widest(stair, needed=2.5) == (2, 0, 5)  # the middle of those with room


def test_charts_survive_what_cannot_be_drawn():
    dossier = ugly()
    for one in dossier.maps:
        assert strings(risk_charts.choice_map(dossier, one, SI))
    (said,) = strings(risk_charts.drivers(dossier, SI))
    assert said.text.startswith("Nothing to draw")


def test_drivers_are_drawn_by_their_correlation(dossier):
    said = [s.text for s in strings(risk_charts.drivers(dossier, SI))]
    assert (
        said.index("Liquid alum") < said.index("Volatile fatty acids") < said.index("Electricity")
    )
    assert "0.52" in said and "−0.44" in said and "27\u00a0%" in said
