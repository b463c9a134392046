"""Money over time: present worth, equal annual cost, salvage, and cost carried to another size.

Real and nominal figures never meet: a real rate discounts constant money, a nominal rate money of
the day.
"""

from __future__ import annotations

from math import nan

from pcompare.arrays import Quantity, absolute, equation, maximum, ratio, where

MONTHS = 12.0  # months/y
EMPTY = nan  # a cost per nothing is undefined, not zero
# Two rates closer than this are taken as equal: the closed form would lose its digits there,
# while its limit is off by less than one part in 10^7 over a hundred years.
EQUAL_RATES = 1e-9


@equation
def single_present_worth(rate: Quantity, years: Quantity) -> Quantity:
    """Present worth of one unit of money paid once, at the end of a year.

    Parameters
    ----------
    rate : quantity
        Discount rate per year. [-]
    years : quantity
        Time until the payment. [y]

    Returns
    -------
    quantity
        Present worth per unit paid. [-]

    Notes
    -----
    SPW = (1 + rate)^-years

    Examples
    --------
    >>> round(single_present_worth(0.15, 5), 4)
    0.4972

    References
    ----------
    NIST135, single present value factor
    RITTMANN, problem 3: factor P/F at 15 % and 5 years
    """
    return (1.0 + rate) ** -years


@equation
def uniform_present_worth(rate: Quantity, years: Quantity) -> Quantity:
    """Present worth of one unit of money paid at the end of every year.

    Parameters
    ----------
    rate : quantity
        Discount rate per year. [-]
    years : quantity
        Number of yearly payments. [y]

    Returns
    -------
    quantity
        Present worth per unit paid yearly. [y]

    Notes
    -----
    UPW = (1 - (1 + rate)^-years) / rate

    At a rate of zero the factor is the number of years.

    Examples
    --------
    >>> round(float(uniform_present_worth(0.15, 5)), 4)
    3.3522

    References
    ----------
    NIST135, uniform present value factor
    RITTMANN, problem 3: factor P/A at 15 % and 5 years
    """
    return _growing_series(rate, 0.0, years)


@equation
def escalating_present_worth(rate: Quantity, escalation: Quantity, years: Quantity) -> Quantity:
    """Present worth of a yearly payment whose price rises, per unit at today's price.

    Parameters
    ----------
    rate : quantity
        Discount rate per year. [-]
    escalation : quantity
        Price rise per year, real with a real rate and nominal with a nominal one. [-]
    years : quantity
        Number of yearly payments. [y]

    Returns
    -------
    quantity
        Present worth per unit paid yearly at today's price. [y]

    Notes
    -----
    UPW* = (1 + escalation)/(rate - escalation) (1 - ((1 + escalation)/(1 + rate))^years)

    The first payment, at the end of year 1, is already at the price (1 + escalation). Where the two
    rates are equal the factor is the number of years.

    Examples
    --------
    >>> round(float(escalating_present_worth(0.03, 0.02, 20)), 6)
    18.081229

    References
    ----------
    GSA_P100, modified uniform present value factor
    NIST135, modified uniform present value factor
    """
    return _growing_series(rate, escalation, years)


def _growing_series(rate: Quantity, escalation: Quantity, years: Quantity) -> Quantity:
    """Sum ((1 + escalation)/(1 + rate))^k for k from 1 to years, in closed form."""
    gap = rate - escalation
    gap = where(absolute(gap) < EQUAL_RATES, 0.0, gap)
    fallen = ((1.0 + escalation) / (1.0 + rate)) ** years
    return ratio((1.0 + escalation) * (1.0 - fallen), gap, years)


@equation
def capital_recovery(rate: Quantity, years: Quantity) -> Quantity:
    """Equal yearly payment that repays one unit of present worth.

    Parameters
    ----------
    rate : quantity
        Discount rate per year. [-]
    years : quantity
        Number of yearly payments. [y]

    Returns
    -------
    quantity
        Payment per year and unit of present worth. [1/y]

    Notes
    -----
    CRF = rate / (1 - (1 + rate)^-years)

    At a rate of zero the factor is one over the number of years.

    Examples
    --------
    >>> round(float(capital_recovery(0.07, 10)), 4)
    0.1424

    References
    ----------
    NEWNAN, equation 6-4, p. 180: factor A/P at 7 % and 10 years
    """
    return 1.0 / _growing_series(rate, 0.0, years)


@equation
def equal_annual_cost(present_worth: Quantity, rate: Quantity, years: Quantity) -> Quantity:
    """Equal yearly cost that has the same present worth.

    Parameters
    ----------
    present_worth : quantity
        Present worth of all costs. [money]
    rate : quantity
        Discount rate per year. [-]
    years : quantity
        Planning period. [y]

    Returns
    -------
    quantity
        Cost per year. [money/y]

    Notes
    -----
    EAC = present_worth CRF(rate, years)

    Any period serves, not only the year, if rate and count are those of the period.

    Examples
    --------
    A loan of 200 000 at 7.5 % a year over 15 years, repaid monthly:

    >>> round(float(equal_annual_cost(200000, 0.075 / 12, 180)), 2)
    1854.02

    References
    ----------
    NPF, pmt
    RUS1780, section 5, life-cycle cost
    """
    return present_worth / _growing_series(rate, 0.0, years)


