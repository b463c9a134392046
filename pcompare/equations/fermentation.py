"""Acids made on site: a fermenter for primary sludge, and return sludge held in a side stream.

What acids give to the organisms is missed elsewhere: sludge for the digester, its methane, and
nitrogen and phosphorus that come back. The coefficients are judgement: measure on the plant's own
sludge before building.
"""

from __future__ import annotations

from typing import NamedTuple

from pcompare.arrays import Quantity, equation
from pcompare.tables import constant, molar_mass


class SideStreamCarbon(NamedTuple):
    """COD that fermented return sludge gives [kg COD/d]."""

    stored: Quantity
    left: Quantity


@equation
def acid_yield(largest_yield: Quantity, acid_rate: Quantity, holding_time: Quantity) -> Quantity:
    """Volatile fatty acids that sludge gives in a mixed fermenter.

    Parameters
    ----------
    largest_yield : quantity
        Acids that the sludge gives in the end. [g COD/g VSS]
    acid_rate : quantity
        First-order rate at the temperature, `temperature_corrected`. [1/d]
    holding_time : quantity
        Sludge age of the fermenter, or retention of a side stream. [d]

    Returns
    -------
    quantity
        Acids for each volatile solids fed. [g COD/g VSS]

    Notes
    -----
    Y = Y_max k t / (1 + k t), first order in one mixed tank. Set to give 0.15 g/g at 20 degC and
    4 d, the middle of what the trade knows (0.10 to 0.20, 0.05 to 0.30 at most), and the same at
    11 degC and 6 to 7 d. Above 6 to 8 d in warm sludge methane takes the acids.

    Examples
    --------
    >>> acid_yield(0.30, 0.25, 4.0)
    0.15

    References
    ----------
    JUDGEMENT
    IJCE2012, more soluble COD by stirring, heat and sludge age
    """
    progress = acid_rate * holding_time
    return largest_yield * progress / (1.0 + progress)


@equation
def acid_load(volatile_solids: Quantity, acid_yield: Quantity) -> Quantity:
    """Volatile fatty acids made in a fermenter.

    Parameters
    ----------
    volatile_solids : quantity
        Volatile solids fed to the fermenter. [kg/d]
    acid_yield : quantity
        Acids for each volatile solids fed, `acid_yield`. [g COD/g VSS]

    Returns
    -------
    quantity
        Acids. [kg COD/d]

    Notes
    -----
    F = Y VSS. Practice is 10 to 25 mg/L of plant flow, as acetic acid.

    Examples
    --------
    >>> acid_load(2000.0, 0.15)
    300.0

    References
    ----------
    COMMON_PRACTICE, rise of the acids in the sewage by 10-25 mg/L
    """
    return volatile_solids * acid_yield


@equation
def volatile_solids_fermented(cod_load: Quantity, cod_per_vss: Quantity) -> Quantity:
    """Volatile solids that became acids and no longer reach the digester.

    Parameters
    ----------
    cod_load : quantity
        Acids made. [kg COD/d]
    cod_per_vss : quantity
        COD of the volatile solids fed; primary sludge holds about 1.6. [g COD/g VSS]

    Returns
    -------
    quantity
        Volatile solids. [kg/d]

    Notes
    -----
    VSS = F / f_cv, the COD balance: fermentation itself oxidises nothing.

    Examples
    --------
    >>> volatile_solids_fermented(300.0, 1.6)
    187.5

    References
    ----------
    HENZE2008, chapter on organic matter removal, COD balance
    """
    return cod_load / cod_per_vss


@equation
def methane_from_cod(cod_load: Quantity) -> Quantity:
    """Methane that COD would have given in the digester.

    Parameters
    ----------
    cod_load : quantity
        COD that is kept from the digester. [kg COD/d]

    Returns
    -------
    quantity
        Methane at 0 degC and 1 atm. [m3/d]

    Notes
    -----
    V = F R T / (2 M(O2) p) = 0.350 F. 2 mol O2 burn 1 mol CH4. An upper bound: some of the COD
    would have become biomass, and not all would have been digested.

    Examples
    --------
    >>> round(methane_from_cod(1.0), 2)
    0.35

    References
    ----------
    METCALF2014, chapter on anaerobic digestion, methane equivalent of COD
    """
    pressure = constant("standard_atmosphere") * 1000.0  # kPa to Pa
    volume = constant("gas_constant") * constant("zero_celsius") / pressure  # m3/mol
    return cod_load * 1000.0 / (2.0 * molar_mass("O2")) * volume  # kg to g


@equation
def methane_electricity(
    methane: Quantity, heating_value: Quantity, engine_efficiency: Quantity
) -> Quantity:
    """Electricity that methane would have made.

    Parameters
    ----------
    methane : quantity
        Methane at 0 degC and 1 atm. [m3/d]
    heating_value : quantity
        Its lower heating value. [kWh/m3]
    engine_efficiency : quantity
        Electricity over heating value; 0 where gas makes none. [-]

    Returns
    -------
    quantity
        Electricity. [kWh/d]

    Notes
    -----
    E = V H eta.

    Examples
    --------
    >>> round(methane_electricity(100.0, 9.94, 0.35), 1)
    347.9

    References
    ----------
    METCALF2014, chapter on anaerobic digestion, use of the gas
    """
    return methane * heating_value * engine_efficiency


