"""The faults that pcompare reports instead of a traceback.

``PCompareError``
    ├── ``InputError``    the user's form, TOML or ``--set``: every fault at once, with its place
    ├── ``TableError``    a row of ``reference_tables``: file, line and column
    ├── ``OutputError``   a folder or file that cannot be written
    └── ``UsageError``    the command line itself (exit status 2, all others 1)

A message says where, what was found and what is needed, then how to mend it.
"""

from __future__ import annotations

from collections.abc import Sequence

MOST_SHOWN = 100  # faults in one message: more than a form can lack


class PCompareError(Exception):
    """Any fault that is reported in one clear message; ``status`` is the exit status."""

    status = 1


class Fault:
    """One thing wrong at one place: ``where: found X; needs Y``.

    Written out, because every command starts here and making a dataclass takes its time.
    """

    __slots__ = ("found", "mend", "needs", "where")

    def __init__(self, *, where: str, found: str, needs: str, mend: str = "") -> None:
        self.where, self.found, self.needs, self.mend = where, found, needs, mend

    def __str__(self) -> str:
        """Give the fault as one line."""
        needs = f"; needs {self.needs}" if self.needs else ""
        mend = f". {self.mend}" if self.mend else ""
        return f"{self.where}: found {self.found}{needs}{mend}"


class InputError(PCompareError):
    """Every fault of one input file, in reading order; its message shows the first of very many."""

    def __init__(self, source: str, faults: Sequence[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        count = len(self.faults)
        head = f"{source}: {count} problem{'s' if count != 1 else ''}"
        told = [str(fault) for fault in self.faults[:MOST_SHOWN]]
        if count > MOST_SHOWN:
            told.append(f"and {count - MOST_SHOWN} more; mend these first and run again")
        super().__init__("\n  ".join([head, *told]))


class TableError(PCompareError):
    """A row of a reference table that cannot be used."""

    def __init__(self, file: str, line: int, column: str, found: str, needs: str) -> None:
        self.file, self.line, self.column = file, line, column
        super().__init__(f"{file}, line {line}, column '{column}': found {found}; needs {needs}")


class OutputError(PCompareError):
    """A document that cannot be written; nothing that stood there before is touched."""

    def __init__(self, where: str, found: str, needs: str) -> None:
        super().__init__(str(Fault(where=where, found=found, needs=needs)))


class UsageError(PCompareError):
    """A command line that cannot be understood."""

    status = 2


def shown(value: object, limit: int = 60) -> str:
    """Quote a found value for a message, on one line and cut to ``limit`` characters."""
    if value is None or value == "":
        return "nothing"
    text = value if isinstance(value, str) else repr(value)
    text = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    text = text if len(text) <= limit else text[: limit - 1] + "…"
    return f"'{text}'" if isinstance(value, str) else text
