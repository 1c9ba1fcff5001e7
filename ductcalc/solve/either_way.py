"""Newton's method on all flows of a tree at once, of either sign, with halved steps: slow, sure, for few cases.

The fast way (`newton.py`) lets no flow turn round and takes every step; what it leaves unsettled is solved here.
Unknown are a section's flow (in a closed section the pressure at its end) and the pressure that every outlet starts
at; joint leaks are kept beside them as flows, whose law is smooth in that form. Each case is a dense set of equations
of its own and stops by itself, so that its bits do not depend on the other cases.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from ductcalc.physics.leakage import LEAKAGE_EXPONENT
from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved, State
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.signed import SignedLaws, leak_suction
from ductcalc.solve.tree import Tree

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]
MOST_UNKNOWNS = 1500
"""Sections and wyes above which the equations would fill the memory: such a tree stays unsolved."""

NUMBERS_AT_ONCE = 4_000_000
MOST_STEPS, MOST_HALVINGS = 120, 14
LAST_CHANGE = 1e-9
"""Relative change of a whole step after which, as errors are squared, only rounding is left."""

EXACT, CLOSE, MOST_EXACT = 1e-26, 1e-18, 8
"""Sums of squares of all errors, as shares of the case's pressure and flow: one that only rounding leaves, as many
steps then still sharpen what is small beside the rest; and the most that is taken for an answer."""

LEAST_SHARE, TINY = 1e-3, 1e-30
STILL_PA = 1e-14
"""Suction [Pa] at which the slope of a joint's leak is held: it has none in still air."""

END_OF_STEP = 1e-4
"""Share of what a step foresees that it must bring, after Armijo."""

AtEnd = Callable[[Indices, Floats, Floats, Floats, Floats], tuple[Floats, Floats]]
"""Given case numbers, flow and suction at the collector now, and the line flow = offset + gain * suction, all
(cases,): the suction to go to, and what is missed now, a share of the case's scales."""


@dataclass
class Point:
    """Flows, joint leaks, end pressures of closed sections, Colebrook roots (sections, cases); starts (wyes, cases)."""

    flow: Floats
    leak: Floats
    end: Floats
    start: Floats
    root: Floats

    def take(self, columns: Indices) -> Point:
        """Return some cases."""
        return Point(*(np.ascontiguousarray(getattr(self, part.name)[:, columns]) for part in fields(self)))

    def moved(self, step: Point, share: Floats) -> Point:
        """Return the point after a share (cases,) of a step; Colebrook roots are the step's own."""
        flow, leak = self.flow + share * step.flow, self.leak + share * step.leak
        return Point(flow, leak, self.end + share * step.end, self.start + share * step.start, step.root)


@dataclass
class Residual:
    """What a point misses: pressure at streams, mass at wyes, suction of leaks; and the slopes around it."""

    point: Point
    start: Floats
    end: Floats
    leaving: Floats
    stream: Floats
    mass: Floats
    suction: Floats
    end_slope: Floats
    mean_slope: Floats
    leak_gain: Floats
    slopes: Floats


