"""Which strategies meet the permit, what they cost against each other, and what to recommend.

Strategies come as candidates with costs on the cases axis; the cheapest of each is carried. A
sentence is built from the same lines that the tables print.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pcompare import lines
from pcompare.arrays import Array, as_cases
from pcompare.records import (
    Candidate,
    Check,
    Comparison,
    Design,
    Inputs,
    Line,
    Requirement,
    StrategyResult,
)
from pcompare.units import DASH, pretty, significant

if TYPE_CHECKING:
    from pcompare.findings import BreakEven, Study, Swing

Flags: TypeAlias = NDArray[np.bool_]
Index: TypeAlias = NDArray[np.intp]

SCREENED = {"bod": "BOD5", "cod": "COD", "rbcod": "rbCOD", "acid": "acids"}
SALT_LIMITS = {"reuse_tds": "reuse.limit_tds", "reuse_chloride": "reuse.limit_chloride"}
PRINTED = {name: place for place, name in enumerate(lines.LABELS)}  # settles what costs the same
SAME = 1e-9  # share by which two present worths may differ and be the same
ROUNDING = 1e-6  # a requirement missed by less is met: solved doses land on the limit itself


def met(requirement: Requirement) -> Flags:
    """Tell by case whether a requirement is met."""
    needed, found = as_cases(requirement.needed), as_cases(requirement.found)
    room = ROUNDING * np.maximum(np.abs(needed), 1.0)
    at_least = requirement.sense == "at least"
    inside = found >= needed - room if at_least else found <= needed + room
    return np.asarray(inside.all(axis=1, keepdims=True))


def feasible(candidate: Candidate) -> Flags:
    """Tell by case whether a candidate meets every requirement."""
    result = met(candidate.requirements[0])
    for requirement in candidate.requirements[1:]:
        result = result & met(requirement)
    return result


def keeps_salt(candidate: Candidate, inputs: Inputs) -> Flags:
    """Tell by case whether what the users get again stays within their salt limits."""
    kept = np.ones((1, 1), dtype=bool)
    for quantity, limit in SALT_LIMITS.items():
        found = as_cases(candidate.reduced[quantity])
        kept = kept & (found <= as_cases(inputs[limit]) * (1.0 + ROUNDING))
    return np.asarray(kept)


def unmet(requirements: Sequence[Requirement]) -> Index:
    """Count by case the requirements that are missed."""
    missed = [~met(requirement) for requirement in requirements]
    return np.asarray(sum(m.astype(np.intp) for m in np.broadcast_arrays(*missed)))


def least(failed: Index, worth: Array) -> Index:
    """Index in each row of the lowest worth among those that fail least.

    Of those that cost the same to the last digits the first: rounding must not choose.
    """
    fewest = failed.min(axis=1, keepdims=True)
    counted = np.where(failed == fewest, worth, np.inf)
    lowest = counted.min(axis=1, keepdims=True)
    return np.asarray(np.argmax(counted <= lowest + SAME * np.abs(lowest), axis=1))


def choose(candidates: Sequence[Candidate]) -> Index:
    """Index by case of the candidate to carry: the cheapest of those that fail least."""
    worth = [as_cases(c.reduced["present_worth"]) for c in candidates]
    columns = np.broadcast_arrays(*worth, *(unmet(c.requirements) for c in candidates))
    count = len(candidates)
    return least(np.hstack(columns[count:]), np.hstack(columns[:count]))[:, None]


def carry(candidates: Sequence[Candidate], index: Index, quantity: str) -> Array:
    """Give one quantity of whichever candidate is carried, case by case."""
    values = [as_cases(c.reduced.get(quantity, math.nan)) for c in candidates]
    return np.choose(index, np.broadcast_arrays(index * 1.0, *values)[1:])


def compare(
    found: Mapping[str, Sequence[Candidate]],
    basis_lines: Mapping[str, Line],
    close_share: float = 0.0,
    largest_share: float = 1.0,
    variants: bool = True,
) -> Comparison:
    """Compare the strategies of one plant at point values.

    Present worths within ``close_share`` of each other are called close. ``largest_share`` is the
    share of the phosphorus that metal may take in sludge that stores it before a note warns.
    Without ``variants`` a result has no lines beside those of the candidate that is carried.
    """
    results = {name: _result(name, candidates, variants) for name, candidates in found.items()}
    ranking = tuple(
        sorted(
            (n for n, r in results.items() if r.meets_permit and n != "no_action"),
            key=lambda n: (results[n].value("present_worth"), PRINTED[n]),
        )
    )
    return Comparison(
        strategies=results,
        basis=basis_lines,
        ranking=ranking,
        reference=_reference(ranking),
        recommendation=_recommendation(results, ranking, close_share),
        nearest="" if ranking else nearest(results),
        what_would_change_it=(),
        notes=(
            _screening_note(basis_lines, results["bio_existing_carbon"]),
            *_fermenter_note(results["bio_fermented_carbon"]),
            *_nitrification_note(results["no_action"]),
            *_starving_note(results["bio_with_salt_trim"], largest_share),
        ),
    )


def best(candidates: Sequence[Candidate]) -> Candidate:
    """Take the candidate that is carried at point values."""
    return candidates[int(choose(candidates)[0, 0])]


def _result(name: str, candidates: Sequence[Candidate], variants: bool) -> StrategyResult:
    carried = best(candidates)
    listed = candidates if variants else ()
    checks = tuple(_check(r) for r in carried.requirements)
    label = lines.LABELS[name]
    product = carried.design.product
    if product:
        label = f"{label} ({lines.PRODUCTS[product].lower()})"
    if carried.design.carbon:
        label = f"{label} ({lines.CARBON[carried.design.carbon].lower()})"
    return StrategyResult(
        name=name,
        label=label,
        kind=carried.kind,
        product=product,
        design=carried.design,
        lines=lines_of(name, carried),
        checks=checks,
        others={
            product: lines_of(f"{name}.products.{product}", best(made))
            for product in dict.fromkeys(c.design.product for c in listed)
            if product and (made := [c for c in listed if c.design.product == product])
        },
        carbon=carbon_key(carried.design),
        carbons={
            key: lines_of(f"{name}.carbons.{key}", c)
            for c in listed
            if (key := carbon_key(c.design))
        },
    )


def carbon_key(design: Design) -> str:
    """Name the bought carbon of a design, and the source of acids beside it."""
    source = f"_with_{design.source.replace(' ', '_')}" if design.source else ""
    return f"{design.carbon}{source}" if design.carbon else ""


def _check(requirement: Requirement) -> Check:
    needed, found = _tightest(requirement)
    return Check(
        key=requirement.key,
        label=requirement.label,
        needed=float(needed[0, 0]),
        found=float(found[0, 0]),
        unit=requirement.unit,
        met=bool(met(requirement).all()),
        sense=requirement.sense,
    )


def _tightest(requirement: Requirement) -> tuple[Array, Array]:
    """Give by case what is needed and what is found, each of its worst month."""
    needed, found = as_cases(requirement.needed), as_cases(requirement.found)
    if requirement.sense == "at least":
        return needed.max(axis=1, keepdims=True), found.min(axis=1, keepdims=True)
    return needed.min(axis=1, keepdims=True), found.max(axis=1, keepdims=True)


def lines_of(subject: str, candidate: Candidate) -> dict[str, Line]:
    """Make the lines of one candidate at point values."""
    return {kind.quantity: _line(subject, kind, candidate) for kind in lines.LINES}


def _line(subject: str, kind: lines.LineKind, candidate: Candidate) -> Line:
    value = candidate.reduced.get(kind.quantity)
    number = math.nan if value is None else float(as_cases(value)[0, 0])
    known = not math.isnan(number)
    monthly = as_cases(candidate.monthly.get(kind.quantity, math.nan))
    months = tuple(monthly[0].tolist()) if monthly.shape[1] > 1 else ()
    return Line(
        key=f"{subject}.{kind.quantity}",
        label=kind.label,
        value=number if known else None,
        unit=kind.unit,
        equation="",
        sources=(),
        low=None,
        middle=None,
        high=None,
        months=months,
        reduced_by=kind.reduced_by if months else "",
        solved=False,
        reason="" if known else _why_null(kind.quantity, candidate),
    )


def _why_null(quantity: str, candidate: Candidate) -> str:
    if quantity == "anoxic_phosphate" and "vfa_available" in candidate.monthly:
        return "the layout has no anoxic zone"
    if quantity in lines.STORING_ONLY:
        return "no organisms that store phosphorus"
    if quantity == "recarbonation" and "lime_dose" in candidate.monthly:
        return "lime meets a side stream alone"
    if quantity in ("lime_dose", "recarbonation"):
        return "no lime is dosed"
    if quantity.startswith("reuse_"):
        return "no steady state: as much salt comes back as leaves, or more"
    if quantity == "ph_filter":
        return "no salt is dosed ahead of a filter"
    if quantity == "freezing_margin":
        return "no product is stored, or its freezing point is not in the tables"
    if quantity == "solids_for_target":
        return "the effluent solids hold no phosphorus"
    if quantity == "metal_to_p_removed":
        return "no salt is dosed"
    if quantity == "cost_per_kg_p":
        return "removes no phosphorus beyond no action"
    return "not defined for this strategy"


def _reference(ranking: Sequence[str]) -> str:
    """Name what the winner is measured against: one-point salt, or the runner-up."""
    if not ranking:
        return "no_action"
    if ranking[0] != "salt_single_point" and "salt_single_point" in ranking:
        return "salt_single_point"
    return ranking[1] if len(ranking) > 1 else "no_action"


def nearest(results: Mapping[str, StrategyResult]) -> str:
    """Name the strategy that misses fewest requirements, and these by least."""

    def missed(name: str) -> tuple[int, float, float, int]:
        misses = [c for c in results[name].checks if not c.met]
        worth = results[name].value("present_worth")
        return len(misses), max(map(shortfall, misses), default=0.0), worth, PRINTED[name]

    names = [name for name in results if name != "no_action"]
    return min(names, key=missed, default="")


def shortfall(check: Check) -> float:
    """Give by how much of its own amount a requirement is missed."""
    return float(_share_missed(as_cases(check.needed), as_cases(check.found))[0, 0])


def _share_missed(needed: Array, found: Array) -> Array:
    size = np.maximum(np.where(needed == 0.0, np.abs(found), np.abs(needed)), 1e-9)
    with np.errstate(invalid="ignore"):  # of what is not limited at all
        missed = np.abs(found - needed) / size
    return np.where(np.isfinite(missed), missed, np.inf)


def farthest(requirements: Sequence[Requirement]) -> Array:
    """Give by case the largest shortfall of the requirements that are missed; 0 where none is."""
    shares = (np.where(met(r), 0.0, _share_missed(*_tightest(r))) for r in requirements)
    return np.asarray(functools.reduce(np.maximum, shares))


def _recommendation(
    results: Mapping[str, StrategyResult], ranking: Sequence[str], close_share: float
) -> str:
    if not ranking:
        near = results[nearest(results)]
        others = [r for n, r in results.items() if n not in ("no_action", near.name)]
        return " ".join([
            "No strategy examined here meets the permit as the plant stands, so none is "
            f"recommended. Nearest is {_shortfall(near)}",
            *map(_shortfall, others),
        ])  # fmt: skip
    best = results[ranking[0]]
    text = (
        f"{best.label} meets every requirement at the lowest present worth, "
        f"{significant(best.value('present_worth'), 2)}."
    )
    if len(ranking) == 1:
        return text + " It is the only strategy that does."
    second = results[ranking[1]]
    gap = second.value("present_worth") - best.value("present_worth")
    share = gap / max(abs(best.value("present_worth")), 1e-9)
    if share < close_share:
        return text + (
            f" {second.label} is close: {significant(100 * share, 2)} % more, within what this "
            "level of estimate can tell apart."
        )
    return text + f" Next is {second.label}, {significant(gap, 2)} more."


def _shortfall(result: StrategyResult) -> str:
    """Say which requirements a strategy misses and by how much."""
    misses = [
        f"{c.label.lower()} {significant(c.found, 3)} where {c.sense} "
        f"{significant(c.needed, 3)} {c.unit} is needed"
        for c in result.checks
        if not c.met
    ]
    return f"{result.label}: {'; '.join(misses)}."


def _screening_note(basis: Mapping[str, Line], organisms: StrategyResult) -> str:
    """Hold the handbook's ratios against the model's verdict, and say why they may differ."""
    told, reached = [], 0
    for key in ("bod", "cod", "rbcod", "acid"):
        found, asked = (basis[f"{key}_{x}"].value or 0.0 for x in ("to_phosphorus", "asked"))
        reached += found >= asked
        told.append(f"{SCREENED[key]} {significant(found, 2)} ({significant(asked, 2)})")
    verdict = next(c for c in organisms.checks if c.key == "potential").met
    text = (
        "Screening ratios to the phosphorus that enters the basin, found (asked for): "
        f"{', '.join(told)}; {reached} of 4 are reached. The model finds the sewage's own carbon "
        f"{'' if verdict else 'not '}enough"
    )
    if verdict and reached < 4:
        return text + ". The ratios are gates with reserve; site sampling must decide."
    if not verdict and reached == 4:
        return text + ": the ratios do not see the nitrate that comes back, the model does."
    return text + "."


def _fermenter_note(fermented: StrategyResult) -> tuple[str, ...]:
    """Say where there is nothing to ferment, so that nobody takes the figures for a fermenter's."""
    if fermented.value("fermented_carbon") > 0.0:
        return ()
    return (
        "There is no primary sludge to ferment: the alternative with a fermenter is the one on "
        "the sewage's own carbon.",
    )


