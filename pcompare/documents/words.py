"""Sentences made from lines: no claim without a number of the run behind it.

Texts are plain, without markup; whoever prints them escapes them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from pcompare import lines, units
from pcompare.arrays import as_cases, plain
from pcompare.documents import chapters, names
from pcompare.findings import Dossier
from pcompare.records import (
    Check,
    Inputs,
    Line,
    StrategyResult,
)

NARROW = 0.10  # a check met within this share is met closely
SIZED = 1e-3  # a check met as closely as this was sized to its limit
NONE = "–"
NO_BREAK = "\u00a0"
NO_WORK = ("JUDGEMENT", "COMMON_PRACTICE", "COMPUTED")  # keys that cite no work

AVERAGING = {
    "daily": "every day",
    "weekly": "as the mean of each week",
    "monthly": "as the mean of each month",
    "annual": "as the mean of the year",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Figures:
    """How numbers are printed: unit system, currency and significant figures."""

    system: str = "si"
    currency: str = "money"

    @classmethod
    def of(cls, dossier: Dossier, system: str) -> Figures:
        """Take the currency of a run."""
        currency = dossier.inputs.choices.get("finance.currency", "").strip() or "money"
        return cls(system=system, currency=currency)

    def shown(self, value: float, unit: str) -> float:
        """Give a value in the unit that is printed, as an axis needs it."""
        return units.show(value, unit, self.system)[0]

    def number(self, value: float | None, unit: str, digits: int = 3) -> str:
        """Print a value in the unit that ``unit`` prints as; a dash where there is none."""
        if value is None or not math.isfinite(value):
            return NONE
        return units.significant(self.shown(value, unit), digits)

    def exact(self, value: float, unit: str) -> str:
        """Print an input with its digits, six behind a point; four where it was converted."""
        if not math.isfinite(value):
            return NONE
        shown = self.shown(value, unit)
        if shown != value:
            return units.significant(shown, 4)
        if value == round(value) and abs(value) < 1e15:
            return units.grouped(f"{value:.0f}")
        if 1e5 <= abs(value) < 1e15:
            return units.grouped(f"{value:.1f}")
        return f"{value:.6g}".replace("-", "−")

    def end(self, value: float, unit: str) -> str:
        """Print an end of a range: as given where that is short, else rounded."""
        text = self.exact(value, unit)
        return text if len(text) <= 7 or abs(value) >= 1000.0 else self.number(value, unit)

    def unit(self, unit: str) -> str:
        """Print a unit: in the wanted system, with the currency for money, nothing for a ratio."""
        if unit in ("", "-"):
            return ""
        return units.pretty(unit, self.system).replace("money", self.currency)

    def amount(self, value: float | None, unit: str, digits: int = 3) -> str:
        """Print a value with its unit, which no line break parts."""
        number = self.number(value, unit, digits)
        return number if number == NONE else self._joined(number, unit)

    def given(self, value: float, unit: str) -> str:
        """Print an input with its unit."""
        number = self.exact(value, unit)
        return number if number == NONE else self._joined(number, unit)

    def _joined(self, number: str, unit: str) -> str:
        return f"{number} {self.unit(unit)}".strip().replace(" ", NO_BREAK)

    def line(self, line: Line, digits: int = 3) -> str:
        """Print a line's value with its unit, or why there is none."""
        text = self.amount(line.value, line.unit, digits)
        return text if text != NONE else f"{NONE} ({line.reason or 'undefined'})"

    def line_number(self, line: Line | None, digits: int = 3) -> str:
        """Print a line's value without its unit; a dash where there is none."""
        return NONE if line is None else self.number(line.value, line.unit, digits)

    def spread(self, low: float | None, high: float | None, unit: str, digits: int = 2) -> str:
        """Print a range without its unit."""
        ends = [self.number(end, unit, digits) for end in (low, high)]
        if NONE in ends:
            return ""
        return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def share(value: float | None) -> str:
    """Print a chance or a share in percent, in words at its ends."""
    if value is None or not math.isfinite(value):
        return NONE
    if value < 0.01:
        return f"less than 1{NO_BREAK}%"
    if value > 0.99:
        return f"more than 99{NO_BREAK}%"
    return f"{100.0 * value:.0f}{NO_BREAK}%"


