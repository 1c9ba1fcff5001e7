"""Why a case has no answer, as far as the shop itself gives a reason for it."""

from __future__ import annotations

import numpy as np

from ductcalc.cases.solving import Batch
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of, the

MOST_TIMES_WIDER = 4.0
"""Bore of a wye's inlet over its outlet's above which no rule for wyes was made: our judgement, no source."""

LEAST_APART = 1e-6
"""Flow between two of the blower's points, as a share of the last one's, below which the curve is a wall."""

CHECK_FAILED = "a flow was found, but the independent check of it failed, so it is not told"
UNSETTLED = "the calculation did not settle on one flow"


def why_unsolved(batch: Batch, column: int) -> str:
    """Return why a case of a batch has no answer, a clause that starts small."""
    section = int(batch.solved.outward[column])
    if section >= 0:
        return _blown_out(batch, column, section)
    first = CHECK_FAILED if batch.solved.converged[column] else UNSETTLED
    pushing = _pushing(batch, column)
    pushed = [f"{pushing} air out of another machine, perhaps"] if pushing else []
    reasons = [*_wide_inlets(batch), *_walls(batch, column), *pushed]
    return f"{first}: {'; '.join(reasons)}" if reasons else first


def outlet_of(model: Model, section: int) -> str:
    """Return what air would blow out of, which starts with this section: a machine, else the section's joints."""
    ports = [port for port in model.ports if port.section == section]
    if not ports:
        return f"the joints of {model.titles[section]}"
    several = len(model.ports_of[key_of(ports[0].machine)]) > 1
    return the(ports[0].machine) + (f" at its port {ports[0].run}" if several else "")


def _blown_out(batch: Batch, column: int, section: int) -> str:
    taking = batch.state.taking[batch.model.opening.port_section == section, column]
    gate = " through its shut gate" if len(taking) and not taking.any() else ""
    pushing = _pushing(batch, column)
    cause = f"{pushing} harder than the collector pulls there" if pushing else "this rule for wyes drags it along"
    return f"air would blow OUT of {outlet_of(batch.model, section)}{gate}, as {cause}"


def _pushing(batch: Batch, column: int) -> str:
    """Return whose own blowers push in a case, with the verb; nothing where none does."""
    own = {key_of(machine.name) for machine in batch.model.shop.settings.machines if machine.own_blower_pa}
    running = np.flatnonzero(batch.state.running[:, column])
    names = dict.fromkeys(batch.model.ports[port].machine for port in running)
    found = [f"{the(name)}'s own blower" for name in names if key_of(name) in own]
    return " and ".join(found) + (" push" if len(found) > 1 else " pushes") if found else ""


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
