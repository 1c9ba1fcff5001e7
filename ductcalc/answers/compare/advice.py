"""Which of several shops is best, over what all of them have; and whether the difference is more than the band.

What is assumed is mostly the same in the shops compared, so that it moves both and the difference much less: shops are
drawn like the first one, fact by fact, and a case whose differences all lie inside the common band speaks for none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import PoorestPort
from ductcalc.cases.case import Case
from ductcalc.cases.chances import LEAST_BAND, Apart, Figure, Sample, drawn, drawn_like
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.judged import AIR, limits
from ductcalc.model.model import Model
from ductcalc.shop.names import key_of

CaseKey = tuple[bool, str]
Half = Literal["no answer", "settles", "short", "lacking", "slow", "elsewhere"]
"""In what two variants differ; lacking: short or just short; slow: or settling; elsewhere: as many, not the same."""
IMPLIED_BY: dict[Half, Half] = {"lacking": "short", "slow": "settles"}
TOLD: tuple[Half, ...] = ("no answer", "settles", "short", "lacking", "slow")


@dataclass(frozen=True)
class ComparedShop:
    """One of the shops compared: its letter in the report (A is the first), what it is called, its verdict."""

    letter: str
    label: str
    check: Check

    @property
    def model(self) -> Model:
        """The shop with every number decided, as it was judged."""
        return self.check.cases[0].judged.model

    @property
    def by_key(self) -> dict[CaseKey, Case]:
        """Its cases, dirty filter, by what makes them the same in another shop."""
        return {key_of_case(case): case for case in self.check.loaded}


@dataclass(frozen=True)
class CaseTally:
    """How a variant stands in the cases that all have: in how many it has no answer, chips settle, air is short, just
    short, or chips are slow at the worst.

    ports: running machines' ports in these cases, by the share that they get of what they want, the poorest first.
    """

    letter: str
    cases: int
    unanswered: int
    settling: int
    short: int
    just_short: int
    slow: int
    ports: tuple[PoorestPort, ...]

    @property
    def counts(self) -> tuple[int, ...]:
        """What must not be more in the best one, what matters most first; a case without an answer counts as any."""
        lost = self.unanswered
        return lost, lost + self.settling, lost + self.short, lost + self.short + self.just_short

    def told(self, half: Half) -> int:
        """Return in how many cases it is so."""
        counts = (self.unanswered, self.settling, self.short, self.short + self.just_short, self.slow + self.settling)
        return dict(zip(TOLD, counts, strict=True))[half]

    @property
    def poorest(self) -> PoorestPort | None:
        """The port that gets least of what it wants."""
        return self.ports[0] if self.ports else None

    def twin(self, port: PoorestPort) -> PoorestPort | None:
        """Return the same port of the same machine in the same case, in another variant."""
        key = _key_of_port(port)
        return next((own for own in self.ports if _key_of_port(own) == key), None)


@dataclass(frozen=True)
class Halves:
    """In what one of two variants is ahead of the other: counts that are less, and air that is more.

    counts: what is less often so, what matters most first. gain: a port in the one and in the other, where the other's
    poorest that gains more than the band lacks air, or nothing is counted for either.
    """

    ahead: str
    behind: str
    counts: tuple[Half, ...]
    gain: tuple[PoorestPort, PoorestPort] | None

    def __bool__(self) -> bool:
        """Whether it is ahead in anything."""
        return bool(self.counts or self.gain)


@dataclass(frozen=True)
class Advice:
    """Which variant is best. standings: in the order given; without a common case they stand over none.

    best: the one that beats every other: it has no more cases without an answer, settling, short, or lacking air, and
    fewer of one of them; when these are even and no case changed places, fewer slow ones, or more air for the poorest
    ports beyond the band (far more than enough is no gain). None when that leaves none. halves: of the best and the one
    that it is measured against (the first, or the next best), else of the one most unlike the first and the first: in
    what each is ahead. alike: those of the first one's figures and verdicts; level: those whose figures differ by less
    than the band, so that they cannot be told apart. band: share of the air that is left open between the first and the
    one most unlike it; most_apart: the largest share by which air, or a slowest speed, differs from the first one's.
    """

    standings: tuple[CaseTally, ...]
    best: str | None = None
    halves: tuple[Halves, Halves] | None = None
    alike: tuple[str, ...] = ()
    level: tuple[str, ...] = ()
    band: float = LEAST_BAND
    most_apart: float = 0.0

    @property
    def against(self) -> str | None:
        """The one that the best is measured against."""
        return None if self.best is None or self.halves is None else self.halves[0].behind

    def standing(self, letter: str) -> CaseTally:
        """Return a variant's standing."""
        return next(one for one in self.standings if one.letter == letter)


