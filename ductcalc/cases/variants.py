"""Many changed shops at once: those whose ducts hang together alike are solved as cases of one call."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit import PieceTable, audit
from ductcalc.cases.choices import Choice
from ductcalc.cases.judging import Judge, ports_running
from ductcalc.cases.solving import collector_of, named_and_running, port_flows, wanted_flows
from ductcalc.cases.words import ROUNDING
from ductcalc.model.collector import FilterState
from ductcalc.model.model import Model
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.shop.names import key_of
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import side_by_side
from ductcalc.solve.operating import operating_point
from ductcalc.solve.supply import Supply

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
NUMBERS_AT_ONCE = 100_000
"""Sections times choices of variants that are solved in one call, so that memory stays bounded."""


@dataclass(frozen=True)
class Outcome:
    """What a variant comes to, choice by choice, with one filter state; unless it was audited, for searching only.

    port_flow_m3_s: (ports, choices). section_flow_m3_s: (sections, choices). solved: (choices,), has an answer on the
    curve. share: (machines, choices), air over wanted at each machine's poorest port, infinite for one that does not
    run. speed_share: (sections, choices), speed over the one below which chips settle, infinite where none pass.
    """

    model: Model
    port_flow_m3_s: Floats
    section_flow_m3_s: Floats
    solved: Flags
    share: Floats
    speed_share: Floats

    @property
    def settles(self) -> Flags:
        """Where chips settle (sections, choices)."""
        return np.asarray(self.speed_share < 1.0 - ROUNDING)

    @property
    def served(self) -> Flags:
        """Choices (choices,) in which every running machine gets its air."""
        return np.asarray(self.solved & (self.share >= 1.0 - ROUNDING).all(axis=0))

    @property
    def settling(self) -> Flags:
        """Choices (choices,) in which chips settle somewhere."""
        return np.asarray(self.settles.any(axis=0))

    @property
    def fine(self) -> Flags:
        """Choices (choices,) in which everybody that runs is served and nothing settles."""
        return np.asarray(self.served & ~self.settling)

    def air_m3_s(self, machine: str) -> Floats:
        """Return a machine's air (choices,) [m3/s] at all its ports."""
        ports = [p for p in self.model.ports_of[key_of(machine)] if not self.model.ports[p].off]
        return np.asarray(self.port_flow_m3_s[ports].sum(axis=0))


def outcomes(
    models: Sequence[Model],
    choices: Sequence[Choice],
    filter_state: FilterState = "loaded",
    audited: bool = False,
) -> tuple[Outcome, ...]:
    """Return what each model comes to in every choice; models may differ in anything.

    audited: every answer is checked by the other route, and one that fails does not count as solved.

    Raises InputError when one has no collector or a choice names a machine that it does not have.
    """
    alike: dict[tuple[object, ...], list[int]] = {}
    for number, model in enumerate(models):
        alike.setdefault(_topology(model), []).append(number)
    found: dict[int, Outcome] = {}
    for numbers in alike.values():
        for block in _blocks(numbers, len(models[numbers[0]].sections) * len(choices)):
            solved = _solved([models[n] for n in block], choices, filter_state, audited)
            found.update(zip(block, solved, strict=True))
    return tuple(found[number] for number in range(len(models)))


def _topology(model: Model) -> tuple[object, ...]:
    """Return what must agree between models that are solved in one call."""
    opening = model.opening
    return (
        model.junction,
        model.friction,
        model.air.density_kg_m3,
        model.shop.settings.machines,
        tuple((wye.streams, wye.outlet) for wye in model.tree.wyes),
        tuple((port.machine, port.section, port.off) for port in model.ports),
        opening.gated.tobytes(),
    )


def _blocks(numbers: Sequence[int], size_of_one: int) -> Iterator[Sequence[int]]:
    step = max(1, NUMBERS_AT_ONCE // max(1, size_of_one))
    return (numbers[first : first + step] for first in range(0, len(numbers), step))


def _solved(
    models: Sequence[Model], choices: Sequence[Choice], filter_state: FilterState, audited: bool
) -> Iterator[Outcome]:
    first, count = models[0], len(choices)
    state = first.opening.state(*named_and_running(first, choices))
    parts = [numbers_of(model, state) for model in models]
    joined = side_by_side(parts, [count] * len(models), [model.tree.geometry for model in models])
    supplies, which = _supplies(models, filter_state)
    index = np.repeat(which, count)
    solved = operating_point(first.tree, joined, first.junction, supplies, index)
    last = np.array([supply.last_flow_m3_s for supply in supplies])[index]
    root = first.tree.root
    good = solved.converged & (solved.flow[root] + solved.leak[root] <= last * (1.0 + ROUNDING))
    running = ports_running(first, choices, state.taking)
    for number, model in enumerate(models):
        columns = slice(number * count, (number + 1) * count)
        part, answered = solved.part(columns), good[columns]
        if audited:
            table, which_supply = PieceTable.of(model), np.zeros(count, dtype=np.intp)
            checked = audit(model, table, state, part, [supplies[which[number]]], which_supply)
            answered = answered & checked.passed
        yield _outcome(model, choices, state, running, part, answered)


def _supplies(models: Sequence[Model], filter_state: FilterState) -> tuple[list[Supply], NDArray[np.intp]]:
    """Return the supplies that differ, and which of them is each model's."""
    different: dict[tuple[object, ...], int] = {}
    supplies: list[Supply] = []
    which = []
    for model in models:
        supply = collector_of(model).supply(filter_state)
        curve = supply.curve
        key = (curve.breaks.tobytes(), curve.coefficients.tobytes(), supply.terms, supply.outlet)
        if key not in different:
            different[key] = len(supplies)
            supplies.append(supply)
        which.append(different[key])
    return supplies, np.array(which, dtype=np.intp)


def _outcome(
    model: Model, choices: Sequence[Choice], state: OpenState, running: Flags, solved: Solved, good: Flags
) -> Outcome:
    ports = port_flows(model, state, solved.flow)
    judge = Judge(model)
    return Outcome(
        model,
        ports,
        solved.flow,
        good,
        _shares(model, choices, ports),
        judge.speed_share(solved.flow, judge.ranks(running)),
    )


def _shares(model: Model, choices: Sequence[Choice], ports_m3_s: Floats) -> Floats:
    share = np.full((len(model.machines), len(choices)), np.inf)
    ports = {m: [p for p in model.ports_of[key_of(m)] if not model.ports[p].off] for m in model.machines}
    wanted = np.column_stack([wanted_flows(model, choice) for choice in choices])
    for column, choice in enumerate(choices):
        for row in _running(model, choice):
            own = ports[model.machines[row]]
            share[row, column] = (ports_m3_s[own, column] / wanted[own, column]).min()
    return share


def _running(model: Model, choice: Choice) -> Iterator[int]:
    """Yield the machines (by place) that make chips in a choice."""
    helpers = set(map(key_of, choice.helpers))
    running = {key_of(machine) for machine in choice.machines} - helpers
    return (row for row, machine in enumerate(model.machines) if key_of(machine) in running)
