"""Why a stretch has its size: the next one down and up, each solved in full and audited."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.size.trials import UNANSWERED
from ductcalc.cases.case import read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import JudgedCases
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of

Floats = NDArray[np.float64]
Kind = Literal["short", "settles", "no answer", "no worse"]
WORSE = 0.005
"""Share of a wish below which two sizings are told to do alike, when no more sets lack anything."""


@dataclass(frozen=True)
class Verdict:
    """What decides a set: its poorest running port, or the section nearest to settling.

    missing: 0 when the set is fine, else the larger of the two shares that lack. several: the machine has more ports.
    alone: the set is one machine on its own. needed_m_s: the full speed of what is carried. settling_velocity_m_s: the
    speed below which chips settle there: the full one on a rise, else its graded share. Without an answer no figures.
    """

    case: str
    missing: float
    kind: Kind
    alone: bool = False
    machine: str | None = None
    run: str | None = None
    several: bool = False
    flow_m3_s: float = 0.0
    wanted_m3_s: float = 0.0
    section: str | None = None
    velocity_m_s: float = 0.0
    needed_m_s: float = 0.0
    settling_velocity_m_s: float = 0.0


@dataclass(frozen=True)
class Judged:
    """One shop with every set solved, loaded filter, audited."""

    batch: Batch

    @property
    def cases(self) -> JudgedCases:
        """The sets, judged."""
        return self.batch.judged

    @property
    def solved(self) -> NDArray[np.bool_]:
        """Sets (choices,) with an answer."""
        return self.cases.solved

    @property
    def missing(self) -> Floats:
        """How far each set is from being fine (choices,); 0 when it is."""
        lacking = 1.0 - np.minimum(self.cases.case_share, self.cases.case_settling_share)
        return np.where(self.solved, np.where(self.cases.well, 0.0, lacking), UNANSWERED)

    @property
    def air(self) -> Floats:
        """Air over wanted at each running port (ports, choices); infinite where it does not run."""
        return np.where(self.cases.yardstick.by_machine(self.cases.running), self.cases.port_share, np.inf)

    def poorest(self, number: int) -> Verdict:
        """Return a set's poorest running port, whether it lacks air or not."""
        model, choice = self.batch.model, self.batch.choices[number]
        if not self.solved[number]:
            return self._unanswered(number)
        port = int(self.air[:, number].argmin())
        machine = model.ports[port].machine
        return Verdict(
            choice.name,
            float(self.missing[number]),
            "short",
            is_alone(choice),
            machine,
            model.ports[port].run,
            several=sum(p.machine == machine for p in model.ports) > 1,
            flow_m3_s=float(self.cases.port_flow_m3_s[port, number]),
            wanted_m3_s=float(self.cases.wanted_m3_s[port, number]),
        )

    def slowest(self, number: int) -> Verdict | None:
        """Return a set's section that is nearest to settling, None when no chips pass or there is no answer."""
        section = read_cases(self.batch)[number].slowest
        if section is None:
            return None
        return Verdict(
            self.batch.choices[number].name,
            float(self.missing[number]),
            "settles",
            is_alone(self.batch.choices[number]),
            section=section.section,
            velocity_m_s=section.deciding_velocity_m_s,
            needed_m_s=section.needed_velocity_m_s or 0.0,
            settling_velocity_m_s=section.settling_velocity_m_s or 0.0,
        )

    def _unanswered(self, number: int) -> Verdict:
        choice = self.batch.choices[number]
        return Verdict(choice.name, UNANSWERED, "no answer", is_alone(choice))

    def verdict(self, number: int) -> Verdict:
        """Return what decides a set: what lacks more of its share."""
        choice = self.batch.choices[number]
        if not self.solved[number]:
            return self._unanswered(number)
        if self.missing[number] == 0.0:
            return Verdict(choice.name, 0.0, "no worse", is_alone(choice))
        slow = self.slowest(number)
        short = self.cases.case_share[number] <= self.cases.case_settling_share[number]
        return self.poorest(number) if short or slow is None else slow


def is_alone(choice: Choice) -> bool:
    """Whether a choice is one machine on its own."""
    return len(choice.machines) == 1 and key_of(choice.machines[0]) == key_of(choice.name)


def judged(model: Model, choices: Sequence[Choice]) -> Judged:
    """Solve every choice with the loaded filter, audit it, and judge it."""
    return Judged(solve_choices(model, choices, ("loaded",)))


@dataclass(frozen=True)
class Neighbour:
    """A stretch's next size sold, all else as chosen: what that would do to the set that it hurts most.

    added_cost: what it costs more [kg or money]. sets_lost: sets that are fine as chosen and would not be.
    """

    size_m: float
    added_cost: float
    worst: Verdict
    sets_lost: int


def neighbour(chosen: Judged, other: Judged, size_m: float, added_cost: float) -> Neighbour:
    """Compare a stretch's next size with the chosen one."""
    before, after = chosen.missing, other.missing
    number = int((after - before).argmax())
    lost = int(((before == 0.0) & (after > 0.0)).sum())
    if not other.solved.any():
        return Neighbour(size_m, added_cost, other.verdict(number), lost)
    if after[number] - before[number] <= WORSE and not lost:
        return Neighbour(size_m, added_cost, Verdict("", 0.0, "no worse"), 0)
    return Neighbour(size_m, added_cost, other.verdict(number), lost)
