"""``options_memo.pdf``: the engineer's memo, assembled section by section.

The pages are laid out once: in ``page x of y`` the y is a form, filled in when all are counted.
"""

from __future__ import annotations

import io
from typing import Any

from pcompare.documents import (
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
from pcompare.documents.words import Figures, choice
from pcompare.records import Dossier

# isort: split
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

TITLE = "Phosphorus removal: options memo"
FOLIO = 8.0  # points
COUNT = "page_count"  # name of the form that prints the number of pages


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
    _Memo(out, dossier).build(story(dossier, Figures.of(dossier, units)), canvasmaker=_Canvas)
    return out.getvalue()


def story(dossier: Dossier, figures: Figures) -> list[Flowable]:
    """Give the whole memo in reading order."""
    parts = [
        *memo_opening.opening(dossier, figures),
        *memo_alternatives.alternatives(dossier, figures),
        *memo_salts.salts(dossier, figures),
        *memo_reuse.reuse(dossier, figures),
        *memo_comparison.comparison(dossier, figures),
        *memo_appendices.appendices(dossier, figures),
    ]
    return list(pages.kept(parts))


class _Canvas(Canvas):
    """A canvas that fills in the number of pages when the last is done."""

    def save(self) -> None:
        """Fill in the number of pages, then close the document."""
        self.beginForm(COUNT)
        self.setFont(fonts.TEXT, FOLIO)
        self.setFillColor(style.QUIET)
        self.drawString(0, 0, str(self.getPageNumber() - 1))
        self.endForm()
        super().save()


class _Memo(BaseDocTemplate):
    """The page: margins, running head, folio and outline."""

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
            lang="en",
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
        self.project, self.run = name, dossier.provenance.run_id
        self._headings = 0

    def first_page(self, canvas: Any, _: Any) -> None:
        """Print the folio alone."""
        canvas.showOutline()
        self._folio(canvas)

    def later_page(self, canvas: Any, _: Any) -> None:
        """Print running head and folio."""
        wide, high = self._page_size()
        top, right = high - style.TOP + 20, wide - style.RIGHT
        canvas.setFont(fonts.TEXT, 8)
        canvas.setFillColor(style.QUIET)
        canvas.drawString(style.LEFT, top, TITLE)
        room = right - style.LEFT - fonts.width(TITLE, 8) - 30
        canvas.drawRightString(right, top, fit(self.project, room, 8))
        canvas.setStrokeColor(style.RULE)
        canvas.setLineWidth(0.5)
        canvas.line(style.LEFT, top - 6, right, top - 6)
        self._folio(canvas)

    def _page_size(self) -> tuple[float, float]:
        return style.TURNED if self.pageTemplate.id == pages.WIDE else style.PAGE

    def _folio(self, canvas: Any) -> None:
        canvas.setFont(fonts.TEXT, FOLIO)
        canvas.setFillColor(style.QUIET)
        low = style.BOTTOM - 24
        canvas.drawString(style.LEFT, low, f"Planning level, not a design · run {self.run}")
        right = self._page_size()[0] - style.RIGHT - fonts.width("00", FOLIO)
        canvas.drawRightString(right, low, f"page {canvas.getPageNumber()} of ")
        canvas.saveState()
        canvas.translate(right, low)
        canvas.doForm(COUNT)
        canvas.restoreState()

    def afterFlowable(self, flowable: Flowable) -> None:  # reportlab's name
        """Put each heading into the outline."""
        if not isinstance(flowable, pages.Heading):
            return
        self._headings += 1
        key = f"heading-{self._headings}"
        top = getattr(self.frame, "_y", style.PAGE[1]) + flowable.height + 4
        self.canv.bookmarkPage(key, fit="FitH", top=top)
        level = flowable.outline_level
        self.canv.addOutlineEntry(flowable.outline_text, key, level, closed=level > 0)


def _frame(page: tuple[float, float]) -> Frame:
    """Make the text area, without padding, so that rules and charts reach the margins."""
    width, height = page
    return Frame(
        style.LEFT, style.BOTTOM, width - style.LEFT - style.RIGHT,
        height - style.TOP - style.BOTTOM,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