@equation
def real_rate(nominal_rate: Quantity, inflation: Quantity) -> Quantity:
    """Discount rate for constant money from the rate for money of the day.

    Parameters
    ----------
    nominal_rate : quantity
        Nominal discount rate per year. [-]
    inflation : quantity
        General inflation per year. [-]

    Returns
    -------
    quantity
        Real discount rate per year. [-]

    Notes
    -----
    rate = (1 + nominal_rate)/(1 + inflation) - 1

    Real flows discounted at a nominal rate are worth too little; never mix the two.

    Examples
    --------
    >>> round(real_rate(0.04346, 0.023), 6)
    0.02

    References
    ----------
    NIST135, real and nominal discount rates
    CFR436, section 436.14(a)
    """
    return (1.0 + nominal_rate) / (1.0 + inflation) - 1.0


@equation
def real_escalation(budget_escalation: Quantity, inflation: Quantity) -> Quantity:
    """Price rise beyond general inflation from the rise seen in budgets.

    Parameters
    ----------
    budget_escalation : quantity
        Price rise per year in money of the day. [-]
    inflation : quantity
        General inflation per year. [-]

    Returns
    -------
    quantity
        Real price rise per year. [-]

    Notes
    -----
    e = (E - f)/(1 + f), from E = e + f + e f

    Examples
    --------
    >>> round(real_escalation(0.045, 0.023), 6)
    0.021505

    References
    ----------
    GSA_P100, differential escalation rate
    """
    return (budget_escalation - inflation) / (1.0 + inflation)


@equation
def straight_line_salvage(cost: Quantity, life: Quantity, age: Quantity) -> Quantity:
    """Value that an asset keeps at the end of the planning period.

    Parameters
    ----------
    cost : quantity
        Cost when it was installed. [money]
    life : quantity
        Useful life. [y]
    age : quantity
        Age at the end of the period. [y]

    Returns
    -------
    quantity
        Value left, never below zero. [money]

    Notes
    -----
    S = cost max(0, (life - age)/life)

    Examples
    --------
    Tanks that last 50 years, after 20:

    >>> float(straight_line_salvage(800000, 50, 20))
    480000.0

    References
    ----------
    RUS1780, section 5: salvage by straight-line depreciation
    """
    return cost * maximum(0.0, (life - age) / life)


@equation
def scaled_cost(
    reference_cost: Quantity, size: Quantity, reference_size: Quantity, exponent: Quantity
) -> Quantity:
    """Cost of a plant item carried from one size to another.

    Parameters
    ----------
    reference_cost : quantity
        Cost at the reference size. [money]
    size : quantity
        Size wanted. [*]
    reference_size : quantity
        Size whose cost is known, in the unit of the size wanted. [*]
    exponent : quantity
        Economy of scale: 1 is none, 0.6 is the six-tenths rule. [-]

    Returns
    -------
    quantity
        Cost at the size wanted. [money]

    Notes
    -----
    C2 = C1 (size/reference_size)^exponent

    Beyond a factor of three in size the rule is a guess.

    Examples
    --------
    >>> round(scaled_cost(1000000, 5, 1, 0.6))
    2626528

    References
    ----------
    WILLIAMS1947, six-tenths rule
    """
    return reference_cost * (size / reference_size) ** exponent


@equation
def indexed_cost(cost: Quantity, index_now: Quantity, index_then: Quantity) -> Quantity:
    """Cost carried from one year's prices to another's.

    Parameters
    ----------
    cost : quantity
        Cost at the prices of then. [money]
    index_now : quantity
        Price index of now. [-]
    index_then : quantity
        The same series, on the same base, then. [-]

    Returns
    -------
    quantity
        Cost at the prices of now. [money]

    Notes
    -----
    C_now = C_then index_now/index_then

    Five years are a fair reach, fifteen are the limit.

    Examples
    --------
    >>> round(indexed_cost(1000000, 110.5, 100.5))
    1099502

    References
    ----------
    BLS_PPI, values of December 2009 and December 2012
    """
    return cost * index_now / index_then


@equation
def cost_per_phosphorus(annual_cost: Quantity, phosphorus_mass: Quantity) -> Quantity:
    """Cost of each kilogram of phosphorus removed.

    Parameters
    ----------
    annual_cost : quantity
        Equal annual cost. [money/y]
    phosphorus_mass : quantity
        Phosphorus removed beyond no action. [kg/y]

    Returns
    -------
    quantity
        Cost per mass, not a number where none is removed. [money/kg]

    Notes
    -----
    c = annual_cost/phosphorus_mass

    A whole train's cost divided by its phosphorus is another figure than the cost of an increment.

    Examples
    --------
    190 lb/y at 256 858 a year:

    >>> round(float(cost_per_phosphorus(256858, 190 * 0.45359237)), 1)
    2980.4

    References
    ----------
    WI_CASE, cost and phosphorus reduction, annualised over 20 years at 2 %
    """
    return ratio(annual_cost, phosphorus_mass, EMPTY)


@equation
def household_month_cost(annual_cost: Quantity, households: Quantity) -> Quantity:
    """Cost that each household bears each month, as an economic measure.

    Parameters
    ----------
    annual_cost : quantity
        Equal annual cost. [money/y]
    households : quantity
        Equivalent households served. [-]

    Returns
    -------
    quantity
        Cost per household and month. [money]

    Notes
    -----
    c = annual_cost/(12 households)

    It is not the effect on the rate: grants and loans change the bill, not the economics.

    Examples
    --------
    >>> round(household_month_cost(16.08, 1), 2)
    1.34

    References
    ----------
    UTAH2014, larger plants, cost per household and month
    """
    return annual_cost / (households * MONTHS)
