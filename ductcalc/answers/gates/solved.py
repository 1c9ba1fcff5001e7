"""Gate sets by their bit patterns: solved in blocks when first asked for, audited, kept, judged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.gates.sets import bits, places_of
from ductcalc.audit import Asked, Audit, PieceTable, audit
from ductcalc.cases.case import Case
from ductcalc.cases.choices import usable_machines
from ductcalc.cases.figures import AuditAnswer
from ductcalc.cases.judged import NOT_CONVERGED, JudgedCases, Yardstick, joined, status_of
from ductcalc.cases.solving import collector_of, end_flow, judged_cases
from ductcalc.cases.unsolved import outlet_of
from ductcalc.model.model import Model
from ductcalc.model.numbers import numbers_of
from ductcalc.shop.names import key_of
from ductcalc.solve.operating import operating_point

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
SETS_AT_ONCE = 2048
Progress = Callable[[int, int], None]


class GateSets:
    """The gate sets of one model with the loaded filter; machines by place among the usable ones.

    A set's key is its pattern, above it the pattern of those whose own blower stands still because they only help.
    unsettled: sets for which no flow was found that passes the audit, not counting those past the blower's points;
    blown_out: of how many of them air would blow out of what.
    audit: the greatest residuals of all sets that have an answer.
    """

    def __init__(self, model: Model, progress: Progress | None = None) -> None:
        """Prepare what all blocks share."""
        self.model, self.progress = model, progress
        self.machines = usable_machines(model)
        self.yardstick = Yardstick(model)
        self.place = {key_of(machine): place for place, machine in enumerate(self.machines)}
        self.row = np.array([model.machines.index(machine) for machine in self.machines], dtype=np.intp)
        """Row of each usable machine among all machines."""
        self.wanted = np.array([[port.wanted_m3_s] for port in model.ports])
        self.unsettled, self.audit = 0, AuditAnswer(0.0, 0.0, 0.0)
        self.blown_out: Counter[str] = Counter()
        self.table, self._supply = PieceTable.of(model), collector_of(model).supply("loaded")
        pushing = {key_of(m.name) for m in model.shop.settings.machines if m.own_blower_pa is not None}
        self._own_blowers = sum(1 << place for machine, place in self.place.items() if machine in pushing)
        self._column: dict[int, int] = {}
        self._blocks: list[JudgedCases] = []

    def ask(
        self,
        opened: Sequence[int],
        running: Sequence[int] | None = None,
        wanted: Sequence[Mapping[int, float]] | None = None,
    ) -> AskedSets:
        """Return sets judged (solving those not yet known).

        running: patterns of the machines that make chips, all open ones when left out. wanted: for each set the
        machines (by place) whose wanted air [m3/s] differs in it.
        """
        running = opened if running is None else running
        keys = opened if running is opened else [self._key(o, r) for o, r in zip(opened, running, strict=True)]
        self._add(keys)
        if len(self._blocks) > 1:
            self._blocks[:] = [joined(self._blocks)]
        known = self._blocks[0].take(np.array([self._column[key] for key in keys], dtype=np.intp))
        judged = known.asked_as(self._flags(opened), self._flags(running), self._wanted(len(keys), wanted))
        return AskedSets(self, tuple(opened), tuple(running), tuple(wanted or ({},) * len(keys)), judged)

    def wanted_of(self, place: int) -> float:
        """Return the air that a machine wants by the table [m3/s]."""
        return float(self.wanted[self.yardstick.port_machine == self.row[place]].sum())

    def _key(self, opened: int, running: int) -> int:
        """Return the key of a set in which some of the open machines only help; one with a blower then stands still."""
        return opened | (opened & ~running & self._own_blowers) << len(self.machines)

    def _flags(self, masks: Sequence[int]) -> Flags:
        """Return which of all machines are in each pattern (machines, sets)."""
        flags = np.zeros((len(self.model.machines), len(masks)), dtype=bool)
        flags[self.row] = bits(masks, len(self.machines))
        return flags

    def _wanted(self, count: int, own: Sequence[Mapping[int, float]] | None) -> Floats:
        """Return what each port wants in each set (ports, sets) [m3/s]."""
        wanted = np.broadcast_to(self.wanted, (len(self.wanted), count))
        if not any(own or ()):
            return wanted
        wanted = wanted.copy()
        for column, flows in enumerate(own or ()):
            for place, flow in flows.items():
                wanted[self.yardstick.port_machine == self.row[place], column] *= flow / self.wanted_of(place)
        return wanted

    def _add(self, keys: Sequence[int]) -> None:
        """Solve the sets, given by their keys, that are not yet known."""
        new = [key for key in dict.fromkeys(keys) if key not in self._column]
        for first in range(0, len(new), SETS_AT_ONCE):
            block = new[first : first + SETS_AT_ONCE]
            start = len(self._column)
            self._blocks.append(self._solve(block))
            self._column.update({key: start + number for number, key in enumerate(block)})
            if self.progress is not None:
                self.progress(first + len(block), len(new))

    def named_ports(self, asked: Flags) -> Flags:
        """Return which ports are asked for (ports, sets); of a machine's ports on one hose the first."""
        seen: set[tuple[int, int]] = set()
        first = np.zeros((len(self.model.ports), 1), dtype=bool)
        for number, port in enumerate(self.model.ports):
            hose = (int(self.yardstick.port_machine[number]), port.section)
            first[number] = not port.off and hose not in seen
            seen.add(hose)
        return self.yardstick.by_machine(asked) & first

    def _solve(self, keys: Sequence[int]) -> JudgedCases:
        model = self.model
        opened = [key & (1 << len(self.machines)) - 1 for key in keys]
        still = [key >> len(self.machines) for key in keys]
        asked, stopped = self._flags(opened), self._flags(still)
        state = model.opening.state(self.named_ports(asked), self.named_ports(asked & ~stopped))
        index = np.zeros(len(keys), dtype=np.intp)
        solved = operating_point(model.tree, numbers_of(model, state), model.junction, [self._supply], index)
        checked = audit(self.table, Asked(asked, asked & ~stopped, np.ones(len(keys), dtype=bool)), state, solved)
        last = np.full(len(keys), self._supply.last_flow_m3_s)
        status = status_of(solved.converged, checked.passed, end_flow(model, solved), last)
        found = judged_cases(
            model, (asked, asked), self._wanted(len(keys), None), state, solved, status, self.yardstick
        )
        self._audited(checked, found.solved)
        self.unsettled += int(np.count_nonzero(status == NOT_CONVERGED))
        self.blown_out.update(outlet_of(model, section) for section in solved.outward[solved.outward >= 0].tolist())
        return found

    def _audited(self, checked: Audit, good: Flags) -> None:
        if good.any():
            worst = (float(part[good].max()) for part in (checked.pressure, checked.mass, checked.blower))
            known = (self.audit.pressure, self.audit.mass, self.audit.blower)
            self.audit = AuditAnswer(*map(max, worst, known))


@dataclass(frozen=True, eq=False)
class AskedSets:
    """Some sets of a store, judged. opened, running: their patterns; wanted: own wishes of machines (by place)."""

    store: GateSets
    opened: tuple[int, ...]
    running: tuple[int, ...]
    wanted: tuple[Mapping[int, float], ...]
    judged: JudgedCases

    def case(self, number: int, name: str | None = None) -> Case:
        """Return one set as a person asks about it; without a name of its own by its machines."""
        machines = (self.store.machines[place] for place in places_of(self.opened[number]))
        return Case(self.judged, number, name or ", ".join(machines))
