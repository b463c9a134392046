"""The end of section 4: carbon and phosphorus of the biological alternatives, and the layouts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pcompare import lines
from pcompare.documents import chapters, month_charts, names, style
from pcompare.documents.flowables import see
from pcompare.documents.pages import figure, section, tabled
from pcompare.documents.salt_words import Lines, printed
from pcompare.documents.style import Cell, para, table
from pcompare.documents.words import Figures, choice, value
from pcompare.findings import Dossier

# isort: split
from reportlab.platypus import Flowable

CARBON = ("carbon_debit", "vfa_available", "vfa_required", "acids_short", "acids_short_chance")
OPTIONS = ("carbon_dose", "fermented_carbon", "side_stream_carbon", "sodium_added",
           "sludge_increase", "effluent_tp", "annual_cost", "present_worth")  # fmt: skip
MONTHLY = ("vfa_required", "vfa_available", "carbon_debit", "acids_short_chance", "fed_nitrate",
           "anaerobic_phosphate", "effluent_tp")  # fmt: skip
UNBOUGHT = ("bio_existing_carbon", "bio_fermented_carbon", "bio_return_sludge_fermentation")
BOUGHT = "bio_purchased_carbon"
PROFILE = ("reactor_phosphorus", "anaerobic_phosphate", "anoxic_phosphate", "effluent_soluble_p",
           "effluent_tp")  # fmt: skip
LAYOUTS = ("fed_nitrate", "carbon_debit", "vfa_available", "effluent_tp", "effluent_nitrate",
           "capital", "present_worth")  # fmt: skip
HEADS = {
    "carbon_debit": "Eaten first by nitrate and oxygen",
    "vfa_available": "Stored, at hand unbought",
    "vfa_required": "Stored, needed for the target",
    "fermented_carbon": "Made in a fermenter",
    "side_stream_carbon": "Made in a side stream",
    "carbon_dose": "Bought",
    "acids_short": "Short, good years and bad",
    "acids_short_chance": "Chance that a month is short",
    "sodium_added": "Sodium, added",
    "sludge_increase": "Raw sludge, increase",
    "annual_cost": "Annual cost",
    "present_worth": "Present worth",
    "fed_nitrate": "Nitrate fed to the anaerobic zone",
    "reactor_phosphorus": "Fed, returns included",
    "anaerobic_phosphate": "Anaerobic zone, phosphate",
    "anoxic_phosphate": "Anoxic zone, phosphate",
    "effluent_soluble_p": "Aerated zone and effluent, soluble",
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
    options = _options(dossier, figures)
    compared = f" {see('gap')} sets the ways to it side by side." if options else ""
    found = [
        *section(f"{chapters.ALTERNATIVES}.{number} Carbon and layouts", 1),
        para(
            "Carbon decides biological removal. Nitrate and oxygen that reach the zone without "
            "air eat some of it first; what is left is stored, and what is stored sets how much "
            "phosphorus leaves with the sludge. What the organisms need beyond it has to be "
            f"fermented or bought, or left to a salt.{compared}"
        ),
        *tabled("Carbon budget", _rows("Alternative", stored, CARBON, figures)),
        *_by_month(dossier, figures),
        *options,
        *tabled("Phosphorus through the zones", _rows("Alternative", stored, PROFILE, figures)),
        para(
            f"The influent brings {figures.number(influent, 'mg P/L')} {figures.unit('mg P/L')} in "
            "all; what sludge treatment returns comes on top. Phosphate rises in the zone without "
            "air because organisms let it go there; a zone without such a rise stores nothing.",
            style.CAPTION,
        ),
    ]
    return found + _layouts(dossier, figures) + _window(dossier, figures)


def _by_month(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Draw and list the budget of the sewage's own carbon; the list only where months differ."""
    result = dossier.comparison.strategies.get(UNBOUGHT[0])
    if result is None or not _stores(result.lines):
        return []
    budget = figure(
        "Carbon budget by month, carbon of the sewage",
        month_charts.carbon_budget(result, figures),
        "Where the mark stands above the dark bar, the month is short of carbon even with acids "
        "as usual. Acids vary from year to year: feeds and stores are sized for the month that "
        "the wanted reliability has to bear.",
        "budget",
    )
    if not result.lines["vfa_available"].months:
        return [budget]
    head = ["Month"]
    for quantity in MONTHLY:
        kind = lines.KINDS[quantity]
        head.append(f"{HEADS.get(quantity, kind.label)}, {figures.unit(kind.unit)}".rstrip(", "))
    rows: list[list[Cell]] = [
        [
            month,
            *(
                figures.number(result.lines[q].months[i], lines.KINDS[q].unit)
                if i < len(result.lines[q].months)
                else printed(result.lines, q, figures)
                for q in MONTHLY
            ),
        ]
        for i, month in enumerate(month_charts.NAMES)
    ]
    months = table(head, rows, [44.0, *[56.0] * len(MONTHLY)], numbers=range(1, len(head)))
    return [budget, *tabled("Carbon budget by month, in numbers", months)]


def _options(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Set the ways of closing the gap side by side."""
    results = dossier.comparison.strategies
    found: dict[str, Lines] = {
        names.short(name): results[name].lines for name in UNBOUGHT if name in results
    }
    if BOUGHT in results:
        result = results[BOUGHT]
        carried = result.carbon and names.carbon(result.carbon)
        for key, row in result.carbons.items():
            label = names.carbon(key)
            found[label + (" (carried)" if label == carried else "")] = row
    if not found:
        return []
    target = min(
        (r.lines["design_mean"].value or 0.0 for r in results.values() if r.name in UNBOUGHT),
        default=0.0,
    )
    return [
        *tabled("Ways to close the gap", _rows("Carbon", found, OPTIONS, figures), "gap"),
        para(
            f"Every one is sized to a mean of {figures.amount(target, 'mg P/L')}; what it reaches "
            "stands in the table. Bought carbon fills each month's gap behind whatever is made on "
            "site, so the mix with the lowest present worth is the cheapest month by month. "
            "Methanol is not offered: organisms that store phosphorus cannot use it.",
            style.CAPTION,
        ),
    ]


def _window(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Show at what sludge ages a plant could store phosphorus and make no nitrate."""
    widths = dossier.washout.values.get("window", {}).get("srt", ())
    if not widths:
        return []
    open_to = [p for p, w in zip(dossier.washout.points, widths, strict=True) if w > 0.0]
    unit = dossier.washout.unit
    closes = (
        f"It is open up to {figures.amount(max(open_to), unit)} and closed in warmer water."
        if open_to
        else "It is closed at every temperature drawn."
    )
    return [
        figure(
            "Storing phosphorus without nitrate",
            month_charts.washout(dossier, figures),
            "Between the two lines, where that of the nitrifiers stands higher, a plant keeps the "
            f"organisms that store phosphorus and makes no nitrate. {closes} Whether a plant "
            "nitrifies is decided by temperature and sludge age, not by a wish.",
        )
    ]


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
        *tabled("Layouts of the basin", _rows("Layout", labelled, LAYOUTS, figures)),
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
        head.append(f"{HEADS.get(quantity, kind.label)}, {figures.unit(kind.unit)}".rstrip(", "))
    rows: list[list[Cell]] = [
        [name, *(printed(row, q, figures) for q in quantities)] for name, row in found.items()
    ]
    return table(head, rows, [110.0, *[50.0] * len(quantities)], numbers=range(1, len(head)))
