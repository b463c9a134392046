"""Many plants: each told as it would be alone, whatever stands beside it."""

from __future__ import annotations

import csv
import io
import math

import numpy as np
import pytest

from pcompare import run
from pcompare.errors import InputError
from pcompare.inputs import plants_file, reader
from pcompare.portfolio import fleet, kept, runner, table, tasks
from tests import many_plants, plants


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """The worked example without months: quick to compare."""
    path = tmp_path_factory.mktemp("base") / "base.toml"
    path.write_text(plants.even_text(), encoding="utf-8")
    return path


def write(folder, rows, name="plants.csv"):
    path = folder / name
    path.write_text(rows if isinstance(rows, str) else many_plants.text(rows), encoding="utf-8")
    return path


def compared(path, base=None):
    """Compare the plants of a CSV in one chunk."""
    (task,) = runner.plan(path, base).tasks
    return tasks.work(task)


def told(result, row):
    """Give what is told of the plant in one line, by column."""
    (place,) = np.flatnonzero(result.rows == row)
    return {name: values[place] for name, values in result.columns.items()}


def alone(row, base):
    """Compare one plant by itself, its cells given as ``--set`` would be."""
    cells = {n: v if isinstance(v, str) else repr(v) for n, v in row.items() if n != "name"}
    inputs = reader.read(base, [f"{name}={value}" for name, value in cells.items()])
    return run.compare(inputs)


def expected(compare):
    """Give what a comparison says of each column that a portfolio tells."""
    ranking, found = compare.ranking, {}
    found["recommended"] = ranking[0] if ranking else ""
    found["runner_up"] = ranking[1] if len(ranking) > 1 else ""
    found["nearest"] = compare.nearest
    none = compare.strategies["no_action"]
    found["no_action_effluent_tp"] = none.value("effluent_tp")
    found["no_action_meets"] = float(none.meets_permit)
    found["no_action_missed"] = " ".join(check.key for check in none.checks if not check.met)
    for name, result in compare.strategies.items():
        if name == "no_action":
            continue
        text = {
            "product": result.product,
            "carbon": result.carbon,
            "missed": " ".join(check.key for check in result.checks if not check.met),
            "meets": float(result.meets_permit),
            "rank": ranking.index(name) + 1.0 if name in ranking else math.nan,
        }
        values = {quantity: result.value(quantity) for quantity in fleet.QUANTITIES}
        found |= {f"{name}_{key}": value for key, value in {**text, **values}.items()}
    first = found["recommended"]
    if first:
        found |= {f"chosen_{q}": found[f"{first}_{q}"] for q in ("product", *fleet.QUANTITIES)}
    if len(ranking) > 1:
        worths = [compare.strategies[n].value("present_worth") for n in ranking[:2]]
        found["lead"] = worths[1] - worths[0]
        # The words of the comparison itself say whether the two can be told apart.
        found["close"] = float("level of estimate can tell apart" in compare.recommendation)
    if not ranking:
        found["missed"] = found[f"{compare.nearest}_missed"]
    return found


def assert_same(found, wanted):
    for name, value in wanted.items():
        if isinstance(value, str):
            assert found[name] == value, name
        else:
            assert found[name] == pytest.approx(value, rel=1e-9, abs=1e-9, nan_ok=True), name


@pytest.mark.parametrize("seed", range(6))
def test_a_plant_among_others_is_told_as_it_is_alone(tmp_path, base, seed):
    """48 plants in all, two kinds of choices beside each other in each pass."""
    rows = many_plants.rows(8, seed)
    result = compared(write(tmp_path, rows), base)
    assert not result.faults
    for line, row in enumerate(rows, 2):
        assert_same(told(result, line), expected(alone(row, base)))


INDEX = {"capital.index_series": "local index", "capital.index_month_then": "2020-01",
         "capital.index_month_now": "2024-01"}  # fmt: skip
PARTING = {
    "primary tanks": ({"primary.capture": 0.0}, {"primary.capture": 0.5}),
    "anoxic zone": ({"bio.anoxic_fraction": 0.0}, {"bio.anoxic_fraction": 0.2}),
    "ammonia": ({"permit.ammonia": 0.0}, {"permit.ammonia": 3.0}),
    "nitrogen": ({"permit.total_nitrogen": 0.0}, {"permit.total_nitrogen": 12.0}),
    "second phase": ({"flow.phase_year": 0.0}, {"flow.phase_year": 8.0}),
    "index": ({"capital.index_then": 0.0, "capital.index_now": 0.0},
              {"capital.index_then": 100.0, "capital.index_now": 125.0}),
    "carbon": ({"prices.acetic_acid": 100.0}, {"prices.acetic_acid": 5000.0}),
    "base": ({"prices.caustic": 50.0}, {"prices.caustic": 5000.0}),
}  # fmt: skip


