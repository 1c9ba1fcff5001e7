"""What becomes of cases: worse in which section or for which machine, or better."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.improve.harm import harm, least_share, standing_of
from ductcalc.cases.case import CaseAnswer, MachineAnswer, PortAnswer, SectionAnswer

EffectWord = Literal["settles", "slower", "short", "less air", "no answer", "served", "moves", "fine", "answered"]
HARMS: tuple[EffectWord, ...] = ("no answer", "short", "settles", "less air", "slower")


@dataclass(frozen=True)
class Effect:
    """What becomes of a case (as it is then): a section newly settles or is slower still, a machine falls short or gets
    less air still, or there is no answer; or the case is newly served, its chips move, both (fine), or it has an
    answer.

    section, machine: the one that says so, the worst of several. before: where that is compared, its speed before
    [m/s], or what its poorest port got of what it wants [1].
    """

    case: CaseAnswer
    word: EffectWord
    section: SectionAnswer | None = None
    machine: MachineAnswer | None = None
    before: float | None = None

    @property
    def harm(self) -> bool:
        """Whether it is a change for the worse."""
        return self.word in HARMS


def effects(before: Sequence[CaseAnswer], after: Sequence[CaseAnswer], band: float) -> Iterator[Effect]:
    """Yield what becomes of each case; band: share by which what is bad already must get worse to be told."""
    for one, two in zip(before, after, strict=True):
        yield from _changed_answer(one, two) if one.solved != two.solved else _of_case(one, two, band)


def _changed_answer(one: CaseAnswer, two: CaseAnswer) -> Iterator[Effect]:
    yield Effect(two, "no answer" if one.solved else "fine" if two.all_well else "answered")


def _of_case(one: CaseAnswer, two: CaseAnswer, band: float) -> Iterator[Effect]:
    """Yield for a case what is worse, and what is better; `fine` says it all."""
    if not one.solved:
        return
    if two.all_well:
        if not one.all_well:
            yield Effect(two, "fine")
        return
    yield from _worse(one, two, band)
    if one.short and not two.short:
        yield Effect(two, "served")
    if one.settling and not two.settling:
        yield Effect(two, "moves")


def _worse(one: CaseAnswer, two: CaseAnswer, band: float) -> Iterator[Effect]:
    then = standing_of(two)
    found = harm(standing_of(one), then, band)
    if found.short.any():
        yield Effect(two, "short", machine=two.machines[_least(found.short, then.share)])
    if found.settles.any():
        yield Effect(two, "settles", two.sections[_least(found.settles, then.speed_share)])
    if found.less_air.any():
        number = _least(found.less_air, then.share)
        yield Effect(two, "less air", machine=two.machines[number], before=least_share(one.machines[number]))
    if found.slower.any():
        number = _least(found.slower, then.speed_share)
        section = two.sections[number]
        before = deciding_speed(one.sections[found.before[number]], like=section)
        yield Effect(two, "slower", section, before=before)


def _least(where: NDArray[np.bool_], share: NDArray[np.float64]) -> int:
    """Return the number of what has the smallest share of those that are marked, of one case."""
    return int(np.where(where[:, 0], share[:, 0], np.inf).argmin())


def poorest_port(machine: MachineAnswer) -> PortAnswer:
    """Return a machine's port that gets least of what it wants."""
    return min(machine.ports, key=lambda port: port.flow_m3_s / port.wanted_m3_s)


def deciding_speed(section: SectionAnswer, like: SectionAnswer | None = None) -> float:
    """Return the speed [m/s] that is too slow: that of the slowest bore, or only that of the rising one.

    like: the section that says which of the two it is, else the section itself.
    """
    which = section if like is None else like
    flat = which.velocity_m_s < (which.settling_velocity_m_s or 0.0)
    return section.velocity_m_s if flat or section.riser_velocity_m_s is None else section.riser_velocity_m_s
