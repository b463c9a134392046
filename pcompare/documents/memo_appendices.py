"""The memo's appendices: every input, coefficient, equation and source, and the provenance."""

from __future__ import annotations

from collections.abc import Sequence

from pcompare import tables
from pcompare.documents import fonts, salt_words, style, words
from pcompare.documents.cautions import cautions
from pcompare.documents.memo_opening import field_value
from pcompare.documents.pages import section, tabled
from pcompare.documents.style import Cell, para, table
from pcompare.documents.words import Figures
from pcompare.findings import Dossier, FieldRow

# isort: split
from reportlab.platypus import Flowable, PageBreak

WEAK = ("memory", "judgement")
MARK = "▲"
SOURCE_TEXT = 160


def appendices(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give appendices A to E."""
    plant = [row for row in dossier.fields if not row.name.startswith("coefficient.")]
    coefficients = [row for row in dossier.fields if row.name.startswith("coefficient.")]
    marked = para(
        f"{MARK} marks a value that rests on memory of handbooks or on judgement: confirm it.",
        style.QUIET_SMALL,
    )
    return [
        PageBreak(),
        *section("A Inputs", 0),
        marked,
        *tabled("Every input", _fields(plant, figures)),
        *section("B Coefficients", 0),
        para(
            "From the reference tables unless the origin says otherwise; each may be overruled.",
            style.QUIET_SMALL,
        ),
        *tabled("Every coefficient", _fields(coefficients, figures)),
        *section("C Equations", 0),
        *tabled("Equations of this run", _equations(dossier, figures)),
        *section("D Sources", 0),
        *tabled("Works cited", _sources(dossier)),
        *section("E Provenance", 0),
        *_provenance(dossier, figures),
    ]


def _fields(rows: Sequence[FieldRow], figures: Figures) -> Flowable:
    body: list[list[Cell]] = []
    bands: list[int] = []
    sheet = ""
    for row in rows:
        if row.sheet != sheet:
            sheet = row.sheet
            bands.append(len(body))
            body.append([sheet, *([""] * 5)])
        weak = row.status in WEAK
        status = f"{MARK} {row.status}" if weak else row.status.replace("_", " ")
        source = words.cited("", row.source, row.locator)
        body.append(
            [
                row.label,
                _value_and_range(row, figures),
                figures.unit(row.unit),
                para(status or words.NONE, style.CELL_ALARM if weak else style.CELL),
                fonts.printable(source, SOURCE_TEXT) or words.NONE,
                fonts.printable(row.origin, 60) or words.NONE,
            ]
        )
    head = ("Field", "Value (range)", "Unit", "Status", "Source", "Origin")
    return table(head, body, (126, 84, 54, 62, 98, 70), bands=bands)


def _value_and_range(row: FieldRow, figures: Figures) -> str:
    value = fonts.printable(field_value(row, figures), style.USER_TEXT)
    if row.low is None or row.high is None:
        return value
    low, high = (figures.end(end, row.unit) for end in (row.low, row.high))
    return f"{value} ({low} to {high})"


def _equations(dossier: Dossier, figures: Figures) -> Flowable:
    rows: list[list[Cell]] = [
        [
            row.name.replace("_", " "),
            f"{row.summary} {row.formula}".strip(),
            figures.unit(row.unit),
            "; ".join(row.references),
        ]
        for row in dossier.equations
    ]
    return table(("Equation", "What it is", "Unit", "References"), rows, (108, 208, 54, 124))


def _sources(dossier: Dossier) -> Flowable:
    cited = dict(dossier.sources)
    known = tables.sources()
    used = [caution.source for caution in cautions(dossier)]
    used += [
        salt_words.MODEL_NOTES[kind][3]
        for kind in dossier.dose_models.values
        if kind in salt_words.MODEL_NOTES
    ]
    for key in used:
        cited.setdefault(key, known.get(key, ""))
    rows = [[key, text] for key, text in sorted(cited.items())]
    return table(("Key", "Work"), rows, (110, 380))


def _provenance(dossier: Dossier, figures: Figures) -> list[Flowable]:
    run = dossier.provenance
    units = "US customary" if figures.system == "us" else "SI"
    rows = [
        ["Program", f"pcompare {run.version}"],
        ["Run", run.run_id],
        ["Hash of the inputs", run.input_hash],
        ["Seed and draws", f"{run.seed}, {run.draws}"],
        ["Libraries", ", ".join(f"{n} {v}" for n, v in sorted(run.libraries.items()))],
        ["Units of this memo", f"{units}; money in {figures.currency}, never converted"],
        [
            "Same run",
            "The calculation book and the results file of this run carry the same run number.",
        ],
    ]
    return tabled("This run", table(("What", "Which"), rows, (110, 380)))