def key_of_case(case: Case) -> CaseKey:
    """Return by what the cases of two shops are the same: alone or a set, and the name."""
    return case.alone, key_of(case.name)


@dataclass(frozen=True)
class Bands:
    """Shops drawn alike (variants,) in the cases that all variants have, so that their differences have bands."""

    keys: tuple[CaseKey, ...]
    samples: tuple[Sample, ...]

    @classmethod
    def of(cls, variants: Sequence[ComparedShop]) -> Bands:
        """Draw the first variant, and the others like it."""
        cases = [one.by_key for one in variants]
        keys = tuple(key for key in cases[0] if all(key in mine for mine in cases))
        if not keys:
            return cls((), ())
        choices = [[mine[key].choice for key in keys] for mine in cases]
        first = drawn(variants[0].model, choices[0], least=True)
        others = (drawn_like(first, [v.model], c)[0] for v, c in zip(variants[1:], choices[1:], strict=True))
        return cls(keys, (first, *others))

    def apart(self, one: int, other: int, key: CaseKey, machine: str, of: Figure = "air") -> Apart | None:
        """Return the common band of a machine's figure in one variant over another's; None where it was not drawn in
        both, as where cases of one name open other machines.
        """
        pair = (self.samples[one], self.samples[other]) if key in self.keys else ()
        if not pair or not all(sample.has(machine) for sample in pair):
            return None
        column = self.keys.index(key)
        return self.samples[other].apart(self.samples[one], machine, (column, column), of)

    def share(self, one: int, other: int, subject: PoorestPort | None) -> float:
        """Return what is left open of the difference between two, as a share of the air of the one worst off."""
        if subject is None:
            return LEAST_BAND
        found = self.apart(one, other, key_of_case(subject.case), subject.machine.machine)
        return LEAST_BAND if found is None or found.low <= 0.0 else found.share

    def within(self, one: int, other: int, cases: tuple[Case, Case]) -> bool:
        """Whether all that differs of a case in two variants may as well not: air, air over wanted, speeds."""
        mine, its = cases
        if not (mine.solved and its.solved):
            return mine.solved == its.solved
        pairs = ((machine, _twin(its, machine)) for machine in mine.machines if machine.asked and machine.runs)
        return all(self._within(one, other, cases, machine, twin) for machine, twin in pairs if twin is not None)

    def _within(
        self, one: int, other: int, cases: tuple[Case, Case], machine: MachineAnswer, twin: MachineAnswer
    ) -> bool:
        key, name = key_of_case(cases[0]), machine.machine
        air, speed = (self.apart(one, other, key, name, of) for of in ("air", "speed"))
        slow, its_slow = (case.slowest_on_way(name) for case in cases)
        if air is None or speed is None or (slow is None) != (its_slow is None):
            return False
        wanted = twin.wanted_m3_s / machine.wanted_m3_s
        pace = 1.0 if slow is None or its_slow is None else slow.settling_share / its_slow.settling_share
        told = (
            (machine.flow_m3_s / twin.flow_m3_s, air),
            (machine.share / twin.share, air.times(wanted)),
            (pace, speed),
        )
        return all(abs(ratio - 1.0) <= LEAST_BAND or band.inside for ratio, band in told)


