"""Read a filled form: fixed cells of a workbook that somebody sent.

Nothing is trusted: the archive's size is bounded before it is opened, only known cells are read,
and whatever goes wrong inside the file is told in one sentence.
"""

from __future__ import annotations

import io
import warnings
import zipfile
from difflib import get_close_matches
from math import isclose
from typing import Any

from pcompare.errors import Fault, InputError, shown
from pcompare.inputs import chance, layout, schema, text_values
from pcompare.inputs.draft import DEFAULT, Draft
from pcompare.units import SYSTEMS

LARGEST_WHOLE = 50_000_000  # bytes of all parts unpacked
MOST_PARTS = 400
ERROR_VALUES = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!")
OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the container of .xls and of passwords
AS_WRITTEN = "the sheet as `pcompare form` writes it"


class Form:
    """A form's cells: their stored values, and its formulas where a value is wanting."""

    def __init__(self, data: bytes, name: str) -> None:
        self._data, self._name = data, name
        self._values = self._load(stored=True)
        self._formulas: Any = None

    @property
    def names(self) -> list[str]:
        """Names of the sheets that have cells."""
        return [sheet.title for sheet in self._values.worksheets]

    def value(self, sheet: str, row: int, column: int) -> Any:
        """Give a cell's stored value; blank text is None."""
        value = self._values[sheet].cell(row, column).value
        return None if isinstance(value, str) and not value.strip() else value

    def has_formula(self, sheet: str, row: int, column: int) -> bool:
        """Tell whether a cell holds a formula, whatever its value."""
        if self._formulas is None:  # wanted for empty cells only: most forms have few of them
            self._formulas = self._load(stored=False)
        return bool(self._formulas[sheet].cell(row, column).data_type == "f")

    def _load(self, *, stored: bool) -> Any:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of spreadsheet features that are of no use here
                from openpyxl import load_workbook

                source = io.BytesIO(self._data)
                return load_workbook(source, data_only=stored, keep_links=False)
        except Exception as error:
            found = f"a workbook that cannot be read ({type(error).__name__})"
            raise _refused(self._name, found, "a file as a spreadsheet program saves it") from None


def take(draft: Draft, data: bytes, name: str) -> None:
    """Take every field of a form into ``draft``.

    Raises
    ------
    InputError
        A file that is no workbook, or too large a one.
    """
    _check_archive(data, name)
    form = Form(data, name)
    draft.system = _system(draft, form)
    for sheet, fields in schema.sheets().items():
        if sheet in form.names:
            _take_sheet(draft, form, sheet, fields)
        else:
            close = get_close_matches(sheet, form.names, n=1)
            found = f"no such sheet{f', but {shown(close[0])}' if close else ''}"
            draft.fault(sheet, sheet, found, AS_WRITTEN)
            draft.failed.update(field.name for field in fields)
    if layout.MONTHS in form.names:
        _take_months(draft, form)
    if layout.CORRELATION in form.names:
        _take_correlation(draft, form)


def _check_archive(data: bytes, name: str) -> None:
    """Bound what the file unpacks to, by its directory, before anything is unpacked."""
    if data.startswith(OLD_OR_LOCKED):
        found = "an old .xls file, or one locked by a password"
        raise _refused(name, found, "an .xlsx file without a password")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
    except Exception:  # a damaged directory fails in many ways
        raise _refused(name, "no workbook inside", "a whole .xlsx file") from None
    size = sum(part.file_size for part in parts)
    if size > LARGEST_WHOLE or len(parts) > MOST_PARTS:
        found = f"{len(parts)} parts that unpack to {size / 1e6:.0f} MB"
        raise _refused(name, found, f"at most {MOST_PARTS} parts and 50 MB")


def _refused(name: str, found: str, needs: str) -> InputError:
    return InputError(name, [Fault(where=name, found=found, needs=needs)])


def _system(draft: Draft, form: Form) -> str:
    """Read which units the form is filled in: without them no number means anything."""
    place = f"{layout.READ_ME}!{layout.SYSTEM_CELL} (Units of this form)"
    if layout.READ_ME not in form.names:
        draft.fault("", layout.READ_ME, "no such sheet", "the first sheet, which names the units")
        return "si"
    found = form.value(layout.READ_ME, *layout.SYSTEM_PLACE)
    system = str(found).strip().lower()
    if system in SYSTEMS:
        return system
    draft.fault("", place, text_values.described(found), "si or us")
    return "si"


