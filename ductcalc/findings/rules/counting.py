"""Things counted twice, or by a figure that does not grow with speed."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import fact
from ductcalc.findings.phrase import length, say
from ductcalc.findings.rule import Rule
from ductcalc.findings.sighting import Sighting
from ductcalc.findings.subject import Subject
from ductcalc.shop.change import Change, cell_value
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, Run
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import in_run, run_named

ALIKE = 2
"""Fewest pieces in a row that count as the main written twice."""


def main_twice(subject: Subject) -> Iterator[Sighting]:
    """See every branch that ends with the very pieces that the main has behind its wye."""
    least = fact("findings", "main written twice").value
    for run in subject.shop.runs:
        joined = _joined_at(subject, run)
        if joined is None:
            continue
        main, wye = joined
        behind = [piece for piece in main.pieces[wye + 1 :] if piece.kind not in ("wye", "collector")]
        count = _alike(run, behind)
        shared = run.pieces[len(run.pieces) - count :]
        long = sum(piece.length_m or 0.0 for piece in shared if piece.kind == "pipe")
        if count < ALIKE or long < least:
            continue
        ports = tuple(p for p, port in enumerate(subject.model.ports) if key_of(port.run) == key_of(run.name))
        yield Sighting(
            shared[0].place,
            run.name,
            say(
                "its last {} pieces ({} of pipe) are those of {} behind the wye where it joins: they are there twice",
                count, length(long), main.name,
            ),
            say("delete these rows of the branch"),
            _without_last(run.name, count),
            watch=subject.watch_ports(ports) or subject.watch_worst(),
        )  # fmt: skip


def _joined_at(subject: Subject, run: Run) -> tuple[Run, int] | None:
    for main in subject.shop.runs:
        for place, piece in enumerate(main.pieces):
            if piece.kind == "wye" and key_of(run.name) in map(key_of, piece.joins):
                return main, place
    return None


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


def fixed_losses(subject: Subject) -> Iterator[Sighting]:
    """See every length of pipe or hose whose loss is written as its own k in place of its friction."""
    for one in subject.of_kind("pipe", "flex"):
        if one.piece.k is None or not one.piece.length_m:
            continue
        yield Sighting(
            one.piece.place,
            f"{'hose' if one.piece.kind == 'flex' else 'pipe'} in {one.run.name}",
            say("{} with its own k of {}, which replaces its friction", length(one.piece.length_m), f"{one.piece.k:g}"),
            say("leave k blank: a loss by the foot from a table holds at one speed only"),
            cell_value(one.run.name, one.piece.kind, one.number, "k", None, f"{one.run.name}: friction by length"),
            "otherwise",
            subject.watch_piece(one),
        )


RULES = (
    Rule(
        "main written twice",
        "a branch that ends with the pieces of the main behind its wye",
        "delete them in the branch",
        "practice",
        main_twice,
    ),
    Rule(
        "loss by the foot",
        "pipe or hose with a length and its own k",
        "a blank k",
        "practice",
        fixed_losses,
    ),
)
