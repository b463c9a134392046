"""``board_brief.pdf``: the decision for those who have to take it, on two pages at most."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import Any

from pcompare import units
from pcompare.documents import brief_charts, brief_outlook, brief_words, fonts, style
from pcompare.documents.brief_choice import HANDFUL, handful
from pcompare.documents.flowables import Grid, Heading, Item, Panel, Plan, Text
from pcompare.documents.tagging import FOOTER, LANGUAGE, Element, TaggedCanvas
from pcompare.documents.words import NONE, Figures, choice, value
from pcompare.findings import Dossier
from pcompare.records import Line, StrategyResult

# isort: split
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

TITLE = "Phosphorus removal: board brief"
PAGES = 2
SECTION = 2  # level of a section's heading
FEWEST = 3  # options below which the brief is not cut to save a page
SMALL, TEXT = 9.0, 10.2
TOP, BOTTOM = style.TOP - 14, style.BOTTOM - 4
NAME_LIMIT = 90  # characters of the plant's name


def _style(name: str, size: float, lead: float, **more: Any) -> ParagraphStyle:
    return style._style(f"brief {name}", size, lead, **more)


BODY = _style("body", TEXT, 1.34, spaceAfter=3)
ANSWER = _style("answer", 12.4, 1.3, fontName=fonts.STRONG, spaceAfter=4)
LABEL = _style("label", SMALL, 1.3, textColor=style.QUIET)
NOTE = _style("note", SMALL, 1.3, textColor=style.QUIET, spaceBefore=3, spaceAfter=3)
NAME = _style("name", SMALL + 0.6, 1.18, fontName=fonts.STRONG)
GLOSS = _style("gloss", SMALL, 1.18)
HEAD = _style("head", SMALL, 1.18, fontName=fonts.STRONG, alignment=1)
HEAD_LEFT = _style("head left", SMALL, 1.18, fontName=fonts.STRONG)
CENTRE = _style("centre", SMALL + 0.6, 1.18, alignment=1)
TITLE_STYLE = _style("title", 20, 1.14, fontName=fonts.STRONG, spaceAfter=3)
HEADING = _style("heading", 12.2, 1.25, fontName=fonts.STRONG, spaceBefore=9, spaceAfter=3,
                 keepWithNext=1)  # fmt: skip
BULLET = _style("bullet", TEXT, 1.32, leftIndent=11, bulletIndent=1, spaceAfter=2)


def brief(dossier: Dossier, units: str = "si") -> bytes:
    """Print the board brief.

    Parameters
    ----------
    dossier : Dossier
    units : str
        ``si`` or ``us``.

    Returns
    -------
    bytes
        A PDF of at most two pages with embedded fonts; the same bytes for the same dossier.
    """
    figures = Figures.of(dossier, units)
    for most in range(HANDFUL + 1, FEWEST - 1, -1):
        printed, count = _printed(dossier, figures, most)
        if count <= PAGES:
            break
    return printed


def _printed(dossier: Dossier, figures: Figures, most: int) -> tuple[bytes, int]:
    out = io.BytesIO()
    document = _Brief(out, dossier)
    document.build(story(dossier, figures, most), canvasmaker=TaggedCanvas)
    return out.getvalue(), document.page


def story(dossier: Dossier, figures: Figures, most: int = HANDFUL + 1) -> list[Flowable]:
    """Give the whole brief in reading order, with as many options as asked for."""
    shown = handful(dossier, most)
    return [
        *_top(dossier),
        heading("The question"),
        para(brief_words.question(dossier, figures)),
        heading("The answer"),
        _answer(dossier),
        *(bullet(sentence) for sentence in brief_words.reasons(dossier, figures)),
        heading("What it costs"),
        costs(dossier, shown, figures),
        para(_note(dossier, shown), NOTE),
        heading("If nothing is done"),
        para(" ".join(brief_outlook.if_nothing(dossier, figures))),
        *_kept(
            heading("Two things that could change the answer"),
            *(told(*pair) for pair in brief_outlook.could_change(dossier, figures)),
        ),
        *_kept(
            heading(_salt_heading(dossier)),
            para(" ".join(brief_outlook.salt_sentences(dossier, figures))),
            style.gap(3),
            brief_charts.salt(dossier, shown, figures),
        ),
        heading("What can be recovered later and what cannot"),
        *(told(*pair) for pair in brief_outlook.later(dossier, figures)),
        *_kept(
            heading("Next step"),
            *(told(*pair) for pair in brief_outlook.next_step(dossier, figures)),
        ),
        para(
            "Planning level: the real cost may lie from half to double. Not a design. The reasons, "
            "the sources and every assumption stand in the options memo of the same run.",
            NOTE,
        ),
    ]


def _salt_heading(dossier: Dossier) -> str:
    is_reused = brief_charts.situations(dossier) != ("effluent",)
    return "Salt in the water that is used again" if is_reused else "Salt in the treated water"


def _kept(*parts: Flowable) -> list[Flowable]:
    """Keep parts on one page."""
    return [style.Kept(parts)]


def _note(dossier: Dossier, shown: Sequence[StrategyResult]) -> str:
    priced = value(dossier.inputs, "finance.price_year")
    year = f", prices of {priced:.0f}" if math.isfinite(priced) else ""
    currency = Figures.of(dossier, "si").currency
    sentences = (
        f"All costs are beyond those of today, in {currency}{year}. Later years count for less in "
        "the total. The household figure is a share of the cost, not the bill: loans and grants "
        "change the bill.",
        brief_outlook.range_words(dossier, shown),
        brief_outlook.others(dossier, len(shown)),
    )
    return " ".join(filter(None, sentences))


# --- parts of the page ------------------------------------------------------------------------


def para(text: str, look: ParagraphStyle = BODY) -> Text:
    """Make a paragraph of plain text, with lowered digits at full size."""
    return Text(text, look, lowered=False)


def bullet(text: str) -> Item:
    """Make one item of a list."""
    return Item(text, BULLET, lowered=False)


def told(head: str, text: str) -> Item:
    """Make one item of a list that opens with a few strong words."""
    return Item(text, BULLET, strong=f"{head}.", lowered=False)


def heading(text: str) -> Heading:
    """Make a heading that the outline lists."""
    return Heading(text, HEADING, SECTION)


def _top(dossier: Dossier) -> list[Flowable]:
    inputs = dossier.inputs
    readers = fonts.printable(choice(inputs, "project.prepared_for", "not stated"), NAME_LIMIT)
    date = fonts.printable(choice(inputs, "project.date", "not given"), 20)
    facts = [f"Date of the estimate: {date}"]
    if readers != "not stated":
        facts.insert(0, f"For {readers}")
    return [
        para("Board brief on phosphorus removal", LABEL),
        Heading(choice(inputs, "project.name", "Unnamed plant"), TITLE_STYLE, 1, limit=NAME_LIMIT),
        para(" · ".join(facts), LABEL),
    ]  # fmt: skip


def _answer(dossier: Dossier) -> Flowable:
    return Panel(
        [[para(brief_words.answer(dossier), ANSWER)]],
        colWidths=[style.WIDTH],
        style=[
            ("LINEBEFORE", (0, 0), (0, -1), 3, style.PALETTE[0]),
            ("LEFTPADDING", (0, 0), (-1, -1), 10),
            ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
            ("FONT", (0, 0), (-1, -1), fonts.TEXT, TEXT),
        ],
        spaceAfter=5,
    )


# --- the table of costs -----------------------------------------------------------------------

HEADS = {
    "capital": "Up-front",
    "annual_cost": "Each year",
    "present_worth": "All {years} years",
    "household_month": "Each household a month",
}
MULTIPLES = ((1e9, 1e9, "billion "), (1e6, 1e6, "million "), (1e4, 1e3, "thousand "))


def costs(dossier: Dossier, shown: Sequence[StrategyResult], figures: Figures) -> Grid:
    """Set the costs of the options, each figure over its range, all on their decimal points."""
    head: list[Flowable] = [para("Option", HEAD_LEFT)]
    columns: list[list[Flowable]] = []
    for quantity, words in HEADS.items():
        lines = [r.lines.get(quantity) for r in shown]
        factor, times = scaled(lines)
        label = words.format(years=brief_words.years(dossier))
        head.append(para(f"{label}, {times}{figures.currency}", HEAD))
        columns.append(list(_amounts(lines, factor)))
    head.append(para("Meets the permit?", HEAD))
    rows = [
        [
            [para(brief_words.titled(r), NAME), para(brief_words.what_it_is(r), GLOSS)],
            *(column[i] for column in columns),
            para("yes" if r.meets_permit else "no", CENTRE),
        ]
        for i, r in enumerate(shown)
    ]
    wide = (style.WIDTH - 150.0 - 49.0) / len(HEADS)
    return Grid(
        [head, *rows],
        plan=Plan(heads=1, columns=len(head)),
        colWidths=[150.0, *(wide for _ in HEADS), 49.0],
        style=[
            ("FONT", (0, 0), (-1, -1), fonts.TEXT, SMALL),
            ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
            ("VALIGN", (0, 1), (-1, -1), "TOP"),
            ("TOPPADDING", (0, 0), (-1, -1), 2.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 2),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("LINEABOVE", (0, 0), (-1, 0), 0.9, style.INK),
            ("LINEBELOW", (0, 0), (-1, 0), 0.6, style.INK),
            ("LINEBELOW", (0, 1), (-1, -2), 0.4, style.RULE),
            ("LINEBELOW", (0, -1), (-1, -1), 0.6, style.INK),
        ],
        spaceBefore=2,
        spaceAfter=2,
    )


def scaled(lines: Sequence[Line | None]) -> tuple[float, str]:
    """Choose the multiple of money that a column is printed in, and its word."""
    found = [abs(v) for x in lines if x is not None for v in (x.value, x.high) if v is not None]
    highest = max((v for v in found if math.isfinite(v)), default=0.0)
    return next(((by, word) for least, by, word in MULTIPLES if highest >= least), (1.0, ""))


def figure(number: float | None, factor: float) -> str:
    """Print money to two figures in a multiple."""
    if number is None or not math.isfinite(number):
        return NONE
    return units.significant(number / factor, 2)


def _amounts(lines: Sequence[Line | None], factor: float) -> list[Flowable]:
    texts = [
        tuple(figure(v, factor) for v in ((x.value, x.low, x.high) if x else (None, None, None)))
        for x in lines
    ]
    parts = [_split(row[0]) for row in texts]
    before, behind = (max(fonts.width(part[i], Amount.SIZE, fonts.STRONG) for part in parts)
                      for i in (0, 1))  # fmt: skip
    return [Amount(row, before, behind) for row in texts]


def _split(text: str) -> tuple[str, str]:
    whole, point, decimals = text.partition(".")
    return whole, point + decimals


class Amount(Flowable):
    """A figure on the decimal point of its column, over its range, which is set about its "to"."""

    canv: Any
    in_parts = True  # each line is read for itself
    SIZE = SMALL + 0.4
    LEADING = 12.2

    def __init__(self, texts: tuple[str, ...], before: float, behind: float) -> None:
        super().__init__()
        self.texts, self.before, self.behind = texts, before, behind
        self.has_range = NONE not in texts[1:] and texts[1:] != ("0", "0")

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:
        """Take the width of the column, and one or two lines."""
        self.width, self.height = aW, self.LEADING * (2 if self.has_range else 1)
        return self.width, self.height

    def draw(self) -> None:
        """Draw the figure, and its range under it."""
        self.canv.setFillColor(style.INK)
        with self.canv.marked(Element("P")):
            self._figure(self.height - self.SIZE)
        if self.has_range:
            with self.canv.marked(Element("P")):
                self._range(self.height - self.SIZE - self.LEADING)

    def _figure(self, low: float) -> None:
        self.canv.setFont(fonts.STRONG, self.SIZE)
        whole, decimals = _split(self.texts[0])
        point = self.width / 2 + (self.before - self.behind) / 2
        self.canv.drawRightString(point, low, whole)
        self.canv.drawString(point, low, decimals)

    def _range(self, low: float) -> None:
        self.canv.setFont(fonts.TEXT, self.SIZE)
        middle, joint = self.width / 2, fonts.width(JOINT, self.SIZE)
        self.canv.drawRightString(middle - joint / 2, low, self.texts[1])
        self.canv.drawCentredString(middle, low, JOINT)
        self.canv.drawString(middle + joint / 2, low, self.texts[2])


JOINT = " to "


# --- the page ---------------------------------------------------------------------------------


class Sheet(BaseDocTemplate):
    """A page with the margins of a brief, and with what this is and the run at its foot."""

    canv: Any

    def __init__(
        self, out: io.BytesIO, title: str, subject: str, version: str, run_id: str
    ) -> None:
        super().__init__(
            out,
            pagesize=style.PAGE,
            title=title,
            author=f"pcompare {version}",
            subject=subject,
            creator=f"pcompare {version}, run {run_id}",
            lang=LANGUAGE,
            displayDocTitle=1,
            initialFontName=fonts.TEXT,
            invariant=1,
        )
        width, height = style.PAGE
        frame = Frame(
            style.LEFT, BOTTOM, width - style.LEFT - style.RIGHT, height - TOP - BOTTOM,
            leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
        )  # fmt: skip
        self.addPageTemplates([PageTemplate("page", [frame], onPage=self.around)])
        self.run = run_id

    def around(self, canvas: Any, _: Any) -> None:
        """Print the foot."""
        with canvas.artifact(FOOTER):
            self.foot(canvas, BOTTOM - 22)

    def foot(self, canvas: Any, low: float) -> None:
        """Print what this is and the run."""
        canvas.setFont(fonts.TEXT, SMALL)
        canvas.setFillColor(style.QUIET)
        canvas.drawString(style.LEFT, low, f"Planning level, not a design · run {self.run}")


class _Brief(Sheet):
    """The pages of the brief: with the page's number, and an outline."""

    def __init__(self, out: io.BytesIO, dossier: Dossier) -> None:
        name = fonts.printable(choice(dossier.inputs, "project.name", "unnamed plant"), NAME_LIMIT)
        subject = "What to decide on phosphorus removal, what it costs and what it risks"
        made = dossier.provenance
        super().__init__(out, f"{TITLE}: {name}", subject, made.version, made.run_id)
        self._headings = 0

    def around(self, canvas: Any, template: Any) -> None:
        """Show the outline, and print the foot."""
        canvas.showOutline()
        super().around(canvas, template)

    def foot(self, canvas: Any, low: float) -> None:
        """Print what this is, the run and the page."""
        right, page = style.PAGE[0] - style.RIGHT, canvas.getPageNumber()

        def page_of(late: TaggedCanvas) -> None:
            late.setFont(fonts.TEXT, SMALL)
            late.setFillColor(style.QUIET)
            late.drawRightString(right, low, f"page {page} of {late.count}")

        super().foot(canvas, low)
        canvas.later(page_of)

    def afterFlowable(self, flowable: Flowable) -> None:  # reportlab's name
        """Put each heading into the outline."""
        if not isinstance(flowable, Heading) or flowable.level != SECTION:
            return
        self._headings += 1
        key = f"heading-{self._headings}"
        top = getattr(self.frame, "_y", style.PAGE[1]) + flowable.height + 4
        self.canv.bookmarkPage(key, fit="FitH", top=top)
        self.canv.addOutlineEntry(flowable.outline_text, key, 0)
