"""All flows at which ducts and blower agree: more than one happens only where the blower's curve rises."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ductcalc.cases.solving import Batch
from ductcalc.solve.operating import at_flow
from ductcalc.solve.supply import Supply

Floats = NDArray[np.float64]
SAMPLES = 160


def rises(supply: Supply) -> bool:
    """Whether the suction that a supply offers rises with flow anywhere."""
    offered, _ = supply.available(supply.grid())
    return bool((np.diff(offered) > 0.0).any())


def other_crossings(batch: Batch, column: int) -> tuple[float, ...]:
    """Return the flows [m3/s] beside the operating point at which a case's ducts take what the blower offers.

    Sampled on 160 flows up to the curve's last point, each solved exactly, and a straight line between neighbours.
    """
    supply = batch.supplies[batch.index[column]]
    if not rises(supply):
        return ()
    flows = np.linspace(0.0, supply.last_flow_m3_s, SAMPLES + 1)[1:]
    numbers = batch.numbers.take(np.full(SAMPLES, column))
    solved = at_flow(batch.model.tree, numbers, batch.model.junction, flows)
    over = supply.available(flows)[0] - solved.end[batch.model.tree.root]
    found = _zeros(flows[solved.converged], over[solved.converged])
    own = float(batch.collector_flow[column])
    step = flows[1] - flows[0]
    return tuple(flow for flow in found if abs(flow - own) > step)


def _zeros(flows: Floats, values: Floats) -> list[float]:
    turns = np.flatnonzero(np.sign(values[:-1]) * np.sign(values[1:]) < 0.0)
    share = values[turns] / (values[turns] - values[turns + 1])
    return [float(flow) for flow in flows[turns] + share * (flows[turns + 1] - flows[turns])]
