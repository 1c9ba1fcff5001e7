"""What a sizing must do, on shops that a reader can follow."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.size.bound import Power, bound_of, cheaper, most_power, power_of
from ductcalc.answers.size.cost import costs_of
from ductcalc.answers.size.proof import every_sizing
from ductcalc.answers.size.search import Search, best_found
from ductcalc.answers.size.sizing import exit_code
from ductcalc.answers.size.stretches import plan_of, sizes_for
from ductcalc.answers.size.trials import Trials
from ductcalc.cases.choices import every_machine_alone, named_sets
from ductcalc.cases.variants import outcomes
from ductcalc.errors import InputError
from ductcalc.model.model import build_model
from ductcalc.report.display import Display
from ductcalc.report.size_json import size_document
from ductcalc.report.size_words import drop_verdict
from ductcalc.shop import Shop
from tests.answers.size.shops import SIZES, random_small
from tests.scenes import NO_PARTS, cap, end, gate, hose, pipe, points, port, reducer, run, shop, tight, wye

INCH, CFM, POUND = 0.0254, 0.3048**3 / 60.0, 0.45359237


def lone(flow: str = "500 cfm", early: bool = False, **settings: Any) -> Shop:
    """One machine on 30 ft of pipe; without leaks. The blower offers 3 inwg at 500 cfm and nothing at 600.

    early: its points end at 50 cfm, where no size of pipe holds the air back.
    """
    blower = points(("0 cfm", "10 inwg"), ("500 cfm", "3 inwg"), ("600 cfm", "0 inwg"))
    blower = points(("0 cfm", "10 inwg"), ("50 cfm", "9.3 inwg")) if early else blower
    table = [*blower, *NO_PARTS]
    rows = run("line", port("planer", "5 in", flow=flow, k=1.0), pipe("30 ft", "5 in"), end("5 in"))
    return tight(rows, table=table, **settings)


class TestByHand:
    """30 ft behind a 5 in port of K 1, 500 cfm wanted, 3 inwg there.

    500 cfm run at 3667 fpm in 5 in: VP (3667/4005)^2 = 0.84 inwg, the port takes 0.84, the pipe 30 x 12 / 5 = 72 bores
    at f 0.019, 1.37 VP = 1.15 inwg: 2.0 inwg, served. In 4 in they run at 5730 fpm: VP 2.05, 90 bores at f 0.019 are
    1.7 VP = 3.5 inwg, more than the 3 there are: short. In 6 in they run at 2546 fpm, and even the 600 cfm at which the
    blower's pressure ends at only 3056 fpm: below the 3500 fpm that chips need.
    """

    def test_five_inch_is_taken(self) -> None:
        answer = ductcalc.size(lone())
        (line,) = answer.stretches
        assert answer.found and answer.proven
        assert line.chosen_m == pytest.approx((5 * INCH,))

    def test_four_inch_would_leave_the_planer_short_and_six_would_let_chips_settle(self) -> None:
        (line,) = ductcalc.size(lone()).stretches
        assert line.down is not None and line.up is not None
        assert (line.down.worst.kind, line.down.worst.machine) == ("short", "planer")
        assert line.down.size_m == pytest.approx(4 * INCH)
        assert line.down.worst.flow_m3_s < line.down.worst.wanted_m3_s == pytest.approx(500 * CFM)
        assert (line.up.worst.kind, line.up.worst.section) == ("settles", "line 1")
        assert line.up.worst.velocity_m_s < 3056 * 0.00508
        assert line.up.worst.settling_velocity_m_s == pytest.approx(3500 * 0.00508, rel=1e-3)

    def test_the_speed_told_as_needed_is_the_full_one_of_a_check(self) -> None:
        (line,) = ductcalc.size(lone()).stretches
        (case,) = ductcalc.check(lone()).loaded
        assert line.up is not None
        assert line.up.worst.needed_m_s == pytest.approx(case.sections[0].needed_velocity_m_s)
        assert line.up.worst.settling_velocity_m_s == pytest.approx(case.sections[0].settling_velocity_m_s)
        assert line.up.worst.settling_velocity_m_s < line.up.worst.needed_m_s

    def test_the_sheet_is_weighed_by_the_foot(self) -> None:
        answer = ductcalc.size(lone())
        assert answer.cost_kind == "weight"
        assert answer.cost_then == pytest.approx(30 * (1.1 + 1.6) / 2 * POUND)

    def test_a_wish_that_no_size_can_fill_must_give(self) -> None:
        answer = ductcalc.size(lone("590 cfm"))
        assert not answer.found and answer.impossible and answer.proven
        assert exit_code(answer) == 1
        (one,) = answer.giving
        assert one.most and not one.fine and not one.has_air
        assert one.air.wanted_m3_s == pytest.approx(590 * CFM)
        flows = [max(c.machine("planer").flow_m3_s for c in ductcalc.check(at(size)).loaded) for size in range(3, 13)]
        assert one.air.flow_m3_s == pytest.approx(max(flows), rel=1e-9)


def at(size: int) -> Shop:
    """The lone machine's pipe at another size [in]."""
    found = lone("590 cfm")
    (line,) = found.runs
    pieces = tuple(replace(p, size_m=size * INCH) if p.kind == "pipe" else p for p in line.pieces)
    return replace(found, runs=(replace(line, pieces=pieces),))


