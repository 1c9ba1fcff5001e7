"""Exact elimination of the linearised tree: one sweep towards the collector, one back.

A `row` below is either one float (a single case) or a vector over cases: the same lines serve both, and
give the same bits. Each section is written as  flow change = a + b * (pressure change at its end).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ductcalc.solve.junctions import StreamLosses
from ductcalc.solve.tree import Tree

Floats = NDArray[np.float64]
Row = Any
SLOPE_FLOOR = 0.02


def _floored_float(value: float) -> float:
    return value if value > SLOPE_FLOOR else SLOPE_FLOOR


def _floored_vector(value: Floats) -> Floats:
    return np.maximum(value, SLOPE_FLOOR)


def rows_of(values: Floats, cases: int) -> list[Row]:
    """Return the rows of (rows, cases or 1): floats when there is one case, else vectors."""
    if cases == 1:
        column: list[Row] = values[:, 0].tolist()
        return column
    return list(values if values.shape[1] == cases else np.broadcast_to(values, (values.shape[0], cases)))


def stacked(rows: Sequence[Row], cases: int) -> Floats:
    """Return rows as an array (rows, cases)."""
    return np.array(rows, dtype=np.float64).reshape(len(rows), cases)


@dataclass
class Linear:
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


@dataclass
class Step:
    """Changes towards the solution: section flow, end pressure and start pressure (sections, cases)."""

    flow: Floats
    end: Floats
    start: Floats


class Elimination:
    """Both sweeps of one iteration; between them the caller settles the pressure change at the collector."""

    def __init__(self, tree: Tree, linear: Linear, cases: int, shared: bool) -> None:
        """Unpack the arrays into rows and sweep towards the collector."""
        self.tree, self.cases, self.shared = tree, cases, shared
        self.floor: Callable[[Row], Row] = _floored_float if cases == 1 else _floored_vector
        unpack = lambda values: rows_of(values, cases)  # noqa: E731
        self.slope, self.gap = unpack(linear.slope), unpack(linear.pressure_gap)
        self.leak_flow = unpack(1.0 + linear.leak_flow_gain)
        self.leak_gain = unpack(linear.leak_gain)
        self.own = unpack(linear.streams.own)
        self.stream_gap, self.flow_gap = unpack(linear.stream_gap), unpack(linear.flow_gap)
        self.with_outlet, self.with_sum = unpack(linear.streams.with_outlet), unpack(linear.streams.with_sum)
        self.sum_slope = unpack(linear.streams.sum_slope)
        self.offset = unpack(linear.leaf_offset)
        self.gain = unpack(linear.leaf_gain)
        self.alpha: list[Row] = [0.0] * len(tree.stream_section)
        self.weight: list[Row] = [0.0] * len(tree.stream_section)
        self.met: list[tuple[Row, ...]] = [()] * len(tree.wyes)
        meet = self._meet_shared if shared else self._meet_unlike
        for wye, outlet, sections, numbers in tree.walk:
            meet(wye, outlet, sections, numbers)

    def at_end(self, section: int) -> tuple[Row, Row]:
        """Return (offset, gain) of the flow that leaves the section's end, its joint leakage included."""
        stretch = self.leak_flow[section]
        return self.offset[section] * stretch, self.gain[section] * stretch + self.leak_gain[section]

    def _stream(self, section: int, number: int) -> tuple[Row, Row]:
        offset, gain = self.at_end(section)
        divisor = 1.0 + gain * self.own[number]
        self.weight[number] = weight = gain / divisor
        self.alpha[number] = alpha = (offset - gain * self.stream_gap[number]) / divisor
        return alpha, weight

    def _meet_shared(self, wye: int, outlet: int, sections: Sequence[int], numbers: Sequence[int]) -> None:
        flow0, flow1, sum0, sum1 = self.flow_gap[wye], 0.0, 0.0, 0.0
        for section, number in zip(sections, numbers, strict=True):
            alpha, weight = self._stream(section, number)
            steep = self.sum_slope[number]
            flow0, flow1 = flow0 + alpha, flow1 + weight
            sum0, sum1 = sum0 + steep * alpha, sum1 + steep * weight
        k, m = self.with_outlet[wye], self.with_sum[wye]
        start0, start1 = k * flow0 + m * sum0, 1.0 + (k * flow1 + m * sum1)
        self._leave(wye, outlet, flow0, flow1, start0, start1, (flow0, flow1, sum0, sum1, start0, start1))

    def _meet_unlike(self, wye: int, outlet: int, sections: Sequence[int], numbers: Sequence[int]) -> None:
        flow0, flow1, sum0, sum1 = self.flow_gap[wye], 0.0, 0.0, 0.0
        fk, fm, sk, sm = 1.0, 0.0, 0.0, 1.0
        for section, number in zip(sections, numbers, strict=True):
            alpha, weight = self._stream(section, number)
            steep, k, m = self.sum_slope[number], self.with_outlet[number], self.with_sum[number]
            flow0, flow1 = flow0 + alpha, flow1 + weight
            sum0, sum1 = sum0 + steep * alpha, sum1 + steep * weight
            fk, fm = fk + weight * k, fm + weight * m
            sk, sm = sk + steep * weight * k, sm + steep * weight * m
        inverse = 1.0 / (fk * sm - fm * sk)
        flow0, sum0 = (sm * flow0 - fm * sum0) * inverse, (fk * sum0 - sk * flow0) * inverse
        flow1, sum1 = (sm * flow1 - fm * sum1) * inverse, (fk * sum1 - sk * flow1) * inverse
        self._leave(wye, outlet, flow0, flow1, 0.0, 1.0, (flow0, flow1, sum0, sum1, 0.0, 1.0))

    def _leave(
        self, wye: int, outlet: int, flow0: Row, flow1: Row, start0: Row, start1: Row, met: tuple[Row, ...]
    ) -> None:
        end0 = start0 + self.slope[outlet] * flow0 + self.gap[outlet]
        end1 = self.floor(start1 + self.slope[outlet] * flow1)
        gain = flow1 / end1
        self.gain[outlet] = gain
        self.offset[outlet] = flow0 - gain * end0
        self.met[wye] = (*met, end0, end1)

    def back(self, end_change: Row) -> Step:
        """Sweep from the collector to the ports, given the pressure change at the collector (a row)."""
        tree = self.tree
        flow: list[Row] = [0.0] * tree.size
        end: list[Row] = [0.0] * tree.size
        start: list[Row] = [0.0] * tree.size
        end[tree.root] = end_change
        for wye, outlet, sections, numbers in reversed(tree.walk):
            flow0, flow1, sum0, sum1, start0, start1, end0, end1 = self.met[wye]
            meeting = (end[outlet] - end0) / end1
            flow[outlet] = outlet_flow = flow0 + flow1 * meeting
            start[outlet] = start0 + start1 * meeting
            total = sum0 + sum1 * meeting
            for section, number in zip(sections, numbers, strict=True):
                level = meeting if self.shared else self._level(number, meeting, outlet_flow, total)
                change = self.alpha[number] + self.weight[number] * level
                end[section] = level - self.own[number] * change - self.stream_gap[number]
        return self._with_leaves(flow, end, start)

    def _level(self, number: int, meeting: Row, outlet_flow: Row, total: Row) -> Row:
        return meeting - self.with_outlet[number] * outlet_flow - self.with_sum[number] * total

    def _with_leaves(self, flow: list[Row], end: list[Row], start: list[Row]) -> Step:
        ends = stacked(self._filled(end), self.cases)
        flows = stacked(self._filled(flow), self.cases)
        leaves = self.tree.leaves
        offsets = stacked([self.offset[leaf] for leaf in leaves], self.cases)
        gains = stacked([self.gain[leaf] for leaf in leaves], self.cases)
        flows[leaves] = offsets + gains * ends[leaves]
        return Step(flows, ends, stacked(self._filled(start), self.cases))

    def _filled(self, rows: list[Row]) -> list[Row]:
        if self.cases == 1:
            return rows
        zero = np.zeros(self.cases)
        return [zero if isinstance(row, float) else row for row in rows]
