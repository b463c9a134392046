"""How the form looks: one dark ink, pale input cells, thin rules, and pages that print."""

from __future__ import annotations

from typing import Any

from pcompare.inputs import layout, text_values

INK, TINT, RULE, QUIET = "1F3B4D", "F3F6EE", "B8C4CC", "5F6B73"
FORMULA_SIGNS = ("=", "+", "-", "@")  # text that begins so is no formula


def put_text(cell: Any, value: str) -> None:
    """Put text into a cell so that it never becomes a formula, here or when it is edited."""
    text = text_values.clean(value)
    if not text:
        return
    cell.value = text
    cell.data_type = "s"
    if text.startswith(FORMULA_SIGNS):
        cell.quotePrefix = True


def title(sheet: Any, text: str, purpose: str) -> None:
    """Head a sheet with its name and what it is for."""
    from openpyxl.styles import Font

    put_text(sheet["A1"], text)
    sheet["A1"].font = Font(bold=True, size=14, color=INK)
    put_text(sheet["A2"], purpose)
    sheet["A2"].font = Font(color=QUIET)
    sheet.sheet_view.showGridLines = False


def headings(sheet: Any, texts: tuple[str, ...], widths: tuple[int, ...]) -> None:
    """Write the row of headings, which stays in sight and on every printed page."""
    from openpyxl.styles import Alignment, Border, Font, Side
    from openpyxl.utils import get_column_letter

    row = layout.FIRST_ROW - 1
    for column, (text, width) in enumerate(zip(texts, widths, strict=True), 1):
        cell = sheet.cell(row, column)
        put_text(cell, text)
        cell.font = Font(bold=True, color=INK)
        cell.border = Border(bottom=Side(style="medium", color=INK))
        cell.alignment = Alignment(vertical="bottom", wrap_text=True)
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = sheet.cell(layout.FIRST_ROW, 2)
    sheet.print_title_rows = f"{row}:{row}"


def pages(sheet: Any, system: str) -> None:
    """Print on landscape pages as wide as the sheet: A4, or letter for US units."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_LETTER if system == "us" else sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.oddFooter.left.text = layout.TITLE
    sheet.oddFooter.right.text = "&A   page &P of &N"


def rule(cell: Any, *, left: bool = False) -> None:
    """Draw the hair line under a row's cell; ``left`` is the bar of what must be given."""
    from openpyxl.styles import Border, Side

    bar = Side(style="medium", color=INK) if left else Side()
    cell.border = Border(bottom=Side(style="hair", color=RULE), left=bar)


def tint(cell: Any) -> None:
    """Mark a cell that the user fills."""
    from openpyxl.styles import PatternFill

    cell.fill = PatternFill("solid", fgColor=TINT)


def align(cell: Any, *, wrap: bool = True, quiet: bool = False) -> None:
    """Set a cell's text at the top of its row; ``quiet`` for what is only there to be read."""
    from openpyxl.styles import Alignment, Font

    cell.alignment = Alignment(vertical="top", wrap_text=wrap)
    if quiet:
        cell.font = Font(color=QUIET)
