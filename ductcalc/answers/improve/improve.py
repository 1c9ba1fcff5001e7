"""What to change first for a machine or a set: every single change, the best pair and the best three."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from ductcalc.answers.check import check
from ductcalc.answers.improve.candidate import SECTION, Candidate, as_written
from ductcalc.answers.improve.candidates import candidates
from ductcalc.answers.improve.gain import Gain, Now, gain, hanging_now, price_of_change
from ductcalc.answers.improve.hoses import least_hose_m
from ductcalc.answers.improve.search import Search, Tried, groups_of, rank_of, uses_of
from ductcalc.answers.improve.subject import ImproveSubject, Standing, chosen, default_choice, subject_of
from ductcalc.answers.verdict import ALL_WELL, NO_ANSWER, NOT_WELL
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.chances import LEAST_BAND, Apart, Figure, Sample, drawn, drawn_like
from ductcalc.cases.choices import Choice, default_choices, no_machine, usable_machines
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import found_in
from ductcalc.model.model import Model, build_model
from ductcalc.shop.hanging import hang, spelled_out
from ductcalc.shop.parts import Price
from ductcalc.shop.settings import Junction, RoomSettings
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas


SOME = 0.5
"""Share of the speed that settling chips lack which a change must make up for to come near; our judgement."""


@dataclass(frozen=True)
class Together:
    """Changes made together. best: what stands best, whatever it does elsewhere, if it clearly beats the best of its
    parts. unharming: what stands best of those that make no case worse, when that is another one, and clearly beats
    what fewer changes bring without harm. None when there is none. tried: how many were solved.
    """

    size: int
    tried: int
    best: Gain | None
    unharming: Gain | None

    @property
    def told(self) -> tuple[Gain, ...]:
        """What is told of them."""
        return tuple(found for found in (self.best, self.unharming) if found is not None)

    @property
    def harmless(self) -> Gain | None:
        """What brings most of those that make no case worse, the best of all or another one."""
        return self.best if self.best is not None and not self.best.harms else self.unharming


@dataclass(frozen=True)
class Improve:
    """What to change first. case: the subject's as it stands, loaded filter. air_m3_s, wanted_m3_s: at its port.

    gains: changes that clearly help, best first, of those that help alike what takes least, then those whose help lies
    inside the common band, last resorts last: where chips settle those that keep them moving or bring them nearer to
    that at no loss of air, else those that bring more air than LEAST_BAND. tried: how many changes
    were solved; lost: how many of them have no answer. unaudited: of those worth listing, how many failed their audit
    or lost their answer and are not shown. pool: how many were tried together. cases: how many cases each listed one
    was solved in. priced: whether prices are given.
    """

    shop: str
    junction: Junction
    subject: ImproveSubject
    case: Case
    air_m3_s: float
    wanted_m3_s: float
    share: float
    gains: tuple[Gain, ...]
    tried: int
    lost: int
    unaudited: int
    pairs: Together
    threes: Together
    pool: int
    cases: int
    priced: bool
    provisional: bool
    least_hose_m: float
    room: RoomSettings
    remarks: tuple[str, ...]
    changes: tuple[str, ...]
    findings: Findings = NOTHING_SEEN

    @property
    def first(self) -> Gain | None:
        """The first advice: what helps most, whatever its marks, but for last resorts and what is not sure to help."""
        return next((found for found in self.gains if found.leads and not found.inside), None)

    @property
    def unharming(self) -> Gain | None:
        """What helps most of the changes that make no case worse, but for those that no advice begins with."""
        return next((found for found in self.gains if found.may_lead), None)

    @property
    def together(self) -> Gain | None:
        """What helps most without harm of what is made together, the most changes first."""
        return self.threes.harmless or self.pairs.harmless

    @property
    def settles(self) -> bool:
        """Whether chips settle in the subject's case as it stands: that is cured before any air."""
        return bool(self.case.settling)

    def comes_near(self, one: Gain) -> bool:
        """Whether a change after which chips settle still makes up for some of the speed that they lack."""
        slow = self.case.slowest
        if not self.settles or not one.standing.settles or slow is None:
            return True
        return one.standing.speed - slow.settling_share >= SOME * (1.0 - slow.settling_share)

    @property
    def exit_code(self) -> int:
        """0 when the subject's case is served and nothing settles in it as it stands, 1 when not, 3 without answer."""
        if not self.case.solved:
            return NO_ANSWER
        return ALL_WELL if self.case.well else NOT_WELL

    def frame(self, table: str = "gains") -> pandas.DataFrame:
        """Return `gains` (singles, then pairs and threes) or `effects` as a pandas table, the unit in every column."""
        from ductcalc.answers.improve.frame import improve_frame

        return improve_frame(self, table)


