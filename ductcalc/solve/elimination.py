"""Exact elimination of the linearised tree, path by path: towards the collector, then back.

A stretch of path is a pair of lines in the flow q that comes in upstream and the pressure p at its end:
upstream pressure = A + B q + C p, outgoing flow = D + E q + F p. Given a flow on one side and a pressure on the
other the answer stays tame however long the stretch is. An array whose first axis is 3 holds such a line:
constant, by flow, by pressure. All steps are element by element, so that a case has the same bits in any batch.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Floats, Places
from ductcalc.solve.junctions import StreamLosses
from ductcalc.solve.paths import Level, Pairing, Side
from ductcalc.solve.tree import Tree, rows_of

SLOPE_FLOOR = 0.02
"""Least divisor of a wye or of two stretches; only far from the solution is there less."""

MOST_PASSED = 8.0
"""Most that a stretch passes on of a change at its other end: near the solution it is hardly above 1."""


class Linear(NamedTuple):
    """The tree linearised at its present state; arrays (rows, cases).

    leaf_offset, leaf_gain: flow change of sections that start at a port, at no pressure change and per pascal.
    slope: section losses' slopes [Pa s/m3]. pressure_gap: start + loss - end of each section [Pa].
    leak_gain, leak_flow_gain: change of joint leakage per pascal at the end and per flow of the section.
    stream_gap: what the streams' end pressure plus junction loss exceeds the outlet's start [Pa].
    flow_gap: (wyes, cases) streams' flow minus outlet section's flow [m3/s].
    """

    leaf_offset: Floats
    leaf_gain: Floats
    slope: Floats
    pressure_gap: Floats
    leak_gain: Floats
    leak_flow_gain: Floats
    streams: StreamLosses
    stream_gap: Floats
    flow_gap: Floats


class Step(NamedTuple):
    """Changes towards the solution: section flow, end pressure and start pressure (sections, cases)."""

    flow: Floats
    end: Floats
    start: Floats


class _Joined(NamedTuple):
    """Side streams of a level: flow change at no change of the wye's level and per pascal; (streams, cases)."""

    alpha: Floats
    weight: Floats


class _Met(NamedTuple):
    """Wyes of a level: their level and sum as lines (3, wyes, cases), what joins them, middles of each round."""

    level: Floats
    total: Floats
    joined: list[_Joined]
    middles: list[tuple[Floats, Floats]]


