"""The cut plan against an exact solution by another route, against its own bound, and what every plan must keep."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from ductcalc.answers.parts.cutting import CutPlan, Stock, cut_plan


def patterns(lengths: Sequence[int], counts: Sequence[int], stock: int, kerf: int) -> Iterator[tuple[int, ...]]:
    """Every choice of pieces that one stick can give, written without any rule of the package."""
    for taken in product(*(range(count + 1) for count in counts)):
        pieces = sum(taken)
        cuts = max(pieces - 1, 0)
        if pieces and sum(n * length for n, length in zip(taken, lengths, strict=True)) + cuts * kerf <= stock:
            yield taken


def exact(pieces: Sequence[int], stocks: Sequence[Stock], kerf: int) -> tuple[int, int]:
    """Return the least length bought and the fewest sticks for it, by integer programming over all patterns."""
    counted = sorted(Counter(pieces).items())
    lengths, counts = [length for length, _ in counted], [count for _, count in counted]
    columns = [(n, p) for n, stock in enumerate(stocks) for p in patterns(lengths, counts, stock.length, kerf)]
    made = np.array([pattern for _, pattern in columns]).T
    sold = [stocks[n].count is None for n, _ in columns]
    length = np.array([stocks[n].length if is_sold else 0 for (n, _), is_sold in zip(columns, sold, strict=True)])
    limits = [LinearConstraint(made, lb=np.array(counts))]
    for number, stock in enumerate(stocks):
        if stock.count is not None:
            limits.append(LinearConstraint(np.array([[float(n == number) for n, _ in columns]]), ub=stock.count))
    # length first: one stick more never outweighs a unit of length
    cost = length * 1000.0 + np.array(sold, dtype=float)
    found = milp(cost, constraints=limits, integrality=np.ones(len(columns)), bounds=Bounds(0, np.inf))
    assert found.success
    times = np.round(found.x)
    return int(length @ times), int(np.array(sold) @ times)


def check_sound(pieces: Sequence[int], stocks: Sequence[Stock], kerf: int, plan: CutPlan) -> None:
    """Every piece is cut exactly once, no stick gives more than it has, none is used more often than it is there."""
    assert sorted(number for stick in plan.sticks for number in stick.pieces) == list(range(len(pieces)))
    for stick in plan.sticks:
        assert stick.pieces
        used = sum(pieces[number] for number in stick.pieces) + kerf * (len(stick.pieces) - 1)
        assert used <= stocks[stick.stock].length
    for number, stock in enumerate(stocks):
        if stock.count is not None:
            assert sum(stick.stock == number for stick in plan.sticks) <= stock.count
    bought = [stocks[stick.stock].length for stick in plan.sticks if stocks[stick.stock].count is None]
    assert plan.bought == sum(bought)
    assert plan.at_least <= plan.bought
    assert plan.sticks_at_least <= len(bought) or plan.at_least < plan.bought


def bought_sticks(plan: CutPlan, stocks: Sequence[Stock]) -> int:
    return sum(stocks[stick.stock].count is None for stick in plan.sticks)


small = st.lists(st.integers(1, 40), min_size=1, max_size=8)


@settings(max_examples=120, deadline=None, derandomize=True)
@given(pieces=small, kerf=st.integers(0, 3))
def test_one_length_sold_needs_as_few_sticks_as_the_exact_solution(pieces: list[int], kerf: int) -> None:
    stocks = [Stock(40)]
    plan = cut_plan(pieces, stocks, kerf)
    check_sound(pieces, stocks, kerf, plan)
    assert plan.proven
    assert (plan.bought, bought_sticks(plan, stocks)) == exact(pieces, stocks, kerf)


@settings(max_examples=120, deadline=None, derandomize=True)
@given(
    pieces=small,
    kerf=st.integers(0, 2),
    around=st.lists(st.tuples(st.integers(1, 60), st.integers(1, 2)), max_size=3),
    sold=st.lists(st.integers(5, 60), max_size=2, unique=True),
)
def test_what_lies_around_and_several_lengths_agree_with_the_exact_solution(
    pieces: list[int], kerf: int, around: list[tuple[int, int]], sold: list[int]
) -> None:
    stocks = [Stock(40), *(Stock(length) for length in sold if length != 40)]
    stocks += [Stock(length, count) for length, count in around]
    plan = cut_plan(pieces, stocks, kerf)
    check_sound(pieces, stocks, kerf, plan)
    assert plan.proven
    assert (plan.bought, bought_sticks(plan, stocks)) == exact(pieces, stocks, kerf)


@pytest.mark.parametrize("seed", range(12))
def test_fifteen_pieces_agree_with_the_exact_solution(seed: int) -> None:
    rnd = random.Random(seed)
    kinds = rnd.sample(range(150, 1200), 5)
    pieces = [rnd.choice(kinds) for _ in range(15)]
    stocks = [Stock(1200), Stock(700, 2)]
    plan = cut_plan(pieces, stocks, 4)
    check_sound(pieces, stocks, 4, plan)
    assert (plan.bought, bought_sticks(plan, stocks)) == exact(pieces, stocks, 4)
    assert plan.proven


@settings(max_examples=40, deadline=None, derandomize=True)
@given(pieces=small, kerf=st.integers(0, 3), around=st.lists(st.integers(1, 90), max_size=3))
def test_the_bound_without_any_search_never_exceeds_the_exact_solution(
    pieces: list[int], kerf: int, around: list[int]
) -> None:
    stocks = [Stock(40), Stock(55), *(Stock(length, 1) for length in around)]
    plan = cut_plan(pieces, stocks, kerf, effort=0)
    check_sound(pieces, stocks, kerf, plan)
    length, sticks = exact(pieces, stocks, kerf)
    assert plan.at_least <= length <= plan.bought
    if plan.proven:
        assert (plan.bought, bought_sticks(plan, stocks)) == (length, sticks)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(pieces=st.lists(st.integers(100, 1200), min_size=40, max_size=120), kerf=st.integers(0, 5))
def test_many_pieces_come_close_to_the_lower_bound(pieces: list[int], kerf: int) -> None:
    stocks = [Stock(1200), Stock(500, 3)]
    plan = cut_plan(pieces, stocks, kerf, effort=2000)
    check_sound(pieces, stocks, kerf, plan)
    least = -(-(sum(pieces) - 1500) // 1200)
    assert least <= plan.sticks_at_least <= len(plan.sticks)
    # first fit decreasing is within 11/9 of the best; fuller sticks are no worse on these
    assert bought_sticks(plan, stocks) <= max(plan.sticks_at_least * 11 / 9 + 1, plan.sticks_at_least + 1)


def test_ten_thousand_pieces_are_planned_with_a_lower_bound() -> None:
    rnd = random.Random(3)
    pieces = [rnd.randint(100, 1200) for _ in range(10_000)]
    plan = cut_plan(pieces, [Stock(1200)], 3)
    check_sound(pieces, [Stock(1200)], 3, plan)
    assert 0 <= len(plan.sticks) - plan.sticks_at_least <= 0.01 * len(plan.sticks)


def test_the_same_pieces_give_the_same_plan() -> None:
    pieces = [random.Random(5).randint(100, 1200) for _ in range(60)]
    assert cut_plan(pieces, [Stock(1200)], 3) == cut_plan(pieces, [Stock(1200)], 3)


def test_a_whole_stick_needs_no_cut() -> None:
    assert cut_plan([100, 100], [Stock(100)], 3).bought == 200


def test_the_saw_cut_counts_between_pieces_only() -> None:
    assert len(cut_plan([49, 48], [Stock(100)], 3).sticks) == 1
    assert len(cut_plan([49, 49], [Stock(100)], 3).sticks) == 2


def test_what_lies_around_is_used_before_anything_is_bought() -> None:
    plan = cut_plan([60, 30], [Stock(100), Stock(61, 1), Stock(30, 1)])
    assert plan.bought == 0 and {stick.stock for stick in plan.sticks} == {1, 2}


def test_no_pieces_need_no_sticks() -> None:
    assert cut_plan([], [Stock(100)]) == CutPlan((), 0, 0, 0, True)


@pytest.mark.parametrize(
    ("pieces", "stocks", "kerf"),
    [
        ([0], [Stock(9)], 0),
        ([3], [Stock(0)], 0),
        ([10], [Stock(9), Stock(20, 1)], 0),
        ([1], [], 0),
        ([1], [Stock(9)], -1),
    ],
)
def test_nonsense_is_refused(pieces: list[int], stocks: list[Stock], kerf: int) -> None:
    with pytest.raises(ValueError, match=r"length|longer"):
        cut_plan(pieces, stocks, kerf)
