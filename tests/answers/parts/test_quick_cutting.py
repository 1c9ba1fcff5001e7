"""Plans made in one go: sound, close to the bound; and the bound, which no plan goes below."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.answers.parts.quick_cutting import Job, Sticks, Stock, cost_of, is_sound, least_cost, quick_plans
from tests.answers.parts.lists import SCHOOL, SHORT, bought, check_sound, long_jobs, random_list
from tests.answers.parts.test_cutting import exact


def quick(job: Job) -> Sticks:
    return min(quick_plans(job), key=lambda sticks: cost_of(job, sticks))


def bound(job: Job) -> tuple[int, int]:
    return least_cost(job, [job.price(number) for number in range(len(job.stocks))], job.joint_price)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(SHORT)
def test_quick_plans_of_short_pieces_are_sound_and_the_bound_is_below_the_exact_solution(job: Job) -> None:
    for sticks in quick_plans(job):
        check_sound(job, sticks)
        assert is_sound(job, sticks)
    assert bound(job) <= exact(job) <= cost_of(job, quick(job))[:2]


@settings(max_examples=100, deadline=None, derandomize=True)
@given(SHORT, st.lists(st.integers(0, 9), min_size=3, max_size=3))
def test_the_bound_in_money_is_below_the_exact_solution(job: Job, prices: list[int]) -> None:
    given_prices = iter(prices)
    stocks = (replace(one, price=next(given_prices)) if one.count is None else one for one in job.stocks)
    priced = replace(job, stocks=tuple(stocks))
    assert bound(priced)[0] <= exact(priced)[0] <= cost_of(priced, quick(priced))[0]


@settings(max_examples=100, deadline=None, derandomize=True)
@given(long_jobs())
def test_quick_plans_of_long_pieces_are_sound_and_not_below_the_bound(job: Job) -> None:
    for sticks in quick_plans(job):
        check_sound(job, sticks)
        assert cost_of(job, sticks)[:2] >= bound(job)


@pytest.mark.parametrize("seed", range(30))
def test_quick_plans_of_lists_as_ducts_have_them_are_sound(seed: int) -> None:
    job = random_list(seed, 30, 4)
    for sticks in quick_plans(job):
        check_sound(job, sticks)


def test_the_school_s_pipe_needs_no_more_sticks_than_the_bound() -> None:
    assert len(quick(SCHOOL)) == 9
    assert bound(SCHOOL) == (27_000, 9)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(pieces=st.lists(st.integers(100, 1200), min_size=40, max_size=120), kerf=st.integers(0, 5))
def test_many_pieces_come_close_to_the_bound(pieces: list[int], kerf: int) -> None:
    job = Job(tuple(pieces), (Stock(1200), Stock(500, 3)), kerf)
    # first fit decreasing is within 11/9 of the best; best fit is no worse on these
    assert len(bought(job, quick(job))) <= max(bound(job)[1] * 11 / 9 + 1, bound(job)[1] + 1)


def test_ten_thousand_pieces_are_planned_within_a_hundredth_of_the_bound() -> None:
    rnd = random.Random(3)
    job = Job(tuple(rnd.randint(100, 1200) for _ in range(10_000)), (Stock(1200),), 3)
    sticks = quick(job)
    check_sound(job, sticks)
    assert bound(job)[1] <= len(sticks) <= 1.01 * bound(job)[1]


@pytest.mark.parametrize("number", [30, 300])
def test_many_long_pieces_are_planned_close_to_the_bound(number: int) -> None:
    rnd = random.Random(number)
    pieces = tuple(rnd.randint(1001, 3000) for _ in range(number))
    job = Job(pieces, (Stock(1000), Stock(800, 4), Stock(1300, 2)), 1, 50)
    sticks = quick(job)
    check_sound(job, sticks)
    assert bound(job)[0] <= cost_of(job, sticks)[0] <= 1.15 * bound(job)[0]


def test_a_piece_too_many_on_a_stick_is_unsound() -> None:
    job = Job((60, 40), (Stock(101),), 1)
    (stick,) = quick(job)
    assert is_sound(job, (stick,))
    assert not is_sound(replace(job, kerf=2), (stick,))
    assert not is_sound(job, (stick, stick))
    assert not is_sound(replace(job, stocks=(Stock(101, 1), Stock(200))), (stick, replace(stick, cuts=())))


def test_a_stick_is_bought_in_the_cheapest_length_that_holds_its_pieces() -> None:
    job = Job((100,), (Stock(300), Stock(200)))
    assert bought(job, quick(job)) == [200]
    dear = Job((100,), (Stock(300, None, 5), Stock(200, None, 7)))
    assert bought(dear, quick(dear)) == [300]
