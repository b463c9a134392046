"""From a mean to the odds: lognormal effluent quality over an averaging period.

*Variability* is the coefficient of variation (standard deviation over mean) of the averaging unit
at hand: of daily values, of weekly means, of monthly means. ``averaged_variability`` takes it from
a shorter unit to a longer one; every other equation needs it in the unit of the limit.
"""

from __future__ import annotations

from pcompare.arrays import Quantity, equation, exp, log, maximum, normal_cdf, ratio, sqrt, where

# Correlations closer to 1 than this count as 1: nothing is then gained by averaging, and the closed
# form would lose its digits. The error is below one part in 10^3 for a year of days.
FULL_CORRELATION = 1e-5
VANISHING = 1e-30  # mg/L; keeps the logarithm of a concentration of zero finite
CERTAIN = 40.0  # standard scores: the chance is 0 or 1 to the last digit


@equation
def averaged_variability(
    variability: Quantity, samples: Quantity, autocorrelation: Quantity
) -> Quantity:
    """Variability of a mean of successive samples that resemble their neighbours.

    Parameters
    ----------
    variability : quantity
        Standard deviation over mean of the single samples. [-]
    samples : quantity
        Samples in the averaging period, a whole number. [-]
    autocorrelation : quantity
        Correlation of one sample with the next, 0 to 1. [-]

    Returns
    -------
    quantity
        Standard deviation over mean of the period's means. [-]

    Notes
    -----
    V_n = V sqrt((1 + 2 S)/n), S = r (n (1 - r) - (1 - r^n))/(n (1 - r)^2)

    S is the sum of (1 - k/n) r^k for k from 1 to n - 1, with r the correlation of neighbours and
    r^k that of samples k apart. Without correlation V_n = V/sqrt(n); with full correlation
    averaging gains nothing.

    Examples
    --------
    Two samples: V sqrt((1 + r)/2).

    >>> round(float(averaged_variability(0.5, 2, 0.28)), 6)
    0.4

    References
    ----------
    STATBASICS, variance of a mean of correlated values
    """
    gap = 1.0 - autocorrelation
    gap = where(gap < FULL_CORRELATION, 0.0, gap)
    pairs = autocorrelation * (samples * gap - (1.0 - autocorrelation**samples))
    neighbours = ratio(pairs, samples * gap**2, 0.5 * (samples - 1.0))
    return variability * sqrt((1.0 + 2.0 * neighbours) / samples)


@equation
def lognormal_sigma(variability: Quantity) -> Quantity:
    """Spread of the logarithm of a lognormal quantity, as a standard deviation.

    Parameters
    ----------
    variability : quantity
        Standard deviation over mean of the quantity itself. [-]

    Returns
    -------
    quantity
        Standard deviation of the natural logarithm. [-]

    Notes
    -----
    sigma = sqrt(ln(1 + V^2))

    Examples
    --------
    >>> round(float(lognormal_sigma(0.6)), 3)
    0.555

    References
    ----------
    EPA_TSD, appendix E, lognormal distribution
    NIKU1979, reliability of activated sludge
    """
    return sqrt(log(1.0 + variability**2))


@equation
def coefficient_of_reliability(variability: Quantity, standard_score: Quantity) -> Quantity:
    """Mean to design for, as a share of the limit.

    Parameters
    ----------
    variability : quantity
        Standard deviation over mean of the averaging unit that the limit names. [-]
    standard_score : quantity
        Standard normal score at the reliability wanted, 1.645 for 95 %. [-]

    Returns
    -------
    quantity
        Design mean over limit. [-]

    Notes
    -----
    COR = sqrt(V^2 + 1) exp(-z sqrt(ln(V^2 + 1)))

    Effluent quality is taken as lognormal, which fits 43 activated-sludge plants best.

    Examples
    --------
    >>> round(float(coefficient_of_reliability(0.6, 1.645)), 3)
    0.468

    References
    ----------
    NIKU1979, coefficient of reliability
    EPA_TSD, table 5-1, multipliers from waste-load allocation to long-term average
    NIKU1981, best fit of distributions
    """
    spread = variability**2 + 1.0
    return sqrt(spread) * exp(-standard_score * sqrt(log(spread)))


@equation
def chance_within(limit: Quantity, mean_value: Quantity, variability: Quantity) -> Quantity:
    """Chance that one averaging period keeps the limit.

    Parameters
    ----------
    limit : quantity
        Limit on the average of the period. [mg/L]
    mean_value : quantity
        Long-run mean. [mg/L]
    variability : quantity
        Standard deviation over mean of the averaging unit that the limit names. [-]

    Returns
    -------
    quantity
        Chance, 0 to 1. [-]

    Notes
    -----
    P = Phi((ln(limit/mean_value) + sigma^2/2)/sigma), sigma^2 = ln(1 + V^2)

    Without variability the chance is 1 where the mean keeps the limit, else 0.

    Examples
    --------
    The median of a lognormal quantity with mean 10 and variability 1 is 7.071068:

    >>> round(float(chance_within(7.071068, 10, 1)), 6)
    0.5

    References
    ----------
    ENVSTATS, LognormalAlt, examples
    NIKU1979, reliability of activated sludge
    """
    sigma = sqrt(log(1.0 + variability**2))
    distance = log(maximum(limit, VANISHING)) - log(maximum(mean_value, VANISHING))
    sure = where(distance >= 0.0, CERTAIN, -CERTAIN)
    return normal_cdf(ratio(distance + 0.5 * sigma**2, sigma, sure))


