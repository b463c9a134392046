"""Storage of phosphorus by organisms at steady state: COD stored, sludge made, phosphorus taken.

The masses of the two groups and the COD that the one leaves to the other depend on each other.
A caller starts with nothing stored and passes 20 times through `active_mass`,
`fermentables_leaving` and `cod_stored`, which is far more than the answer needs.
"""

from __future__ import annotations

from pcompare import tables
from pcompare.arrays import Quantity, equation, maximum, ratio
from pcompare.equations.nitrogen import oxygen_per_nitrate

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
def cod_per_nitrate(cod_yield: Quantity) -> Quantity:
    """COD that the denitrification of nitrate uses up.

    Parameters
    ----------
    cod_yield : quantity
        Yield of the organisms as COD. [g COD/g COD]

    Returns
    -------
    quantity
        COD for each nitrate nitrogen. [mg COD/mg N]

    Notes
    -----
    e_N = 2.856 / (1 - Y). The oxygen equivalent of nitrate is from molar masses: 8.55 at a yield
    of 0.666, which handbooks round to 8.6. The band in practice is 5 to 9.

    Examples
    --------
    >>> round(cod_per_nitrate(0.402), 2)
    4.78

    References
    ----------
    HENZE2008, chapter on nitrogen removal
    WST38_285, anoxic yield of 0.402 measured
    """
    return oxygen_per_nitrate() / (1.0 - cod_yield)


@equation
def cod_per_oxygen(cod_yield: Quantity) -> Quantity:
    """COD that organisms use up with each mass of dissolved oxygen.

    Parameters
    ----------
    cod_yield : quantity
        Yield of the organisms as COD. [g COD/g COD]

    Returns
    -------
    quantity
        COD for each oxygen. [mg COD/mg O2]

    Notes
    -----
    e_O = 1 / (1 - Y).

    Examples
    --------
    >>> round(cod_per_oxygen(0.666), 2)
    2.99

    References
    ----------
    HENZE2008, chapter on organic matter removal
    """
    return 1.0 / (1.0 - cod_yield)


@equation
def acceptor_debit(
    return_ratio: Quantity,
    return_nitrate: Quantity,
    influent_nitrate: Quantity,
    return_oxygen: Quantity,
    influent_oxygen: Quantity,
    nitrate_debit: Quantity,
    oxygen_debit: Quantity,
) -> Quantity:
    """Readily biodegradable COD that nitrate and oxygen take in the anaerobic zone.

    Parameters
    ----------
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    return_nitrate : quantity
        Nitrate in the return sludge. [mg N/L]
    influent_nitrate : quantity
        Nitrate in the influent. [mg N/L]
    return_oxygen : quantity
        Dissolved oxygen in the return sludge. [mg O2/L]
    influent_oxygen : quantity
        Dissolved oxygen in the influent. [mg O2/L]
    nitrate_debit : quantity
        COD used up for each nitrate, `cod_per_nitrate`. [mg COD/mg N]
    oxygen_debit : quantity
        COD used up for each oxygen, `cod_per_oxygen`. [mg COD/mg O2]

    Returns
    -------
    quantity
        COD, per litre of plant flow. [mg COD/L]

    Notes
    -----
    D = e_N (s NO3_s + NO3_i) + e_O (s O_s + O_i). Conservative where the sludge blanket of the
    clarifier denitrifies.

    Examples
    --------
    >>> round(acceptor_debit(0.75, 0.5, 0.0, 0.0, 0.0, 8.6, 3.0), 3)
    3.225

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    nitrate = return_ratio * return_nitrate + influent_nitrate
    oxygen = return_ratio * return_oxygen + influent_oxygen
    return nitrate_debit * nitrate + oxygen_debit * oxygen


@equation
def fermentables_after_debit(fermentable_cod: Quantity, debit: Quantity) -> Quantity:
    """Fermentable COD left to ferment after nitrate and oxygen have taken theirs.

    Parameters
    ----------
    fermentable_cod : quantity
        Fermentable readily biodegradable COD of the influent. [mg COD/L]
    debit : quantity
        COD taken by nitrate and oxygen. [mg COD/L]

    Returns
    -------
    quantity
        Fermentable COD, not below 0. [mg COD/L]

    Notes
    -----
    S_F,left = max(0, S_F - D). What is beyond comes off the volatile fatty acids.

    Examples
    --------
    >>> float(fermentables_after_debit(124.0, 3.225))
    120.775

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    return maximum(fermentable_cod - debit, 0.0)