def pair(**settings: Any) -> Shop:
    """Two machines on one main."""
    main = [port("saw", "4 in", flow="360 cfm", k=1.0), hose("3 ft"), gate(), pipe("12 ft")]
    main += [wye("drop", "6 in"), pipe("20 ft"), end("6 in")]
    drop = [port("sander", "4 in", flow="360 cfm", k=1.0), gate(), pipe("8 ft")]
    return shop(run("main", *main), run("drop", *drop), **settings)


HUNGRY_SAW = {"open": ["saw", "sander"], "flow": {"saw": "700 cfm"}}


def weak() -> list[Any]:
    """Return a blower that cannot serve two machines."""
    return [*points(("0 cfm", "5 inwg"), ("400 cfm", "3 inwg"), ("650 cfm", "0 inwg")), *NO_PARTS]


class TestSizesSold:
    def test_hose_and_pipe_in_one_stretch_are_sold_in_both_sizes(self) -> None:
        plan = plan_of(pair())
        sizes = {s.name: [round(m / INCH, 1) for m in s.sizes_m] for s in plan.stretches}
        assert sizes["main 1"] == [3, 4, 5, 6]
        assert sizes["drop 1"] == [3, 4, 5, 6, 7, 8, 9, 10, 12]

    def test_a_make_without_metric_sizes_comes_in_those_of_the_default_make(self) -> None:
        sizes = sizes_for(pair(report={"units": "metric"}), plan_of(pair()).hanging.sections[0].pieces)
        assert [round(1000 * m) for m in sizes] == [80, 100, 125, 150, 160, 180, 200, 250, 300]

    def test_own_sizes_replace_the_list(self) -> None:
        answer = ductcalc.size(pair(size={"sizes": ["4 in", "110 mm", "5 in"]}))
        assert {size for s in answer.stretches for size in s.sizes_m} == {4 * INCH, 0.11, 5 * INCH}

    def test_wrong_sizes_are_told_with_their_place(self) -> None:
        with pytest.raises(InputError) as caught:
            pair(size={"sizes": ["4", "5 in"], "colour": 1})
        said = str(caught.value)
        assert 'size.sizes: "4" has no unit' in said and "size.colour: no key" in said and "2 problems" in said
        with pytest.raises(InputError, match="not a list of sizes"):
            pair(size={"sizes": 4})


