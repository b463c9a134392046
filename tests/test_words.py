"""Sentences: what they claim stands in the lines, and nothing else is claimed."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from pcompare import tables
from pcompare.documents import words
from pcompare.documents.words import Figures
from pcompare.records import Check
from tests.documents_dossier import invented, ugly

SI = Figures(system="si", currency="EUR")


def plain(text):
    """Undo the spaces that keep a number in one piece."""
    return re.sub(r"[\u00a0\u2009\u202f]", " ", text)


def with_lines(dossier, name, **values):
    """Replace values of one strategy's lines."""
    result = dossier.comparison.strategies[name]
    changed = {q: replace(result.lines[q], value=v) for q, v in values.items()}
    strategies = {
        **dossier.comparison.strategies,
        name: replace(result, lines={**result.lines, **changed}),
    }
    return replace(dossier, comparison=replace(dossier.comparison, strategies=strategies))


def test_the_answer_names_the_cheapest_its_cost_and_the_odds():
    text = plain(" ".join(words.answer(invented(), SI)))
    assert text.startswith("Biological with salt trim (liquid alum) meets every requirement")
    assert "7 100 000 EUR" in text
    assert "430 000 EUR/y" in text
    assert "58 % of 2000 draws" in text
    assert "95 % for one averaging period and 55 % for all periods" in text


def test_a_close_call_is_named_as_close_and_a_clear_one_is_not():
    close = plain(" ".join(words.answer(invented(), SI)))
    assert "Biological, purchased carbon is close, at 7 600 000 EUR" in close
    clear = with_lines(invented(), "bio_purchased_carbon", present_worth=9e6)
    text = plain(" ".join(words.answer(clear, SI)))
    assert "close" not in text
    assert "Next is Biological, purchased carbon, at 9 000 000 EUR" in text


def test_without_draws_no_odds_are_claimed():
    text = " ".join(words.answer(invented(draws=0), SI))
    assert "draws" not in text


def test_one_left_and_none_left():
    dossier = invented()
    one = replace(dossier, comparison=replace(dossier.comparison, ranking=("salt_single_point",)))
    assert "No other alternative meets" in " ".join(words.answer(one, SI))
    none = replace(dossier, comparison=replace(dossier.comparison, ranking=()))
    assert words.answer(none, SI) == [
        "None of the 5 alternatives meets every requirement as the plant stands."
    ]


def test_what_fails_is_named_with_the_amount():
    found = [plain(s) for s in words.misses_sentences(invented(), SI)]
    assert len(found) == 2
    assert "1.04 where at most 0.495 mg P/L is needed" in found[1]
    assert "−1.31 where at least 0 mg P/L is needed" in found[1]


def test_a_check_without_a_number_is_undefined():
    check = Check(key="x", label="Thing", needed=1.0, found=math.nan, unit="mg/L", met=False)
    assert plain(words.check_sentence(check, SI)).startswith("thing undefined where at most 1")


@pytest.mark.parametrize(
    ("found", "needed", "met", "expected"),
    [
        (2.0, 1.0, False, "not met"),
        (0.5, 1.0, True, "met"),
        (0.95, 1.0, True, "met, close"),
        (1.0, 1.0, True, "met, sized to it"),
        (-1e-12, 0.0, True, "met"),
    ],
)
def test_verdicts(found, needed, met, expected):
    check = Check(key="x", label="x", needed=needed, found=found, unit="mg/L", met=met)
    assert words.verdict(check) == expected


def test_cost_sentence_names_the_largest_item():
    strategies = invented().comparison.strategies
    salt = plain(words.cost_sentence(strategies["salt_single_point"], SI))
    assert "is metal salt, 290 000 EUR/y" in salt
    trim = plain(words.cost_sentence(strategies["bio_with_salt_trim"], SI))
    assert "is labour, 91 000 EUR/y" in trim


def test_what_is_not_dosed_is_not_said_to_be_dosed():
    strategies = invented().comparison.strategies
    assert words.dose_sentences(strategies["no_action"], SI) == []
    salt = " ".join(words.dose_sentences(strategies["salt_single_point"], SI))
    assert "ferric chloride as delivered" in salt
    assert "That is 1.87 mol of metal" in salt
    assert "caustic soda" in salt
    assert "arbon" not in salt
    bought = " ".join(words.dose_sentences(strategies["bio_purchased_carbon"], SI))
    assert "Carbon is bought" in bought
    assert "metal" not in bought


def test_effects_rise_fall_or_stay():
    strategies = invented().comparison.strategies
    text = plain(" ".join(words.effect_sentences(strategies["bio_with_salt_trim"], SI)))
    assert "raw sludge rises by 397 kg TSS/d" in text
    assert "Chloride stays the same" in text
    assert "residue, falls by 8.18 mg/L" in text


