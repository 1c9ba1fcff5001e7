"""Drawn shops: what a collector must do, and that one which does just that, with gates set, gives the wanted flows."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings

import ductcalc
from ductcalc import Ask
from ductcalc.answers.need.need import CaseNeed
from ductcalc.shop import FlowPressure, Shop
from ductcalc.shop.change import cell_value
from tests.properties.random_shops import PLANS, Plan, blown_plans

SETTINGS = 12
"""Times that gates are set at most: unsealed joints at 16 kPa leave a ninth of what was over each time."""

LONG = bool(os.environ.get("DUCTCALC_LONG"))
SOME = settings(max_examples=200 if LONG else 20, deadline=None, derandomize=True, phases=[Phase.generate],
                suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])  # fmt: skip


@SOME
@given(blown_plans())
def test_a_shop_with_a_collector_needs_what_check_tells(plan: Plan) -> None:
    shop = plan.shop()
    found, checked = ductcalc.need(shop), ductcalc.check(shop)
    assert len(found.cases) == len(checked.loaded)
    for mine, case in zip(found.cases, checked.loaded, strict=True):
        wanted = case.wanted
        if not mine.solved or wanted.suction_total_pa is None:
            continue
        assert mine.flow_m3_s == pytest.approx(wanted.flow_m3_s, rel=1e-9)
        assert mine.total_pa == pytest.approx(wanted.suction_total_pa, rel=1e-8, abs=1e-6)
        assert mine.static_pa == pytest.approx(wanted.suction_static_pa, rel=1e-8, abs=1e-6)
        over = {(path.machine, path.run): path.excess_pa for path in wanted.paths}
        for path in mine.paths:
            assert path.excess_pa == pytest.approx(over[path.machine, path.run], rel=1e-7, abs=1e-5)


@SOME
@given(PLANS)
def test_gates_set_and_a_blower_that_gives_just_that_bring_the_wanted_flows(plan: Plan) -> None:
    """Joints leak by the mean suction of a stretch, which a gate in it moves a little: the gates are set
    again until nothing is left over."""
    gated = replace(plan, branches=tuple(replace(branch, gated=True) for branch in plan.branches))
    shop = gated.shop()
    for _ in range(SETTINGS):
        case = ductcalc.need(shop, [Ask.everything()]).cases[0]
        assume(case.solved)
        assert all(path.left_pa <= 1e-5 for path in case.paths)
        if all(path.excess_pa < 1e-4 for path in case.paths):
            break
        shop = with_gates(shop, case)
    assert all(path.excess_pa < 1e-4 for path in case.paths)
    really = ductcalc.check(with_blower_through(shop, case), [Ask.everything()]).loaded[0]
    assert really.solved
    for machine in really.machines:
        assert machine.flow_m3_s == pytest.approx(machine.wanted_m3_s, rel=1e-6)


def with_gates(shop: Shop, case: CaseNeed) -> Shop:
    """Return the shop with the gate of every branch as far open as the need says."""
    changes = [
        cell_value(path.gate_run or "", "gate", 1, "opening", path.gate_opening, "set")
        for path in case.paths
        if path.gate_run is not None and path.gate_opening is not None
    ]
    return ductcalc.changed(shop, changes)


def with_blower_through(shop: Shop, case: CaseNeed) -> Shop:
    """Return the shop with a blower on a straight line through what the case needs, as curves are given."""
    assert case.flow_m3_s is not None and case.rated_static_pa is not None
    line = (FlowPressure(0.0, 1.5 * case.rated_static_pa), FlowPressure(3.0 * case.flow_m3_s, 0.0))
    collector = replace(shop.collectors[0], blower=line, basis="fan static")
    return replace(shop, collectors=(collector,))


@SOME
@given(PLANS)
def test_the_system_curve_rises_with_flow_and_open_gates_ask_for_less(plan: Plan) -> None:
    found = ductcalc.need(plan.shop(), [Ask.everything()], curve=True)
    assume(len(found.curve) > 1)
    for name in ("flow_m3_s", "fan_static_pa"):
        assert (np.diff([getattr(point, name) for point in found.curve]) > 0.0).all()
    for point in found.curve:
        if point.open_fan_static_pa is not None:
            assert point.open_fan_static_pa <= point.fan_static_pa * (1.0 + 1e-8)
