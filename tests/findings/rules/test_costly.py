"""Rows that cost a machine more than a tenth of its air beyond what is usual."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import mended, names, seen


def one(*rows: s.Row, end: str | None = None, **settings: object) -> Shop:
    return s.shop(s.run("a", s.port("saw", "5 in", "700 cfm", k=1.0), *rows, s.end(end)), **settings)


@pytest.mark.parametrize(
    ("row", "usual"),
    [
        (s.pipe("1000 ft"), s.pipe("60 ft")),
        (s.elbow(count=11), s.elbow(count=4)),
        (s.hose("4 ft", 6), s.hose("4 ft", 2)),
    ],
)
def test_what_a_row_costs_beyond_the_usual_is_that_of_two_shops(row: s.Row, usual: s.Row) -> None:
    (found,) = seen(one(row), "costly row")
    got = [ductcalc.check(shop).loaded[0].machines[0].flow_m3_s for shop in (mended(one(row), found), one(usual))]
    assert got[0] == pytest.approx(got[1], rel=1e-9)


@pytest.mark.parametrize("row", [s.pipe("60 ft"), s.elbow(count=4), s.hose("4 ft", 2), s.hose("15 ft", 6)])
def test_what_is_usual_or_told_as_a_long_hose_is_no_costly_row(row: s.Row) -> None:
    assert names(one(row), "costly row") == []


@pytest.mark.parametrize(("elbows", "told"), [(5, False), (11, True)])
def test_a_row_that_costs_less_than_a_tenth_is_not_told(elbows: int, told: bool) -> None:
    found = ductcalc.findings_of(one(s.elbow(count=elbows))).all
    assert ("costly row" in [each.rule for each in found]) is told


def test_pipe_in_metres_among_feet_is_told_as_that() -> None:
    assert names(one(s.pipe("100 m")), "costly row") == []


@pytest.mark.parametrize(("end", "count"), [("3 in", 1), ("5 in", 0), ("6 in", 0), ("125 mm", 0)])
def test_inlet_narrower_than_the_duct_is_seen(end: str, count: int) -> None:
    found = seen(one(s.pipe("9 ft"), end=end), "narrow collector")
    assert len(found) == count
    for each in found:
        assert mended(one(s.pipe("9 ft"), end=end), each).runs[0].pieces[-1].size_m == pytest.approx(0.127)


def test_outlet_narrower_than_the_inlet_is_seen_in_the_settings_and_in_the_outlet_duct() -> None:
    total = one(s.pipe("9 ft"), collector={"curve": "fan total", "outlet_size": "3 in"})
    duct = s.shop(
        s.run("a", s.port("saw", "5 in"), s.pipe("9 ft"), s.end()),
        s.run("out", s.piece("collector", "5 in"), s.pipe("9 ft", "3 in")),
    )
    assert [each.place and each.place.key for each in seen(total, "narrow collector")] == ["collector.outlet_size"]
    assert [each.place and each.place.row for each in seen(duct, "narrow collector")] == [5]


@pytest.mark.parametrize(
    ("row", "usual"),
    [
        (s.elbow(count=3, style="mitred"), s.elbow(count=3)),
        (s.elbow(k=3.0), s.elbow()),
        (s.elbow(count=9, radius=0.5), s.elbow(count=4)),
        (s.hose("4 ft", 1, factor=9.0), s.hose("4 ft", 1)),
        (s.gate(k=2.5), s.gate()),
        (s.gate(opening="40 %"), s.gate()),
    ],
)
def test_a_row_of_its_own_build_or_coefficient_is_held_against_a_usual_one(row: s.Row, usual: s.Row) -> None:
    weak = [*s.points(("0 cfm", "9 inwg"), ("500 cfm", "7.5 inwg"), ("1000 cfm", "1 inwg")), *s.NO_PARTS]
    (found,) = seen(one(row, table=weak), "costly row")
    both = (mended(one(row, table=weak), found), one(usual, table=weak))
    got = [ductcalc.check(shop).loaded[0].machines[0].flow_m3_s for shop in both]
    assert got[0] == pytest.approx(got[1], rel=1e-9)
    assert "costly row" in [each.rule for each in ductcalc.findings_of(one(row, table=weak)).all]


def test_a_gate_that_is_throttled_while_its_machine_has_enough_is_no_costly_row() -> None:
    assert names(one(s.gate(opening="50 %"), table=s.BARE), "costly row") == []
