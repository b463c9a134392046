"""Documents that cost nothing to make, for tests that are about their writing."""

from __future__ import annotations

from pcompare import run
from pcompare.documents import brief, calculation_book, memo, results_json

NEW = b"new"


def documents(monkeypatch, pdf=NEW, book=NEW, results=NEW):
    """Put given bytes in the place of every document; the comparison alone is worked out."""
    point = run.compare

    class Made:
        def __init__(self, inputs):
            self.comparison = point(inputs)

    monkeypatch.setattr(run, "dossier", lambda inputs, *_, **__: Made(inputs))
    for module, name, content in (
        (memo, "memo", pdf), (brief, "brief", pdf), (calculation_book, "book", book),
        (results_json, "document", results),
    ):  # fmt: skip
        monkeypatch.setattr(module, name, lambda *_, content=content, **__: content)
