"""Sentences: what they claim stands in the lines, and nothing else is claimed."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from pcompare import lines, tables
from pcompare.documents import cautions, names, salt_words, words
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
        f"None of the {len(lines.LABELS)} alternatives meets every requirement as the plant stands."
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
    assert "is metal salt or lime, 290 000 EUR/y" in salt
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
    assert [s[:2] for s in found[:3]] == ["1.", "2.", "3."]
    assert len(found) == len(invented().comparison.ranking)
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
    found = invented().comparison.strategies
    assert set(found) == set(lines.LABELS) == set(names.DESCRIPTIONS) == set(names.SHORT)
    for result in found.values():
        assert names.description(result) == names.DESCRIPTIONS[result.name]
        renamed = replace(result, name="something_new")
        assert names.description(renamed) == names.BY_KIND[result.kind]
    assert len(set(names.DESCRIPTIONS.values())) == len(names.DESCRIPTIONS)


def test_names_in_sentences():
    assert names.product("liquid_alum") == lines.PRODUCTS["liquid_alum"]
    assert names.product("a_new_salt") == "A new salt"
    assert names.base("caustic") == "Caustic soda"
    assert names.base("magnesium_hydroxide") == "Magnesium hydroxide"
    assert names.base("ash") == "Ash"
    assert names.short("salt_tertiary") == "Salt and filter"
    assert names.short("new", "Something new") == "Something new"
    result = invented().comparison.strategies["salt_two_point"]
    text = names.choices(result)
    assert "base caustic soda" in text
    assert "product ferric chloride" in text
    assert "ahead of the primary tanks and into the activated sludge" in text
    other = replace(result, design=replace(result.design, base="soda_ash"))
    assert "of soda ash, as pure product" in " ".join(words.dose_sentences(other, SI))


def test_doses_at_several_points_are_told_apart():
    dossier = with_lines(
        invented(), "salt_two_point", metal_dose_primary=9.4, metal_dose_sludge=5.3
    )
    text = plain(
        " ".join(words.dose_sentences(dossier.comparison.strategies["salt_two_point"], SI))
    )
    assert "9.40 mg/L ahead of the primary tanks and 5.30 mg/L into the activated sludge" in text
    one = words.dose_sentences(invented().comparison.strategies["salt_single_point"], SI)
    assert "Of the metal" not in " ".join(one)


def test_lime_is_not_called_a_metal():
    dossier = with_lines(invented(), "lime", metal_dose=0.0, lime_dose=182.0, recarbonation=528.0)
    text = plain(" ".join(words.dose_sentences(dossier.comparison.strategies["lime"], SI)))
    assert "182 mg/L of lime, as pure hydrate" in text
    assert "528 kg/d" in text
    assert "of metal:" not in text


# --- what would meet the target ---------------------------------------------------------------


def missing(months=(), **values):
    """Give the one-point salt that misses its target, with the solids that would meet it."""
    dossier = with_lines(invented(), "salt_single_point", **values)
    result = dossier.comparison.strategies["salt_single_point"]
    line = replace(result.lines["solids_for_target"], months=months)
    checks = tuple(replace(c, met=c.key != "permit.tp") for c in result.checks)
    changed = {**result.lines, "solids_for_target": line}
    return replace(result, checks=checks, lines=changed), dossier.inputs


def test_a_filter_that_would_meet_the_target_is_named():
    text = plain(words.missed(*missing(solids_for_target=4.26), SI))
    assert text.endswith("and a filter that leaves at most 4.3 mg/L of suspended solids would "
                         "meet the target")  # fmt: skip


def test_solids_below_what_a_filter_leaves_are_called_so():
    text = plain(words.missed(*missing(solids_for_target=1.4), SI))
    assert "suspended solids of at most 1.4 mg/L would meet the target" in text
    assert "less than the 3 mg/L that a filter is taken to leave" in text


def test_where_dissolved_phosphorus_is_too_much_no_filter_is_offered():
    text = words.missed(*missing(solids_for_target=0.0), SI)
    assert text.endswith("and dissolved phosphorus alone is above the target")
    assert "filter" not in text


def test_the_strictest_month_decides_what_solids_would_do():
    text = plain(words.missed(*missing(solids_for_target=5.0, months=(6.0, 3.6, 5.4)), SI))
    assert "at most 3.6 mg/L" in text
    dry = words.missed(*missing(solids_for_target=5.0, months=(6.0, 0.0, 5.4)), SI)
    assert "dissolved phosphorus alone" in dry


@pytest.mark.parametrize("nothing", [None, math.nan])
def test_without_a_number_no_remedy_is_offered(nothing):
    text = words.missed(*missing(solids_for_target=nothing), SI)
    assert "suspended" not in text
    assert "dissolved" not in text


def test_a_remedy_is_for_the_phosphorus_check_only():
    result, inputs = missing(solids_for_target=4.0)
    checks = tuple(replace(c, met=c.key != "mixed_liquor") for c in result.checks)
    assert "filter" not in words.missed(replace(result, checks=checks), inputs, SI)


# --- the salts --------------------------------------------------------------------------------


def with_salts(dossier, **products):
    """Replace values of some salts' lines."""
    salts = dict(dossier.salts)
    for name, values in products.items():
        changed = {q: replace(salts[name][q], value=v) for q, v in values.items()}
        salts[name] = {**salts[name], **changed}
    return replace(dossier, salts=salts)


