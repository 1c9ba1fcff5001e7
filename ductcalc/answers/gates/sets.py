"""Gate sets as bit patterns: which are possible, the largest and smallest among them, pairs told in groups."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from ductcalc.cases.choices import usable_machines
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of

Flags = NDArray[np.bool_]
Masks = NDArray[np.int64]
MOST_FOR_ALL = 16
LEAST_GROUP = 3
"""Machines from which on a group is told as such."""


def clashes(model: Model) -> tuple[tuple[int, int], ...]:
    """Return pairs of machines (by their place among the usable ones) that share a hose."""
    machines = usable_machines(model)
    sections = [{model.ports[p].section for p in model.ports_of[key_of(m)] if not model.ports[p].off} for m in machines]
    return tuple((a, b) for a, b in combinations(range(len(machines)), 2) if sections[a] & sections[b])


def mask_of(places: Iterable[int]) -> int:
    """Return the bit pattern of a set of machines given by their places."""
    return sum(1 << place for place in places)


def places_of(mask: int) -> tuple[int, ...]:
    """Return the places of the machines in a bit pattern."""
    return tuple(place for place in range(mask.bit_length()) if mask >> place & 1)


def bits(masks: Sequence[int], machines: int) -> Flags:
    """Return which machines are in each pattern (machines, patterns); of any number of machines."""
    if machines < 63:
        return np.asarray(np.array(masks, dtype=np.int64) >> np.arange(machines)[:, None] & 1, dtype=bool)
    return np.array([[mask >> place & 1 for mask in masks] for place in range(machines)], dtype=bool)


def possible(masks: Sequence[int], pairs: Sequence[tuple[int, int]]) -> list[int]:
    """Return those patterns in which no two machines share a hose."""
    clash = [mask_of(pair) for pair in pairs]
    return [mask for mask in masks if not any(mask & pair == pair for pair in clash)]


def count_possible(machines: int, pairs: Sequence[tuple[int, int]]) -> int:
    """Return how many patterns but the empty one hold no two machines that share a hose."""
    apart = {place: {b for a, b in (*pairs, *((b, a) for a, b in pairs)) if a == place} for place in range(machines)}

    def count(places: frozenset[int]) -> int:
        """Count the patterns within some places, the empty one included."""
        busy = next((place for place in sorted(places) if apart[place] & places), None)
        if busy is None:
            return 1 << len(places)
        rest = places - {busy}
        return count(rest) + count(rest - apart[busy])

    return count(frozenset(range(machines))) - 1


def every_mask(machines: int) -> list[int]:
    """Return every pattern but the empty one, in the order of numbers."""
    return list(range(1, 1 << machines))


def masks_up_to(machines: int, most: int) -> list[int]:
    """Return every pattern of one to `most` machines, small ones first."""
    return [mask_of(places) for size in range(1, most + 1) for places in combinations(range(machines), size)]


def has_proper_superset(flags: Flags) -> Flags:
    """Return for each pattern (2^n,) whether a larger pattern that holds it is flagged."""
    found, machines = flags.copy(), len(flags).bit_length() - 1
    proper = np.zeros_like(flags)
    for bit in range(machines):
        without = np.arange(len(flags)) >> bit & 1 == 0
        index = np.flatnonzero(without)
        above = index | (1 << bit)
        proper[index] |= found[above]
        found[index] |= found[above]
        proper[index] |= proper[above]
    return proper


def has_proper_subset(flags: Flags) -> Flags:
    """Return for each pattern (2^n,) whether a smaller pattern within it is flagged."""
    return has_proper_superset(flags[::-1])[::-1]


def maximal(flags: Flags) -> Masks:
    """Return flagged patterns of (2^n,) that no larger flagged one holds."""
    return np.flatnonzero(flags & ~has_proper_superset(flags))


def minimal(flags: Flags) -> Masks:
    """Return flagged patterns of (2^n,) that hold no smaller flagged one."""
    return np.flatnonzero(flags & ~has_proper_subset(flags))


def any_two_of(pairs: Sequence[tuple[str, str]], machines: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Return groups of which any two are a pair, so that every pair stands in a group; groups of two come last.

    >>> any_two_of([("a", "b"), ("a", "c"), ("b", "c"), ("c", "d")], "abcd")
    (('a', 'b', 'c'), ('c', 'd'))
    """
    place = {machine: number for number, machine in enumerate(machines)}
    untold = {frozenset((place[one], place[other])) for one, other in pairs}
    beside = {n: {m for pair in untold if n in pair for m in pair if m != n} for n in range(len(machines))}
    groups: list[list[int]] = []
    while untold:
        found = max((_grown(seed, beside, untold) for seed in sorted(beside)), key=lambda g: _told(g, untold))
        if len(found) < LEAST_GROUP or _told(found, untold) < LEAST_GROUP:
            break
        groups.append(sorted(found))
        untold -= {pair for pair in untold if pair <= set(found)}
    rest = sorted(tuple(sorted(pair)) for pair in untold)
    return tuple(tuple(machines[n] for n in group) for group in [*groups, *rest])


def _grown(seed: int, beside: dict[int, set[int]], untold: set[frozenset[int]]) -> list[int]:
    """Grow a group from a machine by the one that tells most pairs, while any two of it are a pair."""
    group, open_ones = [seed], set(beside[seed])
    while open_ones:
        best = max(sorted(open_ones), key=lambda n: sum(frozenset((n, m)) in untold for m in group))
        group.append(best)
        open_ones &= beside[best]
    return group


def _told(group: Sequence[int], untold: set[frozenset[int]]) -> int:
    members = set(group)
    return sum(pair <= members for pair in untold)
