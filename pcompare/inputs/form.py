"""Write the input form: one sheet per subject, made from the schema and nothing else."""

from __future__ import annotations

import datetime
import gc
import io
import sys
import traceback
from typing import Any

from pcompare.errors import OutputError
from pcompare.inputs import layout, reader, schema, sheet_style
from pcompare.inputs.sheet_style import put_text
from pcompare.records import Inputs
from pcompare.shapes import SHAPES
from pcompare.units import pretty, show

FIGURES = 12  # of a converted number: beyond what reading back can notice
USER_COLUMNS = (layout.VALUE, layout.LOW, layout.HIGH, layout.NOTE, layout.SHAPE)
QUIET_COLUMNS = (layout.TAKES, layout.USUAL, layout.SOURCE, layout.HELP, layout.NAME)


def form(*, blank: bool = False, system: str = "si") -> bytes:
    """Make the form as the bytes of an .xlsx file.

    Parameters
    ----------
    blank : bool
        Leave what must be given empty; otherwise it is filled with the worked example.
    system : str
        ``si`` or ``us``, the units of the cells.

    Returns
    -------
    bytes
    """
    return filled(None if blank else reader.read(), system)


def filled(inputs: Inputs | None, system: str = "si") -> bytes:
    """Make the form filled with one case; None leaves what must be given empty.

    Parameters
    ----------
    inputs : Inputs or None
        A point case, as it is read.
    system : str
        ``si`` or ``us``, the units of the cells.

    Returns
    -------
    bytes
        The .xlsx file.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    _read_me(book, system)
    for name, fields in schema.sheets().items():
        _sheet(book, name, fields, inputs, system)
    _correlation(book, inputs, system)
    _months(book, inputs, system)
    _lists(book, system)
    return _saved(book)


def _saved(book: Any) -> bytes:
    """Give a workbook's bytes; on the way its sheets lie in the system's temporary files."""
    out = io.BytesIO()
    try:
        book.save(out)
    except Exception as error:  # one of the system's, or what the XML library makes of it
        if not isinstance(error, OSError) and type(error).__name__ != "SerialisationError":
            raise
        _let_go(error)
        found = (getattr(error, "strerror", None) or "no room left").lower()
        needs = "room and leave to write there"
        raise OutputError("folder of temporary files", found, needs) from None
    return out.getvalue()


def _let_go(error: BaseException) -> None:
    """End the half-written sheets now: each would tell its fault again as Python ends."""
    told = sys.unraisablehook
    sys.unraisablehook = lambda _: None
    try:
        traceback.clear_frames(error.__traceback__)
        error.__traceback__ = None
        gc.collect()
    finally:
        sys.unraisablehook = told


def _read_me(book: Any, system: str) -> None:
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet(layout.READ_ME)
    sheet_style.title(sheet, layout.TITLE, layout.SUBTITLE)
    put_text(sheet["A4"], "Units of this form")
    put_text(sheet[layout.SYSTEM_CELL], system)
    sheet[layout.SYSTEM_CELL].font = Font(bold=True, color=sheet_style.INK)
    for row, (head, text) in enumerate(layout.GUIDE, layout.SYSTEM_PLACE[0] + 2):
        put_text(sheet.cell(row, 1), head)
        sheet.cell(row, 1).font = Font(bold=True, color=sheet_style.INK)
        sheet.cell(row, 1).alignment = Alignment(vertical="top")
        put_text(sheet.cell(row, 2), text)
        sheet_style.align(sheet.cell(row, 2))
    sheet.column_dimensions["A"].width = 24
    sheet.column_dimensions["B"].width = 92
    sheet_style.pages(sheet, system)


def _sheet(
    book: Any, name: str, fields: tuple[schema.Field, ...], inputs: Inputs | None, system: str
) -> None:
    sheet = book.create_sheet(name)
    sheet_style.title(sheet, name, layout.PURPOSES.get(name, ""))
    sheet_style.headings(sheet, layout.HEADINGS, layout.WIDTHS)
    sheet_style.pages(sheet, system)
    for row, field in enumerate(fields, layout.FIRST_ROW):
        _describe(sheet, row, field, system)
        _fill(sheet, row, field, inputs, system)
        _validate(sheet, row, field, system)
    _validate_shapes(sheet, fields)


def _describe(sheet: Any, row: int, field: schema.Field, system: str) -> None:
    """Write everything about a field but its value."""
    usual = [schema.written(show(x, field.unit, system)[0]) for x in field.usual or ()]
    texts = {
        layout.LABEL: field.label,
        layout.UNIT: field.unit_in(system),
        layout.TAKES: field.needs(system),
        layout.USUAL: " to ".join(usual),
        layout.SOURCE: _origin(field),
        layout.HELP: field.help,
        layout.NAME: field.name,
    }
    for column, text in texts.items():
        put_text(sheet.cell(row, column), text)
    required = field.default is None
    for column in range(1, len(layout.HEADINGS) + 1):
        cell = sheet.cell(row, column)
        sheet_style.rule(cell, left=required and column == layout.VALUE)
        sheet_style.align(cell, quiet=column in QUIET_COLUMNS)
    for column in USER_COLUMNS:
        if field.numeric or column in (layout.VALUE, layout.NOTE):
            sheet_style.tint(sheet.cell(row, column))


def _origin(field: schema.Field) -> str:
    if field.default is None:
        return "must be given"
    status = field.status.replace("_", " ")
    return status if field.source == schema.NO_WORK else f"{status}: {field.source}"


def _fill(sheet: Any, row: int, field: schema.Field, inputs: Inputs | None, system: str) -> None:
    """Write a field's value, range and note."""
    value: str | float | None = field.default
    low, high = field.low, field.high
    if inputs is not None:
        numeric = field.numeric
        value = _of_year(inputs, field.name) if numeric else inputs.choice(field.name)
        low, high = inputs.low.get(field.name), inputs.high.get(field.name)
        put_text(sheet.cell(row, layout.NOTE), inputs.notes.get(field.name, ""))
        put_text(sheet.cell(row, layout.SHAPE), inputs.shapes.get(field.name, ""))
    cell = sheet.cell(row, layout.VALUE)
    if field.kind == "date":
        cell.number_format = "yyyy-mm-dd"
        cell.value = datetime.date.fromisoformat(str(value)) if value is not None else None
    elif not field.numeric:
        cell.number_format = "@"  # or a spreadsheet makes a date of the months 5-9
        put_text(cell, str(value or ""))
    else:
        for column, number in ((layout.VALUE, value), (layout.LOW, low), (layout.HIGH, high)):
            if isinstance(number, float):
                sheet.cell(row, column).value = _number(number, field, system)


