"""``calculation_book.xlsx``: the same calculation as live formulas, cell by cell.

Inputs, reference values and what the designs hold come first, then every line of every strategy,
the comparison, money by year and the checks; behind the lists of equations and sources stands the
working, where every step of the calculation is a cell. No formula is written by hand a second time:
each comes from running the calculation on recording numbers.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

import xlsxwriter

from pcompare import lines
from pcompare.documents import book_checks, book_live, names, salt_words
from pcompare.documents.book_contents import CONTENTS, contents
from pcompare.documents.book_file import packed
from pcompare.documents.book_live import FIXED
from pcompare.documents.book_plan import FIELD_MONTHS, INPUTS, Plan
from pcompare.documents.book_style import MONTHS, Cell, Content, Writer, sheet_name
from pcompare.documents.book_words import Words
from pcompare.documents.results_json import all_lines
from pcompare.findings import Dossier, FieldRow
from pcompare.records import Line

__all__ = ["book", "sheet_name"]

EARLIEST = date(1980, 1, 1)  # of the file, when the project's date is none
COMPARISON = "Comparison"
BESIDE_FIGURES = 10  # of a value beside the carried ones; results.json has all of them


def book(dossier: Dossier) -> bytes:
    """Write the calculation book.

    Parameters
    ----------
    dossier : Dossier

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
    plan = Plan(dossier)
    words = Words(plan)
    with xlsxwriter.Workbook(out, options) as workbook:
        _properties(workbook, dossier)
        writer = Writer(workbook, dossier)
        writer.reserve(CONTENTS)
        _inputs(writer, plan)
        book_live.reference_values(writer, plan)
        book_live.design(writer, plan)
        for sheet in plan.line_sheets:
            book_live.line_sheet(writer, plan, words, sheet)
        _comparison(writer, plan)
        book_checks.lifecycle(writer, plan)
        checked = book_checks.checks(writer, plan, words)
        _other_products(writer, dossier)
        _salts(writer, dossier)
        _dose_models(writer, dossier)
        _equations(writer, dossier)
        _sources(writer, dossier)
        _provenance(writer, plan)
        book_live.working(writer, plan, words)
        contents(writer, plan, checked)
        _names(workbook, plan)
    return packed(out.getvalue())


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


def _names(workbook: Any, plan: Plan) -> None:
    """Name the cells of fields and constants, so that formulas read like equations."""
    for place in plan.places.values():
        if place.name:
            workbook.define_name(
                place.name, f"={_absolute(place.sheet)}!${place.column}${place.row}"
            )


def _absolute(sheet: str) -> str:
    return f"'{sheet}'" if " " in sheet else sheet


# --- sheets -----------------------------------------------------------------------------------


def _inputs(writer: Writer, plan: Plan) -> None:
    """Write the fields, with the field's name in column A and its value in column C."""
    dossier = plan.dossier
    live = {step.name for step in plan.graph.steps if step.operation == "field"}
    months = any(isinstance(row.value, tuple) for row in dossier.fields)
    head = ["Field", "Label", "Value", "Unit", "Low", "High", "Status", "Source", "Origin", "Note",
            "In this book"]  # fmt: skip
    rows = (
        _input_cells(row, dossier.inputs.notes.get(row.name, ""), row.name in live)
        for row in dossier.fields
    )
    widths = [34, 40, 16, 14, 11, 11, 15, 34, 18, 30, 22]
    if months:
        head += MONTHS
        widths += [9] * len(FIELD_MONTHS)
    title = "Every field: value, unit, range, status and source; change those marked live"
    writer.table(INPUTS, title, head, rows, widths, keys_in_first=True)


def _input_cells(row: FieldRow, note: str, live: bool) -> list[Content]:
    """Give the cells of one field; a monthly one shows its months, and its mean is not made up."""
    source = ", ".join(part for part in (row.source, row.locator) if part)
    months: Sequence[float] = row.value if isinstance(row.value, tuple) else ()
    style = "entry" if live else "number"
    value: Content = "by month"
    if not isinstance(row.value, tuple):
        value = row.value if isinstance(row.value, str) else Cell(value=row.value, style=style)
    return [
        row.name, row.label, value, row.unit, row.low, row.high, row.status, source, row.origin,
        note, "live" if live else FIXED, *(Cell(value=m, style=style) for m in months),
    ]  # fmt: skip


