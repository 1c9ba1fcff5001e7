"""Solves gate sets in blocks and keeps of each what verdicts need, so that memory stays bounded."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit import Audit, PieceTable, audit
from ductcalc.cases.case import AuditAnswer
from ductcalc.cases.choices import usable_machines
from ductcalc.cases.judging import Judge
from ductcalc.cases.solving import collector_of, port_flows
from ductcalc.cases.words import ROUNDING
from ductcalc.model.model import Model
from ductcalc.model.numbers import numbers_of
from ductcalc.shop.names import key_of
from ductcalc.solve.operating import operating_point

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
SETS_AT_ONCE = 2048
Progress = Callable[[int, int], None]


class Block(NamedTuple):
    """Some solved sets, a row each: air of machines and of ports [m3/s], share at the poorest port, section flows.

    taking: ports through whose open gates air enters. solved: sets with an audited answer on the curve.
    """

    flow: Floats
    share: Floats
    section: Floats
    ports: Floats
    taking: Flags
    solved: Flags


@dataclass
class SolvedSets:
    """Gate sets of one model, solved with the loaded filter when first asked for. Machines by place.

    Rows of the arrays are sets in the order they were solved; `row` finds a key's row. A set's key is its pattern,
    above it the pattern of those whose own blower stands still because they only help (`key`).
    unsettled: sets for which no flow was found that passes the audit, not counting those past the blower's points.
    audit: the greatest residuals of all sets that have an answer.
    flow_m3_s: (sets, machines). share: (sets, machines), air over wanted at the machine's poorest port.
    section_flow_m3_s: (sets, sections). port_flow_m3_s, taking: (sets, ports). solved: (sets,).
    """

    model: Model
    progress: Progress | None = None
    row: dict[int, int] = field(default_factory=dict)
    unsettled: int = 0
    audit: AuditAnswer | None = None
    _blocks: list[Block] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Prepare what all blocks share."""
        self.machines = usable_machines(self.model)
        self.judge = Judge(self.model)
        self.table = PieceTable.of(self.model)
        self.supply = collector_of(self.model).supply("loaded")
        owner = {key_of(m): place for place, m in enumerate(self.machines)}
        self.port_machine = np.array([owner.get(key_of(p.machine), -1) for p in self.model.ports], dtype=np.intp)
        usable = np.array([not port.off for port in self.model.ports], dtype=bool)
        self.usable = usable & (self.port_machine >= 0)
        self.wanted = np.array([[port.wanted_m3_s] for port in self.model.ports])
        pushing = {key_of(m.name) for m in self.model.shop.settings.machines if m.own_blower_pa is not None}
        self.own_blowers = sum(1 << place for machine, place in owner.items() if machine in pushing)

    def key(self, opened: int, running: int) -> int:
        """Return the key of a set in which some of the open machines only help; one with a blower then stands still."""
        return opened | (opened & ~running & self.own_blowers) << len(self.machines)

    def add(self, masks: Sequence[int]) -> None:
        """Solve the sets, given by their keys, that are not yet known."""
        new = [mask for mask in dict.fromkeys(masks) if mask not in self.row]
        for first in range(0, len(new), SETS_AT_ONCE):
            block = new[first : first + SETS_AT_ONCE]
            start = len(self.row)
            self._blocks.append(self._solve(block))
            self.row.update({mask: start + number for number, mask in enumerate(block)})
            if self.progress is not None:
                self.progress(first + len(block), len(new))

    def named_ports(self, masks: Sequence[int]) -> Flags:
        """Return which ports are asked for (ports, sets); of a machine's ports on one hose the first."""
        bits = np.array([[mask >> place & 1 for mask in masks] for place in range(len(self.machines))], dtype=bool)
        first: dict[tuple[int, int], int] = {}
        for number, port in enumerate(self.model.ports):
            if self.usable[number]:
                first.setdefault((int(self.port_machine[number]), port.section), number)
        named = np.zeros((len(self.model.ports), len(masks)), dtype=bool)
        for (machine, _), number in first.items():
            named[number] = bits[machine]
        return named

    def wanted_of(self, place: int) -> float:
        """Return the air that a machine wants by the table [m3/s]."""
        return float(self.wanted[self.usable & (self.port_machine == place)].sum())

    def _solve(self, masks: Sequence[int]) -> Block:
        model = self.model
        still = [mask >> len(self.machines) for mask in masks]
        running = self.named_ports([mask & ~s for mask, s in zip(masks, still, strict=True)])
        state = model.opening.state(self.named_ports(masks), running)
        numbers = numbers_of(model, state)
        index = np.zeros(len(masks), dtype=np.intp)
        solved = operating_point(model.tree, numbers, model.junction, [self.supply], index)
        checked = audit(model, self.table, state, solved, [self.supply], index)
        passed = checked.passed
        total = solved.flow[model.tree.root] + solved.leak[model.tree.root]
        good = solved.converged & passed & (total <= self.supply.last_flow_m3_s * (1.0 + ROUNDING))
        beyond = solved.converged & (total > self.supply.last_flow_m3_s * (1.0 + ROUNDING))
        self._audited(checked, good)
        self.unsettled += int(np.count_nonzero(~good & ~beyond))
        ports = port_flows(model, state, solved.flow)
        flow = np.zeros((len(self.machines), len(masks)))
        share = np.full((len(self.machines), len(masks)), np.inf)
        mine = np.flatnonzero(self.usable)
        np.add.at(flow, self.port_machine[mine], ports[mine])
        np.minimum.at(share, self.port_machine[mine], (ports / self.wanted)[mine])
        flow, share, section, ports = (np.ascontiguousarray(part.T) for part in (flow, share, solved.flow, ports))
        return Block(flow, share, section, ports, np.ascontiguousarray(state.taking.T), good)

    def _audited(self, checked: Audit, good: Flags) -> None:
        if good.any():
            worst = [float(part[good].max()) for part in (checked.pressure, checked.mass, checked.blower)]
            known = self.audit or AuditAnswer(0.0, 0.0, 0.0)
            self.audit = AuditAnswer(*map(max, worst, (known.pressure, known.mass, known.blower)))

    def _joined(self) -> Block:
        """Join the blocks once after new ones came; they are kept joined."""
        if len(self._blocks) > 1:
            self._blocks[:] = [Block(*(np.concatenate(parts) for parts in zip(*self._blocks, strict=True)))]
        return self._blocks[0]

    @property
    def flow_m3_s(self) -> Floats:
        """Air of each machine (sets, machines) [m3/s]."""
        return self._joined().flow

    @property
    def share(self) -> Floats:
        """Air over wanted at each machine's poorest port (sets, machines)."""
        return self._joined().share

    @property
    def section_flow_m3_s(self) -> Floats:
        """Flow of each section (sets, sections) [m3/s]."""
        return self._joined().section

    @property
    def port_flow_m3_s(self) -> Floats:
        """Air of each port (sets, ports) [m3/s], of shut ones what their gates leak."""
        return self._joined().ports

    @property
    def taking(self) -> Flags:
        """Ports through whose open gates air enters (sets, ports)."""
        return self._joined().taking

    @property
    def solved(self) -> Flags:
        """Sets (sets,) that have an audited answer on the curve."""
        return self._joined().solved
