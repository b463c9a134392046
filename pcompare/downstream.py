"""Salt downstream: every carried design in a normal year and in droughts, held against limits.

Nothing is calculated anew here: droughts are cases of the same evaluation, with less water and the
same loads of each person.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from pcompare.arrays import Array, as_cases, weighted_mean
from pcompare.costs import salinity
from pcompare.equations import alkalinity, reuse_forms, water_use
from pcompare.equations import reuse as loops
from pcompare.evaluation import evaluate
from pcompare.findings import (
    ReuseLoop,
    ReusePicture,
    SaltCost,
    SaltRoom,
    Sweep,
    UsedWater,
    UseLimit,
    UseVerdict,
)
from pcompare.impacts import reuse, salt_room, use_limits
from pcompare.records import Candidate, Comparison, Inputs
from pcompare.strategies import salt, treatment

STEPS = tuple(i / 10.0 for i in range(9))  # of a cut, from nothing to 80 %
MOST_SAVED = 0.6  # of the use per person, on the curves
CYCLES = tuple(float(n) for n in range(11))
RESIDENCE_TIMES = tuple(i / 2.0 for i in range(11))  # of a reservoir or aquifer
CURVES = {
    "river": "River flow missing",
    "use": "Use per person saved",
    "both": "River flow missing, use saved in proportion",
}
LOADS = ("tp", "orthophosphate", "nonreactive_p", "cod", "bod5", "rbcod", "vfa", "tss", "vss",
         "tkn", "ammonia", "nitrate")  # fmt: skip
# Effluent at the plant, undiluted: quantity -> line.
AT_THE_PLANT = {
    "tds": "tds_residue",
    "chloride": "effluent_chloride",
    "sulfate": "effluent_sulfate",
    "sodium": "effluent_sodium",
    "bicarbonate": "bicarbonate",
    "conductivity": "conductivity",
    "sar": "sar",
}
IMBALANCE = 0.03  # of the sum of all ions; more is told
NORMAL, DROUGHT = 0, 1  # the first two cases; the curves follow

Reduced = Mapping[str, Mapping[str, Array]]  # strategy -> quantity -> column of cases


def picture(inputs: Inputs, compared: Comparison) -> ReusePicture:
    """Follow the salt of every carried design to those who use the water.

    Parameters
    ----------
    inputs : Inputs
    compared : Comparison

    Returns
    -------
    ReusePicture
    """
    cuts = _cuts(inputs)
    cases = _cases(inputs, cuts)
    designs = {name: (result.design,) for name, result in compared.strategies.items()}
    found = {name: one[0] for name, one in evaluate(cases, designs).items()}
    reduced = {name: _columns(c, len(cuts)) for name, c in found.items()}
    limits = use_limits.limits(inputs)
    governing = use_limits.governing(limits)
    water = {name: _water(inputs, found[name], reduced[name]) for name in found}
    handed = _handed(cases, found)
    imbalance = _imbalance(inputs)
    return ReusePicture(
        form=inputs.choice("reuse.form"),
        normal=_loop(inputs, cuts[NORMAL], cases, NORMAL),
        drought=_loop(inputs, cuts[DROUGHT], cases, DROUGHT),
        quantities=use_limits.QUANTITIES,
        water=water,
        limits=limits,
        governing=governing,
        verdicts=_verdicts(inputs, water, limits, handed),
        infiltration={name: _infiltration(one) for name, one in water.items()},
        crops={name: _crops(one) for name, one in water.items()},
        curves=_curves(found, reduced, limits, governing),
        approach=_approach(inputs, handed),
        rooms=_rooms(inputs, cases, found["no_action"], limits, governing),
        costs=_costs(cases, found),
        unmeasured=float(as_cases(found["no_action"].reduced["unmeasured_ions"])[NORMAL, 0]),
        unmeasured_share=imbalance,
        notes=_notes(inputs, imbalance),
    )


# --- the cases --------------------------------------------------------------------------------


def _number(inputs: Inputs, field: str) -> float:
    return float(as_cases(inputs[field])[0, 0])


def _cuts(inputs: Inputs) -> list[tuple[float, float]]:
    """Give river and use cut of each case: normal year, design drought, then the three curves."""
    river = _number(inputs, "reuse.drought_river_flow_cut")
    use = _number(inputs, "reuse.drought_use_cut")
    per_river = use / river if river > 0.0 else 1.0
    return [
        (0.0, 0.0),
        (river, use),
        *((cut, 0.0) for cut in STEPS),
        *((0.0, min(cut, MOST_SAVED)) for cut in STEPS),
        *((cut, min(cut * per_river, MOST_SAVED)) for cut in STEPS),
    ]


def _cases(inputs: Inputs, cuts: Sequence[tuple[float, float]]) -> Inputs:
    """Put the droughts on the cases axis: less water, the same loads of each person."""
    river, use = (np.array([cut[i] for cut in cuts]).reshape(-1, 1) for i in (0, 1))
    values = dict(inputs.values)
    values["flow.average"] = inputs["flow.average"] * (1.0 - use)
    for name in LOADS:
        field = f"influent.{name}"
        values[field] = reuse_forms.drought_concentration(inputs[field], 0.0, use)
    for name in ("sodium", "potassium", "calcium", "magnesium", "chloride", "sulfate",
                 "alkalinity"):  # fmt: skip
        field = f"influent.{name}"
        source = inputs[f"reuse.source_{name}"]
        values[field] = reuse_forms.drought_concentration(inputs[field], source, use)
    if inputs.choice("reuse.form") != "blend":
        values["reuse.return_fraction"] = reuse_forms.river_share(
            inputs["reuse.return_fraction"], river, use
        )
    return replace(inputs, values=values)


def _column(value: object, count: int) -> Array:
    return np.broadcast_to(as_cases(value), (count, 1))


def _columns(candidate: Candidate, count: int) -> dict[str, Array]:
    """Give the reused supply of every case, quantity by quantity."""
    return {key: _column(candidate.reduced[f"reuse_{key}"], count) for key in use_limits.UNITS}


def _or_none(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _loop(inputs: Inputs, cut: tuple[float, float], cases: Inputs, case: int) -> ReuseLoop:
    asked = as_cases(cases["reuse.return_fraction"])
    shares = reuse.loop(cases)
    counted, lost = as_cases(shares.return_fraction), as_cases(shares.evaporation)
    place = min(case, counted.shape[0] - 1)
    share, evaporated = float(counted[place, 0]), float(lost[0, 0])
    multiplier = float(loops.loop_multiplier(share, evaporated))
    steady = multiplier < 1.0
    return ReuseLoop(
        river_cut=cut[0],
        use_cut=cut[1],
        return_fraction=share,
        evaporation_fraction=evaporated,
        multiplier=multiplier,
        capped=float(asked[min(case, asked.shape[0] - 1), 0]) > share,
        steady=steady,
        reason="" if steady else "as much salt comes back with each cycle as leaves, or more",
    )


# --- water and verdicts -----------------------------------------------------------------------


def _water(inputs: Inputs, found: Candidate, supply: Mapping[str, Array]) -> dict[str, UsedWater]:
    mixed = {name: as_cases(inputs[field]) for name, field in reuse.SOURCES.items()}
    source = {key: float(as_cases(v)[0, 0]) for key, v in reuse.judged(mixed).items()}
    return {
        key: UsedWater(
            source=_or_none(source[key]),
            effluent=_or_none(float(as_cases(found.reduced[AT_THE_PLANT[key]])[NORMAL, 0])),
            normal=_or_none(float(column[NORMAL, 0])),
            drought=_or_none(float(column[DROUGHT, 0])),
        )
        for key, column in supply.items()
    }


def _handed(cases: Inputs, found: Mapping[str, Candidate]) -> dict[str, dict[str, Array]]:
    """Effluent as it counts downstream, months averaged by flow: a column of cases each."""
    before, flow = found["no_action"].monthly, cases["flow.average"]
    return {
        name: {
            key: as_cases(weighted_mean(value, flow))
            for key, value in reuse.handed_on(c.monthly, before).items()
        }
        for name, c in found.items()
    }


def _verdicts(
    inputs: Inputs,
    water: Mapping[str, Mapping[str, UsedWater]],
    limits: Sequence[UseLimit],
    handed: Reduced,
) -> dict[str, dict[str, UseVerdict]]:
    cycles, shares = _ways_to(inputs, limits, handed)
    return {
        name: {
            limit.key: UseVerdict(
                limit=limit.key,
                effluent=use_limits.met(one[limit.quantity].effluent, limit),
                normal=use_limits.met(one[limit.quantity].normal, limit),
                drought=use_limits.met(one[limit.quantity].drought, limit),
                cycles=_or_none(cycles[limit.key][place]) if limit.key in cycles else None,
                largest_share=_or_none(shares[limit.key][place]) if limit.key in shares else None,
            )
            for limit in limits
        }
        for place, (name, one) in enumerate(water.items())
    }


def _ways_to(
    inputs: Inputs, limits: Sequence[UseLimit], handed: Reduced
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Cycles until each limit is passed, and the largest share that keeps it, by strategy."""
    cycles: dict[str, Array] = {}
    largest: dict[str, Array] = {}
    shares = reuse.loop(inputs)
    for key in use_limits.UNITS:
        held = [limit for limit in limits if limit.quantity == key]
        mixes = "alkalinity" if key == "bicarbonate" else key
        if mixes not in reuse.SOURCES or not held:
            continue
        source = inputs[reuse.SOURCES[mixes]]
        effluent = np.array([[one[mixes][NORMAL, 0]] for one in handed.values()])
        if key == "bicarbonate":
            source, effluent = map(water_use.bicarbonate_from_alkalinity, (source, effluent))
        bound = np.array([[limit.value for limit in held]])
        lake, more = source * shares.concentrated, effluent - source
        passed = reuse_forms.cycles_to_limit(
            lake, more, shares.return_fraction, shares.evaporation, bound
        )
        kept = reuse_forms.largest_share(lake, more, shares.evaporation, bound)
        for i, limit in enumerate(held):
            cycles[limit.key], largest[limit.key] = passed[:, i], kept[:, i]
    return cycles, largest


