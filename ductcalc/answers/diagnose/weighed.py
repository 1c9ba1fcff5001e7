"""Every fault held against the readings: how likely each is, of what size, which cannot be told apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.diagnose.faults import Fault, FaultKind, SizeOf, faults_of
from ductcalc.answers.diagnose.fitted import Fitted, fitted_to_healthy, on_normal_scale
from ductcalc.answers.diagnose.observed import Observed, found_once
from ductcalc.arrays import Flags, Floats
from ductcalc.cases.taps import Tap, Taps, TapTable
from ductcalc.cases.variants import Variant
from ductcalc.catalog import fact

BETWEEN = 6
"""Sizes looked at between two that were solved."""

MOST_PAIRED = 24
BAND, NINE_TENTHS = (0.1, 0.9), 1.2816
"""Chances at the two ends of an 80 % band, and how many standard deviations they lie off."""


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A fault that may explain the readings.

    size: what it is likeliest to be, None where it has none; low, high: its 80 % band. probability: of all suspects it
    adds up to one. misfit: standard deviations (normal scale) by which it misses the readings. then_pa: what it would
    make each reading (readings,), in the readings' units. alike: it cannot be told from the first.
    """

    kind: FaultKind
    where: str
    size: float | None
    size_of: SizeOf
    low: float | None
    high: float | None
    probability: float
    misfit: float
    then: tuple[float, ...]
    alike: bool = False
    second: Suspect | None = None

    @property
    def told(self) -> bool:
        """Whether it is one fault of the list, or none, so that another reading of it can be foretold."""
        return self.second is None and self.kind != "something else"


SUSPECTS: Columns[Suspect] = (
    Column("kind", lambda suspect: suspect.kind),
    Column("where", lambda suspect: suspect.where),
    Column("size", lambda suspect: suspect.size),
    Column("probability", lambda suspect: suspect.probability),
    Column("size_of", lambda suspect: suspect.size_of),
    Column("low", lambda suspect: suspect.low),
    Column("high", lambda suspect: suspect.high),
    Column("misfit", lambda suspect: suspect.misfit),
    Column("alike", lambda suspect: suspect.alike),
)
SECOND: Columns[Suspect] = within(
    Suspect,
    lambda suspect: suspect.second,
    (
        Column("second_kind", lambda second: second.kind),
        Column("second_where", lambda second: second.where),
        Column("second_size", lambda second: second.size),
    ),
)


