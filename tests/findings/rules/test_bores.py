"""Bores that choke the air or let it go to sleep."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc.report.display import Display
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, mended, names, rows, seen, words

INCH = 0.0254


def straight(*rows_: s.Row) -> Shop:
    return s.shop(s.run("trunk", s.port("saw", "5 in"), s.gate(), *rows_, s.end("5 in")))


def test_pipe_smaller_than_both_neighbours_is_a_neck() -> None:
    shop = straight(s.pipe("3 ft", "4 in"), s.pipe("5 ft", "5 in"))
    (found,) = seen(shop, "neck")
    assert (found.name, figures(found.what)) == ("pipe in trunk", ["4 in", "5 in", "5 in"])


def test_neck_with_written_reducers_is_one_finding_and_is_widened_whole() -> None:
    shop = straight(s.reducer("4 in"), s.pipe("3 ft"), s.elbow(), s.reducer("5 in"), s.pipe("4 ft"))
    assert rows(shop, "neck") == [4]
    (found,) = seen(shop, "neck")
    bores = [piece.size_m for piece in mended(shop, found).runs[0].pieces]
    assert bores == pytest.approx([5 * INCH] * len(bores))


def test_two_necks_in_a_run_are_two_findings() -> None:
    shop = straight(
        s.pipe("3 ft", "4 in"), s.pipe("5 ft", "5 in"), s.gate("4 in"), s.pipe("5 ft", "5 in"),
    )  # fmt: skip
    assert names(shop, "neck") == ["pipe in trunk", "gate in trunk"]


def test_steps_that_only_widen_or_only_narrow_are_no_neck() -> None:
    assert names(straight(s.pipe("3 ft", "6 in"), s.pipe("5 ft", "7 in")), "neck") == []
    assert names(straight(s.pipe("3 ft", "4 in"), s.reducer("3 in"), s.pipe("3 ft")), "neck") == ["pipe in trunk"]


def test_nominal_sizes_of_two_systems_are_no_neck() -> None:
    assert names(straight(s.pipe("3 ft", "125 mm"), s.pipe("5 ft", "5 in")), "neck") == []


def test_neck_right_ahead_of_the_collector_is_seen() -> None:
    assert names(straight(s.pipe("9 ft", "5 in"), s.pipe("1 ft", "4 in")), "neck") == ["pipe in trunk"]


def test_narrow_stretch_that_ends_at_a_wye_is_no_neck() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "5 in"), s.pipe("9 ft", "4 in"), s.wye("b", "6 in"), s.end()),
        s.run("b", s.port("lathe", "4 in"), s.gate(), s.pipe("9 ft")),
    )
    assert names(shop, "neck") == []


def test_drop_thinner_than_its_port_is_a_neck_where_the_machine_is_short() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in"), s.gate(), s.pipe("9 ft"), s.wye("b", "5 in"), s.end()),
        s.run("b", s.port("lathe", "5 in", "1000 cfm"), s.gate(), s.pipe("9 ft", "4 in")),
    )
    (found,) = seen(shop, "neck")
    assert (found.name, figures(found.what)) == ("pipe in b", ["4 in", "5 in", "5 in"])


def behind(bore: str, second: str = "4 in", flow: str = "350 cfm", **settings: object) -> Shop:
    drop = [s.gate(), s.pipe("9 ft")]
    return s.shop(
        s.run("trunk", s.port("saw", "4 in", flow), *drop, s.wye("b", bore), s.pipe("9 ft"), s.end()),
        s.run("b", s.port("lathe", second, flow, style="tapered"), *drop),
        **settings,
    )


def test_main_as_wide_as_the_drops_is_not_wide() -> None:
    assert names(behind("4 in"), "wide main") == []


def test_wide_main_is_told_the_size_in_which_the_chips_move() -> None:
    (found,) = seen(behind("8 in"), "wide main")
    assert (found.name, figures(found.what)[0], figures(found.cure)) == ("trunk 2", "8 in", ["5 in"])
    assert "saw alone" in words(found.what) and "the gate of the lathe" in words(found.cure)


def test_main_is_never_told_to_be_narrower_than_what_arrives() -> None:
    (found,) = seen(behind("8 in", second="7 in"), "wide main")
    assert figures(found.cure) == []
    assert found.change is None
    assert found.amount is not None


def test_single_machine_is_told_of_no_other_gate() -> None:
    shop = s.shop(s.run("trunk", s.port("saw", "4 in"), s.pipe("9 ft"), s.pipe("9 ft", "7 in"), s.end()))
    (found,) = seen(shop, "wide main")
    assert figures(found.cure) == ["5 in"] and "gate" not in words(found.cure)


def test_set_in_which_the_chips_move_makes_a_wide_main_all_right() -> None:
    helped = behind("6 in", flow="300 cfm", gates={"sets": {"both": {"open": ["saw", "lathe"], "helpers": ["lathe"]}}})
    assert names(behind("6 in", flow="300 cfm"), "wide main") == ["trunk 2"]
    assert names(helped, "wide main") == []


def test_set_that_may_not_run_helps_no_machine_past_a_wide_main() -> None:
    shop = behind("6 in", second="3 in", flow="650 cfm", gates={"sets": {"both": ["saw", "lathe"]}})
    alone, _, both = ductcalc.check(shop).loaded
    section = next(one for one in both.sections if one.section == "trunk 2")
    assert (alone.chips, section.word, both.may_run) == ("settles", "moves", False)
    assert names(shop, "wide main") == ["trunk 2"]


def test_wide_main_names_the_least_speed_of_the_table() -> None:
    (found,) = seen(behind("8 in"), "wide main")
    slow = ductcalc.check(behind("8 in")).loaded[0].slowest
    assert slow is not None and slow.settling_velocity_m_s is not None
    assert figures(found.what)[1:] == [Display("inch").speed(v).replace("\u00a0", " ")
                                       for v in (slow.deciding_velocity_m_s, slow.settling_velocity_m_s)]  # fmt: skip


def test_machine_that_is_only_short_of_air_does_not_blame_the_main() -> None:
    weak = [*s.points(("0 cfm", "4 inwg"), ("800 cfm", "0.1 inwg")), *s.NO_PARTS]
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in", "600 cfm"), s.gate(), s.pipe("40 ft"), s.pipe("9 ft", "5 in"), s.end()),
        table=weak,
    )
    assert names(shop, "wide main") == []


def test_other_stretches_of_the_run_that_are_too_wide_are_counted() -> None:
    drop = [s.gate(), s.pipe("9 ft")]
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in", "350 cfm"), *drop, s.wye("b", "7 in"), s.pipe("9 ft"),
              s.wye("c", "8 in"), s.pipe("9 ft"), s.end()),
        s.run("b", s.port("lathe", "4 in", "350 cfm"), *drop),
        s.run("c", s.port("mill", "4 in", "350 cfm"), *drop),
    )  # fmt: skip
    (found,) = seen(shop, "wide main")
    assert found.name == "trunk 3"
    assert "another stretch" in words(found.what)
    bores = [piece.size_m for piece in mended(shop, found).runs[0].pieces[3:-1]]
    assert bores == pytest.approx([5 * INCH] * len(bores))


def test_wide_main_names_the_helper_that_the_gate_sets_name() -> None:
    shop = behind("6 in", flow="300 cfm")
    (found,) = seen(shop, "wide main")
    told = {one.before.name: one.helpers for one in ductcalc.gates(shop).helped}
    assert told["saw"] == ("lathe",)
    assert "the gate of the lathe" in words(found.cure)


@pytest.mark.parametrize("flow", ["300 cfm", "350 cfm", "380 cfm"])
@pytest.mark.parametrize("bore", ["6 in", "7 in", "8 in"])
def test_the_size_that_a_wide_main_names_moves_the_chips_and_makes_no_case_worse(flow: str, bore: str) -> None:
    shop = behind(bore, flow=flow)
    (found,) = seen(shop, "wide main")
    before, after = ductcalc.check(shop).loaded, ductcalc.check(mended(shop, found)).loaded
    assert [case.chips for case in after if case.name == "saw"] != ["settles"]
    assert [b.name for b, a in zip(before, after, strict=True) if b.may_run and not a.may_run] == []


def test_a_machine_that_no_gate_and_no_size_helps_is_told_so() -> None:
    drop = [s.gate(), s.pipe("9 ft")]
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in", "350 cfm"), *drop, s.wye("b", "7 in"), s.pipe("9 ft"), s.end()),
        s.run("b", s.port("planer", "7 in", "1100 cfm", k=0.5), *drop),
    )
    (found,) = seen(shop, "wide main")
    assert "one more gate is not enough" in words(found.cure) and found.change is None


def test_wye_that_is_smaller_than_what_follows_is_seen() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in"), s.pipe("9 ft"), s.wye("b", "4 in"), s.pipe("9 ft", "6 in"), s.end()),
        s.run("b", s.port("lathe", "4 in"), s.gate(), s.pipe("9 ft")),
    )
    (found,) = seen(shop, "step behind the wye")
    assert figures(found.what) == ["4 in", "6 in"]


@pytest.mark.parametrize("outlet", ["6 in", "148 mm"])
def test_wye_as_wide_as_what_follows_is_not_seen(outlet: str) -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in"), s.pipe("9 ft"), s.wye("b", outlet), s.pipe("9 ft", "6 in"), s.end()),
        s.run("b", s.port("lathe", "4 in"), s.gate(), s.pipe("9 ft")),
    )
    assert names(shop, "step behind the wye") == []


def test_wye_smaller_than_inlet_and_outlet_is_one_finding() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "6 in"), s.pipe("9 ft"), s.wye("b", "4 in"), s.pipe("9 ft", "6 in"), s.end()),
        s.run("b", s.port("lathe", "4 in"), s.gate(), s.pipe("9 ft")),
    )
    assert names(shop, "step behind the wye") == []
    assert names(shop, "narrow outlet") == ["wye in trunk"]


def test_gate_that_only_takes_air_away_farther_on_is_no_cure() -> None:
    drop = s.run("b", s.port("lathe", "4 in", "350 cfm"), s.pipe("3 ft", "6 in"), s.gate(), s.pipe("9 ft"))
    trunk = s.run("trunk", s.port("saw", "4 in", "350 cfm"), s.gate(), s.pipe("9 ft"), s.wye("b", "4 in"), s.end())
    found = [one for one in seen(s.shop(trunk, drop), "wide main") if one.name == "b 1"]
    assert [figures(one.cure) for one in found] == [["5 in"]] and "gate" not in words(found[0].cure)


def test_reducer_to_the_size_that_arrives_is_told_with_the_size_that_follows() -> None:
    for after, cure in (("5 in", []), ("6 in", ["6 in"])):
        (found,) = seen(straight(s.reducer("5 in"), s.pipe("9 ft", after)), "reducer to itself")
        assert figures(found.cure) == cure
    assert names(straight(s.reducer("4 in"), s.pipe("9 ft")), "reducer to itself") == []


@pytest.mark.parametrize(("bore", "told"), [("7 in", ["trunk 2"]), ("6 in", ["trunk 2", "left 1"])])
def test_what_a_machine_can_be_cured_of_in_no_run_is_told_once(bore: str, told: list[str]) -> None:
    drop = [s.gate(), s.pipe("6 ft")]
    shop = s.shop(
        s.run("trunk", s.port("lathe", "4 in", flow="200 cfm"), *drop, s.wye("left", "8 in"), s.pipe("9 ft"), s.end()),
        s.run("left", s.port("saw", "3 in", flow="150 cfm"), *drop, s.reducer(bore), s.pipe("9 ft"),
              s.wye("side", bore), s.pipe("5 ft")),
        s.run("side", s.port("drill", "3 in", flow="150 cfm"), *drop),
    )  # fmt: skip
    found = seen(shop, "wide main")
    assert [one.name for one in found] == told
    assert [one.change is None for one in found] == [True, False][: len(told)]
