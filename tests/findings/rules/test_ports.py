"""Machines' ports: too small, starved, counted as nothing, or misread."""

from __future__ import annotations

import pytest

from ductcalc.findings.weighing import findings_of
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, mended, names, seen, words

VACUUM = [*s.points(("0 cfm", "60 inwg"), ("120 cfm", "2 inwg")), *s.NO_PARTS]


def one_machine(port: s.Row, *more: s.Row, **settings: object) -> Shop:
    return s.shop(s.run("trunk", port, *more, s.hose("4 ft"), s.pipe("9 ft"), s.end()), **settings)


@pytest.mark.parametrize(("k", "count"), [(0, 1), (0.02, 1), (0.03, 0), (0.5, 0), (None, 0)])
def test_port_that_takes_less_than_a_bell_mouth_is_not_counted(k: float | None, count: int) -> None:
    cells = {} if k is None else {"k": k}
    assert len(seen(one_machine(s.port("saw", "4 in", **cells)), "port not counted")) == count


def test_port_that_is_off_is_not_seen() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in"), s.gate(), s.pipe("9 ft"), s.wye("b", "4 in"), s.end()),
        s.run("b", s.port("lathe", "4 in", "off", k=0), s.gate()),
    )
    assert names(shop, "port not counted") == []


def test_each_of_several_ports_of_a_shared_hose_is_seen_and_changed_on_its_own() -> None:
    shop = one_machine(s.port("saw", "4 in", k=0.5), s.port("lathe", "4 in", k=0), s.port("mill", "4 in", k=0))
    found = seen(shop, "port not counted")
    assert [one.name for one in found] == ["lathe", "mill"]
    assert [piece.k for piece in mended(shop, found[1]).runs[0].pieces[:3]] == [0.5, 0.0, None]


@pytest.mark.parametrize(
    ("drop", "count"), [("1.05 inwg", 1), ("1.25 inwg", 1), ("1.4 inwg", 0), ("1.2 inwg total", 0)]
)
def test_suction_hardly_above_velocity_pressure_is_doubted(drop: str, count: int) -> None:
    assert len(seen(one_machine(s.port("saw", "4 in", drop=f"{drop} at 4000 fpm")), "static or total")) == count


def test_doubted_suction_is_told_beside_the_velocity_pressure_at_its_own_flow() -> None:
    (found,) = seen(one_machine(s.port("saw", "4 in", drop="1.2 inwg at 350 cfm")), "static or total")
    assert figures(found.what)[:2] == ["1.2 in of water", "1.0 in of water"]


@pytest.mark.parametrize(("inlet", "count"), [("12 in2", 1), ("13 in2", 0)])
def test_opening_below_the_area_of_the_port_is_seen(inlet: str, count: int) -> None:
    assert len(seen(one_machine(s.port("saw", "4 in", inlet=inlet)), "small opening")) == count


def test_cabinet_whose_suction_was_stated_has_its_opening_in_it() -> None:
    stated = s.port("saw", "4 in", inlet="6 in2", drop="3 inwg at 4000 fpm")
    assert names(one_machine(stated), "small opening") == []


@pytest.mark.parametrize(("bore", "count"), [("2.5 in", 1), ("65 mm", 1), ("75 mm", 0), ("3 in", 0)])
def test_port_below_three_inches_on_a_fan_is_small(bore: str, count: int) -> None:
    assert len(seen(one_machine(s.port("saw", bore, "150 cfm")), "small port")) == count


def test_small_port_on_a_vacuum_is_all_right() -> None:
    assert names(one_machine(s.port("saw", "2 in", "70 cfm"), table=VACUUM), "small port") == []


def test_small_second_port_of_a_machine_is_all_right() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in"), s.wye("guard", "4 in"), s.pipe("9 ft"), s.end()),
        s.run("guard", s.port("saw", "2.5 in", "120 cfm"), s.hose("4 ft")),
    )
    assert names(shop, "small port") == []


def test_advertised_pressure_tells_a_fan_from_a_vacuum_as_well() -> None:
    fan = [s.rated("advertised", "1000 cfm", "10 inwg"), *s.NO_PARTS]
    vacuum = [s.rated("advertised", "150 cfm", "70 inwg"), *s.NO_PARTS]
    small = s.port("sander", "2 in", "80 cfm")
    assert names(one_machine(small, table=fan), "small port") == ["sander"]
    assert names(one_machine(small, table=vacuum), "small port") == []


def two_ports(guard: str) -> Shop:
    return s.shop(
        s.run("saw", s.port("saw", "4 in", "320 cfm"), s.wye("guard", "5 in"), s.pipe("40 ft", "4 in"), s.end()),
        s.run("guard", s.port("saw", guard, "200 cfm"), s.hose("5 ft", 2)),
    )


