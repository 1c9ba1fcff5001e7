"""Bit patterns of gate sets: the largest, the smallest, the possible ones, and pairs told in groups."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.answers.gates.sets import (
    any_two_of,
    count_possible,
    every_mask,
    has_proper_subset,
    has_proper_superset,
    mask_of,
    masks_up_to,
    maximal,
    minimal,
    places_of,
    possible,
)

FLAGS = st.integers(0, 6).flatmap(lambda n: st.lists(st.booleans(), min_size=1 << n, max_size=1 << n))


def some_pairs(machines: int) -> st.SearchStrategy[tuple[int, set[tuple[int, int]]]]:
    """Draw some pairs of so many machines."""
    return st.tuples(st.just(machines), st.sets(st.sampled_from(list(combinations(range(machines), 2)))))


def holds(one: int, other: int) -> bool:
    """Whether one pattern is a proper part of another."""
    return one != other and one & other == one


@given(FLAGS)
def test_largest_and_smallest_flagged_patterns(flags: list[bool]) -> None:
    known = [mask for mask, flag in enumerate(flags) if flag]
    array = np.array(flags)
    assert set(maximal(array).tolist()) == {a for a in known if not any(holds(a, b) for b in known)}
    assert set(minimal(array).tolist()) == {a for a in known if not any(holds(b, a) for b in known)}


@given(FLAGS)
def test_patterns_with_a_flagged_part_or_whole(flags: list[bool]) -> None:
    known = [mask for mask, flag in enumerate(flags) if flag]
    array = np.array(flags)
    assert has_proper_superset(array).tolist() == [any(holds(m, k) for k in known) for m in range(len(flags))]
    assert has_proper_subset(array).tolist() == [any(holds(k, m) for k in known) for m in range(len(flags))]


@given(st.integers(2, 7).flatmap(some_pairs))
def test_count_of_possible_patterns(drawn: tuple[int, set[tuple[int, int]]]) -> None:
    machines, pairs = drawn
    assert count_possible(machines, sorted(pairs)) == len(possible(every_mask(machines), sorted(pairs)))


def test_patterns_up_to_a_size_stand_small_ones_first() -> None:
    masks = masks_up_to(4, 2)
    assert [places_of(mask) for mask in masks] == [(0,), (1,), (2,), (3,), *combinations(range(4), 2)]
    assert [mask_of(places_of(mask)) for mask in masks] == masks


@given(st.integers(2, 8).flatmap(some_pairs))
def test_groups_of_which_any_two_may_run_tell_exactly_the_pairs(drawn: tuple[int, set[tuple[int, int]]]) -> None:
    machines, found = drawn
    names = [f"m{n}" for n in range(machines)]
    pairs = {(names[a], names[b]) for a, b in found}
    groups = any_two_of(sorted(pairs), names)
    assert {pair for group in groups for pair in combinations(group, 2)} == pairs


@pytest.mark.parametrize("count", [3, 6])
def test_all_pairs_are_one_group(count: int) -> None:
    names = [f"m{n}" for n in range(count)]
    assert any_two_of(list(combinations(names, 2)), names) == (tuple(names),)
