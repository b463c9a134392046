"""Phosphorus stripped from return sludge in a side stream, and lime on the small overflow.

Lime follows the overflow, 10 to 20 % of the plant flow, so it and its sludge are a fifth to a tenth
of what the full flow would take. A kilogram released is not a kilogram removed: no more leaves
than the plant receives.
"""

from __future__ import annotations

from pcompare.arrays import Quantity, equation, maximum, minimum
from pcompare.equations.lime_solids import apatite_solids
from pcompare.equations.stoichiometry import mass_load


@equation
def stripper_release(volatile_solids: Quantity, release_content: Quantity) -> Quantity:
    """Phosphorus that sludge releases in a stripper, as its mass alone would have it.

    Parameters
    ----------
    volatile_solids : quantity
        Volatile solids that pass the stripper. [kg/d]
    release_content : quantity
        Phosphorus released by each of them. [g P/g VSS]

    Returns
    -------
    quantity
        Phosphorus. [kg/d]

    Notes
    -----
    R = f VSS. Not yet held against what the plant receives: `release_within_balance`.

    Examples
    --------
    >>> stripper_release(12000.0, 0.01)
    120.0

    References
    ----------
    GRADY, side-stream stripping, retention of 8-12 h
    """
    return volatile_solids * release_content


@equation
def release_within_balance(
    release_load: Quantity,
    phosphorus_entering: Quantity,
    phosphorus_leaving: Quantity,
    phosphorus_wasted: Quantity,
) -> Quantity:
    """Phosphorus that a stripper can release day after day.

    Parameters
    ----------
    release_load : quantity
        Release by the mass of sludge alone, `stripper_release`. [kg/d]
    phosphorus_entering : quantity
        Phosphorus that enters the plant. [kg/d]
    phosphorus_leaving : quantity
        Phosphorus that leaves with the effluent. [kg/d]
    phosphorus_wasted : quantity
        Phosphorus that leaves with sludge other than that of the lime. [kg/d]

    Returns
    -------
    quantity
        Phosphorus, not below 0. [kg/d]

    Notes
    -----
    R = max(0, min(R_sludge, P_in - P_eff - P_was)). The cautious form: strictly it is what leaves
    with the overflow that cannot exceed the balance, while the underflow takes its part back.

    Examples
    --------
    120 kg/d "released" in a plant that receives 60 kg/d.

    >>> float(release_within_balance(120.0, 60.0, 0.0, 0.0))
    60.0

    References
    ----------
    COMPUTED, phosphorus balance of the plant
    """
    balance = phosphorus_entering - phosphorus_leaving - phosphorus_wasted
    return maximum(minimum(release_load, balance), 0.0)


@equation
def overflow_phosphate(
    release_load: Quantity,
    soluble_phosphorus: Quantity,
    overflow_fraction: Quantity,
    underflow_fraction: Quantity,
    flow: Quantity,
) -> Quantity:
    """Phosphate of the stripper's overflow.

    Parameters
    ----------
    release_load : quantity
        Phosphorus released. [kg/d]
    soluble_phosphorus : quantity
        Phosphate of the return sludge and the elutriation water. [mg P/L]
    overflow_fraction : quantity
        Overflow over plant flow. [-]
    underflow_fraction : quantity
        Underflow, the sludge that goes back, over plant flow. [-]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Phosphate. [mg P/L]

    Notes
    -----
    C = C_in + R / (Q (f_ov + f_un)). Overflow and underflow hold the same phosphate, so the
    underflow takes its share of the release back.

    Examples
    --------
    >>> overflow_phosphate(60.0, 1.0, 0.125, 0.125, 10000.0)
    25.0

    References
    ----------
    COMPUTED, phosphorus balance of the stripper
    """
    out = (overflow_fraction + underflow_fraction) * flow
    return soluble_phosphorus + release_load * 1000.0 / out  # kg/m3 to mg/L


@equation
def stripped_phosphorus(
    overflow_phosphate: Quantity,
    overflow_residual: Quantity,
    overflow_fraction: Quantity,
    flow: Quantity,
) -> Quantity:
    """Phosphorus that lime precipitates from the overflow.

    Parameters
    ----------
    overflow_phosphate : quantity
        Phosphate of the overflow. [mg P/L]
    overflow_residual : quantity
        Phosphate that lime leaves in it. [mg P/L]
    overflow_fraction : quantity
        Overflow over plant flow. [-]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Phosphorus, not below 0. [kg/d]

    Notes
    -----
    P = f_ov Q (C_ov - C_out).

    Examples
    --------
    >>> float(stripped_phosphorus(25.0, 1.0, 0.125, 10000.0))
    30.0

    References
    ----------
    EPA1979STRIP, full-scale stripping
    """
    precipitated = maximum(overflow_phosphate - overflow_residual, 0.0)
    return mass_load(precipitated, overflow_fraction * flow)


@equation
def overflow_lime(lime_dose: Quantity, overflow_fraction: Quantity, flow: Quantity) -> Quantity:
    """Lime for the overflow of a stripper.

    Parameters
    ----------
    lime_dose : quantity
        Pure Ca(OH)2 per litre of overflow, from its alkalinity and pH. [mg/L]
    overflow_fraction : quantity
        Overflow over plant flow. [-]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Pure Ca(OH)2. [kg/d]

    Notes
    -----
    L = f_ov Q dose. pH 9 to 9.5 is enough; 100 to 300 mg/L are usual.

    Examples
    --------
    >>> overflow_lime(160.0, 0.125, 10000.0)
    200.0

    References
    ----------
    COMMON_PRACTICE, lime on the overflow to pH 9-9.5
    """
    return mass_load(lime_dose, overflow_fraction * flow)


@equation
def overflow_solids(
    phosphorus_precipitated: Quantity,
    calcium_carbonate_solids: Quantity,
    overflow_fraction: Quantity,
    flow: Quantity,
) -> Quantity:
    """Calcium solids of the lime on the overflow.

    Parameters
    ----------
    phosphorus_precipitated : quantity
        Phosphorus precipitated per litre of overflow. [mg P/L]
    calcium_carbonate_solids : quantity
        Calcium carbonate per litre of overflow, `calcium_carbonate_solids`. [mg/L]
    overflow_fraction : quantity
        Overflow over plant flow. [-]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Solids. [kg/d]

    Notes
    -----
    S = f_ov Q (5.41 P + CaCO3). Magnesium stays dissolved at pH 9 to 9.5.

    Examples
    --------
    >>> round(overflow_solids(24.0, 200.0, 0.125, 10000.0))
    412

    References
    ----------
    METCALF2003, reactions of lime with alkalinity and phosphate
    """
    solids = apatite_solids(phosphorus_precipitated) + calcium_carbonate_solids
    return mass_load(solids, overflow_fraction * flow)
