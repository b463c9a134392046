"""How a number was made: every branch ends in a cell of the form, a table row or a constant."""

from __future__ import annotations

import json
import re

import pytest

from pcompare import explain, run
from pcompare.documents import results_json
from pcompare.errors import InputError
from pcompare.inputs import form, reader, schema
from pcompare.tables import sources

from .plants import example

THIN, MINUS = "\N{NARROW NO-BREAK SPACE}", "\N{MINUS SIGN}"
DEEP = 500  # deeper than any tree goes
FIELD = re.compile(r"  ([a-z_]+\.[a-z_0-9]+): .* \[.*\], (\w+), (.+)$")
LINES = (
    "no_action.effluent_tp",
    "no_action.chloride_added",
    "no_action.alkalinity_nitrification",
    "no_action.alkalinity_denitrification",
    "no_action.sludge_total",
    "no_action.cost_polymer",
    "no_action.aeration_energy",
    "no_action.mixing_energy",
    "salt_single_point.alkalinity_influent",
    "salt_single_point.effluent_solids",
    "salt_two_point.energy_increase",
    "salt_tertiary.alkalinity_denitrification",
    "bio_with_salt_trim.mixing_energy",
    "bio_with_salt_trim.vfa_available",
    "salt_tertiary.cost_salt",
)
DOSED = (
    "salt_single_point.metal_dose",
    "salt_single_point.product_use",
    "salt_tertiary.metal_dose_filter",
    "bio_with_salt_trim.metal_dose",
)


@pytest.fixture(scope="module")
def inputs():
    return example()


@pytest.fixture(scope="module")
def explainer(inputs):
    return explain.Explainer(inputs)


@pytest.fixture(scope="module")
def compared(explainer):
    return explainer.compared


@pytest.fixture(scope="module", autouse=True)
def one_recording(inputs, explainer):
    """Record the example once for all tests: it is the same each time."""
    made = explain.Explainer
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(explain, "Explainer", lambda i: explainer if i is inputs else made(i))
        yield


def indent(line):
    return (len(line) - len(line.lstrip(" "))) // 2


def leaves(text):
    """The lines of a tree with nothing below them."""
    rows = text.splitlines()
    return [
        row
        for row, after in zip(rows, [*rows[1:], ""], strict=True)
        if indent(after) <= indent(row)
    ]


def is_end(line):
    """Whether a line ends its branch where it should."""
    found = FIELD.search(line)
    if found is not None:
        name, status, place = found.groups()
        assert name in schema.fields(), line
        return bool(place) if status == "given" else place.split(" ")[0] in sources()
    ends = r"  constant \S+$|: fixed by the design; run pcompare again to change it$|; as above$"
    return bool(re.search(f"{ends}|{explain.NUMBER}$", line))


@pytest.mark.parametrize("key", LINES)
def test_every_branch_ends_in_a_field_a_constant_or_the_design(inputs, key):
    ends = leaves(explain.tree(inputs, key, DEEP))
    assert [line for line in ends if not is_end(line)] == []
    assert any(FIELD.search(line) for line in ends)


@pytest.mark.parametrize("key", LINES + DOSED)
def test_the_head_is_the_line_itself(inputs, compared, key):
    name, _, quantity = key.rpartition(".")
    head, *below = explain.tree(inputs, key, 1).splitlines()
    line = compared.strategies[name].lines[quantity]
    assert head.endswith(f"[{line.unit}]  {line.label}")
    shown = head.removeprefix(f"{key} = ").partition(" [")[0]
    shown = shown.replace(THIN, "").replace(MINUS, "-")
    assert float(shown) == pytest.approx(compared.strategies[name].value(quantity), rel=5e-6)
    assert below and all(indent(line) >= 1 for line in below)


@pytest.mark.parametrize("key", DOSED)
def test_a_dose_names_its_model_and_the_fields_it_comes_from(inputs, key):
    text = explain.tree(inputs, key, 6)
    assert "SMITH2008" in text  # the model of the dose
    assert "flow.average: Average flow [m3/d], given, example" in text
    assert re.search(r"coefficient\.uptake_capacity: .*, published, SMITH2008", text)


def test_no_branch_is_empty_handed(inputs):
    """Nothing says 'worked out from' and then stops before the depth asked for."""
    for key in LINES:
        rows = explain.tree(inputs, key, DEEP).splitlines()
        for row, after in zip(rows, [*rows[1:], ""], strict=True):
            if row.endswith(explain.WORKED_OUT):
                assert indent(after) > indent(row), row


def test_deeper_shows_more_and_the_same_first(inputs):
    key = "no_action.effluent_tp"
    trees = [explain.tree(inputs, key, depth).splitlines() for depth in (1, 2, 3, DEEP)]
    sizes = [len(tree) for tree in trees]
    assert sizes == sorted(set(sizes))
    assert all(tree[0] == trees[0][0] for tree in trees)
    deepest = iter(trees[-1])
    assert all(row in deepest for row in trees[0])  # in the same order, with more between


@pytest.mark.parametrize("key", [*DOSED, "bio_with_salt_trim.ph"])
def test_what_stands_above_was_told_there_in_full(inputs, key):
    rows = explain.tree(inputs, key, DEEP).splitlines()
    repeated = [(i, row) for i, row in enumerate(rows) if row.endswith("; as above")]
    assert repeated
    for i, row in repeated:
        step = row.removesuffix("; as above").strip()
        step = step.partition(" = ")[2] if re.match(r"\w+ = ", step) else step
        assert any(above.endswith(step) for above in rows[:i]), row


