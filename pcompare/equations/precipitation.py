"""Metal dose against residual phosphorus, chemical solids and phosphorus in solids."""

from __future__ import annotations

from math import nan

from pcompare.arrays import (
    Quantity,
    absolute,
    equation,
    exp,
    log,
    log10,
    maximum,
    ratio,
    sqrt,
    where,
)
from pcompare.tables import constant, molar_mass


@equation
def minimum_metal_ratio(uptake_capacity: Quantity, mixing_efficiency: Quantity) -> Quantity:
    """Least metal per phosphorus removed, where residual phosphorus is plentiful.

    Parameters
    ----------
    uptake_capacity : quantity
        Phosphorus bound per metal at ideal mixing. [mol/mol]
    mixing_efficiency : quantity
        Part of the capacity reached. [-]

    Returns
    -------
    quantity
        Metal per phosphorus removed. [mol/mol]

    Notes
    -----
    b = 1 / (capacity x efficiency). The efficiency lies between 0.25, where phosphorus meets
    floc that is already formed, and 1.0.

    Examples
    --------
    >>> round(minimum_metal_ratio(1.18, 0.25), 2)
    3.39

    References
    ----------
    SMITH2008, capacity 1.18 mol P/mol Fe and 25 % of it
    """
    return 1.0 / (uptake_capacity * mixing_efficiency)


@equation
def metal_dose_for_residual(
    phosphorus_at_dose: Quantity,
    residual: Quantity,
    metal_ratio_minimum: Quantity,
    half_effect_residual: Quantity,
) -> Quantity:
    """Metal dose that leaves a residual of soluble phosphorus.

    Parameters
    ----------
    phosphorus_at_dose : quantity
        Soluble phosphorus at the dosing point. [mg P/L]
    residual : quantity
        Soluble phosphorus after dosing, above zero. [mg P/L]
    metal_ratio_minimum : quantity
        Metal per phosphorus removed at a high residual. [mol/mol]
    half_effect_residual : quantity
        Residual at which the metal per phosphorus removed has doubled. [mg P/L]

    Returns
    -------
    quantity
        Metal dose; zero where the residual is not below what arrives. [mmol/L]

    Notes
    -----
    Me = b (P0 - S)(1 + K/S): fresh hydroxide is in contact with the final phosphorus, so the
    dose grows as 1/S. A fit to published capacities and the handbook dose table at 5 mg P/L;
    below about 0.25 mg P/L it is an extrapolation, to be shown as a band, and it does not hold
    below the lowest residual of the dosing point (0.01-0.05 mg P/L).

    Examples
    --------
    5 mg P/L to 0.5 mg P/L takes 2.09 mol per mol removed.

    >>> dose = metal_dose_for_residual(5.0, 0.5, 1.745, 0.098)
    >>> round(float(dose / (4.5 / 30.974)), 2)
    2.09

    References
    ----------
    SMITH2008, capacity; EPA1976, dose table
    """
    removed = maximum(phosphorus_at_dose - residual, 0.0) / molar_mass("P")
    return metal_ratio_minimum * removed * (1.0 + half_effect_residual / residual)


@equation
def residual_for_metal_dose(
    phosphorus_at_dose: Quantity,
    metal_molar: Quantity,
    metal_ratio_minimum: Quantity,
    half_effect_residual: Quantity,
) -> Quantity:
    """Residual soluble phosphorus that a metal dose leaves: the inverse of the dose equation.

    Parameters
    ----------
    phosphorus_at_dose : quantity
        Soluble phosphorus at the dosing point. [mg P/L]
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    metal_ratio_minimum : quantity
        Metal per phosphorus removed at a high residual. [mol/mol]
    half_effect_residual : quantity
        Residual at which the metal per phosphorus removed has doubled. [mg P/L]

    Returns
    -------
    quantity
        Soluble phosphorus after dosing. [mg P/L]

    Notes
    -----
    The positive root of S^2 + (m - P0 + K) S - P0 K = 0 with m = Me M(P)/b, written so that
    neither a tiny nor a huge dose loses digits. No dose leaves what arrives.

    Examples
    --------
    >>> round(float(residual_for_metal_dose(5.0, 0.30320, 1.745, 0.098)), 3)
    0.5

    References
    ----------
    SMITH2008, capacity; EPA1976, dose table
    """
    capacity = metal_molar * molar_mass("P") / metal_ratio_minimum
    middle = capacity - phosphorus_at_dose + half_effect_residual
    product = phosphorus_at_dose * half_effect_residual
    both = absolute(middle) + sqrt(middle * middle + 4.0 * product)
    return where(middle > 0.0, ratio(2.0 * product, both, 0.0), 0.5 * both)