@equation
def vfa_after_debit(vfa: Quantity, fermentable_cod: Quantity, debit: Quantity) -> Quantity:
    """Volatile fatty acids left where the debit exceeds the fermentable COD.

    Parameters
    ----------
    vfa : quantity
        Volatile fatty acids of the influent. [mg COD/L]
    fermentable_cod : quantity
        Fermentable readily biodegradable COD of the influent. [mg COD/L]
    debit : quantity
        COD taken by nitrate and oxygen. [mg COD/L]

    Returns
    -------
    quantity
        Volatile fatty acids, not below 0. [mg COD/L]

    Notes
    -----
    S_VFA,left = max(0, S_VFA - max(0, D - S_F)). That fermentables go first is judgement: it
    favours storage.

    Examples
    --------
    >>> float(vfa_after_debit(20.0, 30.0, 40.0))
    10.0

    References
    ----------
    JUDGEMENT
    """
    return maximum(vfa - maximum(debit - fermentable_cod, 0.0), 0.0)


@equation
def fermentables_leaving(
    fermentable_cod: Quantity,
    return_ratio: Quantity,
    fermentation_rate: Quantity,
    anaerobic_fraction: Quantity,
    anaerobic_stages: Quantity,
    heterotroph_mass: Quantity,
    flow: Quantity,
) -> Quantity:
    """Fermentable COD that leaves the last of several equal anaerobic stages.

    Parameters
    ----------
    fermentable_cod : quantity
        Fermentable COD after the debit, per litre of plant flow. [mg COD/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    fermentation_rate : quantity
        Fermentation rate at the temperature, per heterotroph VSS. [L/(mg d)]
    anaerobic_fraction : quantity
        Share of the sludge MASS that is anaerobic (not of the volume). [-]
    anaerobic_stages : quantity
        Number of equal stages. [-]
    heterotroph_mass : quantity
        Living ordinary heterotrophs in the system. [kg VSS]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Concentration in the stream of (1 + s) times the plant flow. [mg COD/L]

    Notes
    -----
    S_FN = S_F/(1 + s) / (1 + k_F (f_AN/N) M / (Q (1 + s)))^N. Splitting the zone helps more than
    enlarging it.

    Examples
    --------
    >>> round(fermentables_leaving(120.775, 0.75, 0.0505, 0.1, 2, 12503.0, 15000.0), 1)
    14.2

    References
    ----------
    WENTZEL1985, release as a function of the anaerobic mass fraction and the flow regime
    WENTZEL1990, steady-state design model
    """
    entering = fermentable_cod / (1.0 + return_ratio)
    # kg over m3/d is 1000 mg d/L
    stage_mass = anaerobic_fraction / anaerobic_stages * heterotroph_mass * 1000.0
    stage = 1.0 + fermentation_rate * stage_mass / (flow * (1.0 + return_ratio))
    return entering / stage**anaerobic_stages


@equation
def cod_stored(
    flow: Quantity,
    fermentable_cod: Quantity,
    fermentables_left: Quantity,
    return_ratio: Quantity,
    vfa: Quantity,
) -> Quantity:
    """COD that phosphorus-storing organisms take up in the anaerobic zone.

    Parameters
    ----------
    flow : quantity
        Plant flow. [m3/d]
    fermentable_cod : quantity
        Fermentable COD after the debit. [mg COD/L]
    fermentables_left : quantity
        Fermentable COD that leaves the zone, `fermentables_leaving`. [mg COD/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    vfa : quantity
        Volatile fatty acids after the debit, all taken up. [mg COD/L]

    Returns
    -------
    quantity
        COD stored. [kg COD/d]

    Notes
    -----
    F = Q (S_F - (1 + s) S_FN + S_VFA).

    Examples
    --------
    >>> round(cod_stored(15000.0, 120.775, 14.21, 0.75, 22.0) / 10.0) * 10
    1770

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    fermented = fermentable_cod - (1.0 + return_ratio) * fermentables_left
    return flow * (fermented + vfa) / 1000.0  # g/d to kg/d


@equation
def phosphorus_into_mass(
    phosphorus_content: Quantity, organism_mass: Quantity, srt: Quantity, flow: Quantity
) -> Quantity:
    """Phosphorus that leaves with one part of the wasted sludge.

    Parameters
    ----------
    phosphorus_content : quantity
        Phosphorus of that part. [g P/g VSS]
    organism_mass : quantity
        Its mass in the system, living or not. [kg VSS]
    srt : quantity
        Sludge age. [d]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Phosphorus removed, per litre of plant flow. [mg P/L]

    Notes
    -----
    dP = f_P M / (SRT Q). A potential: no more can be taken than there is.

    Examples
    --------
    >>> round(phosphorus_into_mass(0.38, 9509.0, 20.0, 15000.0), 2)
    12.04

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    return phosphorus_content * organism_mass * 1000.0 / (srt * flow)  # kg/m3 to mg/L


