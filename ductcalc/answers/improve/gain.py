"""What changes bring when the shop is solved again in full and audited, and what they do in every other case."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ductcalc.answers.improve.candidate import Candidate, Kind
from ductcalc.answers.improve.harm import CaseEffect, effects
from ductcalc.answers.improve.subject import Air, PortKey, Subject, least
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import solve_choices
from ductcalc.model.collector import FilterState
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of


@dataclass(frozen=True)
class OtherAir:
    """Another running machine of the subject's case: air [m3/s] before and then, and what it wants."""

    machine: str
    before_m3_s: float
    flow_m3_s: float
    wanted_m3_s: float


@dataclass(frozen=True)
class Price:
    """What the parts cost that changes take beyond what hangs already. unpriced: kinds of parts without a price.

    beyond: something is to be paid that is no part of the ducts: a machine's port or hood, a motor, better gates.
    """

    cost: float
    unpriced: int
    beyond: bool

    @property
    def whole(self) -> bool:
        """Whether everything that is to be paid has a price."""
        return self.unpriced == 0 and not self.beyond


@dataclass(frozen=True)
class Gain:
    """What changes made together bring, from two full solves.

    flow_m3_s, gain_m3_s: air of the subject's port then, and how much more than now. share: what the poorest port of
    the case gets of what it wants, gain_share: by how much of the present one it is more. poorest: the run of that port
    when it is another one than now. served: whether the case is. price: None without prices.
    """

    candidates: tuple[Candidate, ...]
    filter: FilterState
    flow_m3_s: float
    gain_m3_s: float
    share: float
    gain_share: float
    poorest: str | None
    case: Case
    others: tuple[OtherAir, ...]
    effects: tuple[CaseEffect, ...]
    price: Price | None = None

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds of its changes."""
        return tuple(one.kind for one in self.candidates)

    @property
    def served(self) -> bool:
        """Whether every running machine of the subject's case gets its air."""
        return self.case.served

    @property
    def short_at_a_port(self) -> bool:
        """Whether all that is short would have air enough, were it shared out as wanted among a machine's ports."""
        lacking = self.case.lacking
        return bool(lacking) and all(machine.short_at_a_port for machine in lacking)

    @property
    def harms(self) -> tuple[CaseEffect, ...]:
        """Cases that are worse than now."""
        return tuple(effect for effect in self.effects if effect.harm)

    @property
    def helps(self) -> tuple[CaseEffect, ...]:
        """Cases that are better than now."""
        return tuple(effect for effect in self.effects if not effect.harm)

    @property
    def gain_for_money(self) -> float | None:
        """Air gained [m3/s] for each unit of money, None without a price for everything."""
        if self.price is None or not self.price.whole or self.price.cost <= 0.0:
            return None
        return self.gain_m3_s / self.price.cost


@dataclass(frozen=True)
class Now:
    """The shop as it stands: its model, the subject, every case asked for, and the airs of the subject's case."""

    model: Model
    subject: Subject
    choices: tuple[Choice, ...]
    cases: tuple[Case, ...]
    airs: Mapping[PortKey, Air]

    @property
    def case(self) -> Case:
        """The subject's case."""
        return self.cases[self.choices.index(self.subject.choice)]

    @property
    def air(self) -> Air:
        """Air at the subject's port."""
        return self.airs[self.subject.key]

    @property
    def share(self) -> float:
        """What the poorest port gets of what it wants."""
        return least(self.airs)[1].share


def gain(
    now: Now, candidates: tuple[Candidate, ...], model: Model, filter_state: FilterState, band: float
) -> Gain | None:
    """Return what changes bring by a full audited solve of every case; None when the subject's case has no answer.

    band: share by which what is bad already must get worse to be marked.
    """
    cases = read_cases(solve_choices(model, now.choices, (filter_state,)))
    case = cases[now.choices.index(now.subject.choice)]
    if not case.solved:
        return None
    airs = now.subject.airs(case.judged, case.column)
    key, then = least(airs)
    mine = airs[now.subject.key]
    return Gain(
        candidates,
        filter_state,
        mine.flow_m3_s,
        mine.flow_m3_s - now.air.flow_m3_s,
        then.share,
        then.share / now.share - 1.0,
        None if key == now.subject.key else _run_of(key, case),
        case,
        tuple(_others(now, case)),
        tuple(effects(now.cases, cases, band)),
    )


def _run_of(key: PortKey, case: Case) -> str:
    """Return the run of a port as it is spelled."""
    runs = (port.run for machine in case.machines for port in machine.ports)
    return next(run for run in runs if key_of(run) == key[1])


def _others(now: Now, case: Case) -> Iterator[OtherAir]:
    for machine in now.case.machines:
        if machine.runs and machine.asked and machine.machine != now.subject.machine:
            then = case.machine(machine.machine)
            yield OtherAir(machine.machine, machine.flow_m3_s, then.flow_m3_s, then.wanted_m3_s)
