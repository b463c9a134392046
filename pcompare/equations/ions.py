"""Ions added by chemicals, dissolved solids, conductivity and the indices made from ions."""

from __future__ import annotations

from math import nan

from pcompare.arrays import Quantity, equation, exp, ratio, sqrt
from pcompare.tables import constant, molar_mass


@equation
def ion_from_metal(metal_molar: Quantity, ion_per_metal: Quantity, ion: str) -> Quantity:
    """Ion that a metal product brings.

    Parameters
    ----------
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    ion_per_metal : quantity
        Ion per metal of the product. [mol/mol]
    ion : str
        Formula of the ion without its charge, such as ``Cl``.

    Returns
    -------
    quantity
        Ion added. [mg/L]

    Notes
    -----
    ion = moles of metal x ion per metal x M(ion).

    Examples
    --------
    1 mg Fe as FeCl3 adds 1.904 mg of chloride, 1 mg Al as alum 5.34 mg of sulfate.

    >>> round(ion_from_metal(1.0 / 55.845, 3.0, "Cl"), 3)
    1.904
    >>> round(ion_from_metal(1.0 / 26.982, 1.5, "SO4"), 2)
    5.34

    References
    ----------
    IUPAC2021, atomic weights
    """
    return metal_molar * ion_per_metal * molar_mass(ion)


@equation
def ion_from_base(
    base_concentration: Quantity, base: str, ion_per_base: Quantity, ion: str
) -> Quantity:
    """Cation that a base brings.

    Parameters
    ----------
    base_concentration : quantity
        Pure base dosed. [mg/L]
    base : str
        Formula of the base, such as ``NaOH``.
    ion_per_base : quantity
        Ion per base. [mol/mol]
    ion : str
        Formula of the ion without its charge, such as ``Na``.

    Returns
    -------
    quantity
        Ion added. [mg/L]

    Notes
    -----
    ion = base / M(base) x ion per base x M(ion).

    Examples
    --------
    >>> round(ion_from_base(1.0, "NaOH", 1.0, "Na"), 3)
    0.575
    >>> round(ion_from_base(1.0, "Ca(OH)2", 1.0, "Ca"), 3)
    0.541

    References
    ----------
    IUPAC2021, atomic weights
    """
    return base_concentration / molar_mass(base) * ion_per_base * molar_mass(ion)


@equation
def ion_into_polyphosphate(
    polyphosphate_stored: Quantity, ion_per_phosphorus: Quantity, ion: str
) -> Quantity:
    """Cation taken from the water with stored polyphosphate.

    Parameters
    ----------
    polyphosphate_stored : quantity
        Phosphate stored as polyphosphate. [mg P/L]
    ion_per_phosphorus : quantity
        Ion stored with it. [mol/mol]
    ion : str
        Formula of the ion without its charge, such as ``K``.

    Returns
    -------
    quantity
        Ion removed. [mg/L]

    Notes
    -----
    ion = P / M(P) x ion per phosphorus x M(ion).

    Examples
    --------
    >>> round(ion_into_polyphosphate(1.0, 0.33, "K"), 2)
    0.42
    >>> round(ion_into_polyphosphate(1.0, 0.33, "Mg"), 2)
    0.26

    References
    ----------
    HENZE2000, composition of polyphosphate
    """
    return polyphosphate_stored / molar_mass("P") * ion_per_phosphorus * molar_mass(ion)


def _dissolved_solids(
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    bicarbonate: Quantity,
    carbonate: Quantity,
    dihydrogen_phosphate: Quantity,
    hydrogen_phosphate: Quantity,
    bicarbonate_mass: Quantity,
) -> Quantity:
    """Add up all ions, bicarbonate at ``bicarbonate_mass`` in g/mol."""
    nitrogen = ammonium * molar_mass("NH4") + nitrate * molar_mass("NO3")
    return (
        sodium
        + potassium
        + calcium
        + magnesium
        + chloride
        + sulfate
        + nitrogen / molar_mass("N")
        + bicarbonate * bicarbonate_mass
        + carbonate * molar_mass("CO3")
        + dihydrogen_phosphate * molar_mass("H2PO4")
        + hydrogen_phosphate * molar_mass("HPO4")
    )


