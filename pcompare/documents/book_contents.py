"""The first sheet of the calculation book: what stands where, and how to use it."""

from __future__ import annotations

from pcompare.documents.book_formulas import quoted
from pcompare.documents.book_live import share_of
from pcompare.documents.book_plan import Plan
from pcompare.documents.book_style import Cell, Content, Writer

CONTENTS = "Contents"
LIVE_BOOK = (
    ("To change an input",
     "Overwrite its yellow cell on the sheet Inputs, where it is marked live: every line that "
     "rests on it follows. Design, choices, sizes and capacities stay as this run made them."),
    ("To find where a number comes from",
     "Its row names the equation in words and the source. Its formula leads to the cells it is "
     "made of: a name such as influent_tp is a cell of Inputs, one such as M_FePO4 a constant "
     "among the reference values, and sheets that begin with W_ hold the steps between."),
    ("Values found by iteration",
     "Most are worked out by explicit passes and follow every input. Those without a formula, "
     "such as pH, are held and stand on blue. Below each stands what must be zero, which turns "
     "red when the value no longer holds; lines marked so then need a new run of pcompare."),
    ("Loops",
     "Of the passes of a loop the first two and the last two stand equation by equation, those "
     "between in as few cells as formulas can be read in."),
    ("Months", "The months of a row stand to its right, from January to December."),
    ("Low, middle and high", "Percentiles of the draws of this run; they do not follow inputs."),
)  # fmt: skip


def contents(writer: Writer, plan: Plan, checked: str) -> None:
    """Write the list of sheets with links, and how the book is used."""
    made = f"pcompare {plan.dossier.provenance.version}, run {plan.dossier.provenance.run_id}"
    rows: list[list[Content]] = [["Case", plan.dossier.inputs.name], ["Made by", made]]
    if plan.results:
        failing = Cell(value=0.0, formula=f'=COUNTIF({checked},"NO")', style="left")
        rows.append(["Balances and solved values that do not hold now", failing])
        share = f"{share_of(plan):.1%}"
        rows.append(["Share of lines that are live without a held value", share])
    alarm = len(rows)
    rows.append(["Sheets"])
    rows += [[_link(name), title] for name, title in writer.titles.items()]
    if plan.results:
        rows.append(["How to use this book"])
        rows += [list(row) for row in LIVE_BOOK]
    head = ("Where", "What")
    sheet = writer.table(CONTENTS, "Calculation book: phosphorus removal", head, rows, (48, 110),
                         wrapped=True)  # fmt: skip
    if plan.results:
        rule = {"type": "cell", "criteria": ">", "value": 0}
        writer.alarm(sheet, f"B{alarm + 2}", rule)


def _link(name: str) -> Cell:
    formula = f'=HYPERLINK("#{quoted(name)}!A1","{name}")'
    return Cell(value=name, formula=formula, style="link")
