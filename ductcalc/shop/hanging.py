"""How the runs hang together: sections between wyes, the wyes, the ports, upstream first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from ductcalc.errors import InputError
from ductcalc.shop.hanging_checks import problems_of, run_by_key
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, Run
from ductcalc.shop.shop import Shop

SectionStart = Literal["port", "cap", "wye"]


class HungPiece(NamedTuple):
    """A piece with its inside diameter [m] settled (a blank size carries on from the row before) and its run."""

    piece: Piece
    bore_m: float
    run: str


@dataclass(frozen=True)
class Section:
    """Consecutive pieces that carry the same air; `bore_m` is the bore it starts with (a wye's outlet)."""

    name: str
    run: str
    starts: SectionStart
    pieces: tuple[HungPiece, ...]
    bore_m: float

    @property
    def end_bore_m(self) -> float:
        """Inside diameter [m] of the last piece."""
        return self.pieces[-1].bore_m if self.pieces else self.bore_m


class Stream(NamedTuple):
    """A section that ends in a wye, at an angle [deg] to the outlet; `straight` is the run going through."""

    section: int
    angle_deg: float
    straight: bool


class Wye(NamedTuple):
    """Where streams meet: the outlet's bore [m], the streams (straight run first), the section that goes on."""

    hung: HungPiece
    streams: tuple[Stream, ...]
    outlet: int


class Port(NamedTuple):
    """Where a machine's air enters. Ports of one section share its hose in turn: never open together.

    machine: spelled as in the table's first port row of it.
    """

    machine: str
    run: str
    section: int
    hung: HungPiece


@dataclass(frozen=True)
class Hanging:
    """The tree: sections with every upstream one before it, the wyes, the ports, the last section, the outlet."""

    sections: tuple[Section, ...]
    wyes: tuple[Wye, ...]
    ports: tuple[Port, ...]
    root: int
    collector: Piece
    outlet: tuple[HungPiece, ...]

    def wye_below(self) -> tuple[int | None, ...]:
        """For each section the wye that it ends in; None for the last section."""
        below: list[int | None] = [None] * len(self.sections)
        for number, wye in enumerate(self.wyes):
            for stream in wye.streams:
                below[stream.section] = number
        return tuple(below)

    def machines(self) -> tuple[str, ...]:
        """Machine names in the order of the table, each once."""
        names: dict[str, str] = {}
        for port in self.ports:
            names.setdefault(key_of(port.machine), port.machine)
        return tuple(names.values())


def hang(shop: Shop, sound: bool = False) -> Hanging:
    """Hang the shop's runs into one tree; raises InputError with every problem found.

    sound: the runs are known to hang together, and are not looked at again.
    """
    problems = [] if sound else problems_of(shop)
    if problems:
        raise InputError(problems)
    runs = [_copied(run, shop) for run in shop.runs]
    ends = [run for run in runs if run.is_last]
    outlet = [run for run in runs if run.is_outlet]
    builder = _Builder({key_of(run.name): run for run in runs})
    builder.build(ends[0])
    order = {run.name: number for number, run in enumerate(runs)}
    ports = sorted(builder.ports, key=lambda port: order[port.run])
    spelling: dict[str, str] = {}
    for port in ports:
        spelling.setdefault(key_of(port.machine), port.machine)
    return Hanging(
        sections=tuple(builder.sections),
        wyes=tuple(builder.wyes),
        ports=tuple(port._replace(machine=spelling[key_of(port.machine)]) for port in ports),
        root=len(builder.sections) - 1,
        collector=ends[0].pieces[-1],
        outlet=_outlet_pieces(outlet[0]) if outlet else (),
    )


def _copied(run: Run, shop: Shop) -> Run:
    """Replace a run that says `like` by the pieces of the run it names, with its own machine and flow."""
    head = run.pieces[0]
    if head.kind != "like":
        return run
    source, seen = run, {key_of(run.name)}
    while source.pieces[0].kind == "like":
        source = run_by_key(shop.runs)[key_of(source.pieces[0].joins[0])]
        if key_of(source.name) in seen:
            break
        seen.add(key_of(source.name))
    return Run(run.name, tuple(_own(piece, head, run.name) for piece in source.pieces), run.place)


def spelled_out(shop: Shop) -> Shop:
    """Return the same shop with every `like` run as pieces of its own and every size written; a what-if of one piece
    then moves no other.

    The shop must hang together.
    """
    return replace(shop, runs=tuple(sized(_copied(run, shop)) for run in shop.runs))


def sized(run: Run) -> Run:
    """Return a run with the size of every piece written; one of its pieces must have a size."""
    bores = settled_bores(run.pieces)
    if all(piece.size_m == bore for piece, bore in zip(run.pieces, bores, strict=True)):
        return run
    return replace(run, pieces=tuple(replace(p, size_m=bore) for p, bore in zip(run.pieces, bores, strict=True)))


def _own(piece: Piece, head: Piece, run_name: str) -> Piece:
    if piece.kind == "gate":
        return replace(piece, machine=None, place=head.place)
    if piece.kind != "port":
        return replace(piece, place=head.place)
    return replace(
        piece,
        machine=head.machine or run_name,
        wanted=head.wanted or piece.wanted,
        material=head.material or piece.material,
        place=head.place,
    )


def settled_bores(pieces: tuple[Piece, ...]) -> list[float]:
    """Return each piece's bore [m]: its own, else the row before's, else (at a run's head) the next one written."""
    bores: list[float] = []
    last = next((piece.size_m for piece in pieces if piece.size_m is not None), None)
    if last is None:
        raise ValueError("no piece of the run has a size")
    heading = True
    for index, piece in enumerate(pieces):
        heading = heading and piece.kind == "port"
        if heading and piece.size_m is None:
            following = next((p.size_m for p in pieces[index:] if p.size_m is not None), last)
            bores.append(following)
            continue
        last = piece.size_m if piece.size_m is not None else last
        bores.append(last)
    return bores


def _outlet_pieces(run: Run) -> tuple[HungPiece, ...]:
    bores = settled_bores(run.pieces)
    return tuple(HungPiece(piece, bore, run.name) for piece, bore in zip(run.pieces, bores, strict=True))


class _Builder:
    """Cuts runs into sections, upstream runs first, without recursion (chains may be thousands deep)."""

    def __init__(self, runs: dict[str, Run]) -> None:
        self.runs = runs
        self.sections: list[Section] = []
        self.wyes: list[Wye] = []
        self.ports: list[Port] = []
        self.last_section: dict[str, int] = {}

    def build(self, root: Run) -> None:
        stack: list[tuple[str, bool]] = [(key_of(root.name), False)]
        while stack:
            key, ready = stack.pop()
            if ready:
                self._cut(self.runs[key])
                continue
            stack.append((key, True))
            stack.extend((key_of(name), False) for name in reversed(_joined(self.runs[key])))

    def _cut(self, run: Run) -> None:
        bores = settled_bores(run.pieces)
        hung = [HungPiece(p, b, run.name) for p, b in zip(run.pieces, bores, strict=True)]
        gathered: list[HungPiece] = []
        start: SectionStart = "port" if run.pieces[0].kind == "port" else "cap"
        start_bore, number, straight = bores[0], 1, run.pieces[0].kind != "wye"
        pending: HungPiece | None = None
        pending_streams: tuple[Stream, ...] = ()
        for item in hung:
            if item.piece.kind != "wye":
                gathered.append(item)
                continue
            through: int | None = None
            if straight:
                through = self._close(run, number, start, gathered, start_bore, pending, pending_streams)
                number += 1
            straight, gathered = True, []
            pending, pending_streams = item, self._streams(item, through)
            start, start_bore = "wye", item.bore_m
        last = self._close(run, number, start, gathered, start_bore, pending, pending_streams)
        self.last_section[key_of(run.name)] = last

    def _close(
        self,
        run: Run,
        number: int,
        start: SectionStart,
        gathered: list[HungPiece],
        start_bore: float,
        wye: HungPiece | None,
        streams: tuple[Stream, ...],
    ) -> int:
        index = len(self.sections)
        ports = [item for item in gathered if item.piece.kind == "port"]
        for item in ports:
            self.ports.append(Port(item.piece.machine or run.name, run.name, index, item))
        body = ports[:1] + [item for item in gathered if item.piece.kind not in ("port", "cap")]
        self.sections.append(Section(f"{run.name} {number}", run.name, start, tuple(body), start_bore))
        if wye is not None:
            self.wyes.append(Wye(wye, streams, index))
        return index

    def _streams(self, item: HungPiece, through: int | None) -> tuple[Stream, ...]:
        joins = item.piece.joins
        angles = item.piece.settled_deg
        run_angle, branch_angles = _angles(item.piece, angles, len(joins))
        streams = [] if through is None else [Stream(through, run_angle, True)]
        for name, angle in zip(joins, branch_angles, strict=True):
            if key_of(name) != "cap":
                streams.append(Stream(self.last_section[key_of(name)], angle, False))
        return tuple(streams)


def _angles(piece: Piece, angles: tuple[float, ...], count: int) -> tuple[float, tuple[float, ...]]:
    """Return the straight run's angle (0 unless the style is `y`) and one angle for each joining run."""
    is_y = piece.style is not None and key_of(piece.style) == "y"
    if is_y and len(angles) == count + 1:
        return angles[0], angles[1:]
    branches = angles * count if len(angles) == 1 else angles
    return (branches[0] if is_y else 0.0), branches


def _joined(run: Run) -> list[str]:
    return [name for piece in run.pieces if piece.kind == "wye" for name in piece.joins if key_of(name) != "cap"]
