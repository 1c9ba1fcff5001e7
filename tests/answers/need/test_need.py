"""What a collector must do: sums that a hand can follow, what is assumed where nothing is written, who decides."""

from __future__ import annotations

import math
from typing import Any

import pytest

import ductcalc
from ductcalc import Ask, InputError
from ductcalc.answers.need.need import CaseNeed
from ductcalc.shop import Shop
from tests.scenes import CFM, INCH_WATER, Rows, end, gate, none, other, pipe, points, port, rated, run, shop, tight
from tests.scenes import wye as joins

NO_PARTS: Rows = [{**none(item), "flow": ""} for item in ("cyclone", "filter clean", "filter loaded")]
INCH, RHO, STANDARD = 0.0254, 1.25, 1.2014
AIR = {"air": {"density": f"{RHO} kg/m3"}}
PARTS: Rows = [rated("cyclone", "700 cfm", "500 Pa"), rated("filter clean", "700 cfm", "200 Pa"),
               rated("filter loaded", "700 cfm", "450 Pa")]  # fmt: skip


def vp(flow_cfm: float, bore_in: float) -> float:
    return 0.5 * RHO * (flow_cfm * CFM / (math.pi / 4 * (bore_in * INCH) ** 2)) ** 2


def made(table: Rows | tuple[()] = (), *more: Rows, **settings: Any) -> Shop:
    """Build two branches of coefficients only: the saw's takes 2.5 VP, the planer's 1, both the wye's 0.4 and 1.5."""
    return tight(
        run("trunk", port("saw", "4 in", k=2.5), gate(k=0), joins("drop", "6 in", k=0.4), other(1.5), end()),
        run("drop", port("planer", "4 in", flow="300 cfm", k=1.0), gate(k=0)),
        *more,
        table=table,
        **{**AIR, **settings},
    )  # fmt: skip


def both(found: Shop, **how: Any) -> CaseNeed:
    return ductcalc.need(found, [Ask.machines("saw", "planer")], **how).cases[0]


MAIN = 1.9 * vp(700, 6)
SAW = 2.5 * vp(400, 4) + MAIN


def test_the_suction_at_the_inlet_is_the_worst_branchs_sum_of_pieces() -> None:
    case = both(made())
    assert case.flow_m3_s == pytest.approx(700 * CFM, rel=1e-9)
    assert case.total_pa == pytest.approx(SAW, rel=1e-9)
    assert case.static_pa == pytest.approx(SAW + vp(700, 6), rel=1e-9)
    assert case.worst is not None and (case.worst.machine, case.worst.run) == ("saw", "trunk")


def test_written_parts_come_on_top_in_the_shops_air() -> None:
    case, thicker = both(made(PARTS)), RHO / STANDARD
    assert case.cyclone_pa == pytest.approx(500 * thicker, rel=1e-9)
    assert case.filter_pa is not None and case.cyclone_pa is not None and case.total_pa is not None
    assert case.fan_static_pa == pytest.approx(case.total_pa + case.cyclone_pa + case.filter_pa, rel=1e-12)
    assert case.fan_static_pa == pytest.approx(SAW + 500 * thicker + 450, rel=1e-3)


def test_the_pressure_to_ask_for_is_that_of_the_curves_air() -> None:
    case = both(made(PARTS))
    assert case.fan_static_pa is not None
    assert case.rated_static_pa == pytest.approx(case.fan_static_pa * STANDARD / RHO, rel=1e-9)


def test_parts_of_which_nothing_is_known_are_rated_at_the_largest_flow_asked_for() -> None:
    found = ductcalc.need(made(), [Ask.machines("saw", "planer"), Ask.machines("planer")])
    most, least = found.cases
    denser = RHO / STANDARD
    assert most.cyclone_pa == pytest.approx(2.0 * INCH_WATER * denser, rel=1e-9)
    assert least.cyclone_pa == pytest.approx(2.0 * INCH_WATER * denser * (3 / 7) ** 2, rel=1e-9)
    assert {"cyclone", "clean filter", "loaded filter"} <= {one.assumption.key for one in found.assumptions}
    (cyclone,) = (one.assumption for one in found.assumptions if one.assumption.key == "cyclone")
    assert "largest flow asked for" in cyclone.text


