"""The board brief's sentences: short, in plain words, each with numbers of the run behind it."""

from __future__ import annotations

import math
import re

from pcompare import units
from pcompare.documents import brief_choice as chosen
from pcompare.documents import fonts, names
from pcompare.documents.words import Figures, choice, lower, number, share, value
from pcompare.findings import Dossier
from pcompare.records import Check, Inputs, StrategyResult

LONGEST = 60  # characters of the name of an option that has none of its own here
USER_TEXT = 160  # characters of the user's own text
OFTEN, RARE = 0.95, 0.05  # shares beyond which odds are not told in tenths

OPTIONS = {
    "no_action": "doing nothing",
    "salt_single_point": "metal salt at one point",
    "salt_two_point": "metal salt at two points",
    "salt_tertiary": "metal salt with a new filter",
    "lime": "lime",
    "bio_existing_carbon": "biological removal on the sewage alone",
    "bio_fermented_carbon": "biological removal with fermented sludge",
    "bio_return_sludge_fermentation": "biological removal with a side stream",
    "bio_purchased_carbon": "biological removal with bought carbon",
    "side_stream_stripping": "stripping and lime in a side stream",
    "bio_with_salt_trim": "biological removal with some metal salt",
    "bio_with_salt_trim_and_filter": "biological removal with salt and a new filter",
}
WHAT_IT_IS = {
    "no_action": "the plant stays as it is",
    "salt_single_point": "{product} binds the phosphorus",
    "salt_two_point": "{product}, dosed at two places, binds it",
    "salt_tertiary": "{product} binds it, a filter holds it back",
    "lime": "lime binds it before the tanks",
    "bio_existing_carbon": "bacteria take it up",
    "bio_fermented_carbon": "bacteria take it up, fed from the plant's own sludge",
    "bio_return_sludge_fermentation": "bacteria take it up, fed from sludge held aside",
    "bio_purchased_carbon": "bacteria take it up, fed with bought {carbon}",
    "side_stream_stripping": "bacteria carry it aside, where lime binds it",
    "bio_with_salt_trim": "bacteria take up most of it, {product} the rest",
    "bio_with_salt_trim_and_filter": "bacteria take up most, {product} and a filter the rest",
}
PERIODS = {"daily": "day", "weekly": "week", "monthly": "month", "annual": "year"}
WATER = {
    "tds": "dissolved salt",
    "sar": "the share of sodium (sodium adsorption ratio)",
}
UNITS = {"mg P/L": "mg/L", "mg N/L": "mg/L", "mg COD/L": "mg/L", "mg CaCO3/L": "mg/L",
         "mg O2/L": "mg/L", "uS/cm": "microsiemens per centimetre", "d": "days"}  # fmt: skip

# What a unit is counted as, which only an engineer needs.
SUBSTANCES = re.compile(r" (P|N|COD|TSS|VSS|O2|CaCO3|CO2e)\b")

# What requirements are called, and what a plant that misses one would need.
MISSED = {
    "permit.tp": ("mean phosphorus to aim at in the treated water",
                  "a finer filter, a larger dose or more carbon"),
    "mixed_liquor": ("sludge in the tanks in the peak month", "larger tanks"),
    "clarifier": ("load of sludge on the clarifiers in the peak month", "larger clarifiers"),
    "alkalinity": ("buffer left in the water against acid", "more base"),
    "permit.ammonia": ("ammonia in the effluent", "larger aerated tanks"),
    "sludge_age": ("age of the sludge in the coldest month", "larger tanks"),
    "permit.total_nitrogen": ("nitrogen in the effluent", "more tank volume without air"),
    "nutrient": ("phosphorus left for the bacteria to grow on", "less dose ahead of the tanks"),
    "filter_loading": ("solids on the filter in the peak month", "a larger filter"),
    "potential": ("what the bacteria can take up beyond the need, worst month", "more carbon"),
    "washout": ("age of the sludge for these bacteria", "larger tanks"),
}  # fmt: skip
# Names of inputs that a board would not know by the label of the form.
INPUTS = {
    "influent.vfa": "Acids in the sewage that feed the bacteria",
    "influent.rbcod": "Easily digested matter in the sewage",
    "influent.cod": "Organic matter in the sewage",
    "secondary.effluent_tss": "Fine solids that leave with the effluent",
    "filter.effluent_tss": "Fine solids that pass the filter",
    "influent.nonreactive_p": "Phosphorus that no process removes",
    "finance.discount_rate": "Rate at which later years count for less",
    "coefficient.mixing_efficiency": "How well the salt is mixed into the water",
    "coefficient.mixing_efficiency_primary": "How well the salt is mixed ahead of the first tanks",
    "coefficient.soluble_floor_activated_sludge": "Lowest phosphorus that the salt can reach",
    "coefficient.half_effect_residual": "How steeply the dose of salt rises at low phosphorus",
    "coefficient.phosphorus_content_anoxic": "How much phosphorus the bacteria can hold",
    "coefficient.phosphorus_content_storing": "How much phosphorus the bacteria can hold",
}
# Words of labels that need saying in full.
IN_FULL = (
    (r"readily biodegradable COD", "easily digested matter"), (r"BOD5", "digestible matter"),
    (r"\bCOD\b", "organic matter"), (r"\bTKN\b", "bound nitrogen"), (r"\bTP\b", "phosphorus"),
    (r"\bper P\b", "per phosphorus"), (r"\bpCO2\b", "carbon dioxide"),
    (r" [A-Z][a-z]?\d?[A-Z(][A-Za-z0-9()]*", ""),  # a formula
    (r", (as|cost at) .*$", ""), (r" \(.*?\)", ""),
)  # fmt: skip


