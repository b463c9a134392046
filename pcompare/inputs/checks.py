"""Checks across fields: what cannot be true together."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pcompare.errors import Fault
from pcompare.inputs import schema
from pcompare.units import pretty, show, significant

if TYPE_CHECKING:
    from pcompare.inputs.reader import Draft

# The first must not exceed the sum of the others' names: (part, whole).
NOT_ABOVE = (
    ("influent.orthophosphate", "influent.tp"),
    ("influent.vfa", "influent.rbcod"),
    ("influent.rbcod", "influent.cod"),
    ("influent.bod5", "influent.cod"),
    ("influent.vss", "influent.tss"),
    ("influent.ammonia", "influent.tkn"),
    ("influent.temperature_minimum", "influent.temperature_average"),
    ("permit.tp", "influent.tp"),
)


def faults(draft: Draft) -> Iterator[Fault]:
    """Find every contradiction among values that are each valid alone."""
    for part, whole in NOT_ABOVE:
        if _least(draft, whole) < _most_beside(draft, part, whole):
            yield _above(draft, part, whole)
    yield from _phosphorus(draft)
    yield from _carbon(draft)
    yield from _zones(draft)
    yield from _ranges(draft)


def _numbers(draft: Draft, name: str) -> tuple[float, ...]:
    value = draft.given[name]
    assert not isinstance(value, str)
    return value if isinstance(value, tuple) else (value,)


def _least(draft: Draft, name: str) -> float:
    return min(_numbers(draft, name))


def _most_beside(draft: Draft, part: str, whole: str) -> float:
    """Largest value of the part, or where both are monthly, the largest excess in one month."""
    parts, wholes = _numbers(draft, part), _numbers(draft, whole)
    if len(parts) == len(wholes) > 1:
        excess = max(p - w for p, w in zip(parts, wholes, strict=True))
        return min(wholes) + excess
    return max(parts) if part != "influent.temperature_minimum" else min(parts)


def _told(draft: Draft, name: str, value: float) -> str:
    unit = schema.fields()[name].unit
    number, printed = show(value, unit, draft.system)
    return f"{significant(number, 4)} {printed}"


def _place(draft: Draft, name: str) -> str:
    return f"{draft.places.get(name, name)} ({schema.fields()[name].label})"


def _above(draft: Draft, part: str, whole: str) -> Fault:
    label = schema.fields()[whole].label
    found = _told(draft, part, max(_numbers(draft, part)))
    other = _told(draft, whole, _least(draft, whole))
    return Fault(
        where=_place(draft, part),
        found=f"{found}, above {label[0].lower()}{label[1:]} {other} in "
        f"{draft.places.get(whole, whole)}",
        needs="a value not above it",
    )


def _phosphorus(draft: Draft) -> Iterator[Fault]:
    soluble = max(_numbers(draft, "influent.orthophosphate")) + max(
        _numbers(draft, "influent.nonreactive_p")
    )
    if soluble > _least(draft, "influent.tp") >= max(_numbers(draft, "influent.orthophosphate")):
        yield Fault(
            where=_place(draft, "influent.nonreactive_p"),
            found=f"{significant(soluble, 4)} mg P/L together with orthophosphate, above total "
            "phosphorus",
            needs="both together not above it",
        )


def _carbon(draft: Draft) -> Iterator[Fault]:
    """Soluble inert and readily biodegradable COD must leave room for particles."""
    inert = _numbers(draft, "coefficient.soluble_inert_fraction")[0]
    particulate = _numbers(draft, "coefficient.particulate_inert_fraction")[0]
    cod, rbcod = _least(draft, "influent.cod"), max(_numbers(draft, "influent.rbcod"))
    if rbcod <= cod < (inert + particulate) * cod + rbcod:
        unit = pretty("mg COD/L")
        yield Fault(
            where=_place(draft, "influent.rbcod"),
            found=f"{significant(rbcod, 4)} {unit}, which with the inert shares exceeds the COD "
            f"of {significant(cod, 4)} {unit}",
            needs="fractions that sum to at most the COD",
        )


def _zones(draft: Draft) -> Iterator[Fault]:
    unaerated = (
        _numbers(draft, "bio.anaerobic_fraction")[0] + _numbers(draft, "bio.anoxic_fraction")[0]
    )
    if unaerated > 0.8:
        yield Fault(
            where=_place(draft, "bio.anaerobic_fraction"),
            found=f"{significant(unaerated, 3)} together with the anoxic share",
            needs="at most 0.8 of the sludge unaerated",
        )


def _ranges(draft: Draft) -> Iterator[Fault]:
    for name, (low, high) in draft.ranges.items():
        numbers = _numbers(draft, name)
        middle = sum(numbers) / len(numbers)
        if not low <= middle <= high:
            yield Fault(
                where=_place(draft, name),
                found=f"{_told(draft, name, middle)} outside its range {significant(low, 4)} to "
                f"{significant(high, 4)}",
                needs="low, value and high in rising order",
            )
