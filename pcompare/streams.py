"""Standard output and error as they are found: of few letters, full, closed, or read by nobody."""

from __future__ import annotations

import codecs
import os
import sys

# What a terminal of few letters shows instead, where taking a letter apart does not tell.
PLAIN = {
    "−": "-", "–": "-", "—": "-", "…": "...", "→": "->", "≤": "<=", "≥": ">=", "×": "x", "·": ".",
    "°": "deg", "µ": "u", "‘": "'", "’": "'", "“": '"', "”": '"', "Δ": "d", "±": "+-",
}  # fmt: skip


def prepare() -> None:
    """Let output go nowhere where the caller closed it, and let no letter stop it."""
    codecs.register_error("pcompare.plain", plain)
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # or a document would get its number, and messages into it
            nowhere = os.open(os.devnull, os.O_WRONLY)
            setattr(sys, name, os.fdopen(nowhere, "w", encoding="utf-8"))
        stream = getattr(sys, name)
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="pcompare.plain")


def plain(error: UnicodeError) -> tuple[str, int]:
    """Replace letters that an encoding lacks: ``20 000 m³/d`` stays a number with its unit."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    letters = error.object[error.start : error.end]
    return "".join(map(_instead, letters)), error.end


def _instead(letter: str) -> str:
    if letter in PLAIN:
        return PLAIN[letter]
    import unicodedata  # here, because few terminals need it

    parts = unicodedata.normalize("NFKD", letter)
    known = "".join(part for part in parts if part.isascii() and part.isprintable())
    return known or "?"


def silence() -> None:
    """Send what is left of standard output nowhere: it would fail again as Python ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, sys.stdout.fileno())
    except (OSError, ValueError):
        return  # one without a number of its own
    finally:
        os.close(nowhere)
