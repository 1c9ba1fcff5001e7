"""Air through the joints of a duct."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.leakage import joint_leak, joint_leak_constant

CFM = 0.3048**3 / 60.0


def test_the_class_is_the_leak_of_100_square_feet_at_one_inch_of_water() -> None:
    assert joint_leak(12.0, 249.0889, 100.0 * 0.3048**2) / CFM == pytest.approx(12.0, rel=1e-12)


@pytest.mark.parametrize(("leakage_class", "cfm"), [(3.0, 3.0), (12.0, 12.1)])
def test_twenty_feet_of_six_inch_duct_at_six_inches(leakage_class: float, cfm: float) -> None:
    surface_m2 = np.pi * 0.1524 * 20.0 * 0.3048
    assert joint_leak(leakage_class, 6.0 * 249.0889, surface_m2) / CFM == pytest.approx(cfm, abs=0.05)


@given(st.floats(0.0, 5000.0), st.floats(0.0, 50.0))
def test_the_constant_gives_the_same_leak(suction_pa: float, surface_m2: float) -> None:
    by_constant = joint_leak_constant(12.0, surface_m2) * suction_pa**0.65
    assert joint_leak(12.0, suction_pa, surface_m2) == pytest.approx(by_constant, rel=1e-12)


def test_without_suction_nothing_leaks() -> None:
    assert joint_leak(48.0, 0.0, 10.0) == 0.0


def test_over_room_pressure_as_much_leaks_out_as_else_leaks_in() -> None:
    assert joint_leak(48.0, -500.0, 10.0) == -joint_leak(48.0, 500.0, 10.0) < 0.0
