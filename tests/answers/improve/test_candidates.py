"""What each family of changes offers, and what its changes leave alone."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.improve.candidate import (
    EFFORT,
    NEVER_FIRST,
    Candidate,
    Kind,
    as_written,
    in_order,
    with_all,
)
from ductcalc.answers.improve.candidates import candidates
from ductcalc.answers.improve.improve import improve
from ductcalc.answers.improve.use import new_gate
from ductcalc.audit.offer import Offer
from ductcalc.cases.choices import Choice, choose_set, default_choices
from ductcalc.catalog import elbow as elbow_fact
from ductcalc.model.model import build_model
from ductcalc.shop import Piece, Shop
from ductcalc.shop.change import changed
from ductcalc.shop.hanging import spelled_out
from tests.scenes import (
    BARE,
    NO_PARTS,
    STRONG,
    elbow,
    end,
    gate,
    hose,
    pipe,
    points,
    port,
    rated,
    reducer,
    run,
    shop,
    two_machines,
    wye,
)

INCH = 0.0254


def offered(found: Shop, *kinds: str, set_name: str | None = None, settling: bool = False) -> list[Candidate]:
    """Return the changes that are tried for a named set, or for the first machine alone."""
    model = build_model(spelled_out(found))
    choice = default_choices(model)[0] if set_name is None else choose_set(model, set_name)
    return [one for one in candidates(model, choice, settling) if not kinds or one.kind in kinds]


def straight(*rows: dict[str, str], **settings: object) -> Shop:
    return shop(run("hose", *rows, end()), **settings)


def pieces(found: Shop, name: str = "hose") -> tuple[Piece, ...]:
    return next(one for one in found.runs if one.name == name).pieces


def after(found: Shop, one: Candidate, name: str = "hose") -> tuple[Piece, ...]:
    return pieces(changed(found, [one.change]), name)


def kinds(found: Shop) -> set[str]:
    return {one.kind for one in offered(found)}


def test_the_first_example_is_offered_these_kinds() -> None:
    found = {one.kind for one in offered(ductcalc.read_shop("examples/creamery"), set_name="two saws", settling=True)}
    assert found == {
        "helper gate", "one at a time", "pipe size", "main size", "shorter hose", "straighter hose", "pipe for hose",
        "easier elbows", "slanted wye", "bigger port", "second port", "wider throat", "second opening", "smoother hood",
        "clean filter", "outdoors", "faster blower",
    }  # fmt: skip


def test_every_kind_takes_some_effort() -> None:
    assert set(EFFORT) == set(get_args(Kind))
    assert set(NEVER_FIRST) >= {kind for kind, effort in EFFORT.items() if effort == "last"}


def sizes_of(found: Shop, *, settling: bool = False) -> set[tuple[tuple[str, ...], float, float]]:
    """Return stretches that are offered another size, with their bores now and then [in]."""
    changes = offered(found, "pipe size", "main size", settling=settling)
    return {
        (one.sections, round(float(one.before or 0) / INCH, 2), round(float(one.after or 0) / INCH, 2))
        for one in changes
    }  # fmt: skip


def stepped() -> Shop:
    return shop(
        run("main", port("saw", "4 in"), pipe("5 ft"), wye("drop", "6 in"), pipe("5 ft"), wye("last", "6 in"),
            pipe("9 ft"), end()),
        run("drop", port("a", "4 in"), pipe("4 ft")),
        run("last", port("b", "5 in"), pipe("4 ft")),
    )  # fmt: skip


def test_a_size_goes_up_with_all_that_is_narrower_down_the_way_and_down_with_all_that_is_wider_up_it() -> None:
    assert sizes_of(stepped()) == {
        (("main 1",), 4.0, 5.0), (("drop 1",), 4.0, 5.0), (("last 1",), 5.0, 6.0),
        (("main 2", "main 3"), 6.0, 7.0), (("main 3",), 6.0, 7.0),
        (("main 2",), 6.0, 5.0), (("main 2", "main 3"), 6.0, 5.0),
    }  # fmt: skip


def test_no_drop_gets_smaller_than_its_port_and_no_main_than_what_flows_into_it() -> None:
    further = sizes_of(stepped(), settling=True) - sizes_of(stepped())
    assert further == {(("main 2",), 6.0, 4.0)}


def test_a_stretch_of_several_bores_is_offered_in_its_widest_one() -> None:
    found = straight(port("saw", "4 in"), hose("3 ft"), reducer("5 in"), pipe("9 ft"))
    one = next(c for c in offered(found, "pipe size") if float(c.after or 0) < 5.5 * INCH)
    assert (one.before, one.after) == (pytest.approx(4 * INCH), pytest.approx(5 * INCH))
    assert [round((piece.size_m or 0) / INCH, 3) for piece in after(found, one)] == [4, 5, 5, 5, 5]


def test_sizes_in_millimetres_skip_what_is_the_same_size_in_inches() -> None:
    found = offered(straight(port("saw", "150 mm"), pipe("3 m"), report={"units": "metric"}), "pipe size")
    assert [one.after for one in found] == [0.18]  # 160 mm is hardly another size than what hangs


def test_own_list_of_sizes_is_heeded() -> None:
    found = offered(straight(port("saw", "4 in"), pipe("9 ft"), size={"sizes": ["4 in", "7 in"]}), "pipe size")
    assert [float(one.after or 0) / INCH for one in found] == pytest.approx([7.0])


def test_hose_is_shortened_to_the_least_length_with_its_rise() -> None:
    found = straight(port("saw", "4 in"), hose("8 ft", 2, rise="4 ft"), pipe("5 ft"), improve={"least_hose": "2 ft"})
    one = offered(found, "shorter hose")[0]
    now = after(found, one)[1]
    assert (now.length_m, now.rise_m, now.count) == (pytest.approx(0.6096), pytest.approx(0.3048), 2)


def test_a_hose_with_bends_is_pulled_straight_and_shortened_beside() -> None:
    found = straight(port("saw", "4 in"), hose("8 ft", 2), pipe("5 ft"))
    shorter, straighter, pipe_ = offered(found, "shorter hose", "straighter hose", "pipe for hose")
    assert (after(found, straighter)[1].count, after(found, straighter)[1].length_m) == (0, pytest.approx(96 * INCH))
    assert not straighter.excludes(shorter) and straighter.excludes(pipe_) and shorter.excludes(pipe_)
    assert not offered(straight(port("saw", "4 in"), hose("8 ft", 0), pipe("5 ft")), "straighter hose")


def choices_of(one: Candidate, choice: Choice) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    assert one.use is not None
    return [(then.machines, then.helpers) for then in one.use(choice)]


def test_where_chips_settle_every_other_gate_may_stay_open() -> None:
    helpers = offered(two_machines(), "helper gate", settling=True)
    assert [one.machine for one in helpers] == ["planer"]
    assert choices_of(helpers[0], Choice("band saw", ("band saw",))) == [(("band saw", "planer"), ("planer",))]
    assert not offered(two_machines(), "helper gate")


def test_a_machine_on_the_same_hose_is_no_helper() -> None:
    found = straight(port("saw", "4 in"), port("bench", "4 in"), hose("5 ft"), pipe("9 ft"))
    assert not offered(found, "helper gate", settling=True)


def test_in_a_set_machines_may_run_one_at_a_time_and_helpers_be_shut() -> None:
    sets = {"both": ["band saw", "planer"], "helped": {"open": ["band saw", "planer"], "helpers": ["planer"]}}
    found = two_machines(gates={"sets": sets})
    (alone,) = offered(found, "one at a time", set_name="both")
    assert choices_of(alone, Choice("both", ("band saw", "planer"))) == [(("band saw",), ()), (("planer",), ())]
    (shut,) = offered(found, "helper shut", set_name="helped")
    assert choices_of(shut, Choice("helped", ("band saw", "planer"), ("planer",))) == [(("band saw",), ())]
    assert not offered(found, "one at a time", "helper shut")


def test_a_machine_without_a_gate_may_get_one_and_leaky_gates_and_joints_be_tight() -> None:
    rows = run("main", port("saw", "4 in"), gate(leak="4 %"), pipe("5 ft"), wye("drop", "5 in"), pipe("9 ft"), end())
    found = shop(rows, run("drop", port("a", "4 in"), hose("3 ft"), pipe("4 ft")), method={"joint_leakage": "30"})
    new, tight, sealed = offered(found, "new gate", "tight gates", "sealed joints")
    assert new.machine == "a" and [p.kind for p in after(found, new, "drop")] == ["port", "flex", "gate", "pipe"]
    assert not build_model(changed(found, [new.change])).opening.always_open.any()
    assert (tight.before, tight.after) == (0.04, 0.01)
    assert changed(found, [sealed.change]).settings.method.joint_leakage_class is None
    assert not offered(two_machines(), "new gate", "tight gates", "sealed joints")


def test_hose_at_the_least_length_or_with_its_own_k_is_left_alone() -> None:
    assert not offered(straight(port("saw", "4 in"), hose("3 ft"), pipe("5 ft")), "shorter hose")
    assert not offered(
        straight(port("saw", "4 in"), hose("9 ft", k=1.0), pipe("5 ft")), "shorter hose", "pipe for hose"
    )


def test_default_least_hose_follows_the_units() -> None:
    inch, metric = improve(two_machines()), improve(two_machines(report={"units": "metric"}))
    assert (inch.least_hose_m, metric.least_hose_m) == (pytest.approx(0.9144), 1.0)


@pytest.mark.parametrize(("count", "bends"), [(0, 0), (2, 2), (None, 1)])
def test_pipe_for_hose_turns_bends_into_elbows(count: int | None, bends: int) -> None:
    found = straight(port("saw", "4 in"), hose("8 ft", count), pipe("5 ft"))
    now = after(found, offered(found, "pipe for hose")[0])
    assert [piece.kind for piece in now] == ["port", "pipe", *(["elbow"] if bends else []), "pipe", "collector"]
    assert (now[1].length_m, now[1].factor) == (pytest.approx(8 * 12 * INCH), None)
    assert not bends or now[2].count == bends


def test_elbows_are_offered_only_where_the_coefficient_falls() -> None:
    rows = [port("saw", "4 in"), elbow(style="5-gore"), elbow(style="7-gore"), elbow(style="mitred"), elbow(k=0.5)]
    found = straight(*rows, pipe("5 ft"))
    changes = offered(found, "easier elbows")
    now = pieces(changed(found, [one.change for one in changes]))
    assert [(piece.style, piece.radius) for piece in now[1:5]] == [
        ("5-gore", 2.5), ("7-gore", None), ("5-gore", None), ("5-gore", None)
    ]  # fmt: skip
    for before, then in zip(pieces(found)[1:4], now[1:4], strict=True):
        assert k_of(then) <= k_of(before)


def test_elbows_of_another_build_are_another_change() -> None:
    rows = [port("saw", "4 in"), elbow(style="mitred"), elbow(style="5-gore", count=2), elbow(style="mitred")]
    found = straight(*rows, pipe("5 ft"))
    mitred, gored = offered(found, "easier elbows")
    assert (mitred.measured, mitred.before, mitred.after, mitred.bends) == ("build", "mitred", "5-gore", 2)
    assert (gored.measured, gored.build, gored.after, gored.bends) == ("radius", "5-gore", 2.5, 2)
    rows_now = [[piece.place.row if piece.place else 0 for piece in pieces(found)][n] for n in (1, 2, 3)]
    assert (mitred.rows, gored.rows) == ((rows_now[0], rows_now[2]), (rows_now[1],))
    assert [piece.style for piece in after(found, mitred)[1:4]] == ["5-gore", "5-gore", "5-gore"]
    assert [piece.radius for piece in after(found, gored)[1:4]] == [None, 2.5, None]
    assert not mitred.excludes(gored)


def test_runs_written_as_like_another_and_their_source_are_known() -> None:
    found = ductcalc.read_shop("examples/joinery-class")
    known = {one.run: one for one in as_written(found, offered(found)) if one.run}
    assert known["Bank 5"].written_like == "Bank 2" and not known["Bank 5"].copies
    assert known["Bank 2"].written_like is None and "Bank 5" in known["Bank 2"].copies
    row = next(r.pieces[0].place for r in found.runs if r.name == "Bank 5")
    assert row is not None and known["Bank 5"].rows == (row.row,)


def k_of(piece: Piece) -> float:
    return elbow_fact(piece.style, piece.radius, 90.0, 4 * INCH).value


@pytest.mark.parametrize(("angle", "targets"), [("90", [45.0, 30.0]), ("60", [45.0, 30.0]), ("45", [30.0]), ("30", [])])
def test_wyes_may_come_in_at_less_of_an_angle(angle: str, targets: list[float]) -> None:
    found = shop(
        run("main", port("saw", "4 in"), pipe("5 ft"), wye("drop", "5 in", angle=angle), pipe("9 ft"), end()),
        run("drop", port("a", "4 in"), pipe("4 ft")),
    )
    assert [one.after for one in offered(found, "slanted wye")] == targets


def test_a_double_wye_turns_only_what_is_steeper() -> None:
    found = shop(
        run("main", port("saw", "4 in"), pipe("5 ft"), wye("a + b", "5 in", angle="30 + 60"), pipe("9 ft"), end()),
        run("a", port("a", "4 in"), pipe("4 ft")),
        run("b", port("b", "4 in"), pipe("4 ft")),
    )
    turned = [after(found, one, "main")[2].angles_deg for one in offered(found, "slanted wye")]
    assert turned == [(30.0, 45.0), (30.0, 30.0)]


MOUTH = 0.5  # a flush entry
TIMES = (5.0 / 4.0) ** 4  # by what a loss at the same air grows on the velocity pressure of a 5 in port


def port_k_of(found: Shop) -> float:
    k = build_model(found).sections[0].heads[0][0].k
    assert k is not None
    return k.value


@pytest.mark.parametrize(
    ("cells", "mouth"),
    [
        ({"flow": None}, MOUTH),
        ({"flow": "20 m/s"}, MOUTH),
        ({"flow": "400 cfm", "drop": "900 Pa at 400 cfm"}, MOUTH),
        ({"k": 2.0}, MOUTH),
        ({"k": 2.0, "style": "plain"}, 0.93),
        ({"k": 0.3}, 0.3),
        ({"inlet": "20 in2"}, MOUTH),
    ],
)
def test_a_bigger_port_loses_less_at_its_mouth_alone(cells: dict[str, str], mouth: float) -> None:
    found = straight(port("saw", "4 in", **cells), hose("5 ft"), gate(), pipe("9 ft"))
    then = changed(found, [offered(found, "bigger port")[0].change])
    assert build_model(then).ports[0].wanted_m3_s == pytest.approx(build_model(found).ports[0].wanted_m3_s)
    assert port_k_of(then) == pytest.approx(mouth + (port_k_of(found) - mouth) * TIMES)
    assert [round((piece.size_m or 0) / INCH, 3) for piece in pieces(then)] == [5, 5, 4, 4, 4]


def test_a_wider_throat_and_a_bare_mouth_keep_the_coefficient_on_the_bigger_bore() -> None:
    machine, bare = (straight(port("saw", "4 in", **cells), pipe("9 ft")) for cells in ({"k": "2"}, {"style": "plain"}))
    for found, kind in ((machine, "wider throat"), (bare, "bigger port")):
        assert port_k_of(changed(found, [offered(found, kind)[0].change])) == pytest.approx(port_k_of(found))
    assert not offered(bare, "wider throat", "second opening")


def test_behind_a_second_port_the_machine_takes_at_the_same_air_what_it_took() -> None:
    found = straight(port("saw", "4 in", k=2.0), hose("5 ft"), gate(), pipe("9 ft", "5 in"))
    second, opened = (changed(found, [offered(found, kind)[0].change]) for kind in ("second port", "second opening"))
    assert port_k_of(second) == pytest.approx(MOUTH + 4.0 * (2.0 - MOUTH))
    assert port_k_of(opened) == pytest.approx(2.0)


def test_a_shared_hose_stays_when_one_of_its_ports_grows() -> None:
    found = straight(port("saw", "4 in"), port("bench", "4 in"), hose("5 ft"), pipe("9 ft"))
    sizes = [[round((p.size_m or 0) / INCH) for p in after(found, one)] for one in offered(found, "bigger port")]
    assert sizes == [[5, 4, 4, 4, 4], [4, 5, 4, 4, 4]]
    assert not offered(found, "second port")


def test_a_second_port_shares_the_wish_and_stands_behind_the_same_gate() -> None:
    found = straight(port("saw", "4 in", flow="400 cfm", inlet="20 in2"), hose("5 ft", 1), gate(), pipe("9 ft", "5 in"))
    one = offered(found, "second port")[0]
    then = changed(found, [one.change])
    model = build_model(then)
    assert [piece.kind for piece in pieces(then)] == ["port", "flex", "wye", "gate", "pipe", "collector"]
    assert [piece.kind for piece in pieces(then, "hose second port")] == ["port", "flex"]
    assert [port.wanted_m3_s for port in model.ports] == pytest.approx([400 * 0.3048**3 / 120.0] * 2)
    assert model.machines == ("saw",) and not model.opening.always_open.any()
    assert [p.inlet_m2 for r in then.runs for p in r.pieces if p.kind == "port"] == pytest.approx([10 * INCH**2] * 2)


def test_machines_with_two_ports_get_no_third() -> None:
    found = offered(ductcalc.read_shop("examples/creamery"), "second port")
    assert not {"saw branch", "guard hose", "shared hose"} & {one.run for one in found}


def test_a_run_of_the_second_ports_name_is_no_obstacle() -> None:
    found = shop(
        run("saw", port("saw", "4 in"), pipe("5 ft"), wye("saw second port", "5 in"), pipe("9 ft"), end()),
        run("saw second port", port("a", "4 in"), pipe("4 ft")),
    )
    one = next(c for c in offered(found, "second port") if c.run == "saw")
    assert len(build_model(changed(found, [one.change])).ports) == 3


def test_only_bare_hoods_are_made_smoother() -> None:
    def styles(**cells: str) -> list[object]:
        return [one.after for one in offered(straight(port("saw", "4 in", **cells), pipe("9 ft")), "smoother hood")]

    assert styles(style="plain") == ["flanged", "bellmouth", "tapered"]
    assert styles(style="flanged") == ["bellmouth", "tapered"]
    assert (
        styles(style="tapered")
        == styles()
        == styles(style="plain", inlet="10 in2")
        == styles(style="plain", k="1")
        == []
    )


def test_switched_off_ports_are_left_alone() -> None:
    found = two_machines()
    off = changed(found, [next(c for c in offered(found, "faster blower")).change])
    assert {one.run for one in offered(off, "bigger port")} == {"trunk", "drop"}
    rows = [run("main", port("saw", "4 in"), pipe("5 ft"), wye("drop", "5 in"), pipe("9 ft"), end())]
    silent = shop(*rows, run("drop", port("a", "4 in", flow="off"), gate(), pipe("4 ft")))
    assert {one.run for one in offered(silent, "bigger port", "second port")} == {"main"}


def test_filter_and_outdoors_are_offered_only_with_a_filter() -> None:
    table = [*points(*STRONG), rated("filter clean", "800 cfm", "1 inwg"), rated("filter loaded", "800 cfm", "3 inwg")]
    rows = run("hose", port("saw", "4 in"), pipe("9 ft"), end())
    assert {"clean filter", "outdoors"} <= kinds(shop(rows, table=table))
    assert not {"clean filter", "outdoors", "no outlet duct"} & kinds(shop(rows, table=BARE))
    assert "outdoors" not in kinds(shop(rows, table=table, room={"exhaust": "outdoors"}))
    outdoors = next(one for one in offered(shop(rows, table=table), "outdoors"))
    then = changed(shop(rows, table=table), [outdoors.change])
    collector = build_model(then).collector
    assert collector is not None and collector.filter_loaded is None and then.settings.room.exhaust == "outdoors"


def test_blown_outdoors_without_a_filter_an_assumed_cyclone_stays_and_none_is_added() -> None:
    rows = run("hose", port("saw", "4 in"), pipe("9 ft"), end())
    for table in ([*points(*STRONG)], [*points(*STRONG), rated("filter clean", "800 cfm", "1 inwg")]):
        made = shop(rows, table=table)
        outdoors = next(one for one in offered(made, "outdoors"))
        before, then = build_model(made).collector, build_model(changed(made, [outdoors.change])).collector
        assert before is not None and then is not None and then.filter_loaded is None
        flows, loaded = np.array([0.1, 0.4]), np.array([True, True])
        assert np.array_equal(Offer(then).bill(flows, loaded).cyclone, Offer(before).bill(flows, loaded).cyclone)


def test_an_outlet_duct_may_be_taken_off() -> None:
    table = [*points(*STRONG), *NO_PARTS[:1], rated("filter clean", "800 cfm", "1 inwg")]
    rows = run("hose", port("saw", "4 in"), pipe("9 ft"), end())
    outlet = run("out", {"piece": "collector", "size": "6 in"}, pipe("12 ft"))
    basis = {"curve": "fan total", "outlet_size": "6 in"}
    found = shop(rows, outlet, table=table, collector=basis, room={"exhaust": "outdoors"})
    one = offered(found, "no outlet duct")[0]
    then = changed(found, [one.change])
    assert [r.name for r in then.runs] == ["hose"] and then.settings.room.exhaust == "indoors"
    assert ductcalc.check(then).loaded[0].machines[0].flow_m3_s > ductcalc.check(found).loaded[0].machines[0].flow_m3_s


def test_a_faster_blower_follows_the_fan_laws() -> None:
    table = [{**row, "power": "2 hp"} for row in points(*STRONG)]
    found = shop(run("hose", port("saw", "4 in"), pipe("9 ft"), end()), table=[*table, *NO_PARTS])
    then = changed(found, [offered(found, "faster blower")[0].change])
    for before, after_ in zip(found.collectors[0].blower, then.collectors[0].blower, strict=True):
        assert after_.flow_m3_s == pytest.approx(1.1 * before.flow_m3_s)
        assert after_.pressure_pa == pytest.approx(1.21 * before.pressure_pa)
        assert after_.power_w == pytest.approx(1.331 * (before.power_w or 0.0))


def test_a_copied_run_changes_alone() -> None:
    found = ductcalc.read_shop("examples/joinery-class")
    one = next(c for c in offered(found, "shorter hose") if c.run == "Bank 2")
    then = changed(found, [one.change])
    lengths = {name: pieces(then, name)[1].length_m for name in ("Bank 2", "Bank 3", "Bank 11")}
    assert lengths == {"Bank 2": 1.0, "Bank 3": 1.2, "Bank 11": 1.2}


@pytest.mark.parametrize("name", ["creamery", "joinery-class", "one-machine"])
def test_spelling_a_shop_out_changes_no_figure(name: str) -> None:
    found = ductcalc.read_shop(f"examples/{name}")
    before, then = ductcalc.check(found), ductcalc.check(spelled_out(found))
    for one, two in zip(before.cases, then.cases, strict=True):
        assert [m.flow_m3_s for m in one.machines] == [m.flow_m3_s for m in two.machines]


def test_changes_of_one_run_go_together_whatever_rows_they_put_in() -> None:
    found = straight(port("saw", "4 in"), hose("5 ft", 1), elbow(), hose("6 ft", 2), elbow(), pipe("9 ft"))
    group = [*offered(found, "pipe for hose"), *offered(found, "second port", "easier elbows")]
    ends = with_all(spelled_out(found), group)
    one_by_one = changed(found, [one.change for one in in_order(group)])
    assert pieces(ends) == pieces(one_by_one)
    kept = [(piece.kind, piece.count, piece.radius) for piece in pieces(ends)]
    assert kept == [
        ("port", None, None), ("wye", None, None), ("pipe", None, None), ("elbow", 1, None), ("elbow", None, 2.5),
        ("pipe", None, None), ("elbow", 2, None), ("elbow", None, 2.5), ("pipe", None, None), ("collector", None, None),
    ]  # fmt: skip


def test_a_new_gate_stands_behind_the_hose_of_its_port_in_its_bore_and_row() -> None:
    found = shop(run("a", port("saw", "4 in"), hose("3 ft", size="5 in"), pipe("6 ft", "6 in"), end()))
    after = new_gate("a").apply(found).runs[0].pieces
    assert [piece.kind for piece in after] == ["port", "flex", "gate", "pipe", "collector"]
    assert after[2].size_m == pytest.approx(5.0 * INCH)
    assert after[2].place is not None and after[2].place.row == 2
