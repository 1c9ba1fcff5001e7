"""An observation that was weighed: how much it matters on this very shop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from ductcalc.findings.observation import Means
from ductcalc.findings.phrase import Phrase

Measure = Literal["air", "speed", "pressure", "size", "length", "area", "share", "power", "none"]
HANDFUL = 5
"""Findings that are told without being asked for; the rest is counted."""


class Effect(NamedTuple):
    """How much a finding matters.

    measure: air [m3/s], speed [m/s], pressure [Pa], share [1], power [W]. Where it was solved with and without:
    before and after, of a machine or section in a case, wanted [m3/s] or needed [m/s]; else before is the finding's
    own figure, after and wanted are None. share: of the wanted air or needed speed, by which findings are sorted.
    cured: after the change nobody there is short, or nothing settles.
    """

    measure: Measure
    before: float | None
    after: float | None = None
    machine: str | None = None
    run: str | None = None
    section: str | None = None
    case: str | None = None
    wanted: float | None = None
    share: float = 0.0
    cured: bool = True

    @property
    def difference(self) -> float | None:
        """What the change makes of it, after less before."""
        return None if self.after is None or self.before is None else self.after - self.before


@dataclass(frozen=True)
class Finding:
    """An unasked warning: the rule that saw it, where, what, what would mend it, and how much it matters."""

    rule: str
    caution: bool
    file: str | None
    row: int | None
    key: str | None
    name: str
    what: Phrase
    cure: Phrase
    means: Means
    effect: Effect

    @property
    def spares(self) -> bool:
        """Whether its change gives more air to a machine that has what it wants."""
        before, wanted = self.effect.before, self.effect.wanted
        given = self.means == "mends" and self.effect.measure == "air"
        return given and before is not None and wanted is not None and before >= wanted


@dataclass(frozen=True)
class Findings:
    """All findings of a shop, cautions first, then the one that matters most first.

    not_weighed: how many more were seen in a shop too large to weigh them all. switched_off: rules that the settings
    leave out.
    """

    all: tuple[Finding, ...] = ()
    not_weighed: int = 0
    switched_off: tuple[str, ...] = ()

    @property
    def handful(self) -> tuple[Finding, ...]:
        """Every caution, and of the others as many as make a handful, none that gives air where it is not wanted."""
        cautions = tuple(found for found in self.all if found.caution)
        others = tuple(found for found in self.all if not found.caution and not found.spares)
        return (*cautions, *others[: max(1, HANDFUL - len(cautions))])

    def exit_code(self, code: int, strict: bool) -> int:
        """Return an exit code in which findings count when that is asked for: they raise 0 to 1 and change no other."""
        return 1 if strict and code == 0 and self.all else code


NOTHING_SEEN = Findings()
