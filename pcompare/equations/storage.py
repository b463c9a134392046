"""Storage of phosphorus by organisms at steady state: COD stored, phosphorus taken and released.

The masses of the two groups and the COD that the one leaves to the other depend on each other.
A caller starts with nothing stored and passes 20 times through ``growth.active_mass``,
``fermentables_leaving`` and ``cod_stored``.
"""

from __future__ import annotations

from pcompare.arrays import Quantity, equation, maximum, ratio
from pcompare.equations.nitrogen import oxygen_per_nitrate


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
def anoxic_phosphate(
    anaerobic_phosphate: Quantity,
    soluble_phosphorus: Quantity,
    feed_ratio: Quantity,
    other_flows: Quantity,
    anoxic_uptake_share: Quantity,
) -> Quantity:
    """Phosphate at the end of the anoxic zone behind an anaerobic one.

    Parameters
    ----------
    anaerobic_phosphate : quantity
        Phosphate at the end of the anaerobic zone. [mg P/L]
    soluble_phosphorus : quantity
        Phosphate of the effluent, and so of what comes back to the anoxic zone. [mg P/L]
    feed_ratio : quantity
        Sludge flow into the anaerobic zone over plant flow. [-]
    other_flows : quantity
        Recycles into the anoxic zone itself over plant flow. [-]
    anoxic_uptake_share : quantity
        Share of the uptake that takes place without air. [-]

    Returns
    -------
    quantity
        Phosphate. [mg P/L]

    Notes
    -----
    P = P_e + (1 - u)(1 + s)(P_an - P_e)/(1 + s + a): recycles dilute what the anaerobic zone let
    go, and the organisms take a part of it up on nitrate. At the end of the aerated zone it is P_e.

    Examples
    --------
    >>> round(anoxic_phosphate(20.0, 0.5, 0.5, 2.5, 0.3), 3)
    5.619

    References
    ----------
    COMPUTED, phosphorus balance of the anoxic zone
    """
    rich = 1.0 + feed_ratio
    above = (anaerobic_phosphate - soluble_phosphorus) * rich / (rich + other_flows)
    return soluble_phosphorus + (1.0 - anoxic_uptake_share) * above


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
