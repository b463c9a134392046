"""Salt in a reuse loop: what a use cycle adds, multiplied by return and evaporation."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation, ratio
from pcompare.tables import molar_mass

CHARGES = {"Na": 1.0, "K": 1.0, "Ca": 2.0, "Mg": 2.0}


@equation
def loop_multiplier(
    return_fraction: Quantity,
    evaporation_fraction: Quantity,
) -> Quantity:
    """Share of the salt that comes back with each cycle.

    Parameters
    ----------
    return_fraction : quantity
        Share of the supply that is returned effluent. [-]
    evaporation_fraction : quantity
        Share of the water lost in use without its salt, below one. [-]

    Returns
    -------
    quantity
        Multiplier; a loop has a steady state below one. [-]

    Notes
    -----
    m = r/(1 - e). An increment of use raises the long-run supply by m/(1 - m) of itself.

    Examples
    --------
    >>> round(loop_multiplier(0.5, 0.1), 4)
    0.5556

    References
    ----------
    COMPUTED, mass balance of a loop
    """
    return return_fraction / (1.0 - evaporation_fraction)


@equation
def long_run_supply(
    source_concentration: Quantity,
    use_increment: Quantity,
    return_fraction: Quantity,
    evaporation_fraction: Quantity,
) -> Quantity:
    """Concentration that the supply of a loop tends to.

    Parameters
    ----------
    source_concentration : quantity
        Concentration of the source water. [mg/L]
    use_increment : quantity
        What one use cycle adds to the supply, chemicals included. [mg/L]
    return_fraction : quantity
        Share of the supply that is returned effluent. [-]
    evaporation_fraction : quantity
        Share of the water lost in use without its salt, below one. [-]

    Returns
    -------
    quantity
        Concentration of the supply. [mg/L]

    Notes
    -----
    C = ((1 - r) C0 + m D) / (1 - m), only for m = r/(1 - e) below one.

    Examples
    --------
    >>> round(long_run_supply(200.0, 250.0, 0.5, 0.1), 1)
    537.5

    References
    ----------
    COMPUTED, mass balance of a loop
    """
    multiplier = loop_multiplier(return_fraction, evaporation_fraction)
    fresh = (1.0 - return_fraction) * source_concentration
    return (fresh + multiplier * use_increment) / (1.0 - multiplier)


@equation
def supply_after_cycles(
    source_concentration: Quantity,
    use_increment: Quantity,
    return_fraction: Quantity,
    evaporation_fraction: Quantity,
    cycles: Quantity,
) -> Quantity:
    """Concentration of the supply after some cycles, the first one all source water.

    Parameters
    ----------
    source_concentration : quantity
        Concentration of the source water. [mg/L]
    use_increment : quantity
        What one use cycle adds to the supply, chemicals included. [mg/L]
    return_fraction : quantity
        Share of the supply that is returned effluent. [-]
    evaporation_fraction : quantity
        Share of the water lost in use without its salt, below one. [-]
    cycles : quantity
        Number of use cycles. [-]

    Returns
    -------
    quantity
        Concentration of the supply. [mg/L]

    Notes
    -----
    C_n = C0 m^n + ((1 - r) C0 + m D) (1 - m^n)/(1 - m) with m = r/(1 - e). It holds also where
    the multiplier is one or more and no steady state exists.

    Examples
    --------
    >>> [round(float(supply_after_cycles(200.0, 250.0, 0.5, 0.1, n)), 2) for n in (1.0, 2.0, 5.0)]
    [350.0, 433.33, 519.64]

    References
    ----------
    COMPUTED, mass balance of a loop
    """
    multiplier = loop_multiplier(return_fraction, evaporation_fraction)
    left = multiplier**cycles
    added = (1.0 - return_fraction) * source_concentration + multiplier * use_increment
    return source_concentration * left + added * ratio(1.0 - left, 1.0 - multiplier, cycles)


@equation
def replacement_cation(
    alkalinity_lost: Quantity,
    cation: str,
) -> Quantity:
    """Cation that comes with the alkalinity put back.

    Parameters
    ----------
    alkalinity_lost : quantity
        Alkalinity that must be put back. [mg CaCO3/L]
    cation : str
        ``Na`` where sodium hydroxide or carbonate puts it back, ``Ca`` where lime does.

    Returns
    -------
    quantity
        Cation added. [mg/L]

    Notes
    -----
    cation = alkalinity / 50.04 x M / charge. Count it only for alkalinity not already restored
    at the plant.

    Examples
    --------
    1 mg Fe as ferric chloride loses 2.688 mg CaCO3; sodium hydroxide puts 1.235 mg Na back.

    >>> round(replacement_cation(2.6883, "Na"), 3)
    1.235

    References
    ----------
    IUPAC2021, atomic weights
    """
    milliequivalents = alkalinity_lost * 2.0 / molar_mass("CaCO3")
    return milliequivalents * molar_mass(cation) / CHARGES[cation]


@equation
def restored_solids(alkalinity_lost: Quantity, cation: str) -> Quantity:
    """Dissolved solids that come back when lost alkalinity is put back.

    Parameters
    ----------
    alkalinity_lost : quantity
        Alkalinity that somebody puts back. [mg CaCO3/L]
    cation : str
        ``Na`` or ``Ca``, the cation of the base.

    Returns
    -------
    quantity
        Residue at 180 degC. [mg/L]

    Notes
    -----
    The cation and the bicarbonate that returns with it, bicarbonate weighed as the carbonate that
    drying leaves: residue = cation + HCO3 M(CO3)/(2 M(HCO3)).

    Examples
    --------
    For 1 mg Fe as ferric chloride the residue rises by 0.293 mg, and by 3.140 mg once sodium
    hydroxide has put 2.688 mg CaCO3 back in full as ion sum; as residue the difference is 2.847.

    >>> round(float(restored_solids(2.6883, "Na")), 3)
    2.847

    References
    ----------
    IUPAC2021, atomic weights
    HOWARD1933, bicarbonate in the residue on evaporation
    """
    milliequivalents = alkalinity_lost * 2.0 / molar_mass("CaCO3")
    return replacement_cation(alkalinity_lost, cation) + milliequivalents * molar_mass("CO3") / 2.0
