"""Where sources disagree with the method chosen, or with themselves: the difference itself is asserted."""

from __future__ import annotations

import numpy as np
import pytest

from ductcalc.catalog import table
from ductcalc.physics.air import STANDARD_DENSITY_KG_M3, moist_air_density
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.fan import air_power
from ductcalc.physics.fittings import narrowing_k
from ductcalc.physics.friction import darcy_loss_per_m
from ductcalc.physics.junction import factored_losses, momentum_losses, ninety_degree_factor
from ductcalc.physics.velocity import bore_area, velocity, velocity_pressure

STREAMS = {"flows": [0.3, 0.7], "areas": [1.0, 0.5], "cosines": [1.0, np.cos(np.pi / 4)], "outlet_area": 1.0}


def test_legg_2017_lies_seven_percent_above_momentum_on_a_45_degree_branch() -> None:
    _run, branch = momentum_losses(2.0, **STREAMS)
    assert branch / 1.503 == pytest.approx(0.927, abs=0.002)


def test_legg_2017_lies_far_above_crane_on_the_same_branch() -> None:
    _run, branch = factored_losses(2.0, **STREAMS)
    assert branch / 1.503 == pytest.approx(0.510, abs=0.002)


def test_legg_2017_gives_the_run_a_little_less_drag_than_momentum() -> None:
    run, _branch = momentum_losses(2.0, **STREAMS)
    assert run - -0.4286 == pytest.approx(-0.047, abs=0.001)


def test_brooks_metric_standard_air_is_dry_air_at_20_c_and_not_0_075_lb_ft3() -> None:
    assert moist_air_density(293.15, 101325.0, 0.0) == pytest.approx(1.204, abs=5e-4)
    assert pytest.approx(1.204 - 0.0026, abs=1e-4) == STANDARD_DENSITY_KG_M3


def test_a_course_text_multiplies_by_1_20_where_its_own_formula_gives_1_21() -> None:
    ours = 1149.0 * loaded_duct_factor(0.15)
    assert ours == pytest.approx(1390.3, abs=0.05)
    printed = 1378.8
    assert printed / ours == pytest.approx(1.20 / 1.21, abs=1e-4)


def test_a_textbook_fan_table_prints_two_points_less_efficiency_than_its_own_numbers() -> None:
    efficiency = air_power(10000 * 0.3048**3 / 60, 3.75 * 249.0889) / (15.1 * 745.69987)
    assert efficiency - 0.37 == pytest.approx(0.021, abs=0.001)


def test_a_dust_network_sheet_prints_a_velocity_pressure_that_its_own_formula_does_not_give() -> None:
    ours = velocity_pressure(1.2, 14.2)
    assert ours == pytest.approx(121.0, abs=0.05)
    assert 130.0 / ours == pytest.approx(1.074, abs=0.001)


def test_a_dust_network_sheet_prints_a_resized_segment_at_two_fifths_of_its_own_parts() -> None:
    ours = 1.13 * velocity_pressure(1.2, 17.0) + 31.0 * 11.0
    assert ours == pytest.approx(536.9, abs=0.1)
    assert 199.2 / ours == pytest.approx(0.371, abs=0.001)


def test_a_dust_network_sheet_balances_one_segment_against_a_whole_branch() -> None:
    resized = 1.13 * velocity_pressure(1.2, 17.0) + 31.0 * 11.0
    shared = 0.50 * velocity_pressure(1.2, 18.0) + 21.0 * 5.0
    other = 1.65 * velocity_pressure(1.2, 18.0) + 13.0 * 6.0
    assert resized + shared == pytest.approx(739.1, abs=0.2)
    assert 1.0 - other / (resized + shared) == pytest.approx(0.46, abs=0.005)


@pytest.mark.parametrize(
    ("cubic_metres_h", "bore_mm", "printed_m_s", "off"),
    [(800, 120, 20.0, -0.018), (1500, 170, 18.8, -0.023), (6300, 360, 16.0, 0.074), (800, 135, 17.0, -0.087)],
)
def test_a_dust_network_sheets_speeds_are_chart_readings_and_not_flow_over_area(
    cubic_metres_h: float, bore_mm: float, printed_m_s: float, off: float
) -> None:
    ours = velocity(cubic_metres_h / 3600.0, bore_mm / 1000.0)
    assert ours / printed_m_s - 1.0 == pytest.approx(off, abs=0.002)


def test_the_grinder_slides_3_in_label_belongs_to_a_3_5_in_duct() -> None:
    assert bore_area(3.5 * 0.0254) / 0.3048**2 == pytest.approx(0.0668, abs=5e-5)
    assert bore_area(3.0 * 0.0254) / 0.3048**2 == pytest.approx(0.0491, abs=5e-5)


def test_the_course_sheet_is_four_to_five_percent_above_modern_spiral_duct() -> None:
    speed = velocity(390 * 0.3048**3 / 60, 4 * 0.0254)
    rate = darcy_loss_per_m(speed, 4 * 0.0254, 0.0003 * 0.3048, STANDARD_DENSITY_KG_M3, 1.82e-5)
    inch_of_the_4005_rule = 0.5 * 1.2014 * (4005 * 0.00508) ** 2
    hood = 1.65 * velocity_pressure(STANDARD_DENSITY_KG_M3, speed)
    ours = (hood + rate * 15 * 0.3048) / inch_of_the_4005_rule
    assert ours == pytest.approx(3.23, abs=0.02)
    assert 0.04 < 1.0 - ours / 3.382 < 0.05


def test_other_handbooks_sharp_contraction_is_a_quarter_where_the_jet_table_gives_0_219() -> None:
    half_area = narrowing_k(np.sqrt(0.5), 1.0, 180.0)
    assert half_area == pytest.approx(0.25)
    assert half_area - (1.0 / 0.681 - 1.0) ** 2 == pytest.approx(0.031, abs=0.001)


@pytest.mark.parametrize("ratio", [0.0, 0.1, 0.25, 0.35, 0.5, 0.9, 1.0, 1.5])
def test_formula_and_shipped_table_hold_the_same_90_degree_factors(ratio: float) -> None:
    rows = [row for row in table("branch_entry").rows if row["item"] == "ninety degree factor"]
    shipped = np.interp(ratio, *([float(row[name]) for row in rows] for name in ("area_ratio", "value")))
    assert ninety_degree_factor(ratio) == pytest.approx(shipped, rel=1e-12)
