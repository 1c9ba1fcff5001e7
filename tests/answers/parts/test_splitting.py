"""Splits of long straights against every split there is, by a search of its own, and what every plan must keep."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.answers.parts.cutting import Stock
from ductcalc.answers.parts.splitting import SplitPlan, Task, split_plan

Cost = tuple[int, int, int]
"""Length bought, sticks bought, joints."""


def partitions(length: int, parts: int, most: int) -> Iterator[tuple[int, ...]]:
    """Yield every way to write a length as at most so many parts, none longer than `most`, long ones first."""
    if length == 0:
        yield ()
    elif parts:
        for first in range(min(length, most), 0, -1):
            for others in partitions(length - first, parts - 1, first):
                yield (first, *others)


def packed(pieces: Sequence[int], sold: tuple[int, ...], around: tuple[int, ...], kerf: int) -> tuple[int, int] | None:
    """Return the least bought and the fewest sticks, by trying every place for one piece after the other."""

    @cache
    def placed(number: int, gaps: tuple[int, ...], left: tuple[int, ...]) -> tuple[int, int] | None:
        if number == len(ordered):
            return (0, 0)
        piece, found = ordered[number], []
        for gap in {gap for gap in gaps if gap >= piece}:
            rest = list(gaps)
            rest.remove(gap)
            found.append(placed(number + 1, tuple(sorted([*rest, max(gap - piece - kerf, 0)])), left))
        for stick in {stick for stick in left if stick >= piece}:
            others = list(left)
            others.remove(stick)
            gap = max(stick - piece - kerf, 0)
            found.append(placed(number + 1, tuple(sorted([*gaps, gap])), tuple(others)))
        for stick in (stick for stick in sold if stick >= piece):
            gap = max(stick - piece - kerf, 0)
            cost = placed(number + 1, tuple(sorted([*gaps, gap])), left)
            found.append(None if cost is None else (cost[0] + stick, cost[1] + 1))
        return min((cost for cost in found if cost is not None), default=None)

    ordered = sorted(pieces, reverse=True)
    return placed(0, (), around)


def best_of_all(task: Task) -> Cost:
    """Return the least cost over all splits with one part more than needed at most."""
    sold = tuple(stock.length for stock in task.stocks if stock.count is None)
    around = tuple(stock.length for stock in task.stocks for _ in range(stock.count or 0))
    most = max((*sold, *around))
    ways = [list(partitions(length, -(-length // max(sold)) + 1, most)) for length in task.straights]
    known: dict[tuple[int, ...], tuple[int, int] | None] = {}
    best: Cost = (10**9, 0, 0)
    for splits in product(*ways):
        parts = tuple(sorted(part for split in splits for part in split))
        if parts not in known:
            known[parts] = packed((*parts, *task.pieces), sold, around, task.kerf)
        found = known[parts]
        if found is not None:
            best = min(best, (*found, len(parts) - len(splits)))
    return best


def cost_of(task: Task, found: SplitPlan) -> Cost:
    bought = [task.stocks[stick.stock].length for stick in found.plan.sticks if task.stocks[stick.stock].count is None]
    return sum(bought), len(bought), sum(len(split) - 1 for split in found.splits)


def check_sound(task: Task, found: SplitPlan) -> None:
    """The parts make up the straights, every piece is cut once, no stick gives too much or too often."""
    assert tuple(map(sum, found.splits)) == task.straights
    assert all(len(s) <= -(-length // task.longest) + 1 for s, length in zip(found.splits, task.straights, strict=True))
    lengths = [part for split in found.splits for part in split] + list(task.pieces)
    assert sorted(piece for stick in found.plan.sticks for piece in stick.pieces) == list(range(len(lengths)))
    for stick in found.plan.sticks:
        used = sum(lengths[piece] for piece in stick.pieces) + task.kerf * (len(stick.pieces) - 1)
        assert used <= task.stocks[stick.stock].length
    for number, stock in enumerate(task.stocks):
        used = sum(stick.stock == number for stick in found.plan.sticks)
        assert stock.count is None or used <= stock.count
    assert found.plan.bought == cost_of(task, found)[0] >= found.at_least


@st.composite
def tasks(draw: st.DrawFn) -> Task:
    """Draw a shop small enough for every split to be tried."""
    longest = draw(st.integers(7, 10))
    stocks = [Stock(longest)]
    stocks += [Stock(shorter) for shorter in draw(st.lists(st.integers(4, 6), max_size=1))]
    stocks += [Stock(*each) for each in draw(st.lists(st.tuples(st.integers(3, 14), st.integers(1, 2)), max_size=2))]
    straights = draw(st.lists(st.integers(longest + 1, 2 * longest), min_size=1, max_size=2))
    pieces = draw(st.lists(st.integers(1, longest), max_size=2))
    return Task(tuple(straights), tuple(pieces), tuple(stocks), draw(st.integers(0, 1)))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(task=tasks())
def test_small_shops_cost_what_the_best_of_all_splits_costs(task: Task) -> None:
    found = split_plan(task)
    check_sound(task, found)
    least = best_of_all(task)
    assert cost_of(task, found) == least
    assert found.at_least <= least[0]
    assert found.sticks_at_least <= least[1] or found.at_least < least[0]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(task=tasks())
def test_no_split_of_any_number_of_parts_buys_less_than_the_bound(task: Task) -> None:
    (straight, *others), longest = task.straights, task.longest
    one = Task((straight,), (*task.pieces, *(min(other, longest) for other in others)), task.stocks, task.kerf)
    found = split_plan(one)
    sold = tuple(stock.length for stock in one.stocks if stock.count is None)
    around = tuple(stock.length for stock in one.stocks for _ in range(stock.count or 0))
    ways = partitions(straight, -(-straight // longest) + 3, max((*sold, *around)))
    least = min(cost for way in ways if (cost := packed((*way, *one.pieces), sold, around, one.kerf)) is not None)
    assert found.at_least <= least[0]
    if found.proven:
        assert (found.plan.bought, cost_of(one, found)[1]) == least


def test_three_straights_of_two_sticks_lying_around_each_buy_nothing() -> None:
    task = Task((1600, 1600, 1600), (), (Stock(1000), Stock(800, 6)), 1, 50)
    found = split_plan(task)
    assert found.splits == ((800, 800),) * 3
    assert cost_of(task, found) == (0, 0, 3) and found.proven


def test_a_stick_is_spared_for_one_joint_more() -> None:
    task = Task((1600, 1600, 1600), (), (Stock(1000),), 1, 50)
    found = split_plan(task)
    check_sound(task, found)
    assert cost_of(task, found) == (5000, 5, 4) and found.proven


def test_a_long_stick_lying_around_gives_a_straight_in_one_piece() -> None:
    task = Task((1600,), (300,), (Stock(1000), Stock(2000, 1)), 1, 50)
    found = split_plan(task)
    check_sound(task, found)
    assert found.splits == ((1600,),) and cost_of(task, found) == (0, 0, 0)


def test_no_part_is_chosen_shorter_than_the_shortest() -> None:
    found = split_plan(Task((1600, 1600, 1600), (), (Stock(1000),), 1, 450))
    assert all(split[-1] >= 450 for split in found.splits)
    assert found.plan.bought == 6000 and found.plan.proven and not found.proven


@pytest.mark.parametrize("number", [30, 300])
def test_many_straights_are_planned_with_a_bound_and_the_same_every_time(number: int) -> None:
    rnd = random.Random(number)
    straights = tuple(rnd.randint(1001, 3000) for _ in range(number))
    task = Task(straights, (), (Stock(1000), Stock(800, 4), Stock(1300, 2)), 1, 50)
    found = split_plan(task)
    check_sound(task, found)
    assert found == split_plan(task)
    assert 0 <= found.plan.bought - found.at_least <= 0.15 * found.at_least