class TestWhatStays:
    def test_a_run_to_keep_keeps_its_size(self) -> None:
        free, kept = ductcalc.size(pair()), ductcalc.size(pair(), keep=["DROP"])
        held = {s.stretch: s.held for s in kept.stretches}
        assert held == {"main 1": None, "main 2": None, "drop 1": "kept as asked"}
        assert kept.cost_then >= free.cost_then
        before, after = (next(r for r in one.runs if r.name == "drop") for one in (pair(), kept.sized))
        assert [p.kind for p in before.pieces] == [p.kind for p in after.pieces]
        assert {p.size_m for p in after.pieces} == {4 * INCH}

    def test_an_unknown_run_to_keep_is_an_error_with_the_nearest_name(self) -> None:
        with pytest.raises(InputError, match="did you mean drop"):
            ductcalc.size(pair(), keep=["dropp"])

    def test_ports_reducers_and_the_collector_keep_theirs(self) -> None:
        rows = [port("saw", "4 in", flow="360 cfm", k=1.0), pipe("9 ft"), reducer("5 in"), pipe("9 ft"), end()]
        answer = ductcalc.size(shop(run("line", *rows)))
        (line,) = answer.sized.runs
        sizes = {p.kind: p.size_m for p in line.pieces if p.kind != "pipe"}
        assert sizes == pytest.approx({"port": 4 * INCH, "reducer": 5 * INCH, "collector": 5 * INCH})
        assert {p.size_m for p in line.pieces if p.kind == "pipe"} == set(answer.stretches[0].chosen_m)

    def test_a_stretch_that_no_set_uses_stays_as_written(self) -> None:
        capped = run("far", cap("5 in"), pipe("6 ft"))
        main = [port("saw", "4 in", flow="360 cfm", k=1.0), pipe("9 ft"), wye("far", "5 in"), pipe("9 ft"), end()]
        answer = ductcalc.size(shop(run("main", *main), capped))
        assert [s.stretch for s in answer.stretches if s.held == "no set uses it"] == ["far 1"]

    def test_copies_follow_the_run_that_they_copy(self) -> None:
        main = [port("one", "4 in", flow="360 cfm", k=1.0), pipe("9 ft"), wye("a + b", "6 in"), pipe("9 ft"), end()]
        a = run("a", port("two", "4 in", flow="360 cfm", k=1.0), gate(), pipe("30 ft"))
        b = run("b", {"piece": "like", "joins": "a", "machine": "three", "flow": "360 cfm"})
        answer = ductcalc.size(shop(run("main", *main), a, b))
        mine = next(s for s in answer.stretches if s.run == "a")
        assert mine.copies == 1 and len(answer.stretches) == 3
        model = build_model(answer.sized)
        ends = {s.run: s.end_bore_m for s in model.sections if s.run in "ab"}
        assert ends["a"] == ends["b"] == mine.chosen_m[0]

    def test_blank_sizes_downstream_do_not_move_with_a_changed_stretch(self) -> None:
        rows = [port("saw", "4 in", flow="360 cfm", k=1.0), pipe("9 ft"), wye("cap"), pipe("9 ft"), end()]
        plan = plan_of(shop(run("line", *rows)))
        moved = build_model(plan.with_sizes([3, int(plan.nearest()[1])]))
        assert [s.start_bore_m for s in moved.sections][1] == pytest.approx(4 * INCH)


