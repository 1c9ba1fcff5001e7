"""Gate openings that give every machine of a set its air, set to whole per cent and checked by a full solve."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.answers.need.throttling import Throttle, set_to_per_cent, throttled, throttles
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import Model
from ductcalc.model.no_blower import with_blower_through


@dataclass(frozen=True)
class Balance:
    """A case with its gates part open, really solved, dirty filter: on the shop's own curve, or on one that gives just
    what the case needs (own_curve says which).

    gates: those that are not fully open.
    """

    name: str
    gates: tuple[Throttle, ...]
    case: Case
    own_curve: bool


def balance_of(plain: Model, batch: Batch, number: int) -> Balance:
    """Return a case of a batch at its wanted flows with its gates set, on the plain model's curve where it has one."""
    held = read_cases(batch)[number]
    point, own = held.collector, plain.collector is not None
    gates = set_to_per_cent(batch.model, throttles(batch, number)) if point is not None else {}
    model = throttled(plain if own else batch.model, gates)
    if point is not None and not own:
        model = with_blower_through(model, point.flow_m3_s, point.blower_pa)
    case = held if point is None else read_cases(solve_choices(model, [batch.choices[number]], ("loaded",)))[0]
    return Balance(held.name, tuple(gates.values()), case, own)
