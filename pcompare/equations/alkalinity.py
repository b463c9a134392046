"""The alkalinity ledger: signed changes, gain positive, by the strong-ion identity.

Reference species are CO2, H2PO4- and NH4+, that is a titration to about pH 4.5. Then
alkalinity = Na + K + 2 Ca + 2 Mg + NH4 - Cl - NO3 - 2 SO4 - P (total, in moles), and carbon
dioxide coming or going changes nothing.
"""

from __future__ import annotations

from typing import NamedTuple

from pcompare.arrays import Quantity, equation, ratio
from pcompare.tables import molar_mass

# Fields of an analysis in the order in which the balances of charge below take them.
IONS_OF_AN_ANALYSIS = (
    "alkalinity", "sodium", "potassium", "calcium", "magnesium", "ammonia", "chloride", "sulfate",
    "nitrate", "orthophosphate",
)  # fmt: skip


class ChargeError(NamedTuple):
    """Balance of the ions of an analysis."""

    share: Quantity
    cations: Quantity
    anions: Quantity


def _as_calcium_carbonate(milliequivalents: Quantity) -> Quantity:
    """Turn meq/L into mg CaCO3/L."""
    return milliequivalents * molar_mass("CaCO3") / 2.0


@equation
def alkalinity_from_metal(
    metal_molar: Quantity, phosphorus_precipitated: Quantity, equivalents_per_metal: Quantity
) -> Quantity:
    """Change of alkalinity by a metal salt, with the credit for phosphate precipitated.

    Parameters
    ----------
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    phosphorus_precipitated : quantity
        Soluble phosphorus precipitated by the metal. [mg P/L]
    equivalents_per_metal : quantity
        Alkalinity used per metal if all of it ended as hydroxide: 3 for aluminium and ferric
        salts, less by the basicity, 2 for ferrous salts oxidised, negative for aluminate. [eq/mol]

    Returns
    -------
    quantity
        Change of alkalinity. [mg CaCO3/L]

    Notes
    -----
    change = 50.04 (x - z d) with d metal and x phosphorus precipitated in mmol/L. Each mole of
    phosphorus precipitated returns one equivalent, whatever the formula of the solid, between
    pH 4.5 and 10.

    Examples
    --------
    10 mg Al/L with 2.981 mg P/L precipitated uses 50.82 (equilibrium computation 50.76).

    >>> round(alkalinity_from_metal(10.0 / 26.982, 2.981, 3.0), 2)
    -50.82

    References
    ----------
    PHREEQC3, equilibrium computation of the same dose
    """
    credit = phosphorus_precipitated / molar_mass("P")
    return _as_calcium_carbonate(credit - equivalents_per_metal * metal_molar)


@equation
def alkalinity_from_nitrification(nitrogen_nitrified: Quantity) -> Quantity:
    """Change of alkalinity by nitrification, two equivalents lost per mole.

    Parameters
    ----------
    nitrogen_nitrified : quantity
        Ammonia oxidised to nitrate. [mg N/L]

    Returns
    -------
    quantity
        Change of alkalinity, never positive. [mg CaCO3/L]

    Notes
    -----
    change = -2 x 50.04 N / 14.007.

    Examples
    --------
    >>> round(alkalinity_from_nitrification(1.0), 2)
    -7.15

    References
    ----------
    METCALF2003, stoichiometry of nitrification
    """
    return -2.0 * _as_calcium_carbonate(nitrogen_nitrified / molar_mass("N"))


@equation
def alkalinity_from_denitrification(nitrogen_denitrified: Quantity) -> Quantity:
    """Change of alkalinity by denitrification, one equivalent gained per mole.

    Parameters
    ----------
    nitrogen_denitrified : quantity
        Nitrate reduced to nitrogen gas. [mg N/L]

    Returns
    -------
    quantity
        Change of alkalinity, never negative. [mg CaCO3/L]

    Notes
    -----
    change = 50.04 N / 14.007.

    Examples
    --------
    >>> round(alkalinity_from_denitrification(1.0), 2)
    3.57

    References
    ----------
    METCALF2003, stoichiometry of denitrification
    """
    return _as_calcium_carbonate(nitrogen_denitrified / molar_mass("N"))