def _other_products(writer: Writer, dossier: Dossier) -> None:
    """Write every strategy with each product it may have, side by side.

    The key of a line is the head of its column, a point and the name of its row.
    """
    beside = {
        f"{result.name}.products.{product}": (result, product, found)
        for result in dossier.comparison.strategies.values()
        for product, found in result.others.items()
    }
    if not beside:
        return
    rows: list[list[Content]] = [
        ["Strategy", "", "", *(lines.LABELS.get(r.name, r.label) for r, _, _ in beside.values())],
        ["Product", "", "", *(names.product(product) for _, product, _ in beside.values())],
    ]
    group = ""
    for kind in lines.LINES:
        found = [_beside(f.get(kind.quantity)) for _, _, f in beside.values()]
        if all(value is None for value in found):
            continue
        if kind.group != group:
            group = kind.group
            rows.append([group])
        rows.append([kind.label, kind.quantity, kind.unit, *found])
    title = "Each strategy with each product: values of this run, fixed here"
    head = ["Quantity", "Name", "Unit", *beside]
    writer.table("Other products", title, head, rows, [40, 30, 14, *(24 for _ in beside)])


def _salts(writer: Writer, dossier: Dossier) -> None:
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
        values = [_beside(found.get(kind.quantity)) for _, found in salts]
        if all(value is None for value in values):
            continue
        if kind.group != group:
            group = kind.group
            rows.append([group])
        rows.append([kind.label, kind.quantity, kind.unit, *values])
    head = ["Quantity", "Name", "Unit", *(names.product(name) for name, _ in salts)]
    title = "Metal salts, each at one point in the activated sludge and sized to the target"
    writer.table("Metal salts", title, head, rows, [40, 28, 14, *(18 for _ in salts)])


def _beside(line: Line | None) -> float | None:
    """Give a value that stands in the book for comparison, and nothing rests on."""
    return None if line is None else book_live.figured(line.value, BESIDE_FIGURES)


def _dose_models(writer: Writer, dossier: Dossier) -> None:
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


def _comparison(writer: Writer, plan: Plan) -> None:
    """Write every quantity side by side, and the first less the reference."""
    compared = plan.dossier.comparison
    results = list(compared.strategies.values())
    rows: list[list[Content]] = []
    overall: list[Content] = ["Meets every requirement", "meets_permit", "fixed here"]
    rows.append([*overall, *(r.meets_permit for r in results)])
    places = {name: i for i, name in enumerate(compared.ranking, 1)}
    ranked: list[Content] = ["Place by present worth", "ranking", "fixed here"]
    rows.append([*ranked, *(places.get(r.name) for r in results)])
    group = ""
    for kind in lines.LINES:
        if kind.group != group:
            group = kind.group
            rows.append([group])
        found = (
            book_live.comparison_cells(plan, kind.quantity, r.lines, COMPARISON) for r in results
        )
        rows.append([kind.label, kind.quantity, kind.unit, *found])
    if compared.difference:
        rows.append(["The first less the reference"])
        rows += [
            [line.label, line.key, line.unit,
             plan.result(f"line {line.key}", COMPARISON, line.value)]
            for line in compared.difference.values()
        ]  # fmt: skip
    rows.append(["In words"])
    rows += [["Recommendation", compared.recommendation]]
    rows += [["What would change it", text] for text in compared.what_would_change_it]
    rows += [["Note", text] for text in compared.notes]
    head = ["Quantity", "Name", "Unit", *(r.label for r in results)]
    widths = [40, 30, 14, *(20 for _ in results)]
    writer.table(COMPARISON, "Every quantity of every strategy, side by side", head, rows, widths)


def _equations(writer: Writer, dossier: Dossier) -> None:
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
    writer.table(
        "Equations",
        "Equations in use, in words, with their references",
        head,
        rows,
        (34, 18, 50, 50, 14, 44, 12),
        wrapped=True,
    )


def _sources(writer: Writer, dossier: Dossier) -> None:
    rows = ([key, text] for key, text in sorted(dossier.sources.items()))
    writer.table(
        "Sources",
        "Works that numbers and equations are taken from",
        ("Key", "Work"),
        rows,
        (26, 120),
        wrapped=True,
    )


def _provenance(writer: Writer, plan: Plan) -> None:
    dossier = plan.dossier
    run = dossier.provenance
    rows: list[list[Content]] = [
        ["Program", f"pcompare {run.version}"],
        ["Run", run.run_id],
        ["Hash of the inputs", run.input_hash],
        ["Seed", Cell(value=float(run.seed), style="left")],
        ["Draws", Cell(value=float(run.draws), style="left")],
    ]
    rows += [[name, version] for name, version in sorted(run.libraries.items())]
    rows += [
        ["Case", dossier.inputs.name],
        ["Units", "base units, as the columns say; money in one currency, never converted"],
        ["Currency", dossier.inputs.choices.get("finance.currency", "")],
    ]
    rows += [["To look at", warning] for warning in dossier.inputs.warnings]
    writer.table(
        "Provenance",
        "What made this book, and what to look at in the inputs",
        ("What", "Which"),
        rows,
        (44, 110),
        wrapped=True,
    )
