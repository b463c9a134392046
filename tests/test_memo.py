"""The options memo, read back with a PDF reader: text, fonts, outline, and the same bytes twice."""

from __future__ import annotations

import io
import itertools
import re
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from pcompare import lines
from pcompare.documents import (
    fonts,
    memo,
    memo_carbon,
    memo_comparison,
    memo_salts,
    names,
    pages,
    salt_words,
    style,
)
from pcompare.documents.flowables import SUBSCRIPTS
from pcompare.documents.words import NONE, Figures, short_share
from tests.documents_dossier import invented, ugly

ROOT = Path(__file__).resolve().parents[1]
SI = Figures(system="si", currency="EUR")


def squeezed(text):
    """Take out all white space, since where a line breaks is the layout's business.

    Subscripts are printed as lowered digits, so that "CaCO3" can be searched.
    """
    return re.sub(r"\s+", "", text).translate(SUBSCRIPTS)


def read(data):
    return pypdf.PdfReader(io.BytesIO(data))


def text_of(reader):
    return [page.extract_text() for page in reader.pages]


@pytest.fixture(scope="module")
def ordinary():
    return memo.memo(invented(monthly=True))


@pytest.fixture(scope="module")
def texts(ordinary):
    return text_of(read(ordinary))


@pytest.fixture(scope="module")
def worst():
    return memo.memo(ugly())


def test_every_number_of_the_comparison_is_printed(texts):
    """Each row of the comparison tables, number by number, in the order of the strategies."""
    text = squeezed("".join(texts))
    results = invented().comparison.strategies.values()
    for kind in (k for k in lines.LINES if k.group not in memo_comparison.ELSEWHERE):
        values = [r.lines[kind.quantity].value for r in results]
        chance = kind.quantity.startswith("probability")
        cells = [short_share(v) if chance else SI.number(v, kind.unit) for v in values]
        row = squeezed(kind.label + SI.unit(kind.unit) + "".join(cells))
        assert row in text, (kind.quantity, row)


def test_every_check_is_printed_with_needed_and_found(texts):
    text = squeezed("".join(texts))
    for result in invented().comparison.strategies.values():
        for check in result.checks:
            needed, found = SI.number(check.needed, check.unit), SI.number(check.found, check.unit)
            assert squeezed(f"{check.label}{check.sense}{needed}{found}") in text
            sign = {("at most", True): "≤", ("at most", False): ">"}.get(
                (check.sense, check.met), "≥" if check.met else "<"
            )
            assert squeezed(f"{found}{sign}{needed}") in text


def test_every_input_and_coefficient_is_listed_with_its_status(texts):
    text = squeezed("".join(texts))
    for row in invented().fields:
        assert squeezed(row.label) in text
        if row.status in ("memory", "judgement"):
            assert f"▲{row.status}" in text


def test_sections_stand_in_order(ordinary):
    outline = read(ordinary).outline
    found = [entry.title for entry in outline if not isinstance(entry, list)]
    assert found == [
        "1 Decision and answer",
        "2 Plant and data",
        "3 What is needed",
        "4 Alternatives",
        "5 Metal salts",
        "6 Dissolved salts and reuse",
        "7 Comparison",
        "8 Money and climate",
        "9 Charts",
        "10 What would change the answer",
        "11 Cautions",
        "A Inputs",
        "B Coefficients",
        "C Equations",
        "D Sources",
        "E Provenance",
    ]


# --- headings and pages -----------------------------------------------------------------------


def variants():
    dossier = invented()
    yield "ordinary", dossier, "si"
    yield "us", dossier, "us"
    yield "without draws", invented(draws=0), "si"
    yield "worst", ugly(), "si"
    # Notes of growing length move everything behind them down, so that each heading comes
    # near the foot of a page in one of the cases.
    for lines_more in range(1, 12, 2):
        warnings = tuple(f"a remark that takes a line, number {i}" for i in range(lines_more))
        inputs = replace(dossier.inputs, warnings=warnings)
        yield f"{lines_more} remarks", replace(dossier, inputs=inputs), "si"


@pytest.mark.parametrize(
    ("dossier", "units"), [pytest.param(d, u, id=name) for name, d, u in variants()]
)
def test_no_heading_stands_alone_at_the_foot_of_a_page(dossier, units, monkeypatch):
    """What follows each heading, beyond other headings, begins on its page."""
    placed = []
    plain = memo._Memo.afterFlowable

    def noted(self, flowable):
        placed.append((self.page, flowable))
        plain(self, flowable)

    monkeypatch.setattr(memo._Memo, "afterFlowable", noted)
    memo.memo(dossier, units)
    shown = [(page, f) for page, f in placed if type(f).__name__ in SHOWN]
    headings = 0
    for (page, flowable), (next_page, _) in itertools.pairwise(shown):
        if pages.is_heading(flowable):
            headings += 1
            assert page == next_page, flowable.getPlainText()
    assert headings > 50


