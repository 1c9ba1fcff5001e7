"""How cases stand: the one home of grades.

Nothing else in the program compares air with a wish or a speed with a limit. The limits are rows of `data/`: tables
verdict and transport.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cache, cached_property
from typing import Literal, NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats, Grades, Places
from ductcalc.cases.choices import Choice
from ductcalc.catalog import fact
from ductcalc.model.model import Model
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of

AirGrade = Literal["ok", "just short", "short"]
ChipGrade = Literal["moves", "slow", "settles"]
Status = Literal["solved", "beyond the curve", "not converged"]
AIR: tuple[AirGrade, ...] = ("ok", "just short", "short")
CHIPS: tuple[ChipGrade, ...] = ("moves", "slow", "settles")
STATUS: tuple[Status, ...] = ("solved", "beyond the curve", "not converged")
OK, JUST_SHORT, SHORT = range(3)
MOVES, SLOW, SETTLES = range(3)
SOLVED, BEYOND, NOT_CONVERGED = range(3)
NO_ANSWER = "no answer"
NO_CHIPS = 0
"""Rank of a section that carries no chips."""

ROUNDING = 1e-9
"""Share of a limit that is nothing but the last digits of a solution."""
NOWHERE = 1e-12
"""Area [m2] in place of that of a bore that is not there: its speed is beyond every limit."""


class Limits(NamedTuple):
    """Shares of the wanted air, and of the speed that chips need, at which grades change; see `data/`."""

    just_short: float
    level: float
    riser: float
    near: float
    far_more: float


@cache
def limits() -> Limits:
    """Return the limits."""
    return Limits(
        just_short=fact("verdict", "just short share").value,
        level=fact("transport", "graded share").value,
        riser=fact("transport", "riser share").value,
        near=fact("verdict", "near a limit").value,
        far_more=fact("verdict", "far more share").value,
    )


def air_grades(share: Floats) -> Grades:
    """Return the grade of each share of the wanted air."""
    least = 1.0 - ROUNDING
    short = np.where(share >= limits().just_short * least, JUST_SHORT, SHORT)
    return np.where(share >= least, OK, short).astype(np.int8)


def air_grade(share: float) -> AirGrade:
    """Return the grade of one share of the wanted air."""
    return AIR[int(air_grades(np.array(share)))]


def chip_grades(settling_share: Floats, full_share: Floats) -> Grades:
    """Return the grade of sections: speed over the one below which chips settle, and over the one that they need."""
    least = 1.0 - ROUNDING
    slow = np.where(full_share >= least, MOVES, SLOW)
    return np.where(settling_share >= least, slow, SETTLES).astype(np.int8)


def set_word(air: AirGrade, chips: ChipGrade) -> str:
    """Return the words of a set: its grades but the good ones, `ok` when both are good."""
    return ", ".join(word for word in (air, chips) if word not in ("ok", "moves")) or "ok"


def near_limit(share: Floats, limit: float) -> Flags:
    """Return where a share lies so near a limit that the calculation cannot tell on which side of it."""
    return np.asarray(np.abs(share - limit) <= limits().near * limit)


@dataclass(frozen=True)
class Yardstick:
    """What the cases of one model are measured by, in the shape that arrays of cases need."""

    model: Model

    @cached_property
    def materials(self) -> tuple[str, ...]:
        """Materials of the shop from the easiest to the hardest to keep moving."""
        names = dict.fromkeys(port.material for port in self.model.ports)
        return tuple(sorted(names, key=self.model.needed_speed))

    @cached_property
    def needed_of_rank(self) -> Floats:
        """Needed speed [m/s] of each rank: rank 0 is no chips, rank 1 the easiest material."""
        return np.array([0.0, *(self.model.needed_speed(name) for name in self.materials)])

    @cached_property
    def port_rank(self) -> Places:
        """Rank of each port's material (ports, 1)."""
        ranks = {name: number + 1 for number, name in enumerate(self.materials)}
        return np.array([[ranks[port.material]] for port in self.model.ports], dtype=np.intp)

    @cached_property
    def port_machine(self) -> Places:
        """Machine (by place) of each port (ports,), -1 for a port that is switched off."""
        place = {key_of(machine): number for number, machine in enumerate(self.model.machines)}
        ports = self.model.ports
        return np.array([-1 if port.off else place[key_of(port.machine)] for port in ports], dtype=np.intp)

    @cached_property
    def duct_area(self) -> Floats:
        """Area [m2] of each section's largest pipe or hose (sections, 1): chips lie only in what has length."""
        return self._areas([section.widest_m for section in self.model.sections])

    @cached_property
    def riser_area(self) -> Floats:
        """Area [m2] of each section's largest rising pipe or hose (sections, 1)."""
        return self._areas([section.riser_bore_m for section in self.model.sections])

    @cached_property
    def riser_decides(self) -> Flags:
        """Sections (sections, 1) whose chips settle in the riser first: at any flow it is the nearer to its limit."""
        level, riser = limits().level * self.duct_area, limits().riser * self.riser_area
        return np.asarray((self.riser_area > NOWHERE) & (riser > level))

    @cached_property
    def deciding_area(self) -> Floats:
        """Area [m2] in which a section's chips settle first (sections, 1)."""
        return np.where(self.riser_decides, self.riser_area, self.duct_area)

    @staticmethod
    def _areas(bores_m: Sequence[float | None]) -> Floats:
        return np.array([[NOWHERE if bore is None else float(bore_area(bore))] for bore in bores_m])

    def ranks(self, making_chips: Flags) -> Places:
        """Return the rank of the hardest material in each section (sections, cases); ports (ports, cases)."""
        found = np.zeros((self.model.tree.size, making_chips.shape[1]), dtype=np.intp)
        np.maximum.at(found, self.model.opening.port_section, np.where(making_chips, self.port_rank, NO_CHIPS))
        for _, outlet, streams, _ in self.model.tree.walk:
            for stream in streams:
                np.maximum(found[outlet], found[stream], out=found[outlet])
        return found

    def by_machine(self, flags: Flags) -> Flags:
        """Return flags of machines (machines, cases) at their ports (ports, cases); False where switched off."""
        return np.asarray(flags[self.port_machine] & (self.port_machine >= 0)[:, None])


