"""A shop written anew with other sizes: only its size cells change, and nothing is overwritten."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import ductcalc
from ductcalc.answers.size.stretches import plan_of
from ductcalc.errors import InputError
from ductcalc.shop import Shop
from ductcalc.shop.hanging import settled_bores
from ductcalc.tables.writing import size_text, write_sized

ROOT = Path(__file__).parents[2]
EXAMPLES = ("creamery", "joinery-class", "one-machine")


def resized(shop: Shop) -> Shop:
    """Give every stretch the second size of its list."""
    plan = plan_of(shop)
    return plan.with_sizes([min(1, stretch.ways - 1) for stretch in plan.stretches])


def bores(shop: Shop) -> list[list[float]]:
    return [settled_bores(run.pieces) for run in shop.runs if any(piece.size_m for piece in run.pieces)]


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_reads_back_with_the_new_sizes_and_all_else_as_it_was(name: str, tmp_path: Path) -> None:
    source = ROOT / "examples" / name
    shop = ductcalc.read_shop(source)
    sized = resized(shop)
    write_sized(source, None, sized, tmp_path / name)
    again = ductcalc.read_shop(tmp_path / name)
    for mine, theirs in zip(bores(again), bores(sized), strict=True):
        assert mine == pytest.approx(theirs, abs=1e-9)
    assert again.collectors == shop.collectors and again.settings == shop.settings
    rest = [[[replace(p, size_m=None) for p in run.pieces] for run in one.runs] for one in (again, shop)]
    assert rest[0] == rest[1]
    before, after = ((folder / "duct.csv").read_text("utf-8") for folder in (source, tmp_path / name))
    comments = [[line for line in text.splitlines() if line.startswith("#")] for text in (before, after)]
    assert comments[0] == comments[1]


@pytest.mark.parametrize("name", EXAMPLES)
def test_without_a_change_the_table_stays_as_it_is(name: str, tmp_path: Path) -> None:
    source = ROOT / "examples" / name
    write_sized(source, None, ductcalc.read_shop(source), tmp_path)
    assert (tmp_path / "duct.csv").read_bytes() == (source / "duct.csv").read_bytes()


def test_blank_sizes_that_carried_on_are_written_out(tmp_path: Path) -> None:
    head = "run,piece,machine,size,length,flow,k\nline,port,saw,4 in,,400 cfm,1\n"
    source = tmp_path / "plain"
    source.mkdir()
    (source / "duct.csv").write_text(head + ",pipe,,,9 ft,,\n,gate,,,,,\n,collector,,,,,\n", encoding="utf-8")
    five = plan_of(ductcalc.read_shop(source))
    write_sized(source, None, five.with_sizes([2]), tmp_path / "five")
    rows = (tmp_path / "five" / "duct.csv").read_text("utf-8").splitlines()
    assert [row.split(",")[3] for row in rows] == ["size", "4 in", "5 in", "5 in", "4 in"]


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    source = ROOT / "examples" / "one-machine"
    (tmp_path / "shop.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="there already"):
        write_sized(source, None, ductcalc.read_shop(source), tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["shop.toml"]


def test_cells_of_several_lines_are_refused_and_nothing_is_left(tmp_path: Path) -> None:
    source = tmp_path / "lines"
    source.mkdir()
    rows = 'run,piece,machine,size,length,flow,note\nline,port,saw,4 in,,400 cfm,"two\nlines"\n,pipe,,4 in,9 ft,,\n'
    (source / "duct.csv").write_text(rows + ",collector,,4 in,,,\n", encoding="utf-8")
    with pytest.raises(InputError, match="nothing was written"):
        write_sized(source, None, plan_of(ductcalc.read_shop(source)).with_sizes([2]), tmp_path / "new")
    assert not (tmp_path / "new").exists() or not list((tmp_path / "new").iterdir())


@pytest.mark.parametrize(("bore_m", "text"), [(0.1016, "4 in"), (0.0635, "2.5 in"), (0.125, "125 mm")])
def test_a_size_is_written_as_it_is_sold(bore_m: float, text: str) -> None:
    assert size_text(bore_m) == text
