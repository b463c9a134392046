"""The pipeline on one screen: ``compare``, ``targets``, ``study`` and ``dossier``."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from pcompare import appendix, comparison, lines, sweeps, traced, uncertainty
from pcompare.arrays import Array, as_cases
from pcompare.evaluation import basis_lines, evaluate, point, point_of
from pcompare.nitrate import LAYOUTS, has_anaerobic_zone
from pcompare.recording import Recorded, nearest_equations, resting_on_solved
from pcompare.records import (
    Comparison,
    Design,
    Dossier,
    Inputs,
    Line,
    Provenance,
    StrategyResult,
    Study,
    Sweep,
    Swing,
)
from pcompare.strategies import treatment
from pcompare.strategies.biological import EXISTING
from pcompare.strategies.dosing import MODELS
from pcompare.strategies.salt import SINGLE

SWEPT = ("metal_dose", "carbon_dose", "chemical_sludge", "sludge_increase", "chloride_added",
         "sulfate_added", "tds_increase_residue", "annual_cost", "equal_annual_cost",
         "present_worth", "effluent_tp", "probability_meets_permit")  # fmt: skip


def compare(inputs: Inputs) -> Comparison:
    """Design, operate and compare every strategy at point values."""
    found = point(inputs)
    return comparison.compare(found, basis_lines(inputs, found["no_action"][0]))


def targets(inputs: Inputs, start: float = 2.0, stop: float = 0.05, steps: int = 20) -> Sweep:
    """Design every strategy anew for a row of effluent limits, in one pass."""
    points = sweeps.limits(start, stop, steps)
    cases = sweeps.along(inputs, "permit.tp", points)
    found = point(cases)
    values: dict[str, Mapping[str, tuple[float, ...]]] = {}
    feasible: dict[str, tuple[bool, ...]] = {}
    for name, candidates in found.items():
        index = np.broadcast_to(comparison.choose(candidates), (steps, 1))
        values[name] = {q: _row(comparison.carry(candidates, index, q), steps) for q in SWEPT}
        passed = np.broadcast_arrays(index, *(comparison.feasible(c) for c in candidates))[1:]
        feasible[name] = tuple(bool(x) for x in np.choose(index, passed)[:, 0])
    return Sweep(
        along="permit.tp",
        label="Limit on total phosphorus",
        unit="mg P/L",
        points=points,
        values=values,
        feasible=feasible,
    )


def _row(column: Array, steps: int) -> tuple[float, ...]:
    return tuple(map(float, np.broadcast_to(column, (steps, 1))[:, 0]))


def salts(inputs: Inputs) -> dict[str, dict[str, Line]]:
    """Every metal salt of the tables at one point and at the target: product to lines."""
    return {
        c.design.product: comparison.lines_of(f"{SINGLE}.salts.{c.design.product}", c)
        for c in point_of(with_every_salt(inputs), SINGLE)
    }


def with_every_salt(inputs: Inputs) -> Inputs:
    """Give the same plant with every metal salt of the tables to consider."""
    everything = ", ".join(p for p, kind in treatment.products().items() if kind != "lime")
    return replace(inputs, choices={**inputs.choices, "chemical.products": everything})


def differences(compared: Comparison) -> dict[str, Line]:
    """Give the recommended strategy less the reference, at point values."""
    none = Study(draws=0, seed=0, lines={}, chance_cheapest={}, varied=())
    return comparison.difference(compared, none)


def layouts(inputs: Inputs) -> dict[str, dict[str, Line]]:
    """Every layout with an anaerobic zone, on the sewage's own carbon: layout to lines."""
    found: dict[str, dict[str, Line]] = {}
    for layout in (name for name in LAYOUTS if has_anaerobic_zone(name)):
        asked = replace(inputs, choices={**inputs.choices, "bio.layout": layout})
        (candidate,) = point_of(asked, EXISTING)
        found[layout] = comparison.lines_of(f"{EXISTING}.layouts.{layout}", candidate)
    return found


def dose_models(inputs: Inputs, compared: Comparison, steps: int = 20) -> Sweep:
    """Dose of the carried salt by each published dose model, along the limit."""
    points = sweeps.limits(2.0, 0.05, steps)
    product = compared.strategies[SINGLE].product
    values: dict[str, Mapping[str, tuple[float, ...]]] = {}
    feasible: dict[str, tuple[bool, ...]] = {}
    for kind in MODELS:
        choices = {"chemical.dose_model": kind, "chemical.products": product}
        asked = replace(inputs, choices={**inputs.choices, **choices})
        (found,) = point_of(sweeps.along(asked, "permit.tp", points), SINGLE)
        values[kind] = {"metal_dose": _row(as_cases(found.reduced["metal_dose"]), steps)}
        passed = np.broadcast_to(comparison.feasible(found), (steps, 1))
        feasible[kind] = tuple(bool(x) for x in passed[:, 0])
    return Sweep(
        along="permit.tp",
        label="Limit on total phosphorus",
        unit="mg P/L",
        points=points,
        values=values,
        feasible=feasible,
    )


