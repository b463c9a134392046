"""Memo and brief as a screen reader meets them: marks, structure, order, words for every chart."""

from __future__ import annotations

import itertools
import re

import pytest

from pcompare.documents import brief, memo, pages, style
from pcompare.documents.flowables import see
from pcompare.run import dossier
from tests.documents_dossier import invented, ugly
from tests.plants import example
from tests.tagged_pdf import Tagged

DOCUMENTS = {
    "memo": lambda: memo.memo(RUN),
    "memo in US units": lambda: memo.memo(invented(draws=0), "us"),
    "worst memo": lambda: memo.memo(ugly()),
    "brief": lambda: brief.brief(RUN),
    "worst brief": lambda: brief.brief(ugly(), "us"),
}
RUN = invented(monthly=True)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_screen_reader_can_read(name):
    """Each document is read once, and held against every rule below."""
    document = Tagged(DOCUMENTS[name]())
    for check in EVERY:
        check(document)
    if name == "memo":
        for check in OF_THE_MEMO:
            check(document)


def squeezed(text):
    return re.sub(r"\s+", "", text)


# --- marks and tree ---------------------------------------------------------------------------


def every_mark_is_owned_by_one_element_in_the_order_of_the_page(document):
    """Reading the tree from first to last meets every mark of every page once, as it is drawn."""
    owned = []

    def read(element):
        for item in element.order:
            if isinstance(item, tuple):
                owned.append((item, element))
            else:
                read(item)

    read(document.tree)
    drawn = [
        (page, mark.number)
        for page, marks in enumerate(document.pages)
        for mark in marks
        if mark.number is not None
    ]
    assert [item for item, _ in owned] == drawn
    parents = document.root["/ParentTree"]["/Nums"]
    back = dict(zip(parents[::2], parents[1::2], strict=True))
    for (page, number), element in owned:
        key = document.reader.pages[page]["/StructParents"]
        assert back[key].get_object()[number].get_object() == element.source
        mark = document.by_number(page)[number]
        assert mark.role == element.role
        assert mark.text.strip() or element.role == "Figure"


def text_of_the_tree_is_the_text_of_the_pages(document):
    """Another reader finds the same text: what the tree holds, and what is left to look at."""
    extracted = squeezed("".join(page.extract_text() for page in document.reader.pages))
    drawn = squeezed("".join(mark.text for marks in document.pages for mark in marks))
    assert sorted(extracted) == sorted(drawn)
    content = squeezed("".join(m.text for ms in document.pages for m in ms if m.number is not None))
    assert squeezed(document.text(document.tree)) == content


def only_what_repeats_is_left_out_of_the_tree(document):
    """Running heads, folios and the heads of tables that go on are drawn but not read out."""
    heads = {
        squeezed("".join(document.text(cell) for cell in row.kids))
        for row in document.elements("TR")
        if all(cell.role == "TH" for cell in row.kids)
    }
    running = re.compile(
        r"Planninglevel,notadesign.*run0123456789abpage\d+of\d+"
        r"|Phosphorusremoval:optionsmemo,.*"
    )
    for marks in document.pages:
        for mark in marks:
            if mark.number is None and mark.text.strip():
                text = squeezed(mark.text)
                assert text in heads or running.fullmatch(text), text


def the_file_says_that_it_is_tagged(document):
    catalogue, reader = document.catalogue, document.reader
    assert catalogue["/MarkInfo"]["/Marked"].value is True
    assert catalogue["/Lang"] == "en"
    assert str(catalogue["/ViewerPreferences"]["/DisplayDocTitle"]).lower().strip("/") == "true"
    metadata = catalogue["/Metadata"].get_data().decode()
    assert "<pdfuaid:part>1</pdfuaid:part>" in metadata
    title = reader.metadata.title.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    assert f'<rdf:li xml:lang="x-default">{title}</rdf:li>' in metadata
    assert all(page["/Tabs"] == "/S" for page in reader.pages)
    assert reader.pdf_header == "%PDF-1.7"


# --- what a reader hears ----------------------------------------------------------------------


def headings_begin_with_one_title_and_skip_no_level(document):
    levels = [int(e.role[1]) for e in document.elements() if re.fullmatch(r"H\d", e.role)]
    assert levels[0] == 1 and levels.count(1) == 1
    for before, after in itertools.pairwise(levels):
        assert after <= before + 1
    assert len(levels) > 5


def tables_have_heads_and_as_many_cells_in_every_row(document):
    tables = document.elements("Table")
    assert tables
    for table in tables:
        rows = [kid for kid in table.kids if kid.role == "TR"]
        assert [kid.role for kid in table.kids if kid.role != "TR"] in ([], ["Caption"])
        cells = [cell for row in rows for cell in row.kids]
        heads = [cell for cell in cells if cell.role == "TH"]
        assert heads and all(cell.attributes["/Scope"] in ("/Column", "/Row") for cell in heads)
        assert all(document.text(cell).strip() for cell in heads)
        widths = [0] * len(rows)
        for r, row in enumerate(rows):
            for cell in row.kids:
                for lower in range(r, r + cell.attributes.get("/RowSpan", 1)):
                    widths[lower] += cell.attributes.get("/ColSpan", 1)
        assert len(set(widths)) == 1, document.text(table)[:200]