@equation
def alkalinity_from_ammonification(ammonium_gained: Quantity) -> Quantity:
    """Change of alkalinity where organic nitrogen becomes ammonium or the reverse.

    Parameters
    ----------
    ammonium_gained : quantity
        Ammonification less assimilation, negative where assimilation is larger. [mg N/L]

    Returns
    -------
    quantity
        Change of alkalinity. [mg CaCO3/L]

    Notes
    -----
    change = 50.04 N / 14.007.

    Examples
    --------
    >>> round(alkalinity_from_ammonification(14.007), 2)
    50.04

    References
    ----------
    PHREEQC3, alkalinity counted from NH4+
    """
    return _as_calcium_carbonate(ammonium_gained / molar_mass("N"))


@equation
def alkalinity_from_phosphorus_uptake(
    phosphate_removed: Quantity, polyphosphate_stored: Quantity
) -> Quantity:
    """Change of alkalinity where biology takes phosphate from solution.

    Parameters
    ----------
    phosphate_removed : quantity
        Phosphate taken from solution by biology in all. [mg P/L]
    polyphosphate_stored : quantity
        The part of it stored as polyphosphate with potassium and magnesium. [mg P/L]

    Returns
    -------
    quantity
        Change of alkalinity. [mg CaCO3/L]

    Notes
    -----
    change = 50.04 (removed - stored) / 30.974. One equivalent is gained per mole assimilated.
    Polyphosphate takes one equivalent of potassium and magnesium along with each phosphorus, so
    that it changes nothing.

    Examples
    --------
    >>> round(alkalinity_from_phosphorus_uptake(1.0, 0.0), 3)
    1.616

    References
    ----------
    HENZE2000, composition of polyphosphate
    """
    assimilated = phosphate_removed - polyphosphate_stored
    return _as_calcium_carbonate(assimilated / molar_mass("P"))


@equation
def alkalinity_from_sodium_acetate(carbon_dose: Quantity) -> Quantity:
    """Change of alkalinity by sodium acetate once it is oxidised.

    Parameters
    ----------
    carbon_dose : quantity
        Sodium acetate as chemical oxygen demand. [mg COD/L]

    Returns
    -------
    quantity
        Change of alkalinity. [mg CaCO3/L]

    Notes
    -----
    change = 50.04 COD / (2 M(O2)). One equivalent per mole of two moles O2; acetic acid leaves
    none.

    Examples
    --------
    >>> round(alkalinity_from_sodium_acetate(1.0), 3)
    0.782

    References
    ----------
    IUPAC2021, atomic weights
    """
    return _as_calcium_carbonate(carbon_dose / (2.0 * molar_mass("O2")))


@equation
def base_dose(alkalinity_needed: Quantity, base: str, equivalents_per_base: Quantity) -> Quantity:
    """Pure base that supplies an alkalinity.

    Parameters
    ----------
    alkalinity_needed : quantity
        Alkalinity to be supplied. [mg CaCO3/L]
    base : str
        Formula of the base, such as ``NaOH``.
    equivalents_per_base : quantity
        Alkalinity per base. [eq/mol]

    Returns
    -------
    quantity
        Pure base. [mg/L]

    Notes
    -----
    dose = alkalinity / 50.04 x M(base) / z.

    Examples
    --------
    0.56 lb of magnesium hydroxide replaces 1 lb of soda ash (0.55 by arithmetic).

    >>> ash = alkalinity_from_base(1.0, "Na2CO3", 2.0)
    >>> round(base_dose(ash, "Mg(OH)2", 2.0), 2)
    0.55

    References
    ----------
    IUPAC2021, atomic weights
    """
    milliequivalents = alkalinity_needed * 2.0 / molar_mass("CaCO3")
    return milliequivalents * molar_mass(base) / equivalents_per_base


