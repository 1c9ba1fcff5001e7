"""Solves cases in one batch and keeps everything that answers are read from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats, Grades, Places
from ductcalc.audit import Asked, Audit, PieceTable, audit
from ductcalc.cases.choices import Choice, ports_named, ports_running
from ductcalc.cases.judged import ROUNDING, JudgedCases, Yardstick, machines_in, status_of
from ductcalc.errors import InputError, Problem
from ductcalc.model.collector import CurveEnd, FilterState, ModelCollector
from ductcalc.model.decided import Pick, middle
from ductcalc.model.model import Model
from ductcalc.model.no_blower import without_blower
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.shop.names import key_of
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.operating import at_flow, at_wanted_flows, operating_point
from ductcalc.solve.supply import Supply

FILTERS: tuple[FilterState, ...] = ("loaded", "clean")


@dataclass(frozen=True)
class Batch:
    """Solved cases: every choice with each filter state, choice by choice; column = choice * filters + filter.

    held: open ports take what they want, gates burn the rest, and the model's blower gives nothing.
    """

    model: Model
    choices: tuple[Choice, ...]
    filters: tuple[FilterState, ...]
    state: OpenState
    numbers: Numbers
    supplies: tuple[Supply, ...]
    index: Places
    solved: Solved
    audit: Audit
    table: PieceTable
    asked: Asked
    tells_wanted: bool = False
    held: bool = False

    def column(self, choice: int, filter_state: FilterState = "loaded") -> int:
        """Return the column of a choice with a filter state."""
        return choice * len(self.filters) + self.filters.index(filter_state)

    @property
    def collector_flow(self) -> Floats:
        """Flow [m3/s] at the duct's end (cases,), joint leakage included."""
        return end_flow(self.model, self.solved)

    @property
    def last_flow(self) -> Floats:
        """Flow [m3/s] of the last point of each case's curve (cases,)."""
        return last_flows(self.supplies, self.index)

    @cached_property
    def judged(self) -> JudgedCases:
        """The cases, judged."""
        who = (self.asked.open, self.asked.running)
        status = status_of(self.solved.converged, ~self.refused, self.collector_flow, self.last_flow)
        wanted = np.repeat(wanted_by_port(self.model, self.choices), len(self.filters), axis=1)
        return judged_cases(self.model, who, wanted, self.state, self.solved, status)

    @cached_property
    def refused(self) -> Flags:
        """Cases (cases,) that the audit refuses, where wanted flows are told also at these: nothing of them is told.

        A flow past the blower's points is no answer, and of such a case nothing else is told that hangs on it.
        """
        past = self.collector_flow > self.last_flow * (1.0 + ROUNDING)
        refused = self.solved.converged & ~self.audit.passed & ~past
        return refused | np.repeat(self.wanted.refused, len(self.filters)) if self.tells_wanted else refused

    @cached_property
    def wanted(self) -> WantedBatch:
        """The choices at their wanted flows."""
        return solve_wanted(self)

    @cached_property
    def section_loss_pa(self) -> Floats:
        """Loss of each section without its wye (sections, cases) [Pa]."""
        return self.table.by_section(self.audit.losses, self.model.tree.size)

    def supply_of(self, column: int) -> Supply:
        """Return what the collector offers in a case."""
        return self.supplies[int(self.index[column])]


def end_flow(model: Model, solved: Solved) -> Floats:
    """Return the flow [m3/s] at the duct's end (cases,), joint leakage included."""
    return np.asarray(solved.flow[model.tree.root] + solved.leak[model.tree.root])


def judged_cases(
    model: Model,
    asked_and_running: tuple[Flags, Flags],
    wanted_m3_s: Floats,
    state: OpenState,
    solved: Solved,
    status: Grades,
    yardstick: Yardstick | None = None,
) -> JudgedCases:
    """Return solved cases judged.

    asked_and_running: (machines, cases) each. wanted_m3_s: (ports, cases). status: (cases,), as `status_of` says.
    yardstick: the model's own, where it was made before.
    """
    return JudgedCases(
        yardstick or Yardstick(model),
        status,
        *asked_and_running,
        state.taking,
        wanted_m3_s,
        port_flows(model, state, solved.flow),
        solved.flow,
    )


def wanted_by_port(model: Model, choices: Sequence[Choice]) -> Floats:
    """Return what each port wants in each choice (ports, choices) [m3/s]."""
    return np.column_stack([wanted_flows(model, choice) for choice in choices])


def last_flows(supplies: Sequence[Supply], index: Places) -> Floats:
    """Return the flow [m3/s] of the last point of each case's curve (cases,)."""
    return np.array([supply.last_flow_m3_s for supply in supplies])[index]


