"""What is said without solving every set, held against every set, or against a check of the same shop."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from ductcalc.answers.check import check
from ductcalc.answers.gates.card import card
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.helpers import air_lost
from ductcalc.answers.gates.school import one_of
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.report.card import card_blocks
from ductcalc.report.display import Display
from ductcalc.report.gates.short import short_gates
from ductcalc.report.render import Page, rendered
from ductcalc.report.short import Typed
from ductcalc.shop import Shop
from ductcalc.shop.change import air_bleed, changed
from ductcalc.shop.hanging import spelled_out
from ductcalc.tables import read_shop
from tests.gate_shops import random_shop
from tests.scenes import EXAMPLES, Rows, end, gate, pipe, points, port, rated, run, shop, wye

SEEDS = range(12)
CURVE = (("0 cfm", "14 inwg"), ("800 cfm", "13.5 inwg"), ("1600 cfm", "12 inwg"), ("2400 cfm", "8 inwg"))
COLLECTOR: Rows = [
    *points(*CURVE, ("3200 cfm", "1 inwg")),
    rated("cyclone", "1500 cfm", "2 inwg"),
    rated("filter clean", "1500 cfm", "0.5 inwg"),
    rated("filter loaded", "1500 cfm", "1.5 inwg"),
]


@cache
def every_set(seed: int) -> Gates:
    return gates(random_shop(np.random.default_rng(500 + seed), 4 + seed % 4))


@cache
def benches() -> Shop:
    """Build a school of eighteen benches and a planer on one wide main: chips of the far benches settle in it."""
    far = port("bench 1", "4 in", flow="250 cfm", material="fine dust", style="flanged")
    main = run("main", far, gate(), pipe("10 ft"))
    drops: list[Rows] = []
    for number in range(2, 20):
        main += run("main", wye(f"drop {number}", "8 in"), pipe("6 ft"))
        name, size, flow = (f"bench {number}", "4 in", "250 cfm") if number < 19 else ("planer", "6 in", "700 cfm")
        material = "fine dust" if number < 19 else "dry chips"
        first = port(name, size, flow=flow, material=material, style="flanged")
        drops.append(run(f"drop {number}", first, gate(), pipe("8 ft")))
    sets = {"monday": ["bench 1", "bench 2"], "tuesday": ["bench 7", "bench 8"]}
    return shop([*main, *run("main", end())], *drops, table=COLLECTOR, gates={"sets": sets})


@cache
def learned() -> Gates:
    return gates(benches())


def sets_within(found: Gates, machines: tuple[str, ...]) -> list[Case]:
    cases = (found.asked.case(number) for number in range(found.asked.judged.count))
    return [case for case in cases if set(case.asked) <= set(machines)]


@pytest.mark.parametrize("seed", SEEDS)
def test_so_many_open_gates_keep_chips_moving_in_every_set_and_one_less_does_not(seed: int) -> None:
    found = every_set(seed)
    for stretch in found.school.stretches:
        speeds: dict[bool, list[float]] = {True: [], False: []}
        for case in sets_within(found, stretch.machines):
            section = next(one for one in case.sections if one.section == stretch.section)
            least = stretch.keep_open or len(stretch.machines) + 1
            if len(case.asked) >= least - 1:
                speeds[len(case.asked) >= least].append(section.deciding_velocity_m_s)
        assert all(speed >= stretch.least_m_s * (1.0 - 1e-9) for speed in speeds[True])
        assert min(speeds[False]) < stretch.least_m_s


def test_random_shops_have_shared_stretches_in_which_chips_settle() -> None:
    found = [stretch for seed in SEEDS for stretch in every_set(seed).school.stretches]
    assert len(found) > 10 and {stretch.keep_open for stretch in found} >= {2, 3}


@pytest.mark.parametrize("seed", SEEDS)
def test_machines_by_stretch_are_those_that_settle_there_alone(seed: int) -> None:
    found = every_set(seed)
    told = {(one.section, name): speed for one in found.school.stretches for name, speed in one.settles}
    shared = {one.section: len(one.machines) for one in found.school.stretches}
    expected = {}
    for case in found.singles:
        for section in case.settling:
            if section.section in shared:
                expected[section.section, case.name] = section.deciding_velocity_m_s
    assert told == {key: pytest.approx(speed) for key, speed in expected.items()}
    assert all(count > 1 for count in shared.values())


@pytest.mark.parametrize("seed", SEEDS)
def test_every_larger_set_of_a_short_pair_is_short(seed: int) -> None:
    found = every_set(seed)
    short = {frozenset(case.asked) for case in found.together if len(case.asked) == 2 and case.air == "short"}
    told = {frozenset((a, b)) for group in one_of(found.asked) for a in group for b in group if a != b}
    assert told == short
    for number in range(found.asked.judged.count):
        case = found.asked.case(number)
        if case.solved and any(pair <= set(case.asked) for pair in short):
            assert case.air == "short"


class TestBenches:
    def test_more_machines_may_run_alone_with_gates_kept_open(self) -> None:
        kept = learned().school.keep_open
        assert kept is not None and len(kept.then) > len(kept.now)
        assert kept.now == tuple(case.name for case in learned().singles if case.may_run)
        some, choices = kept.gates[: kept.least], []
        for name in learned().machines:
            helpers = tuple(gate for gate in some if gate != name)
            choices.append(Choice(f"{name} helped", (name, *helpers), helpers))
        cases = check(benches(), choices).loaded
        assert tuple(case.running[0] for case in cases if case.may_run) == kept.then
        loser, lost = kept.most_lost
        before = next(case for case in learned().singles if case.name == loser).machine(loser).flow_m3_s
        after = next(case for case in cases if case.running == (loser,)).machine(loser).flow_m3_s
        assert lost == pytest.approx(before - after, rel=1e-6)

    def test_a_bleed_gate_holds_speed_in_the_main(self) -> None:
        bleed = learned().school.bleed
        assert bleed is not None and len(bleed.helped) > 5
        run_name, number = bleed.section.rsplit(" ", 1)
        area = np.pi * bleed.bore_m**2 / 4.0
        cut = changed(spelled_out(benches()), [air_bleed(run_name, int(number), area)])
        names = [before.name for before, _ in bleed.helped]
        cases = check(cut, [Choice(name, (name,)) for name in names]).loaded
        for case, (before, after) in zip(cases, bleed.helped, strict=True):
            assert not before.may_run and case.may_run and after.may_run
            assert after.machine(case.name).flow_m3_s == pytest.approx(case.machine(case.name).flow_m3_s, rel=1e-9)

    def test_classes_two_at_a_time_are_judged_as_check_would(self) -> None:
        ((names, case),) = learned().school.classes
        sets = {one.name: one.asked for one in learned().named}
        together = check(benches(), [Choice("both", (*sets[names[0]], *sets[names[1]]))]).loaded[0]
        assert case.word == together.word

    def test_every_helper_that_works_is_told_with_what_it_costs(self) -> None:
        helped = next(one for one in learned().helped if one.before.name == "bench 3")
        others = [name for name in learned().machines if name != "bench 3"]
        cases = check(benches(), [Choice(name, ("bench 3", name), (name,)) for name in others]).loaded
        had = helped.before.machine("bench 3").flow_m3_s
        lost = {case.name: had - case.machine("bench 3").flow_m3_s for case in cases if case.may_run}
        assert {names[0] for names, _ in helped.every} == set(lost)
        costs = [air_lost(helped.before, after)[1] for _, after in helped.every]
        assert costs == sorted(costs) and len(costs) > 1
        for names, after in helped.every:
            assert air_lost(helped.before, after) == ("bench 3", pytest.approx(lost[names[0]], rel=1e-6))

    def test_the_card_gives_bounds_for_larger_sets(self) -> None:
        text = rendered(card_blocks(card(benches()), Display("inch")), Page(80))
        assert "ot looked at" not in text and "KEEP A GATE OPEN" in text


def test_the_card_of_a_school_says_who_can_never_be_in_one_set() -> None:
    found = card(read_shop(EXAMPLES / "joinery-class"))
    text = rendered(card_blocks(found, Display("metric")), Page(80)).replace("\u00a0", " ")
    assert found.school.one_of and "ot looked at" not in text
    for group in found.school.one_of:
        assert all(name in text.partition("THREE OR MORE")[2].partition("NAMED SETS")[0] for name in group)


def test_small_shops_are_told_the_stretches_alone() -> None:
    assert all(every_set(seed).school.bleed is None and not every_set(seed).school.one_of for seed in SEEDS)


def test_the_short_report_of_the_creamery_keeps_to_its_budget() -> None:
    found = gates(read_shop(EXAMPLES / "creamery"))
    text = rendered(short_gates(found, Display("inch"), Typed(command="gates", shop="examples/creamery")), Page(80))
    assert len(text.splitlines()) <= 45