class EitherWay:
    """Some cases of one tree; `scale_pa`, `scale_m3_s` (cases,): pressure and flow that errors are held against."""

    def __init__(self, tree: Tree, numbers: Numbers, method: Method, scale_pa: Floats, scale_m3_s: Floats) -> None:
        """Prepare the laws and where each slope stands in the equations."""
        self.tree, self.numbers, self.cases = tree, numbers, len(scale_pa)
        self.laws = SignedLaws(tree, numbers, method)
        self.scale_pa, self.scale_m3_s = scale_pa, scale_m3_s
        shape = (tree.size, self.cases)
        self.closed = np.broadcast_to(numbers.closed, shape)
        self.source = np.zeros(shape) if numbers.source is None else np.broadcast_to(numbers.source, shape)
        self.constant = np.broadcast_to(numbers.leak, shape)
        above = np.array(tree.wye_above, dtype=np.intp)
        self.above = above
        self.fed = np.flatnonzero(above >= 0)
        self.start_column = np.where(above >= 0, tree.size + above, tree.size + len(tree.wyes))

    def at(self, point: Point) -> Residual:
        """Return what a point misses, and its slopes."""
        tree, laws = self.tree, self.laws
        found = laws.sections(point.root, point.flow)
        start = -self.source
        start[self.fed] = point.start[self.above[self.fed]]
        end = np.where(self.closed, point.end, start + found.loss)
        asked, slope = leak_suction(self.constant, point.leak)
        _, least = leak_suction(self.constant, self.constant * STILL_PA**LEAKAGE_EXPONENT)
        leaks = self.constant > 0.0
        suction = np.where(leaks, end + np.where(self.closed, 0.0, found.static) - asked, 0.0)
        leaving = point.flow + point.leak
        streams = laws.streams(leaving[tree.stream_section])
        outlet = tree.outlet_section
        shut = self.closed[outlet]
        mass = np.where(shut, point.start, tree.sum_streams(leaving[tree.stream_section]) - point.flow[outlet])
        floor = 1e-10 * self.scale_pa / self.scale_m3_s
        end_slope = np.where(self.closed, 1.0, np.maximum(found.slope, floor))
        return Residual(
            replace(point, root=found.root),
            start,
            end,
            leaving,
            end[tree.stream_section] + streams.loss - point.start[tree.stream_wye],
            mass,
            suction,
            end_slope,
            np.where(self.closed, 1.0, end_slope + found.static_slope),
            np.where(leaks, 1.0 / np.maximum(slope, np.maximum(least, TINY)), 0.0),
            streams.slopes,
        )

    def missed(self, found: Residual) -> Floats:
        """Return the sum of squares (cases,) of what a point misses, as shares of the scales."""
        total = ((found.stream / self.scale_pa) ** 2).sum(axis=0) + ((found.suction / self.scale_pa) ** 2).sum(axis=0)
        total += ((found.mass / self.scale_m3_s) ** 2).sum(axis=0)
        return np.asarray(total)

    def steps(self, found: Residual) -> tuple[Point, Point]:
        """Return two steps: to the solution at an unchanged suction at the collector, and per pascal of it."""
        tree, cases = self.tree, self.cases
        size, wyes, streams = tree.size, len(tree.wyes), len(tree.stream_section)
        whole = size + wyes
        matrix = np.zeros((cases, whole, whole + 1))
        right = np.zeros((cases, whole, 2))
        opened = ~self.closed
        by_own = np.where(opened, 1.0, 0.0) + found.leak_gain * found.mean_slope
        by_start = np.where(opened, found.leak_gain, 0.0)
        constant = found.leak_gain * found.suction
        every = np.arange(streams)
        section, wye = tree.stream_section, tree.stream_wye
        matrix[:, every, section] += found.end_slope[section].T
        matrix[:, every, self.start_column[section]] += np.where(opened, 1.0, 0.0)[section].T
        matrix[:, every, size + wye] -= 1.0
        right[:, :streams, 0] = -found.stream.T
        for place in range(self.laws.members.shape[1]):
            other = self.laws.members[wye, place]
            mine = np.flatnonzero(other < streams)
            there, slope = section[other[mine]], found.slopes[mine, place]
            matrix[:, mine, there] += (slope * by_own[there]).T
            matrix[:, mine, self.start_column[there]] += (slope * by_start[there]).T
            right[:, mine, 0] -= (slope * constant[there]).T
        self._balance(matrix, right, found, by_own, by_start, constant)
        last = whole - 1
        root = tree.root
        matrix[:, last, root] = found.end_slope[root]
        matrix[:, last, self.start_column[root]] = np.where(self.closed[root], 0.0, 1.0)
        right[:, last, 1] = 1.0
        answer = _solved(matrix[:, :, :whole], right)
        return tuple(self._as_step(found, answer[:, :, side].T, side == 0) for side in (0, 1))  # type: ignore[return-value]

    def _balance(
        self, matrix: Floats, right: Floats, found: Residual, by_own: Floats, by_start: Floats, constant: Floats
    ) -> None:
        """Put in the balance of mass at every wye; where its outlet is closed nothing flows, and its level is none."""
        tree, size = self.tree, self.tree.size
        section, outlet = tree.stream_section, tree.outlet_section
        row = len(section) + np.arange(len(tree.wyes))
        shut = self.closed[outlet]
        live = np.where(shut, 0.0, 1.0)
        for place in range(self.laws.members.shape[1]):
            mine = np.flatnonzero(self.laws.members[:, place] < len(section))
            there = section[self.laws.members[mine, place]]
            matrix[:, row[mine], there] += (live[mine] * by_own[there]).T
            matrix[:, row[mine], self.start_column[there]] += (live[mine] * by_start[there]).T
            right[:, row[mine], 0] -= (live[mine] * constant[there]).T
        matrix[:, row, outlet] -= live.T
        matrix[:, row, size + np.arange(len(tree.wyes))] += (1.0 - live).T
        right[:, row, 0] -= found.mass.T

    def _as_step(self, found: Residual, answer: Floats, first: bool) -> Point:
        """Take an answer (unknowns, cases) apart."""
        size = self.tree.size
        own, start = answer[:size], answer[size:]
        mean = found.mean_slope * own
        mean[self.fed] += np.where(self.closed[self.fed], 0.0, start[self.above[self.fed]])
        leak = found.leak_gain * (mean + found.suction if first else mean)
        zero = np.zeros_like(own)
        return Point(np.where(self.closed, zero, own), leak, np.where(self.closed, own, zero), start, found.point.root)


