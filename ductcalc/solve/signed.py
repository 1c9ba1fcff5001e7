"""Losses of sections and wyes at flows of either sign, with their slopes: air may be blown backwards.

A section's loss turns round with its flow; its port then lets the air out. At a wye the streams that come in meet by
their method, as if what leaves backwards stood still, and all of them went on; then comes what is drawn off:
the law of `ductcalc.physics.junction.either_way`, of which this is the same by other code, with slopes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ductcalc.physics.leakage import LEAKAGE_EXPONENT
from ductcalc.solve.junctions import Method, junction_law
from ductcalc.solve.losses import section_losses
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.tree import Tree

Floats = NDArray[np.float64]
TINY = 1e-300


@dataclass(frozen=True)
class Signed:
    """Losses (rows, cases) [Pa] and slopes [Pa s/m3] in their own flow, with new Colebrook roots.

    static: what the mean static suction behind the port has more than the section's end pressure [Pa], and its slope.
    """

    root: Floats
    loss: Floats
    slope: Floats
    static: Floats
    static_slope: Floats


@dataclass(frozen=True)
class Streams:
    """Wye losses (streams, cases) [Pa]; slopes (streams, streams of a wye, cases) in each stream's flow of the wye."""

    loss: Floats
    slopes: Floats


class SignedLaws:
    """The laws of some cases of one tree."""

    def __init__(self, tree: Tree, numbers: Numbers, method: Method) -> None:
        """Prepare what does not change with the flows."""
        self.tree, self.numbers = tree, numbers
        geometry = numbers.geometry or tree.geometry
        self.law = junction_law(tree, method, geometry)
        self.outlet_area, self.area = geometry.outlet_area_m2, geometry.end_area_m2[tree.stream_section]
        self.half = 0.5 * (1.0 - numbers.shut)
        self.first = 0.5 * numbers.density_kg_m3 / geometry.start_area_m2**2
        self.last = 0.5 * numbers.density_kg_m3 / geometry.end_area_m2**2
        self.extra = 0.0 * numbers.before if numbers.outward is None else numbers.outward - numbers.before
        own_k = tree.sum_streams(np.isnan(geometry.own_k).astype(np.float64))
        self.balanced = np.where((own_k > 0.0) & (method != "handbook"), 1.0, 0.0)
        self.density = numbers.density_kg_m3 * (1.0 if numbers.wye_load is None else numbers.wye_load)

    @cached_property
    def members(self) -> NDArray[np.intp]:
        """Streams of every wye (wyes, most streams); the number of streams where it has fewer."""
        tree = self.tree
        found = np.full((len(tree.wyes), len(tree.counts)), len(tree.stream_section), dtype=np.intp)
        for place, (offset, count) in enumerate(zip(tree.offsets, tree.counts, strict=True)):
            found[:count, place] = offset + np.arange(count)
        return found

    def sections(self, root: Floats, flow: Floats) -> Signed:
        """Return the sections' losses at flows (sections, cases)."""
        size, sign = np.abs(flow), np.where(flow < 0.0, -1.0, 1.0)
        root, loss, slope = section_losses(self.numbers, root, size)
        more = np.where(flow < 0.0, self.extra, 0.0)
        loss, slope = sign * (loss + more * size * size), slope + 2.0 * more * size
        port = self.numbers.before + more
        kinetic = self.half * self.first + np.where(self.numbers.shut > 0.0, 1.0, 0.5) * self.last
        static = kinetic * size * size + self.half * (port * flow * size - loss)
        static_slope = 2.0 * kinetic * flow + self.half * (2.0 * port * size - slope)
        return Signed(root, loss, slope, static, static_slope)

    def streams(self, flow: Floats) -> Streams:
        """Return the streams' losses at their flows (streams, cases) into the wyes."""
        tree, wye = self.tree, self.tree.stream_wye
        coming, leaving = np.maximum(flow, 0.0), np.maximum(-flow, 0.0)
        came, left = tree.sum_streams(coming), tree.sum_streams(leaving)
        base = self.law.evaluate(self.density, coming, came)
        spread = wye if self.law.shared else slice(None)
        by_total, by_sum = base.with_outlet[spread], np.broadcast_to(base.with_sum[spread], flow.shape)
        goes_on, more = came - left, np.maximum(came, left) + TINY
        per_area = 0.5 * self.density / self.outlet_area**2
        back = goes_on < 0.0
        level = tree.sum_streams(leaving * base.loss) / more
        own = per_area * np.where(back, goes_on**2, self.balanced * goes_on * left)
        slopes = np.zeros((len(flow), self.members.shape[1], flow.shape[1]))
        mean_total, mean_sum = (tree.sum_streams(leaving * part) / more for part in (by_total, by_sum))
        for place in range(self.members.shape[1]):
            other = self.members[:, place]
            mine = np.flatnonzero(other < len(flow))
            there = other[mine]
            comes = flow[there] > 0.0
            steep = np.broadcast_to(base.sum_slope, flow.shape)[there]
            turned = np.where(comes, 0.0, 1.0)
            by_level = np.where(comes, mean_total[mine] + mean_sum[mine] * steep, -base.loss[there] / more[mine])
            grows = np.where(back[mine], -turned, 1.0 - turned)
            by_level -= level[mine] / more[mine] * grows
            by_own = np.where(
                back[mine], 2.0 * goes_on[mine], self.balanced[mine] * (left[mine] - goes_on[mine] * turned)
            )
            everyone = by_level + np.broadcast_to(per_area, goes_on.shape)[mine] * by_own
            for stream_place in range(self.members.shape[1]):
                stream = self.members[mine, stream_place]
                real = np.flatnonzero(stream < len(flow))
                rows = stream[real]
                direct = np.where(comes[real], by_total[rows] + by_sum[rows] * steep[real], 0.0)
                slopes[rows, place] = direct - everyone[real]
            head = self.density * leaving[there] / self.area[there] ** 2
            slopes[there, place] += np.where(comes, base.own[there], head)
        loss = base.loss - (level + own)[wye] - 0.5 * self.density * (leaving / self.area) ** 2
        return Streams(loss, slopes)


def leak_suction(constant: Floats, leak: Floats) -> tuple[Floats, Floats]:
    """Return the mean static suction [Pa] that makes joints leak so much, and its slope; outward below room pressure.

    The leakage law Q = c P^0.65 turned round, as an odd function: its slope is zero, not infinite, in still air.
    """
    safe = np.where(constant > 0.0, constant, 1.0)
    share = np.abs(leak) / safe
    power = 1.0 / LEAKAGE_EXPONENT
    size = share ** (power - 1.0)
    return size * share * np.where(leak < 0.0, -1.0, 1.0), power * size / safe