def _nernst_einstein() -> Quantity:
    """Conductivity of 1 mmol/L for each unit of diffusion coefficient, at 25 degC."""
    square_centimetres = 1e-9 * 1e4  # cm2/s in the unit 1e-9 m2/s of the table
    kelvin = constant("zero_celsius") + 25.0  # the temperature of the printed coefficients
    faraday = constant("faraday_constant")
    return faraday * faraday / (constant("gas_constant") * kelvin) * square_centimetres


def _damping(ionic_strength: Quantity) -> Quantity:
    """Give what is left of the conductivity of a single charge among other ions."""
    root = sqrt(ionic_strength)
    size = constant("conductivity_ion_size") * constant("debye_huckel_b_25")
    spread = 1.0 + size * root / (1.0 + ionic_strength ** constant("conductivity_power"))
    slope = constant("conductivity_exponent") * constant("debye_huckel_a_25")
    return exp(-slope * root / spread)


@equation
def dissolved_solids_ion_sum(
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    bicarbonate: Quantity,
    carbonate: Quantity,
    dihydrogen_phosphate: Quantity,
    hydrogen_phosphate: Quantity,
) -> Quantity:
    """Dissolved solids as the sum of all ions, bicarbonate in full.

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
    ammonium : quantity
        Ammonium. [mg N/L]
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]
    bicarbonate : quantity
        Bicarbonate. [mmol/L]
    carbonate : quantity
        Carbonate. [mmol/L]
    dihydrogen_phosphate : quantity
        H2PO4-. [mmol/L]
    hydrogen_phosphate : quantity
        HPO4-2. [mmol/L]

    Returns
    -------
    quantity
        Dissolved solids. [mg/L]

    Notes
    -----
    TDS = Na + K + Ca + Mg + NH4 + Cl + SO4 + NO3 + HCO3 + CO3 + H2PO4 + HPO4. No silica. State
    beside a limit which definition it means.

    Examples
    --------
    The hard reference effluent, mg per kg of water.

    >>> round(dissolved_solids_ion_sum(114.95, 15.64, 60.12, 12.15, 1.4007, 106.35, 72.04, 9.805,
    ...     4.019, 0.006, 0.055, 0.105), 0)
    687.0

    References
    ----------
    PHREEQC3, reference water at 10^-2 atm
    """
    return _dissolved_solids(
        sodium,
        potassium,
        calcium,
        magnesium,
        ammonium,
        chloride,
        sulfate,
        nitrate,
        bicarbonate,
        carbonate,
        dihydrogen_phosphate,
        hydrogen_phosphate,
        molar_mass("HCO3"),
    )


@equation
def dissolved_solids_residue(
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    bicarbonate: Quantity,
    carbonate: Quantity,
    dihydrogen_phosphate: Quantity,
    hydrogen_phosphate: Quantity,
) -> Quantity:
    """Dissolved solids as the residue at 180 degC: bicarbonate as carbonate.

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
    ammonium : quantity
        Ammonium. [mg N/L]
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]
    bicarbonate : quantity
        Bicarbonate. [mmol/L]
    carbonate : quantity
        Carbonate. [mmol/L]
    dihydrogen_phosphate : quantity
        H2PO4-. [mmol/L]
    hydrogen_phosphate : quantity
        HPO4-2. [mmol/L]

    Returns
    -------
    quantity
        Dissolved solids. [mg/L]

    Notes
    -----
    TDS = ion sum with HCO3 x M(CO3)/(2 M(HCO3)). Two bicarbonates dry to one carbonate, 0.4917
    of their mass. National limits and records of dissolved solids mostly mean this kind.

    Examples
    --------
    A groundwater of 707 mg/L of bicarbonate, printed 624 with 20 mg/L of silica and fluoride.

    >>> round(dissolved_solids_residue(190.0, 13.0, 25.0, 14.0, 0.0, 7.0, 1.2, 0.0,
    ...     707.0 / 61.016, 0.0, 0.0, 0.0) + 21.1)
    619

    References
    ----------
    USGS02_4045, Table 4, sample 1; HOWARD1933
    """
    return _dissolved_solids(
        sodium,
        potassium,
        calcium,
        magnesium,
        ammonium,
        chloride,
        sulfate,
        nitrate,
        bicarbonate,
        carbonate,
        dihydrogen_phosphate,
        hydrogen_phosphate,
        molar_mass("CO3") / 2.0,
    )


