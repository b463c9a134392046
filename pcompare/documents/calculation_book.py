"""``calculation_book.xlsx``: inputs, every line of every strategy, checks, equations and sources.

Each number is written as a ``Cell``: a value now, and where a formula is given for it, that formula
with the value beside it as the cached result. Text is only ever written as text.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import xlsxwriter

from pcompare import lines
from pcompare.documents import names, salt_words
from pcompare.documents.results_json import all_lines
from pcompare.records import Dossier, FieldRow, Line, StrategyResult

LONGEST = 32_000  # characters that a cell holds, with room for escapes
EARLIEST = date(1980, 1, 1)  # of the file, when the project's date is none
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
INK, RULE, WASH, ALARM = "#1F2328", "#B9C0C7", "#F3F5F7", "#8C2F39"


@dataclass(frozen=True, kw_only=True, slots=True)
class Cell:
    """A number, and the formula that makes it where there is one; the value is its cached result.

    A formula without a number is not written: a cell that has no value shows none.
    """

    value: float | None
    formula: str = ""


Content = str | float | bool | Cell | None


def book(dossier: Dossier, formulas: Mapping[str, str] | None = None) -> bytes:
    """Write the calculation book.

    Parameters
    ----------
    dossier : Dossier
    formulas : mapping of str to str, optional
        Line key to the formula of its value's cell; all other lines are plain values.

    Returns
    -------
    bytes
        A workbook, the same bytes for the same dossier.
    """
    out = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_numbers": False,
        "strings_to_urls": False,
        "default_date_format": "yyyy-mm-dd",
    }
    with xlsxwriter.Workbook(out, options) as workbook:
        _properties(workbook, dossier)
        writer = _Writer(workbook, dossier)
        _inputs(writer, dossier)
        _basis(writer, dossier, formulas or {})
        for result in dossier.comparison.strategies.values():
            _strategy(writer, result, formulas or {})
        _salts(writer, dossier)
        _dose_models(writer, dossier)
        _comparison(writer, dossier)
        _checks(writer, dossier)
        _equations(writer, dossier)
        _sources(writer, dossier)
        _provenance(writer, dossier)
    return out.getvalue()


def sheet_name(wanted: str, taken: Iterable[str]) -> str:
    """Make a sheet name that a spreadsheet accepts: at most 31 characters, unique, no signs.

    Examples
    --------
    >>> sheet_name("Metal salt: one point, A/B & a long name", ["Inputs"])
    'Metal salt one point, A B & a'
    >>> sheet_name("Inputs", ["inputs"])
    'Inputs 2'
    """
    bare = re.sub(r"[\[\]:*?/\\\x00-\x1f]+", " ", wanted)
    bare = re.sub(r"\s+", " ", bare).strip(" '") or "Sheet"
    if len(bare) > 31:
        whole_words = bare[:32].rpartition(" ")[0]
        bare = (whole_words if len(whole_words) > 15 else bare[:31]).strip(" '")
    if bare.lower() == "history":  # a spreadsheet keeps this name for itself
        bare = "History of"
    used = {name.lower() for name in taken}
    name, number = bare, 1
    while name.lower() in used:
        number += 1
        ending = f" {number}"
        name = bare[: 31 - len(ending)].rstrip() + ending
    return name


class _Writer:
    """Writes tables, sheet by sheet, in one calm style."""

    def __init__(self, workbook: Any, dossier: Dossier) -> None:
        self.workbook = workbook
        self.run = f"Run {dossier.provenance.run_id}"
        self.names: list[str] = []
        base = {"font_name": "Calibri", "font_size": 10, "font_color": INK, "valign": "top"}
        self.formats = {
            "text": workbook.add_format({**base, "text_wrap": True}),
            "number": workbook.add_format({**base, "num_format": "General"}),
            "head": workbook.add_format(
                {**base, "bold": True, "bottom": 1, "bottom_color": RULE, "text_wrap": True,
                 "valign": "bottom", "bg_color": WASH}
            ),
            "band": workbook.add_format({**base, "bold": True, "bg_color": WASH}),
            "title": workbook.add_format({**base, "bold": True, "font_size": 13}),
            "alarm": workbook.add_format({**base, "bold": True, "font_color": ALARM}),
        }  # fmt: skip

    def table(
        self, name: str, title: str, head: Sequence[str], rows: Iterable[Sequence[Content]],
        widths: Sequence[float], *, keys_in_first: bool = False,
    ) -> None:  # fmt: skip
        """Write one sheet: a title, a frozen head and the rows; one text alone opens a group.

        With ``keys_in_first`` there is no title, so that the head stands in the first row.
        """
        self.names.append(sheet_name(name, self.names))
        sheet = self.workbook.add_worksheet(self.names[-1])
        top = 0
        if not keys_in_first:
            self.put(sheet, 0, 0, title, "title")
            top = 2
        for column, words in enumerate(head):
            self.put(sheet, top, column, words, "head")
        row = top
        for row, cells in enumerate(rows, top + 1):
            band = len(cells) == 1
            for column, cell in enumerate(cells):
                self.put(sheet, row, column, cell, "band" if band else "")
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width)
        self._page(sheet, top, row, len(head))

    def put(self, sheet: Any, row: int, column: int, content: Content, style: str = "") -> None:
        """Write one cell by its kind; nothing is guessed from the text."""
        if isinstance(content, bool):
            words, look = ("yes", "text") if content else ("no", "alarm")
            sheet.write_string(row, column, words, self.formats[style or look])
        elif isinstance(content, str):
            if content:
                text = content.encode("utf-8", "replace").decode("utf-8")[:LONGEST]
                sheet.write_string(row, column, text, self.formats[style or "text"])
        elif content is not None:
            cell = content if isinstance(content, Cell) else Cell(value=content)
            self._number(sheet, row, column, cell, self.formats[style or "number"])

    @staticmethod
    def _number(sheet: Any, row: int, column: int, cell: Cell, look: Any) -> None:
        if cell.value is None or not math.isfinite(cell.value):
            return
        if cell.formula:
            sheet.write_formula(row, column, cell.formula, look, cell.value)
        else:
            sheet.write_number(row, column, cell.value, look)

    def _page(self, sheet: Any, top: int, last: int, columns: int) -> None:
        """Freeze the head and set the page for printing."""
        sheet.freeze_panes(top + 1, 1)
        sheet.hide_gridlines(2)
        sheet.set_landscape()
        sheet.set_paper(9)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(top)
        sheet.set_margins(left=0.5, right=0.5, top=0.7, bottom=0.7)
        sheet.print_area(0, 0, max(last, top), columns - 1)
        sheet.set_footer(f"&L&8{self.run.replace('&', '&&')}&C&8&A&R&8page &P of &N")


def _properties(workbook: Any, dossier: Dossier) -> None:
    """Set title and date; the date is the project's, since no clock is read."""
    text = dossier.inputs.choices.get("project.date", "")
    try:
        day = max(date.fromisoformat(text), EARLIEST)
    except ValueError:
        day = EARLIEST
    workbook.set_properties(
        {
            "title": "Phosphorus removal: calculation book",
            "author": f"pcompare {dossier.provenance.version}",
            "comments": f"Run {dossier.provenance.run_id}",
            "created": datetime(day.year, day.month, day.day),
        }
    )
    workbook.set_calc_mode("auto")


