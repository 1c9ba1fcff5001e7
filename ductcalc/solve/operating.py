"""Where many cases of one tree settle: on a collector's curve, at a given total flow, or at wanted flows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats, Places
from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Closure, Round, Solved, iterate, start_state
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.supply import Crossing, Supply, newton_in_bracket
from ductcalc.solve.sure import hard_cases, let_in, name_outward
from ductcalc.solve.tree import Tree

BLOCK = 2048
GUESS_PA, AMPLE_PA = 2000.0, 1e6
"""First guess of the suction at the collector; one at which any duct passes the flow that is asked for."""

NO_FLOW_M3_S = 1e-30
LEAST_ANSWER = 1e-6
"""Least change of a port's pressure per change at the collector: far ports answer little where much leaks."""
KEPT_MEMORY_BYTES = 24 * 2**20
MOST_FLOWS = 60
"""Flows that are tried in closing in on a crossing."""


def operating_point(
    tree: Tree, numbers: Numbers, method: Method, supplies: Sequence[Supply], index: Places, *, sure: bool = False
) -> Solved:
    """Solve every case on its supply; `index` (cases,) says which. Cases that failed are marked, never guessed.

    sure: close in on the crossing at once, which otherwise is left to cases that Newton's method leaves.
    A flow past a supply's last point is returned as found on its straight extension: the caller must refuse it.
    """
    crossing = Crossing(supplies)

    def solve(own: Numbers, cases: Places) -> Solved:
        return _on_supplies(tree, own, method, crossing, index[cases], sure)

    with np.errstate(over="ignore", invalid="ignore"):
        solved = solve(numbers, np.arange(len(index)))
        name_outward(tree, numbers, solved, solve)
    solved.clear_unsettled()
    return solved


def _on_supplies(
    tree: Tree, numbers: Numbers, method: Method, crossing: Crossing, index: Places, sure: bool
) -> Solved:
    """Solve every case in which all air goes forward; of the others what was last stays."""

    def closure_of(block: Places) -> Closure:
        def close(turn: Round) -> Floats:
            offset, gain, end = turn.line_at_collector()
            _, pressure = crossing.solve(index[block[turn.columns]], offset, gain, turn.flow_at_collector)
            return pressure - end

        return close

    solved = Solved.empty(tree.size, len(index))
    # the fast way first, all cases at once; what it leaves, or has jumped past the curve, is closed in on
    if not sure:
        top, most, rising = crossing.tops[index], crossing.parabola_ends()[index], crossing.rising[index]
        solved = _in_blocks(tree, numbers, method, top, most, closure_of, stays=rising)
    beyond = solved.flow[tree.root] + solved.leak[tree.root] > crossing.last_flows[index]
    solved.converged[beyond & crossing.rising[index]] = False
    left = hard_cases(tree, numbers, solved)
    if len(left):
        found = _closed_in(tree, numbers.take(left), method, crossing, index[left])
        good = np.flatnonzero(found.converged)
        solved.put(left[good], found.part(good))
    return solved


def _closed_in(tree: Tree, numbers: Numbers, method: Method, crossing: Crossing, index: Places) -> Solved:
    """Solve cases by what their ducts need at one given flow after the other."""
    push = np.zeros(len(index)) if numbers.source is None else numbers.source.max(axis=0) + np.zeros(len(index))
    search, cases = ClosingIn(crossing, index, push), np.arange(len(index))
    found = Solved.empty(tree.size, len(index))
    for _ in range(MOST_FLOWS):
        # at a given flow there is one answer, whatever the curve does: the need is compared with the supply there
        here = at_flow(tree, numbers.take(cases), method, search.flow)
        need = here.end[tree.root]
        met = search.met(need) & here.converged
        found.put(cases[met], here.part(np.flatnonzero(met)))
        going = np.flatnonzero(here.converged & ~met)
        if not len(going):
            break
        search.go_on(need, going)
        cases = cases[going]
    return found


