"""Read many plants from one CSV: a row for each plant, a column for each field that differs.

Column names are the form's field names, values are in base units. Between cells stand commas, and
numbers have a decimal point; or semicolons, and then a comma is the decimal sign. Nothing is
guessed: a number with the other sign is refused.

A column gives one value for the whole year. Months of other fields, and how load or strength
change over the year, stay as the base has them, and so do ranges, notes and the bases that prices
are quoted on.
"""

from __future__ import annotations

import csv
import io
import re
import stat
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from pcompare.errors import Fault, InputError, shown
from pcompare.inputs import reader, schema, text_values
from pcompare.inputs.draft import Draft
from pcompare.records import Inputs

Rows: TypeAlias = NDArray[np.intp]

NAME = "name"
LARGEST = 500_000_000  # bytes
WHOLE = 10  # faults of the first line that are listed
MARKS = (b"\xff\xfe", b"\xfe\xff")  # of text with two bytes for each letter
COMMA_NUMBER = re.compile(r"[+-−]?\d*,\d+([eE][+-]?\d+)?", re.ASCII)
HIDDEN = (".", "~$")  # begin the names of files that a program keeps beside a form
IN_FORM = ("months", "range", "shape", "note", "correlation")  # what a cell of a CSV cannot hold


@dataclass(frozen=True, slots=True)
class Plant:
    """One row as it stands: its line in the file, its name, and its cells without the name."""

    row: int
    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PlantsFile:
    """What a CSV of plants holds.

    Attributes
    ----------
    fields : tuple of str
        The field of each column, the name left out.
    comma : bool
        Whether a comma is the decimal sign.
    plants : tuple of Plant
    broken : tuple of (Plant, Fault)
        Rows that do not fit the first line.
    """

    fields: tuple[str, ...]
    comma: bool
    plants: tuple[Plant, ...]
    broken: tuple[tuple[Plant, Fault], ...]


def read(path: Path) -> PlantsFile:
    """Read the rows of a CSV; what they mean is told plant by plant, by ``draft_of``.

    Raises
    ------
    InputError
        A file that is no such table, or a first line with a column that cannot be.
    """
    name = text_values.short(path.name)
    text = _text(path, name)
    separator = _separator(text, name)
    rows = _rows(text, separator, name)
    first = next(rows, None)
    if first is None:
        raise _refused(name, "no line with anything in it", "a first line with field names")
    named, columns = _columns(first, name)
    plants: list[Plant] = []
    broken: list[tuple[Plant, Fault]] = []
    for line, cells in rows:
        plant, fault = _plant(line, cells, named, columns, len(first[1]))
        if fault is None:
            plants.append(plant)
        else:
            broken.append((plant, fault))
    if not plants and not broken:
        raise _refused(name, "no plants", "a line for each plant below the first")
    return PlantsFile(
        fields=tuple(columns.values()),
        comma=separator == ";",
        plants=tuple(plants),
        broken=tuple(broken),
    )


def data_of(path: Path, name: str) -> bytes:
    """Give the bytes of a file of plants, once it is known to be one of fair size.

    Raises
    ------
    InputError
    """
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise _refused(name, "a device or pipe", "a file")
        if about.st_size > LARGEST:
            found = f"{about.st_size / 1e6:.0f} MB"
            raise _refused(name, found, f"at most {LARGEST / 1e6:.0f} MB: part the plants")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _refused(name, reason.lower(), "a file that can be read") from None


def _text(path: Path, name: str) -> str:
    data = data_of(path, name)
    needs = "a file saved as 'CSV UTF-8'"
    if data.startswith(MARKS):
        raise _refused(name, "text in UTF-16", needs)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        where = f"{name}, line {line}"
        mend = "Choose it where the spreadsheet program asks for the kind of file, and save again"
        raise InputError(
            name,
            [Fault(where=where, found="a letter that is not UTF-8", needs=needs, mend=mend)],
        ) from None
    if "\0" in text:
        raise _refused(name, "zero bytes, as no text has them", needs)
    return text


