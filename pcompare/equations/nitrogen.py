"""Nitrification, denitrification, and the nitrate that reaches the zones in front."""

from __future__ import annotations

from pcompare import tables
from pcompare.arrays import NamedConstant, Quantity, equation, maximum, minimum, sqrt, where
from pcompare.equations.growth import temperature_corrected

NEVER = 1e6  # d or ratio: what stands for "without limit", finite so that it can be printed


@equation
def oxygen_per_ammonia() -> Quantity:
    """Oxygen that oxidises ammonia to nitrate.

    Returns
    -------
    quantity
        Oxygen for each nitrogen. [g O2/g N]

    Notes
    -----
    2 M(O2) / M(N) = 4.57. 8 electrons from N(-3) to N(+5), 4 for each O2.

    Examples
    --------
    >>> round(oxygen_per_ammonia(), 2)
    4.57

    References
    ----------
    METCALF2014, chapter on nitrification, stoichiometry
    """
    value = 2.0 * tables.molar_mass("O2") / tables.molar_mass("N")
    return NamedConstant(value, "oxygen_per_ammonia")


@equation
def oxygen_per_nitrate() -> Quantity:
    """Oxygen that nitrate stands in for on its way to nitrogen gas.

    Returns
    -------
    quantity
        Oxygen for each nitrogen. [g O2/g N]

    Notes
    -----
    5/4 M(O2) / M(N) = 2.86. 5 electrons from N(+5) to N(0), 4 for each O2.

    Examples
    --------
    >>> round(oxygen_per_nitrate(), 2)
    2.86

    References
    ----------
    METCALF2014, chapter on denitrification, stoichiometry
    """
    value = 1.25 * tables.molar_mass("O2") / tables.molar_mass("N")
    return NamedConstant(value, "oxygen_per_nitrate")


@equation
def monod(concentration: Quantity, half_constant: Quantity) -> Quantity:
    """Share of the largest rate at one limiting concentration.

    Parameters
    ----------
    concentration : quantity
        What limits, such as ammonia or oxygen. [mg/L]
    half_constant : quantity
        Concentration at half the largest rate, above 0. [mg/L]

    Returns
    -------
    quantity
        Rate over the largest rate. [-]

    Notes
    -----
    M = C / (K + C); 0 without it, 1 far above K. One half at C = K by definition.

    Examples
    --------
    >>> monod(2.0, 0.5)
    0.8

    References
    ----------
    METCALF2014, chapter on nitrification, kinetic expressions
    """
    return concentration / (half_constant + concentration)


@equation
def nitrifier_minimum_srt(
    growth_rate: Quantity,
    nitrifier_decay_rate: Quantity,
    unaerated_fraction: Quantity,
    oxygen_factor: Quantity,
    ammonia_factor: Quantity,
) -> Quantity:
    """Least sludge age of the whole system at which nitrifiers stay.

    Parameters
    ----------
    growth_rate : quantity
        Largest growth rate at the temperature. [1/d]
    nitrifier_decay_rate : quantity
        Decay rate at the temperature, of the same set as the growth rate. [1/d]
    unaerated_fraction : quantity
        Share of the sludge mass that is not aerated. [-]
    oxygen_factor : quantity
        Share of the growth rate at the dissolved oxygen. [-]
    ammonia_factor : quantity
        Share of the growth rate at the effluent ammonia; 1 for washout itself. [-]

    Returns
    -------
    quantity
        Sludge age; 1 000 000 where growth never outruns decay. [d]

    Notes
    -----
    SRT = 1 / (mu (1 - f_x) M_O M_N - b): growth in the aerated share only, decay everywhere.
    The cap keeps the answer finite, so that it can be compared, drawn and printed.

    Examples
    --------
    >>> round(float(nitrifier_minimum_srt(0.90, 0.17, 0.0, 1.0, 1.0)), 2)
    1.37

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    net_growth = growth_rate * (1.0 - unaerated_fraction) * oxygen_factor * ammonia_factor
    return 1.0 / maximum(net_growth - nitrifier_decay_rate, 1.0 / NEVER)


@equation
def nitrifier_washout(
    growth_rate: Quantity,
    nitrifier_decay_rate: Quantity,
    unaerated_fraction: Quantity,
    oxygen_factor: Quantity,
) -> Quantity:
    """Sludge age below which nitrifiers cannot stay, however much ammonia there is.

    Parameters
    ----------
    growth_rate : quantity
        Largest growth rate at the temperature. [1/d]
    nitrifier_decay_rate : quantity
        Decay rate at the temperature, of the same set as the growth rate. [1/d]
    unaerated_fraction : quantity
        Share of the sludge mass that is not aerated. [-]
    oxygen_factor : quantity
        Share of the growth rate at the dissolved oxygen. [-]

    Returns
    -------
    quantity
        Sludge age of the whole system; 1 000 000 where growth never outruns decay. [d]

    Notes
    -----
    SRT = 1 / (mu (1 - f_x) M_O - b). To keep nitrate out take it in the warmest month: whether a
    plant nitrifies is decided by temperature and sludge age, not by the operator's wish.

    Examples
    --------
    >>> round(float(nitrifier_washout(0.90, 0.17, 0.0, 1.0)), 2)
    1.37

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    return nitrifier_minimum_srt(
        growth_rate, nitrifier_decay_rate, unaerated_fraction, oxygen_factor, 1.0
    )


