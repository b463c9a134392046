"""What every design is sized to, and the requirements every strategy is held against.

Only here and in the strategies' own ``design`` are choices made; they read plain values.
"""

from __future__ import annotations

from pcompare import tables
from pcompare.arrays import (
    Array,
    Quantity,
    as_cases,
    exp,
    highest,
    log,
    lowest,
    maximum,
    mean,
    minimum,
    normal_quantile,
    plain,
    ratio,
    total,
    weighted_mean,
    where,
)
from pcompare.equations import reliability
from pcompare.equations.lifecycle import growth_factor
from pcompare.equations.stoichiometry import concentration_from_load, mass_load
from pcompare.records import (
    Design,
    Inputs,
    Reactor,
    Requirement,
    Zones,
)
from pcompare.strategies import season
from pcompare.strategies.ledger import formula_of
from pcompare.strategies.shortfall import Held
from pcompare.strategies.treatment import FILTER, PRIMARY, Treatment
from pcompare.units import HOURS_PER_DAY

# Daily samples that one averaging period of the permit holds, and periods in a year.
SAMPLES = {"daily": 1, "weekly": 7, "monthly": 30, "annual": 365}
LEAST = 1e-6  # mg P/L: keeps the logarithm of an effluent finite
PERIODS = {"daily": 365, "weekly": 52, "monthly": 12, "annual": 1}


def variability(inputs: Inputs, train: str) -> Quantity:
    """Variability of one train's effluent over the permit's averaging period [-]."""
    return reliability.averaged_variability(
        inputs.coefficient(f"variability_{train}"),
        SAMPLES[inputs.choice("permit.averaging")],
        inputs.coefficient("autocorrelation"),
    )


def limit(inputs: Inputs) -> Quantity:
    """Give the limit on total phosphorus, the stricter of concentration and load [mg P/L]."""
    load = inputs["permit.load"]
    by_load = concentration_from_load(load, inputs["flow.average"])
    return where(load > 0.0, minimum(inputs["permit.tp"], by_load), inputs["permit.tp"])


def design_mean(inputs: Inputs, train: str) -> Array:
    """Mean that passes the limit with the wanted reliability, at point values [mg P/L]."""
    return as_cases(wanted_mean(plain(inputs), train))


def wanted_mean(inputs: Inputs, train: str) -> Quantity:
    """Give the same mean as a quantity: the odds asked for are a choice, the rest is not."""
    score = normal_quantile(plain(inputs["permit.reliability"]))
    share = reliability.coefficient_of_reliability(variability(inputs, train), score)
    return limit(inputs) * share


def governing(inputs: Inputs, value: Quantity) -> Quantity:
    """Reduce monthly values to the one the permit looks at: the year's mean or the worst month."""
    if inputs.choice("permit.averaging") == "annual":
        return weighted_mean(value, inputs["flow.average"])
    return highest(value)


def governing_phosphorus(inputs: Inputs, value: Quantity) -> Quantity:
    """Reduce monthly phosphorus likewise, over the months in which its limit holds."""
    if inputs.choice("permit.averaging") == "annual":
        return weighted_mean(value, inputs["flow.average"] * season.held(inputs))
    return season.worst(inputs, value)


def requirements(
    inputs: Inputs, zones: Zones, state: Reactor, found: dict[str, Quantity], target: Array
) -> tuple[Requirement, ...]:
    """List what the permit and the tanks ask of any strategy."""
    c = inputs.coefficient
    tanks = (
        Requirement(
            key="permit.tp",
            label="Mean total phosphorus in the governing period",
            needed=target,
            found=governing_phosphorus(inputs, found["effluent_tp"]),
            unit="mg P/L",
        ),
        Requirement(
            key="mixed_liquor",
            label="Mixed-liquor solids in the peak month",
            needed=c("mixed_liquor_maximum"),
            found=highest(found["mixed_liquor"]),
            unit="mg/L",
        ),
        Requirement(
            key="clarifier",
            label="Clarifier solids loading in the peak month",
            needed=c("clarifier_loading_maximum"),
            found=highest(found["clarifier_loading"]),
            unit="kg/(m2 h)",
        ),
        Requirement(
            key="alkalinity",
            label="Alkalinity that remains",
            needed=inputs["permit.residual_alkalinity"],
            found=lowest(found["alkalinity_residual"]),
            unit="mg CaCO3/L",
            sense="at least",
        ),
    )
    return tanks + _nitrogen_requirements(inputs, zones, state, found)


def _nitrogen_requirements(
    inputs: Inputs, zones: Zones, state: Reactor, found: dict[str, Quantity]
) -> tuple[Requirement, ...]:
    """Nitrogen is a permit too; a limit of 0 means that there is none."""
    from pcompare.basis import nitrifier_minimum_srt

    rows: tuple[Requirement, ...] = ()
    if has_limit(inputs, "permit.ammonia"):
        coldest = nitrifier_minimum_srt(inputs, zones, inputs["influent.temperature_minimum"])
        rows += (
            Requirement(
                key="permit.ammonia",
                label="Effluent ammonia",
                needed=inputs["permit.ammonia"],
                found=governing(inputs, state.ammonia),
                unit="mg N/L",
            ),
            Requirement(
                key="sludge_age",
                label="Sludge age for nitrification in the coldest month",
                needed=highest(coldest * inputs.coefficient("nitrifier_safety")),
                found=zones.srt,
                unit="d",
                sense="at least",
            ),
        )
    if has_limit(inputs, "permit.total_nitrogen"):
        rows += (
            Requirement(
                key="permit.total_nitrogen",
                label="Effluent total nitrogen",
                needed=inputs["permit.total_nitrogen"],
                found=governing(inputs, found["effluent_nitrogen"]),
                unit="mg N/L",
            ),
        )
    return rows


