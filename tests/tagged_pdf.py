"""Reads a tagged PDF from its bytes: what is marked on each page, and the tree that claims it."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field

import pypdf
from pypdf.generic import ArrayObject, ByteStringObject, DictionaryObject, IndirectObject

PAINTING = {b"f", b"F", b"f*", b"S", b"s", b"B", b"B*", b"b", b"b*", b"sh", b"Do", b"BI"}
SHOWING = {b"Tj", b"TJ", b"'", b'"'}


@dataclass
class Mark:
    """Content between BDC and EMC."""

    role: str
    number: int | None  # None for an artifact
    text: str = ""
    paths: int = 0


@dataclass
class Element:
    """A node of the structure tree, with the marks that it owns as (page, number)."""

    role: str
    path: tuple[str, ...]
    source: DictionaryObject
    marks: list[tuple[int, int]] = field(default_factory=list)
    kids: list[Element] = field(default_factory=list)
    order: list[object] = field(default_factory=list)  # marks and kids as they follow

    def walk(self):
        yield self
        for kid in self.kids:
            yield from kid.walk()

    @property
    def attributes(self):
        return self.source.get("/A", {})


class Tagged:
    """A document, read."""

    def __init__(self, data: bytes) -> None:
        self.reader = pypdf.PdfReader(io.BytesIO(data))
        self.pages = [list(_marks(self.reader, page)) for page in self.reader.pages]
        self._numbered = [
            {m.number: m for m in marks if m.number is not None} for marks in self.pages
        ]
        self.catalogue = self.reader.trailer["/Root"]
        self.root = self.catalogue["/StructTreeRoot"]
        self._numbers = {
            page.indirect_reference.idnum: i for i, page in enumerate(self.reader.pages)
        }
        self.tree = self._element(self.root["/K"], (), None)

    def elements(self, role=None):
        return [e for e in self.tree.walk() if role is None or e.role == role]

    def text(self, element):
        """Text of an element and all below it, in the order of the tree."""
        parts = []
        for item in element.order:
            if isinstance(item, Element):
                parts.append(self.text(item))
            else:
                page, number = item
                parts.append(self.by_number(page)[number].text)
        return " ".join(parts)

    def by_number(self, page):
        return self._numbered[page]

    def _element(self, source, path, page):
        source = source.get_object()
        if isinstance(source, ArrayObject):
            (source,) = (one.get_object() for one in source)
        role = source["/S"][1:]
        page = self._page(source, page)
        found = Element(role, (*path, role), source)
        kids = source.get("/K", ArrayObject())
        for kid in kids if isinstance(kids, ArrayObject) else [kids]:
            target = kid.get_object()
            if isinstance(target, int):
                item = (page, int(target))
                found.marks.append(item)
            elif target.get("/Type") == "/MCR":
                item = (self._page(target, page), int(target["/MCID"]))
                found.marks.append(item)
            elif target.get("/Type") == "/OBJR":
                continue
            else:
                assert isinstance(kid, IndirectObject)
                item = self._element(target, found.path, page)
                assert item.source.raw_get("/P").get_object() == source
                found.kids.append(item)
            found.order.append(item)
        return found

    def _page(self, source, page):
        return self._numbers[source.raw_get("/Pg").idnum] if "/Pg" in source else page


def _marks(reader, page):
    """Give what is marked on a page, and fail where anything is painted outside of marks."""
    fonts = {
        name: _letters(font.get_object()) for name, font in page["/Resources"]["/Font"].items()
    }
    mark, font, in_text = None, None, False
    operations = pypdf.generic.ContentStream(page["/Contents"], reader).operations
    for operands, operator in operations:
        if operator in (b"BDC", b"BMC"):
            assert mark is None, "marks inside marks"
            assert not in_text, "a mark that opens inside a text object"
            number = operands[1].get("/MCID") if operator == b"BDC" else None
            mark = Mark(operands[0][1:], number)
            assert (number is None) == (mark.role == "Artifact")
        elif operator == b"EMC":
            assert mark is not None and not in_text
            yield mark
            mark = None
        elif operator in (b"BT", b"ET"):
            in_text = operator == b"BT"
        elif operator == b"Tf":
            font = fonts[operands[0]]
        elif operator in SHOWING:
            assert operator == b"Tj" and mark is not None, ("text outside of marks", operands)
            mark.text += "".join(font[byte] for byte in _bytes(operands[0]))
        elif operator in PAINTING:
            assert mark is not None, ("painted outside of marks", operator)
            mark.paths += 1
        elif operator in (b"Td", b"T*", b"Tm") and mark is not None:
            mark.text += " " if mark.text and operator == b"T*" else ""
    assert mark is None


def _bytes(operand):
    return operand if isinstance(operand, ByteStringObject) else operand.original_bytes


def _letters(font):
    """Give the character of each byte of a font, from its map to Unicode."""
    source = font["/ToUnicode"].get_data().decode("latin-1")
    found = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", source, re.S):
        for code, text in re.findall(r"<(\w+)>\s*<(\w+)>", block):
            found[int(code, 16)] = bytes.fromhex(text).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", source, re.S):
        for low, _, texts in re.findall(r"<(\w+)>\s*<(\w+)>\s*\[(.*?)\]", block, re.S):
            for i, text in enumerate(re.findall(r"<(\w+)>", texts)):
                found[int(low, 16) + i] = bytes.fromhex(text).decode("utf-16-be")
        for low, high, text in re.findall(r"<(\w+)>\s*<(\w+)>\s*<(\w+)>", block):
            for i in range(int(high, 16) - int(low, 16) + 1):
                found[int(low, 16) + i] = chr(int(text, 16) + i)
    return found