def short_share(value: float | None) -> str:
    """Print a chance or a share in percent, with signs at its ends for narrow columns."""
    return share(value).replace("less than ", "<\u202f").replace("more than ", ">\u202f")


def close(a: float, b: float, within: float) -> bool:
    """Tell whether the larger of two values is less than some share more than the smaller."""
    return abs(a - b) < within * min(abs(a), abs(b))


def close_share(inputs: Inputs) -> float:
    """Give the share within which present worths are called close."""
    return value(inputs, "decision.close_share")


def choice(inputs: Inputs, name: str, missing: str = "") -> str:
    """Give a text field, or what stands for an empty one."""
    return inputs.choices.get(name, "").strip() or missing


def value(inputs: Inputs, name: str) -> float:
    """Give a numeric field, the mean of its months; nan where there is none."""
    if name not in inputs.values:
        return math.nan
    return float(as_cases(plain(inputs.values[name]))[0].mean())


# --- strategies -------------------------------------------------------------------------------


def check_sentence(check: Check, figures: Figures) -> str:
    """Say what a check found against what it needs."""
    found = figures.number(check.found, check.unit)
    return (
        f"{lower(check.label)} {'undefined' if found == NONE else found} where {check.sense} "
        f"{figures.amount(check.needed, check.unit)} is needed"
    )


def verdict(check: Check) -> str:
    """Judge one check in a few words: met, met closely, sized to it, or not met."""
    if not check.met:
        return "not met"
    if abs(check.found - check.needed) <= SIZED * abs(check.needed):
        return "met, sized to it"
    return "met, close" if close(check.found, check.needed, NARROW) else "met"


def missed(result: StrategyResult, inputs: Inputs, figures: Figures) -> str:
    """List the checks that a strategy misses, with the amounts; empty where it misses none."""
    found = []
    for check in result.checks:
        if not check.met:
            remedy = remedy_words(result, inputs, figures) if check.key == "permit.tp" else ""
            found.append(", ".join(filter(None, (check_sentence(check, figures), remedy))))
    return "; ".join(found)


def remedy_words(result: StrategyResult, inputs: Inputs, figures: Figures) -> str:
    """Say what effluent solids would meet the target for phosphorus, or that none would.

    With months it is the strictest month that counts.
    """
    line = result.lines.get("solids_for_target")
    if line is None or line.value is None:
        return ""
    solids = min((line.value, *line.months))
    if math.isnan(solids):
        return ""
    if solids <= 0.0:
        return "and dissolved phosphorus alone is above the target"
    amount = figures.amount(solids, line.unit, 2)
    filtered = value(inputs, "filter.effluent_tss")
    if solids < filtered:
        return (
            f"and suspended solids of at most {amount} would meet the target, less than the "
            f"{figures.given(filtered, line.unit)} that a filter is taken to leave"
        )
    return f"and a filter that leaves at most {amount} of suspended solids would meet the target"