def _nitrification_note(as_it_stands: StrategyResult) -> tuple[str, ...]:
    """Say where the plant fails before any phosphorus is removed, so that no salt is blamed."""
    if all(check.met for check in as_it_stands.checks if check.key == "sludge_age"):
        return ()
    return (
        "The plant as it stands does not nitrify safely in the coldest month. Alternatives "
        "without an anaerobic zone keep its tanks and fail with it, and biological ones pay for "
        "the volume that is missing. Enter the volume and sludge age that nitrification needs, "
        "and compare again: only then do the costs differ by phosphorus alone.",
    )


def _starving_note(trimmed: StrategyResult, largest: float) -> tuple[str, ...]:
    """Warn where metal in the sludge takes so much that the organisms go short."""
    share = trimmed.value("metal_share")
    if not share > largest:
        return ()
    return (
        f"In the worst month the trim of {trimmed.label} takes {share:.0%} of what organisms and "
        f"metal take together, above {largest:.0%}: metal in the sludge competes with the "
        "organisms for phosphate and can displace them. Dose behind the clarifiers, or close the "
        "gap with carbon.",
    )


def difference(compared: Comparison, study: Study) -> dict[str, Line]:
    """Give the recommended strategy less the reference, drawn in pairs where there are draws."""
    if not compared.ranking:
        return {}
    first, reference = compared.ranking[0], compared.reference
    found: dict[str, Line] = {}
    for quantity in lines.DIFFERENCES:
        a, b = (compared.strategies[n].lines[quantity] for n in (first, reference))
        key = f"difference.{quantity}"
        low, middle, high = study.lines.get(key, (None, None, None))
        known = a.value is not None and b.value is not None
        found[quantity] = replace(
            a,
            key=key,
            label=f"{a.label}, {first} less {reference}",
            value=(a.value or 0.0) - (b.value or 0.0) if known else None,
            low=low,
            middle=middle,
            high=high,
            months=(),
            solved=a.solved or b.solved,
        )
    return found


