"""Read a filled form, a TOML file or the worked example, with ``--set`` on top.

All faults are reported at once, each with its cell, its key, or its ``--set``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from importlib.resources import files
from pathlib import Path
from typing import Any

from pcompare.arrays import as_cases
from pcompare.errors import Fault, InputError, shown
from pcompare.inputs import checks, schema
from pcompare.records import Inputs
from pcompare.units import pretty, significant

EXAMPLE = "worked example"
LARGEST = 50_000_000  # bytes of any input file


@dataclass(slots=True)
class Draft:
    """What has been read so far, and every fault met on the way."""

    system: str = "si"
    given: dict[str, str | float | tuple[float, ...]] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    ranges: dict[str, tuple[float, float]] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def fault(self, where: str, found: str, needs: str, mend: str = "") -> None:
        """Note one fault."""
        self.faults.append(Fault(where=where, found=found, needs=needs, mend=mend))

    def take(self, name: str, place: str, value: object, system: str = "si") -> None:
        """Take one value of a field that is known to exist."""
        entry = schema.fields()[name]
        try:
            self.given[name] = schema.understood(entry, value, system)
            self.places[name] = place
        except schema.NotUnderstood as error:
            self.fault(f"{place} ({entry.label})", error.found, error.needs)

    def take_months(self, name: str, place: str, values: Sequence[object], system: str) -> None:
        """Take twelve monthly values of one field."""
        entry = schema.fields()[name]
        if not entry.monthly:
            self.fault(f"{place} ({entry.label})", "monthly values", "one value for the year")
            return
        if len(values) != schema.MONTHS:
            found = f"{len(values)} values"
            self.fault(f"{place} ({entry.label})", found, "12, January to December")
            return
        numbers: list[float] = []
        for month, value in enumerate(values, 1):
            try:
                numbers.append(float(schema.understood(entry, value, system)))
            except schema.NotUnderstood as error:
                where = f"{place}, month {month} ({entry.label})"
                self.fault(where, error.found, error.needs)
        if len(numbers) == schema.MONTHS:
            self.given[name] = tuple(numbers)
            self.places[name] = place

    def take_range(self, name: str, place: str, low: object, high: object, system: str) -> None:
        """Take the low and high of a field; an empty end keeps the default's."""
        entry = schema.fields()[name]
        ends: list[float] = []
        for end, default in ((low, entry.low), (high, entry.high)):
            if end is None or end == "":
                if default is None:
                    self.fault(f"{place} ({entry.label})", "one end of a range", "both or neither")
                    return
                ends.append(default)
                continue
            try:
                ends.append(float(schema.understood(entry, end, system)))
            except schema.NotUnderstood as error:
                self.fault(f"{place}, range ({entry.label})", error.found, error.needs)
                return
        self.ranges[name] = (ends[0], ends[1])


def read(path: str | Path | None = None, overrides: Iterable[str] = ()) -> Inputs:
    """Read one case and check it as a whole.

    Parameters
    ----------
    path : str or Path, optional
        A filled form (``.xlsx``) or a ``.toml``; left out, the worked example.
    overrides : iterable of str
        ``FIELD=VALUE`` in base units, taken last.

    Returns
    -------
    Inputs

    Raises
    ------
    InputError
        Every fault, each with its place.
    """
    draft = Draft()
    name = EXAMPLE if path is None else Path(path).name
    if path is None:
        text = files("pcompare.inputs").joinpath("example.toml").read_text(encoding="utf-8")
        _take_toml(draft, tomllib.loads(text))
        draft.places = dict.fromkeys(draft.places, "example")
    else:
        _read_file(draft, Path(path))
    for override in overrides:
        _take_override(draft, override)
    _fill(draft)
    if not draft.faults:
        draft.faults.extend(checks.faults(draft))
    if draft.faults:
        raise InputError(name, draft.faults)
    return _inputs(draft, name)


