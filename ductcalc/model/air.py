"""The air in the ducts: density and viscosity where the shop stands."""

from __future__ import annotations

from typing import NamedTuple

from ductcalc.catalog import fact
from ductcalc.physics.air import moist_air_density, pressure_at_altitude, viscosity
from ductcalc.shop.settings import AirSettings

SEA_LEVEL_M = 0.0
DRY = 0.0


class Air(NamedTuple):
    """Density [kg/m3] and viscosity [Pa s], with what they were computed from."""

    density_kg_m3: float
    viscosity_pa_s: float
    temperature_k: float
    pressure_pa: float
    altitude_m: float
    humidity: float
    stated: bool

    @property
    def says(self) -> str:
        """Tell in a few words where the density comes from."""
        return "density as stated" if self.stated else "moist ideal gas at the stated altitude and temperature"


def local_air(settings: AirSettings) -> Air:
    """Return the shop's air: 70 F, sea level and dry where nothing is stated (ASHRAE; ISO 2533 for altitude)."""
    temperature = settings.temperature_k if settings.temperature_k is not None else fact("air", "temperature").value
    altitude = settings.altitude_m if settings.altitude_m is not None else SEA_LEVEL_M
    humidity = settings.humidity if settings.humidity is not None else DRY
    pressure = settings.pressure_pa if settings.pressure_pa is not None else float(pressure_at_altitude(altitude))
    density, stated = settings.density_kg_m3, settings.density_kg_m3 is not None
    if density is None:
        density = float(moist_air_density(temperature, pressure, humidity))
    mu = settings.viscosity_pa_s if settings.viscosity_pa_s is not None else float(viscosity(temperature))
    return Air(density, mu, temperature, pressure, altitude, humidity, stated)
