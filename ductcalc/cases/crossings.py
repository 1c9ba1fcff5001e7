"""All flows at which ducts and blower agree: more than one happens only where the blower's curve rises."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit import audit
from ductcalc.cases.solving import Batch
from ductcalc.solve.newton import Solved
from ductcalc.solve.operating import at_flow
from ductcalc.solve.supply import Supply

Floats = NDArray[np.float64]
SAMPLES, MOST_ROUNDS = 160, 60
NEAREST = 1e-12
"""Relative width of the last step of a crossing: what the solver leaves in a pressure moves it as far."""


def rises(supply: Supply) -> bool:
    """Whether the suction that a supply offers rises with flow anywhere."""
    offered, _ = supply.available(supply.grid())
    return bool((np.diff(offered) > 0.0).any())


def other_crossings(batch: Batch, column: int) -> tuple[float, ...]:
    """Return the flows [m3/s] beside the operating point at which a case's ducts take what the blower offers.

    Looked for between the curve's points and 160 flows up to the last one, then closed in on.
    """
    supply = batch.supplies[batch.index[column]]
    if not rises(supply):
        return ()
    even = np.linspace(0.0, supply.last_flow_m3_s, SAMPLES + 1)
    flows = np.union1d(even, supply.curve.breaks)[1:]
    over = _over(batch, column, flows)
    own = float(batch.collector_flow[column])
    beside = (own < flows[:-1]) | (own > flows[1:])
    turns = np.flatnonzero((np.sign(over[:-1]) * np.sign(over[1:]) < 0.0) & beside)
    found = _closed_in(batch, column, flows[[turns, turns + 1]], over[[turns, turns + 1]])
    return tuple(found[_passed(batch, column, found)].tolist())


def _at(batch: Batch, column: int, flows: Floats) -> Solved:
    numbers = batch.numbers.take(np.full(len(flows), column))
    return at_flow(batch.model.tree, numbers, batch.model.junction, flows)


def _passed(batch: Batch, column: int, flows: Floats) -> NDArray[np.bool_]:
    """Return at which flows (flows,) the audit finds too that the ducts take what the blower offers."""
    columns = np.full(len(flows), column)
    asked, state = batch.asked.columns(columns), batch.state.columns(columns)
    return audit(batch.table, asked, state, _at(batch, column, flows)).passed


def _over(batch: Batch, column: int, flows: Floats) -> Floats:
    """Return the suction [Pa] that the blower offers beyond what the ducts need at flows [m3/s], nan where unknown."""
    solved = _at(batch, column, flows)
    offered, _ = batch.supplies[batch.index[column]].available(flows)
    return np.where(solved.converged, offered - solved.end[batch.model.tree.root], np.nan)


def _closed_in(batch: Batch, column: int, ends: Floats, over: Floats) -> Floats:
    """Return the zeros between two flows each (2, zeros) by the secant; an end that stays counts half (Illinois)."""
    flow = ends[0]
    for _ in range(MOST_ROUNDS if flow.size else 0):
        last, flow = flow, ends[1] - over[1] * (ends[1] - ends[0]) / (over[1] - over[0])
        if (np.abs(flow - last) <= NEAREST * flow).all():
            break
        here = _over(batch, column, flow)
        passed = np.sign(here) == np.sign(over[1])
        over = np.stack([np.where(passed, 0.5 * over[0], over[1]), here])
        ends = np.stack([np.where(passed, ends[0], ends[1]), flow])
    return np.asarray(flow[np.isfinite(flow)])
