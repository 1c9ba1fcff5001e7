"""The best plan against exact solutions by other routes: all patterns at once, and every way to join long pieces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from ductcalc.answers.parts import cutting
from ductcalc.answers.parts.cutting import cut
from ductcalc.answers.parts.quick_cutting import CutPlan, Job, Stock, cost_of, quick_plans
from tests.answers.parts.lists import SCHOOL, SHORT, bought, check_sound, long_jobs, random_list


def patterns(lengths: Sequence[int], counts: Sequence[int], stock: int, kerf: int) -> Iterator[tuple[int, ...]]:
    """Every choice of pieces that one stick can give, written without any rule of the package."""
    for taken in product(*(range(count + 1) for count in counts)):
        pieces = sum(taken)
        cuts = max(pieces - 1, 0)
        if pieces and sum(n * length for n, length in zip(taken, lengths, strict=True)) + cuts * kerf <= stock:
            yield taken


def exact(job: Job) -> tuple[int, int]:
    """Return the least cost and the fewest sticks for it, by integer programming over all patterns."""
    counted = sorted(Counter(job.pieces).items())
    lengths, counts = [length for length, _ in counted], [count for _, count in counted]
    columns = [(n, p) for n, stock in enumerate(job.stocks) for p in patterns(lengths, counts, stock.length, job.kerf)]
    made = np.array([pattern for _, pattern in columns]).T
    sold = np.array([job.stocks[n].count is None for n, _ in columns], dtype=float)
    in_money = all(stock.price is not None for stock in job.stocks if stock.count is None)
    price = [(job.stocks[n].price or 0) if in_money else job.stocks[n].length for n, _ in columns]
    limits = [LinearConstraint(made, lb=np.array(counts))]
    for number, stock in enumerate(job.stocks):
        if stock.count is not None:
            limits.append(LinearConstraint(np.array([[float(n == number) for n, _ in columns]]), ub=stock.count))
    # cost first: one stick more never outweighs a unit of cost
    cost = sold * (np.array(price) * 1000.0 + 1.0)
    found = milp(cost, constraints=limits, integrality=np.ones(len(columns)), bounds=Bounds(0, np.inf))
    assert found.success
    times = np.round(found.x)
    return int(sold * price @ times), int(sold @ times)


def split_ways(length: int, parts: int, most: int) -> Iterator[tuple[int, ...]]:
    """Yield every way to write a length as at most so many parts, none longer than `most`, long ones first."""
    if length == 0:
        yield ()
    elif parts:
        for first in range(min(length, most), 0, -1):
            for others in split_ways(length - first, parts - 1, first):
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


def best_of_all_joints(job: Job) -> tuple[int, int]:
    """Return the least cost over all ways to join long pieces with one part more than needed at most."""
    sold = tuple(stock.length for stock in job.stocks if stock.count is None)
    around = tuple(stock.length for stock in job.stocks for _ in range(stock.count or 0))
    most, longest = max((*sold, *around)), max(sold)
    ways = [
        list(split_ways(length, -(-length // longest) + 1, most)) if length > longest else [(length,)]
        for length in job.pieces
    ]
    known = {tuple(sorted(part for split in splits for part in split)) for splits in product(*ways)}
    return min(found for parts in known if (found := packed(parts, sold, around, job.kerf)) is not None)


def best(job: Job) -> tuple[CutPlan, tuple[int, int]]:
    """Return the plan, when it is sound, and its cost."""
    plan = cut(job)
    check_sound(job, plan.sticks)
    assert plan.at_least <= sum(bought(job, plan.sticks))
    return plan, cost_of(job, plan.sticks)[:2]


@settings(max_examples=120, deadline=None, derandomize=True)
@given(SHORT)
def test_short_pieces_cost_what_the_exact_solution_costs(job: Job) -> None:
    plan, cost = best(job)
    assert cost == exact(job)
    assert plan.proven
    assert (plan.at_least, plan.sticks_at_least) == cost


@settings(max_examples=80, deadline=None, derandomize=True)
@given(SHORT, st.lists(st.integers(1, 9), min_size=3, max_size=3))
def test_with_prices_the_plan_costs_what_the_exact_solution_in_money_costs(job: Job, prices: list[int]) -> None:
    given_prices = iter(prices)
    stocks = (replace(one, price=next(given_prices)) if one.count is None else one for one in job.stocks)
    priced = replace(job, stocks=tuple(stocks))
    plan, cost = best(priced)
    assert plan.proven and cost == exact(priced)


@pytest.mark.parametrize("seed", range(12))
def test_fifteen_pieces_cost_what_the_exact_solution_costs(seed: int) -> None:
    job = replace(random_list(seed, 5, 0), kerf=4)
    job = replace(job, pieces=(job.pieces * 5)[:15])
    plan, cost = best(job)
    assert plan.proven and cost == exact(job)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(long_jobs())
def test_long_pieces_cost_what_the_best_of_all_joints_costs(job: Job) -> None:
    plan, cost = best(job)
    assert plan.proven
    assert cost == best_of_all_joints(job)


def test_lists_as_ducts_have_them_are_mostly_proven() -> None:
    """Without long pieces every list is; with them nine of ten."""
    plans = [best(random_list(seed, 20, 0))[0] for seed in range(30)]
    assert all(plan.proven for plan in plans)
    joined = [best(random_list(seed, 12, 3))[0] for seed in range(30)]
    assert sum(plan.proven for plan in joined) >= 27


HARD = Job((56, 37, 34, 29, 19, 19), (Stock(100),))
"""Two sticks hold it, of which best fit makes three."""


def test_integer_programming_betters_the_quick_plan() -> None:
    assert min(cost_of(HARD, sticks)[1] for sticks in quick_plans(HARD)) == 3
    plan, cost = best(HARD)
    assert cost == (200, 2) and plan.proven


def test_without_scipy_the_quick_plan_is_taken_and_not_called_the_best(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_module(name: str) -> None:
        raise ImportError(name)

    monkeypatch.setattr(cutting, "import_module", no_module)
    plan, cost = best(HARD)
    assert cost == (300, 3) and not plan.proven
    assert (plan.at_least, plan.sticks_at_least) == (200, 2)
    assert best(SCHOOL)[0].proven


def test_the_school_s_pipe_takes_nine_sticks() -> None:
    plan, cost = best(SCHOOL)
    assert cost == (27_000, 9) and plan.proven


@pytest.mark.parametrize(("limit", "job"), [("MOST_FILLINGS", HARD), ("MOST_PARTS", random_list(14, 12, 3))])
def test_what_is_too_large_for_integer_programming_keeps_the_quick_plan(
    limit: str, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    quick = min(cost_of(job, sticks) for sticks in quick_plans(job))
    assert best(job)[1] < quick[:2]
    monkeypatch.setattr(cutting, limit, 2)
    plan, cost = best(job)
    assert cost == quick[:2] and not plan.proven


def test_costs_too_fine_to_tell_apart_keep_the_quick_plan() -> None:
    fine = replace(HARD, stocks=(Stock(100, None, 10**9 + 7), Stock(60, None, 10**9 + 9)))
    assert not cut(fine).proven


def test_the_same_pieces_give_the_same_plan() -> None:
    job = random_list(7, 25, 3)
    assert cut(job) == cut(job)


def test_a_whole_stick_needs_no_cut() -> None:
    assert cut(Job((100, 100), (Stock(100),), 3)).at_least == 200


def test_the_saw_cut_counts_between_pieces_only() -> None:
    assert len(cut(Job((49, 48), (Stock(100),), 3)).sticks) == 1
    assert len(cut(Job((49, 49), (Stock(100),), 3)).sticks) == 2


def test_what_lies_around_is_used_before_anything_is_bought() -> None:
    plan = cut(Job((60, 30), (Stock(100), Stock(61, 1), Stock(30, 1))))
    assert plan.at_least == 0 and {stick.stock for stick in plan.sticks} == {1, 2}


def test_a_joint_that_costs_more_than_the_stick_it_spares_is_not_made() -> None:
    three = Job((1600, 1600, 1600), (Stock(1000, None, 10),), 1, 50, joint=3)
    assert cost_of(three, cut(three).sticks) == (5 * 10 + 4 * 3, 5, 4)
    dear = replace(three, joint=11)
    assert cost_of(dear, cut(dear).sticks) == (6 * 10 + 3 * 11, 6, 3)


def test_money_decides_where_every_length_has_a_price_and_length_where_one_has_none() -> None:
    priced = Job((60, 60), (Stock(130, None, 9), Stock(60, None, 4)))
    assert bought(priced, cut(priced).sticks) == [60, 60]
    cheap = Job((60, 60), (Stock(130, None, 7), Stock(60, None, 4)))
    assert bought(cheap, cut(cheap).sticks) == [130]
    half = Job((60, 60), (Stock(130, None, 7), Stock(60)))
    assert bought(half, cut(half).sticks) == [60, 60]


def test_long_pieces_are_joined_from_what_lies_around_first() -> None:
    job = Job((1600, 1600, 1600), (Stock(1000), Stock(800, 6)), 1, 50)
    plan, cost = best(job)
    assert cost == (0, 0) and plan.proven
    assert {stick.cuts[0][1] for stick in plan.sticks} == {800}


def test_a_long_stick_lying_around_gives_a_long_piece_in_one() -> None:
    job = Job((1600, 300), (Stock(1000), Stock(2000, 1)), 1, 50)
    (stick,) = cut(job).sticks
    assert stick.cuts == ((0, 1600), (1, 300))


def test_a_stick_is_spared_for_one_joint_more() -> None:
    job = Job((1600, 1600, 1600), (Stock(1000),), 1, 50)
    assert cost_of(job, cut(job).sticks) == (5000, 5, 4)


def test_no_part_is_shorter_than_the_shortest() -> None:
    job = Job((1600, 1600, 1600), (Stock(1000),), 1, 450)
    plan, cost = best(job)
    assert cost == (6000, 6) and plan.proven


def test_no_pieces_need_no_sticks() -> None:
    assert cut(Job((), (Stock(100),))) == CutPlan((), 0, 0, True)


@pytest.mark.parametrize(
    "job",
    [Job((0,), (Stock(9),)), Job((3,), (Stock(0),)), Job((1,), ()), Job((1,), (Stock(9),), -1)],
    ids=["no length", "stick of nothing", "nothing sold", "negative cut"],
)
def test_nonsense_is_refused(job: Job) -> None:
    with pytest.raises(ValueError, match=r"length"):
        cut(job)
