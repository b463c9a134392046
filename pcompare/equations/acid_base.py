"""pH, ionic strength and the species of carbonate, phosphate and ammonia.

Alkalinity is counted from CO2, H2PO4- and NH4+. There are no ion pairs; activities follow Davies,
and log gamma = 0.1 I for species without charge. Two closures: *open* keeps the pressure of carbon
dioxide (aerated liquor), *closed* keeps total inorganic carbon (a dose mixed in after aeration).
"""

from __future__ import annotations

from typing import NamedTuple

from pcompare.arrays import Quantity, equation, exp, log10, solve
from pcompare.equations.acid_base_solver import (
    LOG_TEN,
    MILLI,
    AcidConstants,
    Totals,
    activities,
    ammonia_split,
    carbonate_closed,
    carbonate_open,
    davies_term,
    left_over,
    phosphate_split,
    power_of_ten,
    solved,
)
from pcompare.tables import constant, molar_mass

JOULES_PER_KILOJOULE = 1000.0  # also calories per kilocalorie

# The published terms of each log K, beside its intercept.
TERMS = {
    "carbonic_first": ("linear", "inverse", "logarithm", "inverse_square"),
    "carbonic_second": ("linear", "inverse", "logarithm", "inverse_square"),
    "henry": ("linear", "inverse", "inverse_square", "square"),
    "water": ("linear", "inverse", "logarithm", "square"),
    "ammonium": ("linear", "inverse"),
}


class AcidBaseState(NamedTuple):
    """A solved water: pH and ionic strength."""

    ph: Quantity
    ionic_strength: Quantity


class CarbonateSpecies(NamedTuple):
    """Species of inorganic carbon."""

    bicarbonate: Quantity
    carbonate: Quantity
    carbon_dioxide: Quantity


class PhosphateSpecies(NamedTuple):
    """Species of orthophosphate, by protons lost."""

    phosphoric_acid: Quantity
    dihydrogen_phosphate: Quantity
    hydrogen_phosphate: Quantity
    phosphate_ion: Quantity


class AmmoniaSpecies(NamedTuple):
    """Species of ammonia."""

    ammonium: Quantity
    ammonia: Quantity


class Speciation(NamedTuple):
    """A solved water with its species."""

    ph: Quantity
    ionic_strength: Quantity
    bicarbonate: Quantity
    carbonate: Quantity
    hydrogen_phosphate: Quantity
    dihydrogen_phosphate: Quantity
    ammonium: Quantity
    ammonia: Quantity
    carbon_dioxide: Quantity


@equation
def acid_constants(temperature: Quantity) -> AcidConstants:
    """Equilibrium constants of carbonate, phosphate, ammonia and water.

    Parameters
    ----------
    temperature : quantity
        Water temperature. [degC]

    Returns
    -------
    k_co2_1, k_co2_2 : quantity
        First and second constant of carbonic acid. [mol/L]
    k_henry : quantity
        Carbon dioxide dissolved per pressure. [mol/(L atm)]
    k_water : quantity
        Ion product of water. [mol2/L2]
    k_ammonium : quantity
        Constant of the ammonium ion. [mol/L]
    k_p1, k_p2, k_p3 : quantity
        First, second and third constant of phosphoric acid. [mol/L]
    davies_a : quantity
        Davies coefficient. [-]

    Notes
    -----
    log K = a + b T + c/T + d log T + e/T^2 + f T^2 with T in kelvin, the van't Hoff form for
    phosphate, and 1.82e6 (eps T)^-1.5 for the Davies coefficient. Valid from 0 to 50 degC.

    Examples
    --------
    >>> round(float(-log10(acid_constants(25.0).k_co2_1)), 3)
    6.352

    References
    ----------
    PLUMMER1982, carbonate; PHREEQC3, the other constants; STUMM1996 and MALMBERG1956, Davies
    """
    kelvin = temperature + constant("zero_celsius")
    beta_1 = _phosphate_beta("one", "thermochemical_calorie", kelvin)
    beta_2 = _phosphate_beta("two", "thermochemical_calorie", kelvin)
    beta_3 = _phosphate_beta("three", "", kelvin)
    return AcidConstants(
        k_co2_1=power_of_ten(_log_constant("carbonic_first", kelvin)),
        k_co2_2=power_of_ten(_log_constant("carbonic_second", kelvin)),
        k_henry=power_of_ten(_log_constant("henry", kelvin)),
        k_water=power_of_ten(_log_constant("water", kelvin)),
        k_ammonium=power_of_ten(_log_constant("ammonium", kelvin)),
        k_p1=power_of_ten(beta_2 - beta_3),
        k_p2=power_of_ten(beta_1 - beta_2),
        k_p3=power_of_ten(-beta_1),
        davies_a=constant("davies_prefactor") * (_dielectric(temperature) * kelvin) ** -1.5,
    )


