"""Whose case is to be improved, and how it stands: first whether chips settle, then what its poorest port gets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from ductcalc.answers.check import Check
from ductcalc.answers.improve.ports import origin
from ductcalc.answers.verdict import poorest
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice, choose_open, choose_set
from ductcalc.cases.judged import JudgedCases
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of

PortKey = tuple[str, str]
"""A machine and the run of its port, as the names are compared; a port put beside another one counts with it."""


class PortAir(NamedTuple):
    """Air [m3/s] at a port, with the one put beside it if there is one, and what it wants [m3/s]."""

    flow_m3_s: float
    wanted_m3_s: float

    @property
    def share(self) -> float:
        """Air over wanted."""
        return self.flow_m3_s / self.wanted_m3_s


@dataclass(frozen=True)
class ImproveSubject:
    """Whose air is to be improved: a machine in a case, at its port that gets least of what it wants.

    runs: names of the runs as written. several: whether the machine has several ports.
    """

    choice: Choice
    machine: str
    run: str
    several: bool
    runs: tuple[str, ...]

    @property
    def alone(self) -> bool:
        """Whether it is one machine on its own."""
        return len(self.choice.machines) == 1 and key_of(self.choice.machines[0]) == key_of(self.choice.name)

    @property
    def key(self) -> PortKey:
        """The port in question."""
        return key_of(self.machine), key_of(self.run)

    def airs(self, judged: JudgedCases, column: int = 0) -> dict[PortKey, PortAir]:
        """Return the air of every running port in a case."""
        airs: dict[PortKey, PortAir] = {}
        flows, wanted = judged.port_flow_m3_s[:, column], judged.wanted_m3_s[:, column]
        running = judged.yardstick.by_machine(judged.running)[:, column]
        for number, port in enumerate(judged.model.ports):
            if running[number]:
                key = key_of(port.machine), key_of(origin(port.run, self.runs))
                before = airs.get(key, PortAir(0.0, 0.0))
                airs[key] = PortAir(before.flow_m3_s + float(flows[number]), before.wanted_m3_s + float(wanted[number]))
        return airs


def least(airs: Mapping[PortKey, PortAir]) -> tuple[PortKey, PortAir]:
    """Return the port that gets least of what it wants."""
    return min(airs.items(), key=lambda pair: pair[1].share)


def chosen(model: Model, machine: str | None, set_name: str | None) -> Choice | None:
    """Return the case that was asked for, None when none was; raises InputError for an unknown name."""
    if machine is not None:
        alone = choose_open(model, [machine])
        return Choice(alone.machines[0], alone.machines)
    return choose_set(model, set_name) if set_name is not None else None


def default_choice(check: Check, choices: Sequence[Choice]) -> Choice:
    """Return the case that is worst by default, else the machine of the worst branch on its own.

    What may not run goes before what is just short, machines on their own before sets, and of both chips that settle
    before air; but a machine with a named set in which it may run with other gates open is helped already.
    """
    helped = {case.running for case in check.loaded if case.may_run and case.helping}
    for may_run, alone in product((False, True), (True, False)):
        cases = [case for case in check.loaded if case.alone is alone and case.may_run is may_run]
        settling = [case for case in cases if case.settling and case.running not in helped]
        worst = min(settling, key=lambda case: case.settling[0].settling_share, default=None)
        worst_off = poorest([case for case in cases if case.lacking])
        if worst is None and worst_off is not None:
            worst = worst_off.case
        if worst is not None:
            return choices[check.loaded.index(worst)]
    branch = key_of(check.worst.machine)
    return next(choice for choice in choices if key_of(choice.name) == branch)


class Standing(NamedTuple):
    """How the subject's case stands, to be ranked: best first.

    settles: whether chips settle. air: place of the case's grade of air. share: what its poorest port gets of what it
    wants. speed: the least speed over the settling one. may_run: how many of the wanted cases may run. cured: nothing
    settles, everybody has the air, and one of these was not so. effort: place of what it takes.
    """

    settles: bool
    air: int
    share: float
    speed: float
    may_run: int
    cured: bool = False
    effort: int = 0

    @property
    def rank(self) -> tuple[float, ...]:
        """Its rank, less is better: settling before air; of cures the one that lets most cases run, then the least
        effort, then the most air; where chips settle still the one that comes nearest to moving them.
        """
        if self.settles:
            return 1.0, 0.0, 0.0, 0.0, -self.speed
        if self.cured:
            return 0.0, float(self.air), -float(self.may_run), float(self.effort), -self.share
        return 0.0, float(self.air), 0.0, 0.0, -self.share

    def beats(self, other: Standing, now: Standing, band: float) -> bool:
        """Whether it is clearly better than another one: by more than a band, as a share of how it stands now."""
        if self.settles or other.settles:
            return other.settles and (not self.settles or self.speed > other.speed + band * now.speed)
        if self.cured and other.cured:
            return self.may_run > other.may_run
        return self.share > other.share + band * now.share

    def alike(self, best: Standing, now: Standing, band: float) -> bool:
        """Whether it helps as much as a better one: of the same grade, and less by no more than the band."""
        return self.rank[:3] == best.rank[:3] and not best.beats(self, now, band)

    def helps(self, now: Standing, band: float) -> bool:
        """Whether it is worth telling beside how it stands now: it brings air, or where chips settle it moves them, or
        comes nearer to that and costs no air.
        """
        if not now.settles:
            return self.share > now.share * (1.0 + band)
        return self.beats(now, now, band) and (not self.settles or self.share >= now.share)


def subject_of(model: Model, choice: Choice, case: Case) -> ImproveSubject:
    """Return the subject: the poorest port of the case as the shop stands."""
    runs = tuple(run.name for run in model.shop.runs)
    found = poorest([case])
    assert found is not None
    several = len(found.machine.ports) > 1
    return ImproveSubject(choice, found.machine.machine, found.port.run, several, runs)
