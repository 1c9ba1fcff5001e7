"""A cyclone's or filter's loss from its rated point."""

from __future__ import annotations

import pytest

from ductcalc.physics.collector import filter_loss

AIR = {"density": 1.0, "viscosity_pa_s": 1.9e-5, "rated_density": 1.2, "rated_viscosity_pa_s": 1.8e-5}


def test_the_rated_point_is_met() -> None:
    assert filter_loss(0.5, 0.5, 300.0, 1.3, 1.2, 1.8e-5, 1.2, 1.8e-5) == pytest.approx(300.0)


def test_a_viscous_filter_follows_flow_and_viscosity_but_not_density() -> None:
    assert filter_loss(0.25, 0.5, 300.0, 1.0, **AIR) == pytest.approx(150.0 * 1.9 / 1.8)


def test_a_cyclone_follows_density_and_the_flow_squared_but_not_viscosity() -> None:
    assert filter_loss(0.25, 0.5, 300.0, 2.0, **AIR) == pytest.approx(300.0 / 4.0 / 1.2, rel=1e-14)


@pytest.mark.parametrize("exponent", [1.0, 1.5, 2.0])
def test_no_air_no_loss(exponent: float) -> None:
    assert filter_loss(0.0, 0.5, 800.0, exponent, **AIR) == 0.0