def _log_constant(name: str, kelvin: Quantity) -> Quantity:
    """Sum the published terms of one log K."""
    terms = {
        "linear": kelvin,
        "inverse": 1.0 / kelvin,
        "logarithm": log10(kelvin),
        "inverse_square": 1.0 / (kelvin * kelvin),
        "square": kelvin * kelvin,
    }
    result = constant(f"{name}_intercept")
    for term in TERMS[name]:
        result = result + constant(f"{name}_{term}") * terms[term]
    return result


def _phosphate_beta(protons: str, calorie: str, kelvin: Quantity) -> Quantity:
    """Log of the constant of PO4-3 with some protons, by van't Hoff from 25 degC."""
    reference = constant("zero_celsius") + 25.0  # the temperature of the printed constants
    joules = constant(calorie) if calorie else 1.0
    enthalpy = constant(f"phosphate_{protons}_enthalpy") * JOULES_PER_KILOJOULE * joules
    shift = enthalpy / (constant("gas_constant") * LOG_TEN) * (1.0 / reference - 1.0 / kelvin)
    return constant(f"phosphate_{protons}_proton") + shift


def _dielectric(temperature: Quantity) -> Quantity:
    """Dielectric constant of water, by Horner's rule."""
    result = constant("dielectric_cube") * temperature + constant("dielectric_square")
    result = result * temperature + constant("dielectric_linear")
    return result * temperature + constant("dielectric_constant")


@equation
def davies_coefficient(ionic_strength: Quantity, charge: Quantity, davies_a: Quantity) -> Quantity:
    """Activity coefficient of an ion.

    Parameters
    ----------
    ionic_strength : quantity
        Ionic strength, up to about 0.5. [mol/L]
    charge : quantity
        Charge of the ion, either sign. [-]
    davies_a : quantity
        Davies coefficient at the temperature. [-]

    Returns
    -------
    quantity
        Activity coefficient. [-]

    Notes
    -----
    log gamma = -A z^2 [sqrt(I)/(1 + sqrt(I)) - 0.3 I].

    Examples
    --------
    The monovalent coefficient in the conductivity example of the standard methods is 0.914.

    >>> round(float(davies_coefficient(0.00767, 1.0, 0.5)), 3)
    0.914

    References
    ----------
    DAVIES1962; SM2510, example
    """
    return exp(-LOG_TEN * davies_a * charge * charge * davies_term(ionic_strength))


@equation
def strong_ion_strength(
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
) -> Quantity:
    """Ionic strength of the ions that take no part in acid-base reactions.

    Parameters
    ----------
    sodium : quantity
        Sodium. [mg/L]
    potassium : quantity
        Potassium. [mg/L]
    calcium : quantity
        Calcium. [mg/L]
    magnesium : quantity
        Magnesium. [mg/L]
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]

    Returns
    -------
    quantity
        Half the sum of charge squared times concentration. [mmol/L]

    Notes
    -----
    I = (Na + K + Cl + NO3)/2 + 2 (Ca + Mg + SO4) in mmol/L.

    Examples
    --------
    Two mmol/L of sodium chloride.

    >>> round(float(strong_ion_strength(45.98, 0.0, 0.0, 0.0, 70.9, 0.0, 0.0)), 6)
    2.0

    References
    ----------
    SM2510, ionic strength
    """
    single = (
        sodium / molar_mass("Na")
        + potassium / molar_mass("K")
        + chloride / molar_mass("Cl")
        + nitrate / molar_mass("N")
    )
    double = calcium / molar_mass("Ca") + magnesium / molar_mass("Mg") + sulfate / molar_mass("SO4")
    return 0.5 * single + 2.0 * double


