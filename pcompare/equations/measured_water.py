"""Inorganic carbon of a water whose pH and alkalinity were measured."""

from __future__ import annotations

from typing import NamedTuple

from pcompare.arrays import Quantity, equation, settled, solve
from pcompare.equations.acid_base import acid_constants
from pcompare.equations.acid_base_solver import (
    LOG_TEN,
    MILLI,
    Totals,
    activities,
    carbonate_open,
)
from pcompare.tables import molar_mass

PASSES = 3  # on the ionic strength


class MeasuredCarbon(NamedTuple):
    """Inorganic carbon [mmol/L] and ionic strength [mol/L]."""

    inorganic_carbon: Quantity
    ionic_strength: Quantity


@equation
def inorganic_carbon_from_ph(
    ph: Quantity,
    alkalinity: Quantity,
    phosphate: Quantity,
    ammonia_total: Quantity,
    strong_ion_strength: Quantity,
    temperature: Quantity,
) -> MeasuredCarbon:
    """Total inorganic carbon of a water from its measured pH and alkalinity.

    Parameters
    ----------
    ph : quantity
        Measured pH. [-]
    alkalinity : quantity
        Measured alkalinity, titrated to about pH 4.5. [mg CaCO3/L]
    phosphate : quantity
        Orthophosphate. [mg P/L]
    ammonia_total : quantity
        Ammonium and ammonia. [mg N/L]
    strong_ion_strength : quantity
        Half the sum of z2 c of the inert ions. [mmol/L]
    temperature : quantity
        Water temperature. [degC]

    Returns
    -------
    inorganic_carbon : quantity
        HCO3 + CO3 + CO2. [mmol/L]
    ionic_strength : quantity
        Ionic strength. [mol/L]

    Notes
    -----
    Carbonate alkalinity = alkalinity - HPO4 - 2 PO4 + H3PO4 - NH3 - OH + H at the measured pH;
    the carbon follows from its split. Davies activities, no ion pairs. The ionic strength is found
    together with the carbon. A pH that the alkalinity cannot have gives a negative carbon.

    Examples
    --------
    A reference water of alkalinity 4.140 meq/L at pH 7.375 and 25 degC holds 4.364 mmol/L.

    >>> found = inorganic_carbon_from_ph(7.37504, 4.14 * 50.0435, 4.9558, 1.4007, 10.05, 25.0)
    >>> round(float(found.inorganic_carbon), 2)
    4.36

    References
    ----------
    PHREEQC3, phreeqc.dat; PLUMMER1982
    """
    return MeasuredCarbon(
        *solve(
            _solve,
            _residual,
            ph,
            alkalinity,
            phosphate,
            ammonia_total,
            strong_ion_strength,
            temperature,
        )
    )


def _solve(ph: Quantity, *water: Quantity) -> tuple[Quantity, Quantity]:
    def again(carbon: Quantity, strength: Quantity) -> tuple[Quantity, Quantity]:
        return _pass(strength, ph, *water)

    carbon, strength = settled(again, (0.0 * ph, 0.01 + 0.0 * ph), PASSES)
    return carbon, strength


def _residual(
    carbon: Quantity, strength: Quantity, ph: Quantity, *water: Quantity
) -> tuple[Quantity, Quantity]:
    again, strength_again = _pass(strength, ph, *water)
    return again - carbon, strength_again - strength


def _pass(
    strength: Quantity,
    ph: Quantity,
    alkalinity: Quantity,
    phosphate: Quantity,
    ammonia_total: Quantity,
    strong_ion_strength: Quantity,
    temperature: Quantity,
) -> tuple[Quantity, Quantity]:
    """Carbon [mmol/L] and ionic strength [mol/L] at an estimate of the latter."""
    k = acid_constants(temperature)
    acid = -LOG_TEN * ph
    water = Totals(
        alkalinity=2.0 * alkalinity / molar_mass("CaCO3") / MILLI,
        carbon=0.0 * ph,
        phosphate=phosphate / molar_mass("P") / MILLI,
        ammonia=ammonia_total / molar_mass("N") / MILLI,
        strong=strong_ion_strength / MILLI,
        constants=k,
        is_open=False,
    )
    rest = water.whole(acid, strength)
    first, second, gas = carbonate_open(activities(acid, strength, k), k, 1.0)
    activity = (water.alkalinity - rest.alkalinity) / (first + 2.0 * second)
    carbon = activity * (first + second + gas)
    return MILLI * carbon, rest.strength + activity * (0.5 * first + 2.0 * second)