def advice(variants: Sequence[ComparedShop], bands: Bands) -> Advice:
    """Return which of the variants is best, against the first."""
    common = [one.by_key for one in variants]
    cases = [[found[key] for key in bands.keys] for found in common]
    standings = tuple(_standing(one.letter, mine) for one, mine in zip(variants, cases, strict=True))
    if not bands.keys:
        return Advice(standings)
    contest = _Contest(standings, cases, bands)
    apart = [_most_apart(cases[0], mine) for mine in cases]
    near = [n for n in range(1, len(cases)) if not contest.sure(0, n)]
    alike = [n for n in near if apart[n] <= LEAST_BAND and _words(cases[n]) == _words(cases[0])]
    most = max(range(1, len(cases)), key=lambda n: apart[n])
    field = [0, *(n for n in range(1, len(cases)) if n not in near)]
    best = next((n for n in field if len(field) > 1 and all(contest.better(n, o) for o in field if o != n)), None)
    first, other = (most, 0) if best is None else (best, contest.next_best(best, field))
    return Advice(
        standings,
        None if best is None else standings[best].letter,
        (contest.halves(first, other), contest.halves(other, first)) if len(field) > 1 else None,
        tuple(variants[n].letter for n in alike),
        tuple(variants[n].letter for n in near if n not in alike),
        bands.share(0, most, standings[0].poorest),
        apart[most],
    )


def _words(cases: Sequence[Case]) -> list[str]:
    return [case.word for case in cases]


def _standing(letter: str, cases: Sequence[Case]) -> CaseTally:
    ports = [
        PoorestPort(case, machine, port)
        for case in cases
        for machine in case.machines
        if machine.runs
        for port in machine.ports
    ]
    return CaseTally(
        letter,
        len(cases),
        unanswered=sum(not case.solved for case in cases),
        settling=sum(case.chips == "settles" for case in cases),
        short=sum(case.air == "short" for case in cases),
        just_short=sum(case.air == "just short" for case in cases),
        slow=sum(case.chips == "slow" for case in cases),
        ports=tuple(sorted(ports, key=lambda port: port.share)),
    )