def lists_hold_items_with_label_and_body(document):
    lists = document.elements("L")
    assert lists
    for one in lists:
        assert one.kids and all(item.role == "LI" for item in one.kids)
        for item in one.kids:
            assert [kid.role for kid in item.kids] == ["Lbl", "LBody"]
            assert document.text(item.kids[0]).strip() == "•"


def every_chart_is_told_in_words_with_its_numbers(document):
    figures = document.elements("Figure")
    assert figures
    for figure in figures:
        alt = figure.source["/Alt"]
        assert alt.endswith(".") and len(alt.split()) >= 5, alt
        assert alt.startswith("An empty chart:") or len(re.findall(r"\d+", alt)) >= 2, alt
        assert not re.search(r"\b(nan|inf|None|bio_|salt_)\b", alt), alt
        x1, y1, x2, y2 = figure.attributes["/BBox"]
        page, _ = figure.marks[0]
        box = document.reader.pages[page].mediabox
        assert 0 <= x1 < x2 <= box.width and 0 <= y1 < y2 <= box.height


def words_for_a_chart_hold_what_it_shows(document):
    said = [f.source["/Alt"] for f in document.elements("Figure")]
    (dose,) = (text for text in said if text.startswith("Lines of metal dose in mg/L"))
    assert "permit limit 0.8" in dose
    for name, row in RUN.targets.values.items():
        if any(row["metal_dose"]):
            first = f"{row['metal_dose'][0]:.3g}"
            assert first in dose, (name, first)


def the_contents_name_pages_and_lead_to_them(found):
    named = {}
    for entry in found.elements("TOCI"):
        (link, *_) = entry.kids
        assert link.role == "Link"
        title, page = re.fullmatch(r"(.*?)\s+(\d+)\s*", found.text(link)).groups()
        named[title] = int(page)
    outline = {}

    def collect(entries):
        for entry in entries:
            if isinstance(entry, list):
                collect(entry)
            else:
                outline[entry.title] = found.reader.get_destination_page_number(entry) + 1

    collect(found.reader.outline)
    assert len(named) == len(outline) > 20
    for (title, page), (whole, wanted) in zip(named.items(), outline.items(), strict=True):
        assert page == wanted, title
        assert whole.startswith(title.rstrip("…"))


def links_are_part_of_the_tree_and_described(found):
    parents = found.root["/ParentTree"]["/Nums"]
    back = dict(zip(parents[::2], parents[1::2], strict=True))
    notes = [note.get_object() for page in found.reader.pages for note in page.get("/Annots", ())]
    assert len(notes) == len(found.elements("Link")) > 20
    for note in notes:
        link = back[note["/StructParent"]].get_object()
        assert link["/S"] == "/Link" and note["/Contents"]
        assert any(
            kid.get_object() == note
            for item in link["/K"]
            if not isinstance(item, int) and (kid := item.get("/Obj")) is not None
        )


# --- numbers of tables and figures --------------------------------------------------------------


def tables_and_figures_are_numbered_and_referred_to_by_key(found):
    captions = [found.text(e) for e in found.elements("Caption")]
    numbers = [int(re.match(r"Table (\d+)\. ", text)[1]) for text in captions]
    assert numbers == list(range(1, len(numbers) + 1)) and len(numbers) > 20
    text = found.text(found.tree)
    figures = [int(n) for n in re.findall(r"Figure (\d+)\. [A-Z]", text)]
    assert figures == list(range(1, len(figures) + 1))
    glance = next(n for n, t in zip(numbers, captions, strict=True) if "at a glance" in t)
    assert f"Table {glance} sets" in text
    assert "\ue000" not in text and "□" not in text


EVERY = (
    every_mark_is_owned_by_one_element_in_the_order_of_the_page,
    text_of_the_tree_is_the_text_of_the_pages,
    only_what_repeats_is_left_out_of_the_tree,
    the_file_says_that_it_is_tagged,
    headings_begin_with_one_title_and_skip_no_level,
    tables_have_heads_and_as_many_cells_in_every_row,
    lists_hold_items_with_label_and_body,
    every_chart_is_told_in_words_with_its_numbers,
)
OF_THE_MEMO = (
    words_for_a_chart_hold_what_it_shows,
    the_contents_name_pages_and_lead_to_them,
    links_are_part_of_the_tree_and_described,
    tables_and_figures_are_numbered_and_referred_to_by_key,
)


def test_a_reference_to_nothing_prints_as_a_box():
    """Such a box fails the test above; a user's text cannot make a reference either."""
    text = style.para(f"As {see('nothing')} says.")
    pages.numbered([text])
    assert text.getPlainText() == "As □ says."


# --- an outside judge ---------------------------------------------------------------------------


PRINTED = {
    "example memo": lambda: memo.memo(dossier(example(), draws=0)),
    "example brief": lambda: brief.brief(dossier(example(), draws=0)),
    "worst memo": lambda: memo.memo(ugly()),
}


@pytest.mark.parametrize("name", PRINTED)
def test_a_checker_finds_no_error_of_pdf_ua(name, library, tmp_path):
    """By the PyPI program outloud: rules of PDF/UA-1 (ISO 14289-1), and sense beyond them.

    Of the rules of sense one errs: it takes the repeated heads of wide tables for prose.
    """
    path = tmp_path / "document.pdf"
    path.write_bytes(PRINTED[name]())
    result = library("outloud").check(str(path))
    assert not result.error
    assert result.stats["tagged"]
    errors = [f for f in result.findings if f.severity == "error" and f.rule != "TAG-002"]
    assert not errors, errors