def _take_sheet(draft: Draft, form: Form, sheet: str, fields: tuple[schema.Field, ...]) -> None:
    """Take the rows of one sheet, wherever on it they stand."""
    wanted = {field.name: field for field in fields}
    seen: dict[str, int] = {}
    for row in range(layout.FIRST_ROW, layout.FIRST_ROW + len(fields) + layout.SPARE_ROWS):
        found = form.value(sheet, row, layout.NAME)
        if found is None:
            continue
        name = str(found).strip()
        place = f"{sheet}!K{row} (Name)"
        if name not in wanted:
            close = get_close_matches(name, wanted, n=1)
            needs = f"a field name of this sheet{f', such as {close[0]}' if close else ''}"
            draft.fault(sheet, place, shown(name), needs)
        elif name in seen:
            draft.fault(sheet, place, f"'{name}' again, as in row {seen[name]}", "each once")
        else:
            seen[name] = row
            _take_row(draft, form, wanted[name], row)
    for name, field in wanted.items():
        if name not in seen:
            draft.fault(
                name, f"{sheet} ({field.label})", "no row for it", f"{name} in column K of its row"
            )


def _take_row(draft: Draft, form: Form, field: schema.Field, row: int) -> None:
    sheet, name = field.sheet, field.name
    place = f"{sheet}!C{row}"
    draft.places[name] = place
    note = form.value(sheet, row, layout.NOTE)
    if note is not None:
        draft.take_note(name, note)
    value = form.value(sheet, row, layout.VALUE)
    if value is None and form.has_formula(sheet, row, layout.VALUE):
        needs = "a value: open the file in a spreadsheet program, save it and run again"
        draft.fault(name, draft.where(name), "a formula without a stored value", needs)
    elif isinstance(value, str) and value in ERROR_VALUES:
        draft.fault(name, draft.where(name), f"the error {value}", field.needs(draft.system))
    elif value is not None:
        draft.take(name, place, value, draft.system)
        if name not in draft.notes:
            _leave_default(draft, field)
    _take_ends(draft, form, field, row)
    shape = form.value(sheet, row, layout.SHAPE)
    if shape is not None:
        chance.take_shape(draft, name, f"{sheet}!L{row}", shape)


def _leave_default(draft: Draft, field: schema.Field) -> None:
    """Count a value as the default where it is what the form was written with."""
    given, default = draft.given.get(field.name), field.default
    if isinstance(given, float) and isinstance(default, float):
        # A default that went to the other units and back may miss itself by a rounding.
        same = given == default or (draft.system != "si" and isclose(given, default, rel_tol=1e-9))
    else:
        same = given is not None and given == default
    if same and default is not None:
        draft.given[field.name] = default
        draft.places[field.name] = DEFAULT


def _take_ends(draft: Draft, form: Form, field: schema.Field, row: int) -> None:
    low, high = (form.value(field.sheet, row, c) for c in (layout.LOW, layout.HIGH))
    if low is not None or high is not None:
        place = f"{field.sheet}!D{row}:E{row}"
        draft.take_range(field.name, place, low, high, draft.system)


def _take_months(draft: Draft, form: Form) -> None:
    """Take the rows of the months sheet that are filled; a row is whole or empty."""
    sheet = layout.MONTHS
    monthly = {field.name: field for field in schema.monthly()}
    for row in range(layout.FIRST_ROW, layout.FIRST_ROW + len(monthly) + layout.SPARE_ROWS):
        columns = range(layout.MONTH_FIRST, layout.MONTH_FIRST + schema.MONTHS)
        cells = [form.value(sheet, row, column) for column in columns]
        if all(cell is None for cell in cells):
            continue
        name = str(form.value(sheet, row, layout.MONTH_NAME) or "").strip()
        place = f"{sheet}!C{row}:N{row}"
        if name not in monthly:
            found = shown(name)
            draft.fault("", f"{sheet}!O{row} (Name)", found, "the name of a field with months")
        elif None in cells:
            missing = layout.MONTH_NAMES[cells.index(None)]
            where = f"{place} ({monthly[name].label})"
            draft.fault(name, where, f"nothing for {missing}", "all 12 months, or none")
        else:
            draft.take_months(name, place, cells, draft.system)


def _take_correlation(draft: Draft, form: Form) -> None:
    """Take the pairs of fields that move together; a row is whole or empty."""
    sheet = layout.CORRELATION
    last = layout.FIRST_ROW + layout.PAIR_ROWS + layout.SPARE_ROWS
    for row in range(layout.FIRST_ROW, last):
        columns = (layout.PAIR_FIRST, layout.PAIR_SECOND, layout.PAIR_RANK)
        cells = [form.value(sheet, row, column) for column in columns]
        if any(cell is not None for cell in cells):
            chance.take_pair(draft, f"{sheet}!A{row}:C{row}", *cells)
