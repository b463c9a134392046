"""The odds as a spreadsheet would work them out: one row for each draw, every step a formula.

The formulas are those of the calculation book: what of the metal salt at one point is explicit,
so nothing that rests on a value found by iteration. The plant is the example in an even year.
"""

from __future__ import annotations

import io
import shutil
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

    from pcompare.graph import Graph
    from pcompare.records import Inputs

STRATEGY = "salt_single_point"
ROWS = 1000
DRAWS = 10_000
SHEET = "Draws"
FIRST = 3  # row of the first draw; row 1 holds what all draws share
ANY_ROW = 987_654  # stands for the row of a draw


def explicit(inputs: Inputs) -> Graph:
    """Give the steps of every line that rests on no value found by iteration."""
    from pcompare import run, traced
    from pcompare.graph import Step, graph

    design = run.carried_designs(run.compare(inputs))[STRATEGY][0]
    traces = traced.trace_candidate(inputs, design, STRATEGY)
    whole = graph(traces, {})
    iterated = whole.resting_on_values()
    found = whole.results
    kept = {
        key: value
        for key, value in traces.items()
        if isinstance(found[key], Step) and found[key].number not in iterated
    }
    return graph(kept, {})


def book(steps: Graph, columns: Mapping[str, np.ndarray], rows: int) -> tuple[bytes, list[str]]:
    """Write the workbook; the lines stand in its last columns, in the order that is given."""
    from xlsxwriter import Workbook
    from xlsxwriter.utility import xl_col_to_name

    from pcompare.documents.book_formulas import Formulas, Place
    from pcompare.graph import LEAVES

    cells = [step for step in steps.steps if step.cell]
    shared = [s for s in cells if s.operation in LEAVES and s.name not in columns]
    varied = [s for s in cells if s.operation in LEAVES and s.name in columns]
    made = [s for s in cells if s.operation not in LEAVES]
    places = {s.number: Place(SHEET, 1, xl_col_to_name(i)) for i, s in enumerate(shared)}
    for i, step in enumerate([*varied, *made]):
        places[step.number] = Place(SHEET, ANY_ROW, xl_col_to_name(i))
    formulas = Formulas(places)
    texts = [formulas.of_step(step, SHEET) for step in made]
    texts += [formulas.of_result(step, SHEET) for step in steps.results.values()]
    out = io.BytesIO()
    with Workbook(out, {"in_memory": True}) as workbook:
        sheet = workbook.add_worksheet(SHEET)
        sheet.write_row(0, 0, [float(step.value[0, 0]) for step in shared])
        for i in range(rows):
            row = FIRST - 1 + i
            sheet.write_row(row, 0, [float(columns[step.name][i]) for step in varied])
            for column, text in enumerate(texts, len(varied)):
                sheet.write_formula(row, column, text.replace(str(ANY_ROW), str(row + 1)), None, "")
    return out.getvalue(), list(steps.results)


def read(data: bytes, keys: Sequence[str]) -> dict[str, list[float]]:
    """Read the last columns of the rows of draws."""
    from openpyxl import load_workbook

    sheet = load_workbook(io.BytesIO(data), read_only=True, data_only=True)[SHEET]
    rows = [row[-len(keys) :] for row in sheet.iter_rows(min_row=FIRST, values_only=True)]
    return {key: [row[i] for row in rows] for i, key in enumerate(keys)}


def once(inputs: Inputs, steps: Graph, rows: int) -> tuple[float, dict[str, list[float]]]:
    """Build, recalculate and read the spreadsheet: seconds and lines."""
    from pcompare import uncertainty
    from tests import spreadsheet

    program = shutil.which("soffice")
    assert program is not None, "spreadsheet: found no soffice; needs LibreOffice Calc"
    drawn = uncertainty.draw(inputs, rows, 1)
    columns = {name: value[:, 0] for name, value in drawn.items()}
    start = time.perf_counter()
    data, keys = book(steps, columns, rows)
    with tempfile.TemporaryDirectory() as folder:
        books = spreadsheet.recalculated(program, Path(folder), {"draws": data})
        made = Path(folder) / "made" / "draws.xlsx"
        found = read(made.read_bytes(), keys)
        del books
    return time.perf_counter() - start, found


def main(rows: int = ROWS) -> dict[str, str]:
    """Time both ways on the same draws, hold their lines together, and print the ratio."""
    import numpy as np

    from pcompare import evaluation, run, uncertainty
    from tests import plants

    inputs = plants.even()
    steps = explicit(inputs)
    seconds, found = once(inputs, steps, rows)
    compared = run.compare(inputs)
    chosen = run.carried_designs(compared)
    held = {name: chosen[name] for name in ("no_action", STRATEGY)}

    def lines(cases: Inputs) -> dict[str, np.ndarray]:
        (candidate,) = evaluation.evaluate(cases, held)[STRATEGY]
        return {f"{STRATEGY}.{name}": value for name, value in candidate.reduced.items()}

    (cases,) = uncertainty.chunks(inputs, uncertainty.uniform(inputs, rows, 1), rows)
    own = lines(cases)
    worst = 0.0
    for key, values in found.items():
        wanted = np.broadcast_to(own[key], (rows, 1))[:, 0]
        scale = np.abs(wanted).max() or 1.0
        worst = max(worst, float(np.abs(np.array(values, dtype=float) - wanted).max()) / scale)
    start = time.perf_counter()
    uncertainty.sample(inputs, DRAWS, 1, lines)
    alone = time.perf_counter() - start
    ours, theirs = DRAWS / alone, rows / seconds
    print(
        f"\n{STRATEGY}, {len(found)} explicit lines, one row for each of {rows} draws: built, "
        f"recalculated and read at {theirs:.0f} draws per second;\nhere, all lines of it and of "
        f"the baseline, {DRAWS} draws: {ours:.0f} per second, ratio {ours / theirs:.0f}; largest "
        f"difference {worst:.1e} of a line"
    )
    return {
        "One draw of a salt dosed at one point, beside the same formulas in LibreOffice, "
        "a row for each draw": f"{ours / theirs:.0f} times as fast, {worst:.0e} of a line apart "
        "at most"
    }


if __name__ == "__main__":
    main()
