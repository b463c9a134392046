"""What a cell, a TOML value or ``--set`` may hold, read strictly.

Python's own ``float()`` takes full-width digits, underscores, NaN, infinity and True; a planning
tool must not. Whatever is refused is told in the user's words.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import date, datetime, time
from typing import Final

from pcompare.errors import shown

TEXT_LIMIT: Final = 200  # characters of user text that are kept
LARGEST: Final = 1e300  # beyond it a number is a slip, and arithmetic overflows
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
SPACES = re.compile(r"[ \N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}]+")
MINUS_SIGN = "\N{MINUS SIGN}"


def plain_number(value: object) -> float:
    """Read a number strictly: nothing around it, no comma, finite, and not a logical value.

    Raises
    ------
    ValueError
        Anything else.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError
    if isinstance(value, str):
        value = value.strip().replace(MINUS_SIGN, "-")
        if not NUMBER.fullmatch(value):
            raise ValueError
    try:
        number = float(value)
    except OverflowError:
        raise ValueError from None
    if not abs(number) <= LARGEST:  # not a number fails this too
        raise ValueError
    return number


def found(value: object) -> str:
    """Say what was found instead of a number, with a hint where the slip is a common one."""
    if isinstance(value, str):
        return shown(value) + _hint(value.strip())
    return described(value)


def _hint(text: str) -> str:
    closed = SPACES.sub("", text)
    if NUMBER.fullmatch(text):
        return " (too large)"
    if NUMBER.fullmatch(text.replace(",", ".", 1)) or NUMBER.fullmatch(text.replace(",", "")):
        return " (a comma; write a decimal point, and nothing between thousands)"
    if NUMBER.fullmatch(closed.replace("_", "")):
        return " (write the digits without anything between them)"
    if re.match(r"[+-]?\.?\d", text):
        return " (write the number alone; its unit is fixed)" if text.isascii() else ""
    return ""


def described(value: object) -> str:
    """Name a value of any kind in words."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return f"the logical value {str(value).lower()}"
    if isinstance(value, datetime):
        midnight = (value.hour, value.minute, value.second, value.microsecond) == (0, 0, 0, 0)
        return f"the date {value.date() if midnight else value.isoformat(' ')}"
    if isinstance(value, date | time):
        return f"the date {value}" if isinstance(value, date) else f"the time {value}"
    if isinstance(value, list):
        return f"a list of {len(value)} values"
    if isinstance(value, dict):
        return "a group of values"
    if isinstance(value, float) and value != value:
        return "no number (NaN)"
    if isinstance(value, int) and abs(value) > LARGEST:
        return "a whole number of more than 300 digits"
    return shown(value)


def clean(text: str) -> str:
    """Give text on one line, without control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def short(text: str) -> str:
    """Give text on one line, cut so that a message stays readable."""
    text = clean(text)
    return text if len(text) <= TEXT_LIMIT else text[: TEXT_LIMIT - 1] + "…"


def day(value: object) -> str:
    """Read a date, from a date cell or written as year-month-day.

    Raises
    ------
    ValueError
        Anything else.
    """
    if isinstance(value, datetime):
        value = value.date()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value.strip(), re.ASCII):
        return date.fromisoformat(value.strip()).isoformat()
    raise ValueError


def month_numbers(text: str) -> str:
    """Read the months of a season: ``all``, or numbers such as ``5, 6, 7-9``.

    Raises
    ------
    ValueError
        A number that is no month, a range that falls, or something else.
    """
    if text.casefold() == "all":
        return "all"
    months: set[int] = set()
    for part in text.split(","):
        ends = re.fullmatch(r"\s*(\d{1,2})\s*(?:[-–]\s*(\d{1,2})\s*)?", part, re.ASCII)
        if ends is None:
            raise ValueError
        first, last = int(ends[1]), int(ends[2] or ends[1])
        if not 1 <= first <= last <= 12:
            raise ValueError
        months.update(range(first, last + 1))
    return "all" if len(months) == 12 else ", ".join(map(str, sorted(months)))


def names_of(text: str, known: Collection[str]) -> str:
    """Read names with commas between them, each known and given once.

    Raises
    ------
    ValueError
        No name, an unknown one, or one given twice.
    """
    names = ["_".join(part.lower().split()) for part in text.split(",")]
    if not set(names) <= set(known) or len(set(names)) < len(names):
        raise ValueError
    return ", ".join(names)