def collector_of(model: Model) -> ModelCollector:
    """Return the model's collector; raises InputError when the shop has no blower curve."""
    if model.collector is None:
        raise InputError(
            [
                Problem(
                    f'shop "{model.shop.name}" has no blower curve, and this needs one',
                    "write it in collector.csv or name a file with --collector;"
                    " what a blower must give is told by: ductcalc need SHOP",
                    next((collector.place for collector in model.shop.collectors), None),
                )
            ]
        )
    return model.collector


def solve_choices(
    model: Model,
    choices: Sequence[Choice],
    filters: tuple[FilterState, ...] = FILTERS,
    end: CurveEnd = "low",
    tells_wanted: bool = False,
) -> Batch:
    """Solve every choice with every filter state in one call and audit each answer.

    tells_wanted: what a choice needs at its wanted flows is told or decides, so a case refused there has no answer.
    """
    collector = collector_of(model)
    state = model.opening.state(*(np.repeat(part, len(filters), axis=1) for part in named_and_running(model, choices)))
    asked = asked_for(model, choices, filters, end)
    numbers = numbers_of(model, state)
    supplies = tuple(collector.supply(f, end=end) for f in filters)
    index = np.tile(np.arange(len(filters)), len(choices))
    solved = operating_point(model.tree, numbers, model.junction, supplies, index)
    table = PieceTable.of(model)
    checked = audit(table, asked, state, solved)
    if not (checked.passed | ~solved.converged).all():
        _solve_again(model, numbers, supplies, index, solved, ~checked.passed & solved.converged)
        checked = audit(table, asked, state, solved)
    choices = tuple(choices)
    return Batch(
        model, choices, filters, state, numbers, supplies, index, solved, checked, table, asked, tells_wanted
    )


def asked_for(
    model: Model, choices: Sequence[Choice], filters: Sequence[FilterState] = ("loaded",), end: CurveEnd = "low"
) -> Asked:
    """Return what the audit is to know of cases: every choice with each filter state, choice by choice."""
    asked, running = (np.repeat(part, len(filters), axis=1) for part in machines_in(model, choices))
    return Asked(asked, running, np.tile([f == "loaded" for f in filters], len(choices)), end)


def _solve_again(
    model: Model, numbers: Numbers, supplies: Sequence[Supply], index: Places, solved: Solved, which: Flags
) -> None:
    """Solve cases that the audit refused once more, by the slow and sure way; what it finds is audited again.

    Where it finds nothing the first answer stays, refused as it was: its flow may lie beyond the blower's curve.
    """
    columns = np.flatnonzero(which)
    again = operating_point(model.tree, numbers.take(columns), model.junction, supplies, index[columns], sure=True)
    solved.put(columns[again.converged], again.part(np.flatnonzero(again.converged)))


def port_flows(model: Model, state: OpenState, section_flow: Floats) -> Floats:
    """Return each port's flow (ports, cases) [m3/s]; ports of a shared hose that do not feed it get none."""
    sections = model.opening.port_section
    feeding = model.opening.feeding(state)[sections]
    return np.where(model.opening.place[:, None] == feeding, section_flow[sections], 0.0)


def wanted_flows(model: Model, choice: Choice) -> Floats:
    """Return what each port wants in a choice (ports,) [m3/s]; a machine's own flow in a set is shared out."""
    wanted = np.array([port.wanted_m3_s for port in model.ports])
    for machine, flow in choice.wanted_m3_s.items():
        ports = [p for p in model.ports_of[key_of(machine)] if not model.ports[p].off]
        if ports:
            wanted[ports] *= flow / wanted[ports].sum()
    return wanted


def wanted_of(model: Model, wanted_m3_s: Floats, machine: str) -> float:
    """Return what a machine wants at its usable ports together [m3/s], from what each port wants (ports,)."""
    return float(sum(wanted_m3_s[p] for p in model.ports_of[key_of(machine)] if not model.ports[p].off))


def named_and_running(model: Model, choices: Sequence[Choice]) -> tuple[Flags, Flags]:
    """Return which ports are asked for, and which of these are of machines that run; (ports, choices) each."""
    named = ports_named(model, choices)
    return named, ports_running(model, choices, named)


class WantedBatch(NamedTuple):
    """The choices at their wanted flows. flow_m3_s, total_pa: flow and suction (choices,) at the duct's end.

    over_pa: (ports, choices), what a port's path has over. offered_pa: (cases,), what the collector offers there.
    converged: choices of which a suction was found that the audit lets pass; refused: those of which it does not.
    """

    flow_m3_s: Floats
    total_pa: Floats
    over_pa: Floats
    offered_pa: Floats
    converged: Flags
    refused: Flags


