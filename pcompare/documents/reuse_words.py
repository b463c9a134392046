"""Sentences on salt downstream, each with numbers of the run's picture behind it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from pcompare.documents import names
from pcompare.documents.words import NONE, Figures, lower, share
from pcompare.findings import (
    Dossier,
    ReusePicture,
    Sweep,
    UseLimit,
)

FORMS = {
    "river": "The river dilutes the effluent, and the supply is drawn below",
    "reservoir": "Effluent and other water mix in a reservoir, which evaporates some",
    "aquifer": "Effluent and other water mix in an aquifer",
    "blend": "Effluent is blended into the supply at a share that is held by hand",
}
CUTS = {
    "river": "the river's flow alone",
    "use": "use per person alone",
    "both": "both together, in the proportion of the design drought",
}
WHENS = (("normal", "in a normal year"), ("drought", "in the design drought"))


def listed_short(strategies: Sequence[str]) -> str:
    """Join short names of alternatives, which hold commas themselves."""
    return "; ".join(lower(names.short(name)) for name in strategies)


def limit_name(limit: UseLimit, picture: ReusePicture, figures: Figures) -> str:
    """Name a limit by quantity and value."""
    label = next(q.label for q in picture.quantities if q.key == limit.quantity)
    return f"{lower(label)} {limit.sense} {figures.given(limit.value, limit.unit)}"


def verdict_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say which alternatives keep the limits that count, in a normal year and in the drought."""
    picture = dossier.reuse
    held = [limit_name(picture.limit(key), picture, figures) for key in picture.governing]
    whose = "of the users" if picture.governing[0].startswith("own.") else "of drinking water"
    found = [f"The limits {whose} that count here: {names.listed(held)}."]
    for when, words in WHENS:
        kept, missed = _sorted(picture, lambda name, w=when: picture.passes(name, w))  # type: ignore[misc]
        if not missed:
            found.append(f"All alternatives keep them {words}.")
        elif not kept:
            found.append(f"No alternative keeps them {words}.")
        else:
            found.append(f"Not kept {words} by {listed_short(missed)}; by the others they are.")
    return found


def _sorted(picture: ReusePicture, test: Callable[[str], bool]) -> tuple[list[str], list[str]]:
    kept = [name for name in picture.verdicts if test(name)]
    return kept, [name for name in picture.verdicts if name not in kept]


def loop_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Describe the loop: shares, multiplier, gain, and how soon it settles."""
    picture, loop = dossier.reuse, dossier.reuse.normal
    found = [
        f"{FORMS.get(picture.form, picture.form)}: {share(loop.return_fraction)} of it is effluent "
        f"in a normal year, and {share(loop.evaporation_fraction)} of the water is lost between "
        "supply and return, without its salt."
        if loop.return_fraction > 0.0
        else "No effluent comes back into a supply in this case: the supply is the source water."
    ]
    if loop.capped:
        found.append("More was asked for than comes back from use; the share is what comes back.")
    if not loop.steady:
        return [*found, f"The loop has no steady state: {loop.reason}."]
    gain = loop.multiplier / (1.0 - loop.multiplier)
    found.append(
        f"Each cycle brings {figures.number(loop.multiplier, '-', 2)} of the salt back, so that in "
        f"the long run the supply holds {figures.number(gain, '-', 2)} times what one use adds. "
        "What a metal salt adds counts with the sodium of the base that puts the lost alkalinity "
        "back: at the plant, or downstream where the plant did not."
    )
    drought = picture.drought
    words = (
        f"In the design drought {_percent(drought.river_cut)} of the river is missing and "
        f"{_percent(drought.use_cut)} of the use is saved: the share of effluent is then "
        f"{share(drought.return_fraction)}"
    )
    if not drought.steady:
        return [*found, f"{words}, and there is no steady state: {drought.reason}."]
    gained = drought.multiplier / (1.0 - drought.multiplier)
    return [*found, f"{words}, and the gain {figures.number(gained, '-', 2)}."]


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f}\u00a0%"


def approach_sentence(dossier: Dossier, figures: Figures, strategy: str) -> str:
    """Say how soon the supply comes near its long run; empty where that cannot be said."""
    sweep, water = dossier.reuse.approach, dossier.reuse.water.get(strategy, {})
    row = sweep.values.get(strategy, {}).get("tds", ())
    end = water["tds"].normal if "tds" in water else None
    if not row or end is None or abs(end - row[0]) < 1e-9:
        return ""
    near = next((p for p, v in zip(sweep.points, row, strict=True)
                 if abs(v - end) <= 0.05 * abs(end - row[0])), None)  # fmt: skip
    if near is None:
        return ""
    unit = "cycles of use" if sweep.along == "cycles" else "years"
    start = figures.number(row[0], "mg/L")
    return (
        f"From source water of {start} mg/L the supply comes to within a twentieth of its long "
        f"run after {figures.number(near, '-', 2)} {unit}."
    )


def drought_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say up to which cut each group of alternatives keeps the limits that count."""
    found = []
    for key, words in CUTS.items():
        sweep = dossier.reuse.curves.get(key)
        if sweep is None or not sweep.points:
            continue
        kept = {name: _kept_until(row) for name, row in sweep.feasible.items()}
        found.append(f"With a cut of {words} the limits are kept {_ends(sweep, kept)}.")
    return found


def _ends(sweep: Sweep, kept: Mapping[str, int]) -> str:
    """Say who keeps the limits up to which point; the largest group is called the others."""
    groups: dict[int, list[str]] = {}
    for name, until in sorted(kept.items(), key=lambda item: item[1]):
        groups.setdefault(until, []).append(name)
    largest = max(groups, key=lambda until: len(groups[until]))
    parts = []
    for until, members in sorted(groups.items(), key=lambda item: item[0] == largest):
        who = "all" if len(groups) == 1 else "the others"
        who = who if until == largest else listed_short(members)
        if until < 0:
            parts.append(f"not even without it by {who}")
        elif until == len(sweep.points) - 1:
            parts.append(f"up to {_percent(sweep.points[until])}, as far as was tried, by {who}")
        else:
            parts.append(f"up to {_percent(sweep.points[until])} by {who}")
    return ", ".join(parts)


def _kept_until(row: Sequence[bool]) -> int:
    """Index of the last point up to which everything is kept; -1 for none."""
    return next((i for i, met in enumerate(row) if not met), len(row)) - 1


def exceptions(picture: ReusePicture, limit: UseLimit, when: str, carried: Sequence[str]) -> str:
    """Say who does not keep one limit: nobody, everybody, or by name."""
    missed = [n for n in carried if not getattr(picture.verdicts[n][limit.key], when)]
    if not missed:
        return NONE
    if len(missed) == len(carried):
        return "all"
    if len(missed) > len(carried) // 2:
        kept = [n for n in carried if n not in missed]
        return f"all but {listed_short(kept)}"
    return listed_short(missed)
