"""Reads cases out of a solved batch: the one place where solver rows become machines, sections and paths."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit.pieces import end_velocity_pressure
from ductcalc.cases.case import (
    AuditAnswer,
    CaseAnswer,
    CollectorAnswer,
    MachineAnswer,
    PathAnswer,
    PortAnswer,
    SectionAnswer,
    WantedAnswer,
)
from ductcalc.cases.choices import Choice
from ductcalc.cases.crossings import other_crossings
from ductcalc.cases.judging import NO_CHIPS, Judge, ports_running
from ductcalc.cases.solving import Batch, WantedBatch, collector_of, port_flows, solve_wanted, wanted_flows, wanted_of
from ductcalc.cases.unsolved import why_unsolved
from ductcalc.cases.words import (
    ROUNDING,
    is_enough,
    machine_word,
    section_word,
    settling_speed,
    status_word,
)
from ductcalc.model.collector import FilterState, ModelCollector, Part
from ductcalc.model.model import Model
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of
from ductcalc.solve.operating import at_flow

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class _Reading:
    """What all cases of a batch share."""

    batch: Batch
    wanted: WantedBatch
    ports: Floats
    section_loss: Floats
    judge: Judge
    ranks: NDArray[np.intp]
    carrying: NDArray[np.bool_]


def read_cases(batch: Batch) -> tuple[CaseAnswer, ...]:
    """Return every case of a batch, choice by choice, the loaded filter first."""
    model, judge = batch.model, Judge(batch.model)
    columns = [choice for choice in batch.choices for _ in batch.filters]
    reading = _Reading(
        batch,
        solve_wanted(batch),
        port_flows(model, batch.state, batch.solved.flow),
        batch.table.by_section(batch.audit.losses, model.tree.size),
        judge,
        judge.ranks(ports_running(model, columns, batch.state.taking)),
        judge.ranks(batch.state.taking) > NO_CHIPS,
    )
    return tuple(
        _case(reading, number, choice, filter_state)
        for number, choice in enumerate(batch.choices)
        for filter_state in batch.filters
    )


def _case(reading: _Reading, number: int, choice: Choice, filter_state: FilterState) -> CaseAnswer:
    batch, model = reading.batch, reading.batch.model
    column = batch.column(number, filter_state)
    supply = batch.supplies[batch.index[column]]
    flow = float(batch.collector_flow[column])
    status = status_word(
        bool(batch.solved.converged[column]), bool(batch.audit.passed[column]), flow, supply.last_flow_m3_s
    )
    taking = batch.state.taking[:, column]
    is_open = tuple(m for m in model.machines if any(taking[p] for p in model.ports_of[key_of(m)]))
    good = status == "solved"
    beyond = status == "beyond the curve"
    return CaseAnswer(
        name=choice.name,
        open=is_open,
        asked=choice.machines,
        running=tuple(m for m in choice.machines if choice.runs(m)),
        filter=filter_state,
        status=status,
        collector=_collector(reading, column, filter_state) if good else None,
        machines=_machines(reading, column, choice) if good else (),
        sections=_sections(reading, column) if good else (),
        wanted=_wanted(reading, number, column, choice),
        audit=_audit(batch, column) if good else None,
        joint_leak_m3_s=float(batch.solved.leak[:, column].sum()) if good else None,
        gate_leak_m3_s=float(reading.ports[~taking, column].sum()) if good else None,
        surplus_pa=_surplus(reading, column) if beyond else None,
        last_flow_m3_s=supply.last_flow_m3_s,
        note=choice.note,
        other_crossings_m3_s=other_crossings(batch, column) if good else (),
        own_blowers=_own_blowers(model, choice),
        why=None if good or beyond else why_unsolved(batch, column),
    )


def _own_blowers(model: Model, choice: Choice) -> tuple[str, ...]:
    own = {key_of(machine.name) for machine in model.shop.settings.machines if machine.own_blower_pa}
    return tuple(name for name in model.machines if key_of(name) in own and choice.runs(name) and choice.asks(name))


def _surplus(reading: _Reading, column: int) -> float:
    """Suction [Pa] that the blower still offers at its last point above what the ducts take there."""
    batch = reading.batch
    supply = batch.supplies[batch.index[column]]
    last = np.array([supply.last_flow_m3_s])
    numbers = batch.numbers.take(np.array([column]))
    solved = at_flow(batch.model.tree, numbers, batch.model.junction, last)
    return float(supply.available_at(supply.last_flow_m3_s) - solved.end[batch.model.tree.root, 0])


def _audit(batch: Batch, column: int) -> AuditAnswer:
    checked = batch.audit
    return AuditAnswer(float(checked.pressure[column]), float(checked.mass[column]), float(checked.blower[column]))


def _collector(reading: _Reading, column: int, filter_state: FilterState) -> CollectorAnswer:
    batch, model = reading.batch, reading.batch.model
    collector, supply = collector_of(model), batch.supplies[batch.index[column]]
    flow = float(batch.collector_flow[column])
    total = float(batch.solved.end[model.tree.root, column])
    kinetic = float(end_velocity_pressure(model, model.tree.root, np.array(flow)))
    return CollectorAnswer(
        name=collector.name,
        flow_m3_s=flow,
        inlet_static_pa=total + kinetic,
        inlet_total_pa=total,
        blower_pa=collector.blower_pa(flow),
        basis=collector.basis,
        cyclone_pa=_part_pressure(collector, collector.cyclone, flow),
        filter_pa=_part_pressure(collector, collector.filter_at(filter_state), flow),
        left_of_curve=flow < supply.first_flow_m3_s * (1.0 - ROUNDING),
        power_w=collector.power_w(flow),
    )


def _part_pressure(collector: ModelCollector, part: Part | None, flow: float) -> float | None:
    if part is None:
        return None
    return part.term(collector.air, collector.rated).at(flow)


def _machines(reading: _Reading, column: int, choice: Choice) -> tuple[MachineAnswer, ...]:
    model = reading.batch.model
    wanted = wanted_flows(model, choice)
    return tuple(_machine(reading, column, choice, machine, wanted) for machine in model.machines)


def _machine(reading: _Reading, column: int, choice: Choice, machine: str, wanted: Floats) -> MachineAnswer:
    model, taking = reading.batch.model, reading.batch.state.taking
    ports = model.ports_of[key_of(machine)]
    used = [p for p in ports if not model.ports[p].off]
    flows = {p: float(reading.ports[p, column]) for p in ports}
    answers = tuple(
        PortAnswer(
            model.ports[p].run,
            flows[p],
            float(wanted[p]),
            flows[p] / float(bore_area(model.ports[p].bore_m)),
            is_enough(flows[p], float(wanted[p])),
        )
        for p in used
    )
    is_open = bool(any(taking[p, column] for p in used))
    served = is_open and all(port.enough for port in answers)
    least = min((port.flow_m3_s / port.wanted_m3_s for port in answers), default=0.0)
    return MachineAnswer(
        machine=machine,
        open=is_open,
        asked=choice.asks(machine),
        runs=choice.runs(machine),
        flow_m3_s=sum(flows.values()),
        wanted_m3_s=float(sum(wanted[p] for p in used)),
        served=served,
        word=machine_word(choice.asks(machine), is_open, not used, served, least),
        ports=answers,
    )


def _sections(reading: _Reading, column: int) -> tuple[SectionAnswer, ...]:
    batch, model = reading.batch, reading.batch.model
    answers = []
    for number, section in enumerate(model.sections):
        flow = float(batch.solved.flow[number, column])
        speed = flow / float(reading.judge.slowest_area[number, 0])
        rank = int(reading.ranks[number, column])
        material = reading.judge.materials[rank - 1] if rank else None
        needed = float(reading.judge.needed_of_rank[rank]) if rank else None
        riser = None if section.riser_bore_m is None else flow / float(bore_area(section.riser_bore_m))
        word = section_word(speed, riser, needed, bool(reading.carrying[number, column]))
        answers.append(
            SectionAnswer(
                section=section.name,
                run=section.run,
                flow_m3_s=flow,
                velocity_m_s=speed,
                needed_velocity_m_s=needed,
                settling_velocity_m_s=None if needed is None else settling_speed(needed),
                riser_velocity_m_s=riser,
                loss_pa=float(reading.section_loss[number, column]),
                wye_loss_pa=float(batch.audit.junction[number, column]),
                joint_leak_m3_s=float(batch.solved.leak[number, column]),
                material=material,
                rises=section.rises,
                word=word,
            )
        )
    return tuple(answers)


def _wanted(reading: _Reading, number: int, column: int, choice: Choice) -> WantedAnswer:
    batch, model, wanted = reading.batch, reading.batch.model, reading.wanted
    taking = batch.state.taking[:, column]
    is_open = [m for m in model.machines if any(taking[p] for p in model.ports_of[key_of(m)])]
    flows = wanted_flows(model, choice)
    farthest = max(is_open, key=lambda m: max(model.length_m(p) for p in model.ports_of[key_of(m)]), default=None)
    greediest = max(is_open, key=lambda m: wanted_of(model, flows, m), default=None)
    if not wanted.converged[number]:
        return WantedAnswer(None, None, None, None, None, farthest, greediest, ())
    flow, total = float(wanted.flow_m3_s[number]), float(wanted.total_pa[number])
    supply = batch.supplies[batch.index[column]]
    paths = _paths(reading, number, total)
    return WantedAnswer(
        flow_m3_s=flow,
        suction_total_pa=total,
        suction_static_pa=total + float(end_velocity_pressure(model, model.tree.root, np.array(flow))),
        margin_pa=None if flow > supply.last_flow_m3_s else supply.available_at(flow) - total,
        worst_machine=min(paths, key=lambda path: path.excess_pa).machine if paths else None,
        farthest_machine=farthest,
        greediest_machine=greediest,
        paths=paths,
    )


def _paths(reading: _Reading, number: int, total_pa: float) -> tuple[PathAnswer, ...]:
    model = reading.batch.model
    over = np.where(np.abs(reading.wanted.over_pa) < ROUNDING * total_pa, 0.0, reading.wanted.over_pa)[:, number]
    return tuple(
        PathAnswer(port.machine, port.run, total_pa - float(over[p]), float(over[p]), model.length_m(p))
        for p, port in enumerate(model.ports)
        if not np.isnan(over[p])
    )
