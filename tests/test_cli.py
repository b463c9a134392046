"""The commands: what they print, what they write, and how they fail."""

from __future__ import annotations

import csv
import errno
import io
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import zipfile
from importlib.resources import files

import pytest

from pcompare import cli, command_line, lines, tables
from pcompare.inputs import schema

from . import cheap

DOCUMENTS = ("options_memo.pdf", "board_brief.pdf", "calculation_book.xlsx", "results.json")
COMMANDS = (
    "form", "check", "compare", "memo", "brief", "targets", "portfolio", "explain", "calc",
    "tables", "verify",
)  # fmt: skip
KEY = "salt_single_point.metal_dose"
# What every strategy reports, by name: other programs rely on it.
NAMES = """
effluent_tp effluent_soluble_p effluent_particulate_p effluent_ammonia effluent_nitrate
metal_dose metal_to_p_removed product_use product_volume
chemical_sludge sludge_total sludge_increase cake_increase
alkalinity_metal alkalinity_nitrification alkalinity_denitrification alkalinity_before_base
alkalinity_residual base_dose ph
chloride_added sulfate_added sodium_added calcium_added magnesium_added potassium_change
bicarbonate_change other_ions_change tds_increase_ion_sum tds_increase_residue
conductivity conductivity_increase sar chloride_sulfate_ratio larson_ratio
reuse_tds reuse_chloride
oxygen_demand aeration_energy mixing_energy pumping_energy energy_increase
vfa_required vfa_available carbon_dose anaerobic_phosphate recoverable_p
capital annual_cost present_worth equal_annual_cost cost_per_kg_p
greenhouse_gas probability_meets_permit probability_meets_permit_year
"""
REPORTED = tuple(NAMES.split())
LINE_KEYS = {
    "label", "value", "unit", "equation", "sources", "low", "middle", "high", "months",
    "reduced_by",
}  # fmt: skip


@pytest.fixture
def pcompare(capsys):
    """Run one command in this process: its exit status, output and messages."""

    def run(*arguments):
        try:
            status = cli.main([str(a) for a in arguments])
        except SystemExit as stopped:  # argparse leaves by itself
            status = stopped.code
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return run


def process(*arguments, encoding="utf-8", **options):
    """Run one command in a process of its own; output as bytes."""
    environment = {**os.environ, "PYTHONIOENCODING": encoding}
    return subprocess.run(
        [sys.executable, "-m", "pcompare", *map(str, arguments)],
        capture_output=True, timeout=120, env=environment, **options,
    )  # fmt: skip


@pytest.fixture(scope="module")
def results():
    done = process("compare", "--json", "-")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def memo(tmp_path_factory):
    """A memo of the worked example in a new folder, and what the command said."""
    folder = tmp_path_factory.mktemp("memo") / "new" / "folder"
    done = process("memo", "--out", folder, "--draws", 20, "--seed", 3)
    assert done.returncode == 0, done.stderr.decode()
    return folder, done.stdout.decode()


@pytest.fixture
def faulty(tmp_path):
    path = tmp_path / "faulty.toml"
    path.write_text("[influent]\ntp = 'lots'\n", encoding="utf-8")
    return path


@pytest.fixture
def case(tmp_path):
    """The worked example as a file of the user's own."""
    path = tmp_path / "plant.toml"
    path.write_bytes(files("pcompare.inputs").joinpath("example.toml").read_bytes())
    return path


@pytest.fixture
def quick(monkeypatch):
    """Let documents cost nothing to make: for tests that are about their writing."""
    cheap.documents(monkeypatch)


# ---------------------------------------------------------------------------- usage


def test_help_names_every_command(pcompare):
    status, out, err = pcompare("--help")
    assert status == 0 and not err
    assert all(re.search(rf"\n    {name}\s", out) for name in COMMANDS)
    assert set(cli.COMMANDS) >= set(COMMANDS)
    assert list(cli.COMMANDS) == list(command_line.ARGUMENTS)