def _infiltration(water: Mapping[str, UsedWater]) -> tuple[str, str]:
    def judged(when: str) -> str:
        values = (getattr(water[key], when) for key in ("sar", "conductivity"))
        return use_limits.restriction(*(math.nan if v is None else v for v in values))

    return judged("normal"), judged("drought")


def _crops(water: Mapping[str, UsedWater]) -> dict[str, tuple[float | None, float | None]]:
    def yields(conductivity: float | None, threshold: float, slope: float) -> float | None:
        if conductivity is None:
            return None
        soil = water_use.soil_extract_conductivity(conductivity)
        return float(water_use.crop_yield(soil, threshold, slope))

    one = water["conductivity"]
    return {
        crop: (yields(one.normal, *numbers), yields(one.drought, *numbers))
        for crop, numbers in use_limits.crops().items()
    }


# --- curves -----------------------------------------------------------------------------------


def _curves(
    found: Mapping[str, Candidate],
    reduced: Reduced,
    limits: Sequence[UseLimit],
    governing: Sequence[str],
) -> dict[str, Sweep]:
    """Give the supply along each cut, and ``effluent_...`` for those who take it undiluted."""
    count = len(next(iter(next(iter(reduced.values())).values())))
    every = {
        name: {
            **one,
            **{
                f"effluent_{key}": _column(found[name].reduced[line], count)
                for key, line in AT_THE_PLANT.items()
            },
        }
        for name, one in reduced.items()
    }
    held = [limit for limit in limits if limit.key in governing]
    curves = {}
    for place, (curve, label) in enumerate(CURVES.items()):
        start = 2 + place * len(STEPS)
        last = len(STEPS) if curve != "use" else sum(s <= MOST_SAVED for s in STEPS)
        rows = {
            name: {key: tuple(map(float, v[start : start + last, 0])) for key, v in one.items()}
            for name, one in every.items()
        }
        curves[curve] = Sweep(
            along=f"reuse.drought_{curve}",
            label=label,
            unit="-",
            points=STEPS[:last],
            values=rows,
            feasible={
                name: tuple(
                    all(use_limits.met(row[limit.quantity][i], limit) for limit in held)
                    for i in range(last)
                )
                for name, row in rows.items()
            },
        )
    return curves


