"""Work beside other work: in a copy of this process where the system makes one, else in turn.

The results do not depend on it. A copy sees all that was there when it was made, so a task is any
function without arguments; only its result travels, and has to be one that can be pickled.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from pcompare.errors import PCompareError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

T = TypeVar("T")


def cores() -> int:
    """Give the number of cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def beside(task: Callable[[], T], processes: int) -> Callable[[], T]:
    """Start ``task`` beside what follows, and give the function that waits for its result.

    Parameters
    ----------
    task : callable
        Takes nothing, and gives what can be pickled.
    processes : int
        With fewer than two the task runs in this process, when its result is asked for.

    Returns
    -------
    callable
        To be called once. What the task raises is raised here.

    Raises
    ------
    PCompareError
        When the result is asked for, and the copy was stopped from outside.

    """
    # Elsewhere a copy either cannot be made or is not safe among the system's own libraries.
    if processes < 2 or not sys.platform.startswith("linux"):
        return task
    import multiprocessing
    import warnings

    if multiprocessing.current_process().daemon:  # may have no copies of its own
        return task
    context = multiprocessing.get_context("fork")
    receiver, sender = context.Pipe(duplex=False)
    # A daemon: it ends with this process, whatever ends that.
    copy = context.Process(target=_work, args=(task, receiver, sender), daemon=True)
    with warnings.catch_warnings():
        # The idle threads of the linear algebra library, which ends them itself before a copy.
        warnings.filterwarnings("ignore", "This process .* is multi-threaded", DeprecationWarning)
        copy.start()
    sender.close()

    def result() -> T:
        try:
            done, value = receiver.recv()
        except EOFError:
            copy.join()
            raise PCompareError(
                f"run: found one of its processes stopped (status {copy.exitcode}); needs memory "
                "enough for all. Close other programs, or ask for fewer draws, and run again"
            ) from None
        finally:
            receiver.close()
        copy.join()
        if not done:
            raise value
        found: T = value
        return found

    return result


def _work(task: Callable[[], object], receiver: Connection, sender: Connection) -> None:
    """Do the task and tell the result; the first process alone answers an interruption."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    receiver.close()  # so that nothing waits for a reader that is gone
    try:
        told: tuple[bool, object] = (True, task())
    except PCompareError as fault:
        told = (False, PCompareError(str(fault)))
    except Exception as fault:
        import traceback

        fault.add_note(traceback.format_exc())
        told = (False, fault)
    try:
        sender.send(told)
    except BrokenPipeError:
        return
