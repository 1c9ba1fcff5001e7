"""Badly known numbers fitted to readings of a healthy time: where they lie, what is left of their bands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.diagnose.fitted import Fitted, fitted
from ductcalc.answers.diagnose.observed import Observed
from ductcalc.arrays import Floats
from ductcalc.cases.bands import Unknown, unknowns_of
from ductcalc.cases.solving import collector_of
from ductcalc.errors import InputError, Problem
from ductcalc.model.model import build_model
from ductcalc.shop.readings import Reading
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop
from ductcalc.shop.tuned import Tuned

CONTRADICTS = 3.5
"""Standard deviations by which a reading misses what all others make it, from which on it contradicts them."""

LEARNED = 0.9
"""Part of a number's band that may be left at most for the readings to have told something of it."""

TWO_SIGMA = 2.0


@dataclass(frozen=True, kw_only=True)
class TunedNumber:
    """A fact as fitted. value, low, high: without readings (None where several numbers hang on it).

    tuned: as multiples, with the band that is left. left: of its band, as a share. deviations: standard deviations that
    it moved.
    """

    value: float | None
    low: float | None
    high: float | None
    tuned: Tuned
    left: float
    deviations: float

    @property
    def name(self) -> str:
        """What it is, of which machine."""
        return f"{self.tuned.what}, {self.tuned.where}" if self.tuned.where else self.tuned.what


NUMBERS: Columns[TunedNumber] = (
    Column("what", lambda number: number.tuned.what),
    Column("where", lambda number: number.tuned.where),
    Column("times", lambda number: number.tuned.times),
    Column("times_low", lambda number: number.tuned.low),
    Column("times_high", lambda number: number.tuned.high),
    Column("value", lambda number: number.value),
    Column("low", lambda number: number.low),
    Column("high", lambda number: number.high),
    Column("left", lambda number: number.left),
    Column("deviations", lambda number: number.deviations),
)


@dataclass(frozen=True)
class Tune:
    """Numbers that healthy readings told something of, best known first; how many they told nothing of.

    misses: by how much each reading is missed before and after, as a share of it (readings,).
    """

    shop: str
    readings: tuple[Reading, ...]
    numbers: tuple[TunedNumber, ...]
    untold: int
    before: tuple[float, ...]
    after: tuple[float, ...]
    changes: tuple[str, ...] = ()

    @property
    def tuned(self) -> tuple[Tuned, ...]:
        """What goes into tuned.toml."""
        return tuple(number.tuned for number in self.numbers)

    @property
    def when(self) -> str:
        """The date of its readings, or the first and the last one."""
        days = sorted({reading.when[:10] for reading in self.readings})
        return days[0] if len(days) == 1 else f"{days[0]} to {days[-1]}"


def tune(shop: Shop, readings: Sequence[Reading], junction: Junction | None = None) -> Tune:
    """Fit badly known numbers to readings marked healthy, by least squares with their bands as prior.

    What was tuned before counts for nothing. Raises InputError without healthy readings, and for readings that
    contradict the others; NoAnswerError when the shop has no answer.
    """
    healthy = [reading for reading in readings if reading.healthy]
    if not healthy:
        hint = "write yes under healthy in the rows that were read when all was well"
        raise InputError([Problem("no reading is marked healthy", hint)])
    shop = untuned(shop)
    model = build_model(shop, junction)
    collector_of(model)
    observed = Observed.of(model, healthy)
    fit = fitted(observed, unknowns_of(model), observed.healthy)
    _refuse_contradictions(fit)
    left = np.sqrt(np.diag(fit.left))
    found = [
        _number(unknown, float(off), float(share))
        for unknown, off, share in zip(fit.unknowns.all, fit.deviations, left, strict=True)
        if share <= LEARNED
    ]
    first = observed.read([fit.unknowns.variant(fit.unknowns.none)])[:, 0]
    return Tune(
        shop.name,
        observed.readings,
        tuple(sorted(found, key=lambda number: number.left)),
        len(left) - len(found),
        _missed(observed, first),
        _missed(observed, fit.read),
        shop.changes,
    )


def untuned(shop: Shop) -> Shop:
    """Return a shop without what was tuned before, which its first change speaks of."""
    return replace(shop, tuned=(), changes=shop.changes[1:]) if shop.tuned else shop


def _missed(observed: Observed, read: Floats) -> tuple[float, ...]:
    """Return by how much calculation misses each reading, as a share of it."""
    values = np.sinh(read) * observed.scale
    return tuple(float(share) for share in values / np.maximum(observed.value, observed.scale) - 1.0)


def _number(unknown: Unknown, off: float, left: float) -> TunedNumber:
    ends = (off, off - TWO_SIGMA * left, off + TWO_SIGMA * left)
    if unknown.speed:
        times = [1.0 + 0.5 * unknown.speed * end for end in ends]
        value, low, high = 1.0, 1.0 - unknown.speed, 1.0 + unknown.speed
        return _told(unknown, times, (value, low, high), left, off)
    first = unknown.spreads[0]
    times = [first.at(end) / first.decided.value if first.decided.value else 1.0 for end in ends]
    one = len({spread.decided.value for spread in unknown.spreads}) == 1
    known = (first.decided.value, first.low, first.high) if one else (None, None, None)
    return _told(unknown, times, known, left, off)


def _told(
    unknown: Unknown, times: Sequence[float], known: tuple[float | None, float | None, float | None], left: float,
    off: float,
) -> TunedNumber:  # fmt: skip
    tuned = Tuned(unknown.kind, unknown.where, times[0], min(times[1:]), max(times[1:]))
    value, low, high = known
    return TunedNumber(value=value, low=low, high=high, tuned=tuned, left=left, deviations=off)


def _refuse_contradictions(fit: Fitted) -> None:
    """Raise InputError with every reading that misses what all others make it by far."""
    observed = fit.observed
    if len(observed.readings) < 2:
        return
    inverse = np.linalg.inv(fit.spread)
    spread = np.diag(inverse)
    gap = observed.measured - fit.expected
    missed = inverse @ gap / spread
    far = np.abs(missed) * np.sqrt(spread)
    if far.max() < CONTRADICTS:
        return
    others = np.sinh(observed.measured - missed) * observed.scale
    worst = [place for place in np.argsort(-far).tolist() if far[place] >= CONTRADICTS]
    raise InputError([_contradiction(observed.readings[place], float(others[place])) for place in worst])


def _contradiction(reading: Reading, others: float) -> Problem:
    return Problem(
        f"{reading.where.written} reads {_amount(reading.value, reading)}, the other readings make it"
        f" {_amount(others, reading)}",
        "read it again; if it was right, something was not healthy that day: take healthy out and run diagnose",
        reading.place,
    )


def _amount(value: float, reading: Reading) -> str:
    if reading.kind == "speed":
        return f"{value:.3g} m/s ({value / 0.00508:.0f} fpm)"
    return f"{value:.0f} Pa ({value / 249.0889:.2f} inwg)"
