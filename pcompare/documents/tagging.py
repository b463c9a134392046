"""A canvas that tags what is drawn, so that a screen reader can read the pages aloud in order.

Flowables say what they draw: ``canvas.marked(element)`` for content and ``canvas.artifact()`` for
what is only looked at (rules, running heads). When the document is saved the canvas writes the
tree of elements that PDF/UA-1 (ISO 14289-1) asks for, in the order in which they were drawn.

What is known only at the end, such as the number of pages, is drawn ``later`` at its place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from xml.sax.saxutils import escape

from pcompare.documents import fonts

# isort: split
from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import LinkAnnotation, PDFObject
from reportlab.pdfgen.canvas import Canvas

assert fonts.KNOWN  # the fonts are registered before reportlab copies its default font
rl_config.useA85 = 0  # letters for bytes cost time and a quarter of the size

LANGUAGE = "en"
PDF_VERSION = (1, 7)  # the standard that PDF/UA-1 rests on
HEADER = "/Type/Pagination/Subtype/Header"  # kinds of artifact
FOOTER = "/Type/Pagination/Subtype/Footer"
XMP = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<pdfuaid:part>1</pdfuaid:part>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
<xmp:CreatorTool>{creator}</xmp:CreatorTool>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>"""


class Element:
    """A node of the structure: its role, its alternative text and what it holds, in order.

    Parameters
    ----------
    role : str
        A standard structure type: ``P``, ``H2``, ``Table``, ``Figure`` ...
    alt : str
        What is read out in place of a figure.
    attributes : str
        Attributes as PDF prints them, for instance ``/O/Table/Scope/Column``.
    """

    __slots__ = ("alt", "attributes", "kids", "number", "parent", "role")

    def __init__(self, role: str, alt: str = "", attributes: str = "") -> None:
        self.role, self.alt, self.attributes = role, alt, attributes
        self.parent: Element | None = None
        self.kids: list[Element | tuple[int, int] | str] = []
        self.number = 0

    def add(self, kid: Element) -> Element:
        """Take an element in behind the others, and give it back."""
        kid.parent = self
        self.kids.append(kid)
        return kid

    def walk(self) -> Iterator[Element]:
        """Give this element and all below it, in reading order."""
        yield self
        for kid in self.kids:
            if isinstance(kid, Element):
                yield from kid.walk()


