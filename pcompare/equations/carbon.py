"""Purchased carbon: what stored COD removes, what it makes, and what products bring."""

from __future__ import annotations

from pcompare import tables
from pcompare.arrays import Quantity, equation, maximum, ratio, sqrt
from pcompare.equations.nitrogen import NEVER


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
def soluble_for_total(
    total_phosphorus: Quantity,
    phosphorus_fed: Quantity,
    soluble_present: Quantity,
    effluent_tss: Quantity,
    solids_made: Quantity,
    solids_per_phosphorus: Quantity,
) -> Quantity:
    """Soluble phosphorus that more stored carbon has to leave for a total phosphorus.

    Parameters
    ----------
    total_phosphorus : quantity
        Total phosphorus wanted behind the clarifiers, without the non-reactive part. [mg P/L]
    phosphorus_fed : quantity
        Reactive and particulate phosphorus that enters the reactor. [mg P/L]
    soluble_present : quantity
        Soluble phosphorus left without more carbon. [mg P/L]
    effluent_tss : quantity
        Suspended solids of the effluent. [mg/L]
    solids_made : quantity
        Solids made without more carbon, per litre of plant flow. [mg/L]
    solids_per_phosphorus : quantity
        Solids made for each phosphorus that more carbon removes. [g/g P]

    Returns
    -------
    quantity
        Soluble phosphorus; negative where solids alone exceed the total. [mg P/L]

    Notes
    -----
    S + (P - S) X_e/(W + k (S_0 - S)) = T, the closed balance of effluent solids: the quadratic
    k S^2 - B S + D with B = W + k (S_0 + T) - X_e and D = T (W + k S_0) - P X_e, its smaller root
    as 2 D/(B + sqrt(B^2 - 4 k D)), so that no digits are lost as k goes to zero.

    Examples
    --------
    Without solids in the effluent all of the total may be dissolved.

    >>> round(float(soluble_for_total(0.5, 7.0, 1.2, 0.0, 150.0, 8.0)), 12)
    0.5
    >>> s = float(soluble_for_total(0.5, 7.0, 1.2, 8.0, 150.0, 8.0))
    >>> round(s + (7.0 - s) * 8.0 / (150.0 + 8.0 * (1.2 - s)), 12)
    0.5

    References
    ----------
    COMPUTED, closed balance of phosphorus in effluent solids
    """
    made = solids_made + solids_per_phosphorus * soluble_present
    linear = made + solids_per_phosphorus * total_phosphorus - effluent_tss
    rest = total_phosphorus * made - phosphorus_fed * effluent_tss
    root = sqrt(maximum(linear * linear - 4.0 * solids_per_phosphorus * rest, 0.0))
    return 2.0 * rest / (linear + root)


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
def sodium_per_cod(formula: str) -> Quantity:
    """Sodium that comes with the COD of a compound.

    Parameters
    ----------
    formula : str
        Carbon, hydrogen, oxygen and the sodium of a salt: ``C2H3O2Na``. [text]

    Returns
    -------
    quantity
        Sodium for each COD; 0 for an acid, an alcohol or a sugar. [g Na/g COD]

    Raises
    ------
    ValueError
        If the formula holds another element or no carbon.

    Notes
    -----
    Na/COD = n M(Na) / (M COD), n atoms of sodium in the formula.

    Examples
    --------
    >>> round(sodium_per_cod("C2H3O2Na"), 3)
    0.359

    References
    ----------
    IUPAC2021, atomic weights
    """
    atoms = tables.composition(formula).get("Na", 0)
    per_mass = atoms * tables.molar_mass("Na") / tables.molar_mass(formula)
    return per_mass / carbon_product_cod(formula)


@equation
def alkalinity_per_cod(formula: str) -> Quantity:
    """Alkalinity that stays once the COD of a compound is oxidised.

    Parameters
    ----------
    formula : str
        Carbon, hydrogen, oxygen and the sodium or potassium of a salt: ``C2H3O2Na``. [text]

    Returns
    -------
    quantity
        Alkalinity for each COD; 0 for an acid, an alcohol or a sugar. [g CaCO3/g COD]

    Raises
    ------
    ValueError
        If the formula holds another element or no carbon.

    Notes
    -----
    Alk/COD = n M(CaCO3) / (2 M COD), one equivalent for each of the n atoms of sodium or potassium:
    the cation stays and takes bicarbonate for company.

    Examples
    --------
    >>> round(alkalinity_per_cod("C2H3O2Na"), 3)
    0.782

    References
    ----------
    STUMM1996, alkalinity as the excess of strong cations
    """
    composition = tables.composition(formula)
    atoms = composition.get("Na", 0) + composition.get("K", 0)
    per_mass = atoms * tables.molar_mass("CaCO3") / 2.0 / tables.molar_mass(formula)
    return per_mass / carbon_product_cod(formula)


@equation
def carbon_product_use(
    cod_load: Quantity, compound_cod: Quantity, mass_fraction: Quantity
) -> Quantity:
    """Carbon product as delivered that brings a load of COD.

    Parameters
    ----------
    cod_load : quantity
        COD to be bought. [kg COD/d]
    compound_cod : quantity
        COD of the pure compound, `carbon_product_cod`, or of the product. [g COD/g]
    mass_fraction : quantity
        Compound by mass of the product; 1 where the COD is that of the product. [kg/kg]

    Returns
    -------
    quantity
        Product. [kg/d]

    Notes
    -----
    m = F / (COD w). What is not usable has to be in the load: F = need / usable share. The volume
    is `product_volume`.

    Examples
    --------
    80 % acetic acid.

    >>> round(carbon_product_use(1000.0, 1.0657, 0.80))
    1173

    References
    ----------
    IUPAC2021, atomic weights
    """
    return cod_load / (compound_cod * mass_fraction)


@equation
def price_per_usable_cod(
    price: Quantity, compound_cod: Quantity, mass_fraction: Quantity, usable_share: Quantity
) -> Quantity:
    """Price of the COD that storing organisms can use, to compare carbon products by.

    Parameters
    ----------
    price : quantity
        Price of the product as delivered. [money/kg]
    compound_cod : quantity
        COD of the pure compound, `carbon_product_cod`, or of the product. [g COD/g]
    mass_fraction : quantity
        Compound by mass of the product; 1 where the COD is that of the product. [kg/kg]
    usable_share : quantity
        Share of the COD that is stored. [-]

    Returns
    -------
    quantity
        Price of usable COD; 1 000 000 where none is usable. [money/kg]

    Notes
    -----
    price / (COD w u). Finite where nothing is usable, so that such a product is never the cheapest.
    It leaves out what sodium, sludge and oxygen of the rest cost.

    Examples
    --------
    >>> round(float(price_per_usable_cod(0.85, 1.0657, 0.80, 1.0)), 3)
    0.997

    References
    ----------
    COMPUTED, price over usable COD
    """
    return ratio(price, compound_cod * mass_fraction * usable_share, NEVER)
