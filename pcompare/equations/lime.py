"""Lime: dose from alkalinity and pH, quicklime, recarbonation and residual phosphorus.

Lime is weighed as pure Ca(OH)2. Its dose follows alkalinity and pH, not phosphorus.
"""

from __future__ import annotations

from itertools import pairwise

from pcompare.arrays import Quantity, equation, maximum, minimum
from pcompare.equations.acid_base import (
    acid_constants,
    carbonate_species_closed,
    davies_coefficient,
)
from pcompare.equations.acid_base_solver import power_of_ten
from pcompare.equations.lime_solids import APATITE, MILLI
from pcompare.tables import composition, molar_mass

DOSE_PH = (9.5, 10.0, 10.5, 11.0, 11.3)  # columns of the dose table, one argument each
RESIDUAL_PH = (9.0, 9.5, 10.0, 10.5, 11.0)  # columns of the residual table


def _along(ph: Quantity, places: tuple[float, ...], values: tuple[Quantity, ...]) -> Quantity:
    """Interpolate between the columns of a table, holding its ends beyond them."""
    result = values[0] + 0.0 * ph
    for (low, high), (first, second) in zip(pairwise(places), pairwise(values), strict=True):
        share = minimum(maximum((ph - low) / (high - low), 0.0), 1.0)
        result = result + share * (second - first)
    return result


@equation
def lime_per_alkalinity(
    ph: Quantity,
    lime_per_alkalinity_9_5: Quantity,
    lime_per_alkalinity_10_0: Quantity,
    lime_per_alkalinity_10_5: Quantity,
    lime_per_alkalinity_11_0: Quantity,
    lime_per_alkalinity_11_3: Quantity,
) -> Quantity:
    """Lime per alkalinity that reaches a pH, from a table against pH.

    Parameters
    ----------
    ph : quantity
        pH to be reached. [-]
    lime_per_alkalinity_9_5 : quantity
        Ca(OH)2 per CaCO3 of alkalinity to reach pH 9.5. [mg/mg]
    lime_per_alkalinity_10_0 : quantity
        The same for pH 10.0. [mg/mg]
    lime_per_alkalinity_10_5 : quantity
        The same for pH 10.5. [mg/mg]
    lime_per_alkalinity_11_0 : quantity
        The same for pH 11.0. [mg/mg]
    lime_per_alkalinity_11_3 : quantity
        The same for pH 11.3. [mg/mg]

    Returns
    -------
    quantity
        Ca(OH)2 per CaCO3 of alkalinity. [mg/mg]

    Notes
    -----
    factor = linear interpolation between the columns. Outside pH 9.5 to 11.3 the nearer end is
    held. The default table is the middle of what calcite, calcium phosphate and brucite at
    equilibrium give; waters of little alkalinity stand at the top of its ranges.

    Examples
    --------
    About 1.5 for pH 10.5 to 11 is a rule of thumb, on the safe side.

    >>> round(float(lime_per_alkalinity(10.75, 0.7, 0.85, 1.15, 1.325, 1.5)), 2)
    1.24

    References
    ----------
    LECTURE_LIME, rule of thumb; METCALF2003, 1.4-1.5 times the alkalinity
    """
    return _along(
        ph,
        DOSE_PH,
        (
            lime_per_alkalinity_9_5,
            lime_per_alkalinity_10_0,
            lime_per_alkalinity_10_5,
            lime_per_alkalinity_11_0,
            lime_per_alkalinity_11_3,
        ),
    )


@equation
def lime_dose(alkalinity: Quantity, lime_per_alkalinity: Quantity) -> Quantity:
    """Lime dose from the alkalinity of the water.

    Parameters
    ----------
    alkalinity : quantity
        Alkalinity of the water. [mg CaCO3/L]
    lime_per_alkalinity : quantity
        Ca(OH)2 per CaCO3 of alkalinity. [mg/mg]

    Returns
    -------
    quantity
        Pure Ca(OH)2. [mg/L]

    Notes
    -----
    dose = factor x alkalinity.

    Examples
    --------
    >>> lime_dose(250.0, 1.5)
    375.0

    References
    ----------
    LECTURE_LIME, rule of thumb for pH 10.5 to 11
    """
    return alkalinity * lime_per_alkalinity


