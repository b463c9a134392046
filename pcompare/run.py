"""The pipeline on one screen: ``compare``, ``targets``, ``study`` and ``dossier``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from pcompare import (
    appendix,
    basis,
    comparison,
    downstream,
    lines,
    money,
    risk,
    sweeps,
    traced,
    uncertainty,
    what_if,
)
from pcompare.arrays import as_cases, plain
from pcompare.beside import beside
from pcompare.designing import compare, point_of
from pcompare.equations import nitrogen
from pcompare.evaluation import evaluate
from pcompare.findings import (
    Dossier,
    Provenance,
    Recording,
    Study,
    Sweep,
    Swing,
)
from pcompare.nitrate import LAYOUTS, has_anaerobic_zone
from pcompare.recording import Recorded, nearest_equations, resting_on_solved
from pcompare.records import (
    Comparison,
    Design,
    Inputs,
    Line,
    StrategyResult,
)
from pcompare.strategies import sizing, treatment
from pcompare.strategies import zones as zones_of
from pcompare.strategies.biological import EXISTING
from pcompare.strategies.dosing import MODELS
from pcompare.strategies.salt import SINGLE

TARGETS = (what_if.LOOSE, what_if.STRICT, 20)  # the way along the limit, and its steps
# Margins that a plant is sized with and that a draw may use up: the sludge age must then hold the
# nitrifiers themselves, and the organisms' potential the phosphorus itself.
MARGINS = ("coefficient.nitrifier_safety", "coefficient.potential_reserve")


def targets(
    inputs: Inputs, start: float = TARGETS[0], stop: float = TARGETS[1], steps: int = TARGETS[2]
) -> Sweep:
    """Design every strategy anew for a row of effluent limits, in one pass."""
    return what_if.targets_at(inputs, sweeps.limits(start, stop, steps))


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
    points = sweeps.limits(what_if.LOOSE, what_if.STRICT, steps)
    product = compared.strategies[SINGLE].product
    values: dict[str, Mapping[str, tuple[float, ...]]] = {}
    feasible: dict[str, tuple[bool, ...]] = {}
    for kind in MODELS:
        choices = {"chemical.dose_model": kind, "chemical.products": product}
        asked = replace(inputs, choices={**inputs.choices, **choices})
        (found,) = point_of(sweeps.along(asked, "permit.tp", points), SINGLE)
        values[kind] = {"metal_dose": what_if.row(as_cases(found.reduced["metal_dose"]), steps)}
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


def washout(inputs: Inputs) -> Sweep:
    """Sludge ages below which nitrifiers and storing organisms are lost, by temperature.

    Between the two a plant stores phosphorus and makes no nitrate, whatever its limit.
    """
    fixed = plain(inputs)
    temperatures = as_cases([[float(t)] for t in range(8, 29)])
    zones = replace(
        zones_of.laid_out(inputs),
        anoxic_fraction=as_cases(0.0),
        extra_fraction=as_cases(0.0),
    )
    nitrifiers = basis.nitrifier_washout(fixed, zones, temperatures)
    storing = nitrogen.storing_washout(
        fixed.coefficient("storing_loss_srt"), fixed.coefficient("storing_loss_theta"), temperatures
    )
    values = {
        "nitrifiers": nitrifiers,
        "storing organisms": storing,
        "window": nitrogen.washout_window(nitrifiers, storing),
    }
    return Sweep(
        along="influent.temperature_average",
        label="Water temperature",
        unit="degC",
        points=tuple(map(float, temperatures[:, 0])),
        values={name: {"srt": tuple(map(float, as_cases(v)[:, 0]))} for name, v in values.items()},
        feasible={},
    )


def study(
    inputs: Inputs,
    compared: Comparison,
    draws: int,
    seed: int,
    progress: Callable[[int, int], None] | None = None,
) -> Study:
    """Hold the plant as designed and run the draws through it.

    A draw that runs out of capacity misses. The margins that the plant was sized with are there to
    be used up: see ``MARGINS``.
    """
    chosen = carried_designs(compared)
    held = _without_margins(inputs)

    def lines_by_case(cases: Inputs) -> dict[str, uncertainty.Column]:
        found = evaluate(cases, chosen)
        values: dict[str, uncertainty.Column] = {}
        for name, (candidate,) in found.items():
            for quantity, value in candidate.reduced.items():
                values[f"{name}.{quantity}"] = as_cases(value)
            meets = comparison.feasible(candidate)
            values[f"{name}.{risk.MEETS}"] = meets
            values[f"{name}.{risk.KEEPS}"] = meets & comparison.keeps_salt(candidate, cases)
        if compared.ranking:
            first, reference = compared.ranking[0], compared.reference
            for q in lines.DIFFERENCES:
                values[f"difference.{q}"] = values[f"{first}.{q}"] - values[f"{reference}.{q}"]
        return values

    found = risk.study(held, draws, seed, lines_by_case, compared.ranking, progress)
    rows = appendix.field_rows(inputs)
    drivers = (
        replace(d, label=rows[d.field].label, unit=rows[d.field].unit) for d in found.drivers
    )
    return replace(found, drivers=tuple(drivers))


def _without_margins(inputs: Inputs) -> Inputs:
    low, high = (
        {n: end for n, end in ends.items() if n not in MARGINS}
        for ends in (inputs.low, inputs.high)
    )
    values = {**inputs.values, **dict.fromkeys(MARGINS, as_cases(1.0))}
    return replace(inputs, values=values, low=low, high=high)


def carried_designs(compared: Comparison) -> dict[str, tuple[Design, ...]]:
    """Give the design that each strategy carries."""
    return {name: (result.design,) for name, result in compared.strategies.items()}


def sensitivity(inputs: Inputs, compared: Comparison) -> tuple[Swing, ...]:
    """Swing the present worth of the runner-up less the winner, input by input."""
    fields = uncertainty.varied_fields(inputs)
    if len(compared.ranking) < 2 or not fields:
        return ()
    winner, runner_up = compared.ranking[:2]
    chosen = carried_designs(compared)
    held = {name: chosen[name] for name in ("no_action", winner, runner_up)}
    found = evaluate(sweeps.tornado(inputs, fields), held)
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


def dossier(
    inputs: Inputs,
    draws: int = 2000,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
    processes: int = 1,
    meanwhile: Callable[[Recording], object] | None = None,
) -> Dossier:
    """Everything that the documents need, from one set of inputs.

    With more than one of ``processes`` the draws, and the search for turns, run beside the rest;
    the results are the same. ``meanwhile`` is called with the recording before they are waited
    for.
    """
    found = compare(inputs, processes)
    drawn = beside(lambda: study(inputs, found, draws, seed, progress), processes if draws else 1)
    sought = beside(lambda: {**_swept(inputs), **_turns(inputs, found)}, processes)
    recording = traced.trace(inputs, found)
    parts = {**_appendices(inputs, recording, draws), **_views(inputs, found)}
    if meanwhile is not None:
        meanwhile(recording)
    spread = drawn()
    annotated = _annotate(found, recording.lines, spread)
    turns = sought()
    maps = (*turns.pop("price_maps"), turns.pop("policy_map"))
    compared = replace(
        annotated,
        difference=comparison.difference(annotated, spread),
        what_would_change_it=comparison.what_would_change(
            annotated, turns["sensitivity"], turns["break_evens"]
        ),
        recommendation=comparison.with_odds(annotated, spread),
    )
    return Dossier(
        inputs=inputs,
        comparison=compared,
        recorded=recording.lines,
        recording=recording,
        study=spread,
        provenance=provenance(inputs, draws, seed),
        maps=maps,
        **parts,
        **turns,
    )


def _appendices(inputs: Inputs, recording: Recording, draws: int) -> dict[str, Any]:
    """Gather fields, equations, works and printed numbers: parts of a dossier by name."""
    fields = tuple(appendix.field_rows(inputs).values())
    equations = appendix.used_equations(traced.everything(recording), money.EQUATIONS)
    return {
        "fields": fields,
        "equations": equations,
        "sources": appendix.cited_sources(fields, equations, risk.WORKS if draws else ()),
        "published": appendix.published_numbers(),
    }


def _swept(inputs: Inputs) -> dict[str, Any]:
    """Design anew along the limit and over policies: parts of a dossier by name."""
    swept, policy = what_if.redesigned(inputs, sweeps.limits(*TARGETS))
    return {
        "targets": swept,
        "crossings": what_if.crossings(inputs, swept),
        "policy_map": policy,
    }


def _turns(inputs: Inputs, compared: Comparison) -> dict[str, Any]:
    """Find where inputs turn the answer, the plant held: parts of a dossier by name."""
    chosen, swings = carried_designs(compared), sensitivity(inputs, compared)
    return {
        "sensitivity": swings,
        "break_evens": what_if.break_evens(inputs, compared, swings, chosen),
        "price_maps": what_if.price_maps(inputs, compared, swings, chosen),
    }


def _views(inputs: Inputs, compared: Comparison) -> dict[str, Any]:
    """Look at single choices, the water used again and money: parts of a dossier by name."""
    return {
        "salts": salts(inputs),
        "layouts": layouts(inputs),
        "dose_models": dose_models(inputs, compared),
        "washout": washout(inputs),
        "reuse": downstream.picture(inputs, compared),
        "money": money.money(inputs, compared, float(plain(sizing.limit(inputs)).min())),
        "estimate_class": what_if.estimate_class(inputs, compared),
    }


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
    import hashlib
    from importlib import metadata

    from pcompare import __version__

    fingerprint = hashlib.sha256(_canonical(inputs).encode()).hexdigest()
    libraries = {name: metadata.version(name) for name in ("numpy", "scipy")}
    run = hashlib.sha256(f"{fingerprint} {__version__} {seed} {draws}".encode()).hexdigest()
    return Provenance(
        version=__version__,
        run_id=run[:12],
        input_hash=fingerprint,
        seed=seed,
        draws=draws,
        libraries=libraries,
    )


def _canonical(inputs: Inputs) -> str:
    rows = [f"{n}={as_cases(v).tolist()!r}" for n, v in sorted(inputs.values.items())]
    ranges = [f"{n}={inputs.low[n]!r},{inputs.high[n]!r}" for n in sorted(inputs.low)]
    shaped = [f"{n}~{shape}" for n, shape in sorted(inputs.shapes.items())]
    paired = [f"{a},{b}={r!r}" for (a, b), r in sorted(inputs.correlations.items())]
    chosen = [f"{n}={v}" for n, v in sorted(inputs.choices.items())]
    return "\n".join([*rows, *ranges, *shaped, *paired, *chosen])
