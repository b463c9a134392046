"""Section 8 of the memo: money over the years, the bill, other ways, climate, and what is no money.

Nothing here enters the ranking of section 7.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from pcompare import tables
from pcompare.documents import (
    chapters,
    charts,
    fonts,
    money_charts,
    names,
    pages,
    style,
    words,
)
from pcompare.documents.flowables import Chart, see
from pcompare.documents.pages import section, tabled
from pcompare.documents.style import Cell, bullet, para, table
from pcompare.documents.words import Figures
from pcompare.findings import Dossier
from pcompare.records import Line, StrategyResult

# isort: split
from reportlab.platypus import Flowable

BILL = ("loan", "payment", "debt_reserve", "short_lived_reserve", "running", "budget", "bill")
HEADS = {
    "loan": "Loan",
    "payment": "Loan payment",
    "debt_reserve": "Debt reserve",
    "short_lived_reserve": "Reserve, short-lived",
    "running": "To run",
    "budget": "Annual budget",
    "bill": "Bill, household and month",
}
OPTIONS = {
    "optimise": ("Optimise the plant as it stands", "options.optimise_tp"),
    "trade": ("Buy credits", "options.trade_price"),
    "variance": ("Pay under a variance", "options.variance_price"),
}
OPTION_COLUMNS = ("effluent_tp", "credits", "capital", "annual_cost", "present_worth",
                  "household_month")  # fmt: skip
SCOPES = ("greenhouse_gas", "greenhouse_scope_1", "greenhouse_scope_2", "greenhouse_scope_3",
          "greenhouse_calcination", "greenhouse_biogenic")  # fmt: skip
SCOPE_HEADS = ("In all", "Scope 1", "Scope 2", "Scope 3", "of it burning lime", "Biogenic, apart")
OTHER = {
    "operator_skill": "Operator skill",
    "hazards": "Hazards",
    "supply_risk": "Supply risk",
    "footprint": "Footprint",
    "odour": "Odour",
    "reversibility": "Reversibility",
}


def money(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give section 8."""
    return [
        *section(f"{chapters.MONEY} Money and climate", 0),
        *_remarks(dossier),
        *section(f"{chapters.MONEY}.1 What is built and what it takes to run", 1),
        *_make_up(dossier, figures),
        *section(f"{chapters.MONEY}.2 Year by year", 1),
        *_years(dossier, figures),
        *section(f"{chapters.MONEY}.3 The discount rate", 1),
        *_rates(dossier, figures),
        *section(f"{chapters.MONEY}.4 The bill of a household", 1),
        *_bill(dossier, figures),
        *section(f"{chapters.MONEY}.5 Other ways", 1),
        *_options(dossier, figures),
        *section(f"{chapters.MONEY}.6 Climate, by scope", 1),
        *_climate(dossier, figures),
        *section(f"{chapters.MONEY}.7 What money does not tell", 1),
        *_other(dossier),
    ]


def _remarks(dossier: Dossier) -> list[Flowable]:
    inputs = dossier.inputs
    soft = words.choice(inputs, "finance.soft_costs", "cost with contingency")
    year = words.value(inputs, "finance.price_year")
    told = f" of {year:.0f}" if year == year else ""
    text = (
        f"All money is constant, at the prices{told}. Capital is direct construction with "
        f"contingency, and engineering as a share of {soft}, so that the two "
        f"{'compound' if soft != 'direct cost' else 'add'}; assets are replaced when their life "
        "ends, and what is left of them at the end of the period counts as salvage, in a straight "
        "line."
    )
    text += (
        f" {see('built')} and {see('items')} show what it is made of, {see('rates')} what the "
        "discount rate makes of it."
    )
    return [para(text), *(bullet(fonts.printable(r)) for r in dossier.money.remarks)]


def _figure(
    title: str, chart: Callable[[Dossier, Figures], Chart], caption: str,
    dossier: Dossier, figures: Figures, key: str = "",
) -> Flowable:  # fmt: skip
    return pages.figure(title, chart(dossier, figures), caption, key)


def _make_up(dossier: Dossier, figures: Figures) -> list[Flowable]:
    return [
        _figure(
            "Capital by what is built", money_charts.built,
            "With contingency and engineering, in both phases where there are two.",
            dossier, figures, "built",
        ),
        _figure(
            "Annual cost by item", charts.cost_items,
            "To run, beyond no action, at today's load; capital is not included. Savings run to "
            "the left of zero.",
            dossier, figures, "items",
        ),
    ]  # fmt: skip


