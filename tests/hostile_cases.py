"""Input that is broken, hostile or only a slip: how to make it, and what must be said about it.

Each case is made in an empty folder. What is said begins with the place and what was found there,
and names what is needed. ``heavy`` ones would take all memory or hours, so they run apart, under
limits.
"""

from __future__ import annotations

import io
import os
import re
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pcompare.inputs import archive

from .forms import (
    EMPTY,
    after,
    blown_up,
    example_parts,
    form_with,
    formula,
    logical,
    month_row,
    number,
    part_of,
    place_of,
    text,
    wrong,
    zipped,
)
from .plants import even_text

FLOW = "Plant!C4 (Average flow): found "
NEEDS_FLOW = "needs a number from 10 to 2 000 000 m³/d"
OPEN_AND_SAVE = "needs a value: open the file in a spreadsheet program, save it and run again"
UNSTORED = "a formula without a stored value"
AS_SAVED = "needs a file as a spreadsheet program saves it"
BOMB = 1_200_000_000  # bytes: more than a heavy case may take
LONG = "x" * 100_000
CAKE_ROW = place_of("prices.cake")[1]
CAKE_LABEL = "(Cake hauled and placed)"
CAKE_ENDS = f"Prices!D{CAKE_ROW}:E{CAKE_ROW}, range {CAKE_LABEL}: found "
TP_ROW = month_row("influent.tp")
TP_MONTHS = f"Months!C{TP_ROW}:N{TP_ROW}"
MONTHS = "CDEFGHIJKLMN"


@dataclass(frozen=True)
class Case:
    name: str
    make: Callable[[Path], list[str]]  # gives the arguments of the command
    said: str  # begins the line of the fault: where, and what was found
    needs: str  # stands in the same line
    faults: int = 1
    heavy: bool = False

    def __str__(self):
        return self.name


def file(name, data):
    def make(folder):
        (folder / name).write_bytes(data() if callable(data) else data)
        return [str(folder / name)]

    return make


def workbook(name, said, needs, cells, more=None, **options):
    """Give a case of the form with some cells or parts changed."""
    return Case(name, file("plant.xlsx", lambda: form_with(cells, more)), said, needs, **options)


def flow(name, cell, found):
    """Give a case of what may stand in place of a number."""
    return workbook(name, f"{FLOW}{found}; ", NEEDS_FLOW, {("Plant", "C4"): cell})


def toml(name, said, needs, lines, **options):
    """Give a case of the example as TOML with some lines behind it; LINE is where they say so."""
    before = even_text().splitlines()
    data = "\n".join([*before, *lines]) + "\n"
    return Case(name, file("plant.toml", data.encode()),
                said.replace("LINE", str(len(before) + len(lines))), needs, **options)  # fmt: skip


def setting(name, said, needs, *pairs, **options):
    return Case(name, lambda _: [a for pair in pairs for a in ("--set", pair)], said, needs,
                **options)  # fmt: skip


def flow_line(name, line, found):
    """Give a case of what may stand in TOML in place of a number."""
    kept = [text for text in even_text().splitlines() if not text.startswith("average =")]
    place = kept.index("[flow]") + 1
    data = "\n".join([*kept[:place], line, *kept[place:]])
    said = f"flow.average, line {place + 1} (Average flow): found {found}; "
    return Case(name, file("plant.toml", data.encode()), said, NEEDS_FLOW)


def first_line(name, said, needs, line):
    """Give a case of the example as TOML with one line before it."""
    return Case(name, file("plant.toml", f"{line}\n{even_text()}".encode()), said, needs)


def folder_as(name):
    def make(folder):
        (folder / name).mkdir()
        return [str(folder / name)]

    return make


def pipe_as(name):
    def make(folder):
        os.mkfifo(folder / name)
        return [str(folder / name)]

    return make


def document_type(entity, encoding="utf-8"):
    """Give the change that puts a document type with an entity before a part, and uses it."""

    def change(part):
        body = part.decode("utf-8")
        body = body[body.index("?>") + 2 :] if body.startswith("<?xml") else body
        head = f'<?xml version="1.0" encoding="{encoding}"?><!-- - -->\n<!DOCTYPE a [{entity}]>'
        return (head + body.replace("Average flow", "&e;", 1)).encode(encoding)

    return change


