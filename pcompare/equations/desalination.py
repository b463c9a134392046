"""Salt taken back by a side stream through membranes: share treated, water lost, cost."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation


@equation
def side_stream_fraction(
    kept_fraction: Quantity, recovery_fraction: Quantity, rejection_fraction: Quantity
) -> Quantity:
    """Share of a water that must pass membranes so that the blend reaches a target.

    Parameters
    ----------
    kept_fraction : quantity
        Target over present concentration, at most one. [-]
    recovery_fraction : quantity
        Share of the treated water that becomes permeate. [-]
    rejection_fraction : quantity
        Share of the salt that the membranes hold back. [-]

    Returns
    -------
    quantity
        Share treated. [-]

    Notes
    -----
    phi = (1 - t)/((1 - t)(1 - Y) + Y R), from the balances of water and salt of the blend; the
    brine (1 - Y) phi is lost.

    Examples
    --------
    >>> round(side_stream_fraction(0.8, 0.75, 0.95), 4)
    0.2623

    References
    ----------
    COMPUTED, balance of water and salt over a side stream
    """
    taken = 1.0 - kept_fraction
    return taken / (taken * (1.0 - recovery_fraction) + recovery_fraction * rejection_fraction)


@equation
def brine_fraction(treated_fraction: Quantity, recovery_fraction: Quantity) -> Quantity:
    """Share of a water that leaves as brine of a side stream.

    Parameters
    ----------
    treated_fraction : quantity
        Share of the water through the membranes. [-]
    recovery_fraction : quantity
        Share of the treated water that becomes permeate. [-]

    Returns
    -------
    quantity
        Share lost. [-]

    Notes
    -----
    lost = phi (1 - Y).

    Examples
    --------
    >>> round(brine_fraction(0.2623, 0.75), 4)
    0.0656

    References
    ----------
    COMPUTED, balance of water over a side stream
    """
    return treated_fraction * (1.0 - recovery_fraction)


@equation
def removal_unit_cost(
    permeate_cost: Quantity, rejection_fraction: Quantity, feed_concentration: Quantity
) -> Quantity:
    """Cost of a kilogram of salt taken out by membranes, brine disposal left out.

    Parameters
    ----------
    permeate_cost : quantity
        Cost of the permeate. [money/m3]
    rejection_fraction : quantity
        Share of the salt that the membranes hold back. [-]
    feed_concentration : quantity
        Dissolved solids of the feed. [mg/L]

    Returns
    -------
    quantity
        Cost of the salt. [money/kg]

    Notes
    -----
    cost = 1000 c/(R C): the weaker the water, the dearer each kilogram.

    Examples
    --------
    0.39 to 0.66 per m3 at 600 mg/L.

    >>> [round(removal_unit_cost(c, 0.97, 600.0), 2) for c in (0.39, 0.66)]
    [0.67, 1.13]

    References
    ----------
    PEARSON2021, operating cost of brackish water; COMPUTED, salt held back per permeate
    """
    return 1000.0 * permeate_cost / (rejection_fraction * feed_concentration)
