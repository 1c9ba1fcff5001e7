"""Blower curves: the monotone cubic against scipy, and the ends."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from ductcalc.physics.curve import evaluate, monotone_cubic, parabola, straight_line


@st.composite
def points(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    count = draw(st.integers(2, 9))
    steps = draw(st.lists(st.floats(0.05, 1.0), min_size=count, max_size=count))
    values = draw(st.lists(st.floats(-3.0, 3.0), min_size=count, max_size=count))
    return [float(x) for x in np.cumsum(steps)], [round(value, 3) for value in values]


@given(points())
def test_values_and_slopes_are_those_of_scipy(given_points: tuple[list[float], list[float]]) -> None:
    x, y = given_points
    reference = PchipInterpolator(x, y)
    between = np.linspace(x[0], x[-1], 101)[:-1]
    value, slope = evaluate(monotone_cubic(x, y), between)
    scale = 1.0 + np.max(np.abs(np.diff(y) / np.diff(x)))
    np.testing.assert_allclose(value, reference(between), rtol=1e-12, atol=1e-12 * scale)
    np.testing.assert_allclose(slope, reference(between, 1), rtol=1e-12, atol=1e-12 * scale)


@given(points())
def test_the_curve_goes_through_its_points(given_points: tuple[list[float], list[float]]) -> None:
    x, y = given_points
    value, _slope = evaluate(monotone_cubic(x, y), np.array(x))
    np.testing.assert_allclose(value, y, rtol=1e-12, atol=1e-12)


@given(points())
def test_the_curve_never_leaves_the_band_of_its_neighbours(
    given_points: tuple[list[float], list[float]],
) -> None:
    x, y = given_points
    curve = monotone_cubic(x, y)
    for left, right, low, high in zip(x[:-1], x[1:], y[:-1], y[1:], strict=True):
        value, _slope = evaluate(curve, np.linspace(left, right, 21))
        assert np.min(value) >= min(low, high) - 1e-9
        assert np.max(value) <= max(low, high) + 1e-9


def test_two_points_are_a_straight_line() -> None:
    value, slope = evaluate(monotone_cubic([1.0, 3.0], [10.0, 4.0]), np.array([1.0, 2.0, 3.0]))
    np.testing.assert_allclose(value, [10.0, 7.0, 4.0])
    np.testing.assert_allclose(slope, -3.0)


@pytest.mark.parametrize(
    ("x", "y"), [([1.0], [2.0]), ([1.0, 1.0], [2.0, 3.0]), ([2.0, 1.0], [0.0, 1.0]), ([1.0, 2.0], [1.0])]
)
def test_points_that_do_not_rise_are_refused(x: list[float], y: list[float]) -> None:
    with pytest.raises(ValueError, match="two points or more"):
        monotone_cubic(x, y)


def test_left_of_the_first_point_the_pressure_is_held() -> None:
    value, slope = evaluate(monotone_cubic([1.0, 2.0, 3.0], [10.0, 8.0, 0.0]), np.array([0.0, 0.5]))
    np.testing.assert_array_equal(value, 10.0)
    np.testing.assert_array_equal(slope, 0.0)


def test_past_the_last_point_it_goes_on_straight() -> None:
    curve = monotone_cubic([1.0, 2.0, 3.0], [10.0, 8.0, 0.0])
    end, end_slope = evaluate(curve, 3.0)
    value, slope = evaluate(curve, np.array([4.0, 5.0]))
    np.testing.assert_allclose(value, [end + end_slope, end + 2.0 * end_slope])
    np.testing.assert_allclose(slope, end_slope)


def test_parabola_has_its_summit_at_no_flow_and_ends_at_no_pressure() -> None:
    value, slope = evaluate(parabola(2.0, 8.0), np.array([0.0, 1.0, 2.0]))
    np.testing.assert_allclose(value, [8.0, 6.0, 0.0])
    np.testing.assert_allclose(slope, [0.0, -4.0, -8.0])


def test_straight_line_joins_the_two_advertised_numbers() -> None:
    value, slope = evaluate(straight_line(2.0, 8.0), np.array([0.0, 1.0, 2.0]))
    np.testing.assert_allclose(value, [8.0, 4.0, 0.0])
    np.testing.assert_allclose(slope, -4.0)


@given(st.floats(0.0, 3.0))
def test_slope_is_that_of_the_value(x: float) -> None:
    curve = monotone_cubic([0.0, 1.0, 1.5, 2.5], [9.0, 8.5, 6.0, 1.0])
    step = 1e-6
    assume(min(abs(x - edge) for edge in (0.0, 1.0, 1.5, 2.5)) > 2.0 * step)
    above, below = evaluate(curve, x + step)[0], evaluate(curve, x - step)[0]
    assert evaluate(curve, x)[1] == pytest.approx((above - below) / (2.0 * step), abs=1e-6)