def test_parts_that_do_not_exist_take_nothing() -> None:
    case = both(made(NO_PARTS))
    assert (case.cyclone_pa, case.filter_pa) == (None, None)
    assert case.fan_static_pa == pytest.approx(SAW, rel=1e-9)


def test_fan_total_adds_the_vp_at_an_outlet_as_wide_as_the_ducts_end() -> None:
    found = ductcalc.need(made(NO_PARTS), [Ask.machines("saw", "planer")])
    case = found.cases[0]
    assert case.fan_static_pa is not None
    assert case.fan_total_pa == pytest.approx(case.fan_static_pa + vp(700, 6), rel=1e-9)
    assert "blower's outlet" in {one.assumption.key for one in found.assumptions}


def test_a_written_outlet_counts_its_losses_and_regains_what_it_widens() -> None:
    outlet = run("out", end("7 in"), other(1.2))
    found = ductcalc.need(made(NO_PARTS, outlet), [Ask.machines("saw", "planer")])
    case = found.cases[0]
    assert case.outlet_pa == pytest.approx(1.2 * vp(700, 7), rel=1e-9)
    assert case.fan_static_pa == pytest.approx(SAW + 1.2 * vp(700, 7), rel=1e-9)
    assert case.fan_total_pa == pytest.approx(SAW + 2.2 * vp(700, 7), rel=1e-9)
    assert "blower's outlet" not in {one.assumption.key for one in found.assumptions}


def test_a_contained_part_with_a_row_is_counted_and_one_without_is_not() -> None:
    said = {"collector": {"contains": ["cyclone"]}}
    curve = points(("0 cfm", "3000 Pa"), ("1400 cfm", "500 Pa"))
    bare = both(made([*curve, *PARTS]))
    known = both(made([*curve, *PARTS], **said))
    unknown = both(made([*curve, *PARTS[1:]], **said))
    assert known.fan_static_pa == pytest.approx(bare.fan_static_pa, rel=1e-12)
    assert bare.fan_static_pa is not None and unknown.fan_static_pa is not None and bare.cyclone_pa is not None
    assert bare.fan_static_pa - unknown.fan_static_pa == pytest.approx(bare.cyclone_pa, rel=1e-9)


def test_every_other_branch_has_its_excess_and_the_opening_that_burns_it() -> None:
    saw, planer = both(made()).paths
    over = 2.5 * vp(400, 4) - vp(300, 4)
    assert (saw.excess_pa, saw.gate_opening, saw.left_pa) == (0.0, 1.0, 0.0)
    assert planer.excess_pa == pytest.approx(over, rel=1e-9)
    assert planer.need_pa == pytest.approx(SAW - over, rel=1e-9)
    assert planer.gate_run == "drop" and planer.gate_opening is not None
    gate_k = ductcalc.catalog.gate_part_open(planer.gate_opening).value - ductcalc.catalog.fact("gate", "open").value
    assert gate_k * vp(300, 4) == pytest.approx(over, rel=1e-9)


def test_what_no_gate_burns_is_told() -> None:
    found = tight(
        run("trunk", port("saw", "4 in", flow="400 cfm", k=2.5), gate(), joins("drop", "6 in", k=0), end()),
        run("drop", port("planer", "4 in", flow="300 cfm", k=1.0)),
        table=NO_PARTS,
    )
    _, planer = both(found).paths
    assert planer.gate_opening is None
    assert planer.left_pa == planer.excess_pa > 100.0
    assert ductcalc.need(found).always_open == ("planer",)