def machines_in(model: Model, choices: Sequence[Choice]) -> tuple[Flags, Flags]:
    """Return which machines are asked for in each choice, and which of them make chips; (machines, choices) each."""
    asked = np.array([[choice.asks(machine) for choice in choices] for machine in model.machines], dtype=bool)
    running = np.array([[choice.runs(machine) for choice in choices] for machine in model.machines], dtype=bool)
    shape = (len(model.machines), len(choices))
    return asked.reshape(shape), running.reshape(shape)


@dataclass(frozen=True, eq=False)
class JudgedCases:
    """Cases of one model, judged. Every array has the cases as its last axis.

    status: (cases,), places in STATUS. asked, running: (machines, cases), machines asked for, and those of them that
    make chips. taking: (ports, cases), ports through whose open gates air enters. wanted_m3_s: (ports, cases).
    port_flow_m3_s: (ports, cases), of shut ports what their gates leak. section_flow_m3_s: (sections, cases).
    """

    yardstick: Yardstick
    status: Grades
    asked: Flags
    running: Flags
    taking: Flags
    wanted_m3_s: Floats
    port_flow_m3_s: Floats
    section_flow_m3_s: Floats

    @property
    def model(self) -> Model:
        """The model whose cases they are."""
        return self.yardstick.model

    @property
    def count(self) -> int:
        """How many cases."""
        return len(self.status)

    @property
    def solved(self) -> Flags:
        """Cases (cases,) with an answer on the curve that passes the audit, where one was made."""
        return np.asarray(self.status == SOLVED)

    def take(self, columns: Places | Sequence[int] | slice) -> JudgedCases:
        """Return some of the cases, in any order."""
        picked = {f.name: getattr(self, f.name)[..., columns] for f in fields(self) if f.name != "yardstick"}
        return replace(self, **picked)

    def asked_as(self, asked: Flags, running: Flags, wanted_m3_s: Floats | None = None) -> JudgedCases:
        """Return the same flows judged for other machines that run, or other wishes."""
        return replace(
            self, asked=asked, running=running, wanted_m3_s=self.wanted_m3_s if wanted_m3_s is None else wanted_m3_s
        )

    @cached_property
    def machine_flow_m3_s(self) -> Floats:
        """Air of each machine (machines, cases) [m3/s]."""
        return np.array([self.port_flow_m3_s[ports].sum(axis=0) for ports in self._ports])

    @cached_property
    def port_share(self) -> Floats:
        """Air over wanted air (ports, cases)."""
        return np.asarray(self.port_flow_m3_s / self.wanted_m3_s)

    @cached_property
    def share(self) -> Floats:
        """Air over wanted at each running machine's poorest port (machines, cases); infinite where it does not run."""
        least = np.array([self.port_share[ports].min(axis=0, initial=np.inf) for ports in self._ports])
        return np.where(self.running, least, np.inf)

    @cached_property
    def air(self) -> Grades:
        """Air grade of each machine (machines, cases); good where it does not run."""
        return air_grades(self.share)

    @cached_property
    def ranks(self) -> Places:
        """Rank of the hardest chips in each section (sections, cases)."""
        return self.yardstick.ranks(self.taking & self.yardstick.by_machine(self.running))

    @cached_property
    def needed_m_s(self) -> Floats:
        """Speed [m/s] that the chips of each section need (sections, cases); 0 where none pass."""
        return np.asarray(self.yardstick.needed_of_rank[self.ranks])

    @cached_property
    def full_share(self) -> Floats:
        """Speed in a section's widest duct over the needed one (sections, cases); infinite where none is needed."""
        return self._over(self.yardstick.duct_area, 1.0)

    @cached_property
    def settling_share(self) -> Floats:
        """Speed over the one below which chips settle (sections, cases): in level pipe, or in a riser if that is less.

        Infinite where no chips pass, and where nothing has length.
        """
        level, riser = limits().level, limits().riser
        return np.minimum(self._over(self.yardstick.duct_area, level), self._over(self.yardstick.riser_area, riser))

    def _over(self, area_m2: Floats, share: float) -> Floats:
        moving = self.ranks != NO_CHIPS
        speed = self.section_flow_m3_s / (area_m2 * share * np.where(moving, self.needed_m_s, 1.0))
        return np.where(moving & (area_m2 > NOWHERE), speed, np.inf)

    @cached_property
    def chips(self) -> Grades:
        """Chip grade of each section (sections, cases); good where no chips pass."""
        return chip_grades(self.settling_share, self.full_share)

    @cached_property
    def case_share(self) -> Floats:
        """Air over wanted at the poorest port of each case (cases,); infinite where no machine runs."""
        return np.asarray(self.share.min(axis=0, initial=np.inf))

    @cached_property
    def slowest(self) -> Places:
        """The section that gives each case (cases,) its chip grade; of several the nearest to settling."""
        worst = self.chips == self.case_chips
        return np.asarray(np.where(worst, self.settling_share, np.inf).argmin(axis=0))

    @cached_property
    def case_settling_share(self) -> Floats:
        """Least speed over the settling one of each case (cases,); infinite where no chips pass."""
        return np.asarray(self.settling_share.min(axis=0, initial=np.inf))

    @cached_property
    def case_air(self) -> Grades:
        """Worst air grade of each case (cases,)."""
        return air_grades(self.case_share)

    @cached_property
    def case_chips(self) -> Grades:
        """Worst chip grade of each case (cases,)."""
        return np.asarray(self.chips.max(axis=0, initial=MOVES))

    @property
    def settling(self) -> Places:
        """In how many sections chips settle (cases,)."""
        return np.asarray((self.chips == SETTLES).sum(axis=0))

    @property
    def served(self) -> Flags:
        """Cases (cases,) in which every running machine gets the air it wants."""
        return np.asarray(self.solved & (self.case_air == OK))

    @property
    def well(self) -> Flags:
        """Cases (cases,) in which everybody that runs is served and nothing settles."""
        return np.asarray(self.served & (self.case_chips != SETTLES))

    @property
    def may_run(self) -> Flags:
        """Cases (cases,) that may run: at most just short of air, and no chips settle."""
        return np.asarray(self.solved & (self.case_air != SHORT) & (self.case_chips != SETTLES))

    @property
    def close(self) -> Flags:
        """Cases (cases,) whose verdict lies so near a limit that the calculation cannot tell on which side of it."""
        share, speed = self.case_share, self.case_settling_share
        air = near_limit(share, 1.0) | near_limit(share, limits().just_short)
        chips = near_limit(speed, 1.0)
        forbidden_by_air, forbidden_by_chips = self.case_air == SHORT, self.case_chips == SETTLES
        hangs = (air & (chips | ~forbidden_by_chips)) | (chips & (air | ~forbidden_by_air))
        return np.asarray(self.solved & hangs)

    def word(self, column: int) -> str:
        """Return the words of a case."""
        if not self.solved[column]:
            return NO_ANSWER
        return set_word(AIR[self.case_air[column]], CHIPS[self.case_chips[column]])

    @cached_property
    def _ports(self) -> tuple[list[int], ...]:
        machines = range(len(self.model.machines))
        return tuple(np.flatnonzero(self.yardstick.port_machine == place).tolist() for place in machines)


def joined(parts: Sequence[JudgedCases]) -> JudgedCases:
    """Return cases of one model side by side."""
    if len(parts) == 1:
        return parts[0]
    names = [f.name for f in fields(JudgedCases) if f.name != "yardstick"]
    return JudgedCases(
        parts[0].yardstick, **{name: np.concatenate([getattr(p, name) for p in parts], axis=-1) for name in names}
    )


def status_of(converged: Flags, passed: Flags, flow_m3_s: Floats, last_flow_m3_s: Floats) -> Grades:
    """Return whether cases have an answer (cases,): solved and audited, past the curve's end, or not found."""
    settled = converged & np.isfinite(flow_m3_s)
    beyond = settled & (flow_m3_s > last_flow_m3_s * (1.0 + ROUNDING))
    found = np.where(settled & passed, SOLVED, NOT_CONVERGED)
    return np.where(beyond, BEYOND, found).astype(np.int8)
