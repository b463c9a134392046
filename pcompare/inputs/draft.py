"""What has been read so far of one case, and every fault met on the way."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, field, fields
from typing import TypeAlias

from pcompare.errors import Fault, shown
from pcompare.inputs import schema, text_values

Given: TypeAlias = str | float | tuple[float, ...]
DEFAULT = "default"
SUGGESTED = 50  # faults, beyond which no more close names are looked for
YEAR_ROOM = 0.1  # share by which the mean of twelve months may miss the value for the year


@dataclass(slots=True)
class Draft:
    """A case while it is read. Values are in base units; monthly ones are tuples of twelve.

    Attributes
    ----------
    system : str
        Units that faults speak in: ``si`` or ``us``.
    given : dict
        Values by field, defaults among them once ``fill`` has run.
    places : dict
        Where each field stands in what was read; ``default`` where it was not given.
    yearly : dict
        The value for the year of fields whose months follow from the load or the strength.
    systems : dict
        Units that each value was given in.
    failed : set
        Fields with a fault: never reported as missing, and left out of checks across fields.
    """

    system: str = "si"
    given: dict[str, Given] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    ranges: dict[str, tuple[float, float]] = field(default_factory=dict)
    range_places: dict[str, str] = field(default_factory=dict)
    shapes: dict[str, str] = field(default_factory=dict)
    shape_places: dict[str, str] = field(default_factory=dict)
    pairs: dict[tuple[str, str], float] = field(default_factory=dict)  # rank correlations
    pair_places: dict[tuple[str, str], str] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)
    quoted: dict[str, str] = field(default_factory=dict)  # prices as they were given
    systems: dict[str, str] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)
    yearly: dict[str, float] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)
    noted: list[tuple[int, Fault]] = field(default_factory=list)  # with its place in the form

    def copied(self) -> Draft:
        """Give a draft that goes on from here by itself."""
        return Draft(**{f.name: copy(getattr(self, f.name)) for f in fields(self)})

    def fault(self, near: str, where: str, found: str, needs: str, mend: str = "") -> None:
        """Note one fault; ``near`` is the field or sheet that sets its place in the report."""
        place = schema.order().get(near, -1)
        where = text_values.short(where)  # a key or --set may be of any length
        self.noted.append((place, Fault(where=where, found=found, needs=needs, mend=mend)))
        if near in schema.fields():
            self.failed.add(near)

    @property
    def faults(self) -> list[Fault]:
        """Every fault in the form's order."""
        return [fault for _, fault in sorted(self.noted, key=lambda item: item[0])]

    def where(self, name: str) -> str:
        """Name a field's place and label for a message."""
        place = self.places.get(name, name)
        return f"{name if place == DEFAULT else place} ({schema.fields()[name].label})"

    def known(self, name: str, place: str) -> bool:
        """Tell whether a field exists; if not, note it with the closest names."""
        if name in schema.fields():
            return True
        from difflib import get_close_matches

        few = len(self.noted) < SUGGESTED
        close = get_close_matches(name, schema.fields(), n=3, cutoff=0.6) if few else []
        needs = "a field that `pcompare check` lists"
        if close:
            needs = "a field of the form; close to it: " + ", ".join(close)
        self.fault("", place, f"no such field as {shown(name)}", needs)
        return False

    def take(self, name: str, place: str, value: object, system: str = "si") -> None:
        """Take one value of a field that exists."""
        self.places[name] = place
        self.systems[name] = system
        try:
            understood = schema.understood(schema.fields()[name], value, system)
        except schema.NotUnderstood as error:
            self.fault(name, self.where(name), error.found, error.needs)
            return
        if isinstance(understood, str) and len(understood) > text_values.TEXT_LIMIT:
            limit = text_values.TEXT_LIMIT
            self.remarks.append(f"{self.where(name)}: only the first {limit} characters are kept")
            understood = understood[:limit].rstrip()
        self.given[name] = understood

    def overrule(self, name: str, place: str, value: object) -> None:
        """Take one value in base units over what was read before.

        A range that no longer holds the value is left out, and said so.
        """
        self.take(name, place, value)
        ends = self.ranges.get(name)
        if ends and name not in self.failed and not ends[0] <= self.mean(name) <= ends[1]:
            self.remarks.append(f"{self.where(name)}: outside the range given, which is left out")
            del self.ranges[name]

    def take_months(self, name: str, place: str, values: Sequence[object], system: str) -> None:
        """Take twelve monthly values of one field, instead of its value for the year."""
        entry = schema.fields()[name]
        where = f"{place} ({entry.label})"
        if not entry.monthly:
            self.fault(name, where, "monthly values", "one value for the year")
            return
        if len(values) != schema.MONTHS:
            self.fault(name, where, f"{len(values)} values", "12, January to December")
            return
        numbers: list[float] = []
        for month, value in enumerate(values, 1):
            try:
                numbers.append(float(schema.understood(entry, value, system)))
            except schema.NotUnderstood as error:
                where = f"{place}, month {month} ({entry.label})"
                self.fault(name, where, error.found, error.needs)
        if len(numbers) == schema.MONTHS:
            self._against_year(name, where, numbers)
            self.given[name] = tuple(numbers)
            self.places[name] = place

    def _against_year(self, name: str, where: str, months: list[float]) -> None:
        """Refuse months beside a value for the year that they contradict: one of them is stale."""
        year = self.given.get(name)
        if not isinstance(year, float) or self.places.get(name) == DEFAULT:
            return
        middle = sum(months) / len(months)
        if abs(middle - year) <= YEAR_ROOM * max(abs(middle), abs(year)):
            return
        entry = schema.fields()[name]
        self.fault(
            name,
            where,
            f"months with a mean of {entry.told(middle, self.system)}, and "
            f"{entry.told(year, self.system)} for the year in {self.places[name]}",
            "one mean",
            "Empty the months, or bring the two together",
        )

    def take_range(self, name: str, place: str, low: object, high: object, system: str) -> None:
        """Take the range that a value may really lie in: both ends."""
        entry = schema.fields()[name]
        where = f"{place}, range ({entry.label})"
        if not entry.numeric:
            self.fault(name, where, "a range", "none: this field is no number")
            return
        ends: list[float] = []
        for word, end in (("low", low), ("high", high)):
            if end is None or end == "":
                self.fault(name, where, f"no {word} end", "both ends, or neither")
                return
            try:
                ends.append(float(schema.understood(entry, end, system)))
            except schema.NotUnderstood as error:
                self.fault(name, where, error.found, f"{error.needs} as its {word} end")
                return
        self.ranges[name] = (ends[0], ends[1])
        self.range_places[name] = where

    def take_note(self, name: str, value: object) -> None:
        """Take the user's own source for a value."""
        text = text_values.clean(str(value))
        if text:
            self.notes[name] = text[: text_values.TEXT_LIMIT]

    def fill(self) -> None:
        """Put in the defaults, and name every field that must be given."""
        for name, entry in schema.fields().items():
            if name in self.given or name in self.failed:
                continue
            if entry.default is None:
                self.fault(name, self.where(name), "nothing", entry.needs(self.system))
            else:
                self.given[name] = entry.default
                self.places[name] = DEFAULT

    def numbers(self, name: str) -> tuple[float, ...]:
        """Give a numeric field as one value or twelve."""
        value = self.given[name]
        if isinstance(value, str):
            raise TypeError(f"{name} is no number")
        return value if isinstance(value, tuple) else (value,)

    def mean(self, name: str) -> float:
        """Give a numeric field as its mean over the months."""
        numbers = self.numbers(name)
        return sum(numbers) / len(numbers)

    def ends(self, entry: schema.Field) -> tuple[float, float] | None:
        """Give a field's range: the user's, or the default's in proportion to the user's value.

        A price of one's own is taken to vary as much, in proportion, as the default's.
        """
        if entry.name in self.ranges:
            return self.ranges[entry.name]
        if entry.low is None or entry.high is None:
            return None
        if self.places[entry.name] == DEFAULT:
            return entry.low, entry.high
        if not isinstance(entry.default, float) or entry.default == 0.0:
            return None
        scale = self.mean(entry.name) / entry.default
        ends = sorted((entry.low * scale, entry.high * scale))
        return max(ends[0], entry.hard[0]), min(ends[1], entry.hard[1])