@equation
def alkalinity_from_base(
    base_concentration: Quantity, base: str, equivalents_per_base: Quantity
) -> Quantity:
    """Change of alkalinity by a base.

    Parameters
    ----------
    base_concentration : quantity
        Pure base dosed. [mg/L]
    base : str
        Formula of the base, such as ``NaOH``.
    equivalents_per_base : quantity
        Alkalinity per base. [eq/mol]

    Returns
    -------
    quantity
        Change of alkalinity. [mg CaCO3/L]

    Notes
    -----
    change = 50.04 z base / M(base).

    Examples
    --------
    1 mg/L of sodium aluminate of 88 % adds 0.54 mg/L.

    >>> round(alkalinity_from_base(0.88, "NaAlO2", 1.0), 2)
    0.54

    References
    ----------
    NHMRC, sodium aluminate
    """
    return _as_calcium_carbonate(base_concentration / molar_mass(base) * equivalents_per_base)


@equation
def alkalinity_of_strong_ions(
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    phosphate: Quantity,
) -> Quantity:
    """Alkalinity of a water from its other ions, by electroneutrality.

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
        Total ammonia. [mg N/L]
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]
    phosphate : quantity
        Total orthophosphate. [mg P/L]

    Returns
    -------
    quantity
        Alkalinity. [mg CaCO3/L]

    Notes
    -----
    Alkalinity = Na + K + 2 Ca + 2 Mg + NH4 - Cl - 2 SO4 - NO3 - P in mmol/L.

    Examples
    --------
    A water of 3.70 meq/L alkalinity by titration (226 mg/L of bicarbonate).

    >>> round(alkalinity_of_strong_ions(165.0, 22.8, 112.0, 52.0, 1.4 * 14.007 / 18.039, 476.0,
    ...     17.0, 0.0, 0.0) / 50.043, 1)
    3.9

    References
    ----------
    STUYFZAND1987, Table 3.1, water 14
    """
    cations = (
        sodium / molar_mass("Na")
        + potassium / molar_mass("K")
        + 2.0 * calcium / molar_mass("Ca")
        + 2.0 * magnesium / molar_mass("Mg")
        + ammonium / molar_mass("N")
    )
    anions = (
        chloride / molar_mass("Cl")
        + 2.0 * sulfate / molar_mass("SO4")
        + nitrate / molar_mass("N")
        + phosphate / molar_mass("P")
    )
    return _as_calcium_carbonate(cations - anions)


@equation
def unmeasured_ions(
    alkalinity: Quantity,
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    phosphate: Quantity,
) -> Quantity:
    """Ions that an analysis leaves out, by electroneutrality.

    Parameters
    ----------
    alkalinity : quantity
        Alkalinity as measured. [mg CaCO3/L]
    sodium : quantity
        Sodium. [mg/L]
    potassium : quantity
        Potassium. [mg/L]
    calcium : quantity
        Calcium. [mg/L]
    magnesium : quantity
        Magnesium. [mg/L]
    ammonium : quantity
        Total ammonia. [mg N/L]
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]
    phosphate : quantity
        Total orthophosphate. [mg P/L]

    Returns
    -------
    quantity
        Charge that is missing: positive where cations are, negative where anions are. [meq/L]

    Notes
    -----
    missing = alkalinity - (Na + K + 2 Ca + 2 Mg + NH4 - Cl - 2 SO4 - NO3 - P), in meq/L. It passes
    a plant unchanged: what is not known of the sewage is not known of the effluent.

    Examples
    --------
    A water of 3.70 meq/L alkalinity by titration whose other ions give 3.90: anions are missing.

    >>> round(unmeasured_ions(3.70 * 50.043, 165.0, 22.8, 112.0, 52.0, 1.4 * 14.007 / 18.039, 476.0,
    ...     17.0, 0.0, 0.0), 1)
    -0.2

    References
    ----------
    STUYFZAND1987, Table 3.1, water 14
    """
    ions = alkalinity_of_strong_ions(
        sodium, potassium, calcium, magnesium, ammonium, chloride, sulfate, nitrate, phosphate
    )
    return (alkalinity - ions) * 2.0 / molar_mass("CaCO3")


