"""The board brief's second half: salt, doing nothing, what could change, later, the next step."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pcompare.arrays import as_cases, plain
from pcompare.documents import brief_choice as chosen
from pcompare.documents import fonts, names
from pcompare.documents.brief_words import (
    INPUTS,
    PERIODS,
    USER_TEXT,
    WATER,
    amount,
    capital,
    given,
    in_full,
    in_words,
    money,
    named,
    unit_words,
    years,
)
from pcompare.documents.words import Figures, choice, has, lower, number, share, value
from pcompare.findings import Dossier, Swing, UseLimit
from pcompare.records import Inputs, StrategyResult


def users(dossier: Dossier) -> str:
    """Say who uses the water again."""
    told = fonts.printable(choice(dossier.inputs, "project.downstream_use"), USER_TEXT)
    return told if told and told != "nobody stated" else ""


def salt_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Introduce the chart: who uses the water, what a drought is, who keeps the limits."""
    picture, told = dossier.reuse, users(dossier)
    found = [f"The water is used again: {told}."] if told else []
    if not chosen.is_reused(dossier):
        return [
            *found,
            "In this case none of it comes back into the town's supply, so salt does not build up. "
            "The chart shows the treated water itself, before any river dilutes it.",
            salt_verdict(dossier, figures, (("effluent", "in it"),)),
        ]
    shares = f"{percent(picture.normal.return_fraction)} of that supply is treated water"
    drought = picture.drought
    cuts = [
        f"{percent(drought.river_cut)} of the river is missing" if drought.river_cut else "",
        f"people use {percent(drought.use_cut)} less water" if drought.use_cut else "",
    ]
    found.append(
        f"In a normal year {shares}; in the drought that users plan for, "
        f"{percent(drought.return_fraction)}"
        f"{', when ' if any(cuts) else ''}{names.listed([c for c in cuts if c])}. "
        "Salt builds up from use to use."
    )
    if not (picture.normal.steady and drought.steady):
        when = "In the drought" if picture.normal.steady else "Even in a normal year"
        found.append(
            f"{when} so much comes back that salt rises without end, and no option keeps a limit."
        )
        return found
    years_of_both = (("normal", "in a normal year"), ("drought", "in the drought"))
    return [*found, salt_verdict(dossier, figures, years_of_both)]


def salt_verdict(dossier: Dossier, figures: Figures, whens: Sequence[tuple[str, str]]) -> str:
    """Count who keeps the limits, in words that the chart bears out."""
    options = list(dossier.comparison.strategies)
    held = names.listed([limit_words(limit, figures) for limit in governing(dossier)])
    texts: list[str] = []
    for when, words in whens:
        kept = sum(bool(chosen.keeps_salt(dossier, name, when)) for name in options)
        who = f"{kept} of the {len(options)} options keep"
        if kept in (0, len(options)):
            who = f"all {kept} options keep" if kept else "no option keeps"
        texts.append(f"{who} {'them' if texts else 'the limits'} {words}")
    return f"Limits: {held}. {capital('; '.join(texts))}."


def governing(dossier: Dossier) -> list[UseLimit]:
    """Give the limits that count."""
    return [dossier.reuse.limit(key) for key in dossier.reuse.governing]


def limit_words(limit: UseLimit, figures: Figures) -> str:
    """Name a limit with its value."""
    where = figures.exact(limit.value, limit.unit)
    return (
        f"{water(limit.quantity)} {limit.sense} {where} {unit_words(limit.unit, figures)}".strip()
    )


def water(quantity: str) -> str:
    """Name what a limit is set on."""
    return WATER.get(quantity, quantity)


def percent(found: float) -> str:
    """Print a share of water."""
    return f"{100.0 * found:.0f}\u00a0%"


# --- the rest ---------------------------------------------------------------------------------


