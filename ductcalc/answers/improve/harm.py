"""What counts as harm: one rule for what is searched and for what is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.improve.ports import origin
from ductcalc.cases.case import CaseAnswer, MachineAnswer, SectionAnswer
from ductcalc.cases.variants import Outcome
from ductcalc.cases.words import ROUNDING

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
ENOUGH = 1.0 - ROUNDING
NEW = -1
"""In place of a section's number: a section that was not there before."""


@dataclass(frozen=True)
class Standings:
    """What decides whether cases are worse than others.

    sections: names as in `speed_share`. solved: (cases,). share: (machines, cases), air over wanted at each machine's
    poorest port. speed_share: (sections, cases), speed over the one below which chips settle. What does not run or
    carries no chips is infinite.
    """

    sections: tuple[str, ...]
    solved: Flags
    share: Floats
    speed_share: Floats


@dataclass(frozen=True)
class Harm:
    """Where cases are worse than before.

    unanswered: (cases,). short, less_air: (machines, cases), newly short; short before, and now with less air by more
    than the band. settles, slower: (sections then, cases), newly settling; settling before, and now slower by more than
    the band. before: for each section then the number of the one it was, NEW for one put in.
    """

    unanswered: Flags
    short: Flags
    less_air: Flags
    settles: Flags
    slower: Flags
    before: NDArray[np.intp]

    @property
    def any(self) -> bool:
        """Whether any case is worse."""
        return bool(
            self.unanswered.any() or self.short.any() or self.less_air.any() or self.settles.any() or self.slower.any()
        )


def harm(before: Standings, then: Standings, band: float) -> Harm:
    """Return where cases are worse than before; band: share by which what is bad must get worse to count."""
    both = before.solved & then.solved
    number = sections_before(before.sections, then.sections)
    found = number != NEW
    speed = np.where(found[:, None], before.speed_share[number], np.inf)
    short_now, settling_now = before.share < ENOUGH, speed < ENOUGH
    short, settling = both & (then.share < ENOUGH), both & (then.speed_share < ENOUGH)
    return Harm(
        before.solved & ~then.solved,
        short & ~short_now,
        short & short_now & (then.share < before.share * (1.0 - band)),
        settling & ~settling_now,
        settling & settling_now & (then.speed_share < speed * (1.0 - band)),
        number,
    )


def sections_before(before: Sequence[str], then: Sequence[str]) -> NDArray[np.intp]:
    """Return for each section then which one it was: a port put beside the first one cuts its section in two, so that
    the run's later sections are numbered one higher; the port's own run is new.
    """
    known = {name: number for number, name in enumerate(before)}
    runs = {name.rpartition(" ")[0] for name in before}
    cut = {origin(run, ()) for run in {name.rpartition(" ")[0] for name in then} - runs}
    return np.array([_before(name, known, cut) for name in then], dtype=np.intp)


def _before(name: str, known: dict[str, int], cut: set[str]) -> int:
    run, _, number = name.rpartition(" ")
    if run not in cut:
        return known.get(name, NEW)
    return known.get(f"{run} {max(1, int(number) - 1)}", NEW)


def standings_found(outcome: Outcome) -> Standings:
    """Return how searched cases stand."""
    names = tuple(section.name for section in outcome.model.sections)
    return Standings(names, outcome.solved, outcome.share, outcome.speed_share)


def standing_of(case: CaseAnswer) -> Standings:
    """Return how one audited case that is solved stands."""
    return Standings(
        tuple(section.section for section in case.sections),
        np.array([case.solved]),
        np.array([[least_share(machine)] for machine in case.machines]),
        np.array([[speed_share(section)] for section in case.sections]),
    )


def least_share(machine: MachineAnswer) -> float:
    """Return air over wanted at a running machine's poorest port; infinite for one that does not run."""
    if not (machine.runs and machine.asked):
        return np.inf
    return min((port.flow_m3_s / port.wanted_m3_s for port in machine.ports), default=np.inf)


def speed_share(section: SectionAnswer) -> float:
    """Return a section's speed over the one below which chips settle, infinite where none pass."""
    if section.needed_velocity_m_s is None or section.settling_velocity_m_s is None:
        return np.inf
    flat = section.velocity_m_s / section.settling_velocity_m_s
    if section.riser_velocity_m_s is None:
        return flat
    return min(flat, section.riser_velocity_m_s / section.needed_velocity_m_s)