def growing(levels=12):
    first = '<!ENTITY e0 "ten letters">'
    rest = [f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, levels)]
    return first + "".join(rest) + f'<!ENTITY e "&e{levels - 1};">'


def lying():
    """Give a zip whose directory says that a part is small."""
    name = part_of("Plant")
    data = bytearray(blown_up(name, BOMB))
    start = data.rindex(b"PK\x01\x02", 0, data.rindex(name.encode()))
    data[start + 24 : start + 28] = len(example_parts()[name]).to_bytes(4, "little")
    return bytes(data)


def damaged():
    data = bytearray(form_with({}))
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        start = parts.getinfo(part_of("Water")).header_offset
    data[start + 200] ^= 0xFF
    return bytes(data)


def locked():
    data = bytearray(form_with({}))
    start = data.rindex(b"PK\x01\x02")
    data[start + 8] |= 1
    return bytes(data)


def shared_strings(content):
    head = b'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
    kind = (
        b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-'
        b'officedocument.spreadsheetml.sharedStrings+xml"/>'
    )
    return {
        "xl/sharedStrings.xml": lambda _: head + content + b"</sst>",
        "[Content_Types].xml": lambda part: part.replace(b"</Types>", kind + b"</Types>"),
    }


def renamed(sheet, new):
    return {"xl/workbook.xml": lambda part: part.replace(f'name="{sheet}"'.encode(),
                                                         f'name="{new}"'.encode())}  # fmt: skip


def hidden(sheet):
    found = re.compile(rf'(name="{sheet}"[^>]*?)state="visible"'.encode())
    return {"xl/workbook.xml": lambda part: found.sub(rb'\1state="veryHidden"', part)}


NO_FORM = "needs a .xlsx form or a .toml file"
FILES = [
    Case("missing file", lambda f: [str(f / "none.xlsx")],
         "none.xlsx: found no such file or directory; ", "needs a file that can be read"),
    Case("a name of 300 letters", lambda f: ["n" * 300 + ".toml"],
         "n" * 199 + "…: found file name too long; ", "needs a file that can be read"),
    Case("folder as form", folder_as("plant.xlsx"), "plant.xlsx: found a folder; ", "needs a file"),
    Case("folder as toml", folder_as("plant.toml"), "plant.toml: found a folder; ", "needs a file"),
    Case("pipe as form", pipe_as("plant.xlsx"), "plant.xlsx: found a device or pipe; ",
         "needs a file"),
    Case("empty form", file("plant.xlsx", b""), "plant.xlsx: found an empty file; ",
         "needs a form or a TOML file with fields in it"),
    Case("empty toml", file("plant.toml", b""), "plant.toml: found an empty file; ",
         "needs a form or a TOML file with fields in it"),
    Case("old ending", file("plant.xls", b"x"), "plant.xls: found '.xls'; ",
         f"{NO_FORM}. Save it as .xlsx in the spreadsheet program"),
    Case("another program's ending", file("plant.ods", b"x"), "plant.ods: found '.ods'; ",
         f"{NO_FORM}. Save it as .xlsx in the spreadsheet program"),
    Case("no ending", file("plant", b"x"), "plant: found a name without an ending; ", NO_FORM),
    Case("picture", file("plant.png", b"\x89PNG"), "plant.png: found '.png'; ", NO_FORM),
    Case("form of 21 MB", file("plant.xlsx", lambda: b"PK" * 10_500_000),
         "plant.xlsx: found 21.0 MB; ", "needs at most 20 MB"),
    Case("toml of 1.1 MB", file("plant.toml", lambda: b"#" * 1_100_000),
         "plant.toml: found 1.1 MB; ", "needs at most 1 MB"),
    Case("old .xls inside", file("plant.xlsx", archive.OLD_OR_LOCKED + b"\0" * 512),
         "plant.xlsx: found an old .xls file, or one locked by a password; ",
         "needs an .xlsx file without a password"),
    Case("csv inside", file("plant.xlsx", b"name,value\nflow.average,3\n"),
         "plant.xlsx: found no workbook inside; ", "needs a whole .xlsx file"),
    Case("rubbish inside", file("plant.xlsx", bytes(range(256)) * 40),
         "plant.xlsx: found no workbook inside; ", "needs a whole .xlsx file"),
    Case("half a form", file("plant.xlsx", lambda: form_with({})[:50_000]),
         "plant.xlsx: found no workbook inside; ", "needs a whole .xlsx file"),
    Case("form without its last letter", file("plant.xlsx", lambda: form_with({})[:-1]),
         "plant.xlsx: found no workbook inside; ", "needs a whole .xlsx file"),
    Case("zip of something else", file("plant.xlsx", lambda: zipped({"a.txt": "hello"})),
         "plant.xlsx: found a workbook that cannot be read (", AS_SAVED),
    Case("damaged part", file("plant.xlsx", damaged),
         f"plant.xlsx, part '{part_of('Water')}': found a damaged part; ", AS_SAVED),
    Case("locked part", file("plant.xlsx", locked),
         "plant.xlsx, part '", "needs an .xlsx file without a password"),
    Case("unusual packing",
         file("plant.xlsx", lambda: zipped(example_parts(), zipfile.ZIP_LZMA)),
         "plant.xlsx, part 'docProps/app.xml': found a packing that workbooks do not use; ",
         AS_SAVED),
    Case("500 parts", file("plant.xlsx", lambda: zipped({f"{i}.xml": b"" for i in range(500)})),
         "plant.xlsx: found 500 parts that unpack to 0 MB; ", "needs at most 400 parts and 50 MB"),
    Case("zip that unpacks to more than there is",
         file("plant.xlsx", lambda: blown_up("xl/media/big.bin", BOMB)),
         "plant.xlsx: found 26 parts that unpack to 1201 MB; ",
         "needs at most 400 parts and 50 MB", heavy=True),
    Case("directory that lies", file("plant.xlsx", lying),
         f"plant.xlsx, part '{part_of('Plant')}': found a damaged part; ", AS_SAVED, heavy=True),
]  # fmt: skip

