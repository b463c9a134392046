"""Sentences on the metal salts side by side and on the spread of the published dose models."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from pcompare.documents import names
from pcompare.documents.words import NONE, Figures, choice, close, close_share, number
from pcompare.findings import Dossier
from pcompare.records import Line

ONE_POINT = "salt_single_point"  # the strategy that the salts and the dose models belong to
ROUNDING = 1e-6  # a target missed by less is met: solved doses land on it
Lines = Mapping[str, Line]


def value(found: Lines, quantity: str) -> float:
    """Give one line's value; nan where there is no line or no number."""
    line = found.get(quantity)
    return math.nan if line is None or line.value is None else line.value


def carried(dossier: Dossier) -> str:
    """Name the product that the one-point alternative carries; empty where there is none."""
    result = dossier.comparison.strategies.get(ONE_POINT)
    return result.product if result is not None else ""


def reaches_target(found: Lines) -> bool:
    """Tell whether a salt brings the mean of the governing period to what it is sized to."""
    reached, wanted = value(found, "effluent_tp_governing"), value(found, "design_mean")
    return reached <= wanted + ROUNDING * max(abs(wanted), 1.0)


def by_worth(salts: Mapping[str, Lines]) -> list[tuple[str, Lines]]:
    """Sort salts by present worth; those without one come last, in their own order."""

    def worth(salt: tuple[str, Lines]) -> float:
        found = value(salt[1], "present_worth")
        return math.inf if math.isnan(found) else found

    return sorted(salts.items(), key=worth)