@pytest.mark.parametrize("command", sorted(cli.COMMANDS))
def test_each_command_has_help(pcompare, command):
    status, out, _ = pcompare(command, "--help")
    assert status == 0
    assert out.startswith(f"usage: pcompare {command} ")


def test_version(pcompare):
    status, out, _ = pcompare("--version")
    assert status == 0
    assert out.split()[0] == "pcompare" and out.count(".") == 2


@pytest.mark.parametrize(
    "arguments",
    [
        ("nothing",),
        ("compare", "--nothing"),
        ("compare", "--units", "imperial"),
        ("form",),
        ("explain",),
        ("memo", "--draws", "-1"),
        ("memo", "--draws", "many"),
        ("memo", "--seed", "1.5"),
        ("targets", "--steps", "x"),
        ("targets", "--from", "low"),
    ],
    ids=" ".join,
)
def test_a_command_line_that_cannot_be_understood(pcompare, arguments):
    status, out, err = pcompare(*arguments)
    assert status == 2
    assert not out
    assert "error: " in err


def test_no_command_prints_the_help(pcompare):
    status, out, _ = pcompare()
    assert status == 2
    assert all(name in out for name in COMMANDS)


# ---------------------------------------------------------------------------- commands


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("check",), "influent.tp"),
        (("check", "--units", "us"), "MGD"),
        (("compare",), "Equal annual cost"),
        (("compare", "--units", "us"), "lb TSS/d"),
        (("targets", "--steps", "2"), lines.LABELS["salt_single_point"]),
        (("explain", KEY), KEY),
        (("explain", "--depth", "1", KEY), KEY),
        (("calc",), "single_present_worth"),
        (("tables",), "input_fields"),
        (("tables", "biology"), "cod_per_vss"),
    ],
    ids=lambda a: " ".join(a) if isinstance(a, tuple) else "",
)
def test_commands_on_the_worked_example(pcompare, arguments, said):
    status, out, err = pcompare(*arguments)
    assert (status, err) == (0, "")
    assert said in out


def test_check_lists_every_field_with_its_place(pcompare):
    _, out, _ = pcompare("check")
    listed = {line.split()[0] for line in out.splitlines()}
    own = {f.name for f in schema.fields().values() if f.sheet != schema.COEFFICIENTS}
    assert own <= listed
    assert "[example]" in out and "[default]" in out


def test_form_and_back(pcompare, tmp_path):
    for units in ("si", "us"):
        path = tmp_path / f"{units}.xlsx"
        status, out, _ = pcompare("form", path, "--units", units)
        assert (status, out) == (0, f"wrote {path}\n")
        status, out, err = pcompare("check", path)
        assert (status, err) == (0, "")
        assert f"{path.name}: {len(schema.fields())} fields understood" in out


def test_a_blank_form_names_everything_that_must_be_given(pcompare, tmp_path):
    path = tmp_path / "blank.xlsx"
    pcompare("form", path, "--blank")
    status, out, err = pcompare("check", path)
    assert (status, out) == (1, "")
    required = [f for f in schema.fields().values() if f.default is None]
    assert err.startswith(f"error: blank.xlsx: {len(required)} problems\n")
    faults = err.splitlines()[1:]
    assert len(faults) == len(required)
    for field, fault in zip(required, faults, strict=True):
        assert fault.startswith(f"  {field.sheet}!C") and f"({field.label}): found nothing" in fault


def test_a_form_is_not_written_where_no_folder_is(pcompare, tmp_path):
    status, _, err = pcompare("form", tmp_path / "none" / "plant.xlsx")
    assert status == 1
    assert err == f"error: {tmp_path / 'none'}: found no such folder; needs an existing folder\n"


