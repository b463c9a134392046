"""The sheets of the calculation book that check it: money year by year, balances, residuals."""

from __future__ import annotations

from pcompare.documents.book_live import ZERO, figured, solved_number
from pcompare.documents.book_plan import CHECKS, HEAD_ROWS, LIFECYCLE, Plan
from pcompare.documents.book_style import Cell, Content, Writer
from pcompare.documents.book_words import Words
from pcompare.findings import CashYear
from pcompare.graph import Step
from pcompare.records import Check

CLOSED = 1e-9  # of the terms: what two sides of a balance may differ by
ROUNDING = 1e-6  # by which a requirement may be missed: solved doses land on the limit itself


def lifecycle(writer: Writer, plan: Plan) -> None:
    """Write the money of each strategy, row by row, beside its present worth."""
    rows: list[list[Content]] = []
    first = 0
    opened = False
    for number, key, row in plan.cash_rows():
        if row is not None:
            rows.append(_cash_cells(plan, key, row))
        elif not opened:
            rows.append([plan.dossier.comparison.strategies[key].label])
            first, opened = number + 1, True
        else:
            rows.append(_cash_total(plan, key, first, number - 1))
            opened = False
    if rows:
        head = ("When", "Key", "Time, y", "Capital", "Annual cost", "Left at the end",
                "Factor", "Present worth")  # fmt: skip
        title = "Money year by year, beyond no action, in constant money"
        writer.table(LIFECYCLE, title, head, rows, (38, 40, 10, 16, 16, 16, 14, 18))


def _cash_cells(plan: Plan, key: str, row: CashYear) -> list[Content]:
    def cell(what: str) -> Content:
        value = float(getattr(row, what).plain[0, 0])
        name = f"cash {key} {what}"
        worked_out = isinstance(plan.graph.results.get(name), Step)
        shown = worked_out or value or what in ("year", "factor", "worth")
        return plan.result(name, LIFECYCLE, value) if shown else None

    return [row.label, "", *(cell(w) for w in
            ("year", "capital", "annual", "salvage", "factor", "worth"))]  # fmt: skip


def _cash_total(plan: Plan, name: str, first: int, last: int) -> list[Content]:
    worth = sum(float(row.worth.plain[0, 0]) for row in plan.dossier.recording.cash[name])
    return ["Present worth", f"{name}.present_worth", None, None, None, None, None,
            Cell(value=worth, formula=f"=SUM(H{first}:H{last})")]  # fmt: skip


def checks(writer: Writer, plan: Plan, words: Words) -> str:
    """Write balances, requirements, what must be zero of solved values, and published checks.

    Gives the cells that say whether what is worked out here holds.
    """
    rows: list[list[Content]] = [["Balances: two ways to one number"]]
    rows += [_balance_cells(plan, i) for i in range(len(plan.dossier.recording.balances))]
    rows.append(["Values found by iteration: what must be zero"])
    rows += [_residual_cells(plan, words, step, HEAD_ROWS + len(rows) + 1 + i)
             for i, step in enumerate(plan.graph.solved)]  # fmt: skip
    rows.append(["Requirements of the permit and the tanks"])
    for result in plan.dossier.comparison.strategies.values():
        for check in result.checks:
            number = HEAD_ROWS + len(rows) + 1
            rows.append(_requirement_cells(plan, result.name, result.label, check, number))
    live = len(rows)
    rows.append(["Published numbers, as printed, and what the equations give"])
    rows += [
        [p.source, f"{p.equation}: {p.check}", p.expected, figured(p.computed, 9),
         figured(p.difference, 3), figured(p.tolerance, 3),
         "yes" if p.passed else "NO", p.unit, p.status]
        for p in plan.dossier.published
    ]  # fmt: skip
    head = ("Subject", "What", "Left, value or needed", "Right, residual or found", "Difference",
            "Allowed", "Holds", "Unit", "Kind")  # fmt: skip
    widths = (44, 60, 20, 20, 14, 14, 9, 14, 24)
    sheet = writer.table(
        CHECKS, "Balances, solved values, requirements and published numbers", head, rows, widths
    )
    cells = f"G{HEAD_ROWS + 1}:G{HEAD_ROWS + live}"
    for word in ('"NO"', '"no"'):
        writer.alarm(sheet, cells, {"type": "cell", "criteria": "==", "value": word})
    return f"{CHECKS}!{cells}"


