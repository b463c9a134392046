"""How a field varies and which fields move together, as the user says it."""

from __future__ import annotations

from pcompare import shapes
from pcompare.errors import shown
from pcompare.inputs import schema, text_values
from pcompare.inputs.draft import Draft

MOST_PAIRS = 400  # of correlated fields in one case
NEEDS_SHAPE = "one of " + ", ".join(shapes.SHAPES)
NEEDS_RANK = "a rank correlation above −1 and below 1"


def take_shape(draft: Draft, name: str, place: str, value: object) -> None:
    """Take the shape of one field's range."""
    field = schema.fields()[name]
    where = f"{place}, shape ({field.label})"
    found = value.strip().lower() if isinstance(value, str) else value
    if found not in shapes.SHAPES:
        told = shown(value) if isinstance(value, str) else text_values.described(value)
        draft.fault(name, where, told, NEEDS_SHAPE)
    elif not field.numeric:
        draft.fault(name, where, "a shape", "none: this field is no number")
    else:
        draft.shapes[name] = str(found)
        draft.shape_places[name] = where


def take_pair(draft: Draft, place: str, first: object, second: object, rank: object) -> None:
    """Take the rank correlation of two fields."""
    names = []
    for value in (first, second):
        name = str(value).strip() if isinstance(value, str) else ""
        if not name:
            draft.fault("", place, text_values.described(value), "two field names and a number")
            return
        if not draft.known(name, place):
            return
        names.append(name)
    if not _varies(draft, place, names):
        return
    try:
        number = text_values.plain_number(rank)
    except ValueError:
        draft.fault("", place, text_values.found(rank), NEEDS_RANK)
        return
    if not -1.0 < number < 1.0:
        draft.fault("", place, f"{number:g}", NEEDS_RANK)
        return
    pair = (min(names), max(names))
    if pair in draft.pairs:
        draft.fault("", place, f"{names[0]} with {names[1]} again", "each pair once")
    elif len(draft.pairs) >= MOST_PAIRS:
        draft.fault("", place, f"more than {MOST_PAIRS} pairs", "fewer")
    else:
        draft.pairs[pair] = number
        draft.pair_places[pair] = place


def _varies(draft: Draft, place: str, names: list[str]) -> bool:
    """Refuse a field with itself, and one that is no number."""
    if names[0] == names[1]:
        draft.fault("", place, f"{names[0]} with itself", "two different fields")
        return False
    for name in names:
        if not schema.fields()[name].numeric:
            draft.fault("", place, f"{name}, which is no number", "fields with numbers")
            return False
    return True


def check(draft: Draft) -> None:
    """Refuse shapes that reach where no value may lie, and correlations that cannot be."""
    for name, shape in draft.shapes.items():
        if shape == shapes.LOGNORMAL and name not in draft.failed:
            _lognormal(draft, name)
    if not shapes.can_hold(draft.pairs):
        _contradiction(draft)


def _lognormal(draft: Draft, name: str) -> None:
    """Hold the tails of a lognormal field, whose ends are P10 and P90, to its limits."""
    field = schema.fields()[name]
    ends = draft.ends(field)
    if ends is None:
        return
    if ends[0] <= 0.0:
        found = f"lognormal from a low of {field.told(ends[0], draft.system)}"
        needs = "a low above zero, or another shape"
        draft.fault(name, draft.shape_places[name], found, needs)
        return
    reached = shapes.farthest(*ends)
    if reached[0] < field.hard[0] or reached[1] > field.hard[1]:
        low, high = (field.told(x, draft.system) for x in reached)
        draft.fault(
            name,
            draft.shape_places[name],
            f"lognormal, which here reaches from {low} to {high}",
            f"{field.needs(draft.system)} in every draw",
            "Narrow the range or take a shape that ends",
        )


def _contradiction(draft: Draft) -> None:
    found = shapes.contradiction(draft.pairs)
    told = ", ".join(f"{a} with {b} {rank:g}" for (a, b), rank in found.items())
    places = ", ".join(draft.pair_places[pair] for pair in found)
    draft.fault(
        "",
        places,
        f"{told}, which cannot hold together",
        "rank correlations whose matrix is positive definite, a pair not given counting as 0",
        "Bring one of them nearer to what the others imply, or give the pair that is missing",
    )


def remarks(draft: Draft) -> list[str]:
    """Say what was given to no effect: a shape or a correlation of a field without a range."""
    asked = {*draft.shape_places, *(name for pair in draft.pair_places for name in pair)}
    varied = {name for name in asked if _has_range(draft, schema.fields()[name])}
    still = [where for name, where in draft.shape_places.items() if name not in varied]
    found = [f"{where}: the field has no range, so its shape has no effect" for where in still]
    for pair, place in draft.pair_places.items():
        fixed = [name for name in pair if name not in varied]
        if fixed:
            found.append(f"{place}: {fixed[0]} has no range, so the pair has no effect")
    return found


def _has_range(draft: Draft, field: schema.Field) -> bool:
    if not field.numeric:
        return False
    ends = draft.ends(field)
    return ends is not None and ends[0] < ends[1]