DOCTYPE = "found a document type (DOCTYPE); "
XML = [
    workbook("entity that names a file",
             f"plant.xlsx, part '{part_of('Plant')}': {DOCTYPE}", AS_SAVED, {},
             {part_of("Plant"): document_type('<!ENTITY e SYSTEM "file:///etc/passwd">')}),
    workbook("entity that names an address",
             f"plant.xlsx, part '{part_of('Plant')}': {DOCTYPE}", AS_SAVED, {},
             {part_of("Plant"): document_type('<!ENTITY e SYSTEM "http://127.0.0.1:9/x">')}),
    workbook("entity in UTF-16",
             f"plant.xlsx, part '{part_of('Plant')}': {DOCTYPE}", AS_SAVED, {},
             {part_of("Plant"): document_type('<!ENTITY e SYSTEM "/etc/passwd">', "utf-16")}),
    workbook("outside document type of the workbook",
             f"plant.xlsx, part 'xl/workbook.xml': {DOCTYPE}", AS_SAVED, {},
             {"xl/workbook.xml": lambda p: b'<!DOCTYPE a SYSTEM "http://127.0.0.1:9/a.dtd">' + p}),
    workbook("outside document type of relations",
             f"plant.xlsx, part '_rels/.rels': {DOCTYPE}", AS_SAVED, {},
             {"_rels/.rels": lambda p: b'<!DOCTYPE a PUBLIC "a" "a.dtd">' + p}),
    workbook("entities that grow to 1 TB",
             f"plant.xlsx, part '{part_of('Plant')}': {DOCTYPE}", AS_SAVED, {},
             {part_of("Plant"): document_type(growing())}, heavy=True),
    workbook("entities that grow among styles",
             f"plant.xlsx, part 'xl/styles.xml': {DOCTYPE}", AS_SAVED, {},
             {"xl/styles.xml": document_type(growing())}, heavy=True),
    workbook("broken XML",
             "plant.xlsx, sheet 'Plant': found a workbook that cannot be read (", AS_SAVED, {},
             {part_of("Plant"): lambda p: p.replace(b"</row>", b"</raw>", 1)}),
    workbook("no workbook part",
             "plant.xlsx: found a workbook that cannot be read (", AS_SAVED, {},
             {"xl/workbook.xml": lambda _: b""}),
    workbook("9 million strings",
             f"plant.xlsx: found more than {archive.MOST_ELEMENTS // 1000} 000 elements of XML",
             "needs a form alone: delete other sheets, and empty rows with a format", {},
             shared_strings(b"<si/>" * 9_000_000), heavy=True),
    workbook("5 million styles",
             f"plant.xlsx: found more than {archive.MOST_ELEMENTS // 1000} 000 elements of XML",
             "needs a form alone", {},
             {"xl/styles.xml": after(b"<cellXfs", b'><xf/' * 5_000_000)}, heavy=True),
    workbook("3 million cells",
             f"plant.xlsx: found more than {archive.MOST_ELEMENTS // 1000} 000 elements of XML",
             "needs a form alone", {},
             {part_of("Plant"): after(b"<sheetData>", b'<row r="900">' + b"<c/>" * 3_000_000
                                      + b"</row>")}, heavy=True),
]  # fmt: skip