def misses_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say of each strategy that fails why, and by how much."""
    return [
        f"{result.label} does not meet the requirements: {missed(result, dossier.inputs, figures)}."
        for result in dossier.comparison.strategies.values()
        if not result.meets_permit
    ]


def dose_sentences(result: StrategyResult, figures: Figures) -> list[str]:
    """Say what is dosed and bought; nothing where nothing is."""
    found: list[str] = []
    if has(result, "product_use"):
        found += _product_sentences(result, figures)
    if has(result, "metal_to_p_removed"):
        found.append(
            f"That is {figures.number(number(result, 'metal_to_p_removed'), 'mol/mol')} mol of "
            "metal for each mol of soluble phosphorus precipitated."
        )
    if has(result, "recarbonation"):
        found.append(
            f"Carbon dioxide brings the limed water back: "
            f"{_line(result, 'recarbonation', figures)}."
        )
    if has(result, "base_dose"):
        name = names.base(result.design.base).lower()
        found.append(
            f"Base to hold the alkalinity: {_line(result, 'base_dose', figures)} of {name}, "
            "as pure product."
        )
    if has(result, "carbon_dose"):
        found.append(f"Carbon is bought: {_line(result, 'carbon_dose', figures)}.")
    if has(result, "vfa_required") and has(result, "vfa_available"):
        found.append(
            f"The target needs {_line(result, 'vfa_required', figures)} of carbon stored by the "
            f"organisms; {_line(result, 'vfa_available', figures)} is at hand unbought."
        )
    return found


DOSES = {"metal_dose_primary": "primary", "metal_dose_sludge": "activated sludge",
         "metal_dose_filter": "filter"}  # fmt: skip


def _product_sentences(result: StrategyResult, figures: Figures) -> list[str]:
    """Say how much of the product is dosed and, where it is dosed at several points, where."""
    name = names.product(result.product or "product").lower()
    delivered = (
        f"{_line(result, 'product_use', figures)} of {name} as delivered, or "
        f"{_line(result, 'product_volume', figures)}."
    )
    active = "metal_dose" if has(result, "metal_dose") else "lime_dose"
    if not has(result, active):
        return [f"It doses {delivered}"]
    what = "metal" if active == "metal_dose" else "lime, as pure hydrate"
    found = [f"It doses {_line(result, active, figures)} of {what}: {delivered}"]
    parts = [
        f"{_line(result, quantity, figures)} {names.POINTS[point]}"
        for quantity, point in DOSES.items()
        if has(result, quantity)
    ]
    if len(parts) > 1:
        found.append(f"Of the metal, {names.listed(parts)}.")
    return found


def effect_sentences(result: StrategyResult, figures: Figures) -> list[str]:
    """Say what a strategy changes in sludge, salts, power and climate, against no action."""
    if result.kind == "baseline":
        return [
            f"Its effluent holds {_line(result, 'effluent_tp', figures)} in the mean of the year, "
            f"of which {_line(result, 'effluent_soluble_p', figures)} in solution."
        ]
    return [
        f"Against no action, raw sludge {_change(result, 'sludge_increase', figures)} and cake "
        f"hauled {_change(result, 'cake_increase', figures)}.",
        f"Dissolved salt, weighed as residue, {_change(result, 'tds_increase_residue', figures)}; "
        f"as the sum of ions it {_change(result, 'tds_increase_ion_sum', figures)}.",
        f"Chloride {_change(result, 'chloride_added', figures)}, sulfate "
        f"{_change(result, 'sulfate_added', figures)} and sodium "
        f"{_change(result, 'sodium_added', figures)}.",
        f"Power {_change(result, 'energy_increase', figures)}; greenhouse gas "
        f"{_change(result, 'greenhouse_gas', figures)}.",
        *_power_parts(result, figures),
    ]


def _power_parts(result: StrategyResult, figures: Figures) -> list[str]:
    """Explain the sign of the power of organisms that store phosphorus."""
    if math.isnan(number(result, "vfa_available")):
        return []
    return [
        f"Of the power, air {_change(result, 'air_increase', figures)}, mixing "
        f"{_change(result, 'mixing_increase', figures)} and pumping "
        f"{_change(result, 'pumping_increase', figures)}: what is stored without air takes a "
        "little less of it later, and zones without air have to be mixed."
    ]


def cost_sentence(result: StrategyResult, figures: Figures) -> str:
    """Say what a strategy costs and which item leads its annual cost."""
    text = (
        f"It costs {_line(result, 'capital', figures, 2)} to build and "
        f"{_line(result, 'annual_cost', figures, 2)} to run beyond no action; together an equal "
        f"annual cost of {_line(result, 'equal_annual_cost', figures, 2)}."
    )
    items = [(number(result, q), q) for q in lines.COST_ITEMS if number(result, q) > 0.0]
    if items:
        leading = max(items)[1]
        item = result.lines[leading]
        text += (
            f" The largest part of the annual cost is {lower(item.label)}, {figures.line(item, 2)}."
        )
    return text


def has(result: StrategyResult, quantity: str) -> bool:
    """Tell whether a line holds a number other than zero."""
    return number(result, quantity) != 0.0 and not math.isnan(number(result, quantity))


def number(result: StrategyResult, quantity: str) -> float:
    """Give one line's value; nan where there is no line or no number."""
    return result.value(quantity) if quantity in result.lines else math.nan