def test_the_numbers_of_compare_are_shown_in_the_asked_units(pcompare):
    """The same row in both systems: product use in kg/d and lb/d."""

    def row(text):
        found = next(line for line in text.splitlines() if "Product as delivered" in line)
        return found.replace("\N{NARROW NO-BREAK SPACE}", "").split()

    _, si, _ = pcompare("compare")
    _, us, _ = pcompare("compare", "--units", "us")
    assert "kg/d" in row(si) and "lb/d" in row(us)
    pairs = [(float(a), float(b)) for a, b in zip(row(si)[4:], row(us)[4:], strict=True)]
    assert any(a > 0 for a, _ in pairs)
    for a, b in pairs:
        assert b == pytest.approx(a / 0.45359237, rel=0.006)  # both to three figures


@pytest.mark.parametrize(
    "command", [("check",), ("compare",), ("targets", "--steps", "1"), ("explain", KEY)],
    ids=lambda c: c[0],
)  # fmt: skip
def test_every_command_with_a_case_takes_set(pcompare, command):
    status, _, err = pcompare(*command, "--set", "flow.average=5", "--set", "permit.pt=1")
    assert status == 1
    assert "--set flow.average (Average flow): found 5 m³/d; needs a number from 10 to" in err
    assert "--set permit.pt" in err and "permit.tp" in err
    assert "2 problems" in err


def test_set_changes_the_result_and_says_so(pcompare):
    _, before, _ = pcompare("check")
    status, after, _ = pcompare("check", "--set", "permit.tp=0.5", "--set", "flow.average=1e4")
    assert status == 0
    changed = set(after.splitlines()) - set(before.splitlines())
    assert any("permit.tp" in c and "0.5000" in c and "[--set permit.tp]" in c for c in changed)
    assert any("flow.average" in c and "10\N{NARROW NO-BREAK SPACE}000" in c for c in changed)


def test_memo_takes_set(pcompare, tmp_path):
    status, _, err = pcompare("memo", "--out", tmp_path / "new", "--set", "permit.tp=none")
    assert status == 1
    assert "--set permit.tp" in err
    assert not (tmp_path / "new").exists()  # nothing is made for a case that cannot be read


def test_targets_has_a_row_for_each_limit(pcompare):
    _, out, _ = pcompare("targets", "--from", "1", "--to", "0.1", "--steps", "3")
    *parts, crossings = out.strip().split("\n\n")
    assert all(line.startswith("At ") for line in crossings.splitlines())
    assert [part.splitlines()[0] for part in parts] == [
        lines.LABELS[name] for name in lines.LABELS if lines.LABELS[name] in out
    ]
    assert len(parts) >= 6
    for part in parts:
        points = [line.split()[0] for line in part.splitlines()[3:]]
        assert points == ["1.00", "0.316", "0.100"]  # even on a logarithmic scale


@pytest.mark.parametrize(
    "bounds",
    [
        ("--from", "0.05", "--to", "2"),
        ("--from", "1", "--to", "1"),
        ("--to", "0"),
        ("--to", "-1"),
        ("--from", "nan"),
        ("--to", "nan"),
        ("--steps", "0"),
    ],
    ids=" ".join,
)
def test_targets_with_bad_bounds(pcompare, bounds):
    status, out, err = pcompare("targets", *bounds)
    assert (status, out) == (2, "")
    assert err.startswith("error: targets: found --from ")
    assert "needs limits from 100 down to 0.001 mg P/L, falling" in err


# ---------------------------------------------------------------------------- calc, tables, verify


def test_calc_evaluates(pcompare):
    """ASTM-free arithmetic: 1.15^-5 = 0.497177."""
    status, out, _ = pcompare("calc", "single_present_worth", "rate=0.15", "years=5")
    assert status == 0
    assert out.split() == ["single_present_worth", "0.497177", "[-]"]


def test_calc_lists_each_equation_once(pcompare):
    from pcompare import catalogue

    _, out, _ = pcompare("calc")
    listed = [line.split()[0] for line in out.splitlines() if line.startswith("  ")]
    assert listed == list(catalogue.load())
    subjects = [line for line in out.splitlines() if line.isupper()]
    assert subjects == list(dict.fromkeys(d.subject.upper() for d in catalogue.describe_all()))


