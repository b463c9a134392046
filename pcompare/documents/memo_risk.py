"""Section 10 of the memo: odds, what drives and turns the answer, and what to find out first."""

from __future__ import annotations

from pcompare.documents import (
    chapters,
    charts,
    fonts,
    names,
    pages,
    risk_charts,
    risk_words,
    salt_words,
    style,
    words,
)
from pcompare.documents.flowables import Heading
from pcompare.documents.pages import section, tabled
from pcompare.documents.style import Cell, bullet, para, table
from pcompare.documents.words import Figures
from pcompare.findings import BreakEven, Dossier

# isort: split
from reportlab.platypus import Flowable


def risk(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give section 10."""
    found: list[Flowable] = section(f"{chapters.CHANGES} What would change the answer", 0)
    found += [para(sentence) for sentence in risk_words.recommendation(dossier, figures)]
    found += [bullet(sentence) for sentence in _changes(dossier, figures)]
    parts: list[list[Flowable]] = []
    if dossier.study.odds:
        parts += [_odds(dossier, figures), _pairs(dossier, figures)]
    parts += [
        _drivers(dossier, figures),
        _break_evens(dossier, figures),
        _maps(dossier, figures),
        _limits(dossier, figures),
        _class(dossier, figures),
    ]
    for number, part in enumerate([part for part in parts if part], 1):
        title, *content = part
        assert isinstance(title, Heading)
        found += section(f"{chapters.CHANGES}.{number} {title.outline_text}", 1)
        found += content
    return found


def _changes(dossier: Dossier, figures: Figures) -> list[str]:
    sentences = words.swing_sentences(dossier, figures)
    if not sentences:
        sentences = ["Fewer than two alternatives meet every requirement, so none can overtake."]
    return [
        *sentences,
        *salt_words.unconsidered(dossier, figures),
        *dossier.comparison.notes,
    ]


def _label(dossier: Dossier, name: str) -> str:
    result = dossier.comparison.strategies.get(name)
    return fonts.printable(result.label if result is not None else name, 90)


# --- odds -------------------------------------------------------------------------------------


def _odds(dossier: Dossier, figures: Figures) -> list[Flowable]:
    rows: list[list[Cell]] = []
    for name, chance in dossier.study.odds.items():
        cheapest = risk_words.odds(chance.cheapest) if chance.competes else words.NONE
        figures_ = (
            risk_words.odds(chance.meets),
            risk_words.odds(chance.keeps),
            words.share(chance.in_period.value),
            cheapest,
            risk_words.odds(chance.cheapest_kept),
        )
        rows.append([_label(dossier, name), *(para(text, style.CELL_RIGHT) for text in figures_)])
    head = (
        "Alternative", "Meets every requirement", "and the salt limits",
        "Chance of the limit, one period", "Cheapest of those that compete",
        "Cheapest that keeps permit and salt limits",
    )  # fmt: skip
    return [
        *section("The odds", 1),
        *(para(sentence) for sentence in risk_words.how_drawn(dossier)),
        *tabled("The odds", table(head, rows, (146, 68, 62, 62, 68, 76), numbers=range(1, 6))),
        para(
            "Shares of the draws with their standard error, that of plain random draws: for Latin "
            "hypercubes it is an upper bound. The salt limits are those of the users of the water, "
            "for dissolved solids and chloride in the long run. A dash stands where an "
            "alternative misses a requirement at the values of appendix A and so does not compete.",
            style.QUIET_SMALL,
        ),
    ]


def _pairs(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Hold each contender against the best, draw by draw, with the regret of each."""
    study = dossier.study
    if not study.gaps:
        return []
    first = dossier.comparison.ranking[0]
    rows: list[list[Cell]] = []
    by_name = {gap.strategy: gap for gap in study.gaps}
    for name in dossier.comparison.ranking:
        gap, chance = by_name.get(name), study.odds[name]
        ends = (gap.low, gap.middle, gap.high, gap.mean.value) if gap else (None,) * 4
        cells: list[Cell] = [figures.number(end, "money", 2) for end in ends]
        below = risk_words.odds(gap.below) if gap else words.NONE
        cells.append(para(below, style.CELL_RIGHT))
        cells.append(figures.number(chance.regret.value, "money", 2))
        cells.append(figures.number(chance.largest_regret, "money", 2))
        rows.append([_label(dossier, name), *cells])
    money = figures.unit("money")
    head = (
        "Alternative", f"P10, {money}", f"P50, {money}", f"P90, {money}", f"Mean, {money}",
        "Cheaper than the best", f"Mean regret, {money}", f"Largest regret, {money}",
    )  # fmt: skip
    return [
        *section("Draw by draw, and regret", 1),
        para(
            f"Present worth of each less that of {_label(dossier, first)}, in pairs of the same "
            "draw: what is common to both cancels. In one draw of ten the difference is below "
            "P10, in one of ten above P90."
        ),
        *tabled(
            "Difference of present worth to the best, and regret",
            table(head, rows, (120, 52, 52, 52, 52, 54, 52, 56), numbers=range(1, 8)),
        ),
        *(bullet(sentence) for sentence in risk_words.regret_sentences(dossier, figures)),
        *_worth_knowing(dossier, figures),
    ]


def _worth_knowing(dossier: Dossier, figures: Figures) -> list[Flowable]:
    known = dossier.study.worth_knowing[: risk_words.MEASURED]
    if not known:
        return []
    rows = [
        [
            str(place),
            driver.label,
            figures.number(driver.information, "money", 2),
            figures.number(driver.rank_correlation.value, "-", 2),
            words.share(driver.variance_share.value),
        ]
        for place, driver in enumerate(known, 1)
    ]
    head = ("Rank", "What to find out first", f"Worth up to, {figures.unit('money')}",
            "Rank correlation", "Share of variance")  # fmt: skip
    noise = figures.amount(dossier.study.noise, "money", 1)
    return [
        *tabled(
            "What is worth finding out",
            table(head, rows, (24, 232, 80, 70, 70), numbers=(2, 3, 4)),
        ),
        para(
            "Worth of knowing one input alone before choosing, by regression over the draws "
            f"(memory, STRONG2014); an input without effect would seem worth {noise}. Several "
            "known together are worth more than their sum, because each alone seldom turns the "
            "choice. Inputs that move together share what they explain.",
            style.QUIET_SMALL,
        ),
    ]


# --- drivers and break-evens ------------------------------------------------------------------


def _drivers(dossier: Dossier, figures: Figures) -> list[Flowable]:
    if not dossier.sensitivity:
        return []
    ranked = [_label(dossier, name) for name in dossier.comparison.ranking[:2]]
    pair = " less ".join(reversed(ranked))
    found = [
        *section("What decides between the two best", 1),
        pages.figure(
            "Present worth of the runner-up less that of the best, input by input",
            charts.tornado(dossier, figures),
            f"{pair}. Each bar runs from the input's low to its high, the other inputs as they "
            "are; the figures at its ends are the values of the input. Left of zero the order of "
            "the two turns.",
        ),
    ]
    if dossier.study.draws > 0:
        found.append(
            pages.figure(
                "Inputs that go with the difference over all draws",
                risk_charts.drivers(dossier, figures),
                f"{pair}, all inputs varied at once. The share of variance is that of one input "
                "alone, fitted by polynomials (memory, SUDRET2008).",
            )
        )
    return found


def _break_evens(dossier: Dossier, figures: Figures) -> list[Flowable]:
    if not dossier.break_evens:
        return []
    rivals = list(dict.fromkeys(even.against for even in dossier.break_evens))
    rows: list[list[Cell]] = []
    fields = dict.fromkeys(even.field for even in dossier.break_evens)
    for field in fields:
        evens = {e.against: e for e in dossier.break_evens if e.field == field}
        one = next(iter(evens.values()))
        rows.append(
            [
                one.label,
                figures.unit(one.unit),
                figures.end(one.now, one.unit),
                figures.spread(one.low, one.high, one.unit, 3),
                *(_even(evens.get(rival), figures) for rival in rivals),
            ]
        )
    short = [fonts.printable(names.short(name, name), 60) for name in rivals]
    head = ("Input", "Unit", "Now", "Looked for in", *(f"Against: {name}" for name in short))
    widths = (170, 62, 46, 80, *(96 for _ in rivals))
    best = _label(dossier, dossier.comparison.ranking[0])
    return [
        *section("Break-even", 1),
        para(
            f"The value of one input, all others as they are and the plant as designed, at which "
            f"{best} costs as much as another. Where no value in the range does, none is given."
        ),
        *tabled("Break-even values", table(head, rows, widths, numbers=(2,))),
    ]


def _even(even: BreakEven | None, figures: Figures) -> Cell:
    if even is None:
        return words.NONE
    text = risk_words.break_even_cell(even, figures)
    return para(text, style.CELL_STRONG if even.at else style.CELL)


# --- maps and limits --------------------------------------------------------------------------


def _maps(dossier: Dossier, figures: Figures) -> list[Flowable]:
    if not dossier.maps:
        return []
    found = section("Who wins where", 1)
    for one in dossier.maps:
        found.append(
            pages.figure(
                f"Lowest present worth over {words.lower(one.title)}",
                risk_charts.choice_map(dossier, one, figures),
                f"{one.note} The ring marks the case as it stands.",
            )
        )
    return found


def _limits(dossier: Dossier, figures: Figures) -> list[Flowable]:
    if not dossier.crossings:
        return []
    return [
        *section("Along the limit", 1),
        para("Every alternative is designed anew for each limit. Going to stricter ones:"),
        *(bullet(risk_words.crossing_sentence(one, figures)) for one in dossier.crossings),
    ]


# --- estimate class and other ways ------------------------------------------------------------


def _class(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Set the class of the estimate beside the modelled spread, and never on top of it."""
    rows: list[list[Cell]] = []
    for name, (low, high) in dossier.estimate_class.items():
        if name not in dossier.comparison.strategies:
            continue
        line = dossier.comparison.strategies[name].lines["capital"]
        spread = figures.spread(line.low, line.high, line.unit) or words.NONE
        rows.append(
            [
                _label(dossier, name),
                figures.number(line.value, line.unit, 2),
                para(spread, style.CELL_RIGHT),
                para(figures.spread(low, high, "money") or words.NONE, style.CELL_RIGHT),
            ]
        )
    if not rows:
        return []
    money = figures.unit("money")
    head = ("Alternative", f"Capital, {money}", f"Modelled, P10 to P90, {money}",
            f"Class of the estimate, {money}")  # fmt: skip
    return [
        *section("Two kinds of range", 1),
        para(
            "The modelled spread is what the ranges of the inputs make of the capital. The class "
            "of the estimate says how far estimates at this stage have been off as a whole "
            "(memory, AACE18R). They answer different questions: neither is added to the other, "
            "and contingency is in both already. An item at its default ranges from half to double "
            "by itself, so the draws hold that width once, item by item; the last column is not "
            "laid over it again."
        ),
        *tabled(
            "Capital, its modelled spread and the class of the estimate",
            table(head, rows, (190, 80, 110, 110), numbers=(1, 2, 3)),
        ),
    ]
