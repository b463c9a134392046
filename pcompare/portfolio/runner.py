"""Run a portfolio: plan the chunks, take over those that are done, work through the rest, write.

Where the work is done is the caller's: ``here`` is this process, ``processes`` those of this
machine. Anything else that takes a function and tasks and gives results as they come serves too.
"""

from __future__ import annotations

import itertools
import math
import multiprocessing
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from pcompare import designing, files
from pcompare.errors import Fault, InputError, PCompareError
from pcompare.findings import PlantFault, Portfolio
from pcompare.inputs import plants_file, reader, schema
from pcompare.inputs.draft import DEFAULT, Draft
from pcompare.portfolio import kept, table
from pcompare.portfolio.summary import Summary
from pcompare.portfolio.tasks import Result, Task, work

Spread: TypeAlias = Callable[[Callable[[Task], Result], Sequence[Task]], Iterator[Result]]
Progress: TypeAlias = Callable[[int, int], None]

LEAST, MOST = 100, 400  # plants of a chunk: few repeat what is done once, many take memory
SHARES = 8  # chunks that a portfolio has at least, so that processors share it evenly
FORMS = 40  # to read them takes longer than to compare them
FILES = ("results.csv", "columns.csv", "faults.csv")
WORK = "work"  # folder of the chunks that are done
BLOCK = 1 << 30  # bytes that the C library's memory keeps instead of giving back


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """Chunks of one portfolio, and what was found wrong before any was read."""

    tasks: tuple[Task, ...]
    broken: tuple[PlantFault, ...]
    source: str
    base: str
    assumed: tuple[str, ...]
    fingerprint: str

    @property
    def plants(self) -> int:
        """Plants in all chunks."""
        return sum(len(task.plants) for task in self.tasks)


def plan(source: Path, base: Path | None = None) -> Plan:
    """Part a CSV, or a folder of forms, into chunks.

    Raises
    ------
    InputError
        An input without plants, a column that cannot be, or a base that cannot be read.
    """
    return _folder(source) if source.is_dir() else _csv(source, base)


def _folder(source: Path) -> Plan:
    forms = plants_file.forms(source)
    starts, where = range(0, len(forms), FORMS), str(source.resolve())
    tasks = (
        Task(number=i, plants=forms[start : start + FORMS], base=Draft(), folder=where)
        for i, start in enumerate(starts)
    )
    parts = (part for form in forms for part in (form.name.encode(), _bytes(source / form.name)))
    return Plan(
        tasks=tuple(tasks),
        broken=(),
        source=source.name,
        base="",
        assumed=(),
        fingerprint=kept.fingerprint(itertools.chain([b"folder"], parts)),
    )


def _bytes(path: Path) -> bytes:
    """Read a form for its fingerprint; what is wrong with it is told where it is read."""
    try:
        return path.read_bytes() if path.is_file() else b""
    except OSError:
        return b""


def _csv(source: Path, base: Path | None) -> Plan:
    draft, base_name = reader.begun(base)
    if draft.noted:
        raise InputError(base_name, draft.faults)
    if base is not None:  # lines and cells of the base must not look like those of the plants
        for places in (draft.places, draft.range_places, draft.shape_places):
            places.update(
                {n: p if p == DEFAULT else f"{base_name}, {p}" for n, p in places.items()}
            )
    found = plants_file.read(source)
    name = source.name
    if lacking := plants_file.missing(draft, found.fields):
        raise InputError(name, [_without(name, base_name, field) for field in lacking])
    tasks = (
        Task(number=i, plants=plants, base=draft, fields=found.fields, comma=found.comma)
        for i, plants in enumerate(_chunks(found))
    )
    return Plan(
        tasks=tuple(tasks),
        broken=tuple(PlantFault(p.row, p.name, str(fault)) for p, fault in found.broken),
        source=name,
        base=base_name,
        assumed=tuple(_assumed(found.fields)) if base is None else (),
        fingerprint=kept.fingerprint(
            (b"csv", plants_file.data_of(source, name), _bytes(base) if base else b"")
        ),
    )


def _without(name: str, base: str, field: str) -> Fault:
    needs = f"a column {field}, or a value in {base}"
    return Fault(where=f"{name} ({schema.fields()[field].label})", found="nothing", needs=needs)


def _assumed(columns: Sequence[str]) -> Iterator[str]:
    """Name what must be known of every plant and is taken from the worked example."""
    for name, field in schema.fields().items():
        if field.default is None and field.numeric and name not in columns:
            yield field.label


