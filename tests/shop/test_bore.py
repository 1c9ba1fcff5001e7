"""A rectangle as a bore: equal area for speed, hydraulic diameter for friction, perimeter for leaks."""

from __future__ import annotations

import copy
import math
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.catalog import fact
from ductcalc.physics.friction import darcy_loss_per_m
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.bore import Rectangle, height, hydraulic_diameter, perimeter, sides, width

SIDES = st.floats(0.02, 1.0)


@given(SIDES, SIDES)
def test_area_perimeter_and_hydraulic_diameter_are_those_of_the_sides(one, other):
    bore = Rectangle(one, other)
    assert float(bore_area(bore)) == pytest.approx(one * other)
    assert perimeter(bore) == pytest.approx(2 * (one + other))
    assert hydraulic_diameter(bore) == pytest.approx(4 * one * other / perimeter(bore))
    assert hydraulic_diameter(bore) <= bore * (1 + 1e-12)


def test_a_round_bore_keeps_its_own_formulas():
    assert (hydraulic_diameter(0.1), perimeter(0.1)) == (0.1, math.pi * 0.1)
    assert (sides(0.1), width(0.1), height(None)) == (None, None, None)


def test_rectangles_are_equal_by_their_sides_alone():
    wide, square = Rectangle(0.4, 0.1), Rectangle(0.2, 0.2)
    assert float(wide) == float(square) and wide != square
    assert wide != float(wide) and float(wide) != wide
    assert wide == Rectangle(0.4, 0.1) and len({wide, Rectangle(0.4, 0.1), square, float(wide)}) == 3


@pytest.mark.parametrize("made", [copy.deepcopy, lambda bore: pickle.loads(pickle.dumps(bore))])
def test_a_copy_keeps_its_sides(made):
    assert sides(made(Rectangle(0.3, 0.1))) == (0.3, 0.1)


def per_metre(bore_m: float, flow_m3_s: float) -> float:
    speed = flow_m3_s / float(bore_area(bore_m))
    return float(darcy_loss_per_m(speed, hydraulic_diameter(bore_m), 9.144e-5, 1.2, 1.82e-5))


@pytest.mark.parametrize(
    ("width_m", "height_m", "item"),
    [(22 * 0.0254, 30 * 0.0254, "equal friction, 22 x 30 in"), (0.55, 0.4, "equal friction, 550 x 400 mm")],
)
def test_printed_round_ducts_of_equal_friction_agree(width_m, height_m, item):
    rectangle, equal = Rectangle(width_m, height_m), fact("rectangular", item).value
    flow = 12.0 * width_m * height_m
    assert per_metre(rectangle, flow) == pytest.approx(per_metre(equal, flow), rel=0.04)


@pytest.mark.parametrize("ratio", [1.0, 2.0, 3.0, 4.0])
def test_the_forms_of_equal_friction_agree(ratio):
    high, area, around = 0.1, ratio * 0.01, 2 * 0.1 * (1 + ratio)
    by_area = fact("rectangular", "equal friction, form of area and perimeter").value * area**0.625 / around**0.25
    factor = fact("rectangular", "equal friction, form of the sides").value
    by_sides = factor * area**0.625 / (high * (1 + ratio)) ** 0.25
    flow = 20.0 * area
    assert by_area == pytest.approx(by_sides, rel=0.005)
    assert per_metre(Rectangle(ratio * high, high), flow) == pytest.approx(per_metre(by_sides, flow), rel=0.06)
