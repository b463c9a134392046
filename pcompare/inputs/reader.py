"""Read a filled form, a TOML file or the worked example, with ``--set`` on top.

All faults are reported at once, each with its cell, its key and line, or its ``--set``.
"""

from __future__ import annotations

import stat
from collections.abc import Iterable
from pathlib import Path

from pcompare.arrays import as_cases
from pcompare.errors import Fault, InputError, shown
from pcompare.inputs import (
    chance,
    checks,
    money_checks,
    months,
    price_basis,
    schema,
    text_values,
    toml_file,
)
from pcompare.inputs.draft import DEFAULT, Draft
from pcompare.records import Inputs

EXAMPLE = "worked example"
EXAMPLE_FILE = Path(__file__).with_name("example.toml")
LARGEST = {".xlsx": 20_000_000, ".toml": 1_000_000}  # bytes of an input file
OTHER_TABLES = (".xls", ".xlsm", ".xlsb", ".ods", ".csv", ".numbers")


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
    draft, name = begun(path)
    for override in overrides:
        _take_override(draft, override)
    finish(draft)
    if draft.noted:
        raise InputError(name, draft.faults)
    return made(draft, name)


def begun(path: str | Path | None = None) -> tuple[Draft, str]:
    """Read what a file holds, and its name; nothing is filled in or checked as a whole yet.

    Raises
    ------
    InputError
        A file that cannot be read at all.
    """
    draft = Draft()
    if path is None:
        data = EXAMPLE_FILE.read_bytes()
        toml_file.take(draft, data, EXAMPLE)
        draft.places = dict.fromkeys(draft.places, "example")
        return draft, EXAMPLE
    name = text_values.short(Path(path).name or str(Path(path)))
    _take_file(draft, Path(path), name)
    return draft, name


def finish(draft: Draft) -> None:
    """Fill in what was not given, and note every contradiction."""
    months.coldest(draft)
    draft.fill()
    price_basis.apply(draft)
    checks.across(draft)
    if not draft.noted:  # what the year contradicts is told in its own values
        months.spread(draft)
        checks.across(draft)
    money_checks.across(draft)


def _take_file(draft: Draft, path: Path, name: str) -> None:
    kind = path.suffix.lower()
    if kind not in LARGEST:
        found = shown(kind) if kind else "a name without an ending"
        mend = "Save it as .xlsx in the spreadsheet program" if kind in OTHER_TABLES else ""
        raise _refused(name, found, "a .xlsx form or a .toml file", mend)
    try:
        about = path.stat()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _refused(name, reason.lower(), "a file that can be read") from None
    if not stat.S_ISREG(about.st_mode):
        found = "a folder" if stat.S_ISDIR(about.st_mode) else "a device or pipe"
        raise _refused(name, found, "a file")
    if about.st_size > LARGEST[kind]:
        most = f"at most {LARGEST[kind] / 1e6:.0f} MB"
        raise _refused(name, f"{about.st_size / 1e6:.1f} MB", most)
    if about.st_size == 0:
        raise _refused(name, "an empty file", "a form or a TOML file with fields in it")
    try:
        data = path.read_bytes()
    except OSError as error:
        raise _refused(name, (error.strerror or str(error)).lower(), "leave to read it") from None
    if kind == ".toml":
        toml_file.take(draft, data, name)
    else:
        from pcompare.inputs import workbook

        workbook.take(draft, data, name)


def _refused(name: str, found: str, needs: str, mend: str = "") -> InputError:
    return InputError(name, [Fault(where=name, found=found, needs=needs, mend=mend)])


def _take_override(draft: Draft, override: str) -> None:
    """Take one ``FIELD=VALUE``."""
    name, equals, value = (part.strip() for part in override.partition("="))
    if not equals or not name:
        draft.fault("", f"--set {override}", "no pair", "FIELD=VALUE, in base units")
        return
    place = f"--set {name}"
    shape = name.startswith("shape.")
    if not draft.known(name.removeprefix("shape.") if shape else name, place):
        return
    if shape:
        chance.take_shape(draft, name.removeprefix("shape."), place, value)
        return
    draft.overrule(name, place, value)


def made(draft: Draft, name: str) -> Inputs:
    """Make the record of a draft that is finished and has no fault."""
    fields = schema.fields()
    values = {n: as_cases(draft.given[n]) for n, entry in fields.items() if entry.numeric}
    ranges = {n: draft.ends(fields[n]) for n in values}
    spread = {n: ends for n, ends in ranges.items() if ends is not None and ends[0] < ends[1]}
    return Inputs(
        values=values,
        choices={n: str(draft.given[n]) for n, entry in fields.items() if not entry.numeric},
        origins={n: draft.places.get(n, DEFAULT) for n in fields},
        low={n: ends[0] for n, ends in spread.items()},
        high={n: ends[1] for n, ends in spread.items()},
        notes=_notes(draft),
        yearly=dict(draft.yearly),
        warnings=tuple(checks.warnings(draft)),
        name=name,
        shapes=dict(draft.shapes),
        correlations=dict(draft.pairs),
    )


def _notes(draft: Draft) -> dict[str, str]:
    """Give the user's sources, and beside them how a price was quoted."""
    quoted = {
        name: f"{draft.notes[name]}; {text}" if name in draft.notes else text
        for name, text in draft.quoted.items()
    }
    return {**draft.notes, **quoted}
