"""The schematic: to scale, in order, nothing on top of anything else, whatever the shop and the sheet."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from ductcalc.answers.draw import draw
from ductcalc.cases.choices import Ask
from ductcalc.report.display import Display
from ductcalc.report.draw.cells import figure_lines
from ductcalc.report.draw.picture import Group, Mark, NoRoom, Picture, Stroke, Words
from ductcalc.report.draw.schematic import schematic
from ductcalc.shop import Shop
from ductcalc.tables import read_shop
from tests.gate_shops import random_shop
from tests.report.draw.seen import faults
from tests.scenes import EXAMPLES, SHOPS, end, gate, hose, pipe, port, run, wye
from tests.scenes import shop as scene

ALONG_THE_WALL = [f"machine {number}" for number in range(1, 21)]
LONG = [f"the machine by the north wall number {n:02}" for n in range(1, 9)]
RIGHT_TO_LEFT = ["מסור סרט", "منشار الطاولة", "מקצועה 12", "ドラムサンダー", "<script>alert(1)</script>", '"saw" & co']


def comb(names: list[str], between: str = "4 ft") -> Shop:
    """Return a shop of machines along one main."""
    drops = [run(f"drop {n}", port(name, "4 in"), hose("3 ft"), gate(), pipe("8 ft")) for n, name in enumerate(names)]
    wyes = [row for n, _ in enumerate(names[1:], start=1) for row in (wye(f"drop {n}", "6 in"), pipe(between, "6 in"))]
    main = run("main", port(names[0], "4 in"), hose("3 ft"), gate(), pipe("8 ft"), *wyes, end())
    return scene(main, *drops[1:])


SHOPS_DRAWN = {
    **{folder.name: read_shop(folder) for folder in sorted([*EXAMPLES.iterdir(), *SHOPS.iterdir()]) if folder.is_dir()},
    "twenty machines": comb(ALONG_THE_WALL),
    "one machine": comb(["planer"]),
    "forty characters": comb([name[:40] for name in LONG]),
    "right to left": comb(RIGHT_TO_LEFT),
    "almost no length": comb(ALONG_THE_WALL[:8], "0.1 ft"),
    **{f"drawn by lot {seed}": random_shop(np.random.default_rng(seed), 2 + seed % 3) for seed in range(6)},
}


@cache
def picture(name: str, columns: int, with_air: bool = False) -> Picture:
    shop = SHOPS_DRAWN[name]
    ask = Ask.everything() if with_air and shop.collectors else None
    return schematic(draw(shop, ask), Display(shop.system), columns, grows=True)


def stretches(of: Picture) -> list[Group]:
    return [group for group in of.groups if group.key == "stretch"]


def level(group: Group) -> list[Stroke]:
    return [p for p in group.parts if isinstance(p, Stroke) and p.points[0][1] == p.points[1][1] and p.look != "leader"]


@pytest.mark.parametrize("with_air", [False, True])
@pytest.mark.parametrize("columns", [60, 80, 110])
@pytest.mark.parametrize("name", SHOPS_DRAWN)
def test_no_words_stand_on_others_on_a_line_or_off_the_sheet(name: str, columns: int, with_air: bool) -> None:
    assert faults(picture(name, columns, with_air)) == []


@pytest.mark.parametrize("name", SHOPS_DRAWN)
def test_every_stretch_is_drawn_once_with_its_machines_and_gates(name: str) -> None:
    drawing, groups = draw(SHOPS_DRAWN[name]), stretches(picture(name, 80))
    assert len(groups) == len(drawing.stretches)
    for stretch, group in zip(drawing.stretches, groups, strict=True):
        signs = [part.sign for part in group.parts if isinstance(part, Mark)]
        assert signs.count("gate") == sum(piece.kind == "gate" for piece in stretch.pieces)
        assert ("port" in signs) == bool(stretch.machines)


@pytest.mark.parametrize("name", SHOPS_DRAWN)
def test_a_machines_words_begin_in_the_row_of_its_duct(name: str) -> None:
    ports = [(mark, next(part for part in group.parts if isinstance(part, Words)))
             for group in stretches(picture(name, 80)) for mark in group.parts
             if isinstance(mark, Mark) and mark.sign == "port"]  # fmt: skip
    assert ports and all(mark.at[1] == words.at[1] for mark, words in ports)


@pytest.mark.parametrize("name", SHOPS_DRAWN)
def test_places_lie_in_the_order_of_the_air(name: str) -> None:
    drawing, groups = draw(SHOPS_DRAWN[name]), stretches(picture(name, 80))
    for stretch, group in zip(drawing.stretches, groups, strict=True):
        ends = [x for stroke in level(group) for x, _ in stroke.points]
        assert ends == sorted(ends, reverse=True) and ends[0] > ends[-1]
        if stretch.below is not None:
            assert ends[-1] == max(x for stroke in level(groups[stretch.below]) for x, _ in stroke.points)


def test_lengths_are_to_one_scale_where_there_is_room() -> None:
    drawing, groups = draw(SHOPS_DRAWN["forty characters"]), stretches(picture("forty characters", 110))
    widths = [level(group)[0].points[0][0] - level(group)[-1].points[1][0] for group in groups]
    scale = widths[-1] / drawing.stretches[-1].length_m
    assert [s.length_m * scale for s in drawing.stretches] == pytest.approx(widths, abs=1.5)


def test_no_line_crosses_another_one() -> None:
    upright = [
        (group.title, p.points[0][0], sorted(y for _, y in p.points))
        for group in stretches(picture("joinery-class", 110))
        for p in group.parts
        if isinstance(p, Stroke) and p.points[0][0] == p.points[1][0] and p.look != "leader"
    ]
    flat = [(group.title, stroke) for group in stretches(picture("joinery-class", 110)) for stroke in level(group)]
    assert upright and flat
    for of, x, (top, bottom) in upright:
        for other, stroke in flat:
            (x0, y), (x1, _) = stroke.points
            assert not (min(x0, x1) < x < max(x0, x1) and top < y < bottom), (of, other)


def test_a_sheet_too_narrow_for_the_stretches_is_refused_and_a_growing_one_holds_them() -> None:
    drawing, display = draw(comb(ALONG_THE_WALL)), Display("inch")
    with pytest.raises(NoRoom):
        schematic(drawing, display, 24)
    assert schematic(drawing, display, 24, grows=True).columns > 24


def test_a_shut_drop_is_told_and_its_gate_crossed_out() -> None:
    shop = SHOPS_DRAWN["creamery"]
    drawing = draw(shop, Ask.machines("planer"))
    groups = stretches(schematic(drawing, Display("inch"), 80))
    shut = {s.name for s in drawing.stretches if not s.taking}
    assert "jointer drop 1" in shut and "planer drop 1" not in shut
    for stretch, group in zip(drawing.stretches, groups, strict=True):
        signs = {part.sign for part in group.parts if isinstance(part, Mark)}
        assert ("gate shut" in signs) == (stretch.name in shut and any(p.kind == "gate" for p in stretch.pieces))
        assert ("shut" in group.title) == (stretch.name in shut)


def test_each_port_of_a_machine_tells_its_own_air() -> None:
    drawing = draw(SHOPS_DRAWN["creamery"], Ask.machines("table saw"))
    assert drawing.case is not None
    ports = {port.run: port for port in drawing.case.machine("table saw").ports}
    said = {group.title.partition(";")[0]: group.title for group in stretches(schematic(drawing, Display("inch"), 80))}
    for name, title in (("saw branch", "saw branch, table saw to guard hose"), ("guard hose", "guard hose")):
        assert f"{ports[name].flow_m3_s / (0.3048**3 / 60):.0f} of" in said[title]


def test_ascii_lines_hold_ascii_alone() -> None:
    lines = figure_lines(picture("twenty machines", 80), "ascii")
    assert all(span.text.isascii() for line in lines for span in line)
