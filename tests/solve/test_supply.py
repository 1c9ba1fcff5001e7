"""Where a blower's curve meets a straight line: the largest stable crossing, and the ends of the curve."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.physics.curve import evaluate, monotone_cubic
from ductcalc.physics.friction import friction_factor
from ductcalc.solve.supply import Crossing, OutletFriction, PowerTerm, Supply
from tests.solve.networks import supply

HUMP = Supply(monotone_cubic(np.arange(7) / 10.0, [1500.0, 1100.0, 1000.0, 1300.0, 1500.0, 1000.0, 0.0]))


def crossings(offered: Supply, offset: float, gain: float) -> np.ndarray:
    """All flows at which the supply meets the line, by signs on a fine grid and bisection."""
    def surplus(flow: np.ndarray) -> np.ndarray:
        return flow - offset - gain * offered.available(flow)[0]

    grid = np.linspace(0.0, offered.last_flow_m3_s, 20_001)
    place = np.flatnonzero(np.diff(np.sign(surplus(grid))) != 0)
    low, high, sign = grid[place], grid[place + 1], np.sign(surplus(grid[place]))
    for _ in range(60):
        middle = 0.5 * (low + high)
        left = np.sign(surplus(middle)) == sign
        low, high = np.where(left, middle, low), np.where(left, high, middle)
    return 0.5 * (low + high)


def meet(offered: Supply, offset: float, gain: float, near: float = 0.3) -> tuple[float, float]:
    line = np.array([offset]), np.array([gain])
    flow, pressure = Crossing([offered]).solve(np.zeros(1, dtype=np.intp), *line, np.array([near]))
    return float(flow[0]), float(pressure[0])


def test_the_largest_of_three_crossings_is_taken() -> None:
    offset, gain = -0.40, 0.0006
    every = crossings(HUMP, offset, gain)
    assert len(every) == 3
    flow, pressure = meet(HUMP, offset, gain)
    assert flow == pytest.approx(every[-1], rel=1e-12)
    assert pressure == pytest.approx(float(HUMP.available(np.array([flow]))[0][0]), rel=1e-12)


@settings(max_examples=200, deadline=None)
@given(st.floats(-0.6, 0.5), st.floats(1e-6, 2e-3))
def test_the_crossing_is_the_largest_stable_one(offset: float, gain: float) -> None:
    every = crossings(HUMP, offset, gain)
    if not len(every):
        return
    flow, _ = meet(HUMP, offset, gain)
    assert flow == pytest.approx(every[-1], rel=1e-9, abs=1e-12)
    slope = float(HUMP.available(np.array([flow]))[1][0])
    assert gain * slope < 1.0 + 1e-6


def test_left_of_the_first_point_the_pressure_is_held() -> None:
    offered = Supply(monotone_cubic([0.2, 0.4, 0.6], [2000.0, 1500.0, 0.0]))
    flow, pressure = meet(offered, 0.0, 0.00005)
    assert (flow, pressure) == (pytest.approx(0.1), pytest.approx(2000.0))
    assert offered.first_flow_m3_s == 0.2


def test_nothing_open_gives_shut_off_suction() -> None:
    assert meet(supply(), 0.0, 0.0) == (pytest.approx(0.0, abs=1e-15), pytest.approx(2700.0))


def test_past_the_last_point_the_flow_shows_it() -> None:
    flow, pressure = meet(supply(), 0.9, 0.00001)
    assert flow > supply().last_flow_m3_s
    assert flow == pytest.approx(0.9 + 0.00001 * pressure, rel=1e-12)


def test_each_case_has_its_own_supply() -> None:
    index = np.array([1, 0, 1, 0])
    offset, gain = np.zeros(4), np.array([1e-4, 1e-4, 2e-4, 2e-4])
    flow, pressure = Crossing([HUMP, supply()]).solve(index, offset, gain, np.full(len(index), 0.3))
    for case in range(4):
        expected = meet((HUMP, supply())[index[case]], 0.0, float(gain[case]))
        assert (flow[case], pressure[case]) == expected


def test_parts_come_off_the_curve() -> None:
    curve = monotone_cubic([0.0, 0.5, 1.0], [2000.0, 1500.0, 0.0])
    outlet = OutletFriction(300.0, 40_000.0, 0.001)
    offered = Supply(curve, (PowerTerm(800.0, 2.0), PowerTerm(-100.0, 1.2)), (outlet,))
    flow = np.array([0.06, 0.3, 0.7])
    factor = friction_factor(flow * 40_000.0, 0.001)
    expected = evaluate(curve, flow)[0] - 800.0 * flow**2 + 100.0 * flow**1.2 - 300.0 * factor * flow**2
    value, slope = offered.available(flow)
    np.testing.assert_allclose(value, expected, rtol=1e-12)
    step = 1e-6
    differences = (offered.available(flow + step)[0] - offered.available(flow - step)[0]) / (2.0 * step)
    np.testing.assert_allclose(slope, differences, rtol=1e-6)


@pytest.mark.parametrize("offered", [supply(), HUMP], ids=["falling", "hump"])
@pytest.mark.parametrize(("offset", "gain"), [(0.05, 2e-4), (0.3, 1e-5), (-0.1, 1e-4), (-1.0, 1e-5), (0.9, 0.0)])
def test_where_it_is_looked_for_does_not_matter(offered: Supply, offset: float, gain: float) -> None:
    flows = [meet(offered, offset, gain, near)[0] for near in (0.0, 1e-6, 0.1, 0.3, 0.79, 5.0)]
    np.testing.assert_allclose(flows, flows[0], rtol=1e-9, atol=1e-12)


def test_what_asks_for_less_than_nothing_of_no_pressure_still_meets_a_falling_supply() -> None:
    flow, pressure = meet(supply(), -0.1, 2e-4, 0.3)
    assert flow > 0.0 and flow == pytest.approx(2e-4 * pressure - 0.1)
    assert pressure == pytest.approx(supply().available(np.array([flow]))[0][0])


@pytest.mark.parametrize("first", [0.0, 0.1])
def test_crossings_are_looked_for_from_zero_on_at_each_flow_once(first: float) -> None:
    grid = Supply(monotone_cubic(np.array([first, 0.3, 0.6]), [1500.0, 900.0, 0.0])).grid()
    assert (grid[0], grid[-1]) == (0.0, 0.6)
    assert (np.diff(grid) > 0.0).all()
