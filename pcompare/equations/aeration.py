"""Oxygen transfer, blowers, mixing and pumping."""

from __future__ import annotations

from pcompare import tables
from pcompare.arrays import Quantity, equation, exp
from pcompare.units import HOURS_PER_DAY

SECONDS = 86400.0  # s/d
REFERENCE = 20.0  # degC, of standard oxygen transfer


def _kelvin(temperature: Quantity) -> Quantity:
    return temperature + tables.constant("zero_celsius")


def _water_pressure(depth: Quantity) -> Quantity:
    """Pressure of a water column, Pa to kPa."""
    return depth * tables.constant("water_density") * tables.constant("standard_gravity") / 1000.0


@equation
def oxygen_saturation(temperature: Quantity) -> Quantity:
    """Dissolved oxygen of clean water in equilibrium with moist air at 1 atm.

    Parameters
    ----------
    temperature : quantity
        Water temperature, 0 to 40. [degC]

    Returns
    -------
    quantity
        Saturation. [mg O2/L]

    Notes
    -----
    ln C = A0 + A1/T + A2/T^2 + A3/T^3 + A4/T^4 with T in kelvin, fresh water.

    Examples
    --------
    >>> round(float(oxygen_saturation(20.0)), 2)
    9.09

    References
    ----------
    SM4500O, method 4500-O, solubility of oxygen
    BENSON1984
    """
    inverse = 1.0 / _kelvin(temperature)
    logarithm: Quantity = 0.0
    for power in (4, 3, 2, 1, 0):  # Horner, from the highest power
        logarithm = logarithm * inverse + tables.constant(f"oxygen_saturation_a{power}")
    return exp(logarithm)


@equation
def mean_saturation(
    saturation: Quantity, diffuser_depth: Quantity, depth_factor: Quantity
) -> Quantity:
    """Saturation that an aerated tank tends to, higher for the water pressure on the bubbles.

    Parameters
    ----------
    saturation : quantity
        Saturation at 1 atm. [mg O2/L]
    diffuser_depth : quantity
        Depth of the diffusers. [m]
    depth_factor : quantity
        Effective share of that depth, 0.25 to 0.45. [-]

    Returns
    -------
    quantity
        Mean saturation of the tank. [mg O2/L]

    Notes
    -----
    C* = C (1 + d_e D_f / 10.33), 10.33 m being the water column of one standard atmosphere.

    Examples
    --------
    >>> round(float(mean_saturation(9.09, 4.5, 0.4)), 2)
    10.67

    References
    ----------
    EPA1989AIR, effective saturation depth
    """
    pressure = _water_pressure(depth_factor * diffuser_depth)
    return saturation * (1.0 + pressure / tables.constant("standard_atmosphere"))


@equation
def standard_transfer_rate(
    oxygen_demand: Quantity,
    alpha_fouling: Quantity,
    beta: Quantity,
    temperature: Quantity,
    saturation_20: Quantity,
    oxygen_set_point: Quantity,
    pressure_ratio: Quantity,
) -> Quantity:
    """Oxygen transfer in clean water at 20 degC that meets a demand in the process.

    Parameters
    ----------
    oxygen_demand : quantity
        Oxygen demand of the process. [kg/d]
    alpha_fouling : quantity
        Transfer in mixed liquor over clean water, fouling included. [-]
    beta : quantity
        Saturation of wastewater over clean water. [-]
    temperature : quantity
        Water temperature. [degC]
    saturation_20 : quantity
        Mean saturation of the tank at 20 degC and 1 atm, `mean_saturation`. [mg O2/L]
    oxygen_set_point : quantity
        Dissolved oxygen held, below the saturation of the site. [mg O2/L]
    pressure_ratio : quantity
        Air pressure of the site over 101.325 kPa. [-]

    Returns
    -------
    quantity
        Standard oxygen transfer rate. [kg/d]

    Notes
    -----
    SOTR = AOR / (alphaF theta^(T - 20) (tau beta Omega C*20 - C_L) / C*20); tau is the
    saturation at T over that at 20 degC. Grows without bound as the set point nears saturation.

    Examples
    --------
    >>> round(float(standard_transfer_rate(1000.0, 0.6, 0.95, 20.0, 10.67, 2.0, 1.0)))
    2186

    References
    ----------
    EPA1989AIR, oxygen transfer rate under process conditions
    """
    tau = oxygen_saturation(temperature) / oxygen_saturation(REFERENCE)
    driving = (tau * beta * pressure_ratio * saturation_20 - oxygen_set_point) / saturation_20
    warming = tables.constant("transfer_theta") ** (temperature - REFERENCE)
    return oxygen_demand / (alpha_fouling * warming * driving)


