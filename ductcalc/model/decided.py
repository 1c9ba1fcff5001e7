"""A number that was decided: its value and band, where it comes from, and whether it had to be assumed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from ductcalc.catalog import Fact


@dataclass(frozen=True)
class Decided:
    """A coefficient with its band; `assumed` names the assumption it belongs to, None when it was given."""

    value: float
    low: float
    high: float
    source: str
    reason: str
    assumed: str | None = None

    def times(self, factor: float) -> Decided:
        """Return the number multiplied."""
        return replace(self, value=self.value * factor, low=self.low * factor, high=self.high * factor)

    def plus(self, amount: float) -> Decided:
        """Return the number with a fixed amount added."""
        return replace(self, value=self.value + amount, low=self.low + amount, high=self.high + amount)


TELLING = ("outside the source", "below the source", "times ", "angle factors")
"""Words by which a part of a fact's note tells how this very number came about, beside general remarks."""

Pick = Callable[[Decided], float]


def middle(decided: Decided) -> float:
    """Pick the value itself."""
    return decided.value


def leaning(assumption: str, end: str) -> Pick:
    """Pick the low or high end of everything that belongs to an assumption, the value of all else."""

    def pick(decided: Decided) -> float:
        if decided.assumed != assumption:
            return decided.value
        return decided.low if end == "low" else decided.high

    return pick


def given(value: float, reason: str) -> Decided:
    """Return a number that the user wrote."""
    return Decided(value, value, value, "your table", reason)


def from_fact(fact: Fact, reason: str, assumed: str | None = None) -> Decided:
    """Return a number taken from a reference table."""
    told = [part for part in fact.note.split("; ") if any(word in part for word in TELLING)]
    return Decided(fact.value, fact.low, fact.high, fact.cited, "; ".join([reason, *told]), assumed)
