"""Flows, sizes and lengths that are likely in another unit."""

from __future__ import annotations

import pytest

from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, mended, names, rows, seen, words

METRIC = {"report": {"units": "metric"}}


def wanting(flow: str | None, size: str = "4 in", **settings: object) -> Shop:
    return s.shop(s.run("a", s.port("saw", size, flow, k=1.5), s.hose("3 ft", 1), s.pipe("9 ft"), s.end()), **settings)


@pytest.mark.parametrize(
    ("flow", "size", "settings", "asks"),
    [
        ("565 cfm", "100 mm", METRIC, ("565 m3/h", "20.0 m/s")),
        ("565 cfm", "100 mm", {}, ("565 m3/h", "3930 fpm")),
        ("350 m3/h", "4 in", {}, ("350 cfm", "4010 fpm")),
        ("1110 cfm", "140 mm", METRIC, ("1110 m3/h", "20.0 m/s")),
    ],
)
def test_flow_in_the_other_system_is_asked_about(
    flow: str, size: str, settings: dict[str, dict[str, str]], asks: tuple[str, str]
) -> None:
    (found,) = seen(wanting(flow, size, **settings), "unlikely flow")
    assert asks
    assert all(figure in words(found.cure, "metric" if settings else "inch") for figure in asks)


@pytest.mark.parametrize(
    ("flow", "size"),
    [
        ("350 cfm", "4 in"),
        ("785 cfm", "5 in"),
        ("160 cfm", "3 in"),
        ("570 m3/h", "4 in"),
        ("820 m3/h", "120 mm"),
        ("4000 fpm", "4 in"),
        (None, "4 in"),
    ],
)
def test_flows_that_shops_ask_for_are_no_finding(flow: str | None, size: str) -> None:
    assert names(wanting(flow, size), "unlikely flow") == []


@pytest.mark.parametrize(("flow", "size"), [("20 cfm", "4 in"), ("1500 cfm", "4 in")])
def test_flow_that_fits_in_no_unit_is_told_all_the_same(flow: str, size: str) -> None:
    (found,) = seen(wanting(flow, size), "unlikely flow")
    assert found.change is None and "unit" in words(found.cure) and "size" in words(found.cure)


def test_wish_of_a_copied_run_is_asked_about_at_its_own_row() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in"), s.gate(), s.wye("b", "5 in"), s.wye("c", "6 in"), s.end()),
        s.run("b", s.port("lathe", "100 mm", "565 m3/h"), s.gate(), s.pipe("3 ft")),
        s.run("c", s.piece("like", machine="jointer", joins="b", flow="565 cfm")),
        **METRIC,
    )
    (found,) = seen(shop, "unlikely flow")
    assert (found.name, found.place and found.place.row) == ("jointer", 9)
    assert "565 m3/h" in words(found.cure, "metric")


def test_port_that_is_off_is_not_asked_about() -> None:
    shop = s.shop(
        s.run("a", s.port("saw", "4 in"), s.wye("b", "4 in"), s.pipe("3 ft"), s.end()),
        s.run("b", s.port("lathe", "4 in", "off"), s.gate(), s.pipe("3 ft")),
    )
    assert names(shop, "unlikely flow") == []


def test_bore_in_the_wrong_unit_is_told_once_and_mended_as_far_as_it_goes() -> None:
    shop = s.shop(
        s.run("a", s.port("saw", "100 mm"), s.hose("3 ft", 1), s.pipe("6 ft", "100 in"), s.elbow(), s.pipe("3 ft"),
              s.gate("100 mm"), s.end("100 mm"))
    )  # fmt: skip
    (found,) = seen(shop, "unlikely size")
    assert found.name == "pipe in a" and "100 mm" in words(found.cure)
    assert [piece.size_m for piece in mended(shop, found).runs[0].pieces] == [pytest.approx(0.1)] * 7