def at_flow(tree: Tree, numbers: Numbers, method: Method, flow_m3_s: Floats) -> Solved:
    """Solve every case for a given total flow (cases,) [m3/s] at the duct's end."""

    def closure_of(block: Places) -> Closure:
        def close(turn: Round) -> Floats:
            offset, gain, end = turn.line_at_collector()
            return (flow_m3_s[block[turn.columns]] - offset) / np.maximum(gain, NO_FLOW_M3_S) - end

        return close

    ample = np.full(len(flow_m3_s), AMPLE_PA)
    solved = _in_blocks(tree, numbers, method, ample, flow_m3_s, closure_of)
    solved.clear_unsettled()
    return solved


def at_wanted_flows(tree: Tree, numbers: Numbers, method: Method, wanted_m3_s: Floats) -> Solved:
    """Solve for the suction at which every open port gets what it wants, gates burning the rest.

    wanted_m3_s: (sections, cases), the flow of each section that starts at an open port, nan elsewhere. What a
    port's path has over is the difference between its section's end pressure and loss. Each case needs one open port.
    """
    given = ~np.isnan(wanted_m3_s)
    held = replace(numbers, closed=numbers.closed | given)

    def closure_of(block: Places) -> Closure:
        def close(turn: Round) -> Floats:
            still, raised = (turn.back(np.full(len(turn.columns), change)) for change in (0.0, 1.0))
            over = still.end - turn.linear.pressure_gap
            answers = np.maximum(raised.end - still.end, LEAST_ANSWER)
            mine = given[:, block[turn.columns]]
            most: Floats = np.where(mine, -over / answers, -np.inf).max(axis=0)
            return most

        return close

    guess = np.full(wanted_m3_s.shape[1], GUESS_PA)
    solved = _in_blocks(tree, held, method, guess, guess, closure_of, wanted_m3_s)
    solved.clear_unsettled()
    return solved


@cache
def _keep_memory() -> None:
    """Free, once, one large untouched array, after which common allocators keep what steps free for the next step.

    Without it they hand the memory back to the system time after time, which takes as long as the arithmetic.
    """
    np.empty(KEPT_MEMORY_BYTES, dtype=np.uint8)


def _in_blocks(
    tree: Tree,
    numbers: Numbers,
    method: Method,
    pressure: Floats,
    most: Floats,
    closure_of: Callable[[Places], Closure],
    fixed: Floats | None = None,
    stays: Flags | bool = False,
) -> Solved:
    """Solve cases in blocks, and by letting leaks in those that Newton's method leaves, but for some (`stays`)."""
    _keep_memory()
    cases = len(pressure)
    whole = Solved.empty(tree.size, cases)
    for first in range(0, cases, BLOCK):
        part = slice(first, min(first + BLOCK, cases))
        block = np.arange(part.start, part.stop)
        own = numbers.take(part)
        state = start_state(tree, own, pressure[part], most[part], None if fixed is None else fixed[:, part])
        iterate(tree, own, method, state, closure_of(block), whole.part(part))
    left = np.flatnonzero(~(whole.converged | stays))
    if len(left) and (numbers.leak.any() or numbers.source is not None):
        own, held = numbers.take(left), None if fixed is None else fixed[:, left]
        state = start_state(tree, own, pressure[left], most[left], held)
        whole.put(left, let_in(tree, own, method, state, lambda some: closure_of(left[some])))
    return whole


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

    def take(self, cases: Places) -> PowerNeed:
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

    def __init__(self, crossing: Crossing, index: Places, push_pa: Floats) -> None:
        """Begin at the last points. push_pa: the strongest own blower of each case, 0 where there is none."""
        self.crossing, self.index, self.flow = crossing, index, crossing.last_flows[index]
        self.low, self.high = np.zeros(len(index)), np.full(len(index), np.inf)
        """Flows between which the crossing lies: the supply is too weak at `high` and too strong at `low`."""
        self.asked = PowerNeed(self.flow, np.full(len(index), np.inf), np.full(len(index), SQUARE), push_pa)

    def met(self, need_pa: Floats) -> Flags:
        """Return which supplies meet this need of the ducts at `flow`."""
        offered, slope = self.crossing.at(self.index, self.flow)
        scale = np.maximum(np.abs(offered), STEEP * np.abs(slope * self.flow))
        return np.asarray(np.abs(offered - need_pa) <= MET * scale)

    def go_on(self, need_pa: Floats, cases: Places) -> None:
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