# --- sheets -----------------------------------------------------------------------------------


def _inputs(writer: _Writer, dossier: Dossier) -> None:
    """Write the fields, with the field's name in column A and its value in column C."""
    months = any(isinstance(row.value, tuple) for row in dossier.fields)
    head = ["Field", "Label", "Value", "Unit", "Low", "High", "Status", "Source", "Origin", "Note"]
    rows = (_input_cells(row, dossier.inputs.notes.get(row.name, "")) for row in dossier.fields)
    widths = [34, 40, 16, 14, 11, 11, 15, 34, 18, 30]
    if months:
        head += MONTHS
        widths += [9] * len(MONTHS)
    writer.table("Inputs", "Inputs", head, rows, widths, keys_in_first=True)


def _input_cells(row: FieldRow, note: str) -> list[Content]:
    """Give the cells of one field; a monthly one shows its months, and its mean is not made up."""
    source = ", ".join(part for part in (row.source, row.locator) if part)
    months: Sequence[float] = row.value if isinstance(row.value, tuple) else ()
    value: Content = row.value if isinstance(row.value, str | float | int) else "by month"
    return [
        row.name, row.label, value, row.unit, row.low, row.high, row.status, source, row.origin,
        note, *months,
    ]  # fmt: skip


LINE_HEAD = ("Line", "Key", "Value", "Unit", "Low", "Middle", "High", "How reduced", "Solved",
             "Why empty", "Equation", "Sources")  # fmt: skip
