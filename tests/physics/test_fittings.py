"""Tapers against an open-source library; gates, machines, inlets and slots against what they mean."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.physics.fittings import (
    inlet_area_k,
    machine_k_from_static,
    machine_k_from_total,
    narrowing_k,
    no_regain_k,
    shut_gate_k,
    widening_k,
)
from ductcalc.physics.velocity import velocity_pressure

ANGLES = st.floats(1.0, 180.0).filter(lambda angle: abs(angle - 45.0) > 1e-6)


@given(st.floats(0.05, 0.3), st.floats(1.01, 3.0), ANGLES)
def test_widening_is_the_crane_form_of_fluids(bore_m: float, ratio: float, angle_deg: float) -> None:
    theirs = fluids.fittings.diffuser_conical(bore_m, bore_m * ratio, angle=angle_deg, method="Crane")
    assert widening_k(bore_m, bore_m * ratio, angle_deg) == pytest.approx(theirs, rel=1e-9)


@given(st.floats(0.05, 0.3), st.floats(1.01, 3.0), ANGLES)
def test_narrowing_is_the_crane_form_of_fluids(bore_m: float, ratio: float, angle_deg: float) -> None:
    theirs = fluids.fittings.contraction_conical(bore_m * ratio, bore_m, angle=angle_deg, method="Crane")
    assert narrowing_k(bore_m, bore_m * ratio, angle_deg) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("taper", [widening_k, narrowing_k])
def test_equal_bores_cost_nothing(taper) -> None:  # type: ignore[no-untyped-def]
    assert taper(0.15, 0.15, 30.0) == 0.0


@given(st.floats(0.05, 0.3), st.floats(1.01, 3.0), st.floats(5.0, 180.0))
def test_no_taper_loses_more_than_one_that_gives_nothing_back(
    bore_m: float, ratio: float, angle_deg: float
) -> None:
    assert widening_k(bore_m, bore_m * ratio, angle_deg) <= no_regain_k(bore_m, bore_m * ratio)


def test_no_regain_is_the_fall_of_velocity_pressure() -> None:
    small = velocity_pressure(1.2, 20.0)
    large = velocity_pressure(1.2, 20.0 * (0.1 / 0.15) ** 2)
    assert no_regain_k(0.1, 0.15) * small == pytest.approx(small - large)


@given(st.floats(0.001, 0.1))
def test_a_shut_gate_passes_what_an_orifice_of_its_leak_area_passes(share: float) -> None:
    drop_pa, density, area = 2000.0, 1.2, 0.01
    through_gate = area * np.sqrt(2.0 * drop_pa / (density * shut_gate_k(share)))
    through_orifice = 0.61 * share * area * np.sqrt(2.0 * drop_pa / density)
    assert through_gate == pytest.approx(through_orifice, rel=1e-12)


def test_a_tight_gate_passes_nothing() -> None:
    assert shut_gate_k(0.0) == np.inf


@pytest.mark.parametrize(("drop_pa", "k"), [(550, 1.29), (900, 2.75), (1200, 4.0), (1500, 5.25)])
def test_a_machines_static_suction_holds_its_velocity_pressure(drop_pa: float, k: float) -> None:
    assert machine_k_from_static(drop_pa, 20.0, 1.2) == pytest.approx(k, abs=0.005)


@given(st.floats(0.0, 3000.0), st.floats(5.0, 30.0))
def test_total_and_static_statements_differ_by_one_velocity_pressure(drop: float, speed: float) -> None:
    difference = machine_k_from_total(drop, speed, 1.2) - machine_k_from_static(drop, speed, 1.2)
    assert difference == pytest.approx(1.0, rel=1e-9)


def test_a_suction_below_one_velocity_pressure_gives_a_negative_coefficient() -> None:
    assert machine_k_from_static(200.0, 20.0, 1.2) < 0.0


def test_a_wide_open_cabinet_costs_a_flush_entry_only() -> None:
    assert inlet_area_k(0.01, 1e6) == pytest.approx(0.5)


def test_a_cabinet_with_little_free_area_costs_the_speed_in_its_openings() -> None:
    assert inlet_area_k(0.02, 0.01) == pytest.approx((2.0 / 0.6) ** 2 + 0.5)
