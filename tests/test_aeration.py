"""Oxygen, air and power: an equilibrium engine, physics integrated numerically, limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pcompare.equations import aeration

ATMOSPHERE = 101.325


def vapour_pressure(temperature):
    """Vapour pressure over water by Buck's formula. [kPa]"""
    return 0.61121 * math.exp((18.678 - temperature / 234.5) * temperature / (257.14 + temperature))


# ------------------------------------------------ oxygen in water


def test_oxygen_saturation_agrees_with_phreeqc():
    """Oxygen dissolved from moist air by PHREEQC: 0.3 to 0.7 % above, its Henry constant."""
    phreeqpython = pytest.importorskip("phreeqpython")
    engine = phreeqpython.PhreeqPython(database="phreeqc.dat")
    for temperature in (5.0, 10.0, 15.0, 20.0, 25.0, 30.0):
        oxygen = 0.20946 * (ATMOSPHERE - vapour_pressure(temperature)) / ATMOSPHERE
        water = engine.add_solution_simple({}, temperature=temperature)
        water.equalize(["O2(g)"], [math.log10(oxygen)])
        dissolved = water.species["O2"] * 31.998 * 1000.0
        computed = aeration.oxygen_saturation(temperature)
        assert computed == pytest.approx(dissolved, rel=0.008)


def test_oxygen_saturation_falls_with_temperature():
    warm = np.linspace(0.0, 40.0, 41)[np.newaxis, :]
    assert (np.diff(aeration.oxygen_saturation(warm)) < 0.0).all()


def test_mean_saturation_at_the_surface_is_the_saturation():
    assert aeration.mean_saturation(9.09, 0.0, 0.4) == 9.09
    assert aeration.mean_saturation(9.09, 10.3323, 1.0) == pytest.approx(2.0 * 9.09, rel=1e-5)


# ------------------------------------------------ transfer


def rate(**changes):
    values = {
        "oxygen_demand": 1000.0, "alpha_fouling": 0.6, "beta": 0.95, "temperature": 20.0,
        "saturation_20": 10.674, "oxygen_set_point": 2.0, "pressure_ratio": 1.0,
    }  # fmt: skip
    return aeration.standard_transfer_rate(**{**values, **changes})


def test_clean_water_without_oxygen_transfers_its_demand():
    """alpha 1, beta 1, 20 degC, no oxygen in the water: the standard test itself."""
    clean = rate(alpha_fouling=1.0, beta=1.0, oxygen_set_point=0.0)
    assert clean == pytest.approx(1000.0, rel=1e-12)


def test_transfer_by_hand():
    """Driving force 0.95 x 10.674 - 2 over 10.674, alpha 0.6."""
    assert rate() == pytest.approx(1000.0 / (0.6 * (0.95 - 2.0 / 10.674)), rel=1e-12)


def test_transfer_moves_one_way():
    """Little alpha, thin air, more oxygen held and more demand ask for more."""
    share = np.linspace(0.4, 1.0, 7)[np.newaxis, :]
    assert (np.diff(rate(alpha_fouling=share)) < 0.0).all()
    assert (np.diff(rate(beta=share)) < 0.0).all()
    assert (np.diff(rate(pressure_ratio=share)) < 0.0).all()
    assert (np.diff(rate(oxygen_set_point=4.0 * share)) > 0.0).all()
    assert rate(oxygen_demand=2000.0) == pytest.approx(2.0 * rate(), rel=1e-12)
    assert rate(oxygen_demand=0.0) == 0.0


def test_temperature_hardly_matters_to_transfer():
    """Faster transfer and lower saturation nearly cancel from 10 to 25 degC."""
    warm = np.linspace(10.0, 25.0, 16)[np.newaxis, :]
    found = rate(temperature=warm)
    assert found.max() / found.min() < 1.03


@given(st.floats(1.0, 1e6), st.floats(0.05, 0.6))
def test_air_carries_the_oxygen(standard, efficiency):
    """23.18 % of the air by mass is oxygen, and the efficiency is the share taken up."""
    air = aeration.air_flow(standard, efficiency)
    assert air * 86400.0 * 0.2318 * efficiency == pytest.approx(standard, rel=1e-12)