@equation
def released_with_acids(cod_load: Quantity, nutrient_per_acid: Quantity) -> Quantity:
    """Nitrogen or phosphorus that comes into the plant with acids made from sludge.

    Parameters
    ----------
    cod_load : quantity
        Acids made. [kg COD/d]
    nutrient_per_acid : quantity
        Nitrogen or phosphorus released for each of them. [g/g COD]

    Returns
    -------
    quantity
        Nitrogen or phosphorus. [kg/d]

    Notes
    -----
    L = F f. Primary sludge alone releases least; return sludge in the mix releases more.

    Examples
    --------
    >>> released_with_acids(300.0, 0.01)
    3.0

    References
    ----------
    FENVE2024, primary sludge against return sludge
    """
    return cod_load * nutrient_per_acid


@equation
def fermenter_volume(
    volatile_solids: Quantity, holding_time: Quantity, fermenter_solids: Quantity
) -> Quantity:
    """Volume of a fermenter for primary sludge.

    Parameters
    ----------
    volatile_solids : quantity
        Volatile solids fed to the fermenter. [kg/d]
    holding_time : quantity
        Sludge age of the fermenter. [d]
    fermenter_solids : quantity
        Volatile solids held in it. [kg/m3]

    Returns
    -------
    quantity
        Volume. [m3]

    Notes
    -----
    V = VSS t / X, the solids lost to acids not yet taken off.

    Examples
    --------
    >>> fermenter_volume(2000.0, 4.0, 20.0)
    400.0

    References
    ----------
    METCALF2014, definition of sludge age
    """
    return volatile_solids * holding_time / fermenter_solids


# ---------------------------------------------------------------- return sludge in a side stream


@equation
def side_stream_solids(
    side_stream_share: Quantity,
    return_ratio: Quantity,
    mixed_liquor_volatile: Quantity,
    flow: Quantity,
) -> Quantity:
    """Volatile sludge that passes a side stream of the return sludge.

    Parameters
    ----------
    side_stream_share : quantity
        Share of the return sludge that is taken aside. [-]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    mixed_liquor_volatile : quantity
        Volatile solids of the mixed liquor. [mg/L]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Volatile solids. [kg/d]

    Notes
    -----
    L = p (1 + s) Q X. The clarifier brings the solids of (1 + s) times the plant flow into the
    return sludge. What is held, L times the retention, is unaerated sludge and counts as such.

    Examples
    --------
    >>> round(side_stream_solids(0.08, 0.6, 3000.0, 15000.0), 6)
    5760.0

    References
    ----------
    METCALF2014, solids balance of the clarifier
    """
    through = (1.0 + return_ratio) * flow * mixed_liquor_volatile / 1000.0  # g/d to kg/d
    return side_stream_share * through


@equation
def side_stream_volume(
    side_stream_share: Quantity, return_ratio: Quantity, flow: Quantity, holding_time: Quantity
) -> Quantity:
    """Volume of the tank in which return sludge is fermented.

    Parameters
    ----------
    side_stream_share : quantity
        Share of the return sludge that is taken aside. [-]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    flow : quantity
        Plant flow. [m3/d]
    holding_time : quantity
        Retention. [d]

    Returns
    -------
    quantity
        Volume. [m3]

    Notes
    -----
    V = p s Q t. 4-10 % of the return sludge are held 24 to 48 h, up to all of it 1 to 2 h.

    Examples
    --------
    >>> side_stream_volume(0.08, 0.5, 15000.0, 1.5)
    900.0

    References
    ----------
    WER89_2043, shares and retention of side-stream fermentation
    """
    return side_stream_share * return_ratio * flow * holding_time


@equation
def side_stream_carbon(
    volatile_solids: Quantity, acid_yield: Quantity, stored_share: Quantity
) -> SideStreamCarbon:
    """COD that fermented return sludge gives to storage, and to denitrification.

    Parameters
    ----------
    volatile_solids : quantity
        Volatile solids that pass the side stream, `side_stream_solids`. [kg/d]
    acid_yield : quantity
        Readily biodegradable COD for each of them, `acid_yield`. [g COD/g VSS]
    stored_share : quantity
        Share of it that organisms store in the side stream. [-]

    Returns
    -------
    stored : quantity
        COD stored by the organisms that store phosphorus. [kg COD/d]
    left : quantity
        Readily biodegradable COD that goes on, for denitrification. [kg COD/d]

    Notes
    -----
    F_stored = p Y VSS, F_left = (1 - p) Y VSS. Two full-scale plants left about as much as was
    stored. The volatile solids that became COD are gone: `volatile_solids_fermented` of the sum.

    Examples
    --------
    >>> carbon = side_stream_carbon(5000.0, 0.04, 0.5)
    >>> carbon.stored, carbon.left
    (100.0, 100.0)

    References
    ----------
    WST53_55, COD stored and readily biodegradable COD left at two plants
    """
    made = volatile_solids * acid_yield
    return SideStreamCarbon(stored=stored_share * made, left=(1.0 - stored_share) * made)
