"""What the table of piece kinds says is what the rest of the house does with them."""

from __future__ import annotations

from dataclasses import fields

import pytest

import ductcalc
from ductcalc.answers.parts.uses import uses
from ductcalc.model.model import build_model
from ductcalc.shop.hanging_checks import problems_of
from ductcalc.shop.kinds import PIECE_KINDS, TRAITS, PieceKind, Required
from ductcalc.shop.piece import Piece, Run
from ductcalc.shop.shop import Shop

LINE = [kind for kind in PIECE_KINDS if TRAITS[kind].in_line]
NEEDS = [(kind, need) for kind in PIECE_KINDS for need in TRAITS[kind].needs]


def in_line(kind: PieceKind) -> Piece:
    """A piece with a value for every cell that its kind needs."""
    return Piece(kind, size_m=0.15, **{need.field: 1.0 for need in TRAITS[kind].needs})


def shop_of(*pieces: Piece, outlet: tuple[Piece, ...] = ()) -> Shop:
    end = Piece("collector", size_m=0.15)
    runs = [Run("trunk", (Piece("port", machine="saw", size_m=0.15), *pieces, end))]
    return Shop("shop", (*runs, Run("out", (end, *outlet))) if outlet else tuple(runs))


@pytest.mark.parametrize(("kind", "need"), NEEDS)
def test_what_a_kind_needs_is_a_cell_that_it_takes_and_a_field_of_a_piece(kind: PieceKind, need: Required) -> None:
    assert need.column in TRAITS[kind].columns
    assert need.field in {field.name for field in fields(Piece)}


@pytest.mark.parametrize(("kind", "need"), NEEDS)
def test_a_piece_made_in_code_without_what_it_needs_costs_no_silent_nothing(kind: PieceKind, need: Required) -> None:
    with pytest.raises(ductcalc.InputError) as caught:
        build_model(shop_of(Piece(kind, size_m=0.15)))
    assert [problem.message for problem in caught.value.problems] == [need.message]


@pytest.mark.parametrize("kind", LINE)
def test_a_piece_is_bought_as_the_part_of_its_row(kind: PieceKind) -> None:
    bought = [use.name.kind for use in uses(build_model(shop_of(in_line(kind))))]
    assert bought == ["port", TRAITS[kind].part]


@pytest.mark.parametrize("kind", LINE)
def test_a_pieces_own_k_counts_in_the_group_of_its_row(kind: PieceKind) -> None:
    made = build_model(shop_of(Piece(kind, size_m=0.15, length_m=1.0, k=2.0)))
    assert [loss.kind for loss in made.sections[0].losses()] == ["machine", TRAITS[kind].loss]


@pytest.mark.parametrize("kind", PIECE_KINDS)
def test_the_outlet_holds_what_its_row_allows(kind: PieceKind) -> None:
    found = problems_of(shop_of(in_line("pipe"), outlet=(in_line("pipe"), in_line(kind))))
    refused = [problem for problem in found if problem.message.startswith("an outlet duct cannot hold")]
    assert bool(refused) is not TRAITS[kind].in_outlet
