"""The memo's section on dissolved salts: its numbers, its verdicts and its charts."""

from __future__ import annotations

import io
import itertools
import math
import re
from dataclasses import replace

import pypdf
import pytest
from reportlab.graphics.shapes import Circle, Drawing, String

from pcompare import lines
from pcompare.documents import memo, memo_reuse, names, reuse_charts, reuse_words, style
from pcompare.documents.flowables import SUBSCRIPTS
from pcompare.documents.words import NONE, Figures
from tests.documents_dossier import invented, ugly

SI = Figures(system="si", currency="EUR")


def squeezed(text):
    return re.sub(r"\s+", "", text).translate(SUBSCRIPTS)


@pytest.fixture(scope="module")
def dossier():
    return invented()


@pytest.fixture(scope="module")
def text(dossier):
    pages = pypdf.PdfReader(io.BytesIO(memo.memo(dossier))).pages
    whole = squeezed("".join(page.extract_text() for page in pages))
    return whole[whole.rindex("6Dissolvedsaltsandreuse") : whole.rindex("7.1Requirements")]


def shapes(drawing, kind):
    if isinstance(drawing, kind):
        yield drawing
    for part in getattr(drawing, "contents", ()):
        yield from shapes(part, kind)


def said(drawing):
    return [one.text for one in shapes(drawing, String)]


def test_the_ledger_prints_every_ion_of_every_alternative(dossier, text):
    """Ions and sums: all lines of the group that the comparison leaves out, and what they need."""
    group = {k.quantity for k in lines.LINES if k.group == "Ions of the effluent"}
    printed = {*memo_reuse.IONS, *memo_reuse.SUMS}
    assert group - printed == {"effluent_metal", "ionic_strength"}
    for name, result in dossier.comparison.strategies.items():
        for quantities in (memo_reuse.IONS, memo_reuse.SUMS):
            cells = [SI.number(result.lines[q].value, result.lines[q].unit) for q in quantities]
            assert squeezed(names.short(name) + "".join(cells)) in text, name


def test_the_supply_is_printed_as_the_picture_has_it(dossier, text):
    for name, water in dossier.reuse.water.items():
        cells = [
            SI.number(getattr(water[key], when), "mg/L")
            for key in memo_reuse.FOLLOWED
            for when in memo_reuse.EVERY_WATER
        ]
        assert squeezed(names.short(name) + "".join(cells)) in text
        cells = [
            SI.number(getattr(water[key], when), "-")
            for key in memo_reuse.BESIDE
            for when in memo_reuse.SUPPLY
        ]
        assert squeezed(names.short(name) + "".join(cells)) in text


def test_every_limit_stands_with_those_who_do_not_keep_it(dossier, text):
    picture = dossier.reuse
    carried = list(picture.verdicts)
    for limit in picture.limits:
        for when in ("normal", "drought"):
            exceptions = reuse_words.exceptions(picture, limit, when, carried)
            assert squeezed(exceptions) in text
            missed = [n for n in carried if not getattr(picture.verdicts[n][limit.key], when)]
            assert (exceptions == NONE) == (not missed)


def test_the_governing_limits_give_the_verdict(dossier):
    sentences = reuse_words.verdict_sentences(dossier, SI)
    assert sentences[1] == "All alternatives keep them in a normal year."
    missed = [n for n in dossier.reuse.verdicts if not dossier.reuse.passes(n, "drought")]
    assert missed and sentences[2].startswith("Not kept in the design drought by")
    for name in dossier.reuse.verdicts:
        short = names.short(name)
        found = f"{short[:1].lower()}{short[1:]}" in re.split(r"; | by |; by", sentences[2])
        assert found == (name in missed), name


def test_rooms_below_the_dose_stand_out(dossier, text):
    for room in dossier.reuse.rooms:
        for value in (room.normal, room.drought):
            assert squeezed("any" if value is None else SI.number(value, "mg/L")) in text
    dose = dossier.salts["ferric_chloride"]["metal_dose"].value
    room = next(r for r in dossier.reuse.rooms if r.product == "ferric_chloride")
    assert room.drought < dose < room.normal
    styles = [memo_reuse._told(room, when, dose, SI).style for when in ("normal", "drought")]
    assert styles == [style.CELL_RIGHT, style.CELL_ALARM_RIGHT]


