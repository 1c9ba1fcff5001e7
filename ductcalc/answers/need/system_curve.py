"""What the ducts of a set take against the flow, to be laid over any blower's chart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ductcalc.audit.offer import Offer
from ductcalc.audit.pieces import end_velocity_pressure
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import collector_of, ducts_take_pa, solve_held
from ductcalc.model.model import Model

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
        opened = float(ducts_take_pa(batch, 0, flow)[0])
        yield CurvePoint(
            choice.name,
            share,
            float(flow[0]),
            total + float(end_velocity_pressure(model, root, flow)[0]),
            total,
            total + lost,
            None if np.isnan(opened) else opened + lost,
        )
