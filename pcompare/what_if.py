"""Where the answer turns: along the limit, at break-evens, and over two inputs at a time.

Along the limit every strategy is designed anew. At break-evens and over prices the plant is held
as it was designed, and only what it does and costs changes.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

import numpy as np

from pcompare import appendix, comparison, sweeps, units
from pcompare.arrays import Array, as_cases, bracketed_root, plain
from pcompare.equations.stoichiometry import mass_load
from pcompare.evaluation import evaluate, point
from pcompare.inputs import schema
from pcompare.records import (
    BreakEven,
    Candidate,
    ChoiceMap,
    Comparison,
    Crossing,
    Design,
    Inputs,
    Sweep,
    Swing,
)
from pcompare.strategies import sizing
from pcompare.strategies.biological import PURCHASED

SWEPT = ("metal_dose", "carbon_dose", "chemical_sludge", "sludge_increase", "chloride_added",
         "sulfate_added", "tds_increase_residue", "annual_cost", "equal_annual_cost",
         "present_worth", "effluent_tp", "probability_meets_permit")  # fmt: skip
FINER = 5  # limits tried between two of a sweep, to find a crossing
IMPORTANT = 12  # inputs whose break-even is looked for
POINTS = 9  # of each input's range, between which a break-even is bracketed
POLICY = ("finance.discount_rate",)  # chosen, not drawn; looked at over their usual range
ACROSS, UP = 27, 18  # cells of a map
LIMITS, RATES = 13, 4

Designs = Mapping[str, tuple[Design, ...]]


# --- along the limit --------------------------------------------------------------------------


def targets_at(
    inputs: Inputs, points: Sequence[float], only: Collection[str] | None = None
) -> Sweep:
    """Design every strategy, or only some, anew for a row of effluent limits, in one pass."""
    steps = len(points)
    found = point(sweeps.along(inputs, "permit.tp", points), only)
    values: dict[str, Mapping[str, tuple[float, ...]]] = {}
    feasible: dict[str, tuple[bool, ...]] = {}
    for name, candidates in found.items():
        index = np.broadcast_to(comparison.choose(candidates), (steps, 1))
        values[name] = {q: row(comparison.carry(candidates, index, q), steps) for q in SWEPT}
        feasible[name] = tuple(bool(x) for x in _passed(candidates, index)[:, 0])
    return Sweep(
        along="permit.tp",
        label="Limit on total phosphorus",
        unit="mg P/L",
        points=tuple(points),
        values=values,
        feasible=feasible,
    )


def row(column: Array, steps: int) -> tuple[float, ...]:
    """Give a column of cases as that many numbers."""
    return tuple(map(float, np.broadcast_to(column, (steps, 1))[:, 0]))


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
    fields = [*(s.field for s in swings[:IMPORTANT]), *POLICY]
    found: list[BreakEven] = []
    for rival in dict.fromkeys((runner_up, compared.reference)):
        if rival in compared.ranking[1:]:
            found += _against(inputs, winner, rival, fields, chosen)
    return tuple(found)


def _against(
    inputs: Inputs, winner: str, rival: str, fields: Sequence[str], chosen: Designs
) -> list[BreakEven]:
    held = {name: chosen[name] for name in ("no_action", winner, rival)}

    def gap(names: Sequence[str], points: Array) -> Array:
        found = evaluate(sweeps.one_at_a_time(inputs, names, points), held)
        worth = [as_cases(found[n][0].reduced["present_worth"]) for n in (rival, winner)]
        return np.asarray(np.broadcast_to(worth[0] - worth[1], (len(names), 1)))

    ends = [_ends(inputs, name) for name in fields]
    roots = _roots(fields, ends, gap)
    rows = appendix.field_rows(inputs)
    return [
        BreakEven(
            field=name,
            label=rows[name].label,
            unit=rows[name].unit,
            against=rival,
            now=float(np.mean(as_cases(plain(inputs[name])))),
            low=low,
            high=high,
            at=roots[name],
        )
        for name, (low, high) in zip(fields, ends, strict=True)
    ]


def _ends(inputs: Inputs, name: str) -> tuple[float, float]:
    """Give the range that is searched: the input's, or the usual one of a chosen policy."""
    if name in inputs.low:
        return inputs.low[name], inputs.high[name]
    now = float(np.mean(as_cases(plain(inputs[name]))))
    low, high = schema.fields()[name].usual or (now, now)
    return min(low, now), max(high, now)