def test_a_gate_on_a_shared_stretch_burns_what_all_behind_it_have_over() -> None:
    found = tight(
        run("trunk", port("saw", "4 in", flow="500 cfm", k=6.0), gate(), joins("low", "7 in", k=0), end()),
        run("low", port("lathe", "4 in", flow="300 cfm", k=1.0), joins("high", "5 in", k=0), gate()),
        run("high", port("planer", "4 in", flow="300 cfm", k=1.4)),
        table=NO_PARTS,
    )  # fmt: skip
    case = ductcalc.need(found, [Ask.everything()]).cases[0]
    lathe, planer = (next(path for path in case.paths if path.machine == name) for name in ("lathe", "planer"))
    assert lathe.gate_run == planer.gate_run == "low"
    assert planer.left_pa == pytest.approx(0.0, abs=1e-6)
    assert lathe.left_pa == pytest.approx(lathe.excess_pa - planer.excess_pa, rel=1e-9)


def two_sizes() -> Shop:
    """Build a narrow hungry branch and a wide easy one: one decides by pressure, the other by air."""
    return tight(
        run("trunk", port("router", "3 in", flow="250 cfm", k=6.0), gate(), joins("drop", "8 in", k=0), end()),
        run("drop", port("drum", "8 in", flow="1200 cfm", k=0.5), gate()),
        table=NO_PARTS,
    )


def test_each_case_that_no_other_covers_decides_highest_pressure_first() -> None:
    found = ductcalc.need(two_sizes())
    assert [case.case.name for case in found.deciding] == ["router", "drum"]
    together = ductcalc.need(two_sizes(), [Ask.everything(), Ask.machines("router"), Ask.machines("drum")])
    assert [case.case.name for case in together.deciding] == ["all open"]


def test_the_range_holds_the_pressure_of_what_is_assumed() -> None:
    found = ductcalc.need(made(NO_PARTS, gates={}, method={}))
    assert found.range_pa is not None and found.deciding[0].fan_static_pa is not None
    low, high = found.range_pa
    ends = [(one.low_pa, one.high_pa) for one in found.assumptions]
    swings = [(low, high) for low, high in ends if low is not None and high is not None]
    up = sum(max(max(pair) - found.deciding[0].fan_static_pa, 0.0) ** 2 for pair in swings)
    assert low <= found.deciding[0].fan_static_pa < high
    assert high - found.deciding[0].fan_static_pa == pytest.approx(up**0.5, rel=1e-9)


def test_where_nothing_is_assumed_there_is_no_range() -> None:
    assert ductcalc.need(made(NO_PARTS)).range_pa is None


def test_own_blowers_are_asked_less_of_the_collector() -> None:
    pushed = both(made(NO_PARTS, machines={"saw": {"own_blower": "200 Pa"}}))
    assert pushed.total_pa == pytest.approx(SAW - 200.0, rel=1e-9)


def test_set_flows_of_its_own_are_asked_for() -> None:
    sets = {"gates": {"leak": "0 %", "sets": {"rip": {"open": ["saw"], "flow": {"saw": "500 cfm"}}}}}
    case = ductcalc.need(made(NO_PARTS, **sets), [Ask.gate_set("rip")]).cases[0]
    assert case.flow_m3_s == pytest.approx(500 * CFM, rel=1e-9)


def test_a_shop_without_machines_is_refused() -> None:
    with pytest.raises(InputError, match="switched off"):
        ductcalc.need(shop(run("trunk", port("saw", "4 in", flow="off"), pipe("3 ft"), end()), table=()))


CURVE = points(("0 cfm", "4500 Pa"), ("700 cfm", "4000 Pa"), ("1400 cfm", "1000 Pa"))
WEAK = points(("0 cfm", "1500 Pa"), ("1400 cfm", "100 Pa"))


def with_table(table: Rows) -> Shop:
    return made(table)


def test_a_candidates_margin_and_settling_point_are_those_of_check() -> None:
    asks = [Ask.machines("saw", "planer"), Ask.machines("saw")]
    found = ductcalc.need(made(NO_PARTS), asks, collectors=[("strong", with_table([*CURVE, *NO_PARTS]))])
    checked = ductcalc.check(with_table([*CURVE, *NO_PARTS]), asks)
    for mine, theirs in zip(found.candidates[0].cases, checked.loaded, strict=True):
        assert mine.wanted.margin_pa == theirs.wanted.margin_pa
        assert mine.collector == theirs.collector