def test_a_solved_value_names_what_must_be_zero(inputs):
    text = explain.tree(inputs, "salt_single_point.metal_dose", 6)
    found = re.findall(r"found by iteration; what must be zero is ([^\s;]+)", text)
    assert found
    assert all(abs(float(zero.replace(MINUS, "-"))) < 1e-6 for zero in found)


def test_it_leads_back_to_the_cells_of_the_form(tmp_path):
    path = tmp_path / "plant.xlsx"
    path.write_bytes(form.form())
    text = explain.tree(reader.read(path), "no_action.effluent_tp", DEEP)
    cells = re.findall(r"influent\.tp: Total phosphorus \[mg P/L\], given, (\S+)$", text, re.M)
    assert cells
    rows = [field.name for field in schema.sheets()["Water"]]
    assert set(cells) == {f"Water!C{rows.index('influent.tp') + 4}"}


def test_what_was_set_by_hand_is_said_so():
    text = explain.tree(reader.read(None, ["influent.tp=7.1"]), "no_action.effluent_tp", DEEP)
    # 7.1 in the year, by month with load and flow: 7.1 x 17 600/22 800 and its like.
    assert "influent.tp: Total phosphorus [mg P/L], given, --set influent.tp" in text


@pytest.mark.parametrize(
    ("key", "close"),
    [
        ("no_action.effluent_pt", "no_action.effluent_tp"),
        ("salt_single_point.metal_doses", "salt_single_point.metal_dose"),
        ("salt_single_point", "salt_single_point."),
        ("", "salt_single_point.metal_dose"),
        ("水", "salt_single_point.metal_dose"),
    ],
)
def test_an_unknown_key_has_close_matches(inputs, key, close):
    with pytest.raises(InputError) as raised:
        explain.tree(inputs, key, 3)
    (fault,) = raised.value.faults
    assert fault.where == "LINE_KEY"
    assert close in fault.needs
    assert raised.value.status == 1


@pytest.mark.parametrize(
    "key", ["salt_tertiary.tds_increase_residue", "bio_with_salt_trim.present_worth"]
)
def test_a_shared_step_is_told_once(inputs, key):
    """Written out wherever it is used, such a tree had more than 14 000 lines."""
    assert len(explain.tree(inputs, key, 6).splitlines()) < 3000


def test_every_line_of_the_results_ends_in_cells_of_the_form_and_rows_of_the_tables(explainer):
    """All lines, products and salts beside the carried ones included."""
    dossier = run.dossier(explainer.inputs, draws=0)
    listed = {line.key: line for line in results_json.all_lines(dossier)}
    assert listed.keys() == explainer.lines.keys()
    told = explain._Steps(explainer.fields, explainer.grades)
    rests = {}  # step -> whether some branch below it ends in a field or a row of a table
    for key, line in listed.items():
        if line.value is None:
            assert "nothing" in explain.text(explainer.explain(key), 1) and line.reason
            continue
        root = told.add(explainer.node(key))
        value = told.found[root].values
        assert value[0] == pytest.approx(line.value, rel=1e-9, abs=1e-12), key
        for number in range(len(rests), len(told.found)):
            step = told.found[number]
            below = [rests[i] for _, i in step.inputs]
            if step.kind in ("field", "coefficient"):
                assert step.key in schema.fields() and step.status and step.source
            if step.kind == "equation":
                assert step.equation and step.source and step.status, step.key
            ends = ("field", "coefficient", "constant", "fixed", "number")
            assert step.inputs or step.kind in ends, step
            rests[number] = any(below) or step.kind in ("field", "coefficient")
        assert rests[root] or told.found[root].kind == "fixed", key
    assert sum(step.kind == "iteration" for step in told.found) > 20


def test_what_the_design_fixed_is_told_by_how_it_was_chosen(inputs):
    text = explain.tree(inputs, "salt_single_point.design_mean", 3)
    assert "fixed by the design" in text.splitlines()[0]
    assert "permit.tp: Limit on total phosphorus [mg P/L], given, example" in text
    assert "coefficient.variability_metal" in text


def test_an_equation_shows_its_formula_works_and_status(inputs):
    text = explain.tree(inputs, "salt_single_point.equal_annual_cost", 2)
    assert "EAC = present_worth CRF(rate, years) (NPF, pmt; RUS1780" in text
    assert "; live oracle)" in text or "; published or secondary)" in text


def test_json_tells_the_same_steps(explainer):
    told = explainer.explain("salt_single_point.metal_dose")
    found = json.loads(explain.document(told))
    assert found["value"] == found["steps"][found["root"]]["value"]
    for step in found["steps"]:
        assert all(below["step"] < step["step"] for below in step["inputs"])
        if step["kind"] in ("field", "coefficient"):
            assert step["status"] and step["source"] and step["name"] in schema.fields()
    assert any(s["kind"] == "iteration" and abs(s["residual"]) < 1e-9 for s in found["steps"])


def test_a_line_without_a_value_says_why(explainer):
    told = explainer.explain("no_action.vfa_required")
    assert "no organisms that store phosphorus" in explain.text(told, 3)
    found = json.loads(explain.document(told))
    assert found["value"] is None and found["reason"] and found["steps"] == []
