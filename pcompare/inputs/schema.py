"""Every input field, one row of ``reference_tables/input_fields.csv`` or of a coefficient table."""

from __future__ import annotations

import datetime
import functools
import re
from dataclasses import dataclass

from pcompare import tables
from pcompare.errors import shown
from pcompare.units import grouped, pretty, show, significant

COEFFICIENTS = "Coefficients"
MONTHS = 12
TEXT_LIMIT = 200  # characters of user text that are kept
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
KINDS = ("number", "integer", "text", "date", "choice")


class NotUnderstood(ValueError):
    """A value that cannot be taken: what was found and what is needed."""

    def __init__(self, found: str, needs: str) -> None:
        self.found, self.needs = found, needs
        super().__init__(f"found {found}; needs {needs}")


@dataclass(frozen=True, kw_only=True, slots=True)
class Field:
    """One input field: where it stands, what it takes, its default and where that comes from."""

    name: str
    sheet: str
    label: str
    unit: str
    kind: str
    choices: tuple[str, ...]
    hard: tuple[float, float]
    usual: tuple[float, float] | None
    default: str | float | None  # None: must be given
    low: float | None
    high: float | None
    monthly: bool
    status: str
    source: str
    locator: str
    help: str

    @property
    def numeric(self) -> bool:
        """Whether the field holds a number."""
        return self.kind in ("number", "integer")

    def needs(self, system: str = "si") -> str:
        """Say in words what the field takes."""
        if self.kind == "choice":
            return "one of " + ", ".join(self.choices)
        if self.kind == "date":
            return "a date as year-month-day, such as 2026-03-31"
        if self.kind == "text":
            return "text"
        low, high = (show(x, self.unit, system)[0] for x in self.hard)
        whole = "a whole number" if self.kind == "integer" else "a number"
        unit = pretty(self.unit, system).strip("–")
        return f"{whole} from {_limit(low)} to {_limit(high)} {unit}".rstrip()


def _limit(value: float) -> str:
    if value == int(value) and abs(value) < 1e15:
        return grouped(str(int(value)))
    return significant(value, 4)


@functools.cache
def fields() -> dict[str, Field]:
    """Give every field by name, in the form's order, coefficients last."""
    found: dict[str, Field] = {}
    for row in tables.read("input_fields"):
        field = _field(row)
        found[field.name] = field
    for item in tables.coefficients().values():
        field = _coefficient(item)
        found[field.name] = field
    return found


def sheets() -> dict[str, tuple[Field, ...]]:
    """Give the fields of each sheet, in order."""
    names = dict.fromkeys(field.sheet for field in fields().values())
    return {name: tuple(f for f in fields().values() if f.sheet == name) for name in names}


def _field(row: tables.Row) -> Field:
    kind = row.text("kind")
    numeric = kind in ("number", "integer")
    text = row.text("value")
    default: str | float | None = text or None
    if numeric and text:
        default = row.number("value")
    usual = None
    if row.text("usual_low"):
        usual = (row.number("usual_low"), row.number("usual_high"))
    return Field(
        name=row.text("field"),
        sheet=row.text("sheet"),
        label=row.text("label"),
        unit=row.text("unit"),
        kind=kind,
        choices=tuple(filter(None, row.text("choices").split("|"))),
        hard=(row.number("hard_low", float("-inf")), row.number("hard_high", float("inf"))),
        usual=usual,
        default=default,
        low=row.number("low") if row.text("low") else None,
        high=row.number("high") if row.text("high") else None,
        monthly=row.text("monthly") == "yes",
        status=row.text("status"),
        source=row.text("source"),
        locator=row.text("locator"),
        help=row.text("help"),
    )


def _coefficient(item: tables.Coefficient) -> Field:
    """Make the field that overrules one reference coefficient; its sign must stay."""
    wide = 1e3 * max(abs(item.value), abs(item.low), abs(item.high), 1.0)
    spread = item.low < item.high
    return Field(
        name=f"coefficient.{item.name}",
        sheet=COEFFICIENTS,
        label=item.label,
        unit=item.unit,
        kind="number",
        choices=(),
        hard=(min(0.0, -wide if item.low < 0.0 else 0.0), wide if item.high > 0.0 else 0.0),
        usual=(item.low, item.high) if spread else None,
        default=item.value,
        low=item.low if spread else None,
        high=item.high if spread else None,
        monthly=False,
        status=item.status,
        source=item.source,
        locator=item.locator,
        help=item.note,
    )


def understood(field: Field, value: object, system: str = "si") -> str | float:
    """Take one value as a cell, TOML or ``--set`` gives it; numbers come back in base units.

    Raises
    ------
    NotUnderstood
        What was found and what is needed, in the user's units.
    """
    if field.numeric:
        return _number(field, value, system)
    if field.kind == "date":
        return _date(field, value)
    if not isinstance(value, str):
        raise NotUnderstood(shown(value), field.needs())
    text = clean(value)
    if field.kind == "choice" and text not in field.choices:
        raise NotUnderstood(shown(value), field.needs())
    return text


def clean(text: str) -> str:
    """Strip control characters and cut very long text."""
    kept = "".join(c if c.isprintable() else " " for c in text)
    return " ".join(kept.split())[:TEXT_LIMIT]


def _date(field: Field, value: object) -> str:
    if isinstance(value, datetime.datetime):
        value = value.date()
    if isinstance(value, datetime.date):
        return value.isoformat()
    try:
        return datetime.date.fromisoformat(str(value).strip()).isoformat()
    except ValueError:
        raise NotUnderstood(shown(value), field.needs()) from None


def plain_number(value: object) -> float:
    """Read a number strictly: no text around it, no comma, not infinite, not a logical value.

    Raises
    ------
    ValueError
        Anything else.
    """
    if isinstance(value, bool) or value is None:
        raise ValueError
    if isinstance(value, int | float):
        number = float(value)
    else:
        text = str(value).strip().replace("\N{MINUS SIGN}", "-")
        if not NUMBER.fullmatch(text):
            raise ValueError
        number = float(text)
    if number != number or abs(number) > 1e300:
        raise ValueError
    return number


def _number(field: Field, value: object, system: str) -> float:
    from pcompare.units import to_base

    try:
        base = to_base(plain_number(value), field.unit, system)
    except (ValueError, OverflowError):
        raise NotUnderstood(_found(value), field.needs(system)) from None
    # Converted limits may miss by a rounding.
    room = 1e-9 * max(abs(x) for x in field.hard)
    if not field.hard[0] - room <= base <= field.hard[1] + room:
        found = f"{shown(value)} {pretty(field.unit, system).strip('–')}".rstrip()
        raise NotUnderstood(found, field.needs(system))
    base = min(max(base, field.hard[0]), field.hard[1])
    if field.kind == "integer" and base != int(base):
        raise NotUnderstood(shown(value), field.needs(system))
    return base


def _found(value: object) -> str:
    text = str(value)
    hint = ""
    if isinstance(value, str) and NUMBER.fullmatch(text.strip().replace(",", ".", 1)):
        hint = " (a decimal comma; write a point)"
    return shown(value) + hint