def test_salts_are_sorted_by_present_worth_and_the_unpriced_come_last():
    order = [name for name, _ in salt_words.by_worth(invented().salts)]
    assert order[:3] == ["ferrous_sulfate", "pickle_liquor", "sodium_aluminate"]
    assert order[-1] == "cerium_chloride"
    unpriced = with_salts(invented(), ferrous_sulfate={"present_worth": None})
    assert [n for n, _ in salt_words.by_worth(unpriced.salts)][-1] == "ferrous_sulfate"


def test_salt_sentences_say_what_the_lines_hold():
    text = plain(" ".join(salt_words.salt_sentences(invented(), SI)))
    assert "Ferrous sulfate has the lowest present worth, 8 200 000 EUR" in text
    assert "carries ferric chloride, at 11 000 000 EUR" in text
    assert "Chloride rises with ferric chloride (28.0 mg/L), ferrous chloride (26.5 mg/L)" in text
    assert "Sulfate rises with pickle liquor (52.7 mg/L), liquid alum (49.2 mg/L)" in text
    assert "sodium aluminate adds 33.7 mg CaCO₃/L" in text
    assert "of the others cerium chloride takes least, 8.20 mg CaCO₃/L" in text
    assert "liquid alum most, 41.3 mg CaCO₃/L" in text


def test_the_cheapest_salt_outside_the_choice_is_told_and_one_inside_is_not():
    (told,) = map(plain, salt_words.unconsidered(invented(), SI))
    assert "Ferrous sulfate is not among the products that this case considers" in told
    assert "(liquid alum and ferric chloride)" in told
    assert "above that of the best alternative, Biological with salt trim" in told
    cheap = with_salts(invented(), ferrous_sulfate={"present_worth": 5e6})
    assert "is below that of the best" in salt_words.unconsidered(cheap, SI)[0]
    near = with_salts(invented(), ferrous_sulfate={"present_worth": 7.1e6})
    assert "is close to that of the best" in salt_words.unconsidered(near, SI)[0]
    inside = with_salts(invented(), ferric_chloride={"present_worth": 1e6})
    assert salt_words.unconsidered(inside, SI) == []
    text = " ".join(salt_words.salt_sentences(inside, SI))
    assert "it is the salt that the one-point alternative carries" in text


def test_a_salt_that_misses_the_target_is_not_the_cheapest():
    missed = with_salts(invented(), ferrous_sulfate={"effluent_tp_governing": 0.9})
    assert not salt_words.reaches_target(missed.salts["ferrous_sulfate"])
    text = " ".join(salt_words.salt_sentences(missed, SI))
    assert text.startswith("Pickle liquor has the lowest")
    none = with_salts(invented(), **{n: {"effluent_tp_governing": 0.9} for n in invented().salts})
    assert salt_words.salt_sentences(none, SI) == [
        "None of the salts brings the plant to the target at one dosing point."
    ]


def test_no_chloride_is_claimed_where_none_rises():
    dry = with_salts(invented(), **{n: {"chloride_added": 0.0} for n in invented().salts})
    assert "None of the salts raises chloride." in salt_words.salt_sentences(dry, SI)


def test_dose_models_are_compared_where_all_of_them_meet_everything():
    first, second = map(plain, salt_words.model_sentences(invented(), SI))
    assert "threefold" in first
    assert "jar tests" in first
    assert "At 0.20 mg P/L" in second
    assert "runs from 28.0 to 88.0 mg/L of metal" in second
    sweep = invented().dose_models
    nowhere = replace(sweep, feasible={n: () for n in sweep.feasible})
    assert len(salt_words.model_sentences(replace(invented(), dose_models=nowhere), SI)) == 1
    one = replace(sweep, values={"uptake": sweep.values["uptake"]})
    assert len(salt_words.model_sentences(replace(invented(), dose_models=one), SI)) == 1
    same = replace(sweep, values=dict.fromkeys(sweep.values, sweep.values["uptake"]))
    text = plain(" ".join(salt_words.model_sentences(replace(invented(), dose_models=same), SI)))
    assert "ferric chloride is 40.0 mg/L of metal" in text


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.951, "95 %"), (0.0001, "less than 1 %"), (0.0, "less than 1 %"), (0.5, "50 %"),
        (0.0061, "less than 1 %"), (0.005, "less than 1 %"), (0.01, "1 %"),
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