def _read_file(draft: Draft, path: Path) -> None:
    if path.suffix.lower() == ".xlsx":
        from pcompare.inputs import workbook

        check_file(path)
        workbook.take(draft, path)
    elif path.suffix.lower() == ".toml":
        check_file(path)
        try:
            document = tomllib.loads(path.read_bytes().decode("utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            fault = Fault(where=path.name, found=f"text that is not TOML: {error}", needs="TOML")
            raise InputError(path.name, [fault]) from None
        except OSError as error:
            raise _unreadable(path, error) from None
        _take_toml(draft, document)
    else:
        fault = Fault(where=path.name, found=f"'{path.suffix}'", needs="a .xlsx form or a .toml")
        raise InputError(path.name, [fault])


def check_file(path: Path) -> None:
    """Refuse what is not a regular file of bounded size, before opening it."""
    try:
        found = path.stat()
    except OSError as error:
        raise _unreadable(path, error) from None
    if not path.is_file():
        raise InputError(path.name, [Fault(where=str(path), found="a folder", needs="a file")])
    if found.st_size > LARGEST:
        size = f"{found.st_size / 1e6:.0f} MB"
        raise InputError(path.name, [Fault(where=path.name, found=size, needs="at most 50 MB")])


def _unreadable(path: Path, error: OSError) -> InputError:
    reason = (error.strerror or str(error)).lower()
    return InputError(path.name, [Fault(where=str(path), found=reason, needs="a readable file")])


def _take_toml(draft: Draft, document: Mapping[str, Any]) -> None:
    """Take ``group.name`` fields, ``months.…``, ``range.…`` and ``note.…`` of a TOML document."""
    for group, content in document.items():
        if not isinstance(content, Mapping):
            draft.fault(group, shown(content), "a group of fields, such as [flow]")
        elif group in ("months", "range", "note"):
            for name, value in _flat(content):
                _take_special(draft, group, name, value)
        else:
            for name, value in _flat(content, group):
                if _known(draft, name, name):
                    draft.take(name, name, value)


def _flat(content: Mapping[str, Any], group: str = "") -> Iterable[tuple[str, Any]]:
    """Give nested tables as dotted names."""
    for name, value in content.items():
        dotted = f"{group}.{name}" if group else name
        if isinstance(value, Mapping):
            yield from _flat(value, dotted)
        else:
            yield dotted, value


def _take_special(draft: Draft, group: str, name: str, value: Any) -> None:
    place = f"{group}.{name}"
    if not _known(draft, name, place):
        return
    if group == "note":
        draft.notes[name] = schema.clean(str(value))
    elif not isinstance(value, list):
        needs = "12 numbers in brackets" if group == "months" else "[low, high]"
        draft.fault(place, shown(value), needs)
    elif group == "months":
        draft.take_months(name, place, value, "si")
    elif len(value) != 2:
        draft.fault(place, f"{len(value)} values", "[low, high]")
    else:
        draft.take_range(name, place, value[0], value[1], "si")


def _known(draft: Draft, name: str, place: str) -> bool:
    """Tell whether a field exists; if not, note it with the closest names."""
    if name in schema.fields():
        return True
    close = get_close_matches(name, schema.fields(), n=3, cutoff=0.5)
    needs = (
        "a field such as " + ", ".join(close) if close else "a field that `pcompare check` lists"
    )
    draft.fault(place, "no such field", needs)
    return False


def _take_override(draft: Draft, override: str) -> None:
    name, equals, value = override.partition("=")
    name = name.strip()
    place = f"--set {name}"
    if not equals:
        draft.fault(f"--set {override}", "no '='", "FIELD=VALUE")
    elif _known(draft, name, place):
        draft.take(name, place, value.strip())
        # A value set by hand lies where it lies: its default range would no longer hold it.
        draft.ranges.pop(name, None)


def _fill(draft: Draft) -> None:
    """Put in defaults and name every field that must be given."""
    for name, entry in schema.fields().items():
        if name in draft.given:
            continue
        faulty = any(f"({entry.label})" in fault.where for fault in draft.faults)
        if entry.default is not None:
            draft.given[name] = entry.default
            draft.places.setdefault(name, "default")
        elif not faulty:
            place = draft.places.get(name, name)
            draft.fault(f"{place} ({entry.label})", "nothing", entry.needs(draft.system))


def _inputs(draft: Draft, name: str) -> Inputs:
    fields = schema.fields()
    values = {n: as_cases(draft.given[n]) for n, entry in fields.items() if entry.numeric}
    low: dict[str, float] = {}
    high: dict[str, float] = {}
    for field_name, value in values.items():
        ends = _range(draft, fields[field_name], float(value.mean()))
        if ends is not None and ends[0] < ends[1]:
            low[field_name], high[field_name] = ends
    return Inputs(
        values=values,
        choices={n: str(draft.given[n]) for n, entry in fields.items() if not entry.numeric},
        origins={n: draft.places.get(n, "default") for n in fields},
        low=low,
        high=high,
        notes=dict(draft.notes),
        warnings=tuple(_warnings(draft)),
        name=name,
    )


def _range(draft: Draft, entry: schema.Field, value: float) -> tuple[float, float] | None:
    """Give the range of a field: the user's, or the default's moved to the user's value."""
    if entry.name in draft.ranges:
        return draft.ranges[entry.name]
    if entry.low is None or entry.high is None:
        return None
    if draft.places.get(entry.name, "default") == "default":
        return entry.low, entry.high
    if not isinstance(entry.default, float) or entry.default == 0.0 or value == 0.0:
        return None
    # The default's range in proportion: a price of one's own varies as much as the default's.
    scale = value / entry.default
    ends = sorted((entry.low * scale, entry.high * scale))
    return max(ends[0], entry.hard[0]), min(ends[1], entry.hard[1])


def _warnings(draft: Draft) -> Iterable[str]:
    """Name every value outside its usual range."""
    for name, entry in schema.fields().items():
        value = draft.given[name]
        if entry.usual is None or isinstance(value, str) or draft.places.get(name) == "default":
            continue
        low, high = entry.usual
        outside = [
            v for v in (value if isinstance(value, tuple) else (value,)) if not low <= v <= high
        ]
        if outside:
            unit = pretty(entry.unit).strip("–")
            yield (
                f"{draft.places[name]} ({entry.label}): {significant(outside[0], 3)} {unit} is "
                f"outside the usual {significant(low, 3)} to {significant(high, 3)}"
            )
