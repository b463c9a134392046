"""How the calculation book stands in its file: cells and rows as text, densely packed."""

from __future__ import annotations

import functools
import io
import math
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

DENSITY = 8  # of packing, from 1 to 9


@dataclass(frozen=True, kw_only=True, slots=True)
class MonthRow:
    """Twelve cells that share one formula, with the value of each cached to so many digits."""

    values: tuple[float | bool, ...]
    formula: str
    digits: int = 17


class Sheet(Worksheet):  # type: ignore[misc]
    """A sheet whose rows are written as the text of the file, in their order.

    The library keeps every cell as an object until it closes the file, looks for a hundred and
    fifty functions younger than the file format in each formula, and knows no formulas that cells
    share; all of that takes most of the time of a book.
    """

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []  # rows so far
        self.shared = 0  # formulas of rows of months so far

    def add_row(
        self, number: int, cells: Sequence[str], height: float = 0.0, look: int = 0
    ) -> None:
        """Add the cells of a row; ``number`` counts from 1. A look is that of the whole row."""
        high = f' ht="{height:g}" customHeight="1"' if height else ""
        whole = f' s="{look}" customFormat="1"' if look else ""
        self.texts.append(f'<row r="{number}"{whole}{high}>{"".join(cells)}</row>')

    def close_rows(self, last: int, columns: int) -> None:
        """Say how far the rows reach."""
        self.dim_rowmin, self.dim_rowmax = 0, last
        self.dim_colmin, self.dim_colmax = 0, columns

    def string(self, cell: str, look: int, text: str) -> str:
        """Give a cell with a text."""
        number = self.str_table._get_shared_string_index(text)
        return f'<c r="{cell}" s="{look}" t="s"><v>{number}</v></c>'

    def months(self, row: int, column: int, look: int, months: MonthRow) -> str:
        """Give the cells of a row of months: the formula once, then its number."""
        text = escape(months.formula.removeprefix("="))
        names = [f"{letters(column + i)}{row}" for i in range(len(months.values))]
        first = f'<f t="shared" ref="{names[0]}:{names[-1]}" si="{self.shared}">{text}</f>'
        other = f'<f t="shared" si="{self.shared}"/>'
        self.shared += 1
        return "".join(
            [
                value_cell(name, look, value, other if i else first, months.digits)
                for i, (name, value) in enumerate(zip(names, months.values, strict=True))
            ]
        )

    def _write_rows(self) -> None:
        self.fh.write("".join(self.texts))


@functools.cache
def letters(column: int) -> str:
    """Give the letters of a column, counted from 0."""
    return str(xl_col_to_name(column))


def value_cell(
    cell: str, look: int, value: float | str | bool, formula: str = "", digits: int = 16
) -> str:
    """Give a cell with a value, and the formula that makes it as the file writes it."""
    if isinstance(value, bool):
        return f'<c r="{cell}" s="{look}" t="b">{formula}<v>{value:d}</v></c>'
    if isinstance(value, str):
        return f'<c r="{cell}" s="{look}" t="str">{formula}<v>{escape(value)}</v></c>'
    cached = f"<v>{value:.{digits}g}</v>" if math.isfinite(value) else ""
    return f'<c r="{cell}" s="{look}">{formula}{cached}</c>'


def packed(workbook: bytes) -> bytes:
    """Give the same file as densely packed as is worth its time: a thirtieth smaller."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook)) as loose,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=DENSITY) as dense,
    ):
        for part in loose.infolist():
            dense.writestr(part, loose.read(part), compresslevel=DENSITY)
    return out.getvalue()