# --- numbers and names ------------------------------------------------------------------------


def named(result: StrategyResult) -> str:
    """Name an option inside a sentence."""
    return OPTIONS.get(result.name) or fonts.printable(result.label, LONGEST)


def titled(result: StrategyResult) -> str:
    """Name an option at the head of a row or a sentence."""
    return capital(named(result))


def what_it_is(result: StrategyResult) -> str:
    """Say in half a sentence what an option does."""
    carbon = result.design.choices.get("carbon", "carbon")
    product = names.product(result.product).lower() if result.product else "a metal salt"
    text = WHAT_IT_IS.get(result.name, "")
    return text.format(product=product, carbon=carbon)


def capital(text: str) -> str:
    """Begin a sentence."""
    return text[:1].upper() + text[1:]


def in_ten(chance: float) -> str:
    """Tell odds as people do."""
    if not math.isfinite(chance):
        return "not known"
    if chance > OFTEN:
        return "more than 19 in 20"
    if chance < RARE:
        return "less than 1 in 20"
    tenths = round(10.0 * chance)
    return f"about {min(max(tenths, 1), 9)} in 10"


def unit_words(unit: str, figures: Figures) -> str:
    """Write a unit without symbols that a board would not know."""
    shown = UNITS.get(unit) or figures.unit(SUBSTANCES.sub("", unit))
    for short, words in (("/d", " a day"), ("/y", " a year"), ("/t", " a tonne"),
                         ("/short ton", " a short ton"), ("/h", " an hour")):  # fmt: skip
        if shown.endswith(short):
            return shown.removesuffix(short) + words
    return shown


def amount(found: float, unit: str, figures: Figures) -> str:
    """Print a value to two figures with its unit in words."""
    text = f"{figures.number(found, unit, 2)} {unit_words(unit, figures)}".strip()
    return text.replace(" ", "\u00a0") if len(text) < 24 else text


def money(found: float, figures: Figures) -> str:
    """Print money to two figures, millions in words."""
    return f"{in_words(found)} {figures.currency}"


def in_words(found: float) -> str:
    """Print a number to two figures, millions and billions in words."""
    for times, words in ((1e9, "billion"), (1e6, "million")):
        if abs(found) >= 0.995 * times:
            return f"{units.significant(found / times, 2)}\u00a0{words}"
    return units.significant(found, 2)


def given(inputs: Inputs, name: str, unit: str, figures: Figures) -> str:
    """Print an input with its unit in words."""
    return f"{figures.exact(value(inputs, name), unit)}\u00a0{unit_words(unit, figures)}"


def years(dossier: Dossier) -> str:
    """Print the planning period."""
    return units.significant(value(dossier.inputs, "finance.period"), 2)


# --- question and answer ----------------------------------------------------------------------


def question(dossier: Dossier, figures: Figures) -> str:
    """Ask what has to be decided."""
    inputs = dossier.inputs
    period = PERIODS.get(choice(inputs, "permit.averaging"), "period")
    text = (
        "Which way of removing phosphorus should the plant choose? The permit allows "
        f"{given(inputs, 'permit.tp', 'mg P/L', figures)} (milligrams per litre) of phosphorus "
        f"in the treated water, as the mean of each {period}."
    )
    if value(inputs, "permit.load") > 0.0:
        text += f" It also allows at most {given(inputs, 'permit.load', 'kg/d', figures)}."
    return text


def answer(dossier: Dossier) -> str:
    """Answer in one sentence with its confidence."""
    first = chosen.best(dossier)
    if first is None:
        count = len(dossier.comparison.strategies)
        return f"None of the {count} options examined meets every requirement of the plant today."
    found = chosen.odds(dossier)
    if not found.trials or first.name not in found.cheapest:
        return (
            f"Choose {named(first)}: it meets every requirement at the lowest cost over "
            f"{years(dossier)} years; how sure that is was not tested in this run."
        )
    chance = found.cheapest[first.name]
    other = chosen.cheapest_with_salt(dossier)
    if other is not None and other.name != first.name:
        return (
            f"{titled(first)} meets the permit at the lowest cost, with odds of {in_ten(chance)} "
            "to stay the cheapest, but breaks the users' salt limits in a drought: the cheapest "
            f"option that keeps both is {named(other)}."
        )
    likeliest = dossier.comparison.strategies.get(found.likeliest, first)
    if likeliest.name != first.name:
        return (
            f"{titled(first)} costs least on today's figures, but "
            f"{named(likeliest)} is the cheapest more often: {in_ten(chance)} against "
            f"{in_ten(found.cheapest[likeliest.name])}."
        )
    verb = "Choose" if chance >= 0.5 else "Lean towards"
    return (
        f"{verb} {named(first)}: it meets every requirement at the lowest cost over "
        f"{years(dossier)} years, and the odds that it stays the cheapest are {in_ten(chance)}."
    )