def improve(
    shop: Shop,
    machine: str | None = None,
    set_name: str | None = None,
    junction: Junction | None = None,
    prices: Sequence[Price] = (),
    progress: Callable[[int, int], None] | None = None,
) -> Improve:
    """Return what to change first for a machine on its own, or for the poorest machine of a named set.

    Without either: for the port that is shortest by default, else for the machine of the worst branch on its own.
    prices: beside those of the settings. progress: called with the changes tried and in all.
    Raises InputError for unknown names, both at once, or what `check` refuses;
    without an answer for the subject's case, `case` says why and nothing is tried.
    """
    if machine is not None and set_name is not None:
        raise InputError([Problem("a machine and a set are asked for", "improve one of them at a time")])
    hang(shop)
    model = build_model(spelled_out(shop), junction)
    collector_of(model)
    if not usable_machines(model):
        raise no_machine(model)
    asked = chosen(model, machine, set_name)
    every = default_choices(model)
    if asked is None:
        asked = default_choice(check(model.shop, None, junction), every)
    choices = every if asked in every else (asked, *every)
    cases = read_cases(solve_choices(model, choices, ("loaded",)))
    case = cases[choices.index(asked)]
    if not case.solved:
        return _unanswered(model, asked, case)
    subject = subject_of(model, asked, case)
    now = Now(model, subject, choices, cases, subject.airs(case.judged, case.column))
    found = _improved(now, (*shop.settings.parts.prices, *prices), shop, progress)
    return replace(found, findings=found_in(build_model(shop, junction), choices, cases))


def _unanswered(model: Model, asked: Choice, case: Case) -> Improve:
    """Return an answer that only says that the case has none."""
    machine = next((m for m in asked.machines if asked.runs(m)), asked.machines[0])
    subject = ImproveSubject(asked, machine, "", False, ())
    nothing = Together(2, 0, None, None)
    return Improve(
        model.shop.name, model.junction, subject, case, 0.0, 0.0, 0.0, (), 0, 0, 0, nothing,
        replace(nothing, size=3), 0, 0, False, collector_of(model).provisional, least_hose_m(model.shop),
        model.shop.settings.room, model.shop.remarks, model.shop.changes,
    )  # fmt: skip


def _improved(
    now: Now, prices: Sequence[Price], shop: Shop, progress: Callable[[int, int], None] | None
) -> Improve:
    model, subject = now.model, now.subject
    every = now.case.judged.take([case.column for case in now.cases])
    search = Search(model, subject, now.choices, every, progress)
    stands = search.standing
    offered = as_written(shop, candidates(model, subject.choice, stands.settles))
    singles = search.tried([(one,) for one in offered])
    answered = [one for one in singles if one.standing is not None]
    answered.sort(key=lambda one: (not one.leads, rank_of(one)))
    worth = _nearest([one for one in answered if _stands(one).helps(stands, LEAST_BAND)])
    judge = _Judge(now, prices, search)
    gains = judge.banded([found for one in worth if (found := judge.gain(one)) is not None])
    gains = _easiest_first(gains, stands)
    pool = search.pool(singles)
    known = _Known({_ids(one): one for one in answered}, stands)
    known.add([], next((found for found in gains if found.may_lead), None))
    pairs = judge.together(pool, 2, known)
    threes = judge.together(pool, 3, known)
    return Improve(
        shop=shop.name,
        junction=model.junction,
        subject=subject,
        case=now.case,
        air_m3_s=now.air.flow_m3_s,
        wanted_m3_s=now.air.wanted_m3_s,
        share=now.share,
        gains=tuple(gains),
        tried=len(singles),
        lost=len(singles) - len(answered),
        unaudited=len(worth) - len(gains),
        pairs=pairs,
        threes=threes,
        pool=len(pool),
        cases=len(now.choices),
        priced=bool(prices),
        provisional=collector_of(model).provisional,
        least_hose_m=least_hose_m(model.shop),
        room=shop.settings.room,
        remarks=shop.remarks,
        changes=shop.changes,
    )


def _easiest_first(gains: Sequence[Gain], now: Standing) -> list[Gain]:
    """Return gains best first, those not sure to help behind, last resorts last; what takes less passes what takes more
    and helps as much, but for the band of that.
    """
    found: list[Gain] = []
    for one in sorted(gains, key=lambda one: (not one.leads, one.inside, one.standing.rank)):
        place = len(found)
        while place and _passes(one, found[place - 1], now):
            place -= 1
        found.insert(place, one)
    return found


def _passes(one: Gain, better: Gain, now: Standing) -> bool:
    band = LEAST_BAND if better.apart is None else better.apart.share
    same = (one.leads, one.inside) == (better.leads, better.inside)
    return same and one.standing.effort < better.standing.effort and one.standing.alike(better.standing, now, band)