def test_ranking_sentences():
    found = [plain(s) for s in words.ranking_sentences(invented(), SI)]
    assert [s[:2] for s in found] == ["1.", "2.", "3."]
    assert found[1].endswith("close to the one before.")
    assert found[2].endswith("11 000 000 EUR.")


def test_swings_that_turn_the_order_and_those_that_do_not():
    dossier = invented()
    found = [plain(s) for s in words.swing_sentences(dossier, SI)]
    assert len(found) == 3
    assert found[1].startswith("Volatile fatty acids at 40 mg COD/L: ")
    assert "by 350 000 EUR of present worth" in found[1]
    calm = replace(dossier, sensitivity=(replace(dossier.sensitivity[0], at_high=1.0),))
    assert words.swing_sentences(calm, SI)[0].startswith("No single input")


def test_need_sentences_follow_the_permit():
    text = plain(" ".join(words.need_sentences(invented(), SI)))
    assert "within 0.8 mg P/L as the mean of each month, all the year" in text
    assert "95 % reliability" in text
    assert "ammonia nitrogen: 2 mg N/L" in text
    assert "load" not in text


def test_every_strategy_has_a_description_and_unknown_ones_fall_back():
    for result in invented().comparison.strategies.values():
        assert words.description(result) == words.DESCRIPTIONS[result.name]
        renamed = replace(result, name="something_new")
        assert words.description(renamed) == words.BY_KIND[result.kind]


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.951, "95 %"), (0.0001, "less than 1 %"), (0.0, "less than 1 %"), (0.5, "50 %"),
        (1.0, "more than 99 %"), (0.9951, "more than 99 %"), (math.nan, "–"), (None, "–"),
    ],
)  # fmt: skip
def test_shares_are_never_certain(value, expected):
    assert plain(words.share(value)) == expected


def test_numbers_stay_in_one_piece_and_money_takes_the_currency():
    text = SI.amount(1234567.0, "money/y", 2)
    assert plain(text) == "1 200 000 EUR/y"
    assert " " not in text
    assert SI.number(math.nan, "mg/L") == words.NONE
    assert SI.spread(1.0, None, "mg/L") == ""
    assert plain(SI.spread(1.0, 2.0, "mg/L")) == "1.0 to 2.0"
    assert SI.spread(0.0, 0.0, "mg/L") == "0"
    assert SI.end(0.3, "mg/L") == "0.3"
    assert SI.end(0.45833333, "mg/L") == "0.458"
    assert plain(SI.end(225000.0, "money")) == "225 000"


def test_inputs_are_printed_as_they_were_given():
    assert SI.exact(0.8, "mg P/L") == "0.8"
    assert plain(SI.exact(20150.0, "m3/d")) == "20 150"
    assert SI.exact(2026.0, "-") == "2026"
    assert SI.exact(-2.5, "-") == "−2.5"
    assert SI.exact(1.0 / 3.0, "-") == "0.333333"
    assert plain(SI.exact(1234567.0, "money")) == "1 234 567"
    assert plain(SI.exact(1234567.89, "money")) == "1 234 567.9"
    assert SI.exact(0.0, "kg/d") == "0"


def test_labels_inside_sentences():
    assert words.lower("Metal salt") == "metal salt"
    assert words.lower("COD of the influent") == "COD of the influent"
    assert words.lower("pH at the basin") == "pH at the basin"


def test_cautions_follow_what_is_handled():
    dossier = invented()
    about = {c.about for c in words.cautions(dossier)}
    assert {"general", "metal_salt", "caustic", "acetic_acid", "anaerobic_zone", "reuse"} <= about
    kept = {n: r for n, r in dossier.comparison.strategies.items() if n == "no_action"}
    choices = {**dossier.inputs.choices, "project.downstream_use": ""}
    alone = replace(
        dossier,
        comparison=replace(dossier.comparison, strategies=kept),
        inputs=replace(dossier.inputs, choices=choices),
    )
    assert {c.about for c in words.cautions(alone)} == {"general"}


def test_every_caution_can_be_reached():
    """No row of the table speaks of something that no strategy handles."""
    everything = {row.text("about") for row in tables.read("cautions")}
    assert {c.about for c in words.cautions(invented())} == everything


@pytest.mark.parametrize(
    "needed",
    ["half to double", "Not for bidding", "licensed engineer", "hypochlorite", "caustic soda or",
     "hydrogen sulfide", "confined spaces", "site sampling", "Prices are dated", "corrosive"],
)  # fmt: skip
def test_the_cautions_that_must_be_printed(needed):
    assert any(needed in caution.text for caution in words.cautions(invented()))


def test_the_worst_run_still_reads():
    dossier = ugly()
    for result in dossier.comparison.strategies.values():
        for sentence in (
            *words.dose_sentences(result, SI),
            *words.effect_sentences(result, SI),
            words.cost_sentence(result, SI),
            words.chance_sentence(result),
        ):
            assert "nan" not in sentence
            assert "None" not in sentence
