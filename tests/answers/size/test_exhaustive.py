"""A sizing against every sizing there is, each written out row by row and solved in full."""

from __future__ import annotations

import os
from functools import cache
from math import ceil

import pytest

import ductcalc
from ductcalc.cases.case import Case
from tests.answers.size.shops import Small, cases_of, random_small

SEEDS = range(60 if os.environ.get("DUCTCALC_LONG") else 16)
"""Sixty shops in the long run by hand, sixteen otherwise."""
AS_WRITTEN = 5
INCH = 0.0254
LEVEL, RISER = 0.889, 0.9398


@cache
def solved(seed: int) -> dict[tuple[int, ...], tuple[Case, ...]]:
    """Solve every sizing of a shop."""
    small = random_small(seed)
    return {sizes: cases_of(small.shop(sizes)) for sizes in small.every()}


@cache
def sized(seed: int) -> ductcalc.Sizing:
    small = random_small(seed)
    return ductcalc.size(small.shop((AS_WRITTEN,) * small.stretches))


def lack(case: Case) -> float:
    """How far a set is from being fine, read off the answer: the largest share that is missing."""
    if not case.solved:
        return 2.0
    lacks = [1.0 - p.flow_m3_s / p.wanted_m3_s for m in case.machines if m.runs for p in m.ports]
    for section in case.sections:
        if section.needed_velocity_m_s is not None:
            lacks.append(1.0 - section.velocity_m_s / (LEVEL * section.needed_velocity_m_s))
            if section.riser_velocity_m_s is not None:
                lacks.append(1.0 - section.riser_velocity_m_s / (RISER * section.needed_velocity_m_s))
    return max(0.0, *lacks)


def chosen(small: Small, answer: ductcalc.Sizing) -> tuple[int, ...]:
    """The sizes [in] of an answer in the order of the small shop: machines, then the main behind the wye."""
    by_name = {stretch.stretch: round(stretch.chosen_m[0] / INCH) for stretch in answer.stretches}
    drops = [by_name[f"drop {n} 1"] for n in range(1, len(small.flows))]
    return (by_name["main 1"], *drops, by_name["main 2"])


@pytest.mark.parametrize("seed", SEEDS)
def test_it_is_the_best_of_all(seed: int) -> None:
    small, answer = random_small(seed), sized(seed)
    assert all(case.well == (lack(case) <= 1e-9) for cases in solved(seed).values() for case in cases)
    fine = [sizes for sizes, cases in solved(seed).items() if all(case.well for case in cases)]
    assert answer.found == bool(fine)
    assert answer.proven
    if fine:
        least = min(map(small.cost_kg, fine))
        assert answer.cost_then == pytest.approx(least, rel=1e-9)
        assert answer.bound == pytest.approx(least, rel=1e-9)
        assert chosen(small, answer) in fine
        return
    keys = {sizes: ranking(small, sizes, cases) for sizes, cases in solved(seed).items()}
    best = min(keys.values())
    assert answer.impossible and answer.bound is None
    assert keys[chosen(small, answer)] == pytest.approx(best, rel=1e-7)


def ranking(small: Small, sizes: tuple[int, ...], cases: tuple[Case, ...]) -> tuple[int, int, float]:
    """Sets not fine, then the worst lack in whole per cents, then the weight."""
    return sum(not c.well for c in cases), ceil(100.0 * max(map(lack, cases)) - 1e-7), small.cost_kg(sizes)


def test_the_random_shops_are_of_both_kinds() -> None:
    found = [sized(seed).found for seed in SEEDS]
    assert len(SEEDS) / 6 <= sum(found) <= 0.75 * len(SEEDS)
    assert {random_small(seed).stretches for seed in SEEDS} == {2, 3, 4}
    cases = [case for seed in SEEDS for found in solved(seed).values() for case in found]
    assert {section.decides for case in cases for section in case.settling} == {"level", "riser"}


@pytest.mark.parametrize("seed", SEEDS)
def test_the_sized_shop_keeps_its_promise_in_a_check(seed: int) -> None:
    small, answer = random_small(seed), sized(seed)
    verdict = ductcalc.check(answer.sized)
    assert verdict.well == answer.found
    assert [case.well for case in verdict.loaded] == [case.well for case in answer.then]
    by_hand = cases_of(small.shop(chosen(small, answer)))
    for mine, theirs in zip(answer.then, by_hand, strict=True):
        assert mine.collector is None or theirs.collector is not None
        flows = [m.flow_m3_s for m in mine.machines], [m.flow_m3_s for m in theirs.machines]
        assert flows[0] == pytest.approx(flows[1], rel=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_fine_as_written_stays_fine_and_costs_no_more(seed: int) -> None:
    answer = sized(seed)
    if answer.fine_now:
        assert answer.found
        assert answer.cost_now is not None and answer.cost_then <= answer.cost_now * (1.0 + 1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_each_reason_is_the_difference_of_two_full_solves(seed: int) -> None:
    small, answer = random_small(seed), sized(seed)
    place = {"main 1": 0, **{f"drop {n} 1": n for n in range(1, len(small.flows))}, "main 2": len(small.flows)}
    for stretch in answer.stretches:
        for side in (stretch.down, stretch.up):
            if side is None:
                continue
            sizes = list(chosen(small, answer))
            sizes[place[stretch.stretch]] = round(side.size_m / INCH)
            cases = {case.name: case for case in solved(seed)[tuple(sizes)]}
            added = small.cost_kg(sizes) - answer.cost_then
            assert side.added_cost == pytest.approx(added, abs=1e-9)
            if side.worst.kind == "short":
                machine = cases[side.worst.case].machine(str(side.worst.machine))
                assert side.worst.flow_m3_s == pytest.approx(machine.flow_m3_s, rel=1e-9)
                assert not machine.served
            elif side.worst.kind == "settles":
                found = {s.section: s for s in cases[side.worst.case].settling}
                section = found[str(side.worst.section)]
                assert side.worst.velocity_m_s == pytest.approx(section.deciding_velocity_m_s, rel=1e-9)
                assert side.worst.settling_velocity_m_s == pytest.approx(section.settling_velocity_m_s, rel=1e-9)
            elif side.worst.kind == "no worse":
                before = {case.name: lack(case) for case in answer.then}
                assert all(lack(case) <= before[name] + 0.005 for name, case in cases.items())
                assert not answer.found or (side.added_cost > 0.0 and all(case.well for case in cases.values()))