SHOWN = ("Text", "Item", "Heading", "Title", "Grid", "Panel", "Chart", "Contents")


def test_the_comparison_stands_on_turned_pages(ordinary, texts):
    turned = [i for i, page in enumerate(read(ordinary).pages) if page.mediabox.width > 800]
    assert turned == list(range(turned[0], turned[-1] + 1))
    assert "7 Comparison" in texts[turned[0]]
    assert "7.6 Ranges" in texts[turned[-1]]
    assert "8 Money and climate" in texts[turned[-1] + 1]
    head = squeezed("".join(names.short(name) for name in invented().comparison.strategies))
    assert head in squeezed(texts[turned[0]])


# --- carbon and layouts -----------------------------------------------------------------------


def test_every_layout_and_carbon_budget_is_printed_with_all_its_numbers(texts):
    dossier, found = invented(), squeezed("".join(texts))
    start = found.index("CarbonandlayoutsCarbondecides")
    found = found[start : found.index("5Metalsalts", start)]
    assert dossier.layouts
    for name, row in dossier.layouts.items():
        cells = [SI.number(row[q].value, row[q].unit) for q in memo_carbon.LAYOUTS]
        is_carried = name == dossier.inputs.choices["bio.layout"]
        label = names.layout(name) + (" (carried)" if is_carried else "")
        assert squeezed(label + "".join(cells)) in found, name
    results = [r for r in dossier.comparison.strategies.values() if "vfa_available" in r.lines]
    for result in results:
        for quantities in (memo_carbon.CARBON, memo_carbon.PROFILE):
            picked = [result.lines[q] for q in quantities]
            cells = [SI.number(line.value, line.unit) for line in picked]
            label = names.short(result.name)
            assert (squeezed(label + "".join(cells)) in found) == (
                result.lines["vfa_available"].value is not None
            ), result.name


def test_without_organisms_there_is_no_part_on_carbon():
    dossier = invented(draws=0)
    strategies = {n: r for n, r in dossier.comparison.strategies.items() if not n.startswith("bio")}
    for result in strategies.values():
        result.lines.pop("vfa_available", None)
    left = replace(dossier, comparison=replace(dossier.comparison, strategies=strategies))
    assert memo_carbon.carbon(left, SI, 4) == []


# --- metal salts ------------------------------------------------------------------------------


@pytest.mark.parametrize("units", ["si", "us"])
def test_every_salt_is_printed_with_all_its_numbers(units):
    dossier = invented()
    figures = Figures(system=units, currency="EUR")
    found = squeezed("".join(text_of(read(memo.memo(dossier, units=units)))))
    for quantities in (memo_salts.DOSE, memo_salts.WATER_AND_COST):
        for name, salt in dossier.salts.items():
            label = names.product(name) + (" (carried)" if name == "ferric_chloride" else "")
            cells = [figures.number(salt[q].value, salt[q].unit) for q in quantities]
            assert squeezed(label + "".join(cells)) in found, name


def test_salts_stand_by_present_worth(texts):
    found = squeezed("".join(texts))
    order = [squeezed(names.product(n)) for n, _ in salt_words.by_worth(invented().salts)]
    start = found.rindex("5.1Sidebyside")
    places = [found.index(label, start) for label in order]
    assert places == sorted(places)


def test_a_salt_that_misses_the_target_is_marked():
    dossier = invented(draws=0)
    alum = dossier.salts["liquid_alum"]
    line = replace(alum["effluent_tp_governing"], value=0.9)
    salts = {**dossier.salts, "liquid_alum": {**alum, "effluent_tp_governing": line}}
    found = squeezed("".join(text_of(read(memo.memo(replace(dossier, salts=salts))))))
    assert found.count("Liquidalum†") == 2
    assert found.count("†missesthetarget") == 1
    assert found.count("†") == 3


def test_a_carried_salt_that_misses_the_target_has_both_marks():
    dossier = invented(draws=0)
    salts = {"ferric_chloride": dossier.salts["ferric_chloride"]}
    line = replace(salts["ferric_chloride"]["effluent_tp_governing"], value=0.9)
    salts["ferric_chloride"] = {**salts["ferric_chloride"], "effluent_tp_governing": line}
    found = squeezed("".join(text_of(read(memo.memo(replace(dossier, salts=salts))))))
    assert found.count("Ferricchloride(carried)†") == 2
    assert "Noneofthesaltsbringstheplanttothetarget" in found