@dataclass(frozen=True)
class _Contest:
    """Holds variants against each other, by number."""

    standings: Sequence[CaseTally]
    cases: Sequence[Sequence[Case]]
    bands: Bands
    known: dict[tuple[int, int], list[int]] = field(default_factory=dict)

    def sure(self, one: int, other: int) -> list[int]:
        """Return the cases, by place, in which the difference of two is beyond the common band."""
        pair = min(one, other), max(one, other)
        if pair not in self.known:
            both = list(zip(self.cases[pair[0]], self.cases[pair[1]], strict=True))
            self.known[pair] = [n for n, cases in enumerate(both) if not self.bands.within(*pair, cases)]
        return self.known[pair]

    def better(self, one: int, other: int) -> bool:
        """Whether one is better: in no count worse; where what is sure is even, by slow chips and air that agree."""
        mine, its = self._sure_standings(one, other)
        both = ((self.standings[one], self.standings[other]), (mine, its))
        if any(a > b for pair in both for a, b in zip(*(standing.counts for standing in pair), strict=True)):
            return False
        if mine.counts != its.counts:
            return True
        if self._change_places(one, other):
            return False
        slow, air = its.slow - mine.slow, self._air(one, other)
        return min(slow, air) >= 0 and max(slow, air) > 0

    def next_best(self, best: int, field: Sequence[int]) -> int:
        """Return what the best is measured against: the first, else one that no other of the rest beats."""
        rest = [n for n in field if n != best]
        unbeaten = (n for n in rest if not any(self.better(other, n) for other in rest if other != n))
        return 0 if best else next(unbeaten, rest[0])

    def halves(self, one: int, other: int) -> Halves:
        """Return in what one is ahead of another, for sure."""
        mine, its = self._sure_standings(one, other)
        less: list[Half] = [half for half in TOLD if mine.told(half) < its.told(half)]
        less = [half for half in less if IMPLIED_BY.get(half) not in less]
        if mine.counts == its.counts and self._change_places(one, other):
            less.append("elsewhere")
        return Halves(mine.letter, its.letter, tuple(less), self._gain(one, other))

    def _sure_standings(self, one: int, other: int) -> tuple[CaseTally, CaseTally]:
        """Return how two stand in the cases in which they differ for sure."""
        cases = ([self.cases[n][place] for place in self.sure(one, other)] for n in (one, other))
        mine, its = (_standing(self.standings[n].letter, own) for n, own in zip((one, other), cases, strict=True))
        return mine, its

    def _change_places(self, one: int, other: int) -> bool:
        """Whether some case is worse in one, and another one in the other, by grades that a set may not have."""
        sure = self.sure(one, other)
        pairs = [(_hard(self.cases[one][place]), _hard(self.cases[other][place])) for place in sure]
        return any(a > b for mine, its in pairs for a, b in zip(mine, its, strict=True)) and any(
            a < b for mine, its in pairs for a, b in zip(mine, its, strict=True)
        )

    def _air(self, one: int, other: int) -> int:
        """Return which of two gives more air where it is needed most: 1 the one, -1 the other, 0 neither for sure."""
        mine, its = self._gain(one, other), self._gain(other, one)
        if mine is None or its is None:
            return (mine is not None) - (its is not None)
        return 1 if mine[1].share < its[1].share else -1

    def _gain(self, one: int, other: int) -> tuple[PoorestPort, PoorestPort] | None:
        """Return the poorest port of the other that gains more than the band, of those that plainly lack air."""
        mine, its = self._sure_standings(one, other)
        for port in its.ports:
            twin = mine.twin(port) if port.share < 1.0 - limits().near else None
            if twin is not None and self._gains(one, other, twin, port):
                return twin, port
        return None

    def _gains(self, one: int, other: int, port: PoorestPort, twin: PoorestPort) -> bool:
        """Whether a port in one gets more of what it wants than its twin in another, beyond the common band."""
        found = self.bands.apart(one, other, key_of_case(port.case), port.machine.machine)
        wanted = twin.port.wanted_m3_s / port.port.wanted_m3_s
        sure = found is not None and found.times(wanted).low > 1.0
        return sure and port.share > twin.share * (1.0 + LEAST_BAND)


def _hard(case: Case) -> tuple[bool, bool, int]:
    """Return a case's grades that count against a variant: no answer, settling, short of air or just so."""
    air = AIR.index(case.air) if case.air else len(AIR)
    return not case.solved, case.chips == "settles", air


def _key_of_port(port: PoorestPort) -> tuple[CaseKey, str, str]:
    return key_of_case(port.case), key_of(port.machine.machine), key_of(port.port.run)


def _most_apart(first: Sequence[Case], other: Sequence[Case]) -> float:
    """Return the largest share by which a running machine's air, also over what it wants, or the slowest speed differs.

    Infinite when only one of the two has an answer, or when chips move in one of them only.
    """
    apart = 0.0
    for one, two in zip(first, other, strict=True):
        if one.solved != two.solved:
            return float("inf")
        for machine in (m for m in one.machines if m.asked and m.runs):
            twin = _twin(two, machine)
            if twin is not None and machine.flow_m3_s > 0.0:
                both = (twin.flow_m3_s / machine.flow_m3_s, twin.share / machine.share)
                apart = max(apart, *(abs(ratio - 1.0) for ratio in both))
        apart = max(apart, _speeds_apart(one.slowest, two.slowest))
    return apart


def _speeds_apart(one: SectionAnswer | None, two: SectionAnswer | None) -> float:
    """Return by what share two speeds differ, each over the speed that is needed there."""
    if one is None or two is None:
        return 0.0 if one is two else float("inf")
    return abs(two.settling_share / one.settling_share - 1.0)


def _twin(case: Case, machine: MachineAnswer) -> MachineAnswer | None:
    return next((m for m in case.machines if key_of(m.machine) == key_of(machine.machine)), None)