def dosing_requirements(inputs: Inputs, run: Treatment, chosen: Design) -> tuple[Requirement, ...]:
    """List what dosing ahead of the reactor and a filter ask for."""
    rows: tuple[Requirement, ...] = ()
    if any(dose.point == PRIMARY for dose in run.doses):
        sewage = run.sewage
        open_to_growth = sewage.phosphorus - sewage.bound_phosphorus - sewage.nonreactive
        rows += (
            Requirement(
                key="nutrient",
                label="Phosphorus left for the organisms to grow",
                needed=highest(run.reactor.phosphorus_potential),
                found=lowest(open_to_growth),
                unit="mg P/L",
                sense="at least",
            ),
        )
    if run.filtered:
        arriving = inputs["secondary.effluent_tss"] + run.total("solids", FILTER)
        load = mass_load(arriving, inputs["flow.average"] * peak(inputs))
        rows += (
            Requirement(
                key="filter_loading",
                label="Solids on the filter in the peak month",
                needed=inputs["filter.solids_maximum"],
                found=highest(ratio(load, chosen.sizes["filter_area"], 0.0)),
                unit="kg/(m2 d)",
            ),
        )
    return rows


def filter_area(inputs: Inputs) -> Array:
    """Filter area for the peak month at the design rate, at point values [m2]."""
    largest = highest(inputs["flow.average"] * design_factor(inputs))
    return as_cases(plain(largest / (inputs["filter.rate"] * HOURS_PER_DAY)))


def cheapest_base(inputs: Inputs) -> str:
    """Choose the base of lowest price per equivalent at point values, or the user's choice."""
    wanted = inputs.choice("chemical.base")
    if wanted != "cheapest":
        return wanted
    prices = prices_per_equivalent(inputs)
    return min(prices, key=lambda base: float(prices[base].mean()))


def prices_per_equivalent(inputs: Inputs) -> dict[str, Array]:
    """Give the price of every base of the tables for the alkalinity it brings, case by case."""
    found = {}
    for row in tables.read("base_products"):
        base = row.text("base")
        equivalents = inputs.coefficient(f"{base}_equivalents_per_base")
        grams = tables.molar_mass(formula_of(base)) / plain(equivalents)
        found[base] = as_cases(plain(inputs[f"prices.{base}"]) * grams)
    return found


def has_limit(inputs: Inputs, field: str) -> bool:
    """Tell whether an optional limit is set for the plant (or for any of several)."""
    return bool((plain(inputs[field]) > 0.0).any())


def peak(inputs: Inputs) -> Quantity:
    """Give the maximum month over the highest of the months in the form [-].

    The factor is over the year's average: months that are listed hold a part of it already.
    """
    flow = inputs["flow.average"]
    return maximum(inputs["flow.peak_factor"] * mean(flow) / highest(flow), 1.0)


def capacity(inputs: Inputs, use: Quantity) -> Array:
    """Installed capacity: the need of the design year's maximum month, at point values."""
    return as_cases(plain(highest(use * design_factor(inputs))))


def design_factor(inputs: Inputs) -> Quantity:
    """Maximum month of the design year over today's highest month, flow and load [-].

    Where the load falls, what is built still has to serve it today.
    """
    grown = growth_factor(inputs["flow.growth"], inputs["flow.design_year"])
    return peak(inputs) * maximum(grown, 1.0)


def returned_share(inputs: Inputs, kind: str) -> Quantity:
    """Give the share of the reactor's phosphorus that sludge treatment returns [-]."""
    if inputs.choice("solids.digestion") != "anaerobic":
        return 0.0 * inputs["coefficient.return_phosphorus_ordinary"]
    return inputs.coefficient(f"return_phosphorus_{kind}")


def _within(
    inputs: Inputs, effluent: Quantity, spread: Quantity, by_acids: Held | None
) -> Quantity:
    """Chance of one period, averaged over what the acids of the month may be."""
    if by_acids is None:
        return reliability.chance_within(limit(inputs), maximum(effluent, LEAST), spread)
    return sum(
        weight * reliability.chance_within(limit(inputs), maximum(effluent + more, LEAST), spread)
        for weight, more in by_acids.effluents()
    )


def chance(
    inputs: Inputs, train: str, effluent: Quantity, by_acids: Held | None = None
) -> dict[str, Quantity]:
    """Chance to meet the limit in one averaging period and through a whole year [-].

    Over a year the acids of good months and bad even out; over shorter periods each counts.
    """
    spread = variability(inputs, train)
    annual = inputs.choice("permit.averaging") == "annual"
    held = governing_phosphorus(inputs, effluent) if annual else effluent
    one = _within(inputs, held, spread, None if annual else by_acids)
    within = season.held(inputs) if plain(one).shape[1] > 1 or not annual else as_cases(1.0)
    # The year's chance is the product over its periods, spread evenly over the months.
    periods = PERIODS[inputs.choice("permit.averaging")] / max(plain(one).shape[1], within.shape[1])
    year = exp(total(log(maximum(one, 1e-300)) * within) * periods)
    return {
        "probability_meets_permit": weighted_mean(one, within),
        "probability_meets_permit_year": year,
    }
