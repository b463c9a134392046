"""``summary.pdf``: one page on many plants, for a board that has a minute."""

from __future__ import annotations

import io
from collections.abc import Sequence

from pcompare import units
from pcompare.documents import brief, fonts, style
from pcompare.documents.drawing import box, rule, text
from pcompare.documents.flowables import Chart, Heading
from pcompare.documents.tagging import TaggedCanvas
from pcompare.documents.words import Figures, lower
from pcompare.findings import Chosen, Portfolio

# isort: split
from reportlab.platypus import Flowable

TITLE = "Phosphorus removal at many plants"
MOST_CHOICES, MOST_FAULTS, MOST_CHECKS, MOST_ASSUMED = 6, 4, 4, 8
MESSAGE = 150  # letters of a fault
SIZE = 9.0
NAMES, NUMBER, ROW = 190.0, 60.0, 18.0
NONE = "None meets its permit"
SKIPPED = "Skipped: faulty input"
LONGEST = 50  # letters of a file's name


def summary(portfolio: Portfolio, units: str = "si") -> bytes:
    """Print the summary.

    Parameters
    ----------
    portfolio : Portfolio
    units : str
        ``si`` or ``us``.

    Returns
    -------
    bytes
        A PDF of one page with embedded fonts; the same bytes for the same portfolio.
    """
    currency = portfolio.currencies[0] if len(portfolio.currencies) == 1 else "money"
    figures = Figures(system=units, currency=currency)
    for faults in range(MOST_FAULTS, -1, -1):
        out = io.BytesIO()
        document = _document(out, portfolio)
        document.build(story(portfolio, figures, faults), canvasmaker=TaggedCanvas)
        if document.page == 1:
            break
    return out.getvalue()


def _document(out: io.BytesIO, portfolio: Portfolio) -> brief.Sheet:
    title = f"{TITLE}: {_name(portfolio.source)}"
    subject = "How many plants are recommended what, what it takes and what it costs"
    return brief.Sheet(out, title, subject, portfolio.version, portfolio.run_id)


def story(
    portfolio: Portfolio, figures: Figures, faults: int = MOST_FAULTS
) -> list[Flowable]:  # fmt: skip
    """Give the page in reading order, with as many faults as asked for."""
    return [
        brief.para("Summary of a portfolio", brief.LABEL),
        Heading(TITLE, brief.TITLE_STYLE, 1),
        brief.para(_facts(portfolio), brief.LABEL),
        brief.heading("The answer"),
        brief.para(answer(portfolio), brief.ANSWER),
        chart(portfolio),
        *_standing(portfolio),
        *_amounts(portfolio, figures),
        *_infeasible(portfolio),
        *_skipped(portfolio, faults),
        brief.para(_notes(portfolio), brief.NOTE),
    ]


def _facts(portfolio: Portfolio) -> str:
    facts = [f"{_count(portfolio.plants, 'plant')} from {_name(portfolio.source)}"]
    if portfolio.base:
        facts.append(f"what they share from {_name(portfolio.base)}")
    return " · ".join(facts)


def _name(name: str) -> str:
    return fonts.printable(name, LONGEST)


def _count(number: int, noun: str) -> str:
    return f"{units.grouped(str(number))} {noun}{'' if number == 1 else 's'}"


# --- the answer -------------------------------------------------------------------------------


def answer(portfolio: Portfolio) -> str:
    """Say in a sentence or two what comes out."""
    if not portfolio.compared:
        return "No plant could be compared: each has a fault in its input."
    feasible = portfolio.compared - portfolio.infeasible
    if not feasible:
        whole = _of(portfolio.compared, portfolio.compared)
        return f"No alternative meets every requirement at {whole}, as they stand."
    first = portfolio.choices[0]
    labels = [c.label for c in portfolio.choices if c.plants == first.plants]
    verb = "is" if len(labels) == 1 else "are each"
    told = f"{' and '.join(labels)} {verb} the cheapest that meets every requirement at"
    cheapest = f"{told} {_of(first.plants, portfolio.compared)}"
    if not portfolio.infeasible:
        return f"{cheapest}."
    nothing = _of(portfolio.infeasible, portfolio.compared)
    if portfolio.infeasible > feasible:
        most = f"No alternative meets every requirement at {nothing}, as they stand."
        return f"{most} {told} {units.grouped(str(first.plants))} of the others."
    return f"{cheapest}; at {units.grouped(str(portfolio.infeasible))} none does."


