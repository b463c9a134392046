"""What an .xlsx file unpacks to, bounded and looked through before any of it is understood.

A workbook is a zip of XML parts, and either can be made to grow without end: a zip by what it
claims to hold, XML by entities that stand for one another or for what lies elsewhere, and both by
sheer number. No spreadsheet program writes a document type, so none is taken.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from typing import NoReturn
from xml.parsers import expat

from pcompare.errors import Fault, InputError, shown

LARGEST_WHOLE = 50_000_000  # bytes of all parts unpacked
MOST_PARTS = 400
MOST_ELEMENTS = 300_000  # over all parts: about seven times what a form holds
OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the container of .xls and of passwords
AS_SAVED = "a file as a spreadsheet program saves it"
FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")


def check(data: bytes, name: str) -> bool:
    """Refuse what no form can be, and tell whether there may be formulas in it.

    Raises
    ------
    InputError
        No zip, a damaged one, one that unpacks to too much, or XML with a document type.
    """
    if data.startswith(OLD_OR_LOCKED):
        found = "an old .xls file, or one locked by a password"
        refuse(name, found, "an .xlsx file without a password")
    elements, formulas = 0, False
    for part, content in _parts(data, name):
        elements += content.count(b"<")  # in UTF-16 too
        if elements > MOST_ELEMENTS:
            found = f"more than {MOST_ELEMENTS:,} elements of XML inside".replace(",", " ")
            refuse(name, found, "a form alone: delete other sheets, and empty rows with a format")
        if _has_document_type(content):
            refuse(name, "a document type (DOCTYPE)", AS_SAVED, f"part {shown(part)}")
        formulas = formulas or b"\0" in content or FORMULA.search(content) is not None
    return formulas


def refuse(name: str, found: str, needs: str, part: str = "") -> NoReturn:
    """Refuse a whole file, for a part of it where that is known."""
    where = f"{name}, {part}" if part else name
    raise InputError(name, [Fault(where=where, found=found, needs=needs)])


def _parts(data: bytes, name: str) -> Iterator[tuple[str, bytes]]:
    """Unpack part by part, when the directory says that all of them are not too much."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except Exception:  # a damaged directory fails in many ways
        refuse(name, "no workbook inside", "a whole .xlsx file")
    with archive:
        parts = archive.infolist()
        size = sum(part.file_size for part in parts)
        if size > LARGEST_WHOLE or len(parts) > MOST_PARTS:
            found = f"{len(parts)} parts that unpack to {size / 1e6:.0f} MB"
            refuse(name, found, f"at most {MOST_PARTS} parts and 50 MB")
        for part in parts:
            where = f"part {shown(part.filename)}"
            if part.flag_bits & 1:
                needs = "an .xlsx file without a password"
                refuse(name, "a part locked by a password", needs, where)
            if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                refuse(name, "a packing that workbooks do not use", AS_SAVED, where)
            try:
                content = archive.read(part)  # never more than its size in the directory
            except Exception:  # a wrong sum, a wrong size, a wrong place
                refuse(name, "a damaged part", f"{AS_SAVED}, whole", where)
            yield part.filename, content


class _Found(Exception):
    """Ends the reading of a part."""


def _has_document_type(content: bytes) -> bool:
    """Look at what stands before the first element, in whatever encoding it is written."""

    def stop(*_: object) -> NoReturn:
        raise _Found

    def found(*_: object) -> NoReturn:
        raise _Found(True)

    reader = expat.ParserCreate()
    reader.StartDoctypeDeclHandler = found
    reader.StartElementHandler = stop
    try:
        reader.Parse(content, True)
    except _Found as end:
        return bool(end.args)
    except (expat.ExpatError, ValueError, LookupError):  # no XML, so no document type either
        return False
    return False
