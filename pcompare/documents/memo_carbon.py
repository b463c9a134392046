"""The end of section 4: carbon and phosphorus of the biological alternatives, and the layouts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pcompare import lines
from pcompare.documents import names, style
from pcompare.documents.pages import section, titled
from pcompare.documents.salt_words import Lines, printed
from pcompare.documents.style import Cell, para, table
from pcompare.documents.words import Figures, choice, value
from pcompare.records import Dossier

# isort: split
from reportlab.platypus import Flowable

CARBON = ("carbon_debit", "vfa_available", "vfa_required", "fermented_carbon", "carbon_dose")
PROFILE = ("anaerobic_phosphate", "effluent_soluble_p", "effluent_tp")
LAYOUTS = ("fed_nitrate", "carbon_debit", "vfa_available", "effluent_tp", "effluent_nitrate",
           "capital", "present_worth")  # fmt: skip
HEADS = {
    "carbon_debit": "Eaten first by nitrate and oxygen",
    "vfa_available": "Stored, at hand unbought",
    "vfa_required": "Stored, needed for the target",
    "fermented_carbon": "Acids from the fermenter",
    "carbon_dose": "Purchased carbon",
    "fed_nitrate": "Nitrate fed to the anaerobic zone",
    "anaerobic_phosphate": "Anaerobic zone, phosphate",
    "effluent_soluble_p": "Effluent, soluble",
    "effluent_tp": "Effluent, total",
    "effluent_nitrate": "Effluent nitrate",
}


def carbon(dossier: Dossier, figures: Figures, number: int) -> list[Flowable]:
    """Give the part on carbon and layouts as part ``4.number``; nothing without organisms."""
    results = dossier.comparison.strategies.values()
    stored = {names.short(r.name, r.label): r.lines for r in results if _stores(r.lines)}
    if not stored:
        return []
    influent = value(dossier.inputs, "influent.tp")
    found = [
        *section(f"4.{number} Carbon and layouts", 1),
        para(
            "Carbon decides biological removal. Nitrate and oxygen that reach the zone without "
            "air eat some of it first; what is left is stored, and what is stored sets how much "
            "phosphorus leaves with the sludge. What the organisms need beyond it has to be "
            "fermented or bought, or left to a salt."
        ),
        *titled("Carbon budget", _rows("Alternative", stored, CARBON, figures)),
        *titled("Phosphorus through the zones", _rows("Alternative", stored, PROFILE, figures)),
        para(
            f"The influent brings {figures.number(influent, 'mg P/L')} {figures.unit('mg P/L')} in "
            "all. Phosphate rises in the zone without air because organisms let it go there; a "
            "zone without such a rise stores nothing.",
            style.CAPTION,
        ),
    ]
    return found + _layouts(dossier, figures)


def _stores(found: Lines) -> bool:
    line = found.get("vfa_available")
    return line is not None and line.value is not None


def _layouts(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Set every layout with an anaerobic zone side by side, on the sewage's own carbon."""
    if not dossier.layouts:
        return []
    carried = choice(dossier.inputs, "bio.layout")
    labelled = {
        names.layout(name) + (" (carried)" if name == carried else ""): found
        for name, found in dossier.layouts.items()
    }
    return [
        *titled("Layouts of the basin", _rows("Layout", labelled, LAYOUTS, figures)),
        para(
            "Each layout on the sewage's own carbon, with the tank volume that it takes to hold "
            "nitrification in the coldest month; money is beyond no action. The alternatives of "
            "this memo keep the layout that the form asks for.",
            style.CAPTION,
        ),
    ]


def _rows(
    what: str, found: Mapping[str, Lines], quantities: Sequence[str], figures: Figures
) -> Flowable:
    """Set quantities side by side, a row for each alternative or layout."""
    head = [what]
    for quantity in quantities:
        kind = lines.KINDS[quantity]
        head.append(f"{HEADS.get(quantity, kind.label)}, {figures.unit(kind.unit)}")
    rows: list[list[Cell]] = [
        [name, *(printed(row, q, figures) for q in quantities)] for name, row in found.items()
    ]
    return table(head, rows, [130.0, *[50.0] * len(quantities)], numbers=range(1, len(head)))
