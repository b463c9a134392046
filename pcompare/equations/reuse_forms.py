"""Rivers, reservoirs and aquifers that take effluent back: shares, limits, drought, approach."""

from __future__ import annotations

from math import inf, nan

from pcompare.arrays import Quantity, absolute, equation, exp, log, maximum, minimum, ratio, where
from pcompare.equations.reuse import long_run_supply, loop_multiplier

EVEN = 1e-9  # nearer to a multiplier of one than this, every cycle adds the same


@equation
def captured_share(
    return_fraction: Quantity, evaporation_fraction: Quantity, capture_fraction: Quantity
) -> Quantity:
    """Share of returned effluent, no more than comes back from use.

    Parameters
    ----------
    return_fraction : quantity
        Share of the supply that is returned effluent, as asked for. [-]
    evaporation_fraction : quantity
        Share of the water lost in use without its salt, below one. [-]
    capture_fraction : quantity
        Share of the water left after use that comes back to the plant. [-]

    Returns
    -------
    quantity
        Share of the supply that can be returned effluent. [-]

    Notes
    -----
    r = min(asked, a (1 - e)). At the cap the multiplier r/(1 - e) is the capture a itself.

    Examples
    --------
    >>> round(float(captured_share(0.95, 0.1, 0.9)), 2)
    0.81

    References
    ----------
    COMPUTED, water balance of a loop
    """
    return minimum(return_fraction, capture_fraction * (1.0 - evaporation_fraction))


@equation
def river_share(return_fraction: Quantity, river_cut: Quantity, use_cut: Quantity) -> Quantity:
    """Effluent's share of a river whose flow, or whose users' flow, is cut.

    Parameters
    ----------
    return_fraction : quantity
        Share of effluent in a normal year. [-]
    river_cut : quantity
        Share of the river's own flow that is missing, below one. [-]
    use_cut : quantity
        Share of the use per person that is saved, below one. [-]

    Returns
    -------
    quantity
        Share of effluent in the drought. [-]

    Notes
    -----
    r' = r (1 - u) / (r (1 - u) + (1 - r)(1 - c)), the same as Qe / (Qe + Qr (1 - c)) with both
    flows of the year in proportion to r and 1 - r.

    Examples
    --------
    Effluent 3 to river 7, the river cut by 60 %.

    >>> round(float(river_share(0.3, 0.6, 0.0)), 4)
    0.5172

    References
    ----------
    COMPUTED, mixing of two flows
    """
    effluent = return_fraction * (1.0 - use_cut)
    river = (1.0 - return_fraction) * (1.0 - river_cut)
    return ratio(effluent, effluent + river, nan)


@equation
def drought_concentration(
    influent_concentration: Quantity, source_concentration: Quantity, use_cut: Quantity
) -> Quantity:
    """Concentration of the sewage when use per person falls and its load does not.

    Parameters
    ----------
    influent_concentration : quantity
        In a normal year. [mg/L]
    source_concentration : quantity
        Of the water that the town draws. [mg/L]
    use_cut : quantity
        Share of the use per person that is saved, below one. [-]

    Returns
    -------
    quantity
        In the drought. [mg/L]

    Notes
    -----
    C = C0 + (C_normal - C0)/(1 - u): what people add is the load of a person over a smaller flow.
    Where the sewage holds less than the source, nothing was added and nothing is concentrated.

    Examples
    --------
    An increment of 250 mg/L at a fifth less use.

    >>> round(float(drought_concentration(450.0, 200.0, 0.2)), 1)
    512.5

    References
    ----------
    COMPUTED, load per person over flow per person
    """
    added = influent_concentration - source_concentration
    return influent_concentration + maximum(added, 0.0) * use_cut / (1.0 - use_cut)


