"""Elbows that stand badly, or that nobody wrote."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ductcalc.catalog import default_style, fact
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import length, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.counting import written_twice
from ductcalc.findings.rules.neighbours import piece_after
from ductcalc.findings.subject import Subject
from ductcalc.shop.change import Change
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, in_run, run_named


def close_bends(subject: Subject) -> Iterator[Observation]:
    """See every elbow that follows another one without enough straight pipe between."""
    sharp = fact("findings", "close bends").value
    straight = fact("findings", "straight between bends").value
    factor = fact("findings", "close bends factor").value
    for one in subject.of_kind("elbow"):
        if one.piece.settled_deg[0] < sharp:
            continue
        before = _bend_before(one, straight * one.bore_m)
        if before is None or before.settled_deg[0] < sharp:
            continue
        loss = _k_of(subject, one)
        yield Observation(
            one.piece.place,
            f"elbow in {one.run.name}",
            say("two elbows of {} with less than {} bores of straight pipe between", size(one.bore_m), f"{straight:g}"),
            say("put {} of straight pipe between, or make it one bend", size(straight * one.bore_m)),
            _with_loss(one, (factor - 1.0) * loss) if loss is not None else None,
            "counts",
            subject.watch_piece(one),
        )


def _bend_before(one: PlacedPiece, straight_m: float) -> Piece | None:
    """Return the elbow ahead of a piece, when less straight pipe than that is between."""
    between = 0.0
    for piece in reversed(one.run.pieces[: one.place]):
        if piece.kind == "elbow":
            return piece if between < straight_m else None
        if piece.kind != "pipe":
            return None
        between += piece.length_m or 0.0
    return None


def _k_of(subject: Subject, one: PlacedPiece) -> float | None:
    """Return the decided coefficient of an elbow row's last bend."""
    section = subject.model.sections[subject.section_number[one.name]]
    found = next((loss for loss in section.body if loss.kind == "elbow" and loss.place == one.piece.place), None)
    return None if found is None or found.k is None else found.k.value / (one.piece.count or 1)


def bend_at_the_inlet(subject: Subject) -> Iterator[Observation]:
    """See an elbow right ahead of the collector."""
    sharp = fact("findings", "close bends").value
    straight = fact("findings", "straight between bends").value
    for one in subject.of_kind("elbow"):
        ahead, behind = 0.0, one.place + 1
        while behind < len(one.run.pieces) and one.run.pieces[behind].kind in ("pipe", "reducer"):
            ahead += one.run.pieces[behind].length_m or 0.0
            behind += 1
        last = one.run.pieces[behind].kind if behind < len(one.run.pieces) else ""
        if last != "collector" or ahead >= straight * one.bore_m or one.piece.settled_deg[0] < sharp:
            continue
        yield Observation(
            one.piece.place,
            f"elbow in {one.run.name}",
            say("an elbow of {} stands right at the collector's inlet: the air enters askew", size(one.bore_m)),
            say("put {} of straight pipe ahead of the inlet", size(straight * one.bore_m)),
            _with_loss(one, fact("findings", "bend at the inlet").value),
            "counts",
            subject.watch_piece(one),
        )


def _with_loss(one: PlacedPiece, k: float) -> Change:
    """Put a loss of so many VP behind a piece."""

    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, one.run.name).pieces
        extra = Piece("other", size_m=one.bore_m, k=k, note="bends close together", place=one.piece.place)
        return in_run(shop, one.run.name, [*pieces[: one.place + 1], extra, *pieces[one.place + 1 :]])

    return Change(f"{one.run.name}: {k:.3g} VP more at elbow {one.number}", apply)


def turns_without_elbow(subject: Subject) -> Iterator[Observation]:
    """See every place where a riser goes over into level pipe, or back, and no elbow is written."""
    for one in subject.of_kind("pipe"):
        behind = piece_after(one)
        if behind is None or behind.kind != "pipe":
            continue
        steep, next_steep = _steepness(one.piece), _steepness(behind)
        if steep is None or next_steep is None:
            continue
        if not (_turns(steep, next_steep) or _turns(next_steep, steep)) or _goes_over_into_the_main(subject, one):
            continue
        long, way = length(one.piece.length_m or 0.0), _way(one.piece, behind)
        yield Observation(
            behind.place,
            f"pipe in {one.run.name}",
            say("{} of pipe {}, the next pipe {}, and no elbow is between", long, *way),
            say("write the elbow"),
            _with_elbow(one),
            "counts",
            subject.watch_piece(one),
        )


def _goes_over_into_the_main(subject: Subject, one: PlacedPiece) -> bool:
    """Whether what follows a piece is the main written once more, which is told as that."""
    return one.place + 1 == len(one.run.pieces) - written_twice(subject, one.run)


def _way(*pieces: Piece) -> tuple[str, ...]:
    """Return how each pipe lies."""
    upright = ("goes up" if (piece.rise_m or 0.0) > 0.0 else "goes down" for piece in pieces)
    return tuple(
        word if (_steepness(piece) or 0.0) >= fact("findings", "riser").value else "lies level"
        for word, piece in zip(upright, pieces, strict=True)
    )


def _steepness(piece: Piece) -> float | None:
    return abs(piece.rise_m or 0.0) / piece.length_m if piece.length_m else None


def _turns(steep: float, level: float) -> bool:
    return steep >= fact("findings", "riser").value and level <= fact("findings", "level pipe").value


def _with_elbow(one: PlacedPiece) -> Change:
    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, one.run.name).pieces
        elbow = replace(
            Piece("elbow", style=default_style("elbow"), size_m=one.bore_m, count=1), place=one.piece.place
        )
        return in_run(shop, one.run.name, [*pieces[: one.place + 1], elbow, *pieces[one.place + 1 :]])

    return Change(f"{one.run.name}: an elbow where it turns", apply)


RULES = (
    Rule("close bends", "two elbows with hardly any straight pipe between", "straight pipe", "practice", close_bends),
    Rule(
        "elbow at the inlet",
        "an elbow right at the collector's inlet",
        "straight pipe ahead of the inlet",
        "practice",
        bend_at_the_inlet,
    ),
    Rule(
        "missing elbow",
        "pipe that turns from upright to level without an elbow",
        "the elbow's row",
        "practice",
        turns_without_elbow,
        always=True,
    ),
)
