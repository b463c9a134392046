"""Compare metal salt, biological and combined phosphorus removal for one plant and one limit."""

from __future__ import annotations

TYPE_CHECKING = False  # as of typing, which takes a third of the time of a command's start

__version__ = "0.1.0"

__all__ = ["Comparison", "Dossier", "Inputs", "compare", "dossier", "read", "targets"]

_HOMES = {
    "Comparison": "records",
    "Dossier": "findings",
    "Inputs": "records",
    "compare": "designing",
    "dossier": "run",
    "targets": "run",
    "read": "inputs.reader",
}

if TYPE_CHECKING:
    from typing import Any

    from pcompare.designing import compare
    from pcompare.findings import Dossier
    from pcompare.inputs.reader import read
    from pcompare.records import Comparison, Inputs
    from pcompare.run import dossier, targets


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module 'pcompare' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(f"pcompare.{_HOMES[name]}"), name)
