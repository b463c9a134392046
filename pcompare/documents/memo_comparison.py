"""Sections 7 and 9 to 11 of the memo: tables, charts, what would change the answer, cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from pcompare import lines, tables
from pcompare.documents import cautions as warned
from pcompare.documents import (
    chapters,
    charts,
    fonts,
    line_charts,
    memo_money,
    memo_risk,
    names,
    pages,
    style,
    words,
)
from pcompare.documents.flowables import Chart
from pcompare.documents.pages import section, small, tabled
from pcompare.documents.style import Cell, bullet, para, table
from pcompare.documents.words import Figures
from pcompare.findings import Dossier
from pcompare.records import Check, Line, StrategyResult

# isort: split
from reportlab.platypus import Flowable

HEAD = 44.0  # points of a line in the head of a column
COLUMNS = 12  # strategies side by side in one table of a turned page
# Groups that section 6 prints in tables of its own.
ELSEWHERE = ("Ions of the effluent", "Reused supply, long run")
# Title of each comparison table, and the groups of lines that it holds; the first holds the rest.
APART = (
    ("Salts and reuse", ("Dissolved salts and reuse",)),
    ("Cost", ("Cost, beyond no action",)),
    ("Climate and chance", ("Climate", "Chance")),
)
REST = tuple(
    group
    for group in dict.fromkeys(kind.group for kind in lines.LINES)
    if group not in ELSEWHERE and not any(group in groups for _, groups in APART)
)
TABLES = (("Process", REST), *APART)
RANGES = ("effluent_tp", "metal_dose", "sludge_increase", "tds_increase_residue", "capital",
          "annual_cost", "present_worth", "equal_annual_cost", "household_month",
          "greenhouse_gas")  # fmt: skip


def comparison(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give sections 7 to 11; money and climate stand between."""
    return [
        *pages.turned(_side_by_side(dossier, figures)),
        *memo_money.money(dossier, figures),
        *_charts(dossier, figures),
        *memo_risk.risk(dossier, figures),
        *_cautions(dossier),
    ]


# --- 7 ----------------------------------------------------------------------------------------


def _side_by_side(dossier: Dossier, figures: Figures) -> list[Flowable]:
    found: list[Flowable] = [
        *section(f"{chapters.COMPARISON} Comparison", 0),
        para(
            '"Increase", "added" and "change" are against no action, which is held at the same '
            "alkalinity. A dash stands where a quantity is not defined for an alternative.",
            style.QUIET_SMALL,
        ),
    ]
    ranked = words.ranking_sentences(dossier, figures)
    if ranked:
        found.append(para(f"By present worth: {' '.join(ranked)}"))
    blocks = list(_blocks(dossier))
    found += section(f"{chapters.COMPARISON}.1 Requirements", 1)
    for block in blocks:
        found += tabled("Requirements: found against needed", _requirements(block, figures))
    for i, (title, groups) in enumerate(TABLES, 2):
        found += section(f"{chapters.COMPARISON}.{i} {title}", 1)
        for block in blocks:
            found += tabled(f"Comparison: {words.lower(title)}", _lines(block, groups, figures))
    if dossier.study.draws > 0:
        found += section(f"{chapters.COMPARISON}.{len(TABLES) + 2} Ranges", 1)
        found.append(
            para(
                f"Of {dossier.study.draws} draws of {len(dossier.study.varied)} uncertain inputs, "
                "eight in ten lie between these figures. The plant is held as designed: a draw "
                "that runs out of capacity misses. These ranges are not the class of the "
                f"estimate, which stands in section {chapters.CHANGES}.",
                style.QUIET_SMALL,
            )
        )
        for block in blocks:
            found += tabled("Comparison: ranges", _ranges(block, figures))
    return found


def _blocks(dossier: Dossier) -> Iterator[list[StrategyResult]]:
    """Give the strategies in blocks that fit the width of a page."""
    results = list(dossier.comparison.strategies.values())
    for start in range(0, len(results), COLUMNS):
        yield results[start : start + COLUMNS]


def _columns(block: Sequence[StrategyResult]) -> tuple[list[str], list[float]]:
    """Give head and widths of a table of one block."""
    head = ["Quantity", "Unit", *(_broken(names.short(r.name, r.label)) for r in block)]
    each = min(76.0, (style.WIDE - 202.0) / len(block))
    return head, [style.WIDE - 56.0 - each * len(block), 56.0, *([each] * len(block))]


def _broken(name: str) -> str:
    """Fix where a name breaks, so that every table of the section has the same heads."""
    lines_: list[str] = []
    for word in fonts.printable(name, 70).split(" "):
        longer = f"{lines_[-1]}{words.NO_BREAK}{word}" if lines_ else word
        if lines_ and fonts.width(longer, style.SMALL_SIZE, fonts.STRONG) <= HEAD:
            lines_[-1] = longer
        else:
            lines_.append(word)
    return " ".join(lines_)


def _requirements(block: Sequence[StrategyResult], figures: Figures) -> Flowable:
    """Set found against needed for every check, strategy by strategy."""
    head, widths = _columns(block)
    overall: list[Cell] = ["Meets every requirement", ""]
    overall += [_yes_no(result.meets_permit) for result in block]
    rows: list[list[Cell]] = [
        overall,
        ["Product", "", *(names.product(r.product) if r.product else words.NONE for r in block)],
    ]
    checks = {c.key: c for result in block for c in result.checks}
    for key, sample in checks.items():
        row: list[Cell] = [sample.label, _unit(sample.unit, figures)]
        for result in block:
            check = next((c for c in result.checks if c.key == key), None)
            row.append(words.NONE if check is None else _standing(check, figures))
        rows.append(row)
    return table(head, rows, widths, width=style.WIDE)


