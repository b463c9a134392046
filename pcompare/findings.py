"""Every record that only documents need, beside the comparison: odds, money, reuse, fleets.

What is known as a plant is compared stands in ``records``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pcompare.arrays import Quantity
from pcompare.records import Comparison, Inputs, Line, Requirement

NOTABLE = 0.01  # of what knowing everything is worth: less is not named


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CashYear:
    """Money at one time of the planning period."""

    label: str
    year: Quantity  # y after the start
    capital: Quantity  # money, first cost or replacement
    annual: Quantity  # money
    salvage: Quantity  # money, what is left of the assets
    factor: Quantity  # present worth of one unit paid at this time
    worth: Quantity  # money, present worth of the row


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Balance:
    """Two ways to one number, which must agree."""

    strategy: str
    label: str
    left: Quantity
    right: Quantity
    scale: Quantity  # size of the terms: what the difference is measured against
    unit: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Recording:
    """The carried designs run on recording numbers: what the live book and ``explain`` read."""

    lines: Mapping[str, Any] = field(default_factory=dict)  # line key -> graph, months reduced
    months: Mapping[str, Any] = field(default_factory=dict)  # line key -> graph by month
    requirements: Mapping[str, tuple[Requirement, ...]] = field(default_factory=dict)
    balances: tuple[Balance, ...] = ()
    cash: Mapping[str, tuple[CashYear, ...]] = field(default_factory=dict)  # by strategy
    making: Mapping[str, Any] = field(default_factory=dict)  # line that the design fixes -> graph


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure from draws with its standard error."""

    value: float
    error: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Odds:
    """How one strategy, held as designed, fares over the draws."""

    meets: Estimate  # share of draws in which every requirement holds
    keeps: Estimate  # in which the users' salt limits hold as well
    in_period: Estimate  # chance to meet the limit in one averaging period, over all draws
    competes: bool  # meets everything at point values
    cheapest: Estimate  # share of draws in which none that competes is cheaper
    cheapest_kept: Estimate  # in which none that keeps permit and salt limits is cheaper
    regret: Estimate  # money: mean excess over the cheapest that competes
    largest_regret: float  # money


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Gap:
    """Present worth of one strategy less that of the winner, drawn in pairs."""

    strategy: str
    low: float  # P10
    middle: float
    high: float  # P90
    mean: Estimate
    below: Estimate  # share of draws in which the strategy is cheaper than the winner


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Driver:
    """What one uncertain input does to the difference between the two best, over all draws."""

    field: str
    rank_correlation: Estimate
    variance_share: Estimate
    information: float  # money: what knowing this input before choosing would be worth
    label: str = ""
    unit: str = ""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Study:
    """The spread of the lines over draws; ``draws`` 0 means that none were made."""

    draws: int
    seed: int
    lines: Mapping[str, tuple[float, float, float]]  # P10, P50, P90
    chance_cheapest: Mapping[str, float]
    varied: tuple[str, ...]
    odds: Mapping[str, Odds] = field(default_factory=dict)
    none_keeps: Estimate = Estimate(0.0, 0.0)  # share of draws in which no strategy does
    gaps: tuple[Gap, ...] = ()  # in the order of the ranking, the winner left out
    drivers: tuple[Driver, ...] = ()  # by what knowing them is worth
    information: Estimate = Estimate(0.0, 0.0)  # money: what knowing everything would be worth
    noise: float = 0.0  # money: what an input without any effect seems to be worth
    correlated: int = 0  # pairs of inputs that move together
    correlation_share: float = 1.0  # of the correlations taken by default, what could be kept

    @property
    def worth_knowing(self) -> tuple[Driver, ...]:
        """Give the inputs that are worth finding out: beyond noise, and beyond a hundredth."""
        least = max(self.noise, NOTABLE * self.information.value)
        return tuple(driver for driver in self.drivers if driver.information > least)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Sweep:
    """One row of values per strategy and quantity along something that varies."""

    along: str
    label: str
    unit: str
    points: tuple[float, ...]
    values: Mapping[str, Mapping[str, tuple[float, ...]]]  # strategy -> quantity -> values
    feasible: Mapping[str, tuple[bool, ...]]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class UseLimit:
    """One limit on water that somebody uses: published, or the user's own."""

    key: str  # row of ``water_use_limits.csv``, or ``own.`` and the quantity
    use: str
    quantity: str  # of ``ReusePicture.quantities``
    value: float
    unit: str
    sense: str  # "at most" or "at least"
    grade: str  # the class of water that meets it
    status: str
    source: str
    locator: str
    note: str

    @property
    def own(self) -> bool:
        """Whether the user entered it."""
        return self.key.startswith("own.")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class UseQuantity:
    """What limits are set on, such as chloride, with the name and unit that it prints with."""

    key: str
    label: str
    unit: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ReuseLoop:
    """How the effluent comes back, in a normal year or in a drought."""

    river_cut: float  # share of the diluting flow that is missing
    use_cut: float  # share of the use per person that is saved
    return_fraction: float  # effluent in the supply, as it counts
    evaporation_fraction: float
    multiplier: float
    capped: bool  # more was asked for than comes back from use
    steady: bool  # whether salt settles
    reason: str  # why not


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class UsedWater:
    """One quantity of one strategy's water; None where it has no steady state."""

    source: float | None  # the source water alone
    effluent: float | None  # undiluted, normal year
    normal: float | None  # the reused supply in the long run, normal year
    drought: float | None  # the same in the design drought


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class UseVerdict:
    """One strategy held against one limit."""

    limit: str  # key of the limit
    effluent: bool  # met by the effluent undiluted
    normal: bool  # met by the reused supply in the long run, normal year
    drought: bool  # met in the design drought
    cycles: float | None  # of use until the limit is passed, normal year; None where it never is
    largest_share: float | None  # of effluent that keeps the limit, normal year; None: any, or none


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SaltRoom:
    """Largest dose of one product's metal with which the supply keeps one limit [mg/L]."""

    product: str
    limit: str  # key of the limit
    normal: float | None
    drought: float | None
    reason: str  # why a room is None or zero


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SaltCost:
    """What the salt of one strategy costs: two answers to one question, never added together."""

    salt: float  # t/y beyond no action, with the cation of alkalinity put back downstream
    damage: float  # money/y that users lose
    removal_low: float  # money/y to take it back out
    removal_high: float
    treated_fraction: float  # share of the effluent through the side stream
    water_lost: float  # share of the effluent lost as brine


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ReusePicture:
    """Salt downstream: the reused supply, the limits on it, drought, room and cost."""

    form: str  # river, reservoir, aquifer or blend
    normal: ReuseLoop
    drought: ReuseLoop
    quantities: tuple[UseQuantity, ...]
    water: Mapping[str, Mapping[str, UsedWater]]  # strategy -> quantity
    limits: tuple[UseLimit, ...]  # the user's own first
    governing: tuple[str, ...]  # keys of the limits that say whether a strategy passes
    verdicts: Mapping[str, Mapping[str, UseVerdict]]  # strategy -> key of the limit
    infiltration: Mapping[str, tuple[str, str]]  # strategy -> restriction, normal and drought
    crops: Mapping[str, Mapping[str, tuple[float | None, float | None]]]  # yield in %
    curves: Mapping[str, Sweep]  # "river", "use" and "both": along the cut
    approach: Sweep  # along cycles of use, or years for a reservoir and an aquifer
    rooms: tuple[SaltRoom, ...]
    costs: Mapping[str, SaltCost]  # strategy
    unmeasured: float  # meq/L of ions that the analysis leaves out; positive: cations are missing
    unmeasured_share: float  # cations less anions over their sum, as measured
    notes: tuple[str, ...]

    def passes(self, strategy: str, when: str) -> bool:
        """Tell whether a strategy keeps every governing limit in ``normal``, ``drought``, ..."""
        found = self.verdicts[strategy]
        return all(getattr(found[key], when) for key in self.governing)

    def limit(self, key: str) -> UseLimit:
        """Give one limit by its key."""
        return next(one for one in self.limits if one.key == key)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Swing:
    """What one input does to the difference between two strategies, from its low to its high."""

    field: str
    label: str
    unit: str
    low_input: float
    high_input: float
    at_low: float
    at_high: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CashFlow:
    """The money of one strategy as payments at the ends of years, undiscounted, savings negative.

    Year 0 is the start; a year may be a fraction where an asset's life is one.
    """

    strategy: str
    years: tuple[float, ...]
    construction: tuple[float, ...]
    replacement: tuple[float, ...]
    operation: tuple[float, ...]
    salvage: tuple[float, ...]  # at the end of the period, negative

    @property
    def total(self) -> tuple[float, ...]:
        """All payments of each year."""
        parts = (self.construction, self.replacement, self.operation, self.salvage)
        return tuple(map(sum, zip(*parts, strict=True)))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Money:
    """What documents print of money beyond the lines of each strategy.

    Attributes
    ----------
    cash : mapping of str to CashFlow
        Strategy to its payments year by year.
    rates : tuple of float
        Real discount rates of the table, that of the run among them.
    worth : mapping of str to tuple of float
        Strategy to its present worth at each of ``rates``.
    built : mapping of str to mapping of str to float
        Strategy to item built to its capital, soft costs included.
    financing : mapping of str to mapping of str to Line
        Strategy to the lines of a household's bill; outside the ranking.
    options : mapping of str to mapping of str to Line
        Optimising, trading and variance to their lines; outside the ranking.
    payback : mapping of str to Line
        The two best strategies: what the dearer to build saves.
    remarks : tuple of str
        Results outside their usual band, and what growth does not reach.

    """

    cash: Mapping[str, CashFlow]
    rates: tuple[float, ...]
    worth: Mapping[str, tuple[float, ...]]
    built: Mapping[str, Mapping[str, float]]
    financing: Mapping[str, Mapping[str, Line]]
    options: Mapping[str, Mapping[str, Line]]
    payback: Mapping[str, Line]
    remarks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BreakEven:
    """The value of one input at which another strategy costs as much as the winner."""

    field: str
    label: str
    unit: str
    against: str  # strategy
    now: float
    low: float  # of the range searched
    high: float
    at: tuple[float, ...]  # empty: none in range


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ChoiceMap:
    """Who has the lowest present worth over two inputs; an empty name where nobody is feasible."""

    title: str
    labels: tuple[str, str]
    units: tuple[str, str]
    across: tuple[float, ...]
    up: tuple[float, ...]
    now: tuple[float, float]
    winners: tuple[tuple[str, ...], ...]  # rows from the lowest ``up``
    note: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Crossing:
    """A limit at which the cheapest feasible strategy changes, going to stricter limits."""

    at: float  # mg P/L
    before: str  # strategy, or empty where none is feasible
    after: str
    fails: bool  # the one before no longer meets every requirement


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Provenance:
    """What identifies a run."""

    version: str
    run_id: str
    input_hash: str
    seed: int
    draws: int
    libraries: Mapping[str, str]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FieldRow:
    """One field as documents print it."""

    name: str
    sheet: str
    label: str
    unit: str
    value: str | float | tuple[float, ...]
    low: float | None
    high: float | None
    status: str
    source: str
    locator: str
    origin: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class EquationRow:
    """One cited equation as documents print it."""

    name: str
    subject: str
    summary: str
    formula: str
    unit: str
    references: tuple[str, ...]
    results: Mapping[str, tuple[str, str]] = field(default_factory=dict)  # name: unit, meaning


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PublishedNumber:
    """One published check as documents print it."""

    subject: str
    check: str
    equation: str
    expected: str
    computed: float
    difference: float
    tolerance: float
    unit: str
    passed: bool
    status: str
    source: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Dossier:
    """The only thing that documents receive."""

    inputs: Inputs
    fields: tuple[FieldRow, ...]
    equations: tuple[EquationRow, ...]
    sources: Mapping[str, str]
    comparison: Comparison
    recorded: Mapping[str, Any]  # line key -> recording number
    recording: Recording = field(default_factory=Recording)  # what the live book needs besides
    published: tuple[PublishedNumber, ...] = ()
    study: Study
    targets: Sweep
    sensitivity: tuple[Swing, ...]
    salts: Mapping[str, Mapping[str, Line]]  # product -> lines, at one point and at the target
    layouts: Mapping[str, Mapping[str, Line]]  # layout -> lines on the sewage's own carbon
    dose_models: Sweep  # dose of the carried salt by each published model, along the limit
    washout: Sweep  # least sludge age of each kind of organism, along the temperature
    reuse: ReusePicture
    money: Money
    break_evens: tuple[BreakEven, ...] = ()
    maps: tuple[ChoiceMap, ...] = ()
    crossings: tuple[Crossing, ...] = ()
    # Capital of each strategy at the ends of its estimate class [money]
    estimate_class: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    provenance: Provenance


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Chosen:
    """The plants of a portfolio to which one strategy is recommended, added up."""

    strategy: str
    label: str
    plants: int
    flow: float  # m3/d
    metal: float  # kg/d
    sludge: float  # kg TSS/d, increase
    salt: float  # kg/d of dissolved solids, change
    capital: float  # money
    annual_cost: float  # money/y
    present_worth: float  # money


@dataclass(frozen=True, slots=True)
class PlantFault:
    """Why one plant was skipped: one fault of its input."""

    row: int
    name: str
    message: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Portfolio:
    """What was found of many plants, added up."""

    source: str  # file or folder that the plants were read from
    base: str  # form that they share; empty for a folder of forms
    assumed: tuple[str, ...]  # what the base is the worked example for, by label
    compared: int
    skipped: int
    choices: tuple[Chosen, ...]  # most plants first
    infeasible: int
    missed: tuple[tuple[str, int], ...]  # requirement, and plants whose nearest strategy misses it
    standing: int  # plants that meet every requirement as they stand
    close: int  # plants whose runner-up is within what the estimate can tell apart
    unusual: int  # plants with values outside their usual range
    currencies: tuple[str, ...]
    faults: tuple[PlantFault, ...]
    version: str
    run_id: str
    taken_over: int = 0  # chunks of an earlier run
    chunks: int = 0

    @property
    def plants(self) -> int:
        """All plants of the input."""
        return self.compared + self.skipped
