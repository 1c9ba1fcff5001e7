"""Elbows of a longer radius, and wyes that come in at less of an angle."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

from ductcalc.answers.improve.candidate import Candidate
from ductcalc.catalog import default_style, elbow, table
from ductcalc.shop.change import cell_value, together
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, by_section, rows_of, standing

MITRED = "mitred"
Eased = tuple[str, float | None]
"""Build and bend radius over diameter that elbows get, None for the build's own."""
TEE_DEG = 60.0
"""Angle from which a branch counts as a tee, which may become a wye at 45 or 30."""
WYES_DEG = (45.0, 30.0)


@cache
def longest_radius() -> float:
    """Return the longest bend radius over bore that table `elbow` knows."""
    return max(float(row["r_over_d"]) for row in table("elbow").rows if row["r_over_d"])


def easier_elbows(shop: Shop) -> Iterator[Candidate]:
    """Yield for each section its elbows with a longer radius (mitred ones: of the default build), where K falls; those
    of another build or radius are another change.
    """
    for run in shop.runs:
        for pieces in by_section(run).values():
            alike: dict[tuple[str, float | None, Eased], list[PlacedPiece]] = {}
            for one in pieces:
                eased = _eased(one.piece, one.bore_m) if one.piece.kind == "elbow" else None
                if eased is not None:
                    alike.setdefault((built(one.piece), one.piece.radius, eased), []).append(one)
            for (build, radius, eased), found in alike.items():
                yield _elbows(found, build, radius, eased)


def built(piece: Piece) -> str:
    """Return an elbow's build, its own or the default one."""
    return piece.style or default_style("elbow") or ""


def _elbows(found: Sequence[PlacedPiece], build: str, radius: float | None, eased: Eased) -> Candidate:
    """Return one change of elbows that are alike: their build, radius over diameter, and what they become."""
    run, (style, longer), mitred = found[0].run.name, eased, build == MITRED
    steps = []
    for one in found:
        steps.append(cell_value(run, "elbow", one.number, "style", style, ""))
        steps.append(cell_value(run, "elbow", one.number, "radius", longer, ""))
    count = sum(one.piece.count or 1 for one in found)
    now = build if radius is None else f"{build} of R/D {radius:g}"
    return Candidate(
        "easier elbows",
        together(f"{found[0].name}: elbows of R/D {longer or 'as usual'}, {style}, in place of {now}", steps),
        "build" if mitred else "radius",
        build if mitred else radius,
        style if mitred else longer,
        run,
        found[0].name,
        (found[0].name,),
        rows_of(found),
        bends=count,
        build=build,
        touches=frozenset(one.spot for one in found),
    )


def _eased(piece: Piece, bore_m: float) -> Eased | None:
    """Return build and radius of the easier elbow, None where there is none."""
    if piece.k is not None:
        return None
    angle = piece.settled_deg[0]
    build = built(piece)
    better: Eased = (build, longest_radius())
    if build == MITRED:
        better = (default_style("elbow") or "", None)
    now = elbow(piece.style, piece.radius, angle, bore_m).value
    return better if elbow(*better, angle, bore_m).value < now else None


def slanted_wyes(shop: Shop) -> Iterator[Candidate]:
    """Yield for each tee a wye at 45 and at 30, for each wye at more than 30 one at 30; own k stays out."""
    for run in shop.runs:
        for one in standing(run):
            if one.piece.kind != "wye" or one.piece.k is not None:
                continue
            angles = one.piece.settled_deg
            for target in WYES_DEG if max(angles) >= TEE_DEG else WYES_DEG[1:]:
                if max(angles) > target:
                    yield _slanted(one, angles, target)


def _slanted(one: PlacedPiece, angles: tuple[float, ...], target: float) -> Candidate:
    label = f"{one.run.name}: wye {one.number} at {target:g} degrees"
    new = tuple(min(angle, target) for angle in angles)
    return Candidate(
        "slanted wye",
        cell_value(one.run.name, "wye", one.number, "angles_deg", new, label),
        "angle",
        max(angles),
        target,
        one.run.name,
        one.name,
        (one.name,),
        one.rows,
        touches=frozenset([one.spot]),
    )
