"""Friction factor against an open-source library, its bridge to laminar flow, its slopes, the fit."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ductcalc.physics.friction import (
    LAMINAR_REYNOLDS,
    TURBULENT_REYNOLDS,
    colebrook_step,
    darcy_loss_per_m,
    explicit_root,
    friction_factor,
    friction_with_slope,
    handbook_friction_per_m,
)
from ductcalc.physics.velocity import bore_area

TURBULENT = st.floats(4000.0, 1e7)
ROUGHNESS = st.floats(0.0, 0.05)

COLEBROOK_REFERENCE = [
    (10_000, 0, 0.030883),
    (10_000, 0.0001, 0.031037),
    (10_000, 0.001, 0.032382),
    (10_000, 0.01, 0.043127),
    (50_000, 0, 0.020891),
    (50_000, 0.0001, 0.021248),
    (50_000, 0.001, 0.024021),
    (50_000, 0.01, 0.039082),
    (100_000, 0, 0.01799),
    (100_000, 0.0001, 0.018514),
    (100_000, 0.001, 0.022175),
    (100_000, 0.01, 0.038504),
    (200_000, 0, 0.015637),
    (200_000, 0.0001, 0.01641),
    (200_000, 0.001, 0.021034),
    (200_000, 0.01, 0.038206),
    (500_000, 0, 0.013158),
    (500_000, 0.0001, 0.01443),
    (500_000, 0.001, 0.020235),
    (500_000, 0.01, 0.038026),
]


@pytest.mark.parametrize(("reynolds", "roughness", "factor"), COLEBROOK_REFERENCE)
def test_friction_factor_meets_the_twenty_reference_values(
    reynolds: float, roughness: float, factor: float
) -> None:
    assert friction_factor(reynolds, roughness) == pytest.approx(factor, abs=1e-6)


@given(TURBULENT, ROUGHNESS)
def test_friction_factor_is_that_of_fluids(reynolds: float, roughness: float) -> None:
    theirs = fluids.friction.Colebrook(reynolds, roughness, tol=-1)
    assert friction_factor(reynolds, roughness) == pytest.approx(theirs, rel=1e-10)


@given(TURBULENT, ROUGHNESS)
def test_friction_factor_solves_the_colebrook_equation(reynolds: float, roughness: float) -> None:
    root = 1.0 / np.sqrt(friction_factor(reynolds, roughness))
    right = -2.0 * np.log10(roughness / 3.7 + 2.51 * root / reynolds)
    assert root == pytest.approx(right, rel=1e-12)


def test_friction_factor_solves_the_colebrook_equation_to_the_last_digits() -> None:
    reynolds, roughness = np.meshgrid(np.geomspace(4001.0, 1e8, 90), np.geomspace(1e-7, 0.05, 90))
    root = 1.0 / np.sqrt(friction_factor(reynolds, roughness))
    assert root == pytest.approx(-2.0 * np.log10(roughness / 3.7 + 2.51 * root / reynolds), rel=2e-14)


@given(st.floats(1.0, 1999.0), ROUGHNESS)
def test_slow_flow_is_laminar_whatever_the_roughness(reynolds: float, roughness: float) -> None:
    assert friction_factor(reynolds, roughness) == pytest.approx(64.0 / reynolds, rel=1e-14)


@pytest.mark.parametrize("end", [LAMINAR_REYNOLDS, TURBULENT_REYNOLDS])
@pytest.mark.parametrize("roughness", [0.0, 0.001, 0.02])
def test_the_bridge_meets_both_its_ends(end: float, roughness: float) -> None:
    below, above = friction_factor(end * (1.0 - 1e-12), roughness), friction_factor(end, roughness)
    assert below == pytest.approx(above, rel=1e-10)


@pytest.mark.parametrize("roughness", [0.0, 0.001, 0.02])
def test_the_bridge_is_straight(roughness: float) -> None:
    quarter, half, rest = friction_factor(np.array([2500.0, 3000.0, 3500.0]), roughness)
    assert half == pytest.approx((quarter + rest) / 2.0, rel=1e-13)


@given(TURBULENT, ROUGHNESS)
def test_explicit_root_is_within_one_and_a_half_percent(reynolds: float, roughness: float) -> None:
    root = 1.0 / np.sqrt(friction_factor(reynolds, roughness))
    assert explicit_root(reynolds, roughness) == pytest.approx(root, rel=0.015)


@given(TURBULENT, ROUGHNESS)
def test_three_steps_reach_the_last_digits(reynolds: float, roughness: float) -> None:
    root = explicit_root(reynolds, roughness)
    for _ in range(3):
        root, _slope = colebrook_step(root, reynolds, roughness)
    assert 1.0 / root**2 == pytest.approx(friction_factor(reynolds, roughness), rel=1e-13)


@given(TURBULENT, ROUGHNESS)
def test_slope_of_a_step_is_that_of_the_friction_factor(reynolds: float, roughness: float) -> None:
    root = 1.0 / np.sqrt(friction_factor(reynolds, roughness))
    _root, slope = colebrook_step(root, reynolds, roughness)
    step = 1e-5
    above, below = (friction_factor(reynolds * np.exp(sign * step), roughness) for sign in (1.0, -1.0))
    assume(reynolds * np.exp(-step) > TURBULENT_REYNOLDS)
    assert slope == pytest.approx(np.log(above / below) / (2.0 * step), abs=1e-8)


def test_a_step_changes_none_of_its_inputs() -> None:
    root, reynolds, roughness = np.full((2, 3), 6.0), np.full((2, 3), 1e5), np.full((2, 1), 1e-3)
    colebrook_step(root, reynolds, roughness)
    assert np.all(root == 6.0)
    assert np.all(reynolds == 1e5)
    assert np.all(roughness == 1e-3)


@given(st.floats(10.0, 1e6), ROUGHNESS)
def test_slope_at_any_speed_is_that_of_the_friction_factor(reynolds: float, roughness: float) -> None:
    root = 1.0 / np.sqrt(friction_factor(max(reynolds, TURBULENT_REYNOLDS), roughness))
    factor, slope = friction_with_slope(root, reynolds, roughness)
    assert factor == pytest.approx(friction_factor(reynolds, roughness), rel=1e-12)
    assume(min(abs(np.log(reynolds / end)) for end in (LAMINAR_REYNOLDS, TURBULENT_REYNOLDS)) > 2e-5)
    above, below = (friction_factor(reynolds * np.exp(sign * 1e-5), roughness) for sign in (1.0, -1.0))
    assert slope == pytest.approx(np.log(above / below) / 2e-5, abs=1e-7)


def test_still_air_has_a_finite_factor_and_no_loss() -> None:
    assert np.isfinite(friction_factor(0.0, 0.001))
    assert darcy_loss_per_m(0.0, 0.1, 9e-5, 1.2, 1.82e-5) == 0.0


def test_loss_per_metre_grows_evenly_from_still_air_as_laminar_flow_does() -> None:
    slow = darcy_loss_per_m(np.array([0.01, 0.02]), 0.1, 9e-5, 1.2, 1.82e-5)
    assert slow[1] == pytest.approx(2.0 * slow[0])
    assert slow[0] == pytest.approx(32.0 * 1.82e-5 * 0.01 / 0.1**2)


def test_an_array_gives_what_its_elements_give() -> None:
    reynolds = np.array([0.0, 1500.0, 3000.0, 5e4, 1e6])
    together = friction_factor(reynolds, 0.001)
    np.testing.assert_array_equal(together, [friction_factor(float(each), 0.001) for each in reynolds])


@given(st.floats(0.02, 2.0), st.floats(0.075, 0.4))
def test_handbook_slope_is_that_of_its_value(flow_m3_s: float, bore_m: float) -> None:
    area = bore_area(bore_m)
    _value, slope = handbook_friction_per_m(flow_m3_s / area, flow_m3_s)
    above, below = (
        handbook_friction_per_m(flow_m3_s * factor / area, flow_m3_s * factor)[0] for factor in (1.001, 0.999)
    )
    assert slope == pytest.approx(np.log(above / below) / np.log(1.001 / 0.999), rel=1e-9)


def test_handbook_friction_is_finite_in_still_air() -> None:
    value, slope = handbook_friction_per_m(0.0, 0.0)
    assert np.isfinite(value)
    assert np.isfinite(slope)


@pytest.mark.parametrize("bore_m", [0.1, 0.15, 0.2])
def test_handbook_friction_is_within_seven_percent_of_old_galvanized_duct(bore_m: float) -> None:
    velocity_m_s = 20.0
    per_m, _slope = handbook_friction_per_m(velocity_m_s, velocity_m_s * bore_area(bore_m))
    darcy = darcy_loss_per_m(velocity_m_s, bore_m, 0.0005 * 0.3048, 1.2014, 1.82e-5)
    assert per_m * 0.5 * 1.2014 * velocity_m_s**2 == pytest.approx(darcy, rel=0.07)
