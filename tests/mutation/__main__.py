"""Run the tests of the equations against every mutant; print the score and each survivor.

Without ``--only``, first the controls: a module put in place unchanged must pass all its tests,
and a function made to stop must fail one.
"""

from __future__ import annotations

import argparse
import collections
import csv
import dataclasses
import json
import os
import random
from pathlib import Path
from typing import Any

for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_threads] = "1"
os.environ["PCOMPARE_HYPOTHESIS"] = "mutation"

import hypothesis  # noqa: E402
import pytest  # noqa: E402

from . import mutants as made  # noqa: E402
from . import runner  # noqa: E402

HERE = Path(__file__).parent
SCORE, SURVIVORS = HERE / "score.csv", HERE / "survivors.csv"
Rows = list[dict[str, Any]]


def run(todo: list[made.Mutant], given: argparse.Namespace) -> None:
    """Try mutants; their outcomes are added to the file as they come."""
    hypothesis.settings.register_profile(
        "mutation", derandomize=True, deadline=None, database=None,
        phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate],
        suppress_health_check=list(hypothesis.HealthCheck),
    )  # fmt: skip
    plugin = runner.Run(todo, given.jobs, given.limit, given.results)
    tests = given.tests or runner.collected()
    status = pytest.main([*runner.COLLECT, *map(str, tests)], plugins=[plugin])
    if status != pytest.ExitCode.OK:
        raise SystemExit(f"the run ended early: {status!r}")


def key(row: dict[str, Any]) -> tuple[Any, ...]:
    """Name a mutant: its outcome may stand in the file more than once."""
    return tuple(row[name] for name in ("module", "kind", "line", "column", "occurrence"))


def read(results: Path) -> Rows:
    """Read the outcomes; of each mutant the last counts."""
    if not results.exists():
        return []
    rows = map(json.loads, results.read_text(encoding="utf-8").splitlines())
    return list({key(row): row for row in rows}.values())


def chosen(given: argparse.Namespace) -> list[made.Mutant]:
    """List what is to be tried, mutants shuffled: what a run broken off has done is a sample."""
    names = given.modules or made.modules()
    controls = [m for name in names for m in made.controls(name)]
    every = [m for name in names for m in made.mutants(name)]
    random.Random(1).shuffle(every)
    if given.only == "controls":
        return controls
    if given.only is None:
        given.results.unlink(missing_ok=True)
        return [*controls, *every]
    known = {key(row): row["outcome"] for row in read(given.results)}
    wanted = ("survived", "timed out") if given.only == "survivors" else (None,)
    return [m for m in every if known.get(key(dataclasses.asdict(m))) in wanted]


def check_controls(rows: Rows) -> None:
    """Say which controls did not do what they must."""
    for row in rows:
        must = {made.NOTHING: "survived", made.STOP: "killed"}.get(row["kind"])
        if must and row["outcome"] != must:
            print(f"control: {row['module']}.{row['function']}: {row['outcome']}, {row['killer']}")


def score(rows: Rows) -> list[list[Any]]:
    """Count the outcomes of each module."""
    rows = [row for row in rows if row["kind"] in made.operators()]
    table = []
    for name in [*sorted({row["module"] for row in rows}), "all"]:
        counts = collections.Counter(r["outcome"] for r in rows if name in (r["module"], "all"))
        killed, late, alive = (counts[o] for o in ("killed", "timed out", "survived"))
        number = killed + late + alive
        share = f"{(killed + late) / max(number, 1):.3f}"
        table.append([name, number, killed, late, alive, share, counts["unfit"]])
    return table


def report(rows: Rows) -> None:
    """Print the score of each module, and every survivor with its reason where one is written."""
    header = ["module", "mutants", "killed", "timed_out", "survived", "score", "unfit"]
    for line in [header, *score(rows)]:
        print(f"{line[0]:18}", *(f"{cell!s:>9}" for cell in line[1:]))
    reasons = {}
    if SURVIVORS.exists():
        with SURVIVORS.open(encoding="utf-8", newline="") as file:
            for r in csv.DictReader(file):
                reasons[r["module"], r["original"], r["mutant"]] = r["why"]
    for row in rows:
        if row["outcome"] == "survived" and row["kind"] in made.operators():
            place = row["module"], row["text"], row["change"]
            print(f"{row['module']}.py, line {row['line']}, {row['function']}:")
            why = reasons.get(place, "NOT EXPLAINED")
            print(f"    {row['text']}\n    {row['change']}\n    {why}")


def save(rows: Rows) -> None:
    """Keep the score of each module beside this program."""
    header = ["module", "mutants", "killed", "timed_out", "survived", "score", "unfit"]
    with SCORE.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([header, *score(rows)])


def main() -> None:
    """Read the arguments and run."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("modules", nargs="*", help="modules of equations; all without")
    parser.add_argument("--jobs", type=int, default=2, help="processes (default 2)")
    parser.add_argument("--limit", type=float, default=20.0, help="s of tests for a mutant (20)")
    parser.add_argument("--results", type=Path, required=True, help="file of outcomes to write")
    parser.add_argument("--only", choices=["controls", "survivors", "rest", "report"],
                        help="try the controls alone, the survivors that the file tells of, or "
                        "the mutants that it does not tell of; or print what it holds")  # fmt: skip
    parser.add_argument("--tests", nargs="+", type=Path, help="files of tests; all without")
    parser.add_argument("--save", action="store_true", help="keep the score beside the tests")
    given = parser.parse_args()
    if given.only != "report":
        run(chosen(given), given)
    rows = read(given.results)
    check_controls(rows)
    report(rows)
    if given.save:
        save(rows)


main()
