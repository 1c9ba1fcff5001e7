"""Gate sets against the check, set by set, on random small shops."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache
from itertools import combinations

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.shop import Shop
from tests.gate_shops import random_shop

SEEDS = range(8)
JUST_SHORT = 0.9
LEVEL, RISER = 0.889, 0.9398
"""3500 and 3700 of 3937 fpm as they are rounded in the data."""
Names = frozenset[str]


@cache
def made(seed: int) -> tuple[Shop, Gates]:
    shop = random_shop(np.random.default_rng(seed), 4)
    return shop, gates(shop, 5)


@cache
def cases(seed: int) -> dict[Names, Case]:
    """Return the check's case of every possible set."""
    shop, found = made(seed)
    apart = [set(pair) for pair in found.sharing]
    every = [set(c) for size in range(1, len(found.machines) + 1) for c in combinations(found.machines, size)]
    possible = [names for names in every if not any(pair <= names for pair in apart)]
    asks = [ductcalc.Ask.machines(*sorted(names)) for names in possible]
    loaded = ductcalc.check(shop, asks).loaded
    return {frozenset(names): case for names, case in zip(possible, loaded, strict=True)}


def least_share(case: Case) -> float:
    """Return air over wanted at the poorest port of those that run."""
    return min(port.flow_m3_s / port.wanted_m3_s for m in case.machines if m.runs for port in m.ports)


def air(case: Case) -> str:
    share = least_share(case)
    return "ok" if share >= 1.0 else "just short" if share >= JUST_SHORT else "short"


def chips(case: Case) -> str:
    """Grade the speeds of a case by the limits as they are written in the method."""
    grades = ["moves"]
    for section in case.sections:
        if section.needed_velocity_m_s is not None:
            level = section.velocity_m_s / section.needed_velocity_m_s
            riser = (section.riser_velocity_m_s or math.inf) / section.needed_velocity_m_s
            settles = level < LEVEL or riser < RISER
            grades.append("settles" if settles else "slow" if level < 1.0 else "moves")
    return max(grades, key=["moves", "slow", "settles"].index)


def word(case: Case) -> str:
    return ", ".join(part for part in (air(case), chips(case)) if part not in ("ok", "moves")) or "ok"


def nobody_short(case: Case) -> bool:
    return air(case) != "short"


def maximal(sets: Iterable[Names]) -> set[Names]:
    every = list(sets)
    return {one for one in every if not any(one < other for other in every)}


def minimal(sets: Iterable[Names]) -> set[Names]:
    every = list(sets)
    return {one for one in every if not any(other < one for other in every)}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_possible_set_is_solved_once(seed: int) -> None:
    _, found = made(seed)
    answers = (*found.singles, *found.together)
    assert len(answers) == found.solved_sets == found.possible_sets == len(cases(seed))
    assert {frozenset(answer.asked) for answer in answers} == set(cases(seed))
    assert all(case.solved for case in cases(seed).values())


@pytest.mark.parametrize("seed", SEEDS)
def test_words_air_and_slow_sections_are_those_of_the_check(seed: int) -> None:
    _, found = made(seed)
    for answer in (*found.singles, *found.together):
        case = cases(seed)[frozenset(answer.asked)]
        assert answer.word == case.word == word(case)
        assert answer.may_run == case.may_run == (air(case) != "short" and chips(case) != "settles")
        assert [s.section for s in answer.settling] == [s.section for s in case.settling]
        for machine in answer.asked_machines:
            twin = case.machine(machine.machine)
            assert (machine.served, machine.grade) == (twin.served, twin.grade)
            assert machine.flow_m3_s == pytest.approx(twin.flow_m3_s, rel=1e-9)
            own = {port.run: port.flow_m3_s for port in twin.ports}
            assert {p.run: p.flow_m3_s for p in machine.ports} == pytest.approx(own, rel=1e-9)
        slow = answer.slowest
        assert slow is not None
        section = next(s for s in case.sections if s.section == slow.section)
        speed = section.riser_velocity_m_s if slow.decides == "riser" else section.velocity_m_s
        assert (slow.deciding_velocity_m_s, slow.needed_velocity_m_s) == pytest.approx(
            (speed, section.needed_velocity_m_s)
        )
        assert section.settling_share == min(s.settling_share for s in case.sections if s.word == case.chips)