def test_calc_help_shows_the_equation_with_its_example(pcompare):
    status, out, _ = pcompare("calc", "ph_open", "--help")
    assert status == 0
    for words in ("[mg CaCO3/L]", "log_pco2", ">>> round(float(state.ph), 3)", "7.375", "PHREEQC3"):
        assert words in out
    status, out, _ = pcompare("calc", "--help")
    assert status == 0 and out.startswith("usage: pcompare calc")
    status, _, err = pcompare("calc", "ph_opn", "--help")
    assert status == 2 and "ph_open" in err


def test_explain_as_json(pcompare, tmp_path):
    status, out, _ = pcompare("explain", KEY, "--json")
    told = json.loads(out)
    assert status == 0 and told["format"] == "pcompare explanation 1" and told["line"] == KEY
    assert told["steps"][told["root"]]["value"] == told["value"]
    path = tmp_path / "told.json"
    status, out, _ = pcompare("explain", KEY, "--json", path)
    assert (status, out) == (0, f"wrote {path}\n")
    assert json.loads(path.read_bytes()) == told


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("single_present_wort",), "single_present_worth"),
        (("single_present_worth",), "rate"),
        (("single_present_worth", "rate=x", "years=5"), "found 'x'; needs a number"),
        (("single_present_worth", "rate"), "argument=value"),
        (("single_present_worth", "rte=0.1"), "one of rate, years"),
        (("single_present_worth", "rate=0.1", "rate=0.2", "years=1"), "a second value"),
        (("single_present_worth", "rate=@cod_per_vs", "years=1"), "cod_per_vss"),
        (("single_present_worth", "rate=2%", "years=1"), "found '2%'; needs a number alone"),
        (("mass_load", "concentration=7g/L", "flow=1"), "needs a number in mg/L"),
        (("mass_load", "concentration=7", "flow=1 gpm"), "needs a number in m3/d or MGD"),
    ],
    ids=lambda a: " ".join(a) if isinstance(a, tuple) else "",
)
def test_calc_reports_bad_arguments(pcompare, arguments, said):
    status, out, err = pcompare("calc", *arguments)
    assert (status, out) == (2, "")
    assert err.startswith("error: ") and said in err


@pytest.mark.parametrize("flow", ["10000", "10000 m3/d", "10000m³/d", "2.641720523581484 MGD"])
def test_calc_takes_numbers_with_their_unit(pcompare, flow):
    status, out, _ = pcompare("calc", "mass_load", "concentration=7 mg/L", f"flow={flow}")
    assert status == 0 and "70.0" in out


def test_calc_reports_every_bad_argument_at_once(pcompare):
    _, _, err = pcompare("calc", "single_present_worth", "rate=x", "year=2")
    assert "found 'x'" in err and "argument 'year'" in err and "years=number [y]" in err


def test_tables_lists_every_table_and_prints_each(pcompare):
    _, out, _ = pcompare("tables")
    assert out.split() == tables.names()
    for name in out.split():
        status, text, _ = pcompare("tables", name)
        assert status == 0
        assert len(text.splitlines()) == len(tables.read(name)) + 1


@pytest.mark.parametrize("name", ["nothing", "../pyproject", "/etc/passwd", "biology.csv", ""])
def test_an_unknown_table(pcompare, name):
    status, out, err = pcompare("tables", name)
    if name == "":  # as if none were named
        assert (status, err) == (0, "")
        return
    assert status in (1, 2) and not out
    assert "no such table" in err and "biology" in err


def test_verify_passes(pcompare):
    status, out, err = pcompare("verify")
    assert "FAIL" not in out
    checks, _, every = out.splitlines()[-1].partition(" checks pass")[0].partition(" of ")
    assert checks == every and int(checks) > 400
    assert out.rstrip().endswith("; 0 none.")
    assert (status, err) == (0, "")