def _of(some: int, whole: int) -> str:
    """Say how many of the plants compared."""
    if some == whole:
        return "the one plant compared" if whole == 1 else f"all {_count(whole, 'plant')} compared"
    return f"{units.grouped(str(some))} of {_count(whole, 'plant')} compared"


def _standing(portfolio: Portfolio) -> list[Flowable]:
    """Say where nothing need be built at all."""
    if not portfolio.standing:
        return []
    whole = "plant meets" if portfolio.standing == 1 else "plants meet"
    return [
        brief.para(
            f"{units.grouped(str(portfolio.standing))} {whole} every requirement without anything "
            "new: what is recommended there need not be built for this limit."
        )
    ]


def chart(portfolio: Portfolio, width: float = style.WIDTH) -> Chart:
    """Draw how many plants are recommended what, and how many nothing."""
    rows = [(c.label, c.plants, style.PALETTE[0]) for c in few(portfolio.choices)]
    if portfolio.infeasible:
        rows.append((NONE, portfolio.infeasible, style.ALARM))
    if portfolio.skipped:
        rows.append((SKIPPED, portfolio.skipped, style.RULE))
    told = "; ".join(f"{label}, {units.grouped(str(count))}" for label, count, _ in rows)
    drawing = Chart(width, ROW * len(rows) + 16, f"Bars by number of plants: {told}.")
    longest = max(count for _, count, _ in rows)
    room = width - NAMES - NUMBER
    top = drawing.height - 12
    drawing.add(text(NAMES, top + 3, "plants", size=SIZE, color=style.QUIET))
    for i, (label, count, fill) in enumerate(rows, 1):
        y = top - ROW * i
        long = max(room * count / longest, 0.8)
        drawing.add(text(NAMES - 8, y + 5.5, label, anchor="end", size=SIZE, room=NAMES - 8))
        drawing.add(box(NAMES, y + 2.5, long, ROW - 6, fill, style.INK))
        drawing.add(text(NAMES + long + 6, y + 5.5, units.grouped(str(count)), size=SIZE))
    drawing.add(rule(NAMES, top - ROW * len(rows), NAMES, top, style.INK, 0.8))
    return drawing


# --- amounts ----------------------------------------------------------------------------------

AMOUNTS = (
    ("Metal dosed", "metal", "kg/d"),
    ("More raw sludge", "sludge", "kg TSS/d"),
    ("More salt in the water", "salt", "kg/d"),
    ("Capital", "capital", "money"),
    ("Each year", "annual_cost", "money"),
    ("Present worth", "present_worth", "money"),
)
SUMMED = ("plants", "flow", *(key for _, key, _ in AMOUNTS))


def _amounts(portfolio: Portfolio, figures: Figures) -> list[Flowable]:
    """Add up what the recommended alternatives take, give and cost."""
    if not portfolio.choices:
        return []
    one = len(portfolio.currencies) == 1
    shown = [row for row in AMOUNTS if one or row[2] != "money"]
    factors = [_factor(portfolio.choices, key, unit, figures) for _, key, unit in shown]
    heads = [
        f"{head}, {word}{figures.unit(unit)}"
        for (head, _, unit), (_, word) in zip(shown, factors, strict=True)
    ]
    rows = [
        [label, *(_amount(chosen, row, figures, by[0])
                  for row, by in zip(shown, factors, strict=True))]
        for label, chosen in _totalled(few(portfolio.choices))
    ]  # fmt: skip
    whole = style.table(
        ["Recommended", *heads], rows, [2.6, *(1.0 for _ in shown)],
        numbers=range(1, len(shown) + 1),
    )  # fmt: skip
    return [brief.heading("What it takes and costs, beyond today"), whole]


def few(choices: Sequence[Chosen]) -> tuple[Chosen, ...]:
    """Give as many rows as a page holds: the rarest alternatives added up in one."""
    if len(choices) <= MOST_CHOICES:
        return tuple(choices)
    rest = choices[MOST_CHOICES - 1 :]
    sums = {name: sum(getattr(c, name) for c in rest) for name in SUMMED}
    others = Chosen(strategy="", label=f"{len(rest)} other alternatives", **sums)
    return (*choices[: MOST_CHOICES - 1], others)