@equation
def handbook_metal_ratio(removal: Quantity, intercept: Quantity, slope: Quantity) -> Quantity:
    """Metal per phosphorus arriving, by the handbook dose table.

    Parameters
    ----------
    removal : quantity
        Share of the phosphorus arriving that is removed, below one. [-]
    intercept : quantity
        Intercept of the line through the table. [mol/mol]
    slope : quantity
        Slope of the line through the table. [mol/mol]

    Returns
    -------
    quantity
        Metal per phosphorus **arriving**, not per phosphorus removed. [mol/mol]

    Notes
    -----
    b0 = intercept - slope log10(1 - R), an interpolation for 75 to 95 % removal only.

    Examples
    --------
    >>> [round(float(handbook_metal_ratio(r, 0.618, 1.3)), 1) for r in (0.75, 0.85, 0.95)]
    [1.4, 1.7, 2.3]

    References
    ----------
    TU_DELFT_Q6, dose of alum; EPA1976
    """
    return intercept - slope * log10(1.0 - removal)


@equation
def kinetic_metal_ratio(
    residual: Quantity, precipitation_rate: Quantity, redissolution_rate: Quantity
) -> Quantity:
    """Metal per phosphorus removed, by the steady state of two opposed rates.

    Parameters
    ----------
    residual : quantity
        Soluble phosphorus after dosing, above zero. [mg P/L]
    precipitation_rate : quantity
        Rate constant of precipitation on ferric hydroxide. [m3/(g d)]
    redissolution_rate : quantity
        Rate constant of redissolution of ferric phosphate. [1/d]

    Returns
    -------
    quantity
        Iron per phosphorus removed. [mol/mol]

    Notes
    -----
    ratio = 1 + (k_red/k_pre) M(FePO4)/M(Fe(OH)3) / S. Far dearer than measured practice at low
    residuals.

    Examples
    --------
    >>> [round(kinetic_metal_ratio(s, 1.0, 0.6), 2) for s in (1.0, 0.5, 0.1)]
    [1.85, 2.69, 9.47]

    References
    ----------
    HENZE2000, precipitation terms of ASM2d
    """
    masses = molar_mass("FePO4") / molar_mass("Fe(OH)3")
    return 1.0 + redissolution_rate / precipitation_rate * masses / residual


@equation
def metal_to_phosphorus_removed(
    metal_molar: Quantity, phosphorus_precipitated: Quantity
) -> Quantity:
    """Metal fed per soluble phosphorus that it precipitated.

    Parameters
    ----------
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    phosphorus_precipitated : quantity
        Soluble phosphorus precipitated by the metal. [mg P/L]

    Returns
    -------
    quantity
        Metal per phosphorus; not a number where none is fed or none is precipitated. [mol/mol]

    Notes
    -----
    ratio = metal / (P / M(P)). Without metal there is no ratio, whatever rounding leaves of the
    phosphorus.

    Examples
    --------
    101.5 g Ce and 22.2 g P in a kilogram of sludge.

    >>> round(float(metal_to_phosphorus_removed(101.5 / 140.12, 22.2)), 2)
    1.01

    References
    ----------
    MOLECULES2025, cerium and phosphorus in sludge
    """
    taken = where(metal_molar > 0.0, phosphorus_precipitated / molar_mass("P"), 0.0)
    return ratio(metal_molar, taken, nan)


