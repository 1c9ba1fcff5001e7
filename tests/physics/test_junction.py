"""Wyes: balances that must hold, published forms, and the three methods side by side."""

from __future__ import annotations

from typing import Any

import fluids
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ductcalc.physics.junction import (
    empirical_factor,
    factored_losses,
    handbook_losses,
    larger_inlet_losses,
    momentum_losses,
    ninety_degree_factor,
)
from ductcalc.physics.velocity import bore_area, velocity_pressure

DENSITY = 1.2
CFM = 0.3048**3 / 60.0
INCH = 0.0254
METHODS = [momentum_losses, factored_losses, handbook_losses]


def coefficients(method, share: float, ratio: float, angle_deg: float):  # type: ignore[no-untyped-def]
    """Return (run, branch) on the outlet's VP for a branch of a share of the flow and a ratio of the area."""
    losses = method(2.0, [1.0 - share, share], [1.0, ratio], [1.0, np.cos(np.radians(angle_deg))], 1.0)
    return float(losses[0]), float(losses[1])


@st.composite
def wyes(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    streams = draw(st.integers(1, 4))
    flows = draw(st.lists(st.floats(0.0, 1.0), min_size=streams, max_size=streams))
    areas = draw(st.lists(st.floats(0.05, 1.0), min_size=streams, max_size=streams))
    angles = draw(st.lists(st.sampled_from([30.0, 45.0, 60.0]), min_size=streams, max_size=streams))
    if draw(st.booleans()):
        angles[0] = 0.0
    return np.array(flows), np.array(areas), np.cos(np.radians(angles))


@given(wyes())
def test_no_set_of_streams_gains_energy_by_momentum(wye: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    flows, areas, cosines = wye
    losses = momentum_losses(DENSITY, flows, areas, cosines, 1.0)
    assert np.sum(flows * losses) >= -1e-12


@given(wyes())
def test_no_set_of_streams_gains_energy_by_the_handbook(
    wye: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    flows, areas, _cosines = wye
    losses = handbook_losses(DENSITY, flows, areas, np.full(len(flows), 0.18), 1.0)
    assert np.sum(flows * losses) >= -1e-12


@given(wyes())
def test_streams_meet_at_one_static_pressure(wye: tuple[np.ndarray, np.ndarray, np.ndarray]) -> None:
    flows, areas, cosines = wye
    total_drop = momentum_losses(DENSITY, flows, areas, cosines, 1.0)
    outlet = velocity_pressure(DENSITY, np.sum(flows))
    static_drop = total_drop + outlet - velocity_pressure(DENSITY, flows / areas)
    np.testing.assert_allclose(static_drop, static_drop[0], rtol=0.0, atol=1e-9 * (1.0 + abs(static_drop[0])))


@given(st.floats(0.0, 1.0), st.floats(0.05, 1.0))
def test_a_90_degree_wye_gains_no_energy(share: float, ratio: float) -> None:
    run, branch = coefficients(momentum_losses, share, ratio, 90.0)
    assert (1.0 - share) * run + share * branch >= -1e-12


def test_a_lone_stream_into_its_own_bore_loses_nothing() -> None:
    assert momentum_losses(DENSITY, [0.3], [0.02], [1.0], 0.02) == pytest.approx(0.0, abs=1e-12)


def test_a_shut_branch_costs_the_run_nothing_and_takes_part_in_no_suction() -> None:
    run, branch = coefficients(momentum_losses, 0.0, 0.44, 45.0)
    assert run == pytest.approx(0.0)
    assert branch == pytest.approx(-1.0)


def test_a_run_that_widens_into_the_outlet_loses_the_sudden_enlargement() -> None:
    losses = momentum_losses(2.0, [1.0, 0.0], [0.5, 0.5], [1.0, np.cos(np.pi / 4)], 1.0)
    assert losses[0] == pytest.approx((1.0 / 0.5 - 1.0) ** 2)


@pytest.mark.parametrize("method", [momentum_losses, factored_losses])
@pytest.mark.parametrize("angle_deg", [30.0, 90.0])
def test_no_air_no_loss(method, angle_deg: float) -> None:  # type: ignore[no-untyped-def]
    losses = method(DENSITY, np.zeros((2, 3)), [0.02, 0.01], [1.0, np.cos(np.radians(angle_deg))], 0.02)
    np.testing.assert_array_equal(losses, 0.0)


def test_no_air_no_loss_by_the_handbook() -> None:
    losses = handbook_losses(DENSITY, np.zeros((2, 3)), [0.02, 0.01], [0.0, 0.28], 0.02)
    np.testing.assert_array_equal(losses, 0.0)


@pytest.mark.parametrize("ratio", [0.25, 0.44, 0.69, 1.0])
@pytest.mark.parametrize("share", [0.2, 0.4, 0.6])
@pytest.mark.parametrize(("angle_deg", "k"), [(30.0, 1.74), (45.0, 1.41), (60.0, 1.0)])
def test_momentum_is_idelchik_type_one_within_its_rounded_angle_factor(
    ratio: float, share: float, angle_deg: float, k: float
) -> None:
    branch = 1.0 + (share / ratio) ** 2 - 2.0 * (1.0 - share) ** 2 - k * share**2 / ratio
    run = 1.0 - (1.0 - share) ** 2 - k * share**2 / ratio
    rounding = abs(k - 2.0 * np.cos(np.radians(angle_deg))) * share**2 / ratio + 1e-12
    found = coefficients(momentum_losses, share, ratio, angle_deg)
    assert found == pytest.approx((run, branch), abs=rounding)
    assert rounding < 0.05


@pytest.mark.parametrize(
    ("angle_deg", "ratio", "share", "branch", "run"),
    [
        (30.0, 0.25, 0.2, 0.082, 0.082),
        (30.0, 0.44, 0.4, 0.474, 0.007),
        (30.0, 1.0, 0.6, 0.414, 0.214),
        (45.0, 0.25, 0.6, 4.410, -1.190),
        (45.0, 0.44, 0.4, 0.594, 0.127),
        (45.0, 0.69, 0.2, -0.278, 0.278),
        (45.0, 1.0, 0.6, 0.532, 0.332),
    ],
)
def test_momentum_meets_the_values_of_idelchik_type_one(
    angle_deg: float, ratio: float, share: float, branch: float, run: float
) -> None:
    found = coefficients(momentum_losses, share, ratio, angle_deg)
    assert found == pytest.approx((run, branch), abs=0.012)


def test_45_degrees_seven_tenths_half_area() -> None:
    assert coefficients(momentum_losses, 0.7, 0.5, 45.0)[1] == pytest.approx(1.394, abs=5e-4)


@pytest.mark.parametrize("angle_deg", [75.0, 80.0, 90.0])
@pytest.mark.parametrize("ratio", [0.2, 0.5, 1.0])
def test_steep_branches_take_the_90_degree_forms(angle_deg: float, ratio: float) -> None:
    share = 0.3
    form = 1.0 + (share / ratio) ** 2 - 2.0 * (1.0 - share) ** 2
    run, branch = coefficients(momentum_losses, share, ratio, angle_deg)
    assert branch == pytest.approx(ninety_degree_factor(ratio) * form)
    assert run == pytest.approx(1.55 * share - share**2)


def test_a_gentle_branch_beside_a_steep_one_keeps_the_run_on_the_balance() -> None:
    cosines = np.cos(np.radians([0.0, 45.0, 90.0]))
    flows, areas = np.array([0.5, 0.3, 0.2]), np.array([1.0, 0.5, 0.5])
    losses = momentum_losses(2.0, flows, areas, cosines, 1.0)
    thrust = 0.25 + 0.09 / 0.5 * cosines[1]
    assert losses[0] == pytest.approx(0.25 + 1.0 - 2.0 * thrust)
    assert losses[1] == pytest.approx(0.36 + 1.0 - 2.0 * thrust)
    assert losses[2] == pytest.approx(ninety_degree_factor(0.5) * (1.0 + 0.16 - 2.0 * 0.64))


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("angle_deg", [30.0, 45.0, 90.0])
def test_a_wye_three_times_as_large_loses_the_same_at_the_same_speeds(method: Any, angle_deg: float) -> None:
    small, large = (
        method(2.0, np.array([0.7, 0.3]) * one, np.array([1.0, 0.4]) * one, np.cos(np.radians([0.0, angle_deg])), one)
        for one in (1.0, 3.0)
    )
    assert large == pytest.approx(small, rel=1e-12)


def test_an_inlet_larger_than_the_outlet_pays_a_sharp_contraction() -> None:
    plain = momentum_losses(2.0, [0.6, 0.4], [2.0, 0.5], [1.0, 0.5], 1.0)
    extra = larger_inlet_losses(2.0, [0.6, 0.4], [2.0, 0.5], 1.0)
    balance = (0.3**2 + 1.0 - 2.0 * (0.36 / 2.0 + 0.16 / 0.5 * 0.5), 0.8**2 + 1.0 - 2.0 * 0.34)
    np.testing.assert_allclose(extra, [0.25, 0.0])
    np.testing.assert_allclose(plain, np.array(balance) + extra)


@given(st.floats(0.01, 0.99), st.floats(0.1, 1.0), st.sampled_from([60.0, 90.0]))
def test_factored_is_the_crane_form_of_fluids(share: float, ratio: float, angle_deg: float) -> None:
    assume(not 0.388 < share < 0.401 and abs(ratio - 0.35) > 1e-9)
    bore = np.sqrt(ratio)
    theirs = (
        fluids.fittings.K_run_converging_Crane(1.0, bore, 1.0 - share, share, angle_deg),
        fluids.fittings.K_branch_converging_Crane(1.0, bore, 1.0 - share, share, angle_deg),
    )
    assert coefficients(factored_losses, share, ratio, angle_deg) == pytest.approx(theirs, rel=1e-9, abs=1e-9)


def test_crane_example_of_a_tee_with_equal_bores() -> None:
    share = 0.00633 / (0.018917 + 0.00633)
    run, branch = coefficients(factored_losses, share, 1.0, 90.0)
    assert branch == pytest.approx(-0.04026, abs=5e-4)
    assert run == pytest.approx(0.3258, abs=5e-4)


def test_the_empirical_factor_does_not_jump_and_is_within_two_percent_of_its_source() -> None:
    shares = np.linspace(0.0, 1.0, 100_001)
    factor = empirical_factor(shares, 1.0)
    assert np.max(np.abs(np.diff(factor))) < 1e-5
    source = np.where(shares > 0.4, 0.55, 0.9 * (1.0 - shares))
    assert np.max(np.abs(factor / source - 1.0)) < 0.02
    assert np.all(empirical_factor(shares, 0.35) == 1.0)


SMALL_SHOP = [
    (handbook_losses, -0.526, 0.892),
    (factored_losses, -0.045, 0.554),
    (momentum_losses, -0.045, 1.006),
]


@pytest.mark.parametrize(("method", "run_inwg", "branch_inwg"), SMALL_SHOP)
def test_three_methods_on_a_6_in_main_with_a_4_in_branch_of_equal_flow(  # type: ignore[no-untyped-def]
    method, run_inwg: float, branch_inwg: float
) -> None:
    inch_of_the_4005_rule = 0.5 * 1.2014 * (4005 * 0.00508) ** 2
    bores = np.array([6.0, 4.0]) * INCH
    third = [0.0, 0.28] if method is handbook_losses else [1.0, np.cos(np.pi / 4)]
    losses = method(1.2014, np.array([400.0, 400.0]) * CFM, bore_area(bores), third, bore_area(6.0 * INCH))
    found = losses / inch_of_the_4005_rule
    rounded_angle_factor = (2.0 * np.cos(np.pi / 4) - 1.41) * 0.5**2 / (4.0 / 6.0) ** 2 * 1.035
    assert tuple(found) == pytest.approx((run_inwg, branch_inwg), abs=6e-4 + rounded_angle_factor)


@given(wyes(), st.floats(0.0, 0.5))
def test_the_handbook_loss_is_the_sheets_static_rule(
    wye: tuple[np.ndarray, np.ndarray, np.ndarray], entry: float
) -> None:
    flows, areas, _cosines = wye
    assume(np.sum(flows) > 1e-3)
    stream = velocity_pressure(DENSITY, flows / areas)
    outlet = velocity_pressure(DENSITY, np.sum(flows))
    acceleration = max(outlet - np.sum(flows * stream) / np.sum(flows), 0.0)
    static_rise = entry * stream + acceleration
    total_loss = static_rise - outlet + stream
    found = handbook_losses(DENSITY, flows, areas, np.full(len(flows), entry), 1.0)
    np.testing.assert_allclose(found, total_loss, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("method", METHODS)
def test_cases_side_by_side_are_what_each_gives_alone(method) -> None:  # type: ignore[no-untyped-def]
    flows = np.array([[0.3, 0.0, 0.2], [0.1, 0.2, 0.0], [0.05, 0.1, 0.1]])
    areas, third = np.array([0.02, 0.01, 0.008]), np.array([1.0, 0.7, 0.5])
    together = method(DENSITY, flows, areas, third, 0.02)
    apart = [method(DENSITY, flows[:, case], areas, third, 0.02) for case in range(3)]
    np.testing.assert_array_equal(together, np.stack(apart, axis=1))


@pytest.mark.parametrize("method", METHODS)
def test_losses_scale_with_density_and_flow_squared(method) -> None:  # type: ignore[no-untyped-def]
    flows, areas, third = np.array([0.3, 0.1]), np.array([0.02, 0.01]), np.array([1.0, 0.2])
    base = method(1.0, flows, areas, third, 0.02)
    np.testing.assert_allclose(method(1.1, 3.0 * flows, areas, third, 0.02), 9.9 * base, rtol=1e-12)


@pytest.mark.parametrize("angle_deg", [100.0, 135.0, 180.0])
def test_a_stream_against_the_flow_pushes_all_others_back_by_its_own_thrust(angle_deg: float) -> None:
    share, ratio, sideways = 0.3, 0.5, np.cos(np.radians(angle_deg))
    run, branch = coefficients(momentum_losses, share, ratio, angle_deg)
    # force on the air in the wye, by hand: outlet momentum = straight momentum + branch momentum along the axis
    static_drop = 1.0 - (1.0 - share) ** 2 - share**2 / ratio * sideways
    assert run == pytest.approx(2.0 * static_drop - 1.0 + (1.0 - share) ** 2, rel=1e-12)
    assert branch == pytest.approx(2.0 * static_drop - 1.0 + (share / ratio) ** 2, rel=1e-12)


@given(st.floats(0.05, 0.95), st.floats(0.2, 1.0), st.floats(90.5, 179.0))
def test_a_branch_against_the_flow_costs_its_own_thrust_more(share: float, ratio: float, angle: float) -> None:
    square, against = (coefficients(momentum_losses, share, ratio, deg) for deg in (90.0, angle))
    own_thrust = -2.0 * share**2 / ratio * np.cos(np.radians(angle))
    assert against[0] > square[0] - 1e-12
    assert against[1] == pytest.approx(square[1] / ninety_degree_factor(ratio) + own_thrust, abs=1e-9)


@pytest.mark.parametrize(
    ("area_ratio", "factor"), [(0.1, 1.0), (0.25, 0.875), (0.35, 0.75), (0.6, 0.7), (0.9, 0.625), (1.3, 0.6)]
)
def test_the_ninety_degree_factor_by_area_ratio(area_ratio: float, factor: float) -> None:
    assert ninety_degree_factor(area_ratio) == pytest.approx(factor, rel=1e-12)


def test_the_ninety_degree_factor_takes_arrays_of_any_shape() -> None:
    ratios = np.array([[0.1, 0.35], [0.8, 2.0]])
    assert ninety_degree_factor(ratios) == pytest.approx(np.array([[1.0, 0.75], [0.65, 0.6]]))
    assert isinstance(ninety_degree_factor(0.5), float)
