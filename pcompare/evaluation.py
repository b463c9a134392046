"""One candidate, evaluated: operation, increments, money and impacts, months reduced.

The same pass serves a point run, many cases and recording numbers.
"""

from __future__ import annotations

from collections.abc import Mapping

from pcompare import basis, lines, units
from pcompare.arrays import (
    Quantity,
    as_cases,
    highest,
    lowest,
    mean,
    weighted_mean,
)
from pcompare.costs import capital, cashflow, operating, salinity
from pcompare.equations import fermentation, finance, lifecycle, purchases, screening
from pcompare.equations.stoichiometry import mass_load
from pcompare.impacts import greenhouse_gas, reuse
from pcompare.records import (
    Candidate,
    Design,
    Feed,
    Inputs,
    Line,
    Operation,
)
from pcompare.strategies import (
    STRATEGIES,
    no_action,
    sizing,
)
from pcompare.strategies.dissolved import dissolve


def evaluate(
    inputs: Inputs, chosen: Mapping[str, tuple[Design, ...]]
) -> dict[str, tuple[Candidate, ...]]:
    """Operate and cost every candidate of ``chosen`` against no action."""
    baseline = dissolve(inputs, no_action.operate(inputs, chosen[no_action.NAME][0]))
    found = {no_action.NAME: (candidate(inputs, "baseline", baseline, baseline),)}
    return found | {
        strategy.name: tuple(
            candidate(
                inputs, strategy.kind, dissolve(inputs, strategy.operate(inputs, design)), baseline
            )
            for design in chosen[strategy.name]
        )
        for strategy in STRATEGIES
        if strategy.name in chosen
    }


def evaluate_one(inputs: Inputs, chosen: Design, without: Design) -> Candidate:
    """Operate and cost one design against no action as designed ``without`` it."""
    baseline = dissolve(inputs, no_action.operate(inputs, without))
    (strategy,) = (s for s in STRATEGIES if s.name == chosen.strategy)
    run = dissolve(inputs, strategy.operate(inputs, chosen))
    return candidate(inputs, strategy.kind, run, baseline)


def candidate(inputs: Inputs, kind: str, operation: Operation, baseline: Operation) -> Candidate:
    """Cost one operation against no action, and reduce its months."""
    monthly = {
        **operation.quantities,
        **_increases(operation.quantities, baseline.quantities),
        **_energy(inputs, operation.quantities, baseline.quantities),
        "lorries": _lorries(inputs, operation.quantities, baseline.quantities),
        **reuse.long_run(inputs, operation.quantities, baseline.quantities),
    }
    digester = operation.quantities["gas_energy_lost"] - monthly["digester_gain"]
    emissions = greenhouse_gas.increase(inputs, operation, baseline, digester)
    energy, emission = monthly["energy_increase"], emissions["greenhouse_gas"]
    yearly = {
        **_money(inputs, operation, baseline, energy, emission),
        **emissions,
    }
    return Candidate(
        strategy=operation.design.strategy,
        kind=kind,
        design=operation.design,
        monthly=monthly,
        reduced=_reduce({**monthly, **yearly}, inputs["flow.average"]),
        requirements=operation.requirements,
    )


def present_worth(inputs: Inputs, run: Operation, baseline: Operation) -> Quantity:
    """Present worth of one operation, no more [money]."""
    energy = _energy(inputs, run.quantities, baseline.quantities)
    lost = run.quantities["gas_energy_lost"] - energy["digester_gain"]
    emission = greenhouse_gas.increase(inputs, run, baseline, lost)["greenhouse_gas"]
    return _money(inputs, run, baseline, energy["energy_increase"], emission)["present_worth"]


