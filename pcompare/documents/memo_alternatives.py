"""Section 4 of the memo: each alternative with its checks, quantities, effects and cost."""

from __future__ import annotations

from pcompare.arrays import as_cases, plain
from pcompare.documents import chapters, fonts, memo_carbon, names, style, words
from pcompare.documents.memo_salts import salt_table
from pcompare.documents.pages import section, tabled
from pcompare.documents.style import Cell, bullet, para, table
from pcompare.documents.words import Figures
from pcompare.findings import Dossier
from pcompare.records import Inputs, StrategyResult

# isort: split
from reportlab.platypus import Flowable

BESIDE = ("effluent_tp", "product_use", "sludge_increase", "base_dose", "chloride_added",
          "sulfate_added", "annual_cost", "present_worth")  # fmt: skip


def alternatives(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give section 4."""
    found: list[Flowable] = section(f"{chapters.ALTERNATIVES} Alternatives", 0)
    for i, result in enumerate(dossier.comparison.strategies.values(), 1):
        found += section(f"{chapters.ALTERNATIVES}.{i} {fonts.printable(result.label, 90)}", 1)
        found += _alternative(result, dossier.inputs, figures)
    return found + memo_carbon.carbon(dossier, figures, len(dossier.comparison.strategies) + 1)


def _alternative(result: StrategyResult, inputs: Inputs, figures: Figures) -> list[Flowable]:
    found: list[Flowable] = [para(names.description(result))]
    short = names.short(result.name, result.label)
    if result.design.choices:
        found.append(para(f"Fixed for this run: {names.choices(result)}."))
    found.append(para(_verdict_sentence(result, inputs, figures)))
    found += tabled(f"{short}: requirements", _checks(result, figures))
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
        found += tabled(f"{short}: what is built", items)
    if len(result.others) > 1:
        products = salt_table(result.others, BESIDE, figures, result.product)
        found += tabled(f"{short}: the products side by side", products)
    return found


def _verdict_sentence(result: StrategyResult, inputs: Inputs, figures: Figures) -> str:
    if result.meets_permit:
        return "It meets every requirement."
    count = sum(not check.met for check in result.checks)
    return (
        f"It does not meet {count} of {len(result.checks)} requirements: "
        f"{words.missed(result, inputs, figures)}. Everything below is the best that it can do."
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
    head = ("Requirement", "Must be", "Needed", "Found", "Unit", "Verdict")
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
