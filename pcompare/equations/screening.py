"""Ratios of carbon to phosphorus that tell at first sight whether storage can be relied on.

All of them hold at the inlet of the reactor: behind the primary tanks and with the return loads.
They gate; the amount comes from the design model. A ratio that is met promises nothing where
nitrate reaches the anaerobic zone or the sludge is too young.
"""

from __future__ import annotations

from math import nan
from typing import NamedTuple

from pcompare.arrays import Quantity, equation, maximum, minimum, ratio
from pcompare.equations.carbon import carbon_product_cod

STRICT, LENIENT = 0.5, 1.0  # mg P/L, the two limits that thresholds are printed for


class ScreeningRatios(NamedTuple):
    """Carbon over total phosphorus at the reactor's inlet [g/g]."""

    bod: Quantity
    cod: Quantity
    rbcod: Quantity
    acid: Quantity


@equation
def settled_bod(
    bod: Quantity, biodegradable_raw: Quantity, biodegradable_cod: Quantity
) -> Quantity:
    """BOD5 behind the primary tanks.

    Parameters
    ----------
    bod : quantity
        BOD5 of the raw sewage. [mg/L]
    biodegradable_raw : quantity
        Biodegradable COD of the raw sewage. [mg COD/L]
    biodegradable_cod : quantity
        Biodegradable COD behind the primary tanks. [mg COD/L]

    Returns
    -------
    quantity
        BOD5 of the settled sewage; the raw one where there is no biodegradable COD. [mg/L]

    Notes
    -----
    BOD = BOD_raw S_b/S_b,raw. That both fall alike is judgement; primary tanks take 25 to 40 %.

    Examples
    --------
    >>> float(settled_bod(200.0, 400.0, 280.0))
    140.0

    References
    ----------
    JUDGEMENT
    """
    return bod * ratio(biodegradable_cod, biodegradable_raw, 1.0)


@equation
def screening_ratios(
    bod: Quantity, cod: Quantity, rbcod: Quantity, vfa: Quantity, phosphorus_total: Quantity
) -> ScreeningRatios:
    """Four ratios of carbon to total phosphorus at the inlet of the reactor.

    Parameters
    ----------
    bod : quantity
        BOD5 at the inlet, `settled_bod`. [mg/L]
    cod : quantity
        COD at the inlet. [mg COD/L]
    rbcod : quantity
        Readily biodegradable COD at the inlet, acids included. [mg COD/L]
    vfa : quantity
        Volatile fatty acids at the inlet, as COD. [mg COD/L]
    phosphorus_total : quantity
        Total phosphorus at the inlet, with the return loads. [mg P/L]

    Returns
    -------
    bod : quantity
        BOD5 over phosphorus. [g/g]
    cod : quantity
        COD over phosphorus. [g/g]
    rbcod : quantity
        Readily biodegradable COD over phosphorus. [g/g]
    acid : quantity
        Volatile fatty acids, as acetic acid, over phosphorus. [g/g]

    Notes
    -----
    ratio = S / P, acids as COD/1.066. Without phosphorus there is no ratio (not a number).

    Examples
    --------
    >>> found = screening_ratios(150.0, 300.0, 70.0, 32.0, 7.5)
    >>> [round(float(value), 1) for value in found]
    [20.0, 40.0, 9.3, 4.0]

    References
    ----------
    METCALF2014, Table 8-30
    EPA2010, ratios of carbon to phosphorus
    """
    acetic = vfa / carbon_product_cod("C2H4O2")
    return ScreeningRatios(
        *(ratio(part, phosphorus_total, nan) for part in (bod, cod, rbcod, acetic))
    )


@equation
def screening_threshold(
    target: Quantity, threshold_1_0: Quantity, threshold_0_5: Quantity
) -> Quantity:
    """Ratio that is asked for at a target between the two that thresholds are printed for.

    Parameters
    ----------
    target : quantity
        Total phosphorus to be kept. [mg P/L]
    threshold_1_0 : quantity
        Ratio that reliably keeps 1.0 mg/L. [g/g]
    threshold_0_5 : quantity
        Ratio that reliably keeps 0.5 mg/L. [g/g]

    Returns
    -------
    quantity
        Ratio. [g/g]

    Notes
    -----
    r = r_1.0 + (r_0.5 - r_1.0) (1.0 - target)/0.5, held at both ends. The straight line between is
    judgement. Below 0.5 mg/L the ratio alone no longer decides: plan a trim or a filter.

    Examples
    --------
    >>> float(screening_threshold(0.75, 20.0, 30.0))
    25.0

    References
    ----------
    METCALF2014, Table 8-30
    """
    share = minimum(maximum((LENIENT - target) / (LENIENT - STRICT), 0.0), 1.0)
    return threshold_1_0 + share * (threshold_0_5 - threshold_1_0)