def test_verify_as_json(pcompare, tmp_path):
    path = tmp_path / "checks.json"
    status, out, _ = pcompare("verify", "--json", path)
    assert (status, out) == (0, f"wrote {path}\n")
    found = json.loads(path.read_bytes())
    assert found["format"] == "pcompare checks 1"
    assert found["passed"] is True
    assert all(check["passed"] and check["source"] for check in found["checks"])
    assert "none" not in found["grades"].values()


# ---------------------------------------------------------------------------- results


def test_json_has_every_part(results):
    assert results["format"] == "pcompare results 1"
    assert set(results) >= {
        "format", "provenance", "inputs", "lines", "strategies", "comparison",
    }  # fmt: skip
    assert set(results["comparison"]) >= {
        "ranking", "reference", "recommendation", "what_would_change_it",
    }  # fmt: skip
    for strategy in results["strategies"].values():
        assert set(strategy) >= {"kind", "meets_permit", "checks"}
        assert isinstance(strategy["meets_permit"], bool)
        assert strategy["meets_permit"] == all(check["met"] for check in strategy["checks"])


def test_json_names_every_input_with_unit_and_origin(results):
    assert set(results["inputs"]) == set(schema.fields())
    for name, found in results["inputs"].items():
        assert set(found) >= {"value", "unit", "origin"}
        assert found["unit"] == schema.fields()[name].unit  # base units, whatever is asked for
        assert found["unit"].isascii()
        assert found["value"] is not None and found["origin"]


def test_every_strategy_reports_every_line(results):
    for name in results["strategies"]:
        for quantity in REPORTED:
            line = results["lines"][f"{name}.{quantity}"]
            assert set(line) >= LINE_KEYS
            assert line["unit"].isascii()


def test_no_null_without_a_reason(results):
    nulls = [key for key, line in results["lines"].items() if line["value"] is None]
    assert nulls
    for key, line in results["lines"].items():
        assert (line["value"] is None) == bool(line.get("reason")), key
        assert line["value"] is None or math.isfinite(line["value"])


def test_zero_stands_only_for_what_a_strategy_does_not_have(results):
    found = results["lines"]
    assert found["no_action.metal_dose"]["value"] == 0.0
    assert found["no_action.capital"]["value"] == 0.0
    assert found["no_action.metal_to_p_removed"]["value"] is None
    assert found["no_action.effluent_tp"]["value"] > 0.0
    assert found["salt_single_point.metal_dose"]["value"] > 0.0


def test_lines_of_products_and_basis_are_there(results):
    subjects = {key.rpartition(".")[0] for key in results["lines"]}
    assert {"basis", "difference"} <= subjects
    assert "salt_single_point.products.liquid_alum.metal_dose" in results["lines"]


def test_json_to_a_file_is_the_json_of_standard_output(pcompare, tmp_path, results):
    path = tmp_path / "results.json"
    status, out, _ = pcompare("compare", "--json", path, "--units", "us")
    assert status == 0
    assert out.startswith(f"wrote {path}\n") and "Equal annual cost" in out
    assert json.loads(path.read_bytes()) == results  # base units whatever --units says


def test_csv_holds_the_numbers_of_the_json(pcompare, tmp_path, results):
    status, out, _ = pcompare("compare", "--csv", "-")
    assert status == 0
    rows = list(csv.DictReader(io.StringIO(out)))
    assert len(rows) == len(results["strategies"]) * len(lines.LINES)
    for row in rows:
        line = results["lines"][row["key"]]
        assert row["unit"] == line["unit"] and row["label"] == line["label"]
        if line["value"] is None:
            assert row["value"] == "" and row["reason"]
        else:
            assert float(row["value"]) == line["value"]
    path = tmp_path / "results.csv"
    assert pcompare("compare", "--csv", path)[0] == 0
    assert path.read_text(encoding="utf-8").split() == out.split()


