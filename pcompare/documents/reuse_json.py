"""The key ``reuse`` of ``results.json``: limits, verdicts, droughts, room and cost of salt."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

from pcompare.findings import ReusePicture, Sweep


def reuse(picture: ReusePicture) -> dict[str, Any]:
    """Give the picture of salt downstream as plain dictionaries; what is undefined is null.

    Parameters
    ----------
    picture : ReusePicture

    Returns
    -------
    dict
    """
    return {
        "form": picture.form,
        "normal": _plain(picture.normal),
        "drought": _plain(picture.drought),
        "water": {
            name: {key: _plain(one) for key, one in waters.items()}
            for name, waters in picture.water.items()
        },
        "limits": {limit.key: {**_plain(limit), "own": limit.own} for limit in picture.limits},
        "governing": list(picture.governing),
        "verdicts": {
            name: {key: _plain(verdict) for key, verdict in verdicts.items()}
            for name, verdicts in picture.verdicts.items()
        },
        "passes": {
            name: {when: picture.passes(name, when) for when in ("effluent", "normal", "drought")}
            for name in picture.verdicts
        },
        "infiltration": {
            name: {"normal": normal, "drought": drought}
            for name, (normal, drought) in picture.infiltration.items()
        },
        "crops": {
            name: {crop: [_number(y) for y in yields] for crop, yields in crops.items()}
            for name, crops in picture.crops.items()
        },
        "curves": {name: _sweep(curve) for name, curve in picture.curves.items()},
        "approach": _sweep(picture.approach),
        "salt_room": [_plain(room) for room in picture.rooms],
        "salt_cost": {name: _plain(cost) for name, cost in picture.costs.items()},
        "unmeasured": _number(picture.unmeasured),
        "unmeasured_share": _number(picture.unmeasured_share),
        "notes": list(picture.notes),
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _plain(record: Any) -> dict[str, Any]:
    """Give a record of numbers, words and flags by its fields."""
    found = {}
    for field in fields(record):
        value = getattr(record, field.name)
        found[field.name] = value if isinstance(value, str | bool) else _number(value)
    return found


def _sweep(sweep: Sweep) -> dict[str, Any]:
    return {
        "label": sweep.label,
        "unit": sweep.unit,
        "points": list(sweep.points),
        "values": {
            name: {key: [_number(v) for v in row] for key, row in rows.items()}
            for name, rows in sweep.values.items()
        },
        "keeps_every_limit": {name: list(row) for name, row in sweep.feasible.items()},
    }