def test_cost_of_salt_is_a_bracket_and_never_a_sum(dossier, text):
    assert "neveraddedtogether" in text
    for cost in dossier.reuse.costs.values():
        for total in (cost.damage + cost.removal_low, cost.damage + cost.removal_high):
            if cost.removal_low > 0.0:
                assert squeezed(SI.number(total, "money/y", 2)) not in text
    assert "Neitherisinthecostsofthismemo" in text
    choices = {**dossier.inputs.choices, "reuse.salt_cost": "damage"}
    counted = replace(dossier, inputs=replace(dossier.inputs, choices=choices))
    parts = memo_reuse._cost(counted, SI)
    assert "The damage is counted" in parts[1].text


def test_nothing_steady_still_prints():
    pages = pypdf.PdfReader(io.BytesIO(memo.memo(ugly()))).pages
    whole = squeezed("".join(page.extract_text() for page in pages))
    assert squeezed("The loop has no steady state: <as much> salt comes back & more.") in whole
    assert squeezed("no drought with a steady state can be drawn") in whole


# --- the chart ----------------------------------------------------------------------------------


@pytest.mark.parametrize("quantity", [q for q, _ in memo_reuse.CHARTED])
def test_the_chart_names_its_axes_limits_and_lines(dossier, quantity):
    drawing = reuse_charts.drought(dossier, SI, quantity)
    assert isinstance(drawing, Drawing)
    words = said(drawing)
    assert "design drought" in words
    picture = dossier.reuse
    limit = next(x for x in picture.limits if x.own and x.quantity == quantity)
    assert any(SI.given(limit.value, limit.unit).replace("\u00a0", " ") in w.replace("\u00a0", " ")
               for w in words)  # fmt: skip
    groups = reuse_charts.grouped(picture.curves["both"], quantity)
    assert sum(len(g.members) for g in groups) == len(picture.verdicts)
    for group in groups:
        assert any(w.startswith(names.short(group.members[0])) for w in words)
    dots = list(shapes(drawing, Circle))
    assert len(dots) == len(groups) * len(picture.curves["both"].points)
    for dot in dots:
        assert 0.0 <= dot.cx <= drawing.width and 0.0 <= dot.cy <= drawing.height


def test_lines_that_differ_are_not_drawn_as_one(dossier):
    sweep = dossier.reuse.curves["both"]
    for one, other in itertools.combinations(reuse_charts.grouped(sweep, "tds"), 2):
        apart = max(abs(a - b) / b for a, b in zip(one.values, other.values, strict=True))
        assert apart > reuse_charts.TOGETHER or one.met != other.met


def test_neighbours_on_the_chart_differ_in_grey_or_in_dash(dossier):
    groups = reuse_charts.grouped(dossier.reuse.curves["both"], "tds")
    looks = [reuse_charts._series(i, g, "mg/L", SI) for i, g in enumerate(groups)]
    for one, other in itertools.combinations(looks, 2):
        grey = abs(style.lightness(one.color) - style.lightness(other.color))
        assert grey > 0.05 or one.dash != other.dash


def test_a_curve_that_breaks_off_is_drawn_as_far_as_it_goes(dossier):
    sweep = dossier.reuse.curves["both"]
    broken = {
        name: {**rows, "tds": (*rows["tds"][:4], *(math.nan for _ in rows["tds"][4:]))}
        for name, rows in sweep.values.items()
    }
    curves = {**dossier.reuse.curves, "both": replace(sweep, values=broken)}
    some = replace(dossier, reuse=replace(dossier.reuse, curves=curves))
    dots = list(shapes(reuse_charts.drought(some, SI, "tds"), Circle))
    groups = reuse_charts.grouped(curves["both"], "tds")
    assert len(dots) == 4 * len(groups)
