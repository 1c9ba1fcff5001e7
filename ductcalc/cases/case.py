"""One case as a person asks about it: machines, sections, paths, the collector. Every answer and report reads this."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import cast

import numpy as np

from ductcalc.arrays import Flags, Floats
from ductcalc.cases.choices import Choice
from ductcalc.cases.figures import (
    AuditAnswer,
    CollectorAnswer,
    MachineAnswer,
    PathAnswer,
    PortAnswer,
    SectionAnswer,
    SectionWord,
    WantedAnswer,
)
from ductcalc.cases.judged import (
    AIR,
    CHIPS,
    SETTLES,
    SOLVED,
    STATUS,
    AirGrade,
    ChipGrade,
    JudgedCases,
    Status,
    limits,
)
from ductcalc.cases.reading import collector_answer, other_crossings, wanted_answer
from ductcalc.cases.solving import Batch, surplus_pa
from ductcalc.cases.unsolved import CHECK_FAILED, why_unsolved
from ductcalc.model.collector import FilterState
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of


@dataclass(frozen=True, eq=False)
class Case:
    """A case: one column of judged cases, and of the batch in which it was solved where that was kept.

    Without an answer (`solved`) there are no flows: machines, sections and collector are empty. note: what had to be
    decided about it.
    """

    judged: JudgedCases
    column: int
    name: str
    filter: FilterState = "loaded"
    note: str | None = None
    batch: Batch | None = None

    @property
    def status(self) -> Status:
        """Whether it has an answer."""
        return STATUS[int(self.judged.status[self.column])]

    @property
    def solved(self) -> bool:
        """Whether it has an answer."""
        return bool(self.judged.status[self.column] == SOLVED)

    @cached_property
    def open(self) -> tuple[str, ...]:
        """Machines that air enters, whether they were asked for or not."""
        taking = self.judged.taking[:, self.column]
        model = self.judged.model
        return tuple(m for m in model.machines if any(taking[p] for p in model.ports_of[key_of(m)]))

    @cached_property
    def asked(self) -> tuple[str, ...]:
        """Machines that were chosen, in the order of the table."""
        return self._marked(self.judged.asked)

    @cached_property
    def running(self) -> tuple[str, ...]:
        """Those of them that make chips."""
        return self._marked(self.judged.running)

    @cached_property
    def running_keys(self) -> frozenset[str]:
        """The running machines by the form in which names are compared."""
        return frozenset(map(key_of, self.running))

    @cached_property
    def helping(self) -> tuple[str, ...]:
        """Those of them that only help with air."""
        return tuple(machine for machine in self.asked if machine not in self.running)

    @property
    def alone(self) -> bool:
        """Whether it is one machine on its own, by its own name."""
        return len(self.asked) == 1 and key_of(self.asked[0]) == key_of(self.name)

    @property
    def single(self) -> bool:
        """Whether it is one machine on its own, by whatever name."""
        return len(self.asked) == 1

    @property
    def opened_with(self) -> tuple[str, ...]:
        """Machines that air enters though nobody asked for them."""
        return tuple(machine for machine in self.open if machine not in self.asked)

    @property
    def air(self) -> AirGrade | None:
        """The worst air grade of its machines; None without an answer."""
        return AIR[self.judged.case_air[self.column]] if self.solved else None

    @property
    def chips(self) -> ChipGrade | None:
        """The worst chip grade of its sections; None without an answer."""
        return CHIPS[self.judged.case_chips[self.column]] if self.solved else None

    @property
    def word(self) -> str:
        """Its words."""
        return self.judged.word(self.column)

    @property
    def may_run(self) -> bool:
        """Whether it may run: at most just short of air, and no chips settle."""
        return bool(self.judged.may_run[self.column])

    @property
    def well(self) -> bool:
        """Whether everything that runs is served and nothing settles."""
        return bool(self.judged.well[self.column])

    @property
    def served(self) -> bool:
        """Whether every running machine gets the air it wants."""
        return bool(self.judged.served[self.column])

    @property
    def close(self) -> bool:
        """Whether its verdict lies within the calculation's reach of a limit."""
        return bool(self.judged.close[self.column])

    @cached_property
    def machines(self) -> tuple[MachineAnswer, ...]:
        """Every machine of the shop."""
        places = range(len(self.judged.model.machines))
        return tuple(_machine(self.judged, self.column, place) for place in places) if self.solved else ()

    @cached_property
    def sections(self) -> tuple[SectionAnswer, ...]:
        """Every section of the shop."""
        numbers = range(len(self.judged.model.sections))
        return tuple(_section(self, number) for number in numbers) if self.solved else ()

    @cached_property
    def asked_machines(self) -> tuple[MachineAnswer, ...]:
        """The machines that were chosen."""
        return tuple(machine for machine in self.machines if machine.asked)

    @cached_property
    def also_open(self) -> tuple[PortAnswer, ...]:
        """Open ports of machines that nobody asked for."""
        return tuple(p for machine in self.machines if not machine.asked for p in machine.ports if p.taking)

    @cached_property
    def lacking(self) -> tuple[MachineAnswer, ...]:
        """Running machines that get less than they want, poorest first."""
        found = [m for m in self.machines if m.runs and not m.served]
        return tuple(sorted(found, key=lambda m: m.least_share))

    @cached_property
    def settling(self) -> tuple[SectionAnswer, ...]:
        """Sections in which chips settle, slowest against their limit first."""
        found = [s for s in self.sections if s.word == "settles"]
        return tuple(sorted(found, key=lambda s: s.settling_share))

    @cached_property
    def slowest(self) -> SectionAnswer | None:
        """The section that gives the case its chip grade; of several the nearest to settling; None where none pass."""
        if not self.solved or not np.isfinite(self.judged.case_settling_share[self.column]):
            return None
        return _section(self, int(self.judged.slowest[self.column]))

    def slowest_on_way(self, machine: str) -> SectionAnswer | None:
        """Return the section of a machine's way to the collector that is worst for its chips; None where none pass."""
        model = self.judged.model
        ports = (p for p in model.ports_of[key_of(machine)] if self.judged.taking[p, self.column])
        ways = [self.sections[number] for port in ports for number in model.path(port)]
        return min((s for s in ways if s.word in CHIPS), key=_worst_first, default=None)

    def machine(self, name: str) -> MachineAnswer:
        """Return a machine's answer by its name as written."""
        return next(m for m in self.machines if m.machine == name)

    def _marked(self, flags: Flags) -> tuple[str, ...]:
        names = self.judged.model.machines
        return tuple(names[place] for place in np.flatnonzero(flags[:, self.column]))

    # Its column of the arrays: (ports,), (sections,).

    @property
    def port_flow_m3_s(self) -> Floats:
        """Air of each port [m3/s]."""
        return self.judged.port_flow_m3_s[:, self.column]

    @property
    def port_wanted_m3_s(self) -> Floats:
        """Air that each port wants [m3/s]."""
        return self.judged.wanted_m3_s[:, self.column]

    @property
    def section_flow_m3_s(self) -> Floats:
        """Flow of each section [m3/s]."""
        return self.judged.section_flow_m3_s[:, self.column]

    @property
    def needed_m_s(self) -> Floats:
        """Speed that the chips of each section need [m/s], 0 where none pass."""
        return self.judged.needed_m_s[:, self.column]

    @property
    def settles(self) -> Flags:
        """Sections in which chips settle."""
        return np.asarray(self.judged.chips[:, self.column] == SETTLES)

    # What follows is read from the batch in which the case was solved.

    @property
    def _batch(self) -> Batch:
        assert self.batch is not None
        return self.batch

    @property
    def choice(self) -> Choice:
        """What was asked for."""
        return self._batch.choices[self.column // len(self._batch.filters)]

    @property
    def collector_flow_m3_s(self) -> float:
        """Flow at the duct's end."""
        return float(self._batch.collector_flow[self.column])

    @cached_property
    def collector(self) -> CollectorAnswer | None:
        """The collector's point; None without an answer."""
        return collector_answer(self._batch, self.column, self.filter) if self.solved else None

    @cached_property
    def wanted(self) -> WantedAnswer:
        """What it needs at its wanted flows."""
        return wanted_answer(self._batch, self.column)

    @property
    def audit(self) -> AuditAnswer | None:
        """Residuals of the independent check; None without an answer."""
        checked = self._batch.audit
        found = (float(part[self.column]) for part in (checked.pressure, checked.mass, checked.blower))
        return AuditAnswer(*found) if self.solved else None

    @property
    def joint_leak_m3_s(self) -> float | None:
        """Air that enters through joints."""
        return float(self._batch.solved.leak[:, self.column].sum()) if self.solved else None

    @property
    def gate_leak_m3_s(self) -> float | None:
        """Air that enters through shut gates."""
        shut = ~self.judged.taking[:, self.column]
        return float(self.judged.port_flow_m3_s[shut, self.column].sum()) if self.solved else None

    @cached_property
    def surplus_pa(self) -> float | None:
        """Suction left over at the curve's last point, when the case lies beyond it."""
        return surplus_pa(self._batch, self.column) if self.status == "beyond the curve" else None

    @property
    def last_flow_m3_s(self) -> float:
        """Flow of the curve's last point."""
        return self._batch.supply_of(self.column).last_flow_m3_s

    @cached_property
    def other_crossings_m3_s(self) -> tuple[float, ...]:
        """Flows beside the operating point at which ducts and a humped curve also agree."""
        return other_crossings(self._batch, self.column) if self.solved else ()

    @property
    def own_blowers(self) -> tuple[str, ...]:
        """Running machines that have a blower of their own."""
        own = {key_of(machine.name) for machine in self.judged.model.shop.settings.machines if machine.own_blower_pa}
        return tuple(name for name in self.running if key_of(name) in own)

    @cached_property
    def why(self) -> str | None:
        """Why there is no answer, where that is known."""
        return why_unsolved(self._batch, self.column) if self.status == "not converged" else None

    @property
    def check_failed(self) -> bool:
        """Whether a flow was found that the independent check refused."""
        return self.why is not None and self.why.startswith(CHECK_FAILED)


def read_cases(batch: Batch) -> tuple[Case, ...]:
    """Return every case of a batch, choice by choice, the loaded filter first."""
    return tuple(
        Case(batch.judged, batch.column(number, state), choice.name, state, choice.note, batch)
        for number, choice in enumerate(batch.choices)
        for state in batch.filters
    )


def _worst_first(section: SectionAnswer) -> tuple[int, float]:
    """Return a section's rank: the worst grade first, and of one grade the nearest to settling."""
    return -CHIPS.index(cast(ChipGrade, section.word)), section.settling_share


def _machine(judged: JudgedCases, column: int, place: int) -> MachineAnswer:
    model = judged.model
    ports = tuple(
        PortAnswer(
            port.machine,
            port.run,
            float(judged.port_flow_m3_s[p, column]),
            float(judged.wanted_m3_s[p, column]),
            float(judged.port_flow_m3_s[p, column]) / float(bore_area(port.bore_m)),
            bool(judged.taking[p, column]),
        )
        for p, port in enumerate(model.ports)
        if judged.yardstick.port_machine[p] == place
    )
    return MachineAnswer(
        machine=model.machines[place],
        open=any(port.taking for port in ports),
        asked=bool(judged.asked[place, column]),
        runs=bool(judged.running[place, column]),
        flow_m3_s=float(sum(judged.port_flow_m3_s[p, column] for p in model.ports_of[key_of(model.machines[place])])),
        wanted_m3_s=sum(port.wanted_m3_s for port in ports),
        ports=ports,
    )


def _section(case: Case, number: int) -> SectionAnswer:
    judged, column, batch = case.judged, case.column, case.batch
    section, yardstick = judged.model.sections[number], judged.yardstick
    rank, flow = int(judged.ranks[number, column]), float(judged.section_flow_m3_s[number, column])
    needed = float(yardstick.needed_of_rank[rank]) if rank else None
    bore = section.start_bore_m if section.widest_m is None else section.widest_m
    speed = flow / float(bore_area(bore))
    riser = None if section.riser_bore_m is None else flow / float(bore_area(section.riser_bore_m))
    rising = bool(yardstick.riser_decides[number, 0])
    limit = limits().riser if rising else limits().level
    return SectionAnswer(
        section=section.name,
        title=judged.model.titles[number],
        run=section.run,
        flow_m3_s=flow,
        velocity_m_s=speed,
        needed_velocity_m_s=needed,
        settling_velocity_m_s=None if needed is None else needed * limit,
        riser_velocity_m_s=riser,
        decides="riser" if rising else "level",
        settling_share=float(judged.settling_share[number, column]),
        material=yardstick.materials[rank - 1] if rank else None,
        rises=section.rises,
        word=_section_word(judged, number, column),
        loss_pa=None if batch is None else float(batch.section_loss_pa[number, column]),
        wye_loss_pa=None if batch is None else float(batch.audit.junction[number, column]),
        joint_leak_m3_s=None if batch is None else float(batch.solved.leak[number, column]),
    )


def _section_word(judged: JudgedCases, number: int, column: int) -> SectionWord:
    if judged.ranks[number, column]:
        return CHIPS[judged.chips[number, column]] if judged.model.sections[number].widest_m else "no length"
    carrying = judged.yardstick.ranks(judged.taking[:, column : column + 1])
    return "no chips" if carrying[number, 0] else "idle"


def hardest_path(case: Case, machine: str) -> PathAnswer | None:
    """Return a machine's path that needs the most suction at the wanted flows."""
    paths = [path for path in case.wanted.paths if path.machine == machine]
    return max(paths, key=lambda path: path.suction_total_pa, default=None)