class TestPrices:
    def priced(self, four: float, five: float) -> Shop:
        prices = [
            {"piece": "pipe", "size": "4 in", "length": "10 ft", "price": four},
            {"piece": "pipe", "size": "5 in", "length": "10 ft", "price": five},
        ]
        rows = run("line", port("saw", "4 in", flow="400 cfm", k=1.0), pipe("30 ft", "5 in"), end("5 in"))
        return tight(rows, parts={"prices": prices})

    def test_money_decides_when_prices_are_given(self) -> None:
        cheap_four, cheap_five = ductcalc.size(self.priced(10.0, 20.0)), ductcalc.size(self.priced(20.0, 10.0))
        assert cheap_four.cost_kind == cheap_five.cost_kind == "money"
        assert cheap_four.stretches[0].chosen_m == pytest.approx((4 * INCH,))
        assert cheap_five.stretches[0].chosen_m == pytest.approx((5 * INCH,))
        assert (cheap_four.cost_then, cheap_five.cost_then) == pytest.approx((30.0, 30.0))
        assert cheap_five.cost_now == pytest.approx(30.0)

    def test_sizes_without_a_price_are_left_out_and_told(self) -> None:
        answer = ductcalc.size(self.priced(10.0, 20.0))
        assert [round(size / INCH) for size in answer.stretches[0].sizes_m] == [4, 5]
        assert any("without a price" in remark for remark in answer.remarks)

    def test_a_size_as_written_without_a_price_is_not_told_as_unpriced_pipe(self) -> None:
        prices = [{"piece": "pipe", "size": "4 in", "price": 10.0}, {"piece": "pipe", "size": "3 in", "price": 8.0}]
        rows = run("line", port("saw", "4 in", flow="400 cfm", k=1.0), pipe("30 ft", "5 in"), end("5 in"))
        answer = ductcalc.size(tight(rows, parts={"prices": prices}))
        assert answer.cost_now is None and "pipe" not in answer.unpriced
        assert "reducer" in answer.unpriced and answer.cost_then == pytest.approx(30.0)

    def test_every_sizing_costs_what_its_parts_cost(self) -> None:
        prices: list[dict[str, object]] = [
            {"piece": "pipe", "size": f"{size} in", "length": "10 ft", "price": 7.0 * size} for size in (4, 5, 6)
        ]
        prices += [{"piece": "flex", "size": f"{size} in", "price": 3.0 * size} for size in (4, 5, 6)]
        prices += [{"piece": "gate", "size": f"{size} in", "price": 2.0 * size} for size in (4, 5, 6)]
        prices += [{"piece": "reducer", "price": 4.0}, {"piece": "wye", "price": 20.0}]
        prices += [{"piece": "wye", "size": "6 in x 5 in x 4 in", "price": 90.0}]
        found = pair(parts={"prices": prices}, size={"sizes": ["4 in", "5 in", "6 in"]})
        plan, costs, _ = costs_of(found, plan_of(found))
        for places in every_sizing(plan.ways)[::2]:
            sized = plan.with_sizes(places)
            bought = ductcalc.parts(sized).items
            fittings = sum(item.cost or 0.0 for item in bought if item.name.kind in ("gate", "reducer", "wye"))
            straights = 0.0
            for item in bought:
                inches = round(item.name.sizes_m[0] / INCH) if item.name.sizes_m else 0
                if item.name.kind == "pipe" and item.needed_m is not None:
                    straights += item.needed_m / 3.048 * 7.0 * inches
                elif item.name.kind == "flex" and item.needed_m is not None:
                    straights += item.needed_m / (50 * 0.3048) * 3.0 * inches
            assert costs.of(places[None, :])[0] == pytest.approx(fittings + straights, rel=1e-9)

    def test_prices_of_other_things_only_leave_the_weight_to_decide(self) -> None:
        answer = ductcalc.size(lone(parts={"prices": [{"piece": "gate", "price": 9.0}]}))
        assert answer.cost_kind == "weight"
        assert any("prices are written" in remark for remark in answer.remarks)

    def test_a_wye_is_priced_by_all_its_sizes(self) -> None:
        prices: list[dict[str, object]] = [{"piece": "pipe", "price": 1.0}, {"piece": "flex", "price": 1.0}]
        prices += [{"piece": "wye", "price": 50.0}, {"piece": "wye", "size": "5 in x 5 in x 5 in", "price": 2.0}]
        found = pair(parts={"prices": prices})
        plan, costs, _ = costs_of(found, plan_of(found))
        places = every_sizing(plan.ways)
        fives = [all(plan.size_m(n, p) == 5 * INCH for n, p in enumerate(row)) for row in places]
        total = costs.of(places)
        least = np.array([sum(part[p] for part, p in zip(costs.least(), row, strict=True)) for row in places])
        assert (least <= total + 1e-9).all()
        assert int(np.argmin(total)) == fives.index(True)