def _chunks(found: plants_file.PlantsFile) -> Iterator[tuple[plants_file.Plant, ...]]:
    """Sort plants by what parts their designs, so that chunks are alike inside, and cut them."""
    worded = set(plants_file.designing()) | {"flow.phase_year"}
    words = [i for i, field in enumerate(found.fields) if field in worded]
    flags = [i for i, field in enumerate(found.fields) if field in designing.SET_OR_NOT]

    def alike(plant: plants_file.Plant) -> tuple[tuple[str, ...], tuple[bool, ...]]:
        cells = plant.cells
        written = tuple(cells[i].casefold() for i in words)
        return written, tuple(bool(cells[i].strip("0.,")) for i in flags)

    ordered = sorted(found.plants, key=alike)
    size = min(max(math.ceil(len(ordered) / SHARES), LEAST), MOST)
    for start in range(0, len(ordered), size):
        yield tuple(ordered[start : start + size])


# --- where the work is done -------------------------------------------------------------------


def here(work: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[Result]:
    """Work through tasks in this process, one after another."""
    return map(work, tasks)


def processes(jobs: int) -> Spread:
    """Spread tasks over processes of this machine."""

    def spread(work: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[Result]:
        if jobs <= 1 or len(tasks) <= 1:
            yield from here(work, tasks)
            return
        others = set(multiprocessing.active_children())
        context = multiprocessing.get_context("spawn")  # alike everywhere, and small to begin with
        pool = ProcessPoolExecutor(min(jobs, len(tasks)), context, initializer=_begin)
        try:
            waiting: list[Future[Result]] = [pool.submit(work, task) for task in tasks]
            for done in as_completed(waiting):
                yield done.result()
                waiting.remove(done)  # the results that were kept need no more room
        except BrokenProcessPool:
            raise PCompareError(str(_broken(jobs))) from None
        except BaseException:
            for process in set(multiprocessing.active_children()) - others:
                process.terminate()
            raise
        finally:
            pool.shutdown(wait=False, cancel_futures=True)

    return spread


def _broken(jobs: int) -> Fault:
    return Fault(
        where="portfolio",
        found="a process that was ended from outside before its plants were done",
        needs="memory for each of them, about half a GB",
        mend=f"Run again with --jobs {max(jobs // 2, 1)}: what is done is kept",
    )


def _begin() -> None:
    """Leave Ctrl-C to the process that started this one, and let memory be used again.

    The C library of Linux gives large arrays back to the system as soon as they are free, only to
    ask for them again: to keep them takes a fifth off the time.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform == "linux":
        import ctypes

        mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
        if mallopt is not None:
            trim, own = -1, -3  # M_TRIM_THRESHOLD, M_MMAP_THRESHOLD
            mallopt(trim, BLOCK)
            mallopt(own, BLOCK)


# --- the run ----------------------------------------------------------------------------------


def run(
    source: Path,
    out: Path,
    base: Path | None = None,
    spread: Spread = here,
    progress: Progress | None = None,
) -> Portfolio:
    """Compare many plants, and write results, their dictionary and the faults.

    Parameters
    ----------
    source : Path
        A CSV with a row for each plant, or a folder of forms.
    out : Path
        Folder to write into; chunks that are done stay in ``work`` inside it.
    base : Path, optional
        The form that the plants of a CSV share; left out, the worked example.
    spread : callable
        Where the work is done: ``spread(work, tasks)`` gives results in any order.
    progress : callable, optional
        ``progress(plants done, plants in all)``, at the beginning and after each chunk.

    Returns
    -------
    Portfolio

    Raises
    ------
    PCompareError
        An input that cannot be read, a folder that takes no file, a process that was ended.
    """
    from pcompare import __version__

    planned = plan(source, base)
    folder = files.ensure_folder(files.ensure_folder(out) / WORK)
    kept.clear_others(folder, planned.fingerprint)
    before = {t.number: kept.taken_over(folder, planned.fingerprint, t.number)
              for t in planned.tasks}  # fmt: skip
    found = [result for result in before.values() if result is not None]
    left = [task for task in planned.tasks if before[task.number] is None]
    taken_over = len(found)
    done = planned.plants - sum(len(task.plants) for task in left)
    if progress is not None:
        progress(done, planned.plants)
    for result in spread(work, left):
        kept.keep(folder, planned.fingerprint, result)
        found.append(result)
        done += len(planned.tasks[result.number].plants)
        if progress is not None:
            progress(done, planned.plants)
    summary = Summary()
    summary.faults += planned.broken
    for result in found:
        summary.add(result)
    written = (table.results(found), table.dictionary(), table.faults(summary.faults))
    files.write_all(
        {out / name: data for name, data in zip(FILES, written, strict=True)},
        never=[path for path in (source, base) if path is not None],
    )
    return summary.portfolio(
        source=planned.source,
        base=planned.base,
        assumed=planned.assumed,
        version=__version__,
        run_id=planned.fingerprint[:12],
        taken_over=taken_over,
        chunks=len(planned.tasks),
    )
