"""Every gain that is told is the difference of two whole checks, and so are the marks."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.improve.improve import LEAST_BAND, Improve, improve
from ductcalc.shop import Shop
from tests.answers.improve.full import ask_of, case_with, least_share, port_airs, shop_with, told
from tests.gate_shops import random_shop

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
        assert found.served == (not after.short)


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
            if one.solved and not two.solved:
                worse.add((one.name, "no answer"))
            elif one.solved:
                worse |= {(one.name, "short")} if two.short and not one.short else set()
                worse |= {(one.name, "settles")} if two.settling and not one.settling else set()
        assert {(effect.case.name, effect.word) for effect in found.harms} == worse
        fine = {one.name for one, two in zip(before, after, strict=True) if two.all_well and not one.all_well}
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
        if effect.word == "short"
    ]
    assert marks == [(("pipe size",), "Fräse")]


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
