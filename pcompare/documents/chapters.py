"""Numbers of the memo's sections, once: headings and references to them never part."""

from __future__ import annotations

ALTERNATIVES, SALTS, REUSE, COMPARISON, MONEY, CHARTS, CHANGES, CAUTIONS = range(4, 12)