def _yes_no(met: bool) -> Flowable:
    return para("yes" if met else "no", style.CELL_STRONG if met else style.CELL_ALARM)


def _standing(check: Check, figures: Figures) -> Flowable:
    """Print found, the relation that holds, and needed: ``1.04 > 0.495`` misses ``at most``."""
    found, needed = (figures.number(v, check.unit) for v in (check.found, check.needed))
    found = "undefined" if found == words.NONE else found
    met, missed = ("≥", "<") if check.sense == "at least" else ("≤", ">")
    sign = met if check.met else missed
    return para(
        f"{found} {sign}{words.NO_BREAK}{needed}", style.CELL if check.met else style.CELL_ALARM
    )


def _lines(block: Sequence[StrategyResult], groups: Sequence[str], figures: Figures) -> Flowable:
    """Set the lines of some groups side by side, aligned on the decimal point."""
    head, widths = _columns(block)
    rows: list[list[Cell]] = []
    bands: list[int] = []
    for group in groups:
        kinds = [k for k in lines.LINES if k.group == group]
        kinds = [k for k in kinds if any(k.quantity in r.lines for r in block)]
        if len(groups) > 1 and kinds:
            bands.append(len(rows))
            rows.append([group, *([""] * (len(head) - 1))])
        for kind in kinds:
            values = [r.lines.get(kind.quantity) for r in block]
            cells = [words.NONE if line is None else _printed(line, figures) for line in values]
            rows.append([_indented(kind.label), _unit(kind.unit, figures), *cells])
    numbers = range(2, len(head))
    return table(head, rows, widths, numbers=numbers, bands=bands, width=style.WIDE)


def _unit(unit: str, figures: Figures) -> str:
    """Print a unit in one piece."""
    return figures.unit(unit).replace(" ", words.NO_BREAK)


def _indented(label: str) -> str:
    """Set in the label of a part of the row above."""
    return 3 * words.NO_BREAK + label if label.startswith("of it ") else label


def _printed(line: Line, figures: Figures) -> str:
    """Print a line's number; a chance in percent."""
    if line.key.rpartition(".")[2].startswith("probability"):
        return words.short_share(line.value)
    return figures.number(line.value, line.unit)


def _ranges(block: Sequence[StrategyResult], figures: Figures) -> Flowable:
    head, widths = _columns(block)
    rows: list[list[Cell]] = []
    for quantity in RANGES:
        found = [result.lines.get(quantity) for result in block]
        if all(line is None or line.low is None for line in found):
            continue
        cells: list[Cell] = [
            para(
                (figures.spread(line.low, line.high, line.unit) if line else "") or words.NONE,
                style.CELL_RIGHT,
            )
            for line in found
        ]
        kind = lines.KINDS[quantity]
        rows.append([kind.label, _unit(kind.unit, figures), *cells])
    return table(head, rows, widths, numbers=range(2, len(head)), width=style.WIDE)


# --- 9 -----------------------------------------------------------------------------------------

CHARTS: tuple[tuple[str, Callable[[Dossier, Figures], Chart], str], ...] = (
    ("Metal dose against the limit", line_charts.dose_against_limit,
     "Every alternative is designed anew for each limit. Strong lines and filled dots meet every "
     "requirement; thin lines and open dots are the best that the alternative can do. "
     "Alternatives that dose no metal are left out."),
    ("Equal annual cost against the limit", line_charts.cost_against_limit,
     "Beyond no action, capital included. Strong lines and filled dots meet every requirement."),
    ("Increase of sludge", charts.sludge_bars,
     "Against no action. Raw sludge as dry solids; cake as hauled, with the change of dryness."),
    ("Change of dissolved salts", charts.salt_bars,
     "Against no action, in the mean of the year. Dissolved solids by both definitions: the "
     "residue that a laboratory weighs, and the sum of all ions."),
)  # fmt: skip


def _charts(dossier: Dossier, figures: Figures) -> list[Flowable]:
    found: list[Flowable] = section(f"{chapters.CHARTS} Charts", 0)
    for title, chart, caption in CHARTS:
        found.append(pages.figure(title, chart(dossier, figures), caption))
    return found


# --- 11 ---------------------------------------------------------------------------------------


def _cautions(dossier: Dossier) -> list[Flowable]:
    found: list[Flowable] = section(f"{chapters.CAUTIONS} Cautions", 0)
    about = ""
    chemicals: list[list[Cell]] = []
    for caution in warned.cautions(dossier):
        if warned.is_chemical(caution.about):
            name = "" if caution.about == about else warned.heading(caution.about)
            chemicals.append([name, caution.text, words.cited(caution.status, caution.source)])
        else:
            if caution.about != about:
                found.append(small(warned.heading(caution.about)))
            found.append(bullet(f"{caution.text} ({words.cited(caution.status, caution.source)})"))
        about = caution.about
    if chemicals:
        head = ("Chemical", "What to mind", "Status, source")
        products = table(head, chemicals, (90, 290, 96), ditto=True)
        found += tabled("Chemicals, one by one", products)
    return [*found, *_limits()]


def _limits() -> list[Flowable]:
    """Say what the models do not know."""
    rows: list[list[Cell]] = []
    about = ""
    for row in tables.read("model_limits"):
        name = "" if row.text("about") == about else row.text("about")
        rows.append([name, row.text("text"), words.cited(row.text("status"), row.text("source"))])
        about = row.text("about")
    head = ("About", "What is not seen", "Status, source")
    return tabled(
        "Limits of the models", table(head, rows, (70, 310, 96), ditto=True), "model_limits"
    )