def _nearest(worth: Sequence[Tried]) -> list[Tried]:
    """Return the changes that are worth telling, best first, without other sizes down of one that stands better
    without harm.
    """
    found: list[Tried] = []
    seen: set[tuple[object, ...]] = set()
    for one in worth:
        change = one.candidates[0]
        down = (change.kind, change.sections)
        if not _smaller(change) or down not in seen:
            found.append(one)
        if _smaller(change) and not one.harms:
            seen.add(down)
    return found


def _smaller(change: Candidate) -> bool:
    both = isinstance(change.after, float) and isinstance(change.before, float)
    return change.rank == SECTION and both and change.after < change.before  # type: ignore[operator]


class _Judge:
    """Solves again in full what is to be told, and prices it."""

    def __init__(self, now: Now, prices: Sequence[Price], search: Search) -> None:
        self.now, self.prices, self.search = now, prices, search
        self.stock = hanging_now(now.model.shop) if prices else ()

    def gain(self, one: Tried) -> Gain | None:
        """Return what changes bring; None when they have no audited answer."""
        found = gain(self.search, self.now, one)
        if found is None or not self.prices:
            return found
        return replace(found, price=price_of_change(one.model.shop, found.kinds, self.stock, self.prices))

    @cached_property
    def sample(self) -> Sample:
        """Drawn shops as they stand, in the subject's case."""
        return drawn(self.now.model, [self.now.subject.choice], least=True)

    def banded(self, gains: Sequence[Gain]) -> list[Gain]:
        """Return gains with the common band of what each brings; a cleaned filter has none, it always helps."""
        alike: dict[tuple[int, ...], list[Gain]] = {}
        for one in gains:
            alike.setdefault(tuple(id(c.use) for c in one.candidates if c.use is not None), []).append(one)
        bands: dict[int, Apart] = {}
        for same in alike.values():
            banded = [one for one in same if one.filter == "loaded"]
            bands.update(zip(map(id, banded), self._apart(banded), strict=True))
        return [replace(one, apart=bands.get(id(one))) for one in gains]

    def _apart(self, gains: Sequence[Gain]) -> Iterator[Apart]:
        """Yield the common bands of gains whose shops are used alike: of the speed where chips settle, else of air."""
        if not gains:
            return
        machine, choices = self.now.subject.machine, uses_of(self.now.subject.choice, gains[0].candidates)
        of: Figure = "slowest" if self.search.standing.settles else "air"
        drawn_alike = drawn_like(self.sample, [one.case.judged.model for one in gains], choices)
        for one, other in zip(gains, drawn_alike, strict=True):
            running = [n for n, choice in enumerate(choices) if choice.runs(machine)]
            worst = [n for n in running if choices[n].name == one.case.name]
            yield self.sample.apart(other, machine, (0, (worst if of == "slowest" and worst else running)[0]), of)

    def together(self, pool: Sequence[Candidate], size: int, known: _Known) -> Together:
        """Return the best of all groups of so many changes; `known` holds what smaller ones reach, and is added to."""
        groups, now, band = groups_of(pool, size), self.search.standing, LEAST_BAND
        found = sorted((one for one in self.search.tried(groups) if one.standing is not None), key=rank_of)
        best = unharming = None
        if found and _stands(found[0]).beats(known.best_part(found[0]), now, band):
            best = self.gain(found[0])
        if best is None or best.harms:
            other = next((one for one in found if not one.harms), None)
            if other is not None and _stands(other).beats(known.unharming, now, band):
                unharming = self.gain(other)
        best, unharming = (None if one is None else self.banded([one])[0] for one in (best, unharming))
        together = Together(size, len(groups), best, unharming)
        known.add(found, together.harmless)
        return together


@dataclass
class _Known:
    """What groups of changes reach, by their changes, and how the best without harm stands so far."""

    reached: dict[frozenset[int], Tried]
    unharming: Standing

    def best_part(self, one: Tried) -> Standing:
        """Return how the best group of all but one of its changes stands."""
        ids = _ids(one)
        parts = (self.reached.get(ids - {left_out}) for left_out in ids)
        return min((_stands(part) for part in parts if part is not None), key=lambda stands: stands.rank)

    def add(self, found: Iterable[Tried], unharming: Gain | None) -> None:
        """Add groups, and the best of them without harm."""
        self.reached.update({_ids(one): one for one in found})
        if unharming is not None:
            self.unharming = min(self.unharming, unharming.standing, key=lambda stands: stands.rank)


def _stands(one: Tried) -> Standing:
    assert one.standing is not None
    return one.standing


def _ids(one: Tried) -> frozenset[int]:
    return frozenset(map(id, one.candidates))
