"""Nitrate behind each layout of zones, and what reaches the anaerobic zone of it.

``layouts.csv`` names for each layout the equation of the nitrate that enters the anaerobic zone.
All of it is denitrified there at the expense of the storing organisms, so the balances below count
it as removed. A *usable* potential is what the oxygen of the flows into a zone leaves of it.
"""

from __future__ import annotations

from typing import NamedTuple

from pcompare.arrays import Quantity, equation, maximum, minimum, ratio
from pcompare.equations.nitrogen import NEVER, nitrate_after_recycle, oxygen_per_nitrate


class AnoxicRecycleNitrate(NamedTuple):
    """Nitrate where mixed liquor of the anoxic zone feeds the anaerobic zone [mg N/L]."""

    effluent: Quantity
    anoxic: Quantity


class ReturnAcceptors(NamedTuple):
    """Nitrate [mg N/L] and oxygen [mg O2/L] that return sludge still holds."""

    nitrate: Quantity
    oxygen: Quantity


# ---------------------------------------------------------------- nitrate of the main line


@equation
def nitrate_behind_anoxic_zone(
    nitrogen_nitrified: Quantity,
    usable_potential: Quantity,
    return_ratio: Quantity,
    internal_recycle_ratio: Quantity,
) -> Quantity:
    """Nitrate of the aerobic zone where the return sludge enters an anaerobic zone in front.

    Parameters
    ----------
    nitrogen_nitrified : quantity
        Nitrogen nitrified, with the nitrate of the influent. [mg N/L]
    usable_potential : quantity
        Denitrification potential of the anoxic zone, less the oxygen it receives. [mg N/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    internal_recycle_ratio : quantity
        Internal recycle flow over plant flow. [-]

    Returns
    -------
    quantity
        Nitrate. [mg N/L]

    Notes
    -----
    N = max(N_c/(a + s + 1), (N_c - D)/(1 + s)). The dilution of the recycles holds until the zone
    is exhausted; the nitrate of the return sludge is denitrified before it. Also that of a
    five-stage plant before its second anoxic zone, and of a plant with return sludge denitrified
    first. Without an anoxic zone and recycle (D = a = 0) it is N_c/(1 + s).

    Examples
    --------
    >>> round(float(nitrate_behind_anoxic_zone(30.0, 50.0, 0.5, 3.0)), 2)
    6.67

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    diluted = nitrate_after_recycle(nitrogen_nitrified, return_ratio, internal_recycle_ratio)
    return maximum(diluted, (nitrogen_nitrified - usable_potential) / (1.0 + return_ratio))


@equation
def endogenous_denitrification(
    endogenous_rate: Quantity,
    anoxic_fraction: Quantity,
    heterotroph_mass: Quantity,
    flow: Quantity,
) -> Quantity:
    """Nitrate that a zone without fresh sewage can remove, per litre of plant flow.

    Parameters
    ----------
    endogenous_rate : quantity
        Denitrification rate without fresh sewage at the temperature. [mg N/(mg VSS d)]
    anoxic_fraction : quantity
        Share of the sludge mass in the zone. [-]
    heterotroph_mass : quantity
        Living ordinary heterotrophs in the system. [kg VSS]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Denitrification potential. [mg N/L]

    Notes
    -----
    D = K3 f_x M / Q, the mass M in the form Y SRT/(1 + b SRT) of the COD used. For a second anoxic
    zone; that the same rate holds where return sludge is denitrified first is judgement.

    Examples
    --------
    >>> round(endogenous_denitrification(0.1, 0.15, 12000.0, 15000.0), 6)
    12.0

    References
    ----------
    HENZE2008, chapter on nitrogen removal, second anoxic zone
    """
    # kg VSS/(m3/d) is 1000 mg VSS d/L
    return endogenous_rate * anoxic_fraction * heterotroph_mass * 1000.0 / flow


@equation
def second_anoxic_removal(
    potential: Quantity, return_ratio: Quantity, recycle_oxygen: Quantity
) -> Quantity:
    """Nitrate that a second anoxic zone takes out of the stream that passes it.

    Parameters
    ----------
    potential : quantity
        Its potential per litre of plant flow, `endogenous_denitrification`. [mg N/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    recycle_oxygen : quantity
        Oxygen of the mixed liquor from the aerobic zone, as in the recycle. [mg O2/L]

    Returns
    -------
    quantity
        Largest fall of nitrate in the stream of (1 + s) times the plant flow. [mg N/L]

    Notes
    -----
    x = max(0, D/(1 + s) - O/2.856).

    Examples
    --------
    >>> round(float(second_anoxic_removal(12.0, 0.5, 0.0)), 6)
    8.0

    References
    ----------
    HENZE2008, chapter on nitrogen removal, second anoxic zone
    """
    return maximum(potential / (1.0 + return_ratio) - recycle_oxygen / oxygen_per_nitrate(), 0.0)


@equation
def nitrate_after_second_anoxic(
    nitrate: Quantity, nitrate_removal: Quantity, least_nitrate: Quantity
) -> Quantity:
    """Nitrate behind a second anoxic zone: that of the effluent and of the return sludge.

    Parameters
    ----------
    nitrate : quantity
        Nitrate of the aerobic zone before it. [mg N/L]
    nitrate_removal : quantity
        Largest fall in the zone, `second_anoxic_removal`. [mg N/L]
    least_nitrate : quantity
        Nitrate that plants do not come below. [mg N/L]

    Returns
    -------
    quantity
        Nitrate. [mg N/L]

    Notes
    -----
    N = min(N_aerobic, max(N_least, N_aerobic - x)). Practice is 1 to 3 mg/L.

    Examples
    --------
    >>> float(nitrate_after_second_anoxic(6.0, 8.0, 1.0))
    1.0

    References
    ----------
    HENZE2008, chapter on enhanced biological phosphorus removal, five stages
    """
    return minimum(nitrate, maximum(least_nitrate, nitrate - nitrate_removal))


@equation
def nitrate_four_stage(
    nitrogen_nitrified: Quantity,
    usable_potential: Quantity,
    nitrate_removal: Quantity,
    least_nitrate: Quantity,
    return_ratio: Quantity,
    internal_recycle_ratio: Quantity,
) -> Quantity:
    """Nitrate of the aerobic zone of a four-stage plant, before its second anoxic zone.

    Parameters
    ----------
    nitrogen_nitrified : quantity
        Nitrogen nitrified, with the nitrate of the influent. [mg N/L]
    usable_potential : quantity
        Potential of the first anoxic zone, less the oxygen it receives. [mg N/L]
    nitrate_removal : quantity
        Largest fall in the second zone, `second_anoxic_removal`. [mg N/L]
    least_nitrate : quantity
        Nitrate that plants do not come below. [mg N/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    internal_recycle_ratio : quantity
        Internal recycle flow over plant flow. [-]

    Returns
    -------
    quantity
        Nitrate. [mg N/L]

    Notes
    -----
    N = max(N_c/(a + s + 1), y - s x, min(y, (y + s N_least)/(1 + s))) with y = N_c - D. The nitrate
    balance of both zones, closed: the return sludge comes back to the first zone with the nitrate
    of the effluent, `nitrate_after_second_anoxic`. The three terms: the first zone has capacity to
    spare; it is exhausted; and so it is while the second one reaches its least nitrate.

    Examples
    --------
    30 nitrified, 20 removed in the first zone, 4 from 1.5 times the flow in the second: 4 leave.

    >>> float(nitrate_four_stage(30.0, 20.0, 4.0, 1.0, 0.5, 4.0))
    8.0

    References
    ----------
    HENZE2008, chapter on nitrogen removal, second anoxic zone
    """
    diluted = nitrate_after_recycle(nitrogen_nitrified, return_ratio, internal_recycle_ratio)
    left = nitrogen_nitrified - usable_potential
    at_least = (left + return_ratio * least_nitrate) / (1.0 + return_ratio)
    exhausted = maximum(left - return_ratio * nitrate_removal, minimum(left, at_least))
    return maximum(diluted, exhausted)


@equation
def nitrate_anoxic_recycle(
    nitrogen_nitrified: Quantity,
    usable_potential: Quantity,
    least_nitrate: Quantity,
    return_ratio: Quantity,
    internal_recycle_ratio: Quantity,
    anoxic_recycle_ratio: Quantity,
) -> AnoxicRecycleNitrate:
    """Nitrate where return sludge enters the anoxic zone and that feeds the anaerobic zone.

    Parameters
    ----------
    nitrogen_nitrified : quantity
        Nitrogen nitrified, with the nitrate of the influent. [mg N/L]
    usable_potential : quantity
        Denitrification potential of the anoxic zone, less the oxygen it receives. [mg N/L]
    least_nitrate : quantity
        Nitrate that the anoxic zone does not come below. [mg N/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    internal_recycle_ratio : quantity
        Internal recycle flow over plant flow. [-]
    anoxic_recycle_ratio : quantity
        Mixed liquor from the anoxic to the anaerobic zone over plant flow. [-]

    Returns
    -------
    effluent : quantity
        Nitrate of the aerobic zone, the effluent and the return sludge. [mg N/L]
    anoxic : quantity
        Nitrate of the mixed liquor that goes to the anaerobic zone. [mg N/L]

    Notes
    -----
    N_x = max(N_least, (N_c (1 - 1/m) - D)/(1 + r)) with m = 1 + s + a, at most its value without
    denitrification (D = 0), and N_e = N_x + N_c/m. The nitrate balance with the anaerobic zone as a
    further sink of r N_x. In the equations of the anaerobic zone r and N_x take the places of the
    return ratio and its nitrate.

    Examples
    --------
    >>> nitrogen = nitrate_anoxic_recycle(30.0, 20.0, 0.5, 0.5, 3.5, 1.0)
    >>> [float(part) for part in nitrogen]
    [8.0, 2.0]

    References
    ----------
    HENZE2008, chapter on enhanced biological phosphorus removal, layouts
    """
    diluted = nitrate_after_recycle(nitrogen_nitrified, return_ratio, internal_recycle_ratio)
    spread = 1.0 + anoxic_recycle_ratio
    most = (nitrogen_nitrified - diluted) / spread  # nothing but the anaerobic zone denitrifies
    anoxic = minimum(most, maximum(least_nitrate, most - usable_potential / spread))
    return AnoxicRecycleNitrate(effluent=diluted + anoxic, anoxic=anoxic)


# ---------------------------------------------------------------- what the return sludge brings


@equation
def nitrate_after_blanket(nitrate: Quantity, blanket_denitrification: Quantity) -> Quantity:
    """Nitrate of the return sludge after the sludge blanket of the clarifier.

    Parameters
    ----------
    nitrate : quantity
        Nitrate of the effluent. [mg N/L]
    blanket_denitrification : quantity
        Nitrate that the blanket removes. [mg N/L]

    Returns
    -------
    quantity
        Nitrate of the return sludge, not below 0. [mg N/L]

    Notes
    -----
    N_s = max(0, N_e - N_blanket). 1 to 3 mg/L are known from the trade and weak, so the default is
    0: a full-scale plant below 1 mg P/L against the design model's verdict owed it to this.

    Examples
    --------
    >>> float(nitrate_after_blanket(6.5, 2.0))
    4.5

    References
    ----------
    WST1990_0224, three-stage plant at a low ratio of carbon to nitrogen
    """
    return maximum(nitrate - blanket_denitrification, 0.0)


@equation
def return_after_own_anoxic_zone(
    nitrate: Quantity, return_oxygen: Quantity, potential: Quantity, return_ratio: Quantity
) -> ReturnAcceptors:
    """Nitrate and oxygen of return sludge that first passes an anoxic zone of its own.

    Parameters
    ----------
    nitrate : quantity
        Nitrate of the return sludge as it enters that zone. [mg N/L]
    return_oxygen : quantity
        Dissolved oxygen in the return sludge. [mg O2/L]
    potential : quantity
        Potential of the zone per litre of plant flow, `endogenous_denitrification`. [mg N/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]

    Returns
    -------
    nitrate : quantity
        Nitrate that goes on to the anaerobic zone. [mg N/L]
    oxygen : quantity
        Oxygen that goes on to the anaerobic zone. [mg O2/L]

    Notes
    -----
    N = max(0, N_s - max(0, D/s - O/2.856)). The oxygen is used up first, O = max(0, O_s - 2.856
    D/s).

    Examples
    --------
    >>> acceptors = return_after_own_anoxic_zone(8.0, 0.0, 3.0, 0.5)
    >>> [float(part) for part in acceptors]
    [2.0, 0.0]

    References
    ----------
    HENZE2008, chapter on enhanced biological phosphorus removal, layouts
    """
    capacity = ratio(potential, return_ratio, 0.0)
    for_nitrate = maximum(capacity - return_oxygen / oxygen_per_nitrate(), 0.0)
    return ReturnAcceptors(
        nitrate=maximum(nitrate - for_nitrate, 0.0),
        oxygen=maximum(return_oxygen - capacity * oxygen_per_nitrate(), 0.0),
    )


# ---------------------------------------------------------------- a thinner anaerobic zone


@equation
def anaerobic_solids(mixed_liquor_solids: Quantity, anoxic_recycle_ratio: Quantity) -> Quantity:
    """Sludge in an anaerobic zone that is fed with mixed liquor instead of return sludge.

    Parameters
    ----------
    mixed_liquor_solids : quantity
        Solids of the anoxic zone that feeds it. [mg/L]
    anoxic_recycle_ratio : quantity
        Mixed liquor from the anoxic to the anaerobic zone over plant flow. [-]

    Returns
    -------
    quantity
        Solids of the anaerobic zone. [mg/L]

    Notes
    -----
    X_an = X r / (1 + r).

    Examples
    --------
    >>> anaerobic_solids(4000.0, 1.0)
    2000.0

    References
    ----------
    HENZE2008, chapter on enhanced biological phosphorus removal, layouts
    """
    return mixed_liquor_solids * anoxic_recycle_ratio / (1.0 + anoxic_recycle_ratio)


@equation
def anaerobic_volume_factor(anoxic_recycle_ratio: Quantity) -> Quantity:
    """Volume of such an anaerobic zone over that of one with the full mixed liquor.

    Parameters
    ----------
    anoxic_recycle_ratio : quantity
        Mixed liquor from the anoxic to the anaerobic zone over plant flow. [-]

    Returns
    -------
    quantity
        Factor for the same sludge mass; 1 000 000 without a recycle. [-]

    Notes
    -----
    F = (1 + r)/r.

    Examples
    --------
    >>> float(anaerobic_volume_factor(1.0))
    2.0

    References
    ----------
    HENZE2008, chapter on enhanced biological phosphorus removal, layouts
    """
    return ratio(1.0 + anoxic_recycle_ratio, anoxic_recycle_ratio, NEVER)


@equation
def anaerobic_mass_share(volume_fraction: Quantity, anoxic_recycle_ratio: Quantity) -> Quantity:
    """Share of the sludge mass in such an anaerobic zone from its share of the volume.

    Parameters
    ----------
    volume_fraction : quantity
        Volume of the anaerobic zone over that of all tanks. [-]
    anoxic_recycle_ratio : quantity
        Mixed liquor from the anoxic to the anaerobic zone over plant flow. [-]

    Returns
    -------
    quantity
        Anaerobic share of the sludge mass. [-]

    Notes
    -----
    f = v k / (1 - v + v k), k = r/(1 + r). The design model needs the share of the mass: the two
    are equal only where the return sludge feeds the zone.

    Examples
    --------
    >>> round(anaerobic_mass_share(0.2, 1.0), 3)
    0.111

    References
    ----------
    HENZE2008, chapter on enhanced biological phosphorus removal, layouts
    """
    thin = volume_fraction * anoxic_recycle_ratio / (1.0 + anoxic_recycle_ratio)
    return thin / (1.0 - volume_fraction + thin)