@equation
def conductivity(
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    bicarbonate: Quantity,
    carbonate: Quantity,
    dihydrogen_phosphate: Quantity,
    hydrogen_phosphate: Quantity,
    ionic_strength: Quantity,
) -> Quantity:
    """Electrical conductivity at 25 degC from composition.

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
    ammonium : quantity
        Ammonium. [mg N/L]
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]
    bicarbonate : quantity
        Bicarbonate. [mmol/L]
    carbonate : quantity
        Carbonate. [mmol/L]
    dihydrogen_phosphate : quantity
        H2PO4-. [mmol/L]
    hydrogen_phosphate : quantity
        HPO4-2. [mmol/L]
    ionic_strength : quantity
        Ionic strength. [mol/L]

    Returns
    -------
    quantity
        Conductivity at 25 degC. [uS/cm]

    Notes
    -----
    kappa = sum z^2 D c F^2/(R T) exp[-1.6 A z sqrt(I) / (1 + 4.73 B sqrt(I)/(1 + I^0.75))], without
    ion pairs, hydrogen and hydroxide ions. On total ions it reads about 7 % high against measured
    fresh waters: trust the difference of two waters more than the level. Good to about 0.5 mol/L.

    Examples
    --------
    Potassium chloride of 0.01 mol/kg, a standard of 1408 uS/cm.

    >>> kcl = conductivity(0.0, 390.98, 0.0, 0.0, 0.0, 354.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.01)
    >>> round(float(kcl))
    1396

    References
    ----------
    PHREEQC3, routine calc_SC and tracer diffusion coefficients; CRC_KCL, standard
    """
    damping = _damping(ionic_strength)  # charge two has the square
    single = (
        constant("diffusion_sodium") * sodium / molar_mass("Na")
        + constant("diffusion_potassium") * potassium / molar_mass("K")
        + constant("diffusion_ammonium") * ammonium / molar_mass("N")
        + constant("diffusion_chloride") * chloride / molar_mass("Cl")
        + constant("diffusion_nitrate") * nitrate / molar_mass("N")
        + constant("diffusion_bicarbonate") * bicarbonate
        + constant("diffusion_dihydrogen_phosphate") * dihydrogen_phosphate
    )
    double = (
        constant("diffusion_calcium") * calcium / molar_mass("Ca")
        + constant("diffusion_magnesium") * magnesium / molar_mass("Mg")
        + constant("diffusion_sulfate") * sulfate / molar_mass("SO4")
        + constant("diffusion_carbonate") * carbonate
        + constant("diffusion_hydrogen_phosphate") * hydrogen_phosphate
    )
    return _nernst_einstein() * (single * damping + 4.0 * double * damping * damping)


@equation
def pair_conductivity(
    sodium_sulfate: Quantity,
    potassium_sulfate: Quantity,
    calcium_bicarbonate: Quantity,
    magnesium_bicarbonate: Quantity,
    ionic_strength: Quantity,
) -> Quantity:
    """Conductivity at 25 degC of the pairs of ions that carry a charge.

    Parameters
    ----------
    sodium_sulfate, potassium_sulfate, calcium_bicarbonate, magnesium_bicarbonate : quantity
        Pairs with a charge of one. [mmol/L]
    ionic_strength : quantity
        Ionic strength with the pairs. [mol/L]

    Returns
    -------
    quantity
        Conductivity at 25 degC. [uS/cm]

    Notes
    -----
    kappa = sum D c F^2/(R T) times the damping of a single charge, as for other ions.

    Examples
    --------
    1 mmol/L of CaHCO3+ at infinite dilution: 37.55 x 0.506.

    >>> round(float(pair_conductivity(0.0, 0.0, 1.0, 0.0, 0.0)), 1)
    19.0

    References
    ----------
    PHREEQC3, routine calc_SC and tracer diffusion coefficients
    """
    single = (
        constant("diffusion_sodium_sulfate") * sodium_sulfate
        + constant("diffusion_potassium_sulfate") * potassium_sulfate
        + constant("diffusion_calcium_bicarbonate") * calcium_bicarbonate
        + constant("diffusion_magnesium_bicarbonate") * magnesium_bicarbonate
    )
    return _nernst_einstein() * single * _damping(ionic_strength)


