"""Shops side by side: every difference is that of two verdicts, and the advice follows from the figures."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import ductcalc
from ductcalc.answers.check import Check, check
from ductcalc.answers.compare.compare import Comparison, compare
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Ask
from ductcalc.errors import InputError
from ductcalc.shop import Shop
from ductcalc.shop.change import changed, gate_leak
from ductcalc.tables import read_shop
from ductcalc.tables.what_if import read_changes
from tests.scenes import BARE, Row, end, gate, pipe, port, run, shop, two_machines

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
    found = compare(one, [what_if(one, "trunk: flex length = 60 ft"), what_if(one, "trunk: pipe 1 length = 40 ft")])
    assert (found.advice.best, found.advice.against) == ("A", "C")


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
    assert (found.best, found.alike) == ("A", ())


def test_telling_port_gains_more_than_the_band() -> None:
    one = read_shop(EXAMPLES / "creamery")
    found = compare(one, [what_if(one, "planer drop: flex length = 4 ft", "planer drop: flex count = 1")]).advice
    assert found.best == "B" and found.telling is not None
    now, before = found.telling
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
