"""The verdict's first lines say what decides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ductcalc.answers.check import check
from ductcalc.answers.verdict import exit_code
from ductcalc.cases.choices import Ask
from ductcalc.report.check.sentences import verdict
from ductcalc.report.check.text import check_blocks
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from ductcalc.shop import MachineSettings, Shop
from ductcalc.tables import shop_from_rows
from tests.scenes import end, pipe, port, run, shop

STRONG = [("0 cfm", "14 inwg"), ("600 cfm", "13 inwg"), ("1200 cfm", "8 inwg"), ("1500 cfm", "2 inwg")]
SHORT_CURVE = [("0 cfm", "14 inwg"), ("200 cfm", "13.5 inwg")]
NONE = [{"item": item, "pressure": "none"} for item in ("cyclone", "filter clean", "filter loaded")]


def _shop(machines: int = 1, flow: str = "400 cfm", curve: list[tuple[str, str]] | None = None, **port: str) -> Shop:
    """Return a shop of some machines on a 4 in main, each with a gate."""
    rows = [{"run": "main", "piece": "port", "machine": "tool 1", "size": "4 in", "flow": flow, "k": "1", **port}]
    rows += [{"piece": "gate"}, {"piece": "pipe", "style": "spiral", "length": "8 ft"}]
    branches = []
    for number in range(2, machines + 1):
        rows += [{"piece": "wye", "joins": f"drop {number}"}, {"piece": "pipe", "style": "spiral", "length": "1 ft"}]
        branches += [
            {
                "run": f"drop {number}",
                "piece": "port",
                "machine": f"tool {number}",
                "size": "4 in",
                "flow": flow,
                "k": "1",
            },
            {"piece": "gate"},
        ]
    collector = [{"item": "blower", "flow": q, "pressure": p} for q, p in curve or STRONG]
    return shop_from_rows([*rows, {"piece": "collector"}, *branches], [*collector, *NONE])


def _first(shop: Shop, *asks: Ask) -> str:
    return verdict(check(shop, asks or None), Display("inch")).replace("\u00a0", " ")


def _whole(shop: Shop, *asks: Ask) -> str:
    return rendered(check_blocks(check(shop, asks or None), Display("inch")), Page(None))


def test_one_machine_served() -> None:
    said = _first(_shop())
    assert "400 cfm" in said and "settle" not in said


def _at(altitude: str, **collector: str) -> Shop:
    ducts = run("a", port("saw", "5 in", "540 cfm"), pipe("9 ft"), end())
    return shop(ducts, air={"altitude": altitude}, collector=collector)


@pytest.mark.parametrize(
    ("thin", "told"), [(_at("900 ft"), False), (_at("1500 ft"), False), (_at("2500 ft"), True), (_at("3000 m"), True)]
)
def test_thin_air_is_a_note_from_two_thousand_feet_on(thin: Shop, told: bool) -> None:
    assert (check(thin).thin_air > 0.0) is told
    assert ("Already counted" in _whole(thin)) is told
    assert [one.rule for one in check(thin).findings.all] == [one.rule for one in check(_at("0 ft")).findings.all]


def test_thin_air_says_how_far_pressures_and_a_pitot_tube_are_off() -> None:
    told = _whole(_at("5000 ft"))
    assert "pulls 17 % less" in told and "shows 8.9 % too little speed" in told


def test_curve_that_was_given_for_the_thin_air_needs_no_note() -> None:
    assert check(_at("5000 ft", density="0.0624 lb/ft3")).thin_air == 0.0


def test_one_machine_short_says_by_how_much() -> None:
    shop = _shop(flow="1200 cfm")
    got = check(shop).cases[0].machines[0].flow_m3_s / (0.3048**3 / 60.0)
    assert f"{got:.0f} of 1200 cfm" in _first(shop)


def test_served_while_chips_settle_is_said_in_one_line() -> None:
    said = _first(_shop(material="damp chips", flow="100 cfm", drop="", k="90"))
    assert "chips settle" in said.casefold() and "least 4900 fpm" in said


def test_forty_machines_have_a_line_each() -> None:
    text = _whole(_shop(40))
    assert all(f"\ntool {number} " in text for number in range(1, 41))


def test_cases_with_an_answer_are_told_beside_those_without() -> None:
    shop = _shop(2, curve=[("0 cfm", "6 inwg"), ("650 cfm", "4.5 inwg")], flow="300 cfm")
    asks = Ask.machines("tool 1"), Ask.machines("tool 1", "tool 2")
    said = _first(shop, *asks)
    assert [case.status for case in check(shop, asks).loaded] == ["solved", "beyond the curve"]
    assert said.startswith("No answer for 1 of 2 cases") and "of 300 cfm" in said
    assert "one at a time" not in said and "named set" not in said


def test_case_beyond_the_curve_comes_first_and_shows_no_flow() -> None:
    shop = _shop(curve=SHORT_CURVE)
    said = _first(shop)
    assert said.startswith("No answer") and "tool 1 alone" in said and "200 cfm" in said
    assert "NO ANSWER" in _whole(shop)


def test_all_gates_shut_is_a_normal_answer() -> None:
    shop = _shop(2)
    shut = Ask.everything(but=["tool 1", "tool 2"])
    assert exit_code(check(shop, (shut,))) == 0 and "no machine" in _first(shop, shut).casefold()
    assert "leak" in _whole(shop, shut).casefold()


def test_chosen_set_names_its_machines() -> None:
    said = _first(_shop(3, flow="700 cfm"), Ask.machines("tool 1", "tool 3"))
    assert "tool 1 and tool 3" in said and "of 700 cfm" in said


def test_machine_without_a_gate_is_said_in_the_second_line() -> None:
    rows = [
        {"run": "a", "piece": "port", "machine": "lathe", "size": "4 in", "k": "1"},
        {"piece": "collector"},
    ]
    collector = [{"item": "blower", "flow": q, "pressure": p} for q, p in STRONG]
    text = _whole(shop_from_rows(rows, [*collector, *NONE]))
    assert "lathe" in text.splitlines()[1]


def test_two_numbers_alone_make_a_provisional_verdict() -> None:
    rows = [
        {"run": "a", "piece": "port", "machine": "lathe", "size": "4 in", "k": "1"},
        {"piece": "gate"},
        {"piece": "collector"},
    ]
    advertised = {"item": "advertised", "flow": "1200 cfm", "pressure": "10 inwg"}
    text = _whole(shop_from_rows(rows, [advertised, *NONE]))
    assert text.splitlines()[1].startswith("PROVISIONAL")


@pytest.mark.parametrize("word", ["momentum", "handbook", "factored", "249.0889"])
def test_what_the_answer_rests_on_is_told(word: str) -> None:
    assert word in _whole(_shop(2))


@pytest.mark.parametrize("word", ["fuel-burning", "explode", "licensed", "lungs", "codes"])
def test_cautions_stand_at_the_foot(word: str) -> None:
    assert word in _whole(_shop())


@pytest.mark.parametrize(("power", "shown"), [("0.5 hp", True), (None, False)])
def test_power_stands_in_the_collector_s_table_when_its_points_state_it(power: str | None, shown: bool) -> None:
    rows = [{"run": "a", "piece": "port", "machine": "lathe", "size": "4 in", "k": "1"}, {"piece": "collector"}]
    points = [{"item": "blower", "flow": flow, "pressure": pressure, "power": power} for flow, pressure in STRONG]
    made = shop_from_rows(rows, [*points, *NONE])
    text = rendered(check_blocks(check(made), Display("inch")), Page())
    assert ("power" in text.partition("The collector at work\n")[2].splitlines()[0]) == shown


def test_a_machine_whose_own_blower_moves_its_air_needs_no_suction() -> None:
    shop = _shop(flow="300 cfm")
    pushing = MachineSettings("tool 1", own_blower_pa=2000.0)
    said = _whole(replace(shop, settings=replace(shop.settings, machines=(pushing,)))).replace("\u00a0", " ")
    assert "no suction" in said and "own blower" in said