@equation
def content_for_removal(
    phosphorus_removed: Quantity,
    other_removal: Quantity,
    organism_mass: Quantity,
    srt: Quantity,
    flow: Quantity,
) -> Quantity:
    """Phosphorus content that the storing organisms really reach where phosphorus runs out.

    Parameters
    ----------
    phosphorus_removed : quantity
        Phosphorus removed in all. [mg P/L]
    other_removal : quantity
        Part of it that goes into the rest of the sludge. [mg P/L]
    organism_mass : quantity
        Living storing organisms. [kg VSS]
    srt : quantity
        Sludge age. [d]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Phosphorus content; 0 where there are none of them. [g P/g VSS]

    Notes
    -----
    f_P = (dP - dP_other) SRT Q / M, which closes the phosphorus balance. Negative where the rest
    of the sludge alone would take more than is removed: then its content is the one to lower.

    Examples
    --------
    >>> round(float(content_for_removal(8.90, 3.542, 4302.0, 10.0, 20000.0)), 3)
    0.249

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    stored = (phosphorus_removed - other_removal) / 1000.0 * srt * flow  # mg/L to kg/m3
    return ratio(stored, organism_mass, 0.0)


@equation
def phosphorus_release(release_ratio: Quantity, cod_load: Quantity, flow: Quantity) -> Quantity:
    """Phosphorus released while COD is stored.

    Parameters
    ----------
    release_ratio : quantity
        Phosphorus released for each COD stored. [mg P/mg COD]
    cod_load : quantity
        COD stored. [kg COD/d]
    flow : quantity
        Plant flow. [m3/d]

    Returns
    -------
    quantity
        Phosphorus, per litre of plant flow. [mg P/L]

    Notes
    -----
    P_rel = f F / Q. The ratio rises with pH (0.46 at pH 7) and falls where glycogen accumulators
    compete.

    Examples
    --------
    >>> round(phosphorus_release(0.5, 1768.6, 15000.0), 1)
    59.0

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    return release_ratio * cod_load * 1000.0 / flow  # kg/m3 to mg/L


@equation
def anaerobic_phosphate(
    phosphorus_total: Quantity,
    return_ratio: Quantity,
    soluble_phosphorus: Quantity,
    released: Quantity,
) -> Quantity:
    """Phosphate at the end of the anaerobic zone, what an operator measures.

    Parameters
    ----------
    phosphorus_total : quantity
        Phosphorus of the influent; orthophosphate where it is known. [mg P/L]
    return_ratio : quantity
        Return-sludge flow over plant flow. [-]
    soluble_phosphorus : quantity
        Phosphate of the effluent and so of the return sludge. [mg P/L]
    released : quantity
        Phosphorus released, per litre of plant flow. [mg P/L]

    Returns
    -------
    quantity
        Phosphate. [mg P/L]

    Notes
    -----
    P = (P_i + s P_e + P_rel)/(1 + s). 15-60 % above a dynamic model: a band, not a test.

    Examples
    --------
    >>> round(anaerobic_phosphate(17.0, 0.75, 0.263, 59.0), 1)
    43.5

    References
    ----------
    WENTZEL1990, steady-state design model
    """
    return (phosphorus_total + return_ratio * soluble_phosphorus + released) / (1.0 + return_ratio)