def _separator(text: str, name: str) -> str:
    """Tell by the first line with anything in it what stands between cells."""
    first = next((line for line in text.splitlines() if line.strip(",; \t")), "")
    if "\t" in first and "," not in first and ";" not in first:
        raise _refused(name, "tabs between the cells", "commas, or semicolons")
    return ";" if first.count(";") > first.count(",") else ","


def _rows(text: str, separator: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Give every row that is not empty, with the line that it begins on."""
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = 1
    try:
        for cells in lines:
            if any(cell.strip() for cell in cells):
                yield begins, cells
            begins = lines.line_num + 1
    except csv.Error as error:
        fault = Fault(
            where=f"{name}, line {begins}",
            found=f"a row that cannot be read ({error})",
            needs="cells that begin and end with a quote, or hold none at their beginning",
        )
        raise InputError(name, [fault]) from None


def _refused(name: str, found: str, needs: str) -> InputError:
    return InputError(name, [Fault(where=name, found=found, needs=needs)])


# --- the first line ---------------------------------------------------------------------------


def _columns(first: tuple[int, Sequence[str]], name: str) -> tuple[int, dict[int, str]]:
    """Find the column of names and the field of every other; empty ones may stand at the end."""
    line, cells = first
    known = {field.casefold(): field for field in (NAME, *schema.fields())}
    last = max(i for i, cell in enumerate(cells) if cell.strip())
    found: dict[str, int] = {}
    faults: list[Fault] = []
    for place, cell in enumerate(cells[: last + 1]):
        where = f"{name}, line {line}, column {letters(place)}"
        field = known.get(cell.strip().casefold())
        if field is None:
            faults.append(_unknown(where, cell.strip(), list(known.values())))
        elif field in found:
            again = f"'{field}' again, as in column {letters(found[field])}"
            faults.append(Fault(where=where, found=again, needs="each field once"))
        else:
            found[field] = place
    if NAME not in found:
        needs = f"a column '{NAME}', which tells the plants apart"
        faults.append(Fault(where=f"{name}, line {line}", found="no names", needs=needs))
    if faults:
        rest = len(faults) - WHOLE
        more = [Fault(where=name, found=f"{rest} more such columns", needs="")] if rest > 0 else []
        raise InputError(name, faults[:WHOLE] + more)
    named = found.pop(NAME)
    return named, {place: field for field, place in found.items()}


def _unknown(where: str, cell: str, known: Sequence[str]) -> Fault:
    if not cell:
        return Fault(where=where, found="a column without a name", needs="a field name, or none")
    if cell.split(".")[0] in IN_FORM:
        needs = "one value for each plant: months, ranges and notes stand in the base form"
        return Fault(where=where, found=shown(cell), needs=needs)
    close = get_close_matches(cell.casefold(), known, n=3, cutoff=0.6)
    needs = f"a field of the form{'; close to it: ' + ', '.join(close) if close else ''}"
    return Fault(where=where, found=f"no such field as {shown(cell)}", needs=needs)


def letters(place: int) -> str:
    """Name a column as spreadsheets do.

    Examples
    --------
    >>> letters(0), letters(25), letters(26), letters(701), letters(702)
    ('A', 'Z', 'AA', 'ZZ', 'AAA')
    """
    text = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


# --- the plants -------------------------------------------------------------------------------


def _plant(
    line: int, cells: Sequence[str], named: int, columns: Iterable[int], count: int
) -> tuple[Plant, Fault | None]:
    """Make a plant of a row, and the fault of one that does not fit."""
    padded = [*cells, *[""] * (count - len(cells))]
    name = text_values.short(padded[named])
    plant = Plant(line, name, tuple(padded[place].strip() for place in columns))
    where = f"line {line}"
    if len(cells) < count or any(cell.strip() for cell in cells[count:]):
        needs = f"{count}, as in the first line"
        return plant, Fault(where=where, found=f"{len(cells)} cells", needs=needs)
    unnamed = [cell for place, cell in enumerate(padded[:count]) if cell.strip()
               and place != named and place not in columns]  # fmt: skip
    if unnamed:
        found = f"{shown(unnamed[0])} in a column without a name"
        return plant, Fault(where=where, found=found, needs="a field name above it")
    if not name:
        return plant, Fault(where=f"{where}, {NAME}", found="nothing", needs="a name")
    return plant, None


def draft_of(base: Draft, fields: Sequence[str], comma: bool, plant: Plant) -> Draft:
    """Put the cells of one plant over the base, as ``--set`` would; it is not finished yet.

    An empty cell leaves what the base holds, but a field without a default must be given.
    """
    draft = base.copied()
    known = schema.fields()
    for name, cell in zip(fields, plant.cells, strict=True):
        place = f"{name}, line {plant.row}"
        field = known[name]
        if not cell:
            if field.default is None:
                draft.places[name] = place
                draft.fault(name, draft.where(name), "nothing", field.needs())
            continue
        if comma and field.numeric:
            cell, refused = _with_point(cell)
            if refused:
                draft.places[name] = place
                draft.fault(name, draft.where(name), refused, field.needs())
                continue
        draft.overrule(name, place, cell)
    return draft


def _with_point(cell: str) -> tuple[str, str]:
    """Turn a decimal comma into a point; the second is why a number is refused, if it is."""
    if "." in cell:
        why = "where semicolons part the cells, the comma is the decimal sign"
        return cell, f"{shown(cell)} (a point; {why}, and nothing parts thousands)"
    return (cell.replace(",", ".") if COMMA_NUMBER.fullmatch(cell) else cell), ""


def missing(base: Draft, fields: Iterable[str]) -> list[str]:
    """Name what no plant can do without: no default, not in the base, and no column."""
    given = base.given.keys() | set(fields)
    return [n for n, field in schema.fields().items() if field.default is None and n not in given]


def form_of(folder: Path, plant: Plant) -> Draft:
    """Read one form of a folder; it is not finished yet.

    Raises
    ------
    InputError
        A file that cannot be read at all.
    """
    return reader.begun(folder / plant.name)[0]


def forms(folder: Path) -> tuple[Plant, ...]:
    """List the forms of a folder by name, numbered from 1.

    Raises
    ------
    InputError
        A folder without a form.
    """
    name = text_values.short(folder.name or str(folder))
    try:
        found = sorted(
            path.name
            for path in folder.iterdir()
            if path.suffix.lower() in reader.LARGEST and not path.name.startswith(HIDDEN)
        )
    except OSError as error:
        raise _refused(name, (error.strerror or str(error)).lower(), "a folder to read") from None
    if not found:
        raise _refused(name, "no form", "forms (.xlsx) or .toml files in the folder itself")
    return tuple(Plant(number, form, ()) for number, form in enumerate(found, 1))


# --- many plants as one record ----------------------------------------------------------------


def designing() -> tuple[str, ...]:
    """Name the text fields that a design depends on; the others are only printed."""
    grammar = (schema.SEASON, schema.PRODUCTS, schema.CARBON)
    return tuple(
        name for name, field in schema.fields().items() if field.kind == "choice" or name in grammar
    )


def together(drafts: Sequence[Draft]) -> Iterator[tuple[Rows, Inputs]]:
    """Put finished drafts on the cases axis: those of the same choices and months together.

    Gives the places of each group in ``drafts``, and its inputs. What all share is kept once.
    """
    names = designing()
    numeric = [name for name, field in schema.fields().items() if field.numeric]
    monthly = [field.name for field in schema.monthly()]
    groups: dict[Hashable, list[int]] = {}
    for place, draft in enumerate(drafts):
        months = frozenset(n for n in monthly if isinstance(draft.given[n], tuple))
        key = (months, tuple(map(draft.given.__getitem__, names)))
        groups.setdefault(key, []).append(place)
    for places in groups.values():
        first = drafts[places[0]]
        given = [drafts[place].given for place in places]
        differing = [
            name for name in numeric if any(g[name] is not first.given[name] for g in given)
        ]
        inputs = reader.made(first, "portfolio")
        values = {n: np.array([g[n] for g in given]).reshape(len(given), -1) for n in differing}
        yield np.array(places), replace(inputs, values={**inputs.values, **values})
