"""Where the answer turns: along the limit, at break-evens, and over two inputs at a time.

Along the limit every strategy is designed anew. At break-evens and over prices the plant is held
as it was designed, and only what it does and costs changes.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Any, TypeAlias

import numpy as np

from pcompare import appendix, comparison, sweeps, units
from pcompare.arrays import Array, as_cases, bracketed_root, plain
from pcompare.designing import point
from pcompare.equations.stoichiometry import mass_load
from pcompare.evaluation import evaluate
from pcompare.findings import (
    BreakEven,
    ChoiceMap,
    Crossing,
    Sweep,
    Swing,
)
from pcompare.inputs import schema
from pcompare.records import (
    Candidate,
    Comparison,
    Design,
    Inputs,
)
from pcompare.strategies import sizing
from pcompare.strategies.biological import PURCHASED

SWEPT = ("metal_dose", "carbon_dose", "chemical_sludge", "sludge_increase", "chloride_added",
         "sulfate_added", "tds_increase_residue", "annual_cost", "equal_annual_cost",
         "present_worth", "effluent_tp", "probability_meets_permit")  # fmt: skip
FINER = 5  # limits tried between two of a sweep, to find a crossing
IMPORTANT = 12  # inputs whose break-even is looked for
POINTS = 9  # of each input's range, between which a break-even is bracketed
RATE = "finance.discount_rate"
POLICY = (RATE,)  # chosen, not drawn; looked at over their usual range
ACROSS, UP = 27, 18  # cells of a map
LIMITS, RATES = 13, 4
LOOSE, STRICT = 2.0, 0.05  # mg P/L: between them limits are looked at

Designs = Mapping[str, tuple[Design, ...]]
Column: TypeAlias = np.ndarray[Any, Any]  # (cases, 1), of numbers or flags
Search = tuple[str, str]  # the rival, and the input that is moved
Gap = Callable[[Sequence[Search], Array], Array]


# --- along the limit --------------------------------------------------------------------------


def targets_at(
    inputs: Inputs, points: Sequence[float], only: Collection[str] | None = None
) -> Sweep:
    """Design every strategy, or only some, anew for a row of effluent limits, in one pass."""
    return _sweep(point(sweeps.along(inputs, "permit.tp", points), only), points)


def redesigned(inputs: Inputs, points: Sequence[float]) -> tuple[Sweep, ChoiceMap]:
    """Design everything anew for a row of limits, and for a map of limit and discount rate.

    All in one pass: most of its time goes into the steps, not into the cases.
    """
    limits = np.array(sweeps.limits(LOOSE, STRICT, LIMITS))
    now = _now(inputs, RATE)
    rates = np.linspace(0.0, max(0.08, now), RATES)
    row = {"permit.tp": np.array(points), RATE: np.full(len(points), now)}
    cells = sweeps.grid({"permit.tp": limits}, {RATE: rates})
    found = point(sweeps.put(inputs, {name: np.append(row[name], cells[name]) for name in row}))
    return _sweep(found, points), _policy_map(inputs, found, limits, rates)


def _sweep(found: Mapping[str, tuple[Candidate, ...]], points: Sequence[float]) -> Sweep:
    """Read a sweep from the first cases."""
    steps = len(points)
    values: dict[str, Mapping[str, tuple[float, ...]]] = {}
    feasible: dict[str, tuple[bool, ...]] = {}
    for name, candidates in found.items():
        index = comparison.choose(candidates)
        values[name] = {q: row(comparison.carry(candidates, index, q), steps) for q in SWEPT}
        feasible[name] = tuple(map(bool, _rows(_passed(candidates, index), steps)))
    return Sweep(
        along="permit.tp",
        label="Limit on total phosphorus",
        unit="mg P/L",
        points=tuple(points),
        values=values,
        feasible=feasible,
    )


def row(column: Array, steps: int) -> tuple[float, ...]:
    """Give the first cases of a column as that many numbers."""
    return tuple(map(float, _rows(column, steps)))


def _rows(column: Column, steps: int) -> Column:
    return np.broadcast_to(column, (max(len(column), steps), 1))[:steps, 0]


def _passed(candidates: Sequence[Candidate], index: comparison.Index) -> comparison.Flags:
    """Tell by case whether the candidate that is carried meets everything."""
    passed = np.broadcast_arrays(index, *(comparison.feasible(c) for c in candidates))[1:]
    return np.asarray(np.choose(index, passed))


def cheapest(sweep: Sweep) -> tuple[str, ...]:
    """Name the cheapest feasible strategy at each point; an empty text where there is none."""
    found = []
    for i in range(len(sweep.points)):
        worths = {
            sweep.values[name]["present_worth"][i]: name
            for name, feasible in sweep.feasible.items()
            if feasible[i] and name != "no_action"
        }
        found.append(worths[min(worths)] if worths else "")
    return tuple(found)


def crossings(inputs: Inputs, sweep: Sweep) -> tuple[Crossing, ...]:
    """Find the limits at which the cheapest feasible strategy changes, from loose to strict.

    Between two limits of the sweep those that are cheapest anywhere are designed again on a finer
    row.
    """
    first = cheapest(sweep)
    turns = [i for i in range(len(first) - 1) if first[i] != first[i + 1]]
    if not turns:
        return ()
    points: list[float] = []
    for i in turns:
        points += sweeps.limits(sweep.points[i], sweep.points[i + 1], FINER + 2)
    fine = targets_at(inputs, points, {name for name in first if name})
    names = cheapest(fine)
    return tuple(
        Crossing(
            at=(points[i] * points[i + 1]) ** 0.5,
            before=names[i],
            after=names[i + 1],
            fails=bool(names[i]) and not fine.feasible[names[i]][i + 1],
        )
        for i in range(len(points) - 1)
        if names[i] != names[i + 1] and (i + 1) % (FINER + 2)
    )


# --- break-evens ------------------------------------------------------------------------------


def break_evens(
    inputs: Inputs, compared: Comparison, swings: Sequence[Swing], chosen: Designs
) -> tuple[BreakEven, ...]:
    """Find where each important input makes the runner-up, or the reference, cost the same.

    The inputs are those of the widest swings, and the discount rate; each is looked for within its
    range, the others as they are. An input may cross more than once, or not at all.
    """
    if len(compared.ranking) < 2:
        return ()
    winner, runner_up = compared.ranking[:2]
    pair = dict.fromkeys((runner_up, compared.reference))
    rivals = [name for name in pair if name in compared.ranking[1:]]
    fields = [*(s.field for s in swings[:IMPORTANT]), *POLICY]
    searches = [(rival, field) for rival in rivals for field in fields]
    ends = [_ends(inputs, field) for _, field in searches]
    roots = _roots(searches, ends, _gap(inputs, winner, rivals, chosen))
    rows = appendix.field_rows(inputs)
    return tuple(
        BreakEven(
            field=name,
            label=rows[name].label,
            unit=rows[name].unit,
            against=rival,
            now=_now(inputs, name),
            low=low,
            high=high,
            at=found,
        )
        for (rival, name), (low, high), found in zip(searches, ends, roots, strict=True)
    )


def _gap(inputs: Inputs, winner: str, rivals: Sequence[str], chosen: Designs) -> Gap:
    """Give by how much a rival's present worth is above the winner's where an input is moved."""
    held = {name: chosen[name] for name in ("no_action", winner, *rivals)}

    def gap(searches: Sequence[Search], points: Array) -> Array:
        count = len(searches)
        found = evaluate(sweeps.one_at_a_time(inputs, [f for _, f in searches], points), held)
        worth = {
            name: np.broadcast_to(as_cases(found[name][0].reduced["present_worth"]), (count, 1))
            for name in (winner, *rivals)
        }
        theirs = np.array([worth[rival][i] for i, (rival, _) in enumerate(searches)])
        return theirs - worth[winner]

    return gap


def _ends(inputs: Inputs, name: str) -> tuple[float, float]:
    """Give the range that is searched: the input's, or the usual one of a chosen policy."""
    if name in inputs.low:
        return inputs.low[name], inputs.high[name]
    now = float(np.mean(as_cases(plain(inputs[name]))))
    low, high = schema.fields()[name].usual or (now, now)
    return min(low, now), max(high, now)


