"""The memo's opening: title block, decision and answer, plant and data, need."""

from __future__ import annotations

from collections.abc import Sequence

from pcompare.documents import chapters, fonts, names, style, words
from pcompare.documents.flowables import Grid, Heading, Panel, see
from pcompare.documents.pages import section, tabled
from pcompare.documents.style import bullet, gap, para, table
from pcompare.documents.words import Figures, choice
from pcompare.findings import Dossier, FieldRow

# isort: split
from reportlab.platypus import Flowable

WARNINGS = 12  # remarks printed in the text; the calculation book lists all

# What the plant section shows; appendix A lists every field.
PLANT = (
    "plant.households", "flow.average", "flow.peak_factor", "influent.tp",
    "influent.orthophosphate", "influent.cod", "influent.rbcod", "influent.vfa", "influent.tkn",
    "influent.alkalinity", "influent.ph", "influent.temperature_average",
    "influent.temperature_minimum", "secondary.layout", "secondary.srt", "secondary.volume",
    "secondary.effluent_tss", "solids.digestion", "project.downstream_use",
    "finance.period", "finance.discount_rate", "finance.price_year",
)  # fmt: skip


def answer(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give the title and section 1, which stand before the contents."""
    return [
        *_title_block(dossier),
        *section("1 Decision and answer", 0),
        *_decision(dossier, figures),
    ]


def plant(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give sections 2 and 3."""
    return [
        *section("2 Plant and data", 0),
        *_plant(dossier, figures),
        *section("3 What is needed", 0),
        *_need(dossier, figures),
    ]


def _title_block(dossier: Dossier) -> list[Flowable]:
    inputs = dossier.inputs
    facts = [
        ("Date", choice(inputs, "project.date", "not given")),
        ("Prepared for", choice(inputs, "project.prepared_for", "not given")),
        ("Case", inputs.name),
        ("Run", dossier.provenance.run_id),
    ]
    note = choice(inputs, "project.note")
    if note:
        facts.append(("Note", note))
    rows = [[para(k, style.LABEL), para(v, style.SMALL, style.USER_TEXT)] for k, v in facts]
    block = Grid(
        rows,
        colWidths=[72, style.WIDTH - 72],
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
            ("LINEABOVE", (0, 0), (-1, 0), 1.2, style.INK),
            ("LINEBELOW", (0, -1), (-1, -1), 0.5, style.RULE),
            ("FONT", (0, 0), (-1, -1), fonts.TEXT, style.SMALL_SIZE),
        ],
    )
    return [
        para("Options memo", style.LABEL),
        Heading(choice(inputs, "project.name", "Unnamed project"), style.TITLE, 1, limit=120),
        para("Phosphorus removal by a metal salt, by organisms, or by both", style.SUBTITLE),
        block,
        gap(4),
    ]


def _decision(dossier: Dossier, figures: Figures) -> list[Flowable]:
    told = para(" ".join(words.answer(dossier, figures)), style.LEAD)
    box = Panel(
        [[told]],
        colWidths=[style.WIDTH],
        splitInRow=1,
        style=[
            ("LINEBEFORE", (0, 0), (0, -1), 2.5, style.PALETTE[0]),
            ("LEFTPADDING", (0, 0), (-1, -1), 10),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
            ("FONT", (0, 0), (-1, -1), fonts.TEXT, style.BODY_SIZE),
        ],
    )
    return [
        para(words.question(dossier, figures)),
        box,
        gap(6),
        *(bullet(sentence) for sentence in words.misses_sentences(dossier, figures)),
        para(
            f"{see('glance')} sets the alternatives side by side; section "
            f"{chapters.COMPARISON} holds every number of them."
        ),
        *tabled("The alternatives at a glance", _at_a_glance(dossier, figures), "glance"),
    ]


GLANCE = ("capital", "annual_cost", "equal_annual_cost", "sludge_increase",
          "tds_increase_residue")  # fmt: skip