@pytest.mark.parametrize("name", PARTING)
def test_what_parts_designs_may_differ_between_two_plants(tmp_path, base, name):
    """Two plants alike but for one thing that a design decides for all its cases at once."""
    usual = {**many_plants.rows(1, 4, kinds=1)[0], **INDEX, "chemical.base": "cheapest"}
    usual |= {"flow.growth": 0.01, "capital.index_then": 0.0, "capital.index_now": 0.0}
    rows = [{**usual, **changed} for changed in PARTING[name]]
    path = write(tmp_path, rows)
    (task,) = runner.plan(path, base).tasks
    drafts = [tasks._draft(task, plant) for plant in task.plants]
    ((_, inputs),) = plants_file.together(drafts)
    assert [list(part) for part, _ in fleet.split(inputs, 2)] == [[0], [1]]
    result = compared(path, base)
    for line, row in enumerate(rows, 2):
        assert_same(told(result, line), expected(alone(row, base)))


def test_the_plants_of_that_test_pass_and_fail_and_differ(tmp_path, base):
    """Both answers, several winners, several reasons: else it would show little."""
    rows = [row for seed in range(3) for row in many_plants.rows(8, seed)]
    columns = compared(write(tmp_path, rows), base).columns
    winners = set(columns["recommended"]) - {""}
    assert len(winners) >= 3
    assert (columns["recommended"] == "").sum() >= 2
    assert len({key for keys in columns["missed"] for key in keys.split()}) >= 2


def test_months_of_the_base_stay_where_a_plant_says_nothing(tmp_path):
    """The worked example has twelve months; a column gives one value for all of them."""
    rows = [
        {"name": name, "influent.tp": tp, "permit.tp": limit, "recovery.product": product}
        for name, tp, limit, product in (("a", 6.0, 0.5, "none"), ("b", 7.5, 1.0, "struvite"))
    ]
    result = compared(write(tmp_path, rows))
    for line, row in enumerate(rows, 2):
        assert_same(told(result, line), expected(alone(row, None)))


def test_order_and_neighbours_do_not_matter(tmp_path, base):
    rows = many_plants.rows(6, 7, kinds=3)
    twice = [rows[0], *reversed(rows), rows[0]]
    first, second = (compared(write(tmp_path, r), base) for r in (rows, twice))
    for line, row in enumerate(twice, 2):
        there = told(first, rows.index(row) + 2)
        here = told(second, line)
        assert_same(here, there)


def test_one_plant(tmp_path, base):
    rows = many_plants.rows(1, 1)
    found = runner.run(write(tmp_path, rows), tmp_path / "out", base)
    assert (found.compared, found.skipped, found.plants) == (1, 0, 1)


# --- faults -----------------------------------------------------------------------------------


def faulty(rows):
    """Spoil three of some plants: no number, a contradiction, an unknown choice."""
    spoilt = [dict(row) for row in rows]
    spoilt[1]["influent.tp"] = "about 6"
    spoilt[2]["influent.vfa"] = 2.0 * spoilt[2]["influent.cod"]
    spoilt[3]["bio.layout"] = "four-stage"
    return spoilt


def test_a_bad_plant_has_the_message_that_it_has_alone(tmp_path, base):
    rows = faulty(many_plants.rows(5, 2))
    result = compared(write(tmp_path, rows), base)
    assert list(result.rows) == [2, 6]
    by_row = {row: [f.message for f in result.faults if f.row == row] for row in (3, 4, 5)}
    for line, messages in by_row.items():
        with pytest.raises(InputError) as caught:
            alone(rows[line - 2], base)
        wanted = [fault.found for fault in caught.value.faults]
        assert len(messages) == len(wanted)
        for message, words in zip(messages, wanted, strict=True):
            # Alone it stands in a --set, here in a line.
            assert words.partition(" in --set")[0] in message
            assert f"line {line}" in message
    assert_same(told(result, 2), expected(alone(rows[0], base)))


def test_the_others_go_on_and_all_is_written(tmp_path, base):
    rows = faulty(many_plants.rows(5, 2))
    out = tmp_path / "out"
    found = runner.run(write(tmp_path, rows), out, base)
    assert (found.compared, found.skipped) == (2, 3)
    listed = list(csv.DictReader(io.StringIO((out / "faults.csv").read_text(encoding="utf-8"))))
    assert [row["row"] for row in listed] == ["3", "4", "5"]
    assert listed[0]["name"] == "plant 1"
    assert "'about 6'" in listed[0]["message"]
    results = list(csv.DictReader(io.StringIO((out / "results.csv").read_text(encoding="utf-8"))))
    assert [row["name"] for row in results] == ["plant 0", "plant 4"]