LINE_WIDTHS = (38, 44, 16, 14, 13, 13, 13, 18, 9, 26, 40, 34)


def _strategy(writer: _Writer, result: StrategyResult, formulas: Mapping[str, str]) -> None:
    """Write every line of one strategy, by group, and of the products beside it."""
    rows: list[list[Content]] = []
    for group, found in _grouped(result.lines):
        rows.append([group])
        rows += [_line_cells(line, formulas) for line in found]
    for product, beside in result.others.items():
        rows.append([f"With {lines.PRODUCTS.get(product, product)}"])
        rows += [_line_cells(line, formulas) for line in beside.values()]
    _line_sheet(writer, _short(result), result.label, rows)


def _basis(writer: _Writer, dossier: Dossier, formulas: Mapping[str, str]) -> None:
    """Write the lines of the plant itself, where there are any."""
    rows = [_line_cells(line, formulas) for line in dossier.comparison.basis.values()]
    if rows:
        _line_sheet(writer, "Plant basis", "The plant as it stands", rows)


def _line_sheet(writer: _Writer, name: str, title: str, rows: Sequence[Sequence[Content]]) -> None:
    head, widths = list(LINE_HEAD), list(LINE_WIDTHS)
    if any(len(row) > len(head) for row in rows):
        head += MONTHS
        widths += [11] * len(MONTHS)
    writer.table(name, title, head, rows, widths)


def _short(result: StrategyResult) -> str:
    return lines.LABELS.get(result.name, result.label)


def _grouped(found: Mapping[str, Line]) -> list[tuple[str, list[Line]]]:
    """Put lines under the groups of the vocabulary; lines that it lacks come last."""
    groups: dict[str, list[Line]] = {}
    for kind in lines.LINES:
        if kind.quantity in found:
            groups.setdefault(kind.group, []).append(found[kind.quantity])
    rest = [line for quantity, line in found.items() if quantity not in lines.KINDS]
    return [*groups.items(), *([("Other", rest)] if rest else [])]


def _line_cells(line: Line, formulas: Mapping[str, str]) -> list[Content]:
    return [
        line.label,
        line.key,
        Cell(value=line.value, formula=formulas.get(line.key, "")),
        line.unit,
        line.low,
        line.middle,
        line.high,
        line.reduced_by,
        "solved" if line.solved else "",
        line.reason if line.value is None else "",
        line.equation,
        ", ".join(line.sources),
        *line.months,
    ]


def _salts(writer: _Writer, dossier: Dossier) -> None:
    """Write every metal salt at one point and at the target, side by side as the memo sorts them.

    The key of a line is ``salt_single_point.salts.PRODUCT.QUANTITY``.
    """
    salts = salt_words.by_worth(dossier.salts)
    if not salts:
        return
    chosen = salt_words.carried(dossier)
    rows: list[list[Content]] = [
        ["Carried by the one-point alternative", "", "", *(name == chosen for name, _ in salts)],
        ["Reaches the target", "", "", *(salt_words.reaches_target(found) for _, found in salts)],
        ["Product", "product", "", *(name for name, _ in salts)],
    ]
    group = ""
    for kind in lines.LINES:
        values = [found[kind.quantity].value if kind.quantity in found else None
                  for _, found in salts]  # fmt: skip
        if all(value is None for value in values):
            continue
        if kind.group != group:
            group = kind.group
            rows.append([group])
        rows.append([kind.label, kind.quantity, kind.unit, *values])
    head = ["Quantity", "Name", "Unit", *(names.product(name) for name, _ in salts)]
    title = "Metal salts, each at one point in the activated sludge and sized to the target"
    writer.table("Metal salts", title, head, rows, [40, 28, 14, *(18 for _ in salts)])


def _dose_models(writer: _Writer, dossier: Dossier) -> None:
    """Write the dose of the carried salt by each published model, along the limit."""
    sweep = dossier.dose_models
    models = [m for m, found in sweep.values.items() if found.get("metal_dose")]
    if not sweep.points or not models:
        return
    rows: list[list[Content]] = []
    for i, point in enumerate(sweep.points):
        row: list[Content] = [point]
        for model in models:
            doses, met = sweep.values[model]["metal_dose"], sweep.feasible.get(model, ())
            row += [doses[i] if i < len(doses) else None, i < len(met) and met[i]]
        rows.append(row)
    head = [f"{sweep.label}, {sweep.unit}"]
    for model in models:
        head += [f"{salt_words.model_name(model)}: metal dose, mg/L", "meets all"]
    product = names.product(salt_words.carried(dossier) or "metal")
    title = f"Dose of {product.lower()} by each published dose model"
    writer.table("Dose models", title, head, rows, [26, *([22, 10] * len(models))])