class TestSearching:
    @pytest.mark.parametrize("name", ["examples/creamery", "examples/joinery-class"])
    def test_gathered_trials_agree_with_whole_models(self, name: str) -> None:
        found = ductcalc.read_shop(name)
        model = build_model(found)
        choices = (*every_machine_alone(model), *named_sets(model))
        plan = plan_of(found)
        trials, rng = Trials.of(plan, choices, None), np.random.default_rng(3)
        places = np.column_stack([rng.integers(0, ways, 25) for ways in plan.ways])
        marks = trials.marks(places)
        whole = outcomes([build_model(plan.with_sizes(row)) for row in places], choices)
        for row, outcome in enumerate(whole):
            np.testing.assert_allclose(marks.air[row], outcome.case_share, rtol=1e-9)
            np.testing.assert_allclose(marks.speed[row], outcome.case_settling_share, rtol=1e-9)
            assert np.array_equal(marks.solved[row], outcome.solved)
            assert np.array_equal(marks.fine[row], outcome.well)

    @pytest.mark.parametrize(
        "more",
        [
            {"method": {"friction": "handbook", "junction": "handbook"}},
            {"machines": {"saw": {"own_blower": "300 Pa"}}},
            {"gates": {"leak": "0 %", "sets": {"both": {"open": ["saw", "sander"], "helpers": ["sander"]}}}},
        ],
    )
    def test_so_they_do_with_other_methods_own_blowers_and_helpers(self, more: dict[str, Any]) -> None:
        found = pair(**more)
        model = build_model(found)
        choices = (*every_machine_alone(model), *named_sets(model))
        plan = plan_of(found)
        trials, places = Trials.of(plan, choices, None), every_sizing(plan.ways)[::7]
        marks = trials.marks(places)
        for row, outcome in enumerate(outcomes([build_model(plan.with_sizes(one)) for one in places], choices)):
            np.testing.assert_allclose(marks.air[row], outcome.case_share, rtol=1e-9)
            np.testing.assert_allclose(marks.speed[row], outcome.case_settling_share, rtol=1e-9)
            assert np.array_equal(marks.fine[row], outcome.well)
        assert (power_of(trials).least() > 0.0).all() == ("machines" not in more)

    @pytest.mark.parametrize("seed", range(60))
    def test_the_power_never_rules_out_a_sizing_that_is_fine(self, seed: int) -> None:
        small = random_small(seed)
        found = small.shop((5,) * small.stretches)
        plan, costs, _ = costs_of(found, plan_of(found))
        model = build_model(found)
        trials = Trials.of(plan, (*every_machine_alone(model), *named_sets(model)), None)
        places = every_sizing(plan.ways)
        fine = trials.marks(places).fine.all(axis=1)
        power = power_of(trials)
        used = np.sum([part[places[:, n]] for n, part in enumerate(power.used)], axis=0)
        assert (used[fine] <= 1.0 + 1e-9).all()
        cost = costs.of(places)
        least = float(cost[fine].min()) if fine.any() else 1e3
        bound = bound_of(costs.least(), power, least)
        if not fine.any():
            return
        assert bound.value <= least * (1.0 + 1e-9)
        listed = cheaper(costs.least(), power, bound, least * 1.001, 10_000)
        assert listed is not None
        assert {tuple(row) for row in places[fine & (cost <= least)]} <= {tuple(row) for row in listed}

    def test_the_power_leaves_only_what_can_serve_at_all(self) -> None:
        used = (np.array([[0.9], [0.3]]), np.array([[0.8], [0.2]]))
        costs = (np.array([1.0, 4.0]), np.array([1.0, 3.0]))
        bound = bound_of(costs, Power(used), 10.0)
        listed = cheaper(costs, Power(used), bound, 100.0, 10)
        assert listed is not None and sorted(map(tuple, listed.tolist())) == [(1, 1)]
        assert bound.value == pytest.approx(7.0)

    def test_most_power_is_not_exceeded_between_the_points_of_its_grid(self) -> None:
        supply = Trials.of(plan_of(pair()), every_machine_alone(build_model(pair())), None).supply
        flows = np.linspace(0.17, supply.last_flow_m3_s, 100_003)
        most = float((supply.available(flows)[0] * flows).max())
        assert most <= most_power(supply, 0.17) <= most * 1.002

    @pytest.mark.parametrize("seed", range(0, 60, 3))
    def test_stepping_alone_finds_the_best_of_a_small_shop(self, seed: int) -> None:
        small = random_small(seed)
        found = small.shop((SIZES[1],) * small.stretches)
        plan, costs, _ = costs_of(found, plan_of(found))
        model = build_model(found)
        trials = Trials.of(plan, (*every_machine_alone(model), *named_sets(model)), None)
        search = Search(trials, costs)
        best = best_found(search)
        sets, worst, _, cost = search.standings(every_sizing(plan.ways))
        keys = sorted(zip(sets.tolist(), worst.round(9).tolist(), cost.tolist(), strict=True))
        assert (best.sets, round(best.worst, 9), best.cost) == pytest.approx(keys[0])

    def test_the_same_shop_gives_the_same_sizes_every_time(self) -> None:
        one, two = (size_document(ductcalc.size(pair()), Display("inch")) for _ in range(2))
        assert one == two


