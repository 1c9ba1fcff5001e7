"""Air against an open-source psychrometric library and the standard atmosphere."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.air import (
    INCH_OF_WATER_PA,
    STANDARD_DENSITY_KG_M3,
    STANDARD_VISCOSITY_PA_S,
    heat_of_air,
    moist_air_density,
    pressure_at_altitude,
    saturation_pressure,
    viscosity,
)

ZERO_CELSIUS_K = 273.15


@pytest.fixture(autouse=True)
def _si_units() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


@given(st.floats(-50.0, 100.0))
def test_saturation_pressure_is_that_of_psychrolib(celsius: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    ours = saturation_pressure(celsius + ZERO_CELSIUS_K)
    assert ours == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=1e-10)


@given(st.floats(-10.0, 45.0), st.floats(0.01, 1.0), st.floats(0.0, 3000.0))
def test_moist_air_density_is_that_of_psychrolib(celsius: float, humidity: float, altitude_m: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure_pa = psychrolib.GetStandardAtmPressure(altitude_m)
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure_pa)
    theirs = psychrolib.GetMoistAirDensity(celsius, ratio, pressure_pa)
    ours = moist_air_density(celsius + ZERO_CELSIUS_K, pressure_pa, humidity)
    assert ours == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize(
    ("celsius", "humidity", "pressure_pa", "density"),
    [
        (20.0, 0.0, 101325.0, 1.2042),
        (20.0, 0.5, 101325.0, 1.1989),
        (25.0, 0.5, 101325.0, 1.1770),
        (30.0, 0.8, 101325.0, 1.1497),
        (0.0, 0.5, 101325.0, 1.2908),
        (30.0, 0.8, 84307.0, 0.9541),
    ],
)
def test_moist_air_density_to_the_digits_of_the_psychrometric_equations(
    celsius: float, humidity: float, pressure_pa: float, density: float
) -> None:
    ours = moist_air_density(celsius + ZERO_CELSIUS_K, pressure_pa, humidity)
    assert ours == pytest.approx(density, abs=5e-5)


@given(st.floats(-300.0, 5000.0))
def test_pressure_at_altitude_is_the_standard_atmosphere(altitude_m: float) -> None:
    theirs = psychrolib.GetStandardAtmPressure(altitude_m)
    assert pressure_at_altitude(altitude_m) == pytest.approx(theirs, rel=1e-5)


def test_saturation_pressure_joins_ice_and_water_at_the_triple_point() -> None:
    assert saturation_pressure(273.16 - 1e-9) == pytest.approx(saturation_pressure(273.16 + 1e-9), rel=1e-4)


def test_the_rooms_default_air_is_a_little_lighter_than_standard_air() -> None:
    dry_70_f = moist_air_density(294.2611, 101325.0, 0.0)
    assert dry_70_f == pytest.approx(1.1996, abs=5e-5)
    assert pytest.approx(0.075 * 16.01846, abs=5e-5) == STANDARD_DENSITY_KG_M3


def test_standard_viscosity_is_the_formula_at_70_f_rounded() -> None:
    assert viscosity(294.2611) == pytest.approx(STANDARD_VISCOSITY_PA_S, rel=1e-3)


def test_an_inch_of_water_is_the_weight_of_an_inch_of_water() -> None:
    assert pytest.approx(1000.0 * 9.80665 * 0.0254, abs=1e-3) == INCH_OF_WATER_PA


def test_arrays_give_what_their_elements_give() -> None:
    temperatures = np.array([250.0, 273.16, 300.0])
    together = moist_air_density(temperatures, 101325.0, 0.5)
    apart = [moist_air_density(float(t), 101325.0, 0.5) for t in temperatures]
    np.testing.assert_array_equal(together, apart)


CFM, DEGREE_F, BTU_H = 0.3048**3 / 60.0, 5.0 / 9.0, 1055.05585262 / 3600.0


def test_the_order_of_magnitude_in_the_trades_units() -> None:
    """800 cfm at 40 F colder is about 35,000 BTU/h."""
    heat = heat_of_air(800 * CFM, 1.2014, 40 * DEGREE_F)
    assert heat / BTU_H == pytest.approx(35_000, rel=0.02)


def test_a_kilogram_of_air_a_second_and_a_degree_are_a_kilowatt() -> None:
    assert heat_of_air(1.0, 1.0, 1.0) == 1006.0


def test_no_difference_no_heat() -> None:
    assert heat_of_air(0.3, 1.2, 0.0) == 0.0
