"""Write the input form: one sheet per subject, made from the schema and nothing else."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import Any

from pcompare.inputs import layout, reader, schema
from pcompare.records import Inputs
from pcompare.units import DASH, pretty, show, significant

INK, TINT, RULE = "1F3B4D", "F3F6EE", "B8C4CC"  # dark heading ink, pale input cells, thin rules
GUIDE = (
    "Fill the pale cells of column C on each sheet. Units stand beside each cell.",
    "A value left empty takes the default where there is one; the others must be given.",
    "Low and High, where given, are the range that the value may really lie in.",
    "Months: twelve values for a field replace its yearly value. A row is filled whole or not.",
    "Column K holds the field's name, which must stay as it is.",
    "Then run: pcompare check FILE, and pcompare memo FILE.",
    "Planning level only. Local codes and a licensed engineer decide.",
)


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
    from openpyxl import Workbook

    example = None if blank else reader.read()
    book = Workbook()
    book.remove(book.worksheets[0])
    _read_me(book, system)
    for name, fields in schema.sheets().items():
        _sheet(book, name, fields, example, system)
    _months(book, example, system)
    _lists(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _text(cell: Any, value: str) -> None:
    """Put text into a cell that never becomes a formula."""
    cell.value = value
    cell.data_type = "s"


def _read_me(book: Any, system: str) -> None:
    from openpyxl.styles import Font

    sheet = book.create_sheet(layout.READ_ME)
    _text(sheet["A1"], "Phosphorus removal: input form")
    sheet["A1"].font = Font(bold=True, size=16, color=INK)
    _text(sheet["A2"], "One plant, one limit: metal salt, biological removal, or both")
    _text(sheet["A4"], "Units of this form")
    _text(sheet["B4"], system)
    for row, line in enumerate(GUIDE, 6):
        _text(sheet.cell(row, 1), line)
    sheet.column_dimensions["A"].width = 90
    sheet.sheet_view.showGridLines = False


def _heading(sheet: Any, title: str, headings: tuple[str, ...], widths: tuple[int, ...]) -> None:
    from openpyxl.styles import Alignment, Border, Font, Side
    from openpyxl.utils import get_column_letter

    _text(sheet["A1"], title)
    sheet["A1"].font = Font(bold=True, size=14, color=INK)
    for column, (heading, width) in enumerate(zip(headings, widths, strict=True), 1):
        cell = sheet.cell(layout.FIRST_ROW - 1, column)
        _text(cell, heading)
        cell.font = Font(bold=True, color=INK)
        cell.border = Border(bottom=Side(style="medium", color=INK))
        cell.alignment = Alignment(vertical="bottom", wrap_text=True)
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.sheet_view.showGridLines = False
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = f"{layout.FIRST_ROW - 1}:{layout.FIRST_ROW - 1}"
    sheet.oddFooter.center.text = "&A   page &P of &N"


def _sheet(
    book: Any, name: str, fields: tuple[schema.Field, ...], example: Inputs | None, system: str
) -> None:
    sheet = book.create_sheet(name)
    _heading(sheet, name, layout.HEADINGS, layout.WIDTHS)
    sheet.freeze_panes = sheet.cell(layout.FIRST_ROW, layout.VALUE)
    for row, field in enumerate(fields, layout.FIRST_ROW):
        _row(sheet, row, field, example, system)
        _validate(sheet, row, field, system)


def _row(sheet: Any, row: int, field: schema.Field, example: Inputs | None, system: str) -> None:
    from openpyxl.styles import Alignment, Border, PatternFill, Side

    usual = DASH
    if field.usual is not None:
        ends = (show(x, field.unit, system)[0] for x in field.usual)
        usual = " to ".join(significant(end, 3) for end in ends)
    texts: Mapping[int, str] = {
        layout.LABEL: field.label,
        layout.UNIT: pretty(field.unit, system).strip(DASH),
        layout.TAKES: field.needs(system),
        layout.USUAL: usual,
        layout.SOURCE: _origin(field),
        layout.HELP: field.help,
        layout.NAME: field.name,
    }
    for column, text in texts.items():
        _text(sheet.cell(row, column), text)
    _put(sheet.cell(row, layout.VALUE), _value(field, example), field, system)
    for column, end in ((layout.LOW, field.low), (layout.HIGH, field.high)):
        if end is not None and _still_default(field, example):
            _put(sheet.cell(row, column), end, field, system)
    rule = Border(bottom=Side(style="hair", color=RULE))
    for column in range(1, len(layout.HEADINGS) + 1):
        sheet.cell(row, column).border = rule
        sheet.cell(row, column).alignment = Alignment(vertical="top", wrap_text=column != 3)
    for column in (layout.VALUE, layout.LOW, layout.HIGH, layout.NOTE):
        if field.numeric or column in (layout.VALUE, layout.NOTE):
            sheet.cell(row, column).fill = PatternFill("solid", fgColor=TINT)


def _origin(field: schema.Field) -> str:
    if field.default is None:
        return "must be given"
    return f"{field.status}: {field.source}"


def _value(field: schema.Field, example: Inputs | None) -> str | float | None:
    if example is None:
        return field.default
    if field.numeric:
        return float(example[field.name].mean())
    return example.choice(field.name)


def _still_default(field: schema.Field, example: Inputs | None) -> bool:
    return example is None or example.origins[field.name] == "default"


def _put(cell: Any, value: str | float | None, field: schema.Field, system: str) -> None:
    if value is None:
        return
    if isinstance(value, str):
        _text(cell, value)
        return
    number = show(value, field.unit, system)[0]
    cell.value = int(number) if field.kind == "integer" else number
    cell.number_format = "General"


def _validate(sheet: Any, row: int, field: schema.Field, system: str) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    if field.kind == "choice":
        column = _choice_columns()[field.name]
        last = len(field.choices) + 1
        rule = DataValidation(
            type="list", formula1=f"{layout.LISTS}!${column}$2:${column}${last}", allow_blank=True
        )
    elif field.numeric and all(abs(x) < 1e300 for x in field.hard):
        low, high = (show(x, field.unit, system)[0] for x in field.hard)
        rule = DataValidation(
            type="decimal", operator="between", formula1=repr(low), formula2=repr(high),
            allow_blank=True,
        )  # fmt: skip
    else:
        return
    rule.error = field.needs(system)[:200]
    rule.errorTitle = field.label[:30]
    sheet.add_data_validation(rule)
    rule.add(sheet.cell(row, layout.VALUE))


def _choice_columns() -> dict[str, str]:
    from openpyxl.utils import get_column_letter

    names = [f.name for f in schema.fields().values() if f.kind == "choice"]
    return {name: get_column_letter(i) for i, name in enumerate(names, 1)}


def _lists(book: Any) -> None:
    from openpyxl.styles import Font

    sheet = book.create_sheet(layout.LISTS)
    for name, column in _choice_columns().items():
        _text(sheet[f"{column}1"], name)
        sheet[f"{column}1"].font = Font(bold=True, color=INK)
        sheet.column_dimensions[column].width = 28
        for row, choice in enumerate(schema.fields()[name].choices, 2):
            _text(sheet[f"{column}{row}"], choice)


def _months(book: Any, example: Inputs | None, system: str) -> None:
    from openpyxl.styles import PatternFill

    sheet = book.create_sheet(layout.MONTHS)
    headings = ("Field", "Unit", *layout.MONTH_NAMES, "Name")
    _heading(sheet, layout.MONTHS, headings, (44, 13, *(9 for _ in range(12)), 34))
    sheet.freeze_panes = sheet.cell(layout.FIRST_ROW, layout.MONTH_FIRST)
    monthly = [f for f in schema.fields().values() if f.monthly]
    for row, field in enumerate(monthly, layout.FIRST_ROW):
        _text(sheet.cell(row, 1), field.label)
        _text(sheet.cell(row, 2), pretty(field.unit, system).strip(DASH))
        _text(sheet.cell(row, layout.MONTH_NAME), field.name)
        values = example[field.name][0] if example is not None else ()
        for month in range(schema.MONTHS):
            cell = sheet.cell(row, layout.MONTH_FIRST + month)
            cell.fill = PatternFill("solid", fgColor=TINT)
            if len(values) == schema.MONTHS:
                cell.value = show(float(values[month]), field.unit, system)[0]