@equation
def storage_ash_content(
    phosphorus_content: Quantity,
    ash_heterotrophs: Quantity,
    polyphosphate_mass: Quantity,
    phosphorus_content_ordinary: Quantity,
) -> Quantity:
    """Inorganic content of the storing organisms: ordinary ash and polyphosphate.

    Parameters
    ----------
    phosphorus_content : quantity
        Phosphorus of the storing organisms as it is. [g P/g VSS]
    ash_heterotrophs : quantity
        Inorganic content of ordinary heterotrophs. [g/g]
    polyphosphate_mass : quantity
        Inorganic mass stored with each mass of phosphorus. [g/g P]
    phosphorus_content_ordinary : quantity
        Phosphorus that is not polyphosphate. [g P/g VSS]

    Returns
    -------
    quantity
        Inorganic solids for each volatile solids. [g/g]

    Notes
    -----
    f_i = f_i,OHO + m max(0, f_P - f_P,ordinary): 1.30 at a content of 0.38.

    Examples
    --------
    >>> round(float(storage_ash_content(0.38, 0.15, 3.286, 0.03)), 2)
    1.3

    References
    ----------
    EKAMA2004, inorganic content in proportion to phosphorus content
    """
    polyphosphate = maximum(phosphorus_content - phosphorus_content_ordinary, 0.0)
    return ash_heterotrophs + polyphosphate_mass * polyphosphate


@equation
def ash_mass(
    flow: Quantity,
    inorganic_solids: Quantity,
    srt: Quantity,
    heterotroph_mass: Quantity,
    ash_heterotrophs: Quantity,
    storing_mass: Quantity,
    ash_storing: Quantity,
) -> Quantity:
    """Inorganic solids in the system, without those of metal salts.

    Parameters
    ----------
    flow : quantity
        Plant flow. [m3/d]
    inorganic_solids : quantity
        Inorganic suspended solids of the influent, which stay solid. [mg/L]
    srt : quantity
        Sludge age. [d]
    heterotroph_mass : quantity
        Living ordinary heterotrophs. [kg VSS]
    ash_heterotrophs : quantity
        Their inorganic content. [g/g]
    storing_mass : quantity
        Living storing organisms. [kg VSS]
    ash_storing : quantity
        Their inorganic content, `storage_ash_content`. [g/g]

    Returns
    -------
    quantity
        Inorganic solids. [kg]

    Notes
    -----
    M = Q ISS SRT + f_i,OHO M_OHO + f_i,PAO M_PAO.

    Examples
    --------
    >>> round(ash_mass(15000.0, 49.0, 20.0, 12503.0, 0.15, 9509.0, 1.3001))
    28938

    References
    ----------
    EKAMA2004, reactor inorganic solids
    """
    influent = flow * inorganic_solids / 1000.0 * srt  # g/d to kg/d
    return influent + ash_heterotrophs * heterotroph_mass + ash_storing * storing_mass


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
def cod_per_phosphorus(
    srt: Quantity,
    organism_yield: Quantity,
    decay_rate: Quantity,
    residue_fraction: Quantity,
    phosphorus_content: Quantity,
    phosphorus_content_ordinary: Quantity,
) -> Quantity:
    """COD that must be stored to remove phosphorus, all of it taken up by storing organisms.

    Parameters
    ----------
    srt : quantity
        Sludge age. [d]
    organism_yield : quantity
        Yield of storing organisms. [g VSS/g COD]
    decay_rate : quantity
        Their endogenous rate at the temperature. [1/d]
    residue_fraction : quantity
        Share of what decays that stays as residue. [-]
    phosphorus_content : quantity
        Phosphorus of the living organisms. [g P/g VSS]
    phosphorus_content_ordinary : quantity
        Phosphorus of their residue. [g P/g VSS]

    Returns
    -------
    quantity
        COD for each phosphorus. [g COD/g P]

    Notes
    -----
    COD/P = 1 / (Y/(1 + b SRT) (f_P + f_ordinary f b SRT)). Exact for volatile fatty acids added to
    a plant whose anaerobic zone takes them all up; design practice is 7-10 g acid/g P.

    Examples
    --------
    >>> round(cod_per_phosphorus(10.0, 0.45, 0.04, 0.25, 0.38, 0.03), 2)
    8.12

    References
    ----------
    WENTZEL1990, closed form of the steady-state design model
    """
    decay = decay_rate * srt
    content = phosphorus_content + phosphorus_content_ordinary * residue_fraction * decay
    return (1.0 + decay) / (organism_yield * content)


