"""Random forms, filled within the usual ranges of their fields and read as a user's file is.

What cannot be drawn alone (parts of a whole, ions in balance, tanks that fit the flow) is drawn
together. About half of all other fields keep their defaults, so that a failing form stays legible.
"""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st

from pcompare.inputs import reader, schema
from pcompare.records import Inputs

from .plants import EVEN, even_text

# Drawn together below, or of no meaning alone.
TOGETHER = {
    "flow.average", "flow.load_share", "flow.strength", "flow.growth", "flow.phase_year",
    "plant.households", "permit.tp", "permit.load", "permit.ammonia", "permit.total_nitrogen",
    "secondary.volume", "secondary.clarifier_area", "finance.discount_rate", "finance.rate_kind",
    "finance.inflation", "capital.index_far", "own_product.salt", "own_product.basis",
    "own_product.excess_formula",
}  # fmt: skip
OTHER_SHEETS = ("Project", "Water", "Decision", schema.COEFFICIENTS)
EQUIVALENTS = {  # mg of one milliequivalent
    "sodium": 22.99, "potassium": 39.10, "calcium": 20.04, "magnesium": 12.15, "ammonia": 14.01,
    "alkalinity": 50.04, "chloride": 35.45, "sulfate": 48.03, "nitrate": 14.01,
    "orthophosphate": 20.6,
}  # fmt: skip
CATIONS = ("sodium", "potassium", "calcium", "magnesium", "ammonia")
SEASONS = ("all", "all", "5-10", "11, 12, 1, 2, 3")


@dataclass(frozen=True)
class Form:
    """One filled form: what differs from the example, and how it was read."""

    given: Mapping[str, Any]
    months: Mapping[str, list[float]]
    inputs: Inputs = field(repr=False, compare=False)

    def __repr__(self) -> str:
        rows = [*self.given.items(), *((f"months.{n}", v) for n, v in self.months.items())]
        return "Form(\n" + "".join(f"    {n} = {_toml(v)}\n" for n, v in rows) + ")"

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(repr(self))  # else the fields of a dataclass are printed, inputs and all


def _toml(value: Any) -> str:
    return f'"{value}"' if isinstance(value, str) else repr(value)


def read(given: Mapping[str, Any], months: Mapping[str, list[float]]) -> Form:
    """Write the values over the example of an even year, and read the file."""
    values = {**_example(), **EVEN, **given}
    lines = [f'"{name}" = {_toml(value)}' for name, value in values.items()]
    lines += ["[months]", *(f'"{name}" = {_toml(v)}' for name, v in months.items())]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        path.write_text("\n".join(_nested(lines)), encoding="utf-8")
        return Form(given=given, months=months, inputs=reader.read(path))


def _nested(lines: list[str]) -> Iterator[str]:
    """Leave dotted names bare outside [months]: TOML reads them as tables."""
    bare = True
    for line in lines:
        bare = bare and not line.startswith("[")
        yield line.replace('"', "", 2) if bare else line


def _example() -> dict[str, Any]:
    document = tomllib.loads(even_text())
    return {
        f"{group}.{name}": str(value) if group == "project" else value
        for group, fields in document.items()
        for name, value in fields.items()
    }


def _plain_fields() -> list[schema.Field]:
    return [
        f
        for f in schema.fields().values()
        if f.sheet not in OTHER_SHEETS
        and f.name not in TOGETHER
        and not f.name.endswith("_basis")
        and not f.name.startswith("capital.index")
        and (f.usual or f.kind == "choice")
    ]


@st.composite
def forms(draw: st.DrawFn, months: bool = True) -> Form:
    """Draw a valid form."""
    share = st.floats(0.0, 1.0)

    def number(low: float, high: float) -> float:
        return float(f"{low + (high - low) * draw(share):.6g}")

    given: dict[str, Any] = {}
    for f in _plain_fields():
        if draw(st.booleans()):
            continue
        if f.kind == "choice":
            given[f.name] = draw(st.sampled_from(f.choices))
            continue
        low, high = (f.low, f.high) if f.low is not None else f.usual or f.hard
        value = number(float(low or 0.0), float(high or 0.0))
        given[f.name] = round(value) if f.kind == "integer" else value
    given |= _water(number)
    given |= _plant(number)
    given |= _permit(draw, number, given["influent.tp"])
    given |= _money(draw, number, given)
    given["chemical.products"] = ", ".join(_some(draw, schema.products()))
    given["bio.carbon_products"] = ", ".join(_some(draw, schema.carbon_products()))
    if "prices.own_product" in given:
        given["prices.own_product_basis"] = "t wet"
    if "prices.ferric_sulfate" in given:
        given["prices.ferric_sulfate_basis"] = "t wet"
    return read(given, _months(number, given) if months and draw(st.booleans()) else {})


