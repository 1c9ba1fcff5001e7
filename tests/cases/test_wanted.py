"""The worksheet's question: what the ducts need when every open port takes what it wants."""

from __future__ import annotations

import math

import pytest

import ductcalc
from ductcalc.cases.case import hardest_path
from ductcalc.cases.figures import WantedAnswer
from ductcalc.shop import Shop
from tests.scenes import CFM, INCH_WATER, NO_PARTS, STRONG, end, gate, other, pipe, points, port, run, tight, wye

INCH = 0.0254
RHO = 1.2014
AIR = {"air": {"density": f"{RHO} kg/m3"}}


def vp(flow_cfm: float, bore_in: float) -> float:
    return 0.5 * RHO * (flow_cfm * CFM / (math.pi / 4 * (bore_in * INCH) ** 2)) ** 2


def made(flow_a: str = "400 cfm", flow_b: str = "300 cfm", **settings: object) -> Shop:
    """Build two branches of coefficients only on a main; the wye loses 0.4 of the main's VP for both."""
    return tight(
        run("trunk", port("saw", "4 in", flow=flow_a, k=2.5), gate(k=0), wye("drop", "6 in", k=0.4), other(1.5), end()),
        run("drop", port("planer", "4 in", flow=flow_b, k=1.0), gate(k=0)),
        **{**AIR, **settings},
    )


def wanted(shop: Shop, *machines: str) -> WantedAnswer:
    return ductcalc.check(shop, [ductcalc.Ask.machines(*machines)]).loaded[0].wanted


def test_each_paths_suction_is_the_sum_of_its_pieces() -> None:
    found = wanted(made(), "saw", "planer")
    main = (0.4 + 1.5) * vp(700, 6)
    needs = {p.machine: p.suction_total_pa for p in found.paths}
    assert needs["saw"] == pytest.approx(2.5 * vp(400, 4) + main, rel=1e-9)
    assert needs["planer"] == pytest.approx(1.0 * vp(300, 4) + main, rel=1e-9)


def test_the_excess_is_zero_exactly_on_the_worst_path() -> None:
    found = wanted(made(), "saw", "planer")
    over = {p.machine: p.excess_pa for p in found.paths}
    assert found.worst_machine == "saw"
    assert over["saw"] == pytest.approx(0.0, abs=1e-7)
    assert over["planer"] == pytest.approx(2.5 * vp(400, 4) - 1.0 * vp(300, 4), rel=1e-9)


def test_the_whole_needs_what_its_worst_path_needs() -> None:
    found = wanted(made(), "saw", "planer")
    assert found.flow_m3_s == pytest.approx(700 * CFM, rel=1e-9)
    assert found.suction_total_pa == pytest.approx(max(p.suction_total_pa for p in found.paths), rel=1e-9)
    assert found.suction_static_pa == pytest.approx(found.suction_total_pa + vp(700, 6), rel=1e-9)


def test_parallel_branches_are_never_added_up() -> None:
    found = wanted(made(flow_b="400 cfm"), "saw", "planer")
    assert found.suction_total_pa < 2.5 * vp(400, 4) + 1.0 * vp(400, 4) + 1.9 * vp(800, 6)


def test_the_margin_is_what_the_curve_offers_above_the_need() -> None:
    table = [*points(("0 cfm", "3000 Pa"), ("800 cfm", "3000 Pa")), *NO_PARTS]
    found = wanted(made(table=table), "saw", "planer")
    assert found.margin_pa == pytest.approx(3000 - found.suction_total_pa, rel=1e-9)


def test_beyond_the_curve_there_is_no_margin() -> None:
    table = [*points(("0 cfm", "3000 Pa"), ("690 cfm", "3000 Pa")), *NO_PARTS]
    assert wanted(made(table=table), "saw", "planer").margin_pa is None
    assert wanted(made(table=table), "saw").margin_pa is not None


