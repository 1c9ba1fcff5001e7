"""Chips in the air."""

from __future__ import annotations

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.conveying import (
    loaded_duct_factor,
    rizk_saltation_velocity,
    thin_air_speed_factor,
)


@given(st.floats(0.001, 1.0), st.floats(2e-5, 5e-4), st.floats(0.8, 1.3), st.floats(0.05, 0.4))
def test_saltation_velocity_is_that_of_fluids(
    solids: float, particle: float, density: float, bore: float
) -> None:
    theirs = fluids.saltation.Rizk(mp=solids, dp=particle, rhog=density, D=bore)
    assert rizk_saltation_velocity(solids, particle, density, bore) == pytest.approx(theirs, rel=1e-9)


def test_air_alone_costs_no_more() -> None:
    assert loaded_duct_factor(0.0) == 1.0


def test_a_fifth_of_chips_by_mass_adds_28_percent() -> None:
    assert loaded_duct_factor(0.2) == pytest.approx(1.28)


def test_thin_air_must_move_faster_with_the_same_velocity_pressure() -> None:
    factor = thin_air_speed_factor(0.96)
    assert 0.96 * (20.0 * factor) ** 2 == pytest.approx(1.2 * 20.0**2)