@dataclass
class Looked:
    """Readings held against every fault.

    now: readings (readings,) that are looked at. base: what a healthy shop reads (readings,), as compared.
    faults: with what each reads at its sizes, (now, sizes) each. solved: every fault with the sizes that were solved.
    """

    fit: Fitted
    now: Flags
    base: Floats
    faults: list[tuple[Fault, Floats]]
    unseen: int
    root: Floats
    solved: list[Fault]

    @classmethod
    def at(cls, observed: Observed) -> Looked:
        """Fit the healthy readings, then solve every fault of every size in one call.

        Where they contradict the shop as it is written, only what has changed since counts.
        """
        fit = fitted_to_healthy(observed)
        observed = fit.observed
        now = ~observed.healthy
        every = list(faults_of(fit, bool(observed.healthy.any())))
        read = observed.read([variant for fault in every for variant in fault.variants])
        faults, unseen, place = [], 0, 0
        for fault in every:
            own = read[:, place : place + len(fault.sizes)][now]
            place += len(fault.sizes)
            shown = _between(fault, own, fit.read[now])
            if shown is None:
                unseen += 1
            else:
                faults.append(shown)
        faults += [pair for pair in misread(fit, now) if _seen(pair[1], fit.read[now]).any()]
        return cls(fit, now, fit.read, faults, unseen, np.asarray(np.linalg.cholesky(fit.spread)), every)

    @property
    def healthy(self) -> Floats:
        """What a healthy shop would read now (now,), as compared; by what was read when it was."""
        known, spread = self.fit.observed.healthy, self.fit.spread
        expected = self.fit.expected[self.now]
        if not known.any():
            return self.base[self.now]
        gap = self.fit.observed.measured[known] - self.fit.expected[known]
        weigh = np.linalg.solve(spread[np.ix_(known, known)], gap)
        return np.asarray(expected + spread[np.ix_(self.now, known)] @ weigh)

    def in_units(self, compared: Floats) -> tuple[float, ...]:
        """Return readings (now,) in their own units."""
        values = np.sinh(compared) * self.fit.observed.scale[self.now]
        return tuple(float(value) for value in values)

    def suspects(self) -> list[Suspect]:
        """Return all faults, likeliest first, with their chances."""
        scores = [self._no_fault(), *self._single(), self._untold()]
        best = max(scores[:-1], key=lambda score: score.fit)
        if best.misfit > fact("measuring", "contradicted").value:
            scores += self._pairs(sorted(scores[1:-1], key=lambda score: -score.weight)[:MOST_PAIRED])
        top = max(score.weight for score in scores)
        total = sum(np.exp(score.weight - top) for score in scores)
        ranked = sorted(scores, key=lambda score: -score.weight)
        leader = ranked[0]
        return [
            self._told(score, float(np.exp(score.weight - top) / total), self._alike(score, leader))
            for score in ranked
        ]

    def _log(self, shift: Floats, wider: float = 0.0) -> tuple[Floats, Floats]:
        """Return log likelihood (...,) and misfit (...,) when the readings now are shifted (now, ...) from healthy."""
        observed = self.fit.observed
        gap = observed.measured - self.fit.expected
        whole = np.zeros((len(gap), shift.shape[1]))
        whole[self.now] = shift
        root = self.root
        if wider:
            more = self.fit.spread + np.diag(np.where(self.now, wider**2, 0.0))
            root = np.linalg.cholesky(more)
        scaled = np.linalg.solve(root, gap[:, None] - whole)
        square = (scaled**2).sum(axis=0)
        return -0.5 * square - float(np.log(np.diag(root)).sum()), on_normal_scale(square, len(gap))

    def _no_fault(self) -> _Score:
        shift = np.zeros((int(self.now.sum()), 1))
        log, misfit = self._log(shift)
        prior = float(np.log(fact("measuring", "no fault").value))
        return _Score(None, shift, float(log[0]) + prior, float(log[0]), 0, float(misfit[0]), np.ones(1))

    def _untold(self) -> _Score:
        shift = np.zeros((int(self.now.sum()), 1))
        log, misfit = self._log(shift, fact("measuring", "untold fault spread").value)
        prior = float(np.log(fact("measuring", "untold fault").value))
        fault = Fault("something else", "", "", (), ())
        return _Score(fault, shift, float(log[0]) + prior, float(log[0]), 0, float(misfit[0]), np.ones(1))

    @cached_property
    def _prior(self) -> dict[FaultKind, float]:
        """The chance of each kind at one of its places, where there is one fault; slips of reading come more seldom."""
        counts = Counter(fault.kind for fault, _ in self.faults)
        seldom = fact("measuring", "slip of reading").value
        weights = {kind: seldom if kind in SLIPS else 1.0 for kind in counts}
        whole = sum(weights.values())
        return {kind: weights[kind] / whole / count for kind, count in counts.items()}

    def _single(self) -> Iterator[_Score]:
        share = 1.0 - sum(fact("measuring", name).value for name in ("no fault", "untold fault"))
        for fault, read in self.faults:
            prior = share * self._prior[fault.kind]
            shift = read - self.base[self.now][:, None]
            log, misfit = self._log(shift)
            best = int(np.argmax(log))
            chances = np.exp(log - log[best])
            weight = float(log[best] + np.log(chances.mean()) + np.log(prior))
            yield _Score(fault, shift, weight, float(log[best]), best, float(misfit[best]), chances)

    def _pairs(self, singles: Sequence[_Score]) -> Iterator[_Score]:
        """Yield two faults at once: their effects add up, as they are compared."""
        chance = fact("measuring", "second fault").value
        known = self._no_fault()
        for one, other in combinations(singles, 2):
            if one.fault is None or other.fault is None or one.fault.where == other.fault.where:
                continue
            shift = (one.shift[:, :, None] + other.shift[:, None, :]).reshape(len(one.shift), -1)
            log, misfit = self._log(shift)
            best = int(np.argmax(log))
            chances = np.exp(log - log[best])
            prior = chance * self._prior[one.fault.kind] * self._prior[other.fault.kind]
            weight = float(log[best] + np.log(chances.mean()) + np.log(prior))
            parts = divmod(best, other.shift.shape[1])
            pair = tuple(
                _Score(score.fault, score.shift, known.weight, known.fit, part, 0.0, score.chances)
                for score, part in zip((one, other), parts, strict=True)
            )
            yield _Score(one.fault, shift, weight, float(log[best]), best, float(misfit[best]), chances, pair)

    def _alike(self, score: _Score, leader: _Score) -> bool:
        """Tell whether some size of a fault reads what the likeliest one does."""
        if score is leader or score.pair or leader.pair or (score.fault and score.fault.kind == "something else"):
            return False
        target = leader.shift[:, leader.best]
        whole = np.zeros((len(self.now), score.shift.shape[1]))
        whole[self.now] = score.shift - target[:, None]
        apart = (np.linalg.solve(self.root, whole) ** 2).sum(axis=0).min()
        return bool(apart < fact("measuring", "told apart").value ** 2)

    def _told(self, score: _Score, probability: float, alike: bool) -> Suspect:
        part, second = (score.pair[0], score.pair[1]) if score.pair else (score, None)
        size, low, high = part.size(self._own(part.fault))
        fault = part.fault
        return Suspect(
            kind="no fault" if fault is None else fault.kind,
            where="" if fault is None else fault.where,
            size=size,
            size_of="" if fault is None else fault.size_of,
            low=low,
            high=high,
            probability=probability,
            misfit=score.misfit,
            then=self.in_units(self.healthy + score.shift[:, score.best]),
            alike=alike,
            second=None if second is None else self._told(second, probability, False),
        )

    def _own(self, fault: Fault | None) -> float:
        """Return one standard deviation, by ratio, that is left of the number of which a fault's size is a multiple."""
        if fault is None or fault.own is None:
            return 0.0
        for unknown, left in zip(self.fit.unknowns.all, np.diag(self.fit.left), strict=True):
            if (unknown.kind, unknown.where) == fault.own:
                ends = [(s.low, s.high) for s in unknown.spreads[:1]] or [(1.0, (1.0 + unknown.speed) ** 2)]
                low, high = ends[0]
                return float(np.sqrt(left) * np.log(high / low) / 4.0) if low > 0.0 else 0.0
        return 0.0

    def nearest(self, *suspects: Suspect) -> tuple[Variant | None, ...]:
        """Return the solved shops nearest to some suspects, None where the shop itself is as written."""
        return tuple(self._nearest(suspect) for suspect in suspects)

    def _nearest(self, suspect: Suspect) -> Variant | None:
        found = [fault for fault in self.solved if (fault.kind, fault.where) == (suspect.kind, suspect.where)]
        if not found or suspect.size is None:
            return None
        sizes = found[0].sizes
        near = min(range(len(sizes)), key=lambda number: abs(np.log(sizes[number] / (suspect.size or 1.0))))
        return found[0].variants[near]


