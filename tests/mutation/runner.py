"""Run the tests against mutants: each in a fork of one process that has collected them all.

Every test is first timed, and the functions it calls are noted. A mutant is tried by the tests
that call its function, quick ones of few functions first, until one fails; the seconds that one
mutant may take are limited, so what is called a survivor may still fall to a slower test, never
the other way round.
"""

from __future__ import annotations

import contextlib
import gc
import json
import os
import re
import signal
import sys
import time
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from _pytest.runner import runtestprotocol

from . import mutants as made

TESTS = Path(__file__).parent.parent
COLLECT = (
    "--doctest-modules",
    "-q",
    "-p",
    "no:cacheprovider",
    "-p",
    "no:warnings",
    "-m",
    "not slow",
)
# Beside the tests that name equations: what runs each of them through the whole path.
ALWAYS = (
    "test_published.py", "test_one_calculation.py", "test_wiring.py", "test_balances.py",
    "test_strategies.py",
)  # fmt: skip
NEVER = (
    "test_constants_matter.py",  # replaces the equations itself
    "test_docstrings.py",  # looks at texts
    "test_properties.py",  # whole plants by the dozen: too slow to repeat for every mutant
)
WITHOUT = ("unit_of_the_check", "value_has_its_place")  # of texts alone

# How the process of one mutant ends.
SURVIVED, KILLED, UNFIT, FAULT = 0, 10, 11, 12
OUTCOMES = {
    SURVIVED: "survived",
    KILLED: "killed",  # a test failed
    UNFIT: "unfit",  # cannot be compiled or imported: not counted
    FAULT: "fault",  # of this runner: stops the run
    -signal.SIGPROF: "timed out",
}


def collected() -> list[Path]:
    """Give the tests that name equations, and the modules of equations for their examples."""
    uses = re.compile(r"pcompare\.equations")
    tests = [
        path
        for path in sorted(TESTS.glob("test_*.py"))
        if path.name not in NEVER
        and (path.name in ALWAYS or uses.search(path.read_text(encoding="utf-8")))
    ]
    return [*tests, made.FOLDER]


