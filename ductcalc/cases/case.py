"""One case as a person asks about it: machines, sections, paths, the collector. Every answer and report reads this."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, cast

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit.offer import Offer
from ductcalc.audit.pieces import end_velocity_pressure
from ductcalc.cases.choices import Choice
from ductcalc.cases.crossings import other_crossings
from ductcalc.cases.judged import (
    AIR,
    CHIPS,
    ROUNDING,
    SETTLES,
    SOLVED,
    STATUS,
    AirGrade,
    ChipGrade,
    JudgedCases,
    Status,
    air_grade,
    limits,
    near_limit,
)
from ductcalc.cases.solving import Batch, collector_of, surplus_pa, wanted_flows, wanted_of
from ductcalc.cases.unsolved import CHECK_FAILED, why_unsolved
from ductcalc.model.collector import FilterState, RatedPart
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of

Floats = NDArray[np.float64]
MachineWord = Literal["ok", "just short", "short", "open", "shut", "off"]
SectionWord = Literal["moves", "slow", "settles", "no length", "no chips", "idle"]



@dataclass(frozen=True)
class PortAnswer:
    """Air at one port [m3/s], and what it wants; taking: its gates are open."""

    machine: str
    run: str
    flow_m3_s: float
    wanted_m3_s: float
    velocity_m_s: float
    taking: bool

    @property
    def share(self) -> float:
        """Its air over what it wants."""
        return self.flow_m3_s / self.wanted_m3_s

    @property
    def grade(self) -> AirGrade:
        """The grade of its air."""
        return air_grade(self.share)

    @property
    def enough(self) -> bool:
        """Whether it gets the air it wants."""
        return self.grade == "ok"


@dataclass(frozen=True)
class MachineAnswer:
    """A machine in a case. asked: it was chosen; runs: it makes chips; open: air enters it.

    flow_m3_s: with what the gates of ports that are switched off leak. ports: its usable ports.
    """

    machine: str
    open: bool
    asked: bool
    runs: bool
    flow_m3_s: float
    wanted_m3_s: float
    ports: tuple[PortAnswer, ...]

    @property
    def share(self) -> float:
        """Air over wanted, of the whole machine."""
        return self.flow_m3_s / self.wanted_m3_s if self.wanted_m3_s else 0.0

    @property
    def poorest(self) -> PortAnswer:
        """The port with the least air for what it wants."""
        return min(self.ports, key=lambda port: port.share)

    @property
    def least_share(self) -> float:
        """Air over wanted at its poorest port."""
        return self.poorest.share if self.ports else 0.0

    @property
    def grade(self) -> AirGrade:
        """The grade of its air, at its poorest port."""
        return air_grade(self.least_share)

    @property
    def served(self) -> bool:
        """Whether it gets the air it wants at each of its ports."""
        return self.open and self.grade == "ok"

    @property
    def helper(self) -> bool:
        """Whether it only helps with air."""
        return self.asked and not self.runs

    @property
    def far_more(self) -> bool:
        """Whether it gets far more than it wants; a remark, not a grade."""
        return self.least_share >= limits().far_more

    @property
    def short_at_a_port(self) -> bool:
        """Whether its air would do, were it shared out as wanted: a port takes what another one lacks."""
        return not self.served and air_grade(self.share) == "ok"

    @property
    def word(self) -> MachineWord:
        """Its word: its grade when it was asked for, else what its gates are."""
        if not self.ports:
            return "off"
        if not self.open:
            return "shut"
        return self.grade if self.asked else "open"


@dataclass(frozen=True)
class SectionAnswer:
    """A section: flow [m3/s], speed in its widest pipe or hose [m/s], speed that its chips need (None: no chips), loss.

    velocity_m_s: where nothing has length, in the bore at its start. riser_velocity_m_s: in the widest one that rises
    (None: nothing rises). settling_velocity_m_s: speed below which chips settle where that is nearest, `decides` says
    in which of the two. title: the section by a name that people understand. loss_pa, wye_loss_pa [Pa],
    joint_leak_m3_s: None where they were not kept.
    """

    section: str
    title: str
    run: str
    flow_m3_s: float
    velocity_m_s: float
    needed_velocity_m_s: float | None
    settling_velocity_m_s: float | None
    riser_velocity_m_s: float | None
    decides: Literal["level", "riser"]
    settling_share: float
    material: str | None
    rises: bool
    word: SectionWord
    loss_pa: float | None = None
    wye_loss_pa: float | None = None
    joint_leak_m3_s: float | None = None

    @property
    def deciding_velocity_m_s(self) -> float:
        """Speed [m/s] where chips are nearest to settling."""
        return self.riser_velocity_m_s if self.decides == "riser" and self.riser_velocity_m_s else self.velocity_m_s

    @property
    def close(self) -> bool:
        """Whether it is so near the settling speed that the calculation cannot tell."""
        return bool(near_limit(np.array(self.settling_share), 1.0))


@dataclass(frozen=True)
class PathAnswer:
    """A port's way to the collector at wanted flows: suction needed [Pa], excess over it [Pa], length [m]."""

    machine: str
    run: str
    suction_total_pa: float
    excess_pa: float
    length_m: float


@dataclass(frozen=True)
class WantedAnswer:
    """What the case needs at its wanted flows; margin_pa is None beyond the curve.

    Without any suction that would draw the wanted flows, all of its figures are None and there are no paths.
    """

    flow_m3_s: float | None
    suction_total_pa: float | None
    suction_static_pa: float | None
    margin_pa: float | None
    worst_machine: str | None
    farthest_machine: str | None
    greediest_machine: str | None
    paths: tuple[PathAnswer, ...]


