"""Heat that leaves with the air."""

from __future__ import annotations

import pytest

from ductcalc.physics.heat import heat_of_air

CFM, DEGREE_F, BTU_H = 0.3048**3 / 60.0, 5.0 / 9.0, 1055.05585262 / 3600.0


def test_the_order_of_magnitude_in_the_trades_units() -> None:
    """800 cfm at 40 F colder is about 35,000 BTU/h."""
    heat = heat_of_air(800 * CFM, 1.2014, 40 * DEGREE_F)
    assert heat / BTU_H == pytest.approx(35_000, rel=0.02)


def test_a_kilogram_of_air_a_second_and_a_degree_are_a_kilowatt() -> None:
    assert heat_of_air(1.0, 1.0, 1.0) == 1006.0


def test_no_difference_no_heat() -> None:
    assert heat_of_air(0.3, 1.2, 0.0) == 0.0