def study(inputs: Inputs, compared: Comparison, draws: int, seed: int) -> Study:
    """Hold the plant as designed and run the draws through it."""
    chosen = carried_designs(compared)

    def lines_by_case(cases: Inputs) -> dict[str, Array]:
        found = evaluate(cases, chosen)
        values = {
            f"{name}.{quantity}": as_cases(value)
            for name, (candidate,) in found.items()
            for quantity, value in candidate.reduced.items()
        }
        if compared.ranking:
            first, reference = compared.ranking[0], compared.reference
            for q in lines.DIFFERENCES:
                values[f"difference.{q}"] = values[f"{first}.{q}"] - values[f"{reference}.{q}"]
        return values

    return uncertainty.study(inputs, draws, seed, lines_by_case, compared.ranking)


def carried_designs(compared: Comparison) -> dict[str, tuple[Design, ...]]:
    """Give the design that each strategy carries."""
    return {name: (result.design,) for name, result in compared.strategies.items()}


def sensitivity(inputs: Inputs, compared: Comparison) -> tuple[Swing, ...]:
    """Swing the present worth of the runner-up less the winner, input by input."""
    fields = uncertainty.varied_fields(inputs)
    if len(compared.ranking) < 2 or not fields:
        return ()
    winner, runner_up = compared.ranking[:2]
    found = evaluate(sweeps.tornado(inputs, fields), carried_designs(compared))
    worth = [as_cases(found[n][0].reduced["present_worth"]) for n in (runner_up, winner)]
    ends = sweeps.ends(worth[0] - worth[1])
    rows = appendix.field_rows(inputs)
    swings = [
        Swing(
            field=name,
            label=rows[name].label,
            unit=rows[name].unit,
            low_input=inputs.low[name],
            high_input=inputs.high[name],
            at_low=low,
            at_high=high,
        )
        for name, (low, high) in zip(fields, ends, strict=True)
    ]
    return tuple(sorted(swings, key=lambda s: -abs(s.at_high - s.at_low)))


def dossier(inputs: Inputs, draws: int = 2000, seed: int = 1) -> Dossier:
    """Everything that the documents need, from one set of inputs."""
    compared = compare(inputs)
    recording = traced.trace(inputs, compared)
    recorded = recording.lines
    spread = study(inputs, compared, draws, seed)
    swings = sensitivity(inputs, compared)
    compared = _annotate(compared, recorded, spread)
    compared = replace(
        compared,
        difference=comparison.difference(compared, spread),
        what_would_change_it=comparison.what_would_change(compared, swings),
    )
    fields = tuple(appendix.field_rows(inputs).values())
    equations = appendix.used_equations(traced.everything(recording))
    return Dossier(
        inputs=inputs,
        fields=fields,
        equations=equations,
        sources=appendix.cited_sources(fields, equations),
        comparison=compared,
        recorded=recorded,
        recording=recording,
        published=appendix.published_numbers(),
        study=spread,
        targets=targets(inputs),
        sensitivity=swings,
        salts=salts(inputs),
        layouts=layouts(inputs),
        dose_models=dose_models(inputs, compared),
        provenance=provenance(inputs, draws, seed),
    )


def _annotate(compared: Comparison, recorded: Mapping[str, Recorded], spread: Study) -> Comparison:
    """Add to each carried line its equation and sources, and its low, middle and high."""
    iterated = resting_on_solved(recorded.values())

    def annotated(line: Line) -> Line:
        node = recorded.get(line.key)
        names = nearest_equations(node) if node is not None else ()
        given = "as given" if node is not None and not names else ""
        low, middle, high = spread.lines.get(line.key, (None, None, None))
        return replace(
            line,
            equation=", ".join(names) or given,
            sources=appendix.references_of(names),
            solved=id(node) in iterated,
            low=low,
            middle=middle,
            high=high,
        )

    def result(old: StrategyResult) -> StrategyResult:
        return replace(old, lines={q: annotated(line) for q, line in old.lines.items()})

    return replace(compared, strategies={n: result(r) for n, r in compared.strategies.items()})


def provenance(inputs: Inputs, draws: int, seed: int) -> Provenance:
    """Identify a run by its inputs, version, seed and draws; no clock is read."""
    from pcompare import __version__

    fingerprint = hashlib.sha256(_canonical(inputs).encode()).hexdigest()
    run = hashlib.sha256(f"{fingerprint} {__version__} {seed} {draws}".encode()).hexdigest()
    return Provenance(
        version=__version__,
        run_id=run[:12],
        input_hash=fingerprint,
        seed=seed,
        draws=draws,
        libraries={"numpy": np.__version__},
    )


def _canonical(inputs: Inputs) -> str:
    rows = [f"{n}={as_cases(v).tolist()!r}" for n, v in sorted(inputs.values.items())]
    ranges = [f"{n}={inputs.low[n]!r},{inputs.high[n]!r}" for n in sorted(inputs.low)]
    return "\n".join([*rows, *ranges, *(f"{n}={v}" for n, v in sorted(inputs.choices.items()))])