def _approach(inputs: Inputs, handed: Reduced) -> Sweep:
    """Follow dissolved solids and chloride from the source water on, normal year."""
    shares = reuse.loop(inputs)
    mixed = inputs.choice("reuse.form") in ("reservoir", "aquifer")
    stay = _number(inputs, "reuse.residence_time")
    points = tuple(stay * x for x in RESIDENCE_TIMES) if mixed else CYCLES
    axis = np.array([points])
    values: dict[str, Mapping[str, tuple[float, ...]]] = {}
    for name, one in handed.items():
        rows = {}
        for key in ("tds", "chloride"):
            source = inputs[reuse.SOURCES[key]]
            start, more = source * shares.concentrated, one[key][NORMAL, 0] - source
            loop = (shares.return_fraction, shares.evaporation)
            if mixed:
                end = reuse_forms.settled_supply(start, more, *loop)
                lake = inputs["reuse.lake_evaporation"] * (shares.concentrated != 1.0)
                multiplier = loops.loop_multiplier(*loop)
                row = reuse_forms.mixed_after_years(start, end, multiplier, lake, stay, axis)
            else:
                row = loops.supply_after_cycles(start, more, *loop, axis)
            rows[key] = tuple(map(float, as_cases(row)[0]))
        values[name] = rows
    return Sweep(
        along="years" if mixed else "cycles",
        label="Years" if mixed else "Cycles of use",
        unit="y" if mixed else "-",
        points=points,
        values=values,
        feasible={},
    )