def _years(dossier: Dossier, figures: Figures) -> list[Flowable]:
    return [
        _figure(
            "Payments of the two leading alternatives", money_charts.years,
            "Undiscounted, each year's at its end; year 0 is the start. Brought to present worth "
            f"they are the figures of section {chapters.COMPARISON}.4. Salvage stands below zero.",
            dossier, figures,
        )
    ]  # fmt: skip


def _rates(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Set the present worth of every strategy at each rate; the lowest that meets stands out."""
    money, ranking = dossier.money, dossier.comparison.ranking
    results = [r for r in dossier.comparison.strategies.values() if r.name in money.worth]
    lowest = {
        i: min(ranking, key=lambda n, i=i: money.worth[n][i])  # type: ignore[misc]
        for i in range(len(money.rates))
        if ranking and all(n in money.worth for n in ranking)
    }
    rows: list[list[Cell]] = []
    for result in results:
        row: list[Cell] = [
            fonts.printable(result.label, 90),
            "yes" if result.meets_permit else "no",
        ]
        for i, worth in enumerate(money.worth[result.name]):
            shown = figures.number(worth, "money")
            strong = lowest.get(i) == result.name
            row.append(para(shown, _STRONG) if strong else para(shown, style.CELL_RIGHT))
        rows.append(row)
    head = ["Alternative", "Meets", *(f"{100.0 * rate:.3g} %" for rate in money.rates)]
    widths = (170, 36, *([64] * len(money.rates)))
    return [
        para(
            "A low rate favours what is dear to build and cheap to run, a high one the reverse. "
            f"Present worth in {figures.unit('money')} at each real rate; the lowest that meets "
            "every requirement is set strong."
        ),
        *tabled(
            "Present worth at each discount rate",
            table(head, rows, widths, numbers=range(2, 2 + len(money.rates))),
            "rates",
        ),
        *(bullet(sentence) for sentence in payback_sentences(dossier, figures)),
    ]


_STRONG = style.CELL_RIGHT.clone("cell right strong", fontName=fonts.STRONG)


def payback_sentences(dossier: Dossier, figures: Figures) -> list[str]:
    """Say what the dearer to build of the two best saves, and when that returns it."""
    found = dossier.money.payback
    if not found:
        return []
    extra, saving = found["extra_capital"], found["yearly_saving"]
    text = f"{extra.label.removeprefix('Extra capital: ')}, by {figures.line(extra, 2)}"
    if found["simple_payback"].value is None:
        return [f"{text}, and {found['simple_payback'].reason}."]
    text += f", and saves {figures.line(saving, 2)}"
    text += f", which returns it in {figures.number(found['simple_payback'].value, 'y', 2)} years"
    later = found["discounted_payback"].value
    if later is not None:
        text += f", or in {figures.number(later, 'y', 2)} with interest"
    same = found["internal_rate"].value
    if not same:
        return [f"{text}: longer than the planning period."]
    return [
        f"{text}. Replacements and salvage aside, the two cost the same at a rate of "
        f"{100.0 * same:.2g} %."
    ]


def _bill(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Set the economic cost of a household beside the effect on its bill."""
    inputs = dossier.inputs
    rate, term, grant = (
        words.value(inputs, f"financing.{n}") for n in ("loan_rate", "loan_term", "grant")
    )
    terms = (
        f"A loan at {100.0 * rate:.3g} % over {term:.0f} years, after a grant of "
        f"{100.0 * grant:.3g} %. "
        if rate == rate
        else ""
    )
    rows = [
        [
            names.short(name),
            figures.number(dossier.comparison.strategies[name].value("household_month"), "money"),
            *(figures.number(found[q].value, found[q].unit) for q in BILL if q in found),
        ]
        for name, found in dossier.money.financing.items()
        if name in dossier.comparison.strategies
    ]
    money, yearly = figures.unit("money"), figures.unit("money/y")
    units = [money, *([yearly] * 5), money]
    head = [
        "Alternative",
        f"Economic, household and month, {money}",
        *(f"{HEADS[q]}, {unit}" for q, unit in zip(BILL, units, strict=True)),
    ]
    return [
        para(
            "The economic cost of a household is the equal annual cost shared out: it compares "
            "alternatives. The bill is another thing. Grants and loans change it and change no "
            f"ranking. {terms}Loan payments are in money of the day; the rest is of the first year."
        ),
        *tabled(
            "The bill of a household",
            table(head, rows, (112, 50, *([46] * 7)), numbers=range(1, 9)),
        ),
    ]


def _options(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Set optimising, trading and a variance beside the best of the alternatives."""
    found = dossier.money.options
    best = dossier.comparison.ranking[:1]
    rows = [_option_row(OPTIONS[n][0], row, figures) for n, row in found.items() if n in OPTIONS]
    for name in best:
        result = dossier.comparison.strategies[name]
        rows.append(_option_row(f"For comparison: {result.label}", result.lines, figures))
    missing = [f"{label.lower()} ({field})" for n, (label, field) in OPTIONS.items()
               if n not in found]  # fmt: skip
    told: list[Flowable] = [
        para(
            "Better running of what exists, credits from others, or a variance may cost less than "
            "any new plant, above all for a small one. Whether the permit allows them is for the "
            "authority to say; none of them is ranked here."
        )
    ]
    if found:
        sample = next(iter(found.values()))
        columns = (f"{sample[q].label}, {figures.unit(sample[q].unit)}" for q in OPTION_COLUMNS)
        head = ["Way", *columns]
        told += tabled("Other ways", table(head, rows, (130, *([58] * 6)), numbers=range(1, 7)))
    if missing:
        told.append(
            para(f"Not examined, since the form states nothing for it: {names.listed(missing)}.")
        )
    return told


def _option_row(label: str, found: Mapping[str, Line], figures: Figures) -> list[str]:
    cells = [
        figures.number(found[q].value, found[q].unit) if q in found else words.NONE
        for q in OPTION_COLUMNS
    ]
    return [fonts.printable(label, 90), *cells]


def _climate(dossier: Dossier, figures: Figures) -> list[Flowable]:
    unit = figures.unit("t CO2e/y")
    results = charts.compared_results(dossier)
    rows = [
        [names.short(r.name, r.label), *(figures.number(words.number(r, q), "t CO2e/y")
                                         for q in SCOPES)]
        for r in results
    ]  # fmt: skip
    common = dossier.comparison.basis.get("nitrous_oxide")
    told = ""
    if common is not None:
        told = (
            f" Nitrous oxide of the plant, about {figures.amount(common.value, common.unit, 2)} "
            "and uncertain by two orders of magnitude, is common to every alternative and left "
            "out, unless another was stated."
        )
    price = words.value(dossier.inputs, "finance.carbon_price")
    if price > 0.0:
        amount = figures.given(price, "money/t CO2e")
        told += f" Each tonne costs {amount}, which stands in the annual cost."
    else:
        told += " It bears no price here."
    return [
        para(
            "Against no action. Scope 1 is let go at the plant: fossil carbon of purchased acid "
            "and carbon of carbonate bases. Scope 2 is the electricity bought, less what digester "
            "gas makes more of it. Scope 3 is the making of chemicals and the haul of cake."
            f"{told}"
        ),
        _figure(
            "Greenhouse gas by scope", money_charts.scopes,
            "Increase against no action; what is saved runs left of zero.", dossier, figures,
        ),
        *tabled("Greenhouse gas by scope, in numbers", table(
            ["Alternative", *(f"{head}, {unit}" for head in SCOPE_HEADS)],
            rows, (130, *([56] * len(SCOPES))), numbers=range(1, len(SCOPES) + 1),
        )),
    ]  # fmt: skip


def _other(dossier: Dossier) -> list[Flowable]:
    """Set what is no money side by side: judgement, and the lorries of a month."""
    known = {row.text("strategy"): row for row in tables.read("other_considerations")}
    rows: list[list[Cell]] = [
        [names.short(r.name, r.label), *(known[r.name].text(column) for column in OTHER),
         _lorries(r)]
        for r in dossier.comparison.strategies.values()
        if r.name in known
    ]  # fmt: skip
    statuses: Sequence[str] = sorted({row.text("status") for row in known.values()})
    head = ["Alternative", *OTHER.values(), "Lorries a month"]
    return [
        para(
            f"Status: {', '.join(statuses)}. The lorries are computed: deliveries of product, base "
            "and carbon, and loads of cake, beyond no action."
        ),
        *tabled(
            "What money does not tell",
            table(head, rows, (66, *([62] * len(OTHER)), 40), numbers=(len(OTHER) + 1,)),
        ),
    ]


def _lorries(result: StrategyResult) -> str:
    found = words.number(result, "lorries")
    return f"{found:.0f}" if found == found else words.NONE