@equation
def charge_error(
    alkalinity: Quantity,
    sodium: Quantity,
    potassium: Quantity,
    calcium: Quantity,
    magnesium: Quantity,
    ammonium: Quantity,
    chloride: Quantity,
    sulfate: Quantity,
    nitrate: Quantity,
    phosphate: Quantity,
) -> ChargeError:
    """How far the ions of an analysis are from balance.

    Parameters
    ----------
    alkalinity : quantity
        Alkalinity as measured. [mg CaCO3/L]
    sodium : quantity
        Sodium. [mg/L]
    potassium : quantity
        Potassium. [mg/L]
    calcium : quantity
        Calcium. [mg/L]
    magnesium : quantity
        Magnesium. [mg/L]
    ammonium : quantity
        Total ammonia. [mg N/L]
    chloride : quantity
        Chloride. [mg/L]
    sulfate : quantity
        Sulfate. [mg/L]
    nitrate : quantity
        Nitrate. [mg N/L]
    phosphate : quantity
        Total orthophosphate. [mg P/L]

    Returns
    -------
    share : quantity
        Cations less anions over their sum: negative where cations are missing. [-]
    cations, anions : quantity
        Their sums. [meq/L]

    Notes
    -----
    share = (cations - anions)/(cations + anions) in meq/L; alkalinity counts as anions, phosphate
    with the one charge that alkalinity leaves it.

    Examples
    --------
    Of a groundwater whose error is printed as -1.79 %.

    >>> found = charge_error(173.9, 103.0, 2.4, 121.0, 4.7, 0.233, 206.0, 100.0, 0.0, 0.0)
    >>> round(float(100.0 * found.share), 1)
    -1.7

    References
    ----------
    STUYFZAND1987, Table 3.1, water 18
    """
    cations = (
        sodium / molar_mass("Na")
        + potassium / molar_mass("K")
        + 2.0 * calcium / molar_mass("Ca")
        + 2.0 * magnesium / molar_mass("Mg")
        + ammonium / molar_mass("N")
    )
    anions = (
        2.0 * alkalinity / molar_mass("CaCO3")
        + chloride / molar_mass("Cl")
        + 2.0 * sulfate / molar_mass("SO4")
        + nitrate / molar_mass("N")
        + phosphate / molar_mass("P")
    )
    share = ratio(cations - anions, cations + anions, 0.0)
    return ChargeError(share=share, cations=cations, anions=anions)


@equation
def alkalinity_all_hydroxide(metal_molar: Quantity, equivalents_per_metal: Quantity) -> Quantity:
    """Alkalinity a metal salt would use if all of it ended as hydroxide: an upper bound.

    Parameters
    ----------
    metal_molar : quantity
        Molar dose of metal. [mmol/L]
    equivalents_per_metal : quantity
        Alkalinity used per metal. [eq/mol]

    Returns
    -------
    quantity
        Alkalinity lost, counted positive. [mg CaCO3/L]

    Notes
    -----
    loss = 50.04 z d with d metal in mmol/L.

    Examples
    --------
    100 mg/L of ferric chloride use 92.6 (rounded to 92 in handbooks).

    >>> round(alkalinity_all_hydroxide(100.0 / 162.195, 3.0), 1)
    92.6

    References
    ----------
    METCALF2003, alkalinity used by ferric chloride
    """
    return _as_calcium_carbonate(equivalents_per_metal * metal_molar)


@equation
def equivalents_at_conversion(
    equivalents_per_metal: Quantity, conversion: Quantity, oxygen_per_metal: Quantity
) -> Quantity:
    """Alkalinity used per metal fed where part of a ferrous salt stays ferrous in solution.

    Parameters
    ----------
    equivalents_per_metal : quantity
        Alkalinity used per metal if all of it ended as hydroxide. [eq/mol]
    conversion : quantity
        Share of the metal that reaches a charge of three. [-]
    oxygen_per_metal : quantity
        Oxygen that the metal takes up on the way: 0.25 for ferrous salts, else 0. [mol/mol]

    Returns
    -------
    quantity
        Alkalinity used per metal fed. [eq/mol]

    Notes
    -----
    z' = z - (3 - 4 O2) (1 - conversion): what is not converted stays a cation of the charge it
    came with, 2 for ferrous iron, and takes no hydroxide. With conversion 1 nothing changes.

    Examples
    --------
    Ferrous chloride of which 85.6 % is oxidised.

    >>> round(equivalents_at_conversion(2.0, 0.856, 0.25), 3)
    1.712

    References
    ----------
    THISTLETON2001, full scale 85.6 %
    """
    charge = 3.0 - 4.0 * oxygen_per_metal
    return equivalents_per_metal - charge * (1.0 - conversion)