def with_odds(comparison: Comparison, study: Study) -> str:
    """Add to the recommendation what the draws say of it, and what to measure first."""
    text = comparison.recommendation
    if not comparison.ranking or not study.odds:
        return text
    first = comparison.ranking[0]
    odds = study.odds[first]
    text += (
        f" Over {study.draws} draws it is the cheapest of those that compete in "
        f"{_percent(odds.cheapest.value)}, meets every requirement in "
        f"{_percent(odds.meets.value)}, and keeps the salt limits as well in "
        f"{_percent(odds.keeps.value)}."
    )
    if len(comparison.ranking) > 1:
        likely = max(study.chance_cheapest, key=lambda name: study.chance_cheapest[name])
        if likely != first:
            text += f" {comparison.strategies[likely].label} is the cheapest more often."
        measured = [driver.label for driver in study.worth_knowing[:3]]
        if measured:
            text += " Worth finding out before deciding: " + "; ".join(measured) + "."
    return text


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def what_would_change(
    comparison: Comparison, swings: Sequence[Swing], evens: Sequence[BreakEven] = ()
) -> tuple[str, ...]:
    """Name the inputs whose range turns the order of the two best strategies, and where."""
    if len(comparison.ranking) < 2:
        return ()
    first, second = (comparison.strategies[n].label for n in comparison.ranking[:2])
    turning = [s for s in swings if min(s.at_low, s.at_high) < 0.0]
    if not turning:
        return (
            f"No single input, taken to the end of its range, makes {second} cheaper than {first}.",
        )
    at = {e.field: e for e in evens if e.against == comparison.ranking[1]}
    return tuple(
        f"{s.label} at {_turning_input(s)} would make {second} cheaper than {first}, by "
        f"{significant(-min(s.at_low, s.at_high), 2)} of present worth"
        f"{_break_even(at[s.field]) if s.field in at else ''}."
        for s in turning[:5]
    )


def _break_even(even: BreakEven) -> str:
    unit = pretty(even.unit).strip(DASH)
    return "".join(f"; break-even at {significant(at, 3)} {unit}".rstrip() for at in even.at)


def _turning_input(swing: Swing) -> str:
    """Write the end of an input's range at which the order turns, with its unit."""
    value = swing.low_input if swing.at_low < swing.at_high else swing.high_input
    return f"{significant(value, 3)} {pretty(swing.unit).strip(DASH)}".strip()