@equation
def chemical_solids(
    phosphorus_precipitated: Quantity, metal_molar: Quantity, metal: str
) -> Quantity:
    """Chemical solids as metal phosphate and metal hydroxide.

    Parameters
    ----------
    phosphorus_precipitated : quantity
        Soluble phosphorus precipitated by the metal. [mg P/L]
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    metal : str
        Symbol of a metal of charge three, such as ``Al`` or ``Fe``.

    Returns
    -------
    quantity
        Dry chemical solids per litre of flow. [mg/L]

    Notes
    -----
    X = P M(MePO4) + (Me - P) M(Me(OH)3) in moles of metal and phosphorus. MePO4 for each
    phosphorus, Me(OH)3 for the metal left over. Less metal than phosphorus cannot precipitate
    it all; no hydroxide is counted then.

    Examples
    --------
    1.5 mol Al per mol P gives 5.2 g of solids per g P (a design rule rounds to 5.3).

    >>> round(float(chemical_solids(1.0, 1.5 / 30.974, "Al")), 1)
    5.2

    References
    ----------
    ATV_A131E, solids per kg P precipitated
    """
    precipitated = phosphorus_precipitated / molar_mass("P")
    hydroxide = maximum(metal_molar - precipitated, 0.0)
    return precipitated * molar_mass(f"{metal}PO4") + hydroxide * molar_mass(f"{metal}(OH)3")


@equation
def chemical_solids_empirical(
    phosphorus_precipitated: Quantity, metal_molar: Quantity, metal: str
) -> Quantity:
    """Chemical solids by the formulas fitted to real sludge.

    Parameters
    ----------
    phosphorus_precipitated : quantity
        Soluble phosphorus precipitated by the metal. [mg P/L]
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    metal : str
        ``Al`` or ``Fe``.

    Returns
    -------
    quantity
        Dry chemical solids per litre of flow. [mg/L]

    Notes
    -----
    X = P M(Me_r(H2PO4)(OH)_(3r-1)) + (Me - r P) M(Me(OH)3) with r = 0.8 (Al) and 1.6 (Fe). The
    composition r does not change the mass, it decides where the form holds. With less metal
    than r per phosphorus the solid cannot form: there the result is that of the simple form.

    Examples
    --------
    >>> round(float(chemical_solids_empirical(1.0, 2.0 / 30.974, "Fe")), 2)
    9.48

    References
    ----------
    LUEDECKE1989, iron; SEDLAK1991, aluminium
    """
    bound = constant(f"solid_metal_per_phosphorus_{metal}")
    precipitated = phosphorus_precipitated / molar_mass("P")
    hydroxides = 3.0 * bound - 1.0  # makes the solid neutral
    solid = bound * molar_mass(metal) + molar_mass("H2PO4") + hydroxides * molar_mass("OH")
    spare = metal_molar - bound * precipitated
    return where(
        spare < 0.0,
        chemical_solids(phosphorus_precipitated, metal_molar, metal),
        precipitated * solid + spare * molar_mass(f"{metal}(OH)3"),
    )


@equation
def phosphorus_in_solids(phosphorus_bound: Quantity, solids_production: Quantity) -> Quantity:
    """Phosphorus content of solids from a balance.

    Parameters
    ----------
    phosphorus_bound : quantity
        Phosphorus leaving with the solids. [kg/d]
    solids_production : quantity
        Solids wasted and lost with the effluent, chemical solids included. [kg/d]

    Returns
    -------
    quantity
        Phosphorus content; zero where there are no solids. [kg/kg]

    Notes
    -----
    content = phosphorus / solids.

    Examples
    --------
    Pure aluminium phosphate holds 25.4 % phosphorus.

    >>> round(float(100 * phosphorus_in_solids(30.974, 121.953)), 1)
    25.4

    References
    ----------
    IUPAC2021, atomic weights
    """
    return ratio(phosphorus_bound, solids_production, 0.0)


