"""A spreadsheet program without its screen: cells set, cached values removed, recalculated."""

from __future__ import annotations

import functools
import io
import re
import subprocess
import zipfile
from pathlib import Path

FORCED = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""
CELL = re.compile(r'<c r="([A-Z]+\d+)"([^>]*?)(?:/>|>(.*?)</c>)', re.DOTALL)
VALUE = re.compile(r"<v>(.*?)</v>")


class Book:
    """The sheets of a workbook as the text they are stored in."""

    def __init__(self, data: bytes) -> None:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            self.parts = {name: archive.read(name) for name in archive.namelist()}
        names = re.findall(r'<sheet name="(.*?)" sheetId="\d+"[^>]*?r:id="(.*?)"',
                           self.parts["xl/workbook.xml"].decode())  # fmt: skip
        relations = self.parts["xl/_rels/workbook.xml.rels"].decode()
        paths = {}
        for tag in re.findall(r"<Relationship [^>]*>", relations):
            found = dict(re.findall(r'(\w+)="(.*?)"', tag))
            paths[found["Id"]] = "xl/" + found["Target"].removeprefix("/xl/")
        self.sheets = {name.replace("&apos;", "'"): paths[key] for name, key in names}
        self.texts: list[str] = []
        if "xl/sharedStrings.xml" in self.parts:
            items = re.findall(r"<si>(.*?)</si>", self.parts["xl/sharedStrings.xml"].decode(),
                               re.DOTALL)  # fmt: skip
            self.texts = ["".join(re.findall(r"<t[^>]*>(.*?)</t>", i, re.DOTALL)) for i in items]

    @functools.cache  # noqa: B019 - a book lives as long as its test
    def values(self, sheet: str) -> dict[str, float | str]:
        """Give the value of every cell that has one; an error of the program is its text."""
        text = self.parts[self.sheets[sheet]].decode()
        found: dict[str, float | str] = {}
        for cell, attributes, inside in CELL.findall(text):
            value = VALUE.search(inside)
            if value is None:
                continue
            kind = re.search(r'\bt="(\w+)"', attributes)
            if kind is None or kind.group(1) in ("n", "b"):
                found[cell] = float(value.group(1))
            elif kind.group(1) == "s":
                found[cell] = self.texts[int(value.group(1))]
            else:
                found[cell] = value.group(1)
        return found

    def formulas(self, sheet: str) -> dict[str, str]:
        """Give every formula as it stands in the file, that of a row of months once."""
        text = self.parts[self.sheets[sheet]].decode()
        return dict(re.findall(r'<c r="([A-Z]+\d+)"[^>]*><f[^>]*>([^<]+)</f>', text))

    def set(self, sheet: str, numbers: dict[str, float]) -> None:
        """Write numbers into cells that hold numbers."""
        left = dict(numbers)

        def written(found: re.Match[str]) -> str:
            number = left.pop(found.group(2), None)
            return found.group(0) if number is None else f"{found.group(1)}<v>{number!r}</v>"

        text = self.parts[self.sheets[sheet]].decode()
        text = re.sub(r'(<c r="([A-Z]+\d+)"[^>]*>)<v>[^<]*</v>', written, text)
        assert not left, f"{sheet}: {sorted(left)} are no cells with a number"
        self.parts[self.sheets[sheet]] = text.encode()

    def without_values(self) -> bytes:
        """Give the file with the cached value of every formula removed."""
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in self.parts.items():
                if name.startswith("xl/worksheets/sheet"):
                    data = re.sub(rb"(</f>|<f [^>]*/>)<v>[^<]*</v>", rb"\1", data)
                archive.writestr(name, data)
        return out.getvalue()


def recalculated(program: str, folder: Path, files: dict[str, bytes]) -> dict[str, Book]:
    """Recalculate several workbooks from scratch, in one run of the program."""
    profile = folder / "profile" / "user"
    profile.mkdir(parents=True)
    (profile / "registrymodifications.xcu").write_text(FORCED, encoding="utf-8")
    given, made = folder / "given", folder / "made"
    given.mkdir()
    paths = []
    for name, data in files.items():
        paths.append(given / f"{name}.xlsx")
        paths[-1].write_bytes(data)
    done = subprocess.run(
        [program, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless",
         "--norestore", "--nologo", "--nolockcheck", "--convert-to", "xlsx",
         "--outdir", str(made), *map(str, paths)],
        capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    # The program ends with 0 even where it failed: only the files tell.
    missing = [name for name in files if not (made / f"{name}.xlsx").is_file()]
    assert not missing, f"not recalculated: {missing}\n{done.stdout}\n{done.stderr}"
    return {name: Book((made / f"{name}.xlsx").read_bytes()) for name in files}
