"""The sheets of the calculation book that hold the calculation: lines, leaves and working."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from pcompare.documents.book_plan import (
    DESIGN,
    HEAD_ROWS,
    REFERENCE,
    STEP_MONTHS,
    LineSheet,
    Plan,
    WorkRow,
)
from pcompare.documents.book_style import MONTHS, Cell, Content, Writer
from pcompare.documents.book_words import Words
from pcompare.findings import Dossier
from pcompare.graph import Step
from pcompare.records import Line

FIXED = "fixed here; run pcompare again to change"
LIVE = "live"
ZERO = 1e-9  # what a residual may be
PERCENTILE_FIGURES = 5  # of a percentile: draws settle three at most
LINE_HEAD = ("Line", "Key", "Value", "Unit", "Low", "Middle", "High", "How reduced", "Live",
             "Why empty", "Equation in words", "Sources")  # fmt: skip
LINE_WIDTHS = (40, 44, 16, 14, 13, 13, 13, 18, 22, 32, 60, 34)
WORK_HEAD = ("Step", "Equation", "Value", "Unit", "Equation in words", "Sources", "Not live")
WORK_WIDTHS = (60, 34, 18, 14, 60, 40, 22)


def line_sheet(writer: Writer, plan: Plan, words: Words, sheet: LineSheet) -> None:
    """Write one sheet of lines."""
    rows = [_line_cells(row, plan, words, sheet.name) for row in sheet.rows]
    table_of_lines(writer, sheet.name, sheet.title, rows)


def table_of_lines(
    writer: Writer, name: str, title: str, rows: Sequence[Sequence[Content]]
) -> None:
    """Write rows of lines, with the months where there are any."""
    head, widths = list(LINE_HEAD), list(LINE_WIDTHS)
    keys = [row[1] for row in rows if len(row) > 1 and isinstance(row[1], str)]
    widths[1] = max([widths[1], *(len(key) for key in keys)])
    if any(len(row) > len(head) for row in rows):
        head += MONTHS
        widths += [11] * len(MONTHS)
    writer.table(name, title, head, rows, widths)


def _line_cells(row: Line | str, plan: Plan, words: Words, sheet: str) -> list[Content]:
    if isinstance(row, str):
        return [row]
    result = plan.graph.results.get(f"line {row.key}")
    live = ""
    if row.value is not None and f"line {row.key}" in plan.results:
        live = words.live(result if isinstance(result, Step) else None)
        live = FIXED if isinstance(result, Step) and result.operation == "fixed" else live
    return [
        *line_cells(row, plan.result(f"line {row.key}", sheet, row.value), live, words),
        *plan.month_cells(f"months {row.key}", sheet, row.months),
    ]


def line_cells(line: Line, value: Cell, live: str, words: Words) -> list[Content]:
    """Give the cells of one line but its months."""
    return [
        line.label,
        line.key,
        value,
        line.unit,
        *(figured(end, PERCENTILE_FIGURES) for end in (line.low, line.middle, line.high)),
        line.reduced_by,
        live,
        line.reason if line.value is None else "",
        words.formula(line.equation),
        ", ".join(line.sources),
    ]


def figured(value: float | None, figures: int) -> float | None:
    """Round a number that nothing here is worked out from to what is worth printing."""
    return None if value is None else float(f"{value:.{figures}g}")


def reference_values(writer: Writer, plan: Plan) -> None:
    """Write the constants in use, then the coefficients in use as they stand among the inputs."""
    rows: list[list[Content]] = [
        [_constant_words(step.name), step.name, Cell(value=float(step.value[0, 0]), style="entry"),
         "", "", "", "", "constant of the reference tables"]
        for step in plan.constants
    ]  # fmt: skip
    used = {s.name: s for s in plan.graph.steps if s.operation == "field"}
    for row in plan.dossier.fields:
        if (
            row.name in used
            and row.name.startswith("coefficient.")
            and isinstance(row.value, float)
        ):
            cell = Cell(value=row.value, formula=plan.reference(used[row.name], REFERENCE))
            source = ", ".join(part for part in (row.source, row.locator) if part)
            rows.append(
                [row.label, row.name, cell, row.unit, row.low, row.high, row.status, source]
            )
    if rows:
        head = ("Reference value", "Name", "Value", "Unit", "Low", "High", "Status", "Source")
        title = "Reference values used; a coefficient is changed on the sheet of the inputs"
        writer.table(REFERENCE, title, head, rows, (50, 40, 16, 16, 11, 11, 16, 50))


def _constant_words(name: str) -> str:
    if name.startswith("M("):
        return f"Molar mass of {name[2:-1]}, from atomic weights [g/mol]"
    return name.replace("_", " ").capitalize()


def design(writer: Writer, plan: Plan) -> None:
    """Write what the designs hold: numbers, then choices."""
    head = ["What", "Of", "Value", "Note"]
    widths: list[float] = [50, 44, 18, 44]
    rows: list[list[Content]] = []
    monthly = any(step.months > 1 for step in plan.held)
    for step in plan.held:
        cells = [Cell(value=v, style="held") for v in map(float, step.value[0])]
        of = ", ".join(sorted(step.owners)) if len(step.owners) < 3 else "several strategies"
        what = step.name.replace("zones.", "zones: ").replace("_", " ")
        first: Content = cells[0] if len(cells) == 1 else "by month"
        row: list[Content] = [what, of, first, FIXED]
        if len(cells) > 1:
            row += [None] * (12 - len(row)) + list(cells)
        rows.append(row)
    rows += _choices(plan.dossier)
    if monthly:
        head += [""] * (12 - len(head)) + list(MONTHS)
        widths += [3.0] * (12 - len(widths)) + [11.0] * len(MONTHS)
    title = "Choices and sizes of the designs: fixed here; run pcompare again to change them"
    writer.table(DESIGN, title, head, rows, widths)


def _choices(dossier: Dossier) -> Iterator[list[Content]]:
    for strategy in dossier.comparison.strategies.values():
        for name, choice in sorted(strategy.design.choices.items()):
            yield [name, strategy.name, choice, FIXED]


def working(writer: Writer, plan: Plan, words: Words) -> None:
    """Write every step that is no line, in the order of calculation."""
    for name in sorted(plan.working, key=lambda n: (n != "W_shared", _place_of(plan, n))):
        rows = plan.working[name]
        sheet = writer.table(
            name, _working_title(plan, name), *_work_table(plan, words, name, rows)
        )
        for number, row in enumerate(rows, HEAD_ROWS + 1):
            if row.residual:
                cells = f"C{number}:{STEP_MONTHS[-1]}{number}"
                rule = {"type": "cell", "criteria": "not between", "minimum": -ZERO,
                        "maximum": ZERO}  # fmt: skip
                writer.alarm(sheet, cells, rule)


def _place_of(plan: Plan, sheet: str) -> int:
    names = [f"W_{name}"[:31] for name in plan.dossier.comparison.strategies]
    return names.index(sheet) if sheet in names else -1


def _working_title(plan: Plan, sheet: str) -> str:
    place = _place_of(plan, sheet)
    if place < 0:
        return "Working that several strategies share, step by step"
    return (
        f"Working, step by step: {list(plan.dossier.comparison.strategies.values())[place].label}"
    )


def _work_table(
    plan: Plan, words: Words, sheet: str, rows: Sequence[WorkRow]
) -> tuple[list[str], list[list[Content]], list[float]]:
    head, widths = list(WORK_HEAD), [float(width) for width in WORK_WIDTHS]
    if any(row.step.months > 1 for row in rows):
        head += [""] * (12 - len(head)) + list(MONTHS)
        widths += [3.0] * (12 - len(widths)) + [11.0] * len(MONTHS)
    count: dict[str, int] = {}
    cells = [_work_cells(plan, words, sheet, row, count) for row in rows]
    return head, cells, widths


def _work_cells(
    plan: Plan, words: Words, sheet: str, row: WorkRow, count: dict[str, int]
) -> list[Content]:
    step = row.step
    if row.residual:
        label, key = (
            "What must be zero for the value above",
            f"residual.{solved_number(plan, step)}",
        )
        numbers = plan.residual_cells(step, sheet)
    else:
        label, key = words.step(step), step.name
        numbers = plan.step_cells(step, sheet)
        if step.operation == "solved":
            key = f"solved.{solved_number(plan, step)}"
            numbers = [_held(n) for n in numbers] if not step.operands else numbers
        elif step.operation == "equation":
            count[step.name] = count.get(step.name, 0) + 1
            again = count[step.name] > 1 and step.turn is None
            label += f" ({count[step.name]})" if again else ""
    first = count.get(step.name, 0) == 1 and not row.residual  # the words stand once on each sheet
    equation = words.equation(step.name) if step.operation == "equation" and first else None
    found: list[Content] = [
        label,
        key,
        numbers[0] if step.months == 1 else "by month",
        words.unit(step),
        equation.formula if equation is not None else "",
        "; ".join(equation.references) if equation is not None else "",
        _work_live(row, words),
    ]
    if step.months > 1:
        found += [None] * (12 - len(found)) + numbers
    return found


def _held(content: Content) -> Content:
    return Cell(value=content, style="held") if isinstance(content, float) else content


def _work_live(row: WorkRow, words: Words) -> str:
    if row.residual:
        return "must be 0"
    if row.step.operation == "solved":
        return "live, by passes" if row.step.operands else "solved value"
    return words.live(row.step).removeprefix(LIVE)


def solved_number(plan: Plan, step: Step) -> int:
    """Give the number of a value found by iteration, as sheets print it."""
    return plan.solved[step.number]


def live_share(dossier: Dossier) -> float:
    """Share of the lines that follow every input without a value found by iteration."""
    plan = Plan(dossier)
    return share_of(plan)


def share_of(plan: Plan) -> float:
    """Share of the carried strategies' lines that are live, as one number."""
    keys = [key for key in plan.results if key.startswith("line ")]
    return plan.graph.live_share(keys) if keys else 0.0


def comparison_cells(plan: Plan, quantity: str, found: Mapping[str, Line], sheet: str) -> Content:
    """Give the cell of one quantity of one strategy, beside the others."""
    line = found.get(quantity)
    return None if line is None else plan.result(f"line {line.key}", sheet, line.value)
