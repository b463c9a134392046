"""The board brief, read back with a PDF reader: numbers, plain words, type, pages, chart."""

from __future__ import annotations

import io
import itertools
import math
import re
import time
from dataclasses import replace

import numpy as np
import pypdf
import pytest
from reportlab.graphics.shapes import Circle, Line, Polygon, String

from pcompare import lines, run
from pcompare.documents import (
    brief,
    brief_charts,
    brief_choice,
    brief_outlook,
    brief_words,
    memo,
    style,
)
from pcompare.documents.flowables import SUBSCRIPTS
from pcompare.documents.words import NONE, Figures
from pcompare.findings import Swing
from pcompare.inputs import reader, schema
from tests.documents_dossier import invented, ugly

SI = Figures(system="si", currency="EUR")
US = Figures(system="us", currency="EUR")
LEAST = 9.0  # points


def squeezed(text):
    return re.sub(r"\s+", "", text).translate(SUBSCRIPTS)


def read(data):
    return pypdf.PdfReader(io.BytesIO(data))


def text_of(data):
    return squeezed("".join(page.extract_text() for page in read(data).pages))


def case(*overrides, draws=0):
    return run.dossier(reader.read(None, list(overrides)), draws, 1)


def with_choices(dossier, **choices):
    new = {name.replace("__", "."): text for name, text in choices.items()}
    inputs = replace(dossier.inputs, choices={**dossier.inputs.choices, **new})
    return replace(dossier, inputs=inputs)


def with_comparison(dossier, **changes):
    return replace(dossier, comparison=replace(dossier.comparison, **changes))


def crowded(count=14):
    """Give more options than anybody can read, all with long names."""
    plain = invented()
    strategies = dict(plain.comparison.strategies)
    for i in range(count - len(strategies)):
        model = strategies["salt_tertiary" if i % 2 else "bio_purchased_carbon"]
        label = f"Another way of doing much the same, at great length, number {i} & <more>"
        strategies[f"another_{i}"] = replace(model, name=f"another_{i}", label=label)
    ranking = (*(n for n in strategies if n.startswith("another")), *plain.comparison.ranking)
    return with_comparison(plain, strategies=strategies, ranking=ranking)


def breaking_drought():
    """Let the cheapest break the users' limits in a drought, as one-point salt does."""
    plain = invented()
    return with_comparison(
        plain, ranking=("salt_single_point", "bio_purchased_carbon", "bio_with_salt_trim")
    )


@pytest.fixture(scope="module")
def dossier():
    return invented()


@pytest.fixture(scope="module")
def ordinary(dossier):
    return brief.brief(dossier)


@pytest.fixture(scope="module")
def tiny_and_cold():
    return case(
        "flow.average=400", "plant.households=900", "influent.temperature_minimum=5",
        "influent.temperature_average=10", "secondary.volume=700", "secondary.srt=30",
        "secondary.clarifier_area=40", "permit.tp=1.0", "permit.ammonia=0", draws=40,
    )  # fmt: skip


# --- numbers ------------------------------------------------------------------------------------


def printed(text):
    return float(re.sub(r"\s", "", text).replace("−", "-"))


def test_costs_are_those_of_the_memo(dossier, ordinary):
    """Figure and range of each option, in the brief's multiple, against what the memo prints."""
    ours, theirs = text_of(ordinary), text_of(memo.memo(dossier))
    shown = brief_choice.handful(dossier)
    assert len(shown) >= 4
    for quantity in brief.HEADS:
        factor, times = brief.scaled([r.lines[quantity] for r in shown])
        assert squeezed(f"{times}EUR") in ours
        for result in shown:
            line = result.lines[quantity]
            told = brief.figure(line.value, factor)
            assert told in ours
            of_memo = SI.number(line.value, line.unit)
            assert squeezed(of_memo) in theirs
            assert printed(told) * factor == pytest.approx(printed(of_memo), rel=0.05)
            assert printed(told) * factor == pytest.approx(
                printed(SI.number(line.value, line.unit, 2)), rel=1e-12
            )
            if line.low is None:
                continue
            assert squeezed(SI.spread(line.low, line.high, line.unit)) in theirs
            ends = [brief.figure(end, factor) for end in (line.low, line.high)]
            assert squeezed(" to ".join(ends)) in ours
            for end, mine in zip((line.low, line.high), ends, strict=True):
                assert printed(mine) * factor == pytest.approx(
                    printed(SI.number(end, line.unit, 2)), rel=1e-12
                )