def _of_year(inputs: Inputs, name: str) -> float:
    """Give a field's value for the year: as given, or the mean of its months."""
    return inputs.yearly.get(name, float(inputs[name].mean()))


def _number(base: float, field: schema.Field, system: str) -> float | int:
    """Convert a value for a cell; in base units it is exact."""
    number = show(base, field.unit, system)[0]
    if number != base:
        number = float(f"{number:.{FIGURES}g}")
    whole = abs(number) < 1e15 and number == int(number)
    return int(number) if whole else number


def _validate(sheet: Any, row: int, field: schema.Field, system: str) -> None:
    """Let the spreadsheet refuse what the reader would refuse."""
    from openpyxl.worksheet.datavalidation import DataValidation

    if field.kind == "choice":
        column = _list_columns()[field.name]
        cells = f"{layout.LISTS}!${column}${layout.FIRST_ROW}:${column}$"
        last = layout.FIRST_ROW + len(field.choices) - 1
        check = DataValidation(type="list", formula1=f"{cells}{last}", allow_blank=True)
    elif field.numeric:
        low, high = (repr(show(x, field.unit, system)[0]) for x in field.hard)
        check = DataValidation(
            type="whole" if field.kind == "integer" else "decimal",
            operator="between",
            formula1=low,
            formula2=high,
            allow_blank=True,
        )
    else:
        return
    check.errorTitle = "Not taken"
    check.error = f"Needs {field.needs(system)}."[:250]
    sheet.add_data_validation(check)
    check.add(sheet.cell(row, layout.VALUE))
    if field.numeric:
        check.add(sheet.cell(row, layout.LOW))
        check.add(sheet.cell(row, layout.HIGH))


