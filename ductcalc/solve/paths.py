"""How a tree is taken apart: paths that follow the larger stream at every wye, halved over and over.

A path is a leaf and the wyes that it runs through. Paths are worked off level by level, those that nothing
but leaves join first, and each path by pairing neighbours, so that a thousand wyes in a row take ten rounds.
Everything here is topology: index arrays that are made once for each tree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from ductcalc.solve.tree import Tree

Indices = NDArray[np.intp]
Floats = NDArray[np.float64]
ALIKE = 16
"""Streams heavier than this many leaves, one less than twice the other, let a new path start: fewer rounds."""


@dataclass(frozen=True)
class Side:
    """Streams that join the paths of a level from the side: section, stream, and the place of their wye in the level
    (a slice, which is faster, where every wye has one)."""

    place: Indices | slice
    section: Indices
    stream: Indices


@dataclass(frozen=True)
class Pairing:
    """One round: items `first` and `second` become one, the `carried` ones wait; they are numbered in this order.

    feed, middle, last: sections at the upstream end, between the two and at the downstream end of each pair.
    """

    first: Indices
    second: Indices
    carried: Indices
    feed: Indices
    middle: Indices
    last: Indices


@dataclass(frozen=True)
class Level:
    """Paths that can be worked off together.

    wye, outlet, section, stream: (wyes,) each wye of these paths, the section that goes on, the section and stream
    of the path that comes in. runs_on: (wyes, 1), 0 where the path starts with this wye, so that all of its streams
    come from the side and the path's own one does not count, else 1. start: (paths,) leaves. Items are the leaves,
    then the wyes. path_start, end: (paths,) first and last sections, in the order of what the rounds leave over.
    """

    wye: Indices
    outlet: Indices
    section: Indices
    stream: Indices
    runs_on: Floats
    sides: tuple[Side, ...]
    start: Indices
    rounds: tuple[Pairing, ...]
    path_start: Indices
    end: Indices


@dataclass(frozen=True)
class _Items:
    """Stretches of paths, path by path: (items,) number in the present round, sections at both ends, path and place
    in it."""

    number: Indices
    feed: Indices
    last: Indices
    path: Indices
    place: Indices


@dataclass
class _Course:
    """Paths as their sections, how many levels go before each; per wye the place of its main stream, if it starts a
    path."""

    paths: list[list[int]]
    height: list[int]
    main: list[int]
    starts: list[bool]


def levels_of(tree: Tree) -> tuple[Level, ...]:
    """Return the levels of a tree, those that must be worked off first at the front."""
    course = _course(tree)
    chosen: list[list[list[int]]] = [[] for _ in range(max(course.height) + 1)]
    for path, height in zip(course.paths, course.height, strict=True):
        if len(path) > 1:
            chosen[height].append(path)
    return tuple(_level(tree, paths, course) for paths in chosen if paths)


def _course(tree: Tree) -> _Course:
    """Follow the heaviest stream at every wye; where two are heavy and alike, let a new path start."""
    leaves = tree.leaves.tolist()
    weight, path_of = [1] * tree.size, [-1] * tree.size
    course = _Course([[leaf] for leaf in leaves], [0] * len(leaves), [0] * len(tree.wyes), [False] * len(tree.wyes))
    for number, leaf in enumerate(leaves):
        path_of[leaf] = number
    for wye, outlet, sections, _ in tree.walk:
        weights = [weight[section] for section in sections]
        most = max(weights)
        weight[outlet] = sum(weights)
        course.main[wye] = place = weights.index(most)
        course.starts[wye] = most > ALIKE and sum(2 * w > most for w in weights) > 1
        heights = [course.height[path_of[section]] + 1 for section in sections]
        if course.starts[wye]:
            path_of[outlet] = len(course.paths)
            course.paths.append([sections[place], outlet])
            course.height.append(max(heights))
            continue
        path_of[outlet] = own = path_of[sections[place]]
        course.paths[own].append(outlet)
        heights[place] -= 1
        course.height[own] = max(heights)
    return course


def _level(tree: Tree, paths: Sequence[Sequence[int]], course: _Course) -> Level:
    outlets = [section for path in paths for section in path[1:]]
    wyes = [tree.wye_above[outlet] for outlet in outlets]
    rounds, left = _rounds(paths)
    return Level(
        _indices(wyes),
        _indices(outlets),
        _indices(section for path in paths for section in path[:-1]),
        _indices(tree.offsets[course.main[wye]] + wye for wye in wyes),
        np.array([[0.0 if course.starts[wye] else 1.0] for wye in wyes]),
        _sides(tree, wyes, course),
        _indices(path[0] for path in paths),
        rounds,
        left.feed[np.argsort(left.number)],
        left.last[np.argsort(left.number)],
    )


def _sides(tree: Tree, wyes: Sequence[int], course: _Course) -> tuple[Side, ...]:
    """One group of side streams for the first, second, third of each wye, so that sums are a step per group."""
    groups: list[list[tuple[int, int, int]]] = []
    for place, wye in enumerate(wyes):
        streams = tree.wyes[wye].streams
        others = [p for p in range(len(streams)) if course.starts[wye] or p != course.main[wye]]
        for group, other in enumerate(others):
            if group == len(groups):
                groups.append([])
            groups[group].append((place, streams[other], tree.offsets[other] + wye))
    return tuple(_side(group, len(wyes)) for group in groups)


def _side(group: Sequence[tuple[int, int, int]], wyes: int) -> Side:
    place, section, stream = (_indices(column) for column in zip(*group, strict=True))
    return Side(slice(None) if len(place) == wyes else place, section, stream)


def _rounds(paths: Sequence[Sequence[int]]) -> tuple[tuple[Pairing, ...], _Items]:
    """Pair neighbours until each path is one item; return the rounds and these items."""
    length = np.array([len(path) for path in paths])
    sections = _indices(section for path in paths for section in path)
    place = np.arange(len(sections)) - np.repeat(np.cumsum(length) - length, length)
    starts = place == 0
    number = np.where(starts, np.cumsum(starts), len(paths) + np.cumsum(~starts)) - 1
    feed = np.where(starts, sections, np.roll(sections, 1))
    items = _Items(number, feed, sections, np.repeat(np.arange(len(paths)), length), place)
    rounds = []
    while items.place.any():
        pairing, items = _pair(items)
        rounds.append(pairing)
    return tuple(rounds), items


def _pair(items: _Items) -> tuple[Pairing, _Items]:
    """Make one of each item at an even place and its successor, where it has one."""
    even = np.flatnonzero(items.place % 2 == 0)
    after = np.minimum(even + 1, len(items.path) - 1)
    paired = (after > even) & (items.path[after] == items.path[even])
    first, second, alone = even[paired], after[paired], even[~paired]
    number = np.where(paired, np.cumsum(paired), len(first) + np.cumsum(~paired)) - 1
    last = items.last[np.where(paired, after, even)]
    left = _Items(number, items.feed[even], last, items.path[even], items.place[even] // 2)
    pairing = Pairing(
        items.number[first], items.number[second], items.number[alone],
        items.feed[first], items.last[first], items.last[second],
    )
    return pairing, left


def _indices(numbers: object) -> Indices:
    return np.array(list(numbers), dtype=np.intp)  # type: ignore[call-overload]
