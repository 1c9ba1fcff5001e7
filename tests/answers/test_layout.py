"""The tree's answer: what hangs where, and what nobody wrote."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc.answers.layout import Layout, LayoutPiece, layout
from ductcalc.model.model import build_model
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from ductcalc.report.tree import tree_blocks
from ductcalc.shop.hanging import hang
from ductcalc.tables import read_shop
from tests.scenes import EXAMPLES, SHOPS, end, gate, pipe, port, run, shop, wye


@pytest.fixture
def cellar() -> Layout:
    return layout(read_shop(SHOPS / "cellar"))


def _kinds(found: Layout, name: str) -> list[str]:
    return [piece.kind for piece in found.run(name).pieces]


def test_pieces_stand_in_the_order_of_the_air(cellar: Layout) -> None:
    assert _kinds(cellar, "saw branch") == ["port", "wye", "gate", "pipe"]
    assert cellar.root == "main" and cellar.run("guard hose").joins == "saw branch"


def test_every_row_of_the_table_hangs_somewhere(cellar: Layout) -> None:
    rows = sum(len(run.pieces) for run in read_shop(SHOPS / "cellar").runs)
    hung = sum("piece" not in piece.assumed for run in cellar.runs for piece in run.pieces)
    assert hung == rows


def test_assumed_reducers_are_those_of_the_model(cellar: Layout) -> None:
    model = build_model(read_shop(SHOPS / "cellar"))
    assumed = [loss.bore_m for section in model.sections for loss in section.losses() if loss.assumed]
    shown = [_piece(piece) for run in cellar.runs for piece in run.pieces if "piece" in piece.assumed]
    assert shown == assumed == [pytest.approx(0.127)]


def _piece(piece: LayoutPiece) -> float:
    assert piece.before_m is not None
    return min(piece.before_m, piece.bore_m)


@pytest.mark.parametrize(
    ("run_name", "kind", "what"),
    [("planer drop", "port", "wanted"), ("planer drop", "port", "resistance"), ("planer drop", "flex", "count")],
)
def test_what_nobody_wrote_is_marked(cellar: Layout, run_name: str, kind: str, what: str) -> None:
    piece = next(piece for piece in cellar.run(run_name).pieces if piece.kind == kind)
    assert what in piece.assumed


def test_blank_style_and_blank_angle_are_marked(cellar: Layout) -> None:
    pieces = cellar.run("main").pieces
    assert [piece.style for piece in pieces if "style" in piece.assumed] == ["spiral"]
    assert [piece.joins for piece in pieces if "angle" in piece.assumed] == [("saw branch",)]


def test_lengths_of_the_ways_are_those_of_the_model(cellar: Layout) -> None:
    model = build_model(read_shop(SHOPS / "cellar"))
    assert dict(cellar.ways_m)["band saw"] == model.length_m(0)


def test_table_without_a_collector_is_read_back_too() -> None:
    found = layout(ductcalc.shop_from_rows(run("a", port("lathe", "4 in"), gate(), pipe("3 ft"), end())))
    assert found.collector is None
    assert _kinds(found, "a") == ["port", "gate", "pipe", "collector"]


def test_thousand_runs_that_hang_on_each_other_are_no_trouble() -> None:
    rows = run("run 0", port("tool 0", "4 in"), wye("run 1"), end())
    for number in range(1, 1000):
        rows += run(
            f"run {number}", port(f"tool {number}", "4 in"), *([wye(f"run {number + 1}")] if number < 999 else [])
        )
    found = layout(ductcalc.shop_from_rows(rows))
    assert len(found.runs) == 1000

    from ductcalc.report.display import Display
    from ductcalc.report.render import Page, rendered
    from ductcalc.report.tree import tree_blocks

    text = rendered(tree_blocks(found, Display("inch")), Page(80))
    assert all(f"tool {number}," in text for number in range(1000))


@pytest.mark.parametrize("name", ["creamery", "joinery-class", "one-machine"])
def test_the_tree_says_where_each_section_begins(name: str) -> None:
    found = ductcalc.read_shop(EXAMPLES / name)
    text = rendered(tree_blocks(layout(found), Display("inch")), Page()).replace("\u00a0", " ")
    sections = hang(found).sections
    assert sections
    for section in sections:
        run, _, number = section.name.rpartition(" ")
        assert (f"; {section.name} begins" in text) == (number != "1"), section.name
        assert run in text


def test_a_wye_that_is_capped_for_now_begins_a_section_or_none_as_the_shop_hangs() -> None:
    rows = run("trunk", port("saw", "4 in", k=2), gate(), pipe("9 ft"), wye("cap", "5 in"), pipe("9 ft"), end())
    found = shop(rows)
    text = rendered(tree_blocks(layout(found), Display("inch")), Page())
    begun = {f"trunk {n}" for n in range(2, 5) if f"; trunk {n} begins" in text}
    assert begun == {section.name for section in hang(found).sections if section.name != "trunk 1"}