class Run:
    """A plug-in of the test runner that takes the place of its loop."""

    def __init__(self, todo: list[made.Mutant], jobs: int, limit: float, results: Path) -> None:
        self.todo, self.jobs, self.limit, self.results = todo, jobs, limit, results
        self.items: list[Any] = []
        self.seconds: dict[str, float] = {}
        self.calls: dict[str, set[str]] = {}  # of a test: "module.function"

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try every mutant instead of running every test once."""
        self.items = [i for i in session.items if not any(w in i.nodeid for w in WITHOUT)]
        self._measure()
        gc.collect()
        gc.freeze()
        print(f"{len(self.items)} tests, {len(self.todo)} mutants", flush=True)
        self._fork_each()
        return True

    def _measure(self) -> None:
        """Time every test and note which functions it calls, in a fork: nothing is remembered.

        What an earlier run measured is used again for a file of tests that has not changed since.
        """
        path = self.results.with_suffix(".calls")
        known = earlier(path)
        parts = [path.with_suffix(f".calls{job}") for job in range(self.jobs)]
        for job, part in enumerate(parts):
            if not os.fork():
                try:
                    self._write_measured(self.items[job :: self.jobs], known, part)
                finally:
                    os._exit(0)
        for _ in parts:
            os.wait()
        here = {}
        for part in parts:
            here |= rows_of(part)
            part.unlink()
        text = "".join(json.dumps(row) + "\n" for row in {**known, **here}.values())
        path.write_text(text, encoding="utf-8")
        for name, seconds, passed, calls in here.values():
            if passed is False:
                print(f"left out, fails without a mutant: {name}")
            elif passed and calls and seconds <= self.limit:
                self.seconds[name], self.calls[name] = seconds, set(calls)
        self.items = [item for item in self.items if item.nodeid in self.calls]
        # Quick tests of few functions first: they are the ones made for the function.
        self.items.sort(key=lambda item: self.seconds[item.nodeid] * len(self.calls[item.nodeid]))

    def _write_measured(self, items: list[Any], known: dict[str, Any], part: Path) -> None:
        with quiet(), part.open("w", encoding="utf-8") as file:
            for item in items:
                row = known.get(item.nodeid)
                if row is None or (row[2] is None and row[1] < self.limit):
                    row = measured(item, self.limit)
                file.write(json.dumps(row) + "\n")
                file.flush()

    def chosen(self, mutant: made.Mutant) -> list[Any]:
        """Choose the tests that call the function; for a constant, any function of the module."""
        name, prefix = f"{mutant.module}.{mutant.function}", f"{mutant.module}."
        found, seconds = [], 0.0
        for item in self.items:
            calls = self.calls[item.nodeid]
            known = made.is_function(mutant)
            if name in calls if known else any(call.startswith(prefix) for call in calls):
                seconds += self.seconds[item.nodeid]
                if found and seconds > self.limit:
                    break
                found.append(item)
        return found

    def _fork_each(self) -> None:
        running: dict[int, made.Mutant] = {}
        todo, done, start = list(self.todo), 0, time.perf_counter()
        with self.results.open("a", encoding="utf-8") as file:
            while todo or running:
                while todo and len(running) < self.jobs:
                    mutant = todo.pop(0)
                    pid = os.fork()
                    if not pid:
                        self._child(mutant)
                    running[pid] = mutant
                pid, status = os.wait()
                row = self._row(running.pop(pid), pid, status)
                file.write(json.dumps(row) + "\n")
                file.flush()
                done += 1
                if done % 200 == 0:
                    print(f"{done} done, {time.perf_counter() - start:.0f} s", flush=True)
                if row["outcome"] == "fault":
                    raise RuntimeError(f"{row['module']}, line {row['line']}: {row['killer']}")

    def _row(self, mutant: made.Mutant, pid: int, status: int) -> dict[str, Any]:
        note = self._note(pid)
        text = note.read_text(encoding="utf-8") if note.exists() else ""
        note.unlink(missing_ok=True)
        change, _, killer = text.partition("\n")
        code = os.waitstatus_to_exitcode(status)
        return {
            **mutant.__dict__,
            "change": change,
            "outcome": OUTCOMES.get(code, "fault"),
            "killer": killer if code in OUTCOMES else f"ended with {code}; {killer}",
        }

    def _note(self, pid: int) -> Path:
        return self.results.with_suffix(f".{pid}")

    def _child(self, mutant: made.Mutant) -> None:
        """Try one mutant and end the process."""
        note = self._note(os.getpid())
        code = FAULT
        try:
            items = self.chosen(mutant)
            text = made.mutated(mutant)
            note.write_text(made.changed_line(mutant, text) + "\n", encoding="utf-8")
            seconds = sum(self.seconds[item.nodeid] for item in items)
            with quiet():
                code, killer = trial(mutant, text, items, seconds)
            with note.open("a", encoding="utf-8") as file:
                file.write(killer)
        except BaseException as fault:
            note.write_text(f"\n{fault!r}", encoding="utf-8")
            code = FAULT
        finally:
            os._exit(code)


def earlier(path: Path) -> dict[str, Any]:
    """Give what was measured of the tests whose files, and all equations, are older than that."""
    if not path.exists() or any(newer(file, path) for file in made.FOLDER.glob("*.py")):
        return {}
    root = TESTS.parent
    rows = rows_of(path)
    return {n: row for n, row in rows.items() if not newer(root / n.split("::")[0], path)}


def rows_of(path: Path) -> dict[str, Any]:
    """Read what was measured, by test."""
    rows = map(json.loads, path.read_text(encoding="utf-8").splitlines())
    return {row[0]: row for row in rows}


def newer(file: Path, path: Path) -> bool:
    """Tell whether a file has changed since another was written."""
    return not file.exists() or file.stat().st_mtime > path.stat().st_mtime


def measured(item: Any, limit: float) -> list[Any]:
    """Run a test; give its name, its seconds, whether it passed and which functions it called.

    One that takes longer than the limit is broken off and left to the suite.
    """
    calls: set[str] = set()
    signal.signal(signal.SIGPROF, _too_slow)
    signal.setitimer(signal.ITIMER_PROF, 2.0 * limit)  # watching takes time as well
    start = time.process_time()
    try:
        with watching(calls):
            passed = passes(item)
    except TooSlow:
        passed = False
        with contextlib.suppress(Exception):
            item.session._setupstate.teardown_exact(None)
    signal.setitimer(signal.ITIMER_PROF, 0.0)
    signal.signal(signal.SIGPROF, signal.SIG_DFL)
    seconds = time.process_time() - start
    if seconds > limit and not passed:
        return [item.nodeid, limit, None, sorted(calls)]
    return [item.nodeid, seconds, passed, sorted(calls)]


class TooSlow(BaseException):
    """A test has used up the time that one mutant may take."""


def _too_slow(*_: Any) -> None:
    raise TooSlow


def trial(mutant: made.Mutant, text: str, items: list[Any], seconds: float) -> tuple[int, str]:
    """Put a mutant in place and run tests until one fails; give the outcome and that test."""
    try:
        made.put_in_place(mutant.module, text)
    except Exception as reason:
        return UNFIT, repr(reason)
    signal.setitimer(signal.ITIMER_PROF, 10.0 + 10.0 * seconds)  # of its own, not of the clock
    for item in items:
        if not passes(item):
            return KILLED, str(item.nodeid)
    return SURVIVED, ""


def passes(item: Any) -> bool:
    """Run one test with its fixtures, warnings as errors as in the suite: has it passed?"""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            reports = runtestprotocol(item, log=False, nextitem=None)
    except Exception:  # the report of a failure may fail as well
        return False
    return all(report.passed or report.skipped for report in reports)


@contextlib.contextmanager
def watching(calls: set[str]) -> Iterator[None]:
    """Note which functions of the equations are called."""
    folder = str(made.FOLDER)

    def note(frame: Any, event: str, _: Any) -> None:
        code = frame.f_code
        if event == "call" and code.co_filename.startswith(folder):
            calls.add(f"{Path(code.co_filename).stem}.{code.co_qualname.split('.')[0]}")

    sys.setprofile(note)
    try:
        yield
    finally:
        sys.setprofile(None)


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Let a fork print nothing."""
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)
    yield
