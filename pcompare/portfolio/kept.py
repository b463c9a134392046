"""Chunks that are done, kept beside the results so that a run can go on where it stopped.

Each is a file whose name begins with the fingerprint of everything that the numbers rest on: the
input, the base, the program and its tables. Nothing of another fingerprint is ever taken over.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np

from pcompare import files, tables
from pcompare.findings import PlantFault
from pcompare.portfolio.fleet import Column
from pcompare.portfolio.tasks import Result

LENGTH = 16  # letters of a fingerprint
KEPT = re.compile(rf"[0-9a-f]{{{LENGTH}}}-\d{{5,}}\.npz")


def fingerprint(parts: Iterable[bytes]) -> str:
    """Give letters that change with any byte of the parts, of the program or of its tables."""
    whole = hashlib.sha256(_program())
    for part in parts:
        whole.update(hashlib.sha256(part).digest())
    return whole.hexdigest()[:LENGTH]


def _program() -> bytes:
    """Digest the program and the reference tables: a version alone does not tell a changed one."""
    whole = hashlib.sha256()
    for folder, pattern in ((Path(__file__).parents[1], "**/*.py"), (tables.folder(), "*.csv")):
        for path in sorted(folder.glob(pattern)):
            whole.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    whole.update(np.__version__.encode())
    return whole.digest()


def keep(folder: Path, fingerprint: str, result: Result) -> None:
    """Write one chunk."""
    told = {
        "faults": [asdict(fault) for fault in result.faults],
        "labels": result.labels,
        "texts": [name for name, values in result.columns.items() if values.dtype == object],
    }
    arrays: dict[str, Any] = {
        f"column {n}": _writable(values) for n, values in result.columns.items()
    }
    out = io.BytesIO()
    arrays |= {"told": np.array(json.dumps(told)), "rows": result.rows}
    np.savez(out, allow_pickle=False, names=_writable(result.names), **arrays)
    files.write(_path(folder, fingerprint, result.number), out.getvalue())


def _writable(values: Column) -> Column:
    return values.astype(np.str_) if values.dtype == object else values


def _path(folder: Path, fingerprint: str, number: int) -> Path:
    return folder / f"{fingerprint}-{number:05d}.npz"


def taken_over(folder: Path, fingerprint: str, number: int) -> Result | None:
    """Read one chunk, if it is there and whole."""
    path = _path(folder, fingerprint, number)
    if not path.is_file():
        return None
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as arrays:
            found = {name: arrays[name] for name in arrays.files}
        told = json.loads(str(found["told"]))
        texts = set(told["texts"])
        columns = {
            name: values.astype(object) if name in texts else values
            for name, values in (
                (n.removeprefix("column "), v) for n, v in found.items() if n.startswith("column ")
            )
        }
        return Result(
            number=number,
            rows=found["rows"],
            names=found["names"].astype(object),
            columns=columns,
            faults=tuple(PlantFault(**fault) for fault in told["faults"]),
            labels=told["labels"],
        )
    except (OSError, ValueError, KeyError, TypeError, BadZipFile):
        return None  # damaged: it is made again


def clear_others(folder: Path, fingerprint: str) -> None:
    """Remove the chunks of other inputs or programs."""
    files.remove(
        path
        for path in folder.iterdir()
        if KEPT.fullmatch(path.name) and not path.name.startswith(fingerprint)
    )
