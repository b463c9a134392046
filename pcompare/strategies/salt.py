"""Metal salt at one point, at two, or in two and three stages with a filter.

Where the metal is split over points, the split is a decision found for least present worth among
a row of trials; see ``designing.designs``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from pcompare import basis
from pcompare.arrays import (
    Array,
    Quantity,
    as_cases,
    highest,
    maximum,
    minimum,
    plain,
    ratio,
    where,
)
from pcompare.records import (
    Design,
    Feed,
    Inputs,
    Operation,
    Reactor,
    Variant,
)
from pcompare.strategies import dosing, plant, season, shortfall, sizes, sizing, treatment
from pcompare.strategies.shortfall import Varying
from pcompare.strategies.treatment import FILTER, PRIMARY, SLUDGE, Dose, Treatment

SINGLE, TWO_POINT, TERTIARY = "salt_single_point", "salt_two_point", "salt_tertiary"
POINTS: dict[str, tuple[tuple[str, ...], ...]] = {
    SINGLE: ((SLUDGE,),),
    TWO_POINT: ((PRIMARY, SLUDGE),),
    TERTIARY: ((SLUDGE, FILTER), (PRIMARY, SLUDGE, FILTER)),
}
# Trials of a split: share of orthophosphate left behind the primaries, residual in the sludge. To
# dose nothing ahead of the primaries is another strategy, or another variant.
PRIMARY_TRIALS = (0.2, 0.35, 0.5, 0.65, 0.8, 0.9)
SLUDGE_TRIALS = (0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 10.0)  # mg P/L


def train(points: tuple[str, ...]) -> str:
    """Name the train whose variability applies."""
    return "filter" if FILTER in points else "metal"


def products(inputs: Inputs) -> tuple[str, ...]:
    """List the products that the user considers."""
    return tuple(p.strip() for p in inputs.choice("chemical.products").split(",") if p.strip())


def variants(inputs: Inputs, strategy: str) -> tuple[Variant, ...]:
    """Every product at every set of points of one strategy."""
    return tuple(
        Variant(product, points) for points in POINTS[strategy] for product in products(inputs)
    )


def trials(variant: Variant) -> dict[str, Array]:
    """Give the decisions to try, one row each; none where nothing is split."""
    first = PRIMARY_TRIALS if PRIMARY in variant.points else (1.0,)
    second = SLUDGE_TRIALS if {SLUDGE, FILTER}.issubset(variant.points) else (0.0,)
    if len(first) * len(second) == 1:
        return {}
    pairs = [(a, b) for a in first for b in second]
    return {
        "primary_share": as_cases([[a] for a, _ in pairs]),
        "sludge_residual": as_cases([[b] for _, b in pairs]),
    }


def design(
    inputs: Inputs,
    baseline: Operation,
    strategy: str,
    variant: Variant,
    decisions: Mapping[str, Array],
) -> Operation:
    """Size one variant for given decisions; at point values it runs as sized."""
    zones = basis.existing_zones(inputs)
    free = sizes.unlimited(inputs, strategy, variant, train(variant.points), zones, decisions)
    free_run = operate(inputs, free)
    found = free_run.quantities
    built = {
        **free.sizes,
        **sizes.feed(inputs, found, variant.points),
        **sizes.base(inputs, found, baseline),
    }
    sized = Design(
        strategy=strategy,
        product=variant.product,
        design_mean=free.design_mean,
        sizes=built,
        capital=(*sizes.salt_items(built, variant.points), *sizes.base_items(built, free.base)),
        choices={
            "product": variant.product,
            "base": free.base,
            "dosing points": " and ".join(variant.points),
        },
        zones=zones,
        points=variant.points,
        base=free.base,
    )
    return replace(free_run, design=sized)


def operate(inputs: Inputs, chosen: Design) -> Operation:
    """Dose to the design mean, up to the installed capacities."""
    returned = sizing.returned_share(inputs, "metal")
    run = _treated(inputs, chosen, returned)
    idle = plain(run.total("molar")) <= 0.0
    if idle.any():  # sludge without metal gives back what it gives today
        returned = where(idle, sizing.returned_share(inputs, "ordinary"), returned)
        run = _treated(inputs, chosen, returned)
    return plant.operation(inputs, chosen, run, train(chosen.points))


def _treated(inputs: Inputs, chosen: Design, returned: Quantity) -> Treatment:
    """Dose where the sludge liquor brings a share of the phosphorus back."""
    capture, first, sewage = _ahead(inputs, chosen, returned)
    state = basis.reactor(inputs, sewage, chosen.zones)
    dosed = behind(inputs, chosen, sewage, state)
    return Treatment(
        capture=capture,
        sewage=sewage,
        zones=chosen.zones,
        reactor=state,
        product=chosen.product,
        doses=(*first, *dosed.doses),
        soluble_secondary=dosed.secondary,
        soluble=dosed.final,
        carbon=0.0 * sewage.flow,
        base=chosen.base,
        base_capacity=chosen.sizes["base"],
        returned=returned,
        biological=False,
        filtered=FILTER in chosen.points,
    )


def _ahead(
    inputs: Inputs, chosen: Design, returned: Quantity
) -> tuple[Quantity, tuple[Dose, ...], Feed]:
    """Dose ahead of the primary tanks, and settle: capture, doses and what goes on."""
    capture = inputs["primary.capture"]
    if PRIMARY not in chosen.points:
        return capture, (), basis.feed(inputs, capture, returned)
    present = inputs["influent.orthophosphate"]
    dose, _ = dosing.dosed(
        inputs,
        chosen.product,
        PRIMARY,
        present,
        present * chosen.sizes["primary_share"],
        chosen.sizes["metal_primary"],
    )
    # Only where there are primary tanks, and salt in them, do they settle more.
    more = maximum(inputs.coefficient("primary_capture_chemical"), capture)
    capture = where(capture > 0.0, where(dose.molar > 0.0, more, capture), capture)
    sewage = basis.feed(inputs, capture, returned, dose.precipitated, dose.solids)
    return capture, (dose,), sewage


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Behind:
    """Metal in the activated sludge and ahead of the filter, and the phosphorus that it leaves."""

    doses: tuple[Dose, ...]
    secondary: Quantity  # mg P/L, soluble, behind the clarifiers
    final: Quantity  # mg P/L, soluble, at the end
    levels: Mapping[str, Quantity]  # point: mg P/L that its dose aims at
    standby: Mapping[str, Quantity]  # point: dose of the bad month over that of the average

    @property
    def wanted(self) -> Quantity:
        """Soluble phosphorus that the last dose aims at [mg P/L]."""
        return [self.secondary, *self.levels.values()][-1]


def behind(
    inputs: Inputs, chosen: Design, sewage: Feed, state: Reactor, odds: Varying | None = None
) -> Behind:
    """Dose into the activated sludge and ahead of the filter.

    With ``odds`` the first dose follows good months and bad: it is the average of both.
    """
    product, zones, target = chosen.product, chosen.zones, chosen.design_mean
    present = treatment.at_dose(sewage, state)
    none = 0.0 * present
    found = Behind(doses=(), secondary=present, final=present, levels={}, standby={})
    bad = present if odds is None else odds.excess_at(shortfall.low_score(inputs), none)
    if SLUDGE in chosen.points:
        if FILTER in chosen.points:
            wanted = chosen.sizes["sludge_residual"]
        else:
            wanted = dosing.sludge_target(inputs, product, sewage, zones, state, target)
        found = _dosed(inputs, chosen, SLUDGE, found, wanted, bad, odds)
        found = replace(found, secondary=found.final)
        bad, odds = minimum(bad, maximum(wanted, found.final)), None
    if FILTER in chosen.points:
        made = sum((d.solids for d in found.doses), none)
        production = treatment.solids_production(sewage, zones, state, made)
        content = treatment.content_of_solids(sewage, found.secondary, production)
        wanted = dosing.filter_target(inputs, product, sewage, found.secondary, content, target)
        found = _dosed(inputs, chosen, FILTER, found, wanted, bad, odds)
    return found


def _dosed(
    inputs: Inputs,
    chosen: Design,
    point: str,
    before: Behind,
    wanted: Quantity,
    bad: Quantity,
    odds: Varying | None,
) -> Behind:
    """Dose at one point; with odds, as much as the average of good months and bad asks for.

    ``bad`` [mg P/L] is what comes in the bad month that the wanted reliability has to bear.
    """
    product, most, present = chosen.product, chosen.sizes[sizes.METAL[point]], before.final
    level = maximum(wanted, dosing.floor(inputs, point, present))
    came = present
    if odds is not None:
        # In a good month less than the aim is left, and none is dosed: that stays below it.
        came = maximum(level + odds.excess(level), present)
    dose, left = dosing.dosed(inputs, product, point, came, level, most)
    average = highest(season.inside(inputs, maximum(came - level, 0.0), 0.0 * came))
    worst = highest(season.inside(inputs, maximum(bad - level, 0.0), 0.0 * came))
    return Behind(
        doses=(*before.doses, dose),
        secondary=before.secondary,
        final=left - (came - present),
        levels={**before.levels, point: level},
        standby={**before.standby, point: maximum(ratio(worst, average, 1.0), 1.0)},
    )


def reach(inputs: Inputs, chosen: Design, dosed: Behind) -> Quantity:
    """Give the phosphorus that all installed capacity can take [mg P/L]."""
    return sum(
        (
            dosing.reach(inputs, chosen.product, point, level, chosen.sizes[sizes.METAL[point]])
            for point, level in dosed.levels.items()
        ),
        0.0 * dosed.final,
    )
