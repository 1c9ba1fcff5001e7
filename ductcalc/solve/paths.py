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


@dataclass(frozen=True)
class Side:
    """Streams that join the paths of a level from the side: position of their wye in the level, section, stream."""

    place: Indices
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
    of the path that comes in. start: (paths,) leaves. Items are the leaves, then the wyes. path_start, end:
    (paths,) first and last sections, in the order of what the rounds leave over.
    """

    wye: Indices
    outlet: Indices
    section: Indices
    stream: Indices
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


def levels_of(tree: Tree) -> tuple[Level, ...]:
    """Return the levels of a tree, those that must be worked off first at the front."""
    paths, main = _paths(tree)
    height = _heights(tree, paths, main)
    top = max(height)
    chosen = [[path for path, own in zip(paths, height, strict=True) if own == level] for level in range(top + 1)]
    return tuple(_level(tree, own, main) for own in chosen if any(len(path) > 1 for path in own))


def _paths(tree: Tree) -> tuple[list[list[int]], list[int]]:
    """Return every path as its sections, and for each wye the place of its main stream."""
    weight, path_of = [1] * tree.size, [-1] * tree.size
    paths: list[list[int]] = []
    main = [0] * len(tree.wyes)
    for section in tree.leaves.tolist():
        path_of[section] = len(paths)
        paths.append([section])
    for wye, outlet, sections, _ in tree.walk:
        weights = [weight[section] for section in sections]
        weight[outlet] = sum(weights)
        main[wye] = weights.index(max(weights))
        path_of[outlet] = path_of[sections[main[wye]]]
        paths[path_of[outlet]].append(outlet)
    return paths, main


def _heights(tree: Tree, paths: Sequence[Sequence[int]], main: Sequence[int]) -> list[int]:
    """Return how many levels must be worked off before each path."""
    path_of = {section: number for number, path in enumerate(paths) for section in path}
    height = [0] * len(paths)
    for wye, outlet, sections, _ in tree.walk:
        own = path_of[outlet]
        beside = [height[path_of[s]] + 1 for place, s in enumerate(sections) if place != main[wye]]
        height[own] = max([height[own], *beside])
    return height


def _level(tree: Tree, paths: Sequence[Sequence[int]], main: Sequence[int]) -> Level:
    paths = [path for path in paths if len(path) > 1]
    outlets = [section for path in paths for section in path[1:]]
    wyes = [tree.wye_above[outlet] for outlet in outlets]
    rounds, left = _rounds(paths)
    return Level(
        _indices(wyes),
        _indices(outlets),
        _indices(section for path in paths for section in path[:-1]),
        _indices(tree.offsets[main[wye]] + wye for wye in wyes),
        _sides(tree, wyes, main),
        _indices(path[0] for path in paths),
        rounds,
        left.feed[np.argsort(left.number)],
        left.last[np.argsort(left.number)],
    )


def _sides(tree: Tree, wyes: Sequence[int], main: Sequence[int]) -> tuple[Side, ...]:
    """One group of side streams for the first, second, third of each wye, so that sums are a step per group."""
    groups: list[list[tuple[int, int, int]]] = []
    for place, wye in enumerate(wyes):
        others = [p for p in range(len(tree.wyes[wye].streams)) if p != main[wye]]
        for group, other in enumerate(others):
            if group == len(groups):
                groups.append([])
            groups[group].append((place, tree.wyes[wye].streams[other], tree.offsets[other] + wye))
    return tuple(Side(*(_indices(column) for column in zip(*group, strict=True))) for group in groups)


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