@equation
def ph_open(
    alkalinity: Quantity,
    phosphate: Quantity,
    ammonia_total: Quantity,
    strong_ion_strength: Quantity,
    temperature: Quantity,
    log_pco2: Quantity,
) -> AcidBaseState:
    """Give pH and ionic strength of a water that keeps its pressure of carbon dioxide.

    Parameters
    ----------
    alkalinity : quantity
        Alkalinity; negative in acid water. [mg CaCO3/L]
    phosphate : quantity
        Total orthophosphate. [mg P/L]
    ammonia_total : quantity
        Ammonium and ammonia. [mg N/L]
    strong_ion_strength : quantity
        Ionic strength of the inert ions. [mmol/L]
    temperature : quantity
        Water temperature. [degC]
    log_pco2 : quantity
        Pressure of carbon dioxide, log10 of atm. [-]

    Returns
    -------
    ph : quantity
        pH, from hydrogen ion activity. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]

    Notes
    -----
    Alkalinity = HCO3 + 2 CO3 + HPO4 + 2 PO4 - H3PO4 + NH3 + OH - H. Moles per litre are taken
    as moles per kilogram of water. Not for salty water: there are no ion pairs.

    Examples
    --------
    A hard effluent at 10^-2 atm; an equilibrium program finds pH 7.375.

    >>> state = ph_open(207.18, 4.956, 1.4007, 10.05, 25.0, -2.0)
    >>> round(float(state.ph), 3)
    7.375

    References
    ----------
    PHREEQC3, reference water at 10^-2 atm; PLUMMER1982
    """
    arguments = (alkalinity, phosphate, ammonia_total, strong_ion_strength, temperature, log_pco2)
    return AcidBaseState(*solve(_solve_open, _residual_open, *arguments))


@equation
def ph_closed(
    alkalinity: Quantity,
    inorganic_carbon: Quantity,
    phosphate: Quantity,
    ammonia_total: Quantity,
    strong_ion_strength: Quantity,
    temperature: Quantity,
) -> AcidBaseState:
    """Give pH and ionic strength of a water that keeps its inorganic carbon.

    Parameters
    ----------
    alkalinity : quantity
        Alkalinity; negative in acid water. [mg CaCO3/L]
    inorganic_carbon : quantity
        Total inorganic carbon. [mmol/L]
    phosphate : quantity
        Total orthophosphate. [mg P/L]
    ammonia_total : quantity
        Ammonium and ammonia. [mg N/L]
    strong_ion_strength : quantity
        Ionic strength of the inert ions. [mmol/L]
    temperature : quantity
        Water temperature. [degC]

    Returns
    -------
    ph : quantity
        pH, from hydrogen ion activity. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]

    Notes
    -----
    Alkalinity = HCO3 + 2 CO3 + HPO4 + 2 PO4 - H3PO4 + NH3 + OH - H with HCO3 + CO3 + CO2 known.

    Examples
    --------
    The hard effluent after 0.4 mmol/L of ferric chloride; an equilibrium program finds 6.681.

    >>> state = ph_closed(154.33, 4.36378, 0.4956, 1.4007, 10.65, 25.0)
    >>> round(float(state.ph), 2)
    6.68

    References
    ----------
    PHREEQC3, reference water after ferric chloride, closed
    """
    arguments = (
        alkalinity, inorganic_carbon, phosphate, ammonia_total, strong_ion_strength, temperature
    )  # fmt: skip
    return AcidBaseState(*solve(_solve_closed, _residual_closed, *arguments))


@equation
def carbonate_species_open(
    ph: Quantity, ionic_strength: Quantity, temperature: Quantity, log_pco2: Quantity
) -> CarbonateSpecies:
    """Species of inorganic carbon at a pressure of carbon dioxide.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]
    log_pco2 : quantity
        Pressure of carbon dioxide, log10 of atm. [-]

    Returns
    -------
    bicarbonate : quantity
        Bicarbonate. [mmol/L]
    carbonate : quantity
        Carbonate. [mmol/L]
    carbon_dioxide : quantity
        Dissolved carbon dioxide. [mmol/L]

    Notes
    -----
    HCO3 = K1 KH p/(h g1), CO3 = K1 K2 KH p/(h^2 g2), CO2 = KH p/g0 with h the activity of H+
    and g activity coefficients.

    Examples
    --------
    Rain at 3.5e-4 atm holds 1.18e-5 mol/L of carbon dioxide (printed, with a Henry constant
    of 3.38e-2); the constant used here is 0.6 % larger.

    >>> round(float(carbonate_species_open(5.64, 0.0, 25.0, -3.4559).carbon_dioxide), 5)
    0.01191

    References
    ----------
    JCU_CH3041, dissolved carbon dioxide in rain; PLUMMER1982
    """
    constants = acid_constants(temperature)
    activity = activities(-LOG_TEN * ph, ionic_strength, constants)
    gas = constants.k_henry * power_of_ten(log_pco2)
    return CarbonateSpecies(*(MILLI * c for c in carbonate_open(activity, constants, gas)))


