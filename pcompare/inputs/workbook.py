"""Read a filled form: fixed cells of a workbook that somebody sent.

Nothing is trusted: the archive's size is bounded before it is opened, only known cells are read,
and whatever goes wrong inside the file is told in one sentence.
"""

from __future__ import annotations

import zipfile
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pcompare.errors import Fault, InputError, shown
from pcompare.inputs import layout, schema
from pcompare.units import SYSTEMS

if TYPE_CHECKING:
    from pcompare.inputs.reader import Draft

LARGEST_WHOLE = 50_000_000  # bytes of all parts unpacked
MOST_PARTS = 400
ERROR_VALUES = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!")


def take(draft: Draft, path: Path) -> None:
    """Take every field of a form into ``draft``."""
    values, formulas = _open(path)
    draft.system = _system(draft, values)
    for name, fields in schema.sheets().items():
        if name not in values.sheetnames:
            close = get_close_matches(name, values.sheetnames, n=1)
            found = f"no such sheet{f', but {close[0]}' if close else ''}"
            draft.fault(name, found, "the sheet as `pcompare form` writes it")
            continue
        _take_sheet(draft, name, fields, values[name], formulas[name])
    if layout.MONTHS in values.sheetnames:
        _take_months(draft, values[layout.MONTHS])


def _open(path: Path) -> tuple[Any, Any]:
    """Load the workbook twice: stored values, and formulas to tell apart what has none."""
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
            size = sum(part.file_size for part in parts)
    except (zipfile.BadZipFile, OSError, NotImplementedError, ValueError):
        raise _refused(path, "no workbook inside", "a whole .xlsx file") from None
    if size > LARGEST_WHOLE or len(parts) > MOST_PARTS:
        found = f"{len(parts)} parts of {size / 1e6:.0f} MB unpacked"
        raise _refused(path, found, f"at most {MOST_PARTS} parts and 50 MB")
    try:
        from openpyxl import load_workbook

        return tuple(
            load_workbook(path, data_only=stored, keep_links=False) for stored in (True, False)
        )  # type: ignore[return-value]
    except Exception as error:
        found = f"a workbook that cannot be read ({type(error).__name__})"
        raise _refused(path, found, "a file as a spreadsheet program saves it") from None


def _refused(path: Path, found: str, needs: str) -> InputError:
    return InputError(path.name, [Fault(where=path.name, found=found, needs=needs)])


def _system(draft: Draft, values: Any) -> str:
    """Read which units the form is filled in."""
    if layout.READ_ME not in values.sheetnames:
        return "si"
    found = values[layout.READ_ME][layout.SYSTEM_CELL].value
    if found in SYSTEMS:
        return str(found)
    place = f"{layout.READ_ME}!{layout.SYSTEM_CELL} (Units)"
    draft.fault(place, shown(found), "si or us")
    return "si"


def _take_sheet(
    draft: Draft, sheet: str, fields: tuple[schema.Field, ...], values: Any, formulas: Any
) -> None:
    wanted = {field.name: field for field in fields}
    seen: dict[str, int] = {}
    last = layout.FIRST_ROW + len(fields) + layout.SPARE_ROWS
    for row in range(layout.FIRST_ROW, last):
        name = values.cell(row, layout.NAME).value
        if name is None:
            continue
        place = f"{sheet}!C{row}"
        name = str(name).strip()
        if name not in wanted:
            close = get_close_matches(name, wanted, n=1)
            needs = f"a field name of this sheet{f' such as {close[0]}' if close else ''}"
            draft.fault(f"{sheet}!K{row}", shown(name), needs)
        elif name in seen:
            draft.fault(f"{sheet}!K{row}", f"'{name}' again, as in row {seen[name]}", "each once")
        else:
            seen[name] = row
            _take_row(draft, wanted[name], place, values, formulas, row)
    for name, field in wanted.items():
        if name not in seen and field.default is None:
            draft.places[name] = sheet


def _take_row(
    draft: Draft, field: schema.Field, place: str, values: Any, formulas: Any, row: int
) -> None:
    draft.places[field.name] = place
    value = values.cell(row, layout.VALUE).value
    formula = formulas.cell(row, layout.VALUE).value
    where = f"{place} ({field.label})"
    if value is None and isinstance(formula, str) and formula.startswith("="):
        needs = "a value: open the file in a spreadsheet program, save it and run again"
        draft.fault(where, "a formula without a stored value", needs)
        return
    if isinstance(value, str) and value in ERROR_VALUES:
        draft.fault(where, value, field.needs(draft.system))
        return
    note = values.cell(row, layout.NOTE).value
    if note is not None:
        draft.notes[field.name] = schema.clean(str(note))
    if value is None or (isinstance(value, str) and not value.strip()):
        if field.default is not None:
            draft.places[field.name] = "default"
        return
    if not (field.numeric and _is_default(field, value, draft.system)):
        draft.take(field.name, place, value, draft.system)
    else:
        draft.places[field.name] = "default"
    if field.numeric:
        _take_ends(draft, field, place, values, row)


def _is_default(field: schema.Field, value: object, system: str) -> bool:
    """Tell whether a cell still holds the default that the form was written with."""
    if not isinstance(field.default, float):
        return False
    try:
        return abs(float(schema.understood(field, value, system)) - field.default) <= 1e-9 * abs(
            field.default
        )
    except schema.NotUnderstood:
        return False


def _take_ends(draft: Draft, field: schema.Field, place: str, values: Any, row: int) -> None:
    low, high = (values.cell(row, column).value for column in (layout.LOW, layout.HIGH))
    if low is None and high is None:
        return
    if field.low is not None and field.name not in draft.given:
        ends = (low, high)
        defaults = (field.low, field.high)
        same = all(
            _close(field, end, default, draft.system)
            for end, default in zip(ends, defaults, strict=True)
        )
        if same:
            return
    draft.take_range(field.name, place, low, high, draft.system)


def _close(field: schema.Field, value: object, default: float | None, system: str) -> bool:
    try:
        base = float(schema.understood(field, value, system))
    except schema.NotUnderstood:
        return False
    return default is not None and abs(base - default) <= 1e-9 * max(abs(default), 1e-12)


def _take_months(draft: Draft, values: Any) -> None:
    """Take the rows of the months sheet that are filled; a row is whole or empty."""
    monthly = {name: f for name, f in schema.fields().items() if f.monthly}
    for row in range(layout.FIRST_ROW, layout.FIRST_ROW + len(monthly) + layout.SPARE_ROWS):
        name = values.cell(row, layout.MONTH_NAME).value
        if name is None or str(name).strip() not in monthly:
            continue
        name = str(name).strip()
        cells = [values.cell(row, layout.MONTH_FIRST + i).value for i in range(schema.MONTHS)]
        filled = [cell is not None and cell != "" for cell in cells]
        if not any(filled):
            continue
        place = f"{layout.MONTHS}!C{row}:N{row}"
        if not all(filled):
            missing = layout.MONTH_NAMES[filled.index(False)]
            where = f"{place} ({monthly[name].label})"
            draft.fault(where, f"nothing for {missing}", "all 12 months, or none")
            continue
        draft.take_months(name, place, cells, draft.system)
