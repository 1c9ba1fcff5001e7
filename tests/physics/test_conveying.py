"""Chips in the air."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.conveying import (
    chip_loading,
    cut_volume,
    expansion,
    filling_time,
    loaded_duct_factor,
    thin_air_speed_factor,
)


def test_air_alone_costs_no_more() -> None:
    assert loaded_duct_factor(0.0) == 1.0


def test_a_fifth_of_chips_by_mass_adds_28_percent() -> None:
    assert loaded_duct_factor(0.2) == pytest.approx(1.28)


def test_thin_air_must_move_faster_with_the_same_velocity_pressure() -> None:
    factor = thin_air_speed_factor(0.96)
    assert 0.96 * (20.0 * factor) ** 2 == pytest.approx(1.2 * 20.0**2)


SOME = st.floats(0.01, 10.0)


@given(SOME, SOME, SOME, SOME, SOME)
def test_what_fills_the_drum_is_the_drum(width: float, depth: float, feed: float, by: float, drum: float) -> None:
    solid = cut_volume(width, depth, feed)
    assert filling_time(drum, solid, by) * solid * by == pytest.approx(drum)


def test_a_planers_cut_worked_by_hand() -> None:
    """12 in wide, 1/16 in deep, 20 ft/min: 1 x 1/192 x 1200 = 6.25 ft3 of wood an hour, four times that of shavings."""
    foot, inch = 0.3048, 0.0254
    solid = cut_volume(12 * inch, inch / 16, 20 * foot / 60)
    assert solid * 3600 / foot**3 == pytest.approx(6.25)
    drum = 55 * 231 * inch**3
    assert filling_time(drum, solid, 4.0) / 3600 == pytest.approx(55 * 231 / 1728 / 25.0)


def test_a_heap_half_as_dense_takes_twice_the_room() -> None:
    assert expansion(500.0, 250.0) == pytest.approx(2.0)


def test_thinner_air_carries_more_chips_for_each_kilogram_of_it() -> None:
    assert chip_loading(0.02, 0.3, 0.9) > chip_loading(0.02, 0.3, 1.2)


def test_the_loading_of_a_hundred_kilograms_an_hour_is_the_one_in_the_table() -> None:
    from ductcalc.catalog import fact

    assert round(chip_loading(100 / 3600, 1200 / 3600, 1.2), 2) == fact("chips", "loading, planer at full cut").value
