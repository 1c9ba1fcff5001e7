"""Cyclone, filter and inlet suction."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.collector import (
    cyclone_loss,
    fan_static_from_inlet_suction,
    filter_loss,
    shepherd_lapple_heads,
    shepherd_lapple_loss,
)
from ductcalc.physics.fan import fan_static_pressure
from ductcalc.physics.velocity import velocity, velocity_pressure

AIR = {"density": 1.0, "viscosity_pa_s": 1.9e-5, "rated_density": 1.2, "rated_viscosity_pa_s": 1.8e-5}


def test_the_rated_point_is_met() -> None:
    assert cyclone_loss(0.5, 0.5, 800.0, 1.2, 1.2) == pytest.approx(800.0)
    assert filter_loss(0.5, 0.5, 300.0, 1.3, 1.2, 1.8e-5, 1.2, 1.8e-5) == pytest.approx(300.0)


def test_a_viscous_filter_follows_flow_and_viscosity_but_not_density() -> None:
    assert filter_loss(0.25, 0.5, 300.0, 1.0, **AIR) == pytest.approx(150.0 * 1.9 / 1.8)


def test_a_filter_of_exponent_two_is_a_cyclone() -> None:
    as_filter = filter_loss(0.25, 0.5, 300.0, 2.0, **AIR)
    assert as_filter == pytest.approx(cyclone_loss(0.25, 0.5, 300.0, 1.0, 1.2), rel=1e-14)


@pytest.mark.parametrize("exponent", [1.0, 1.5, 2.0])
def test_no_air_no_loss(exponent: float) -> None:
    assert cyclone_loss(0.0, 0.5, 800.0, 1.2, 1.2) == 0.0
    assert filter_loss(0.0, 0.5, 800.0, exponent, **AIR) == 0.0


@given(st.floats(0.05, 1.0), st.floats(0.1, 0.5), st.floats(0.05, 0.3), st.floats(0.1, 0.6))
def test_a_cyclone_from_its_dimensions_is_heads_times_inlet_velocity_pressure(
    flow: float, height: float, width: float, outlet: float
) -> None:
    loss = shepherd_lapple_loss(flow, height, width, outlet, 1.2)
    inlet_pressure = velocity_pressure(1.2, flow / (height * width))
    assert loss == pytest.approx(shepherd_lapple_heads(height, width, outlet) * inlet_pressure, rel=1e-12)


def test_inlet_suction_at_free_discharge_is_the_fan_static_pressure_plus_its_velocity_pressure() -> None:
    inlet_pressure = velocity_pressure(1.2, velocity(0.3, 0.15))
    expected = fan_static_pressure(0.0, -2000.0, inlet_pressure)
    assert fan_static_from_inlet_suction(2000.0, 0.3, 0.15, 1.2) == pytest.approx(expected, rel=1e-14)