def _roots(
    searches: Sequence[Search], ends: Sequence[tuple[float, float]], gap: Gap
) -> list[tuple[float, ...]]:
    """Bracket every change of sign on a row of points, then narrow all brackets together."""
    rows = np.array([np.linspace(low, high, POINTS) for low, high in ends])
    seen = gap([one for one in searches for _ in range(POINTS)], rows.reshape(-1, 1))
    seen = seen.reshape(rows.shape)
    turns = np.argwhere((seen[:, :-1] > 0.0) != (seen[:, 1:] > 0.0))
    found: list[list[float]] = [[] for _ in searches]
    if len(turns):
        place, start = turns[:, 0], turns[:, 1]
        low, high = rows[place, start][:, None], rows[place, start + 1][:, None]
        rising = np.where(seen[place, start + 1] > seen[place, start], 1.0, -1.0)[:, None]
        held = [searches[i] for i in place]
        roots = bracketed_root(lambda x: rising * gap(held, x), low, high)
        for i, root in zip(place, roots[:, 0], strict=True):
            found[i].append(float(root))
    return [tuple(roots) for roots in found]


# --- maps -------------------------------------------------------------------------------------


def price_maps(
    inputs: Inputs, compared: Comparison, swings: Sequence[Swing], chosen: Designs
) -> tuple[ChoiceMap, ...]:
    """Map who is cheapest over two prices, the plant held; none where nothing competes.

    The prices are those of the salts and of purchased carbon where both compete, else the two
    inputs of the widest swings.
    """
    if len(compared.ranking) < 2:
        return ()
    salts = list(dict.fromkeys(
        f"prices.{chosen[name][0].product}" for name in compared.ranking if chosen[name][0].product
    ))  # fmt: skip
    salts = [name for name in salts if _now(inputs, name) > 0.0]
    swung = [s.field for s in swings if _now(inputs, s.field) > 0.0]
    if salts and PURCHASED in compared.ranking:
        groups = (salts, [f"prices.{chosen[PURCHASED][0].carbon}"])
    elif len(swung) > 1:
        groups = ([swung[0]], [swung[1]])
    else:
        return ()
    axes = [
        _axis(inputs, group[0], count) for group, count in zip(groups, (ACROSS, UP), strict=True)
    ]
    moved = [
        {name: axis / _now(inputs, group[0]) * _now(inputs, name) for name in group}
        for group, axis in zip(groups, axes, strict=True)
    ]
    held = {name: chosen[name] for name in ("no_action", *compared.ranking)}
    found = evaluate(sweeps.put(inputs, sweeps.grid(*moved)), held)
    worth = np.hstack([
        np.broadcast_to(as_cases(found[n][0].reduced["present_worth"]), (ACROSS * UP, 1))
        for n in compared.ranking
    ])  # fmt: skip
    names = np.array(compared.ranking, dtype=object)[np.argmin(worth, axis=1)]
    note = "The plant is held as designed."
    if len(groups[0]) > 1:
        note += " The other salts move in proportion."
    return (_map(inputs, (groups[0][0], groups[1][0]), axes, names.tolist(), note),)


