"""The machines that a verdict names: the farthest, the worst and the greediest of all cases."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer
from ductcalc.cases.solving import wanted_of
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of

BEYOND_PA = 1e12
"""More than any margin: puts what lies beyond the curve behind everything that does not."""


class KeyMachine(NamedTuple):
    """A machine that the verdict names, with the case in which it is judged."""

    machine: str
    case: str
    length_m: float
    margin_pa: float | None
    wanted_m3_s: float
    answer: MachineAnswer | None


def key_machines(model: Model, cases: Sequence[Case]) -> tuple[KeyMachine, KeyMachine, KeyMachine]:
    """Return the farthest, the worst and the greediest of the running machines over all cases."""
    found = [_key(model, case, machine) for case in cases for machine in (case.running or case.open)]
    if not found:
        found = [_key(model, case, machine) for case in cases for machine in model.machines[:1]]
    worst = min(found, key=lambda pair: pair[1])[0]
    farthest = max(found, key=lambda pair: pair[0].length_m)[0]
    greediest = max(found, key=lambda pair: pair[2])[0]
    return farthest, worst, greediest


def _key(model: Model, case: Case, machine: str) -> tuple[KeyMachine, float, float]:
    """Return a machine of a case, the rank of its margin (beyond the curve: by what it lacks), its wanted air."""
    answer = next((m for m in case.machines if m.machine == machine), None)
    excess = min((path.excess_pa for path in case.wanted.paths if path.machine == machine), default=0.0)
    margin = None if case.wanted.margin_pa is None else case.wanted.margin_pa + excess
    lacks = case.wanted.suction_total_pa if case.wanted.suction_total_pa is not None else BEYOND_PA
    rank = excess - lacks - BEYOND_PA if margin is None else margin
    usual = np.array([port.wanted_m3_s for port in model.ports])
    wanted = answer.wanted_m3_s if answer else wanted_of(model, usual, machine)
    length = max(model.length_m(port) for port in model.ports_of[key_of(machine)])
    return KeyMachine(machine, case.name, length, margin, wanted, answer), rank, wanted