def _roots(
    fields: Sequence[str],
    ends: Sequence[tuple[float, float]],
    gap: Callable[[Sequence[str], Array], Array],
) -> dict[str, tuple[float, ...]]:
    """Bracket every change of sign on a row of points, then narrow all brackets together."""
    rows = np.array([np.linspace(low, high, POINTS) for low, high in ends])
    names = [name for name in fields for _ in range(POINTS)]
    seen = gap(names, rows.reshape(-1, 1)).reshape(rows.shape)
    turns = np.argwhere((seen[:, :-1] > 0.0) != (seen[:, 1:] > 0.0))
    found: dict[str, list[float]] = {name: [] for name in fields}
    if len(turns):
        place, start = turns[:, 0], turns[:, 1]
        low, high = rows[place, start][:, None], rows[place, start + 1][:, None]
        rising = np.where(seen[place, start + 1] > seen[place, start], 1.0, -1.0)[:, None]
        held = [fields[i] for i in place]
        roots = bracketed_root(lambda x: rising * gap(held, x), low, high)
        for name, root in zip(held, roots[:, 0], strict=True):
            found[name].append(float(root))
    return {name: tuple(roots) for name, roots in found.items()}


# --- maps -------------------------------------------------------------------------------------


def maps(
    inputs: Inputs, compared: Comparison, swings: Sequence[Swing], chosen: Designs
) -> tuple[ChoiceMap, ...]:
    """Map who is cheapest over two prices, the plant held, and over limit and rate, designed anew.

    The prices are those of the salts and of purchased carbon where both compete, else the two
    inputs of the widest swings.
    """
    found = []
    if len(compared.ranking) > 1:
        found += _held_map(inputs, compared, swings, chosen)
    return (*found, _policy_map(inputs))


def _held_map(
    inputs: Inputs, compared: Comparison, swings: Sequence[Swing], chosen: Designs
) -> list[ChoiceMap]:
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
        return []
    axes = [
        _axis(inputs, group[0], count) for group, count in zip(groups, (ACROSS, UP), strict=True)
    ]
    moved = [
        {name: axis / _now(inputs, group[0]) * _now(inputs, name) for name in group}
        for group, axis in zip(groups, axes, strict=True)
    ]
    held = {name: chosen[name] for name in ("no_action", *compared.ranking)}
    found = evaluate(sweeps.crossed(inputs, *moved), held)
    worth = np.hstack([
        np.broadcast_to(as_cases(found[n][0].reduced["present_worth"]), (ACROSS * UP, 1))
        for n in compared.ranking
    ])  # fmt: skip
    names = np.array(compared.ranking, dtype=object)[np.argmin(worth, axis=1)]
    note = "The plant is held as designed."
    if len(groups[0]) > 1:
        note += " The other salts move in proportion."
    return [_map(inputs, (groups[0][0], groups[1][0]), axes, names.tolist(), note)]


def _policy_map(inputs: Inputs) -> ChoiceMap:
    """Map the cheapest feasible strategy over the limit and the discount rate, designed anew."""
    limits = np.array(sweeps.limits(2.0, 0.05, LIMITS))
    rate = "finance.discount_rate"
    rates = np.linspace(0.0, max(0.08, _now(inputs, rate)), RATES)
    count = LIMITS * RATES
    found = point(sweeps.crossed(inputs, {"permit.tp": limits}, {rate: rates}))
    least, names = np.full(count, np.inf), np.full(count, "", dtype=object)
    for name, candidates in found.items():
        if name == "no_action":
            continue
        index = np.broadcast_to(comparison.choose(candidates), (count, 1))
        worth = np.broadcast_to(comparison.carry(candidates, index, "present_worth"), (count, 1))
        held = np.where(_passed(candidates, index), worth, np.inf)[:, 0]
        better = held < least
        least[better], names[better] = held[better], name
    note = "Every alternative is designed anew for each limit and rate."
    return _map(inputs, ("permit.tp", rate), [limits, rates], names.tolist(), note)


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