@equation
def carbonate_species_closed(
    ph: Quantity, ionic_strength: Quantity, temperature: Quantity, inorganic_carbon: Quantity
) -> CarbonateSpecies:
    """Species of a known total of inorganic carbon.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]
    inorganic_carbon : quantity
        Total inorganic carbon. [mmol/L]

    Returns
    -------
    bicarbonate : quantity
        Bicarbonate. [mmol/L]
    carbonate : quantity
        Carbonate. [mmol/L]
    carbon_dioxide : quantity
        Dissolved carbon dioxide. [mmol/L]

    Notes
    -----
    The shares are those of HCO3 = K1/(h g1), CO3 = K1 K2/(h^2 g2), CO2 = 1/g0 with h the
    activity of H+ and g activity coefficients.

    Examples
    --------
    At the first constant of carbonic acid half is bicarbonate.

    >>> round(float(carbonate_species_closed(6.352, 0.0, 25.0, 2.0).bicarbonate), 2)
    1.0

    References
    ----------
    PLUMMER1982, constants of carbonic acid
    """
    constants = acid_constants(temperature)
    activity = activities(-LOG_TEN * ph, ionic_strength, constants)
    species = carbonate_closed(activity, constants, inorganic_carbon)
    return CarbonateSpecies(*species)


@equation
def phosphate_species(
    ph: Quantity, ionic_strength: Quantity, temperature: Quantity, phosphate: Quantity
) -> PhosphateSpecies:
    """Species of orthophosphate.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]
    phosphate : quantity
        Total orthophosphate. [mg P/L]

    Returns
    -------
    phosphoric_acid : quantity
        H3PO4. [mmol/L]
    dihydrogen_phosphate : quantity
        H2PO4-. [mmol/L]
    hydrogen_phosphate : quantity
        HPO4-2. [mmol/L]
    phosphate_ion : quantity
        PO4-3. [mmol/L]

    Notes
    -----
    The shares are those of H3PO4 = h/(K1 g0), H2PO4 = 1/g1, HPO4 = K2/(h g2), PO4 = K2 K3/(h^2
    g3) with h the activity of H+.

    Examples
    --------
    At the second constant of phosphoric acid half is H2PO4-.

    >>> round(float(phosphate_species(7.207, 0.0, 25.0, 61.948).dihydrogen_phosphate), 2)
    1.0

    References
    ----------
    PHREEQC3, phreeqc.dat, constants of phosphoric acid
    """
    constants = acid_constants(temperature)
    activity = activities(-LOG_TEN * ph, ionic_strength, constants)
    return PhosphateSpecies(*phosphate_split(activity, constants, phosphate / molar_mass("P")))


@equation
def ammonia_species(
    ph: Quantity, ionic_strength: Quantity, temperature: Quantity, ammonia_total: Quantity
) -> AmmoniaSpecies:
    """Ammonium and free ammonia.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]
    ammonia_total : quantity
        Ammonium and ammonia. [mg N/L]

    Returns
    -------
    ammonium : quantity
        NH4+. [mmol/L]
    ammonia : quantity
        NH3. [mmol/L]

    Notes
    -----
    NH3/NH4 = K g1/(h g0) with h the activity of H+ and g activity coefficients.

    Examples
    --------
    Free ammonia at 20 degC and pH 8 is printed as 3.83 %.

    >>> round(float(ammonia_species(8.0, 0.0, 20.0, 1400.7).ammonia), 1)
    3.8

    References
    ----------
    PHREEQC3, phreeqc.dat; TRUSSELL1972, table of un-ionized ammonia
    """
    constants = acid_constants(temperature)
    activity = activities(-LOG_TEN * ph, ionic_strength, constants)
    return AmmoniaSpecies(*ammonia_split(activity, constants, ammonia_total / molar_mass("N")))


@equation
def inorganic_carbon_open(
    ph: Quantity, ionic_strength: Quantity, temperature: Quantity, log_pco2: Quantity
) -> Quantity:
    """Total inorganic carbon of a water in balance with a pressure of carbon dioxide.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]
    log_pco2 : quantity
        Pressure of carbon dioxide, log10 of atm. [-]

    Returns
    -------
    quantity
        Total inorganic carbon. [mmol/L]

    Notes
    -----
    C = HCO3 + CO3 + CO2 at a pressure of carbon dioxide.

    Examples
    --------
    The hard effluent at 10^-2 atm; an equilibrium program finds 4.364.

    >>> round(float(inorganic_carbon_open(7.3749, 0.012363, 25.0, -2.0)), 2)
    4.36

    References
    ----------
    PHREEQC3, reference water at 10^-2 atm
    """
    species = carbonate_species_open(ph, ionic_strength, temperature, log_pco2)
    return species.bicarbonate + species.carbonate + species.carbon_dioxide