def test_odds_and_chances_are_those_of_the_study(dossier, ordinary):
    found = text_of(ordinary)
    assert dossier.study.chance_cheapest["bio_with_salt_trim"] == 0.58
    assert "about6in10" in found
    assert squeezed("in any one month is 95 %") in found
    assert squeezed("8 in 10 of 2000 trials") in found


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.999, "more than 19 in 20"), (0.96, "more than 19 in 20"), (0.94, "about 9 in 10"),
     (0.58, "about 6 in 10"), (0.06, "about 1 in 10"), (0.02, "less than 1 in 20"),
     (math.nan, "not known")],
)  # fmt: skip
def test_odds_in_words(chance, words):
    assert brief_words.in_ten(chance) == words


@pytest.mark.parametrize(
    ("amount", "words"),
    [(996_000.0, "1.0 million"), (994_000.0, "990 000"), (7.74e6, "7.7 million"),
     (-3.4e5, "−340 000"), (2.345e9, "2.3 billion"), (0.0, "0")],
)  # fmt: skip
def test_money_in_words(amount, words):
    assert squeezed(brief_words.in_words(amount)) == squeezed(words)


def test_columns_choose_their_multiple(dossier):
    line = dossier.comparison.strategies["lime"].lines["capital"]
    for value, expected in ((3e9, 1e9), (2e6, 1e6), (3e4, 1e3), (4.2, 1.0), (math.inf, 1.0)):
        assert brief.scaled([replace(line, value=value, high=None), None])[0] == expected


# --- pages and type -----------------------------------------------------------------------------

MANY = {
    "ordinary": invented,
    "ugly": ugly,
    "no draws": lambda: invented(draws=0),
    "months": lambda: invented(monthly=True),
    "crowded": crowded,
    "breaks drought": breaking_drought,
    "long": lambda: with_choices(
        crowded(), project__name="name " * 50, project__next_step="step " * 90,
        project__next_step_date="date " * 90, project__downstream_use="users " * 90,
        project__prepared_for="board " * 60,
    ),
    "nothing feasible": lambda: with_comparison(invented(), ranking=()),
}  # fmt: skip


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("name", MANY)
def test_two_pages_of_at_least_nine_points(name, units):
    reader_ = read(brief.brief(MANY[name](), units=units))
    assert len(reader_.pages) <= 2
    sizes = set()

    def seen(text, _, matrix, __, size):
        if text.strip():
            sizes.add(round(size * math.hypot(matrix[2], matrix[3]), 2))

    for number, page in enumerate(reader_.pages, 1):
        text = squeezed(page.extract_text(visitor_text=seen))
        assert squeezed(f"page {number} of {len(reader_.pages)}") in text
        assert "run0123456789ab" in text
    assert sizes and min(sizes) >= LEAST, sizes


@pytest.mark.parametrize("name", ["ordinary", "ugly"])
def test_fonts_are_embedded(name):
    for page in read(brief.brief(MANY[name]())).pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            assert "/FontFile2" in font["/FontDescriptor"].get_object(), font["/BaseFont"]
            assert "SourceSansPro" in font["/BaseFont"]


