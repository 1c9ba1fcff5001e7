"""Slips of whoever reads: one column of the tube, a tube that faces the stream or sits on the wrong side of a gate."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ductcalc.answers.diagnose.faults import Fault, FaultKind
from ductcalc.answers.diagnose.fitted import Fitted
from ductcalc.answers.diagnose.observed import Observed, found_once
from ductcalc.arrays import Flags, Floats
from ductcalc.cases.taps import Tap, Taps, TapTable

ONE_COLUMN = 0.5
SLIPS: frozenset[FaultKind] = frozenset({"one column read", "tube facing the stream", "tube on the wrong side"})


def misread(fit: Fitted, now: Flags) -> Iterator[tuple[Fault, Floats]]:
    """Yield what is no fault of the shop but of the reading, with what is read then (now, 1), as it is compared."""
    observed = fit.observed
    values = np.sinh(fit.read) * observed.scale
    tubes = np.array([reading.instrument == "u-tube" for reading in observed.readings]) & now

    def told(kind: FaultKind, where: str, changed: Floats) -> tuple[Fault, Floats]:
        return Fault(kind, where, "", (), ()), observed.compared(changed)[now][:, None]

    if tubes.any():
        yield told("one column read", "every u-tube", np.where(tubes, ONE_COLUMN * values, values))
    kinetic, aside = _beside(fit)
    for place in np.flatnonzero(now).tolist():
        reading = observed.readings[place]
        if reading.kind == "static" and observed.taps[observed.tap[place]].in_duct:
            name = reading.where.written
            yield told("tube facing the stream", name, _with(values, place, max(values[place] - kinetic[place], 0.0)))
            if np.isfinite(aside[place]):
                yield told("tube on the wrong side", name, _with(values, place, float(aside[place])))


def _with(values: Floats, place: int, value: float) -> Floats:
    changed = values.copy()
    changed[place] = value
    return changed


def _beside(fit: Fitted) -> tuple[Floats, Floats]:
    """Return the velocity pressure at each reading's tap, and the suction on the other side of its gate [Pa], nan
    where there is none (readings,)."""
    observed = fit.observed
    others = [_other_side(observed, tap) for tap in observed.taps]
    aside_or_same = (other or tap for other, tap in zip(others, observed.taps, strict=True))
    table = TapTable(observed.model, (*observed.taps, *aside_or_same))
    found = found_once(fit.unknowns.variant([float(off) for off in fit.deviations]), observed.choices)
    read, count = table.read(found), len(observed.taps)
    there = np.array([other is not None for other in others])[observed.tap]
    aside = np.where(there, read.static_pa[observed.tap + count, observed.case], np.nan)
    return read.vp_pa[observed.tap, observed.case], aside


def _other_side(observed: Observed, tap: Tap) -> Tap | None:
    """Return the tap on the other side of the gate beside which a tap sits."""
    finder, run = Taps(observed.model), observed.model.sections[tap.section].run
    if tap.kind == "gate":
        distance = finder.gate_distance_m(run)
        return finder.at(run, distance) or finder.port(run) if distance else finder.port(run)
    return finder.gate(run) if tap.kind in ("port", "at") and tap.behind else None