@pytest.mark.parametrize("option", ["--json", "--csv"])
def test_results_that_cannot_be_written(pcompare, tmp_path, option, quick):
    status, _, err = pcompare("compare", option, tmp_path / "none" / "file")
    assert status == 1
    assert err.startswith("error: ") and "no such folder" in err


# ---------------------------------------------------------------------------- memo


def test_memo_into_a_new_folder(memo):
    folder, said = memo
    assert set(DOCUMENTS) <= {path.name for path in folder.iterdir()}
    assert not any(path.name.startswith(".") for path in folder.iterdir())
    assert all(f"wrote {folder / name}\n" in said for name in DOCUMENTS)
    assert (folder / "options_memo.pdf").read_bytes().startswith(b"%PDF-")
    assert zipfile.is_zipfile(folder / "calculation_book.xlsx")


def test_memo_says_what_the_results_say(memo):
    folder, said = memo
    found = json.loads((folder / "results.json").read_bytes())
    assert found["provenance"]["draws"] == 20
    assert found["provenance"]["seed"] == 3
    assert said.splitlines()[-1] == found["comparison"]["recommendation"]
    spread = [line for line in found["lines"].values() if line["middle"] is not None]
    assert spread
    assert all(line["low"] <= line["middle"] <= line["high"] for line in spread)


def test_every_document_of_a_run_carries_its_id(memo):
    from openpyxl import load_workbook
    from pypdf import PdfReader

    folder, _ = memo
    run_id = json.loads((folder / "results.json").read_bytes())["provenance"]["run_id"]
    for name in ("options_memo.pdf", "board_brief.pdf"):
        assert run_id in PdfReader(folder / name).pages[0].extract_text()
    book = load_workbook(folder / "calculation_book.xlsx", read_only=True)
    cells = (c for sheet in book for row in sheet.iter_rows(values_only=True) for c in row)
    assert any(run_id in cell for cell in cells if isinstance(cell, str))


def earlier(folder):
    """Put documents of an earlier run into a folder."""
    folder.mkdir(exist_ok=True)
    for name in DOCUMENTS:
        (folder / name).write_bytes(b"earlier " + name.encode())


def untouched(folder):
    kept = {name: b"earlier " + name.encode() for name in DOCUMENTS}
    return {path.name: path.read_bytes() for path in folder.iterdir()} == kept


def test_faulty_input_leaves_an_earlier_memo_as_it_was(pcompare, tmp_path, faulty):
    earlier(tmp_path / "out")
    status, out, err = pcompare("memo", faulty, "--out", tmp_path / "out")
    assert (status, out) == (1, "")
    assert err.startswith("error: faulty.toml: ")
    assert "influent.tp, line 2 (Total phosphorus): found 'lots'; needs a number from" in err
    assert untouched(tmp_path / "out")


def test_memo_into_a_file(pcompare, tmp_path):
    (tmp_path / "out").write_bytes(b"earlier")
    status, _, err = pcompare("memo", "--draws", 0, "--out", tmp_path / "out")
    assert status == 1
    assert err == f"error: {tmp_path / 'out'}: found a file of that name; needs a folder\n"
    assert (tmp_path / "out").read_bytes() == b"earlier"


@pytest.mark.parametrize("at", ["mkstemp", "fsync"])
def test_memo_where_nothing_can_be_written(pcompare, tmp_path, monkeypatch, quick, at):
    earlier(tmp_path / "out")
    code = errno.EROFS if at == "mkstemp" else errno.ENOSPC

    def refuse(*_, **__):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(tempfile if at == "mkstemp" else os, at, refuse)
    status, out, err = pcompare("memo", "--out", tmp_path / "out")
    assert (status, out) == (1, "")
    assert os.strerror(code).lower() in err
    assert untouched(tmp_path / "out")


