"""The duct laid out by its length: places add up to the collector, air is that of the case."""

from __future__ import annotations

import pytest

from ductcalc.answers.draw import draw
from ductcalc.answers.layout import layout
from ductcalc.cases.choices import Ask
from ductcalc.tables import read_shop
from tests.scenes import EXAMPLES, two_machines

FOOT = 0.3048


def test_places_are_lengths_of_duct_to_the_collector() -> None:
    drop, first, last = sorted(draw(two_machines()).stretches, key=lambda stretch: stretch.name)
    assert [one.name for one in (drop, first, last)] == ["drop 1", "trunk 1", "trunk 2"]
    assert (last.begins_m, last.ends_m) == (pytest.approx(15 * FOOT), 0.0)
    assert (first.begins_m, first.ends_m) == (pytest.approx(38 * FOOT), pytest.approx(15 * FOOT))
    assert (drop.begins_m, drop.ends_m) == (pytest.approx(21 * FOOT), pytest.approx(15 * FOOT))


@pytest.mark.parametrize("name", ["creamery", "joinery-class", "one-machine"])
def test_the_farthest_port_of_a_machine_begins_where_the_tree_says(name: str) -> None:
    shop = read_shop(EXAMPLES / name)
    stretches = draw(shop).stretches
    assert layout(shop).ways_m
    for machine, way in layout(shop).ways_m:
        assert max(one.begins_m for one in stretches if machine in one.machines) == pytest.approx(way)


def test_pieces_follow_each_other_without_a_gap() -> None:
    stretches = draw(read_shop(EXAMPLES / "creamery")).stretches
    assert stretches
    for stretch in stretches:
        places = [stretch.begins_m, *(place for piece in stretch.pieces for place in (piece.begins_m, piece.ends_m))]
        assert places == sorted(places, reverse=True)
        assert sum(piece.begins_m - piece.ends_m for piece in stretch.pieces) == pytest.approx(stretch.length_m)


def test_what_leads_from_an_open_machine_takes_its_air_and_the_rest_is_shut() -> None:
    drawing = draw(two_machines(), Ask.machines("planer"))
    assert {one.name: one.taking for one in drawing.stretches} == {"drop 1": True, "trunk 1": False, "trunk 2": True}
    planer = drawing.case.machine("planer") if drawing.case else None
    number = [one.name for one in drawing.stretches].index("drop 1")
    air = drawing.air(number)
    assert air is not None and planer is not None and air.flow_m3_s == pytest.approx(planer.flow_m3_s)


def test_without_a_case_no_air_is_told() -> None:
    drawing = draw(two_machines())
    assert drawing.case is None and all(one.taking is None for one in drawing.stretches)
    assert drawing.air(0) is None
