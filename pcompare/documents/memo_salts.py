"""Section 5 of the memo: every metal salt at the target, and the published dose models."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pcompare import lines
from pcompare.documents import chapters, line_charts, names, pages, salt_words, style
from pcompare.documents.flowables import see
from pcompare.documents.pages import section, tabled
from pcompare.documents.salt_words import Lines
from pcompare.documents.style import Cell, bullet, para, table
from pcompare.documents.words import Figures, choice, cited
from pcompare.findings import Dossier

# isort: split
from reportlab.platypus import Flowable

# The columns of the two tables, which hold every product in the same order.
DOSE = ("metal_dose", "product_use", "product_volume", "chemical_sludge", "alkalinity_metal",
        "base_dose", "ph")  # fmt: skip
WATER_AND_COST = ("chloride_added", "sulfate_added", "sodium_added", "tds_increase_residue",
                  "tds_increase_ion_sum", "annual_cost", "present_worth")  # fmt: skip
HEADS = {
    "effluent_tp": "Total phosphorus",
    "metal_dose": "Metal dose",
    "product_use": "Product as delivered",
    "product_volume": "Product volume",
    "chemical_sludge": "Chemical solids",
    "sludge_increase": "Raw sludge, increase",
    "alkalinity_metal": "Alkalinity, net",
    "base_dose": "Base, pure",
    "ph": "pH",
    "tds_increase_residue": "Dissolved solids, residue, change",
    "tds_increase_ion_sum": "Dissolved solids, ion sum, change",
}
MISSES = "†"


def salts(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give section 5."""
    found = section(f"{chapters.SALTS} Metal salts", 0)
    if not dossier.salts:
        return [*found, para("No metal salt was examined.")]
    return [
        *found,
        para(_introduction(dossier)),
        *(bullet(sentence) for sentence in salt_words.salt_sentences(dossier, figures)),
        *section(f"{chapters.SALTS}.1 Side by side", 1),
        *_side_by_side(dossier, figures),
        *section(f"{chapters.SALTS}.2 How much metal a target takes", 1),
        *_models(dossier, figures),
    ]


def _introduction(dossier: Dossier) -> str:
    chosen = [names.product(name).lower() for name in salt_words.considered(dossier)]
    text = (
        "Here every metal salt of the reference tables is dosed into the activated sludge at one "
        f"point and sized to the same target. {see('salts')} and {see('salts_cost')} hold every "
        f"product, {see('models')} the dose by every model."
    )
    if not chosen:
        return text
    open_to = names.listed(chosen)
    return (
        f"{text} The alternatives of section {chapters.ALTERNATIVES} choose their salt from "
        f"{open_to} only."
    )


def _side_by_side(dossier: Dossier, figures: Figures) -> list[Flowable]:
    ordered = dict(salt_words.by_worth(dossier.salts))
    chosen = salt_words.carried(dossier)
    result = dossier.comparison.strategies.get(salt_words.ONE_POINT)
    base = f" The base is {names.base(result.design.base).lower()}." if result else ""
    note = (
        "Lowest present worth first. Doses are as the metal of each product (Al, Fe, La or Ce): "
        "those of different metals do not compare by mass. Alkalinity is negative where the salt "
        f"takes it; the phosphate credit is in it.{base} Chloride and the columns after it are "
        "changes against no action, with the base; money is beyond no action, at the prices of "
        "appendix A."
    )
    if not all(map(salt_words.reaches_target, ordered.values())):
        note += f" {MISSES} misses the target for phosphorus: the best that it can do."
    return [
        para(note, style.QUIET_SMALL),
        *tabled(
            "Metal salts: dose, solids and alkalinity",
            salt_table(ordered, DOSE, figures, chosen),
            "salts",
        ),
        *tabled(
            "Metal salts: water and cost",
            salt_table(ordered, WATER_AND_COST, figures, chosen),
            "salts_cost",
        ),
    ]


def salt_table(
    found: Mapping[str, Lines], quantities: Sequence[str], figures: Figures, chosen: str
) -> Flowable:
    """Set products below each other, with the carried one marked; a number for each quantity."""
    used = [q for q in quantities if any(q in product for product in found.values())]
    head = ["Product", *(_head(q, found, figures) for q in used)]
    rows: list[list[Cell]] = [
        [_name(name, product, chosen),
         *(salt_words.printed(product, q, figures) for q in used)]
        for name, product in found.items()
    ]  # fmt: skip
    widths = [120.0, *(_share(q) for q in used)]
    return table(head, rows, widths, numbers=range(1, len(head)))


def _share(quantity: str) -> float:
    return 58.0 if lines.KINDS[quantity].unit.startswith("money") else 48.0


def _head(quantity: str, found: Mapping[str, Lines], figures: Figures) -> str:
    kind = lines.KINDS[quantity]
    unit = figures.unit(kind.unit)
    return f"{HEADS.get(quantity, kind.label)}, {unit}".rstrip(", ")


def _name(name: str, product: Lines, chosen: str) -> Flowable:
    text = names.product(name) + (" (carried)" if name == chosen else "")
    if not salt_words.reaches_target(product):
        return para(f"{text} {MISSES}", style.CELL_ALARM)
    return para(text, style.CELL_STRONG if name == chosen else style.CELL)


def _models(dossier: Dossier, figures: Figures) -> list[Flowable]:
    sentences = salt_words.model_sentences(dossier, figures)
    caption = (
        "One point in the activated sludge. Shaded: between the lowest and the highest model. "
        "Strong lines and filled dots meet every requirement; thin lines and open dots are the "
        "best that the dose can do, where more metal takes no more phosphorus out. The permit "
        "limit, the mean that the plant is sized to for it, and the floor of soluble phosphorus "
        "stand on the same scale; a dose is read at the limit."
    )
    drawing = line_charts.dose_models(dossier, figures)
    return [
        *(para(sentence) for sentence in sentences),
        pages.figure("Metal dose by each published model", drawing, caption, "models"),
        *_model_table(dossier),
    ]


def _model_table(dossier: Dossier) -> list[Flowable]:
    used = choice(dossier.inputs, "chemical.dose_model")
    rows: list[list[Cell]] = []
    for kind in dossier.dose_models.values:
        if kind not in salt_words.MODEL_NOTES:
            continue
        idea, holds, status, source = salt_words.MODEL_NOTES[kind]
        mine = kind == used
        name = salt_words.model_name(kind) + (" (used here)" if mine else "")
        look = style.CELL_STRONG if mine else style.CELL
        rows.append([para(name, look), idea, holds, cited(status, source)])
    if not rows:
        return []
    head = ("Model", "What it says", "Where it holds", "Status, source")
    return tabled("The dose models", table(head, rows, (92, 160, 130, 92)))