def test_title_language_and_bookmarks(ordinary):
    found = read(ordinary)
    assert found.metadata.title == "Phosphorus removal: board brief: Three Elms works"
    assert "0123456789ab" in found.metadata.creator
    catalogue = found.trailer["/Root"]
    assert catalogue["/Lang"] == "en"
    assert catalogue["/ViewerPreferences"]["/DisplayDocTitle"] in (True, "true", "/true")
    titles = [entry.title for entry in found.outline]
    assert titles == [
        "The question", "The answer", "What it costs", "If nothing is done",
        "Two things that could change the answer", "Salt in the water that is used again",
        "What can be recovered later and what cannot", "Next step",
    ]  # fmt: skip
    for entry in found.outline:
        page = found.pages[found.get_destination_page_number(entry)]
        assert squeezed(entry.title) in squeezed(page.extract_text())


def test_same_run_same_bytes_at_another_time(monkeypatch, dossier, ordinary):
    later = time.time() + 86_400.0 * 400
    monkeypatch.setattr(time, "time", lambda: later)
    assert brief.brief(invented()) == ordinary


def test_users_text_stays_text():
    data = brief.brief(ugly())
    assert squeezed("A & B <b>works</b>") in text_of(data)
    assert all("/Annots" not in page for page in read(data).pages)
    nasty = with_choices(invented(), project__next_step="<img src='/etc/passwd'> CO₂ & P<limit")
    assert squeezed("<img src='/etc/passwd'> CO2 & P<limit") in text_of(brief.brief(nasty))


# --- plain words --------------------------------------------------------------------------------

# A currency's code and the name of a page's run are no words.
CAPITALS = re.compile(r"[A-Za-z]*[A-Z]{2,}[A-Za-z0-9]*|[A-Z][a-z]?\(?[A-Z]\w*|\bVFA|\bTDS")
TERMS = ("effluent", "present worth", "secondary", "strategy", "alkalinity", "nitrification")


@pytest.mark.parametrize("name", [n for n in MANY if n not in ("ugly",)])
def test_no_abbreviation_and_no_term_of_the_trade(name):
    data = brief.brief(MANY[name]())
    text = " ".join(page.extract_text() for page in read(data).pages)
    assert set(CAPITALS.findall(text)) <= {"EUR"}
    if name not in ("crowded", "long"):
        assert not [term for term in TERMS if term in text.lower()]


def test_inputs_are_named_without_abbreviations():
    """Whatever turns the order has a plain name and unit."""
    varied = [f for f in schema.fields().values() if f.low is not None]
    assert len(varied) > 100
    for field in varied:
        swing = Swing(field=field.name, label=field.label, unit=field.unit, low_input=0.0,
                      high_input=1.0, at_low=1.0, at_high=-1.0)  # fmt: skip
        name = brief_outlook.input_name(swing)
        assert name and not CAPITALS.search(name), (field.name, name)
        for figures in (SI, US):
            unit = brief_words.unit_words(field.unit, figures)
            assert not CAPITALS.search(unit.replace("EUR", "")), (field.name, unit)


def test_every_strategy_and_requirement_has_plain_words():
    assert set(brief_words.OPTIONS) == set(lines.LABELS) == set(brief_words.WHAT_IT_IS)
    keys = {c.key for r in case().comparison.strategies.values() for c in r.checks}
    assert keys <= set(brief_words.MISSED)


def test_sentences_are_short(dossier):
    sentences = [
        brief_words.question(dossier, SI), brief_words.answer(dossier),
        *brief_words.reasons(dossier, SI), *brief_outlook.salt_sentences(dossier, SI),
        *brief_outlook.if_nothing(dossier, SI),
        *(text for _, text in brief_outlook.could_change(dossier, SI)),
        *(text for _, text in brief_outlook.later(dossier, SI)),
    ]  # fmt: skip
    for sentence in (s for text in sentences for s in re.split(r"[.;:?!] ", text)):
        assert len(sentence.split(" ")) <= 32, sentence


# --- the answer ---------------------------------------------------------------------------------


def test_the_answer_names_the_cheapest_and_its_odds(dossier):
    answer = brief_words.answer(dossier)
    assert answer.startswith("Choose biological removal with some metal salt: ")
    assert answer.endswith("about 6 in 10.") and answer.count(". ") == 0
    assert "7.6" in brief_words.reasons(dossier, SI)[0]
    assert "too close to tell apart" in brief_words.reasons(dossier, SI)[0]


