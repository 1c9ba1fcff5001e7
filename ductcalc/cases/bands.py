"""How far the decided numbers may be off: each is a fact that one unknown moves, and samples of all of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import NormalDist

import numpy as np

from ductcalc.arrays import Floats
from ductcalc.cases.variants import Variant
from ductcalc.catalog import fact
from ductcalc.model.decided import Decided, Pick, middle
from ductcalc.model.model import Model
from ductcalc.model.tuned import BLOWER, FILTER, RESISTANCE, SOURCE, Fact, facts_of

FARTHEST = 2.5
"""Standard deviations beyond which nothing is drawn: two of them are a number's low and high."""


@dataclass(frozen=True)
class Spread:
    """A decided number with the low and high that it is drawn between (two standard deviations each way)."""

    decided: Decided
    low: float
    high: float

    def at(self, deviations: float) -> float:
        """Return its value so many standard deviations off; by ratio where its low end is above nothing."""
        value, end = self.decided.value, self.low if deviations < 0.0 else self.high
        share = 0.5 * abs(deviations)
        if self.low > 0.0:
            return float(value * (end / value) ** share)
        return max(0.0, value + (end - value) * share)


@dataclass(frozen=True)
class Unknown:
    """One fact about a shop that is not known for sure; all numbers that hang on it move together.

    kind: what it is, where: the machine or run it belongs to ("" for the whole shop). speed: two standard deviations
    of the blower's speed as a share, for the unknown that is no number of the ducts.
    """

    kind: str
    where: str
    spreads: tuple[Spread, ...] = ()
    speed: float = 0.0

    @property
    def name(self) -> str:
        """Its name in print."""
        return f"{self.kind}, {self.where}" if self.where else self.kind


@dataclass(frozen=True)
class Unknowns:
    """All unknowns of a model, and variants of it in which they are off."""

    model: Model
    all: tuple[Unknown, ...]

    def values(self, deviations: Sequence[float]) -> dict[int, float]:
        """Return the numbers that are off when the unknowns are so many standard deviations off, by identity."""
        return {
            id(spread.decided): spread.at(off)
            for unknown, off in zip(self.all, deviations, strict=True)
            if off
            for spread in unknown.spreads
        }

    def speed(self, deviations: Sequence[float]) -> float:
        """Return the blower's speed as a share of its curve's."""
        return 1.0 + sum(0.5 * u.speed * off for u, off in zip(self.all, deviations, strict=True))

    def variant(self, deviations: Sequence[float]) -> Variant:
        """Return the model with its unknowns so many standard deviations off (unknowns,)."""
        return Variant(self.model, picking(self.values(deviations)), speed=self.speed(deviations))

    @cached_property
    def none(self) -> tuple[float, ...]:
        """Every unknown at its own value."""
        return (0.0,) * len(self.all)

    def sample(self, count: int, seed: int = 16) -> Floats:
        """Draw deviations (count, unknowns), stratified: each unknown takes every count-th part of its chances once."""
        draw = np.random.default_rng(seed)
        parts = np.array([NormalDist().inv_cdf((n + 0.5) / count) for n in range(count)])
        parts = np.clip(parts, -FARTHEST, FARTHEST)
        return np.stack([draw.permutation(parts) for _ in self.all], axis=1) if self.all else np.zeros((count, 0))


def picking(values: Mapping[int, float]) -> Pick:
    """Return the pick of some numbers, by identity, and of every other one as it was decided."""
    return (lambda decided: values.get(id(decided), decided.value)) if values else middle


def unknowns_of(model: Model) -> Unknowns:
    """Return what is not known for sure of a model, numbers that are one fact in the shop as one unknown."""
    stated = {RESISTANCE: "given resistance", FILTER: "filter cloth"}
    gathered: dict[Fact, dict[int, Spread]] = {}
    for found, decided in facts_of(model.sections, model.leakage_class, model.collector):
        least = fact("measuring", stated[found[0]]).value if found[0] in stated and decided.source != SOURCE else 0.0
        spread = _spread(decided, least)
        if spread is not None:
            gathered.setdefault(found, {})[id(decided)] = spread
    unknowns = [Unknown(kind, where, tuple(spreads.values())) for (kind, where), spreads in gathered.items()]
    if model.collector is not None:
        item = "blower on the box" if model.collector.provisional else "blower"
        tuned = next((one for one in model.shop.tuned if one.what == BLOWER), None)
        speed = fact("measuring", item).value if tuned is None else tuned.high / tuned.times - 1.0
        unknowns.append(Unknown(BLOWER, "", speed=speed))
    return Unknowns(model, tuple(unknowns))


def _spread(decided: Decided, least: float) -> Spread | None:
    """Return a number's spread, at least so large a share each way; None where it has none."""
    if not np.isfinite(decided.value):
        return None
    ends = (decided.low, decided.high)
    low = min(*ends, decided.value / (1.0 + least))
    high = max(*ends, decided.value * (1.0 + least))
    return Spread(decided, low, high) if low < high else None
