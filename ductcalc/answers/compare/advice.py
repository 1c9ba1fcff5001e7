"""Which of several shops is best, over what all of them have; and whether the difference is more than the band.

What is assumed is mostly the same in the shops compared, so that it moves both and the difference much less: the band
of the difference takes every assumption, wye method and advertised curve to its ends in both shops at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import hypot

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import PoorestPort
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice, named_sets
from ductcalc.cases.figures import MachineAnswer, SectionAnswer
from ductcalc.cases.judged import limits
from ductcalc.cases.worth import Sensitivity, sensitivity
from ductcalc.model.model import build_model
from ductcalc.shop.names import key_of
from ductcalc.shop.shop import Shop

LEAST_BAND = 0.01
"""Share of the air below which a difference is never told: density is held constant along the path, which is worth
about one per cent of the flow (our judgement, no source)."""

CaseKey = tuple[bool, str]
Ends = dict[str, tuple[float | None, ...]]


@dataclass(frozen=True)
class Contender:
    """A shop that is compared, by its letter, with its verdict."""

    letter: str
    shop: Shop
    check: Check


@dataclass(frozen=True)
class Standing:
    """How a contender stands in the cases that all have: how many are without an answer, short, with settling chips.

    ports: running machines' ports in these cases, by the share that they get of what they want, the poorest first.
    """

    letter: str
    cases: int
    unanswered: int
    short: int
    settling: int
    ports: tuple[PoorestPort, ...]

    @property
    def counts(self) -> tuple[int, int, int]:
        """What is compared first: the less the better, from left to right."""
        return self.unanswered, self.short, self.settling

    @property
    def poorest(self) -> PoorestPort | None:
        """The port that gets least of what it wants."""
        return self.ports[0] if self.ports else None

    def twin(self, port: PoorestPort) -> PoorestPort | None:
        """Return the same port of the same machine in the same case, in another contender."""
        key = _key_of_port(port)
        return next((own for own in self.ports if _key_of_port(own) == key), None)


@dataclass(frozen=True)
class Advice:
    """Which contender is best. standings: in the order given; without a common case they stand over none.

    best: the one with fewest cases without an answer, then short, then settling; when these are even, the one whose
    poorest ports get more of what they want, beyond the band (far more than enough is no gain). None when that leaves
    none, or nothing is in common. against: the first one, or the next best when the first is best. telling: the poorest
    port (in the best, and in `against`) that gains more than the band. alike: those in which every machine's air and
    every slowest speed is the first one's, within the band. band: share of the air that is left open between the first
    and the one most unlike it; most_apart: the largest share by which air, or a slowest speed, differs from the
    first one's.
    """

    standings: tuple[Standing, ...]
    best: str | None
    against: str | None
    telling: tuple[PoorestPort, PoorestPort] | None
    alike: tuple[str, ...]
    band: float
    most_apart: float

    def standing(self, letter: str) -> Standing:
        """Return a contender's standing."""
        return next(one for one in self.standings if one.letter == letter)


def key_of_case(case: Case) -> CaseKey:
    """Return by what the cases of two shops are the same: alone or a set, and the name."""
    return case.alone, key_of(case.name)


def advice(contenders: Sequence[Contender]) -> Advice:
    """Return which of the contenders is best, against the first."""
    common = [{key_of_case(case): case for case in one.check.loaded} for one in contenders]
    keys = [key for key in common[0] if all(key in cases for cases in common)]
    cases = [[found[key] for key in keys] for found in common]
    standings = tuple(_standing(one.letter, mine) for one, mine in zip(contenders, cases, strict=True))
    if not keys:
        return Advice(standings, None, None, None, (), LEAST_BAND, 0.0)
    bands = _Bands(contenders, standings[0].poorest)
    apart = [_most_apart(cases[0], mine) for mine in cases]
    alike = [n for n in range(1, len(cases)) if apart[n] <= bands.share(0, n)]
    most = max(range(1, len(cases)), key=lambda n: apart[n])
    best, against = _best(standings, bands, alike)
    telling = None
    if best is not None and against is not None:
        telling = _telling(standings[best], standings[against], bands.share(best, against))
    return Advice(
        standings,
        None if best is None else standings[best].letter,
        None if against is None else standings[against].letter,
        telling,
        tuple(contenders[n].letter for n in alike),
        bands.share(0, most),
        apart[most],
    )