@equation
def storing_washout(washout_srt_20: Quantity, theta: Quantity, temperature: Quantity) -> Quantity:
    """Sludge age below which phosphorus-storing organisms are lost.

    Parameters
    ----------
    washout_srt_20 : quantity
        That sludge age at 20 degC. [d]
    theta : quantity
        Factor for each degree. [-]
    temperature : quantity
        Temperature of the mixed liquor. [degC]

    Returns
    -------
    quantity
        Sludge age. [d]

    Notes
    -----
    SRT = SRT_20 theta^(T - 20). Known: about 2.9 d from 13.5 to 20 degC; lost at 5 d and kept at
    15 d at 10 degC; a dynamic model loses them at 3 d and keeps them at 4 d at 20 degC.

    Examples
    --------
    >>> round(storing_washout(2.9, 0.947, 10.0), 1)
    5.0

    References
    ----------
    MAMAIS1992, washout by temperature and sludge age
    """
    return temperature_corrected(washout_srt_20, theta, temperature)


@equation
def washout_window(nitrifier_washout: Quantity, storing_washout: Quantity) -> Quantity:
    """Span of sludge ages that lose the nitrifiers and keep the phosphorus-storing organisms.

    Parameters
    ----------
    nitrifier_washout : quantity
        Sludge age below which nitrifiers are lost. [d]
    storing_washout : quantity
        Sludge age below which phosphorus-storing organisms are lost. [d]

    Returns
    -------
    quantity
        Width; negative where there is no such sludge age. [d]

    Notes
    -----
    W = SRT_nitrifiers - SRT_storing. About 3 to 5 d at 12 to 18 degC; it closes near 20 degC. Both
    must hold in one and the same month, and the plant must be able to waste so much sludge.

    Examples
    --------
    >>> round(washout_window(4.7, 4.0), 1)
    0.7

    References
    ----------
    COMMON_PRACTICE, plants at a low sludge age without nitrification
    """
    return nitrifier_washout - storing_washout


