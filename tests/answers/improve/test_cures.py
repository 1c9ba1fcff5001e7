"""Where only chips settle the first advice keeps them moving, and a whole check of the changed shop says so too."""

from __future__ import annotations

import os
from functools import cache

import pytest

import ductcalc
from ductcalc.answers.improve.improve import Gain, Improve, improve
from ductcalc.shop import Shop
from ductcalc.shop.change import changed
from ductcalc.tables.what_if import read_changes
from tests.answers.improve.full import own_cases, worst
from tests.answers.size.shops import sensible
from tests.scenes import CFM, elbow, end, gate, hose, pipe, port, run, shop, wye

SEEDS = range(100 if os.environ.get("DUCTCALC_LONG") else 6)


def wide_main() -> Shop:
    """Build a lathe and a jointer on a main that is too wide for either alone."""
    return shop(
        run("main", port("lathe", "4 in", flow="350 cfm", k=1.5), hose("4 ft", 1), gate(), pipe("8 ft"),
            wye("drop", "6 in"), pipe("25 ft"), elbow(), end()),
        run("drop", port("jointer", "4 in", flow="400 cfm", k=1.5), hose("4 ft", 1), gate(), pipe("6 ft")),
    )  # fmt: skip


def cure_of(answer: Improve) -> Gain | None:
    """Return the advice that keeps chips moving: the best single one without harm, else what does it together."""
    found = [one for one in (answer.unharming, answer.together) if one is not None]
    return next((one for one in found if not one.case.settling), None)


def test_a_main_that_is_too_wide_becomes_one_size_smaller() -> None:
    answer = improve(wide_main(), "jointer")
    assert answer.settles and not answer.case.lacking and answer.unharming is not None
    (lead,) = answer.unharming.candidates
    assert (lead.sections, lead.after) == (("main 2",), pytest.approx(5 * 0.0254))
    rows = ("main: wye size = 5 in", "main: pipe 2 size = 5 in", "main: elbow size = 5 in")
    inlet = "main: collector size = 6 in"
    typed = ductcalc.check(changed(wide_main(), read_changes(wide_main(), (*rows, inlet))))
    assert all(case.well for case in typed.loaded)
    jointer = next(case for case in typed.loaded if case.name == "jointer").machine("jointer")
    assert answer.unharming.flow_m3_s / CFM == pytest.approx(jointer.flow_m3_s / CFM, abs=0.5)


def test_the_gate_that_may_stay_open_is_told_with_its_price_in_air() -> None:
    answer = improve(wide_main(), "jointer")
    helper = next(one for one in answer.gains if one.kinds == ("helper gate",))
    assert helper.candidates[0].machine == "lathe" and helper.effort == "free"
    assert helper.cures and helper.gain_m3_s < 0.0
    both = ductcalc.check(wide_main(), [ductcalc.Ask.machines("jointer", "lathe")]).loaded[0]
    assert helper.flow_m3_s == pytest.approx(both.machine("jointer").flow_m3_s, rel=1e-9)


def test_a_smaller_main_that_starves_the_big_machine_is_told_with_its_price_and_leads_nothing() -> None:
    found = shop(
        run("main", port("lathe", "4 in", flow="350 cfm", k=1.5), gate(), pipe("8 ft"), wye("drop", "7 in"),
            pipe("60 ft"), end()),
        run("drop", port("planer", "5 in", flow="1000 cfm", k=1.0), gate(), pipe("6 ft")),
    )  # fmt: skip
    answer = improve(found, "lathe")
    smaller = {round(float(one.candidates[0].after or 0) / 0.0254): one for one in answer.gains if one.harms}
    marks = {size: [(effect.word, effect.now.name) for effect in one.harms] for size, one in smaller.items()}
    assert marks == {6: [("just short", "planer")], 5: [("short", "planer")]}
    assert answer.unharming is not None and answer.unharming.kinds == ("helper gate",)


def test_what_brings_only_air_is_not_told_as_a_cure() -> None:
    gains = improve(wide_main(), "jointer").gains
    assert gains
    for one in gains:
        assert one.cures == (not one.case.settling)


@cache
def answers(seed: int) -> list[Improve]:
    """Return what improves each machine of a drawn shop in which, on its own, nothing but chips is wrong."""
    found = sensible(seed)
    settling = [case for case in ductcalc.check(found).loaded if case.alone and case.settling and not case.lacking]
    return [improve(found, case.name) for case in settling]


@pytest.mark.parametrize("seed", SEEDS)
def test_shops_that_only_settle_get_a_cure_that_a_check_confirms(seed: int) -> None:
    for answer in answers(seed):
        lead = cure_of(answer)
        if lead is not None:
            after = worst(own_cases(sensible(seed), lead.candidates, answer))
            assert after.solved and not after.settling and after.air == lead.case.air
        else:
            assert not any(one.leads and not one.harms and not one.case.settling for one in answer.gains)


def test_nearly_every_shop_that_only_settles_gets_one() -> None:
    cured = [cure_of(answer) is not None for seed in SEEDS for answer in answers(seed)]
    assert len(cured) >= 5 and sum(cured) >= 0.9 * len(cured)
