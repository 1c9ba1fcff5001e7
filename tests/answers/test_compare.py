"""Shops side by side: every difference is that of two verdicts, and the advice follows from the figures."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

import ductcalc
from ductcalc.answers.check import Check, check
from ductcalc.answers.compare.advice import key_of_case
from ductcalc.answers.compare.compare import Comparison, compare
from ductcalc.answers.parts.buying import key_of_part
from ductcalc.answers.parts.parts import parts
from ductcalc.cases.case import Case
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.cases.choices import Ask
from ductcalc.errors import InputError
from ductcalc.shop import Shop
from ductcalc.shop.change import changed, gate_leak
from ductcalc.tables import read_shop
from ductcalc.tables.what_if import read_changes
from tests.properties.random_shops import PLANS, Plan
from tests.scenes import BARE, CFM, Row, elbow, end, gate, hose, pipe, points, port, run, shop, two_machines, wye

EXAMPLES = Path(__file__).parents[2] / "examples"
WHAT_IFS = {
    "creamery": ["trunk: wye 4 size = 6 in", "planer drop: flex length = 4 ft"],
    "joinery-class": ["Hauptrohr: pipe 2 size = 160", "Fräse: port flow = 700 m3/h"],
    "one-machine": ["hose: flex length = 5 ft"],
}


def what_if(found: Shop, *texts: str) -> Shop:
    return changed(found, read_changes(found, texts))


def case_of(verdict: Check, name: str, alone: bool, filter_state: str) -> Case:
    return next(
        case for case in verdict.cases
        if case.name == name and case.filter == filter_state and (case.asked == (case.name,)) == alone
    )  # fmt: skip


@pytest.mark.parametrize("name", WHAT_IFS)
class TestEveryDifferenceIsThatOfTwoVerdicts:
    def both(self, name: str) -> tuple[Comparison, Check, Check]:
        one = read_shop(EXAMPLES / name)
        other = what_if(one, *WHAT_IFS[name])
        return compare(one, [other]), check(one), check(other)

    def test_of_machines_and_slowest_sections(self, name: str) -> None:
        found, one, other = self.both(name)
        told = 0
        for line in (line for line in found.machines if line.variant == "B"):
            before, after = (case_of(verdict, line.case, line.alone, line.filter) for verdict in (one, other))
            machine = after.machine(line.machine)
            assert line.answer == machine
            assert line.flow_difference_m3_s == machine.flow_m3_s - before.machine(line.machine).flow_m3_s
            if line.velocity_difference_m_s is not None:
                fast, slow = (case.slowest_on_way(line.machine) for case in (after, before))
                assert fast is not None and slow is not None and fast.section == slow.section
                assert line.velocity_difference_m_s == fast.velocity_m_s - slow.velocity_m_s
                told += 1
        assert told > 0

    def test_of_the_collector_s_point(self, name: str) -> None:
        found, one, other = self.both(name)
        assert len(found.points) == 2 * len(one.cases)
        for line in (line for line in found.points if line.variant == "B"):
            cases = (case_of(verdict, line.case, line.alone, line.filter) for verdict in (one, other))
            before, after = (case.collector for case in cases)
            assert before is not None and after is not None
            assert line.collector == after
            assert line.flow_difference_m3_s == after.flow_m3_s - before.flow_m3_s
            assert line.inlet_static_difference_pa == after.inlet_static_pa - before.inlet_static_pa
            assert line.blower_difference_pa == after.blower_pa - before.blower_pa

    def test_the_first_has_no_difference(self, name: str) -> None:
        found, _, _ = self.both(name)
        first = [line for line in found.machines if line.variant == "A"]
        assert first and all(line.flow_difference_m3_s is None for line in first)


def test_a_shop_is_like_itself() -> None:
    found = compare(two_machines(), [two_machines()])
    assert (found.advice.best, found.advice.alike, found.advice.most_apart) == (None, ("B",), 0.0)
    assert {line.flow_difference_m3_s for line in found.machines if line.variant == "B"} == {0.0}


def test_a_tiny_change_is_alike_and_a_large_one_is_not() -> None:
    one = two_machines()
    tiny, large = what_if(one, "trunk: pipe 1 length = 20.1 ft"), what_if(one, "trunk: pipe 1 size = 5 in")
    found = compare(one, [tiny, large]).advice
    assert found.alike == ("B",)
    assert (found.best, found.against) == ("C", "A")


def test_what_gets_worse_leaves_the_first_as_the_best() -> None:
    one = two_machines()
    found = compare(one, [what_if(one, "trunk: flex length = 90 ft"), what_if(one, "trunk: flex length = 60 ft")])
    assert (found.advice.best, found.advice.against) == ("A", "C")


def test_more_air_where_no_machine_lacks_any_makes_no_shop_the_better_one() -> None:
    one = two_machines()
    found = compare(one, [what_if(one, "trunk: flex length = 13 ft")])
    least = [min(m.least_share for c in v.check.loaded for m in c.asked_machines) for v in found.variants]
    assert least[0] > 1.05 * least[1] > 1.0
    assert found.advice.best is None and not found.advice.alike


def test_fewer_short_machines_come_before_more_air_for_one() -> None:
    one = two_machines()
    served = what_if(one, "trunk: port flow = 100 cfm", "drop: port flow = 100 cfm")
    hungry = what_if(one, "trunk: port flow = 1300 cfm")
    found = compare(hungry, [served]).advice
    assert [standing.short for standing in found.standings] == [1, 0]
    assert found.best == "B"


def test_wider_duct_with_the_same_air_is_not_alike_when_chips_settle() -> None:
    one = read_shop(EXAMPLES / "creamery")
    found = compare(one, [what_if(one, "trunk: wye 4 size = 6 in", "trunk: pipe 6 size = 6 in")]).advice
    assert [standing.settling for standing in found.standings] == [2, 6]
    assert (found.best, found.alike, found.level) == ("A", (), ())


def test_a_hose_in_which_chips_begin_to_settle_is_not_the_better_one() -> None:
    one = read_shop(EXAMPLES / "one-machine")
    found = compare(one, [what_if(one, "hose: flex size = 6 in")])
    assert found.advice.best == "A" and found.advice.halves is not None
    mine, its = found.advice.halves
    assert mine.counts == ("settles",) and mine.gain is None
    assert its.gain is not None and its.gain[0].share > 1.1 * its.gain[1].share
    (turned,) = found.differences[0].turned
    assert (turned.what, turned.before, turned.after, turned.better) == ("chips", "slow", "settles", False)


def on_a_main(size: str, far: str = "480 cfm") -> Shop:
    """Build four machines on a main of one size; only the far one may lack air."""
    main = run(
        "main",
        port("far", "4 in", flow=far, k=3.0),
        gate(),
        pipe("50 ft"),
        wye("b", size),
        pipe("30 ft", size),
        wye("c", size),
        pipe("30 ft", size),
        wye("d", size),
        pipe("30 ft", size),
        end(),
    )
    drops = [run(name, port(f"saw {name}", "4 in", flow="330 cfm", k=2.0), gate(), pipe("6 ft")) for name in "bcd"]
    return shop(main, *drops)


def test_a_wider_main_that_takes_settling_to_every_case_is_not_the_better_one() -> None:
    found = compare(on_a_main("5 in"), [on_a_main("7 in")]).advice
    before, after = found.standings
    assert (before.settling, after.settling) == (1, 4)
    assert found.best != "B"


def test_more_air_with_more_settling_is_mixed() -> None:
    found = compare(on_a_main("5 in", "500 cfm"), [on_a_main("6 in", "500 cfm")]).advice
    a, b = found.standings
    assert b.settling > a.settling and b.short < a.short
    assert found.best is None and found.halves is not None
    assert {half.ahead: half.counts for half in found.halves} == {"A": ("settles",), "B": ("short",)}


def test_as_many_weak_cases_but_others_have_no_winner() -> None:
    one = two_machines()
    both = [what_if(one, f"{run}: port flow = 1300 cfm") for run in ("trunk", "drop")]
    found = compare(*both[:1], both[1:]).advice
    assert found.standings[0].counts == found.standings[1].counts and found.best is None
    assert found.halves is not None and "elsewhere" in found.halves[0].counts


def hose_or_elbow(wanted: str) -> tuple[Shop, Shop]:
    """Build a lathe on 6 ft of hose, and with half of that as pipe with an elbow: hose is known too badly to say."""
    head = port("lathe", "4 in", flow=wanted)
    by_hose = run("a", head, hose("6 ft", None), gate(), pipe("10 ft"), end())
    by_elbow = run("a", head, hose("3 ft", None), gate(), pipe("13 ft"), elbow(), end())
    return shop(by_hose), shop(by_elbow)


def test_what_lies_within_the_band_is_not_called_alike() -> None:
    one, other = hose_or_elbow("600 cfm")
    found = compare(one, [other])
    assert found.advice.band > found.advice.most_apart > LEAST_BAND
    assert (found.advice.alike, found.advice.level, found.advice.best) == ((), ("B",), None)
    first, clean = (line for line in found.machines if line.variant == "B")
    assert first.apart is not None and first.apart.low < 1.0 < first.apart.high and first.inside
    assert clean.filter == "clean" and clean.inside is None


def test_a_machine_that_is_short_by_less_than_the_band_makes_no_winner() -> None:
    airs = [check(one).loaded[0].machine("lathe").flow_m3_s / CFM for one in hose_or_elbow("600 cfm")]
    one, other = hose_or_elbow(f"{sum(airs) / 2.0:.1f} cfm")
    found = compare(one, [other])
    a, b = found.advice.standings
    assert a.counts != b.counts
    assert found.advice.best is None and found.advice.level == ("B",)


def test_the_same_fall_with_and_without_another_bend_is_sure() -> None:
    one, _ = hose_or_elbow("600 cfm")
    found = compare(one, [what_if(one, "a: flex count = 2")])
    (line, _) = (line for line in found.machines if line.variant == "B")
    assert line.apart is not None and line.apart.high < 1.0
    assert found.advice.best == "A"


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(PLANS, PLANS)
def test_no_winner_settles_in_more_cases_or_serves_fewer(one: Plan, other: Plan) -> None:
    """Random pairs of shops with machines of the same names; a case without an answer may settle and serves nobody."""
    found = compare(one.shop(), [other.shop()])
    if found.advice.best is None:
        return
    loser = "B" if found.advice.best == "A" else "A"
    common = {key_of_case(case) for case in found.variants[0].check.loaded}
    common &= {key_of_case(case) for case in found.variants[1].check.loaded}
    counts = {}
    for variant in found.variants:
        cases = [case for case in variant.check.loaded if key_of_case(case) in common]
        settles = sum(not case.solved or bool(case.settling) for case in cases)
        counts[variant.letter] = settles, -sum(case.served for case in cases)
    assert all(a <= b for a, b in zip(counts[found.advice.best], counts[loser], strict=True))


class TestDifferences:
    def test_the_largest_change_is_the_largest_share(self) -> None:
        one = two_machines()
        found = compare(one, [what_if(one, "trunk: pipe 1 size = 5 in")])
        largest = found.differences[0].largest
        assert largest is not None
        by_air = [
            abs(line.flow_difference_m3_s / (line.answer.flow_m3_s - line.flow_difference_m3_s))
            for line in found.machines
            if line.flow_difference_m3_s is not None and line.answer is not None and line.filter == "loaded"
        ]
        assert largest.share == pytest.approx(max(by_air)) and largest.share > 0.01

    def test_every_turned_grade_is_told(self) -> None:
        one = read_shop(EXAMPLES / "creamery")
        other = what_if(one, "trunk: wye 4 size = 6 in", "trunk: pipe 6 size = 6 in")
        found = compare(one, [other]).differences[0]
        expected = set()
        for before, after in zip(check(one).loaded, check(other).loaded, strict=True):
            for what in ("air", "chips"):
                if getattr(before, what) != getattr(after, what):
                    expected.add((before.name, what, getattr(before, what), getattr(after, what)))
        assert {(turn.case.name, turn.what, turn.before, turn.after) for turn in found.turned} == expected
        assert len(expected) == 4

    def test_as_planned_against_as_hung_piece_by_piece(self) -> None:
        planned = two_machines()
        rows = [dict(piece.cells) | {"run": run.name} for run in planned.runs for piece in run.pieces]
        longer = [row | {"length": "23 ft"} if row.get("length") == "20 ft" else row for row in rows]
        hung = ductcalc.shop_from_rows([row for row in longer if row["piece"] != "flex"], BARE)
        pieces = compare(planned, [hung]).differences[0].pieces
        found = {(d.run, d.first.kind, d.number): d for d in pieces if d.first is not None}
        assert len(found) == len(pieces)
        assert set(found) == {("trunk", "flex", 1), ("trunk", "pipe", 1)}
        assert found["trunk", "flex", 1].other is None
        ((field, before, after),) = found["trunk", "pipe", 1].fields
        assert (field, before, after) == ("length_m", pytest.approx(20 * 0.3048), pytest.approx(23 * 0.3048))

    def test_a_blank_size_that_follows_is_a_difference(self) -> None:
        one = two_machines()
        pieces = compare(one, [what_if(one, "trunk: port size = 5 in")]).differences[0].pieces
        sizes = [(d.first.kind, d.number) for d in pieces if d.first for field, _, _ in d.fields if field == "size_m"]
        assert ("port", 1) in sizes

    def test_extra_parts_are_those_of_two_lists(self) -> None:
        one = read_shop(EXAMPLES / "creamery")
        other = what_if(one, "trunk: wye 4 size = 6 in", "trunk: pipe 6 size = 6 in", "planer drop: flex length = 4 ft")
        lists = [{key_of_part(item.name): item for item in parts(found).items} for found in (one, other)]
        extra = {key_of_part(part.name): part for part in compare(one, [other]).differences[0].extra}
        small = ("hanger", "sealant", "port")
        for key in {**lists[0], **lists[1]}:
            if key[0] in small:
                assert key not in extra
                continue
            needed = [(item.needed, item.needed_m or 0.0) if (item := of.get(key)) else (0, 0.0) for of in lists]
            count, length = (after - before for before, after in zip(*needed, strict=True))
            if key[0] in ("pipe", "flex"):
                assert (extra[key].length_m if key in extra else 0.0) == pytest.approx(length, abs=1e-9)
            else:
                assert (extra[key].count if key in extra else 0) == count
        assert any(part.length_m for part in extra.values()) and any(part.name.kind == "wye" for part in extra.values())

    def test_a_caution_is_not_gone_where_nothing_can_be_computed(self) -> None:
        room = {"room": {"exhaust": "outdoors", "heater": True}}
        one = two_machines(**room)
        weak = points(("0 cfm", "10 inwg"), ("50 cfm", "10 inwg"))
        found = compare(one, [two_machines(table=[*weak, *BARE[-3:]], **room)]).differences[0]
        assert "heater" in [one.rule for one in found.not_seen]
        assert found.gone == ()

    def test_a_caution_is_not_gone_where_the_other_shop_says_nothing_of_it(self) -> None:
        one = two_machines(room={"exhaust": "outdoors", "heater": True})
        silent = compare(one, [two_machines()]).differences[0]
        indoors = compare(one, [two_machines(room={"exhaust": "indoors"})]).differences[0]
        assert [f.rule for f in silent.not_seen] == ["heater"] and "heater" not in [f.rule for f in silent.gone]
        assert [f.rule for f in indoors.not_seen] == [] and "heater" in [f.rule for f in indoors.gone]

    def test_another_collector_is_told_and_the_same_one_is_not(self) -> None:
        one = read_shop(EXAMPLES / "creamery")
        other = read_shop(EXAMPLES / "creamery", EXAMPLES / "one-machine" / "collector.csv")
        assert [d.collector for d in compare(one, [one, other]).differences] == [False, True]


def test_telling_port_gains_more_than_the_band() -> None:
    one = read_shop(EXAMPLES / "creamery")
    found = compare(one, [what_if(one, "planer drop: flex length = 4 ft", "planer drop: flex count = 1")]).advice
    assert found.best == "B" and found.halves is not None and found.halves[0].gain is not None
    now, before = found.halves[0].gain
    assert now.machine.machine == "planer" == before.machine.machine
    assert now.share / before.share - 1.0 > 0.02


def test_the_band_moves_what_is_assumed_in_both_at_once() -> None:
    """The leak of shut gates is worth more to each shop than to the difference of the two."""
    one = read_shop(EXAMPLES / "creamery")
    other = what_if(one, "planer drop: flex length = 7 ft")
    worth = {w.assumption.key: w for w in check(one).assumptions}
    leak = next(w for key, w in worth.items() if "leak" in key and "joint" not in key)
    assert leak.low_m3_s is not None and leak.high_m3_s is not None
    own = check(one).subject.answer
    assert own is not None
    assert compare(one, [other]).advice.band < 0.5 * abs(leak.high_m3_s - leak.low_m3_s) / own.flow_m3_s


def test_an_advertised_curve_against_points_widens_the_band() -> None:
    pieces = run("a", port("lathe", "4 in", flow="300 cfm", k=1.0), gate(), pipe("10 ft"), end())
    by_points = shop(pieces)
    advertised: list[Row] = [{"item": "advertised", "flow": "1400 cfm", "pressure": "11 inwg"}, *BARE[-3:]]
    provisional = shop(pieces, table=advertised)
    same = shop(pieces, table=[{**advertised[0], "flow": "1410 cfm"}, *BARE[-3:]])
    assert compare(by_points, [provisional]).advice.band > 3.0 * compare(provisional, [same]).advice.band
    assert compare(by_points, [provisional]).variants[1].check.provisional


def test_machines_and_sets_of_one_shop_alone_are_told() -> None:
    sets: dict[str, Any] = {"gates": {"sets": {"pair": ["band saw", "planer"]}}}
    one = two_machines(**sets)
    lonely = shop(run("trunk", port("Band  Saw", "4 in", k=1.5), gate(), pipe("20 ft"), end()))
    found = compare(one, [lonely])
    assert found.only_in == (("A", "planer"), ("A", '"pair"'))
    gone = [line for line in found.machines if line.status == "not in this shop"]
    assert {line.machine for line in gone} == {"planer", "band saw"}
    assert all(line.answer is None and line.flow_difference_m3_s is None for line in gone)
    assert [standing.cases for standing in found.advice.standings] == [1, 1]


def test_a_machine_that_only_another_shop_has_stands_behind_those_of_the_first() -> None:
    lonely = shop(run("trunk", port("band saw", "4 in", k=1.5), gate(), pipe("20 ft"), end()))
    found = compare(lonely, [two_machines()])
    assert list(dict.fromkeys(line.machine for line in found.machines)) == ["band saw", "planer"]
    assert found.only_in == (("B", "planer"),)


def test_nothing_in_common_gives_no_advice() -> None:
    other = shop(run("a", port("lathe", "4 in"), gate(), pipe("20 ft"), end()))
    found = compare(two_machines(), [other]).advice
    assert (found.best, found.alike, found.standings[0].cases) == (None, (), 0)


def powered(power: str | None) -> Shop:
    ends = ((0, 9), (1500, 2))
    points: list[Row] = [{"item": "blower", "flow": f"{q} cfm", "pressure": f"{p} inwg"} for q, p in ends]
    if power:
        points = [{**point, "power": watts} for point, watts in zip(points, ("500 W", power), strict=True)]
    return shop(
        run("a", port("lathe", "4 in", k=1.0), gate(), pipe("10 ft"), end()),
        table=[*points, *BARE[-3:]],
        air={"density": "1.2014 kg/m3"},
    )


def test_power_lies_on_the_curve_s_points() -> None:
    found = compare(powered("2000 W"), [powered("2300 W"), powered(None)])
    loaded = [line for line in found.points if line.filter == "loaded"]
    flow = loaded[0].collector.flow_m3_s if loaded[0].collector else 0.0
    last = 1500 * 0.3048**3 / 60
    assert loaded[0].collector is not None
    assert loaded[0].collector.power_w == pytest.approx(500 + 1500 * flow / last, rel=1e-4)
    assert loaded[1].power_difference_w == pytest.approx(300 * flow / last, rel=1e-4)
    assert loaded[2].power_difference_w is None


class TestExitCode:
    def test_zero_when_all_variants_are_fine(self) -> None:
        one = shop(run("a", port("lathe", "4 in", flow="250 cfm"), gate(), pipe("6 ft"), end()))
        assert compare(one, [one]).exit_code == 0

    def test_one_when_any_variant_is_not(self) -> None:
        one = shop(run("a", port("lathe", "4 in", flow="250 cfm"), gate(), pipe("6 ft"), end()))
        hungry = what_if(one, "a: port flow = 1300 cfm")
        assert compare(one, [hungry]).exit_code == compare(hungry, [one]).exit_code == 1

    def test_three_when_a_case_of_any_has_no_answer(self) -> None:
        one = two_machines()
        weak = [{"item": "blower", "flow": f"{q} cfm", "pressure": "10 inwg"} for q in (0, 50)]
        beyond = two_machines(table=[*weak, *BARE[-3:]])
        found = compare(one, [beyond])
        assert found.exit_code == 3
        assert found.advice.best == "A"
        assert {line.status for line in found.machines if line.variant == "B"} == {"beyond the curve"}


def test_choices_are_those_of_check() -> None:
    one = two_machines()
    found = compare(one, [changed(one, [gate_leak(0.03)])], [Ask.machines("band saw", "planer")])
    assert {line.case for line in found.machines} == {"band saw, planer"}
    assert len(found.machines) == 2 * 2 * 2


def test_what_one_of_them_lacks_names_the_shop() -> None:
    lonely = replace(shop(run("trunk", port("band saw", "4 in"), gate(), pipe("20 ft"), end())), name="annexe")
    with pytest.raises(InputError, match=r'annexe: .*"planer"'):
        compare(two_machines(), [lonely], [Ask.machines("planer")])


def test_nothing_to_compare_with_is_refused() -> None:
    with pytest.raises(InputError, match="nothing to compare"):
        compare(two_machines(), [])


def test_more_shops_than_letters_are_refused() -> None:
    with pytest.raises(InputError, match="27"):
        compare(two_machines(), [two_machines()] * 26)


def test_frames_have_a_row_for_each_line() -> None:
    one = two_machines()
    found = ductcalc.compare(one, [what_if(one, "trunk: pipe 1 size = 5 in")])
    machines, points = found.frame(), found.frame("points")
    assert len(machines) == len(found.machines) and len(points) == len(found.points)
    mine = machines[machines.variant == "B"].flow_difference_m3_s
    assert list(mine) == [line.flow_difference_m3_s for line in found.machines if line.variant == "B"]
    assert set(machines.label) == {"shop", "shop, changed"}
    with pytest.raises(ValueError, match="not one of machines, points"):
        found.frame("sections")


def test_cases_of_one_name_that_open_other_machines_are_compared_without_a_band() -> None:
    """With all gates open each shop's machines run, whatever they are called."""
    one, other = (
        shop(run("main", port(name, "4 in", flow="400 cfm", k=1.0), gate(), pipe("9 ft"), end()))
        for name in ("saw", "mill")
    )
    found = compare(one, [other], [Ask.everything()])
    assert found.advice.standings[0].cases == 1
    assert found.advice.band == LEAST_BAND
