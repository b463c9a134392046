"""The one atomic writer: a document is written whole or not at all.

Bytes go to a temporary file in the target folder, are flushed to the disk and take the target's
place in one step. Temporary files left by a killed run are recognised and removed by the next.
"""

from __future__ import annotations

import contextlib
import os
import platform
import signal
import tempfile
import zlib
from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from pcompare.errors import OutputError

try:
    import fcntl
except ImportError:  # no such locks on this system
    fcntl = None  # type: ignore[assignment]

MARK = ".pcompare-part-"  # begins the name of every temporary file


def ensure_folder(folder: Path) -> Path:
    """Make a folder, with those above it, if it is not there.

    Raises
    ------
    OutputError
        Something else has that name, or the folder cannot be made.
    """
    try:
        if folder.is_symlink() and not folder.exists():
            raise OutputError(str(folder), "a link that leads nowhere", "a folder")
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        raise OutputError(str(folder), "a file of that name", "a folder") from None
    except (OSError, ValueError) as error:
        raise OutputError(str(folder), _reason(error), "a folder that can be made") from error
    return folder


def write(path: Path, data: bytes, never: Collection[Path] = ()) -> None:
    """Write one file atomically; see ``write_all``."""
    write_all({path: data}, never)


def write_all(documents: Mapping[Path, bytes], never: Collection[Path] = ()) -> None:
    """Write several files: all are whole on the disk before the first takes its place.

    Parameters
    ----------
    documents : mapping of Path to bytes
        What to write where. The folders must be there.
    never : collection of Path
        Files that may not be replaced: what the run itself was read from.

    Raises
    ------
    OutputError
        A target is a folder, a link, a device or one of ``never``, or its folder takes no file:
        then nothing at all is changed. Or a target could not be replaced: it is untouched, and the
        message names the files that were replaced before it.
    """
    parts: list[tuple[Path, Path]] = []
    replaced: list[str] = []
    try:
        for path in documents:
            _refuse(path, never)
        for folder in {path.parent for path in documents}:
            _sweep(folder)
        for path, data in documents.items():
            parts.append((_part(path, data), path))
        with _undisturbed({path.parent for path in documents}):
            for part, path in parts:
                _replace(part, path, replaced)
                replaced.append(path.name)
    finally:
        for part, _ in parts:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def remove(paths: Iterable[Path]) -> None:
    """Remove files that the program itself made and needs no more; one that stays does no harm."""
    for path in paths:
        with contextlib.suppress(OSError):
            path.unlink()


def _refuse(path: Path, never: Collection[Path]) -> None:
    """Refuse a target before anything is written."""
    where = str(path)
    try:
        if "\0" in where:
            raise ValueError("a name with a null byte")
        if path.is_symlink():
            raise OutputError(where, "a link", "a plain file name")
        if path.is_dir():
            raise OutputError(where, "a folder", "a file name")
        if path.exists() and not path.is_file():
            raise OutputError(where, "a device or pipe", "a plain file name")
        if not path.parent.is_dir():
            found = "a file" if path.parent.exists() else "no such folder"
            raise OutputError(str(path.parent), found, "an existing folder")
        if path.exists() and any(other.exists() and path.samefile(other) for other in never):
            needs = "another name: this file was read"
            raise OutputError(where, "the input of this run", needs)
    except (OSError, ValueError) as error:
        raise OutputError(where, _reason(error), "a file name that can be written") from error


def _part(path: Path, data: bytes) -> Path:
    """Write the bytes beside their target, down to the disk."""
    prefix = f"{MARK}{_host()}-{os.getpid()}-"
    try:
        handle, name = tempfile.mkstemp(prefix=prefix, dir=path.parent)
    except (OSError, ValueError) as error:
        raise OutputError(str(path), _reason(error), "a folder that can be written to") from error
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(part, 0o666 & ~_umask())  # a temporary file is private, a document is not
    except BaseException as error:
        with contextlib.suppress(OSError):
            part.unlink()
        if isinstance(error, OSError):
            needs = "room on the disk and leave to write"
            raise OutputError(str(path), _reason(error), needs) from error
        raise
    return part


@contextlib.contextmanager
def _undisturbed(folders: Collection[Path]) -> Iterator[None]:
    """Let several documents take their places as one set, as far as the system lets us.

    Another run into the same folder waits, and a wish to stop is heard when all are in place.
    Where a system or a network folder knows no such locks, the run id in each document tells.
    """
    with contextlib.ExitStack() as held:
        for folder in sorted(folders):
            with contextlib.suppress(OSError):
                _lock(held, folder)
        held.enter_context(_heard_later())
        yield


@contextlib.contextmanager
def _heard_later() -> Iterator[None]:
    """Hold back what asks this process to stop, and hear it at the end."""
    heard: list[int] = []
    before: dict[signal.Signals, Any] = {}
    with contextlib.suppress(ValueError):  # beside the main thread, which alone hears them
        for asked in (signal.SIGINT, signal.SIGTERM):
            before[asked] = signal.signal(asked, lambda number, _: heard.append(number))
    try:
        yield
    finally:
        for asked, handler in before.items():
            signal.signal(asked, handler if handler is not None else signal.SIG_DFL)
        for number in heard[:1]:
            signal.raise_signal(number)


def _lock(held: contextlib.ExitStack, folder: Path) -> None:
    if fcntl is not None:
        number = os.open(folder, os.O_RDONLY)
        held.callback(os.close, number)  # which unlocks it
        fcntl.flock(number, fcntl.LOCK_EX)


def _replace(part: Path, path: Path, replaced: list[str]) -> None:
    try:
        os.replace(part, path)
    except OSError as error:
        needs = "a file that is not open elsewhere: close it and run again"
        if replaced:
            needs += f" ({', '.join(replaced)} of this run already in place)"
        raise OutputError(str(path), _reason(error), needs) from error


def _sweep(folder: Path) -> None:
    """Remove what a killed run left: parts of this computer whose process is gone."""
    with contextlib.suppress(OSError):
        for stray in folder.glob(f"{MARK}{_host()}-*"):
            owner = stray.name.removeprefix(f"{MARK}{_host()}-").partition("-")[0]
            if owner.isdigit() and not _alive(int(owner)):
                with contextlib.suppress(OSError):
                    stray.unlink()


def _host() -> str:
    """Name this computer in a few characters: a shared folder holds parts of others."""
    return f"{zlib.crc32(platform.node().encode()):08x}"


def _alive(process: int) -> bool:
    if process == os.getpid() or os.name == "nt":  # there, asking would stop the process
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _reason(error: OSError | ValueError) -> str:
    return (getattr(error, "strerror", None) or str(error)).lower()