@equation
def effluent_total_phosphorus(
    soluble_phosphorus: Quantity,
    nonreactive_phosphorus: Quantity,
    solids_phosphorus_content: Quantity,
    effluent_solids: Quantity,
) -> Quantity:
    """Total phosphorus of an effluent from its three parts.

    Parameters
    ----------
    soluble_phosphorus : quantity
        Soluble reactive phosphorus. [mg P/L]
    nonreactive_phosphorus : quantity
        Soluble phosphorus that no metal precipitates. [mg P/L]
    solids_phosphorus_content : quantity
        Phosphorus content of the effluent solids. [kg/kg]
    effluent_solids : quantity
        Suspended solids of the effluent. [mg/L]

    Returns
    -------
    quantity
        Total phosphorus. [mg P/L]

    Notes
    -----
    TP = S + non-reactive + content x solids.

    Examples
    --------
    4 % phosphorus in 1.5 mg/L of solids leaves 0.04 of a limit of 0.10 for the soluble part.

    >>> round(effluent_total_phosphorus(0.02, 0.02, 0.04, 1.5), 2)
    0.1

    References
    ----------
    EPA2010, fractions of effluent phosphorus
    """
    bound = solids_phosphorus_content * effluent_solids
    return soluble_phosphorus + nonreactive_phosphorus + bound


@equation
def metal_dose_by_handbook(
    phosphorus_at_dose: Quantity, residual: Quantity, intercept: Quantity, slope: Quantity
) -> Quantity:
    """Metal dose that leaves a residual, by the handbook dose table.

    Parameters
    ----------
    phosphorus_at_dose : quantity
        Soluble phosphorus at the dosing point. [mg P/L]
    residual : quantity
        Soluble phosphorus left, above zero. [mg P/L]
    intercept : quantity
        Intercept of the line through the table. [mol/mol]
    slope : quantity
        Slope of the line through the table. [mol/mol]

    Returns
    -------
    quantity
        Metal dose. [mmol/L]

    Notes
    -----
    d = b0 P0 / M(P) with b0 = intercept - slope log10(S/P0); nothing where nothing is removed.
    An interpolation for 75 to 95 % removal only.

    Examples
    --------
    85 % of 8 mg P/L at 1.7 mol/mol.

    >>> round(float(metal_dose_by_handbook(8.0, 1.2, 0.618, 1.3)), 2)
    0.44

    References
    ----------
    TU_DELFT_Q6, dose of alum; EPA1976
    """
    present = where(phosphorus_at_dose > 0.0, phosphorus_at_dose, 1.0)
    removal = 1.0 - residual / present
    dose = handbook_metal_ratio(removal, intercept, slope) * phosphorus_at_dose / molar_mass("P")
    return where(residual < phosphorus_at_dose, dose, 0.0 * dose)


@equation
def residual_by_handbook(
    phosphorus_at_dose: Quantity, metal_molar: Quantity, intercept: Quantity, slope: Quantity
) -> Quantity:
    """Residual that a metal dose leaves, by the handbook dose table.

    Parameters
    ----------
    phosphorus_at_dose : quantity
        Soluble phosphorus at the dosing point. [mg P/L]
    metal_molar : quantity
        Metal dose. [mmol/L]
    intercept : quantity
        Intercept of the line through the table. [mol/mol]
    slope : quantity
        Slope of the line through the table. [mol/mol]

    Returns
    -------
    quantity
        Soluble phosphorus left. [mg P/L]

    Notes
    -----
    S = P0 10^(-(b0 - intercept)/slope) with b0 = d M(P) / P0; everything stays below the
    intercept. An interpolation for 75 to 95 % removal only.

    Examples
    --------
    >>> round(float(residual_by_handbook(8.0, 0.4362, 0.618, 1.3)), 2)
    1.2

    References
    ----------
    TU_DELFT_Q6, dose of alum; EPA1976
    """
    present = where(phosphorus_at_dose > 0.0, phosphorus_at_dose, 1.0)
    surplus = metal_molar * molar_mass("P") / present - intercept
    return phosphorus_at_dose * exp(-maximum(surplus, 0.0) / slope * log(10.0))
