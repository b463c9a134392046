"""Growth and decay of the organisms at steady state: sludge masses, oxygen, nitrogen."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation

REFERENCE = 20.0  # degC, of every rate in the reference tables


@equation
def temperature_corrected(value_20: Quantity, theta: Quantity, temperature: Quantity) -> Quantity:
    """Rate at a temperature from the rate at 20 degC.

    Parameters
    ----------
    value_20 : quantity
        Value at 20 degC. [*]
    theta : quantity
        Factor for each degree. [-]
    temperature : quantity
        Temperature of the mixed liquor. [degC]

    Returns
    -------
    quantity
        Value at the temperature, in the unit it was given in. [*]

    Notes
    -----
    k = k20 theta^(T - 20), about 8 to 25 degC.

    Examples
    --------
    >>> round(temperature_corrected(0.90, 1.072, 10.0), 2)
    0.45

    References
    ----------
    CHOUBERT2008, nitrifier growth measured at 10 degC
    """
    return value_20 * theta ** (temperature - REFERENCE)


@equation
def active_mass(
    cod_load: Quantity, srt: Quantity, organism_yield: Quantity, decay_rate: Quantity
) -> Quantity:
    """Living mass of a group of organisms in the system.

    Parameters
    ----------
    cod_load : quantity
        COD that the group uses. [kg COD/d]
    srt : quantity
        Sludge age. [d]
    organism_yield : quantity
        Yield. [g VSS/g COD]
    decay_rate : quantity
        Endogenous rate at the temperature. [1/d]

    Returns
    -------
    quantity
        Volatile mass. [kg VSS]

    Notes
    -----
    M = Y SRT / (1 + b SRT) F, steady state, all of the COD used.

    Examples
    --------
    >>> round(active_mass(17400.0, 6.935, 0.75, 1.0) / 2.0)  # at 2 kg/m3: the tank volume, m3
    5703

    References
    ----------
    WENTZEL1990, steady-state design model
    UBC_APSC150, question 1
    """
    return organism_yield * srt / (1.0 + decay_rate * srt) * cod_load


@equation
def endogenous_mass(
    organism_mass: Quantity, srt: Quantity, decay_rate: Quantity, residue_fraction: Quantity
) -> Quantity:
    """Residue that the decay of a group of organisms leaves in the system.

    Parameters
    ----------
    organism_mass : quantity
        Living mass of the group. [kg VSS]
    srt : quantity
        Sludge age. [d]
    decay_rate : quantity
        Endogenous rate at the temperature. [1/d]
    residue_fraction : quantity
        Share of what decays that stays as residue. [-]

    Returns
    -------
    quantity
        Volatile mass. [kg VSS]

    Notes
    -----
    M_E = f b SRT M.

    Examples
    --------
    >>> round(endogenous_mass(12503.0, 20.0, 0.2022, 0.20) / 100.0) * 100
    10100

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    return residue_fraction * decay_rate * srt * organism_mass


@equation
def inert_mass(
    flow: Quantity, inert_cod: Quantity, srt: Quantity, cod_per_vss: Quantity
) -> Quantity:
    """Particulate unbiodegradable organics of the influent held in the system.

    Parameters
    ----------
    flow : quantity
        Plant flow. [m3/d]
    inert_cod : quantity
        Particulate unbiodegradable COD. [mg COD/L]
    srt : quantity
        Sludge age. [d]
    cod_per_vss : quantity
        COD of volatile sludge. [g COD/g VSS]

    Returns
    -------
    quantity
        Volatile mass. [kg VSS]

    Notes
    -----
    M_I = Q X_I SRT / f_cv.

    Examples
    --------
    >>> round(inert_mass(15000.0, 112.0, 20.0, 1.48))
    22703

    References
    ----------
    HENZE2008, chapter on organic matter removal
    """
    return flow * inert_cod / 1000.0 * srt / cod_per_vss  # g/d to kg/d


@equation
def oxygen_for_carbon(
    cod_load: Quantity,
    srt: Quantity,
    organism_yield: Quantity,
    decay_rate: Quantity,
    residue_fraction: Quantity,
    cod_per_vss: Quantity,
) -> Quantity:
    """Oxygen demand of a group of organisms: growth on COD, then decay.

    Parameters
    ----------
    cod_load : quantity
        COD that the group uses. [kg COD/d]
    srt : quantity
        Sludge age. [d]
    organism_yield : quantity
        Yield. [g VSS/g COD]
    decay_rate : quantity
        Endogenous rate at the temperature. [1/d]
    residue_fraction : quantity
        Share of what decays that stays as residue. [-]
    cod_per_vss : quantity
        COD of volatile sludge. [g COD/g VSS]

    Returns
    -------
    quantity
        Oxygen, before the credit of denitrification. [kg/d]

    Notes
    -----
    FO = F ((1 - f_cv Y) + f_cv (1 - f) b Y SRT/(1 + b SRT)). With the sludge made it equals the
    COD used: the balance closes exactly.

    Examples
    --------
    >>> round(oxygen_for_carbon(7006.4, 20.0, 0.45, 0.24 * 1.029**-6, 0.20, 1.48))
    5333

    References
    ----------
    HENZE2008, chapter on enhanced biological phosphorus removal
    """
    growth = 1.0 - cod_per_vss * organism_yield
    decay = (1.0 - residue_fraction) * decay_rate * organism_yield * srt / (1.0 + decay_rate * srt)
    return cod_load * (growth + cod_per_vss * decay)


@equation
def nitrogen_into_sludge(
    nitrogen_content: Quantity, volatile_mass: Quantity, srt: Quantity, flow: Quantity
) -> Quantity:
    """Nitrogen that leaves with the wasted sludge.

    Parameters
    ----------
    nitrogen_content : quantity
        Nitrogen of volatile sludge. [g N/g VSS]
    volatile_mass : quantity
        Volatile mass in the system. [kg VSS]
    srt : quantity
        Sludge age. [d]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Nitrogen, per litre of plant flow. [mg N/L]

    Notes
    -----
    N_s = f_N M / (SRT Q).

    Examples
    --------
    >>> round(nitrogen_into_sludge(0.10, 56428.0, 20.0, 15000.0), 2)
    18.81

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    return nitrogen_content * volatile_mass * 1000.0 / (srt * flow)  # kg/m3 to mg/L


@equation
def retention_time(volume: Quantity, flow: Quantity) -> Quantity:
    """Nominal retention time of a zone or a tank.

    Parameters
    ----------
    volume : quantity
        Volume. [m3]
    flow : quantity
        Plant flow, without recycles. [m3/d]

    Returns
    -------
    quantity
        Retention time. [h]

    Notes
    -----
    HRT = 24 V / Q. An anaerobic zone wants 0.75 to 3 h.

    Examples
    --------
    >>> round(retention_time(5703.0, 20000.0), 1)
    6.8

    References
    ----------
    UBC_APSC150, question 1
    """
    return 24.0 * volume / flow  # h/d
