"""Read a filled form: fixed cells of a workbook that somebody sent.

Nothing is trusted: what the file unpacks to is bounded before it is understood, only known cells
are read, and whatever goes wrong inside the file is told in one sentence.
"""

from __future__ import annotations

import io
import warnings
from difflib import get_close_matches
from functools import cached_property
from math import isclose
from typing import Any, Final, TypeAlias

from pcompare.errors import shown
from pcompare.inputs import archive, chance, layout, schema, text_values
from pcompare.inputs.draft import DEFAULT, Draft
from pcompare.units import SYSTEMS

ERROR_VALUES = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!")
UNSTORED: Final = object()  # stands for a formula whose value was not saved with it
OPEN_AND_SAVE = "a value: open the file in a spreadsheet program, save it and run again"
LONGEST = 32_767  # characters that a cell may hold
AS_WRITTEN = "the sheet as `pcompare form` writes it"

Grid: TypeAlias = dict[str, dict[tuple[int, int], Any]]  # sheet, then row and column, to cell


class Form:
    """A form's known cells: their stored values, and whether a formula has none.

    Attributes
    ----------
    names : list of str
        Names of the sheets that have cells.
    """

    names: list[str]

    def __init__(self, data: bytes, name: str) -> None:
        self._data, self._name = data, name
        self._may_have_formulas = archive.check(data, name)
        self._stored = self._cells(stored=True)

    def value(self, sheet: str, row: int, column: int) -> Any:
        """Give a cell's stored value: None for blank text, ``UNSTORED`` for a formula without."""
        cell = self._stored[sheet].get((row, column))
        if cell is None:
            return UNSTORED if self._has_formula(sheet, row, column) else None
        value = cell.value
        if isinstance(value, str):
            value = value[:LONGEST] if value.strip() else None
        return value

    def _has_formula(self, sheet: str, row: int, column: int) -> bool:
        if not self._may_have_formulas:
            return False
        cell = self._formulas[sheet].get((row, column))
        return cell is not None and cell.data_type == "f"

    @cached_property
    def _formulas(self) -> Grid:
        return self._cells(stored=False)

    def _cells(self, *, stored: bool) -> Grid:
        """Read the corner of each known sheet that holds fields, and nothing of what else is there.

        In reading only, sheets come row by row: merged areas, links and other things that name a
        range of any size are passed over.
        """
        found: Grid = {}
        part = ""
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of spreadsheet features that are of no use here
                from openpyxl import load_workbook

                source = io.BytesIO(self._data)
                book = load_workbook(source, read_only=True, data_only=stored, keep_links=False)
                sheets = book.worksheets
                self.names = [sheet.title for sheet in sheets]
                known = (layout.READ_ME, *schema.sheets(), layout.MONTHS, layout.CORRELATION)
                for sheet in sheets:
                    if sheet.title in known:
                        part = f"sheet {shown(sheet.title)}"
                        found[sheet.title] = _corner(sheet)
        except Exception as error:
            unread = f"a workbook that cannot be read ({type(error).__name__})"
            archive.refuse(self._name, unread, archive.AS_SAVED, part)
        return found


def _corner(sheet: Any) -> dict[tuple[int, int], Any]:
    """Give the cells that a known sheet may use, without empty ones."""
    longest = max(layout.PAIR_ROWS, *map(len, schema.sheets().values()))
    last = layout.FIRST_ROW + longest + layout.SPARE_ROWS
    rows = sheet.iter_rows(min_row=1, max_row=last, min_col=1, max_col=layout.LAST_COLUMN)
    # A formula may have an empty text as its stored value: that is nothing, and not unstored.
    return {
        (row, column): cell
        for row, cells in enumerate(rows, 1)
        for column, cell in enumerate(cells, 1)
        if cell.value is not None or cell.data_type == "str"
    }


def take(draft: Draft, data: bytes, name: str) -> None:
    """Take every field of a form into ``draft``.

    Raises
    ------
    InputError
        A file that is no workbook, or too large a one.
    """
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


def _system(draft: Draft, form: Form) -> str:
    """Read which units the form is filled in: without them no number means anything."""
    place = f"{layout.READ_ME}!{layout.SYSTEM_CELL} (Units of this form)"
    if layout.READ_ME not in form.names:
        draft.fault("", layout.READ_ME, "no such sheet", "the first sheet, which names the units")
        return "si"
    found = form.value(layout.READ_ME, *layout.SYSTEM_PLACE)
    if not _all_stored(draft, "", place, found):
        return "si"
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
        place = f"{sheet}!K{row} (Name)"
        if not _all_stored(draft, sheet, place, found):
            continue
        name = str(found).strip()
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
    if note is not None and _all_stored(draft, name, f"{sheet}!I{row} ({field.label})", note):
        draft.take_note(name, note)
    value = form.value(sheet, row, layout.VALUE)
    if not _all_stored(draft, name, draft.where(name), value):
        pass
    elif isinstance(value, str) and value in ERROR_VALUES:
        draft.fault(name, draft.where(name), f"the error {value}", field.needs(draft.system))
    elif value is not None:
        draft.take(name, place, value, draft.system)
        if name not in draft.notes:
            _leave_default(draft, field)
    _take_ends(draft, form, field, row)
    shape = form.value(sheet, row, layout.SHAPE)
    place = f"{sheet}!L{row}"
    if shape is not None and _all_stored(draft, name, f"{place}, shape ({field.label})", shape):
        chance.take_shape(draft, name, place, shape)


def _all_stored(draft: Draft, near: str, where: str, *values: Any) -> bool:
    """Refuse formulas whose values were not saved with them: they are no empty cells."""
    if UNSTORED not in values:
        return True
    draft.fault(near, where, "a formula without a stored value", OPEN_AND_SAVE)
    return False


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
    place = f"{field.sheet}!D{row}:E{row}"
    if low is None and high is None:
        return
    if _all_stored(draft, field.name, f"{place}, range ({field.label})", low, high):
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
        name_cell = form.value(sheet, row, layout.MONTH_NAME)
        name = str(name_cell or "").strip()
        place = f"{sheet}!C{row}:N{row}"
        if not _all_stored(draft, "", f"{sheet}!O{row} (Name)", name_cell):
            continue
        if name not in monthly:
            found = shown(name)
            draft.fault("", f"{sheet}!O{row} (Name)", found, "the name of a field with months")
        elif not _all_stored(draft, name, f"{place} ({monthly[name].label})", *cells):
            continue
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
        place = f"{sheet}!A{row}:C{row}"
        if any(cell is not None for cell in cells) and _all_stored(draft, "", place, *cells):
            chance.take_pair(draft, place, *cells)