def solve_wanted(batch: Batch) -> WantedBatch:
    """Solve every choice of a batch for the suction that it needs when open ports get what they want, and audit it.

    Where an own blower would push air out of a branch meanwhile there is no such suction.
    """
    model, wide, choices = batch.model, len(batch.filters), len(batch.choices)
    taking, wanted = batch.state.taking[:, ::wide], wanted_by_port(model, batch.choices)
    some = np.flatnonzero(taking.any(axis=0))
    found, passed = batch.solved, np.ones(choices, dtype=bool)
    if not batch.held:
        found = _at_wanted_flows(model, batch.numbers.take(np.arange(choices) * wide), taking, wanted)
    over, offered = np.full(taking.shape, np.nan), np.zeros(choices * wide)
    if len(some):
        solved = found.part(some)
        for shift, supply in enumerate(batch.supplies):
            columns = some * wide + shift
            offered[columns] = supply.available(end_flow(model, solved))[0]
            checked = audit(
                batch.table,
                batch.asked.columns(columns),
                batch.state.columns(columns),
                solved,
                offered[columns],
                wanted[:, some],
            )
            passed[some] &= checked.passed
            over[:, some] = np.where(taking[:, some], checked.excess[model.opening.port_section], np.nan)
    return WantedBatch(
        flow_m3_s=end_flow(model, found),
        total_pa=found.end[model.tree.root],
        over_pa=over,
        offered_pa=offered,
        converged=~taking.any(axis=0) | (found.converged & passed),
        refused=found.converged & ~passed,
    )


def ducts_take_pa(batch: Batch, column: int, flow_m3_s: Floats) -> Floats:
    """Return the total suction [Pa] that a case's ducts take at flows (points,) at their end: its system curve.

    nan where none was found that the audit lets pass.
    """
    model, columns = batch.model, np.full(len(flow_m3_s), column)
    solved = at_flow(model.tree, batch.numbers.take(columns), model.junction, flow_m3_s)
    offered = batch.supply_of(column).available(flow_m3_s)[0]
    checked = audit(batch.table, batch.asked.columns(columns), batch.state.columns(columns), solved, offered)
    return np.where(checked.passed, solved.end[model.tree.root], np.nan)


def _at_wanted_flows(model: Model, numbers: Numbers, taking: Flags, wanted_m3_s: Floats) -> Solved:
    """Solve choices (ports, choices) at their wanted flows; one in which no port takes air is left unsolved."""
    leaf = np.full((model.tree.size, taking.shape[1]), np.nan)
    for number, port in enumerate(model.ports):
        leaf[port.section] = np.where(taking[number], wanted_m3_s[number], leaf[port.section])
    some, found = np.flatnonzero(taking.any(axis=0)), Solved.empty(model.tree.size, taking.shape[1])
    if len(some):
        solved = at_wanted_flows(model.tree, numbers.take(some), model.junction, leaf[:, some])
        solved.converged &= (solved.flow + solved.leak >= 0.0).all(axis=0)
        found.put(some, solved)
    return found


def needing(model: Model, choices: Sequence[Choice]) -> Model:
    """Return a model without its blower, to be solved at the wanted flows of these choices.

    Parts that nobody wrote are rated at the most air that the open ports of one of them want together.
    """
    taking = model.opening.state(*named_and_running(model, choices)).taking
    return without_blower(model, float((wanted_by_port(model, choices) * taking).sum(axis=0).max()))


def solve_held(model: Model, choices: Sequence[Choice], pick: Pick = middle, share: float = 1.0) -> Batch:
    """Solve every choice at a share of its wanted flows, dirty filter, and audit it; see `Batch.held`.

    The model's blower has to be one that gives nothing (`needing`): what it lacks is what one must give.
    """
    state = model.opening.state(*named_and_running(model, choices))
    asked, wanted = asked_for(model, choices), share * wanted_by_port(model, choices)
    numbers, table = numbers_of(model, state, pick), PieceTable.of(model, pick)
    supply = collector_of(model).supply("loaded", pick)
    solved = _at_wanted_flows(model, numbers, state.taking, wanted)
    checked = audit(table, asked, state, solved, supply.available(end_flow(model, solved))[0], wanted)
    index = np.zeros(len(choices), dtype=np.intp)
    return Batch(
        model, tuple(choices), ("loaded",), state, numbers, (supply,), index, solved, checked, table, asked, held=True
    )


def surplus_pa(batch: Batch, column: int) -> float | None:
    """Return the suction [Pa] that is offered at the curve's last point above what the ducts take there.

    None where the audit refuses it.
    """
    supply = batch.supply_of(column)
    last = np.array([supply.last_flow_m3_s])
    left = float((supply.available(last)[0] - ducts_take_pa(batch, column, last))[0])
    return None if np.isnan(left) else left
