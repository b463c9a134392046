"""Section 4 of the memo: each alternative with its checks, quantities, effects and cost."""

from __future__ import annotations

from collections.abc import Sequence

from pcompare import lines
from pcompare.arrays import as_cases, plain
from pcompare.documents import fonts, style, words
from pcompare.documents.style import Cell, bullet, para, section, table
from pcompare.documents.words import Figures
from pcompare.records import Dossier, Line, StrategyResult

# isort: split
from reportlab.platypus import Flowable

BESIDE = ("effluent_tp", "product_use", "sludge_increase", "base_dose", "chloride_added",
          "sulfate_added", "annual_cost", "present_worth")  # fmt: skip


def alternatives(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give section 4."""
    found: list[Flowable] = section("4 Alternatives", 0)
    for i, result in enumerate(dossier.comparison.strategies.values(), 1):
        found += section(f"4.{i} {fonts.printable(result.label, 90)}", 1)
        found += _alternative(result, figures)
    return found


def _alternative(result: StrategyResult, figures: Figures) -> list[Flowable]:
    found: list[Flowable] = [para(words.description(result))]
    fixed = [f"{name} {choice}" for name, choice in sorted(result.design.choices.items())]
    if fixed:
        found.append(para(f"Fixed for this run: {_choices(result)}.", style.BODY))
    found.append(para(_verdict_sentence(result, figures)))
    found.append(_checks(result, figures))
    sentences = [
        *words.dose_sentences(result, figures),
        *words.effect_sentences(result, figures),
    ]
    if result.kind != "baseline":
        sentences.append(words.cost_sentence(result, figures))
    sentences.append(words.chance_sentence(result))
    found += [bullet(sentence) for sentence in sentences]
    built = _built_rows(result, figures)
    if built:
        head = ("Item", "Size", "Unit", "Kind", "Priced from field")
        items = table(head, built, (180, 60, 60, 70, 110), numbers=(1,))
        found += style.titled("What is built", items, style.table_room(len(built)))
    if len(result.others) > 1:
        room = style.table_room(len(BESIDE))
        found += style.titled("The products side by side", _products(result, figures), room)
    return found


def _choices(result: StrategyResult) -> str:
    """Print the choices that the draws do not change, products by their names."""
    return "; ".join(
        f"{name} {lines.PRODUCTS.get(value, value).lower()}"
        for name, value in sorted(result.design.choices.items())
    )


def _verdict_sentence(result: StrategyResult, figures: Figures) -> str:
    if result.meets_permit:
        return "It meets every requirement."
    count = sum(not check.met for check in result.checks)
    return (
        f"It does not meet {count} of {len(result.checks)} requirements: "
        f"{words.missed(result, figures)}. Everything below is the best that it can do."
    )


def _checks(result: StrategyResult, figures: Figures) -> Flowable:
    rows: list[list[Cell]] = []
    for check in result.checks:
        judged = words.verdict(check)
        mark = para(judged, style.CELL if check.met else style.CELL_ALARM)
        rows.append(
            [
                check.label,
                check.sense,
                figures.number(check.needed, check.unit),
                figures.number(check.found, check.unit),
                figures.unit(check.unit),
                mark,
            ]
        )
    head = ("Requirement", "", "Needed", "Found", "Unit", "Verdict")
    return table(head, rows, (190, 44, 62, 62, 62, 62), numbers=(2, 3))


def _built_rows(result: StrategyResult, figures: Figures) -> list[list[str]]:
    """List the items that are built; what a design does not need has no size."""
    rows = []
    for item in result.design.capital:
        size = float(as_cases(plain(item.size))[0, 0])
        if size == 0.0:
            continue
        number, unit = figures.number(size, item.unit), figures.unit(item.unit)
        rows.append([item.label, number, unit, item.kind, item.price])
    return rows


def _products(result: StrategyResult, figures: Figures) -> Flowable:
    names = list(result.others)
    first = result.others[names[0]]
    rows = []
    for quantity in BESIDE:
        if quantity not in first:
            continue
        unit = first[quantity].unit
        cells = [_number(result.others[name].get(quantity), figures) for name in names]
        rows.append([first[quantity].label, figures.unit(unit), *cells])
    head = ["Quantity", "Unit", *(_product_head(name, result) for name in names)]
    widths: Sequence[float] = (170, 70, *(80.0 for _ in names))
    return table(head, rows, widths, numbers=range(2, 2 + len(names)))


def _product_head(name: str, result: StrategyResult) -> str:
    label = lines.PRODUCTS.get(name, name)
    return f"{label} (carried)" if name == result.product else label


def _number(line: Line | None, figures: Figures) -> str:
    return words.NONE if line is None else figures.number(line.value, line.unit)
