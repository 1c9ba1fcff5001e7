"""The charts: curves where the figures say, nothing on top of anything else, every meeting on both of its curves."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from ductcalc.answers.chart import chart
from ductcalc.answers.losses import losses
from ductcalc.cases.choices import Ask
from ductcalc.report.display import Display
from ductcalc.report.draw.cells import figure_lines
from ductcalc.report.draw.chart import Plot, bill_picture, chart_picture, way_picture
from ductcalc.report.draw.picture import Mark, Picture, Stroke
from ductcalc.tables import read_shop
from tests.report.draw.seen import faults
from tests.scenes import EXAMPLES, SHOPS

NAMES = ("creamery", "joinery-class", "one-machine", "cellar", "loft", "annex")


def picture(kind: str, name: str, columns: int) -> Picture:
    shop = read_shop(EXAMPLES / name if (EXAMPLES / name).is_dir() else SHOPS / name)
    display = Display(shop.system)
    if kind == "chart":
        return chart_picture(chart(shop), display, columns)
    paint: Callable[..., Picture] = {"way": way_picture, "bill": bill_picture}[kind]
    return paint(losses(shop), display, columns)


@pytest.mark.parametrize("columns", [60, 80, 100])
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("kind", ["chart", "way", "bill"])
def test_no_words_stand_on_others_on_an_axis_or_off_the_sheet(kind: str, name: str, columns: int) -> None:
    assert faults(picture(kind, name, columns)) == []


@pytest.mark.parametrize("name", NAMES)
def test_every_curve_stays_in_the_field_and_has_its_letter(name: str) -> None:
    drawn = picture("chart", name, 80)
    curves = [g for g in drawn.groups if g.key in ("curve", "system")]
    assert {stroke.letter for g in curves for stroke in g.parts if isinstance(stroke, Stroke)} >= {"b", "c", "d", "1"}
    for stroke in (part for g in curves for part in g.parts if isinstance(part, Stroke)):
        assert stroke.letter_at in stroke.points
        assert all(0 <= x <= drawn.columns and 0 <= y <= drawn.rows for x, y in stroke.points)


def test_signs_where_a_duct_and_what_is_left_meet_lie_on_both_curves() -> None:
    groups = picture("chart", "creamery", 100).groups
    lines = {
        stroke.letter: sorted(stroke.points)
        for g in groups
        if g.key in ("curve", "system")
        for stroke in g.parts
        if isinstance(stroke, Stroke)
    }
    met = [part.at for g in groups if g.key == "meets" for part in g.parts if isinstance(part, Mark)]
    assert len(met) == 4
    for (x, y), left, system in zip(met, "dcdc", "1122", strict=True):
        for letter in (left, system):
            xs, ys = zip(*lines[letter], strict=True)
            assert float(np.interp(x, xs, ys)) == pytest.approx(y, abs=0.1)


def test_a_terminal_shows_every_curve_by_its_letter_and_ascii_alone_where_it_must() -> None:
    said = "\n".join("".join(s.text for s in line) for line in figure_lines(picture("chart", "creamery", 80), "ascii"))
    assert said.isascii()
    for letter in "bcd12+":
        assert said.count(letter) > 3


def test_the_way_names_every_row_of_the_bill_once() -> None:
    shop = read_shop(EXAMPLES / "creamery")
    bill = losses(shop)
    pieces = [group for group in way_picture(bill, Display("inch"), 80).groups if group.key == "piece"]
    assert len(pieces) == len(bill.rows)
    ends = [part.points for group in pieces for part in group.parts if isinstance(part, Stroke)]
    assert all(first[-1] == pytest.approx(second[0]) for first, second in pairwise(ends))


def test_bars_are_as_long_as_the_losses() -> None:
    bill = losses(read_shop(EXAMPLES / "creamery"))
    groups = bill_picture(bill, Display("inch"), 100).groups
    rows = [row for row in bill.rows if row.share is not None]
    assert len(groups) == len(rows)
    for group, row in zip(groups, rows, strict=True):
        (bar,) = [part for part in group.parts if isinstance(part, Stroke)] or [Stroke(((0.0, 0.0), (0.0, 0.0)), "bar")]
        long = bar.points[1][0] - bar.points[0][0]
        assert long == pytest.approx(rows[0].loss_pa and 61 * row.loss_pa / max(r.loss_pa for r in rows), abs=0.5)


def test_more_cases_than_can_be_told_apart_are_refused() -> None:
    shop = read_shop(EXAMPLES / "creamery")
    with pytest.raises(Exception, match="too many for one chart"):
        chart(shop, [Ask.machines("planer")] * 7)


def test_a_curves_letter_finds_the_only_place_left_at_its_end() -> None:
    plot = Plot(80, 18, (100.0, 10.0), ("flow, cfm", "pressure, inwg"))
    spots = [(30.0, 5.0), (50.0, 5.0), (70.0, 5.0)]
    plot.keep_clear(spots[:2])
    (stroke,) = plot.curve(spots, "curve", "b", 0.3)
    assert stroke.letter_at == plot.place(*spots[-1])