@dataclass(frozen=True)
class CollectorAnswer:
    """The collector's point: flow, suction at the duct's end (positive), blower pressure on its basis, parts.

    power_w: the blower's power there by its own points, None when they do not tell it.
    """

    name: str
    flow_m3_s: float
    inlet_static_pa: float
    inlet_total_pa: float
    blower_pa: float
    basis: str
    cyclone_pa: float | None
    filter_pa: float | None
    left_of_curve: bool
    power_w: float | None = None


@dataclass(frozen=True)
class AuditAnswer:
    """Relative residuals of the independent check."""

    pressure: float
    mass: float
    blower: float


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
        """The section where chips are nearest to settling; None where none pass."""
        if not self.solved or not np.isfinite(self.judged.case_settling_share[self.column]):
            return None
        return _section(self, int(self.judged.slowest[self.column]))

    def slowest_on_way(self, machine: str) -> SectionAnswer | None:
        """Return the section of a machine's way to the collector that is worst for its chips; None where none pass."""
        model = self.judged.model
        ports = (p for p in model.ports_of[key_of(machine)] if self.judged.taking[p, self.column])
        ways = [self.sections[number] for port in ports for number in model.path(port)]
        return min((s for s in ways if s.word in CHIPS), key=_worst_first, default=None)

    @property
    def slowest_of_grade(self) -> SectionAnswer | None:
        """The section that gives the case its chip grade; None where none pass."""
        return min((s for s in self.sections if s.word in CHIPS), key=_worst_first, default=None)

    def machine(self, name: str) -> MachineAnswer:
        """Return a machine's answer by its name as written."""
        return next(m for m in self.machines if m.machine == name)

    def _marked(self, flags: NDArray[np.bool_]) -> tuple[str, ...]:
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
    def settles(self) -> NDArray[np.bool_]:
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
        return _collector(self._batch, self.column, self.filter) if self.solved else None

    @cached_property
    def wanted(self) -> WantedAnswer:
        """What it needs at its wanted flows."""
        return _wanted(self._batch, self.column)

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
    rising = riser is not None and riser / limits().riser < speed / limits().level
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


def _collector(batch: Batch, column: int, filter_state: FilterState) -> CollectorAnswer:
    model = batch.model
    collector, supply = collector_of(model), batch.supply_of(column)
    offer, at = Offer(collector, end=batch.asked.end), batch.collector_flow[column : column + 1]
    flow = float(at[0])
    total = float(batch.solved.end[model.tree.root, column])
    kinetic = float(end_velocity_pressure(model, model.tree.root, np.array(flow)))
    return CollectorAnswer(
        name=collector.name,
        flow_m3_s=flow,
        inlet_static_pa=total + kinetic,
        inlet_total_pa=total,
        blower_pa=float(offer.bill(at, batch.asked.loaded[column : column + 1]).blower[0]),
        basis=collector.basis,
        cyclone_pa=_part_pressure(offer, collector.cyclone, at),
        filter_pa=_part_pressure(offer, collector.filter_at(filter_state), at),
        left_of_curve=flow < supply.first_flow_m3_s * (1.0 - ROUNDING),
        power_w=collector.power_w(flow),
    )


def _part_pressure(offer: Offer, part: RatedPart | None, flow: Floats) -> float | None:
    return None if part is None else float(offer.taken(part, flow)[0])


def _wanted(batch: Batch, column: int) -> WantedAnswer:
    model, wanted, number = batch.model, batch.wanted, column // len(batch.filters)
    taking = batch.state.taking[:, column]
    is_open = [m for m in model.machines if any(taking[p] for p in model.ports_of[key_of(m)])]
    flows = wanted_flows(model, batch.choices[number])
    farthest = max(is_open, key=lambda m: max(model.length_m(p) for p in model.ports_of[key_of(m)]), default=None)
    greediest = max(is_open, key=lambda m: wanted_of(model, flows, m), default=None)
    if not wanted.converged[number] or batch.refused[column]:
        return WantedAnswer(None, None, None, None, None, farthest, greediest, ())
    flow, total = float(wanted.flow_m3_s[number]), float(wanted.total_pa[number])
    supply = batch.supply_of(column)
    paths = _paths(batch, number, total)
    return WantedAnswer(
        flow_m3_s=flow,
        suction_total_pa=total,
        suction_static_pa=total + float(end_velocity_pressure(model, model.tree.root, np.array(flow))),
        margin_pa=None if flow > supply.last_flow_m3_s else float(wanted.offered_pa[column]) - total,
        worst_machine=min(paths, key=lambda path: path.excess_pa).machine if paths else None,
        farthest_machine=farthest,
        greediest_machine=greediest,
        paths=paths,
    )


def _paths(batch: Batch, number: int, total_pa: float) -> tuple[PathAnswer, ...]:
    model, found = batch.model, batch.wanted.over_pa
    over = np.where(np.abs(found) < ROUNDING * total_pa, 0.0, found)[:, number]
    return tuple(
        PathAnswer(port.machine, port.run, total_pa - float(over[p]), float(over[p]), model.length_m(p))
        for p, port in enumerate(model.ports)
        if not np.isnan(over[p])
    )


def hardest_path(case: Case, machine: str) -> PathAnswer | None:
    """Return a machine's path that needs the most suction at the wanted flows."""
    paths = [path for path in case.wanted.paths if path.machine == machine]
    return max(paths, key=lambda path: path.suction_total_pa, default=None)
