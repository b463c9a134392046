"""Sentences about chance: how it was drawn, the odds, regret, and what to find out first."""

from __future__ import annotations

import math

from pcompare import lines
from pcompare.documents import names, words
from pcompare.documents.words import NO_BREAK, Figures, share
from pcompare.findings import (
    BreakEven,
    Crossing,
    Dossier,
    Estimate,
)

MEASURED = 6  # inputs named as worth finding out


def odds(estimate: Estimate) -> str:
    """Print a share of draws with its standard error."""
    if not math.isfinite(estimate.value):
        return words.NONE
    if estimate.value < 0.005 or estimate.value > 0.995:
        return share(estimate.value)
    return f"{100.0 * estimate.value:.0f} ± {100.0 * estimate.error:.1f}{NO_BREAK}%"


def how_drawn(dossier: Dossier) -> list[str]:
    """Explain the draws: how many, of what, what is held, what counts as a miss."""
    study, inputs = dossier.study, dossier.inputs
    shaped = [names_ for names_ in sorted(set(inputs.shapes.values())) if names_ != "triangular"]
    others = f"; some are {names.listed(shaped)}" if shaped else ""
    found = [
        f"{study.draws} draws of {len(study.varied)} uncertain inputs, seed {study.seed}: Latin "
        f"hypercubes between the low and the high of each, triangular{others}. "
        f"{_moving(dossier)}Every alternative sees the same draws.",
        "The plant is held as it was designed at the values of appendix A. Doses follow each draw "
        "up to what is installed, and a draw that runs out of it misses. Margins that the plant "
        "was sized with may be used up: the sludge age must then hold the nitrifiers themselves, "
        "and the organisms the phosphorus itself. A plant sized closely to its values misses "
        "often; capacity to spare would raise its odds, and its price.",
    ]
    if study.correlation_share < 1.0:
        found.append(
            "The pairs given leave little room: of the correlation taken among capital items and "
            f"prices only {share(study.correlation_share)} is kept."
        )
    return found


def _moving(dossier: Dossier) -> str:
    if not dossier.study.correlated:
        return "No two move together. "
    capital = words.value(dossier.inputs, "decision.correlation_capital")
    prices = words.value(dossier.inputs, "decision.correlation_prices")
    own = len(dossier.inputs.correlations)
    text = (
        f"Capital items move together with a rank correlation of {capital:g}, prices with "
        f"{prices:g}"
    )
    return text + (f", and {own} pairs as given. " if own else ". ")


def recommendation(dossier: Dossier, figures: Figures) -> list[str]:
    """Say what is recommended against what, and with which odds; or what it would take instead."""
    compared = dossier.comparison
    if not compared.ranking:
        return instead(dossier, figures)
    best = compared.strategies[compared.ranking[0]]
    found = [
        f"Recommended: {best.label}, measured against {_reference(dossier)}. "
        + " ".join(words.next_sentences(dossier, figures))
    ]
    chance = dossier.study.odds.get(best.name)
    if chance is None:
        return found
    count = len(compared.ranking)
    cheapest = f"is the cheapest of the {count} that compete {_often(chance.cheapest)}, "
    found.append(
        f"It {cheapest if count > 1 else ''}meets every requirement {_often(chance.meets)}, and "
        f"keeps the users' salt limits as well {_often(chance.keeps)}. Over all draws its chance "
        f"to meet the limit in one averaging period is {share(chance.in_period.value)}."
    )
    likely = max(dossier.study.odds.items(), key=lambda item: item[1].cheapest_kept.value)
    if likely[0] != best.name:
        label = compared.strategies[likely[0]].label
        found.append(
            f"Among those that keep permit and salt limits in a draw, {label} is the cheapest "
            f"most often, {_often(likely[1].cheapest_kept)}: what is cheapest on average and what "
            "holds most surely are not the same here. Spare capacity, or the surer alternative, "
            "is what the difference buys."
        )
    if dossier.study.none_keeps.value >= 0.005:
        found.append(f"No alternative keeps all limits {_often(dossier.study.none_keeps)}.")
    return found


def _often(estimate: Estimate) -> str:
    return f"in {odds(estimate)} of the draws"


def _reference(dossier: Dossier) -> str:
    result = dossier.comparison.strategies.get(dossier.comparison.reference)
    if result is None:
        return dossier.comparison.reference
    return words.lower(result.label)


def instead(dossier: Dossier, figures: Figures) -> list[str]:
    """Where nothing is feasible: name the nearest alternative and what it would take."""
    compared = dossier.comparison
    near = compared.strategies.get(compared.nearest)
    found = ["No alternative meets every requirement, so none is recommended."]
    if near is None:
        return found
    found.append(
        f"Nearest is {near.label}. It would take: {words.missed(near, dossier.inputs, figures)}."
    )
    loosest = [c.at for c in dossier.crossings if not c.after]
    if loosest:
        at = figures.amount(max(loosest), "mg P/L", 2)
        found.append(
            f"With a limit of {at} or more, and all else as it is, an alternative would meet "
            "everything; so would tanks, filters or carbon beyond those that this case allows."
        )
    return found


def regret_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say what choosing now may cost, and what knowing everything would be worth."""
    study = dossier.study
    if not study.odds or len(dossier.comparison.ranking) < 2:
        return []
    best = dossier.comparison.ranking[0]
    chance = study.odds[best]
    label = dossier.comparison.strategies[best].label
    found = [
        f"Whoever builds {label} pays, in the mean of all draws, "
        f"{_money(chance.regret, figures)} more than the cheapest in hindsight, and at worst "
        f"{figures.amount(chance.largest_regret, 'money', 2)} of present worth. This is its "
        "regret.",
        f"Knowing every input before choosing would be worth {_money(study.information, figures)}: "
        "no study, pilot or quotation together can be worth more to this choice. It counts money "
        "alone, not a limit that is missed.",
    ]
    known = study.worth_knowing
    if not known:
        found.append("No single input, known beforehand, would change the choice enough to matter.")
    return found


def _money(estimate: Estimate, figures: Figures) -> str:
    error = figures.number(estimate.error, "money", 1)
    return f"{figures.amount(estimate.value, 'money', 2)} (standard error {error})"


def crossing_sentence(crossing: Crossing, figures: Figures) -> str:
    """Say what happens at one limit, going to stricter ones."""
    at = f"At {figures.amount(crossing.at, 'mg P/L', 2)}"
    before, after = (lines.LABELS.get(n, n) for n in (crossing.before, crossing.after))
    if not crossing.before:
        return f"{at}, {after} begins to meet every requirement."
    if not crossing.after:
        return f"{at}, {before} no longer meets every requirement, and none does beyond it."
    if crossing.fails:
        return (
            f"{at}, {before} no longer meets every requirement; {after} is then the cheapest that "
            "does."
        )
    return f"{at}, {after} becomes cheaper than {before}."


def break_even_cell(even: BreakEven, figures: Figures) -> str:
    """Print where an input breaks even, or that it does not."""
    if not even.at:
        return "none in range"
    return " and ".join(figures.number(at, even.unit) for at in even.at)