@equation
def standard_transfer_efficiency(
    transfer_efficiency_per_m: Quantity, diffuser_depth: Quantity
) -> Quantity:
    """Share of the oxygen blown in that clean water takes up.

    Parameters
    ----------
    transfer_efficiency_per_m : quantity
        Transfer efficiency for each metre of depth. [1/m]
    diffuser_depth : quantity
        Depth of the diffusers. [m]

    Returns
    -------
    quantity
        Standard oxygen transfer efficiency. [-]

    Notes
    -----
    SOTE = e D_f. In proportion to depth, which holds from about 3 to 8 m.

    Examples
    --------
    >>> round(standard_transfer_efficiency(0.06, 4.5), 3)
    0.27

    References
    ----------
    EPA1989AIR, about 2 % per foot
    WPT2020_072, 0.085-0.098 per metre
    """
    return transfer_efficiency_per_m * diffuser_depth


@equation
def air_flow(standard_rate: Quantity, transfer_efficiency: Quantity) -> Quantity:
    """Mass flow of air that carries a standard oxygen transfer rate.

    Parameters
    ----------
    standard_rate : quantity
        Standard oxygen transfer rate. [kg/d]
    transfer_efficiency : quantity
        Standard oxygen transfer efficiency. [-]

    Returns
    -------
    quantity
        Air. [kg/s]

    Notes
    -----
    w = SOTR / (86 400 x 0.2318 SOTE), 0.2318 kg O2 in each kg of dry air.

    Examples
    --------
    >>> round(air_flow(5006.88, 0.25), 6)
    1.0

    References
    ----------
    EPA1989AIR, air flow from oxygen transfer
    """
    return standard_rate / (transfer_efficiency * tables.constant("oxygen_in_air") * SECONDS)


@equation
def pressure_ratio(pressure_inlet: Quantity) -> Quantity:
    """Air pressure of the site over the standard atmosphere.

    Parameters
    ----------
    pressure_inlet : quantity
        Absolute air pressure of the site. [kPa]

    Returns
    -------
    quantity
        Pressure ratio, Omega of the transfer equation. [-]

    Notes
    -----
    Omega = p / 101.325.

    Examples
    --------
    >>> pressure_ratio(101.325)
    1.0

    References
    ----------
    SI2019, standard atmosphere
    """
    return pressure_inlet / tables.constant("standard_atmosphere")


@equation
def outlet_pressure(
    pressure_inlet: Quantity, diffuser_depth: Quantity, air_line_loss: Quantity
) -> Quantity:
    """Pressure that a blower must reach: the air outside, the water above, the pipes between.

    Parameters
    ----------
    pressure_inlet : quantity
        Absolute air pressure of the site. [kPa]
    diffuser_depth : quantity
        Depth of the diffusers. [m]
    air_line_loss : quantity
        Pressure loss of pipes, valves and diffusers. [kPa]

    Returns
    -------
    quantity
        Absolute pressure. [kPa]

    Notes
    -----
    p2 = p1 + rho g D_f + loss.

    Examples
    --------
    >>> round(outlet_pressure(101.325, 4.572, 0.0) / 101.325, 2)  # 15 ft of water
    1.44

    References
    ----------
    GATEWAY_CE442, example 8
    """
    return pressure_inlet + _water_pressure(diffuser_depth) + air_line_loss