def _totalled(choices: Sequence[Chosen]) -> list[tuple[str, Sequence[Chosen]]]:
    rows: list[tuple[str, Sequence[Chosen]]] = [(c.label, (c,)) for c in choices]
    return [*rows, ("All of these", choices)] if len(rows) > 1 else rows


def _sum(choices: Sequence[Chosen], key: str, unit: str, figures: Figures) -> float:
    return figures.shown(sum(getattr(c, key) for c in choices), unit)


def _factor(
    choices: Sequence[Chosen], key: str, unit: str, figures: Figures
) -> tuple[float, str]:  # fmt: skip
    """Choose the multiple that a column is printed in, and its word."""
    highest = max(abs(_sum(rows, key, unit, figures)) for _, rows in _totalled(choices))
    found = ((by, word) for least, by, word in brief.MULTIPLES if highest >= least)
    return next(found, (1.0, "")) if unit == "money" or highest >= 1e6 else (1.0, "")


def _amount(
    choices: Sequence[Chosen], row: tuple[str, str, str], figures: Figures, by: float
) -> str:  # fmt: skip
    return units.significant(_sum(choices, row[1], row[2], figures) / by, 3)


# --- what fails -------------------------------------------------------------------------------


def _infeasible(portfolio: Portfolio) -> list[Flowable]:
    """Say at how many plants nothing meets the permit, and what is missed there."""
    if not portfolio.infeasible:
        return []
    shown = portfolio.missed[:MOST_CHECKS]
    rest = len(portfolio.missed) - len(shown)
    listed = "; ".join(f"{lower(label)}, {_count(n, 'plant')}" for label, n in shown)
    more = f"; and {_count(rest, 'other requirement')}" if rest else ""
    return [
        brief.heading("Where nothing meets the permit"),
        brief.para(
            f"{_count(portfolio.infeasible, 'plant')}. What even the nearest alternative misses: "
            f"{listed}{more}. One plant may miss several."
        ),
    ]


def _skipped(portfolio: Portfolio, most: int) -> list[Flowable]:
    """List some of the plants whose input has a fault."""
    if not portfolio.skipped:
        return []
    first = {fault.row: fault for fault in reversed(portfolio.faults)}
    shown = sorted(first.values(), key=lambda fault: fault.row)[:most]
    rest = portfolio.skipped - len(shown)
    count = f"And {units.grouped(str(rest))} more" if shown else _count(rest, "plant")
    more = [f"{count}: see faults.csv."] if rest > 0 else []
    return [
        brief.heading("Plants skipped for a fault of their input"),
        *(
            brief.told(
                fonts.printable(fault.name, LONGEST) or "Without a name",
                _cut(fonts.printable(fault.message)),
            )
            for fault in shown
        ),
        *(brief.para(line) for line in more),
    ]


def _cut(message: str) -> str:
    """Cut a message behind a word; the whole of it stands in the list of faults."""
    if len(message) <= MESSAGE:
        return message
    return message[:MESSAGE].rpartition(" ")[0].rstrip(",;") + " …"


def _notes(portfolio: Portfolio) -> str:
    """Say what a reader must know to take the figures for what they are."""
    notes = ["Planning level: the real cost may lie from half to double. Not a design."]
    if portfolio.close:
        notes.insert(
            0,
            f"At {_count(portfolio.close, 'plant')} the next alternative costs about as much: "
            "this level of estimate cannot tell the two apart.",
        )
    if portfolio.unusual:
        notes.append(
            f"{_count(portfolio.unusual, 'plant')} with values outside their usual range: "
            "see the column 'unusual'."
        )
    if portfolio.assumed:
        shown = portfolio.assumed[:MOST_ASSUMED]
        rest = len(portfolio.assumed) - len(shown)
        more = f" and {rest} more" if rest > 0 else ""
        notes.append(
            "Taken for every plant from the worked example, a fictional plant, as no base form was "
            f"given: {', '.join(lower(label) for label in shown)}{more}."
        )
    if len(portfolio.currencies) > 1:
        notes.append(f"Money in {', '.join(portfolio.currencies)} is not added up.")
    return " ".join(notes)