def _balance_cells(plan: Plan, place: int) -> list[Content]:
    balance = plan.dossier.recording.balances[place]
    number = HEAD_ROWS + 2 + place
    left, right, scale = (
        float(getattr(balance, side).plain[0, 0]) for side in ("left", "right", "scale")
    )
    allowed = CLOSED * max(abs(scale), 1.0)
    sides = [
        plan.result(f"balance {place} {side}", CHECKS, value)
        for side, value in (("left", left), ("right", right))
    ]
    size = plan.result(f"balance {place} scale", CHECKS, scale).formula.removeprefix("=")
    label = plan.dossier.comparison.strategies[balance.strategy].label
    return [
        label,
        balance.label,
        *sides,
        Cell(value=left - right, formula=f"=(C{number}-D{number})"),
        Cell(value=allowed, formula=f"=({CLOSED:.0E}*MAX(ABS({size or repr(scale)}),1))"),
        Cell(
            value="yes" if abs(left - right) <= allowed else "NO",
            formula=f'=IF((ABS(E{number})<=F{number}),"yes","NO")',
            style="text",
        ),
        balance.unit,
        "balance",
    ]


def _residual_cells(plan: Plan, words: Words, step: Step, number: int) -> list[Content]:
    place, rest = plan.places[step.number], plan.residual_places[step.number]
    values = step.value[0]
    residual = step.residual.value[0] if isinstance(step.residual, Step) else [0.0]
    worst = max(abs(float(v)) for v in residual)
    prefix = "" if place.sheet == CHECKS else f"{place.sheet}!"
    if len(values) > 1:
        row = f"{prefix}{rest.range}"
        value: Content = "by month"
        found = f"=MAX(MAX({row}),(-MIN({row})))"
    else:
        value = Cell(value=float(values[0]), formula=f"={prefix}{place.column}{place.row}")
        found = f"=ABS({prefix}{rest.column}{rest.row})"
    owner = ", ".join(sorted(step.owners)) if len(step.owners) == 1 else "several strategies"
    how = "explicit passes, live" if step.operands else "held here; run pcompare again"
    return [
        owner,
        f"{words.step(step)} (solved.{solved_number(plan, step)}, {place})",
        value,
        Cell(value=worst, formula=found),
        None,
        ZERO,
        Cell(
            value="yes" if worst <= ZERO else "NO",
            formula=f'=IF((D{number}<=F{number}),"yes","NO")',
            style="text",
        ),
        "",
        how,
    ]


def _requirement_cells(
    plan: Plan, name: str, label: str, check: Check, number: int
) -> list[Content]:
    sign = ">=" if check.sense == "at least" else "<="
    room = "-" if check.sense == "at least" else "+"
    test = f"(D{number}{sign}(C{number}{room}F{number}))"
    return [
        label,
        f"{check.label} ({check.sense})",
        plan.result(f"needed {name} {check.key}", CHECKS, check.needed),
        plan.result(f"found {name} {check.key}", CHECKS, check.found),
        Cell(value=check.found - check.needed, formula=f"=(D{number}-C{number})"),
        Cell(
            value=ROUNDING * max(abs(check.needed), 1.0),
            formula=f"=({ROUNDING:.0E}*MAX(ABS(C{number}),1))",
        ),
        Cell(
            value="yes" if check.met else "no",
            formula=f'=IF({test},"yes","no")',
            style="text",
        ),
        check.unit,
        check.key,
    ]