def salt_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say which salt costs least, which raise chloride and sulfate, and which takes alkalinity."""
    able = [salt for salt in by_worth(dossier.salts) if reaches_target(salt[1])]
    if not able:
        return ["None of the salts brings the plant to the target at one dosing point."]
    return [
        *_cost_sentences(able, dossier, figures),
        _raised(able, "chloride_added", "chloride", figures),
        _raised(able, "sulfate_added", "sulfate", figures),
        *_alkalinity_sentence(able, figures),
    ]


def _cost_sentences(able: list[tuple[str, Lines]], dossier: Dossier, figures: Figures) -> list[str]:
    priced = [salt for salt in able if not math.isnan(value(salt[1], "present_worth"))]
    if not priced:
        return []
    (name, least), chosen = priced[0], carried(dossier)
    text = f"{names.product(name)} has the lowest present worth, {_worth(least, figures)}"
    if name == chosen:
        return [f"{text}; it is the salt that the one-point alternative carries."]
    if chosen not in dossier.salts:
        return [f"{text}."]
    mine = f"{names.product(chosen).lower()}, at {_worth(dossier.salts[chosen], figures)}"
    return [
        f"{text}; the one-point alternative carries {mine}.",
        *unconsidered(dossier, figures),
    ]


def unconsidered(dossier: Dossier, figures: Figures) -> list[str]:
    """Name the cheapest salt where the alternatives were not free to choose it."""
    able = [salt for salt in by_worth(dossier.salts) if reaches_target(salt[1])]
    if not able or math.isnan(value(able[0][1], "present_worth")):
        return []
    name, least = able[0]
    if name in considered(dossier):
        return []
    return [_not_considered(name, least, dossier, figures)]


def considered(dossier: Dossier) -> list[str]:
    """List the products that the user lets the alternatives choose from."""
    listed = choice(dossier.inputs, "chemical.products").split(",")
    return [name.strip() for name in listed if name.strip()]


def _not_considered(name: str, least: Lines, dossier: Dossier, figures: Figures) -> str:
    """Say that the cheapest salt was not open to the alternatives, and what stands against it."""
    open_to = names.listed([names.product(p).lower() for p in considered(dossier)])
    text = (
        f"{names.product(name)} is not among the products that this case considers"
        + (f" ({open_to})" if open_to else "")
        + ": if it can be had and handled here, add it and run again"
    )
    ranking = dossier.comparison.ranking
    if not ranking:
        return f"{text}."
    best = dossier.comparison.strategies[ranking[0]]
    worths = value(least, "present_worth"), number(best, "present_worth")
    order = "below" if worths[0] < worths[1] else "above"
    order = "close to" if close(*worths, close_share(dossier.inputs)) else order
    return (
        f"{text}. Its present worth is {order} that of the best alternative, {best.label}, "
        f"{figures.line(best.lines['present_worth'], 2)}; its other requirements are not "
        "judged here."
    )


def _worth(found: Lines, figures: Figures) -> str:
    return figures.line(found["present_worth"], 2)


def _raised(able: list[tuple[str, Lines]], quantity: str, ion: str, figures: Figures) -> str:
    """List the salts that raise an ion, most first; the others leave it as it is."""
    raising = _most_first(able, quantity, lambda amount: amount > 0.0)
    if not raising:
        return f"None of the salts raises {ion}."
    parts = [
        f"{names.product(name).lower()} ({figures.amount(amount, found[quantity].unit)})"
        for name, amount, found in raising
    ]
    rest = "" if len(raising) == len(able) else "; the others do not"
    return f"{ion.capitalize()} rises with {names.listed(parts)}{rest}."


def _most_first(
    able: list[tuple[str, Lines]], quantity: str, wanted: Callable[[float], bool]
) -> list[tuple[str, float, Lines]]:
    found = [(name, value(found, quantity), found) for name, found in able]
    kept = [row for row in found if math.isfinite(row[1]) and wanted(row[1])]
    return sorted(kept, key=lambda row: -row[1])


def _alkalinity_sentence(able: list[tuple[str, Lines]], figures: Figures) -> list[str]:
    found = _most_first(able, "alkalinity_metal", lambda amount: True)
    if not found:
        return []

    def amount(row: tuple[str, float, Lines]) -> str:
        return figures.amount(abs(row[1]), row[2]["alkalinity_metal"].unit)

    adding = [row for row in found if row[1] > 0.0]
    taking = [row for row in found if row[1] <= 0.0]
    parts = []
    if adding:
        added = [f"{names.product(row[0]).lower()} adds {amount(row)}" for row in adding]
        parts.append(names.listed(added))
    if taking:
        first, last = taking[0], taking[-1]
        least = f"{names.product(first[0]).lower()} takes least, {amount(first)}"
        most = f", and {names.product(last[0]).lower()} most, {amount(last)}"
        parts.append(
            ("of the others " if adding else "") + least + (most if last[1] < first[1] else "")
        )
    return [f"Alkalinity, with the credit of the phosphate bound: {'; '.join(parts)}."]


# --- dose models ------------------------------------------------------------------------------


def model_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say how far the models lie apart, at the strictest limit that all of them meet."""
    found = [
        "Where 0.1 mg/L of phosphorus is left in solution, the published models that reach so low "
        "differ about threefold. That is how uncertain a dose is, and jar tests on the plant's "
        "own sewage rule."
    ]
    sweep = dossier.dose_models
    rows = [row["metal_dose"] for row in sweep.values.values() if "metal_dose" in row]
    met = [sweep.feasible.get(name, ()) for name in sweep.values]
    for place in sorted(range(len(sweep.points)), key=lambda i: sweep.points[i]):
        doses = [row[place] for row in rows if place < len(row)]
        passed = [place < len(row) and row[place] for row in met]
        if len(doses) > 1 and all(passed) and all(map(math.isfinite, doses)):
            product = names.product(carried(dossier) or "the salt").lower()
            ends = figures.spread(min(doses), max(doses), "mg/L", 3)
            limit = figures.amount(sweep.points[place], sweep.unit, 2)
            span = f"runs from {ends}" if " to " in ends else f"is {ends}"
            found.append(
                f"At {limit}, the strictest limit here at which a plant sized by any of the "
                f"{len(doses)} models meets every requirement, the dose of {product} "
                f"{span} {figures.unit('mg/L')} of metal."
            )
            break
    return found


# What each model says, where it holds, and the work that it comes from with its status.
MODEL_NOTES: dict[str, tuple[str, str, str, str]] = {
    "uptake": (
        "Fresh hydroxide takes up phosphate in step with what is left in solution, and more of "
        "it the better it is mixed.",
        "Below about 0.25 mg/L left in solution it is an extrapolation.",
        "computed",
        "SMITH2008",
    ),
    "handbook ratio": (
        "Metal per phosphorus that enters, by the share removed.",
        "75 to 95 % removal.",
        "memory",
        "EPA1976",
    ),
    "kinetic": (
        "Precipitation and redissolution at steady state.",
        "Cautious where little is left in solution.",
        "memory",
        "HENZE2000",
    ),
    "fixed ratio": (
        "One ratio of metal to the phosphorus to be precipitated.",
        "Limits of about 1 to 2 mg/L of total phosphorus; not for polishing.",
        "memory",
        "ATV_A131E",
    ),
}


def model_name(kind: str) -> str:
    """Give a dose model's name as a label."""
    return names.MODELS.get(kind, kind.capitalize())


def printed(found: Lines, quantity: str, figures: Figures) -> str:
    """Print a line's number, or a dash."""
    line = found.get(quantity)
    return NONE if line is None else figures.number(line.value, line.unit)
