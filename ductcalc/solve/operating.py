"""Where many cases of one tree settle: on a collector's curve, at a given total flow, or at wanted flows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ductcalc.solve.either_way import AtEnd, first_point, settle
from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Closure, Round, Solved, iterate, leak_kinetics, start_state
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.supply import Crossing, Supply
from ductcalc.solve.tree import Tree

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
BLOCK = 2048
GUESS_PA, AMPLE_PA = 2000.0, 1e6
"""First guess of the suction at the collector; one at which any duct passes the flow that is asked for."""

NO_FLOW_M3_S = 1e-30
LEAST_ANSWER = 1e-6
"""Least change of a port's pressure per change at the collector: far ports answer little where much leaks."""
KEPT_MEMORY_BYTES = 24 * 2**20
STEEP = 1e-3
"""On a wall of a curve pressures are held against what this share of the flow changes in them."""


def operating_point(
    tree: Tree, numbers: Numbers, method: Method, supplies: Sequence[Supply], index: Indices, *, sure: bool = False
) -> Solved:
    """Solve every case on its supply; `index` (cases,) says which. Cases that failed are marked, never guessed.

    sure: take the slow way with halved steps at once, which otherwise is left to cases that the fast way leaves.
    A case in which air would flow backwards through the collector counts as failed, but its flows are kept.
    A flow past a supply's last point is returned as found on its straight extension: the caller must refuse it.
    """
    crossing = Crossing(supplies)
    top = np.array([float(values.max()) for values in crossing.values])
    most = crossing.parabola_ends()

    def closure_of(block: Indices) -> Closure:
        def close(turn: Round) -> Floats:
            offset, gain, end = turn.line_at_collector()
            _, pressure = crossing.solve(index[block[turn.columns]], offset, gain, turn.flow_at_collector)
            return pressure - end

        return close

    if sure:
        solved = Solved.empty(tree.size, len(index))
    else:
        solved = _in_blocks(tree, numbers, method, top[index], most[index], closure_of)

    def at_end(cases: Indices, flow: Floats, end: Floats, offset: Floats, gain: Floats) -> tuple[Floats, Floats]:
        mine = index[cases]
        here, slope = crossing.at(mine, flow)
        scale = np.maximum(top[mine], STEEP * np.abs(slope * flow))
        return crossing.solve(mine, offset, gain, flow)[1], (end - here) / scale

    _again(tree, numbers, method, solved, top[index], most[index], at_end)
    return solved


def at_flow(tree: Tree, numbers: Numbers, method: Method, flow_m3_s: Floats) -> Solved:
    """Solve every case for a given total flow (cases,) [m3/s] at the duct's end."""

    def closure_of(block: Indices) -> Closure:
        def close(turn: Round) -> Floats:
            offset, gain, end = turn.line_at_collector()
            return (flow_m3_s[block[turn.columns]] - offset) / np.maximum(gain, NO_FLOW_M3_S) - end

        return close

    ample = np.full(len(flow_m3_s), AMPLE_PA)
    solved = _in_blocks(tree, numbers, method, ample, flow_m3_s, closure_of)

    def at_end(cases: Indices, flow: Floats, end: Floats, offset: Floats, gain: Floats) -> tuple[Floats, Floats]:
        asked = flow_m3_s[cases]
        return (asked - offset) / np.maximum(gain, NO_FLOW_M3_S), (flow - asked) / np.maximum(asked, NO_FLOW_M3_S)

    _again(tree, numbers, method, solved, ample, np.maximum(flow_m3_s, NO_FLOW_M3_S), at_end)
    return solved


def at_wanted_flows(tree: Tree, numbers: Numbers, method: Method, wanted_m3_s: Floats) -> Solved:
    """Solve for the suction at which every open port gets what it wants, gates burning the rest.

    wanted_m3_s: (sections, cases), the flow of each section that starts at an open port, nan elsewhere. What a
    port's path has over is the difference between its section's end pressure and loss. Each case needs one open port.
    """
    given = ~np.isnan(wanted_m3_s)
    held = replace(numbers, closed=numbers.closed | given)

    def closure_of(block: Indices) -> Closure:
        def close(turn: Round) -> Floats:
            still, raised = (turn.back(np.full(len(turn.columns), change)) for change in (0.0, 1.0))
            over = still.end - turn.linear.pressure_gap
            answers = np.maximum(raised.end - still.end, LEAST_ANSWER)
            mine = given[:, block[turn.columns]]
            most: Floats = np.where(mine, -over / answers, -np.inf).max(axis=0)
            return most

        return close

    guess = np.full(wanted_m3_s.shape[1], GUESS_PA)
    return _in_blocks(tree, held, method, guess, guess, closure_of, wanted_m3_s)


@cache
def _keep_memory() -> None:
    """Free, once, one large untouched array, after which common allocators keep what steps free for the next step.

    Without it they hand the memory back to the system time after time, which takes as long as the arithmetic.
    """
    np.empty(KEPT_MEMORY_BYTES, dtype=np.uint8)


def _again(
    tree: Tree, numbers: Numbers, method: Method, solved: Solved, pressure: Floats, most: Floats, at_end: AtEnd
) -> None:
    """Solve the cases that the fast way left, or in which joints leak outwards, where flows may turn round."""
    if numbers.source is not None:
        solved.converged &= ~_leaks_outwards(tree, numbers, solved)
    left = np.flatnonzero(~solved.converged)
    if not len(left):
        return
    own = numbers.take(left)
    state = start_state(tree, own, pressure[left], most[left])
    scale = pressure[left] + (0.0 if own.source is None else np.abs(own.source).max(axis=0))

    def ending(cases: Indices, flow: Floats, end: Floats, offset: Floats, gain: Floats) -> tuple[Floats, Floats]:
        return at_end(left[cases], flow, end, offset, gain)

    found, _ = settle(tree, own, method, first_point(tree, own, state), scale, most[left], ending)
    found.converged &= found.flow[tree.root] + found.leak[tree.root] >= 0.0
    for name in ("flow", "start", "end", "leak", "converged", "iterations"):
        getattr(solved, name)[..., left] = getattr(found, name)


def _leaks_outwards(tree: Tree, numbers: Numbers, solved: Solved) -> NDArray[np.bool_]:
    """Return the cases (cases,) in which some joints stand over the room's pressure."""
    if not numbers.leak.any():
        return np.zeros(len(solved.converged), dtype=bool)
    half = 0.5 * (1.0 - numbers.shut)
    mean = solved.end + leak_kinetics(numbers, tree) * solved.flow**2 - half * (solved.end - solved.start)
    return np.asarray(((numbers.leak > 0.0) & (mean < 0.0)).any(axis=0))


def _in_blocks(
    tree: Tree,
    numbers: Numbers,
    method: Method,
    pressure: Floats,
    most: Floats,
    closure_of: Callable[[Indices], Closure],
    fixed: Floats | None = None,
) -> Solved:
    _keep_memory()
    cases = len(pressure)
    whole = Solved.empty(tree.size, cases)
    for first in range(0, cases, BLOCK):
        part = slice(first, min(first + BLOCK, cases))
        block = np.arange(part.start, part.stop)
        own = numbers.take(part)
        state = start_state(tree, own, pressure[part], most[part], None if fixed is None else fixed[:, part])
        iterate(tree, own, method, state, closure_of(block), whole.part(part))
    return whole
