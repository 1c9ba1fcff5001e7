"""Pressure against flow: the curves are those of the solver, and cross where the cases settle."""

from __future__ import annotations

import numpy as np
import pytest

from ductcalc.answers.chart import Chart, ChartCurve, chart
from ductcalc.answers.check import check
from ductcalc.cases.choices import Ask
from ductcalc.tables import read_shop
from tests.scenes import CFM, EXAMPLES, INCH_WATER, two_machines


def at(curve: ChartCurve, flow: float) -> float:
    flows, pressures = zip(*curve.spots, strict=True)
    return float(np.interp(flow, flows, pressures))


def curve(of: Chart, kind: str) -> ChartCurve:
    return next(one for one in of.curves if one.kind == kind)


@pytest.mark.parametrize("name", ["creamery", "joinery-class", "one-machine"])
def test_each_case_meets_what_is_left_where_it_runs(name: str) -> None:
    found = chart(read_shop(EXAMPLES / name))
    assert found.cases and found.by_default
    for case in found.cases:
        for spot, kind in zip(case.meetings, ("dirty", "clean"), strict=True):
            assert spot is not None
            assert at(case.curve, spot[0]) == pytest.approx(spot[1], rel=2e-3)
            assert at(curve(found, kind), spot[0]) == pytest.approx(spot[1], rel=2e-3)


def test_meetings_are_the_points_that_check_tells() -> None:
    shop = read_shop(EXAMPLES / "creamery")
    (case,) = chart(shop, [Ask.gate_set("two saws")]).cases
    (told,) = check(shop, [Ask.gate_set("two saws")]).loaded
    assert told.collector is not None
    assert case.meetings[0] == (told.collector.flow_m3_s, told.collector.inlet_total_pa)


def test_the_duty_is_what_check_says_that_the_wanted_air_needs() -> None:
    shop = read_shop(EXAMPLES / "creamery")
    (case,) = chart(shop, [Ask.machines("planer")]).cases
    (told,) = check(shop, [Ask.machines("planer")]).loaded
    assert case.duty == (told.wanted.flow_m3_s, told.wanted.suction_total_pa)
    assert case.duty is not None and case.meetings[0] is not None and case.duty[0] > case.meetings[0][0]


def test_cyclone_and_filter_take_from_the_blower_and_a_dirty_one_more() -> None:
    found = chart(read_shop(EXAMPLES / "creamery"))
    for flow in (200 * CFM, 600 * CFM, 1000 * CFM):
        blower, clean, dirty = (at(curve(found, kind), flow) for kind in ("blower", "clean", "dirty"))
        assert blower > clean > dirty


def test_points_are_those_written_at_the_shop_s_air() -> None:
    found = chart(two_machines())
    assert [flow for flow, _ in found.points] == pytest.approx([0, 400 * CFM, 800 * CFM, 1200 * CFM, 1500 * CFM])
    density = check(two_machines()).air.density_kg_m3 / 1.2
    assert found.points[0][1] == pytest.approx(14 * INCH_WATER * density, rel=2e-3)


def test_a_shop_with_two_advertised_figures_has_a_hopeful_curve_through_both() -> None:
    found = chart(read_shop(EXAMPLES / "one-machine"))
    hopeful = curve(found, "hopeful")
    assert found.provisional
    assert (hopeful.spots[0], hopeful.spots[-1]) == (
        pytest.approx(found.points[0]), pytest.approx(found.points[1], abs=1e-6),
    )  # fmt: skip
    assert at(hopeful, 0.2) > at(curve(found, "blower"), 0.2)


def test_more_open_machines_take_less_suction_for_the_same_air() -> None:
    alone, both = chart(two_machines(), [Ask.machines("planer"), Ask.everything()]).cases
    assert at(alone.curve, 0.2) > at(both.curve, 0.2)
