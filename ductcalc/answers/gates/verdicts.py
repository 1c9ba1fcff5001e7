"""What each gate set comes to: air for every machine, the slowest section, the word."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.gates.sets import places_of
from ductcalc.answers.gates.solved import SolvedSets
from ductcalc.cases.words import ROUNDING, settling_speed

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
SetWord = Literal["fine", "short", "settles", "short and settles", "no answer"]


@dataclass(frozen=True)
class PortInSet:
    """An open port in a set: its air and what it wants [m3/s]."""

    machine: str
    run: str
    flow_m3_s: float
    wanted_m3_s: float
    enough: bool

    @property
    def share(self) -> float:
        """Its air over what it wants."""
        return self.flow_m3_s / self.wanted_m3_s


@dataclass(frozen=True)
class MachineInSet:
    """A machine that is open in a set: its air and what it wants [m3/s]; a helper makes no chips."""

    machine: str
    flow_m3_s: float
    wanted_m3_s: float
    served: bool
    helper: bool
    ports: tuple[PortInSet, ...]

    @property
    def poorest(self) -> PortInSet:
        """The port with the least air for what it wants."""
        return min(self.ports, key=lambda port: port.share)

    @property
    def short_at_a_port(self) -> bool:
        """Whether its air would do, were it shared out as wanted: a port takes what another one lacks."""
        return not self.served and self.flow_m3_s >= self.wanted_m3_s * (1.0 - ROUNDING)


@dataclass(frozen=True)
class SlowestSection:
    """The section nearest to settling: its speed where that is decided [m/s], and the speed its chips need."""

    section: str
    velocity_m_s: float
    needed_velocity_m_s: float
    rises: bool
    material: str

    @property
    def full_speed(self) -> bool:
        """Whether it moves at the full speed that its chips need; a flat may be graded below it and still be fine."""
        return self.velocity_m_s >= self.needed_velocity_m_s * (1.0 - ROUNDING)


@dataclass(frozen=True)
class SetAnswer:
    """A gate set with its verdict; name: a named set's own, else its machines; open: they, answered or not.

    also_open: ports of other machines that take air as well, because no shut gate is on their way.
    """

    name: str
    open: tuple[str, ...]
    machines: tuple[MachineInSet, ...]
    slowest: SlowestSection | None
    settling: int
    word: SetWord
    also_open: tuple[PortInSet, ...] = ()

    @property
    def served(self) -> bool:
        """Whether every running machine gets its air."""
        return self.word in ("fine", "settles")


@dataclass(frozen=True)
class Verdicts:
    """Verdicts on many sets as arrays (sets,): pattern of open and of running machines, served, settling sections.

    share: (sets, machines), air over wanted at the poorest port. wanted_ratio: (sets, machines), wanted air over the
    table's. speed_share: slowest section's speed over the one below which chips settle. slowest: that section.
    rank: the hardness of what it carries, as in `Judge`. rows: (sets,), where each stands in the solved arrays.
    """

    sets: SolvedSets
    open: tuple[int, ...]
    running: tuple[int, ...]
    solved: Flags
    share: Floats
    served: Flags
    settling: NDArray[np.intp]
    speed_share: Floats
    slowest: NDArray[np.intp]
    rank: NDArray[np.intp]
    wanted_ratio: Floats
    rows: NDArray[np.intp]

    @property
    def fine(self) -> Flags:
        """Sets in which all running machines are served and nothing settles."""
        return np.asarray(self.solved & self.served & (self.settling == 0))

    def word(self, number: int) -> SetWord:
        """Return a set's word."""
        if not self.solved[number]:
            return "no answer"
        settles = bool(self.settling[number])
        if self.served[number]:
            return "settles" if settles else "fine"
        return "short and settles" if settles else "short"

    def answer(self, number: int, name: str | None = None) -> SetAnswer:
        """Return one set as a person asks about it."""
        sets, mask = self.sets, self.open[number]
        opened = tuple(sets.machines[place] for place in places_of(mask))
        name = name or ", ".join(opened)
        if not self.solved[number]:
            return SetAnswer(name, opened, (), None, 0, self.word(number))
        return SetAnswer(
            name,
            opened,
            tuple(self._machine(number, place) for place in places_of(mask)),
            self._slowest(number),
            int(self.settling[number]),
            self.word(number),
            tuple(self._ports(number, lambda machine: machine < 0 or not mask >> machine & 1)),
        )

    def _machine(self, number: int, place: int) -> MachineInSet:
        sets, row = self.sets, self.rows[number]
        return MachineInSet(
            sets.machines[place],
            float(sets.flow_m3_s[row, place]),
            sets.wanted_of(place) * float(self.wanted_ratio[number, place]),
            bool(self.share[number, place] >= 1.0 - ROUNDING),
            not self.running[number] >> place & 1,
            tuple(self._ports(number, lambda machine: machine == place)),
        )

    def _ports(self, number: int, which: Callable[[int], bool]) -> Iterator[PortInSet]:
        """Yield the open ports of some machines (by place, -1 for a machine that is switched off)."""
        sets, row = self.sets, self.rows[number]
        for port in np.flatnonzero(sets.taking[row]):
            machine, own = int(sets.port_machine[port]), sets.model.ports[port]
            if which(machine):
                ratio = float(self.wanted_ratio[number, machine]) if machine >= 0 else 1.0
                flow, wanted = float(sets.port_flow_m3_s[row, port]), own.wanted_m3_s * ratio
                yield PortInSet(own.machine, own.run, flow, wanted, flow >= wanted * (1.0 - ROUNDING))

    def _slowest(self, number: int) -> SlowestSection | None:
        if not np.isfinite(self.speed_share[number]):
            return None
        section, rank = int(self.slowest[number]), int(self.rank[number])
        speed, needed, rising = (part[0] for part in self.speeds(np.array([number])))
        judge, model = self.sets.judge, self.sets.model
        return SlowestSection(
            model.sections[section].name, float(speed), float(needed), bool(rising), judge.materials[rank - 1]
        )

    def speeds(self, numbers: NDArray[np.intp]) -> tuple[Floats, Floats, Flags]:
        """Return the slowest section's speed and the speed its chips need [m/s], and whether its rise decides.

        Where no chips pass the needed speed is 0.
        """
        judge, section = self.sets.judge, self.slowest[numbers]
        rows = self.rows[numbers]
        flow, needed = self.sets.section_flow_m3_s[rows, section], judge.needed_of_rank[self.rank[numbers]]
        slow, riser = flow / judge.slowest_area[section, 0], flow / judge.riser_area[section, 0]
        rising = riser < slow / settling_speed(1.0)
        return np.where(rising, riser, slow), needed, rising

