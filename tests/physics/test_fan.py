"""Fan laws."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.fan import (
    air_power,
    power_taken,
    scaled_flow,
    scaled_power,
    scaled_pressure,
)

RATIO = st.floats(0.5, 2.0)


@given(RATIO, RATIO, RATIO)
def test_power_scales_as_flow_times_pressure(density: float, speed: float, size: float) -> None:
    flow = scaled_flow(1.0, speed, size)
    pressure = scaled_pressure(1.0, density, speed, size)
    assert scaled_power(1.0, density, speed, size) == pytest.approx(air_power(flow, pressure), rel=1e-12)


def test_density_alone_leaves_the_flow_and_scales_pressure_and_power() -> None:
    assert scaled_flow(2.4, 1.0) == 2.4
    assert scaled_pressure(340.0, 0.6) == pytest.approx(204.0)
    assert scaled_power(1.8, 0.6) == pytest.approx(1.08)


@given(st.floats(1.0, 1e5), st.floats(0.05, 1.0))
def test_what_goes_in_times_the_efficiency_comes_out(power: float, efficiency: float) -> None:
    assert power_taken(power, efficiency) * efficiency == pytest.approx(power)