@equation
def lime_dose_by_stoichiometry(
    alkalinity: Quantity,
    alkalinity_left: Quantity,
    calcium_carbonate_solids: Quantity,
    magnesium_hydroxide_solids: Quantity,
    phosphorus_precipitated: Quantity,
) -> Quantity:
    """Lime dose from the balance of equivalents: what precipitates and what stays alkaline.

    Parameters
    ----------
    alkalinity : quantity
        Alkalinity of the water. [mg CaCO3/L]
    alkalinity_left : quantity
        Alkalinity after settling: hydroxide, carbonate and bicarbonate. [mg CaCO3/L]
    calcium_carbonate_solids : quantity
        Calcium carbonate formed. [mg/L]
    magnesium_hydroxide_solids : quantity
        Magnesium hydroxide formed. [mg/L]
    phosphorus_precipitated : quantity
        Phosphorus precipitated as apatite. [mg P/L]

    Returns
    -------
    quantity
        Pure Ca(OH)2. [mg/L]

    Notes
    -----
    2 lime = left - alkalinity + 2 CaCO3 + 2 Mg(OH)2 + 7/3 P in meq and mmol. Apatite takes ten
    equivalents of calcium for three of phosphorus, each of which gives one equivalent back.
    Exact for the solids named.

    Examples
    --------
    Ca(HCO3)2 + Ca(OH)2 = 2 CaCO3: 100 mg/L of alkalinity takes 74 mg/L of lime.

    >>> round(lime_dose_by_stoichiometry(100.0, 0.0, 200.0, 0.0, 0.0), 1)
    74.0

    References
    ----------
    METCALF2003, reactions of lime with alkalinity and phosphate
    """
    solids = _solid_equivalents(
        calcium_carbonate_solids, magnesium_hydroxide_solids, phosphorus_precipitated
    )
    gained = (alkalinity_left - alkalinity) * 2.0 / molar_mass("CaCO3")
    return 0.5 * (gained + solids) * molar_mass("Ca(OH)2")


@equation
def quicklime_dose(lime_dose: Quantity) -> Quantity:
    """Quicklime that slakes to a dose of lime.

    Parameters
    ----------
    lime_dose : quantity
        Pure Ca(OH)2. [mg/L]

    Returns
    -------
    quantity
        Pure CaO. [mg/L]

    Notes
    -----
    CaO = Ca(OH)2 x M(CaO) / M(Ca(OH)2), that is times 0.757.

    Examples
    --------
    Hydrated lime of 95 % Ca(OH)2 holds 72 % CaO.

    >>> round(quicklime_dose(95.0))
    72

    References
    ----------
    LIME_HANDBOOK, hydrated lime
    """
    return lime_dose * molar_mass("CaO") / molar_mass("Ca(OH)2")


@equation
def alkalinity_from_lime(
    lime_dose: Quantity,
    calcium_carbonate_solids: Quantity,
    magnesium_hydroxide_solids: Quantity,
    phosphorus_precipitated: Quantity,
) -> Quantity:
    """Change of alkalinity by lime and the solids that it makes.

    Parameters
    ----------
    lime_dose : quantity
        Pure Ca(OH)2. [mg/L]
    calcium_carbonate_solids : quantity
        Calcium carbonate formed. [mg/L]
    magnesium_hydroxide_solids : quantity
        Magnesium hydroxide formed. [mg/L]
    phosphorus_precipitated : quantity
        Phosphorus precipitated as apatite. [mg P/L]

    Returns
    -------
    quantity
        Change of alkalinity, negative where lime softens. [mg CaCO3/L]

    Notes
    -----
    change = 50.04 (2 lime - 2 CaCO3 - 2 Mg(OH)2 - 7/3 P) in mmol: the dose by stoichiometry
    turned round. Carbon dioxide of recarbonation changes nothing.

    Examples
    --------
    Ca(HCO3)2 + Ca(OH)2 = 2 CaCO3 takes 100 mg/L of alkalinity away.

    >>> round(alkalinity_from_lime(74.0, 200.0, 0.0, 0.0))
    -100

    References
    ----------
    METCALF2003, reactions of lime with alkalinity and phosphate
    """
    solids = _solid_equivalents(
        calcium_carbonate_solids, magnesium_hydroxide_solids, phosphorus_precipitated
    )
    gained = 2.0 * lime_dose / molar_mass("Ca(OH)2") - solids
    return gained * molar_mass("CaCO3") / 2.0


def _solid_equivalents(
    calcium_carbonate: Quantity, magnesium_hydroxide: Quantity, phosphorus: Quantity
) -> Quantity:
    """Alkalinity that leaves with the solids [meq/L]: 2 per CaCO3 and Mg(OH)2, 7/3 per P."""
    atoms = composition(APATITE)
    per_phosphorus = (2 * atoms["Ca"] - atoms["P"]) / atoms["P"]
    return (
        2.0 * calcium_carbonate / molar_mass("CaCO3")
        + 2.0 * magnesium_hydroxide / molar_mass("Mg(OH)2")
        + per_phosphorus * phosphorus / molar_mass("P")
    )