@dataclass(frozen=True)
class _Score:
    """A fault held against the readings. weight: log of likelihood times prior, over all sizes; fit: log likelihood of
    the best size. shift: (now, sizes). chances: of each size (sizes,), the best one 1."""

    fault: Fault | None
    shift: Floats
    weight: float
    fit: float
    best: int
    misfit: float
    chances: Floats
    pair: tuple[_Score, ...] = ()

    def size(self, unknown: float) -> tuple[float | None, float | None, float | None]:
        """Return its likeliest size and the 80 % band of it, in which what a size does is not known for sure either.

        unknown: one standard deviation, by ratio, of what it is a multiple of.
        """
        sizes = () if self.fault is None else self.fault.sizes
        if len(sizes) != len(self.chances) or not sizes:
            return None, None, None
        size = float(sizes[self.best])
        if len(sizes) == 1:
            return size, size, size
        running = np.cumsum(self.chances) / self.chances.sum()
        ends = (float(sizes[min(int(np.searchsorted(running, q)), len(sizes) - 1)]) for q in BAND)
        low, high = sorted(ends)
        own = float(np.hypot(0.5 * fact("measuring", "fault size").value, unknown)) * NINE_TENTHS
        below, above = (np.hypot(np.log(end / size), own) for end in (min(low, size), max(high, size)))
        most = 1.0 if self.fault is not None and self.fault.size_of in ("open share", "speed") else np.inf
        return size, float(size * np.exp(-below)), float(min(size * np.exp(above), max(most, size)))