def verdicts(
    sets: SolvedSets,
    opened: Sequence[int],
    running: Sequence[int] | None = None,
    wanted: Sequence[Mapping[int, float]] | None = None,
) -> Verdicts:
    """Judge gate sets (solving those not yet known).

    running: patterns of the machines that make chips, all open ones when left out. wanted: for each set the machines
    (by place) whose wanted air [m3/s] differs in it.
    """
    running = opened if running is None else running
    keys = opened if running is opened else [sets.key(mask, runs) for mask, runs in zip(opened, running, strict=True)]
    sets.add(keys)
    rows = np.array([sets.row[key] for key in keys], dtype=np.intp)
    judge = sets.judge
    runs = np.array([[mask >> place & 1 for place in range(len(sets.machines))] for mask in running], dtype=bool)
    share = sets.share[rows] / _wanted_ratio(sets, wanted, len(rows))
    flow = np.ascontiguousarray(sets.section_flow_m3_s[rows].T)
    ranks = judge.ranks(sets.named_ports(running))
    ratio = judge.speed_share(flow, ranks)
    slowest = ratio.argmin(axis=0)
    return Verdicts(
        sets,
        tuple(opened),
        tuple(running),
        sets.solved[rows],
        share,
        np.asarray((np.where(runs, share, np.inf) >= 1.0 - ROUNDING).all(axis=1)),
        judge.settles(flow, ranks).sum(axis=0),
        ratio.min(axis=0),
        slowest,
        ranks[slowest, np.arange(len(rows))],
        _wanted_ratio(sets, wanted, len(rows)),
        rows,
    )


def _wanted_ratio(sets: SolvedSets, wanted: Sequence[Mapping[int, float]] | None, rows: int) -> Floats:
    """Return wanted air in each set over that of the table (sets, machines)."""
    ratio = np.ones((rows, len(sets.machines)))
    for row, own in enumerate(wanted or ()):
        for place, flow in own.items():
            ratio[row, place] = flow / sets.wanted_of(place)
    return ratio
