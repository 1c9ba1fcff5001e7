"""The figures of one case: ports, machines, sections, paths, the collector, the audit; graded by the limits."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from ductcalc.cases.judged import AirGrade, air_grade, limits, near_limit

MachineWord = Literal["ok", "just short", "short", "open", "shut", "off"]
SectionWord = Literal["moves", "slow", "settles", "no length", "no chips", "idle"]


class PortAnswer(NamedTuple):
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


class MachineAnswer(NamedTuple):
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


class SectionAnswer(NamedTuple):
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


class PathAnswer(NamedTuple):
    """A port's way to the collector at wanted flows: suction needed [Pa], excess over it [Pa], length [m]."""

    machine: str
    run: str
    suction_total_pa: float
    excess_pa: float
    length_m: float


class WantedAnswer(NamedTuple):
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


class CollectorAnswer(NamedTuple):
    """The collector's point: flow, suction at the duct's end (positive), blower pressure on its basis, parts.

    At wanted flows blower_pa is the fan static pressure that a blower must give. outlet_pa: losses of the outlet duct,
    and the VP where air leaves less that at the blower. power_w: the blower's power there by its own points, None when
    they do not tell it.
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
    outlet_pa: float = 0.0
    power_w: float | None = None


class AuditAnswer(NamedTuple):
    """Relative residuals of the independent check."""

    pressure: float
    mass: float
    blower: float