def _policy_map(
    inputs: Inputs, found: Mapping[str, tuple[Candidate, ...]], limits: Array, rates: Array
) -> ChoiceMap:
    """Read the cheapest feasible strategy over the limit and the discount rate, the last cases."""
    count = len(limits) * len(rates)
    least, names = np.full(count, np.inf), np.full(count, "", dtype=object)
    for name, candidates in found.items():
        if name == "no_action":
            continue
        index = comparison.choose(candidates)
        worth = comparison.carry(candidates, index, "present_worth")
        held = np.where(_passed(candidates, index), worth, np.inf)
        held = np.broadcast_to(held, (max(len(held), count), 1))[-count:, 0]
        better = held < least
        least[better], names[better] = held[better], name
    note = "Every alternative is designed anew for each limit and rate."
    return _map(inputs, ("permit.tp", RATE), [limits, rates], names.tolist(), note)


def _now(inputs: Inputs, name: str) -> float:
    return float(np.mean(as_cases(plain(inputs[name]))))


def _axis(inputs: Inputs, name: str, count: int) -> Array:
    """Give a row of values evenly on a logarithmic scale, a third beyond the range at each end."""
    now = _now(inputs, name)
    low = inputs.low.get(name, now / 2.0)
    high = inputs.high.get(name, now * 2.0)
    low = low if low > 0.0 else now / 4.0
    return np.geomspace(low / 1.35, high * 1.35, count)


def _map(
    inputs: Inputs, fields: tuple[str, str], axes: Sequence[Array], names: list[str], note: str
) -> ChoiceMap:
    rows = appendix.field_rows(inputs)
    width = len(axes[0])
    labels = [rows[name].label for name in fields]
    return ChoiceMap(
        title=f"{labels[0]} and {labels[1][0].lower()}{labels[1][1:]}",
        labels=(labels[0], labels[1]),
        units=(rows[fields[0]].unit, rows[fields[1]].unit),
        across=tuple(map(float, axes[0])),
        up=tuple(map(float, axes[1])),
        now=(_now(inputs, fields[0]), _now(inputs, fields[1])),
        winners=tuple(tuple(names[start : start + width]) for start in range(0, len(names), width)),
        note=note,
    )


# --- other ways -------------------------------------------------------------------------------


def estimate_class(inputs: Inputs, compared: Comparison) -> dict[str, tuple[float, float]]:
    """Give each strategy's capital at the ends of the class of the estimate [money].

    It says how far such estimates have been off as a whole. The draws vary single inputs, and
    neither is added to the other.
    """
    low, high = (_now(inputs, f"decision.estimate_{end}") for end in ("low", "high"))
    return {
        name: (low * result.value("capital"), high * result.value("capital"))
        for name, result in compared.strategies.items()
        if result.kind != "baseline"
    }


def _limit(inputs: Inputs) -> float:
    return float(np.mean(as_cases(plain(sizing.limit(inputs)))))


def _yearly(inputs: Inputs, concentration: float) -> float:
    """Give the load of a concentration over a year, nothing below zero [kg/y]."""
    load = mass_load(max(concentration, 0.0), np.mean(as_cases(plain(inputs["flow.average"]))))
    return float(load) * units.DAYS_PER_YEAR
