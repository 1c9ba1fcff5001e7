"""Pressures that are likely in another unit."""

from __future__ import annotations

import pytest

from ductcalc.answers.check import check
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import mended, names, rows, seen, words

PASCAL = [("0 m3/h", "3000 Pa"), ("1000 m3/h", "2600 Pa"), ("2000 m3/h", "1000 Pa")]


def blown(*blower: tuple[str, str], parts: s.Rows = s.NO_PARTS, drop: str | None = None) -> Shop:
    port = s.port("saw", "125 mm", "880 m3/h", drop=drop)
    return s.shop(
        s.run("a", port, s.hose("1 m", 1), s.pipe("4 m"), s.end()),
        table=[*s.points(*(blower or PASCAL)), *parts],
    )


def test_blower_in_mm_of_water_that_was_written_as_pascal() -> None:
    shop = blown(("0 m3/h", "300 Pa"), ("1000 m3/h", "260 Pa"), ("2000 m3/h", "100 Pa"))
    (found,) = seen(shop, "unlikely pressure")
    assert found.name == "blower" and "300 mm water" in words(found.cure)
    pressures = [point.pressure_pa for point in mended(shop, found).collectors[0].blower]
    assert pressures == pytest.approx([300 * 9.80665, 260 * 9.80665, 100 * 9.80665])


def test_advertised_pressure_is_looked_at_too() -> None:
    shop = s.shop(
        s.run("a", s.port("saw", "125 mm", "880 m3/h"), s.pipe("4 m"), s.end()),
        table=[s.rated("advertised", "2000 m3/h", "250 Pa"), *s.NO_PARTS],
    )
    (found,) = seen(shop, "unlikely pressure")
    both = mended(shop, found).collectors[0].advertised
    assert both is not None and both.pressure_pa == pytest.approx(250 * 9.80665)


def test_usual_blowers_are_no_finding() -> None:
    for most in ("500 Pa", "4 inwg", "250 mm wg", "12000 Pa"):
        assert names(blown(("0 m3/h", most), ("2000 m3/h", "100 Pa")), "unlikely pressure") == []


def part(item: str, pressure: str) -> s.Rows:
    """Return the rows of a collector's parts, the last one with a pressure of its own."""
    if item == "cyclone":
        return [s.none("filter clean"), s.none("filter loaded"), s.rated(item, "1000 m3/h", pressure)]
    return [s.none("cyclone"), s.rated("filter clean", "1000 m3/h", "100 Pa"), s.rated(item, "1000 m3/h", pressure)]


@pytest.mark.parametrize("item", ["cyclone", "filter loaded"])
def test_part_that_takes_nearly_all_of_the_blower_is_asked_about(item: str) -> None:
    shop = blown(parts=part(item, "250 mm wg"))
    (found,) = seen(shop, "unlikely pressure")
    assert found.name == item and "250 Pa" in words(found.cure)
    assert found.place is not None and found.place.row == 6


def test_told_number_of_a_part_is_what_the_other_reading_gives() -> None:
    shop = blown(parts=part("cyclone", "250 mm wg"))
    (found,) = [one for one in check(shop).findings.all if one.rule == "unlikely pressure"]
    meant = check(blown(parts=part("cyclone", "250 Pa")))
    assert found.effect.after == pytest.approx(meant.loaded[0].machines[0].flow_m3_s, rel=1e-9)


def test_heavy_but_usual_parts_are_no_finding() -> None:
    assert names(blown(parts=part("filter loaded", "1500 Pa")), "unlikely pressure") == []


@pytest.mark.parametrize(
    ("drop", "asks"),
    [
        ("900 mm wg at 20 m/s", "900 Pa"),
        ("60 inwg at 20 m/s", "60 mm water"),
    ],
)
def test_suction_of_a_machine_in_the_wrong_unit_is_asked_about(drop: str, asks: str) -> None:
    (found,) = seen(blown(drop=drop), "unlikely pressure")
    assert found.name == "saw" and asks in words(found.cure)


@pytest.mark.parametrize(
    "drop", ["900 Pa at 20 m/s", "2000 Pa at 20 m/s", "90 mm wg at 20 m/s", "1200 Pa total at 20 m/s"]
)
def test_suctions_that_machines_have_are_no_finding(drop: str) -> None:
    assert rows(blown(drop=drop), "unlikely pressure") == []


def test_copied_run_is_not_asked_about_again() -> None:
    port = s.port("lathe", "125 mm", "880 m3/h", drop="900 mm wg at 20 m/s")
    shop = s.shop(
        s.run("trunk", s.port("saw", "125 mm"), s.gate(), s.wye("b", "125 mm"), s.wye("c", "125 mm"), s.end()),
        s.run("b", port, s.gate()),
        s.run("c", s.piece("like", machine="jointer", joins="b")),
        table=[*s.points(*PASCAL), *s.NO_PARTS],
    )
    assert names(shop, "unlikely pressure") == ["lathe"]


@pytest.mark.parametrize("item", ["cyclone", "filter loaded"])
def test_part_in_inches_that_was_written_as_pascal(item: str) -> None:
    parts = part(item, "2 Pa")
    if item == "filter loaded":
        parts[1]["pressure"] = "1 Pa"
    found = seen(blown(parts=parts), "unlikely pressure")[-1]
    assert found.name == item and "2 inwg" in words(found.cure) and "2 Pa" in words(found.what)


def test_large_clean_filter_is_believed() -> None:
    assert names(blown(parts=part("filter loaded", "120 Pa")), "unlikely pressure") == []


def test_small_pressure_is_told_in_the_unit_that_it_has() -> None:
    (found,) = seen(blown(("0 m3/h", "9.6 Pa"), ("1000 m3/h", "8 Pa"), ("2000 m3/h", "1 Pa")), "unlikely pressure")
    assert "9.6 Pa" in words(found.what)


def test_shop_vacuum_may_pull_more_than_any_fan() -> None:
    vacuum = [("0 cfm", "90 inwg"), ("80 cfm", "45 inwg"), ("140 cfm", "0 inwg")]
    assert names(blown(*vacuum), "unlikely pressure") == []
    assert names(blown(*vacuum[:2], ("1400 cfm", "0 inwg")), "unlikely pressure") == ["blower"]


def test_parts_are_not_doubted_beside_a_doubted_blower() -> None:
    shop = blown(("0 m3/h", "9.6 Pa"), ("1000 m3/h", "8 Pa"), ("2000 m3/h", "1 Pa"), parts=part("cyclone", "2 Pa"))
    assert names(shop, "unlikely pressure") == ["blower"]
