"""Whose air is to be improved, and how it is measured: what the poorest port of its case gets of what it wants."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
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


class Air(NamedTuple):
    """Air [m3/s] at a port, with the one put beside it if there is one, and what it wants [m3/s]."""

    flow_m3_s: float
    wanted_m3_s: float

    @property
    def share(self) -> float:
        """Air over wanted."""
        return self.flow_m3_s / self.wanted_m3_s


@dataclass(frozen=True)
class Subject:
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

    def airs(self, judged: JudgedCases, column: int = 0) -> dict[PortKey, Air]:
        """Return the air of every running port in a case of the subject's choice."""
        airs: dict[PortKey, Air] = {}
        flows, wanted = judged.port_flow_m3_s[:, column], judged.wanted_m3_s[:, column]
        for number, port in enumerate(judged.model.ports):
            if not port.off and self.choice.runs(port.machine):
                key = key_of(port.machine), key_of(origin(port.run, self.runs))
                before = airs.get(key, Air(0.0, 0.0))
                airs[key] = Air(before.flow_m3_s + float(flows[number]), before.wanted_m3_s + float(wanted[number]))
        return airs


def least(airs: Mapping[PortKey, Air]) -> tuple[PortKey, Air]:
    """Return the port that gets least of what it wants."""
    return min(airs.items(), key=lambda pair: pair[1].share)


def chosen(model: Model, machine: str | None, set_name: str | None) -> Choice | None:
    """Return the case that was asked for, None when none was; raises InputError for an unknown name."""
    if machine is not None:
        alone = choose_open(model, [machine])
        return Choice(alone.machines[0], alone.machines)
    return choose_set(model, set_name) if set_name is not None else None


def default_choice(check: Check, choices: Sequence[Choice]) -> Choice:
    """Return the case of the port that is shortest by default, else the machine of the worst branch on its own.

    Machines on their own go before sets, as in the verdict of a check.
    """
    alone = [case for case in check.loaded if case.lacking and case.alone]
    worst_off = poorest(alone or [case for case in check.loaded if case.lacking])
    if worst_off is not None:
        return choices[check.loaded.index(worst_off.case)]
    worst = key_of(check.worst.machine)
    return next(choice for choice in choices if key_of(choice.name) == worst)


def subject_of(model: Model, choice: Choice, case: Case) -> Subject:
    """Return the subject: the poorest port of the case as the shop stands."""
    runs = tuple(run.name for run in model.shop.runs)
    found = poorest([case])
    assert found is not None
    several = len(found.machine.ports) > 1
    return Subject(choice, found.machine.machine, found.port.run, several, runs)
