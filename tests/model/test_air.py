"""The shop's air from what the settings say, against two general libraries."""

from __future__ import annotations

from typing import Any

import psychrolib
import pytest
from fluids.atmosphere import ATMOSPHERE_1976

from ductcalc.model.air import Air
from ductcalc.model.model import build_model
from tests.scenes import end, port, run, shop

CELSIUS_K = 273.15


@pytest.fixture(autouse=True)
def _si_units() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


def air(**settings: Any) -> Air:
    return build_model(shop(run("trunk", port("saw", "4 in"), end()), air=settings)).air


def density(celsius: float, humidity: float, pressure_pa: float) -> float:
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure_pa)
    return float(psychrolib.GetMoistAirDensity(celsius, ratio, pressure_pa))


def test_altitude_temperature_and_humidity_thin_it() -> None:
    pressure = psychrolib.GetStandardAtmPressure(1500.0)
    found = air(altitude="1500 m", temperature="35 C", humidity="60 %")
    assert found.pressure_pa == pytest.approx(pressure, rel=2e-5)
    assert found.density_kg_m3 == pytest.approx(density(35.0, 0.6, pressure), rel=2e-5)


def test_a_stated_pressure_counts_and_not_the_altitude() -> None:
    found = air(altitude="1500 m", pressure="980 hPa", temperature="10 C")
    assert found.density_kg_m3 == pytest.approx(density(10.0, 0.0, 98000.0), rel=2e-5)


def test_unstated_it_is_dry_at_70_f_and_sea_level() -> None:
    assert air().density_kg_m3 == pytest.approx(density((70.0 - 32.0) / 1.8, 0.0, 101325.0), rel=2e-5)


def test_a_stated_density_is_taken_as_it_is() -> None:
    found = air(density="0.9 kg/m3")
    assert (found.density_kg_m3, found.stated) == (0.9, True)


@pytest.mark.parametrize("celsius", [-10.0, 10.0, 40.0])
def test_viscosity_follows_the_temperature(celsius: float) -> None:
    found = air(temperature=f"{celsius:g} C").viscosity_pa_s
    assert found == pytest.approx(ATMOSPHERE_1976.viscosity(celsius + CELSIUS_K), rel=1e-6)


def test_a_stated_viscosity_is_taken_as_it_is() -> None:
    assert air(viscosity="1.7e-5 Pa s", temperature="40 C").viscosity_pa_s == 1.7e-5
