"""What stands before and behind a piece in its run, and stretches that are narrower than both."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import NamedTuple

from ductcalc.catalog import is_adapter
from ductcalc.findings.changes import resized
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import Phrase
from ductcalc.findings.subject import Subject
from ductcalc.shop.hanging import Wye
from ductcalc.shop.piece import Piece
from ductcalc.shop.standing import PlacedPiece, standing


class Narrow(NamedTuple):
    """Pieces of one bore in a row, reducers into it included, that are smaller than what is on both sides [m]."""

    pieces: tuple[PlacedPiece, ...]
    before_m: float
    after_m: float

    @property
    def places(self) -> list[int]:
        """Their places in the run."""
        return [one.place for one in self.pieces]

    @property
    def wide_m(self) -> float:
        """Return the bore [m] that would make it no narrower than the smaller neighbour."""
        return min(self.before_m, self.after_m)


def piece_after(one: PlacedPiece) -> Piece | None:
    """Return the piece behind it in its run."""
    return one.run.pieces[one.place + 1] if one.place + 1 < len(one.run.pieces) else None


def bore_after(one: PlacedPiece) -> float | None:
    """Return the bore [m] into which the air goes: of the next row in the run, a reducer's downstream end."""
    following = piece_after(one)
    return None if following is None else following.size_m


def narrow_stretches(subject: Subject) -> Iterator[Narrow]:
    """Yield every stretch that is smaller than both its neighbours.

    What goes on into a wye in its own bore is the size of a drop or main and no neck, unless it is nothing but hose, or
    a machine is short behind it though its hose is wider.
    """
    for run in subject.written_runs:
        for key, group in groupby(standing(run), _stretch):
            pieces = tuple(group)
            before = run.pieces[pieces[0].place - 1].size_m if pieces[0].place else None
            after = _after(subject, pieces) if key[1] else None
            if before is None or after is None:
                continue
            found = Narrow(pieces, before, after)
            if found.wide_m > pieces[0].bore_m and not is_adapter(found.wide_m, pieces[0].bore_m):
                yield found


def _stretch(one: PlacedPiece) -> tuple[float, bool, int]:
    """Return what pieces of one stretch have in common: bore, whether it may be part of one, section."""
    return one.bore_m, one.piece.traits.in_line, one.section


def _after(subject: Subject, pieces: tuple[PlacedPiece, ...]) -> float | None:
    """Return the bore [m] behind a stretch."""
    last = pieces[-1]
    following = piece_after(last)
    if following is not None and following.kind != "wye":
        return following.size_m
    section = subject.section_number[last.name]
    hose = all(one.piece.kind in ("flex", "reducer") for one in pieces)
    pipe = not any(one.piece.kind == "flex" for one in pieces)
    wye = wye_into(subject, section) if hose or (pipe and _is_short(subject, section)) else None
    return None if wye is None else wye.hung.bore_m


def _is_short(subject: Subject, section: int) -> bool:
    """Whether a machine whose air passes a section gets less than it wants."""
    return any(subject.grade_of(port) in ("just short", "short") for port in subject.ports_above[section])


def wye_into(subject: Subject, section: int) -> Wye | None:
    """Return the wye at which a section ends."""
    wyes = subject.model.hanging.wyes
    return next((wye for wye in wyes if any(stream.section == section for stream in wye.streams)), None)


def wye_of(subject: Subject, one: PlacedPiece) -> Wye:
    """Return what comes together at a wye's row."""
    outlet = subject.section_number[one.name]
    return next(wye for wye in subject.model.hanging.wyes if wye.outlet == outlet)


def widest_inlet(subject: Subject, wye: Wye) -> float:
    """Return the largest bore [m] that arrives at a wye."""
    return max(subject.model.sections[stream.section].end_bore_m for stream in wye.streams)


def narrow_sighting(subject: Subject, narrow: Narrow, one: PlacedPiece, what: Phrase, cure: Phrase) -> Observation:
    """Return what is said of a stretch by one of its pieces; it is mended by the size of its smaller neighbour."""
    label = f"{one.run.name}: {one.piece.kind} {one.number} as wide as its neighbours"
    return Observation(
        one.piece.place,
        f"{one.piece.traits.word} in {one.run.name}",
        what,
        cure,
        resized(one.run.name, narrow.places, narrow.wide_m, label),
        watch=subject.watch_piece(one),
    )