def _at_a_glance(dossier: Dossier, figures: Figures) -> Flowable:
    results = dossier.comparison.strategies.values()
    head = ["Alternative", "Meets"]
    for quantity in GLANCE:
        line = next((r.lines[quantity] for r in results if quantity in r.lines), None)
        label, unit = (line.label, figures.unit(line.unit)) if line else (quantity, "")
        head.append(f"{label}, {unit}")
    rows: list[list[str]] = []
    for result in results:
        cells = [
            figures.number(result.lines[q].value, result.lines[q].unit, 2)
            if q in result.lines
            else words.NONE
            for q in GLANCE
        ]
        label = fonts.printable(result.label, 90)
        rows.append([label, "yes" if result.meets_permit else "no", *cells])
    return table(head, rows, (150, 34, 66, 62, 66, 62, 66), numbers=range(2, 7))


def _plant(dossier: Dossier, figures: Figures) -> list[Flowable]:
    by_name = {row.name: row for row in dossier.fields}
    rows = [field_cells(by_name[name], figures) for name in PLANT if name in by_name]
    warnings = list(dossier.inputs.warnings)
    found: list[Flowable] = [para(sentence) for sentence in words.data_sentences(dossier)]
    head = ("What", "Value", "Unit", "Where it comes from")
    found += tabled("The plant in short", table(head, rows, (180, 100, 70, 130)))
    if warnings:
        found.append(para("Values to look at:", style.BODY))
        found += [bullet(fonts.printable(w, style.USER_TEXT)) for w in warnings[:WARNINGS]]
    if len(warnings) > WARNINGS:
        rest = len(warnings) - WARNINGS
        found.append(para(f"{rest} more are listed in the calculation book."))
    boxed = unprintable(dossier)
    if boxed:
        found.append(
            para(
                f"Characters that this memo's fonts lack print as {fonts.BOX}, in "
                f"{names.listed(boxed)}; the workbook and the JSON file keep them.",
                style.QUIET_SMALL,
            )
        )
    return found


def field_cells(row: FieldRow, figures: Figures) -> list[str]:
    """Give label, value, unit and origin of one field."""
    return [
        row.label,
        fonts.printable(field_value(row, figures), style.USER_TEXT),
        figures.unit(row.unit),
        fonts.printable(origin(row), 80) or words.NONE,
    ]


def field_value(row: FieldRow, figures: Figures) -> str:
    """Print a field's value: text as given, numbers in full, months one after another."""
    if isinstance(row.value, str):
        return row.value or words.NONE
    numbers: Sequence[float] = row.value if isinstance(row.value, tuple) else (row.value,)
    if len(numbers) > 1:
        return "; ".join(_month(n, row.unit, figures) for n in numbers)
    return figures.exact(numbers[0], row.unit)


def _month(number: float, unit: str, figures: Figures) -> str:
    """Print one month as given where that is short; what follows from others is rounded."""
    text = figures.exact(number, unit)
    return text if len(text) <= 6 else figures.number(number, unit)


def origin(row: FieldRow) -> str:
    """Say where a value comes from; a default names its status."""
    return f"{row.origin} ({row.status})" if row.status and row.status != "given" else row.origin


def unprintable(dossier: Dossier) -> list[str]:
    """Name the places whose text holds characters that the fonts lack."""
    inputs = dossier.inputs
    places = [
        inputs.origins.get(name) or name
        for name, text in {**inputs.choices, **inputs.notes}.items()
        if fonts.lacks(text)
    ]
    return sorted(dict.fromkeys(places))


def _need(dossier: Dossier, figures: Figures) -> list[Flowable]:
    results = dossier.comparison.strategies.values()
    unit = "mg P/L"
    rows = [
        [
            fonts.printable(result.label, 90),
            figures.number(words.number(result, "design_mean"), unit),
            figures.number(words.number(result, "effluent_tp_governing"), unit),
            words.share(words.number(result, "probability_meets_permit")),
        ]
        for result in results
    ]
    printed = figures.unit(unit)
    head = ("Alternative", f"Mean it is sized to, {printed}", f"Mean reached, {printed}",
            "Chance to meet the limit, one period")  # fmt: skip
    found: list[Flowable] = [para(s) for s in words.need_sentences(dossier, figures)]
    needed = table(head, rows, (190, 95, 95, 100), numbers=(1, 2, 3))
    return [*found, *tabled("Means that the limit asks for, and that are reached", needed)]
