"""Every record that travels between layers, and nothing else.

Quantities are arrays of shape (cases, months) or recording numbers; see ``pcompare.arrays``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pcompare.arrays import Array, Quantity
from pcompare.rows import packed, unpacked


@dataclass(frozen=True, kw_only=True, slots=True, eq=False, repr=False)
class Inputs:
    """What the user said, in base units, with defaults and coefficients filled in.

    Attributes
    ----------
    values : mapping of str to array (1, 1), (1, 12), (cases, 1), (cases, 12) or recording number
        Every numeric field, ``group.name``; reference coefficients are ``coefficient.name``.
    choices : mapping of str to str
        Every text, date and choice field.
    origins : mapping of str to str
        Where each value came from: a form's cell, ``default``, ``example``, ``--set``, a table.
    low, high : mapping of str to float
        Range of each field that may vary; fields without a range are left out.
    notes : mapping of str to str
        The user's own source note for a field.
    yearly : mapping of str to float
        Value for the year of fields whose months follow from load or strength of the sewage.
    warnings : tuple of str
        Values outside their usual range and other remarks, each with its place.
    name : str
        The case's name: file name, or ``worked example``.
    shapes : mapping of str to str
        Shape of a field's range where it is not triangular; see ``pcompare.shapes``.
    correlations : mapping of (str, str) to float
        Rank correlations of pairs of fields, given by the user.

    """

    values: Mapping[str, Quantity]
    choices: Mapping[str, str]
    origins: Mapping[str, str]
    low: Mapping[str, float]
    high: Mapping[str, float]
    notes: Mapping[str, str] = field(default_factory=dict)
    yearly: Mapping[str, float] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    name: str = "worked example"
    shapes: Mapping[str, str] = field(default_factory=dict)
    correlations: Mapping[tuple[str, str], float] = field(default_factory=dict)

    def __repr__(self) -> str:
        """Name the case; its hundreds of fields are in ``values`` and ``choices``."""
        return f"Inputs({self.name}, {len(self.values)} values)"

    def __getitem__(self, name: str) -> Quantity:
        """Give one numeric field."""
        return self.values[name]

    def coefficient(self, name: str) -> Quantity:
        """Give one reference coefficient, as overruled or drawn."""
        return self.values[f"coefficient.{name}"]

    def choice(self, name: str) -> str:
        """Give one text or choice field."""
        return self.choices[name]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Feed:
    """What enters the biological reactor: settled sewage with the loads that come back."""

    flow: Quantity  # m3/d
    temperature: Quantity  # degC
    vfa: Quantity  # mg COD/L, as are the next five
    fermentable: Quantity
    slowly_biodegradable: Quantity
    soluble_inert: Quantity
    particulate_inert: Quantity
    cod: Quantity
    inorganic_solids: Quantity  # mg/L
    phosphorus: Quantity  # mg P/L, with the return load
    brought_phosphorus: Quantity  # mg P/L, without it
    bound_phosphorus: Quantity  # mg P/L of it, held by a salt since the primary tanks
    nonreactive: Quantity  # mg P/L
    nitrogen: Quantity  # mg N/L, TKN
    primary_solids: Quantity  # kg TSS/d settled before the reactor
    primary_volatile: Quantity  # kg VSS/d
    primary_phosphorus: Quantity  # kg P/d
    returned_phosphorus: Quantity  # kg P/d

    @property
    def biodegradable(self) -> Quantity:
        """Biodegradable COD [mg COD/L]."""
        return self.vfa + self.fermentable + self.slowly_biodegradable


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Zones:
    """The unaerated zones of one layout, as plain sizes and choices."""

    layout: str
    anaerobic_fraction: Array  # of the sludge mass
    anoxic_fraction: Array  # of the sludge mass
    extra_fraction: Array  # of the sludge mass: second anoxic zone, or that of the return sludge
    side_fraction: Array  # of the sludge mass: fermented in a side stream of the return sludge
    side_volume: Array  # m3 of that side stream, where the sludge is thicker
    internal_recycle: Array  # ratio to the influent flow
    srt: Array  # d
    volume: Array  # m3 of mixed liquor: all tanks, a side stream as the liquor it holds
    added_volume: Array  # m3 of it that must be built
    phosphorus_content: str  # coefficient: content of the organisms that store phosphorus

    @property
    def unaerated_fraction(self) -> Array:
        """Share of the sludge mass that is kept without air."""
        main = self.anaerobic_fraction + self.anoxic_fraction + self.extra_fraction
        return main + self.side_fraction

    @property
    def mixed_volume(self) -> Array:
        """Volume that is kept without air and has to be mixed [m3]."""
        main = self.unaerated_fraction - self.side_fraction
        return self.volume * main + self.side_volume


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Reactor:
    """The activated sludge at steady state, before any metal."""

    stored_cod: Quantity  # kg COD/d taken up by the organisms that store phosphorus
    fermentable: Quantity  # mg COD/L left by nitrate and oxygen in the anaerobic zone
    added_cod: Quantity  # kg COD/d that the sewage does not bring: purchased, or of sludge
    hydrolysed_cod: Quantity  # kg COD/d of it that the reactor's own sludge gives
    storing_mass: Quantity  # kg VSS
    storing_residue: Quantity
    heterotroph_mass: Quantity
    heterotroph_residue: Quantity
    inert_mass: Quantity
    volatile_mass: Quantity
    ash_mass: Quantity  # kg
    phosphorus_taken: Quantity  # mg P/L, into solids
    ordinary_phosphorus: Quantity  # mg P/L of it, not stored as polyphosphate
    phosphorus_potential: Quantity  # mg P/L, at the layout's content
    phosphorus_potential_full: Quantity  # mg P/L, at the full content (verdict)
    oxygen_carbon: Quantity  # kg/d
    nitrogen_assimilated: Quantity  # mg N/L
    ammonia: Quantity  # mg N/L, effluent
    nitrified: Quantity  # mg N/L
    denitrified: Quantity  # mg N/L
    nitrate: Quantity  # mg N/L, effluent
    feed_ratio: Quantity  # sludge flow into the anaerobic zone over the influent flow
    fed_nitrate: Quantity  # mg N/L in that flow
    organic_nitrogen: Quantity  # mg N/L, soluble, effluent
    minimum_srt: Quantity  # d, for nitrification

    @property
    def ordinary_mass(self) -> Quantity:
        """Everything volatile but the storing organisms themselves [kg VSS]."""
        living = self.heterotroph_mass + self.heterotroph_residue
        return living + self.storing_residue + self.inert_mass

    @property
    def solids_mass(self) -> Quantity:
        """Total solids mass [kg]."""
        return self.volatile_mass + self.ash_mass


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Check:
    """One requirement on a design and whether it is met; a design that fails is data."""

    key: str
    label: str
    needed: float
    found: float
    unit: str
    met: bool
    sense: str = "at most"  # how found must stand to needed: "at most" or "at least"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Requirement:
    """What a design must hold, as quantities; a ``Check`` is its outcome at point values."""

    key: str
    label: str
    needed: Quantity
    found: Quantity
    unit: str
    sense: str = "at most"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CapitalItem:
    """One thing to be built: which price row scales it, by what size, and how long it lasts."""

    key: str
    label: str
    price: str  # field of the reference cost, with ``_size`` and ``_exponent`` beside it
    size: Quantity
    unit: str
    kind: str  # "structure" or "equipment": which asset life applies


@dataclass(frozen=True, slots=True)
class Variant:
    """A discrete choice within a strategy: every variant is designed, the cheapest is carried."""

    product: str = ""  # metal salt
    points: tuple[str, ...] = ()
    carbon: str = ""  # carbon that is bought
    source: str = ""  # of acids on site, beside the sewage


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Design:
    """The choices and sizes of one candidate, made once at point values."""

    strategy: str
    product: str  # of the metal salt, or "" where none is dosed
    design_mean: Array  # mg P/L that the strategy is sized to
    sizes: Mapping[str, Array]
    capital: tuple[CapitalItem, ...]
    choices: Mapping[str, str]  # as printed: fixed here, run again to change
    zones: Zones
    points: tuple[str, ...]  # where the salt is dosed, downstream
    base: str
    carbon: str = ""  # carbon that is bought, or "" where none is
    source: str = ""  # of acids on site, beside the sewage


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Water:
    """What is dissolved in an effluent, before its pH is known."""

    sodium: Quantity  # mg/L, as are the next five
    potassium: Quantity
    calcium: Quantity
    magnesium: Quantity
    chloride: Quantity
    sulfate: Quantity
    ammonia: Quantity  # mg N/L
    nitrate: Quantity  # mg N/L
    phosphate: Quantity  # mg P/L, reactive
    alkalinity: Quantity  # mg CaCO3/L
    temperature: Quantity  # degC
    dosed_late: Array  # 1 where salt is dosed ahead of a filter, else 0
    late_alkalinity: Quantity  # mg CaCO3/L that this dose takes, negative
    late_phosphate: Quantity  # mg P/L that this dose meets


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Operation:
    """What one candidate does, quantity by quantity, before money and impacts."""

    design: Design
    quantities: Mapping[str, Quantity]
    water: Water  # what dissolves is added from it, see ``strategies.dissolved``
    requirements: tuple[Requirement, ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Candidate:
    """One design with every reported quantity, by month and reduced."""

    strategy: str
    kind: str
    design: Design
    monthly: Mapping[str, Quantity]
    reduced: Mapping[str, Quantity]
    requirements: tuple[Requirement, ...]

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel to another process with the hundreds of small arrays as few large ones."""
        held = (self.strategy, self.kind, self.design, self.requirements)
        return _arrived, (held, packed(self.monthly), packed(self.reduced))


