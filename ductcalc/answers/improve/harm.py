"""What becomes of cases when a shop is changed: one rule of harm for what is searched and for what is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ductcalc.answers.improve.ports import origin
from ductcalc.arrays import Flags, Floats, Places
from ductcalc.cases.case import Case
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.judged import SETTLES, SHORT, JudgedCases, limits

EffectWord = Literal[
    "settles",
    "slower",
    "short",
    "just short",
    "less air",
    "no answer",
    "may run",
    "served",
    "moves",
    "fine",
    "answered",
]
HARMS: tuple[EffectWord, ...] = ("no answer", "short", "just short", "settles", "less air", "slower")
NEW = -1
"""In place of a section's number: a section that was not there before."""


@dataclass(frozen=True)
class Harm:
    """Where cases are worse than before.

    unanswered: (cases,). shorter, less_air: (machines, cases), of a worse grade; short before, and now with less air by
    what counts: LEAST_BAND, and a tenth where the case is short of air anyhow. settles, slower: (sections then, cases),
    newly settling; settling before, and now slower by what counts. before: for each section then the number of the one
    it was, NEW for one put in.
    """

    unanswered: Flags
    shorter: Flags
    less_air: Flags
    settles: Flags
    slower: Flags
    before: Places

    @property
    def any(self) -> bool:
        """Whether any case is worse."""
        parts = (self.unanswered, self.shorter, self.less_air, self.settles, self.slower)
        return any(bool(part.any()) for part in parts)


def harm(before: JudgedCases, then: JudgedCases) -> Harm:
    """Return where cases are worse than before, what is bad already by so much that it counts.

    A case that may run and could not before is not worse, whatever its grades.
    """
    both = before.solved & then.solved & ~(then.may_run & ~before.may_run)
    number = sections_before(_names(before), _names(then))
    found = (number != NEW)[:, None]
    speed = np.where(found, before.settling_share[number], np.inf)
    settling_now = found & (before.chips[number] == SETTLES)
    kept = np.where(before.case_air == SHORT, limits().just_short, 1.0 - LEAST_BAND)
    settling = both & (then.chips == SETTLES)
    return Harm(
        before.solved & ~then.solved,
        both & (then.air > before.air),
        both & (then.air == SHORT) & (before.air == SHORT) & (then.share < before.share * kept),
        settling & ~settling_now,
        settling & settling_now & (then.settling_share < speed * kept),
        number,
    )


def _names(judged: JudgedCases) -> list[str]:
    return [section.name for section in judged.model.sections]


def sections_before(before: Sequence[str], then: Sequence[str]) -> Places:
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


@dataclass(frozen=True)
class CaseEffect:
    """What becomes of a case (as it is then): a section newly settles or is slower still, a machine's air is of a worse
    grade or still less, or there is no answer; or the case may run, is newly served, its chips move, both (fine), or it
    has an answer.

    now: the case as it is, by whose name it is called. section, machine: the one that says so, the worst of several.
    before: where that is compared, its speed before [m/s], or what its poorest port got of what it wants [1].
    """

    now: Case
    case: Case
    word: EffectWord
    section: SectionAnswer | None = None
    machine: MachineAnswer | None = None
    before: float | None = None

    @property
    def harm(self) -> bool:
        """Whether it is a change for the worse."""
        return self.word in HARMS


def effects(before: Sequence[Case], after: Sequence[Case]) -> Iterator[CaseEffect]:
    """Yield what becomes of each case; of what is bad already, where it gets worse by what counts.

    before, after: the same choices of two shops, each side read from one batch.
    """
    first, then = (cases[0].judged.take([case.column for case in cases]) for cases in (before, after))
    found = harm(first, then)
    for column, (one, two) in enumerate(zip(before, after, strict=True)):
        if one.solved != two.solved:
            yield CaseEffect(one, two, "no answer" if one.solved else "fine" if two.well else "answered")
        elif two.well and one.solved and not one.well:
            yield CaseEffect(one, two, "fine")
        elif two.may_run and one.solved and not one.may_run:
            yield CaseEffect(one, two, "may run")
        elif one.solved:
            yield from _worse(one, two, found, column)
            if one.lacking and not (two.lacking or two.settling):
                yield CaseEffect(one, two, "served")
            if one.settling and not two.settling:
                yield CaseEffect(one, two, "moves")


def _worse(one: Case, two: Case, found: Harm, column: int) -> Iterator[CaseEffect]:
    share, speed = two.judged.share[:, two.column], two.judged.settling_share[:, two.column]
    if found.shorter[:, column].any():
        machine = two.machines[_least(found.shorter[:, column], share)]
        yield CaseEffect(one, two, "short" if machine.grade == "short" else "just short", machine=machine)
    if found.settles[:, column].any():
        yield CaseEffect(one, two, "settles", two.sections[_least(found.settles[:, column], speed)])
    if found.less_air[:, column].any():
        number = _least(found.less_air[:, column], share)
        yield CaseEffect(
            one, two, "less air", machine=two.machines[number], before=float(one.judged.share[number, one.column])
        )
    if found.slower[:, column].any():
        number = _least(found.slower[:, column], speed)
        section, was = two.sections[number], one.sections[found.before[number]]
        before = was.riser_velocity_m_s if section.decides == "riser" else was.velocity_m_s
        yield CaseEffect(one, two, "slower", section, before=before)


def _least(where: Flags, share: Floats) -> int:
    """Return the number of what has the smallest share of those that are marked."""
    return int(np.where(where, share, np.inf).argmin())