def _between(fault: Fault, read: Floats, healthy: Floats) -> tuple[Fault, Floats] | None:
    """Return a fault with sizes in between, and what is read at them (now, sizes); only those that can be seen.

    None where no size of it can.
    """
    known = np.isfinite(read).all(axis=0)
    sizes, read = np.array(fault.sizes)[known], read[:, known]
    if not len(sizes):
        return None
    if len(sizes) > 1:
        steps = np.linspace(0.0, len(sizes) - 1.0, (len(sizes) - 1) * BETWEEN + 1)
        places = np.arange(len(sizes))
        read = np.array([np.interp(steps, places, row) for row in read])
        sizes = np.exp(np.interp(steps, places, np.log(sizes)))
    seen = _seen(read, healthy)
    if not seen.any():
        return None
    told = replace(fault, sizes=tuple(sizes[seen].tolist()))
    return told, read[:, seen]


def _seen(read: Floats, healthy: Floats) -> Flags:
    """Return which sizes (sizes,) change some reading by more than one that is taken again may differ."""
    least = np.log1p(fact("measuring", "repeat").value)
    return np.asarray((np.abs(read - healthy[:, None]) >= least).any(axis=0))


ONE_COLUMN = 0.5
SLIPS: frozenset[FaultKind] = frozenset({"one column read", "tube facing the stream", "tube on the wrong side"})


def misread(fit: Fitted, now: Flags) -> Iterator[tuple[Fault, Floats]]:
    """Yield what is no fault of the shop but of the reading, with what is read then (now, 1), as it is compared."""
    observed = fit.observed
    values = np.sinh(fit.read) * observed.scale
    tubes = np.array([reading.instrument == "u-tube" for reading in observed.readings]) & now

    def told(kind: FaultKind, where: str, changed: Floats) -> tuple[Fault, Floats]:
        return Fault(kind, where, "", (), ()), observed.compared(changed)[now][:, None]

    if tubes.any():
        yield told("one column read", "every u-tube", np.where(tubes, ONE_COLUMN * values, values))
    kinetic, aside = _beside(fit)
    for place in np.flatnonzero(now).tolist():
        reading = observed.readings[place]
        if reading.kind == "static" and observed.taps[observed.tap[place]].in_duct:
            name = reading.where.written
            yield told("tube facing the stream", name, _with(values, place, max(values[place] - kinetic[place], 0.0)))
            if np.isfinite(aside[place]):
                yield told("tube on the wrong side", name, _with(values, place, float(aside[place])))


def _with(values: Floats, place: int, value: float) -> Floats:
    changed = values.copy()
    changed[place] = value
    return changed


def _beside(fit: Fitted) -> tuple[Floats, Floats]:
    """Return the velocity pressure at each reading's tap, and the suction on the other side of its gate [Pa], nan
    where there is none (readings,)."""
    observed = fit.observed
    others = [_other_side(observed, tap) for tap in observed.taps]
    aside_or_same = (other or tap for other, tap in zip(others, observed.taps, strict=True))
    table = TapTable(observed.model, (*observed.taps, *aside_or_same))
    found = found_once(fit.unknowns.variant([float(off) for off in fit.deviations]), observed.choices)
    read, count = table.read(found), len(observed.taps)
    there = np.array([other is not None for other in others])[observed.tap]
    aside = np.where(there, read.static_pa[observed.tap + count, observed.case], np.nan)
    return read.vp_pa[observed.tap, observed.case], aside


def _other_side(observed: Observed, tap: Tap) -> Tap | None:
    """Return the tap on the other side of the gate beside which a tap sits."""
    finder, run = Taps(observed.model), observed.model.sections[tap.section].run
    if tap.kind == "gate":
        distance = finder.gate_distance_m(run)
        return finder.at(run, distance) or finder.port(run) if distance else finder.port(run)
    return finder.gate(run) if tap.kind in ("port", "at") and tap.behind else None
