"""Elbows of a longer radius, and wyes that come in at less of an angle."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from ductcalc.answers.improve.candidate import Candidate, Standing, by_section, rows_of, standing, together
from ductcalc.catalog import default_style, elbow, table
from ductcalc.model.pieces import RIGHT_ANGLE_DEG
from ductcalc.shop.change import cell_value
from ductcalc.shop.hanging import DEFAULT_WYE_ANGLE_DEG
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop

MITRED = "mitred"
TEE_DEG = 60.0
"""Angle from which a branch counts as a tee, which may become a wye at 45 or 30."""
WYES_DEG = (45.0, 30.0)


@cache
def longest_radius() -> float:
    """Return the longest bend radius over bore that table `elbow` knows."""
    return max(float(row["r_over_d"]) for row in table("elbow").rows if row["r_over_d"])


def easier_elbows(shop: Shop) -> Iterator[Candidate]:
    """Yield for each section its elbows with a longer radius (mitred ones: of the default build), where K falls."""
    for run in shop.runs:
        for pieces in by_section(run).values():
            found = [one for one in pieces if one.piece.kind == "elbow" and _eased(one.piece, one.bore_m) is not None]
            if found:
                yield _elbows(found)


def _elbows(found: list[Standing]) -> Candidate:
    run, steps = found[0].run.name, []
    for one in found:
        style, radius = _eased(one.piece, one.bore_m) or (None, None)
        steps.append(cell_value(run, "elbow", one.number, "style", style, ""))
        steps.append(cell_value(run, "elbow", one.number, "radius", radius, ""))
    style, radius = _eased(found[0].piece, found[0].bore_m) or (None, None)
    count = sum(one.piece.count or 1 for one in found)
    built = found[0].piece.style or default_style("elbow") or ""
    return Candidate(
        "easier elbows",
        together(f"{found[0].name}: elbows of R/D {radius or 'as usual'}, {style}", steps),
        "build" if built == MITRED else "radius",
        built,
        style if built == MITRED else radius,
        run,
        found[0].name,
        (found[0].name,),
        rows_of(found),
        bends=count,
        touches=frozenset(one.spot for one in found),
    )


def _eased(piece: Piece, bore_m: float) -> tuple[str, float | None] | None:
    """Return build and radius of the easier elbow, None where there is none."""
    if piece.k is not None:
        return None
    angle = piece.angles_deg[0] if piece.angles_deg else RIGHT_ANGLE_DEG
    built = piece.style or default_style("elbow") or ""
    better: tuple[str, float | None] = (built, longest_radius())
    if built == MITRED:
        better = (default_style("elbow") or "", None)
    now = elbow(piece.style, piece.radius, angle, bore_m).value
    return better if elbow(*better, angle, bore_m).value < now else None


def slanted_wyes(shop: Shop) -> Iterator[Candidate]:
    """Yield for each tee a wye at 45 and at 30, for each wye at more than 30 one at 30; own k stays out."""
    for run in shop.runs:
        for one in standing(run):
            if one.piece.kind != "wye" or one.piece.k is not None:
                continue
            angles = one.piece.angles_deg or (DEFAULT_WYE_ANGLE_DEG,)
            for target in WYES_DEG if max(angles) >= TEE_DEG else WYES_DEG[1:]:
                if max(angles) > target:
                    yield _slanted(one, angles, target)


def _slanted(one: Standing, angles: tuple[float, ...], target: float) -> Candidate:
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
