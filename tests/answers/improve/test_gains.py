"""Every gain that is told is the difference of two whole checks, and so are the marks."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.improve.harm import NEW, harm, sections_before
from ductcalc.answers.improve.improve import Improve, improve
from ductcalc.cases.chances import LEAST_BAND, drawn, drawn_like
from ductcalc.cases.judged import JudgedCases, Yardstick
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from ductcalc.shop.change import changed
from ductcalc.tables.what_if import read_changes
from tests.answers.improve.full import every_case, least_share, own_cases, port_airs, told, worse_in, worst
from tests.gate_shops import random_shop
from tests.scenes import NO_PARTS, end, gate, pipe, points, port, run, shop, tight

CASES: dict[str, tuple[str | None, str | None]] = {
    "creamery": (None, None),
    "creamery, a set": (None, "two saws"),
    "creamery, a set with a helper": (None, "fretting with help"),
    "joinery-class": (None, None),
    "joinery-class, a set": (None, "sawing and milling"),
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
    key = (answer.subject.machine, answer.subject.run)
    (before,) = own_cases(shop, (), answer)
    assert answer.air_m3_s == pytest.approx(port_airs(before)[key][0], rel=1e-12)
    assert answer.share == pytest.approx(least_share(before), rel=1e-12)
    assert told(answer)
    for found in told(answer):
        after = own_cases(shop, found.candidates, answer)
        flow = next(port_airs(case)[key][0] for case in after if key in port_airs(case))
        assert found.flow_m3_s == pytest.approx(flow, rel=1e-10)
        assert found.gain_m3_s == pytest.approx(flow - port_airs(before)[key][0], rel=1e-7, abs=1e-12)
        share = least_share(worst(after))
        assert share is not None and found.share == pytest.approx(share, rel=1e-10)
        assert found.gain_share == pytest.approx(share / answer.share - 1.0, rel=1e-7)
        assert found.served == (not worst(after).lacking) and found.case.word == worst(after).word


MARKED = ["creamery", "creamery, a set", "joinery-class", "annex", "random 3", "random 8"]


@pytest.mark.parametrize("name", MARKED)
def test_marks_are_what_two_checks_of_all_cases_say(name: str) -> None:
    shop, answer = shop_of(name), answer_of(name)
    before = every_case(shop, (), answer)
    for found in told(answer):
        after = every_case(shop, found.candidates, answer)
        worse = set()
        for one, two in zip(before, after, strict=True):
            worse |= {(one.name, word) for word in worse_in(one, two)}
        assert {(effect.now.name, effect.word) for effect in found.harms} == worse
        fine = {one.name for one, two in zip(before, after, strict=True) if two.well and not one.well}
        assert {effect.now.name for effect in found.helps if effect.word == "fine"} == fine
        assert not any(effect.case.settling for effect in found.helps if effect.word == "served")


def test_some_change_is_marked_and_some_is_not() -> None:
    gains = answer_of("creamery").gains
    assert any(found.harms for found in gains) and any(not found.harms for found in gains)


def test_the_new_case_in_which_chips_settle_is_marked_and_still_ranked() -> None:
    whole = next(found for found in answer_of("creamery").gains if found.kinds == ("main size",))
    assert {"resaw", "jointer", "router table"} <= {effect.now.name for effect in whole.harms}
    assert whole.gain_share > LEAST_BAND


def test_marks_of_every_kind_are_among_those_that_two_checks_say() -> None:
    found = {effect.word for name in MARKED for one in told(answer_of(name)) for effect in one.harms}
    assert found >= {"settles", "slower", "less air"}


@pytest.mark.parametrize(
    ("air", "share", "marked"), [(0.95, 0.993, False), (0.95, 0.985, True), (0.6, 0.91, False), (0.6, 0.89, True)]
)
def test_what_is_bad_already_is_marked_only_beyond_the_band_and_where_air_is_short_by_a_tenth(
    air: float, share: float, marked: bool
) -> None:
    made = build_model(tight(run("main", port("saw", "4 in", k=2), pipe("9 ft"), end())))
    yes, status = np.ones((1, 1), dtype=bool), np.zeros(1, dtype=np.int8)

    def standing(air: float, speed: float) -> JudgedCases:
        flow = np.array([[speed * 0.05]])  # far below what moves chips in a 4 in pipe
        return JudgedCases(Yardstick(made), status, yes, yes, yes, flow / air, flow, flow)

    assert air > 0.9 or harm(standing(air, 1.0), standing(air * share, 1.0)).any is marked
    assert harm(standing(air, 1.0), standing(air, share)).any is marked
    assert not harm(standing(0.6, 1.0), standing(0.8, 1.3)).any


def test_sections_behind_a_second_port_are_compared_with_what_they_were() -> None:
    before = ("edge 1", "main 1", "main 2", "main 3")
    then = ("main 1", "main second port 1", "main 2", "edge 1", "main 3", "main 4")
    assert list(sections_before(before, then)) == [1, NEW, 1, 0, 2, 3]


def test_short_at_a_port_is_said_where_the_air_of_both_ports_would_do() -> None:
    found = shop(
        run("main", port("planer", "5 in", flow="430 cfm", style="plain"), gate(), pipe("16 ft"), end()),
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
def test_gains_are_ranked_and_none_is_below_the_least(name: str) -> None:
    answer = answer_of(name)
    ranks = [(not found.leads, found.inside, found.standing.rank[:2]) for found in answer.gains]
    assert ranks == sorted(ranks)
    if not answer.settles:
        assert min(found.gain_share for found in answer.gains) >= LEAST_BAND * (1.0 - 1e-9)


@pytest.mark.parametrize("name", CASES)
def test_what_takes_more_stands_first_only_where_it_brings_more_than_its_band(name: str) -> None:
    for one, other in pairwise(answer_of(name).gains):
        same = (one.leads, one.inside, one.standing.rank[:3]) == (other.leads, other.inside, other.standing.rank[:3])
        if same and one.standing.effort > other.standing.effort and not one.standing.settles:
            assert one.apart is not None and one.share > other.share + one.apart.share * answer_of(name).share


def test_a_free_change_stands_before_a_cheap_one_that_gains_alike() -> None:
    filter_cleaned, pipe = (
        next(n for n, found in enumerate(answer_of("creamery").gains) if found.kinds == (kind,))
        for kind in ("clean filter", "pipe for hose")
    )
    gains = answer_of("creamery").gains
    assert gains[filter_cleaned].gain_share < gains[pipe].gain_share
    assert filter_cleaned < pipe


def test_the_band_of_a_gain_is_that_of_shops_drawn_alike() -> None:
    answer = answer_of("creamery")
    found = next(one for one in answer.gains if one.kinds == ("straighter hose",))
    choices, models = [answer.subject.choice], [one.judged.model for one in (answer.case, found.case)]
    sample = drawn(models[0], choices, least=True)
    (other,) = drawn_like(sample, models[1:], choices)
    assert found.apart == sample.apart(other, "planer", (0, 0))
    assert found.apart is not None and found.apart.low < 1.0 + found.gain_share < found.apart.high


def test_what_may_as_well_bring_nothing_never_leads_and_stands_behind_what_is_sure() -> None:
    answer = improve(random_shop(np.random.default_rng(18), 4))
    inside = [one for one in answer.gains if one.inside]
    assert inside and all(one.apart is not None and one.apart.low < 1.0 < one.apart.high for one in inside)
    assert not any(one.may_lead for one in inside) and answer.first not in inside
    sure = [n for n, one in enumerate(answer.gains) if one.leads and not one.inside]
    assert max(sure) < answer.gains.index(inside[0])


def test_a_cleaned_filter_has_no_band() -> None:
    (found,) = (one for one in answer_of("creamery").gains if one.kinds == ("clean filter",))
    assert found.apart is None and not found.inside


def test_other_machines_of_a_set_are_told() -> None:
    shop, answer = shop_of("joinery-class, a set"), answer_of("joinery-class, a set")
    assert (answer.subject.machine, answer.subject.choice.name) == ("Tischfräse", "sawing and milling")
    for found in answer.gains:
        after = next(c for c in own_cases(shop, found.candidates, answer) if "Formatsäge" in c.running)
        assert [other.machine for other in found.others] == ["Formatsäge"]
        assert found.others[0].flow_m3_s == pytest.approx(after.machine("Formatsäge").flow_m3_s, rel=1e-10)


def test_another_junction_method_is_heeded() -> None:
    shop = shop_of("creamery")
    answer = improve(shop, "planer", junction="handbook")
    found = answer.gains[0]
    (after,) = own_cases(shop, found.candidates, answer, "handbook")
    assert answer.junction == "handbook"
    assert found.flow_m3_s == pytest.approx(port_airs(after)["planer", "planer drop"][0], rel=1e-10)
