"""What is bought and hauled in a year: use, price on the basis quoted, credits, lorries."""

from __future__ import annotations

from pcompare.arrays import Quantity, equation, maximum
from pcompare.tables import molar_mass
from pcompare.units import DAYS_PER_MONTH, DAYS_PER_YEAR, KILOGRAMS_PER_TONNE


@equation
def yearly_cost(use: Quantity, unit_price: Quantity) -> Quantity:
    """Cost in a year of what is used each day.

    Parameters
    ----------
    use : quantity
        Amount used per day, in the unit that the price counts. [*]
    unit_price : quantity
        Price per amount. [*]

    Returns
    -------
    quantity
        Cost per year. [money/y]

    Notes
    -----
    c = 365 use unit_price

    Examples
    --------
    5 200 tons of cake in a year, at 89.97:

    >>> round(yearly_cost(5200 / 365, 89.97))
    467844

    References
    ----------
    CAKE_CONTRACT2025
    """
    return use * unit_price * DAYS_PER_YEAR


@equation
def price_on_basis(
    quoted_price: Quantity,
    quoted_mass: Quantity,
    quoted_content: Quantity,
    priced_content: Quantity,
) -> Quantity:
    """Price per tonne of what is priced here, from a quotation on another basis.

    Parameters
    ----------
    quoted_price : quantity
        Price for each unit of the quotation. [money]
    quoted_mass : quantity
        Mass of that unit: 1 for a tonne, 0.907 for a short ton, the weight of a gallon. [t]
    quoted_content : quantity
        What the quotation counts as a share of the product: 1 for the product as delivered, its
        dry strength, or its metal. [kg/kg]
    priced_content : quantity
        What is priced here as a share of the product: 1 for the product as delivered. [kg/kg]

    Returns
    -------
    quantity
        Price. [money/t]

    Notes
    -----
    p = quoted_price quoted_content/(quoted_mass priced_content)

    Examples
    --------
    Alum of 48.5 % at 500 for a short ton dry:

    >>> round(price_on_basis(500, 0.90718474, 0.485, 1.0), 1)
    267.3

    References
    ----------
    CDPH_DOSAGE, strength of liquid alum
    """
    return quoted_price * quoted_content / (quoted_mass * priced_content)


@equation
def salt_cost_per_phosphorus(
    product_price: Quantity, metal_fraction: Quantity, metal_to_phosphorus: Quantity, metal: str
) -> Quantity:
    """Cost of the metal salt alone for each kilogram of phosphorus.

    Parameters
    ----------
    product_price : quantity
        Price of the product. [money/t]
    metal_fraction : quantity
        Metal in the product, by mass. [kg/kg]
    metal_to_phosphorus : quantity
        Metal fed per phosphorus. [mol/mol]
    metal : str
        Symbol of the metal.

    Returns
    -------
    quantity
        Cost per mass of phosphorus. [money/kg]

    Notes
    -----
    c = product_price/1000 (metal_to_phosphorus M(metal)/M(P))/metal_fraction

    At a low residual the ratio climbs steeply: a ratio of 1 mg/L understates the cost of 0.1 mg/L.

    Examples
    --------
    Ferric chloride at 1 000 for a short ton dry, two mol per mol, as a price per pound:

    >>> dry = 1000 / 0.90718474
    >>> round(salt_cost_per_phosphorus(dry, 0.3443, 2.0, "Fe") * 0.45359237, 3)
    5.237

    References
    ----------
    COMPUTED
    """
    mass_ratio = metal_to_phosphorus * molar_mass(metal) / molar_mass("P")
    return product_price / KILOGRAMS_PER_TONNE * mass_ratio / metal_fraction


@equation
def phosphorus_to_cover(
    total_phosphorus: Quantity, target: Quantity, flow: Quantity, trading_ratio: Quantity
) -> Quantity:
    """Phosphorus above a target that credits have to cover in a year.

    Parameters
    ----------
    total_phosphorus : quantity
        Total phosphorus that the plant discharges. [mg P/L]
    target : quantity
        Concentration that has to be held. [mg P/L]
    flow : quantity
        Average flow. [m3/d]
    trading_ratio : quantity
        Credits asked for each kilogram discharged. [-]

    Returns
    -------
    quantity
        Credits, never below zero. [kg/y]

    Notes
    -----
    m = 365 flow max(0, total_phosphorus - target) trading_ratio/1000

    Examples
    --------
    >>> round(float(phosphorus_to_cover(1.2, 0.2, 3785.41, 1.0)), 1)
    1381.7

    References
    ----------
    WI_VARIANCE2015, payment for each pound above 0.2 mg/L
    """
    above = maximum(total_phosphorus - target, 0.0)
    return above * flow * trading_ratio * DAYS_PER_YEAR / KILOGRAMS_PER_TONNE


@equation
def lorry_loads(
    delivered_volume: Quantity, delivery: Quantity, cake: Quantity, lorry_load: Quantity
) -> Quantity:
    """Lorries that bring chemicals and take cake away, in a month.

    Parameters
    ----------
    delivered_volume : quantity
        Products delivered in bulk. [m3 product/d]
    delivery : quantity
        Volume of one delivery. [m3]
    cake : quantity
        Wet cake. [t/d]
    lorry_load : quantity
        Cake on one lorry. [t]

    Returns
    -------
    quantity
        Loads in a month. [-]

    Notes
    -----
    n = 365/12 (delivered_volume/delivery + cake/lorry_load)

    Examples
    --------
    >>> round(lorry_loads(1.8, 18.0, 4.0, 20.0), 3)
    9.125

    References
    ----------
    COMPUTED
    """
    return (delivered_volume / delivery + cake / lorry_load) * DAYS_PER_MONTH
