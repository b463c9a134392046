"""Greenhouse gas of what a plant buys, uses and hauls, in tonnes of CO2 equivalent a year.

Daily amounts are means over the year. Carbon of biological origin is left out and counted apart.
"""

from __future__ import annotations

from pcompare.arrays import Quantity, equation
from pcompare.tables import composition, molar_mass
from pcompare.units import DAYS_PER_YEAR, KILOGRAMS_PER_TONNE


@equation
def coagulant_emission(
    metal_molar: Quantity, flow: Quantity, factor_per_metal: Quantity
) -> Quantity:
    """Emission of making a metal salt.

    Parameters
    ----------
    metal_molar : quantity
        Metal dose. [mmol/L]
    flow : quantity
        Average flow. [m3/d]
    factor_per_metal : quantity
        Emission per amount of iron or aluminium, cradle to gate. [kg CO2e/mol]

    Returns
    -------
    quantity
        Emission. [t CO2e/y]

    Notes
    -----
    E = metal_molar flow factor_per_metal 365/1000, for mmol/L is mol/m3

    Examples
    --------
    3785.41 m3/d, 4 mg P/L, two mol of aluminium per mol of phosphorus:

    >>> round(coagulant_emission(2 * 4 / 30.974, 3785.41, 0.106), 2)
    37.83

    References
    ----------
    INCOPA2014, mean of European coagulants
    """
    return metal_molar * flow * factor_per_metal * DAYS_PER_YEAR / KILOGRAMS_PER_TONNE


@equation
def mass_emission(mass_use: Quantity, factor_per_mass: Quantity) -> Quantity:
    """Emission of making, or of letting go, a mass.

    Parameters
    ----------
    mass_use : quantity
        Mass used, or gas let go, per day. [kg/d]
    factor_per_mass : quantity
        Emission per mass; for a gas its warming potential. [kg CO2e/kg]

    Returns
    -------
    quantity
        Emission. [t CO2e/y]

    Notes
    -----
    E = mass_use factor_per_mass 365/1000

    Examples
    --------
    13 488 t of methane in a year at a warming potential of 25:

    >>> round(mass_emission(13488e3 / 365, 25))
    337200

    References
    ----------
    CARB2023, methane of septic systems, 2001
    """
    return mass_use * factor_per_mass * DAYS_PER_YEAR / KILOGRAMS_PER_TONNE


@equation
def energy_emission(energy: Quantity, grid_factor: Quantity) -> Quantity:
    """Emission of making electricity.

    Parameters
    ----------
    energy : quantity
        Electricity used. [kWh/d]
    grid_factor : quantity
        Emission of the grid per energy. [kg CO2e/kWh]

    Returns
    -------
    quantity
        Emission. [t CO2e/y]

    Notes
    -----
    E = energy grid_factor 365/1000

    Examples
    --------
    2.5 TWh in a year at 0.6 kg/kWh are 1.5 million tonnes:

    >>> round(energy_emission(2.5e9 / 365, 0.6))
    1500000

    References
    ----------
    NAS2009, table F.4
    """
    return energy * grid_factor * DAYS_PER_YEAR / KILOGRAMS_PER_TONNE


@equation
def haulage_emission(cake: Quantity, haul_distance: Quantity, haul_factor: Quantity) -> Quantity:
    """Emission of hauling cake.

    Parameters
    ----------
    cake : quantity
        Wet cake. [t/d]
    haul_distance : quantity
        Distance loaded, one way; the factor carries the way back. [km]
    haul_factor : quantity
        Emission per mass and distance. [kg CO2e/(t km)]

    Returns
    -------
    quantity
        Emission. [t CO2e/y]

    Notes
    -----
    E = cake haul_distance haul_factor 365/1000

    Examples
    --------
    >>> round(haulage_emission(10, 50, 0.11), 3)
    20.075

    References
    ----------
    EPA_HUB, transport by mass and distance
    """
    return cake * haul_distance * haul_factor * DAYS_PER_YEAR / KILOGRAMS_PER_TONNE


@equation
def fossil_carbon_emission(mass_use: Quantity, formula: str) -> Quantity:
    """Carbon dioxide set free when a fossil carbon source is oxidised in the plant.

    Parameters
    ----------
    mass_use : quantity
        Pure carbon source used. [kg/d]
    formula : str
        Its chemical formula.

    Returns
    -------
    quantity
        Emission. [t CO2e/y]

    Notes
    -----
    E = mass_use n_C M(CO2)/M(formula) 365/1000

    All carbon is taken as oxidised. Carbon of biological origin does not count.

    Examples
    --------
    1 t of acetic acid in a year:

    >>> round(fossil_carbon_emission(1000 / 365, "C2H4O2"), 3)
    1.466

    References
    ----------
    NAS2009, table F.4: carbon to carbon dioxide
    """
    carbon = composition(formula).get("C", 0)
    dioxide = carbon * molar_mass("CO2") / molar_mass(formula)
    return mass_use * dioxide * DAYS_PER_YEAR / KILOGRAMS_PER_TONNE


@equation
def calcination_emission(mass_use: Quantity, formula: str) -> Quantity:
    """Carbon dioxide that leaves the limestone when lime is burnt, fuel of the kiln left out.

    Parameters
    ----------
    mass_use : quantity
        Pure lime used. [kg/d]
    formula : str
        Its chemical formula, CaO or Ca(OH)2.

    Returns
    -------
    quantity
        Emission. [t CO2e/y]

    Notes
    -----
    E = mass_use n_Ca M(CO2)/M(formula) 365/1000, one mole of carbon dioxide for each of calcium

    It is a part of the factor for making lime, not an addition to it.

    Examples
    --------
    1 t of quicklime in a year:

    >>> round(calcination_emission(1000 / 365, "CaO"), 4)
    0.7848

    References
    ----------
    IPCC2006, vol. 3, ch. 2, lime production
    """
    calcium = composition(formula).get("Ca", 0)
    dioxide = calcium * molar_mass("CO2") / molar_mass(formula)
    return mass_use * dioxide * DAYS_PER_YEAR / KILOGRAMS_PER_TONNE


@equation
def nitrous_oxide_emission(
    nitrogen_load: Quantity, emission_fraction: Quantity, gwp: Quantity
) -> Quantity:
    """Nitrous oxide that the plant lets go.

    Parameters
    ----------
    nitrogen_load : quantity
        Total nitrogen entering the plant. [kg/d]
    emission_fraction : quantity
        Nitrogen let go as nitrous oxide per nitrogen entering. [kg N/kg N]
    gwp : quantity
        Warming potential over 100 years of nitrous oxide. [kg CO2e/kg]

    Returns
    -------
    quantity
        Emission. [t CO2e/y]

    Notes
    -----
    E = nitrogen_load emission_fraction M(N2O)/M(N2) gwp 365/1000

    The factor spreads over two orders of magnitude between plants. It is common to most strategies.

    Examples
    --------
    1 t of nitrogen in a year:

    >>> round(nitrous_oxide_emission(1000 / 365, 0.016, 273), 2)
    6.86

    References
    ----------
    IPCC2019, table 6.8A
    IPCC_AR6, warming potential over 100 years
    """
    nitrous_oxide = molar_mass("N2O") / molar_mass("N2")
    return (
        nitrogen_load
        * emission_fraction
        * nitrous_oxide
        * gwp
        * DAYS_PER_YEAR
        / KILOGRAMS_PER_TONNE
    )
