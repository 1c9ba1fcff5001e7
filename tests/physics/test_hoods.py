"""Hood relations turned round give back what went in."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.hoods import (
    entry_coefficient,
    flow_of_hood_suction,
    hood_static_suction,
    k_of_entry_coefficient,
)
from ductcalc.physics.velocity import velocity, velocity_pressure


@given(st.floats(0.0, 10.0))
def test_entry_coefficient_and_entry_loss_are_one_number(k: float) -> None:
    assert k_of_entry_coefficient(entry_coefficient(k)) == pytest.approx(k, abs=1e-12)


@given(st.floats(0.01, 1.0), st.floats(0.05, 0.3), st.floats(0.0, 5.0))
def test_a_measured_hood_suction_gives_back_the_flow(flow_m3_s: float, bore_m: float, k: float) -> None:
    suction = hood_static_suction(velocity_pressure(1.1, velocity(flow_m3_s, bore_m)), k)
    found = flow_of_hood_suction(suction, entry_coefficient(k), bore_m, 1.1)
    assert found == pytest.approx(flow_m3_s, rel=1e-12)


def test_a_hood_without_loss_shows_the_velocity_pressure() -> None:
    assert hood_static_suction(240.0, 0.0) == 240.0
