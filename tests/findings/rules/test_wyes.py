"""Wyes that turn the air too sharply, or squeeze it."""

from __future__ import annotations

import pytest

from ductcalc.shop import Shop
from ductcalc.shop.change import cell_value, changed
from tests import scenes as s
from tests.findings.looking import figures, mended, names, seen, words


def joined(outlet: str = "5 in", behind: str | None = None, **cells: object) -> Shop:
    return s.shop(
        s.run("trunk", s.port("saw", "4 in"), s.gate(), s.pipe("9 ft"), s.wye("b", outlet, **cells),
              s.pipe("9 ft", behind), s.end()),
        s.run("b", s.port("lathe", "5 in"), s.gate(), s.pipe("9 ft")),
    )  # fmt: skip


@pytest.mark.parametrize(("angle", "count"), [("45", 0), ("60", 0), ("74", 0), ("75", 1), ("90", 1)])
def test_branch_from_75_degrees_on_is_a_tee(angle: str, count: int) -> None:
    assert len(seen(joined(angle=angle), "tee")) == count


def test_wye_without_an_angle_is_no_tee() -> None:
    assert names(joined(), "tee") == []


def test_wye_with_a_loss_of_its_own_is_not_seen() -> None:
    assert names(joined(angle="90", k=0.3), "tee") == []


def test_only_the_sharp_branch_of_a_double_wye_is_eased() -> None:
    shop = s.shop(
        s.run("main", s.cap("5 in"), s.wye("a + b", "5 in", angle="30 + 90"), s.pipe("9 ft"), s.end()),
        s.run("a", s.port("saw", "4 in"), s.gate()),
        s.run("b", s.port("lathe", "4 in"), s.gate()),
    )
    (found,) = seen(shop, "tee")
    assert "90 degrees" in words(found.what)
    wye = next(piece for piece in mended(shop, found).runs[0].pieces if piece.kind == "wye")
    assert wye.angles_deg == (30.0, 45.0)


def test_what_is_watched_is_the_branch_that_comes_in() -> None:
    (found,) = seen(joined(angle="90"), "tee")
    assert found.watch is not None
    assert found.watch.machine == "lathe"


def test_outlet_smaller_than_an_inlet_is_seen() -> None:
    (found,) = seen(joined("4 in"), "narrow outlet")
    assert figures(found.what) == ["5 in", "4 in"]


@pytest.mark.parametrize("outlet", ["5 in", "6 in", "125 mm"])
def test_outlet_of_the_size_of_its_inlets_is_not_seen(outlet: str) -> None:
    assert names(joined(outlet), "narrow outlet") == []


def test_narrow_outlet_takes_what_follows_of_its_size_along() -> None:
    shop = joined("4 in")
    (found,) = seen(shop, "narrow outlet")
    sizes = [round((piece.size_m or 0.0) / 0.0254, 6) for piece in mended(shop, found).runs[0].pieces]
    assert sizes == [4.0, 4.0, 4.0, 5.0, 5.0, 4.0]


def test_every_narrow_outlet_is_seen() -> None:
    drop, double = [s.gate(), s.pipe("9 ft")], s.wye("c + d", "4 in", angle="30 + 30")
    shop = s.shop(
        s.run("trunk", s.port("saw", "4 in"), *drop, s.wye("b", "4 in"), s.pipe("9 ft"), double, s.end()),
        s.run("b", s.port("lathe", "5 in"), *drop),
        s.run("c", s.port("planer", "5 in"), *drop),
        s.run("d", s.port("jointer", "4 in"), *drop),
    )
    found = seen(shop, "narrow outlet")
    assert [one.watch.machine if one.watch else None for one in found] == ["lathe", "planer"]


def test_branch_against_the_flow_is_no_tee_and_is_turned_round() -> None:
    backwards = changed(joined(angle="45"), [cell_value("trunk", "wye", 1, "angles_deg", (135.0,), "turned")])
    (found,) = seen(backwards, "wye against the flow")
    assert "135 degrees" in words(found.what)
    wye = next(piece for piece in mended(backwards, found).runs[0].pieces if piece.kind == "wye")
    assert wye.angles_deg == (45.0,)
    assert names(backwards, "tee") == []