def _validate_shapes(sheet: Any, fields: tuple[schema.Field, ...]) -> None:
    """Offer the shapes beside every field that may have a range."""
    from openpyxl.worksheet.datavalidation import DataValidation

    check = DataValidation(type="list", formula1=f'"{",".join(SHAPES)}"', allow_blank=True)
    check.errorTitle = "Not taken"
    check.error = f"Needs one of {', '.join(SHAPES)}."
    sheet.add_data_validation(check)
    for row, field in enumerate(fields, layout.FIRST_ROW):
        if field.numeric:
            check.add(sheet.cell(row, layout.SHAPE))


def _listed() -> dict[str, tuple[str, ...]]:
    """Give what each column of the visible lists holds: choices, and names to copy from."""
    choices = {f.name: f.choices for f in schema.fields().values() if f.kind == "choice"}
    if schema.PRODUCTS in schema.fields():
        choices[schema.PRODUCTS] = schema.products()
    if schema.CARBON in schema.fields():
        choices[schema.CARBON] = schema.carbon_products()
    return choices


def _list_columns() -> dict[str, str]:
    from openpyxl.utils import get_column_letter

    return {name: get_column_letter(place) for place, name in enumerate(_listed(), 1)}


def _lists(book: Any, system: str) -> None:
    sheet = book.create_sheet(layout.LISTS)
    sheet_style.title(sheet, layout.LISTS, "What the cells with choices offer.")
    listed = _listed()
    sheet_style.headings(sheet, tuple(listed), tuple(28 for _ in listed))
    sheet_style.pages(sheet, system)
    for name, column in _list_columns().items():
        for row, text in enumerate(listed[name], layout.FIRST_ROW):
            put_text(sheet[f"{column}{row}"], text)


def _months(book: Any, inputs: Inputs | None, system: str) -> None:
    sheet = book.create_sheet(layout.MONTHS)
    sheet_style.title(sheet, layout.MONTHS, layout.PURPOSES[layout.MONTHS])
    heads = ("Field", "Unit", *layout.MONTH_NAMES, "Name")
    sheet_style.headings(sheet, heads, layout.MONTH_WIDTHS)
    sheet_style.pages(sheet, system)
    for row, field in enumerate(schema.monthly(), layout.FIRST_ROW):
        put_text(sheet.cell(row, layout.LABEL), field.label)
        put_text(sheet.cell(row, layout.UNIT), pretty(field.unit, system))
        put_text(sheet.cell(row, layout.MONTH_NAME), field.name)
        listed = inputs is not None and field.name not in inputs.yearly
        values = inputs[field.name][0] if inputs is not None and listed else ()
        for column in range(1, layout.MONTH_NAME + 1):
            sheet_style.rule(sheet.cell(row, column))
            sheet_style.align(sheet.cell(row, column), quiet=column == layout.MONTH_NAME)
        for month in range(schema.MONTHS):
            cell = sheet.cell(row, layout.MONTH_FIRST + month)
            sheet_style.tint(cell)
            if len(values) == schema.MONTHS:
                cell.value = _number(float(values[month]), field, system)


def _correlation(book: Any, inputs: Inputs | None, system: str) -> None:
    sheet = book.create_sheet(layout.CORRELATION)
    sheet_style.title(sheet, layout.CORRELATION, layout.PURPOSES[layout.CORRELATION])
    sheet_style.headings(sheet, layout.PAIR_HEADINGS, layout.PAIR_WIDTHS)
    sheet_style.pages(sheet, system)
    pairs = list(inputs.correlations.items()) if inputs is not None else []
    for i in range(max(layout.PAIR_ROWS, len(pairs))):
        row = layout.FIRST_ROW + i
        for column in range(1, len(layout.PAIR_HEADINGS) + 1):
            sheet_style.rule(sheet.cell(row, column))
            sheet_style.align(sheet.cell(row, column))
            sheet_style.tint(sheet.cell(row, column))
        if i < len(pairs):
            (first, second), rank = pairs[i]
            put_text(sheet.cell(row, layout.PAIR_FIRST), first)
            put_text(sheet.cell(row, layout.PAIR_SECOND), second)
            sheet.cell(row, layout.PAIR_RANK).value = rank