@equation
def settled_supply(
    source_concentration: Quantity,
    use_increment: Quantity,
    return_fraction: Quantity,
    evaporation_fraction: Quantity,
) -> Quantity:
    """Long-run supply of a loop; not a number where it has no steady state.

    Parameters
    ----------
    source_concentration : quantity
        Concentration of the source water. [mg/L]
    use_increment : quantity
        What one use cycle adds to the supply, chemicals included. [mg/L]
    return_fraction : quantity
        Share of the supply that is returned effluent. [-]
    evaporation_fraction : quantity
        Share of the water lost between supply and return without its salt, below one. [-]

    Returns
    -------
    quantity
        Concentration of the supply. [mg/L]

    Notes
    -----
    C = ((1 - r) C0 + m D)/(1 - m) with m = r/(1 - e) below one; with m of one or more salt rises
    without end. Where a plant takes more out than arrives, only source water is left of it:
    C = (1 - r) C0.

    Examples
    --------
    >>> round(float(settled_supply(200.0, 250.0, 0.5, 0.1)), 1)
    537.5

    References
    ----------
    COMPUTED, mass balance of a loop
    """
    multiplier = loop_multiplier(return_fraction, evaporation_fraction)
    steady = multiplier < 1.0
    share = where(steady, return_fraction, 0.0)
    found = long_run_supply(source_concentration, use_increment, share, evaporation_fraction)
    least = (1.0 - return_fraction) * source_concentration
    return where(steady, maximum(found, least), nan)


@equation
def evaporation_in_series(use_evaporation: Quantity, lake_evaporation: Quantity) -> Quantity:
    """Share of the water lost over use and reservoir together.

    Parameters
    ----------
    use_evaporation : quantity
        Share lost in use. [-]
    lake_evaporation : quantity
        Share of the reservoir's inflow that evaporates from it. [-]

    Returns
    -------
    quantity
        Share lost over both. [-]

    Notes
    -----
    1 - e = (1 - e_use)(1 - e_lake).

    Examples
    --------
    >>> round(float(evaporation_in_series(0.1, 0.2)), 2)
    0.28

    References
    ----------
    COMPUTED, water balance
    """
    return 1.0 - (1.0 - use_evaporation) * (1.0 - lake_evaporation)


@equation
def reservoir_concentration(
    inflow: Quantity, inflow_concentration: Quantity, salt_load: Quantity, evaporation: Quantity
) -> Quantity:
    """Concentration that a mixed reservoir tends to.

    Parameters
    ----------
    inflow : quantity
        Water that enters. [m3/d]
    inflow_concentration : quantity
        Its concentration. [mg/L]
    salt_load : quantity
        Salt that enters beside it. [kg/d]
    evaporation : quantity
        Water that evaporates, less than the inflow. [m3/d]

    Returns
    -------
    quantity
        Concentration. [mg/L]

    Notes
    -----
    C = (Q C_in + load)/(Q - E), the steady state of V dC/dt = Q C_in + load - (Q - E) C.

    Examples
    --------
    A tenth evaporates of a water of 450 mg/L.

    >>> reservoir_concentration(1000.0, 450.0, 0.0, 100.0)
    500.0

    References
    ----------
    COMPUTED, mass balance of a mixed reservoir
    """
    return (inflow * inflow_concentration + 1000.0 * salt_load) / (inflow - evaporation)


@equation
def mixed_after_years(
    start_concentration: Quantity,
    final_concentration: Quantity,
    multiplier: Quantity,
    lake_evaporation: Quantity,
    residence_years: Quantity,
    elapsed_years: Quantity,
) -> Quantity:
    """Concentration of a mixed reservoir or aquifer on its way to the long run.

    Parameters
    ----------
    start_concentration : quantity
        At the beginning. [mg/L]
    final_concentration : quantity
        In the long run. [mg/L]
    multiplier : quantity
        Share of the salt that comes back with each cycle, below one. [-]
    lake_evaporation : quantity
        Share of the inflow that evaporates from it. [-]
    residence_years : quantity
        Volume over yearly inflow. [y]
    elapsed_years : quantity
        Time since the beginning. [y]

    Returns
    -------
    quantity
        Concentration. [mg/L]

    Notes
    -----
    C = C_inf + (C_0 - C_inf) exp(-(1 - e_lake)(1 - m) t/T): the solution of
    V dC/dt = Q C_in - (Q - E) C where the inflow holds what comes back.

    Examples
    --------
    Without return and evaporation, 63 % of the way after one residence time.

    >>> round(float(mixed_after_years(0.0, 100.0, 0.0, 0.0, 5.0, 5.0)), 1)
    63.2

    References
    ----------
    COMPUTED, mass balance of a mixed reservoir
    """
    rate = (1.0 - lake_evaporation) * (1.0 - multiplier) / residence_years
    left = exp(-rate * elapsed_years)
    return final_concentration + (start_concentration - final_concentration) * left