# --- room and cost ----------------------------------------------------------------------------


def _rooms(
    inputs: Inputs,
    cases: Inputs,
    baseline: Candidate,
    limits: Sequence[UseLimit],
    governing: Sequence[str],
) -> tuple[SaltRoom, ...]:
    """Largest dose of every metal salt that keeps each governing limit."""
    listed = [p for p, kind in treatment.products().items() if kind != "lime"]
    names = list(dict.fromkeys([*listed, *salt.products(inputs)]))
    products = salt_room.Products(
        names=tuple(names),
        metals=tuple(treatment.metal_of(inputs, name) for name in names),
        per_metal={
            what: np.array([[float(as_cases(treatment.property_of(inputs, n, what))[0, 0])]
                            for n in names])
            for what in salt_room.PROPERTIES
        },
    )  # fmt: skip
    flow = cases["flow.average"]
    waters = []
    for case in (NORMAL, DROUGHT):
        monthly = {
            key: _case(as_cases(weighted_mean(value, flow)), case)
            for key, value in baseline.monthly.items()
            if key in salt_room.NEEDED
        }
        share = _case(as_cases(reuse.loop(cases).return_fraction), case)
        waters.append((monthly, reuse.loop(cases)._replace(return_fraction=share)))
    held = [limit for limit in limits if limit.key in governing]
    return salt_room.rooms(inputs, products, waters, held)


def _case(column: Array, case: int) -> Array:
    return column[min(case, column.shape[0] - 1), :][None, :]


def _costs(cases: Inputs, found: Mapping[str, Candidate]) -> dict[str, SaltCost]:
    before = found["no_action"].monthly
    costs = {}
    for name, candidate in found.items():
        yearly = salinity.yearly_costs(
            cases, reuse.handed_on(candidate.monthly, before), reuse.handed_on(before, before)
        )
        costs[name] = SaltCost(**{k: float(as_cases(v)[NORMAL, 0]) for k, v in yearly.items()})
    return costs


def _imbalance(inputs: Inputs) -> float:
    """Cations less anions of the analysis over their sum, in the mean of the year."""
    ions = [as_cases(inputs[f"influent.{n}"]).mean() for n in alkalinity.IONS_OF_AN_ANALYSIS]
    return float(alkalinity.charge_error(*ions).share)


def _notes(inputs: Inputs, share: float) -> tuple[str, ...]:
    notes = []
    if abs(share) > IMBALANCE:
        side = "cations" if share < 0.0 else "anions"
        notes.append(
            f"The analysis lacks {side}: {abs(share):.0%} of the sum of all ions. They are "
            "carried as ions that pass the plant unchanged, equal in every alternative."
        )
    weaker = [
        name
        for name in ("sodium", "calcium", "magnesium", "chloride", "sulfate")
        if _number(inputs, f"influent.{name}") < _number(inputs, f"reuse.source_{name}")
    ]
    if weaker:
        notes.append(
            f"The source water is given with more {' and '.join(weaker)} than the sewage: check "
            "both. No increment is concentrated in a drought where there is none."
        )
    return tuple(notes)