def _increases(used: Mapping[str, Quantity], before: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Differences against no action."""

    def more(name: str) -> Quantity:
        return used[name] - before[name]

    known = {
        "chloride_added": more("effluent_chloride"),
        "sulfate_added": more("effluent_sulfate"),
        "sodium_added": more("effluent_sodium"),
        "calcium_added": more("effluent_calcium"),
        "magnesium_added": more("effluent_magnesium"),
        "potassium_change": more("effluent_potassium"),
        "bicarbonate_change": more("bicarbonate"),
    }
    return {
        **known,
        "other_ions_change": more("other_ions"),
        "tds_increase_ion_sum": more("tds_ion_sum"),
        "tds_increase_residue": more("tds_residue"),
        "conductivity_increase": more("conductivity"),
        "sludge_increase": more("sludge_total"),
        "cake_increase": more("cake_total"),
        "air_increase": more("aeration_energy"),
        "mixing_increase": more("mixing_energy"),
        "pumping_increase": more("pumping_energy"),
    }


def _energy(
    inputs: Inputs, used: Mapping[str, Quantity], before: Mapping[str, Quantity]
) -> dict[str, Quantity]:
    """Electricity against no action, with what the digester's gas makes more or less of."""
    c = inputs.coefficient
    gained = used["digester_energy"] - before["digester_energy"]
    if "fermented_carbon" in used and inputs.choice("solids.digestion") == "anaerobic":
        # Gas of fermented acids is counted as lost in whole; here the solids they were of are back.
        acids = fermentation.methane_from_cod(used["fermented_carbon"] * c("volatile_destruction"))
        gained = gained + fermentation.methane_electricity(
            acids, c("methane_heating_value"), c("engine_efficiency")
        )
    names = ("aeration_energy", "mixing_energy", "pumping_energy", "gas_energy_lost")
    return {
        "digester_gain": gained,
        "energy_increase": sum((used[n] - before[n] for n in names), 0.0 * gained) - gained,
    }


def _money(
    inputs: Inputs,
    operation: Operation,
    baseline: Operation,
    energy: Quantity,
    emission: Quantity,
) -> dict[str, Quantity]:
    assets = capital.assets(inputs, operation.design)
    built = capital.lines(inputs, assets)
    none = 0.0 * inputs["finance.maintenance"]
    items = {
        **operating.annual_costs(
            inputs, operation, baseline, built["capital_direct"], energy, emission
        ),
        "cost_downstream_salt": _salt_downstream(inputs, operation, baseline) + none,
    }
    annual = sum(items.values(), none)
    rate, period = cashflow.discount_rate(inputs), inputs["finance.period"]
    worth = cashflow.worth(inputs, assets, items, rate)
    equal = finance.equal_annual_cost(worth["present_worth"], rate, period)
    before, after = baseline.quantities["effluent_tp"], operation.quantities["effluent_tp"]
    removed = mean(mass_load(before - after, inputs["flow.average"])) * units.DAYS_PER_YEAR
    # What an equal cost is divided by is levelled over the period like the cost.
    grown = lifecycle.levelised_growth(rate, inputs["flow.growth"], period)
    return {
        **{name: value + 0.0 * annual for name, value in built.items()},
        **items,
        "annual_cost": annual,
        **worth,
        "equal_annual_cost": equal,
        "cost_per_kg_p": finance.cost_per_phosphorus(equal, removed * grown),
        "household_month": finance.household_month_cost(equal, inputs["plant.households"] * grown),
    }


def _salt_downstream(inputs: Inputs, operation: Operation, baseline: Operation) -> Quantity:
    """Cost of the added salt to those downstream, where the user counts it [money/y]."""
    if inputs.choice("reuse.salt_cost") == "none":
        return 0.0
    before = baseline.quantities
    used, unchanged = (reuse.handed_on(q, before) for q in (operation.quantities, before))
    return salinity.chosen_cost(inputs, used, unchanged)


def _lorries(
    inputs: Inputs, used: Mapping[str, Quantity], before: Mapping[str, Quantity]
) -> Quantity:
    """Lorries a month beyond no action: product, base and carbon in, cake out."""
    delivered = sum(
        (used[name] - before[name] for name in ("base_volume", "carbon_volume")),
        used["product_volume"],
    )
    return purchases.lorry_loads(
        delivered,
        inputs["chemical.delivery"],
        used["cake_total"] - before["cake_total"],
        inputs["haul.load"],
    )


REDUCTIONS = {
    lines.MEAN: lambda value, flow: mean(value),
    lines.SUM: lambda value, flow: value,
    lines.HIGHEST: lambda value, flow: highest(value),
    lines.LOWEST: lambda value, flow: lowest(value),
    lines.FLOW_WEIGHTED: weighted_mean,
}


def _reduce(found: Mapping[str, Quantity], flow: Quantity) -> dict[str, Quantity]:
    """Reduce every reported quantity over the months, each in its own way."""
    return {
        kind.quantity: REDUCTIONS[kind.reduced_by](found[kind.quantity], flow)
        for kind in lines.LINES
        if kind.quantity in found
    }


BASIS = (
    ("feed_phosphorus", "Phosphorus to the reactor, returns included", "mg P/L"),
    ("feed_cod", "COD to the reactor", "mg COD/L"),
    *(
        row
        for key, what in (
            ("bod", "BOD5"),
            ("cod", "COD"),
            ("rbcod", "Readily biodegradable COD"),
            ("acid", "Acids as acetic acid"),
        )
        for row in (
            (f"{key}_to_phosphorus", f"{what} to phosphorus at the reactor", "g/g"),
            (f"{key}_asked", f"{what} to phosphorus, asked for at this limit", "g/g"),
        )
    ),
    ("nitrified", "Nitrogen nitrified", "mg N/L"),
    ("minimum_srt", "Sludge age that nitrification needs, coldest month", "d"),
    ("primary_solids", "Primary sludge", "kg TSS/d"),
    ("nitrous_oxide", "Nitrous oxide, common to every alternative", "t CO2e/y"),
)


def basis_lines(inputs: Inputs, baseline: Candidate) -> dict[str, Line]:
    """Describe the plant without phosphorus removal, months averaged."""
    found = basis_quantities(inputs, baseline)
    return {key: _basis_line(key, label, unit, found[key]) for key, label, unit in BASIS}


def basis_quantities(inputs: Inputs, baseline: Candidate) -> dict[str, Quantity]:
    """Give every quantity of ``BASIS``, month by month."""
    returned = sizing.returned_share(inputs, "ordinary")
    sewage = basis.feed(inputs, inputs["primary.capture"], returned)
    zones = baseline.design.zones
    state = basis.reactor(inputs, sewage, zones)
    coldest = basis.nitrifier_minimum_srt(inputs, zones, inputs["influent.temperature_minimum"])
    return {
        "feed_phosphorus": sewage.phosphorus,
        "feed_cod": sewage.cod,
        **_screening(inputs, sewage),
        "nitrified": state.nitrified,
        "minimum_srt": coldest,
        "primary_solids": sewage.primary_solids,
        "nitrous_oxide": greenhouse_gas.nitrous_oxide(inputs),
    }


def _screening(inputs: Inputs, sewage: Feed) -> dict[str, Quantity]:
    """Ratios of carbon to phosphorus at the reactor, and what the limit asks of them [g/g]."""
    c = inputs.coefficient
    raw = inputs["influent.cod"] * (1.0 - c("soluble_inert_fraction")) - inputs["influent.cod"] * c(
        "particulate_inert_fraction"
    )
    found = screening.screening_ratios(
        screening.settled_bod(inputs["influent.bod5"], raw, sewage.biodegradable),
        sewage.cod,
        sewage.vfa + sewage.fermentable,
        sewage.vfa,
        sewage.phosphorus,
    )
    limit = sizing.limit(inputs)
    asked = {
        f"{key}_asked": screening.screening_threshold(
            limit, c(f"screening_{key}_1_0"), c(f"screening_{key}_0_5")
        )
        for key in ("bod", "cod", "rbcod", "acid")
    }
    return {**{f"{k}_to_phosphorus": v for k, v in found._asdict().items()}, **asked}


def _basis_line(key: str, label: str, unit: str, value: Quantity) -> Line:
    months = tuple(map(float, as_cases(value)[0]))
    return Line(
        key=f"basis.{key}",
        label=label,
        value=sum(months) / len(months),
        unit=unit,
        equation="",
        sources=(),
        low=None,
        middle=None,
        high=None,
        months=months if len(months) > 1 else (),
        reduced_by=lines.MEAN if len(months) > 1 else "",
        solved=False,
    )
