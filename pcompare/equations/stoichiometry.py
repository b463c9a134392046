"""Mass, moles and commercial products: exact conversions by atomic weight."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation
from pcompare.tables import composition, molar_mass

GRAMS_PER_KILOGRAM = 1000.0  # also mg/L per kg/m3 and L per m3


@equation
def metal_mass(metal_molar: Quantity, metal: str) -> Quantity:
    """Mass dose of a metal from its molar dose.

    Parameters
    ----------
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    metal : str
        Symbol of the metal, such as ``Al`` or ``Fe``.

    Returns
    -------
    quantity
        Metal dose. [mg/L]

    Notes
    -----
    mass = moles x M.

    Examples
    --------
    One mole of metal for each gram-atom of phosphorus is 1.803 mg Fe per mg P.

    >>> round(metal_mass(1.0 / 30.974, "Fe"), 3)
    1.803

    References
    ----------
    IUPAC2021, atomic weights
    """
    return metal_molar * molar_mass(metal)


@equation
def metal_moles(metal_dose: Quantity, metal: str) -> Quantity:
    """Molar dose of a metal from its mass dose.

    Parameters
    ----------
    metal_dose : quantity
        Metal dose. [mg/L]
    metal : str
        Symbol of the metal, such as ``Al`` or ``Fe``.

    Returns
    -------
    quantity
        Molar dose of metal. [mmol/L]

    Notes
    -----
    moles = mass / M.

    Examples
    --------
    >>> round(metal_moles(22.34, "Fe"), 3)
    0.4

    References
    ----------
    IUPAC2021, atomic weights
    """
    return metal_dose / molar_mass(metal)


@equation
def product_load(metal_dose: Quantity, flow: Quantity, metal_fraction: Quantity) -> Quantity:
    """Product that carries a metal dose into a flow.

    Parameters
    ----------
    metal_dose : quantity
        Metal dose. [mg/L]
    flow : quantity
        Flow dosed. [m3/d]
    metal_fraction : quantity
        Metal per product as delivered. [kg/kg]

    Returns
    -------
    quantity
        Product use. [kg/d]

    Notes
    -----
    product = dose Q / (1000 w) with w the metal fraction.

    Examples
    --------
    8 mg P/L, 1.7 mol Al per mol P, 12 000 m3/d, alum of 48 % as Al2(SO4)3.18H2O.

    >>> round(product_load(11.847, 12000.0, metal_fraction_from_salt(0.48,
    ...     "Al2(SO4)3.18H2O", "Al")), -1)
    3660.0

    References
    ----------
    TU_DELFT_Q6, dose of alum
    """
    return metal_dose * flow / GRAMS_PER_KILOGRAM / metal_fraction


@equation
def product_volume(product_use: Quantity, density: Quantity) -> Quantity:
    """Volume of a liquid product from its mass.

    Parameters
    ----------
    product_use : quantity
        Product use. [kg/d]
    density : quantity
        Density of the product. [kg/L]

    Returns
    -------
    quantity
        Product use by volume. [m3/d]

    Notes
    -----
    V = product / (1000 density).

    Examples
    --------
    125 g of hydrochloric acid in a solution of 37.2 % and 1.19 g/mL fill 282 mL.

    >>> round(1000.0 * product_volume(125.0 / 0.372, 1.19))
    282

    References
    ----------
    OPENSTAX, calculations using mass percentage
    """
    return product_use / density / GRAMS_PER_KILOGRAM


@equation
def metal_fraction_from_salt(salt_fraction: Quantity, salt_formula: str, metal: str) -> Quantity:
    """Metal strength of a product sold by its salt content.

    Parameters
    ----------
    salt_fraction : quantity
        Salt per product, hydrate water as in the formula. [kg/kg]
    salt_formula : str
        Formula of the salt with its hydrate water, such as ``Al2(SO4)3.14H2O``.
    metal : str
        Symbol of the metal in the formula.

    Returns
    -------
    quantity
        Metal per product. [kg/kg]

    Notes
    -----
    w = salt fraction x n M(metal) / M(salt) with n atoms of metal in the formula. The hydrate
    matters: alum of 14 and of 18 H2O differ by 12 % in metal.

    Examples
    --------
    >>> round(100 * metal_fraction_from_salt(1.0, "Al2(SO4)3.14H2O", "Al"), 2)
    9.08

    References
    ----------
    IUPAC2021, atomic weights
    """
    atoms = composition(salt_formula)[metal]
    return salt_fraction * (atoms * molar_mass(metal)) / molar_mass(salt_formula)


@equation
def metal_fraction_from_oxide(oxide_fraction: Quantity) -> Quantity:
    """Aluminium strength of a product sold by its Al2O3 content.

    Parameters
    ----------
    oxide_fraction : quantity
        Al2O3 per product. [kg/kg]

    Returns
    -------
    quantity
        Aluminium per product. [kg/kg]

    Notes
    -----
    w = oxide fraction x 2 M(Al) / M(Al2O3).

    Examples
    --------
    >>> round(100 * metal_fraction_from_oxide(0.10), 2)
    5.29

    References
    ----------
    IUPAC2021, atomic weights
    """
    return oxide_fraction * (2.0 * molar_mass("Al")) / molar_mass("Al2O3")


@equation
def phosphorus_moles(phosphorus: Quantity) -> Quantity:
    """Molar concentration of phosphorus.

    Parameters
    ----------
    phosphorus : quantity
        Phosphorus. [mg P/L]

    Returns
    -------
    quantity
        Phosphorus. [mmol/L]

    Notes
    -----
    moles = mass / M(P).

    Examples
    --------
    >>> round(phosphorus_moles(4.956), 3)
    0.16

    References
    ----------
    IUPAC2021, atomic weights
    """
    return phosphorus / molar_mass("P")


@equation
def mass_load(concentration: Quantity, flow: Quantity) -> Quantity:
    """Load carried by a flow.

    Parameters
    ----------
    concentration : quantity
        Concentration of any substance. [mg/L]
    flow : quantity
        Flow. [m3/d]

    Returns
    -------
    quantity
        Load of the substance. [kg/d]

    Notes
    -----
    load = C Q / 1000.

    Examples
    --------
    15 million US gallons per day at 18 mg/L carry 2252 lb/d.

    >>> round(mass_load(18.0, 15.0 * 3785.41) / 0.45359)
    2253

    References
    ----------
    STUDENT_EXERCISE, pound formula with the factor 8.34
    """
    return concentration * flow / GRAMS_PER_KILOGRAM


@equation
def concentration_from_load(load: Quantity, flow: Quantity) -> Quantity:
    """Concentration of a load in a flow.

    Parameters
    ----------
    load : quantity
        Load of any substance. [kg/d]
    flow : quantity
        Flow, above zero. [m3/d]

    Returns
    -------
    quantity
        Concentration. [mg/L]

    Notes
    -----
    C = 1000 load / Q.

    Examples
    --------
    >>> concentration_from_load(60.0, 10000.0)
    6.0

    References
    ----------
    STUDENT_EXERCISE, pound formula turned round
    """
    return load * GRAMS_PER_KILOGRAM / flow


@equation
def oxygen_for_metal(
    metal_molar: Quantity, oxygen_per_metal: Quantity, conversion: Quantity
) -> Quantity:
    """Oxygen that a ferrous salt takes up.

    Parameters
    ----------
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    oxygen_per_metal : quantity
        Oxygen that the metal takes up: 0.25 for ferrous salts, else 0. [mol/mol]
    conversion : quantity
        Share of the metal that reaches a charge of three. [-]

    Returns
    -------
    quantity
        Oxygen. [mg O2/L]

    Notes
    -----
    O2 = 0.25 conversion x Fe in moles, that is 0.143 mg per mg Fe oxidised.

    Examples
    --------
    100 mg/L of FeSO4.7H2O take 2.88 mg/L of oxygen.

    >>> round(oxygen_for_metal(100.0 / molar_mass("FeSO4.7H2O"), 0.25, 1.0), 2)
    2.88

    References
    ----------
    IUPAC2021, atomic weights
    """
    return metal_molar * conversion * oxygen_per_metal * molar_mass("O2")