class TestWanted:
    def test_sets_only_leaves_machines_alone_out(self) -> None:
        answer = ductcalc.size(pair(gates={"sets": {"both": ["saw", "sander"]}}), sets_only=True)
        assert [case.name for case in answer.then] == ["both"]

    def test_sets_only_without_a_set_is_an_error(self) -> None:
        with pytest.raises(InputError, match="no set is named"):
            ductcalc.size(pair(), sets_only=True)

    def test_a_shop_without_a_collector_is_an_error(self) -> None:
        with pytest.raises(InputError, match="no collector"):
            ductcalc.size(replace(pair(), collectors=()))

    def test_a_curve_that_ends_too_soon_has_no_answer(self) -> None:
        table = [*points(("0 cfm", "14 inwg"), ("100 cfm", "13 inwg")), *NO_PARTS]
        answer = ductcalc.size(pair(table=table))
        assert exit_code(answer) == 3

    def test_a_set_without_an_answer_gives_no_figure_and_nothing_is_proven(self) -> None:
        answer = ductcalc.size(lone(early=True))
        (one,) = answer.giving
        for verdict in (one.now, one.best, one.air):
            assert (verdict.kind, verdict.machine, verdict.flow_m3_s) == ("no answer", None, 0.0)
        assert one.unanswered is not None and one.unanswered.status == "beyond the curve"
        assert one.most and not (one.sure or one.proven or one.has_air or answer.impossible)

    def test_sizes_past_the_end_of_the_points_leave_the_most_unproven(self) -> None:
        """Wide pipe lets more than 640 cfm through, narrow pipe does not."""
        table = [*points(("0 cfm", "10 inwg"), ("400 cfm", "9.6 inwg"), ("640 cfm", "8.5 inwg")), *NO_PARTS]
        answer = ductcalc.size(pair(table=table, gates={"sets": {"both": ["saw", "sander"]}}), sets_only=True)
        (one,) = answer.giving
        assert one.air.kind == "short" and one.unanswered is not None
        assert not (one.sure or answer.impossible)

    def test_each_change_is_said(self) -> None:
        answer = ductcalc.size(pair())
        moved = [s for s in answer.stretches if s.now_m != s.chosen_m]
        assert len(answer.sized.changes) == len(moved) > 0

    def test_frame_has_a_row_for_each_stretch(self) -> None:
        frame = ductcalc.size(pair()).frame()
        assert list(frame["stretch"]) == ["main 1", "main 2", "drop 1"]
        assert (frame["chosen_m"] > 0.05).all()


class TestGiving:
    def test_air_of_a_set_is_the_largest_least_share_and_a_single_machine_could_get_more(self) -> None:
        answer = ductcalc.size(pair(table=weak(), gates={"sets": {"both": ["saw", "sander"]}}), sets_only=True)
        (one,) = answer.giving
        assert one.ports == 2 and one.sure and not one.has_air
        plan = plan_of(pair(table=weak()))
        choice = [ductcalc.Ask.machines("saw", "sander")]
        shares = []
        for places in every_sizing(plan.ways):
            (case,) = ductcalc.check(plan.with_sizes(places), choice).loaded
            shares.append([case.machine(name).flow_m3_s / (360 * CFM) for name in ("saw", "sander")])
        told = one.air.flow_m3_s / one.air.wanted_m3_s
        number = ["saw", "sander"].index(str(one.air.machine))
        assert told == pytest.approx(np.min(shares, axis=1).max(), rel=1e-9)
        assert np.max(shares, axis=0)[number] > told * 1.05


