"""Points of the blower's curve that a slip has put where no curve goes."""

from __future__ import annotations

import pytest

from ductcalc.answers.check import check
from ductcalc.findings.phrase import Amount
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, mended, names, seen

FLOWS = (0, 300, 600, 900, 1200, 1400)
FALLING = (9.5, 9.3, 8.6, 6.8, 4.7, 1.6)


def blower(*pressures: float) -> Shop:
    points = [(f"{flow} cfm", f"{pressure} inwg") for flow, pressure in zip(FLOWS, pressures, strict=False)]
    rows = [s.port("saw", "5 in", "540 cfm", k=1.5), s.gate(), s.pipe("9 ft"), s.end()]
    return s.shop(s.run("a", *rows), table=[*s.points(*points), *s.NO_PARTS])


def slipped(place: int, pressure: float) -> Shop:
    return blower(*FALLING[:place], pressure, *FALLING[place + 1 :])


@pytest.mark.parametrize("place", range(5))
@pytest.mark.parametrize("times", [10.0, 0.1])
def test_a_slip_of_the_decimal_point_is_found_and_mended(place: int, times: float) -> None:
    shop = slipped(place, round(FALLING[place] * times, 3))
    (found,) = seen(shop, "stray point")
    assert found.place is not None and found.place.row == place + 1
    assert names(shop, "rising curve") == []
    right = check(blower(*FALLING)).loaded[0].machines[0].flow_m3_s
    assert check(mended(shop, found)).loaded[0].machines[0].flow_m3_s == pytest.approx(right, rel=1e-9)


def test_other_slips_are_mended_by_what_lies_between_the_neighbours() -> None:
    shop = slipped(3, 20.0)
    (found,) = seen(shop, "stray point")
    points = mended(shop, found).collectors[0].blower
    assert points[3].pressure_pa == pytest.approx(0.5 * (points[2].pressure_pa + points[4].pressure_pa))


def test_the_figure_and_its_neighbours_are_named() -> None:
    (found,) = seen(slipped(4, 47.0), "stray point")
    told = [part for part in (*found.what, *found.cure) if isinstance(part, Amount) and part.dimension == "pressure"]
    assert [part.value / s.INCH_WATER for part in told] == pytest.approx([47.0, 6.8, 1.6, 4.7])


@pytest.mark.parametrize("times, found", [(1.06, False), (1.2, True), (0.94, True), (0.97, False), (1.51, True)])
def test_a_point_counts_as_stray_beyond_a_small_sag(times: float, found: bool) -> None:
    level = blower(10.0, 10.0, 10.0 * times, 10.0, 9.0, 8.0)
    assert bool(names(level, "stray point")) == found


@pytest.mark.parametrize("rise, found", [(1.14, False), (1.16, True)])
def test_a_curve_may_rise_a_little(rise: float, found: bool) -> None:
    assert bool(names(blower(8.0, 8.7, 8.0 * rise, 7.0, 5.0, 2.0), "rising curve")) == found


def test_a_rise_over_several_points_is_told_whole_and_at_its_top() -> None:
    shop = blower(8.0, 8.5, 9.0, 9.6, 5.0, 2.0)
    (found,) = seen(shop, "rising curve")
    assert found.place is not None and found.place.row == 4
    assert found.share == pytest.approx(0.2)
    assert len(figures(found.what)) == 4


@pytest.mark.parametrize(
    "pressures",
    [FALLING, (12.0, 6.0, 1.0), (9.0, 10.0, 10.0, 8.0, 5.0, 0.1), (12.0, 0.0), (10.0, 4.0, 1.0)],
    ids=["falling", "few points", "small hump", "two ends", "steep"],
)
def test_real_curves_are_not_doubted(pressures: tuple[float, ...]) -> None:
    assert names(blower(*pressures), "stray point") == names(blower(*pressures), "rising curve") == []
