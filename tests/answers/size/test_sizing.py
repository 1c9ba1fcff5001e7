"""What a sizing must do, on shops that a reader can follow."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.size.cost import _weight
from ductcalc.answers.size.search import EARNED
from ductcalc.answers.size.sizing import Beside, SizedStretch, Sizing, exit_code
from ductcalc.answers.size.stretches import Stretch, plan_of
from ductcalc.catalog import sizes_for
from ductcalc.catalog.pipe import pipe_weight
from ductcalc.errors import InputError
from ductcalc.model.model import build_model
from ductcalc.report.display import Display
from ductcalc.report.size.data import size_document
from ductcalc.report.size.words import collision_words, rather, why, why_changed
from ductcalc.shop import Shop
from tests.answers.size.test_exhaustive import search_of
from tests.scenes import (
    EXAMPLES,
    NO_PARTS,
    SHOPS,
    cap,
    elbow,
    end,
    gate,
    hose,
    pipe,
    points,
    port,
    reducer,
    run,
    shop,
    tight,
    wye,
)

INCH, CFM, POUND = 0.0254, 0.3048**3 / 60.0, 0.45359237


def lone(flow: str = "500 cfm", size: str = "6 in", early: bool = False, **settings: Any) -> Shop:
    """One machine on 30 ft of pipe; without leaks. The blower offers 3 inwg at 500 cfm and nothing at 600.

    early: its points end at 50 cfm, where no size of pipe holds the air back.
    """
    blower = points(("0 cfm", "10 inwg"), ("500 cfm", "3 inwg"), ("600 cfm", "0 inwg"))
    blower = points(("0 cfm", "10 inwg"), ("50 cfm", "9.3 inwg")) if early else blower
    rows = run("line", port("planer", "4 in", flow=flow, k=1.0), pipe("30 ft", size), end("5 in"))
    return tight(rows, table=[*blower, *NO_PARTS], **settings)


def pair(main: str = "6 in", drop: str = "4 in", **settings: Any) -> Shop:
    """A saw and a sander, 4 in ports both, on a main."""
    return shop(
        run("main", port("saw", "4 in", flow="400 cfm", k=1.0), hose("3 ft", 0, "4 in"), gate("4 in"),
            pipe("6 ft", "4 in"), wye("drop", main), pipe("12 ft", main), end("6 in")),
        run("drop", port("sander", "4 in", flow="350 cfm", k=1.0), hose("3 ft", 0, drop), gate(drop),
            pipe("6 ft", drop)),
        **settings,
    )  # fmt: skip


def stretch(answer: Sizing, name: str) -> SizedStretch:
    return next(one for one in answer.stretches if one.stretch == name)


def planned(name: str) -> Stretch:
    """Return a stretch of the joinery class as it is planned, before anything is tried."""
    plan = plan_of(build_model(ductcalc.read_shop(EXAMPLES / "joinery-class")))
    return next(one for one in plan.stretches if one.name == name)


class TestByHand:
    """30 ft behind a 4 in port of K 1, 500 cfm wanted, 3 inwg there.

    500 cfm run at 5730 fpm in 4 in: VP (5730/4005)^2 = 2.05, the port takes 2.05 and the pipe 90 bores at f 0.019,
    1.7 VP = 3.5 inwg, more than the 3 there are: short. In 6 in even 600 cfm run at only 3056 fpm, below the 3500 fpm
    that chips need. Between them is 5 in, one more than the port.
    """

    def test_six_inch_lets_chips_settle_and_five_is_taken(self) -> None:
        answer = ductcalc.size(lone())
        assert stretch(answer, "line 1").chosen_m == pytest.approx((5 * INCH,))
        assert not answer.fine_now and answer.cost_then is not None and answer.cost_now is not None
        assert answer.cost_then < answer.cost_now

    def test_the_sheet_is_weighed_by_the_foot(self) -> None:
        answer = ductcalc.size(lone())
        assert answer.cost_kind == "weight"
        assert answer.cost_then == pytest.approx(30 * (1.1 + 1.6) / 2 * POUND)

    def test_the_next_sizes_are_told_with_what_they_would_do(self) -> None:
        line = stretch(ductcalc.size(lone()), "line 1")
        assert line.down is not None and line.down.size_m == pytest.approx(4 * INCH)
        assert (line.down.kind, line.down.added_cost is not None and line.down.added_cost < 0.0) == ("short", True)

    def test_a_drop_is_at_most_one_more_than_its_port(self) -> None:
        line = stretch(ductcalc.size(lone(size="4 in")), "line 1")
        assert line.sizes_m == pytest.approx((4 * INCH, 5 * INCH))

    def test_a_curve_that_ends_too_soon_has_no_answer(self) -> None:
        assert exit_code(ductcalc.size(lone(early=True))) == 3


class TestRulesOfTheTrade:
    def test_a_drop_under_its_port_is_widened_and_told(self) -> None:
        answer = ductcalc.size(pair(drop="3 in"))
        assert any("drop is under its port" in said for said in answer.breaks)
        assert answer.why_not is None and stretch(answer, "drop 1").chosen_m == pytest.approx((4 * INCH,))

    def test_written_reducers_follow_the_sizes_around_them(self) -> None:
        rows = run("line", port("planer", "4 in", flow="500 cfm", k=1.0), reducer("6 in"), pipe("30 ft"),
                   reducer("5 in"), end("5 in"))  # fmt: skip
        blower = points(("0 cfm", "10 inwg"), ("500 cfm", "3 inwg"), ("600 cfm", "0 inwg"))
        answer = ductcalc.size(tight(rows, table=[*blower, *NO_PARTS]))
        pieces = answer.sized.runs[0].pieces
        assert [piece.kind for piece in pieces] == ["port", "reducer", "pipe", "reducer", "collector"]
        assert [piece.size_m for piece in pieces] == pytest.approx([4 * INCH, *[5 * INCH] * 4])

    def test_a_wide_main_for_one_machine_at_a_time_is_narrowed_as_a_whole(self) -> None:
        answer = ductcalc.size(pair(main="9 in"))
        assert answer.found and not answer.fine_now
        assert stretch(answer, "main 2").chosen_m[0] < 7 * INCH

    def test_sizes_that_hang_already_count_as_sold(self) -> None:
        assert any(
            size == pytest.approx(5.5 * INCH) for size in stretch(ductcalc.size(pair("5.5 in")), "main 2").sizes_m
        )

    def test_a_size_hardly_another_than_one_that_hangs_is_not_brought_in(self) -> None:
        sizes = {round(1000.0 * size) for size in planned("Hauptrohr 4").sizes_m}
        assert {140, 160, 180, 200} <= sizes and 150 not in sizes

    @pytest.mark.parametrize(("gained", "stays"), [(0.02, True), (0.04, False)])
    def test_a_limit_that_is_crossed_by_less_than_a_calculation_can_tell_is_no_reason_to_change(
        self, gained: float, stays: bool
    ) -> None:
        search = search_of(pair())
        fails, (first, others) = search.written, (float(group[0]) for group in (search.first, ~search.first))
        share = np.full(len(fails.may_run), 0.99)
        fails = replace(fails, may_run=np.arange(len(share)) > 0, share=share, key=(0.0, first, others, *[0.0] * 5))
        runs = replace(fails, may_run=share > 0.0, share=share * (1.0 + gained), key=(0.0,) * 8)
        assert runs.brings < fails.brings
        assert search.as_good(fails, runs) is stays
        assert not search.as_good(replace(fails, cost=runs.cost + 1.01 * EARNED * search.written.cost), runs)

    def test_a_run_to_keep_keeps_its_size(self) -> None:
        answer = ductcalc.size(pair(main="9 in"), keep=["Main"])
        assert stretch(answer, "main 2").held == "kept as asked"
        assert stretch(answer, "main 2").chosen_m == pytest.approx((9 * INCH,))

    def test_an_unknown_run_to_keep_is_an_error_with_the_nearest_name(self) -> None:
        with pytest.raises(InputError, match="no run is named"):
            ductcalc.size(pair(), keep=["mein"])

    def test_copies_follow_the_run_that_they_copy(self) -> None:
        assert len(planned("Bank 2 1").sections) == 1 + 10
        answer = ductcalc.size(
            shop(
                run("main", port("saw", "4 in"), wye("one + two", "6 in", angle="30 + 30"), pipe("9 ft"), end()),
                run("one", port("lathe", "4 in"), gate(), pipe("6 ft")),
                [{"run": "two", "piece": "like", "joins": "one", "machine": "mill"}],
            )
        )
        assert stretch(answer, "one 1").copies == 1

    def test_a_stretch_that_no_set_uses_stays_as_written(self) -> None:
        answer = ductcalc.size(pair(gates={"sets": {"sawing": ["saw"]}}, main="9 in"), sets_only=True)
        assert stretch(answer, "drop 1").held == "no set uses it" and not stretch(answer, "drop 1").changes

    def test_a_capped_stub_of_the_main_follows_the_main(self) -> None:
        rows = run("main", cap("6 in"), pipe("2 ft", "6 in"), wye("drop", "6 in"), pipe("20 ft", "6 in"), end("6 in"))
        drop = run("drop", port("saw", "4 in", flow="400 cfm", k=1.0), gate("4 in"), pipe("6 ft", "4 in"))
        answer = ductcalc.size(shop(rows, drop))
        bores = [piece.size_m for piece in answer.sized.runs[0].pieces if piece.kind in ("cap", "pipe")]
        assert len(bores) == 3
        assert bores == [stretch(answer, "main 2").chosen_m[0]] * 3
        assert bores[0] < 6 * INCH


class TestWhatHangsAlready:
    def test_every_change_is_one_that_taking_back_would_lose_a_set_for(self) -> None:
        changed = [one for one in ductcalc.size(ductcalc.read_shop(EXAMPLES / "creamery")).stretches if one.changes]
        assert changed
        kept = [one.kept for one in changed if one.kept is not None]
        assert len(kept) == len(changed)
        assert all(one.lost is not None or one.kind == "too fast" for one in kept)

    def test_the_size_as_written_stands_beside_the_chosen_one(self) -> None:
        one = next(s for s in ductcalc.size(ductcalc.read_shop(EXAMPLES / "creamery")).stretches if s.changes)
        assert one.kept is not None
        assert one.kept.size_m == pytest.approx(one.now_m[0])


def test_a_main_is_too_fast_by_the_air_behind_the_wye_and_not_by_that_of_its_capped_end() -> None:
    """450 cfm are 11.7 m/s in 6 in, and 26.2 m/s in 4 in."""
    rows = run("main", cap("6 in"), pipe("2 ft", "6 in"), wye("drop", "6 in"), pipe("20 ft", "6 in"), end("6 in"))
    drop = run("drop", port("saw", "4 in", flow="450 cfm", k=1.0), pipe("6 ft", "4 in"))
    search = search_of(shop(rows, drop))
    counted = [search.too_fast((size * INCH, 4 * INCH), np.array([False])) for size in (6, 4)]
    assert counted == [0, 1]


class TestSizesSold:
    def test_hose_and_pipe_in_one_stretch_are_sold_in_both_sizes(self) -> None:
        found = pair()
        pieces = found.runs[0].pieces[:4]
        assert max(sizes_for(found, pieces)) == pytest.approx(6 * INCH)
        assert max(sizes_for(found)) == pytest.approx(12 * INCH)

    def test_metric_makes_are_complete(self) -> None:
        metric = shop(run("line", port("saw", "100 mm"), pipe("3 m"), end()), report={"units": "metric"})
        assert {100, 120, 125, 140, 150, 160, 180, 200} <= {round(1000.0 * size) for size in sizes_for(metric)}

    def test_own_sizes_replace_the_list(self) -> None:
        own = pair(size={"sizes": ["4 in", "7 in"]})
        assert sizes_for(own) == pytest.approx((4 * INCH, 7 * INCH))


class TestWanted:
    def test_named_sets_come_first_then_machines_alone(self) -> None:
        both = pair(main="9 in", gates={"sets": {"both": ["saw", "sander"]}})
        assert ductcalc.size(both).wish == "sets first"
        assert [case.name for case in ductcalc.size(both).then] == ["saw", "sander", "both"]
        assert [case.name for case in ductcalc.size(both, sets_only=True).then] == ["both"]
        assert ductcalc.size(both, also_alone=True).wish == "alike"

    def test_sets_only_without_a_set_is_an_error(self) -> None:
        with pytest.raises(InputError, match="no set is named"):
            ductcalc.size(pair(), sets_only=True)

    def test_where_wishes_collide_the_set_that_would_lose_is_named(self) -> None:
        """The saw alone moves its chips in 4 in only; both together want a main of 6 in."""
        curve = points(("0 cfm", "6 inwg"), ("500 cfm", "5 inwg"), ("800 cfm", "3 inwg"), ("1000 cfm", "0 inwg"))
        weak = [*curve, *NO_PARTS]
        answer = ductcalc.size(pair(main="4 in", gates={"sets": {"both": ["saw", "sander"]}}, table=weak))
        lacking = {case.name for case in answer.then if not case.may_run}
        assert lacking and {one.now.name for one in answer.collisions} == lacking
        for one in answer.collisions:
            assert one.loser is None or (one.then.may_run and one.loser.name != one.now.name)

    def test_a_shop_without_a_collector_is_an_error(self) -> None:
        with pytest.raises(InputError, match="collector"):
            ductcalc.size(shop(run("line", port("saw", "4 in"), pipe("9 ft"), end()), table=()))


class TestTold:
    def test_a_size_up_and_down_as_a_whole_stand_beside_it(self) -> None:
        answer = ductcalc.size(pair(main="9 in"))
        assert answer.up is not None and answer.up.cost is not None and answer.cost_then is not None
        assert answer.up.cost > answer.cost_then
        assert answer.down is None or (answer.down.cost or 0.0) < answer.cost_then
        assert all(case.audit is not None for case in (*answer.then, *answer.up.cases) if case.solved)

    def test_sizing_what_was_sized_gains_nothing(self) -> None:
        first = ductcalc.size(pair(main="9 in"))
        again = ductcalc.size(first.sized)
        assert again.why_not == "nothing gained" and not any(one.changes for one in again.stretches)

    def test_the_same_shop_gives_the_same_sizes_every_time(self) -> None:
        one, two = (size_document(ductcalc.size(pair(main="9 in")), Display("inch")) for _ in range(2))
        assert one == two

    def test_frame_has_a_row_for_each_stretch(self) -> None:
        frame = ductcalc.size(pair()).frame()
        assert set(frame["stretch"]) == {"main 1", "main 2", "drop 1"} and len(frame) == 3


class TestPrices:
    PRICES = (
        {"piece": "pipe", "size": "4 in", "length": "10 ft", "price": 40.0},
        {"piece": "pipe", "size": "5 in", "length": "10 ft", "price": 20.0},
        {"piece": "pipe", "size": "6 in", "length": "10 ft", "price": 60.0},
    )

    def test_what_is_chosen_is_told_in_money_when_prices_are_given(self) -> None:
        answer = ductcalc.size(lone(parts={"prices": list(self.PRICES)}))
        assert answer.cost_kind == "money" and stretch(answer, "line 1").chosen_m == pytest.approx((5 * INCH,))
        assert (answer.cost_now, answer.cost_then) == pytest.approx((180.0, 60.0))

    def test_a_size_without_a_price_is_not_taken(self) -> None:
        answer = ductcalc.size(lone(parts={"prices": [self.PRICES[0], self.PRICES[2]]}))
        assert stretch(answer, "line 1").chosen_m != pytest.approx((5 * INCH,))

    def test_prices_of_other_things_only_leave_the_weight_to_decide(self) -> None:
        answer = ductcalc.size(lone(parts={"prices": [{"piece": "gate", "size": "4 in", "price": 9.0}]}))
        assert answer.cost_kind == "weight" and any("weight of sheet" in said for said in answer.remarks)


def test_a_reducer_that_the_sizes_make_idle_is_told_to_go_and_warned_of_no_more() -> None:
    """A small machine alone on a wide main: the main shrinks to its drop, and the taper between them with it."""
    rows = run("main", port("saw", "4 in", flow="400 cfm", k=1.0), pipe("6 ft", "4 in"), reducer("7 in"),
               pipe("20 ft", "7 in"), end("4 in"))  # fmt: skip
    found = ductcalc.size(tight(rows))
    taper = next(number for number, row in enumerate(rows, start=1) if row["piece"] == "reducer")
    assert found.sized.runs[0].pieces[2].size_m == pytest.approx(4.0 * INCH)
    assert found.idle_reducers == (taper,)
    assert all(one.rule != "reducer to itself" for one in found.findings.all)
    assert size_document(found, Display("inch"))["idle_reducer_rows"] == [taper]


@cache
def cellar() -> Sizing:
    return ductcalc.size(ductcalc.read_shop(SHOPS / "cellar"))


def test_a_size_down_that_lets_more_sets_run_names_the_set_that_it_would_cost() -> None:
    answer = cellar()
    assert answer.down is not None and answer.down.may_run > sum(case.may_run for case in answer.then)
    worse = answer.down.worse
    assert worse is not None and not worse.may_run and answer.down.kind == worse.chips == "settles"
    assert next(case for case in answer.now if case.name == worse.name).may_run
    said = next(rather(answer, Display("inch"))).replace("\u00a0", " ")
    assert "3 of 5 sets" in said and worse.name in said


def test_what_stands_against_a_set_names_the_stretch_that_would_have_to_change() -> None:
    stretches = {stretch.title: stretch for stretch in cellar().stretches}
    against = [one for one in cellar().collisions if one.loser is not None]
    assert against
    for one in against:
        title, size_m = one.sizes[0]
        assert size_m in stretches[title].sizes_m and size_m not in stretches[title].chosen_m
        assert title in collision_words(one, Display("inch")).replace("\u00a0", " ")


def test_a_stretch_of_two_sizes_stands_in_the_frame_with_its_widest_one() -> None:
    rows = run("line", port("planer", "4 in", flow="500 cfm", k=1.0), pipe("10 ft", "6 in"), reducer("5 in"),
               pipe("20 ft", "5 in"), end("5 in"))  # fmt: skip
    frame = ductcalc.size(tight(rows)).frame()
    assert frame["now_m"].tolist() == pytest.approx([6 * INCH])
    kept = ductcalc.size(tight(rows), keep=["line"]).frame()
    assert kept["chosen_m"].tolist() == pytest.approx([6 * INCH])


def test_elbows_weigh_their_middle_line_in_pipe() -> None:
    """Two elbows of 90 degrees and R/D 2 in 5 in pipe: twice a quarter of a circle of 10 in."""
    elbows = shop(run("line", port("planer", "5 in", k=1), {**elbow("5 in"), "count": "2", "radius": "2"}, end("5 in")))
    model = build_model(elbows)
    hung = next(one for one in model.hanging.sections[0].pieces if one.piece.kind == "elbow")
    assert _weight(hung) == pytest.approx(2 * 10 * INCH * math.pi / 2 * pipe_weight(5 * INCH))


@pytest.mark.parametrize(("added_kg", "said"), [(-0.02, "no better"), (-1.0, "saves 2.2 lb, not worth a change"),
                                                (1.0, "no better, costs 2.2 lb more")])  # fmt: skip
def test_a_size_that_costs_the_same_saves_nothing(added_kg: float, said: str) -> None:
    answer = cellar()
    one = replace(answer.stretches[0], down=Beside(5.0 * INCH, added_kg, 0, "no worse", None), up=None)
    assert why(answer, one, Display("inch")).replace("\u00a0", " ") == f"5 in: {said}"


def test_a_change_is_not_explained_by_what_it_would_save_not_to_make_it() -> None:
    answer = cellar()
    one = replace(answer.stretches[0], kept=Beside(5.0 * INCH, -1.0, 0, "no worse", None))
    assert "saves" not in why_changed(answer, one, Display("inch"))