@equation
def sodium_adsorption_ratio(
    sodium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
) -> Quantity:
    """Hazard of sodium to soil: sodium against calcium and magnesium.

    Parameters
    ----------
    sodium : quantity
        Sodium. [mg/L]
    calcium : quantity
        Calcium. [mg/L]
    magnesium : quantity
        Magnesium. [mg/L]

    Returns
    -------
    quantity
        Ratio; not a number without calcium and magnesium. [-]

    Notes
    -----
    SAR = Na / sqrt((Ca + Mg)/2) in meq/L, the same as Na / sqrt(Ca + Mg) in mmol/L.

    Examples
    --------
    5 mmol/L of sodium against 2 mmol/L of calcium and magnesium.

    >>> round(float(sodium_adsorption_ratio(114.95, 60.117, 12.1525)), 3)
    3.536

    References
    ----------
    FAO29, sodium adsorption ratio
    """
    hardness = calcium / molar_mass("Ca") + magnesium / molar_mass("Mg")
    return ratio(sodium / molar_mass("Na"), sqrt(hardness), nan)


@equation
def chloride_sulfate_ratio(
    chloride: Quantity,
    sulfate: Quantity,
) -> Quantity:
    """Mass ratio of chloride to sulfate, an index of lead release.

    Parameters
    ----------
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]

    Returns
    -------
    quantity
        Ratio; not a number without sulfate. [mg/mg]

    Notes
    -----
    ratio = Cl / SO4. Below 0.2 low, 0.2 to 0.5 moderate; above 0.5 high where alkalinity is
    below 50 mg CaCO3/L.

    Examples
    --------
    >>> round(float(chloride_sulfate_ratio(106.4, 72.0)), 2)
    1.48

    References
    ----------
    BELITZ2016, classes
    """
    return ratio(chloride, sulfate, nan)


@equation
def larson_ratio(
    chloride: Quantity,
    sulfate: Quantity,
    bicarbonate: Quantity,
    carbonate: Quantity,
) -> Quantity:
    """Corrosive against protective anions, in equivalents.

    Parameters
    ----------
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    bicarbonate : quantity
        Bicarbonate. [mmol/L]
    carbonate : quantity
        Carbonate. [mmol/L]

    Returns
    -------
    quantity
        Ratio; not a number without bicarbonate and carbonate. [eq/eq]

    Notes
    -----
    ratio = (Cl + 2 SO4) / (HCO3 + 2 CO3) in mmol/L. Below 0.8 mild, 0.8 to 1.2 elevated, above
    1.2 high.

    Examples
    --------
    >>> round(float(larson_ratio(106.35, 72.04, 4.019, 0.006)), 2)
    1.12

    References
    ----------
    LARSON_SKOLD, definition; ROBERGE2006, classes
    """
    corrosive = chloride / molar_mass("Cl") + 2.0 * sulfate / molar_mass("SO4")
    return ratio(corrosive, bicarbonate + 2.0 * carbonate, nan)


@equation
def ion_mass(ion_molar: Quantity, ion: str) -> Quantity:
    """Mass concentration of one ion.

    Parameters
    ----------
    ion_molar : quantity
        Concentration. [mmol/L]
    ion : str
        Formula of the ion without its charge, such as ``HCO3``.

    Returns
    -------
    quantity
        Concentration by mass. [mg/L]

    Notes
    -----
    mass = concentration x molar mass; the electrons of the charge are not weighed.

    Examples
    --------
    580 mg CaCO3/L of alkalinity, 11.59 mmol/L, are 707 mg/L of bicarbonate.

    >>> round(float(ion_mass(11.59, "HCO3")))
    707

    References
    ----------
    USGS02_4045, Table 4, sample 1; IUPAC2021, atomic weights
    """
    return ion_molar * molar_mass(ion)


