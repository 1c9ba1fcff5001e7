"""What stands before and behind a piece in its run."""

from __future__ import annotations

from ductcalc.shop.piece import Piece
from ductcalc.shop.standing import Standing


def piece_before(one: Standing) -> Piece | None:
    """Return the piece ahead of it in its run."""
    return one.run.pieces[one.place - 1] if one.place else None


def piece_after(one: Standing) -> Piece | None:
    """Return the piece behind it in its run."""
    return one.run.pieces[one.place + 1] if one.place + 1 < len(one.run.pieces) else None


def bore_before(one: Standing) -> float | None:
    """Return the bore [m] from which the air comes: of the row before, of a reducer's own upstream end."""
    place = one.place - 1
    while place >= 0 and one.run.pieces[place].kind == "reducer":
        place -= 1
    return one.run.pieces[place].size_m if place >= 0 else None


def bore_after(one: Standing) -> float | None:
    """Return the bore [m] into which the air goes: of the next row in the run, a reducer's downstream end."""
    following = piece_after(one)
    return None if following is None else following.size_m