def test_all_bad(tmp_path, base):
    rows = [{**row, "influent.tp": -1.0} for row in many_plants.rows(3, 4)]
    found = runner.run(write(tmp_path, rows), tmp_path / "out", base)
    assert (found.compared, found.skipped, found.choices) == (0, 3, ())
    text = (tmp_path / "out" / "results.csv").read_text(encoding="utf-8")
    assert text.count("\n") == 1 and text.startswith("row,name,recommended")


# --- results ----------------------------------------------------------------------------------


def test_columns_are_plain_of_one_kind_and_described(tmp_path, base):
    import pandas as pd

    out = tmp_path / "out"
    runner.run(write(tmp_path, many_plants.rows(6, 3)), out, base)
    results = pd.read_csv(out / "results.csv", keep_default_na=False, na_values=[""])
    described = pd.read_csv(out / "columns.csv", keep_default_na=False)
    assert list(results.columns) == list(described["column"])
    assert all(name.isidentifier() and name == name.lower() for name in results.columns)
    assert results["row"].tolist() == list(range(2, 8))
    kinds = dict(zip(described["column"], described["type"], strict=True))
    for name, values in results.items():
        if values.notna().any():
            is_text = not pd.api.types.is_numeric_dtype(values)
            assert is_text == (kinds[name] == "text"), name
    units = dict(zip(described["column"], described["unit"], strict=True))
    assert units["chosen_present_worth"] == "money" and units["flow_average"] == "m3/d"


def test_loads_are_dose_times_flow(tmp_path, base):
    """1 mg/L in 1 m3/d is a gram a day: by hand."""
    result = compared(write(tmp_path, many_plants.rows(3, 5)), base)
    c = result.columns
    name = "salt_single_point"
    assert c[f"{name}_metal_load"] == pytest.approx(
        c[f"{name}_metal_dose"] * c["flow_average"] / 1000.0
    )
    assert c[f"{name}_salt_load"] == pytest.approx(
        c[f"{name}_tds_increase_ion_sum"] * c["flow_average"] / 1000.0
    )


def test_the_summary_adds_up_the_rows(tmp_path, base):
    out = tmp_path / "out"
    found = runner.run(write(tmp_path, many_plants.rows(9, 6, kinds=3)), out, base)
    rows = list(csv.DictReader(io.StringIO((out / "results.csv").read_text(encoding="utf-8"))))
    for chosen in found.choices:
        own = [row for row in rows if row["recommended"] == chosen.strategy]
        assert chosen.plants == len(own) > 0
        for amount, column in (
            ("present_worth", "chosen_present_worth"), ("salt", "chosen_salt_load"),
            ("metal", "chosen_metal_load"), ("sludge", "chosen_sludge_increase"),
        ):  # fmt: skip
            total = sum(float(row[column]) for row in own)
            assert getattr(chosen, amount) == pytest.approx(total, rel=1e-9)
    assert found.infeasible == sum(not row["recommended"] for row in rows)
    assert sum(c.plants for c in found.choices) + found.infeasible == found.compared == len(rows)


def test_values_outside_their_usual_range_are_named(tmp_path, base):
    row = {**many_plants.rows(1, 1)[0], "secondary.srt": 45.0}
    (found,) = compared(write(tmp_path, [row]), base).columns["unusual"]
    assert "secondary.srt" in found.split()


def test_text_that_a_spreadsheet_would_calculate_is_disarmed(tmp_path, base):
    names = ('=HYPERLINK("x")', "+1", "-2+3", "@SUM(A1)", "'quoted", 'a, "b"')
    rows = [{**row, "name": name} for row, name in zip(many_plants.rows(6, 8), names, strict=True)]
    rows[1]["influent.tp"] = "=1+1"
    out = tmp_path / "out"
    runner.run(write(tmp_path, rows), out, base)
    for name in ("results.csv", "faults.csv", "columns.csv"):
        for cells in csv.reader(io.StringIO((out / name).read_text(encoding="utf-8"))):
            for cell in cells:
                try:
                    float(cell)
                except ValueError:
                    assert not cell.startswith(("=", "+", "-", "@")), (name, cell)
    rows = list(csv.DictReader(io.StringIO((out / "results.csv").read_text(encoding="utf-8"))))
    assert [row["name"] for row in rows] == [
        "'=HYPERLINK(\"x\")", "'-2+3", "'@SUM(A1)", "'quoted", 'a, "b"',
    ]  # fmt: skip


# --- to go on where it stopped ----------------------------------------------------------------


@pytest.fixture
def small_chunks(monkeypatch):
    monkeypatch.setattr(runner, "MOST", 2)
    monkeypatch.setattr(runner, "LEAST", 2)