def _some(draw: st.DrawFn, names: tuple[str, ...]) -> list[str]:
    return draw(st.lists(st.sampled_from(names), min_size=1, max_size=2, unique=True))


def _water(number: Any) -> dict[str, float]:
    """Sewage from weak to strong, cold to warm, soft to hard, its ions in balance."""
    tp, cod, tkn, tss = number(3, 15), number(250, 1000), number(20, 85), number(100, 500)
    rbcod, warm = cod * number(0.06, 0.3), number(10, 28)
    found = {
        "tp": tp, "orthophosphate": tp * number(0.35, 0.8), "cod": cod,
        "bod5": cod * number(0.35, 0.6), "rbcod": rbcod, "vfa": rbcod * number(0.0, 0.7),
        "tss": tss, "vss": tss * number(0.6, 0.9), "tkn": tkn, "ammonia": tkn * number(0.5, 0.9),
        "nitrate": number(0, 2), "alkalinity": number(50, 450), "ph": number(6.5, 8.2),
        "temperature_average": warm, "temperature_minimum": warm - number(0.0, 6.0),
        "calcium": number(10, 150), "magnesium": number(2, 50), "sodium": number(20, 300),
        "potassium": number(5, 35), "sulfate": number(10, 250),
    }  # fmt: skip
    milli = {ion: found[ion] / mass for ion, mass in EQUIVALENTS.items() if ion in found}
    more = sum(milli.pop(ion) for ion in CATIONS) - sum(milli.values())
    chloride = max(more, number(0.5, 6.0))
    found["chloride"] = chloride * EQUIVALENTS["chloride"]
    found["sodium"] += (chloride - more) * EQUIVALENTS["sodium"]
    return {f"influent.{name}": float(f"{value:.6g}") for name, value in found.items()}


def _plant(number: Any) -> dict[str, float]:
    """Tanks and households that fit the flow."""
    flow = round(10.0 ** number(2.7, 5.5), 1)
    return {
        "flow.average": flow,
        "secondary.volume": round(flow * number(0.2, 1.2), 1),
        "secondary.clarifier_area": round(flow / number(10.0, 30.0), 1),
        "plant.households": round(flow / number(0.4, 1.5)),
    }


def _permit(draw: st.DrawFn, number: Any, tp: float) -> dict[str, Any]:
    limit = round(10.0 ** number(-1.3, 0.3), 4)
    return {
        "permit.tp": min(limit, tp),
        "permit.ammonia": draw(st.sampled_from([0.0, 0.5, 2.0, 8.0])),
        "permit.total_nitrogen": draw(st.sampled_from([0.0, 0.0, 5.0, 15.0])),
        "permit.months": draw(st.sampled_from(SEASONS)),
    }


def _money(draw: st.DrawFn, number: Any, given: Mapping[str, Any]) -> dict[str, Any]:
    """A rate with inflation or without, growth or none, built at once or in two phases."""
    found: dict[str, Any] = {"finance.discount_rate": number(0.0, 0.08)}
    if draw(st.booleans()):
        found["finance.rate_kind"] = "nominal"
        found["finance.inflation"] = number(0.01, 0.04)
        found["finance.discount_rate"] += found["finance.inflation"]
    if draw(st.booleans()):
        found["flow.growth"] = number(0.001, 0.03)
        last = min(given.get("flow.design_year", 20), given.get("finance.period", 20))
        found["flow.phase_year"] = draw(st.sampled_from([0, round(0.5 * last)]))
    return found


def _months(number: Any, given: Mapping[str, float]) -> dict[str, list[float]]:
    """Twelve months about the value for the year: cold and wet when the acids are scarce."""
    swing = np.cos(np.arange(12) / 6.0 * np.pi)

    def about(name: str, span: float) -> list[float]:
        return [float(f"{given[name] * (1.0 + span * x):.6g}") for x in swing]

    found = {
        "flow.average": about("flow.average", number(0.0, 0.3)),
        "influent.vfa": about("influent.vfa", -number(0.0, 0.4)),
        "influent.alkalinity": about("influent.alkalinity", -number(0.0, 0.05)),
        "influent.cod": about("influent.cod", -number(0.0, 0.05)),
    }
    warm, least = given["influent.temperature_average"], given["influent.temperature_minimum"]
    found["influent.temperature_average"] = [warm - (warm - least) * float(x) for x in swing]
    return found