def test_the_dose_models_are_explained(texts):
    found = squeezed("".join(texts))
    assert re.search(r"Figure\d+\.Metaldosebyeachpublishedmodel", found)
    assert "Uptakeonhydroxide(usedhere)" in found
    for _, _, status, source in salt_words.MODEL_NOTES.values():
        assert squeezed(f"{status}, {source}") in found
    assert "jartests" in found


def test_a_memo_without_salts_says_so():
    found = squeezed("".join(text_of(read(memo.memo(replace(invented(draws=0), salts={}))))))
    assert "Nometalsaltwasexamined." in found


def test_a_column_is_never_too_narrow_for_its_numbers():
    """Long amounts take room from the other columns; beyond that they are set smaller."""
    rows = [["a label", "1\u202f234\u202f567\u202f890.12", "5"], ["b", "0.25", "6"]]
    kept = style.table(("", "Very long heading", "x"), rows, (400, 20, 20), numbers=(1, 2))
    (whole,) = kept.contents
    number = fonts.width(rows[0][1], style.SMALL_SIZE)
    assert whole._colWidths[1] >= number + 6.0
    assert sum(whole._colWidths) == pytest.approx(style.WIDTH)
    many = [["a", *(["123\u202f456\u202f789\u202f012\u202f345"] * 9)]]
    kept = style.table(("", *"abcdefghi"), many, (1,) * 10, numbers=range(1, 10))
    (whole,) = kept.contents
    assert sum(whole._colWidths) == pytest.approx(style.WIDTH)
    sizes = [whole._cellStyles[1][i].fontsize for i in range(1, 10)]
    for size, width in zip(sizes, whole._colWidths[1:], strict=True):
        assert fonts.width(many[0][1], size) <= width - 5.9
    assert all(isinstance(cell, str) for cell in whole._cellvalues[1][1:])


def test_bookmarks_lead_to_the_page_of_their_heading(ordinary, texts):
    reader = read(ordinary)
    entries = []

    def collect(outline):
        for entry in outline:
            if isinstance(entry, list):
                collect(entry)
            else:
                entries.append(entry)

    collect(reader.outline)
    assert len(entries) > 20
    for entry in entries:
        page = reader.get_destination_page_number(entry)
        assert squeezed(entry.title) in squeezed(texts[page]), entry.title


def test_page_numbers_and_running_head(texts):
    for number, page in enumerate(texts, 1):
        assert squeezed(f"page {number} of {len(texts)}") in squeezed(page)
        assert "run 0123456789ab" in page
        assert ("Phosphorus removal: options memo" in page) == (number > 1)


def test_title_language_and_run_are_set(ordinary):
    reader = read(ordinary)
    assert reader.metadata.title == "Phosphorus removal: options memo: Three Elms works"
    assert "0123456789ab" in reader.metadata.creator
    catalogue = reader.trailer["/Root"]
    assert catalogue["/Lang"] == "en"
    assert catalogue["/ViewerPreferences"]["/DisplayDocTitle"] in (True, "true", "/true")


def test_all_fonts_are_embedded(ordinary, worst):
    for data in (ordinary, worst):
        names = set()
        for page in read(data).pages:
            for font in page["/Resources"]["/Font"].values():
                font = font.get_object()
                names.add(font["/BaseFont"])
                descriptor = font["/FontDescriptor"].get_object()
                assert "/FontFile2" in descriptor, font["/BaseFont"]
                assert "/ToUnicode" in font
        assert {name.split("+")[-1] for name in names} <= {
            "SourceSansPro-Regular", "SourceSansPro-Semibold",
        }  # fmt: skip


def test_fonts_are_embedded_even_if_layout_was_imported_before():
    """Another program may have imported reportlab's layout with its own default font."""
    code = (
        "import reportlab.platypus, reportlab.lib.styles, reportlab.graphics.shapes, sys\n"
        "from pcompare.documents import memo\n"
        "from tests.documents_dossier import invented\n"
        "sys.stdout.buffer.write(memo.memo(invented(draws=0)))\n"
    )
    data = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, cwd=ROOT
    ).stdout
    assert b"Helvetica" not in data
    assert len(read(data).pages) > 10