def stopping(after):
    """Work here, and be interrupted after some chunks."""

    def spread(work, left):
        for number, task in enumerate(left):
            if number == after:
                raise KeyboardInterrupt
            yield work(task)

    return spread


def test_a_stopped_run_goes_on(tmp_path, base, small_chunks):
    path, out = write(tmp_path, many_plants.rows(6, 9, kinds=1)), tmp_path / "out"
    with pytest.raises(KeyboardInterrupt):
        runner.run(path, out, base, stopping(2))
    assert len(list((out / "work").glob("*.npz"))) == 2
    assert not (out / "results.csv").exists()
    worked = []

    def counting(work, left):
        for task in left:
            worked.append(task.number)
            yield work(task)

    found = runner.run(path, out, base, counting)
    assert (found.taken_over, found.chunks, worked) == (2, 3, [2])
    again = runner.run(path, out, base, counting)
    assert (again.taken_over, len(worked)) == (3, 1)
    whole = tmp_path / "whole"
    runner.run(path, whole, base)
    assert (out / "results.csv").read_bytes() == (whole / "results.csv").read_bytes()


def test_a_changed_input_base_or_program_starts_anew(tmp_path, base, small_chunks, monkeypatch):
    rows, out = many_plants.rows(4, 9, kinds=1), tmp_path / "out"
    path = write(tmp_path, rows)
    runner.run(path, out, base)
    changed = write(tmp_path, [{**rows[0], "permit.tp": 0.9}, *rows[1:]])
    assert runner.run(changed, out, base).taken_over == 0
    other = tmp_path / "other.toml"
    other.write_text(base.read_text(encoding="utf-8") + "\n# other\n", encoding="utf-8")
    assert runner.run(changed, out, other).taken_over == 0
    assert runner.run(changed, out, other).taken_over == 2
    assert len(list((out / "work").glob("*.npz"))) == 2  # those of before are gone
    monkeypatch.setattr(kept, "_program", lambda: b"another program")
    assert runner.run(changed, out, other).taken_over == 0


def test_a_damaged_chunk_is_made_again(tmp_path, base, small_chunks):
    path, out = write(tmp_path, many_plants.rows(4, 9, kinds=1)), tmp_path / "out"
    runner.run(path, out, base)
    before = (out / "results.csv").read_bytes()
    first = min((out / "work").glob("*.npz"))
    first.write_bytes(first.read_bytes()[:1000])
    assert runner.run(path, out, base).taken_over == 1
    assert (out / "results.csv").read_bytes() == before


def test_what_is_kept_is_what_was_found(tmp_path, base):
    rows = faulty(many_plants.rows(5, 2))
    result = compared(write(tmp_path, rows), base)
    kept.keep(tmp_path, "0" * 16, result)
    again = kept.taken_over(tmp_path, "0" * 16, 0)
    assert again.faults == result.faults and again.labels == result.labels
    assert again.columns.keys() == result.columns.keys()
    for name, values in result.columns.items():
        np.testing.assert_array_equal(again.columns[name], values)
        assert again.columns[name].dtype == values.dtype
    assert kept.taken_over(tmp_path, "1" * 16, 0) is None


# --- forms in a folder ------------------------------------------------------------------------


def test_a_folder_of_forms(tmp_path, base):
    folder = tmp_path / "forms"
    folder.mkdir()
    (folder / "b.xlsx").write_bytes(plants.even_form("us"))
    (folder / "a.toml").write_text(base.read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "c.toml").write_text("[influent]\ntp = 'x'\n", encoding="utf-8")
    (folder / "~$b.xlsx").write_bytes(b"of a program that has the form open")
    (folder / "notes.txt").write_text("no form", encoding="utf-8")
    (task,) = runner.plan(folder).tasks
    result = tasks.work(task)
    assert list(result.names) == ["a.toml", "b.xlsx"] and list(result.rows) == [1, 2]
    assert {fault.name for fault in result.faults} == {"c.toml"}
    for row, path in ((1, folder / "a.toml"), (2, folder / "b.xlsx")):
        assert_same(told(result, row), expected(run.compare(reader.read(path))))


def test_an_empty_folder_is_refused(tmp_path):
    with pytest.raises(InputError, match="no form"):
        runner.plan(tmp_path)


def test_columns_of_the_table_are_all_found(tmp_path, base):
    result = compared(write(tmp_path, many_plants.rows(1, 1)), base)
    listed = {t.column for t in table.told()} - {"row", "name"}
    assert listed == result.columns.keys()


def test_plants_file_has_the_names_of_designing_fields():
    assert {"bio.layout", "permit.months", "chemical.products"} <= set(plants_file.designing())
    assert "project.name" not in plants_file.designing()