def _line(result: StrategyResult, quantity: str, figures: Figures, digits: int = 3) -> str:
    line = result.lines.get(quantity)
    return NONE if line is None else figures.line(line, digits)


def _change(result: StrategyResult, quantity: str, figures: Figures) -> str:
    """Say that a line rises, falls or stays."""
    found = number(result, quantity)
    if math.isnan(found):
        return "changes by an amount that is undefined"
    if found == 0.0:
        return "stays the same"
    text = figures.amount(abs(found), result.lines[quantity].unit)
    return f"{'rises' if found > 0.0 else 'falls'} by {text}"


def lower(label: str) -> str:
    """Put a label inside a sentence; a word like pH or COD stays as it is."""
    first = label.split(" ")[0]
    return label if sum(c.isupper() for c in first) > 1 else label[:1].lower() + label[1:]


# --- the decision -----------------------------------------------------------------------------


def question(dossier: Dossier, figures: Figures) -> str:
    """Ask what has to be decided."""
    when = AVERAGING.get(choice(dossier.inputs, "permit.averaging"), "")
    limit = figures.given(value(dossier.inputs, "permit.tp"), "mg P/L")
    return (
        f"Which way of removing phosphorus should the plant take, so that total phosphorus in the "
        f"effluent stays within {limit} {when}".rstrip()
        + ": a metal salt, organisms that store phosphorus, or both?"
    )


def answer(dossier: Dossier, figures: Figures) -> list[str]:
    """Answer in a few sentences: the cheapest that meets everything, the next, and the odds."""
    compared = dossier.comparison
    if not compared.ranking:
        count = len(compared.strategies)
        return [f"None of the {count} alternatives meets every requirement as the plant stands."]
    best = compared.strategies[compared.ranking[0]]
    found = [
        f"{best.label} meets every requirement at the lowest present worth, "
        f"{_line(best, 'present_worth', figures, 2)}; that is "
        f"{_line(best, 'equal_annual_cost', figures, 2)} as an equal annual cost."
    ]
    found += next_sentences(dossier, figures)
    if compared.ranking[0] in dossier.study.chance_cheapest:
        found.append(
            f"It was the cheapest that meets the requirements in "
            f"{share(dossier.study.chance_cheapest[compared.ranking[0]])} of "
            f"{dossier.study.draws} draws of the uncertain inputs."
        )
    if compared.ranking[0] in dossier.study.odds:
        odds = dossier.study.odds[compared.ranking[0]]
        found.append(
            f"Held as designed, it meets every requirement in {share(odds.meets.value)} of them; "
            f"section {chapters.CHANGES} says what that rests on."
        )
    found.append(chance_sentence(best))
    return found


def next_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say what comes second, and whether it is close."""
    ranked = [dossier.comparison.strategies[name] for name in dossier.comparison.ranking]
    if len(ranked) == 1:
        return ["No other alternative meets every requirement."]
    best, second = ranked[:2]
    worth = _line(second, "present_worth", figures, 2)
    within = close_share(dossier.inputs)
    if close(number(best, "present_worth"), number(second, "present_worth"), within):
        return [
            f"{second.label} is close, at {worth}: the two lie within {share(within)} of each "
            "other, and an estimate at this level cannot tell them apart."
        ]
    return [f"Next is {second.label}, at {worth}."]


def chance_sentence(result: StrategyResult) -> str:
    """Give the odds of meeting the limit, never as certain."""
    one = share(number(result, "probability_meets_permit"))
    year = share(number(result, "probability_meets_permit_year"))
    return (
        f"Its chance to meet the limit is {one} for one averaging period and {year} for all "
        "periods of a year, taken as independent: higher where good periods follow good ones."
    )


def ranking_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Rank those that meet every requirement, with close calls named as close."""
    ranked = [dossier.comparison.strategies[name] for name in dossier.comparison.ranking]
    found = []
    for place, result in enumerate(ranked):
        worth = number(result, "present_worth")
        text = f"{place + 1}. {result.label}: {_line(result, 'present_worth', figures, 2)}"
        before = number(ranked[place - 1], "present_worth")
        if place and close(worth, before, close_share(dossier.inputs)):
            text += ", close to the one before"
        found.append(text + ".")
    return found


