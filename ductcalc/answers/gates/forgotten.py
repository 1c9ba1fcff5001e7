"""What a forgotten open gate and leaking shut ones cost each machine on its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.gates.solved import SolvedSets
from ductcalc.cases.solving import collector_of, port_flows
from ductcalc.cases.words import ROUNDING
from ductcalc.model.model import Model, build_model
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.shop.change import changed, gate_leak
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.operating import operating_point

Floats = NDArray[np.float64]
LEAKS = (0.0, 0.01, 0.03)


@dataclass(frozen=True)
class LeftOpenAnswer:
    """A machine alone, and the forgotten gate that costs it most; by_gate: air [m3/s] with each other gate open.

    enough: whether every port of the machine still gets its air with the worst gate forgotten.
    """

    machine: str
    alone_m3_s: float
    wanted_m3_s: float
    worst_gate: str | None
    worst_m3_s: float | None
    by_gate: tuple[tuple[str, float], ...]
    enough: bool


@dataclass(frozen=True)
class LeakAnswer:
    """A machine alone: its air [m3/s] with the stated leak of shut gates, and with 0, 1 and 3 % of their bore."""

    machine: str
    stated_m3_s: float | None
    by_share: tuple[tuple[float, float | None], ...]


@dataclass(frozen=True)
class TightAnswer:
    """The gate whose tightness matters most: what all machines alone gain together when it is tight [m3/s].

    most_gained: the machine that gains most, and how much [m3/s].
    """

    gate: str
    section: str
    gain_m3_s: float
    most_gained: str
    most_gain_m3_s: float


def left_open(sets: SolvedSets, clash: Sequence[tuple[int, int]]) -> tuple[LeftOpenAnswer, ...]:
    """Return for each machine alone what one forgotten gate costs it."""
    count, apart, shutting = len(sets.machines), set(clash), _with_gates(sets)
    pairs = [(a, b) for a in range(count) for b in shutting if a != b and (min(a, b), max(a, b)) not in apart]
    sets.add([1 << place for place in range(count)])
    sets.add([sets.key(1 << a | 1 << b, 1 << a) for a, b in pairs])
    flow, solved = sets.flow_m3_s, sets.solved
    answers = []
    for place, machine in enumerate(sets.machines):
        row = sets.row[1 << place]
        if not solved[row]:
            continue
        rows = {b: sets.row[sets.key(1 << a | 1 << b, 1 << a)] for a, b in pairs if a == place}
        others = tuple((sets.machines[b], float(flow[r, place])) for b, r in rows.items() if solved[r])
        worst: tuple[str, float] | tuple[None, None] = min(others, key=lambda pair: pair[1], default=(None, None))
        then = next((r for b, r in rows.items() if sets.machines[b] == worst[0]), row)
        enough = bool(sets.share[then, place] >= 1.0 - ROUNDING)
        alone, wanted = float(flow[row, place]), sets.wanted_of(place)
        answers.append(LeftOpenAnswer(machine, alone, wanted, worst[0], worst[1], others, enough))
    return tuple(answers)


def _with_gates(sets: SolvedSets) -> list[int]:
    """Return machines (by place) that some gate shuts; one that is always open is not forgotten."""
    shut = sets.usable & ~sets.model.opening.always_open
    return sorted({int(place) for place in sets.port_machine[shut]})


def leaks(sets: SolvedSets) -> tuple[LeakAnswer, ...]:
    """Return each machine's air alone at the stated leak and with every gate leaking 0, 1 and 3 % of its bore."""
    stated = _alone(sets.model, sets)
    others = [_alone(_leaking(sets.model, share), sets) for share in LEAKS]
    return tuple(
        LeakAnswer(
            machine,
            stated[place],
            tuple((share, other[place]) for share, other in zip(LEAKS, others, strict=True)),
        )
        for place, machine in enumerate(sets.machines)
    )


def _leaking(model: Model, share: float) -> Model:
    return build_model(changed(model.shop, [gate_leak(share)]), model.junction, loading=model.loading)


def _alone(model: Model, sets: SolvedSets) -> list[float | None]:
    own = sets if model is sets.model else SolvedSets(model)
    masks = [1 << place for place in range(len(sets.machines))]
    own.add(masks)
    flow, solved = own.flow_m3_s, own.solved
    rows = [own.row[mask] for mask in masks]
    return [float(flow[row, place]) if solved[row] else None for place, row in enumerate(rows)]


def tightest(sets: SolvedSets) -> TightAnswer | None:
    """Return the gate that, if it were tight, would give the machines alone most air; None if none leaks."""
    model = sets.model
    gated = [n for n, section in enumerate(model.sections) if section.gates]
    count = len(sets.machines)
    if not gated or not count:
        return None
    named = np.tile(sets.named_ports([1 << place for place in range(count)]), (1, len(gated)))
    state = model.opening.state(named)
    tight = _tight(model, state, gated, count)
    index = np.zeros(named.shape[1], dtype=np.intp)
    supply = collector_of(model).supply("loaded")
    solved = operating_point(model.tree, tight, model.junction, [supply], index)
    ports = port_flows(model, state, solved.flow)
    flow = np.zeros((count, named.shape[1]))
    mine = np.flatnonzero(sets.usable)
    np.add.at(flow, sets.port_machine[mine], ports[mine])
    rows = [sets.row[1 << place] for place in range(count)]
    alone = np.array([sets.flow_m3_s[row, place] for place, row in enumerate(rows)])
    gains = np.array([[flow[p, g * count + p] for p in range(count)] for g in range(len(gated))]) - alone
    known = sets.solved[rows] & solved.converged.reshape(len(gated), count)
    gains = np.where(known, gains, 0.0)
    best = int(gains.sum(axis=1).argmax())
    if gains[best].sum() <= 0.0:
        return None
    most = int(gains[best].argmax())
    found = model.sections[gated[best]]
    name = found.gates[-1].label if found.gates[-1].label != "gate" else f"gate of {found.run}"
    return TightAnswer(name, found.name, float(gains[best].sum()), sets.machines[most], float(gains[best, most]))


def _tight(model: Model, state: OpenState, gated: Sequence[int], count: int) -> Numbers:
    """Return the numbers with one gate after the other tight, `count` cases each: behind it joints feel no suction."""
    numbers = numbers_of(model, state)
    closed = np.broadcast_to(numbers.closed, state.shut.shape).copy()
    leak = np.broadcast_to(numbers.leak, state.shut.shape).copy()
    for group, section in enumerate(gated):
        columns = slice(group * count, (group + 1) * count)
        for behind in _upstream(model, section):
            closed[behind, columns] |= state.shut[section, columns]
            if behind != section:
                leak[behind, columns] *= ~state.shut[section, columns]
    return replace(numbers, closed=closed, leak=leak)


def _upstream(model: Model, section: int) -> list[int]:
    found, waiting = [], [section]
    while waiting:
        here = waiting.pop()
        found.append(here)
        wye = model.tree.wye_above[here]
        if wye >= 0:
            waiting.extend(model.tree.wyes[wye].streams)
    return found
