"""Gate sets against the check, set by set, on random small shops."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import combinations

import numpy as np
import pytest

import ductcalc
from ductcalc.answers.gates.gates import Gates, gates
from ductcalc.answers.gates.helpers import HelperAnswer
from ductcalc.cases.case import CaseAnswer
from ductcalc.cases.choices import Choice
from ductcalc.shop import Shop
from tests.gate_shops import random_shop

SEEDS = range(8)
Names = frozenset[str]


@cache
def made(seed: int) -> tuple[Shop, Gates]:
    shop = random_shop(np.random.default_rng(seed), 4)
    return shop, gates(shop, 5)


@cache
def cases(seed: int) -> dict[Names, CaseAnswer]:
    """Return the check's case of every possible set."""
    shop, found = made(seed)
    apart = [set(pair) for pair in found.sharing]
    every = [set(c) for size in range(1, len(found.machines) + 1) for c in combinations(found.machines, size)]
    possible = [names for names in every if not any(pair <= names for pair in apart)]
    asks = [ductcalc.Ask.machines(*sorted(names)) for names in possible]
    loaded = ductcalc.check(shop, asks).loaded
    return {frozenset(names): case for names, case in zip(possible, loaded, strict=True)}


def served(case: CaseAnswer) -> bool:
    return case.solved and not case.short


def word(case: CaseAnswer) -> str:
    if not case.solved:
        return "no answer"
    words = ["short"] * bool(case.short) + ["settles"] * bool(case.settling)
    return " and ".join(words) or "fine"


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
    assert {frozenset(m.machine for m in a.machines) for a in answers} == set(cases(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_words_air_and_slow_sections_are_those_of_the_check(seed: int) -> None:
    _, found = made(seed)
    for answer in (*found.singles, *found.together):
        case = cases(seed)[frozenset(m.machine for m in answer.machines)]
        assert answer.word == word(case)
        assert answer.settling == len(case.settling)
        for machine in answer.machines:
            twin = case.machine(machine.machine)
            assert machine.served == twin.served
            assert machine.flow_m3_s == pytest.approx(twin.flow_m3_s, rel=1e-9)
            own = {port.run: port.flow_m3_s for port in twin.ports}
            assert {p.run: p.flow_m3_s for p in machine.ports} == pytest.approx(own, rel=1e-9)
        slow = answer.slowest
        assert slow is not None
        section = next(s for s in case.sections if s.section == slow.section)
        speed = section.riser_velocity_m_s if slow.rises else section.velocity_m_s
        assert (slow.velocity_m_s, slow.needed_velocity_m_s) == pytest.approx((speed, section.needed_velocity_m_s))


@pytest.mark.parametrize("seed", SEEDS)
def test_largest_sets_are_exactly_the_maximal_served_ones(seed: int) -> None:
    _, found = made(seed)
    expected = maximal(names for names, case in cases(seed).items() if served(case))
    told = [frozenset(m.machine for m in answer.machines) for answer in found.largest]
    assert len(told) == len(set(told))
    assert set(told) == expected


@pytest.mark.parametrize("seed", SEEDS)
def test_forbidden_sets_are_exactly_the_minimal_short_ones(seed: int) -> None:
    _, found = made(seed)
    refused = {names for names, case in cases(seed).items() if not served(case)}
    expected = minimal(refused)
    assert {frozenset(names) for names in found.forbidden} == expected
    holding = {names for names in cases(seed) if any(one <= names for one in expected)}
    assert found.exceptions == len(holding - refused)


def test_the_random_shops_have_something_to_tell() -> None:
    found = [made(seed)[1] for seed in SEEDS]
    assert sum(len(one.forbidden) for one in found) >= 10
    assert sum(len(one.helped) for one in found) >= 15
    assert any(one.sharing for one in found)
    assert any(len(m.ports) > 1 for one in found for a in one.singles for m in a.machines)


def tried(shop: Shop, running: tuple[str, ...], helpers: tuple[str, ...]) -> tuple[bool, bool, float]:
    """Return whether chips move everywhere, whether all are served, and the poorest port's share of its wanted air."""
    choice = Choice("trial", (*running, *helpers), helpers)
    case = ductcalc.check(shop, [choice]).loaded[0]
    ports = [port for name in running for port in case.machine(name).ports]
    return not case.settling, not case.short, min(port.flow_m3_s / port.wanted_m3_s for port in ports)


def best_of(shop: Shop, found: Gates, running: tuple[str, ...], size: int) -> tuple[bool, float] | None:
    """Return (served, share) of the best way to help with so many gates, None when none cures."""
    others = [name for name in found.machines if name not in running]
    ranks = []
    for helpers in combinations(others, size):
        if any(set(pair) <= {*running, *helpers} for pair in found.sharing):
            continue
        moves, all_served, share = tried(shop, running, helpers)
        if moves:
            ranks.append((all_served, share))
    return max(ranks, default=None)


@pytest.mark.parametrize("seed", SEEDS)
def test_best_helpers_are_those_of_an_exhaustive_trial(seed: int) -> None:
    shop, found = made(seed)
    told = {tuple(m.machine for m in h.before.machines): h for h in found.helped}
    settling = [a for a in (*found.singles, *found.together) if a.settling and len(a.machines) <= 2]
    for answer in settling:
        running = tuple(m.machine for m in answer.machines)
        one, two = (best_of(shop, found, running, size) for size in (1, 2))
        expected = one or two
        if expected is None:
            assert running not in told
            continue
        helped = told[running]
        assert len(helped.helpers) == (1 if one else 2)
        moves, all_served, share = tried(shop, running, helped.helpers)
        assert moves and all_served == expected[0]
        assert share == pytest.approx(expected[1], rel=1e-9)
        assert_after_is_told(helped, all_served)


def assert_after_is_told(helped: HelperAnswer, all_served: bool) -> None:
    after = helped.after
    assert after is not None and after.settling == 0
    assert after.word == ("fine" if all_served else "short")
    assert {m.machine for m in after.machines if m.helper} == set(helped.helpers)
