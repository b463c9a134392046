"""What water of some salinity does to those who use it: soils, crops, towers, taps."""

from __future__ import annotations

import functools
from math import nan
from typing import NamedTuple

from pcompare import tables
from pcompare.arrays import Quantity, equation, maximum, minimum, ratio, where
from pcompare.tables import constant, molar_mass

CHARGES = {"Na": 1.0, "Cl": 1.0, "HCO3": 1.0, "SO4": 2.0, "Ca": 2.0, "Mg": 2.0}
BANDS = {"0-3": 3.0, "3-6": 6.0, "6-12": 12.0, "12-20": 20.0, "20-40": 40.0}  # of the ratio
MICRO_PER_DECI = 1000.0  # uS/cm in one dS/m


class InfiltrationBounds(NamedTuple):
    """Conductivities between the classes of infiltration, by the sodium adsorption ratio."""

    none: Quantity
    severe: Quantity


@equation
def mass_from_equivalents(equivalents: Quantity, ion: str) -> Quantity:
    """Mass concentration of an ion that is given in equivalents.

    Parameters
    ----------
    equivalents : quantity
        Concentration. [meq/L]
    ion : str
        Formula of the ion without its charge, such as ``Cl``.

    Returns
    -------
    quantity
        Concentration by mass. [mg/L]

    Notes
    -----
    mass = equivalents x M / charge.

    Examples
    --------
    The irrigation guidelines print 140 and 350 mg/L for 4 and 10 meq/L of chloride.

    >>> round(mass_from_equivalents(4.0, "Cl")), round(mass_from_equivalents(10.0, "Cl"))
    (142, 354)

    References
    ----------
    FAO29, Table 1; IUPAC2021, atomic weights
    """
    return equivalents * molar_mass(ion) / CHARGES[ion]


@equation
def bicarbonate_from_alkalinity(alkalinity: Quantity) -> Quantity:
    """Bicarbonate of a water whose alkalinity is all bicarbonate.

    Parameters
    ----------
    alkalinity : quantity
        Alkalinity. [mg CaCO3/L]

    Returns
    -------
    quantity
        Bicarbonate. [mg/L]

    Notes
    -----
    HCO3 = alkalinity x 2 M(HCO3)/M(CaCO3), that is alkalinity / 0.82.

    Examples
    --------
    >>> round(bicarbonate_from_alkalinity(580.0))
    707

    References
    ----------
    USGS02_4045, Table 4, sample 1; HEM1985
    """
    return alkalinity * 2.0 * molar_mass("HCO3") / molar_mass("CaCO3")


@equation
def conductivity_at_25(conductivity_at_20: Quantity) -> Quantity:
    """Conductivity at 25 degC of a limit that is written for 20 degC.

    Parameters
    ----------
    conductivity_at_20 : quantity
        Conductivity at 20 degC. [uS/cm]

    Returns
    -------
    quantity
        Conductivity at 25 degC. [uS/cm]

    Notes
    -----
    kappa25 = 1.116 kappa20.

    Examples
    --------
    A measured water of 1021 uS/cm at 20 degC.

    >>> round(conductivity_at_25(1021.0), 1)
    1139.4

    References
    ----------
    ISO7888, factor for natural waters
    """
    return conductivity_at_20 * constant("conductivity_25_over_20")


@equation
def soil_extract_conductivity(conductivity: Quantity) -> Quantity:
    """Conductivity of the soil's saturation extract under irrigation with usual leaching.

    Parameters
    ----------
    conductivity : quantity
        Conductivity of the irrigation water at 25 degC. [uS/cm]

    Returns
    -------
    quantity
        Conductivity of the extract. [dS/m]

    Notes
    -----
    ECe = 1.5 ECw where 15 to 20 % of the water drains below the roots.

    Examples
    --------
    >>> soil_extract_conductivity(2000.0)
    3.0

    References
    ----------
    FAO29, water and soil salinity at a leaching fraction of 15 to 20 %
    """
    return constant("soil_extract_ratio") * conductivity / MICRO_PER_DECI


