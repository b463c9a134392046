"""Read a case from TOML: ``group.name`` fields, ``months``, ``range``, ``shape``, ``note``.

Which fields move together stands in ``correlation = [["a.b", "c.d", 0.5], …]``.

Python's reader tells values but not where they stood, so the lines are found in the text beside it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from pcompare.errors import Fault, InputError
from pcompare.inputs import chance, schema, text_values
from pcompare.inputs.draft import Draft

SPECIAL = ("months", "range", "shape", "note")
CORRELATION = "correlation"
# Each looks at a letter once: a line may be a million of them.
TABLE = re.compile(r"\[([^\[\]]+)\]\s*(#.*)?")
KEY = re.compile(r"[A-Za-z0-9_.\"' \t-]+")
MOST_DOTS = 5000  # in one line: the reader's time grows with the square of a key's parts
DEEPEST = 8  # groups within groups; a field stands three deep at most
LONG_TEXT = re.compile(r'"""|\'\'\'')


def take(draft: Draft, data: bytes, name: str) -> None:
    """Take every field of a TOML document into ``draft``.

    Raises
    ------
    InputError
        Text that is not TOML.
    """
    try:
        text = data.decode("utf-8-sig")
        _check_dots(text, name)
        document = tomllib.loads(text)
    except UnicodeDecodeError:
        raise _not_toml(name, "text that is not UTF-8", "a TOML file saved as UTF-8") from None
    except RecursionError:
        raise _not_toml(name, "brackets nested too deeply", "a TOML file of fields") from None
    except ValueError as error:  # tomllib's own error is one, and so is that of a huge integer
        found = f"text that is not TOML: {text_values.clean(str(error))}"
        raise _not_toml(name, found, "lines such as tp = 6.5 under [influent]") from None
    lines = lines_of(text)
    fields = dict(_flat(document))
    # Months come last: twelve values rule over the one for the year, in whatever order they stand.
    for key, value in sorted(fields.items(), key=lambda item: item[0].startswith("months.")):
        place = f"{key}, line {lines[key]}" if key in lines else key
        head, _, rest = key.partition(".")
        if key == CORRELATION:
            _take_correlation(draft, place, value)
        elif head in SPECIAL:
            _take_special(draft, head, rest, place, value)
        elif draft.known(key, place):
            draft.take(key, place, value)


def _not_toml(name: str, found: str, needs: str) -> InputError:
    return InputError(name, [Fault(where=name, found=found, needs=needs)])


def _check_dots(text: str, name: str) -> None:
    for number, line in enumerate(text.split("\n"), 1):
        dots = line.count(".")
        if dots > MOST_DOTS:
            found = f"{dots} points in one line"
            needs = f"at most {MOST_DOTS}"
            fault = Fault(where=f"{name}, line {number}", found=found, needs=needs)
            raise InputError(name, [fault])


def lines_of(text: str) -> dict[str, int]:
    """Find the line of every dotted key, and of the first below every group."""
    found: dict[str, int] = {}
    groups: dict[str, int] = {}
    table = ""
    inside = False  # a text over several lines
    for number, line in enumerate(text.split("\n"), 1):
        opens = len(LONG_TEXT.findall(line)) % 2 == 1
        if not inside:
            header = TABLE.fullmatch(line.strip())
            before, equals, _ = line.partition("=")
            if header:
                table = _joined(header[1])
            elif equals and KEY.fullmatch(before):
                key = _joined(before, table)
                found.setdefault(key, number)
                parts = key.split(".", DEEPEST)[:DEEPEST]
                for depth in range(1, len(parts) + 1):
                    groups.setdefault(".".join(parts[:depth]), number)
        inside ^= opens
    return groups | found


def _joined(key: str, table: str = "") -> str:
    parts = [part.strip().strip("\"'") for part in key.split(".")]
    return ".".join(filter(None, (table, *parts)))


def _flat(content: Mapping[str, Any], group: str = "", depth: int = 1) -> Iterator[tuple[str, Any]]:
    """Give nested tables as dotted names, down to the fields."""
    for name, value in content.items():
        dotted = f"{group}.{name}" if group else name
        nested = isinstance(value, Mapping) and value and depth < DEEPEST
        if nested and dotted not in schema.fields():
            yield from _flat(value, dotted, depth + 1)
        elif value != {} or dotted in schema.fields():
            yield dotted, value


def _take_special(draft: Draft, kind: str, name: str, place: str, value: Any) -> None:
    if not name:
        draft.fault("", place, text_values.described(value), f"fields under [{kind}]")
        return
    if not draft.known(name, place):
        return
    where = f"{place} ({schema.fields()[name].label})"
    if kind == "note":
        draft.take_note(name, value)
    elif kind == "shape":
        chance.take_shape(draft, name, place, value)
    elif not isinstance(value, list):
        needs = "12 numbers in brackets" if kind == "months" else "[low, high]"
        draft.fault(name, where, text_values.described(value), needs)
    elif kind == "months":
        draft.take_months(name, place, value, "si")
    elif len(value) != 2:
        draft.fault(name, where, text_values.described(value), "[low, high]")
    else:
        draft.take_range(name, place, value[0], value[1], "si")


def _take_correlation(draft: Draft, place: str, value: Any) -> None:
    """Take a list of [field, field, rank correlation]."""
    needs = "a list of [field, field, rank correlation]"
    if not isinstance(value, list):
        draft.fault("", place, text_values.described(value), needs)
        return
    for number, row in enumerate(value, 1):
        where = f"{place}, pair {number}"
        if isinstance(row, list) and len(row) == 3:
            chance.take_pair(draft, where, *row)
        else:
            draft.fault("", where, text_values.described(row), needs)