@equation
def blower_power(
    air_mass_flow: Quantity,
    inlet_temperature: Quantity,
    pressure_inlet: Quantity,
    pressure_outlet: Quantity,
    blower_efficiency: Quantity,
) -> Quantity:
    """Power of a blower, adiabatic compression over an efficiency.

    Parameters
    ----------
    air_mass_flow : quantity
        Air. [kg/s]
    inlet_temperature : quantity
        Air temperature at the inlet. [degC]
    pressure_inlet : quantity
        Absolute inlet pressure. [kPa]
    pressure_outlet : quantity
        Absolute outlet pressure. [kPa]
    blower_efficiency : quantity
        Wire to air. [-]

    Returns
    -------
    quantity
        Power. [kW]

    Notes
    -----
    P = w R T1 / (M n e) ((p2/p1)^n - 1) with n = 0.283 and M = 28.97 g/mol. Older books print
    29.7 in place of 28.97, which is 2.5 % low.

    Examples
    --------
    >>> round(blower_power(1.0, 20.0, 101.325, 161.325, 0.70), 1)
    59.7

    References
    ----------
    METCALF2014, adiabatic power requirement of blowers
    """
    exponent = tables.constant("adiabatic_exponent_air")
    # J/mol over g/mol is kJ/kg, so kg/s gives kW
    energy = _kelvin(inlet_temperature) * tables.constant("gas_constant")
    energy = energy / tables.constant("molar_mass_air") / exponent
    compression = (pressure_outlet / pressure_inlet) ** exponent - 1.0
    return air_mass_flow * energy * compression / blower_efficiency


@equation
def mixing_energy(volume: Quantity, mixing_power: Quantity) -> Quantity:
    """Energy of stirring an unaerated zone.

    Parameters
    ----------
    volume : quantity
        Volume stirred. [m3]
    mixing_power : quantity
        Power for each unit of volume. [W/m3]

    Returns
    -------
    quantity
        Energy. [kWh/d]

    Notes
    -----
    E = V p 24/1000, stirred all day.

    Examples
    --------
    >>> mixing_energy(1000.0, 3.0)
    72.0

    References
    ----------
    WST77_800, 1 W/m3 is 24 Wh/m3 in a day
    """
    return volume * mixing_power * HOURS_PER_DAY / 1000.0  # W to kW


@equation
def pumping_energy(flow_pumped: Quantity, head: Quantity, pump_efficiency: Quantity) -> Quantity:
    """Energy of lifting water.

    Parameters
    ----------
    flow_pumped : quantity
        Water pumped. [m3/d]
    head : quantity
        Total head. [m]
    pump_efficiency : quantity
        Wire to water. [-]

    Returns
    -------
    quantity
        Energy. [kWh/d]

    Notes
    -----
    E = rho g Q H / (3 600 000 eta): 0.00454 kWh/m3 for each metre at an efficiency of 0.6.

    Examples
    --------
    >>> round(pumping_energy(1.0, 1.0, 0.6), 5)
    0.00454

    References
    ----------
    METCALF2014, power of pumps
    """
    return flow_pumped * _water_pressure(head) / 3600.0 / pump_efficiency  # kJ/d to kWh/d


@equation
def velocity_gradient_power(gradient: Quantity, volume: Quantity, viscosity: Quantity) -> Quantity:
    """Power into the water that makes a mean velocity gradient.

    Parameters
    ----------
    gradient : quantity
        Root-mean-square velocity gradient. [1/s]
    volume : quantity
        Volume stirred. [m3]
    viscosity : quantity
        Dynamic viscosity. [Pa s]

    Returns
    -------
    quantity
        Power. [W]

    Notes
    -----
    P = G^2 mu V. Motor power is this over the efficiency of drive and impeller.

    Examples
    --------
    >>> round(velocity_gradient_power(30.0, 624.0, 0.00131))
    736

    References
    ----------
    FLOCCULATOR_EXERCISE, second compartment
    """
    return gradient * gradient * volume * viscosity


@equation
def daily_energy(power: Quantity) -> Quantity:
    """Energy of something that runs all day.

    Parameters
    ----------
    power : quantity
        Electrical power. [kW]

    Returns
    -------
    quantity
        Energy. [kWh/d]

    Notes
    -----
    E = 24 P.

    Examples
    --------
    >>> daily_energy(10.0) * 365
    87600.0

    References
    ----------
    COMMON_PRACTICE
    """
    return power * HOURS_PER_DAY