def test_an_answer_without_draws_says_that_it_was_not_tested():
    bare = invented(draws=0)
    bare = replace(bare, study=replace(bare.study, draws=0, chance_cheapest={}))
    assert "not tested" in brief_words.answer(bare)
    found = text_of(brief.brief(bare))
    assert "Noranges" in found and "in10" not in found


def test_an_answer_that_the_draws_do_not_bear_out(dossier):
    chances = {"bio_with_salt_trim": 0.31, "bio_purchased_carbon": 0.61}
    other = replace(dossier, study=replace(dossier.study, chance_cheapest=chances))
    answer = brief_words.answer(other)
    assert "biological removal with bought carbon is the cheapest more often" in answer
    assert "about 3 in 10 against about 6 in 10" in answer
    chances = {"bio_with_salt_trim": 0.41, "bio_purchased_carbon": 0.39}
    other = replace(dossier, study=replace(dossier.study, chance_cheapest=chances))
    assert brief_words.answer(other).startswith("Lean towards")


def test_salt_limits_in_a_drought_decide_the_answer():
    found = breaking_drought()
    assert not found.reuse.passes("salt_single_point", "drought")
    assert found.reuse.passes("bio_purchased_carbon", "drought")
    answer = brief_words.answer(found)
    assert answer.startswith("Metal salt at one point meets the permit at the lowest cost")
    assert answer.endswith("keeps both is biological removal with bought carbon.")
    first, _ = brief_outlook.could_change(found, SI)
    assert first[0] == "Salt limits in a drought"
    shown = [r.name for r in brief_choice.handful(found)]
    assert {"salt_single_point", "bio_purchased_carbon"} <= set(shown)


def test_nothing_feasible_says_what_it_would_take():
    found = case("permit.tp=0.02")
    assert found.comparison.ranking == ()
    near = brief_choice.nearest(found)
    misses = [c for c in near.checks if not c.met]
    fewest = min(
        sum(not c.met for c in r.checks) for n, r in found.comparison.strategies.items()
        if n != "no_action"
    )  # fmt: skip
    assert misses and len(misses) == fewest
    text = text_of(brief.brief(found))
    assert "Noneofthe12options" in text
    assert squeezed(f"Nearest is {brief_words.named(near)}") in text
    for check in misses[:3]:
        amount = Figures.of(found, "si").number(check.found, check.unit, 2)
        assert squeezed(f"{amount} instead of") in text
    assert "Thiscallsfor" in text and "Choose" not in text


def test_a_plant_that_meets_the_permit_need_not_build():
    plain = invented()
    strategies = dict(plain.comparison.strategies)
    today = strategies["no_action"]
    met = tuple(replace(check, met=True) for check in today.checks)
    strategies["no_action"] = replace(today, checks=met)
    found = with_comparison(plain, strategies=strategies)
    assert "nothing needs to be built" in brief_words.reasons(found, SI)[-1]
    assert "nothing is spent" in brief_outlook.if_nothing(found, SI)[-1]


# --- the handful --------------------------------------------------------------------------------


def test_the_handful_holds_what_a_board_needs(dossier):
    shown = [r.name for r in brief_choice.handful(dossier)]
    ranking = dossier.comparison.ranking
    assert shown[:2] == list(ranking[:2]) and shown[-1] == "no_action"
    assert dossier.comparison.reference in shown
    assert {r.kind for r in brief_choice.handful(dossier)} >= {"chemical", "biological"}
    assert len(set(shown)) == len(shown)


def test_the_others_are_counted():
    found = crowded()
    shown = brief_choice.handful(found)
    assert len(shown) <= brief_choice.HANDFUL
    left = len(found.comparison.strategies) - len(shown)
    assert left > 6
    assert squeezed(f"{left} other options are in the memo") in text_of(brief.brief(found))


# --- salt ---------------------------------------------------------------------------------------