def test_memo_over_a_document_that_is_a_folder(pcompare, tmp_path, quick):
    earlier(tmp_path / "out")
    (tmp_path / "out" / "results.json").unlink()
    (tmp_path / "out" / "results.json").mkdir()
    status, _, err = pcompare("memo", "--out", tmp_path / "out")
    assert status == 1
    assert "results.json: found a folder; needs a file name" in err
    for name in DOCUMENTS[:2]:
        assert (tmp_path / "out" / name).read_bytes() == b"earlier " + name.encode()


def test_memo_replaces_an_earlier_one(pcompare, tmp_path, quick):
    earlier(tmp_path / "out")
    status, _, err = pcompare("memo", "--out", tmp_path / "out")
    assert (status, err) == (0, "")
    assert all((tmp_path / "out" / name).read_bytes() == b"new" for name in DOCUMENTS)


# ---------------------------------------------------------------------------- the input is kept


def test_a_form_is_not_written_over(pcompare, tmp_path):
    """It may be one that somebody filled."""
    path = tmp_path / "plant.xlsx"
    path.write_bytes(b"filled")
    status, out, err = pcompare("form", path)
    assert (status, out) == (1, "")
    assert "found a file that is there already; needs a new name, or --overwrite" in err
    assert path.read_bytes() == b"filled"
    assert pcompare("form", path, "--overwrite")[0] == 0
    assert zipfile.is_zipfile(path)


@pytest.mark.parametrize("name", ["plant", "plant.xls", "plant.toml"])
def test_a_form_is_an_xlsx_file(pcompare, tmp_path, name):
    status, _, err = pcompare("form", tmp_path / name)
    assert status == 2
    assert f"found '{name}'; needs a file name that ends in .xlsx" in err
    assert list(tmp_path.iterdir()) == []


def test_memo_over_the_case_it_is_read_from(pcompare, case, quick):
    """A case that has a document's name, in the folder of the documents."""
    named = case.rename(case.with_name("results.json.toml"))
    link = case.with_name("results.json")
    os.link(named, link)
    status, _, err = pcompare("memo", named, "--out", case.parent)
    assert status == 1
    assert "results.json: found the input of this run" in err
    assert not (case.parent / "options_memo.pdf").exists()


@pytest.mark.parametrize("option", ["--json", "--csv"])
def test_results_never_replace_the_case_they_were_read_from(pcompare, case, option, quick):
    before = case.read_bytes()
    status, _, err = pcompare("compare", case, option, case)
    assert case.read_bytes() == before
    assert status == 1 and "the input of this run" in err


# ---------------------------------------------------------------------------- as a process


def test_the_module_runs_as_the_command():
    done = process("compare")
    assert (done.returncode, done.stderr) == (0, b"")
    assert "Present worth" in done.stdout.decode()


def test_a_fault_as_a_process(faulty):
    done = process("check", faulty)
    assert (done.returncode, done.stdout) == (1, b"")
    assert done.stderr.startswith(b"error: faulty.toml: ")
    assert b"Traceback" not in done.stderr


def test_unknown_command_as_a_process():
    done = process("nothing")
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"invalid choice: 'nothing'" in done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "--set", "project.name=Käsemühle Ωμέγα Город 水 😀 \u202eabc"),
        ("compare",),
        ("explain", KEY),
        ("tables", "input_fields"),
        ("check", "--set", "project.date=水"),
    ],
    ids=lambda a: a[0],
)
def test_a_narrow_terminal_is_no_crash(arguments, encoding):
    done = process(*arguments, encoding=encoding)
    failed = "project.date=水" in arguments
    assert done.returncode == int(failed), done.stderr
    assert b"Traceback" not in done.stderr
    (done.stderr if failed else done.stdout).decode(encoding)


@pytest.fixture(scope="module")
def narrow():
    """Results with a wide name, asked for on a terminal that has no such letters."""
    done = process("compare", "--json", "-", "--set", "project.name=水 😀", encoding="ascii")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.decode("utf-8"))  # bytes of a document, whatever the terminal


def test_json_on_a_narrow_terminal_is_whole(narrow, results):
    assert set(narrow["lines"]) == set(results["lines"])