def about(dossier):
    return {caution.about for caution in cautions.cautions(dossier)}


def test_cautions_follow_what_is_handled():
    dossier = invented()
    found = about(dossier)
    assert {"general", "metal_salt", "iron", "ferrous", "caustic", "acetic_acid"} <= found
    assert {"anaerobic_zone", "reuse", "salt_trim", "hydrated_lime"} <= found
    assert set(dossier.salts) <= found
    assert "soda_ash" not in found
    kept = {n: r for n, r in dossier.comparison.strategies.items() if n == "no_action"}
    choices = {**dossier.inputs.choices, "project.downstream_use": ""}
    alone = replace(
        dossier,
        comparison=replace(dossier.comparison, strategies=kept),
        inputs=replace(dossier.inputs, choices=choices),
        salts={},
    )
    assert about(alone) == {"general"}


def only(dossier, name, salts=()):
    """Keep one strategy and some salts."""
    kept = {name: dossier.comparison.strategies[name]}
    return replace(
        dossier,
        comparison=replace(dossier.comparison, strategies=kept),
        salts={n: dossier.salts[n] for n in salts},
    )


def test_cautions_know_the_families_of_products():
    trim = about(only(invented(), "bio_with_salt_trim"))
    assert {"liquid_alum", "metal_salt", "salt_trim"} <= trim
    assert not {"iron", "ferrous", "ferric_chloride", "hydrated_lime"} & trim
    filtered = about(only(invented(), "bio_with_salt_trim_and_filter"))
    assert "salt_trim" not in filtered  # the metal goes in behind the organisms
    ferrous = about(only(invented(), "no_action", ("ferrous_sulfate",)))
    assert {"iron", "ferrous", "ferrous_sulfate", "metal_salt"} <= ferrous
    ferric = about(only(invented(), "no_action", ("ferric_sulfate",)))
    assert "iron" in ferric
    assert "ferrous" not in ferric
    aluminate = about(only(invented(), "no_action", ("sodium_aluminate",)))
    assert "iron" not in aluminate


@pytest.mark.parametrize(
    ("salt", "families"),
    [("FeCl3", {"iron"}), ("FeSO4.7H2O", {"iron", "ferrous"}), ("AlCl3", set())],
)
def test_a_product_of_ones_own_has_the_cautions_of_its_metal(salt, families):
    dossier = only(invented(), "no_action")
    inputs = replace(dossier.inputs, choices={**dossier.inputs.choices, "own_product.salt": salt})
    own = {"own_product": invented().salts["liquid_alum"]}
    found = about(replace(dossier, inputs=inputs, salts=own))
    assert {"own_product", "metal_salt"} <= found
    assert found & {"iron", "ferrous"} == families


def test_cautions_name_the_base_that_is_used():
    dossier = invented()
    result = dossier.comparison.strategies["salt_single_point"]
    other = replace(result, design=replace(result.design, base="soda_ash"))
    kept = {result.name: other}
    changed = replace(dossier, comparison=replace(dossier.comparison, strategies=kept), salts={})
    assert "soda_ash" in about(changed)
    assert "caustic" not in about(changed)
    dry = {**other.lines, "base_dose": replace(other.lines["base_dose"], value=0.0)}
    kept = {result.name: replace(other, lines=dry)}
    changed = replace(changed, comparison=replace(dossier.comparison, strategies=kept))
    assert "soda_ash" not in about(changed)


def test_every_caution_can_be_reached_and_every_chemical_has_one():
    """No row of the table speaks of something that no strategy handles."""
    rows = list(cautions.everything())
    bases = {row.text("base") for row in tables.read("base_products")}
    reached = about(invented()) | bases | {"own_product"}
    assert {row.about for row in rows} <= reached
    assert set(invented().salts) | bases <= {row.about for row in rows}


def test_every_caution_has_a_status_and_a_source():
    for caution in cautions.everything():
        assert caution.status in tables.STATUSES, caution
        assert caution.source in tables.sources(), caution
        if caution.status in ("published", "secondary"):
            work = caution.source not in words.NO_WORK
            assert work or caution.status == "secondary", caution
        assert cautions.heading(caution.about)[0].isupper()


@pytest.mark.parametrize(
    "needed",
    ["half to double", "Not for bidding", "licensed engineer", "hypochlorite", "caustic soda or",
     "hydrogen sulfide", "confined spaces", "site sampling", "Prices are dated", "corrosive",
     "ultraviolet", "traces of other metals", "freezes at", "crystallises", "oxygen has made it",
     "pH above about 7", "or aluminate undiluted", "strength changes from load to load"],
)  # fmt: skip
def test_the_cautions_that_must_be_printed(needed):
    assert any(needed in caution.text for caution in cautions.cautions(invented()))


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
