"""``options_memo.pdf``: the engineer's memo, assembled section by section.

The pages are laid out once: numbers of pages are filled in when all are known.
"""

from __future__ import annotations

import io
from typing import Any

from pcompare.documents import (
    contents,
    fonts,
    memo_alternatives,
    memo_appendices,
    memo_comparison,
    memo_opening,
    memo_reuse,
    memo_salts,
    pages,
    style,
)
from pcompare.documents.drawing import fit
from pcompare.documents.flowables import Heading
from pcompare.documents.tagging import FOOTER, HEADER, LANGUAGE, TaggedCanvas
from pcompare.documents.words import Figures, choice
from pcompare.findings import Dossier

# isort: split
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

TITLE = "Phosphorus removal: options memo"
FOLIO = 8.0  # points
HASH = 12  # digits of the hash of the inputs at the foot of a page; appendix E has all


def memo(dossier: Dossier, units: str = "si") -> bytes:
    """Print the options memo.

    Parameters
    ----------
    dossier : Dossier
    units : str
        ``si`` or ``us``.

    Returns
    -------
    bytes
        A PDF with embedded fonts; the same bytes for the same dossier.
    """
    out = io.BytesIO()
    _Memo(out, dossier).build(story(dossier, Figures.of(dossier, units)), canvasmaker=TaggedCanvas)
    return out.getvalue()


def story(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give the whole memo in reading order."""
    parts = [
        *memo_opening.plant(dossier, figures),
        *memo_alternatives.alternatives(dossier, figures),
        *memo_salts.salts(dossier, figures),
        *memo_reuse.reuse(dossier, figures),
        *memo_comparison.comparison(dossier, figures),
        *memo_appendices.appendices(dossier, figures),
    ]
    first = memo_opening.answer(dossier, figures)
    pages.numbered([*first, *parts])
    listed = style.Kept([contents.Contents(pages.headings([*first, *parts]))])
    return list(pages.kept([*first, Heading("Contents", style.HEADINGS[0]), listed, *parts]))


class _Memo(BaseDocTemplate):
    """The page: margins, running head, folio and outline."""

    canv: Any

    def __init__(self, out: io.BytesIO, dossier: Dossier) -> None:
        name = fonts.printable(choice(dossier.inputs, "project.name", "unnamed project"), 120)
        super().__init__(
            out,
            pagesize=style.PAGE,
            leftMargin=style.LEFT,
            rightMargin=style.RIGHT,
            topMargin=style.TOP,
            bottomMargin=style.BOTTOM,
            title=f"{TITLE}: {name}",
            author=f"pcompare {dossier.provenance.version}",
            subject="Metal-salt, biological and combined phosphorus removal compared",
            creator=f"pcompare {dossier.provenance.version}, run {dossier.provenance.run_id}",
            lang=LANGUAGE,
            displayDocTitle=1,
            initialFontName=fonts.TEXT,
            invariant=1,
        )
        self.addPageTemplates(
            [
                PageTemplate(
                    "first",
                    [_frame(style.PAGE)],
                    onPage=self.first_page,
                    autoNextPageTemplate=pages.UPRIGHT,
                ),
                PageTemplate(pages.UPRIGHT, [_frame(style.PAGE)], onPage=self.later_page),
                PageTemplate(
                    pages.WIDE,
                    [_frame(style.TURNED)],
                    onPage=self.later_page,
                    pagesize=style.TURNED,
                ),
            ]
        )
        made = dossier.provenance
        date = fonts.printable(choice(dossier.inputs, "project.date", "no date given"), 20)
        self.head = f"{TITLE}, {date}"
        self.project = name
        self.foot = (
            f"Planning level, not a design · pcompare {made.version} · inputs "
            f"{made.input_hash[:HASH]} · run {made.run_id}"
        )

    def first_page(self, canvas: Any, _: Any) -> None:
        """Print the folio alone."""
        canvas.showOutline()
        self._folio(canvas)

    def later_page(self, canvas: Any, _: Any) -> None:
        """Print running head and folio."""
        wide, high = self._page_size()
        top, right = high - style.TOP + 20, wide - style.RIGHT
        with canvas.artifact(HEADER):
            canvas.setFont(fonts.TEXT, FOLIO)
            canvas.setFillColor(style.QUIET)
            canvas.drawString(style.LEFT, top, self.head)
            room = right - style.LEFT - fonts.width(self.head, FOLIO) - 30
            canvas.drawRightString(right, top, fit(self.project, room, FOLIO))
            canvas.setStrokeColor(style.RULE)
            canvas.setLineWidth(0.5)
            canvas.line(style.LEFT, top - 6, right, top - 6)
        self._folio(canvas)

    def _page_size(self) -> tuple[float, float]:
        return style.TURNED if self.pageTemplate.id == pages.WIDE else style.PAGE

    def _folio(self, canvas: TaggedCanvas) -> None:
        low, right = style.BOTTOM - 24, self._page_size()[0] - style.RIGHT
        page = canvas.getPageNumber()
        with canvas.artifact(FOOTER):
            canvas.setFont(fonts.TEXT, FOLIO)
            canvas.setFillColor(style.QUIET)
            canvas.drawString(style.LEFT, low, self.foot)
            canvas.later(lambda late: _page_of(late, page, right, low))

    def afterFlowable(self, flowable: Flowable) -> None:  # reportlab's name
        """Put each heading that is listed into the outline, and note its page."""
        if not isinstance(flowable, Heading) or not flowable.key:
            return
        top = getattr(self.frame, "_y", style.PAGE[1]) + flowable.height + 4
        self.canv.bookmarkPage(flowable.key, fit="FitH", top=top)
        self.canv.places[flowable.key] = self.page
        level = flowable.level - pages.FIRST
        self.canv.addOutlineEntry(flowable.outline_text, flowable.key, level, closed=level > 0)


def _page_of(canvas: TaggedCanvas, page: int, right: float, low: float) -> None:
    """Print the number of a page and how many there are."""
    canvas.setFont(fonts.TEXT, FOLIO)
    canvas.setFillColor(style.QUIET)
    canvas.drawRightString(right, low, f"page {page} of {canvas.count}")


def _frame(page: tuple[float, float]) -> Frame:
    """Make the text area, without padding, so that rules and charts reach the margins."""
    width, height = page
    return Frame(
        style.LEFT, style.BOTTOM, width - style.LEFT - style.RIGHT,
        height - style.TOP - style.BOTTOM,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
