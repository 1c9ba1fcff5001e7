"""One thing that may be changed: what, where, from what to what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal

from ductcalc.cases.choices import Choice
from ductcalc.model.collector import FilterState
from ductcalc.shop.change import Change
from ductcalc.shop.hanging import spelled_out
from ductcalc.shop.names import key_of
from ductcalc.shop.shop import Shop

Kind = Literal[
    "pipe size",
    "main size",
    "shorter hose",
    "straighter hose",
    "pipe for hose",
    "easier elbows",
    "slanted wye",
    "bigger port",
    "second port",
    "wider throat",
    "second opening",
    "smoother hood",
    "clean filter",
    "helper gate",
    "helper shut",
    "one at a time",
    "new gate",
    "tight gates",
    "sealed joints",
    "no outlet duct",
    "outdoors",
    "faster blower",
]
Effort = Literal["free", "cheap", "hardware", "last"]
KINDS_OF: dict[Effort, tuple[Kind, ...]] = {
    "free": (
        "helper gate", "helper shut", "one at a time", "shorter hose", "straighter hose", "clean filter",
        "sealed joints",
    ),
    "cheap": (
        "pipe size", "main size", "pipe for hose", "easier elbows", "slanted wye", "smoother hood", "new gate",
        "tight gates", "no outlet duct",
    ),
    "hardware": ("bigger port", "second port", "wider throat", "second opening"),
    "last": ("outdoors", "faster blower"),
}  # fmt: skip
"""What a change takes, the least first; common practice, no source."""
NEVER_FIRST: tuple[Kind, ...] = (*KINDS_OF["last"], "wider throat", "second opening")
"""Changes that no advice begins with: heat, neighbours and fire outdoors, the motor's load, the inside of a machine."""
EFFORTS: tuple[Effort, ...] = tuple(KINDS_OF)
EFFORT: dict[Kind, Effort] = {kind: effort for effort, kinds in KINDS_OF.items() for kind in kinds}
Measured = Literal["size", "length", "angle", "share", "build", "radius", "count", "state"]
Value = float | str | None
IN_PLACE, PORT, SECTION, BENT, JOINED, WHOLE = range(6)
"""In which order changes that go together are applied: those that put rows in come after those that count rows."""


@dataclass(frozen=True)
class Candidate:
    """One thing that may be changed.

    run, section: where, None for what belongs to the whole shop; sections: the stretches it changes. rows: rows of the
    duct table. before, after: what `measured` says, lengths in [m], angles in [deg], shares and ratios [1]. bends: of a
    hose, or how many elbows. build: of elbows as they are. step: the change, of a shop that is spelled out. touches:
    what two changes cannot both have. rank: see IN_PLACE; place: of changes with the same rank the one furthest down
    its run goes first. filter: filter state it holds for. written_like: the run that its own one is a copy of; copies:
    the runs that are written like its own.
    """

    kind: Kind
    step: Change
    measured: Measured
    before: Value
    after: Value
    run: str | None = None
    section: str | None = None
    sections: tuple[str, ...] = ()
    rows: tuple[int, ...] = ()
    bends: int | None = None
    build: str | None = None
    touches: frozenset[object] = frozenset()
    rank: int = IN_PLACE
    place: int = 0
    filter: FilterState = "loaded"
    written_like: str | None = None
    copies: tuple[str, ...] = ()
    use: Callable[[Choice], tuple[Choice, ...]] | None = None
    machine: str | None = None

    @property
    def effort(self) -> Effort:
        """What it takes."""
        return EFFORT[self.kind]

    @property
    def leads(self) -> bool:
        """Whether advice may begin with it."""
        return self.kind not in NEVER_FIRST

    @property
    def change(self) -> Change:
        """The change, of any shop that hangs together: spelled out first, so that no other piece moves with it."""
        return Change(self.step.label, lambda shop: self.step.apply(spelled_out(shop)))

    def excludes(self, other: Candidate) -> bool:
        """Whether the two cannot be made together, as they change the same thing."""
        return not self.touches.isdisjoint(other.touches)


def as_written(shop: Shop, candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return changes with what `like` of the shop as written has to do with their runs."""
    likes = {key_of(r.name): r.pieces[0].joins[0] for r in shop.runs if r.pieces[0].kind == "like"}
    names = {key_of(run.name): run.name for run in shop.runs}
    copies: dict[str, tuple[str, ...]] = {}
    for key in likes:
        source = key_of(likes[key])
        while source in likes:
            source = key_of(likes[source])
        copies[source] = (*copies.get(source, ()), names[key])
    return tuple(
        replace(one, written_like=likes.get(key_of(one.run)), copies=copies.get(key_of(one.run), ()))
        if one.run is not None
        else one
        for one in candidates
    )


def in_order(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return changes that go together in the order in which they are applied."""
    return tuple(sorted(candidates, key=lambda one: (one.rank, -one.place)))


def with_all(shop: Shop, candidates: Sequence[Candidate]) -> Shop:
    """Return a spelled out shop with changes made together."""
    return reduce(lambda so_far, one: one.step.apply(so_far), in_order(candidates), shop)
