"""Air: pressure at altitude, saturation, moist density, viscosity, and the fixed constants of the trade."""

from __future__ import annotations

import numpy as np

from ductcalc.physics.amounts import Amount

STANDARD_DENSITY_KG_M3 = 1.2014
"""Standard air [kg/m3]: 0.075 lb/ft3 (ACGIH, Industrial Ventilation) at 16.01846 kg/m3 per lb/ft3."""

STANDARD_VISCOSITY_PA_S = 1.82e-5
"""Viscosity of standard air [Pa s]: the U.S. Standard Atmosphere 1976 formula at 70 F, rounded."""

INCH_OF_WATER_PA = 249.0889
"""One inch of water [Pa]: 1000 kg/m3 x 9.80665 m/s2 x 0.0254 m, the conventional inch at 4 C."""

SEA_LEVEL_PRESSURE_PA = 101325.0
"""Pressure at sea level [Pa], ISO 2533:1975, Standard Atmosphere, constants."""

SEA_LEVEL_TEMPERATURE_K = 288.15
"""Temperature at sea level [K], ISO 2533:1975, Standard Atmosphere, constants."""

TEMPERATURE_LAPSE_K_M = 0.0065
"""Fall of temperature with height below 11 km [K/m], ISO 2533:1975, constants."""

ALTITUDE_EXPONENT = 9.80665 / (287.05287 * TEMPERATURE_LAPSE_K_M)
"""g / (R L) of the troposphere [-], 5.2559, from the constants of ISO 2533:1975, constants."""

DRY_AIR_GAS_CONSTANT_J_KG_K = 287.042
"""Gas constant of dry air [J/(kg K)], ASHRAE Handbook Fundamentals 2017, chapter 1, equation 1."""

WATER_TO_AIR_MASS_RATIO = 0.621945
"""Molar mass of water over that of dry air [-], ASHRAE Handbook Fundamentals 2017, chapter 1, equation 20."""

TRIPLE_POINT_K = 273.16
"""Triple point of water [K]: over ice below, over liquid water above."""

SUTHERLAND_FACTOR = 1.458e-6
"""Sutherland's beta [kg/(s m K^0.5)], U.S. Standard Atmosphere 1976, constants."""

SUTHERLAND_TEMPERATURE_K = 110.4
"""Sutherland's constant S [K], U.S. Standard Atmosphere 1976, constants."""


def pressure_at_altitude(altitude_m: Amount) -> Amount:
    """Pressure of the standard atmosphere at an altitude.

    p = 101325 (1 - 0.0065 z / 288.15)^5.2559.

    Parameters: altitude_m, height z above sea level [m], any shape, -2000 to 11000.
    Returns: pressure [Pa], same shape.
    Source: ISO 2533:1975, Standard Atmosphere, pressure of the troposphere.

    >>> round(float(pressure_at_altitude(1000.0)))
    89875
    """
    ratio: Amount = 1.0 - altitude_m * (TEMPERATURE_LAPSE_K_M / SEA_LEVEL_TEMPERATURE_K)
    return SEA_LEVEL_PRESSURE_PA * ratio**ALTITUDE_EXPONENT


def _log_pressure_over_ice(temperature_k: Amount) -> Amount:
    result: Amount = (
        -5.6745359e3 / temperature_k
        + 6.3925247
        - 9.677843e-3 * temperature_k
        + 6.2215701e-7 * temperature_k**2
        + 2.0747825e-9 * temperature_k**3
        - 9.484024e-13 * temperature_k**4
        + 4.1635019 * np.log(temperature_k)
    )
    return result


def _log_pressure_over_water(temperature_k: Amount) -> Amount:
    result: Amount = (
        -5.8002206e3 / temperature_k
        + 1.3914993
        - 4.8640239e-2 * temperature_k
        + 4.1764768e-5 * temperature_k**2
        - 1.4452093e-8 * temperature_k**3
        + 6.5459673 * np.log(temperature_k)
    )
    return result


def saturation_pressure(temperature_k: Amount) -> Amount:
    """Pressure of saturated water vapour, over ice below the triple point and over water above.

    Parameters: temperature_k, dry-bulb temperature [K], any shape, 173.15 to 473.15.
    Returns: saturation pressure [Pa], same shape.
    Source: Hyland and Wexler 1983, as equations 5 and 6 of ASHRAE Handbook Fundamentals 2017, chapter 1.

    >>> round(float(saturation_pressure(293.15)), 1)
    2338.8
    """
    over_ice = _log_pressure_over_ice(temperature_k)
    over_water = _log_pressure_over_water(temperature_k)
    result: Amount = np.exp(np.where(np.asarray(temperature_k) <= TRIPLE_POINT_K, over_ice, over_water))
    return result


def moist_air_density(temperature_k: Amount, pressure_pa: Amount, humidity: Amount) -> Amount:
    """Density of moist air as an ideal gas.

    rho = (p - 0.378055 p_w) / (287.042 T), p_w = humidity times the saturation pressure: the moist specific
    volume and humidity ratio of the source, put into one line.

    Parameters: temperature_k, dry-bulb T [K]; pressure_pa, barometric p [Pa]; humidity, relative [0 to 1].
    Returns: density of the mixture [kg/m3], broadcast shape.
    Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equations 20, 22 and 26.

    >>> round(float(moist_air_density(293.15, 101325.0, 0.5)), 4)
    1.1989
    """
    vapour_pa = humidity * saturation_pressure(temperature_k)
    heavy_pa = pressure_pa - (1.0 - WATER_TO_AIR_MASS_RATIO) * vapour_pa
    return heavy_pa / (DRY_AIR_GAS_CONSTANT_J_KG_K * temperature_k)


def viscosity(temperature_k: Amount) -> Amount:
    """Dynamic viscosity of air by Sutherland's formula, mu = 1.458e-6 T^1.5 / (T + 110.4).

    Parameters: temperature_k, T [K], any shape, 100 to 1000.
    Returns: viscosity [Pa s], same shape.
    Source: U.S. Standard Atmosphere 1976, viscosity.

    >>> round(float(viscosity(294.2611)) * 1e5, 4)
    1.8187
    """
    return SUTHERLAND_FACTOR * temperature_k**1.5 / (temperature_k + SUTHERLAND_TEMPERATURE_K)


SPECIFIC_HEAT_J_KG_K = 1006.0
"""Heat of dry air at constant pressure [J/(kg K)]: ASHRAE Handbook Fundamentals, psychrometrics; from memory."""


def heat_of_air(flow_m3_s: Amount, density_kg_m3: Amount, warmer_k: Amount) -> Amount:
    """Sensible heat of an air stream over that of outdoor air, rho Q c dT [W].

    Parameters: flow Q [m3/s]; density rho [kg/m3]; warmer_k dT, room less outdoors [K]. Returns: [W], broadcast
    shape. Moisture is left out. Source: definition; in the trade's units 1.08 BTU/h for each cfm and degree F.

    >>> round(float(heat_of_air(0.5, 1.2, 10.0)))
    6036
    """
    return density_kg_m3 * flow_m3_s * SPECIFIC_HEAT_J_KG_K * warmer_k
