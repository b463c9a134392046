"""Work beside other work gives what it gives in turn, and its faults reach the caller."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import time

import numpy as np
import pytest

from pcompare import run
from pcompare.beside import beside, cores
from pcompare.errors import PCompareError
from tests import plants

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="copies are made under Linux only"
)


def test_a_copy_works_beside_this_process():
    here, others = os.getpid(), [beside(os.getpid, 2) for _ in range(3)]
    assert len({here, *(other() for other in others)}) == 4


def test_in_turn_it_works_in_this_process_and_only_when_asked():
    done = []
    wait = beside(lambda: done.append(os.getpid()), 1)
    assert done == []
    wait()
    assert done == [os.getpid()]


def test_large_results_travel_whole():
    value = np.arange(3_000_000.0)  # far more than a pipe holds
    assert (beside(lambda: value + 1.0, 2)() == value + 1.0).all()


@pytest.mark.parametrize("processes", [1, 2])
@pytest.mark.parametrize("fault", [PCompareError("form: found a; needs b"), KeyError("x")])
def test_a_fault_is_raised_where_the_result_is_asked_for(processes, fault):
    def work():
        raise fault

    with pytest.raises(type(fault)) as raised:
        beside(work, processes)()
    assert str(raised.value) == str(fault)
    if processes == 2 and not isinstance(fault, PCompareError):
        assert "in work" in raised.value.__notes__[0]  # where it went wrong


def test_a_copy_that_is_stopped_is_a_fault_and_no_endless_wait():
    wait = beside(lambda: os.kill(os.getpid(), signal.SIGKILL), 2)
    with pytest.raises(PCompareError, match=r"one of its processes stopped \(status -9.*memory"):
        wait()


def test_a_copy_makes_no_copies_of_its_own():
    def work():
        return os.getpid(), beside(os.getpid, 2)()

    outer, inner = beside(work, 2)()
    assert outer == inner != os.getpid()


def test_a_copy_leaves_the_interruption_to_the_first_process():
    def work():
        os.kill(os.getpid(), signal.SIGINT)
        return "done"

    assert beside(work, 2)() == "done"


def test_copies_end_with_their_process():
    def parent(told):
        beside(lambda: (told.send(os.getpid()), time.sleep(60)), 2)
        told.recv()

    ours, theirs = multiprocessing.get_context("fork").Pipe()
    process = multiprocessing.get_context("fork").Process(target=parent, args=(theirs,))
    process.start()
    copy = ours.recv()
    ours.send("enough")
    process.join(10)
    assert process.exitcode == 0
    with pytest.raises(ProcessLookupError):
        os.kill(copy, 0)


def test_cores_are_those_this_process_may_use():
    assert 1 <= cores() <= (os.cpu_count() or 1)


def test_a_dossier_is_the_same_in_turn_and_beside():
    inputs = plants.even()
    turn, two = (run.dossier(inputs, 300, 1, None, processes) for processes in (1, 2))
    for part in ("comparison", "targets", "crossings", "sensitivity", "break_evens", "maps"):
        assert repr(getattr(turn, part)) == repr(getattr(two, part)), part
    assert repr(turn.study) == repr(two.study)
