"""What pieces are worth: never more than a stick can hold, and a bound as good as linear programming's."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from ductcalc.answers.parts.cutting import Stock, cut_plan
from ductcalc.answers.parts.cutting_bound import Needs, bought_by
from ductcalc.answers.parts.cutting_prices import MOST_LENGTHS, most_worth, priced
from tests.answers.parts.test_cutting import exact, patterns

small = st.lists(st.integers(3, 40), min_size=1, max_size=8)
around_some = st.lists(st.tuples(st.integers(3, 60), st.integers(1, 2)), max_size=2)


def needs_of(pieces: list[int], around: list[tuple[int, int]], kerf: int) -> Needs:
    return Needs.of(pieces, [(40, None), (25, None), *around], kerf)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(pieces=small, around=around_some, kerf=st.integers(0, 2))
def test_the_bound_never_exceeds_the_exact_solution(
    pieces: list[int], around: list[tuple[int, int]], kerf: int
) -> None:
    found = priced(needs_of(pieces, around, kerf))
    assert found is not None
    stocks = [Stock(40), Stock(25), *(Stock(length, count) for length, count in around)]
    assert bought_by(needs_of(pieces, around, kerf), found.weighing) <= exact(pieces, stocks, kerf)[0]


@settings(max_examples=80, deadline=None, derandomize=True)
@given(pieces=small, around=around_some, kerf=st.integers(0, 2))
def test_the_bound_is_the_linear_program_s_over_all_patterns(
    pieces: list[int], around: list[tuple[int, int]], kerf: int
) -> None:
    needs = needs_of(pieces, around, kerf)
    found = priced(needs)
    assert found is not None
    weight, holds = found.weighing
    # nothing is worth anything when what lies around is enough
    for_each = min((needs.stock_lengths[n] / holds[n] for n in needs.sold if holds[n]), default=0.0)
    by_worths = (weight - sum(needs.available[n] * holds[n] for n in holds if n not in needs.sold)) * for_each
    columns = [
        (n, taken)
        for n, length in enumerate(needs.stock_lengths)
        for taken in patterns(needs.lengths, needs.counts, length, kerf)
    ]
    made = np.array([taken for _, taken in columns], dtype=float).T
    cost = [needs.stock_lengths[n] if n in needs.sold else 0.0 for n, _ in columns]
    limits = [(-made, -np.array(needs.counts, dtype=float))]
    for number in range(2, len(needs.stock_lengths)):
        used = np.array([[float(n == number) for n, _ in columns]])
        limits.append((used, np.array([float(needs.available[number])])))
    solved = linprog(cost, np.vstack([a for a, _ in limits]), np.concatenate([b for _, b in limits]))
    assert solved.success
    assert max(by_worths, 0.0) == pytest.approx(solved.fun, abs=1e-4)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(pieces=small, worths=st.lists(st.integers(0, 50), min_size=8, max_size=8), kerf=st.integers(0, 2))
def test_no_filling_is_worth_more_than_is_said(pieces: list[int], worths: list[int], kerf: int) -> None:
    needs = Needs.of(pieces, [(40, None)], kerf)
    own = worths[: len(needs.lengths)]
    fillings = (
        taken
        for taken in product(*(range(count + 1) for count in needs.counts))
        if sum(n * each for n, each in zip(taken, needs.weights, strict=True)) <= needs.room[0]
    )
    best = max(sum(n * worth for n, worth in zip(taken, own, strict=True)) for taken in fillings)
    found, taken, at_most = most_worth(needs, own, 0)
    assert found == at_most == best
    assert sum(n * worth for n, worth in zip(taken, own, strict=True)) == best


def test_many_like_pieces_are_planned_and_proven() -> None:
    pieces = [n for n in (710, 630, 520, 440, 330, 290, 260, 170) for _ in range(300)]
    plan = cut_plan(pieces, [Stock(1200)], 3)
    assert plan.proven and len(plan.sticks) == plan.sticks_at_least
    assert sorted(number for stick in plan.sticks for number in stick.pieces) == list(range(len(pieces)))


def test_with_very_many_unlike_lengths_nothing_is_priced() -> None:
    assert priced(Needs.of(range(1, MOST_LENGTHS + 2), [(100, None)], 0)) is None
