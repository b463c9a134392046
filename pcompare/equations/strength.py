"""Strength of commercial products: every basis that the trade quotes, turned into metal once."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation
from pcompare.equations.stoichiometry import (
    GRAMS_PER_KILOGRAM,
    metal_fraction_from_oxide,
    metal_fraction_from_salt,
)
from pcompare.units import GALLON, POUND

PERCENT = 100.0
GRAMS_PER_LITRE_AND_PERCENT = 10.0  # 1 % w/v is 1 g in 100 mL
KILOGRAMS_PER_LITRE = POUND / (GALLON * 1000.0)  # of one pound per US gallon


@equation
def fraction_from_percent(percent: Quantity) -> Quantity:
    """Mass fraction from a strength in percent by mass, % w/w.

    Parameters
    ----------
    percent : quantity
        Strength by mass. [%]

    Returns
    -------
    quantity
        Mass per mass of product. [kg/kg]

    Notes
    -----
    fraction = percent / 100.

    Examples
    --------
    Ferric chloride of 37 % is 0.37 kg of salt per kilogram.

    >>> fraction_from_percent(37.0)
    0.37

    References
    ----------
    OPENSTAX, calculations using mass percentage
    """
    return percent / PERCENT


@equation
def fraction_from_mass_per_volume(mass_per_volume: Quantity, density: Quantity) -> Quantity:
    """Mass fraction from a strength in grams per litre of product.

    Parameters
    ----------
    mass_per_volume : quantity
        Mass per volume of product; 1 % w/v is 10 g/L. [g/L]
    density : quantity
        Density of the product. [kg/L]

    Returns
    -------
    quantity
        Mass per mass of product. [kg/kg]

    Notes
    -----
    fraction = mass per volume / (1000 density).

    Examples
    --------
    Liquid alum of 640.938 g/L and a density of 1.3303 is 48.18 % by mass.

    >>> round(100 * fraction_from_mass_per_volume(640.938, 1.3303), 2)
    48.18

    References
    ----------
    ALUM_TABLE, p. 1
    """
    return mass_per_volume / (GRAMS_PER_KILOGRAM * density)


@equation
def fraction_from_pounds_per_gallon(pounds_per_gallon: Quantity, density: Quantity) -> Quantity:
    """Mass fraction from a strength in pounds per US gallon of product.

    Parameters
    ----------
    pounds_per_gallon : quantity
        Mass per volume of product. [lb/gal]
    density : quantity
        Density of the product. [kg/L]

    Returns
    -------
    quantity
        Mass per mass of product. [kg/kg]

    Notes
    -----
    fraction = 0.1198 pounds per gallon / density.

    Examples
    --------
    5.4 lb/gal of alum at a density of 1.335.

    >>> round(fraction_from_pounds_per_gallon(5.4, 1.335), 3)
    0.485

    References
    ----------
    HENDRICKS, Appendix F, Table F.2, p. 840
    """
    return density_from_pounds_per_gallon(pounds_per_gallon) / density


@equation
def mass_per_volume(mass_fraction: Quantity, density: Quantity) -> Quantity:
    """Grams of salt or of metal in a litre of product.

    Parameters
    ----------
    mass_fraction : quantity
        Salt or metal per product. [kg/kg]
    density : quantity
        Density of the product. [kg/L]

    Returns
    -------
    quantity
        Mass per volume of product. [g/L]

    Notes
    -----
    mass per volume = 1000 fraction x density.

    Examples
    --------
    >>> round(mass_per_volume(0.4818, 1.3303), 2)
    640.94

    References
    ----------
    ALUM_TABLE, p. 1
    """
    return GRAMS_PER_KILOGRAM * mass_fraction * density


@equation
def pounds_per_gallon(mass_fraction: Quantity, density: Quantity) -> Quantity:
    """Pounds of salt or of metal in a US gallon of product.

    Parameters
    ----------
    mass_fraction : quantity
        Salt or metal per product. [kg/kg]
    density : quantity
        Density of the product. [kg/L]

    Returns
    -------
    quantity
        Mass per volume of product. [lb/gal]

    Notes
    -----
    pounds per gallon = 8.345 fraction x density.

    Examples
    --------
    Ferric chloride of 45 % at 12.4 lb/gal holds 5.58 lb per gallon.

    >>> round(pounds_per_gallon(0.45, density_from_pounds_per_gallon(12.4)), 2)
    5.58

    References
    ----------
    OPERATOR_HANDBOOK, ferric chloride
    """
    return mass_fraction * density / KILOGRAMS_PER_LITRE


@equation
def density_from_pounds_per_gallon(pounds_per_gallon: Quantity) -> Quantity:
    """Density from the weight of a US gallon.

    Parameters
    ----------
    pounds_per_gallon : quantity
        Mass per volume of product. [lb/gal]

    Returns
    -------
    quantity
        Density. [kg/L]

    Notes
    -----
    density = 0.1198 pounds per gallon, by the exact pound and gallon.

    Examples
    --------
    Ferric chloride of 35 % weighs 11.2 lb/gal.

    >>> round(density_from_pounds_per_gallon(11.2), 2)
    1.34

    References
    ----------
    OPERATOR_HANDBOOK, ferric chloride
    """
    return pounds_per_gallon * KILOGRAMS_PER_LITRE


@equation
def dry_salt_from_oxide(oxide_fraction: Quantity, oxide_in_salt: Quantity) -> Quantity:
    """Strength as dry salt from a strength as oxide.

    Parameters
    ----------
    oxide_fraction : quantity
        Al2O3 per product. [kg/kg]
    oxide_in_salt : quantity
        Al2O3 in the dry salt: 0.17 is usual for alum, 0.1715 by formula. [kg/kg]

    Returns
    -------
    quantity
        Dry salt per product. [kg/kg]

    Notes
    -----
    salt = oxide / oxide in salt.

    Examples
    --------
    >>> round(100 * dry_salt_from_oxide(0.0819, 0.17), 2)
    48.18

    References
    ----------
    ALUM_TABLE, p. 1, footnote
    """
    return oxide_fraction / oxide_in_salt


@equation
def metal_fraction_from_strength(
    strength: Quantity, basis: str, salt_formula: str, metal: str, density: Quantity
) -> Quantity:
    """Metal in a product from its strength, as the trade quotes it.

    Parameters
    ----------
    strength : quantity
        Strength in the unit that the basis names. [*]
    basis : str
        What is weighed, ``salt``, ``Al2O3`` or ``metal``, and how: ``% w/w``, ``% w/v``,
        ``g/L`` or ``lb/gal``; such as ``salt % w/w`` or ``metal g/L``.
    salt_formula : str
        Formula of the salt, hydrate water as the quotation means it.
    metal : str
        Symbol of the metal.
    density : quantity
        Density of the product; a strength by mass does not need it. [kg/L]

    Returns
    -------
    quantity
        Metal per product. [kg/kg]

    Notes
    -----
    The strength is first made a mass fraction, then the fraction of salt or oxide is made metal
    by atomic weights. Nothing else in pcompare knows on which basis a product was quoted.

    Examples
    --------
    Liquid alum of 647 g/L as Al2(SO4)3.14H2O at a density of 1.335 holds 4.40 % aluminium.

    >>> round(100 * metal_fraction_from_strength(647.0, "salt g/L", "Al2(SO4)3.14H2O", "Al",
    ...     1.335), 2)
    4.4

    References
    ----------
    HENDRICKS, Appendix F, Table F.2, p. 840
    """
    substance, _, measure = basis.partition(" ")
    if measure == "% w/w":
        fraction = fraction_from_percent(strength)
    elif measure == "% w/v":
        grams = strength * GRAMS_PER_LITRE_AND_PERCENT
        fraction = fraction_from_mass_per_volume(grams, density)
    elif measure == "g/L":
        fraction = fraction_from_mass_per_volume(strength, density)
    elif measure == "lb/gal":
        fraction = fraction_from_pounds_per_gallon(strength, density)
    else:
        raise ValueError(f"found basis '{basis}'; needs % w/w, % w/v, g/L or lb/gal")
    if substance == "salt":
        return metal_fraction_from_salt(fraction, salt_formula, metal)
    if substance == "Al2O3" and metal == "Al":
        return metal_fraction_from_oxide(fraction)
    if substance == "metal":
        return fraction
    raise ValueError(f"found basis '{basis}' for {metal}; needs salt, metal, or Al2O3 for Al")