@equation
def crop_yield(
    soil_extract: Quantity, yield_threshold: Quantity, yield_slope: Quantity
) -> Quantity:
    """Yield of a crop on salty soil, against the same crop without salt.

    Parameters
    ----------
    soil_extract : quantity
        Conductivity of the soil's saturation extract. [dS/m]
    yield_threshold : quantity
        Conductivity up to which nothing is lost. [dS/m]
    yield_slope : quantity
        Loss beyond it. [% m/dS]

    Returns
    -------
    quantity
        Relative yield, from 0 to 100. [%]

    Notes
    -----
    Y = 100 - b (ECe - a) above the threshold a, 100 below it, never below 0.

    Examples
    --------
    Tomato at 4 dS/m.

    >>> round(float(crop_yield(4.0, 2.5, 9.9)), 2)
    85.15

    References
    ----------
    MAAS1990, threshold and slope; FAO61, Annex 1
    """
    loss = yield_slope * maximum(soil_extract - yield_threshold, 0.0)
    return 100.0 - minimum(loss, 100.0)


@equation
def leaching_requirement(conductivity: Quantity, soil_extract: Quantity) -> Quantity:
    """Share of the irrigation that must drain to hold a soil at a salinity.

    Parameters
    ----------
    conductivity : quantity
        Conductivity of the irrigation water at 25 degC. [uS/cm]
    soil_extract : quantity
        Conductivity of the saturation extract that the crop bears. [dS/m]

    Returns
    -------
    quantity
        Share that drains; not below 0. One or more: the crop cannot be held there. [-]

    Notes
    -----
    LR = ECw/(5 ECe - ECw), both in dS/m.

    Examples
    --------
    Water of 1 dS/m and a crop that bears 1.5 dS/m.

    >>> round(float(leaching_requirement(1000.0, 1.5)), 3)
    0.154

    References
    ----------
    FAO29, leaching requirement after Rhoades
    """
    water = conductivity / MICRO_PER_DECI
    room = 5.0 * soil_extract - water
    return where(room > water, water / where(room > water, room, 1.0), 1.0)


@functools.cache
def _infiltration_edges() -> tuple[tuple[float, float, float], ...]:
    """Give the upper end of each band of the ratio, and its two conductivities [dS/m]."""
    found: dict[float, dict[str, float]] = {}
    for row in tables.read("water_use_limits"):
        quantity = row.text("quantity")
        if quantity.startswith("conductivity at sar "):
            top = BANDS[quantity.rpartition(" ")[2]]
            found.setdefault(top, {})[row.text("class")] = row.number("value")
    return tuple((top, e["none"], e["slight to moderate"]) for top, e in sorted(found.items()))


@equation
def infiltration_bounds(sodium_adsorption_ratio: Quantity) -> InfiltrationBounds:
    """Conductivities at which sodium begins to close a soil, and closes it severely.

    Parameters
    ----------
    sodium_adsorption_ratio : quantity
        Ratio of the water. [-]

    Returns
    -------
    none : quantity
        At this conductivity and above it water enters the soil freely. [uS/cm]
    severe : quantity
        Below it the restriction is severe. [uS/cm]

    Notes
    -----
    Edges by bands of the ratio: 0-3, 3-6, 6-12, 12-20 and 20-40. The less salt beside the same
    sodium, the worse water enters. Above 40 the last band is held.

    Examples
    --------
    >>> bounds = infiltration_bounds(4.0)
    >>> float(bounds.none), float(bounds.severe)
    (1200.0, 300.0)

    References
    ----------
    FAO29, Table 1, infiltration
    """
    edges = _infiltration_edges()
    none, severe = (MICRO_PER_DECI * edges[-1][i] + 0.0 * sodium_adsorption_ratio for i in (1, 2))
    for top, free, closed in reversed(edges[:-1]):
        inside = sodium_adsorption_ratio < top
        none = where(inside, MICRO_PER_DECI * free, none)
        severe = where(inside, MICRO_PER_DECI * closed, severe)
    return InfiltrationBounds(none=none, severe=severe)


@equation
def concentration_cycles(tower_limit: Quantity, supply_concentration: Quantity) -> Quantity:
    """How often a cooling tower can concentrate its supply before it reaches a limit.

    Parameters
    ----------
    tower_limit : quantity
        Limit on the water in the tower. [mg/L]
    supply_concentration : quantity
        Concentration of the water that makes up its losses. [mg/L]

    Returns
    -------
    quantity
        Cycles of concentration; not a number without any of it in the supply. [-]

    Notes
    -----
    cycles = limit / supply: evaporation leaves the salt behind.

    Examples
    --------
    >>> round(float(concentration_cycles(1500.0, 500.0)), 1)
    3.0

    References
    ----------
    COMPUTED, salt balance of a tower
    """
    return ratio(tower_limit, supply_concentration, nan)
