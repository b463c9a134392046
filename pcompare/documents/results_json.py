"""``results.json``: every line of a run, for other programs. Base units, sorted keys, no clock."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from pcompare.documents.reuse_json import reuse
from pcompare.findings import (
    CashFlow,
    Dossier,
    FieldRow,
    Money,
)
from pcompare.records import Check, Line

FORMAT = "pcompare results 1"


def results(dossier: Dossier) -> dict[str, Any]:
    """Give the run as plain dictionaries, lists, text, numbers and nulls.

    Parameters
    ----------
    dossier : Dossier

    Returns
    -------
    dict
        ``format``, ``provenance``, ``inputs``, ``lines``, ``strategies``, ``comparison``,
        ``reuse`` and ``money``. A number that is undefined is null, with the reason beside it.
    """
    compared, run = dossier.comparison, dossier.provenance
    return {
        "format": FORMAT,
        "provenance": {
            "version": run.version,
            "run_id": run.run_id,
            "input_hash": run.input_hash,
            "seed": run.seed,
            "draws": run.draws,
            "libraries": dict(run.libraries),
        },
        "inputs": {row.name: _field(row) for row in dossier.fields},
        "lines": {line.key: _line(line) for line in all_lines(dossier)},
        "strategies": {
            name: {
                "label": result.label,
                "kind": result.kind,
                "product": result.product,
                "meets_permit": result.meets_permit,
                "checks": [_check(check) for check in result.checks],
            }
            for name, result in compared.strategies.items()
        },
        "money": _money(dossier.money),
        "comparison": {
            "ranking": list(compared.ranking),
            "reference": compared.reference,
            "recommendation": compared.recommendation,
            "what_would_change_it": list(compared.what_would_change_it),
            "notes": list(compared.notes),
        },
        "reuse": reuse(dossier.reuse),
        "risk": _risk(dossier),
    }


def _risk(dossier: Dossier) -> dict[str, Any]:
    """Give what the draws, break-evens, maps and crossings say."""
    study = dossier.study
    return {
        "odds": {name: _record(odds) for name, odds in study.odds.items()},
        "none_keeps": _record(study.none_keeps),
        "gaps": [_record(gap) for gap in study.gaps],
        "drivers": [_record(driver) for driver in study.drivers],
        "information": _record(study.information),
        "noise": _number(study.noise),
        "correlated": study.correlated,
        "break_evens": [_record(even) for even in dossier.break_evens],
        "maps": [_record(one) for one in dossier.maps],
        "crossings": [_record(one) for one in dossier.crossings],
        "estimate_class": {
            name: list(map(_number, ends)) for name, ends in dossier.estimate_class.items()
        },
    }


def _record(value: Any) -> Any:
    """Turn a record into dictionaries and lists, with null for what is no number."""
    if is_dataclass(value):
        return {entry.name: _record(getattr(value, entry.name)) for entry in fields(value)}
    if isinstance(value, tuple):
        return [_record(part) for part in value]
    return _number(value) if isinstance(value, float) else value


def document(dossier: Dossier) -> bytes:
    """Give the run as the bytes of ``results.json``: UTF-8, sorted, the same for the same run.

    Each entry of a part stands on a row of its own, so that two runs can be compared by rows.
    """
    parts = sorted(results(dossier).items())
    text = "{\n" + ",\n".join(f"{_text(name)}: {_rows(part)}" for name, part in parts) + "\n}\n"
    # Text that is no valid Unicode (from a command line) becomes JSON's own escapes.
    return text.encode("utf-8", "backslashreplace")


def _rows(part: Any) -> str:
    if not isinstance(part, dict) or not part:
        return _text(part)
    rows = (f" {_text(name)}: {_text(value)}" for name, value in sorted(part.items()))
    return "{\n" + ",\n".join(rows) + "\n}"


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, sort_keys=True)


def all_lines(dossier: Dossier) -> Iterator[Line]:
    """List every line of a run: of the plant, each strategy, its products, and each salt."""
    yield from dossier.comparison.basis.values()
    yield from dossier.comparison.difference.values()
    for result in dossier.comparison.strategies.values():
        yield from result.lines.values()
        for lines in (*result.others.values(), *result.carbons.values()):
            yield from lines.values()
    for lines in dossier.salts.values():
        yield from lines.values()


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)


def _money(money: Money) -> dict[str, Any]:
    """Give what stands beside the ranking: other rates, payments, the bill, other ways."""
    return {
        "discount_rates": list(money.rates),
        "present_worth": {n: [*map(_number, row)] for n, row in money.worth.items()},
        "capital_items": {n: dict(row) for n, row in money.built.items()},
        "cash_flow": {n: _cash(flow) for n, flow in money.cash.items()},
        "financing": {n: _lines(row) for n, row in money.financing.items()},
        "options": {n: _lines(row) for n, row in money.options.items()},
        "payback": _lines(money.payback),
        "remarks": list(money.remarks),
    }


def _lines(found: Mapping[str, Line]) -> dict[str, Any]:
    return {quantity: _line(line) for quantity, line in found.items()}


def _cash(flow: CashFlow) -> dict[str, Any]:
    """Give the payments of one strategy as columns beside the years."""
    return {
        "years": list(flow.years),
        "construction": list(flow.construction),
        "replacement": list(flow.replacement),
        "operation": list(flow.operation),
        "salvage": list(flow.salvage),
    }


def _field(row: FieldRow) -> dict[str, Any]:
    if isinstance(row.value, str):
        return {"value": row.value, "unit": row.unit, "origin": row.origin}
    several = isinstance(row.value, tuple)
    numbers = [_number(v) for v in (row.value if isinstance(row.value, tuple) else (row.value,))]
    found: dict[str, Any] = {
        "value": numbers if several else numbers[0],
        "unit": row.unit,
        "origin": row.origin,
    }
    if None in numbers:
        found["reason"] = "not a number"
    return found


def _line(line: Line) -> dict[str, Any]:
    found: dict[str, Any] = {
        "label": line.label,
        "value": _number(line.value),
        "unit": line.unit,
        "equation": line.equation,
        "sources": list(line.sources),
        "low": _number(line.low),
        "middle": _number(line.middle),
        "high": _number(line.high),
        "months": [_number(month) for month in line.months],
        "reduced_by": line.reduced_by,
        "solved": line.solved,
    }
    if found["value"] is None:
        found["reason"] = line.reason or "not a number"
    return found


def _check(check: Check) -> dict[str, Any]:
    found: dict[str, Any] = {
        "key": check.key,
        "label": check.label,
        "needed": _number(check.needed),
        "found": _number(check.found),
        "unit": check.unit,
        "sense": check.sense,
        "met": bool(check.met),
    }
    if found["needed"] is None or found["found"] is None:
        found["reason"] = "not a number"
    return found