def test_users_markup_is_printed_as_text(worst):
    reader = read(worst)
    text = squeezed("".join(text_of(reader)))
    for markup in ("A&B<b>works</b>", '<imgsrc="/etc/passwd">', '<ahref="javascript:x">'):
        assert markup in text
    assert "<usual>&odd" in text
    assert "a<very>longname" in text
    for page in reader.pages:
        for note in page.get("/Annots", ()):
            link = note.get_object()
            assert "/Dest" in link and "/A" not in link  # the contents only
        assert not page.images


def test_what_the_fonts_lack_prints_as_a_box_with_a_note(worst):
    text = "".join(text_of(read(worst)))
    assert "Пункт <Nord> & □□" in text
    assert "print as □, in Project!C5" in " ".join(text.split())
    assert "\x07" not in text


def test_a_run_without_a_winner_says_so_everywhere(worst):
    text = " ".join("".join(text_of(read(worst))).split())
    assert "None of the 8 alternatives meets every requirement" in text
    assert "Nothing to draw" in text
    assert not re.search(r"\b(nan|inf|None)\b(?! of the)", text)


def test_long_user_text_is_cut(worst):
    text = "".join(text_of(read(worst)))
    assert "long " * 60 not in text
    assert "…" in text


def test_without_draws_there_are_no_ranges():
    text = "".join(text_of(read(memo.memo(invented(draws=0)))))
    assert "Ranges" not in text


def test_us_units_reach_every_table():
    figures = Figures(system="us", currency="EUR")
    text = squeezed("".join(text_of(read(memo.memo(invented(), units="us")))))
    for result in invented().comparison.strategies.values():
        for quantity in ("product_use", "product_volume", "sludge_total", "cake_total"):
            line = result.lines[quantity]
            assert squeezed(figures.number(line.value, line.unit)) in text
    for unit in ("kg/d", "m3/d"):
        assert figures.unit(unit) != SI.unit(unit)
        assert squeezed(figures.unit(unit)) in text
    assert "kgTSS/d" not in text


def test_months_of_an_input_are_printed_one_by_one():
    dossier = invented(draws=0)
    row = replace(dossier.fields[1], value=tuple(19000.0 + m for m in range(12)))
    fields = (dossier.fields[0], row, *dossier.fields[2:])
    text = squeezed("".join(text_of(read(memo.memo(replace(dossier, fields=fields))))))
    assert squeezed("; ".join(f"19 {m:03}" for m in range(12))) in text


def test_same_run_same_bytes_at_another_time(monkeypatch, ordinary):
    later = time.time() + 86_400.0 * 400
    monkeypatch.setattr(time, "time", lambda: later)
    assert memo.memo(invented(monthly=True)) == ordinary


def test_nothing_reaches_into_the_margins(program, ordinary, worst, tmp_path):
    """Every word lies inside the page's text area, as a renderer places it."""
    for name, data in (("ordinary", ordinary), ("worst", worst)):
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(data)
        found = subprocess.run(
            [program("pdftotext"), "-bbox", str(path), "-"], capture_output=True, check=True
        ).stdout.decode()
        widths = set()
        for page in found.split("<page ")[1:]:
            width = float(re.match(r'width="([\d.]+)"', page)[1])
            widths.add(round(width))
            boxes = re.findall(r'<word xMin="([\d.-]+)" .*? xMax="([\d.-]+)"', page)
            assert len(boxes) > 20
            assert min(float(low) for low, _ in boxes) >= style.LEFT - 1.0
            assert max(float(high) for _, high in boxes) <= width - style.RIGHT + 1.0
        assert widths == {round(style.PAGE[0]), round(style.TURNED[0])}


def test_another_program_finds_the_file_sound(program, ordinary, worst, tmp_path):
    for name, data in (("ordinary", ordinary), ("worst", worst)):
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(data)
        done = subprocess.run(
            [program("qpdf"), "--check", str(path)], capture_output=True, check=False
        )
        assert done.returncode == 0, done.stderr.decode()


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ("P < 1 & <b>Q</b>", [("P < 1 & <b>Q</b>", 8.2)]),
        ("CaCO₃ x", [("CaCO", 8.2), ("3", 6.0), (" x", 8.2)]),
        ("a\nb\tc\x00d", [("a b cd", 8.2)]),
        ("1\u2009000", [("1\u00a0000", 8.2)]),
        ("漢", [("□", 8.2)]),
    ],
)
def test_text_is_never_read_as_markup(given, expected):
    assert [(f.text, f.fontSize) for f in style.para(given, style.SMALL).frags] == expected


def test_an_empty_table_says_so():
    assert style.table(("a",), (), (1.0,)).getPlainText() == "No rows."
    assert NONE == "–"