def shapes(drawing, kind):
    if isinstance(drawing, kind):
        yield drawing
    for part in getattr(drawing, "contents", ()):
        yield from shapes(part, kind)


def test_the_chart_has_two_marks_a_row_and_every_limit(dossier):
    shown = brief_choice.handful(dossier)
    drawing = brief_charts.salt(dossier, shown, SI)
    said = [one.text for one in shapes(drawing, String)]
    limits = brief_outlook.governing(dossier)
    assert len(limits) == 2
    for limit in limits:
        assert f"limit {SI.exact(limit.value, limit.unit)}" in said
    each = len(shown) * len(limits) + 1  # and one in the key
    assert len(list(shapes(drawing, Circle))) == each
    assert len(list(shapes(drawing, Polygon))) == each
    assert min(one.fontSize for one in shapes(drawing, String)) >= LEAST


def test_marks_lie_on_their_side_of_the_limit(dossier):
    shown = brief_choice.handful(dossier)
    for limit in brief_outlook.governing(dossier):
        alone = replace(dossier, reuse=replace(dossier.reuse, governing=(limit.key,)))
        drawing = brief_charts.salt(alone, shown, SI)
        upright = [x for x in shapes(drawing, Line) if x.strokeWidth == 1.5 and x.x1 == x.x2]
        (at,) = [x.x1 for x in upright if abs(x.y2 - x.y1) > 20.0]
        circles = [c for c in shapes(drawing, Circle)][:-1]
        triangles = [np.mean(p.points[0::2]) for p in shapes(drawing, Polygon)][:-1]
        for i, result in enumerate(shown):
            verdict = dossier.reuse.verdicts[result.name][limit.key]
            assert (circles[i].cx <= at + 1e-9) == verdict.normal
            assert (triangles[i] <= at + 1e-9) == verdict.drought


def test_verdicts_in_words_are_the_pictures(dossier):
    for name in dossier.reuse.verdicts:
        words = " ".join(brief_charts.verdict(dossier, name))
        normal, drought = (dossier.reuse.passes(name, w) for w in ("normal", "drought"))
        expected = "yes, in both" if normal and drought else (
            "normal: yes drought: no" if normal else "no"
        )  # fmt: skip
        assert words == expected
    count = sum(dossier.reuse.passes(n, "drought") for n in dossier.reuse.verdicts)
    whole = squeezed(" ".join(brief_outlook.salt_sentences(dossier, SI)))
    assert squeezed(f"{count} of the {len(lines.LABELS)} options keep them in the drought") in whole


def test_marks_differ_in_lightness_and_in_shape():
    greys = [style.lightness(brief_charts.FILL[w]) for w in ("normal", "drought")]
    assert abs(greys[0] - greys[1]) > 0.3
    kinds = {type(brief_charts.symbol(w, 0.0, 0.0)) for w in ("normal", "drought")}
    assert len(kinds) == 2


def test_without_reuse_the_treated_water_is_drawn():
    found = case("reuse.return_fraction=0")
    drawing = brief_charts.salt(found, brief_choice.handful(found), SI)
    said = [one.text for one in shapes(drawing, String)]
    assert "treated water, undiluted" in said and "drought" not in said
    text = text_of(brief.brief(found))
    assert "saltdoesnotbuildup" in text and "Saltinthetreatedwater" in text
    assert squeezed("does not keep the salt limits") not in text


def test_salt_without_end_is_said(dossier):
    endless = replace(dossier.reuse.drought, steady=False, multiplier=1.2)
    found = replace(dossier, reuse=replace(dossier.reuse, drought=endless))
    assert "In the drought so much comes back" in brief_outlook.salt_sentences(found, SI)[-1]
    assert brief_choice.cheapest_with_salt(found) is None


# --- what could change, later, next step --------------------------------------------------------