def if_nothing(dossier: Dossier, figures: Figures) -> list[str]:
    """Say what happens if nothing is done."""
    today = dossier.comparison.strategies.get(chosen.NO_ACTION)
    if today is None:
        return ["This run did not look at the plant as it stands."]
    stays = amount(number(today, "effluent_tp"), "mg P/L", figures)
    limit = given(dossier.inputs, "permit.tp", "mg P/L", figures)
    found = [f"The treated water keeps about {stays} of phosphorus; the permit allows {limit}."]
    if today.meets_permit:
        return [*found, "The plant meets the requirements as it stands, and nothing is spent."]
    period = PERIODS.get(choice(dossier.inputs, "permit.averaging"), "period")
    chance = share(number(today, "probability_meets_permit"))
    return [
        *found,
        f"The chance to meet the limit in any one {period} is {chance}. Nothing is spent at the "
        "plant. Fines, orders and harm to the river are not counted in this brief.",
    ]


def could_change(dossier: Dossier, figures: Figures) -> list[tuple[str, str]]:
    """Name two things that could change the answer, each with what would happen."""
    compared = dossier.comparison
    first = chosen.best(dossier)
    found: list[tuple[str, str]] = []
    if first is not None:
        other = chosen.cheapest_with_salt(dossier)
        if chosen.is_reused(dossier) and other is not None and other.name != first.name:
            text = f"If the users can bear more salt then, {named(first)} is enough"
            found.append(("Salt limits in a drought", f"{text}; if not, {named(other)} is the "
                          "cheapest."))  # fmt: skip
        if len(compared.ranking) > 1:
            second = compared.strategies[compared.ranking[1]]
            found += [_swing(s, dossier, second, figures) for s in chosen.turning(dossier)]
        found += _stricter(dossier, first, figures)
    else:
        found.append(("The plant itself", "Larger tanks, a filter or more carbon, as above, would "
                      "open options that are closed today."))  # fmt: skip
        found.append(("The limit", "A milder limit, or buying reductions elsewhere, may be asked "
                      "for; the memo shows every option against the limit."))  # fmt: skip
    return found[:2]


def _swing(
    swing: Swing, dossier: Dossier, second: StrategyResult, figures: Figures
) -> tuple[str, str]:
    """Say at what value of an input the order turns, and by how much."""
    ends = ((swing.low_input, swing.at_low), (swing.high_input, swing.at_high))
    at, worth = min(ends, key=lambda end: end[1])
    now = value(dossier.inputs, swing.field)
    taken = f" (taken here: {figures.number(now, swing.unit, 2)})" if math.isfinite(now) else ""
    there = amount(at, swing.unit, figures)
    if swing.unit.startswith("money"):
        there = f"{in_words(figures.shown(at, swing.unit))} {unit_words(swing.unit, figures)}"
    return input_name(swing), (
        f"At {there}{taken}, {named(second)} costs less, by {money(-worth, figures)} over "
        f"{years(dossier)} years."
    )


def input_name(swing: Swing) -> str:
    """Name an input in plain words."""
    if swing.field in INPUTS:
        return INPUTS[swing.field]
    label = in_full(swing.label)
    group = swing.field.split(".")[0]
    if group == "prices":
        return f"Price of {lower(label)}"
    return f"Cost of building: {lower(label)}" if group == "capital" else label


def _stricter(
    dossier: Dossier, first: StrategyResult, figures: Figures
) -> list[tuple[str, str]]:  # fmt: skip
    limit, winner = chosen.stricter(dossier, value(dossier.inputs, "permit.tp"))
    if limit <= 0.0:
        return [("Nothing that was tried", "No price or figure, taken to the end of its likely "
                 f"range, makes another option cheaper than {named(first)}.")]  # fmt: skip
    at = amount(limit, "mg P/L", figures)
    if not winner:
        return [("A stricter limit", f"At {at} no option meets the permit.")]
    other = dossier.comparison.strategies[winner]
    return [("A stricter limit", f"At {at} the cheapest option is {named(other)}.")]