AS_WRITTEN = "needs the sheet as `pcompare form` writes it"
SHEETS = [
    workbook("renamed sheet", "Water: found no such sheet, but 'Waters'; ", AS_WRITTEN, {},
             renamed("Water", "Waters")),
    workbook("sheet renamed beyond all likeness", "Water: found no such sheet; ", AS_WRITTEN, {},
             renamed("Water", "水 🦆")),
    workbook("first sheet renamed", "Read me: found no such sheet; ",
             "needs the first sheet, which names the units", {}, renamed("Read me", "About")),
    workbook("other units", "Read me!B4 (Units of this form): found 'metric'; ", "needs si or us",
             {("Read me", "B4"): text("metric")}),
    workbook("units as a formula", f"Read me!B4 (Units of this form): found {UNSTORED}; ",
             OPEN_AND_SAVE, {("Read me", "B4"): formula('"si"')}),
    workbook("a row twice", "Plant!K8 (Name): found 'flow.average' again, as in row 4; ",
             "needs each once", {("Plant", "K8"): text("flow.average")}, faults=2),
    workbook("a name with a slip", "Plant!K4 (Name): found 'flow.averge'; ",
             "needs a field name of this sheet, such as flow.average",
             {("Plant", "K4"): text("flow.averge")}, faults=2),
    workbook("a name of 100 000 letters", f"Plant!K4 (Name): found '{'x' * 59}…'; ",
             "needs a field name of this sheet", {("Plant", "K4"): text(LONG)}, faults=2),
    workbook("a name as a formula", f"Plant!K4 (Name): found {UNSTORED}; ", OPEN_AND_SAVE,
             {("Plant", "K4"): formula('"flow.average"')}, faults=2),
    workbook("a merged area over a field", "Plant!C4 (Average flow): found nothing; ", NEEDS_FLOW,
             {("Plant", "C4"): EMPTY},
             {part_of("Plant"): after(b"</sheetData>", b'<mergeCells count="1"><mergeCell '
                                      b'ref="B4:C4"/></mergeCells>')}),
    workbook("a slip in a hidden row", FLOW + "'lots'; ", NEEDS_FLOW,
             {("Plant", "C4"): text("lots")},
             {part_of("Plant"): lambda p: p.replace(b'<row r="4"', b'<row r="4" hidden="1"')}),
    workbook("a slip on a hidden sheet", FLOW + "'lots'; ", NEEDS_FLOW,
             {("Plant", "C4"): text("lots")},
             hidden("Plant")),
]  # fmt: skip