@equation
def volatile_per_cod(
    srt: Quantity, organism_yield: Quantity, decay_rate: Quantity, residue_fraction: Quantity
) -> Quantity:
    """Volatile sludge made from COD that is stored.

    Parameters
    ----------
    srt : quantity
        Sludge age. [d]
    organism_yield : quantity
        Yield of storing organisms. [g VSS/g COD]
    decay_rate : quantity
        Their endogenous rate at the temperature. [1/d]
    residue_fraction : quantity
        Share of what decays that stays as residue. [-]

    Returns
    -------
    quantity
        Volatile sludge wasted. [g VSS/g COD]

    Notes
    -----
    Y_net = Y (1 + f b SRT) / (1 + b SRT).

    Examples
    --------
    >>> round(volatile_per_cod(10.0, 0.45, 0.04, 0.25), 3)
    0.354

    References
    ----------
    WENTZEL1990, closed form of the steady-state design model
    """
    decay = decay_rate * srt
    return organism_yield * (1.0 + residue_fraction * decay) / (1.0 + decay)


@equation
def ash_per_cod(
    srt: Quantity, organism_yield: Quantity, decay_rate: Quantity, ash_storing: Quantity
) -> Quantity:
    """Inorganic sludge made from COD that is stored.

    Parameters
    ----------
    srt : quantity
        Sludge age. [d]
    organism_yield : quantity
        Yield of storing organisms. [g VSS/g COD]
    decay_rate : quantity
        Their endogenous rate at the temperature. [1/d]
    ash_storing : quantity
        Their inorganic content, `storage_ash_content`. [g/g]

    Returns
    -------
    quantity
        Inorganic sludge wasted. [g/g COD]

    Notes
    -----
    ISS/COD = f_i Y / (1 + b SRT). The residue of decay keeps no polyphosphate.

    Examples
    --------
    >>> round(ash_per_cod(10.0, 0.45, 0.04, 1.30), 3)
    0.418

    References
    ----------
    EKAMA2004, inorganic content in proportion to phosphorus content
    """
    return ash_storing * organism_yield / (1.0 + decay_rate * srt)


@equation
def oxygen_per_cod(volatile_yield: Quantity, cod_per_vss: Quantity) -> Quantity:
    """Oxygen that COD takes once the sludge made of it is wasted.

    Parameters
    ----------
    volatile_yield : quantity
        Volatile sludge wasted, `volatile_per_cod`. [g VSS/g COD]
    cod_per_vss : quantity
        COD of volatile sludge. [g COD/g VSS]

    Returns
    -------
    quantity
        Oxygen. [g O2/g COD]

    Notes
    -----
    O2/COD = 1 - f_cv Y_net. The COD balance.

    Examples
    --------
    >>> round(oxygen_per_cod(0.3536, 1.48), 3)
    0.477

    References
    ----------
    HENZE2008, chapter on organic matter removal
    """
    return 1.0 - cod_per_vss * volatile_yield


@equation
def carbon_product_cod(formula: str) -> Quantity:
    """COD of a pure organic compound from its formula.

    Parameters
    ----------
    formula : str
        Carbon, hydrogen, oxygen, and sodium or potassium of a salt: ``C2H4O2``. [text]

    Returns
    -------
    quantity
        COD. [g COD/g]

    Raises
    ------
    ValueError
        If the formula holds another element or no carbon.

    Notes
    -----
    COD = (c + (h + m)/4 - o/2) M(O2) / M. The letters count atoms, m those of the metal of a
    salt.

    Examples
    --------
    >>> round(carbon_product_cod("C2H4O2"), 3)
    1.066

    References
    ----------
    IUPAC2021, atomic weights
    """
    atoms = tables.composition(formula)
    if "C" not in atoms or set(atoms) - {"C", "H", "O", "Na", "K"}:
        raise ValueError(f"found formula '{formula}'; needs carbon, and only C, H, O, Na and K")
    hydrogen = sum(atoms.get(element, 0) for element in ("H", "Na", "K"))
    oxygen = atoms["C"] + hydrogen / 4 - atoms.get("O", 0) / 2
    return oxygen * tables.molar_mass("O2") / tables.molar_mass(formula)


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
