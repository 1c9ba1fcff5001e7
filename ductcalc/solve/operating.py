"""Where many cases of one tree settle: on a collector's curve, or at a given flow at the duct's end."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ductcalc.solve.junctions import Method, junction_law
from ductcalc.solve.newton import Closure, Solved, iterate, start_state
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.supply import Crossing, Supply
from ductcalc.solve.tree import Tree

Floats = NDArray[np.float64]
BLOCK = 512


def operating_point(
    tree: Tree, numbers: Numbers, method: Method, supplies: Sequence[Supply], index: NDArray[np.intp]
) -> Solved:
    """Solve every case on its supply; `index` (cases,) says which. Cases that failed are marked, never guessed.

    A flow past a supply's last point is returned as found on its straight extension: the caller must refuse it.
    """
    crossing = Crossing(supplies)
    top = np.array([float(values.max()) for values in crossing.values])
    most = np.array([supply.last_flow_m3_s for supply in supplies])

    def closure_of(block: NDArray[np.intp]) -> Closure:
        def close(columns: NDArray[np.intp], flow: Floats, end: Floats, offset: Floats, gain: Floats) -> Floats:
            _, pressure = crossing.solve(index[block[columns]], flow + offset - gain * end, gain)
            return pressure - end

        return close

    return _in_blocks(tree, numbers, method, top[index], most[index], closure_of)


def at_flow(tree: Tree, numbers: Numbers, method: Method, flow_m3_s: Floats) -> Solved:
    """Solve every case for a given total flow (cases,) [m3/s] at the duct's end."""

    def closure_of(block: NDArray[np.intp]) -> Closure:
        def close(columns: NDArray[np.intp], flow: Floats, end: Floats, offset: Floats, gain: Floats) -> Floats:
            return (flow_m3_s[block[columns]] - flow - offset) / np.maximum(gain, 1e-30)

        return close

    guess = np.full(len(flow_m3_s), 2000.0)
    return _in_blocks(tree, numbers, method, guess, flow_m3_s / 0.7, closure_of)


def _in_blocks(
    tree: Tree, numbers: Numbers, method: Method, pressure: Floats, most: Floats, closure_of: object
) -> Solved:
    law = junction_law(tree, method)
    cases = len(pressure)
    shape = (tree.size, cases)
    whole = Solved(
        *(np.empty(shape) for _ in range(4)), np.empty(cases, dtype=bool), np.empty(cases, dtype=np.intp)
    )
    for first in range(0, cases, BLOCK):
        block = np.arange(first, min(first + BLOCK, cases))
        own = numbers.take(slice(first, first + BLOCK))
        state = start_state(tree, own, len(block), pressure[block], most[block])
        solved = iterate(tree, own, law, state, closure_of(block))  # type: ignore[operator]
        for name in ("flow", "start", "end", "leak"):
            getattr(whole, name)[:, block] = getattr(solved, name)
        whole.converged[block], whole.iterations[block] = solved.converged, solved.iterations
    return whole