def test_two_things_could_change_the_answer(dossier):
    found = brief_outlook.could_change(dossier, SI)
    assert [head for head, _ in found] == [
        "How much phosphorus the bacteria can hold", "Price of liquid alum",
    ]  # fmt: skip
    assert squeezed("At 430 EUR a tonne (taken here: 270)") in squeezed(found[1][1])
    assert squeezed("by 20 000 EUR over 20 years") in squeezed(found[1][1])
    steady = replace(dossier, sensitivity=())
    (head, text), *_ = brief_outlook.could_change(steady, SI)
    assert head == "A stricter limit"
    limit, winner = brief_choice.stricter(dossier, 0.8)
    assert SI.number(limit, "mg P/L", 2) in text
    assert winner and winner != dossier.comparison.ranking[0]


def test_a_stricter_limit_is_the_nearest_that_turns_the_order(dossier):
    sweep, best = dossier.targets, dossier.comparison.ranking[0]
    limit, _ = brief_choice.stricter(dossier, 0.8)
    for place, point in enumerate(sweep.points):
        costs = {n: rows["equal_annual_cost"][place] for n, rows in sweep.values.items()
                 if n != "no_action" and sweep.feasible[n][place]}  # fmt: skip
        if limit < point < 0.8:
            assert min(costs, key=costs.get) == best
        if point == limit:
            assert not costs or min(costs, key=costs.get) != best


@pytest.mark.parametrize("name", list(lines.LABELS))
def test_later_is_told_of_every_option(dossier, name):
    found = with_comparison(dossier, ranking=(name,))
    (_, can), (_, cannot) = brief_outlook.later(found, SI)
    assert brief_words.named(found.comparison.strategies[name]) in can
    assert cannot
    line = found.comparison.strategies[name].lines["recoverable_p"]
    assert squeezed(SI.number(line.value, line.unit, 2)) in squeezed(can)


def test_the_next_step_says_what_is_assumed(dossier):
    what, cost, date = brief_outlook.next_step(dossier, SI)
    assert what == ("What", "Sampling & jar tests")
    assert squeezed(cost[1]) == squeezed("44 000 EUR (assumed)")
    assert date == ("Date", "2027-03-01")
    plain = case()
    found = brief_outlook.next_step(plain, SI)
    assert found[0][1].startswith("Jar tests") and found[0][1].endswith("(assumed)")
    assert found[2][1] == "Begins by 30 June 2026 and takes a year"


def test_the_next_step_moves_no_result():
    plain, other = case(), case("project.next_step_cost=1", "project.next_step=think")
    for name, result in plain.comparison.strategies.items():
        for quantity, line in result.lines.items():
            assert line.value == other.comparison.strategies[name].lines[quantity].value


# --- real plants --------------------------------------------------------------------------------


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_tiny_cold_plant(tiny_and_cold, units):
    data = brief.brief(tiny_and_cold, units=units)
    assert len(read(data).pages) == 2
    text = text_of(data)
    best = brief_choice.best(tiny_and_cold)
    assert squeezed(brief_words.named(best)) in text
    assert "thousandUSD" in text


def test_months_and_a_large_warm_plant():
    found = case(
        "flow.average=400000", "plant.households=700000", "influent.temperature_minimum=24",
        "influent.temperature_average=27", "secondary.volume=260000", "secondary.srt=9",
        "secondary.clarifier_area=20000", "permit.tp=0.1", "permit.averaging=annual",
    )  # fmt: skip
    data = brief.brief(found)
    assert len(read(data).pages) == 2
    assert squeezed("as the mean of each year") in text_of(data)
    assert NONE not in brief.figure(found.comparison.strategies["lime"].value("capital"), 1e6)


def test_figures_of_a_column_stand_on_one_point(dossier):
    """The place of the decimal point is the same for every figure of a column."""
    shown = brief_choice.handful(dossier)
    table = brief.costs(dossier, shown, SI)
    for column in range(1, 1 + len(brief.HEADS)):
        amounts = [row[column] for row in table._cellvalues[1:]]
        for one, other in itertools.pairwise(amounts):
            assert (one.before, one.behind) == (other.before, other.behind)