@pytest.mark.parametrize("seed", SEEDS)
def test_largest_sets_are_exactly_the_maximal_ones_in_which_nobody_is_short(seed: int) -> None:
    _, found = made(seed)
    told = [frozenset(answer.asked) for answer in found.largest]
    assert len(told) == len(set(told))
    assert set(told) == maximal(names for names, case in cases(seed).items() if nobody_short(case))


@pytest.mark.parametrize("seed", SEEDS)
def test_largest_sets_that_may_run_are_exactly_the_maximal_ones(seed: int) -> None:
    _, found = made(seed)
    told = [frozenset(answer.asked) for answer in found.largest_fine]
    assert len(told) == len(set(told))
    fine = (names for names, case in cases(seed).items() if nobody_short(case) and chips(case) != "settles")
    assert set(told) == maximal(fine)


@pytest.mark.parametrize("seed", SEEDS)
def test_forbidden_sets_are_exactly_the_minimal_short_ones(seed: int) -> None:
    _, found = made(seed)
    refused = {names for names, case in cases(seed).items() if not nobody_short(case)}
    expected = minimal(refused)
    assert {frozenset(names) for names in found.forbidden} == expected
    holding = {names for names in cases(seed) if any(one <= names for one in expected)}
    assert found.exceptions == len(holding - refused)


def test_the_random_shops_have_something_to_tell() -> None:
    found = [made(seed)[1] for seed in SEEDS]
    assert sum(len(one.forbidden) for one in found) >= 10
    assert sum(len(one.helped) for one in found) >= 15
    assert any(one.sharing for one in found)
    assert any(len(m.ports) > 1 for one in found for a in one.singles for m in a.asked_machines)
    every = [case for seed in SEEDS for case in cases(seed).values()]
    assert {air(case) for case in every} == {"ok", "just short", "short"}
    assert {chips(case) for case in every} == {"moves", "slow", "settles"}


def tried(shop: Shop, running: tuple[str, ...], helpers: tuple[str, ...]) -> Case:
    """Return the check's case of a set with some helpers."""
    return ductcalc.check(shop, [Choice("trial", (*running, *helpers), helpers)]).loaded[0]


def best_of(shop: Shop, found: Gates, running: tuple[str, ...], size: int) -> tuple[bool, float] | None:
    """Return (nobody short, share) of the best way to help with so many gates, None when none keeps chips moving."""
    others = [name for name in found.machines if name not in running]
    ranks = []
    for helpers in combinations(others, size):
        if any(set(pair) <= {*running, *helpers} for pair in found.sharing):
            continue
        case = tried(shop, running, helpers)
        if chips(case) != "settles":
            ranks.append((nobody_short(case), least_share(case)))
    return max(ranks, default=None)


@pytest.mark.parametrize("seed", SEEDS)
def test_best_helpers_are_those_of_an_exhaustive_trial(seed: int) -> None:
    shop, found = made(seed)
    told = {h.before.asked: h for h in found.helped}
    settling = [a for a in (*found.singles, *found.together) if a.settling and len(a.asked) <= 2]
    for answer in settling:
        running = answer.asked
        one, two = (best_of(shop, found, running, size) for size in (1, 2))
        expected = one or two
        if expected is None:
            assert running not in told
            continue
        helped = told[running]
        assert len(helped.helpers) == (1 if one else 2)
        case = tried(shop, running, helped.helpers)
        assert chips(case) != "settles" and nobody_short(case) == expected[0] == helped.cured
        assert least_share(case) == pytest.approx(expected[1], rel=1e-9)
        assert_after_is_told(helped, case)


def assert_after_is_told(helped: HelperAnswer, case: Case) -> None:
    after = helped.after
    assert after is not None and not after.settling
    assert after.word == word(case)
    assert after.helping == helped.helpers
    assert {m.machine for m in after.asked_machines if m.helper} == set(helped.helpers)