def test_json_on_a_narrow_terminal_loses_no_letter(narrow):
    assert narrow["inputs"]["project.name"]["value"] == "水 😀"


def test_a_reader_that_stops_reading_is_no_fault():
    """As with ``pcompare calc | head -1``."""
    command = [sys.executable, "-m", "pcompare", "tables", "input_fields"]
    started = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert started.stdout is not None and started.stderr is not None
    started.stdout.close()
    said = started.stderr.read()
    started.stderr.close()
    started.wait(timeout=60)
    assert b"Traceback" not in said


@pytest.mark.parametrize(
    "arguments",
    [
        ("explain", "CASE", KEY),
        ("explain", "CASE", KEY, "--set", "permit.tp=0.5"),
        ("explain", "--set", "permit.tp=0.5", KEY),
        ("check", "CASE", "--set", "permit.tp=0.5"),
        ("check", "--set", "permit.tp=0.5", "CASE"),
        ("explain", "CASE", "--set", "permit.tp=0.5", KEY),
    ],
    ids=" ".join,
)
def test_options_stand_where_they_like(pcompare, case, arguments):
    status, _, err = pcompare(*(case if a == "CASE" else a for a in arguments))
    assert (status, err) == (0, "")


@pytest.mark.parametrize(
    "bounds",
    [("--from", "inf"), ("--from", "1e308", "--to", "1e-308")],
    ids=" ".join,
)
def test_targets_beyond_any_limit(pcompare, bounds):
    status, _, _ = pcompare("targets", "--steps", "3", *bounds)
    assert status == 2


@pytest.mark.parametrize(
    "arguments",
    [("form", "x" * 300 + ".xlsx"), ("tables", "x" * 300)],
    ids=lambda a: a[0],
)
def test_a_name_too_long_is_one_sentence(pcompare, arguments):
    status, out, err = pcompare(*arguments)
    assert status in (1, 2) and not out
    assert err.startswith("error: ") and len(err.splitlines()) == 1


def test_calc_takes_finite_numbers_only(pcompare):
    status, out, _ = pcompare("calc", "single_present_worth", "rate=1e400", "years=5")
    assert (status, out) == (2, "")


@pytest.mark.parametrize("terminal", [True, False])
def test_draws_are_counted_on_a_terminal_and_nowhere_else(tmp_path, terminal):
    ours, theirs = os.openpty() if terminal else os.pipe()
    command = [sys.executable, "-m", "pcompare", "memo", "--out", tmp_path, "--draws", "2001"]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=theirs)
    if not terminal:
        os.close(theirs)
    told = os.read(ours, 10_000)
    os.close(ours)
    assert told == (b"\r2000 of 2001 draws\r2001 of 2001 draws\r\n" if terminal else b"")


# ---------------------------------------------------------------------------- brief


def test_the_brief_alone(pcompare, tmp_path, quick):
    folder = tmp_path / "new"
    status, out, err = pcompare("brief", "--out", folder, "--draws", 0)
    assert status == 0 and not err
    assert [path.name for path in folder.iterdir()] == ["board_brief.pdf"]
    assert out == f"wrote {folder / 'board_brief.pdf'}\n"


def test_the_brief_never_replaces_the_case_it_is_read_from(pcompare, case, quick):
    os.link(case, case.with_name("board_brief.pdf"))
    before = case.read_bytes()
    status, _, err = pcompare("brief", case, "--out", case.parent)
    assert status == 1 and "the input of this run" in err
    assert case.read_bytes() == before


def test_the_brief_says_what_the_memo_of_the_same_run_says(memo, tmp_path):
    """The same inputs, draws and seed give the same brief beside the memo and alone."""
    folder, _ = memo
    alone = tmp_path / "alone"
    process("brief", "--out", alone, "--draws", 20, "--seed", 3)
    assert (alone / "board_brief.pdf").read_bytes() == (folder / "board_brief.pdf").read_bytes()
