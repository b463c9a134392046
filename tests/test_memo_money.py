"""The memo's section on money and climate, read back: every number, and runs with little to say."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace

import pypdf
import pytest

from pcompare import tables
from pcompare.documents import memo, memo_money, money_charts, names, results_json, style
from pcompare.documents.flowables import SUBSCRIPTS
from pcompare.documents.words import Figures
from tests.documents_dossier import invented, ugly

SI = Figures(system="si", currency="EUR")


def squeezed(text):
    return re.sub(r"\s+", "", text).translate(SUBSCRIPTS)


def section_of(dossier):
    reader = pypdf.PdfReader(io.BytesIO(memo.memo(dossier)))
    found = squeezed("".join(page.extract_text() for page in reader.pages))
    start = found.index("8MoneyandclimateAllmoney")
    return found[start : found.index("9Charts", start)]


@pytest.fixture(scope="module")
def text():
    return section_of(invented())


def test_present_worth_of_every_strategy_at_every_rate(text):
    dossier = invented()
    assert "2%3%5%7%" in text
    for name, worth in dossier.money.worth.items():
        result = dossier.comparison.strategies[name]
        row = "".join(SI.number(value, "money") for value in worth)
        meets = "yes" if result.meets_permit else "no"
        assert squeezed(result.label + meets + row) in text, name


def test_the_bill_of_every_strategy_beside_its_economic_cost(text):
    dossier = invented()
    for name, bill in dossier.money.financing.items():
        economic = dossier.comparison.strategies[name].value("household_month")
        cells = [SI.number(bill[q].value, bill[q].unit) for q in memo_money.BILL]
        row = names.short(name) + SI.number(economic, "money") + "".join(cells)
        assert squeezed(row) in text, name
    assert "changenoranking" in text


def test_other_ways_are_priced_or_named_as_not_examined(text):
    (trade,) = invented().money.options.values()
    cells = [SI.number(trade[q].value, trade[q].unit) for q in memo_money.OPTION_COLUMNS]
    assert squeezed("Buy credits" + "".join(cells)) in text
    assert "options.optimise_tp" in text and "options.variance_price" in text
    assert "options.trade_price" not in text


def test_climate_by_scope_and_what_is_no_money(text):
    for result in invented().comparison.strategies.values():
        cells = [SI.number(result.value(q), "t CO2e/y") for q in memo_money.SCOPES]
        if result.kind != "baseline":
            assert squeezed(names.short(result.name) + "".join(cells)) in text, result.name
    for row in tables.read("other_considerations"):
        for column in memo_money.OTHER:
            assert squeezed(row.text(column)) in text, (row.text("strategy"), column)


def test_every_strategy_has_its_considerations():
    known = {row.text("strategy") for row in tables.read("other_considerations")}
    assert known == set(invented().comparison.strategies)


def test_figures_are_numbered_on_through_the_memo():
    reader = pypdf.PdfReader(io.BytesIO(memo.memo(invented())))
    found = squeezed("".join(page.extract_text() for page in reader.pages))
    numbers = [int(n) for n in re.findall(r"Figure(\d+)\.[A-Z]", found)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) > 10


def test_remarks_are_printed_as_text(text):
    assert squeezed("lies outside its <usual> band & more.") in text


def test_payback_in_words():
    dossier = invented()
    (said,) = memo_money.payback_sentences(dossier, SI)
    assert "in 4.7 years, or in 5.0 with interest" in said
    assert "at a rate of 21 %" in said
    lines = dict(dossier.money.payback)
    lines["internal_rate"] = replace(lines["internal_rate"], value=0.0)
    late = replace(dossier, money=replace(dossier.money, payback=lines))
    assert memo_money.payback_sentences(late, SI)[0].endswith("longer than the planning period.")
    lines["simple_payback"] = replace(
        lines["simple_payback"], value=None, reason="saves nothing to run"
    )
    none = replace(dossier, money=replace(dossier.money, payback=lines))
    assert memo_money.payback_sentences(none, SI)[0].endswith("and saves nothing to run.")
    empty = replace(dossier, money=replace(dossier.money, payback={}))
    assert memo_money.payback_sentences(empty, SI) == []


def test_charts_survive_the_worst_run_and_an_empty_one():
    for dossier in (
        ugly(),
        replace(invented(), money=replace(invented().money, built={}, cash={})),
    ):
        for chart in (money_charts.built, money_charts.years, money_charts.scopes):
            drawing = chart(dossier, SI)
            assert drawing.width == style.WIDTH and drawing.height > 0.0


def test_columns_of_a_year_hold_all_that_is_paid_in_it():
    """A payment within a year stands at that year's end."""
    flow = replace(
        invented().money.cash["salt_single_point"],
        years=(0.0, 1.0, 12.5, 13.0),
        construction=(5.0, 0.0, 0.0, 0.0),
        replacement=(0.0, 0.0, 3.0, 0.0),
        operation=(0.0, 1.0, 0.0, 1.0),
        salvage=(0.0, 0.0, 0.0, -2.0),
    )
    assert flow.total == (5.0, 1.0, 3.0, -1.0)
    assert money_charts._stacks(flow)[13] == [0.0, 3.0, 1.0, -2.0]


def test_the_results_file_holds_the_money_beside_the_ranking():
    dossier = invented()
    found = json.loads(results_json.document(dossier))["money"]
    assert found["discount_rates"] == list(dossier.money.rates)
    for name, flow in dossier.money.cash.items():
        assert found["cash_flow"][name]["operation"] == list(flow.operation)
        assert found["present_worth"][name] == pytest.approx(dossier.money.worth[name])
    bill = dossier.money.financing["lime"]["bill"]
    assert found["financing"]["lime"]["bill"]["value"] == bill.value
    assert found["options"]["trade"]["credits"]["unit"] == "kg/y"
