"""``results.json``: every line, nothing but JSON, and the same bytes for the same run."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from pcompare.documents import results_json
from tests.documents_dossier import invented, ugly


def test_every_line_is_there_once():
    dossier = invented(monthly=True)
    lines = list(results_json.all_lines(dossier))
    found = results_json.results(dossier)["lines"]
    assert len(found) == len(lines) == len({line.key for line in lines})
    for line in lines:
        got = found[line.key]
        assert got["value"] == line.value
        assert (got["low"], got["middle"], got["high"]) == (line.low, line.middle, line.high)
        assert got["months"] == list(line.months)
        assert got["unit"] == line.unit
        assert got["label"] == line.label
        assert got["sources"] == list(line.sources)


def test_products_and_the_plant_have_lines_of_their_own():
    found = results_json.results(invented())["lines"]
    assert "salt_single_point.products.liquid_alum.metal_dose" in found
    assert "basis.temperature" in found


def test_every_salt_at_the_target_has_lines_of_its_own():
    dossier = invented()
    found = results_json.results(dossier)["lines"]
    for name, salt in dossier.salts.items():
        for quantity, line in salt.items():
            assert found[f"salt_single_point.salts.{name}.{quantity}"]["value"] == line.value


def test_null_has_a_reason_and_nothing_else_has_one():
    found = results_json.results(invented())["lines"]
    nulls = [line for line in found.values() if line["value"] is None]
    assert nulls
    assert all(line["reason"] for line in nulls)
    assert not any("reason" in line for line in found.values() if line["value"] is not None)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_number_becomes_null(bad):
    dossier = invented()
    result = dossier.comparison.strategies["salt_single_point"]
    line = replace(result.lines["ph"], value=bad, low=bad, months=(bad, 7.0))
    check = replace(result.checks[0], found=bad)
    broken = replace(result, lines={**result.lines, "ph": line}, checks=(check,))
    strategies = {**dossier.comparison.strategies, result.name: broken}
    compared = replace(dossier.comparison, strategies=strategies)
    found = json.loads(results_json.document(replace(dossier, comparison=compared)))
    got = found["lines"]["salt_single_point.ph"]
    assert got["value"] is None
    assert got["low"] is None
    assert got["months"] == [None, 7.0]
    assert got["reason"] == "not a number"
    assert found["strategies"]["salt_single_point"]["checks"][0]["found"] is None
    assert found["strategies"]["salt_single_point"]["checks"][0]["reason"]


def test_format_provenance_inputs_strategies_and_comparison():
    dossier = invented()
    found = results_json.results(dossier)
    assert found["format"] == "pcompare results 1"
    assert set(found) == {
        "format", "provenance", "inputs", "lines", "strategies", "comparison", "reuse", "money",
        "risk",
    }  # fmt: skip
    assert found["provenance"]["run_id"] == dossier.provenance.run_id
    assert found["inputs"]["flow.average"] == {
        "value": 20150.0, "unit": "m3/d", "origin": "Plant!C6",
    }  # fmt: skip
    assert found["inputs"]["permit.averaging"]["value"] == "monthly"
    assert len(found["inputs"]) == len(dossier.fields)
    failing = found["strategies"]["bio_existing_carbon"]
    assert failing["kind"] == "biological"
    assert failing["meets_permit"] is False
    assert [c["met"] for c in failing["checks"]] == [False, True, True, False]
    assert found["comparison"]["ranking"] == list(dossier.comparison.ranking)
    assert found["comparison"]["reference"] == "salt_single_point"


def test_odds_drivers_break_evens_maps_and_crossings():
    dossier = invented()
    found = json.loads(results_json.document(dossier))["risk"]
    study = dossier.study
    for name, odds in study.odds.items():
        assert found["odds"][name]["meets"]["value"] == odds.meets.value
        assert found["odds"][name]["meets"]["error"] == odds.meets.error
        regret = odds.regret.value
        assert found["odds"][name]["regret"]["value"] == (None if math.isnan(regret) else regret)
    assert [g["middle"] for g in found["gaps"]] == [g.middle for g in study.gaps]
    assert [d["information"] for d in found["drivers"]] == [d.information for d in study.drivers]
    assert [e["at"] for e in found["break_evens"]] == [list(e.at) for e in dossier.break_evens]
    assert found["maps"][0]["winners"] == [list(row) for row in dossier.maps[0].winners]
    assert [c["at"] for c in found["crossings"]] == [c.at for c in dossier.crossings]
    assert found["estimate_class"]["salt_single_point"] == [770_000.0, 3_080_000.0]


def test_months_of_an_input():
    dossier = invented()
    row = replace(dossier.fields[0], value=tuple(map(float, range(12))))
    found = results_json.results(replace(dossier, fields=(row,)))
    assert found["inputs"][row.name]["value"] == [float(m) for m in range(12)]


def test_the_worst_run_is_valid_json_and_keeps_the_users_text():
    dossier = ugly()
    data = results_json.document(dossier)
    found = json.loads(data)
    name = dossier.inputs.choices["project.prepared_for"]
    assert found["inputs"]["project.prepared_for"]["value"] == name
    assert found["inputs"]["influent.note3"]["value"] is None


def test_text_that_is_no_unicode_is_still_json():
    dossier = invented()
    row = replace(dossier.fields[-1], value="odd \udc80 byte")
    data = results_json.document(replace(dossier, fields=(row,)))
    assert json.loads(data)["inputs"][row.name]["value"] == "odd \udc80 byte"


def test_same_run_same_bytes_whatever_the_order():
    first = results_json.document(invented())
    assert first == results_json.document(invented())
    dossier = invented()
    turned = dict(reversed(list(dossier.comparison.strategies.items())))
    again = replace(dossier, comparison=replace(dossier.comparison, strategies=turned))
    assert results_json.document(again) == first