class TaggedCanvas(Canvas):
    """A canvas that keeps the structure of what is drawn on it."""

    _code: list[str]  # reportlab's: what is drawn on the page
    _doc: Any
    _absRect: Any
    _addAnnotation: Any
    _bookmarkReference: Any

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **{**more, "pdfVersion": PDF_VERSION})
        self.root = Element("Document")
        self.within = self.root  # takes in the elements that are drawn next
        self.is_marking = False  # inside marked content or an artifact
        self.places: dict[str, int] = {}  # the page of each bookmark
        self._marks: list[Element] = []  # owner of each marked content of this page
        self._pages: list[tuple[Any, int, list[Element]]] = []
        self._later: list[Callable[[TaggedCanvas], None]] = []
        self._links: list[tuple[str, Element]] = []

    # --- while drawing ------------------------------------------------------------------------

    @contextmanager
    def marked(self, element: Element) -> Iterator[None]:
        """Mark what is drawn as content of an element; inside other marks it belongs to those."""
        if self.is_marking:
            yield
            return
        if element.parent is None and element is not self.root:
            self.within.add(element)
        self.begin(element)
        yield
        self.end()

    @contextmanager
    def artifact(self, kind: str = "") -> Iterator[None]:
        """Mark what is drawn as something that is not read out."""
        self.begin_artifact(kind)
        yield
        self.end()

    def begin(self, element: Element) -> None:
        """Open marked content of an element."""
        number = len(self._marks)
        self._marks.append(element)
        element.kids.append((len(self._pages), number))
        self._code.append(f"/{element.role}<</MCID {number}>>BDC")
        self.is_marking = True

    def begin_artifact(self, kind: str = "") -> None:
        """Open an artifact."""
        self._code.append(f"/Artifact<<{kind}>>BDC" if kind else "/Artifact BMC")
        self.is_marking = True

    def end(self) -> None:
        """Close what is marked."""
        self._code.append("EMC")
        self.is_marking = False

    def later(self, draw: Callable[[TaggedCanvas], None]) -> None:
        """Leave a place for something that is drawn when all pages are known."""
        self._code.append(_place(len(self._later)))
        self._later.append(draw)

    def link(self, element: Element, told: str, target: str,
             rect: tuple[float, float, float, float]) -> None:  # fmt: skip
        """Lay a link to a bookmark over a part of the page, as part of an element."""
        name = f"Link{len(self._links)}"
        place = self._bookmarkReference(target)
        self._addAnnotation(_Link(self._absRect(rect, 1), told, place, Border="[0 0 0]", F=4), name)
        element.kids.append(f"Annot.{name}")
        self._links.append((name, element))

    @property
    def count(self) -> int:
        """Number of pages that are done."""
        return len(self._pages)

    # --- pages and the end --------------------------------------------------------------------

    def showPage(self) -> None:
        """Close the page and remember what was marked on it."""
        name = self._doc.thisPageName()
        super().showPage()
        page = self._doc.idToObject[name]
        number = self._doc.idToObjectNumberAndVersion[name][0]
        self._pages.append((page, number, self._marks))
        self._marks = []

    def save(self) -> None:
        """Fill in what was left for later, write the structure and close the document."""
        if self._code:
            self.showPage()
        self._fill_in()
        self._describe()
        self._write_structure()
        super().save()

    def _fill_in(self) -> None:
        drawn: dict[str, str] = {}
        for i, draw in enumerate(self._later):
            self.saveState()
            draw(self)
            self.restoreState()
            drawn[_place(i)] = "\n".join(self._code)
            self._code.clear()
        for page, _, _ in self._pages:
            if PLACE in page.stream:
                rows = page.stream.split("\n")
                page.stream = "\n".join(drawn.get(row, row) for row in rows)

    def _describe(self) -> None:
        """Say in the metadata what this is, and that it is meant for readers of every kind."""
        info, catalog = self._doc.info, self._doc.Catalog
        told = {name: escape(str(getattr(info, name)))
                for name in ("title", "author", "subject", "creator")}  # fmt: skip
        text = XMP.format(language=LANGUAGE, **told).encode()
        head = b"<</Type/Metadata/Subtype/XML/Length %d>>\nstream\n" % len(text)
        catalog.Metadata = Raw(head + text + b"\nendstream")
        catalog.MarkInfo = Raw(b"<</Marked true>>")

    def _write_structure(self) -> None:
        """Register every element as an object, and the way back from each mark to its element."""
        first = self._doc.objectcounter + 1  # the root of the tree
        elements = list(self.root.walk())
        for number, element in enumerate(elements, first + 2):
            element.number = number
        rows = [f"{i}[{' '.join(f'{e.number} 0 R' for e in marks)}]"
                for i, (_, _, marks) in enumerate(self._pages)]  # fmt: skip
        for i, (name, element) in enumerate(self._links, len(self._pages)):
            self._doc.idToObject[f"Annot.{name}"].otherkw["StructParent"] = i
            rows.append(f"{i} {element.number} 0 R")
        for i, (page, _, _) in enumerate(self._pages):
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = i, "/S"
        root = Raw(
            f"<</Type/StructTreeRoot/K {first + 2} 0 R/ParentTree {first + 1} 0 R"
            f"/ParentTreeNextKey {len(rows)}>>".encode()
        )
        self._doc.Catalog.StructTreeRoot = self._doc.Reference(root)
        self._doc.Reference(Raw(f"<</Nums[{chr(10).join(rows)}]>>".encode()))
        for element in elements:
            self._doc.Reference(Raw(self._written(element, first)))

    def _written(self, element: Element, root: int) -> bytes:
        """Print an element as a PDF object."""
        page, kids = -1, []
        for kid in element.kids:
            if isinstance(kid, Element):
                kids.append(f"{kid.number} 0 R")
            elif isinstance(kid, str):
                note = self._doc.idToObjectNumberAndVersion[kid][0]
                kids.append(f"<</Type/OBJR/Obj {note} 0 R>>")
            elif page in (-1, kid[0]):
                page = kid[0]
                kids.append(str(kid[1]))
            else:
                kids.append(f"<</Type/MCR/Pg {self._pages[kid[0]][1]} 0 R/MCID {kid[1]}>>")
        parts = [
            f"<</S/{element.role}/P {element.parent.number if element.parent else root} 0 R",
            f"/Pg {self._pages[page][1]} 0 R" if page >= 0 else "",
            f"/K[{' '.join(kids)}]" if kids else "",
            f"/A<<{element.attributes}>>" if element.attributes else "",
            f"/Alt<{element.alt.encode('utf-16').hex()}>" if element.alt else "",
            ">>",
        ]
        return "".join(parts).encode()


PLACE = "% drawn later "


def _place(number: int) -> str:
    return f"{PLACE}{number}"


class Raw(PDFObject):
    """An object that is printed already."""

    __RefOnly__ = 1  # reportlab's mark for an object that stands alone

    def __init__(self, printed: bytes) -> None:
        self.printed = printed

    def format(self, document: Any) -> bytes:
        """Give the bytes as they are."""
        return self.printed


class _Link(LinkAnnotation):
    """A link that knows its place in the structure."""

    permitted = (*LinkAnnotation.permitted, "StructParent")