def reasons(dossier: Dossier, figures: Figures) -> list[str]:
    """Say what stands behind the answer: the next, the chance to comply, the salt."""
    first = chosen.best(dossier)
    if first is None:
        return what_it_would_take(dossier, figures)
    return [
        *_runner_up(dossier, figures),
        _compliance(dossier, first),
        *salt_reasons(dossier, first),
        *([_stands(dossier)] if _stands(dossier) else []),
    ]


def _runner_up(dossier: Dossier, figures: Figures) -> list[str]:
    compared = dossier.comparison
    if len(compared.ranking) < 2:
        return ["No other option meets every requirement."]
    first, second = (compared.strategies[n] for n in compared.ranking[:2])
    here, there = (number(r, "present_worth") for r in (first, second))
    cost = f"{money(there, figures)} against {money(here, figures)} over {years(dossier)} years"
    close = value(dossier.inputs, "decision.close_share")
    if abs(there - here) < close * min(abs(here), abs(there)):
        return [
            f"Close behind is {named(second)}: {cost}. The two are too close to tell apart today."
        ]
    return [f"Next is {named(second)}: {cost}."]


def _compliance(dossier: Dossier, first: StrategyResult) -> str:
    """Tell the chance to meet the limit, never as certain."""
    period = PERIODS.get(choice(dossier.inputs, "permit.averaging"), "period")
    one = share(number(first, "probability_meets_permit"))
    text = f"The chance to meet the limit in any one {period} is {one}"
    if period != "year":
        whole = share(number(first, "probability_meets_permit_year"))
        text += f", and in every {period} of a year {whole} or more"
    held = chosen.odds(dossier).meets.get(first.name, math.nan)
    if not math.isfinite(held):
        return f"{text}. No option makes it certain."
    return (
        f"{text}. Built as planned, it would still meet every requirement in {in_ten(held)} of the "
        "futures that we tested."
    )


def salt_reasons(dossier: Dossier, first: StrategyResult) -> list[str]:
    """Say whether the answer keeps the salt limits of those who use the water again."""
    normal, drought = (chosen.keeps_salt(dossier, first.name, w) for w in ("normal", "drought"))
    if normal is None:
        return []
    if normal and drought:
        return ["It also keeps the salt limits of those who use the water again, drought included."]
    when = "in a drought" if normal else "even in a normal year"
    text = f"It does not keep the salt limits of those who use the water again {when}."
    other = chosen.cheapest_with_salt(dossier)
    if other is None:
        return [f"{text} No option that meets the permit keeps them in a drought."]
    ends = (total_of(first), total_of(other))
    return [
        f"{text} {titled(other)} does, and costs {in_words(ends[1])} instead of "
        f"{in_words(ends[0])} {Figures.of(dossier, 'si').currency} over {years(dossier)} years."
    ]


def total_of(result: StrategyResult) -> float:
    """Give the cost over the planning period."""
    return number(result, "present_worth")


def _stands(dossier: Dossier) -> str:
    today = dossier.comparison.strategies.get(chosen.NO_ACTION)
    if today is None or not today.meets_permit:
        return ""
    return "The plant meets the requirements as it stands: nothing needs to be built now."


def what_it_would_take(dossier: Dossier, figures: Figures) -> list[str]:
    """Say of the option that comes nearest what it lacks, and what would mend it."""
    near = chosen.nearest(dossier)
    if near is None:
        return ["No option was examined."]
    misses = [check for check in near.checks if not check.met]
    found = [f"Nearest is {named(near)}. What it would take:"]
    return found + [f"{capital(_lack(check, figures))}." for check in misses[:3]]


def _lack(check: Check, figures: Figures) -> str:
    name, remedy = MISSED.get(check.key, (in_full(lower(check.label)), ""))
    there = "not known" if not math.isfinite(check.found) else figures.number(
        check.found, check.unit, 2
    )  # fmt: skip
    text = f"{name}: {there} instead of {check.sense} {amount(check.needed, check.unit, figures)}"
    return f"{text}. This calls for {remedy}" if remedy else text


def in_full(label: str) -> str:
    """Say the abbreviations of a label in full, and leave out what it is measured as."""
    for pattern, words in IN_FULL:
        label = re.sub(pattern, words, label)
    return label
