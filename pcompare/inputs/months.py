"""Months that follow from others: concentrations from the load or the strength of the sewage.

Twelve values of its own always rule. Where a concentration has one value for the year, and the
sheet of months says how load or strength changes, it becomes twelve.
"""

from __future__ import annotations

from pcompare.inputs import schema
from pcompare.inputs.draft import Draft

FLOW, LOAD, STRENGTH = "flow.average", "flow.load_share", "flow.strength"
AVERAGE, MINIMUM = "influent.temperature_average", "influent.temperature_minimum"
ROOM = 0.02  # by which twelve shares may miss a mean of 1 without a remark


def coldest(draft: Draft) -> None:
    """Take the coldest month from twelve temperatures where it is not given."""
    months = draft.given.get(AVERAGE)
    if isinstance(months, tuple) and not {MINIMUM} & (draft.given.keys() | draft.failed):
        draft.given[MINIMUM] = min(months)
        draft.places[MINIMUM] = f"coldest month of {draft.places[AVERAGE]}"


def spread(draft: Draft) -> None:
    """Give each concentration its months, from the load or the strength of each."""
    if draft.failed.intersection((FLOW, LOAD, STRENGTH)):
        return
    changing = [name for name in (LOAD, STRENGTH) if set(draft.numbers(name)) != {1.0}]
    if not changing:
        return
    if len(changing) == 2:
        found = f"months of their own, beside those of {draft.where(STRENGTH)}"
        draft.fault(LOAD, draft.where(LOAD), found, "one of the two: the load, or the strength")
        return
    (name,) = changing
    if len(draft.numbers(name)) == 1:
        draft.fault(name, draft.where(name), "one value for the year", "twelve months, or 1")
        return
    if abs(draft.mean(name) - 1.0) > ROOM:
        draft.remarks.append(
            f"{draft.where(name)}: the twelve shares have a mean of {draft.mean(name):.3g}, so "
            "the year's load is not that of the values for the year"
        )
    shares = _strength(draft, name)
    for field in schema.monthly():
        value = draft.given.get(field.name)
        if (
            _follows(field)
            and isinstance(value, float)
            and value
            and field.name not in draft.failed
        ):
            draft.yearly[field.name] = value
            draft.given[field.name] = tuple(value * share for share in shares)


def _strength(draft: Draft, name: str) -> tuple[float, ...]:
    """Give the concentration of each month over that of the year."""
    shares = draft.numbers(name)
    if name == STRENGTH:
        return shares
    flows = draft.numbers(FLOW)
    if len(flows) == 1:
        return shares
    middle = draft.mean(FLOW)
    return tuple(share * middle / flow for share, flow in zip(shares, flows, strict=True))


def _follows(field: schema.Field) -> bool:
    """Tell whether a field is a concentration of the sewage."""
    return field.name.startswith("influent.") and field.unit.startswith("mg")
