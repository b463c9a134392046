"""The command for many plants: what it prints, its exit status, and how it is stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from pcompare import cli
from pcompare.errors import PCompareError
from pcompare.portfolio import kept, runner
from tests import many_plants, plants

FILES = ("results.csv", "columns.csv", "faults.csv", "summary.pdf")


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    path = tmp_path_factory.mktemp("base") / "base.toml"
    path.write_text(plants.even_text(), encoding="utf-8")
    return path


def fleet(folder, rows):
    path = folder / "plants.csv"
    path.write_text(many_plants.text(rows), encoding="utf-8")
    return path


def test_sound_plants(tmp_path, base, capsys):
    path, out = fleet(tmp_path, many_plants.rows(3, 1, kinds=1)), tmp_path / "out"
    assert cli.main(["portfolio", str(path), "--base", str(base), "--out", str(out)]) == 0
    said = capsys.readouterr()
    assert all((out / name).is_file() and name in said.out for name in FILES)
    assert "3 plants compared" in said.out and "worked example" not in said.out
    assert said.err == ""  # no progress where nobody watches
    assert cli.main(["portfolio", str(path), "--base", str(base), "--out", str(out)]) == 0
    assert "took over 1 of 1 chunks of an earlier run" in capsys.readouterr().out


def test_a_skipped_plant_shows_in_the_status(tmp_path, base, capsys):
    rows = [dict(row) for row in many_plants.rows(3, 1, kinds=1)]
    rows[1]["permit.tp"] = "lax"
    path, out = fleet(tmp_path, rows), tmp_path / "out"
    assert cli.main(["portfolio", str(path), "--base", str(base), "--out", str(out)]) == 1
    said = capsys.readouterr()
    assert "1 of 3 plants skipped" in said.err
    assert "  plant 1: permit.tp, line 3 " in said.err and "found 'lax'" in said.err
    assert "2 plants compared" in said.out


def test_without_a_base_it_says_what_is_not_the_plants_own(tmp_path, capsys):
    path = tmp_path / "plants.csv"
    path.write_text("name,permit.tp\nNorth,1\n", encoding="utf-8")
    assert cli.main(["portfolio", str(path), "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "fictional plant: Average flow, " in said and "Alkalinity" in said


def test_what_the_command_refuses(tmp_path, base, capsys):
    assert cli.main(["portfolio", str(tmp_path), "--base", str(base)]) == 2
    assert "needs forms alone" in capsys.readouterr().err
    assert cli.main(["portfolio", str(tmp_path / "none.csv")]) == 1
    assert "no such file" in capsys.readouterr().err
    path = fleet(tmp_path, many_plants.rows(1, 1))
    blank = tmp_path / "blank.toml"
    blank.write_text("[permit]\ntp = 1.0\n", encoding="utf-8")
    assert cli.main(["portfolio", str(path), "--base", str(blank)]) == 1
    message = capsys.readouterr().err
    assert "needs a column influent.ph, or a value in blank.toml" in message
    assert "influent.cod" not in message


def test_the_input_is_never_written_over(tmp_path, base, capsys):
    path = tmp_path / "results.csv"
    path.write_text(many_plants.text(many_plants.rows(1, 1)), encoding="utf-8")
    before = path.read_bytes()
    assert cli.main(["portfolio", str(path), "--base", str(base), "--out", str(tmp_path)]) == 1
    assert "the input of this run" in capsys.readouterr().err
    assert path.read_bytes() == before


def test_time_left_on_a_terminal(monkeypatch, capsys):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    shown = cli._plants_done()
    for done in (100, 200, 400):
        shown(done, 400)
    said = capsys.readouterr().err
    assert "200 of 400 plants, about 0 s left" in said
    assert said.endswith("400 of 400 plants, 0 s    \n")


def killed(task):
    os.kill(os.getpid(), signal.SIGKILL)


def doubled(task):
    return 2 * task


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL")
def test_a_process_that_is_killed_is_told_and_nothing_hangs():
    with pytest.raises(PCompareError, match=r"ended from outside.*Run again with --jobs 1"):
        list(runner.processes(2)(killed, [1, 2, 3]))


def test_work_is_spread_over_processes():
    assert sorted(runner.processes(2)(doubled, [1, 2, 3])) == [2, 4, 6]
    assert list(runner.processes(1)(doubled, [1, 2, 3])) == [2, 4, 6]


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent otherwise")
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_ctrl_c_keeps_what_is_done(tmp_path, base, jobs):
    rows = [{**row, "primary.capture": 0.5} for row in many_plants.rows(400, 3, kinds=1)]
    path, out = fleet(tmp_path, rows), tmp_path / "out"
    command = [sys.executable, "-m", "pcompare", "portfolio", str(path), "--base", str(base),
               "--out", str(out), "--jobs", jobs]  # fmt: skip
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    ) as started:
        for _ in range(1200):
            if list((out / "work").glob("*.npz")) or started.poll() is not None:
                break
            time.sleep(0.05)
        os.killpg(started.pid, signal.SIGINT)  # as a terminal does: to the whole group
        _, errors = started.communicate(timeout=60)
    assert started.returncode == 130, errors
    assert errors.decode() == "stopped; the same command goes on from what is done\n"
    assert not (out / "results.csv").exists()
    planned = runner.plan(path, base)
    taken = [kept.taken_over(out / "work", planned.fingerprint, t.number) for t in planned.tasks]
    assert 1 <= sum(result is not None for result in taken) < len(taken) == 4