def test_port_that_is_short_beside_one_with_plenty_is_seen() -> None:
    (found,) = seen(two_ports("2.5 in"), "uneven ports")
    assert figures(found.cure) == ["3 in"] and "guard" in words(found.cure)
    assert found.watch is not None
    assert found.watch.run == "guard"


def test_ports_that_both_have_enough_are_not_seen() -> None:
    assert names(two_ports("4 in"), "uneven ports") == []


def near(bore: str, flow: str = "380 cfm", main: str = "4 in", far: str = "40 ft") -> Shop:
    last = [s.wye("b", main), s.pipe("6 ft"), s.end()]
    return s.shop(
        s.run("trunk", s.port("band saw", "4 in", "300 cfm"), s.gate(), s.pipe(far), *last),
        s.run("b", s.port("jointer", bore, flow), s.hose("5 ft"), s.gate(), s.pipe("4 ft")),
    )


def test_short_machine_near_by_is_held_against_the_farthest_one() -> None:
    (found,) = seen(near("3 in"), "near but short")
    assert figures(found.what) == ["15 ft", "46 ft", "3 in"] and "band saw" in words(found.what)
    assert figures(found.cure) == ["4 in"]


def test_machine_that_is_not_near_or_not_short_is_not_seen() -> None:
    assert names(near("3 in", far="11 ft"), "near but short") == []
    assert names(near("3 in", "200 cfm"), "near but short") == []


def test_drop_as_wide_as_the_main_does_not_choke() -> None:
    assert names(near("4 in", "900 cfm"), "near but short") == []


@pytest.mark.parametrize(("main", "count"), [("110 mm", 0), ("130 mm", 1)])
def test_drop_is_never_told_to_be_wider_than_the_main_it_joins(main: str, count: int) -> None:
    found = seen(near("100 mm", "900 cfm", main), "near but short")
    assert [figures(one.cure) for one in found] == [["5 in"]] * count


def test_drop_is_never_told_to_be_wider_than_what_follows_it_in_its_run() -> None:
    def shop(behind: str) -> Shop:
        rows = [s.port("jointer", "3 in", "380 cfm"), s.hose("5 ft"), s.gate(), s.pipe("4 ft", behind)]
        return s.shop(
            s.run("trunk", s.port("saw", "4 in", "300 cfm"), s.gate(), s.pipe("40 ft"), s.wye("b", "5 in"), s.end()),
            s.run("b", *rows),
        )

    assert (names(shop("3.25 in"), "near but short"), names(shop("4 in"), "near but short")) == ([], ["jointer"])


@pytest.mark.parametrize(("flow", "grade"), [("345 cfm", "just short"), ("380 cfm", "short")])
def test_a_near_machine_has_the_word_of_its_grade(flow: str, grade: str) -> None:
    (found,) = seen(near("3 in", flow), "near but short")
    assert f" and {grade}, and " in words(found.what)


def test_small_port_near_by_is_one_finding() -> None:
    shop = near("2.5 in", "320 cfm")
    assert (names(shop, "near but short"), names(shop, "small port")) == ([], ["jointer"])


def test_machine_that_has_far_more_than_it_wants_is_not_told_to_be_mended() -> None:
    rules = {one.rule for one in findings_of(one_machine(s.port("saw", "2.5 in", "60 cfm"))).all}
    assert "small port" not in rules


def namesakes(first: str = "9 ft", gated: bool = True) -> Shop:
    own = [s.gate()] if gated else []
    return s.shop(
        s.run("trunk", s.port("saw", "4 in"), *own, s.pipe(first), s.wye("b", "5 in"), s.gate(), s.pipe("9 ft"),
              s.end()),
        s.run("b", s.port("Saw", "4 in"), *own, s.pipe("9 ft")),
    )  # fmt: skip


def test_one_name_on_two_gated_ports_far_apart_is_doubted() -> None:
    (found,) = seen(namesakes("20 ft"), "one name")
    assert (found.place and found.place.row, figures(found.what)) == (8, ["29 ft"])
    assert [port.machine for port in mended(namesakes("20 ft"), found).runs[1].pieces[:1]] == ["saw 2"]


@pytest.mark.parametrize(("first", "gated"), [("9 ft", True), ("40 ft", False)])
def test_two_ports_near_each_other_or_behind_one_gate_are_one_machine(first: str, gated: bool) -> None:
    assert names(namesakes(first, gated), "one name") == []


@pytest.mark.parametrize(("style", "count"), [("bellmouth", 0), ("tapered", 0), ("flanged", 1), (None, 1)])
def test_suction_of_a_smooth_hood_is_believed(style: str | None, count: int) -> None:
    bell = s.port("lathe", "6 in", "700 cfm", drop="0.94 inwg at 700 cfm", style=style)
    assert len(seen(one_machine(bell), "static or total")) == count
