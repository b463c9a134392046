"""The one atomic writer: a document is written whole or not at all.

Bytes go to a temporary file in the target folder, are flushed to the disk and take the target's
place in one step. Temporary files left by a killed run are recognised and removed by the next.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from pcompare.errors import OutputError

MARK = ".pcompare-part-"  # begins the name of every temporary file


def ensure_folder(folder: Path) -> Path:
    """Make a folder if it is not there."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise OutputError(str(folder), "a file of that name", "a folder") from None
    except OSError as error:
        raise OutputError(str(folder), _reason(error), "a folder that can be made") from error
    return folder


def write(path: Path, data: bytes) -> None:
    """Write one file atomically."""
    write_all({path: data})


def write_all(documents: Mapping[Path, bytes]) -> None:
    """Write several files: all are whole on the disk before the first takes its place.

    Raises
    ------
    OutputError
        A target that is a folder or a link, or a folder that takes no file. Whatever stood there
        before is untouched.
    """
    parts: list[tuple[Path, Path]] = []
    try:
        for path, data in documents.items():
            _refuse(path)
            parts.append((_part(path, data), path))
        for part, path in parts:
            _replace(part, path)
    finally:
        for part, _ in parts:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def _refuse(path: Path) -> None:
    if path.is_symlink():
        raise OutputError(str(path), "a link", "a plain file name")
    if path.is_dir():
        raise OutputError(str(path), "a folder", "a file name")
    if not path.parent.is_dir():
        raise OutputError(str(path.parent), "no such folder", "an existing folder")


def _part(path: Path, data: bytes) -> Path:
    """Write the bytes beside their target, down to the disk."""
    _sweep(path.parent)
    try:
        handle, name = tempfile.mkstemp(prefix=f"{MARK}{os.getpid()}-", dir=path.parent)
    except OSError as error:
        raise OutputError(str(path), _reason(error), "a folder that can be written to") from error
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(part, 0o666 & ~_umask())
    except BaseException as error:
        with contextlib.suppress(OSError):
            part.unlink()
        if isinstance(error, OSError):
            raise OutputError(str(path), _reason(error), "room and leave to write") from error
        raise
    return part


def _replace(part: Path, path: Path) -> None:
    try:
        os.replace(part, path)
    except OSError as error:
        needs = "a file that is not open elsewhere: close it and run again"
        raise OutputError(str(path), _reason(error), needs) from error


def _sweep(folder: Path) -> None:
    """Remove what a killed run left: parts whose process is gone."""
    for stray in folder.glob(f"{MARK}*"):
        owner = stray.name.removeprefix(MARK).partition("-")[0]
        if owner.isdigit() and not _alive(int(owner)):
            with contextlib.suppress(OSError):
                stray.unlink()


def _alive(process: int) -> bool:
    if process == os.getpid() or os.name == "nt":  # there, asking would stop the process
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