def test_the_margin_is_what_its_curve_has_above_the_fan_static_pressure() -> None:
    strong = with_table([*CURVE, *PARTS])
    found = ductcalc.need(made(PARTS), [Ask.machines("saw", "planer")], collectors=[("strong", strong)])
    case = found.cases[0]
    assert case.fan_static_pa is not None
    margin = found.candidates[0].cases[0].wanted.margin_pa
    assert margin == pytest.approx(4000.0 * RHO / STANDARD - case.fan_static_pa, rel=1e-9)


def test_a_candidate_that_says_nothing_of_its_parts_takes_the_shops() -> None:
    asks = [Ask.machines("saw", "planer")]
    silent, written = (ductcalc.need(made(PARTS), asks, collectors=[("one", with_table(table))]).candidates[0]
                       for table in (CURVE, [*CURVE, *PARTS]))  # fmt: skip
    assert silent.cases[0].wanted.margin_pa == written.cases[0].wanted.margin_pa
    assert any("own collector table" in remark for remark in silent.remarks)


def test_the_best_candidate_gives_the_exit_code() -> None:
    asks = [Ask.machines("saw", "planer")]
    shops = [("weak", with_table([*WEAK, *NO_PARTS])), ("strong", with_table([*CURVE, *NO_PARTS]))]
    found = ductcalc.need(made(NO_PARTS), asks, collectors=shops)
    assert [one.exit_code for one in found.candidates] == [1, 0]
    assert found.exit_code == 0
    assert ductcalc.need(made(NO_PARTS), asks, collectors=shops[:1]).exit_code == 1


def test_only_the_figures_on_the_box_are_marked() -> None:
    box = with_table([rated("advertised", "2000 cfm", "4000 Pa"), *NO_PARTS])
    found = ductcalc.need(made(NO_PARTS), [Ask.machines("saw")], collectors=[("box", box)])
    assert found.candidates[0].provisional


def test_the_shops_own_collector_is_held_against_the_need_unasked() -> None:
    shop = with_table([*CURVE, *NO_PARTS])
    (own,) = ductcalc.need(shop).candidates
    assert (own.exit_code == 0) == ductcalc.check(shop).well


def test_balanced_gates_give_every_machine_its_air_but_for_whole_per_cent() -> None:
    balance = ductcalc.need(made(NO_PARTS), [Ask.machines("saw", "planer")], balance=True).balances[0]
    assert not balance.own_curve
    assert [gate.run for gate in balance.gates] == ["drop"]
    assert all(round(100.0 * gate.opening, 9) == round(100.0 * gate.opening) for gate in balance.gates)
    for machine in balance.case.asked_machines:
        assert machine.share == pytest.approx(1.0, abs=0.02)
        assert machine.share != pytest.approx(1.0, abs=1e-7)


def test_a_balance_on_the_shops_own_curve_is_solved_there() -> None:
    strong = with_table([*CURVE, *NO_PARTS])
    balance = ductcalc.need(strong, [Ask.machines("saw", "planer")], balance=True).balances[0]
    assert balance.own_curve and all(machine.share > 1.0 for machine in balance.case.asked_machines)


def test_machines_alone_need_no_balance() -> None:
    assert ductcalc.need(made(NO_PARTS), balance=True).balances == ()


def test_the_system_curve_passes_through_the_need() -> None:
    found = ductcalc.need(made(PARTS), [Ask.machines("saw", "planer")], curve=True)
    case, at = found.cases[0], next(point for point in found.curve if point.share == 1.0)
    assert (at.flow_m3_s, at.static_pa, at.total_pa) == (case.flow_m3_s, case.static_pa, case.total_pa)
    assert at.fan_static_pa == pytest.approx(case.fan_static_pa, rel=1e-12)


def test_the_system_curve_of_coefficients_alone_goes_with_the_square_of_flow() -> None:
    curve = ductcalc.need(made(NO_PARTS), [Ask.machines("saw", "planer")], curve=True).curve
    assert curve
    for point in curve:
        assert point.total_pa == pytest.approx(SAW * point.share**2, rel=1e-8)
        assert point.open_fan_static_pa is not None and point.open_fan_static_pa < point.fan_static_pa


