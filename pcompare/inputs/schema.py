"""Every input field, one row of ``reference_tables/input_fields.csv`` or of a coefficient table."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Final

from pcompare import tables
from pcompare.errors import TableError, shown
from pcompare.inputs import text_values
from pcompare.units import DASH, grouped, pretty, show, significant, to_base

COEFFICIENTS: Final = "Coefficients"
MONTHS: Final = 12
KINDS: Final = ("number", "integer", "text", "date", "choice")
NUMERIC: Final = ("number", "integer")
NO_WORK: Final = "JUDGEMENT"  # the source of what cites no work
# Text fields with a grammar of their own.
SEASON: Final = "permit.months"
PRODUCTS: Final = "chemical.products"
CARBON: Final = "bio.carbon_products"
OWN_PRODUCT: Final = "own_product"  # specified by the fields of that group


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
        return self.kind in NUMERIC

    def unit_in(self, system: str = "si") -> str:
        """Give the printed unit, empty for a pure number and for text."""
        return pretty(self.unit, system).strip(DASH)

    def needs(self, system: str = "si") -> str:
        """Say in words what the field takes."""
        if self.kind == "choice":
            return "one of " + ", ".join(self.choices)
        if self.kind == "date":
            return "a date as year-month-day, such as 2026-03-31"
        if self.name == SEASON:
            return "all, or month numbers such as 5, 6, 7-9"
        if self.name == PRODUCTS:
            return "names with commas between them, of " + ", ".join(products())
        if self.name == CARBON:
            return "names with commas between them, of " + ", ".join(carbon_products())
        if self.kind == "text":
            return "text"
        low, high = (written(show(x, self.unit, system)[0]) for x in self.hard)
        whole = "a whole number" if self.kind == "integer" else "a number"
        if math.isinf(self.hard[1]):
            return f"{whole}, {low} or more {self.unit_in(system)}".rstrip()
        return f"{whole} from {low} to {high} {self.unit_in(system)}".rstrip()

    def told(self, value: float, system: str = "si") -> str:
        """Write one of the field's values with its unit."""
        return f"{written(show(value, self.unit, system)[0])} {self.unit_in(system)}".rstrip()


def written(value: float) -> str:
    """Write a whole number in full and any other with up to four figures."""
    if abs(value) < 1e15 and value == int(value):
        return grouped(str(int(value)))
    text = f"{value:.4g}"
    return significant(value, 4) if "e" in text else grouped(text)


@functools.cache
def fields() -> dict[str, Field]:
    """Give every field by name, in the form's order, coefficients last."""
    found: dict[str, Field] = {}
    for row in tables.read("input_fields"):
        field = _field(row)
        if field.name in found:
            raise _fault(row, "field", f"'{field.name}' again", "a new name")
        found[field.name] = field
    for item in tables.coefficients().values():
        field = _coefficient(item)
        found[field.name] = field
    return found


@functools.cache
def sheets() -> dict[str, tuple[Field, ...]]:
    """Give the fields of each sheet, in order."""
    names = dict.fromkeys(field.sheet for field in fields().values())
    return {name: tuple(f for f in fields().values() if f.sheet == name) for name in names}


@functools.cache
def order() -> dict[str, int]:
    """Give the place of every field and sheet in the form, to put faults in reading order."""
    places: dict[str, int] = {}
    for number, field in enumerate(fields().values()):
        places.setdefault(field.sheet, number)
        places[field.name] = number
    return places


def products() -> tuple[str, ...]:
    """Name what can be dosed: salts with their numbers in the tables, and the user's own."""
    names = (row.text("product") for row in tables.read("products"))
    known = [name for name in names if f"{name}_metal_fraction" in tables.coefficients()]
    return (*known, OWN_PRODUCT)


def carbon_products() -> tuple[str, ...]:
    """Name the carbon that can be bought for storage."""
    known = tables.coefficients()
    names = (row.text("product") for row in tables.read("carbon_products"))
    return tuple(name for name in names if known[f"{name}_usable"].high > 0.0)


def _carbon_names(field: Field, text: str) -> str:
    """Take carbon products; one that organisms cannot store is refused with the reason."""
    for row in tables.read("carbon_products"):
        name = row.text("product")
        if name not in carbon_products() and name in text.lower().replace(" ", "_"):
            reason = row.text("usable_reason").rstrip(".")
            raise NotUnderstood(f"{name}: {reason[0].lower()}{reason[1:]}", field.needs())
    return text_values.names_of(text, carbon_products())


def monthly() -> tuple[Field, ...]:
    """Give the fields that take twelve values."""
    return tuple(field for field in fields().values() if field.monthly)