def later(dossier: Dossier, figures: Figures) -> list[tuple[str, str]]:
    """Say what can be recovered later and what cannot."""
    first = chosen.best(dossier) or chosen.nearest(dossier)
    if first is None:
        return []
    can, cannot = {
        "chemical": ("Dosing can stop within a day. Pumps and stores can be moved or sold.",
                     "Salt that has gone into the water does not come back. Phosphorus bound to "
                     "metal is hard to win from the sludge."),
        "biological": ("The tanks without air can be aired again within days. Metal salt can be "
                       "added later if the bacteria do not do enough.",
                       "Time: the bacteria need weeks to settle in."),
        "combined": ("Either part, bacteria or salt, can be left out or enlarged later.",
                     "Salt that has gone into the water does not come back."),
    }.get(first.kind, ("Nothing is bound.", "Time lost does not come back."))  # fmt: skip
    stays = chosen.built_to_stay(first, lambda key: _size(first, key))
    if stays:
        listed = names.listed([lower(in_full(label)) for label in stays[:3]])
        cannot = f"Money put into what stays in the ground: {listed}. {cannot}"
    return [
        (
            "Can be recovered",
            f"With {named(first)}: {lower(can)} {_phosphorus(dossier, first, figures)}".strip(),
        ),
        ("Cannot be recovered", cannot),
    ]


def _size(result: StrategyResult, key: str) -> float:
    item = next(i for i in result.design.capital if i.key == key)
    return float(as_cases(plain(item.size))[0, 0])


def _phosphorus(dossier: Dossier, first: StrategyResult, figures: Figures) -> str:
    """Say how much phosphorus can still be won from the sludge, against a metal salt."""
    if not has(first, "recoverable_p"):
        return ""
    here = amount(number(first, "recoverable_p"), "kg/d", figures)
    text = f"Up to {here} of phosphorus could still be won from the sludge as fertiliser"
    shown = [r for r in chosen.handful(dossier) if r.kind == "chemical" and r.name != first.name]
    if first.kind == "chemical" or not shown or not has(shown[0], "recoverable_p"):
        return f"{text}."
    there = amount(number(shown[0], "recoverable_p"), "kg/d", figures)
    return f"{text}; with {named(shown[0])}, {there}."


def next_step(dossier: Dossier, figures: Figures) -> list[tuple[str, str]]:
    """Give the next step, its cost and its date, and say where they are assumed."""
    inputs = dossier.inputs
    step = fonts.printable(choice(inputs, "project.next_step", "not given"), USER_TEXT)
    date = fonts.printable(choice(inputs, "project.next_step_date", "not given"), USER_TEXT)
    cost = value(inputs, "project.next_step_cost")
    told = money(cost, figures) if math.isfinite(cost) else "not given"
    rows = (("What", "project.next_step", step), ("Cost", "project.next_step_cost", told),
            ("Date", "project.next_step_date", date))  # fmt: skip
    return [
        (head, f"{capital(text)}{' (assumed)' if _assumed(inputs, name) else ''}")
        for head, name, text in rows
    ]


def _assumed(inputs: Inputs, name: str) -> bool:
    return inputs.origins.get(name, "").startswith("default")


COSTS = ("capital", "annual_cost", "present_worth", "household_month")


def range_words(dossier: Dossier, shown: Sequence[StrategyResult]) -> str:
    """Explain the ranges of the table, or say why there are none."""
    if not dossier.study.draws:
        return "No ranges: this run made no trials with other prices and data."
    text = (
        f"Under each figure: where 8 in 10 of {dossier.study.draws} trials with other likely "
        "prices and data fell."
    )
    for line in (r.lines[q] for r in shown for q in COSTS if q in r.lines):
        if line.value is not None and line.low is not None and line.value < line.low:
            return f"{text} Where the figure lies below them, most surprises would raise the cost."
    return text


def others(dossier: Dossier, shown: int) -> str:
    """Say how many options the brief leaves out."""
    left = len(dossier.comparison.strategies) - shown
    if left <= 0:
        return ""
    return f"{left} other option{'s are' if left > 1 else ' is'} in the memo."
