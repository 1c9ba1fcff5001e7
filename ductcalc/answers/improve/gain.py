"""What changes bring when the shop is solved again in full and audited, and what they do in every other case."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ductcalc.answers.improve.candidate import EFFORTS, Candidate, Effort, Kind
from ductcalc.answers.improve.harm import CaseEffect, effects
from ductcalc.answers.improve.search import Search, Tried, columns_of, filter_of, in_place, standing_of, uses_of
from ductcalc.answers.improve.subject import ImproveSubject, PortAir, PortKey, Standing, least
from ductcalc.answers.parts.parts import Parts, parts
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.chances import Apart
from ductcalc.cases.choices import Choice
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.solving import solve_choices
from ductcalc.model.collector import FilterState
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of
from ductcalc.shop.parts import Price, StockPart
from ductcalc.shop.shop import Shop


@dataclass(frozen=True)
class OtherAir:
    """Another running machine of the subject's case: air [m3/s] before and then, and what it wants."""

    machine: str
    before_m3_s: float
    flow_m3_s: float
    wanted_m3_s: float


@dataclass(frozen=True)
class Outlay:
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
    when it is another one than now. case: the subject's then, of several uses the worst. machine, slowest: the subject
    then, and the section that is worst for its chips. served: whether the case is. price: None without prices. apart:
    the common band of its air over the present one, where chips settle of its speed; None for a cleaned filter.
    """

    candidates: tuple[Candidate, ...]
    filter: FilterState
    flow_m3_s: float
    gain_m3_s: float
    share: float
    gain_share: float
    poorest: str | None
    case: Case
    machine: MachineAnswer
    slowest: SectionAnswer | None
    standing: Standing
    others: tuple[OtherAir, ...]
    effects: tuple[CaseEffect, ...]
    price: Outlay | None = None
    apart: Apart | None = None

    @property
    def inside(self) -> bool:
        """Whether it may as well help nothing: what it brings lies inside the common band."""
        return self.apart is not None and self.apart.inside

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds of its changes."""
        return tuple(one.kind for one in self.candidates)

    @property
    def effort(self) -> Effort:
        """The most that one of its changes takes."""
        return EFFORTS[self.standing.effort]

    @property
    def may_lead(self) -> bool:
        """Whether advice may begin with it: it is sure to help, no case is worse, and it is no last resort."""
        return not (self.harms or self.inside) and self.leads

    @property
    def leads(self) -> bool:
        """Whether it is no last resort."""
        return all(one.leads for one in self.candidates)

    @property
    def cures(self) -> bool:
        """Whether nothing settles any more in the subject's case and everybody has the air, and one was not so."""
        return self.standing.cured

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
    subject: ImproveSubject
    choices: tuple[Choice, ...]
    cases: tuple[Case, ...]
    airs: Mapping[PortKey, PortAir]

    @property
    def case(self) -> Case:
        """The subject's case."""
        return self.cases[self.choices.index(self.subject.choice)]

    @property
    def air(self) -> PortAir:
        """Air at the subject's port."""
        return self.airs[self.subject.key]

    @property
    def share(self) -> float:
        """What the poorest port gets of what it wants."""
        return least(self.airs)[1].share


def gain(search: Search, now: Now, tried: Tried) -> Gain | None:
    """Return what changes bring by a full audited solve of every case; None when the subject's case has no answer."""
    group, place = tried.candidates, search.place
    every = _solved(search, tried.model, group)
    cases = tuple(every[column] for column in columns_of(every[0].judged, place, len(now.choices)))
    uses = [every[place], *every[len(now.choices) :]]
    case, mine_in = cases[place], next(one for one in uses if now.subject.machine in one.running)
    if not case.solved or not mine_in.solved:
        return None
    key, then = least(now.subject.airs(case.judged, case.column))
    mine = now.subject.airs(mine_in.judged, mine_in.column)[now.subject.key]
    judged = case.judged.take([one.column for one in cases])
    return Gain(
        group,
        tried.filter,
        mine.flow_m3_s,
        mine.flow_m3_s - now.air.flow_m3_s,
        then.share,
        then.share / now.share - 1.0,
        None if key == now.subject.key or len(uses) > 1 else _run_of(key, case),
        case,
        mine_in.machine(now.subject.machine),
        mine_in.slowest_on_way(now.subject.machine),
        standing_of(now.subject, judged, place, search.standing, group),
        tuple(_others(now, uses)),
        tuple(effects(now.cases, cases)),
    )


def _solved(search: Search, model: Model, group: Sequence[Candidate]) -> tuple[Case, ...]:
    choices = in_place(search.choices, search.place, uses_of(search.subject.choice, group))
    return read_cases(solve_choices(model, choices, (filter_of(group),)))


def _run_of(key: PortKey, case: Case) -> str:
    """Return the run of a port as it is spelled."""
    runs = (port.run for machine in case.machines for port in machine.ports)
    return next(run for run in runs if key_of(run) == key[1])


def _others(now: Now, uses: Sequence[Case]) -> Iterator[OtherAir]:
    for machine in now.case.machines:
        if machine.runs and machine.asked and machine.machine != now.subject.machine:
            case = next(one for one in uses if machine.machine in one.running)
            then = case.machine(machine.machine) if case.solved else machine
            yield OtherAir(machine.machine, machine.flow_m3_s, then.flow_m3_s, then.wanted_m3_s)


NO_PARTS: tuple[Kind, ...] = (
    "bigger port",
    "second port",
    "wider throat",
    "second opening",
    "smoother hood",
    "tight gates",
    "sealed joints",
    "outdoors",
    "faster blower",
)
"""Changes that take something beside parts of the ducts."""


def hanging_now(shop: Shop) -> tuple[StockPart, ...]:
    """Return all that hangs in a shop as parts that lie around: pipe and hose as it was cut, the rest counted."""
    return tuple(_as_stock(parts(shop)))


def _as_stock(listed: Parts) -> Iterator[StockPart]:
    for item in listed.items:
        if not item.name.by_length:
            yield StockPart(item.name, item.needed)
    for plan in listed.plans:
        yield from (StockPart(plan.name, 1, cut.length_m) for stick in plan.sticks for cut in stick.cuts)


def price_of_change(shop: Shop, kinds: Sequence[Kind], now: Sequence[StockPart], prices: Sequence[Price]) -> Outlay:
    """Return what a changed shop takes beyond what hangs already; kinds: those of its changes. Work is not in it."""
    listed = parts(shop, now, prices)
    return Outlay(listed.total, len(listed.unpriced), any(kind in NO_PARTS for kind in kinds))