def _field(row: tables.Row) -> Field:
    numeric = row.text("kind") in NUMERIC
    text = row.text("value")
    usual = None
    if row.text("usual_low"):
        usual = (row.number("usual_low"), row.number("usual_high"))
    field = Field(
        name=row.text("field"),
        sheet=row.text("sheet"),
        label=row.text("label"),
        unit=row.text("unit"),
        kind=row.text("kind"),
        choices=tuple(filter(None, row.text("choices").split("|"))),
        hard=(row.number("hard_low", -math.inf), row.number("hard_high", math.inf)),
        usual=usual,
        default=row.number("value") if numeric and text else text or None,
        low=row.number("low") if row.text("low") else None,
        high=row.number("high") if row.text("high") else None,
        monthly=row.text("monthly") == "yes",
        status=row.text("status"),
        source=row.text("source"),
        locator=row.text("locator"),
        help=row.text("help"),
    )
    _check(row, field)
    return field


def _check(row: tables.Row, field: Field) -> None:
    """Refuse a row that contradicts itself."""
    if field.kind not in KINDS:
        raise _fault(row, "kind", f"'{field.kind}'", "one of " + ", ".join(KINDS))
    if field.status not in tables.STATUSES:
        raise _fault(row, "status", f"'{field.status}'", "one of " + ", ".join(tables.STATUSES))
    if field.source not in tables.sources():
        raise _fault(row, "source", f"'{field.source}'", "a key of SOURCES.csv")
    if field.kind == "choice" and field.default not in (None, *field.choices):
        raise _fault(row, "value", f"'{field.default}'", "one of its choices")
    if not field.numeric:
        return
    middle = field.default if isinstance(field.default, float) else None
    for column, rising in (
        ("hard_low", (field.hard[0], *(field.usual or ()), field.hard[1])),
        ("low", (field.hard[0], field.low, middle, field.high, field.hard[1])),
    ):
        numbers = [number for number in rising if number is not None]
        if numbers != sorted(numbers):
            raise _fault(row, column, str(numbers), "limits and values in rising order")
    if (field.low is None) != (field.high is None):
        raise _fault(row, "low", "one end of a range", "both or neither")


def _fault(row: tables.Row, column: str, found: str, needs: str) -> TableError:
    return TableError(row.file, row.line, column, found, needs)


def _coefficient(item: tables.Coefficient) -> Field:
    """Make the field that overrules one reference coefficient.

    Its sign stays: a positive one lies between a thousandth and a thousandfold of itself, so that
    no density or yield becomes zero; one whose range touches zero, or is negative, may reach it.
    """
    most = 1000.0 * max(abs(item.value), abs(item.low), abs(item.high), 0.001)
    low = item.low / 1000.0 if item.low > 0.0 else (-most if item.low < 0.0 else 0.0)
    high = 0.0 if item.low < 0.0 and item.high <= 0.0 else most
    spread = item.low < item.high
    return Field(
        name=f"coefficient.{item.name}",
        sheet=COEFFICIENTS,
        label=item.label,
        unit=item.unit,
        kind="number",
        choices=(),
        hard=(low, high),
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
        try:
            return text_values.day(value)
        except ValueError:
            found = shown(value) if isinstance(value, str) else text_values.described(value)
            raise NotUnderstood(found, field.needs()) from None
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise NotUnderstood(text_values.described(value), field.needs())
    if isinstance(value, float) and value.is_integer():
        value = int(value)  # a spreadsheet's 6.0
    text = text_values.clean(str(value))
    if not text:
        raise NotUnderstood("nothing", field.needs())
    if field.kind == "choice":
        return _choice(field, text)
    try:
        if field.name == SEASON:
            return text_values.month_numbers(text)
        if field.name == PRODUCTS:
            return text_values.names_of(text, products())
        if field.name == CARBON:
            return _carbon_names(field, text)
    except NotUnderstood:
        raise
    except ValueError:
        raise NotUnderstood(shown(text), field.needs()) from None
    return text


def _choice(field: Field, text: str) -> str:
    """Take a choice however it is capitalised."""
    for choice in field.choices:
        if choice.casefold() == text.casefold():
            return choice
    raise NotUnderstood(shown(text), field.needs())


def _number(field: Field, value: object, system: str) -> float:
    try:
        number = text_values.plain_number(value)
    except ValueError:
        raise NotUnderstood(text_values.found(value), field.needs(system)) from None
    base = to_base(number, field.unit, system)
    low, high = field.hard
    if system != "si":
        # A limit that went to the other units and back may miss itself by a rounding.
        base = next((x for x in field.hard if math.isclose(base, x, rel_tol=1e-9)), base)
    if not low <= base <= high:
        printed = f"{_typed(number)} {field.unit_in(system)}".rstrip()
        raise NotUnderstood(printed, field.needs(system))
    if field.kind == "integer" and base != int(base):
        raise NotUnderstood(_typed(number), field.needs(system))
    return base


def _typed(number: float) -> str:
    """Write a number as the user typed it, thousands parted."""
    return written(number) if abs(number) < 1e15 and number.is_integer() else f"{number:.12g}"
