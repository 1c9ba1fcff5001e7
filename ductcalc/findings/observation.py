"""What a rule saw: where, what, how it would be mended, and whose air or speed tells how much it matters."""

from __future__ import annotations

from typing import Literal, NamedTuple

from ductcalc.errors import Place
from ductcalc.findings.phrase import Amount, Phrase
from ductcalc.shop.change import Change

Means = Literal["mends", "counts", "otherwise"]
"""What the change of an observation is: it mends the matter; it counts what was left out; it is the other reading."""


class Watch(NamedTuple):
    """Whose figure tells how much an observation matters: a machine's air (at one run's port, or at all of them), or
    the speed in a section; in a case, by its number in the subject.
    """

    case: int
    machine: str | None = None
    run: str | None = None
    section: str | None = None


class Observation(NamedTuple):
    """One thing that a rule saw.

    place: the row or the key, None when it is nowhere in particular. name: of the piece, run, machine or part. what,
    cure: plain words without a full stop. change and watch: solved with and without; without them `amount` is the
    figure, and `share` how heavy it weighs (of the air or pressure in question).
    """

    place: Place | None
    name: str
    what: Phrase
    cure: Phrase
    change: Change | None = None
    means: Means = "mends"
    watch: Watch | None = None
    amount: Amount | None = None
    share: float = 0.0
