"""Every gain that is told is the difference of two whole checks, and so are the marks."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.improve.harm import NEW, harm, sections_before
from ductcalc.answers.improve.improve import LEAST_BAND, Improve, improve
from ductcalc.cases.judged import JudgedCases, Yardstick
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from ductcalc.shop.change import changed
from ductcalc.tables.what_if import read_changes
from tests.answers.improve.full import ask_of, case_with, least_share, port_airs, shop_with, told, worse_in
from tests.gate_shops import random_shop
from tests.scenes import NO_PARTS, elbow, end, gate, pipe, points, port, run, shop, tight, wye

CASES: dict[str, tuple[str | None, str | None]] = {
    "creamery": (None, None),
    "creamery, a set": (None, "two saws"),
    "creamery, a set with a helper": (None, "fretting with help"),
    "joinery-class": (None, None),
    "joinery-class, a copied run": ("Bank 5", None),
    "one-machine": (None, None),
    "annex": (None, None),
    "random 3": (None, None),
    "random 8": (None, None),
}


@cache
def shop_of(name: str) -> Shop:
    first = name.split(",")[0]
    if first.startswith("random"):
        return random_shop(np.random.default_rng(int(first.split()[1])), 4)
    return ductcalc.read_shop(f"{'tests/report/shops' if first == 'annex' else 'examples'}/{first}")


@cache
def answer_of(name: str) -> Improve:
    return improve(shop_of(name), *CASES[name])


@pytest.mark.parametrize("name", CASES)
def test_every_gain_is_the_difference_of_two_checks(name: str) -> None:
    shop, answer = shop_of(name), answer_of(name)
    ask, key = ask_of(answer), (answer.subject.machine, answer.subject.run)
    before = case_with(shop, (), ask)
    assert answer.air_m3_s == pytest.approx(port_airs(before)[key][0], rel=1e-12)
    assert answer.share == pytest.approx(least_share(before), rel=1e-12)
    assert told(answer)
    for found in told(answer):
        after = case_with(shop, found.candidates, ask)
        flow = port_airs(after)[key][0]
        assert found.flow_m3_s == pytest.approx(flow, rel=1e-10)
        assert found.gain_m3_s == pytest.approx(flow - port_airs(before)[key][0], rel=1e-7, abs=1e-12)
        assert found.gain_share == pytest.approx(least_share(after) / least_share(before) - 1.0, rel=1e-7)  # type: ignore[operator]
        assert found.served == (not after.lacking)


@pytest.mark.parametrize("name", ["creamery", "joinery-class", "annex", "random 3", "random 8"])
def test_marks_are_what_two_checks_of_all_cases_say(name: str) -> None:
    shop, answer = shop_of(name), answer_of(name)
    before = ductcalc.check(shop).loaded
    for found in told(answer):
        check = ductcalc.check(shop_with(shop, found.candidates))
        after = [c for c in check.cases if c.filter == found.filter]
        worse = set()
        for one, two in zip(before, after, strict=True):
            assert one.name == two.name
            worse |= {(one.name, word) for word in worse_in(one, two, answer.band.share)}
        assert {(effect.case.name, effect.word) for effect in found.harms} == worse
        fine = {one.name for one, two in zip(before, after, strict=True) if two.well and not one.well}
        assert {effect.case.name for effect in found.helps if effect.word == "fine"} == fine


def test_some_change_is_marked_and_some_is_not() -> None:
    gains = answer_of("creamery").gains
    assert any(found.harms for found in gains) and any(not found.harms for found in gains)


def test_the_new_case_in_which_chips_settle_is_marked_and_still_ranked() -> None:
    whole = next(found for found in answer_of("creamery").gains if found.kinds == ("main size",))
    assert {"resaw", "jointer", "router table"} <= {effect.case.name for effect in whole.harms}
    assert whole.gain_share > answer_of("creamery").band.share


def test_a_machine_that_newly_falls_short_elsewhere_is_marked() -> None:
    marks = [
        (found.kinds, effect.case.name)
        for found in answer_of("annex").gains
        for effect in found.harms
        if effect.word == "just short"
    ]
    assert marks == [(("pipe size",), "Fräse")]


def bad_already() -> Shop:
    """Build a planer that is short and lets chips settle as it stands, alone on a long duct."""
    return shop(
        run("main", port("planer", "6 in", flow="900 cfm"), gate("7 in"), pipe("60 ft"), elbow(count=5), end()),
        table=[*points(("0 cfm", "6 inwg"), ("700 cfm", "4.2 inwg"), ("1200 cfm", "0 inwg")), *NO_PARTS],
    )


def test_a_slowest_speed_that_falls_where_chips_settle_already_is_marked() -> None:
    answer = improve(bad_already())
    assert answer.case.settling and answer.case.lacking
    wider = next(found for found in answer.gains if found.kinds == ("pipe size",))
    effect = next(effect for effect in wider.harms if effect.word == "slower")
    assert effect.section is not None and effect.before == pytest.approx(answer.case.sections[0].velocity_m_s)
    assert effect.section.velocity_m_s < effect.before * (1.0 - answer.band.share)
    assert answer.unharming is not None and answer.unharming is not wider


def test_a_second_port_whose_hose_settles_is_marked_though_chips_settle_already() -> None:
    found = next(found for found in improve(bad_already()).gains if found.kinds == ("second port",))
    assert ("settles", "main second port 1") in {
        (effect.word, effect.section.section) for effect in found.harms if effect.section is not None
    }


def test_less_air_for_a_machine_that_is_short_already_is_marked() -> None:
    """A narrower drop of one machine of a set brings air to the other one, which wants most."""
    found = shop(
        run("main", port("saw", "4 in", flow="900 cfm"), gate(), pipe("9 ft"), wye("drop", "6 in"), pipe("9 ft"),
            end()),
        run("drop", port("sander", "5 in", flow="1000 cfm"), gate(), pipe("9 ft")),
        gates={"sets": {"both": ["saw", "sander"]}},
    )  # fmt: skip
    answer = improve(found, set_name="both")
    narrower = next(
        one for one in answer.gains if one.candidates[0].section == "drop 1" and one.kinds == ("pipe size",)
    )
    marks = {effect.word: effect for effect in narrower.harms if effect.case.name == "both"}
    assert {"less air"} <= set(marks)
    machine, before = marks["less air"].machine, marks["less air"].before
    assert machine is not None and before is not None
    assert machine.machine == "sander" and machine.share < before * (1.0 - answer.band.share)


@pytest.mark.parametrize(("share", "marked"), [(0.97, False), (0.95, True)])
def test_what_is_bad_already_is_marked_only_beyond_the_band(share: float, marked: bool) -> None:
    made = build_model(tight(run("main", port("saw", "4 in", k=2), pipe("9 ft"), end())))
    yes, status = np.ones((1, 1), dtype=bool), np.zeros(1, dtype=np.int8)

    def standing(air: float, speed: float) -> JudgedCases:
        flow = np.array([[speed * 0.05]])  # far below what moves chips in a 4 in pipe
        return JudgedCases(Yardstick(made), status, yes, yes, yes, flow / air, flow, flow)

    assert harm(standing(0.6, 1.0), standing(0.6 * share, 1.0), 0.04).any is marked
    assert harm(standing(0.6, 1.0), standing(0.6, share), 0.04).any is marked
    assert not harm(standing(0.6, 1.0), standing(0.8, 1.3), 0.04).any


def test_sections_behind_a_second_port_are_compared_with_what_they_were() -> None:
    before = ("edge 1", "main 1", "main 2", "main 3")
    then = ("main 1", "main second port 1", "main 2", "edge 1", "main 3", "main 4")
    assert list(sections_before(before, then)) == [1, NEW, 1, 0, 2, 3]


def test_short_at_a_port_is_said_where_the_air_of_both_ports_would_do() -> None:
    found = shop(
        run("main", port("planer", "5 in", flow="430 cfm"), gate(), pipe("16 ft"), end()),
        table=[*points(("0 cfm", "3 inwg"), ("1200 cfm", "0 inwg")), *NO_PARTS],
    )
    seen = set()
    for wish in range(350, 560, 5):
        shop_wanting = changed(found, read_changes(found, [f"main: port flow = {wish} cfm"]))
        for one in told(improve(shop_wanting)):
            if one.share >= 1.0 - 1e-9:
                assert one.served or one.short_at_a_port
            else:
                assert not one.served
            seen.add(one.short_at_a_port)
    assert seen == {False, True}


@pytest.mark.parametrize("name", CASES)
def test_gains_are_ranked_and_none_is_below_the_band(name: str) -> None:
    answer = answer_of(name)
    shares = [found.gain_share for found in answer.gains]
    assert shares == sorted(shares, reverse=True)
    assert answer.band.share >= LEAST_BAND and min(shares) >= answer.band.share * (1.0 - 1e-9)


def test_the_band_is_what_the_junction_method_is_worth() -> None:
    shop, answer = shop_of("creamery"), answer_of("creamery")
    ask = ask_of(answer)
    own = case_with(shop, (), ask).machine("planer").flow_m3_s
    others = {j: case_with(shop, (), ask, j).machine("planer").flow_m3_s for j in ("handbook", "factored")}
    apart = {j: abs(flow / own - 1.0) for j, flow in others.items()}
    assert answer.band.share == pytest.approx(max(apart.values()), rel=1e-6)
    assert answer.band.method == max(apart, key=lambda j: apart[j])


def test_without_a_wye_the_least_band_holds() -> None:
    band = answer_of("one-machine").band
    assert (band.share, band.method) == (LEAST_BAND, None)


def test_other_machines_of_a_set_are_told() -> None:
    shop, answer = shop_of("joinery-class"), answer_of("joinery-class")
    assert (answer.subject.machine, answer.subject.choice.name) == ("Tischfräse", "sawing and milling")
    for found in answer.gains:
        after = case_with(shop, found.candidates, ask_of(answer))
        assert [other.machine for other in found.others] == ["Formatsäge"]
        assert found.others[0].flow_m3_s == pytest.approx(after.machine("Formatsäge").flow_m3_s, rel=1e-10)


def test_another_junction_method_is_heeded() -> None:
    shop = shop_of("creamery")
    answer = improve(shop, junction="handbook")
    found = answer.gains[0]
    after = case_with(shop, found.candidates, ask_of(answer), "handbook")
    assert answer.junction == "handbook"
    assert found.flow_m3_s == pytest.approx(port_airs(after)["planer", "planer drop"][0], rel=1e-10)