CELLS = [
    flow("a word", text("lots"), "'lots'"),
    flow("a number with its unit", text("12 mg/L"),
         "'12 mg/L' (write the number alone; its unit is fixed)"),
    flow("a decimal comma", text("12,5"),
         "'12,5' (a comma; write a decimal point, and nothing between thousands)"),
    flow("a comma between thousands", text("20,000"),
         "'20,000' (a comma; write a decimal point, and nothing between thousands)"),
    flow("NaN as text", text("NaN"), "'NaN'"),
    flow("infinity as text", text("-inf"), "'-inf'"),
    flow("1e308", number("1e308"), "1e+308"),
    flow("1e999", text("1e999"), "'1e999' (too large)"),
    flow("full-width digits", text("２００００"), "'２００００'"),
    flow("Arabic digits", text("٢٠٠٠٠"), "'٢٠٠٠٠'"),
    flow("a true cell", logical(True), "the logical value true"),
    flow("an error cell", wrong("#DIV/0!"), "the error #DIV/0!"),
    flow("an error of a lost reference", wrong("#REF!"), "the error #REF!"),
    flow("a formula with an error stored", formula("1/0", "#DIV/0!", "e"), "the error #DIV/0!"),
    flow("a formula with a text stored", formula('"a"', "a", "str"), "'a'"),
    flow("a negative number", number("-20000"), "−20 000 m³/d"),
    flow("zero", number("0"), "0 m³/d"),
    flow("right-to-left text", text("עשרים"), "'עשרים'"),
    flow("a turning mark", text("12\u202e34"), "'12 34'"),
    flow("a picture of a number", text("5️⃣ 🦆"), "'5️⃣ 🦆'"),
    flow("100 000 letters", text(LONG), f"'{'x' * 59}…'"),
    flow("100 000 digits", text("9" * 100_000), f"'{'9' * 59}…' (too large)"),
    flow("markup", text('<img src="/etc/passwd">'), "'<img src=\"/etc/passwd\">'"),
    workbook("a date for a number", FLOW + "the date 2026-03-31; ", NEEDS_FLOW,
             {("Plant", "C4"): ("d", "<v>2026-03-31T00:00:00</v>")}),
    workbook("a time for a number", FLOW + "the time ", NEEDS_FLOW,
             {("Plant", "C4"): ("d", "<v>08:30:00</v>")}),
    workbook("NaN as a number", "plant.xlsx, sheet 'Plant': found a workbook that cannot be read (",
             AS_SAVED, {("Plant", "C4"): number("NaN")}),
    workbook("infinity as a number",
             "plant.xlsx, sheet 'Plant': found a workbook that cannot be read (",
             AS_SAVED, {("Plant", "C4"): number("-inf")}),
    workbook("a number for a date", "Project!C5 (Date of this estimate): found '31/3/2026'; ",
             "needs a date as year-month-day, such as 2026-03-31",
             {("Project", "C5"): text("31/3/2026")}),
    workbook("a date beyond all years", "Project!C5 (Date of this estimate): found ",
             "needs a date as year-month-day, such as 2026-03-31",
             {("Project", "C5"): number("1e15")}),
    workbook("a formula never calculated", f"{FLOW}{UNSTORED}; ", OPEN_AND_SAVE,
             {("Plant", "C4"): formula("10000*2")}),
    workbook("a formula on another file", f"{FLOW}{UNSTORED}; ", OPEN_AND_SAVE,
             {("Plant", "C4"): formula("'http://127.0.0.1:9/[a.xlsx]b'!A1")}),
    workbook("a range of formulas never calculated", f"{CAKE_ENDS}{UNSTORED}; ", OPEN_AND_SAVE,
             {("Prices", f"D{CAKE_ROW}"): formula("60+1"),
              ("Prices", f"E{CAKE_ROW}"): formula("90+1")}),
    workbook("one end a formula never calculated", f"{CAKE_ENDS}{UNSTORED}; ", OPEN_AND_SAVE,
             {("Prices", f"D{CAKE_ROW}"): formula("60+1")}),
    workbook("a range with an error", f"{CAKE_ENDS}'#N/A'; ",
             "needs a number from 0 to 1 000 000 money/t as its low end",
             {("Prices", f"D{CAKE_ROW}"): wrong("#N/A")}),
    workbook("half a range", f"{CAKE_ENDS}no high end; ", "needs both ends, or neither",
             {("Prices", f"E{CAKE_ROW}"): EMPTY}),
    workbook("a source never calculated",
             f"Prices!I{CAKE_ROW} {CAKE_LABEL}: found {UNSTORED}; ", OPEN_AND_SAVE,
             {("Prices", f"I{CAKE_ROW}"): formula('"bid"')}),
    workbook("a shape never calculated",
             f"Prices!L{CAKE_ROW}, shape {CAKE_LABEL}: found {UNSTORED}; ", OPEN_AND_SAVE,
             {("Prices", f"L{CAKE_ROW}"): formula('"pert"')}),
    workbook("months never calculated",
             f"{TP_MONTHS} (Total phosphorus): found {UNSTORED}; ", OPEN_AND_SAVE,
             {("Months", f"{c}{TP_ROW}"): formula("6.8") for c in MONTHS}),
    workbook("a month with an error", f"{TP_MONTHS}, month 3 (Total phosphorus): found '#N/A'; ",
             "needs a number from",
             {("Months", f"{c}{TP_ROW}"): wrong("#N/A") if c == "E" else number(6.8)
              for c in MONTHS}),
    workbook("eleven months", f"{TP_MONTHS} (Total phosphorus): found nothing for Dec; ",
             "needs all 12 months, or none",
             {("Months", f"{c}{TP_ROW}"): number(6.8) for c in MONTHS[:-1]}),
    workbook("a pair never calculated", f"Correlation!A4:C4: found {UNSTORED}; ", OPEN_AND_SAVE,
             {("Correlation", "A4"): text("prices.cake"),
              ("Correlation", "B4"): text("prices.labour"),
              ("Correlation", "C4"): formula("1/2")}),
    workbook("a pair with an error", "Correlation!A4:C4: found '#NAME?'; ",
             "needs a rank correlation above −1 and below 1",
             {("Correlation", "A4"): text("prices.cake"),
              ("Correlation", "B4"): text("prices.labour"),
              ("Correlation", "C4"): wrong("#NAME?")}),
]  # fmt: skip