@equation
def effluent_ammonia(
    growth_rate: Quantity,
    nitrifier_decay_rate: Quantity,
    unaerated_fraction: Quantity,
    oxygen_factor: Quantity,
    srt: Quantity,
    half_constant_ammonia: Quantity,
    ammonium_available: Quantity,
) -> Quantity:
    """Ammonia left at a sludge age, or all of it where nitrifiers are washed out.

    Parameters
    ----------
    growth_rate : quantity
        Largest growth rate at the temperature. [1/d]
    nitrifier_decay_rate : quantity
        Decay rate at the temperature. [1/d]
    unaerated_fraction : quantity
        Share of the sludge mass that is not aerated. [-]
    oxygen_factor : quantity
        Share of the growth rate at the dissolved oxygen. [-]
    srt : quantity
        Sludge age of the whole system. [d]
    half_constant_ammonia : quantity
        Ammonia at half the largest growth rate. [mg N/L]
    ammonium_available : quantity
        Ammonia that would leave if nothing were nitrified. [mg N/L]

    Returns
    -------
    quantity
        Effluent ammonia. [mg N/L]

    Notes
    -----
    N_a = K (b + 1/SRT) / (mu (1 - f_x) M_O - b - 1/SRT), at most what is available. Steady state,
    completely mixed: daily peaks pass through above it.

    Examples
    --------
    >>> round(float(effluent_ammonia(0.90, 0.17, 0.0, 1.0, 1 / (0.45 - 0.17), 0.5, 30.0)), 6)
    0.5

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    loss = nitrifier_decay_rate + 1.0 / srt
    surplus = growth_rate * (1.0 - unaerated_fraction) * oxygen_factor - loss
    stay = surplus > 0.0
    left = half_constant_ammonia * loss / where(stay, surplus, 1.0)
    return where(stay, minimum(left, ammonium_available), ammonium_available)


@equation
def nitrate_after_recycle(
    nitrogen_nitrified: Quantity, return_ratio: Quantity, internal_recycle_ratio: Quantity
) -> Quantity:
    """Effluent and return-sludge nitrate where all nitrate carried forward is denitrified.

    Parameters
    ----------
    nitrogen_nitrified : quantity
        Nitrogen nitrified, per litre of plant flow. [mg N/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    internal_recycle_ratio : quantity
        Internal recycle flow over plant flow; 0 without one. [-]

    Returns
    -------
    quantity
        Nitrate. [mg N/L]

    Notes
    -----
    N_ne = N_c / (a + s + 1). Valid up to the best internal recycle ratio; above it the anoxic zone
    is the limit and not the dilution.

    Examples
    --------
    >>> round(nitrate_after_recycle(30.0, 0.5, 3.0), 2)
    6.67

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    return nitrogen_nitrified / (internal_recycle_ratio + return_ratio + 1.0)


@equation
def denitrification_potential(
    readily_cod: Quantity,
    slow_rate: Quantity,
    anoxic_fraction: Quantity,
    biodegradable_cod: Quantity,
    organism_yield: Quantity,
    decay_rate: Quantity,
    srt: Quantity,
    cod_per_vss: Quantity,
) -> Quantity:
    """Nitrate that a first anoxic zone can remove, per litre of plant flow.

    Parameters
    ----------
    readily_cod : quantity
        Readily biodegradable COD that enters the zone: behind an anaerobic zone, (1 + s) times
        the fermentable COD that leaves it. [mg COD/L]
    slow_rate : quantity
        Rate on slowly biodegradable COD at the temperature. [mg N/(mg VSS d)]
    anoxic_fraction : quantity
        Share of the sludge mass in the zone. [-]
    biodegradable_cod : quantity
        Biodegradable COD left to ordinary heterotrophs. [mg COD/L]
    organism_yield : quantity
        Their yield. [g VSS/g COD]
    decay_rate : quantity
        Their endogenous rate at the temperature. [1/d]
    srt : quantity
        Sludge age. [d]
    cod_per_vss : quantity
        COD of volatile sludge. [g COD/g VSS]

    Returns
    -------
    quantity
        Denitrification potential. [mg N/L]

    Notes
    -----
    D = S (1 - f_cv Y) / 2.856 + K2 f_x S_b Y SRT / (1 + b SRT). The first term takes the oxygen
    equivalent of nitrate from molar masses, where handbooks round it to 2.86.

    Examples
    --------
    >>> round(denitrification_potential(146, 0.101 * 1.08**-6, 0.4, 585, 0.45, 0.2022, 20, 1.48), 1)
    43.7

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    at_once = readily_cod * (1.0 - cod_per_vss * organism_yield) / oxygen_per_nitrate()
    organisms = biodegradable_cod * organism_yield * srt / (1.0 + decay_rate * srt)
    return at_once + slow_rate * anoxic_fraction * organisms


@equation
def best_internal_recycle(
    nitrogen_nitrified: Quantity,
    potential: Quantity,
    return_ratio: Quantity,
    recycle_oxygen: Quantity,
    return_oxygen: Quantity,
) -> Quantity:
    """Best internal recycle ratio: it loads the anoxic zone just to its potential.

    Parameters
    ----------
    nitrogen_nitrified : quantity
        Nitrogen nitrified. [mg N/L]
    potential : quantity
        Denitrification potential of the zone. [mg N/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    recycle_oxygen : quantity
        Dissolved oxygen in the internal recycle. [mg O2/L]
    return_oxygen : quantity
        Dissolved oxygen in the return sludge. [mg O2/L]

    Returns
    -------
    quantity
        Ratio, from 0 (the return sludge alone exhausts the zone) to 1 000 000 (nothing does). [-]

    Notes
    -----
    (a + s) N_c/(a + s + 1) + (a O_a + s O_s)/2.856 = D. Nitrate and oxygen that enter the zone
    equal its potential: a quadratic A a^2 + B a - C with A = O_a/2.856,
    B = N_c - D + ((1 + s) O_a + s O_s)/2.856 and C = (1 + s)(D - s O_s/2.856) - s N_c, solved so
    that no digits are lost as O_a goes to zero. Practical ratios end at 4 to 6.

    Examples
    --------
    >>> round(float(best_internal_recycle(30.0, 24.0, 0.5, 0.0, 0.0)), 6)  # 24 = 30 x 4/5
    3.5

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    """
    square = recycle_oxygen / oxygen_per_nitrate()
    return_debit = return_ratio * return_oxygen / oxygen_per_nitrate()
    linear = nitrogen_nitrified - potential + (1.0 + return_ratio) * square + return_debit
    spare = (1.0 + return_ratio) * (potential - return_debit) - return_ratio * nitrogen_nitrified
    spare = maximum(spare, 0.0)
    root = sqrt(linear * linear + 4.0 * square * spare)
    # 2C/(B + root) where B > 0 and (root - B)/2A elsewhere: no difference of near numbers.
    rising = linear > 0.0
    above = where(rising, 2.0 * spare, root - linear)
    below = where(rising, linear + root, 2.0 * square)
    endless = above >= NEVER * below
    best = where(endless, NEVER, above / where(endless, 1.0, below))
    return where(spare > 0.0, best, 0.0)


@equation
def nitrification_oxygen(nitrogen_nitrified: Quantity, flow: Quantity) -> Quantity:
    """Oxygen demand of nitrification.

    Parameters
    ----------
    nitrogen_nitrified : quantity
        Nitrogen nitrified, per litre of plant flow. [mg N/L]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Oxygen. [kg/d]

    Notes
    -----
    FO_N = 4.57 Q N_c, 2 mol O2 for each mol N. Cell synthesis, which lowers it to 4.2-4.3, is left
    out: the nitrogen built into sludge is already taken from what is nitrified.

    Examples
    --------
    >>> round(nitrification_oxygen(1.0, 1000.0), 2)
    4.57

    References
    ----------
    METCALF2014, chapter on nitrification, stoichiometry
    """
    return nitrogen_nitrified * oxygen_per_ammonia() * flow / 1000.0  # g/d to kg/d


@equation
def denitrification_oxygen_credit(nitrogen_denitrified: Quantity, flow: Quantity) -> Quantity:
    """Oxygen saved because nitrate oxidised COD in its stead.

    Parameters
    ----------
    nitrogen_denitrified : quantity
        Nitrate denitrified, per litre of plant flow. [mg N/L]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Oxygen, to be subtracted from the demand. [kg/d]

    Notes
    -----
    FO_D = 2.86 Q N_d, 5/4 mol O2 for each mol N.

    Examples
    --------
    >>> round(denitrification_oxygen_credit(1.0, 1000.0), 2)
    2.86

    References
    ----------
    METCALF2014, chapter on denitrification, stoichiometry
    """
    return nitrogen_denitrified * oxygen_per_nitrate() * flow / 1000.0  # g/d to kg/d
