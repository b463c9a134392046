"""Invented plants as rows of a CSV: unlike each other, and each valid by itself."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Mapping, Sequence

from pcompare.equations import alkalinity
from pcompare.inputs import reader

Row = Mapping[str, str | float]
CHOICES: dict[str, tuple[str, ...]] = {
    "permit.averaging": ("monthly", "annual", "daily"),
    "permit.months": ("all", "5-9"),
    "secondary.layout": ("aerobic", "anoxic-aerobic"),
    "bio.layout": ("anaerobic-anoxic-aerobic", "anaerobic-aerobic", "anoxic-recycle",
                   "return-denitrified", "five-stage"),
    "bio.zone": ("existing tanks", "new tank"),
    "solids.digestion": ("anaerobic", "none"),
    "chemical.base": ("cheapest", "caustic", "soda_ash"),
    "chemical.products": ("liquid_alum, ferric_chloride", "ferric_chloride_sulfate"),
    "chemical.dose_model": ("uptake", "handbook ratio", "kinetic", "fixed ratio"),
    "reuse.salt_cost": ("none", "damage"),
    "recovery.product": ("none", "struvite"),
    "finance.soft_costs": ("cost with contingency", "direct cost"),
}  # fmt: skip
# Numbers that part designs as words do: what is set, and what is not.
FLAGS: dict[str, tuple[float, ...]] = {
    "primary.capture": (0.0, 0.5, 0.65),
    "bio.anoxic_fraction": (0.0, 0.2, 0.3),
    "permit.ammonia": (0.0, 0.0, 3.0),
    "permit.total_nitrogen": (0.0, 0.0, 15.0),
    "flow.growth": (0.01,),
    "flow.phase_year": (0.0, 8.0),
}
MASS = {"influent.sodium": 22.990, "influent.chloride": 35.453}  # g of one equivalent


def number(source: random.Random) -> dict[str, float]:
    """Draw the numbers of one plant: tiny to large, cold to warm, soft to hard, lax to strict."""
    u = source.uniform
    tp, cod, tkn, tss, average = u(3, 12), u(250, 900), u(20, 70), u(120, 400), u(10, 26)
    flow, rbcod = 10.0 ** u(2.5, 5.3), cod * u(0.08, 0.3)
    drawn = {
        "flow.average": flow,
        "influent.tp": tp,
        "influent.orthophosphate": tp * u(0.4, 0.7),
        "influent.cod": cod,
        "influent.bod5": cod * u(0.4, 0.5),
        "influent.rbcod": rbcod,
        "influent.vfa": rbcod * u(0.05, 0.9),
        "influent.tkn": tkn,
        "influent.ammonia": tkn * u(0.5, 0.9),
        "influent.tss": tss,
        "influent.vss": tss * u(0.6, 0.9),
        "influent.alkalinity": u(40, 420),
        "influent.temperature_average": average,
        "influent.temperature_minimum": average - u(1, 5),
        "permit.tp": source.choice((0.1, 0.3, 0.5, 1.0, 1.0, 2.0)),
        "secondary.srt": u(5, 18),
        "secondary.volume": flow * u(0.4, 1.4),
        "secondary.clarifier_area": flow / u(12.0, 30.0),
        "prices.acetic_acid": u(300, 1500),
        "prices.caustic": u(200, 900),
        "prices.liquid_alum": u(100, 500),
    }
    return drawn | balanced(drawn)


def balanced(drawn: Mapping[str, float]) -> dict[str, float]:
    """Give sodium and chloride that leave the analysis without an error of charge."""
    example = reader.read()
    known = {
        name: float(example[name].mean())
        for name in (f"influent.{ion}" for ion in alkalinity.IONS_OF_AN_ANALYSIS)
    } | {name: value for name, value in drawn.items() if name.startswith("influent.")}
    ions = [known[f"influent.{ion}"] for ion in alkalinity.IONS_OF_AN_ANALYSIS]
    found = alkalinity.charge_error(*ions)
    missing = float(found.anions - found.cations)  # meq/L of cations
    ion = "influent.sodium" if missing > 0.0 else "influent.chloride"
    values = {name: known[name] for name in MASS}
    values[ion] += abs(missing) * MASS[ion]
    return values


def rows(count: int, seed: int, kinds: int = 2) -> list[Row]:
    """Draw plants whose choices are of a few kinds."""
    source = random.Random(seed)
    parted: dict[str, tuple[str, ...] | tuple[float, ...]] = {**CHOICES, **FLAGS}
    kind = [{n: source.choice(c) for n, c in parted.items()} for _ in range(kinds)]
    return [{"name": f"plant {i}", **number(source), **kind[i % kinds]} for i in range(count)]


def text(plants: Sequence[Row]) -> str:
    """Write plants as a CSV that gives every number back."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(plants[0])
    writer.writerows([v if isinstance(v, str) else repr(v) for v in p.values()] for p in plants)
    return out.getvalue()