NOT_TOML = "plant.toml: found text that is not TOML: "
LINES = "needs lines such as tp = 6.5 under [influent]"
TOML = [
    Case("rubbish in toml", file("plant.toml", bytes(range(256)) * 40),
         "plant.toml: found text that is not UTF-8; ", "needs a TOML file saved as UTF-8"),
    Case("a form named toml", file("plant.toml", lambda: form_with({})),
         "plant.toml: found text that is not UTF-8; ", "needs a TOML file saved as UTF-8"),
    Case("toml in UTF-16", file("plant.toml", "[flow]\n".encode("utf-16")),
         "plant.toml: found text that is not UTF-8; ", "needs a TOML file saved as UTF-8"),
    Case("null bytes", file("plant.toml", b"[flow]\naverage = \0\n"), NOT_TOML, LINES),
    Case("an open bracket", file("plant.toml", b"[flow\naverage = 1\n"), NOT_TOML, LINES),
    Case("a key twice", file("plant.toml", b"[flow]\naverage = 1\naverage = 2\n"),
         f"{NOT_TOML}Cannot overwrite a value (at line 3", LINES),
    Case("a decimal comma in toml", file("plant.toml", b"[flow]\naverage = 12,5\n"),
         f"{NOT_TOML}Expected newline or end of document after a statement (at line 2", LINES),
    Case("a number of 100 000 digits", file("plant.toml", b"a = " + b"9" * 100_000), NOT_TOML,
         LINES),
    Case("lists 100 000 deep", file("plant.toml", b"a = " + b"[" * 100_000),
         "plant.toml: found brackets nested too deeply; ", "needs a TOML file of fields"),
    Case("groups 1000 deep", file("plant.toml", b"a = " + b"{a=" * 1000 + b"1" + b"}" * 1000),
         "plant.toml: found brackets nested too deeply; ", "needs a TOML file of fields"),
    toml("a key of 3000 parts",
         "a.a.a.a.a.a.a.a, line LINE: found no such field as 'a.a.a.a.a.a.a.a'; ",
         "needs a field that `pcompare check` lists",
         ["[" + ".".join("a" * 3000) + "]", "b = 1"]),
    Case("a key of 490 000 parts", file("plant.toml", b".".join([b"a"] * 490_000) + b" = 1\n"),
         "plant.toml, line 1: found 489999 points in one line; ", "needs at most 5000",
         heavy=True),
    Case("a key of 240 000 quoted parts",
         file("plant.toml", lambda: ".".join(['"\u2028"'] * 130_000).encode() + b" = 1\n"),
         "plant.toml, line 1: found 129999 points in one line; ", "needs at most 5000",
         heavy=True),
    Case("900 000 spaces in a list",
         file("plant.toml", f'zzz = [\n["a{" " * 900_000}"]\n]\n{even_text()}'.encode()),
         "zzz, line 1: found no such field as 'zzz'; ",
         "needs a field that `pcompare check` lists", heavy=True),
    Case("90 000 unknown fields",
         file("plant.toml", lambda: b"".join(b"k%d = 1\n" % i for i in range(90_000))),
         "k0, line 1: found no such field as 'k0'; ", "needs a field that `pcompare check` lists",
         faults=90_028, heavy=True),
    flow_line("a word in toml", "average = 'lots'", "'lots'"),
    flow_line("NaN in toml", "average = nan", "no number (NaN)"),
    flow_line("infinity in toml", "average = -inf", "-inf"),
    flow_line("1e308 in toml", "average = 1e308", "1e+308"),
    flow_line("true in toml", "average = true", "the logical value true"),
    flow_line("a date in toml", "average = 2026-01-01", "the date 2026-01-01"),
    flow_line("a time in toml", "average = 08:30:00", "the time 08:30:00"),
    flow_line("a list in toml", "average = [20000]", "a list of 1 values"),
    flow_line("a group in toml", "average = {value = 20000}", "a group of values"),
    flow_line("100 000 letters in toml", f"average = '{LONG}'", f"'{'x' * 59}…'"),
    flow_line("a long whole number", "average = 0x" + "f" * 5000,
              "a whole number of more than 300 digits"),
    toml("a key of 100 000 letters", f"{'x' * 199}…: found no such field as '{'x' * 59}…'; ",
         "needs a field that `pcompare check` lists", ["[" + LONG + "]", "a = 1"]),
    first_line("a group that is a number", "range, line 1: found 3; ",
               "needs fields under [range]", "range = 3"),
    toml("two months", "months.influent.tp, line LINE (Total phosphorus): found 2 values; ",
         "needs 12, January to December", ["[months.influent]", "tp = [1, 2]"]),
    toml("a range that falls", "range.influent.tp, line LINE, range (Total phosphorus): found ",
         "in rising order", ["[range]", "influent.tp = [8, 6]"]),
    first_line("a correlation of two", "correlation, line 1, pair 1: found a list of 2 values; ",
               "needs a list of [field, field, rank correlation]",
               'correlation = [["prices.cake", 0.5]]'),
]  # fmt: skip

