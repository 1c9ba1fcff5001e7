"""Why a case has no answer, as far as the shop itself gives a reason for it."""

from __future__ import annotations

import numpy as np

from ductcalc.cases.solving import Batch

CHECK_FAILED = "a flow was found, but the independent check of it failed, so it is not told"
MOST_TIMES_WIDER = 4.0
"""Bore of a wye's inlet over its outlet's above which no rule for wyes was made: our judgement, no source."""

LEAST_APART = 1e-6
"""Flow between two of the blower's points, as a share of the last one's, below which the curve is a wall."""

BACKWARDS = (
    "an own blower pushes so much air out of leaking joints that air would flow backwards through the collector, which"
    " is not reckoned"
)
UNSETTLED = "the calculation did not settle on one flow"


def why_unsolved(batch: Batch, column: int) -> str:
    """Return why a case of a batch has no answer, a clause that starts small."""
    if batch.collector_flow[column] < 0.0:
        return BACKWARDS
    first = CHECK_FAILED if batch.solved.converged[column] else UNSETTLED
    reasons = [*_wide_inlets(batch), *_walls(batch, column)]
    return f"{first}: {'; '.join(reasons)}" if reasons else first


def _wide_inlets(batch: Batch) -> list[str]:
    tree, model = batch.model.tree, batch.model
    found = []
    for wye, shape in zip(model.wyes, tree.wyes, strict=True):
        widest = max(shape.streams, key=lambda section: float(tree.end_area_m2[section]))
        times = float(np.sqrt(tree.end_area_m2[widest] / shape.outlet_area_m2))
        if times > MOST_TIMES_WIDER:
            found.append(
                f"the wye in {wye.hung.run} takes {model.sections[widest].name}, {times:.0f} times as wide as its own"
                " outlet, for which no rule for wyes was made"
            )
    return found[:1]


def _walls(batch: Batch, column: int) -> list[str]:
    breaks = batch.supplies[batch.index[column]].curve.breaks
    if float(np.diff(breaks).min()) < LEAST_APART * float(breaks[-1]):
        return ["two of the blower's points stand at almost the same flow, where its curve is a wall; leave one out"]
    return []