def _arrived(
    held: tuple[str, str, Design, tuple[Requirement, ...]],
    monthly: tuple[Any, ...],
    reduced: tuple[Any, ...],
) -> Candidate:
    strategy, kind, design, requirements = held
    return Candidate(
        strategy=strategy,
        kind=kind,
        design=design,
        monthly=unpacked(*monthly),
        reduced=unpacked(*reduced),
        requirements=requirements,
    )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Line:
    """What a printed number is."""

    key: str
    label: str
    value: float | None
    unit: str
    equation: str
    sources: tuple[str, ...]
    low: float | None
    middle: float | None
    high: float | None
    months: tuple[float, ...]
    reduced_by: str
    solved: bool
    reason: str = ""  # why a value is null


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StrategyResult:
    """One strategy as it is carried, with its lines, checks and the products beside it."""

    name: str
    label: str
    kind: str
    product: str
    design: Design
    lines: Mapping[str, Line]
    checks: tuple[Check, ...]
    others: Mapping[str, Mapping[str, Line]]  # product -> quantity -> line
    carbon: str = ""  # bought, with the source of acids on site
    carbons: Mapping[str, Mapping[str, Line]] = field(default_factory=dict)  # likewise, of carbon

    @property
    def meets_permit(self) -> bool:
        """Whether every check is met."""
        return all(check.met for check in self.checks)

    def value(self, quantity: str) -> float:
        """Give one line's value; nan where it is null."""
        value = self.lines[quantity].value
        return float("nan") if value is None else value


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Comparison:
    """All strategies of one plant, ranked, with the reasons."""

    strategies: Mapping[str, StrategyResult]
    basis: Mapping[str, Line]
    ranking: tuple[str, ...]  # feasible strategies, cheapest first
    reference: str
    recommendation: str
    what_would_change_it: tuple[str, ...]
    notes: tuple[str, ...]
    difference: Mapping[str, Line] = field(default_factory=dict)  # the first less the reference
    nearest: str = ""  # where none is feasible: the strategy that misses least
