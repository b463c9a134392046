"""Forms for the tests, spoiled part by part: what spreadsheet programs and people make of them."""

from __future__ import annotations

import functools
import io
import re
import zipfile
from xml.sax.saxutils import escape

from pcompare.inputs import layout, schema

from .plants import even_form


def place_of(name):
    """Give sheet and row of a field in the form."""
    fields = schema.sheets()[schema.fields()[name].sheet]
    row = next(i for i, field in enumerate(fields, layout.FIRST_ROW) if field.name == name)
    return fields[0].sheet, row


def month_row(name):
    """Give the row of a field on the sheet of months."""
    return layout.FIRST_ROW + [field.name for field in schema.monthly()].index(name)


def parts_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def zipped(parts, method=zipfile.ZIP_DEFLATED):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


@functools.cache
def example_parts():
    """Give the parts of the form filled with the example, without its months."""
    return parts_of(even_form())


def part_of(sheet):
    """Name the part that holds a sheet."""
    names = re.findall(r'<sheet [^>]*name="([^"]+)"', example_parts()["xl/workbook.xml"].decode())
    return f"xl/worksheets/sheet{names.index(sheet) + 1}.xml"


# Kinds of a cell: its type, and what stands in it.


def text(value):
    return "inlineStr", f"<is><t>{escape(value)}</t></is>"


def number(value):
    return "n", f"<v>{value}</v>"


def wrong(value):
    return "e", f"<v>{value}</v>"


def logical(value):
    return "b", f"<v>{int(value)}</v>"


def formula(code, stored=None, kind="n"):
    return kind, f"<f>{escape(code)}</f>" + ("<v/>" if stored is None else f"<v>{stored}</v>")


EMPTY = ("n", "")


def form_with(cells, more=None):
    """Give the form with some cells replaced, and with some parts changed by functions."""
    parts = dict(example_parts())
    for (sheet, where), (kind, content) in cells.items():
        name = part_of(sheet)
        cell = re.compile(rf'(<c r="{where}"[^>]*?) t="\w+">.*?</c>'.encode())
        new = f' t="{kind}">{content}</c>'.encode()
        parts[name], found = cell.subn(lambda old, new=new: old[1] + new, parts[name])
        assert found == 1, (sheet, where)
    for name, change in (more or {}).items():
        before = parts.get(name, b"")
        parts[name] = change(before)
        assert parts[name] != before, name
    return zipped(parts)


def after(mark, new):
    """Give the change that puts something behind the first place of a mark."""
    return lambda part: part.replace(mark, mark + new, 1)


def blown_up(name, size):
    """Give the form with a part of so many zeros, which pack to next to nothing."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for other, content in example_parts().items():
            if other != name:
                archive.writestr(other, content)
        with archive.open(name, "w") as part:
            for _ in range(size // 1_000_000):
                part.write(b"\0" * 1_000_000)
    return out.getvalue()
