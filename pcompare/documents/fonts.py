"""The memo's two fonts, registered before any layout module of reportlab is imported.

Both cuts hold the same characters: Latin, Greek and Cyrillic. Other characters print as □.
"""

from __future__ import annotations

import functools
import importlib.util
import unicodedata
from pathlib import Path

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from pcompare.errors import OutputError

TEXT, STRONG = "PCompareText", "PCompareStrong"
FILES = {TEXT: "SourceSansPro-Regular.ttf", STRONG: "SourceSansPro-Semibold.ttf"}
BOX = "□"
EMPTY_SQUARE = 0x2610  # a glyph of the font that looks like the box, which it lacks
# Spaces that the font lacks, and the one of the same width or near it that it has.
SPACES = dict.fromkeys(map(ord, "\u2009\u200a\u2006\u2005\u2008"), "\u202f")


def folder() -> Path:
    """Find the font files of the package font-source-sans-pro."""
    found = importlib.util.find_spec("font_source_sans_pro")
    if found is None or found.origin is None:
        raise OutputError("fonts", "no package font-source-sans-pro", "it, to print the memo")
    return Path(found.origin).parent / "files"


def _register() -> frozenset[int]:
    known: list[set[int]] = []
    for name, file in FILES.items():
        font = TTFont(name, str(folder() / file))
        glyphs = font.face.charToGlyph
        glyphs.setdefault(ord(BOX), glyphs[EMPTY_SQUARE])
        pdfmetrics.registerFont(font)
        known.append(set(glyphs))
    pdfmetrics.registerFontFamily(TEXT, normal=TEXT, bold=STRONG, italic=TEXT, boldItalic=STRONG)
    # Layout modules copy these on import; an unembedded Helvetica would stay in the file.
    rl_config.canvas_basefontname = TEXT
    rl_config.defaultGraphicsFontName = TEXT
    return frozenset(set.intersection(*known))


KNOWN = _register()


@functools.lru_cache(maxsize=1 << 14)
def printable(text: str, limit: int = 0) -> str:
    """Make text that the fonts can print, on one line: control characters go, unknown ones box.

    Parameters
    ----------
    text : str
    limit : int
        Longest text, cut with an ellipsis; 0 for no limit.

    Returns
    -------
    str
    """
    joined = "".join(map(_without_control, unicodedata.normalize("NFC", text)))
    one_line = " ".join(joined.split(" ")).translate(SPACES)
    while "  " in one_line:
        one_line = one_line.replace("  ", " ")
    shown = "".join(c if ord(c) in KNOWN else BOX for c in one_line).strip(" ")
    return shown if not limit or len(shown) <= limit else shown[: limit - 1].rstrip() + "…"


def lacks(text: str) -> bool:
    """Tell whether some character of a text cannot be printed."""
    return BOX in printable(text) and BOX not in text


def _without_control(character: str) -> str:
    kind = unicodedata.category(character)
    if character in "\t\n\r" or kind in ("Zl", "Zp"):
        return " "
    return "" if kind in ("Cc", "Cf") else character


def width(text: str, size: float, font: str = TEXT) -> float:
    """Width of printed text in points."""
    return float(pdfmetrics.stringWidth(text, font, size))