def _solved(matrix: Floats, right: Floats) -> Floats:
    """Solve each case's equations, every row first divided by its largest slope; nan where they have no answer."""
    scale = np.abs(matrix).max(axis=2, keepdims=True)
    scale[scale == 0.0] = 1.0
    try:
        return np.linalg.solve(matrix / scale, right / scale)
    except np.linalg.LinAlgError:
        found = np.full_like(right, np.nan)
        for case in range(len(matrix)):
            try:
                found[case] = np.linalg.solve(matrix[case] / scale[case], right[case] / scale[case])
            except np.linalg.LinAlgError:
                continue
        return found


def first_point(tree: Tree, numbers: Numbers, state: State) -> Point:
    """Return where to start: the fast way's first guess, each joint leaking at half of its section's suction."""
    closed = np.broadcast_to(numbers.closed, state.flow.shape)
    leak = numbers.leak * (0.5 * state.end) ** LEAKAGE_EXPONENT
    return Point(
        np.where(closed, 0.0, state.flow), leak, state.end.copy(), state.end[tree.outlet_section], state.root
    )


def settle(
    tree: Tree,
    numbers: Numbers,
    method: Method,
    point: Point,
    scale_pa: Floats,
    scale_m3_s: Floats,
    at_end: AtEnd,
) -> tuple[Solved, Point]:
    """Solve every case from a point; cases that do not settle are marked. `at_end` ends each step at the collector."""
    cases = len(scale_pa)
    done = Solved.empty(tree.size, cases)
    unknowns = tree.size + len(tree.wyes)
    last = point.take(np.arange(cases))
    if unknowns > MOST_UNKNOWNS:
        return done, last
    step = max(1, NUMBERS_AT_ONCE // unknowns**2)
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        for first in range(0, cases, step):
            columns = np.arange(first, min(first + step, cases))
            _settle(tree, numbers, method, point, (scale_pa, scale_m3_s), at_end, columns, done, last)
    return done, last


def _settle(
    tree: Tree, numbers: Numbers, method: Method, point: Point, scales: tuple[Floats, Floats],
    at_end: AtEnd, columns: Indices, done: Solved, last: Point,
) -> None:
    point = point.take(columns)
    net = EitherWay(tree, numbers.take(columns), method, scales[0][columns], scales[1][columns])
    found = net.at(point)
    exact = np.zeros(len(columns), dtype=np.intp)
    for turn in range(1, MOST_STEPS + 1):
        step = _whole_step(net, found, at_end, columns)
        before = net.missed(found) + _end_missed(net, found, at_end, columns)
        share, after_point, after, left = _halved(net, found, step, before, at_end, columns)
        change = _change(after_point, step)
        exact = np.where(left < EXACT, exact + 1, 0)
        settled = (((change < LAST_CHANGE) & (share == 1.0)) | (exact > MOST_EXACT)) & (left < CLOSE)
        stuck = ~np.isfinite(change) | ~np.isfinite(left) | (share == 0.0)
        if (settled | stuck).any():
            _keep(done, last, after_point, after, columns, np.flatnonzero(settled & ~stuck), turn)
            going = np.flatnonzero(~(settled | stuck))
            if not len(going):
                return
            columns, exact = columns[going], exact[going]
            net = EitherWay(tree, numbers.take(columns), method, scales[0][columns], scales[1][columns])
            found = net.at(after_point.take(going))
        else:
            found = after


def _whole_step(net: EitherWay, found: Residual, at_end: AtEnd, columns: Indices) -> Point:
    still, per_pa = net.steps(found)
    flow, end, gain, change = _end_line(net, found, still, per_pa)
    target, _ = at_end(columns, flow, end, flow + change - gain * end, gain)
    return still.moved(per_pa, target - end)


def _end_line(net: EitherWay, found: Residual, still: Point, per_pa: Point) -> tuple[Floats, Floats, Floats, Floats]:
    root = net.tree.root
    flow, end = found.leaving[root], found.end[root]
    return flow, end, (per_pa.flow + per_pa.leak)[root], (still.flow + still.leak)[root]


def _end_missed(net: EitherWay, found: Residual, at_end: AtEnd, columns: Indices) -> Floats:
    root = net.tree.root
    flow, end = found.leaving[root], found.end[root]
    missed: Floats = at_end(columns, flow, end, flow, np.zeros_like(flow))[1] ** 2
    return missed


def _halved(
    net: EitherWay, found: Residual, step: Point, before: Floats, at_end: AtEnd, columns: Indices
) -> tuple[Floats, Point, Residual, Floats]:
    """Halve each case's step until it misses less than before; the share is 0 where no step helps."""
    share = np.ones(net.cases)
    best, least = np.zeros(net.cases), np.full(net.cases, np.inf)
    for _ in range(MOST_HALVINGS):
        point = found.point.moved(step, share)
        after = net.at(point)
        left = net.missed(after) + _end_missed(net, after, at_end, columns)
        better = left < least
        best, least = np.where(better, share, best), np.where(better, left, least)
        enough = (left <= before * (1.0 - END_OF_STEP * share)) | (left < EXACT)
        if enough.all():
            return share, point, after, left
        share = np.where(enough, share, 0.5 * share)
    tiny = _change(found.point.moved(step, np.ones(net.cases)), step) < LAST_CHANGE
    share = np.where(enough, share, np.where(tiny, 1.0, best))
    point = found.point.moved(step, share)
    after = net.at(point)
    return share, point, after, net.missed(after) + _end_missed(net, after, at_end, columns)


def _change(point: Point, step: Point) -> Floats:
    """Return each case's greatest relative change of a flow (cases,)."""
    size = np.abs(point.flow)
    size += LEAST_SHARE * size.max(axis=0) + TINY
    change: Floats = (np.abs(step.flow) / size).max(axis=0)
    leak: Floats = np.abs(step.leak).max(axis=0) / size.max(axis=0)
    return np.asarray(np.maximum(change, leak))


def _keep(
    done: Solved, last: Point, point: Point, found: Residual, columns: Indices, good: Indices, turn: int
) -> None:
    """Write settled cases into the result."""
    where = columns[good]
    done.flow[:, where], done.leak[:, where] = point.flow[:, good], point.leak[:, good]
    done.start[:, where], done.end[:, where] = found.start[:, good], found.end[:, good]
    done.converged[where], done.iterations[where] = True, turn
    for part in ("flow", "leak", "end", "start", "root"):
        getattr(last, part)[:, where] = getattr(point, part)[:, good]
