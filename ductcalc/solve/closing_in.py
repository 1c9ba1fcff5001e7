"""Closes in, from the right, on the largest flow at which a supply meets what the ducts need at given flows.

Leftwards the need falls more slowly than the square of the flow, or than the power that two flows have shown, since
friction comes nearer to the square the more air flows. So no crossing lies between a flow at which the supply is too
weak and the one where it meets that power through the need there: this is the next flow to try. As the power is nearly
right, four or five flows do. Once the supply is too strong at one of them the crossing is bracketed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ductcalc.solve.supply import Crossing, newton_in_bracket

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
SQUARE, LEAST_APART = 2.0, 1e-3
"""The power to begin with; share of a flow by which another one differs that shows a power."""

MOST_BEYOND = 2.0
"""Times the last flow up to which the next one is looked for, where the supply is still too strong."""

MET, STEEP = 2e-11, 1e-3
"""Share of its pressure to which a supply is met; on a wall of its curve, of what this share of the flow changes."""


class PowerNeed(NamedTuple):
    """Suction [Pa] that grows with a power of the flow, above -push [Pa], through a need at a flow; each (cases,)."""

    flow_m3_s: Floats
    need_pa: Floats
    power: Floats
    push_pa: Floats

    def take(self, cases: Indices) -> PowerNeed:
        """Return some cases."""
        return PowerNeed(self.flow_m3_s[cases], self.need_pa[cases], self.power[cases], self.push_pa[cases])

    def through(self, flow_m3_s: Floats, need_pa: Floats) -> PowerNeed:
        """Return the power through this need and another one; the same power where their flows hardly differ."""
        apart = np.abs(flow_m3_s - self.flow_m3_s) > LEAST_APART * self.flow_m3_s
        with np.errstate(divide="ignore", invalid="ignore"):
            rise = np.log((need_pa + self.push_pa) / (self.need_pa + self.push_pa))
            shown = rise / np.log(flow_m3_s / self.flow_m3_s)
        power = np.where(apart & (shown > 1.0), np.minimum(shown, SQUARE), self.power)
        return PowerNeed(flow_m3_s, need_pa, power, self.push_pa)

    def at(self, flow_m3_s: Floats) -> tuple[Floats, Floats]:
        """Return the suction [Pa] and its slope [Pa s/m3] at flows (cases,) or (flows, 1)."""
        above = (self.need_pa + self.push_pa) * (flow_m3_s / self.flow_m3_s) ** self.power
        return above - self.push_pa, self.power * above / np.maximum(flow_m3_s, 1e-30)


class ClosingIn:
    """The search of some cases: `flow` (cases,) [m3/s] is tried next; `index` names each case's supply."""

    def __init__(self, crossing: Crossing, index: Indices, push_pa: Floats) -> None:
        """Begin at the last points. push_pa: the strongest own blower of each case, 0 where there is none."""
        self.crossing, self.index, self.flow = crossing, index, crossing.last_flows[index]
        self.low, self.high = np.zeros(len(index)), np.full(len(index), np.inf)
        """Flows between which the crossing lies: the supply is too weak at `high` and too strong at `low`."""
        self.asked = PowerNeed(self.flow, np.full(len(index), np.inf), np.full(len(index), SQUARE), push_pa)

    def met(self, need_pa: Floats) -> NDArray[np.bool_]:
        """Return which supplies meet this need of the ducts at `flow`."""
        offered, slope = self.crossing.at(self.index, self.flow)
        scale = np.maximum(np.abs(offered), STEEP * np.abs(slope * self.flow))
        return np.asarray(np.abs(offered - need_pa) <= MET * scale)

    def go_on(self, need_pa: Floats, cases: Indices) -> None:
        """Choose the next flows by the need at `flow`, and keep only these cases.

        Where the supply is too strong at its last point the flow of its deepest dip is tried before any beyond it.
        """
        first = np.isinf(self.asked.need_pa)
        weak = self.crossing.at(self.index, self.flow)[0] < need_pa
        asked = self.asked.through(self.flow, need_pa)
        dip = np.where(first & ~weak, self._deepest_dip(asked), self.flow)
        self.high = np.where(weak, self.flow, self.high)[cases]
        self.low = np.where(weak | (dip < self.flow), self.low, self.flow)[cases]
        self.index, self.asked, dip, flow = self.index[cases], asked.take(cases), dip[cases], self.flow[cases]
        limit = np.minimum(self.high, MOST_BEYOND * flow)
        closer = self._largest_below(limit)
        closer = np.where((closer > self.low) & (closer < limit), closer, 0.5 * (self.low + limit))
        self.flow = np.where(dip < flow, dip, closer)

    def _largest_below(self, limit: Floats) -> Floats:
        """Return the largest flow (cases,) below a limit at which the supply meets the power; an end if none does."""
        flow = np.empty_like(limit)
        for number, supply, mine in self.crossing.each(self.index):
            asked, low, grid = self.asked.take(mine), self.low[mine], self.crossing.grids[number]
            inside = (grid[:, None] > low) & (grid[:, None] < limit[mine])
            meets = inside & (self._spare(number, asked) >= 0.0)
            last = len(grid) - 1 - np.argmax(meets[::-1], axis=0)
            left = np.where(meets.any(axis=0), grid[last], low)
            right = np.minimum(np.append(grid, np.inf)[np.searchsorted(grid, left, side="right")], limit[mine])
            flow[mine], _ = newton_in_bracket(supply, asked.at, np.ones(len(mine)), left, right, 0.5 * (left + right))
        return flow

    def _deepest_dip(self, asked: PowerNeed) -> Floats:
        """Return the flow (cases,) at which the supply lies deepest under the power, its last one where nowhere."""
        flow = self.crossing.last_flows[self.index]
        for number, _, mine in self.crossing.each(self.index):
            spare = self._spare(number, asked.take(mine))
            deepest = self.crossing.grids[number][spare.argmin(axis=0)]
            flow[mine] = np.where(spare.min(axis=0) < 0.0, deepest, flow[mine])
        return flow

    def _spare(self, number: int, asked: PowerNeed) -> Floats:
        """Return by how much a supply's table exceeds what is asked [Pa], (flows, cases)."""
        needed, _ = asked.at(self.crossing.grids[number][:, None])
        return np.asarray(self.crossing.values[number][:, None] - needed)