def test_air_by_volume():
    """Oxygen is 20.95 % of dry air by volume: its mass share follows from molar masses."""
    carried = 1.0 / (aeration.air_flow(1.0, 1.0) * 86400.0)
    assert carried == pytest.approx(0.2095 * 31.998 / 28.97, rel=0.003)


# ------------------------------------------------ blowers


def test_blower_is_an_adiabatic_compression():
    """Work of the steady flow, integral of v dp along p v^k = constant, summed numerically."""
    exponent = 1.0 / (1.0 - 0.283)  # k of (k - 1)/k = 0.283
    first, second, temperature = 101.325, 161.325, 293.15
    volume = 8.314462618 * temperature / 28.97 / first  # m3/kg
    edges = np.linspace(first, second, 20001)
    middle = 0.5 * (edges[1:] + edges[:-1])
    work = (volume * (first / middle) ** (1.0 / exponent) * np.diff(edges)).sum()  # kJ/kg
    power = aeration.blower_power(1.0, 20.0, first, second, 0.70)
    assert power == pytest.approx(work / 0.70, rel=1e-8)


def test_blower_lies_between_a_pump_for_a_liquid_and_a_small_rise():
    """Air shrinks as it is compressed: less than v dp, equal to it as the rise vanishes."""
    volume = 8.314462618 * 293.15 / 28.97 / 101.325
    assert aeration.blower_power(1.0, 20.0, 101.325, 161.325, 1.0) < volume * 60.0
    small = aeration.blower_power(1.0, 20.0, 101.325, 101.326, 1.0)
    assert small == pytest.approx(volume * 0.001, rel=1e-4)
    assert aeration.blower_power(1.0, 20.0, 101.325, 101.325, 0.7) == 0.0


@pytest.mark.parametrize(("efficiency", "printed"), [(0.20, 2.79), (0.25, 3.49), (0.30, 4.19)])
def test_oxygen_for_each_kilowatt_hour(efficiency, printed):
    """Clean-water efficiency of the chain from transfer to wire, blower alone."""
    air = aeration.air_flow(24.0, efficiency)  # 1 kg O2/h
    power = aeration.blower_power(air, 20.0, 101.325, 161.325, 0.70)
    assert 1.0 / power == pytest.approx(printed, abs=0.006)


def test_outlet_pressure_adds_up():
    assert aeration.outlet_pressure(90.0, 0.0, 0.0) == 90.0
    assert aeration.outlet_pressure(90.0, 0.0, 7.0) == 97.0
    # One standard atmosphere is 10.33 m of water.
    assert aeration.outlet_pressure(0.0, 10.33, 0.0) == pytest.approx(ATMOSPHERE, rel=3e-4)
    assert aeration.pressure_ratio(0.9 * ATMOSPHERE) == pytest.approx(0.9, rel=1e-12)


def test_deeper_diffusers_take_up_more():
    assert aeration.standard_transfer_efficiency(0.06, 5.0) == pytest.approx(0.30)
    assert aeration.standard_transfer_efficiency(0.06, 0.0) == 0.0


# ------------------------------------------------ mixing and pumping


def test_mixing_and_pumping_over_a_day():
    """1 W for each m3 is 24 Wh in a day; 1 m3 lifted 367 m takes 1 kWh without losses."""
    assert aeration.mixing_energy(1000.0, 1.0) == pytest.approx(24.0)
    assert aeration.pumping_energy(1.0, 367.0978, 1.0) == pytest.approx(1.0, rel=1e-5)
    assert aeration.daily_energy(1.0) == 24.0


def test_same_power_gives_less_gradient_in_cold_water():
    """The gradient goes with viscosity to the power -0.5: 12 to 15 % less from 15 to 5 degC."""
    power = aeration.velocity_gradient_power(100.0, 2800.0, 1.139e-3)
    cold = math.sqrt(power / (2800.0 * 1.518e-3))
    assert aeration.velocity_gradient_power(cold, 2800.0, 1.518e-3) == pytest.approx(power)
    assert 12.0 < 100.0 - cold < 15.0


def test_nothing_pumped_or_stirred_takes_nothing():
    assert aeration.mixing_energy(0.0, 3.0) == 0.0
    assert aeration.pumping_energy(0.0, 4.0, 0.6) == 0.0
    assert aeration.pumping_energy(100.0, 0.0, 0.6) == 0.0
    assert aeration.velocity_gradient_power(0.0, 624.0, 0.00131) == 0.0
