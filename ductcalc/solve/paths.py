"""How a tree is taken apart: paths that follow the larger stream at every wye, halved over and over.

A path is a leaf and the wyes that it runs through. Paths are worked off level by level, those that nothing
but leaves join first, and each path by pairing neighbours, so that a thousand wyes in a row take ten rounds.
Everything here is topology: index arrays that are made once for each tree.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats, Places

if TYPE_CHECKING:
    from ductcalc.solve.tree import Tree

ALIKE = 16
"""Streams heavier than this many leaves, one less than twice the other, let a new path start: fewer rounds."""


class Side(NamedTuple):
    """Streams that join the paths of a level from the side: section, stream, and the place of their wye in the level
    (a slice, which is faster, where every wye has one)."""

    place: Places | slice
    section: Places
    stream: Places


class Pairing(NamedTuple):
    """One round: items `first` and `second` become one, the `carried` ones wait; they are numbered in this order.

    feed, middle, last: sections at the upstream end, between the two and at the downstream end of each pair.
    """

    first: Places
    second: Places
    carried: Places
    feed: Places
    middle: Places
    last: Places


class Level(NamedTuple):
    """Paths that can be worked off together.

    wye, outlet, section, stream: (wyes,) each wye of these paths, the section that goes on, the section and stream
    of the path that comes in. runs_on: (wyes, 1), 0 where the path starts with this wye, so that all of its streams
    come from the side and the path's own one does not count, else 1. start: (paths,) leaves. Items are the leaves,
    then the wyes. path_start, end: (paths,) first and last sections, in the order of what the rounds leave over.
    """

    wye: Places
    outlet: Places
    section: Places
    stream: Places
    runs_on: Floats
    sides: tuple[Side, ...]
    start: Places
    rounds: tuple[Pairing, ...]
    path_start: Places
    end: Places


class _Items(NamedTuple):
    """Stretches of paths, path by path: (items,) number in the present round, sections at both ends, path and place
    in it."""

    number: Places
    feed: Places
    last: Places
    path: Places
    place: Places


class _Course(NamedTuple):
    """What goes on in which path: main, (wyes,) place of the stream that a wye's path comes from; starts, (wyes,)
    whether a path starts there; path, (wyes,) its first section or, where it starts at a wye, that wye's outlet;
    height, (wyes,) how many paths must be worked off one after the other before this one."""

    main: Places
    starts: Flags
    path: Places
    height: Places


def levels_of(tree: Tree) -> tuple[Level, ...]:
    """Return the levels of a tree, those that must be worked off first at the front."""
    course = _course(tree)
    order = np.lexsort((tree.outlet_section, course.path, course.height))
    edges = np.flatnonzero(np.diff(course.height[order])) + 1
    return tuple(_level(tree, wyes, course) for wyes in np.split(order, edges) if len(wyes))


def _course(tree: Tree) -> _Course:
    """Follow the heaviest stream at every wye; where two are heavy and alike, let a new path start."""
    weight = _ports_above(tree)[tree.stream_section]
    most, main = weight[: len(tree.wyes)].copy(), np.zeros(len(tree.wyes), dtype=np.intp)
    for place, (offset, count) in enumerate(zip(tree.offsets, tree.counts, strict=True)):
        own = weight[offset : offset + count]
        main[:count][own > most[:count]] = place
        np.maximum(most[:count], own, out=most[:count])
    alike = tree.sum_streams((2.0 * weight > most[tree.stream_wye]).astype(np.float64))
    starts = (most > ALIKE) & (alike > 1.0)
    path = _paths(tree, main, starts)
    return _Course(main, starts, path[tree.outlet_section], _heights(tree, path)[tree.outlet_section])


def _ports_above(tree: Tree) -> Floats:
    """Leaves upstream of every section's end (sections,), in steps that reach twice as far each time."""
    outside = tree.size
    reach, total = np.append(tree.section_below, outside), np.zeros(outside + 1)
    total[tree.leaves] = 1.0
    while (reach < outside).any():
        total += np.bincount(reach, total, outside + 1)
        total[outside] = 0.0
        reach = reach[reach]
    return total[:outside]


def _paths(tree: Tree, main: Places, starts: Flags) -> Places:
    """Name the path that every section belongs to (sections,) by the section that it begins with or first flows to."""
    going_on = np.flatnonzero(~starts)
    before = np.arange(tree.size)
    before[tree.outlet_section[going_on]] = tree.stream_section[_stream(tree, main[going_on], going_on)]
    while not np.array_equal(further := before[before], before):
        before = further
    return before


def _heights(tree: Tree, path: Places) -> Places:
    """How many paths, one after the other, end above the path of every section (sections,)."""
    outside = tree.size
    going_on = np.append(path, outside)[tree.section_below]
    ends = np.flatnonzero(going_on != path)
    below = np.full(outside + 1, outside)
    below[path[ends]] = going_on[ends]
    height, steps, here = np.zeros(outside, dtype=np.intp), 0, going_on[ends]
    while len(here := here[here < outside]):
        steps += 1
        height[here] = steps
        met = np.zeros(outside + 1, dtype=bool)
        met[below[here]] = True
        here = np.flatnonzero(met)
    return height[path]


def _stream(tree: Tree, place: Places, wye: Places) -> Places:
    """Return the numbers of the streams at these places of these wyes."""
    number: Places = np.array(tree.offsets, dtype=np.intp)[place] + wye
    return number


def _level(tree: Tree, wyes: Places, course: _Course) -> Level:
    stream = _stream(tree, course.main[wyes], wyes)
    section, outlet, path = tree.stream_section[stream], tree.outlet_section[wyes], course.path[wyes]
    first = np.flatnonzero(np.append(True, path[1:] != path[:-1]))
    rounds, left = _rounds(section[first], outlet, first)
    order = np.argsort(left.number)
    return Level(
        wyes,
        outlet,
        section,
        stream,
        np.where(course.starts[wyes], 0.0, 1.0).reshape(-1, 1),
        _sides(tree, wyes, course),
        section[first],
        rounds,
        left.feed[order],
        left.last[order],
    )


def _sides(tree: Tree, wyes: Places, course: _Course) -> tuple[Side, ...]:
    """One group of side streams for the first, second, third of each wye, so that sums are a step per group."""
    main, one_less = course.main[wyes], (~course.starts[wyes]).astype(np.intp)
    others = np.searchsorted(-np.array(tree.counts), -wyes) - one_less
    sides = []
    for group in range(others.max()):
        place = np.flatnonzero(others > group)
        stream = _stream(tree, group + one_less[place] * (main[place] <= group), wyes[place])
        sides.append(Side(slice(None) if len(place) == len(wyes) else place, tree.stream_section[stream], stream))
    return tuple(sides)


def _rounds(starts: Places, outlet: Places, first: Places) -> tuple[tuple[Pairing, ...], _Items]:
    """Pair neighbours until each path is one item; return the rounds and these items."""
    sections = np.insert(outlet, first, starts)
    length = np.diff(np.append(first, len(outlet))) + 1
    place = np.arange(len(sections)) - np.repeat(np.cumsum(length) - length, length)
    begins = place == 0
    number = np.where(begins, np.cumsum(begins), len(first) + np.cumsum(~begins)) - 1
    feed = np.where(begins, sections, np.roll(sections, 1))
    items = _Items(number, feed, sections, np.repeat(np.arange(len(first)), length), place)
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