class TestDrop:
    def test_each_size_is_what_a_check_says_of_it(self) -> None:
        answer = ductcalc.size_drop(pair(), "drop")
        assert [round(one.size_m / INCH) for one in answer.sizes] == [3, 4, 5, 6, 7, 8, 9, 10, 12]
        assert answer.machines == ("sander",) and answer.sets == ("sander",)
        for one in answer.sizes:
            written = pair()
            runs = tuple(
                replace(r, pieces=tuple(replace(p, size_m=one.size_m) if p.kind != "port" else p for p in r.pieces))
                if r.name == "drop"
                else r
                for r in written.runs
            )
            (case,) = ductcalc.check(replace(written, runs=runs), [ductcalc.Ask.machines("sander")]).loaded
            assert one.all_fine == case.well
            assert one.poorest is not None
            assert one.poorest.flow_m3_s == pytest.approx(case.machine("sander").flow_m3_s, rel=1e-9)

    def test_the_poorest_port_is_the_one_that_gives_the_grade_also_off_the_run(self) -> None:
        answer = ductcalc.size_drop(pair(gates={"sets": {"both": HUNGRY_SAW}}), "drop")
        words = [one.word for one in answer.sizes]
        assert {"just short, settles", "short", "short, slow", "short, settles"} == set(words)
        for one in answer.sizes:
            assert one.poorest is not None and one.slowest is not None
            assert (one.poorest.case, one.poorest.machine) == ("both", "saw")
            share, speed = one.poorest.flow_m3_s / one.poorest.wanted_m3_s, one.slowest.velocity_m_s
            assert one.air == ("just short" if share >= 0.9 else "short")
            settles, slow = speed < one.slowest.settling_velocity_m_s, speed < one.slowest.needed_m_s
            assert one.chips == ("settles" if settles else "slow" if slow else "moves")
        assert "saw" in drop_verdict(answer, Display("inch"))

    def test_the_smallest_size_that_is_fine_is_best(self) -> None:
        answer = ductcalc.size_drop(lone(), "line")
        assert answer.best is not None and answer.best.now
        assert answer.best.size_m == pytest.approx(5 * INCH)
        assert [one.all_fine for one in answer.sizes].count(True) == 1

    def test_none_is_best_when_none_is_fine(self) -> None:
        answer = ductcalc.size_drop(lone("590 cfm"), "line")
        assert answer.best is None
        assert answer.nearest is not None and not answer.nearest.all_fine

    def test_nothing_comes_nearest_when_no_size_has_an_answer(self) -> None:
        answer = ductcalc.size_drop(lone(early=True), "line")
        assert answer.nearest is None
        assert [[case.name for case in one.unanswered] for one in answer.sizes] == [["planer"]] * len(answer.sizes)

    def test_frame_has_a_row_for_each_size(self) -> None:
        frame = ductcalc.size_drop(lone(), "line").frame()
        assert list(frame["all_fine"]) == [False, False, True, *[False] * 6]

    @pytest.mark.parametrize("name", ["nowhere", "far"])
    def test_a_run_that_cannot_be_sized_is_an_error(self, name: str) -> None:
        capped = run("far", cap("5 in"), pipe("6 ft"))
        main = [port("saw", "4 in", flow="360 cfm", k=1.0), pipe("9 ft"), wye("far", "5 in"), pipe("9 ft"), end()]
        with pytest.raises(InputError, match=name):
            ductcalc.size_drop(shop(run("main", *main), capped), name)

    def test_a_run_that_is_off_is_told_to_write_its_air(self) -> None:
        main = [port("saw", "4 in", flow="360 cfm", k=1.0), gate(), pipe("12 ft")]
        main += [wye("spare", "6 in"), pipe("20 ft"), end("6 in")]
        spare = [port("old saw", "4 in", flow="off", k=1.0), gate(), pipe("8 ft")]
        with pytest.raises(InputError) as caught:
            ductcalc.size_drop(shop(run("main", *main), run("spare", *spare)), "spare")
        (problem,) = caught.value.problems
        assert "old saw" in problem.hint and "flow" in problem.hint

    def test_a_run_of_no_named_set_is_told_so_with_sets_only(self) -> None:
        with pytest.raises(InputError) as caught:
            ductcalc.size_drop(pair(gates={"sets": {"one": ["saw"]}}), "drop", sets_only=True)
        (problem,) = caught.value.problems
        assert "--sets-only" in problem.hint and "sander" in problem.hint