class Elimination:
    """Both sweeps of one iteration; between them the caller settles the pressure change at the collector."""

    def __init__(self, tree: Tree, linear: Linear, shared: bool) -> None:
        """Sweep towards the collector. shared: a wye's streams have their slopes in outlet flow and sum in common."""
        self.tree, self.linear, self.shared = tree, linear, shared
        self.offset, self.gain = linear.leaf_offset, linear.leaf_gain
        self.met = [self._meet(level) for level in tree.levels]

    def at_end(self, section: int) -> tuple[Floats, Floats]:
        """Return (offset, gain), each (cases,), of the flow that leaves a section, its joint leakage included."""
        offset, gain = self._leaving(np.array([section]))
        return offset[0], gain[0]

    def _leaving(self, section: Places) -> tuple[Floats, Floats]:
        stretch = 1.0 + rows_of(self.linear.leak_flow_gain, section)
        gain = rows_of(self.gain, section) * stretch + rows_of(self.linear.leak_gain, section)
        return rows_of(self.offset, section) * stretch, gain

    def _join(self, side: Side) -> _Joined:
        offset, gain = self._leaving(side.section)
        # its flow answers the pressure at its end, and that is the wye's level less its own junction loss, which rises
        # with its flow: solved for the flow by the level
        divisor = 1.0 + gain * rows_of(self.linear.streams.own, side.stream)
        return _Joined((offset - gain * rows_of(self.linear.stream_gap, side.stream)) / divisor, gain / divisor)

    def _meet(self, level: Level) -> _Met:
        joined = [self._join(side) for side in level.sides]
        passing = self._passing(level)
        flow, total = self._sums(level, passing, joined)
        # with a law whose streams share their slopes the wye has one level; else flow and sum are two more unknowns,
        # and a system of two by two is solved for each wye
        if not self.shared:
            flow, total = self._uncoupled(level, passing, joined, flow, total)
        meeting = self._meeting(level, flow, total)
        flow, total = _put_in(flow, meeting), _put_in(total, meeting)
        upstream = self._upstream(level, passing, self._seen(level.stream, level.wye, meeting, flow, total))
        items = self._items(level, upstream, flow)
        # neighbours are paired until one stretch is left: ten rounds for a thousand wyes in a row
        middles = []
        for pairing in level.rounds:
            items, middle = _paired(items, pairing)
            middles.append(middle)
        self.offset[level.end], self.gain[level.end] = items[3], items[5]
        return _Met(meeting, total, joined, middles)

    def _items(self, level: Level, upstream: Floats, flow: Floats) -> Floats:
        paths, wyes, cases = len(level.start), len(level.wye), self.offset.shape[1]
        items = np.empty((6, paths + wyes, cases))
        items[:, :paths] = 0.0
        items[3, :paths], items[5, :paths] = rows_of(self.offset, level.start), rows_of(self.gain, level.start)
        items[:3, paths:], items[3:, paths:] = upstream, flow
        return items

    def _passing(self, level: Level) -> Floats:
        """What the path's own stream brings, as a line in its section's flow and the wye's level."""
        linear, stream = self.linear, level.stream
        leak = rows_of(linear.leak_gain, level.section)
        divisor = 1.0 + leak * rows_of(linear.streams.own, stream)
        leak = leak / divisor
        stretch = (1.0 + rows_of(linear.leak_flow_gain, level.section)) / divisor
        return np.stack([-leak * rows_of(linear.stream_gap, stream), stretch, leak]) * level.runs_on

    def _sums(self, level: Level, passing: Floats, joined: list[_Joined]) -> tuple[Floats, Floats]:
        """Outgoing flow and the wye's sum, as lines in the path's flow and the wye's level."""
        steep = self.linear.streams.sum_slope
        flow, total = passing.copy(), rows_of(steep, level.stream) * passing
        flow[0] += rows_of(self.linear.flow_gap, level.wye)
        for side, own in zip(level.sides, joined, strict=True):
            flow[0][side.place] += own.alpha
            flow[2][side.place] += own.weight
            total[0][side.place] += rows_of(steep, side.stream) * own.alpha
            total[2][side.place] += rows_of(steep, side.stream) * own.weight
        return flow, total

    def _uncoupled(
        self, level: Level, passing: Floats, joined: list[_Joined], flow: Floats, total: Floats
    ) -> tuple[Floats, Floats]:
        """Solve for flow and sum where each stream answers them with slopes of its own."""
        streams = self.linear.streams
        ones, zeros = np.ones_like(flow[0]), np.zeros_like(flow[0])
        matrix = [ones, zeros, zeros.copy(), ones.copy()]
        members: list[tuple[Places | slice, Places, Floats]]
        members = [(slice(None), level.stream, passing[2])]
        members += [(s.place, s.stream, own.weight) for s, own in zip(level.sides, joined, strict=True)]
        for place, stream, weight in members:
            by_flow, by_sum = weight * rows_of(streams.with_outlet, stream), weight * rows_of(streams.with_sum, stream)
            steep = rows_of(streams.sum_slope, stream)
            for entry, part in zip(matrix, (by_flow, by_sum, steep * by_flow, steep * by_sum), strict=True):
                entry[place] += part
        # [ff fs; sf ss] [flow, sum] = the sums at no change of either: Cramer's rule, case by case
        ff, fs, sf, ss = matrix
        inverse = 1.0 / (ff * ss - fs * sf)
        return (ss * flow - fs * total) * inverse, (ff * total - sf * flow) * inverse

    def _meeting(self, level: Level, flow: Floats, total: Floats) -> Floats:
        """The wye's level as a line in the path's flow and the pressure at the outgoing section's end."""
        slope = rows_of(self.linear.slope, level.outlet)
        if self.shared:
            streams = self.linear.streams
            line = (slope + rows_of(streams.with_outlet, level.wye)) * flow
            line += rows_of(streams.with_sum, level.wye) * total
        else:
            line = slope * flow
        # level + loss of the outgoing section = pressure at its end, where that loss hangs on the level itself
        divisor = np.maximum(1.0 + line[2], SLOPE_FLOOR)
        line[0] += rows_of(self.linear.pressure_gap, level.outlet)
        line[2] = -1.0
        line /= -divisor
        return line

    def _seen(
        self, stream: Places, wye: Places, meeting: Floats, flow: Floats, total: Floats
    ) -> Floats:
        """The level that one stream sees: less what outlet flow and sum change for it alone."""
        if self.shared:
            return meeting
        streams = self.linear.streams
        return meeting - rows_of(streams.with_outlet, stream) * flow - rows_of(streams.with_sum, stream) * total

    def _upstream(self, level: Level, passing: Floats, seen: Floats) -> Floats:
        """Pressure at the end of the path's incoming section, from the level that its stream sees."""
        own = rows_of(self.linear.streams.own, level.stream)
        pressure: Floats = (1.0 - own * passing[2]) * seen
        pressure[0] -= own * passing[0] + rows_of(self.linear.stream_gap, level.stream)
        pressure[1] -= own * passing[1]
        return pressure

    def back(self, end_change: Floats) -> Step:
        """Sweep from the collector to the ports, given the pressure change (cases,) at the collector."""
        tree = self.tree
        flow, end = np.zeros_like(self.offset), np.zeros_like(self.offset)
        end[tree.root] = end_change
        for level, met in zip(reversed(tree.levels), reversed(self.met), strict=True):
            flow[level.end] = rows_of(self.offset, level.end) + rows_of(self.gain, level.end) * rows_of(end, level.end)
            for pairing, middle in zip(reversed(level.rounds), reversed(met.middles), strict=True):
                feed, last = rows_of(flow, pairing.feed), rows_of(end, pairing.last)
                flow[pairing.middle], end[pairing.middle] = (_at(line, feed, last) for line in middle)
            self._part(level, met, flow, end)
        # only now is every end pressure known: flows of the first sections, then all start pressures from the losses
        leaves = tree.leaves
        flow[leaves] = rows_of(self.offset, leaves) + rows_of(self.gain, leaves) * rows_of(end, leaves)
        start = end - self.linear.slope * flow - self.linear.pressure_gap
        start[leaves] = 0.0
        return Step(flow, end, start)

    def _part(self, level: Level, met: _Met, flow: Floats, end: Floats) -> None:
        """Write the pressure at the end of every section that joins a level from the side."""
        streams, out = self.linear.streams, rows_of(flow, level.outlet)
        feed, last = rows_of(flow, level.section), rows_of(end, level.outlet)
        meeting = _at(met.level, feed, last)
        total = meeting if self.shared else _at(met.total, feed, last)
        for side, own in zip(level.sides, met.joined, strict=True):
            place = side.place
            seen = self._seen(side.stream, level.wye, meeting[place], out[place], total[place])
            change = own.alpha + own.weight * seen
            lost = rows_of(streams.own, side.stream) * change + rows_of(self.linear.stream_gap, side.stream)
            end[side.section] = seen - lost


