"""What a plan costs over its life: growth, later payments, salvage, payback and reserves.

The factors themselves stand in ``finance``; here they meet the money.
"""

from __future__ import annotations

from math import inf, nan

from pcompare.arrays import Quantity, equation, log, ratio, solve_monotone, where
from pcompare.equations import finance

HIGHEST_RETURN = 100.0  # a saving that returns a hundredfold a year needs no study


@equation
def nominal_rate(rate: Quantity, inflation: Quantity) -> Quantity:
    """Discount rate for money of the day from the rate for constant money.

    Parameters
    ----------
    rate : quantity
        Real discount rate per year. [-]
    inflation : quantity
        General inflation per year. [-]

    Returns
    -------
    quantity
        Nominal discount rate per year. [-]

    Notes
    -----
    nominal = (1 + rate)(1 + inflation) - 1

    Examples
    --------
    >>> round(nominal_rate(0.02, 0.023), 6)
    0.04346

    References
    ----------
    NIST135, real and nominal discount rates
    """
    return (1.0 + rate) * (1.0 + inflation) - 1.0


@equation
def growth_factor(growth: Quantity, years: Quantity) -> Quantity:
    """Flow, load or number after some years over that of today.

    Parameters
    ----------
    growth : quantity
        Growth per year. [-]
    years : quantity
        Years from now. [y]

    Returns
    -------
    quantity
        Factor on today's value. [-]

    Notes
    -----
    factor = (1 + growth)^years

    Examples
    --------
    1 % a month makes 12.68 % in a year:

    >>> round(growth_factor(0.01, 12), 4)
    1.1268

    References
    ----------
    NIST135, single compound amount factor: the inverse of single present value
    """
    return (1.0 + growth) ** years


@equation
def operating_worth(
    annual_cost: Quantity,
    rate: Quantity,
    escalation: Quantity,
    growth: Quantity,
    years: Quantity,
) -> Quantity:
    """Present worth of a yearly cost whose price rises and whose amount grows.

    Parameters
    ----------
    annual_cost : quantity
        Cost per year at today's price and amount. [money/y]
    rate : quantity
        Real discount rate per year. [-]
    escalation : quantity
        Real price rise per year. [-]
    growth : quantity
        Growth of the amount per year. [-]
    years : quantity
        Number of yearly payments. [y]

    Returns
    -------
    quantity
        Present worth. [money]

    Notes
    -----
    PW = annual_cost UPW*(rate, (1 + escalation)(1 + growth) - 1, years)

    Payment k, at the end of year k, is that of year k's price and amount. Without rise and growth
    it is the uniform series.

    Examples
    --------
    30 000 a year over 30 years at 8 %:

    >>> round(float(operating_worth(30000, 0.08, 0.0, 0.0, 30)), 2)
    337733.5

    References
    ----------
    NIST135, uniform and modified uniform present value
    GSA_P100, modified uniform present value factor
    """
    rise = (1.0 + escalation) * (1.0 + growth) - 1.0
    return annual_cost * finance.escalating_present_worth(rate, rise, years)


@equation
def payment_worth(payment: Quantity, rate: Quantity, years: Quantity) -> Quantity:
    """Present worth of money paid once.

    Parameters
    ----------
    payment : quantity
        Payment in constant money. [money]
    rate : quantity
        Real discount rate per year. [-]
    years : quantity
        Time until the payment. [y]

    Returns
    -------
    quantity
        Present worth. [money]

    Notes
    -----
    PW = payment (1 + rate)^-years

    Examples
    --------
    >>> round(payment_worth(10000, 0.05, 4), 2)
    8227.02

    References
    ----------
    NIST135, single present value factor
    CHP_HANDBOOK, table 9-2
    """
    return payment * finance.single_present_worth(rate, years)


@equation
def net_present_cost(
    capital: Quantity,
    annual_cost: Quantity,
    salvage: Quantity,
    rate: Quantity,
    years: Quantity,
) -> Quantity:
    """Life-cycle cost of one alternative as engineering reports compare it.

    Parameters
    ----------
    capital : quantity
        Cost to build now. [money]
    annual_cost : quantity
        Cost per year, in constant money. [money/y]
    salvage : quantity
        Value left at the end of the period. [money]
    rate : quantity
        Real discount rate per year. [-]
    years : quantity
        Planning period. [y]

    Returns
    -------
    quantity
        Net present worth of the costs; the lowest is the cheapest. [money]

    Notes
    -----
    NPV = C + USPW(annual_cost) - SPPW(salvage)

    Examples
    --------
    >>> round(float(net_present_cost(2.0e6, 150000, 480000, 0.02, 20)), 2)
    4129688.76

    References
    ----------
    RUS1780, section 5, life-cycle cost
    CFR436, section 436.19
    """
    return (
        capital
        + annual_cost * finance.uniform_present_worth(rate, years)
        - salvage * finance.single_present_worth(rate, years)
    )


@equation
def levelised_growth(rate: Quantity, growth: Quantity, years: Quantity) -> Quantity:
    """Give the equal yearly amount that is worth as much as one that grows, over today's amount.

    Parameters
    ----------
    rate : quantity
        Real discount rate per year. [-]
    growth : quantity
        Growth of the amount per year. [-]
    years : quantity
        Planning period. [y]

    Returns
    -------
    quantity
        Factor on today's amount. [-]

    Notes
    -----
    factor = UPW*(rate, growth, years)/UPW(rate, years)

    What an equal annual cost is divided by has to be levelled alike.

    Examples
    --------
    >>> round(float(levelised_growth(0.03, 0.02, 20)), 6)
    1.215343

    References
    ----------
    GSA_P100, modified uniform present value factor
    NIST135, uniform present value factor
    """
    growing = finance.escalating_present_worth(rate, growth, years)
    return growing / finance.uniform_present_worth(rate, years)


