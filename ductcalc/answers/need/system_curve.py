"""What the ducts of a set take against the flow, to be laid over any blower's chart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ductcalc.audit import PieceTable, audit
from ductcalc.audit.offer import Offer
from ductcalc.audit.pieces import end_velocity_pressure
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import asked_for, collector_of, end_flow, named_and_running, solve_held
from ductcalc.model.model import Model
from ductcalc.model.numbers import numbers_of
from ductcalc.solve.operating import at_flow

SHARES = tuple(round(0.1 * step, 1) for step in range(1, 16))


@dataclass(frozen=True)
class CurvePoint:
    """A flow [m3/s] at the collector's inlet, and what a case takes there [Pa], dirty filter.

    share: of the wanted flows. static_pa, total_pa: suction at the inlet, fan_static_pa: asked of the blower, with
    gates set so that every machine gets that share; open_fan_static_pa: asked of it with the same flow and all gates
    that are open fully so, where a blower's chart crosses it the shop really settles. None without an answer.
    """

    case: str
    share: float
    flow_m3_s: float
    static_pa: float
    total_pa: float
    fan_static_pa: float
    open_fan_static_pa: float | None


def system_curve(model: Model, choice: Choice) -> Iterator[CurvePoint]:
    """Yield what a choice takes at shares of its wanted flows; shares without an answer are left out.

    The model's blower gives nothing.
    """
    offer, root, loaded = Offer(collector_of(model)), model.tree.root, np.array([True])
    for share in SHARES:
        batch = solve_held(model, [choice], share=share)
        flow = batch.collector_flow
        if not (batch.solved.converged & batch.audit.passed)[0]:
            continue
        lost, total = float(offer.bill(flow, loaded).lost[0]), float(batch.solved.end[root, 0])
        opened = _as_hung(model, choice, flow)
        yield CurvePoint(
            choice.name,
            share,
            float(flow[0]),
            total + float(end_velocity_pressure(model, root, flow)[0]),
            total,
            total + lost,
            None if opened is None else opened + lost,
        )


def _as_hung(model: Model, choice: Choice, flow_m3_s: np.ndarray) -> float | None:
    """Return the total suction [Pa] that the ducts take at a flow with open gates as they stand; audited."""
    state = model.opening.state(*named_and_running(model, [choice]))
    solved = at_flow(model.tree, numbers_of(model, state), model.junction, flow_m3_s)
    offered = collector_of(model).supply("loaded").available(end_flow(model, solved))[0]
    checked = audit(PieceTable.of(model), asked_for(model, [choice]), state, solved, offered)
    return float(solved.end[model.tree.root, 0]) if (solved.converged & checked.passed)[0] else None