def _at(line: Floats, flow: Floats, pressure: Floats) -> Floats:
    """Return the value of a line."""
    value: Floats = line[0] + line[1] * flow + line[2] * pressure
    return value


def _put_in(line: Floats, level: Floats) -> Floats:
    """Put a line for the level into a line in flow and level."""
    result: Floats = line[2] * level
    result[:2] += line[:2]
    return result


def _paired(items: Floats, pairing: Pairing) -> tuple[Floats, tuple[Floats, Floats]]:
    """Make one stretch of each two neighbours; return the new items and the lines of flow and pressure between."""
    above, below = items.take(pairing.first, axis=1), items.take(pairing.second, axis=1)
    # between the two: flow = D + E q + F pressure of the upper one, pressure = A' + B' flow + C' p of the lower one;
    # the second put into the first gives the flow there by q and p, and with it all else
    inverse = 1.0 / np.maximum(1.0 - above[5] * below[1], SLOPE_FLOOR)
    flow = above[5] * below[:3]
    flow[0] += above[3]
    flow[1] = above[4]
    flow *= inverse
    pressure = below[1] * flow
    pressure[0] += below[0]
    pressure[2] += below[2]
    joined = np.concatenate([above[2] * pressure, below[4] * flow])
    joined[:2] += above[:2]
    joined[3] += below[3]
    joined[5] += below[5]
    # C and E: what passes through the whole stretch, bounded so that a long one far from the solution stays tame
    passed = joined[2:5:2]
    np.minimum(np.maximum(passed, -MOST_PASSED, out=passed), MOST_PASSED, out=passed)
    if len(pairing.carried):
        joined = np.concatenate([joined, items.take(pairing.carried, axis=1)], axis=1)
    return joined, (flow, pressure)
