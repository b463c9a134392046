"""Hardness and the solids that lime makes: calcium carbonate, magnesium hydroxide, apatite."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation, maximum, minimum
from pcompare.equations.acid_base import acid_constants
from pcompare.equations.acid_base_solver import power_of_ten
from pcompare.tables import composition, molar_mass

MILLI = 1000.0  # mmol/mol and mg/g
APATITE = "Ca5(PO4)3OH"


@equation
def hardness(calcium: Quantity, magnesium: Quantity) -> Quantity:
    """Hardness of a water.

    Parameters
    ----------
    calcium : quantity
        Calcium. [mg/L]
    magnesium : quantity
        Magnesium. [mg/L]

    Returns
    -------
    quantity
        Hardness. [mg CaCO3/L]

    Notes
    -----
    hardness = M(CaCO3) (Ca/M(Ca) + Mg/M(Mg)).

    Examples
    --------
    160 mg/L of calcium and 40 mg/L of magnesium.

    >>> round(hardness(160.0, 40.0), 1)
    564.3

    References
    ----------
    HARDNESS_EXERCISE, 566.67 by rounded equivalent weights
    """
    return molar_mass("CaCO3") * (calcium / molar_mass("Ca") + magnesium / molar_mass("Mg"))


@equation
def noncarbonate_hardness(hardness: Quantity, alkalinity: Quantity) -> Quantity:
    """Hardness that lime alone does not remove.

    Parameters
    ----------
    hardness : quantity
        Hardness. [mg CaCO3/L]
    alkalinity : quantity
        Alkalinity of the water. [mg CaCO3/L]

    Returns
    -------
    quantity
        Hardness above the alkalinity, not below zero. [mg CaCO3/L]

    Notes
    -----
    noncarbonate = max(hardness - alkalinity, 0). Lime removes magnesium of it, but leaves
    calcium in its place.

    Examples
    --------
    >>> round(float(noncarbonate_hardness(566.67, 200.0)), 2)
    366.67

    References
    ----------
    HARDNESS_EXERCISE, non-carbonate hardness
    """
    return maximum(hardness - alkalinity, 0.0)


@equation
def magnesium_left(
    ph: Quantity, temperature: Quantity, magnesium: Quantity, solubility_product: Quantity
) -> Quantity:
    """Magnesium that stays in solution at a high pH.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    temperature : quantity
        Water temperature. [degC]
    magnesium : quantity
        Magnesium of the water. [mg/L]
    solubility_product : quantity
        Solubility product of Mg(OH)2. [mol3/L3]

    Returns
    -------
    quantity
        Magnesium left. [mg/L]

    Notes
    -----
    Mg = min(magnesium, Ks / (OH)^2), concentrations used as activities. Precipitation starts
    near pH 10.5.

    Examples
    --------
    0.01 mmol/L is left at pH 10.97.

    >>> round(float(magnesium_left(10.97, 25.0, 30.0, 8.9e-12)) / 24.305, 3)
    0.01

    References
    ----------
    OPENSTAX, module m68811, concentrations following precipitation
    """
    hydroxide = acid_constants(temperature).k_water * power_of_ten(ph)
    soluble = solubility_product / (hydroxide * hydroxide) * MILLI * molar_mass("Mg")
    return minimum(magnesium, soluble)


@equation
def calcium_carbonate_solids(
    inorganic_carbon: Quantity, inorganic_carbon_left: Quantity, calcium_available: Quantity
) -> Quantity:
    """Calcium carbonate that lime makes of the carbonate in the water.

    Parameters
    ----------
    inorganic_carbon : quantity
        Total inorganic carbon. [mmol/L]
    inorganic_carbon_left : quantity
        Inorganic carbon that stays in solution. [mmol/L]
    calcium_available : quantity
        Calcium of the water and of the lime, less that of apatite. [mg/L]

    Returns
    -------
    quantity
        Calcium carbonate formed. [mg/L]

    Notes
    -----
    CaCO3 = 100.09 min(carbon - left, Ca / M(Ca)). Where all the carbon is bicarbonate and none
    is left, that is 2.0 per CaCO3 of alkalinity: half of the calcium is the water's or more
    lime's.

    Examples
    --------
    250 mg/L of alkalinity as bicarbonate make 500 mg/L.

    >>> round(float(calcium_carbonate_solids(250.0 / 50.04, 0.0, 300.0)))
    500

    References
    ----------
    METCALF2003, reactions of lime with alkalinity
    """
    carbon = maximum(inorganic_carbon - inorganic_carbon_left, 0.0)
    calcium = maximum(calcium_available, 0.0) / molar_mass("Ca")
    return molar_mass("CaCO3") * minimum(carbon, calcium)


@equation
def magnesium_hydroxide_solids(magnesium: Quantity, magnesium_left: Quantity) -> Quantity:
    """Magnesium hydroxide that lime makes at a high pH.

    Parameters
    ----------
    magnesium : quantity
        Magnesium of the water. [mg/L]
    magnesium_left : quantity
        Magnesium left. [mg/L]

    Returns
    -------
    quantity
        Magnesium hydroxide formed. [mg/L]

    Notes
    -----
    Mg(OH)2 = 2.40 (Mg - left), or 0.583 per CaCO3 of magnesium hardness.

    Examples
    --------
    >>> round(float(magnesium_hydroxide_solids(24.305, 0.0)), 1)
    58.3

    References
    ----------
    IUPAC2021, atomic weights
    """
    removed = maximum(magnesium - magnesium_left, 0.0)
    return removed * molar_mass("Mg(OH)2") / molar_mass("Mg")


@equation
def apatite_solids(phosphorus_precipitated: Quantity) -> Quantity:
    """Calcium phosphate that lime makes, as hydroxyapatite.

    Parameters
    ----------
    phosphorus_precipitated : quantity
        Phosphorus precipitated as apatite. [mg P/L]

    Returns
    -------
    quantity
        Hydroxyapatite formed. [mg/L]

    Notes
    -----
    apatite = P M(Ca5(PO4)3OH) / (3 M(P)), that is times 5.41.

    Examples
    --------
    >>> round(apatite_solids(1.0), 2)
    5.41

    References
    ----------
    IUPAC2021, atomic weights
    """
    moles = phosphorus_precipitated / molar_mass("P") / composition(APATITE)["P"]
    return moles * molar_mass(APATITE)


@equation
def calcium_in_apatite(phosphorus_precipitated: Quantity) -> Quantity:
    """Calcium that leaves with calcium phosphate.

    Parameters
    ----------
    phosphorus_precipitated : quantity
        Phosphorus precipitated as apatite. [mg P/L]

    Returns
    -------
    quantity
        Calcium. [mg/L]

    Notes
    -----
    Ca = 5/3 P in moles.

    Examples
    --------
    >>> round(calcium_in_apatite(1.0), 2)
    2.16

    References
    ----------
    IUPAC2021, atomic weights
    """
    atoms = composition(APATITE)
    moles = phosphorus_precipitated / molar_mass("P")
    return moles * (atoms["Ca"] / atoms["P"]) * molar_mass("Ca")
