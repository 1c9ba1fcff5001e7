"""The verdict as a whole: what assumptions and other methods are worth, remarks, tables, quantities."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import ductcalc
from ductcalc import Ask
from ductcalc.cases.choices import Choice
from ductcalc.cases.worth import WorthAnswer
from ductcalc.report.check.data import check_document
from ductcalc.report.display import Display
from ductcalc.shop import Shop
from tests.scenes import (
    BARE,
    Rows,
    cap,
    elbow,
    end,
    gate,
    hose,
    piece,
    pipe,
    points,
    port,
    rated,
    run,
    shop,
    two_machines,
    wye,
)


def assumed(
    k: str | None = None,
    count: int | None = None,
    style: str | None = None,
    make: str | None = None,
    table: Rows = BARE,
    **settings: Any,
) -> Shop:
    """Build a shop in which much was left unsaid; each argument says one thing."""
    first = piece("port", "4 in", machine="band saw", flow="400 cfm", k=k)
    return shop(
        run(
            "trunk",
            first,
            hose("6 ft", count=count),
            gate(),
            piece("pipe", length="30 ft", style=make),
            piece("elbow", style=style),
            wye("drop", "6 in"),
            piece("pipe", length="9 ft", style=make),
            end(),
        ),
        run("drop", port("planer", "5 in", flow="500 cfm", k=2.0), gate()),
        table=table,
        **settings,
    )


ALONE = [Ask.machines("band saw")]


def got(made: Shop) -> float:
    return ductcalc.check(made, ALONE).loaded[0].machine("band saw").flow_m3_s


def worth(made: Shop, key: str) -> WorthAnswer:
    return next(w for w in ductcalc.check(made, ALONE).assumptions if w.assumption.key == key)


def same(found: WorthAnswer, low: float, high: float) -> None:
    assert found.low_m3_s == pytest.approx(low, rel=1e-8)
    assert found.high_m3_s == pytest.approx(high, rel=1e-8)


class TestWorth:
    """What an assumption is worth is what re-solving gives with that value written into the table."""

    def test_machine_resistance(self) -> None:
        same(worth(assumed(), "machine resistance"), got(assumed(k="0.5")), got(assumed(k="5.2")))

    def test_hose_factor(self) -> None:
        ends = [got(assumed(method={"flex_factor": factor})) for factor in (1.5, 4.0)]
        same(worth(assumed(), "hose factor"), *ends)

    def test_hose_bends(self) -> None:
        ends = [got(assumed(count=1, method={"hose_bend_k": k})) for k in (0.3, 1.0)]
        same(worth(assumed(), "bends in hoses"), *ends)

    def test_leak_of_shut_gates(self) -> None:
        ends = [got(assumed(gates={"leak": leak})) for leak in ("0.1 %", "3 %")]
        same(worth(assumed(), "leak of shut gates"), *ends)

    def test_joint_leakage(self) -> None:
        ends = [got(assumed(method={"joint_leakage": 3})), got(assumed(method={"joint_leakage": 12}))]
        same(worth(assumed(), "joint leakage"), *ends)

    def test_loaded_filter(self) -> None:
        def table(inches: float | None) -> Rows:
            rows = [*points(("0 cfm", "14 inwg"), ("1500 cfm", "2 inwg")), rated("cyclone", "800 cfm", "2 inwg")]
            rows.append(rated("filter clean", "800 cfm", "1 inwg"))
            return rows if inches is None else [*rows, rated("filter loaded", "800 cfm", f"{inches} inwg")]

        ends = [got(assumed(table=table(1 + added))) for added in (1.0, 3.0)]
        same(worth(assumed(table=table(None)), "loaded filter"), *ends)

    def test_what_is_written_is_not_assumed(self) -> None:
        made = assumed(
            k="2",
            count=1,
            style="5-gore",
            make="spiral",
            gates={"leak": "1 %"},
            method={"joint_leakage": "sealed", "flex_factor": 2.4},
            collector={"curve": "fan static"},
        )
        assert ductcalc.check(made, ALONE).assumptions == ()

    def test_the_assumed_values_are_the_ones_that_were_solved_with(self) -> None:
        written = assumed(k="2.75", count=1, method={"flex_factor": 2.4, "joint_leakage": 3, "hose_bend_k": 0.5})
        assert got(written) == pytest.approx(got(assumed()), rel=1e-9)

    def test_an_assumption_says_where(self) -> None:
        assert worth(assumed(), "machine resistance").assumption.where == ("band saw",)

    def test_an_assumption_without_a_band_has_no_worth(self) -> None:
        found = worth(assumed(), "basis of the blower curve")
        assert (found.low_m3_s, found.high_m3_s) == (None, None)


@pytest.mark.parametrize("junction", ["momentum", "handbook", "factored"])
def test_the_other_methods_stand_beside_and_equal_a_check_by_them(junction: Any) -> None:
    both = [Ask.everything()]
    found = ductcalc.check(two_machines(), both, junction=junction)
    assert found.junction == junction
    assert {m.method for m in found.methods} == {"momentum", "handbook", "factored"} - {junction}
    for method in found.methods:
        by_it: Any = method.method
        other = ductcalc.check(two_machines(), both, junction=by_it).loaded[0]
        assert method.flow_m3_s == pytest.approx(other.machine(found.subject.machine).flow_m3_s, rel=1e-9)


def test_the_settings_choose_the_junction_method_and_the_call_overrides_them() -> None:
    made = two_machines(method={"junction": "factored"})
    assert ductcalc.check(made).junction == "factored"
    assert ductcalc.check(made, junction="handbook").junction == "handbook"


def test_an_ordinary_wye_is_not_remarked() -> None:
    assert ductcalc.check(two_machines()).remarks == ()


def test_what_is_written_and_not_used_yet_is_said() -> None:
    points = [{"item": "blower", "flow": f"{q} cfm", "pressure": f"{p} inwg"} for q, p in ((0, 9), (900, 2))]
    points[0]["power"] = "1 hp"
    powered = ductcalc.shop_from_rows(
        duct=[{"run": "t", "piece": "port", "machine": "a", "size": "4 in"}, {"piece": "collector"}], collector=points
    )
    assert ductcalc.check(powered).unused == ("the blower's power, which takes two points or more",)
    assert ductcalc.check(two_machines()).unused == ()


def test_room_and_metal_are_carried_for_the_cautions() -> None:
    made = two_machines(machines={"planer": {"metal": True}}, room={"heater": True, "exhaust": "outdoors"})
    answer = ductcalc.check(made)
    assert answer.metal == ("planer",)
    assert answer.room.heater and answer.room.exhaust == "outdoors"


def test_all_well_needs_every_machine_served_and_nothing_settling() -> None:
    good = shop(run("trunk", port("saw", "4 in", flow="300 cfm", k=1), end()))
    short = shop(run("trunk", port("saw", "4 in", flow="1200 cfm", k=9), end()))
    settling = shop(run("trunk", port("saw", "4 in", flow="100 cfm", k=1), pipe("3 ft", "9 in"), end()))
    assert ductcalc.check(good).well
    assert not ductcalc.check(short).well
    found = ductcalc.check(settling)
    assert found.loaded[0].lacking == () and found.loaded[0].settling
    assert not found.well


def test_every_answer_has_passed_its_audit() -> None:
    for case in ductcalc.check(two_machines()).cases:
        assert case.audit is not None
        assert max(case.audit.pressure, case.audit.mass, case.audit.blower) <= 1e-8


def document(found: ductcalc.Check) -> dict[str, object]:
    return check_document(found, Display("inch"))


def test_a_shop_may_be_changed_and_checked_again_without_changing_the_first() -> None:
    first = two_machines()
    before = ductcalc.check(first)
    ductcalc.check(replace(first, settings=replace(first.settings, units="metric")))
    assert document(ductcalc.check(first)) == document(before)


def test_a_quantity_is_made_on_request() -> None:
    machine = ductcalc.check(two_machines()).loaded[0].machine("band saw")
    found = ductcalc.quantity(machine, "flow_m3_s")
    assert found.to("ft**3/min").magnitude == pytest.approx(machine.flow_m3_s / (0.3048**3 / 60))


@pytest.mark.parametrize(
    ("field", "unit", "factor"),
    [("inlet_static_pa", "pascal", 1.0), ("blower_pa", "pascal", 1.0), ("flow_m3_s", "m**3/hour", 3600.0)],
)
def test_a_quantity_has_the_dimension_of_its_fields_name(field: str, unit: str, factor: float) -> None:
    point = ductcalc.check(two_machines()).loaded[0].collector
    found = ductcalc.quantity(point, field)
    assert found.to(unit).magnitude == pytest.approx(getattr(point, field) * factor, rel=1e-12)


def test_a_field_without_a_unit_is_no_quantity() -> None:
    point = ductcalc.check(two_machines()).loaded[0].collector
    with pytest.raises(ValueError, match="basis"):
        ductcalc.quantity(point, "basis")
    with pytest.raises(ValueError, match="cyclone_pa"):
        ductcalc.quantity(point, "cyclone_pa")
    with pytest.raises(AttributeError):
        ductcalc.quantity(point, "nothing_pa")


def test_a_dead_end_of_pipe_behind_a_cap_changes_nothing_without_leakage() -> None:
    tight: dict[str, Any] = {"method": {"joint_leakage": "none"}}

    def flow(*head: Any) -> float:
        made = shop(
            run("trunk", *head, wye("drop", "6 in"), elbow(), end()), run("drop", port("saw", "4 in", k=1)), **tight
        )
        return ductcalc.check(made).loaded[0].machine("saw").flow_m3_s

    assert flow(cap("6 in"), pipe("30 ft")) == pytest.approx(flow(cap("6 in")), rel=1e-9)
    assert flow(cap("6 in")) == pytest.approx(flow(), rel=1e-9)


def test_frames_hold_the_same_numbers() -> None:
    found = ductcalc.check(two_machines())
    table = found.frame("machines")
    assert table["flow_m3_s"].sum() == pytest.approx(sum(m.flow_m3_s for c in found.cases for m in c.machines))
    report = ductcalc.losses(two_machines())
    assert report.frame()["loss_pa"].sum() == pytest.approx(report.total_pa, rel=1e-12)
    with pytest.raises(ValueError, match="nonsense"):
        found.frame("nonsense")


def test_where_no_case_opens_anything_the_first_machine_is_named() -> None:
    """The planer wants more air than the band saw, and is not named for it."""
    found = ductcalc.check(assumed(), [Choice("nothing", ())])
    assert {found.farthest.machine, found.worst.machine, found.greediest.machine} == {"band saw"}
