"""What a forgotten open gate and leaking shut ones cost each machine on its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ductcalc.answers.gates.sets import GateSets
from ductcalc.arrays import Flags
from ductcalc.audit import Asked, audit
from ductcalc.cases.judged import AIR, AirGrade, JudgedCases
from ductcalc.cases.solving import collector_of, port_flows
from ductcalc.model.model import Model, build_model
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.shop.change import changed, gate_leak
from ductcalc.shop.names import key_of
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.operating import operating_point

LEAKS = (0.0, 0.01, 0.03)


@dataclass(frozen=True)
class LeftOpenAnswer:
    """A machine alone, and the forgotten gate that costs it most; by_gate: air [m3/s] with each other gate open.

    grade: of the machine's air with the worst gate forgotten.
    """

    machine: str
    alone_m3_s: float
    wanted_m3_s: float
    worst_gate: str | None
    worst_m3_s: float | None
    by_gate: tuple[tuple[str, float], ...]
    grade: AirGrade


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


def left_open(sets: GateSets, clash: Sequence[tuple[int, int]]) -> tuple[LeftOpenAnswer, ...]:
    """Return for each machine alone what one forgotten gate costs it."""
    count, apart = len(sets.machines), set(clash)
    pairs = [(a, b) for a in range(count) for b in _with_gates(sets) if a != b and (min(a, b), max(a, b)) not in apart]
    alone = sets.ask([1 << place for place in range(count)]).judged
    beside = sets.ask([1 << a | 1 << b for a, b in pairs], [1 << a for a, _ in pairs]).judged
    answers = []
    for place in np.flatnonzero(alone.solved).tolist():
        row, machine = sets.row[place], sets.machines[place]
        columns = {b: n for n, (a, b) in enumerate(pairs) if a == place and beside.solved[n]}
        others = tuple((sets.machines[b], float(beside.machine_flow_m3_s[row, n])) for b, n in columns.items())
        worst: tuple[str, float] | tuple[None, None] = min(others, key=lambda pair: pair[1], default=(None, None))
        then = next((beside.air[row, n] for b, n in columns.items() if sets.machines[b] == worst[0]), None)
        grade = AIR[int(alone.air[row, place] if then is None else then)]
        air, wanted = float(alone.machine_flow_m3_s[row, place]), sets.wanted_of(place)
        answers.append(LeftOpenAnswer(machine, air, wanted, worst[0], worst[1], others, grade))
    return tuple(answers)


def _with_gates(sets: GateSets) -> list[int]:
    """Return machines (by place) that some gate shuts; one that is always open is not forgotten."""
    model = sets.model
    shut = (p for p, free in zip(model.ports, model.opening.always_open, strict=True) if not p.off and not free)
    return sorted({sets.place[key_of(port.machine)] for port in shut})


def leaks(sets: GateSets) -> tuple[LeakAnswer, ...]:
    """Return each machine's air alone at the stated leak and with every gate leaking 0, 1 and 3 % of its bore."""
    stated = alone_m3_s(sets)
    others = [alone_m3_s(GateSets(_leaking(sets.model, share))) for share in LEAKS]
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


def alone_m3_s(sets: GateSets) -> list[float | None]:
    """Return each machine's air alone [m3/s]; None without an answer."""
    judged = sets.ask([1 << place for place in range(len(sets.machines))]).judged
    air = judged.machine_flow_m3_s[sets.row].diagonal()
    return [float(flow) if solved else None for flow, solved in zip(air, judged.solved, strict=True)]


def tightest(sets: GateSets) -> TightAnswer | None:
    """Return the gate that, if it were tight, would give the machines alone most air; None if none leaks."""
    model = sets.model
    gated = [n for n, section in enumerate(model.sections) if section.gates]
    count = len(sets.machines)
    if not gated or not count:
        return None
    alone = sets.ask([1 << place for place in range(count)]).judged
    state = model.opening.state(np.tile(sets.named_ports(alone.asked), (1, len(gated))))
    tight = _tight(model, state, gated, count)
    index = np.zeros(count * len(gated), dtype=np.intp)
    supply = collector_of(model).supply("loaded")
    solved = operating_point(model.tree, tight, model.junction, [supply], index)
    ports = port_flows(model, state, solved.flow).reshape(len(model.ports), len(gated), count)
    mine = [sets.yardstick.port_machine == row for row in sets.row]
    flow = np.array([ports[own, :, place].sum(axis=0) for place, own in enumerate(mine)]).T
    gains = flow - alone.machine_flow_m3_s[sets.row].diagonal()
    gains = np.where(alone.solved & _passed(sets, alone, gated, state, solved), gains, 0.0)
    best = int(gains.sum(axis=1).argmax())
    if gains[best].sum() <= 0.0:
        return None
    most = int(gains[best].argmax())
    found = model.sections[gated[best]]
    name = found.gates[-1].label if found.gates[-1].label != "gate" else f"gate of {found.run}"
    return TightAnswer(name, found.name, float(gains[best].sum()), sets.machines[most], float(gains[best, most]))


def _passed(
    sets: GateSets, alone: JudgedCases, gated: Sequence[int], state: OpenState, solved: Solved
) -> Flags:
    """Return which cases of machines alone pass the audit with one gate after the other tight (gates, machines)."""
    asked, found = Asked(alone.asked, alone.asked, np.ones(alone.count, dtype=bool)), []
    for group, section in enumerate(gated):
        columns = slice(group * alone.count, (group + 1) * alone.count)
        tight, own = sets.table.with_tight_gate(section), solved.part(columns)
        found.append(own.converged & audit(tight, asked, state.columns(np.r_[columns]), own).passed)
    return np.array(found)


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