@equation
def cycles_to_limit(
    source_concentration: Quantity,
    use_increment: Quantity,
    return_fraction: Quantity,
    evaporation_fraction: Quantity,
    limit: Quantity,
) -> Quantity:
    """Cycles of use until the supply passes a limit, the first supply all source water.

    Parameters
    ----------
    source_concentration : quantity
        Concentration of the source water. [mg/L]
    use_increment : quantity
        What one use cycle adds to the supply, chemicals included. [mg/L]
    return_fraction : quantity
        Share of the supply that is returned effluent. [-]
    evaporation_fraction : quantity
        Share of the water lost between supply and return, below one. [-]
    limit : quantity
        Limit. [mg/L]

    Returns
    -------
    quantity
        Cycles; infinite where the limit is never passed, 0 where the source passes it. [-]

    Notes
    -----
    n = ln[1 - (1 - m)(L - C0)/g]/ln m with g = m D + (m - r) C0, the rise of the first cycle: the
    closed form C_n = C0 + g (1 - m^n)/(1 - m), solved for n. With m = 1 each cycle adds g.

    Examples
    --------
    >>> round(float(cycles_to_limit(200.0, 320.0, 0.5, 0.1, 500.0)), 2)
    2.08

    References
    ----------
    COMPUTED, mass balance of a loop
    """
    multiplier = loop_multiplier(return_fraction, evaporation_fraction)
    first = multiplier * use_increment + (multiplier - return_fraction) * source_concentration
    steps = where(first > 0.0, (limit - source_concentration) / where(first > 0.0, first, 1.0), inf)
    even = absolute(1.0 - multiplier) < EVEN
    left = where(first > 0.0, 1.0 - (1.0 - multiplier) * where(first > 0.0, steps, 0.0), 0.0)
    base = where(even, 2.0, where(multiplier > 0.0, multiplier, 2.0))
    turned = log(where(left > 0.0, left, 1.0)) / log(base)
    found = where(even, steps, where(left > 0.0, turned, inf))
    return where(limit <= source_concentration, 0.0, found)


@equation
def largest_share(
    source_concentration: Quantity,
    use_increment: Quantity,
    evaporation_fraction: Quantity,
    limit: Quantity,
) -> Quantity:
    """Largest share of effluent with which the long run keeps a limit: how far to blend.

    Parameters
    ----------
    source_concentration : quantity
        Concentration of the source water. [mg/L]
    use_increment : quantity
        What one use cycle adds to the supply, chemicals included. [mg/L]
    evaporation_fraction : quantity
        Share of the water lost between supply and return, below one. [-]
    limit : quantity
        Limit. [mg/L]

    Returns
    -------
    quantity
        Share of effluent in the supply, from 0 to 1. [-]

    Notes
    -----
    r = (L - C0)/((D + L)/(1 - e) - C0): the long-run supply of the loop, solved for r.

    Examples
    --------
    >>> round(float(largest_share(200.0, 250.0, 0.1, 537.5)), 3)
    0.5

    References
    ----------
    COMPUTED, mass balance of a loop
    """
    gain = (use_increment + limit) / (1.0 - evaporation_fraction) - source_concentration
    found = (limit - source_concentration) / where(gain > 0.0, gain, 1.0)
    bounded = maximum(0.0, minimum(1.0, where(gain > 0.0, found, 1.0)))
    return where(limit <= source_concentration, 0.0, bounded)