def test_unit_that_comes_nearest_to_its_neighbours_is_asked_about() -> None:
    shop = s.shop(s.run("a", s.port("saw", "125 mm"), s.pipe("6 ft", "12 mm"), s.end("125 mm")))
    (found,) = seen(shop, "unlikely size")
    assert "12 cm" in words(found.cure)


def test_widest_and_narrowest_bores_of_small_shops_are_no_finding() -> None:
    shop = s.shop(s.run("a", s.port("saw", "1 in", "20 cfm"), s.pipe("6 ft", "600 mm"), s.end("600 mm")))
    assert names(shop, "unlikely size") == []


def test_wide_main_is_not_told_beside_an_unlikely_size() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.pipe("6 ft", "100 in"), s.end("4 in")))
    assert names(shop, "wide main") == []


def test_hose_in_metres_in_a_table_of_feet_is_asked_about_and_no_long_hose() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.hose("6 m", 1), s.pipe("9 ft"), s.end()))
    (found,) = seen(shop, "unlikely length")
    assert "6 ft" in words(found.cure)
    assert mended(shop, found).runs[0].pieces[1].length_m == pytest.approx(6 * 0.3048)
    assert names(shop, "long hose") == []


def test_long_hose_in_feet_stays_a_long_hose() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.hose("30 ft", 1), s.pipe("9 ft"), s.end()))
    assert names(shop, "unlikely length") == []
    assert names(shop, "long hose") == ["hose in a"]


def test_hose_in_feet_and_pipe_in_metres_are_read_each_in_its_own_unit() -> None:
    mixed = s.shop(s.run("a", s.port("saw", "4 in"), s.hose("5 ft", 1), s.pipe("3 m"), s.end()))
    assert [piece.length_m for piece in mixed.runs[0].pieces[1:3]] == [pytest.approx(1.524), 3.0]
    assert rows(mixed, "unlikely length") == []


@pytest.mark.parametrize(("bore", "inside"), [("110 mm", 104), ("4.5 in", 102.4), ("4.22 in", 101.6), ("160 mm", 152)])
def test_drain_pipe_named_by_its_outside_is_read_by_its_inside(bore: str, inside: float) -> None:
    drain = [s.pipe("9 ft", bore, style="pvc"), s.elbow(), s.pipe("3 ft", style="plastic")]
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.gate(), *drain, s.end("4 in")))
    (found,) = seen(shop, "outside diameter")
    bores = [1000.0 * (piece.size_m or 0.0) for piece in mended(shop, found).runs[0].pieces]
    assert bores == pytest.approx([101.6, 101.6, inside, inside, inside, 101.6], abs=0.1)


def test_drain_pipe_of_two_sizes_is_told_once_and_read_with_both_insides() -> None:
    drain = [s.pipe("9 ft", "75 mm", style="pvc"), s.reducer("125 mm"), s.pipe("3 ft", style="plastic")]
    shop = s.shop(s.run("a", s.port("saw", "80 mm"), s.gate(), *drain, s.end("125 mm")))
    (found,) = seen(shop, "outside diameter")
    assert len(figures(found.what)) == 4 and len(figures(found.cure)) == 2
    bores = [round(1000.0 * (piece.size_m or 0.0)) for piece in mended(shop, found).runs[0].pieces]
    assert bores[2:5] == [71, 119, 119]


@pytest.mark.parametrize(("bore", "style"), [("4 in", "plastic"), ("104 mm", "plastic"), ("125 mm", "spiral")])
def test_inside_diameters_are_not_doubted(bore: str, style: str) -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.pipe("9 ft", bore, style=style), s.end()))
    assert names(shop, "outside diameter") == []


def test_the_neighbour_that_a_size_is_held_against_is_the_nearest_row() -> None:
    rows_ = [s.port("saw", "100 mm"), s.pipe("6 ft"), s.elbow(), s.reducer("300 mm"), s.pipe("6 ft", "12 mm")]
    (found,) = seen(s.shop(s.run("a", *rows_, s.end("300 mm"))), "unlikely size")
    assert "12 in" in words(found.cure)
