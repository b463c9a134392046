"""Phosphorus that sludge treatment gives back: recovered as struvite, or returned to the plant."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation, maximum, minimum, ratio
from pcompare.tables import composition, molar_mass

STRUVITE = "MgNH4PO4.6H2O"
# Hydroxide that one magnesium of each product brings.
HYDROXIDE = {"MgCl2": 0.0, "MgCl2.6H2O": 0.0, "MgSO4": 0.0, "Mg(OH)2": 2.0, "MgO": 2.0}


# ---------------------------------------------------------------- the return load


@equation
def liquor_phosphorus(
    sludge_phosphorus: Quantity, release_share: Quantity, fixed_share: Quantity
) -> Quantity:
    """Phosphorus in the liquor of digested or stripped sludge.

    Parameters
    ----------
    sludge_phosphorus : quantity
        Phosphorus of the sludge that can be released, stored as polyphosphate. [kg/d]
    release_share : quantity
        Share of it that is released. [-]
    fixed_share : quantity
        Share of the release that is fixed again, as struvite or by aluminium. [-]

    Returns
    -------
    quantity
        Phosphorus. [kg/d]

    Notes
    -----
    L = P r (1 - f). Digestion frees 60 to 90 % of stored phosphorus; magnesium, ammonia and metal
    take part of it back.

    Examples
    --------
    >>> round(liquor_phosphorus(100.0, 0.75, 0.6), 6)
    30.0

    References
    ----------
    JARDIN2001, release in digestion and fixation
    """
    return sludge_phosphorus * release_share * (1.0 - fixed_share)


@equation
def returned_share(
    stored_share: Quantity,
    release_share: Quantity,
    fixed_share: Quantity,
    recovered_share: Quantity,
) -> Quantity:
    """Share of the phosphorus removed in the reactor that sludge treatment returns.

    Parameters
    ----------
    stored_share : quantity
        Share of the phosphorus removed that is stored as polyphosphate. [-]
    release_share : quantity
        Share of stored phosphorus that is released. [-]
    fixed_share : quantity
        Share of the release that is fixed again. [-]
    recovered_share : quantity
        Share of the liquor's phosphorus that is recovered; 0 without. [-]

    Returns
    -------
    quantity
        Share of the phosphorus removed. [-]

    Notes
    -----
    phi = p r (1 - f) (1 - c). 10 to 30 % are typical, 50 % and more where nothing fixes it again.

    Examples
    --------
    >>> round(returned_share(0.66, 0.75, 0.6, 0.0), 3)
    0.198

    References
    ----------
    JARDIN2001, release in digestion and fixation
    """
    return stored_share * release_share * (1.0 - fixed_share) * (1.0 - recovered_share)


@equation
def reactor_phosphorus(
    phosphorus_raw: Quantity, phosphorus_out: Quantity, return_share: Quantity
) -> Quantity:
    """Phosphorus of the reactor's feed with the return load, the loop solved.

    Parameters
    ----------
    phosphorus_raw : quantity
        Total phosphorus without the return load. [mg P/L]
    phosphorus_out : quantity
        Total phosphorus that leaves the reactor unremoved. [mg P/L]
    return_share : quantity
        Share of the phosphorus removed that comes back, `returned_share`; below 1. [-]

    Returns
    -------
    quantity
        Total phosphorus of the feed. [mg P/L]

    Notes
    -----
    P = (P_raw - phi P_out)/(1 - phi), the closed form of P = P_raw + phi (P - P_out). Returns are
    a share of what is removed, not of the raw load, so they feed themselves.

    Examples
    --------
    >>> round(reactor_phosphorus(7.0, 0.5, 0.2), 3)
    8.625

    References
    ----------
    COMPUTED, phosphorus balance of reactor and sludge treatment
    """
    return (phosphorus_raw - return_share * phosphorus_out) / (1.0 - return_share)


@equation
def return_load_residual(
    reactor_phosphorus: Quantity,
    phosphorus_raw: Quantity,
    phosphorus_out: Quantity,
    return_share: Quantity,
) -> Quantity:
    """Phosphorus by which a return load misses its own balance; 0 when it is solved.

    Parameters
    ----------
    reactor_phosphorus : quantity
        Total phosphorus of the reactor's feed with the return load. [mg P/L]
    phosphorus_raw : quantity
        Total phosphorus without the return load. [mg P/L]
    phosphorus_out : quantity
        Total phosphorus that leaves the reactor unremoved. [mg P/L]
    return_share : quantity
        Share of the phosphorus removed that comes back, `returned_share`. [-]

    Returns
    -------
    quantity
        Feed assumed less feed that follows from it. [mg P/L]

    Notes
    -----
    e = P - P_raw - phi (P - P_out). It rises with P, so it can be searched where the effluent
    depends on the feed.

    Examples
    --------
    >>> round(return_load_residual(8.0, 7.0, 0.5, 0.2), 6)
    -0.5

    References
    ----------
    COMPUTED, phosphorus balance of reactor and sludge treatment
    """
    returned = return_share * (reactor_phosphorus - phosphorus_out)
    return reactor_phosphorus - phosphorus_raw - returned


# ---------------------------------------------------------------- recovery


@equation
def recovered_phosphorus(
    liquor_load: Quantity,
    reactor_efficiency: Quantity,
    product_share: Quantity,
    phosphorus_entering: Quantity,
    recovery_ceiling: Quantity,
) -> Quantity:
    """Phosphorus that leaves as a product.

    Parameters
    ----------
    liquor_load : quantity
        Phosphate that the recovery reactor receives. [kg/d]
    reactor_efficiency : quantity
        Share of it that precipitates. [-]
    product_share : quantity
        Share of the precipitate that is caught as product; the rest are fines. [-]
    phosphorus_entering : quantity
        Phosphorus that enters the plant. [kg/d]
    recovery_ceiling : quantity
        Largest share of it that has been thought recoverable. [-]

    Returns
    -------
    quantity
        Phosphorus. [kg/d]

    Notes
    -----
    R = min(L e c, s P_in). From liquor alone 10 to 25 % of the influent's phosphorus, with
    stripping of the waste sludge before thickening 30 to 50 %. Fines return with the liquor.

    Examples
    --------
    >>> round(float(recovered_phosphorus(20.0, 0.90, 0.85, 100.0, 0.75)), 6)
    15.3

    References
    ----------
    FATTAH2004, more than 90 % removed, more than 85 % of it as pellets
    JEANMAIRE2001, 75 % of the influent's phosphorus
    """
    caught = liquor_load * reactor_efficiency * product_share
    return minimum(caught, recovery_ceiling * phosphorus_entering)


@equation
def influent_share(phosphorus_recovered: Quantity, phosphorus_entering: Quantity) -> Quantity:
    """Recovered phosphorus as a share of what enters the plant.

    Parameters
    ----------
    phosphorus_recovered : quantity
        Phosphorus that leaves as a product. [kg/d]
    phosphorus_entering : quantity
        Phosphorus that enters the plant. [kg/d]

    Returns
    -------
    quantity
        Share; 0 where none enters. [-]

    Notes
    -----
    share = R / P_in. Percentages quoted for the liquor are not this: 90 % of the liquor is 10 to
    25 % of the influent.

    Examples
    --------
    >>> float(influent_share(15.0, 100.0))
    0.15

    References
    ----------
    JEANMAIRE2001, share of the influent's phosphorus
    """
    return ratio(phosphorus_recovered, phosphorus_entering, 0.0)


@equation
def struvite_mass(phosphorus_recovered: Quantity) -> Quantity:
    """Struvite that holds the recovered phosphorus.

    Parameters
    ----------
    phosphorus_recovered : quantity
        Phosphorus that leaves as a product. [kg/d]

    Returns
    -------
    quantity
        Struvite, MgNH4PO4 with 6 H2O. [kg/d]

    Notes
    -----
    S = R M(MgNH4PO4.6H2O)/M(P), 7.92 R.

    Examples
    --------
    >>> round(struvite_mass(1.0), 2)
    7.92

    References
    ----------
    IUPAC2021, atomic weights
    """
    return phosphorus_recovered * molar_mass(STRUVITE) / molar_mass("P")


@equation
def nitrogen_in_struvite(phosphorus_recovered: Quantity) -> Quantity:
    """Nitrogen that leaves with struvite.

    Parameters
    ----------
    phosphorus_recovered : quantity
        Phosphorus that leaves as a product. [kg/d]

    Returns
    -------
    quantity
        Nitrogen. [kg/d]

    Notes
    -----
    N = R M(N)/M(P), 0.452 R: little of what the liquor holds.

    Examples
    --------
    >>> round(nitrogen_in_struvite(1.0), 3)
    0.452

    References
    ----------
    IUPAC2021, atomic weights
    """
    return phosphorus_recovered * molar_mass("N") / molar_mass("P")


@equation
def phosphate_as_oxide(phosphorus_recovered: Quantity) -> Quantity:
    """Recovered phosphorus as fertilisers are traded, P2O5.

    Parameters
    ----------
    phosphorus_recovered : quantity
        Phosphorus that leaves as a product. [kg/d]

    Returns
    -------
    quantity
        P2O5. [kg/d]

    Notes
    -----
    P2O5 = R M(P2O5)/(2 M(P)), 2.29 R.

    Examples
    --------
    >>> round(phosphate_as_oxide(1.0), 3)
    2.291

    References
    ----------
    IUPAC2021, atomic weights
    """
    return phosphorus_recovered * molar_mass("P2O5") / (2.0 * molar_mass("P"))


@equation
def magnesium_demand(phosphorus_precipitating: Quantity, magnesium_excess: Quantity) -> Quantity:
    """Magnesium to be fed to a struvite reactor.

    Parameters
    ----------
    phosphorus_precipitating : quantity
        Phosphorus that precipitates, fines included. [kg/d]
    magnesium_excess : quantity
        Magnesium fed per phosphorus. [mol/mol]

    Returns
    -------
    quantity
        Magnesium. [kg/d]

    Notes
    -----
    Mg = b R M(Mg)/M(P), 0.785 R at 1 to 1; 1.1 to 1.3 are fed. Magnesium of the liquor counts
    towards it.

    Examples
    --------
    >>> round(magnesium_demand(1.0, 1.0), 3)
    0.785

    References
    ----------
    IUPAC2021, atomic weights
    """
    moles = phosphorus_precipitating / molar_mass("P")
    return magnesium_excess * moles * molar_mass("Mg")


@equation
def magnesium_product(magnesium_load: Quantity, formula: str) -> Quantity:
    """Pure magnesium compound that brings a mass of magnesium.

    Parameters
    ----------
    magnesium_load : quantity
        Magnesium. [kg/d]
    formula : str
        Compound: ``MgCl2``, ``MgCl2.6H2O``, ``Mg(OH)2``, ``MgO``. [text]

    Returns
    -------
    quantity
        Pure compound. [kg/d]

    Raises
    ------
    ValueError
        If the compound holds no magnesium.

    Notes
    -----
    m = Mg M(compound)/M(Mg).

    Examples
    --------
    >>> round(magnesium_product(0.7843, "Mg(OH)2"), 2)
    1.88

    References
    ----------
    IUPAC2021, atomic weights
    """
    atoms = composition(formula).get("Mg", 0)
    if not atoms:
        raise ValueError(f"found formula '{formula}'; needs a compound of magnesium")
    return magnesium_load * molar_mass(formula) / (atoms * molar_mass("Mg"))


@equation
def struvite_caustic(
    phosphorus_precipitating: Quantity,
    acid_per_phosphorus: Quantity,
    magnesium_excess: Quantity,
    formula: str,
) -> Quantity:
    """Caustic soda that holds the pH of a struvite reactor.

    Parameters
    ----------
    phosphorus_precipitating : quantity
        Phosphorus that precipitates, fines included. [kg/d]
    acid_per_phosphorus : quantity
        Acid set free, less what air strips as carbon dioxide. [eq/mol]
    magnesium_excess : quantity
        Magnesium fed per phosphorus. [mol/mol]
    formula : str
        Compound that brings the magnesium: ``MgCl2``, ``Mg(OH)2``, ``MgO``. [text]

    Returns
    -------
    quantity
        Pure NaOH, not below 0. [kg/d]

    Raises
    ------
    ValueError
        If the compound is not one of those whose hydroxide is known.

    Notes
    -----
    NaOH = R/M(P) max(0, n - b h) M(NaOH), h = 2 for hydroxide and oxide, 0 for chloride. Struvite
    from HPO4 sets one equivalent free, from H2PO4 two. Hydroxide and oxide bring more base than
    that, and dissolve slowly.

    Examples
    --------
    >>> round(float(struvite_caustic(1.0, 1.0, 1.2, "MgCl2")), 2)
    1.29

    References
    ----------
    IUPAC2021, atomic weights
    STUMM1996, acid-base reactions of phosphate
    """
    if formula not in HYDROXIDE:
        raise ValueError(f"found formula '{formula}'; needs one of {', '.join(HYDROXIDE)}")
    needed = maximum(acid_per_phosphorus - magnesium_excess * HYDROXIDE[formula], 0.0)
    return phosphorus_precipitating / molar_mass("P") * needed * molar_mass("NaOH")
