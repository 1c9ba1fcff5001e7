"""Things counted twice, or by a figure that does not grow with speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from ductcalc.catalog import fact, is_adapter
from ductcalc.findings.changes import resized
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import length, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject
from ductcalc.shop.change import Change, cell_value, together
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, Run
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, in_run, run_named, standing

TAPERED = "tapered"
ALIKE = 2
"""Fewest pieces in a row that count as the main written twice."""
PASTED = 3
"""Rows of pipe and fittings from which on a repeated block counts as pasted twice."""


def main_twice(subject: Subject) -> Iterator[Observation]:
    """See every branch that ends with the very pieces that the main has behind its wye, up to the next wye at least."""
    for run in subject.written_runs:
        count, joined = written_twice(subject, run), subject.joined_at.get(key_of(run.name))
        if not count or joined is None:
            continue
        shared = run.pieces[len(run.pieces) - count :]
        long = sum(piece.length_m or 0.0 for piece in shared if piece.kind == "pipe")
        ports = tuple(p for p, port in enumerate(subject.model.ports) if key_of(port.run) == key_of(run.name))
        yield Observation(
            shared[0].place,
            run.name,
            say(
                "its last {} pieces ({} of pipe) stand in {} as well, behind the wye where it joins",
                count, length(long), joined[0].name,
            ),
            say("delete these rows of the branch"),
            _without_last(run.name, count),
            watch=subject.watch_ports(ports) or subject.watch_worst(),
        )  # fmt: skip


def written_twice(subject: Subject, run: Run) -> int:
    """Return how many of a branch's last pieces are those of the main behind its wye, 0 where they are its own."""
    joined = subject.joined_at.get(key_of(run.name))
    if joined is None:
        return 0
    main, wye = joined
    own = (piece for piece in main.pieces[wye + 1 :] if not piece.traits.ends_stretch)
    count = _alike(run, list(islice(own, len(run.pieces))))
    long = sum(piece.length_m or 0.0 for piece in run.pieces[len(run.pieces) - count :] if piece.kind == "pipe")
    if count < max(ALIKE, _whole_stretch(main, wye)) or long < fact("findings", "main written twice").value:
        return 0
    return count


def _whole_stretch(main: Run, wye: int) -> int:
    """Return how many pieces the main has from a wye to the next one, or to the collector."""
    count = 0
    for piece in main.pieces[wye + 1 :]:
        if piece.traits.ends_stretch:
            break
        count += 1
    return count


def _alike(run: Run, behind: list[Piece]) -> int:
    """Return how many of a run's last pieces are the first ones behind the wye, in the same order."""
    tail = run.pieces[1:]
    for count in range(min(len(tail), len(behind)), 0, -1):
        if all(_same(a, b) for a, b in zip(tail[len(tail) - count :], behind[:count], strict=True)):
            return count
    return 0


def _same(one: Piece, other: Piece) -> bool:
    return (one.kind, one.size_m, one.length_m, one.angles_deg, one.count) == (
        other.kind,
        other.size_m,
        other.length_m,
        other.angles_deg,
        other.count,
    )


def _without_last(run: str, count: int) -> Change:
    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        return in_run(shop, run, pieces[: len(pieces) - count])

    return Change(f"{run}: without the main's pieces", apply)


def fixed_losses(subject: Subject) -> Iterator[Observation]:
    """See every length of pipe or hose whose loss is written as its own k in place of its friction."""
    for one in subject.straights():
        if one.piece.k is None or not one.piece.length_m:
            continue
        yield Observation(
            one.piece.place,
            f"{one.piece.traits.word} in {one.run.name}",
            say(
                "its own k of {} replaces the friction of {}, which grows with speed",
                f"{one.piece.k:g}",
                length(one.piece.length_m),
            ),
            say("leave k blank: a loss by the foot holds at one speed only"),
            cell_value(one.run.name, one.piece.kind, one.number, "k", None, f"{one.run.name}: friction by length"),
            "otherwise",
            subject.watch_piece(one),
        )


def wyes_as_elbows(subject: Subject) -> Iterator[Observation]:
    """See every branch that ends in an elbow as wide as the wye right behind it, and wider than the branch."""
    for run in subject.written_runs:
        joined = subject.joined_at.get(key_of(run.name))
        last = list(standing(run))[-1]
        before = next((p.size_m for p in run.pieces[-2::-1] if p.kind not in ("elbow", "reducer")), None)
        if joined is None or last.piece.kind != "elbow" or before is None:
            continue
        main, wye = joined
        outlet = main.pieces[wye].size_m
        if outlet is None or last.bore_m != outlet or before >= outlet or is_adapter(outlet, before):
            continue
        yield Observation(
            last.piece.place,
            f"elbow in {run.name}",
            say(
                "an elbow of {} stands right at the wye of {}, and the branch is {}. It looks like the wye, whose row"
                " in {} counts the turn",
                size(last.bore_m), size(outlet), size(before), main.name,
            ),
            say("delete its row if it stands for the wye"),
            _without_last(run.name, 1),
            "otherwise",
            subject.watch_piece(last),
        )  # fmt: skip


