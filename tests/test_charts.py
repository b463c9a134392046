"""Charts: they draw what the lines say, and survive anything."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.graphics import renderPDF
from reportlab.graphics.shapes import Circle, Group, Polygon, Rect, String
from reportlab.lib.colors import white

from pcompare import lines
from pcompare.documents import charts, drawing, line_charts, names
from pcompare.documents.words import Figures
from tests.documents_dossier import invented, ugly

SI = Figures(system="si", currency="EUR")
CHARTS = (
    line_charts.dose_against_limit,
    line_charts.cost_against_limit,
    line_charts.dose_models,
    charts.cost_items,
    charts.sludge_bars,
    charts.salt_bars,
    charts.tornado,
)
every_chart = pytest.mark.parametrize("chart", CHARTS, ids=lambda c: c.__name__)


def shapes(group):
    for shape in group.contents:
        if isinstance(shape, Group):
            yield from shapes(shape)
        else:
            yield shape


def texts(found):
    return [s.text for s in shapes(found) if isinstance(s, String)]


def with_lines(dossier, change):
    """Change the value of every line of every strategy."""
    strategies = {
        n: replace(r, lines={q: replace(x, value=change(x.value)) for q, x in r.lines.items()})
        for n, r in dossier.comparison.strategies.items()
    }
    return replace(dossier, comparison=replace(dossier.comparison, strategies=strategies))


def changed(sweep, points, change):
    values = {
        n: {q: tuple(change(v) for v in row[: len(points)]) for q, row in found.items()}
        for n, found in sweep.values.items()
    }
    feasible = {n: row[: len(points)] for n, row in sweep.feasible.items()}
    return replace(sweep, points=tuple(points), values=values, feasible=feasible)


def with_sweep(dossier, points, change=lambda v: v):
    """Replace the points of both sweeps, and change each of their values."""
    few = tuple(points)[: len(dossier.dose_models.points)]
    return replace(
        dossier,
        targets=changed(dossier.targets, points, change),
        dose_models=changed(dossier.dose_models, few, change),
    )


def with_models(dossier, values, feasible=None):
    models = replace(dossier.dose_models, values=values)
    return replace(dossier, dose_models=replace(models, feasible=feasible or models.feasible))


def cases():
    dossier = invented()
    points = dossier.targets.points
    yield "ordinary", dossier
    yield "ugly", ugly()
    yield "nothing", with_lines(with_sweep(dossier, ()), lambda _: None)
    yield "nan", with_lines(with_sweep(dossier, points, lambda _: math.nan), lambda _: math.nan)
    yield (
        "infinite",
        with_lines(with_sweep(dossier, points, lambda _: math.inf), lambda _: -math.inf),
    )
    yield "one point", with_sweep(dossier, points[:1])
    yield "nan points", with_sweep(dossier, [math.nan] * 20)
    yield "zero limits", with_sweep(dossier, [0.0] * 20)
    yield "zeros", with_lines(with_sweep(dossier, points, lambda _: 0.0), lambda _: 0.0)
    yield (
        "negative",
        with_lines(with_sweep(dossier, points, lambda v: -v), lambda v: None if v is None else -v),
    )
    yield (
        "huge",
        with_lines(
            with_sweep(dossier, points, lambda v: v * 1e12),
            lambda v: None if v is None else v * 1e12,
        ),
    )
    yield (
        "tiny",
        with_lines(
            with_sweep(dossier, points, lambda v: v * 1e-12),
            lambda v: None if v is None else v * 1e-12,
        ),
    )
    yield (
        "no lines",
        replace(
            dossier,
            comparison=replace(
                dossier.comparison,
                strategies={
                    n: replace(r, lines={}) for n, r in dossier.comparison.strategies.items()
                },
            ),
        ),
    )
    sweep = dossier.dose_models
    yield "one model", with_models(dossier, {"uptake": sweep.values["uptake"]})
    yield "no model", with_models(dossier, {})
    yield "empty model", with_models(dossier, {"uptake": {}, "kinetic": {"metal_dose": ()}})
    yield "short model", with_models(dossier, {"a <b> & c": {"metal_dose": (9.0, math.nan)}})
    yield "one value", with_models(dossier, dict.fromkeys(sweep.values, sweep.values["uptake"]))
    yield "no salts", replace(dossier, salts={})
    swing = dossier.sensitivity[0]
    broken = tuple(replace(swing, at_low=a, at_high=b) for a, b in ((math.nan, 1.0), (0.0, 0.0)))
    yield "swings", replace(dossier, sensitivity=broken)


@every_chart
@pytest.mark.parametrize(
    ("name", "dossier"), list(cases()), ids=lambda x: x if type(x) is str else ""
)
def test_charts_survive_and_stay_inside(chart, name, dossier):
    found = chart(dossier, SI)
    assert renderPDF.drawToString(found)[:4] == b"%PDF"
    assert not any(re.search(r"\b(nan|inf|None)\b", text) for text in texts(found))
    for shape in shapes(found):
        x1, y1, x2, y2 = shape.getBounds()
        assert all(map(math.isfinite, (x1, y1, x2, y2))), name
        assert x1 >= -1.0 and x2 <= found.width + 1.0, (name, shape.getProperties())
        assert y1 >= -3.0 and y2 <= found.height + 3.0, (name, shape.getProperties())


@every_chart
def test_an_ordinary_chart_has_units_and_names(chart):
    found = " ".join(texts(chart(invented(), SI)))
    assert any(unit in found for unit in ("mg/L", "EUR", "kg TSS/d")), found
    assert "Nothing to draw" not in found


@every_chart
def test_an_empty_chart_says_so(chart):
    empty = with_lines(with_sweep(invented(), ()), lambda _: None)
    found = " ".join(texts(chart(replace(empty, sensitivity=()), SI)))
    assert "Nothing to draw" in found


def test_limit_and_floor_are_drawn():
    found = texts(line_charts.dose_against_limit(invented(), SI))
    assert "permit limit 0.8" in found
    assert any(text.startswith("floor of soluble P") for text in found)


def test_lines_that_dose_nothing_are_left_out():
    found = texts(line_charts.dose_against_limit(invented(), SI))
    assert names.short("salt_single_point") in found
    assert names.short("no_action") not in found


@pytest.mark.parametrize(
    "chart",
    [line_charts.dose_against_limit, line_charts.cost_against_limit, line_charts.dose_models],
)
def test_labels_at_the_ends_of_lines_do_not_overlap(chart):
    found = chart(invented(), SI)
    right = [s for s in shapes(found) if isinstance(s, String) and s.x > found.width - 130.0]
    heights = sorted(s.y for s in right)
    assert len(heights) >= 2
    assert all(b - a >= drawing.FONT_SIZE for a, b in itertools.pairwise(heights))


def test_bars_are_as_long_as_their_values():
    found = charts.sludge_bars(invented(), SI)
    bars = [s for s in shapes(found) if isinstance(s, Rect)]
    left = sorted((s for s in bars if s.x < found.width / 2), key=lambda s: -s.y)
    lengths = [s.width for s in left]
    values = [r.value("sludge_increase") for r in charts.compared_results(invented())]
    for length, value in zip(lengths, values, strict=True):
        assert length / lengths[0] == pytest.approx(value / values[0])


def test_stacks_are_as_long_as_the_cost_that_they_make_up():
    found = charts.cost_items(invented(), SI)
    rows = {}
    for shape in shapes(found):
        if isinstance(shape, Rect) and shape.height == 13:
            rows.setdefault(shape.y, []).append(shape.width)
    drawn = [sum(rows[y]) for y in sorted(rows, reverse=True)]
    names_of = [r.name for r in charts.compared_results(invented())]
    by_name = dict(zip(names_of, drawn, strict=True))
    ratio = by_name["salt_single_point"] / by_name["bio_purchased_carbon"]
    assert ratio == pytest.approx(584_600.0 / 315_643.0, rel=1e-6)


def test_names_of_strategies_are_whole_in_every_chart():
    """No name is cut by an ellipsis, with all the strategies there are."""
    for chart in CHARTS[:-1]:
        assert not any("…" in text for text in texts(chart(invented(), SI))), chart.__name__
    for chart in (charts.sludge_bars, charts.salt_bars, charts.cost_items):
        found = texts(chart(invented(), SI))
        for result in charts.compared_results(invented()):
            assert names.short(result.name) in found


# --- dose models ------------------------------------------------------------------------------


def test_the_dose_models_carry_their_names_limit_mean_and_floor():
    found = texts(line_charts.dose_models(invented(), SI))
    assert {"Uptake on hydroxide", "Handbook ratio", "Kinetic equilibrium", "Fixed ratio"} <= set(
        found
    )
    assert "permit limit 0.8" in found
    assert "sized to a mean of 0.512" in found
    assert any("ferric chloride" in text for text in found)
    wide = with_sweep(invented(), (2.0, 1.0, 0.5, 0.2, 0.05))
    assert "floor of soluble P 0.05" in texts(line_charts.dose_models(wide, SI))


def test_the_band_runs_from_the_lowest_to_the_highest_model():
    found = line_charts.dose_models(invented(), SI)
    (band,) = (s for s in shapes(found) if isinstance(s, Polygon))
    dots = [s for s in shapes(found) if isinstance(s, Circle)]
    corners = list(zip(band.points[::2], band.points[1::2], strict=True))
    for x in {round(dot.cx, 6) for dot in dots}:
        heights = [dot.cy for dot in dots if round(dot.cx, 6) == x]
        ends = [y for corner, y in corners if round(corner, 6) == x]
        assert sorted(ends) == pytest.approx([min(heights), max(heights)])


def test_points_that_miss_a_requirement_are_open():
    found = line_charts.dose_models(invented(), SI)
    dots = [s for s in shapes(found) if isinstance(s, Circle)]
    last = max(dot.cx for dot in dots)
    for dot in dots:
        is_open = dot.fillColor == white
        assert is_open == (dot.cx == last)


def test_labels_above_a_chart_do_not_meet():
    """Marks that stand close together take rows of their own."""
    marks = [
        line_charts.Mark(at=at, label="a rather long label of a mark", color=white)
        for at in (0.8, 0.79, 0.78, 0.05)
    ]
    scale = drawing.falling([2.0, 0.05], 44.0, 340.0)
    placed = line_charts._placed(marks, scale)
    for a, b in itertools.combinations(placed, 2):
        assert a.row != b.row or a.high <= b.low or b.high <= a.low
    assert all(one.low >= 0.0 for one in placed)


def test_tornado_crosses_zero_only_where_the_order_turns():
    found = texts(charts.tornado(invented(), SI))
    assert "the order turns" in found
    calm = replace(invented(), sensitivity=invented().sensitivity[4:])
    assert "the order turns" not in texts(charts.tornado(calm, SI))


def test_colours_differ_in_grey():
    from pcompare.documents import style

    greys = [style.lightness(color) for color in style.PALETTE]
    assert all(abs(a - b) > 0.12 for a, b in itertools.pairwise(greys))


@given(st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=30))
def test_labels_moved_apart_are_in_order_and_apart(wanted):
    placed = drawing.apart(wanted, -2e9, 2e9, 10.0)
    assert all(b - a >= 10.0 - 1e-5 for a, b in itertools.pairwise(sorted(placed)))
    order = [at for _, at in sorted(zip(wanted, placed, strict=True))]
    assert order == sorted(placed)


@given(st.floats(1e-9, 1e12), st.floats(0.0, 1e12))
def test_scales_are_monotone_and_their_ticks_lie_inside(high, low):
    scale = drawing.linear([high, -low], 10.0, 200.0)
    assert scale.at(-low) <= scale.at(0.0) <= scale.at(high)
    assert all(10.0 - 1e-6 <= scale.at(t) <= 200.0 + 1e-6 for t in scale.ticks)
    assert 2 <= len(scale.ticks) <= 12


@given(st.floats(1e-3, 1e3), st.floats(5.1, 1e4))
def test_limits_fall_to_the_right_on_a_logarithmic_scale(low, ratio):
    scale = drawing.falling([low, low * ratio], 40.0, 300.0)
    assert scale.logarithmic
    assert scale.at(low) == pytest.approx(300.0)
    assert scale.at(low * ratio) == pytest.approx(40.0)
    assert scale.ticks


@pytest.mark.parametrize(
    ("number", "step", "expected"),
    [(0.05, 0.05, "0.05"), (1500.0, 500.0, "1\u202f500"), (-20.0, 20.0, "−20"), (0.0, 0.5, "0"),
     (-0.0, 5.0, "0"), (2.0, 2.0, "2"), (0.5, 0.5, "0.5")],
)  # fmt: skip
def test_ticks_print_no_more_than_they_need(number, step, expected):
    assert drawing.tick_text(number, step) == expected


def test_no_two_strategies_share_both_colour_and_dash():
    sweep = invented().targets
    (name,) = list(sweep.values)[:1]
    looks = {
        (one.color.hexval(), str(one.dash))
        for one in (
            line_charts._series(sweep, name, "equal_annual_cost", SI, "", place)
            for place in range(len(lines.LABELS))
        )
    }
    assert len(looks) == len(lines.LABELS)