def need_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Explain limit, averaging, reliability and the mean that each strategy is sized to."""
    inputs = dossier.inputs
    limit = figures.given(value(inputs, "permit.tp"), "mg P/L")
    when = AVERAGING.get(choice(inputs, "permit.averaging"), "over its averaging period")
    months = choice(inputs, "permit.months", "all")
    season = "all the year" if months == "all" else f"in the months {months}"
    found = [f"Total phosphorus must stay within {limit} {when}, {season}."]
    if value(inputs, "permit.load") > 0.0:
        load = figures.given(value(inputs, "permit.load"), "kg/d")
        found.append(f"The permit also limits the load to {load}; the stricter of the two holds.")
    found.append(
        f"A plant whose mean equals the limit passes about every second time. Each alternative is "
        f"therefore sized to a lower mean, from which it meets the limit with "
        f"{share(value(inputs, 'permit.reliability'))} reliability in one averaging period, given "
        "how much its effluent varies. An alternative that holds its effluent more steadily may "
        "be sized to a higher mean."
    )
    for name, unit, what in (
        ("permit.ammonia", "mg N/L", "ammonia nitrogen"),
        ("permit.total_nitrogen", "mg N/L", "total nitrogen"),
        ("permit.residual_alkalinity", "mg CaCO3/L", "the alkalinity that must remain"),
    ):
        if value(inputs, name) > 0.0:
            amount = figures.given(value(inputs, name), unit)
            found.append(f"Every alternative is also held to {what}: {amount}.")
    return found


def swing_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Name the inputs that turn the order of the two best, or say that none does."""
    ranking = dossier.comparison.ranking
    if len(ranking) < 2 or not dossier.sensitivity:
        return list(dossier.comparison.what_would_change_it)
    best, second = (dossier.comparison.strategies[name].label for name in ranking[:2])
    found = []
    for swing in dossier.sensitivity:
        at, worth = min(
            (swing.low_input, swing.at_low), (swing.high_input, swing.at_high), key=lambda e: e[1]
        )
        if worth < 0.0:
            found.append(
                f"{swing.label} at {figures.given(at, swing.unit)}: {second} would be cheaper "
                f"than {best}, by {figures.amount(-worth, 'money', 2)} of present worth."
            )
    return found or [
        f"No single input, taken to either end of its range, makes {second} cheaper than {best}."
    ]


def data_sentences(dossier: Dossier) -> list[str]:
    """Say what was given, what was left at its default, and what looked unusual."""
    rows = [row for row in dossier.fields if not row.name.startswith("coefficient.")]
    left = [row for row in rows if row.origin.startswith("default")]
    found = [
        f"Of the {len(rows)} fields of this case ({dossier.inputs.name}), "
        f"{len(rows) - len(left)} were given and {len(left)} stand at their default; appendix A "
        "lists every one with its source."
    ]
    weak = [row for row in left if row.status in ("judgement", "memory")]
    if weak:
        found.append(
            f"{len(weak)} of the defaults rest on judgement or memory and are marked there; "
            "replace them with the plant's own figures before relying on the answer."
        )
    return found


def cited(status: str, source: str, locator: str = "") -> str:
    """Print status, work and place; a key that cites no work says no more than the status."""
    work = "" if source in NO_WORK else source
    return ", ".join(part for part in (status.replace("_", " "), work, locator) if part)
