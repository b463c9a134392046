"""What a product's specification says: basicity, free acid, counter-ions, equivalents, freezing."""

from __future__ import annotations

from typing import NamedTuple

from pcompare.arrays import Quantity, equation
from pcompare.equations.strength import metal_fraction_from_strength
from pcompare.tables import composition, molar_mass

HIGHEST_CHARGE = 3.0  # of the metal in its phosphate and hydroxide
OXYGEN_PER_ELECTRON = 0.25  # mol O2 taken up by one electron


class ProductProperties(NamedTuple):
    """What the calculations need to know of a product, per kilogram and per mole of metal."""

    metal_fraction: Quantity
    chloride_per_metal: Quantity
    sulfate_per_metal: Quantity
    sodium_per_metal: Quantity
    equivalents_per_metal: Quantity
    oxygen_per_metal: Quantity


@equation
def hydroxide_from_basicity(basicity: Quantity) -> Quantity:
    """Hydroxide per aluminium in a polyaluminium salt.

    Parameters
    ----------
    basicity : quantity
        Share of the charge of the metal that hydroxide balances. [-]

    Returns
    -------
    quantity
        Hydroxide per metal. [mol/mol]

    Notes
    -----
    OH = 3 B. At B = 1 the product would be Al(OH)3.

    Examples
    --------
    Al2(OH)3Cl3 has a basicity of one half and 1.5 mol of hydroxide per aluminium.

    >>> hydroxide_from_basicity(0.5)
    1.5

    References
    ----------
    NHMRC, polyaluminium chloride
    """
    return HIGHEST_CHARGE * basicity


@equation
def basicity_from_hydroxide(hydroxide_per_metal: Quantity) -> Quantity:
    """Basicity of a polyaluminium salt from its formula.

    Parameters
    ----------
    hydroxide_per_metal : quantity
        Hydroxide per metal. [mol/mol]

    Returns
    -------
    quantity
        Basicity. [-]

    Notes
    -----
    B = OH / (3 Al).

    Examples
    --------
    >>> basicity_from_hydroxide(1.5)
    0.5

    References
    ----------
    NHMRC, polyaluminium chloride, Al2(OH)mCl(6-m)
    """
    return hydroxide_per_metal / HIGHEST_CHARGE


@equation
def counter_ion_per_metal(
    ion_in_salt: Quantity, basicity: Quantity, ion_in_excess: Quantity
) -> Quantity:
    """Chloride, sulfate or sodium per metal of a product, free acid or caustic included.

    Parameters
    ----------
    ion_in_salt : quantity
        Ion per metal in the neutral salt, such as 3 for the chloride of AlCl3. [mol/mol]
    basicity : quantity
        Share of the charge of the metal that hydroxide balances. [-]
    ion_in_excess : quantity
        Ion per metal that comes with free acid or excess caustic. [mol/mol]

    Returns
    -------
    quantity
        Ion per metal. [mol/mol]

    Notes
    -----
    ion = (1 - B) salt + excess.

    Examples
    --------
    Polyaluminium chloride Al2(OH)3Cl3: 1.5 mol of chloride per aluminium.

    >>> counter_ion_per_metal(3.0, 0.5, 0.0)
    1.5

    References
    ----------
    NHMRC, polyaluminium chloride, Al2(OH)mCl(6-m)
    """
    return ion_in_salt * (1.0 - basicity) + ion_in_excess


@equation
def excess_per_metal(
    excess_fraction: Quantity, excess_formula: str, metal_fraction: Quantity, metal: str
) -> Quantity:
    """Free acid or excess caustic of a product, per metal.

    Parameters
    ----------
    excess_fraction : quantity
        Free acid or excess caustic per product. [kg/kg]
    excess_formula : str
        Its formula: ``H2SO4``, ``HCl`` or ``NaOH``.
    metal_fraction : quantity
        Metal per product as delivered. [kg/kg]
    metal : str
        Symbol of the metal.

    Returns
    -------
    quantity
        Free acid or excess caustic per metal. [mol/mol]

    Notes
    -----
    excess = (fraction / M(excess)) / (metal fraction / M(metal)).

    Examples
    --------
    Sodium aluminate of 32 % NaAlO2 and 10 % NaOH holds 0.64 mol of caustic more.

    >>> metal = metal_fraction_from_strength(32.0, "salt % w/w", "NaAlO2", "Al", 1.5)
    >>> round(excess_per_metal(0.10, "NaOH", metal, "Al"), 2)
    0.64

    References
    ----------
    NHMRC, sodium aluminate, 29-35 % NaAlO2 and 8-13 % NaOH
    """
    moles = excess_fraction / molar_mass(excess_formula)
    return moles * molar_mass(metal) / metal_fraction


