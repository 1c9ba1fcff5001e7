"""One solved case as a person asks about it: machines, sections, paths, the collector, the audit."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.cases.words import MachineWord, SectionWord, Status
from ductcalc.model.collector import FilterState

TOLD_M3_S = 1e-4
"""Air that blows out of a port below which nothing is said of it [m3/s], a fifth of a cfm: our judgement, no source."""
CHECK_FAILED = "a flow was found, but the independent check of it failed, so it is not told"


@dataclass(frozen=True)
class PortAnswer:
    """Air at one port [m3/s], negative where it is blown out, and what it wants."""

    run: str
    flow_m3_s: float
    wanted_m3_s: float
    velocity_m_s: float
    enough: bool


@dataclass(frozen=True)
class MachineAnswer:
    """A machine in a case. asked: it was chosen; runs: it makes chips; open: air enters it."""

    machine: str
    open: bool
    asked: bool
    runs: bool
    flow_m3_s: float
    wanted_m3_s: float
    served: bool
    word: MachineWord
    ports: tuple[PortAnswer, ...]

    @property
    def share(self) -> float:
        """Air over wanted, of the whole machine."""
        return self.flow_m3_s / self.wanted_m3_s if self.wanted_m3_s else 0.0


@dataclass(frozen=True)
class SectionAnswer:
    """A section: flow [m3/s], speed in its slowest bore [m/s], speed that its chips need (None: no chips), loss [Pa].

    settling_velocity_m_s: below it chips settle on the flat. riser_velocity_m_s: speed in its slowest rising
    bore, where the full speed is needed (None: nothing rises).
    """

    section: str
    run: str
    flow_m3_s: float
    velocity_m_s: float
    needed_velocity_m_s: float | None
    settling_velocity_m_s: float | None
    riser_velocity_m_s: float | None
    loss_pa: float
    wye_loss_pa: float
    joint_leak_m3_s: float
    material: str | None
    rises: bool
    word: SectionWord


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


@dataclass(frozen=True)
class CaseAnswer:
    """A case. asked: machines that were chosen; running: those of them that make chips.

    When `status` is not `solved` there are no flows: machines, sections and collector are empty.
    surplus_pa: suction left over at the curve's last point, when the case lies beyond it.
    joint_leak_m3_s, gate_leak_m3_s: air that enters through joints and shut gates. other_crossings_m3_s: flows
    beside the operating point at which ducts and a humped curve also agree. own_blowers: running machines that have
    one. why: why there is no answer, where that is known. Flows are negative where air is blown out of a port.
    """

    name: str
    open: tuple[str, ...]
    asked: tuple[str, ...]
    running: tuple[str, ...]
    filter: FilterState
    status: Status
    collector: CollectorAnswer | None
    machines: tuple[MachineAnswer, ...]
    sections: tuple[SectionAnswer, ...]
    wanted: WantedAnswer
    audit: AuditAnswer | None
    joint_leak_m3_s: float | None
    gate_leak_m3_s: float | None
    surplus_pa: float | None
    last_flow_m3_s: float
    note: str | None
    other_crossings_m3_s: tuple[float, ...] = ()
    own_blowers: tuple[str, ...] = ()
    why: str | None = None

    @property
    def blown_out(self) -> tuple[tuple[MachineAnswer, PortAnswer], ...]:
        """Ports that air is blown out of into the room, the most first; under a litre in ten seconds is not told."""
        found = [(machine, port) for machine in self.machines for port in machine.ports if port.flow_m3_s < -TOLD_M3_S]
        return tuple(sorted(found, key=lambda pair: pair[1].flow_m3_s))

    @property
    def check_failed(self) -> bool:
        """Whether a flow was found that the independent check refused."""
        return self.why is not None and self.why.startswith(CHECK_FAILED)

    @property
    def solved(self) -> bool:
        """Whether the case has an answer."""
        return self.status == "solved"

    @property
    def short(self) -> tuple[MachineAnswer, ...]:
        """Running machines that get less than they want, poorest first."""
        found = [m for m in self.machines if m.runs and m.asked and not m.served]
        return tuple(sorted(found, key=lambda m: m.share))

    @property
    def settling(self) -> tuple[SectionAnswer, ...]:
        """Sections in which chips settle, slowest against its need first."""
        found = [s for s in self.sections if s.word == "settles"]
        return tuple(sorted(found, key=lambda s: s.velocity_m_s / (s.needed_velocity_m_s or 1.0)))

    @property
    def all_well(self) -> bool:
        """Whether everything asked for is served and nothing settles."""
        return self.solved and not self.short and not self.settling

    def machine(self, name: str) -> MachineAnswer:
        """Return a machine's answer by its name as written."""
        return next(m for m in self.machines if m.machine == name)