@equation
def ion_molar(ion_concentration: Quantity, ion: str) -> Quantity:
    """Molar concentration of one ion.

    Parameters
    ----------
    ion_concentration : quantity
        Concentration by mass. [mg/L]
    ion : str
        Formula of the ion without its charge, such as ``HCO3``.

    Returns
    -------
    quantity
        Concentration. [mmol/L]

    Notes
    -----
    concentration = mass / molar mass; the electrons of the charge are not weighed.

    Examples
    --------
    707 mg/L of bicarbonate are 580 mg CaCO3/L of alkalinity, 11.59 mmol/L.

    >>> round(float(ion_molar(707.0, "HCO3")), 2)
    11.59

    References
    ----------
    USGS02_4045, Table 4, sample 1; IUPAC2021, atomic weights
    """
    return ion_concentration / molar_mass(ion)


@equation
def ionic_strength(
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    bicarbonate: Quantity,
) -> Quantity:
    """Ionic strength of the ions that rule in fresh water.

    Parameters
    ----------
    sodium, potassium, calcium, magnesium : quantity
        Cations. [mg/L]
    ammonium : quantity
        Ammonium. [mg N/L]
    chloride, sulfate : quantity
        Anions. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]
    bicarbonate : quantity
        Bicarbonate. [mmol/L]

    Returns
    -------
    quantity
        Ionic strength. [mol/L]

    Notes
    -----
    I = sum z^2 c / 2000 with c in mmol/L.

    Examples
    --------
    The example of the standard method: 0.00767.

    >>> round(ionic_strength(28.05, 3.13, 55.31, 11.91, 0.0, 19.85, 76.85, 0.0, 2.79), 5)
    0.00767

    References
    ----------
    SM2510, ionic strength of its example
    """
    single = (
        sodium / molar_mass("Na")
        + potassium / molar_mass("K")
        + chloride / molar_mass("Cl")
        + (ammonium + nitrate) / molar_mass("N")
        + bicarbonate
    )
    double = calcium / molar_mass("Ca") + magnesium / molar_mass("Mg") + sulfate / molar_mass("SO4")
    return (single + 4.0 * double) / 2000.0


@equation
def other_ions(
    ammonium: Quantity,
    nitrate: Quantity,
    carbonate: Quantity,
    dihydrogen_phosphate: Quantity,
    hydrogen_phosphate: Quantity,
) -> Quantity:
    """Mass of the nitrogen, carbonate and phosphate ions together.

    Parameters
    ----------
    ammonium, nitrate : quantity
        Ammonium and nitrate as nitrogen. [mg N/L]
    carbonate, dihydrogen_phosphate, hydrogen_phosphate : quantity
        Concentrations of the ions. [mmol/L]

    Returns
    -------
    quantity
        Mass of these ions. [mg/L]

    Notes
    -----
    mass = NH4 + NO3 + CO3 + H2PO4 + HPO4; the part of the ion sum beside the six inert ions and
    bicarbonate.

    Examples
    --------
    1 mmol/L each of ammonium and nitrate are 18.04 + 62.00 mg/L.

    >>> round(float(other_ions(14.007, 14.007, 0.0, 0.0, 0.0)), 2)
    80.04

    References
    ----------
    IUPAC2021, atomic weights
    """
    return _dissolved_solids(
        0.0, 0.0, 0.0, 0.0, ammonium, 0.0, 0.0, nitrate, 0.0, carbonate,
        dihydrogen_phosphate, hydrogen_phosphate, 0.0,
    )  # fmt: skip


@equation
def metal_in_solution(metal_molar: Quantity, conversion: Quantity, metal: str) -> Quantity:
    """Metal that stays in solution because it is not oxidised.

    Parameters
    ----------
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    conversion : quantity
        Share of the metal that reaches a charge of three. [-]
    metal : str
        Symbol of the metal.

    Returns
    -------
    quantity
        Metal in solution. [mg/L]

    Notes
    -----
    left = (1 - conversion) dose x M. It is a cation of charge two in the balance of ions.

    Examples
    --------
    Of 10 mg Fe/L as ferrous chloride.

    >>> round(metal_in_solution(10.0 / 55.845, 0.856, "Fe"), 2)
    1.44

    References
    ----------
    THISTLETON2001, full scale 85.6 %
    """
    return metal_molar * (1.0 - conversion) * molar_mass(metal)