@equation
def hydroxide_alkalinity(ph: Quantity, ionic_strength: Quantity, temperature: Quantity) -> Quantity:
    """Alkalinity that free hydroxide holds at a pH.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]

    Returns
    -------
    quantity
        Hydroxide alkalinity. [mg CaCO3/L]

    Notes
    -----
    OH = 10^pH Kw / g with g the activity coefficient, in equivalents of CaCO3.

    Examples
    --------
    At pH 11, 25 degC and no salt it is about one milliequivalent per litre.

    >>> round(float(hydroxide_alkalinity(11.0, 0.0, 25.0)))
    51

    References
    ----------
    PHREEQC3, ion product of water; DAVIES1962, activity coefficient
    """
    constants = acid_constants(temperature)
    activity = constants.k_water * power_of_ten(ph)
    molar = activity / davies_coefficient(ionic_strength, 1.0, constants.davies_a)
    return molar * MILLI * molar_mass("CaCO3") / 2.0


@equation
def inorganic_carbon_from_alkalinity(
    carbonate_alkalinity: Quantity,
    ph: Quantity,
    ionic_strength: Quantity,
    temperature: Quantity,
) -> Quantity:
    """Inorganic carbon of a water from the alkalinity that its carbonate holds.

    Parameters
    ----------
    carbonate_alkalinity : quantity
        Alkalinity held by bicarbonate and carbonate. [mg CaCO3/L]
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]

    Returns
    -------
    quantity
        Total inorganic carbon, dissolved carbon dioxide included. [mmol/L]

    Notes
    -----
    C = alkalinity / (50.04 (a1 + 2 a2)) with a1, a2 the shares of bicarbonate and carbonate.

    Examples
    --------
    At pH 8.3 carbon and alkalinity are about equal.

    >>> round(float(inorganic_carbon_from_alkalinity(50.04, 8.3, 0.0, 25.0)), 1)
    1.0

    References
    ----------
    PLUMMER1982, constants of carbonic acid
    """
    share = carbonate_species_closed(ph, ionic_strength, temperature, 1.0)
    per_carbon = (share.bicarbonate + 2.0 * share.carbonate) * molar_mass("CaCO3") / 2.0
    return carbonate_alkalinity / per_carbon


@equation
def recarbonation_dioxide(
    hydroxide_alkalinity: Quantity, carbonate_alkalinity: Quantity
) -> Quantity:
    """Carbon dioxide that brings limed water back to bicarbonate.

    Parameters
    ----------
    hydroxide_alkalinity : quantity
        Hydroxide alkalinity that becomes carbonate. [mg CaCO3/L]
    carbonate_alkalinity : quantity
        Carbonate alkalinity that becomes bicarbonate: what is left after settling, and in a
        single stage also what hydroxide has become. [mg CaCO3/L]

    Returns
    -------
    quantity
        Carbon dioxide taken up. [mg/L]

    Notes
    -----
    CO2 = 0.44 hydroxide + 0.44 carbonate: 2 OH + CO2 = CO3 + H2O, CO3 + CO2 + H2O = 2 HCO3.
    What the gas loses on its way into the water comes on top.

    Examples
    --------
    >>> round(recarbonation_dioxide(100.0, 50.0))
    66

    References
    ----------
    METCALF2003, recarbonation
    """
    per_calcium_carbonate = molar_mass("CO2") / molar_mass("CaCO3")
    return per_calcium_carbonate * (hydroxide_alkalinity + carbonate_alkalinity)


@equation
def lime_residual_phosphorus(
    ph: Quantity,
    lime_residual_9_0: Quantity,
    lime_residual_9_5: Quantity,
    lime_residual_10_0: Quantity,
    lime_residual_10_5: Quantity,
    lime_residual_11_0: Quantity,
) -> Quantity:
    """Soluble phosphorus that lime leaves, from a table against pH.

    Parameters
    ----------
    ph : quantity
        pH that lime reaches. [-]
    lime_residual_9_0 : quantity
        Soluble phosphorus left at pH 9.0. [mg P/L]
    lime_residual_9_5 : quantity
        The same at pH 9.5. [mg P/L]
    lime_residual_10_0 : quantity
        The same at pH 10.0. [mg P/L]
    lime_residual_10_5 : quantity
        The same at pH 10.5. [mg P/L]
    lime_residual_11_0 : quantity
        The same at pH 11.0. [mg P/L]

    Returns
    -------
    quantity
        Soluble phosphorus left. [mg P/L]

    Notes
    -----
    residual = linear interpolation between the columns. Outside pH 9 to 11 the nearer end is
    held. The table is judgement, to be replaced by jar tests: equilibrium with calcite and
    apatite predicts almost no removal at pH 9.5 to 10 in hard water, which practice refutes.

    Examples
    --------
    Equilibrium gives 0.03 to 0.06 mg P/L at pH 11.

    >>> round(float(lime_residual_phosphorus(11.0, 1.5, 0.8, 0.4, 0.15, 0.05)), 3)
    0.05

    References
    ----------
    EPA_LOWLIME, about 80 % of the phosphorus removed in the primary at pH 9.5-10
    """
    return _along(
        ph,
        RESIDUAL_PH,
        (
            lime_residual_9_0,
            lime_residual_9_5,
            lime_residual_10_0,
            lime_residual_10_5,
            lime_residual_11_0,
        ),
    )
