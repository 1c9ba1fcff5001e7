"""What readings come to: a Pitot tube in thin air; where a traverse is read. Printed ones are in `tests/reference/`."""

from __future__ import annotations

import numpy as np
import pytest

from ductcalc.catalog import fact
from ductcalc.physics.velocity import velocity_pressure

POINTS = [fact("measuring", f"traverse point {number}").value for number in (1, 2, 3)]


@pytest.mark.parametrize(("factor", "faster"), [(0.95, 1.026), (0.83, 1.098), (0.74, 1.162)])
def test_a_pitot_tube_in_thin_air_shows_a_faster_stream(factor: float, faster: float) -> None:
    """V goes with the root of VP over the density factor, as tables of altitude are used."""
    sea, thin = velocity_pressure(1.2014, 20.0), velocity_pressure(1.2014 * factor, 20.0 * faster)
    assert thin / sea == pytest.approx(1.0, abs=0.002)


def test_the_points_of_a_traverse_are_the_log_linear_ones() -> None:
    """r/R 0.9358, 0.7302 and 0.3586, as ISO 3966 is recalled."""
    assert [1.0 - 2.0 * point for point in POINTS] == pytest.approx([0.9358, 0.7302, 0.3586], abs=0.001)


def test_the_mean_of_a_traverse_is_that_of_a_turbulent_profile() -> None:
    """On a 1/7 power profile six log-linear points read 0.3 % low; 0.817 of the middle is the mean."""
    read = np.mean([(2.0 * point) ** (1.0 / 7.0) for point in POINTS])
    assert read / 0.8167 - 1.0 == pytest.approx(-0.003, abs=0.001)


def test_one_reading_on_the_axis_is_farther_off_than_a_traverse() -> None:
    centre = fact("measuring", "centre")
    assert centre.low < 0.8167 < centre.high
    assert abs(centre.value / 0.8167 - 1.0) > 0.003