def test_open_gates_cross_a_blowers_chart_where_check_settles() -> None:
    strong = with_table([*points(("0 cfm", "2000 Pa"), ("1400 cfm", "1000 Pa")), *NO_PARTS])
    settled = ductcalc.check(strong, [Ask.machines("saw", "planer")]).loaded[0].collector
    assert settled is not None
    curve = ductcalc.need(strong, [Ask.machines("saw", "planer")], curve=True).curve
    below = max((p for p in curve if p.flow_m3_s <= settled.flow_m3_s), key=lambda p: p.flow_m3_s)
    above = min((p for p in curve if p.flow_m3_s > settled.flow_m3_s), key=lambda p: p.flow_m3_s)
    assert below.open_fan_static_pa is not None and above.open_fan_static_pa is not None
    assert below.open_fan_static_pa <= settled.blower_pa < above.open_fan_static_pa


def test_chips_that_settle_at_the_wanted_flows_are_told() -> None:
    def through(size: str) -> Shop:
        return tight(run("trunk", port("saw", "4 in", k=1), gate(), pipe("9 ft", size), end()), table=NO_PARTS)

    found = ductcalc.need(through("8 in"))
    assert [case.case.name for case in found.settling] == ["saw"] and found.exit_code == 1
    assert ductcalc.need(through("4 in")).exit_code == 0


def test_a_case_that_an_own_blower_blows_out_of_has_no_need() -> None:
    found = ductcalc.need(made(NO_PARTS, machines={"saw": {"own_blower": "9000 Pa"}}, gates={"leak": "5 %"}))
    alone = next(case for case in found.cases if case.case.name == "saw")
    assert not alone.solved and found.exit_code == 3
    assert alone.paths == () and alone.worst is None


def test_the_frame_has_a_row_for_each_branch_with_units_in_its_names() -> None:
    found = ductcalc.need(made(NO_PARTS), [Ask.machines("saw", "planer")])
    table = found.frame()
    assert list(table["run"]) == ["trunk", "drop"]
    assert list(table["excess_pa"]) == [path.excess_pa for path in found.cases[0].paths]
    assert table["fan_static_pa"][0] == found.cases[0].fan_static_pa


def test_a_named_set_that_opens_nothing_needs_nothing_and_is_refused_only_when_asked_for() -> None:
    idle = made(gates={"sets": {"pause": []}})
    assert [one.case.name for one in ductcalc.need(idle).cases] == ["saw", "planer"]
    with pytest.raises(InputError, match="no machine is open"):
        ductcalc.need(idle, [Ask.gate_set("pause")])


@pytest.mark.parametrize(("flow_cfm", "fast"), [(300, False), (430, False), (450, True), (800, True)])
def test_air_clearly_faster_than_in_a_main_is_told_with_its_place(flow_cfm: int, fast: bool) -> None:
    """4 in are 7.85e-3 m2 or so: 25.3 m/s, a tenth over the 23 m/s of a main, are 435 cfm."""
    line = run("line", port("saw", "4 in", flow=f"{flow_cfm} cfm", k=1.0), gate(), pipe("9 ft", "4 in"), end("4 in"))
    case = ductcalc.need(tight(line)).cases[0]
    assert (case.too_fast is not None) is fast
    if case.too_fast is not None:
        assert case.too_fast.run == "line"
        assert case.too_fast.velocity_m_s == pytest.approx(flow_cfm * CFM / (math.pi / 4 * (4 * INCH) ** 2), rel=1e-6)


def test_gates_burn_what_is_over_of_air_with_chips_in_it_too() -> None:
    laden = made(NO_PARTS, material={"loading": 0.2})
    balance = ductcalc.need(laden, [Ask.machines("saw", "planer")], balance=True).balances[0]
    assert balance.gates
    for machine in balance.case.asked_machines:
        assert machine.share == pytest.approx(1.0, abs=0.02)