@equation
def equivalents_from_counter_ions(
    chloride_per_metal: Quantity, sulfate_per_metal: Quantity, sodium_per_metal: Quantity
) -> Quantity:
    """Alkalinity that a product uses if all its metal ends as hydroxide, from its other ions.

    Parameters
    ----------
    chloride_per_metal : quantity
        Chloride per metal of the product. [mol/mol]
    sulfate_per_metal : quantity
        Sulfate per metal of the product. [mol/mol]
    sodium_per_metal : quantity
        Sodium per metal of the product. [mol/mol]

    Returns
    -------
    quantity
        Alkalinity used per metal; negative for a product that is a base. [eq/mol]

    Notes
    -----
    z = Cl + 2 SO4 - Na, by electroneutrality: what stays in the water decides, whatever the
    metal, its basicity, its free acid or its caustic. Ferrous iron is counted as oxidised.

    Examples
    --------
    FeCl3, alum and pure sodium aluminate.

    >>> ions = [(3.0, 0.0, 0.0), (0.0, 1.5, 0.0), (0.0, 0.0, 1.0)]
    >>> [equivalents_from_counter_ions(*each) for each in ions]
    [3.0, 3.0, -1.0]

    References
    ----------
    STUMM1996, alkalinity by electroneutrality
    """
    return chloride_per_metal + 2.0 * sulfate_per_metal - sodium_per_metal


@equation
def product_properties(
    strength: Quantity,
    basis: str,
    salt_formula: str,
    metal: str,
    density: Quantity,
    basicity: Quantity,
    excess_fraction: Quantity,
    excess_formula: str,
) -> ProductProperties:
    """Give everything that the calculations need of a product, from its specification.

    Parameters
    ----------
    strength : quantity
        Strength in the unit that the basis names. [*]
    basis : str
        How the strength is quoted, such as ``salt % w/w``.
    salt_formula : str
        Formula of the neutral salt, such as ``AlCl3`` for polyaluminium chloride.
    metal : str
        Symbol of the metal.
    density : quantity
        Density of the product. [kg/L]
    basicity : quantity
        Share of the charge of the metal that hydroxide balances. [-]
    excess_fraction : quantity
        Free acid or excess caustic per product. [kg/kg]
    excess_formula : str
        Its formula, such as ``H2SO4``, ``HCl`` or ``NaOH``.

    Returns
    -------
    metal_fraction : quantity
        Metal per product. [kg/kg]
    chloride_per_metal : quantity
        Chloride per metal. [mol/mol]
    sulfate_per_metal : quantity
        Sulfate per metal. [mol/mol]
    sodium_per_metal : quantity
        Sodium per metal. [mol/mol]
    equivalents_per_metal : quantity
        Alkalinity used per metal, ferrous iron counted as oxidised. [eq/mol]
    oxygen_per_metal : quantity
        Oxygen that the metal takes up to reach a charge of three. [mol/mol]

    Notes
    -----
    Ions are counted in the formula; one oxygen molecule takes up four electrons, so a metal of
    charge two needs 0.25 mol. Equivalents = Cl + 2 SO4 - Na. Basicity replaces anions by
    hydroxide and is for metals of charge three.

    Examples
    --------
    Polyaluminium chloride of 10 % Al2O3 and a basicity of 50 %.

    >>> found = product_properties(10.0, "Al2O3 % w/w", "AlCl3", "Al", 1.2, 0.5, 0.0, "HCl")
    >>> round(found.metal_fraction, 4), found.chloride_per_metal, found.equivalents_per_metal
    (0.0529, 1.5, 1.5)

    References
    ----------
    NHMRC, polyaluminium chloride
    """
    metal_fraction = metal_fraction_from_strength(strength, basis, salt_formula, metal, density)
    excess = excess_per_metal(excess_fraction, excess_formula, metal_fraction, metal)
    in_salt, in_excess = composition(salt_formula), composition(excess_formula)
    atoms = in_salt[metal]
    chloride, sulfate, sodium = (
        counter_ion_per_metal(
            in_salt.get(element, 0) / atoms, basicity, excess * in_excess.get(element, 0)
        )
        for element in ("Cl", "S", "Na")
    )
    # The salt alone tells the charge that the metal comes with: 3, 2, or that of aluminate.
    charge = (in_salt.get("Cl", 0) + 2 * in_salt.get("S", 0)) / atoms
    electrons = HIGHEST_CHARGE - charge if "Na" not in in_salt else 0.0
    return ProductProperties(
        metal_fraction,
        chloride,
        sulfate,
        sodium,
        equivalents_from_counter_ions(chloride, sulfate, sodium),
        OXYGEN_PER_ELECTRON * electrons + 0.0 * metal_fraction,
    )


@equation
def freezing_margin(lowest_temperature: Quantity, freezing_point: Quantity) -> Quantity:
    """Margin of a store above the temperature at which its product freezes or crystallises.

    Parameters
    ----------
    lowest_temperature : quantity
        Lowest temperature in the store. [degC]
    freezing_point : quantity
        Temperature at which the product freezes or crystallises. [degC]

    Returns
    -------
    quantity
        Margin; below zero the store must be heated. [degC]

    Notes
    -----
    margin = lowest temperature - freezing point.

    Examples
    --------
    Water freezes at 32 degF, liquid alum of 48 % at 4 degF.

    >>> freezing_margin(0.0, -15.6)
    15.6

    References
    ----------
    HENDRICKS, Appendix F, Table F.2, p. 840
    """
    return lowest_temperature - freezing_point