@equation
def chance_all_periods(chance: Quantity, periods: Quantity) -> Quantity:
    """Chance that every one of several periods keeps the limit.

    Parameters
    ----------
    chance : quantity
        Chance for one period. [-]
    periods : quantity
        Number of periods. [-]

    Returns
    -------
    quantity
        Chance for all of them. [-]

    Notes
    -----
    P_all = P^n

    Periods are taken as independent; where good months follow good ones the chance is higher.

    Examples
    --------
    >>> round(chance_all_periods(0.95, 12), 3)
    0.54

    References
    ----------
    STATBASICS, product rule for independent events
    """
    return chance**periods


@equation
def lognormal_quantile(
    mean_value: Quantity, variability: Quantity, standard_score: Quantity
) -> Quantity:
    """Value of a lognormal quantity that a given share of periods stays below.

    Parameters
    ----------
    mean_value : quantity
        Long-run mean. [mg/L]
    variability : quantity
        Standard deviation over mean of the averaging unit wanted. [-]
    standard_score : quantity
        Standard normal score at the share wanted, 1.645 for 95 %. [-]

    Returns
    -------
    quantity
        Value not exceeded by that share. [mg/L]

    Notes
    -----
    x = mean_value exp(z sigma - sigma^2/2), sigma^2 = ln(1 + V^2)

    Examples
    --------
    >>> round(float(lognormal_quantile(10, 1, 0)), 6)
    7.071068

    References
    ----------
    ENVSTATS, LognormalAlt, examples
    """
    sigma = sqrt(log(1.0 + variability**2))
    return mean_value * exp(standard_score * sigma - 0.5 * sigma**2)


# ---------------------------------------------------------------- carbon that varies


@equation
def carbon_shortfall_chance(
    vfa: Quantity, vfa_required: Quantity, variability: Quantity
) -> Quantity:
    """Chance that the acids of one month fall short of what storage needs.

    Parameters
    ----------
    vfa : quantity
        Volatile fatty acids to be expected in that month. [mg COD/L]
    vfa_required : quantity
        Volatile fatty acids that are needed. [mg COD/L]
    variability : quantity
        Standard deviation over mean of the month's mean, year by year. [-]

    Returns
    -------
    quantity
        Chance, 0 to 1. [-]

    Notes
    -----
    P = Phi(d), d = (ln(needed/vfa) + sigma^2/2)/sigma, sigma^2 = ln(1 + V^2)

    Acids are taken as lognormal: they cannot be negative and now and then are many. Without
    variability the chance is 1 where the mean is less than the need, else 0.

    Examples
    --------
    The median of a lognormal quantity with mean 10 and variability 1 is 7.071068:

    >>> round(float(carbon_shortfall_chance(10.0, 7.071068, 1.0)), 6)
    0.5

    References
    ----------
    ENVSTATS, LognormalAlt, examples
    """
    return normal_cdf(_shortfall_score(vfa, vfa_required, variability))


@equation
def expected_carbon_shortfall(
    vfa: Quantity, vfa_required: Quantity, variability: Quantity
) -> Quantity:
    """Acids that are missing on average over all months of one kind.

    Parameters
    ----------
    vfa : quantity
        Volatile fatty acids to be expected in that month. [mg COD/L]
    vfa_required : quantity
        Volatile fatty acids that are needed. [mg COD/L]
    variability : quantity
        Standard deviation over mean of the month's mean, year by year. [-]

    Returns
    -------
    quantity
        Mean of what is missing, months of plenty counted as 0. [mg COD/L]

    Notes
    -----
    E = needed Phi(d) - vfa Phi(d - sigma), the partial expectation of a lognormal quantity

    Never less than needed - vfa: a month of plenty does not fill a month of want. A trim with the
    capacity C supplies E(needed) - E(needed - C) of it on average.

    Examples
    --------
    Enough on average, and yet 3.2 is missing on average:

    >>> round(float(expected_carbon_shortfall(10.0, 10.0, 1.0)), 1)
    3.2

    References
    ----------
    STATBASICS, partial expectation of a lognormal quantity
    ENVSTATS, LognormalAlt, parameters from mean and variability
    """
    score = _shortfall_score(vfa, vfa_required, variability)
    present = vfa * normal_cdf(score - lognormal_sigma(variability))
    return maximum(vfa_required * normal_cdf(score) - present, 0.0)


def _shortfall_score(vfa: Quantity, vfa_required: Quantity, variability: Quantity) -> Quantity:
    """Give the standard score of the need among the acids; a need of nothing is always met."""
    sigma = lognormal_sigma(variability)
    distance = log(maximum(vfa_required, VANISHING)) - log(maximum(vfa, VANISHING))
    sure = where(distance > 0.0, CERTAIN, -CERTAIN)
    score = ratio(distance + 0.5 * sigma**2, sigma, sure)
    return where(vfa_required > 0.0, score, -CERTAIN)