@equation
def compounded_capital(
    direct_cost: Quantity, contingency: Quantity, engineering: Quantity
) -> Quantity:
    """Capital with engineering taken of direct cost and contingency together.

    Parameters
    ----------
    direct_cost : quantity
        Construction before contingency. [money]
    contingency : quantity
        Contingency as a share of direct cost. [-]
    engineering : quantity
        Engineering, legal and administration as a share. [-]

    Returns
    -------
    quantity
        Capital. [money]

    Notes
    -----
    C = direct_cost (1 + contingency)(1 + engineering)

    Examples
    --------
    >>> compounded_capital(1.0e6, 0.25, 0.20)
    1500000.0

    References
    ----------
    RUS1780, section 5: construction and non-construction cost
    """
    return direct_cost * (1.0 + contingency) * (1.0 + engineering)


@equation
def added_capital(direct_cost: Quantity, contingency: Quantity, engineering: Quantity) -> Quantity:
    """Capital with both shares taken of the direct cost.

    Parameters
    ----------
    direct_cost : quantity
        Construction before contingency. [money]
    contingency : quantity
        Contingency as a share of direct cost. [-]
    engineering : quantity
        Engineering, legal and administration as a share. [-]

    Returns
    -------
    quantity
        Capital. [money]

    Notes
    -----
    C = direct_cost (1 + contingency + engineering)

    Examples
    --------
    >>> added_capital(1.0e6, 0.25, 0.20)
    1450000.0

    References
    ----------
    RUS1780, section 5: construction and non-construction cost
    """
    return direct_cost * (1.0 + contingency + engineering)


@equation
def simple_payback(extra_capital: Quantity, yearly_saving: Quantity) -> Quantity:
    """Years in which a yearly saving returns what it cost, without interest.

    Parameters
    ----------
    extra_capital : quantity
        Capital beyond the other alternative. [money]
    yearly_saving : quantity
        Annual cost below the other alternative. [money/y]

    Returns
    -------
    quantity
        Payback; not a number without a saving. [y]

    Notes
    -----
    n = extra_capital/yearly_saving

    Examples
    --------
    >>> float(simple_payback(3.0e6, 200000))
    15.0

    References
    ----------
    NIST135, simple payback
    """
    return ratio(extra_capital, where(yearly_saving > 0.0, yearly_saving, 0.0), nan)


@equation
def discounted_payback(
    extra_capital: Quantity, yearly_saving: Quantity, rate: Quantity
) -> Quantity:
    """Years in which a yearly saving returns what it cost, with interest.

    Parameters
    ----------
    extra_capital : quantity
        Capital beyond the other alternative. [money]
    yearly_saving : quantity
        Annual cost below the other alternative. [money/y]
    rate : quantity
        Real discount rate per year, above zero. [-]

    Returns
    -------
    quantity
        Payback; without end where the saving never returns it. [y]

    Notes
    -----
    n = -ln(1 - rate extra_capital/yearly_saving)/ln(1 + rate), from UPW(rate, n) = capital/saving

    Examples
    --------
    The nineteenth year has begun:

    >>> round(float(discounted_payback(3.0e6, 200000, 0.02)), 4)
    18.0115

    References
    ----------
    NIST135, discounted payback
    """
    left = 1.0 - rate * ratio(extra_capital, where(yearly_saving > 0.0, yearly_saving, 0.0), inf)
    returns = left > 0.0
    return where(returns, -log(where(returns, left, 1.0)) / log(1.0 + rate), inf)


@equation
def internal_rate(extra_capital: Quantity, yearly_saving: Quantity, years: Quantity) -> Quantity:
    """Discount rate at which a yearly saving is worth just what it cost.

    Parameters
    ----------
    extra_capital : quantity
        Capital beyond the other alternative, above zero. [money]
    yearly_saving : quantity
        Annual cost below the other alternative. [money/y]
    years : quantity
        Years of the saving. [y]

    Returns
    -------
    quantity
        Rate; zero where the savings do not even add up to the capital. [-]

    Notes
    -----
    UPW(rate, years) = extra_capital/yearly_saving, solved for the rate. Between two alternatives
    it is the rate at which they cost the same.

    Examples
    --------
    >>> round(float(internal_rate(3.0e6, 200000, 20)), 6)
    0.029115

    References
    ----------
    NIST135, adjusted and internal rate of return
    """
    return solve_monotone(
        _unreturned, 0.0, HIGHEST_RETURN, extra_capital, yearly_saving, years
    )  # fmt: skip


def _unreturned(
    rate: Quantity, extra_capital: Quantity, yearly_saving: Quantity, years: Quantity
) -> Quantity:
    """Share of the capital that the savings leave uncovered: rises with the rate."""
    worth = yearly_saving * finance.uniform_present_worth(rate, years)
    return 1.0 - worth / extra_capital


@equation
def short_lived_reserve(asset_cost: Quantity, life: Quantity) -> Quantity:
    """Money to lay by each year so that a short-lived asset can be replaced when it ends.

    Parameters
    ----------
    asset_cost : quantity
        Cost of the asset, in constant money. [money]
    life : quantity
        Useful life. [y]

    Returns
    -------
    quantity
        Yearly deposit, without interest. [money/y]

    Notes
    -----
    R = asset_cost/life

    Examples
    --------
    >>> short_lived_reserve(60000, 10)
    6000.0

    References
    ----------
    RUS1780, section 6: short-lived asset reserve
    """
    return asset_cost / life