SETS = [
    setting("a setting without a value", "--set flow.average: found no pair; ",
            "needs FIELD=VALUE, in base units", "flow.average"),
    setting("a setting of no field", "--set flow.avrage: found no such field as 'flow.avrage'; ",
            "needs a field of the form; close to it: flow.average", "flow.avrage=3"),
    setting("a setting with a unit", "--set flow.average (Average flow): found '5 MGD' ",
            NEEDS_FLOW, "flow.average=5 MGD"),
    setting("a setting of 100 000 letters", f"--set {'x' * 193}…: found no such field as ",
            "needs a field that `pcompare check` lists", f"{LONG}=1"),
    setting("a setting with bytes of no letter", "--set a b: found no such field as 'a b'; ",
            "needs a field that `pcompare check` lists", "a\udcff\udcfeb=1"),
    setting("a setting that contradicts",
            "--set influent.orthophosphate (Orthophosphate): found 9 mg P/L, above total",
            "needs at most that", "influent.orthophosphate=9"),
]  # fmt: skip

FAR = b'<row r="1048576"><c r="XFD1048576" t="n"><v>1</v></c></row>'
ACCEPTED = [  # name, form
    ("a merged area of all cells", {}, {part_of("Plant"): after(
        b"</sheetData>", b'<mergeCells count="1"><mergeCell ref="A40:XFD1048576"/></mergeCells>')}),
    ("a link over all cells", {}, {part_of("Plant"): after(
        b"</sheetData>", b'<hyperlinks><hyperlink ref="A40:XFD1048576" location="x"/></hyperlinks>'
    )}),
    ("a cell at the far end", {}, {part_of("Plant"): lambda p: p.replace(
        b"</sheetData>", FAR + b"</sheetData>")}),
    ("a column more", {}, {part_of("Plant"): lambda p: p.replace(
        b"</row><row r=\"5\">", b'<c r="P4" t="n"><v>7</v></c></row><row r="5">')}),
    ("the same label twice", {("Plant", "A5"): text("Average flow")}, {}),
    ("a label of another script", {("Plant", "A4"): text("معدل التدفق 🦆")}, {}),
    ("a hidden sheet", {}, hidden("Plant")),
    ("a formula with its value", {("Plant", "C4"): formula("10000*2", 20000)}, {}),
    ("a formula on another file with its value", {("Plant", "C4"): formula(
        "'http://127.0.0.1:9/[a.xlsx]b'!A1", 20000)}, {}),
    ("a formula with an empty text", {("Plant", "I4"): formula('""', None, "str")}, {}),
    ("a number as text", {("Plant", "C4"): text(" 2.0e4 ")}, {}),
    ("a note of 100 000 letters", {("Plant", "I4"): text(LONG)}, {}),
    ("styles and pictures of a person", {}, {"xl/media/image1.png": lambda _: b"\x89PNG" * 9000}),
]  # fmt: skip

CASES = [*FILES, *XML, *SHEETS, *CELLS, *TOML, *SETS]
