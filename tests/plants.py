"""Invented plants for the tests: the worked example, and random ones that stay valid."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from pcompare.arrays import as_cases
from pcompare.inputs import form, reader
from pcompare.records import Inputs

# The year of the example, where its months do not average to round numbers.
EVEN = {
    "influent.tp": 6.8, "influent.orthophosphate": 4.1, "influent.cod": 495.0,
    "influent.bod5": 235.0, "influent.rbcod": 112.0, "influent.vfa": 33.0, "influent.tss": 225.0,
    "influent.vss": 180.0, "influent.tkn": 41.0, "influent.ammonia": 29.0,
    "influent.alkalinity": 235.0, "influent.calcium": 42.0, "influent.magnesium": 10.0,
    "influent.sodium": 72.0, "influent.potassium": 15.0, "influent.chloride": 84.0,
    "influent.sulfate": 58.0, "influent.temperature_average": 17.0, "flow.average": 20000.0,
    "flow.load_share": 1.0,
}  # fmt: skip
LAYOUTS = (
    "anaerobic-anoxic-aerobic", "anaerobic-aerobic", "anoxic-recycle", "return-denitrified",
    "five-stage",
)  # fmt: skip


def even_text() -> str:
    """Give the example as TOML without its months: an even year."""
    text = reader.EXAMPLE_FILE.read_text(encoding="utf-8")
    return text.split("\n[months]\n")[0] + "\n"


def even_form(system: str = "si") -> bytes:
    """Give the form of the example without its months."""
    return form.filled(even(), system)


def even() -> Inputs:
    """Give the example of an even year, as it is read."""
    inputs = reader.read()
    values = {name: as_cases(value.mean()) for name, value in inputs.values.items()}
    values |= {name: as_cases(value) for name, value in EVEN.items()}
    return replace(inputs, values=values, yearly={})


def example(**fields: Any) -> Inputs:
    """Give the worked example of an even year, some fields replaced (``__`` is the dot)."""
    inputs = even()
    values, choices = dict(inputs.values), dict(inputs.choices)
    for name, value in fields.items():
        key = name.replace("__", ".")
        if isinstance(value, str):
            assert key in choices, key
            choices[key] = value
        else:
            assert key in values, key
            values[key] = as_cases(value)
    return replace(inputs, values=values, choices=choices)


@st.composite
def plants(draw: st.DrawFn) -> Inputs:
    """Draw a valid plant: sewage from weak to strong, cold to warm, soft to hard."""

    def number(low: float, high: float) -> float:
        return draw(st.floats(low, high, allow_nan=False))

    tp = number(2.5, 14.0)
    cod = number(200.0, 1000.0)
    rbcod = cod * number(0.06, 0.3)
    tkn = number(15.0, 80.0)
    tss = number(90.0, 450.0)
    average = number(9.0, 26.0)
    return example(
        flow__average=10.0 ** number(2.5, 5.5),
        influent__tp=tp,
        influent__orthophosphate=tp * number(0.4, 0.7),
        influent__cod=cod,
        influent__rbcod=rbcod,
        influent__vfa=rbcod * number(0.0, 0.9),
        influent__tkn=tkn,
        influent__ammonia=tkn * number(0.5, 0.9),
        influent__nitrate=number(0.0, 3.0),
        influent__tss=tss,
        influent__vss=tss * number(0.6, 0.9),
        influent__alkalinity=number(40.0, 450.0),
        influent__temperature_average=average,
        influent__temperature_minimum=average - number(0.0, 5.0),
        permit__tp=number(0.05, 2.0),
        secondary__srt=number(4.0, 25.0),
        secondary__effluent_tss=number(2.0, 20.0),
        primary__capture=number(0.0, 0.7),
        bio__anaerobic_fraction=number(0.05, 0.2),
        bio__zone=draw(st.sampled_from(["existing tanks", "new tank"])),
        bio__layout=draw(st.sampled_from(LAYOUTS)),
        secondary__layout=draw(st.sampled_from(["aerobic", "anoxic-aerobic"])),
        solids__digestion=draw(st.sampled_from(["anaerobic", "none"])),
        permit__averaging=draw(st.sampled_from(["daily", "weekly", "monthly", "annual"])),
    )
