"""The page on many plants: one page, whatever it has to tell, and nothing that it was not told."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdf
import pytest
from reportlab.graphics.shapes import Rect, String

from pcompare import lines
from pcompare.documents import portfolio_summary, style
from pcompare.documents.words import Figures
from pcompare.findings import Chosen, PlantFault, Portfolio
from pcompare.strategies import STRATEGIES


def chosen(strategy, plants, amount=1.0):
    return Chosen(
        strategy=strategy, label=lines.LABELS[strategy], plants=plants, flow=1000.0 * amount,
        metal=120.0 * amount, sludge=900.0 * amount, salt=-35.0 * amount, capital=2.5e6 * amount,
        annual_cost=1.4e5 * amount, present_worth=4.1e6 * amount,
    )  # fmt: skip


def portfolio(**changes):
    usual = Portfolio(
        source="plants.csv", base="base.xlsx", assumed=(), compared=60, skipped=2,
        choices=(chosen("salt_single_point", 30, 3.0), chosen("bio_with_salt_trim", 20)),
        infeasible=10,
        missed=(("Mean total phosphorus in the governing period", 7), ("Sludge age", 4)),
        standing=6, close=5, unusual=3, currencies=("EUR",),
        faults=(
            PlantFault(4, "North <b>& South</b>", "influent.tp, line 4: found 'x'; needs more"),
            PlantFault(9, "محطة 🏭", "influent.cod, line 9: found 'y'; needs a number"),
        ),
        version="1.2.3", run_id="0123456789ab",
    )  # fmt: skip
    return replace(usual, **changes)


def crowded():
    names = [strategy.name for strategy in STRATEGIES]
    faults = tuple(PlantFault(i, "W" * 200, f"long {'word ' * 60}") for i in range(40))
    return portfolio(
        source="w" * 300 + ".csv",
        choices=tuple(chosen(name, 100 - i, 1e3) for i, name in enumerate(names)),
        missed=tuple(("Mean total phosphorus in the governing period", 9) for _ in range(9)),
        compared=16_000, infeasible=9000, skipped=40, faults=faults,
        assumed=("Volume of the activated-sludge tanks",) * 20,
    )  # fmt: skip


def bare():
    return portfolio(
        choices=(), compared=0, infeasible=0, standing=0, close=0, unusual=0, missed=(),
        currencies=(), skipped=1,
        faults=(PlantFault(2, "", "line 2, name: found nothing; needs a name"),),
    )  # fmt: skip


CASES = {"usual": portfolio(), "crowded": crowded(), "bare": bare(),
         "currencies": portfolio(currencies=("EUR", "USD"))}  # fmt: skip


def read(case, units="si"):
    return pypdf.PdfReader(io.BytesIO(portfolio_summary.summary(case, units)))


def text_of(case, units="si"):
    return " ".join(" ".join(page.extract_text() for page in read(case, units).pages).split())


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("name", CASES)
def test_one_page(name, units):
    assert len(read(CASES[name], units).pages) == 1


def test_the_answer_in_words():
    answer = portfolio_summary.answer
    assert answer(portfolio()) == (
        "Metal salt, one point is the cheapest that meets every requirement at 30 of 60 plants "
        "compared; at 10 none does."
    )
    both = (chosen("salt_single_point", 25), chosen("lime", 25))
    assert answer(portfolio(choices=both)).startswith(
        "Metal salt, one point and Lime in the primary tanks are each the cheapest that meets"
    )
    assert answer(portfolio(infeasible=0)).endswith("at 30 of 60 plants compared.")
    most = answer(portfolio(infeasible=40, choices=(chosen("lime", 20),)))
    assert most.startswith("No alternative meets every requirement at 40 of 60 plants compared")
    assert most.endswith("at 20 of the others.")
    assert "all 60 plants" in answer(portfolio(infeasible=60, choices=()))
    assert "No plant could be compared" in answer(bare())


def test_amounts_are_those_of_the_record_and_add_up():
    text = text_of(portfolio())
    for told in ("Metal dosed, kg/d", "More raw sludge, kg TSS/d", "million EUR"):
        assert told in text
    # 3 + 1 shares of 120 kg/d, 900 kg/d, −35 kg/d, 2.5, 0.14 and 4.1 million, by hand; decimals
    # are set apart on their points
    assert "All of these 480 3600 −140 10 .0 560 16 .4" in text
    # 480 kg is 1058 lb: NIST SP 811, 1 lb is 0.45359237 kg
    assert "1060" in text_of(portfolio(), "us") and "lb/d" in text_of(portfolio(), "us")


def test_money_of_several_currencies_is_not_added_up():
    text = text_of(CASES["currencies"])
    assert "million" not in text and "EUR, USD is not added up" in text
    assert "Metal dosed" in text


def test_what_fails_is_told():
    text = text_of(portfolio())
    assert "mean total phosphorus in the governing period, 7 plants; sludge age, 4 plants" in text
    assert "North <b>& South</b>. influent.tp, line 4: found 'x'" in text
    assert "□" in text  # letters that the font lacks
    assert "At 5 plants the next alternative costs about as much" in text
    assert "6 plants meet every requirement without anything new" in text
    assert "3 plants with values outside their usual range" in text
    assert "40 plants: see faults.csv." in text_of(crowded())  # no room for any of them


def test_what_is_the_examples_is_told():
    text = text_of(portfolio(assumed=("Alkalinity", "Sodium")))
    assert "a fictional plant, as no base form was given: alkalinity, sodium." in text
    assert "fictional" not in text_of(portfolio())


def test_the_rarest_are_added_up_in_one_row():
    choices = crowded().choices
    shown = portfolio_summary.few(choices)
    assert len(shown) == portfolio_summary.MOST_CHOICES
    for name in portfolio_summary.SUMMED:
        assert sum(getattr(c, name) for c in shown) == pytest.approx(
            sum(getattr(c, name) for c in choices)
        )
    assert portfolio_summary.few(choices[:3]) == choices[:3]


def test_bars_are_as_long_as_their_plants():
    drawing = portfolio_summary.chart(portfolio())
    bars = [shape for shape in drawing.contents if isinstance(shape, Rect)]
    words = [shape.text for shape in drawing.contents if isinstance(shape, String)]
    assert [bar.width / bars[0].width for bar in bars] == pytest.approx([1, 2 / 3, 1 / 3, 1 / 15])
    assert {"30", "20", "10", "2", "None meets its permit"} <= set(words)
    assert all(bar.x + bar.width < style.WIDTH for bar in bars)


def test_the_same_plants_give_the_same_bytes():
    assert portfolio_summary.summary(portfolio()) == portfolio_summary.summary(portfolio())


def test_fonts_are_embedded_and_the_file_is_whole(tmp_path, program):
    import subprocess

    path = tmp_path / "summary.pdf"
    path.write_bytes(portfolio_summary.summary(portfolio()))
    subprocess.run([program("qpdf"), "--check", path], check=True, capture_output=True)
    listed = subprocess.run(
        [program("pdffonts"), path], check=True, capture_output=True, text=True
    ).stdout.splitlines()[2:]
    assert listed and all(line.split()[-5] == "yes" for line in listed)


def test_headings_are_those_of_what_there_is():
    figures = Figures(system="si", currency="EUR")
    found = [
        f.text for f in portfolio_summary.story(bare(), figures) if getattr(f, "level", 0) == 2
    ]
    assert found == ["The answer", "Plants skipped for a fault of their input"]


@pytest.mark.parametrize("make", [portfolio, crowded], ids=lambda make: make.__name__)
def test_a_checker_finds_no_error_of_pdf_ua(make, library, tmp_path):
    """By the PyPI program outloud: rules of PDF/UA-1 (ISO 14289-1)."""
    path = tmp_path / "summary.pdf"
    path.write_bytes(portfolio_summary.summary(make()))
    result = library("outloud").check(str(path))
    assert not result.error
    assert result.stats["tagged"]
    assert not [f for f in result.findings if f.severity == "error"]