def _comparison(writer: _Writer, dossier: Dossier) -> None:
    """Write every quantity side by side."""
    results = list(dossier.comparison.strategies.values())
    rows: list[list[Content]] = []
    overall: list[Content] = ["Meets every requirement", "meets_permit", ""]
    rows.append([*overall, *(r.meets_permit for r in results)])
    places = {name: i for i, name in enumerate(dossier.comparison.ranking, 1)}
    ranked: list[Content] = ["Place by present worth", "ranking", ""]
    rows.append([*ranked, *(places.get(r.name) for r in results)])
    group = ""
    for kind in lines.LINES:
        if kind.group != group:
            group = kind.group
            rows.append([group])
        named: list[Content] = [kind.label, kind.quantity, kind.unit]
        values = (r.lines[kind.quantity].value if kind.quantity in r.lines else None
                  for r in results)  # fmt: skip
        rows.append([*named, *values])
    texts = [
        ("Recommendation", dossier.comparison.recommendation),
        *(("What would change it", t) for t in dossier.comparison.what_would_change_it),
        *(("Note", t) for t in dossier.comparison.notes),
    ]
    rows.append(["In words"])
    rows += [[label, text] for label, text in texts]
    head = ["Quantity", "Name", "Unit", *(r.label for r in results)]
    widths = [40, 30, 14, *(20 for _ in results)]
    writer.table("Comparison", "Comparison", head, rows, widths)


def _checks(writer: _Writer, dossier: Dossier) -> None:
    rows: list[list[Content]] = [
        [r.label, c.label, c.sense, c.needed, c.found, c.unit, c.met, c.key]
        for r in dossier.comparison.strategies.values()
        for c in r.checks
    ]
    head = ("Strategy", "Requirement", "Found must be", "Needed", "Found", "Unit", "Met", "Key")
    writer.table("Checks", "Checks", head, rows, (40, 48, 14, 14, 14, 14, 9, 24))


def _equations(writer: _Writer, dossier: Dossier) -> None:
    used: dict[str, int] = {}
    for line in all_lines(dossier):
        for name in filter(None, (part.strip() for part in line.equation.split(","))):
            used[name.split(".")[0]] = used.get(name.split(".")[0], 0) + 1
    rows: list[list[Content]] = [
        [e.name, e.subject, e.summary, e.formula, e.unit, "; ".join(e.references),
         float(used.get(e.name, 0))]
        for e in dossier.equations
    ]  # fmt: skip
    head = ("Equation", "Subject", "What it is", "Formula", "Unit", "References",
            "Lines that end in it")  # fmt: skip
    writer.table("Equations", "Equations", head, rows, (34, 18, 50, 50, 14, 44, 12))


def _sources(writer: _Writer, dossier: Dossier) -> None:
    rows = ([key, text] for key, text in sorted(dossier.sources.items()))
    writer.table("Sources", "Sources", ("Key", "Work"), rows, (26, 120))


def _provenance(writer: _Writer, dossier: Dossier) -> None:
    run = dossier.provenance
    rows: list[list[Content]] = [
        ["Program", f"pcompare {run.version}"],
        ["Run", run.run_id],
        ["Hash of the inputs", run.input_hash],
        ["Seed", float(run.seed)],
        ["Draws", float(run.draws)],
    ]
    rows += [[name, version] for name, version in sorted(run.libraries.items())]
    rows += [
        ["Case", dossier.inputs.name],
        ["Units", "base units, as the columns say; money in one currency, never converted"],
        ["Currency", dossier.inputs.choices.get("finance.currency", "")],
    ]
    rows += [["To look at", warning] for warning in dossier.inputs.warnings]
    for strategy in dossier.comparison.strategies.values():
        rows += [
            [f"Fixed here, {strategy.label}", f"{name}: {choice}; run pcompare again to change it"]
            for name, choice in sorted(strategy.design.choices.items())
        ]
    writer.table("Provenance", "Provenance", ("What", "Which"), rows, (44, 110))
