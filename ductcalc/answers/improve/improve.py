"""What to change first for a machine or a set: every single change, the best pair and the best three."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ductcalc.answers.check import check
from ductcalc.answers.improve.candidate import LAST, Candidate, as_written
from ductcalc.answers.improve.candidates import candidates
from ductcalc.answers.improve.gain import Gain, Now, gain
from ductcalc.answers.improve.hoses import least_hose_m
from ductcalc.answers.improve.price import hanging_now, price_of_change
from ductcalc.answers.improve.search import Tried, groups_of, harmless, pool_of, tried
from ductcalc.answers.improve.subject import Subject, chosen, default_choice, subject_of
from ductcalc.answers.verdict import ALL_WELL, NO_ANSWER, NOT_WELL
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice, default_choices, no_machine, usable_machines
from ductcalc.cases.solving import collector_of, solve_choices
from ductcalc.cases.worth import sensitivity
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import found_in
from ductcalc.model.model import Model, build_model
from ductcalc.model.sections import MadeSections
from ductcalc.shop.hanging import hang, spelled_out
from ductcalc.shop.parts import Price as PartPrice
from ductcalc.shop.settings import Junction, RoomSettings
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas

LEAST_BAND = 0.01
"""Share of the air that a change must bring at least to be told: our judgement, no source."""


@dataclass(frozen=True)
class Band:
    """Share of the air below which a gain is not told. method: the junction method that is furthest off, None when
    the least band holds.
    """

    share: float
    method: str | None


@dataclass(frozen=True)
class Together:
    """Changes made together. best: what brings most, whatever it does elsewhere, if that is more than the band beyond
    the best of its parts. unharming: what brings most of those that make no case worse, when that is another one, and
    more than the band beyond what fewer changes bring without harm. None when there is none. tried: how many were
    solved.
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

    gains: changes that bring more than the band, most first. tried: how many changes were solved; lost: how many of
    them have no answer. unaudited: of those worth listing, how many failed their audit or lost their answer and are not
    shown. pool: how many were tried together. cases: how many cases each listed one was solved in. priced: whether
    prices are given.
    """

    shop: str
    junction: Junction
    subject: Subject
    case: Case
    air_m3_s: float
    wanted_m3_s: float
    share: float
    band: Band
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
        """The first advice: what brings most, whatever its marks."""
        return next(iter(self.gains), None)

    @property
    def unharming(self) -> Gain | None:
        """What brings most of the changes that make no case worse, but for those that no advice begins with."""
        return _first_unharming(self.gains)

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
    prices: Sequence[PartPrice] = (),
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
    subject = Subject(asked, machine, "", False, ())
    nothing = Together(2, 0, None, None)
    return Improve(
        model.shop.name, model.junction, subject, case, 0.0, 0.0, 0.0, Band(LEAST_BAND, None), (), 0, 0, 0, nothing,
        replace(nothing, size=3), 0, 0, False, collector_of(model).provisional, least_hose_m(model.shop),
        model.shop.settings.room, model.shop.remarks, model.shop.changes,
    )  # fmt: skip


def _improved(
    now: Now, prices: Sequence[PartPrice], shop: Shop, progress: Callable[[int, int], None] | None
) -> Improve:
    model, subject = now.model, now.subject
    band = band_of(now)
    made = MadeSections()
    singles = tried(model, subject, [(one,) for one in as_written(shop, candidates(model))], made, progress)
    least = now.share * (1.0 + band.share)
    worth = [one for one in singles if one.share is not None and one.share >= least]
    judge = _Judge(now, prices, made, band, progress)
    gains = [found for one in worth if (found := judge.gain(one)) is not None]
    pool = pool_of(model, singles, now.share)
    gains.sort(key=lambda found: -found.share)
    known = _Known({}, now.share)
    known.add([one for one in singles if one.share is not None], _first_unharming(gains))
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
        band=band,
        gains=tuple(gains),
        tried=len(singles),
        lost=sum(one.share is None for one in singles),
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


def band_of(now: Now) -> Band:
    """Return the band: what the choice of junction method is worth for the subject's machine, at least LEAST_BAND."""
    machine = now.subject.machine
    own = now.case.machine(machine).flow_m3_s
    found = sensitivity(now.model, now.subject.choice, machine).methods
    apart = {one.method: abs(one.flow_m3_s / own - 1.0) for one in found if one.flow_m3_s is not None}
    method = max(apart, key=lambda name: apart[name], default=None)
    if method is None or apart[method] <= LEAST_BAND:
        return Band(LEAST_BAND, None)
    return Band(apart[method], method)


class _Judge:
    """Solves again in full what is to be told, and prices it."""

    def __init__(
        self,
        now: Now,
        prices: Sequence[PartPrice],
        made: MadeSections,
        band: Band,
        progress: Callable[[int, int], None] | None,
    ) -> None:
        self.progress = progress
        self.now, self.prices, self.made = now, prices, made
        self.stock = hanging_now(now.model.shop) if prices else ()
        self.before, self.band = now.case.judged, band.share

    def gain(self, one: Tried) -> Gain | None:
        """Return what changes bring; None when they have no audited answer."""
        found = gain(self.now, one.candidates, one.model, one.filter, self.band)
        if found is None or not self.prices:
            return found
        return replace(found, price=price_of_change(one.model.shop, found.kinds, self.stock, self.prices))

    def together(self, pool: Sequence[Candidate], size: int, known: _Known) -> Together:
        """Return the best of all groups of so many changes; `known` holds what smaller ones reach, and is added to."""
        now, groups = self.now, groups_of(pool, size)
        every = tried(now.model, now.subject, groups, self.made, self.progress)
        found = [one for one in every if one.share is not None]
        found.sort(key=lambda one: -(one.share or 0.0))
        least = self.band * now.share
        best = unharming = None
        if found and _reached(found[0]) > known.best_part(found[0], now.share) + least:
            best = self.gain(found[0])
        if best is None or best.harms:
            worth = [one for one in found if _reached(one) > known.unharming + least]
            other = harmless(worth, now.choices, self.before, self.band)
            unharming = self.gain(other) if other is not None else None
        together = Together(size, len(groups), best, unharming)
        known.add(found, together.harmless)
        return together


@dataclass
class _Known:
    """What groups of changes reach: shares by their changes, and the best share without harm so far."""

    shares: dict[frozenset[int], float]
    unharming: float

    def best_part(self, one: Tried, now: float) -> float:
        """Return the best share that a group reaches without one of its changes."""
        parts = (_ids(c for c in one.candidates if c is not left_out) for left_out in one.candidates)
        return max(now, *(self.shares.get(part, now) for part in parts))

    def add(self, found: Iterable[Tried], unharming: Gain | None) -> None:
        """Add groups, and the best of them without harm."""
        self.shares.update({_ids(one.candidates): _reached(one) for one in found})
        self.unharming = max(self.unharming, unharming.share if unharming is not None else 0.0)


def _first_unharming(gains: Iterable[Gain]) -> Gain | None:
    return next((found for found in gains if not found.harms and found.kinds[0] not in LAST), None)


def _reached(one: Tried) -> float:
    return one.share or 0.0


def _ids(candidates: Iterable[Candidate]) -> frozenset[int]:
    return frozenset(map(id, candidates))