def _standing(letter: str, cases: Sequence[Case]) -> Standing:
    ports = [
        PoorestPort(case, machine, port)
        for case in cases
        for machine in case.machines
        if machine.runs
        for port in machine.ports
    ]
    return Standing(
        letter,
        len(cases),
        sum(not case.solved for case in cases),
        sum(bool(case.lacking) for case in cases),
        sum(bool(case.settling) for case in cases),
        tuple(sorted(ports, key=lambda port: port.share)),
    )


def _best(standings: Sequence[Standing], bands: _Bands, alike: Sequence[int]) -> tuple[int | None, int | None]:
    """Return the one that stands out and the one that it is measured against; nothing when none does."""
    others = [n for n in range(1, len(standings)) if n not in alike]
    if not others:
        return None, None
    best = _foremost(standings, bands, [0, *others])
    against = 0 if best else _foremost(standings, bands, others)
    level = any(not _better(standings, bands, best, n) for n in (0, *others) if n != best)
    return (None, None) if level else (best, against)


def _foremost(standings: Sequence[Standing], bands: _Bands, among: Sequence[int]) -> int:
    best = among[0]
    for number in among[1:]:
        if _better(standings, bands, number, best):
            best = number
    return best


def _better(standings: Sequence[Standing], bands: _Bands, one: int, other: int) -> bool:
    """Whether one is better: by counts, else by the first of the poorest ports that differ by more than the band."""
    mine, its = standings[one], standings[other]
    if mine.counts != its.counts:
        return mine.counts < its.counts
    band = bands.share(one, other)
    for port, twin in zip(mine.ports, its.ports, strict=False):
        share, least = min(port.share, limits().far_more), min(twin.share, limits().far_more)
        if abs(share - least) > band * max(share, least):
            return share > least
    return False


def _telling(best: Standing, other: Standing, band: float) -> tuple[PoorestPort, PoorestPort] | None:
    """Return the poorest port of the other one that gains more than the band in the best one."""
    for port in other.ports:
        twin = best.twin(port)
        if twin is not None and twin.share > port.share * (1.0 + band):
            return twin, port
    return None


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


@dataclass
class _Bands:
    """The bands of differences between contenders, for the machine and case that is worst off in the first one."""

    contenders: Sequence[Contender]
    subject: PoorestPort | None
    known: dict[int, tuple[float, Ends] | None] = field(default_factory=dict)

    def share(self, one: int, other: int) -> float:
        """Return what is left open of the difference between two, as a share of the air."""
        first, second = self._ends(one), self._ends(other)
        if first is None or second is None:
            return LEAST_BAND
        (flow, mine), (twin, its) = first, second
        open_m3_s = hypot(*(_moved(flow, mine.get(key), twin, its.get(key)) for key in {**mine, **its}))
        return max(LEAST_BAND, open_m3_s / max(flow, twin))

    def _ends(self, number: int) -> tuple[float, Ends] | None:
        if number not in self.known:
            self.known[number] = None if self.subject is None else _ends(self.contenders[number], self.subject)
        return self.known[number]


def _ends(contender: Contender, subject: PoorestPort) -> tuple[float, Ends] | None:
    """Return the subject's air [m3/s] in a contender, and at the ends of all that is open; None without an answer."""
    key = key_of_case(subject.case)
    case = next((case for case in contender.check.loaded if key_of_case(case) == key), None)
    answer = None if case is None or not case.solved else _twin(case, subject.machine)
    if case is None or answer is None:
        return None
    model = build_model(contender.shop, contender.check.junction)
    sets = {(False, key_of(choice.name)): choice for choice in named_sets(model)}
    choice = sets.get(key) or Choice(case.name, case.asked)
    return answer.flow_m3_s, dict(_open_ends(sensitivity(model, choice, answer.machine)))


def _open_ends(found: Sensitivity) -> Iterator[tuple[str, tuple[float | None, ...]]]:
    for worth in found.assumptions:
        if worth.assumption.banded:
            yield worth.assumption.key, (worth.low_m3_s, worth.high_m3_s)
    for other in found.methods:
        yield f"wyes by {other.method}", (other.flow_m3_s,)
    for curve in found.by_curve:
        yield f"{curve.method} advertised curve", (curve.flow_m3_s,)


def _moved(
    flow: float, ends: tuple[float | None, ...] | None, twin: float, its: tuple[float | None, ...] | None
) -> float:
    """Return how far [m3/s] the difference of two flows moves when what is open is at its ends, in both or in one."""
    longest = max(len(ends or ()), len(its or ()))
    pairs = zip(ends or (flow,) * longest, its or (twin,) * longest, strict=True)
    return max((abs((b - a) - (twin - flow)) for a, b in pairs if a is not None and b is not None), default=0.0)