@equation
def speciation(
    ph: Quantity,
    ionic_strength: Quantity,
    temperature: Quantity,
    inorganic_carbon: Quantity,
    phosphate: Quantity,
    ammonia_total: Quantity,
) -> Speciation:
    """All species of a solved water.

    Parameters
    ----------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    temperature : quantity
        Water temperature. [degC]
    inorganic_carbon : quantity
        Total inorganic carbon. [mmol/L]
    phosphate : quantity
        Total orthophosphate. [mg P/L]
    ammonia_total : quantity
        Ammonium and ammonia. [mg N/L]

    Returns
    -------
    ph : quantity
        pH. [-]
    ionic_strength : quantity
        Ionic strength. [mol/L]
    bicarbonate, carbonate : quantity
        HCO3- and CO3-2. [mmol/L]
    hydrogen_phosphate, dihydrogen_phosphate : quantity
        HPO4-2 and H2PO4-. [mmol/L]
    ammonium, ammonia : quantity
        NH4+ and NH3. [mmol/L]
    carbon_dioxide : quantity
        Dissolved carbon dioxide. [mmol/L]

    Notes
    -----
    C = HCO3 + CO3 + CO2, P = H3PO4 + H2PO4 + HPO4 + PO4, N = NH4 + NH3, split at the pH.

    Examples
    --------
    >>> round(float(speciation(6.352, 0.0, 25.0, 2.0, 0.0, 0.0).carbon_dioxide), 2)
    1.0

    References
    ----------
    PHREEQC3, phreeqc.dat; PLUMMER1982
    """
    carbon = carbonate_species_closed(ph, ionic_strength, temperature, inorganic_carbon)
    phosphorus = phosphate_species(ph, ionic_strength, temperature, phosphate)
    nitrogen = ammonia_species(ph, ionic_strength, temperature, ammonia_total)
    return Speciation(
        ph=ph,
        ionic_strength=ionic_strength,
        bicarbonate=carbon.bicarbonate,
        carbonate=carbon.carbonate,
        hydrogen_phosphate=phosphorus.hydrogen_phosphate,
        dihydrogen_phosphate=phosphorus.dihydrogen_phosphate,
        ammonium=nitrogen.ammonium,
        ammonia=nitrogen.ammonia,
        carbon_dioxide=carbon.carbon_dioxide,
    )


def _open_water(
    alkalinity: Quantity,
    phosphate: Quantity,
    ammonia_total: Quantity,
    strong_ion_strength: Quantity,
    temperature: Quantity,
    log_pco2: Quantity,
) -> Totals:
    k = acid_constants(temperature)
    return Totals(
        alkalinity=2.0 * alkalinity / molar_mass("CaCO3") / MILLI,
        carbon=k.k_henry * power_of_ten(log_pco2),
        phosphate=phosphate / molar_mass("P") / MILLI,
        ammonia=ammonia_total / molar_mass("N") / MILLI,
        strong=strong_ion_strength / MILLI,
        constants=k,
        is_open=True,
    )


def _closed_water(
    alkalinity: Quantity,
    inorganic_carbon: Quantity,
    phosphate: Quantity,
    ammonia_total: Quantity,
    strong_ion_strength: Quantity,
    temperature: Quantity,
) -> Totals:
    return Totals(
        alkalinity=2.0 * alkalinity / molar_mass("CaCO3") / MILLI,
        carbon=inorganic_carbon / MILLI,
        phosphate=phosphate / molar_mass("P") / MILLI,
        ammonia=ammonia_total / molar_mass("N") / MILLI,
        strong=strong_ion_strength / MILLI,
        constants=acid_constants(temperature),
        is_open=False,
    )


def _solve_open(*arguments: Quantity) -> tuple[Quantity, Quantity]:
    return solved(_open_water(*arguments))


def _residual_open(
    ph: Quantity, strength: Quantity, *arguments: Quantity
) -> tuple[Quantity, Quantity]:
    return left_over(ph, strength, _open_water(*arguments))


def _solve_closed(*arguments: Quantity) -> tuple[Quantity, Quantity]:
    return solved(_closed_water(*arguments))


def _residual_closed(
    ph: Quantity, strength: Quantity, *arguments: Quantity
) -> tuple[Quantity, Quantity]:
    return left_over(ph, strength, _closed_water(*arguments))
