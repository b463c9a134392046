"""Solids: mixed liquor, clarifier, digestion, cake and polymer, the same for every strategy."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation
from pcompare.units import HOURS_PER_DAY


@equation
def digested_solids(
    volatile_solids: Quantity, inert_solids: Quantity, volatile_destruction: Quantity
) -> Quantity:
    """Dry solids left after digestion.

    Parameters
    ----------
    volatile_solids : quantity
        Volatile solids fed. [kg/d]
    inert_solids : quantity
        Inorganic solids fed, metal sludge included. [kg/d]
    volatile_destruction : quantity
        Share of the volatile solids destroyed; 0 without digestion. [-]

    Returns
    -------
    quantity
        Dry solids. [kg/d]

    Notes
    -----
    TSS = VSS (1 - d) + ISS. Inorganic solids pass through; what digestion dissolves of stored
    polyphosphate is to be taken off `inert_solids` first.

    Examples
    --------
    >>> digested_solids(1000.0, 300.0, 0.5)
    800.0

    References
    ----------
    METCALF2014, chapter on anaerobic digestion
    """
    return volatile_solids * (1.0 - volatile_destruction) + inert_solids


@equation
def wet_cake(dry_solids: Quantity, cake_dryness: Quantity) -> Quantity:
    """Cake to be hauled.

    Parameters
    ----------
    dry_solids : quantity
        Dry solids dewatered. [kg/d]
    cake_dryness : quantity
        Dry solids of the cake. [kg/kg]

    Returns
    -------
    quantity
        Wet cake. [t/d]

    Notes
    -----
    W = TSS / (1000 dryness). The solids that return with the liquor are left out.

    Examples
    --------
    >>> round(wet_cake(1000.0, 0.20) / wet_cake(1000.0, 0.24), 2)  # 4 points wetter, all cake
    1.2

    References
    ----------
    COMMON_PRACTICE
    """
    return dry_solids / cake_dryness / 1000.0  # kg/d to t/d


@equation
def mixed_liquor(solids_mass: Quantity, volume: Quantity) -> Quantity:
    """Suspended solids of the mixed liquor.

    Parameters
    ----------
    solids_mass : quantity
        Solids in the activated-sludge tanks. [kg]
    volume : quantity
        Volume of the tanks. [m3]

    Returns
    -------
    quantity
        Mixed-liquor suspended solids. [mg/L]

    Notes
    -----
    X = 1000 M / V, the same in all tanks.

    Examples
    --------
    >>> mixed_liquor(11406.0, 5703.0)
    2000.0

    References
    ----------
    UBC_APSC150, question 1
    """
    return solids_mass * 1000.0 / volume  # kg/m3 to mg/L


@equation
def clarifier_loading(
    flow: Quantity,
    return_ratio: Quantity,
    mixed_liquor_solids: Quantity,
    clarifier_area: Quantity,
) -> Quantity:
    """Solids that each square metre of secondary clarifier must take.

    Parameters
    ----------
    flow : quantity
        Plant flow. [m3/d]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    mixed_liquor_solids : quantity
        Mixed-liquor suspended solids. [mg/L]
    clarifier_area : quantity
        Surface of all clarifiers. [m2]

    Returns
    -------
    quantity
        Solids loading. [kg/(m2 h)]

    Notes
    -----
    G = Q (1 + s) X / (24 000 A).

    Examples
    --------
    >>> clarifier_loading(24000.0, 0.5, 4000.0, 1000.0)
    6.0

    References
    ----------
    METCALF2014, chapter on secondary clarifiers
    """
    solids_flow = flow * (1.0 + return_ratio) * mixed_liquor_solids / 1000.0  # kg/d
    return solids_flow / (HOURS_PER_DAY * clarifier_area)


@equation
def polymer_use(dry_solids: Quantity, polymer_dose: Quantity) -> Quantity:
    """Polymer that dewatering takes.

    Parameters
    ----------
    dry_solids : quantity
        Dry solids dewatered. [kg/d]
    polymer_dose : quantity
        Active polymer for each tonne of dry solids. [kg/t]

    Returns
    -------
    quantity
        Active polymer. [kg/d]

    Notes
    -----
    U = dose TSS / 1000.

    Examples
    --------
    >>> polymer_use(5000.0, 8.0)
    40.0

    References
    ----------
    METCALF2014, chapter on dewatering
    """
    return dry_solids / 1000.0 * polymer_dose  # kg to t