def test_a_machine_of_two_ports_has_two_paths() -> None:
    shop = tight(
        run("low", port("saw", "4 in", flow="300 cfm", k=1), wye("high", "5 in"), end()),
        run("high", port("saw", "3 in", flow="150 cfm", k=3), pipe("4 ft")),
    )
    found = wanted(shop, "saw")
    assert [(p.machine, p.run) for p in found.paths] == [("saw", "low"), ("saw", "high")]
    assert [p.length_m for p in found.paths] == pytest.approx([0.0, 4 * 0.3048])


def test_shut_gates_and_joints_leak_in_this_mode_too() -> None:
    leaky = made(gates={"leak": "2 %"}, method={"joint_leakage": "none"})
    found = wanted(leaky, "saw")
    assert found.flow_m3_s > 400 * CFM * 1.001
    assert wanted(made(), "saw").flow_m3_s == pytest.approx(400 * CFM, rel=1e-9)


def test_worst_farthest_and_greediest_are_often_three_machines() -> None:
    shop = tight(
        run("trunk", port("far", "6 in", flow="300 cfm", k=1), gate(), pipe("90 ft"), wye("a + b", "8 in"), end()),
        run("a", port("hard", "3 in", flow="250 cfm", k=6), gate()),
        run("b", port("thirsty", "8 in", flow="700 cfm", k=0.5), gate()),
    )
    found = ductcalc.check(shop)
    assert (found.worst.machine, found.farthest.machine, found.greediest.machine) == ("hard", "far", "thirsty")
    assert found.farthest.length_m == pytest.approx(90 * 0.3048)
    alone = next(c for c in found.loaded if c.name == "hard")
    assert found.worst.margin_pa == pytest.approx(alone.wanted.margin_pa, rel=1e-9)


def test_the_greediest_of_a_case_leaves_out_ports_that_are_off() -> None:
    shop = tight(
        run("trunk", port("saw", "4 in", flow="400 cfm", k=1), gate(), wye("b + c", "6 in"), end()),
        run("b", port("planer", "3 in", flow="200 cfm", k=1), gate()),
        run("c", port("planer", "6 in", flow="off"), gate()),
    )
    assert wanted(shop, "saw", "planer").greediest_machine == "saw"


def test_the_greediest_is_named_even_where_no_case_has_an_answer() -> None:
    table = [*points(("0 cfm", "10 inwg"), ("50 cfm", "9 inwg")), *NO_PARTS]
    shop = tight(
        run("trunk", port("saw", "6 in", flow="100 cfm", k=0), gate(), wye("b", "8 in"), end()),
        run("b", port("planer", "6 in", flow="900 cfm", k=0), gate()),
        table=table,
    )
    found = ductcalc.check(shop)
    assert [c.status for c in found.loaded] == ["beyond the curve"] * 2
    assert found.greediest.machine == "planer"
    assert found.unanswered == found.loaded


def test_the_real_flow_meets_the_curve_where_the_wanted_one_may_not() -> None:
    case = ductcalc.check(made(), [ductcalc.Ask.machines("saw", "planer")]).loaded[0]
    assert case.collector is not None
    assert case.collector.blower_pa == pytest.approx(case.collector.inlet_total_pa, rel=1e-9)
    assert case.collector.blower_pa <= float(STRONG[0][1].split()[0]) * INCH_WATER


def test_the_hardest_path_of_a_machine_with_several_ports_is_the_one_that_needs_most() -> None:
    saw = port("saw", "4 in", flow="300 cfm", k=2.5)
    two = tight(
        run("trunk", saw, gate(), wye("drop", "6 in", k=0.4), end()),
        run("drop", port("saw", "4 in", flow="300 cfm", k=1.0), gate()),
    )
    case = ductcalc.check(two, [ductcalc.Ask.machines("saw")]).loaded[0]
    found = hardest_path(case, "saw")
    assert found is not None and found.run == "trunk"
    assert found.suction_total_pa == max(path.suction_total_pa for path in case.wanted.paths)
    assert len({path.suction_total_pa for path in case.wanted.paths}) == 2
