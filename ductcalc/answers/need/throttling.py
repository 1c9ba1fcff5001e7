"""Gates that burn what a branch has over at the wanted flows: how far each is open, and the ducts with them so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.catalog import fact, gate_part_open, opening_of_gate
from ductcalc.model.decided import given
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model
from ductcalc.model.no_blower import with_blower_through
from ductcalc.model.sections import ModelSection
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.velocity import velocity, velocity_pressure

NOTHING_PA = 1e-6
"""Less than this a gate need not burn: what the worst path has over is nothing but rounding."""


@dataclass(frozen=True)
class Throttle:
    """A section's gate part open: what it burns [Pa] at the wanted flow, its opening [1], its loss coefficient [1].

    run: the run in which it stands.
    """

    run: str
    burnt_pa: float
    opening: float
    coefficient: float


def throttles(batch: Batch, column: int) -> dict[int, Throttle]:
    """Return how the gates of a case at its wanted flows burn what its paths have over, by section.

    A gate burns all that every open path through it has over, the ones nearest to the ports first.
    """
    model, over = batch.model, batch.wanted.over_pa[:, column].copy()
    through: dict[int, list[int]] = {}
    for port in np.flatnonzero(~np.isnan(over)):
        for section in model.path(int(port)):
            through.setdefault(section, []).append(int(port))
    found = {}
    for section, ports in sorted(through.items()):
        burnt = float(over[ports].min())
        if model.sections[section].gates and burnt > NOTHING_PA:
            over[ports] -= burnt
            found[section] = _throttle(batch, column, section, burnt)
    return found


def _throttle(batch: Batch, column: int, section: int, burnt_pa: float) -> Throttle:
    model, flow = batch.model, float(batch.solved.flow[section, column])
    gate = model.sections[section].gates[0]
    kinetic = float(velocity_pressure(model.air.density_kg_m3, velocity(flow, gate.bore_m)))
    more = burnt_pa / (kinetic * float(loaded_duct_factor(model.loading)))
    opening = opening_of_gate(_as_gate(gate) + more)
    return Throttle(model.sections[section].run, burnt_pa, opening, _coefficient(gate) + more)


def _coefficient(gate: Loss) -> float:
    assert gate.k is not None
    return gate.k.value


def _as_gate(gate: Loss) -> float:
    """Return a gate's coefficient as it stands; one of which less was written than an open gate loses is open."""
    return max(_coefficient(gate), fact("gate", "open").value)


def set_to_per_cent(model: Model, found: Mapping[int, Throttle]) -> dict[int, Throttle]:
    """Return gates opened to whole per cent, as a hand sets them; what each then burns is left to a full solve."""
    rounded = {}
    for section, throttle in found.items():
        gate, opening = model.sections[section].gates[0], max(round(throttle.opening, 2), 0.01)
        more = gate_part_open(opening).value - _as_gate(gate)
        rounded[section] = replace(throttle, opening=opening, coefficient=_coefficient(gate) + max(more, 0.0))
    return rounded


def throttled(model: Model, found: Mapping[int, Throttle]) -> Model:
    """Return the model with its gates part open."""
    sections = enumerate(model.sections)
    return replace(model, sections=tuple(_with_gate(s, found[n]) if n in found else s for n, s in sections))


def _with_gate(section: ModelSection, throttle: Throttle) -> ModelSection:
    first = section.gates[0]
    gate = first._replace(k=given(throttle.coefficient, f"gate {throttle.opening:.0%} open"))
    return replace(section, body=tuple(gate if loss is first else loss for loss in section.body))


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