def tapers_twice(subject: Subject) -> Iterator[Observation]:
    """See every tapered hood whose port is followed by a reducer to something narrower: the taper itself."""
    for one in subject.of_kind("reducer"):
        ports = one.run.pieces[: one.place]
        if not ports or any(port.kind != "port" for port in ports):
            continue
        wide = max(port.size_m or 0.0 for port in ports)
        tapered = all((port.style or "").startswith(TAPERED) and port.k is None and port.drop is None for port in ports)
        if not tapered or one.bore_m >= wide or is_adapter(wide, one.bore_m):
            continue
        yield Observation(
            one.piece.place,
            f"reducer in {one.run.name}",
            say(
                "its hood tapers, as its style says, and a reducer from {} to {} follows at once",
                size(wide), size(one.bore_m),
            ),
            say("if that is the hood's own taper, give the port {} and delete the reducer", size(one.bore_m)),
            _without_reducer(one),
            "otherwise",
            subject.watch_piece(one),
        )  # fmt: skip


def _without_reducer(one: PlacedPiece) -> Change:
    run, places = one.run.name, range(one.place)
    narrow = resized(run, places, one.bore_m, f"{run}: port as wide as its hood's throat")

    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        return in_run(shop, run, [*pieces[: one.place], *pieces[one.place + 1 :]])

    return together(f"{run}: the hood's taper counted once", [narrow, Change("no reducer", apply)])


def pasted_rows(subject: Subject) -> Iterator[Observation]:
    """See rows of a run that follow once more at once, as no duct is built: hose or gate among them, or three."""
    for run in subject.written_runs:
        found = _pasted(run)
        if found is None:
            continue
        place, count = found
        again = run.pieces[place]
        rows = f"{count} rows stand" if count > 1 else f"a {again.kind} stands"
        ports = tuple(p for p, port in enumerate(subject.model.ports) if key_of(port.run) == key_of(run.name))
        yield Observation(
            again.place,
            run.name,
            say("{} here twice on end, as if pasted twice", rows),
            say("delete what is there twice"),
            _without(run.name, place, count),
            "otherwise",
            subject.watch_ports(ports) or subject.watch_worst(),
        )


def _pasted(run: Run) -> tuple[int, int] | None:
    """Return where the longest block of rows begins that repeats the rows ahead of it, and how long it is."""
    pieces = run.pieces
    for count in range(len(pieces) // 2, 0, -1):
        for place in range(count, len(pieces) - count + 1):
            ahead, again = pieces[place - count : place], pieces[place : place + count]
            if all(_same(a, b) for a, b in zip(ahead, again, strict=True)) and _is_whole(ahead):
                return place, count
    return None


def _is_whole(rows: Sequence[Piece]) -> bool:
    """Whether nobody would build a block of rows twice on end; pipe and elbows in turn climb over things."""
    kinds = {piece.kind for piece in rows}
    if not all(piece.traits.in_line for piece in rows):
        return False
    return "gate" in kinds or ("flex" in kinds and len(rows) > 1) or (len(rows) >= PASTED and len(kinds) > 1)


def _without(run: str, place: int, count: int) -> Change:
    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        return in_run(shop, run, [*pieces[:place], *pieces[place + count :]])

    return Change(f"{run}: rows once", apply)


RULES = (
    Rule(
        "main written twice",
        "a branch that ends with the pieces of the main behind its wye",
        "delete them in the branch",
        "practice",
        main_twice,
    ),
    Rule(
        "rows twice",
        "rows of a run that follow once more at once",
        "delete them once",
        "practice",
        pasted_rows,
        always=True,
    ),
    Rule(
        "wye as elbow",
        "a branch that ends in an elbow as wide as the wye right behind it",
        "delete the elbow",
        "practice",
        wyes_as_elbows,
    ),
    Rule(
        "taper twice",
        "a tapered hood with a reducer right behind its port",
        "the port in the size of the hood's throat, no reducer",
        "practice",
        tapers_twice,
    ),
    Rule(
        "loss by the foot",
        "pipe or hose with a length and its own k",
        "a blank k",
        "practice",
        fixed_losses,
    ),
)
