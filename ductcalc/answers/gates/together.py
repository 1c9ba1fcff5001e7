"""Pairs told in few words: groups of machines of which any two may run together."""

from __future__ import annotations

from collections.abc import Sequence

LEAST_GROUP = 3


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
