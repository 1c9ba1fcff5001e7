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
class _Item:
    """A stretch of a path: its number in the present round and the sections at its two ends."""

    number: int
    feed: int
    last: int


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
        _indices(item.feed for item in left),
        _indices(item.last for item in left),
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


def _rounds(paths: Sequence[Sequence[int]]) -> tuple[tuple[Pairing, ...], list[_Item]]:
    """Pair neighbours until each path is one item; return the rounds and these items."""
    rows, number = [], len(paths)
    for place, path in enumerate(paths):
        row = [_Item(place, path[0], path[0])]
        row += [_Item(number + n, path[n], path[n + 1]) for n in range(len(path) - 1)]
        number += len(path) - 1
        rows.append(row)
    rounds = []
    while any(len(row) > 1 for row in rows):
        pairing, rows = _pair(rows)
        rounds.append(pairing)
    return tuple(rounds), sorted((row[0] for row in rows), key=lambda item: item.number)


def _pair(rows: Sequence[Sequence[_Item]]) -> tuple[Pairing, list[list[_Item]]]:
    pairs = [(a, b) for row in rows for a, b in zip(row[0::2], row[1::2], strict=False)]
    carried = [row[-1] for row in rows if len(row) % 2]
    new = {a.number: _Item(n, a.feed, b.last) for n, (a, b) in enumerate(pairs)}
    new |= {item.number: _Item(len(pairs) + n, item.feed, item.last) for n, item in enumerate(carried)}
    pairing = Pairing(
        _indices(a.number for a, _ in pairs),
        _indices(b.number for _, b in pairs),
        _indices(item.number for item in carried),
        _indices(a.feed for a, _ in pairs),
        _indices(a.last for a, _ in pairs),
        _indices(b.last for _, b in pairs),
    )
    return pairing, [[new[item.number] for item in row[0::2]] for row in rows]


def _indices(numbers: object) -> Indices:
    return np.array(list(numbers), dtype=np.intp)  # type: ignore[call-overload]
