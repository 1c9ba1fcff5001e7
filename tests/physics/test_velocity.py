"""Speed, velocity pressure and Reynolds number."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.velocity import (
    bore_area,
    reynolds,
    velocity,
    velocity_pressure,
)


def test_area_of_a_bore_of_two_metres_is_pi() -> None:
    assert bore_area(2.0) == pytest.approx(math.pi)


@given(st.floats(0.0, 5.0), st.floats(0.02, 1.0))
def test_velocity_times_area_is_the_flow(flow_m3_s: float, bore_m: float) -> None:
    assert velocity(flow_m3_s, bore_m) * bore_area(bore_m) == pytest.approx(flow_m3_s, abs=1e-15)


def test_still_air_has_no_velocity_pressure_and_no_reynolds_number() -> None:
    assert velocity_pressure(1.2, 0.0) == 0.0
    assert reynolds(1.2, 0.0, 0.1, 1.82e-5) == 0.0


def test_reynolds_number_is_the_ratio_of_its_parts() -> None:
    assert reynolds(1.2, 20.0, 0.1, 2.4e-5) == pytest.approx(100_000.0)
