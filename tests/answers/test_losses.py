"""Where the pressure goes: rows that add up, running totals, static beside total, shares."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest

import ductcalc
from ductcalc import Ask
from ductcalc.answers.losses import Losses
from ductcalc.shop import Shop
from ductcalc.shop.hanging import hang
from tests.scenes import (
    STRONG,
    cap,
    elbow,
    end,
    gate,
    hose,
    none,
    pipe,
    points,
    port,
    rated,
    reducer,
    run,
    shop,
    tight,
    two_machines,
    wye,
)

PARTS = [
    rated("cyclone", "800 cfm", "2 inwg"),
    rated("filter clean", "800 cfm", "1 inwg"),
    rated("filter loaded", "800 cfm", "2 inwg"),
]
TABLE = [*points(*STRONG), *PARTS]


def made(*outlet: Any, **settings: Any) -> Shop:
    return shop(
        run(
            "trunk",
            port("band saw", "4 in", k=1.5),
            hose("3 ft", count=None),
            gate(opening="60 %"),
            pipe("9 ft"),
            reducer("5 in"),
            pipe("3 ft"),
            wye("drop", "6 in", angle="30"),
            elbow(),
            pipe("15 ft"),
            end(),
        ),
        run("drop", port("planer", "5 in", k=2.0), pipe("6 ft", "6 in"), pipe("2 ft", "5 in"), gate()),
        *outlet,
        table=TABLE,
        **settings,
    )


@pytest.fixture(params=["momentum", "handbook", "factored"])
def report(request: pytest.FixtureRequest) -> Losses:
    return ductcalc.losses(made(), Ask.everything(), "band saw", junction=request.param)


def test_the_rows_add_up_to_what_the_blower_gives(report: Losses) -> None:
    assert report.case.collector is not None
    assert report.total_pa == pytest.approx(report.case.collector.blower_pa, rel=1e-7)


def test_the_running_total_is_the_sum_so_far(report: Losses) -> None:
    total = 0.0
    assert report.rows
    for row in report.rows:
        total += row.loss_pa
        assert row.running_total_pa == pytest.approx(total, rel=1e-12)


def test_the_running_total_never_falls_but_where_a_wye_drags_a_stream_along(report: Losses) -> None:
    assert report.rows
    assert all(row.loss_pa >= 0.0 for row in report.rows if row.group != "wye")


def test_the_running_total_at_the_ducts_end_is_the_collectors_suction(report: Losses) -> None:
    duct = [row for row in report.rows if row.group not in ("cyclone", "filter", "outlet")]
    point = report.case.collector
    assert point is not None
    assert duct[-1].running_total_pa == pytest.approx(point.inlet_total_pa, rel=1e-7)


@pytest.mark.parametrize("joints", ["none", "sealed", "unsealed"])
def test_the_static_suction_at_the_inlet_is_that_of_check_and_of_all_the_air(joints: str) -> None:
    found = ductcalc.losses(made(method={"joint_leakage": joints}), Ask.everything(), "band saw")
    inlet = next(row for row in found.rows if row.group == "inlet")
    before = found.rows[found.rows.index(inlet) - 1]
    point = found.case.collector
    assert point is not None
    assert inlet.flow_m3_s == point.flow_m3_s
    assert (inlet.flow_m3_s > before.flow_m3_s) is (joints != "none")
    assert inlet.running_total_pa == before.running_total_pa
    assert inlet.running_static_pa == pytest.approx(point.inlet_static_pa, rel=1e-9)


def test_static_is_total_and_the_vp_behind_the_piece(report: Losses) -> None:
    assert report.rows
    for row in report.rows:
        if row.group in ("cyclone", "filter", "reducer"):
            continue
        assert row.running_static_pa is not None and row.vp_pa is not None
        assert row.running_static_pa == pytest.approx(row.running_total_pa + row.vp_pa, rel=1e-12)


def test_behind_a_reducer_static_is_taken_in_the_bore_it_leads_to(report: Losses) -> None:
    row = next(row for row in report.rows if row.group == "reducer")
    behind = 0.5 * ductcalc.check(made()).air.density_kg_m3 * (row.flow_m3_s / (math.pi / 4 * 0.127**2)) ** 2
    assert row.running_static_pa == pytest.approx(row.running_total_pa + behind, rel=1e-12)


def test_at_a_machine_static_suction_is_its_k_and_one_more_vp(report: Losses) -> None:
    row = report.rows[0]
    assert row.group == "machine" and row.vp_pa is not None
    assert row.running_static_pa == pytest.approx((1 + 1.5) * row.vp_pa, rel=1e-12)


def test_shares_sum_to_one(report: Losses) -> None:
    assert sum(row.share or 0.0 for row in report.rows) == pytest.approx(1.0, rel=1e-12)
    assert [row.group for row in report.rows if row.share is None] == ["inlet"]


def test_groups_sum_to_the_total_largest_first(report: Losses) -> None:
    groups = report.by_group()
    assert sum(pressure for _, pressure, _ in groups) == pytest.approx(report.total_pa, rel=1e-12)
    assert sum(share for _, _, share in groups) == pytest.approx(1.0, rel=1e-12)
    assert all(a[1] >= b[1] for a, b in pairwise(groups))
    assert {group for group, _, _ in groups} == {row.group for row in report.rows} - {"inlet"}


def test_coefficient_times_vp_is_the_loss(report: Losses) -> None:
    for row in report.rows:
        if row.coefficient is not None:
            assert row.vp_pa is not None
            assert row.coefficient * row.vp_pa == pytest.approx(row.loss_pa, rel=1e-9, abs=1e-12)


def test_every_number_names_its_source(report: Losses) -> None:
    assert report.rows
    assert all(row.source and row.reason for row in report.rows)


def test_largest_first_is_the_same_rows_in_order(report: Losses) -> None:
    rows = report.largest_first()
    assert sorted(map(id, rows)) == sorted(map(id, report.rows))
    assert all(a.loss_pa >= b.loss_pa for a, b in pairwise(rows))


def test_who_else_passes_is_said_on_the_shared_way_only(report: Losses) -> None:
    shared = {row.section: row.shared_by for row in report.rows if row.group not in ("wye",)}
    assert shared["trunk 1"] == ()
    assert shared["trunk 2"] == ("band saw", "planer")


def test_assumed_pieces_are_marked() -> None:
    rows = ductcalc.losses(made(), machine="planer").rows
    assert [row.label for row in rows if row.assumed] == ["reducer (assumed)", "reducer (assumed)"]


def test_a_machine_alone_shares_its_way_with_nobody() -> None:
    assert all(row.shared_by == () for row in ductcalc.losses(made(), machine="planer").rows)


def test_without_a_machine_the_worst_one_is_shown() -> None:
    worst = ductcalc.check(made()).worst
    found = ductcalc.losses(made())
    assert (found.machine, found.case.name) == (worst.machine, worst.case)


def test_a_machine_that_is_not_open_in_the_choice_is_refused() -> None:
    with pytest.raises(ductcalc.InputError) as caught:
        ductcalc.losses(made(), Ask.machines("planer"), "band saw")
    (problem,) = caught.value.problems
    assert '"band saw"' in problem.message and "planer" in problem.hint


def test_a_choice_in_which_no_machine_is_open_is_refused() -> None:
    with pytest.raises(ductcalc.InputError, match="no machine is open"):
        ductcalc.losses(made(), Ask.everything(but=hang(made()).machines()))


def test_a_shop_with_every_machine_switched_off_is_refused() -> None:
    found = shop(run("main", port("planer", "6 in", flow="off"), pipe("5 ft"), end()), table=TABLE)
    for ask in (None, Ask.everything()):
        with pytest.raises(ductcalc.InputError, match="switched off"):
            ductcalc.losses(found, ask)


def test_an_unknown_machine_is_refused() -> None:
    with pytest.raises(ductcalc.InputError, match="did you mean band saw"):
        ductcalc.losses(made(), machine="bandsaw")


def test_of_two_ports_the_poorest_is_walked() -> None:
    shop_ = tight(
        run("low", port("saw", "4 in", flow="100 cfm", k=1), wye("high", "5 in"), end()),
        run("high", port("saw", "3 in", flow="300 cfm", k=3), pipe("4 ft")),
    )
    assert ductcalc.losses(shop_).run == "high"


def test_an_outlet_duct_has_a_row_and_the_rows_add_up() -> None:
    outlet = run("out", end("6 in"), elbow(), pipe("12 ft"))
    found = ductcalc.losses(made(outlet, collector={"curve": "fan static"}), machine="planer")
    assert [row.group for row in found.rows][-1] == "outlet"
    assert found.case.collector is not None
    assert found.total_pa == pytest.approx(found.case.collector.blower_pa, rel=1e-7)


@pytest.mark.parametrize(
    ("collector", "label"),
    [
        ({"curve": "fan total", "outlet_size": "7 in"}, "VP at the blower's outlet"),
        ({"curve": "inlet suction", "test_pipe": "7 in"}, "VP in the test pipe"),
    ],
)
def test_the_vp_that_a_curve_counts_in_has_the_last_row(collector: dict[str, Any], label: str) -> None:
    found = ductcalc.losses(made(collector=collector), machine="planer")
    point, last = found.case.collector, found.rows[-1]
    assert point is not None
    density = ductcalc.check(made()).air.density_kg_m3
    vp = 0.5 * density * (point.flow_m3_s / (math.pi / 4 * (7 * 0.0254) ** 2)) ** 2
    assert (last.label, last.share, last.coefficient) == (label, None, pytest.approx(1.0))
    assert last.loss_pa == pytest.approx(vp, rel=1e-9)
    assert last.running_total_pa == pytest.approx(point.blower_pa, rel=1e-9)
    assert found.total_pa == pytest.approx(point.blower_pa - vp, rel=1e-9)


def test_a_running_machines_own_blower_is_a_loss_below_zero_ahead_of_its_port() -> None:
    settings = {"machines": {"planer": {"own_blower": "150 Pa"}}, "collector": {"curve": "fan static"}}
    found = ductcalc.losses(made(**settings), machine="planer")
    first, second = found.rows[:2]
    assert (first.group, first.label, first.loss_pa) == ("own blower", "own blower of planer", -150.0)
    assert second.group == "machine"
    assert second.running_total_pa == pytest.approx(second.loss_pa - 150.0, rel=1e-12)
    assert found.case.collector is not None
    assert found.total_pa == pytest.approx(found.case.collector.blower_pa + 150.0, rel=1e-9)


def test_an_own_blower_that_stands_still_has_no_row() -> None:
    gates = {"sets": {"sawing": {"open": ["band saw", "planer"], "helpers": ["planer"]}}}
    found = made(gates=gates, machines={"planer": {"own_blower": "150 Pa"}})
    assert all(row.group != "own blower" for row in ductcalc.losses(found, Ask.gate_set("sawing"), "planer").rows)


@pytest.mark.parametrize(
    ("contains", "labels"),
    [
        ([], ["cyclone", "filter, loaded"]),
        (["cyclone", "filter clean"], ["cyclone, in the curve", "filter, loaded, beyond the curve's"]),
        (["filter loaded"], ["cyclone", "filter, loaded, in the curve"]),
    ],
)
def test_a_part_that_the_curve_contains_says_so(contains: list[str], labels: list[str]) -> None:
    found = ductcalc.losses(made(collector={"curve": "fan static", "contains": contains}), machine="planer")
    parts = {row.label: row.loss_pa for row in found.rows if row.group in ("cyclone", "filter")}
    assert list(parts) == labels
    assert all(abs(loss) < 1e-9 for label, loss in parts.items() if label.endswith("in the curve"))


def test_a_wye_with_its_own_coefficient_names_it() -> None:
    shop_ = tight(
        run("trunk", port("saw", "4 in", k=1), wye("drop", "5 in", k=0.6), pipe("6 ft"), end()),
        run("drop", port("planer", "4 in", k=1)),
    )
    row = next(row for row in ductcalc.losses(shop_, Ask.everything(), "saw").rows if row.group == "wye")
    assert row.coefficient == pytest.approx(0.6)
    assert (row.reason, row.source) == ("loss coefficient as written, 0.6 VP", "your table")


def test_a_case_beyond_the_curve_has_no_rows() -> None:
    table = [
        *points(("0 cfm", "10 inwg"), ("50 cfm", "9 inwg")),
        none("cyclone"),
        none("filter clean"),
        none("filter loaded"),
    ]
    found = ductcalc.losses(tight(run("trunk", port("saw", "6 in", k=0), end()), table=table))
    assert found.rows == ()
    assert found.case.status == "beyond the curve"
    assert found.total_pa == 0.0


def test_a_wye_that_drags_a_slow_stream_says_so() -> None:
    shop_ = tight(
        run(
            "trunk", port("weak", "6 in", flow="100 cfm", k=60), wye("strong", "6 in", angle="30"), pipe("9 ft"), end()
        ),
        run("strong", port("strong", "5 in", k=0.3)),
    )
    found = ductcalc.losses(shop_, Ask.everything(), "weak")
    row = next(row for row in found.rows if row.group == "wye")
    assert row.loss_pa < 0.0
    assert "drags this one along" in row.reason


def test_a_main_that_starts_with_a_cap_is_walked_from_its_branch() -> None:
    shop_ = tight(
        run("trunk", cap("6 in"), pipe("4 ft"), wye("drop"), pipe("6 ft"), end()), run("drop", port("saw", "4 in", k=1))
    )
    assert [row.section for row in ductcalc.losses(shop_).rows] == ["drop 1", "trunk 2", "trunk 2", "trunk 2"]


def test_two_machines_report_each_the_same_main() -> None:
    first, second = (ductcalc.losses(two_machines(), Ask.everything(), name) for name in ("band saw", "planer"))
    assert [row.group for row in first.rows[-2:]] == ["pipe", "inlet"]
    assert first.rows[-2].loss_pa == second.rows[-2].loss_pa > 0.0
    assert first.total_pa == pytest.approx(second.total_pa, rel=1e-8)
