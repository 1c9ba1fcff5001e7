"""Hoses that are too long or too thin."""

from __future__ import annotations

import pytest

from ductcalc.findings.weighing import findings_of
from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, mended, names, rows, seen, words


def one_hose(hose: s.Row, *more: s.Row) -> Shop:
    return s.shop(s.run("trunk", s.port("band saw", "4 in"), *more, hose, s.gate("4 in"), s.pipe("9 ft"), s.end()))


def test_hose_of_just_what_will_do_is_not_seen() -> None:
    assert names(one_hose(s.hose("5 ft", 1)), "long hose") == []


def test_hose_longer_than_that_is_seen_with_its_bends() -> None:
    (found,) = seen(one_hose(s.hose("8 ft", 3)), "long hose")
    assert figures(found.what) == ["8 ft", "5 ft"] and "3 bends" in words(found.what)


def test_metric_shop_has_a_round_metric_length() -> None:
    rows_ = [
        *s.run("trunk", s.port("Säge", "100 mm", flow="600 m3/h"), s.hose("1.5 m"), s.gate(), s.pipe("3 m"), s.end()),
    ]
    assert names(s.shop(rows_), "long hose") == []


def test_hose_that_hangs_on_several_machines_may_be_longer() -> None:
    shared = s.port("lathe", "4 in")
    assert names(one_hose(s.hose("9 ft", 1), shared), "long hose") == []
    assert names(one_hose(s.hose("12 ft", 1), shared), "long hose") == ["hose in trunk"]


def test_hose_with_a_loss_of_its_own_is_not_seen() -> None:
    assert names(one_hose(s.hose("20 ft", 1, k=1)), "long hose") == []


def test_cut_hose_keeps_its_bends_and_its_slope() -> None:
    shop = one_hose(s.hose("10 ft", 2, rise="6 ft"))
    (found,) = seen(shop, "long hose")
    piece = mended(shop, found).runs[0].pieces[1]
    assert (piece.length_m, piece.count, piece.rise_m) == (
        pytest.approx(5 * 0.3048), 2, pytest.approx(3 * 0.3048),
    )  # fmt: skip


def test_every_long_hose_is_seen_at_its_own_row() -> None:
    shop = s.shop(
        s.run("trunk", s.port("band saw", "4 in"), s.hose("8 ft"), s.pipe("9 ft"), s.wye("drop", "5 in"), s.end()),
        s.run("drop", s.port("lathe", "4 in"), s.hose("9 ft"), s.gate()),
    )
    assert rows(shop, "long hose") == [2, 7]


def test_runs_that_say_like_are_not_seen_again() -> None:
    shop = s.shop(
        s.run("main", s.cap("5 in"), s.wye("one + two", "5 in", angle="30 + 30"), s.pipe("9 ft"), s.end()),
        s.run("one", s.port("one", "4 in"), s.hose("12 ft"), s.gate()),
        s.run("two", s.piece("like", joins="one", machine="two")),
    )
    assert names(shop, "long hose") == ["hose in one"]
    assert [one.name for one in findings_of(shop).all if one.rule == "long hose"] == ["hose in one"]


def test_hose_in_several_rows_on_end_is_one_hose() -> None:
    shop = one_hose(s.hose("4 ft", 1), s.hose("4 ft", 1))
    (found,) = seen(shop, "long hose")
    assert figures(found.what) == ["8 ft", "5 ft"] and "2 rows with 2 bends" in words(found.what)
    pieces = mended(shop, found).runs[0].pieces
    assert [(piece.kind, piece.length_m) for piece in pieces[1:3]] == [
        ("flex", pytest.approx(4 * 0.3048)), ("flex", pytest.approx(0.3048)),
    ]  # fmt: skip


def test_hose_away_from_the_machine_gives_way_to_pipe() -> None:
    shop = s.shop(s.run("trunk", s.port("saw", "4 in"), s.gate(), s.hose("12 ft", 2), s.pipe("9 ft"), s.end()))
    (found,) = seen(shop, "long hose")
    assert figures(found.cure) == ["5 ft"] and "pipe" in words(found.cure)
    hose, pipe = mended(shop, found).runs[0].pieces[2:4]
    assert (hose.length_m, hose.count) == (pytest.approx(5 * 0.3048), 2)
    assert (pipe.kind, pipe.style, pipe.length_m) == ("pipe", "spiral", pytest.approx(7 * 0.3048))


def test_hose_taken_as_pipe_is_told_at_its_row() -> None:
    shop = one_hose(s.hose("5 ft", factor=1))
    (found,) = seen(shop, "hose as pipe")
    assert (found.name, rows(shop, "hose as pipe")) == ("hose in trunk", [2])
    assert "at 1 times" in words(found.what)
    assert mended(shop, found).runs[0].pieces[1].factor is None


def test_hose_taken_as_pipe_everywhere_is_told_at_the_setting() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.hose("5 ft"), s.end()), method={"flex_factor": 1.2})
    (found,) = seen(shop, "hose as pipe")
    assert found.place is not None
    assert (found.place.key, found.name) == ("method.flex_factor", "hoses")
    assert mended(shop, found).settings.method.flex_factor is None


def test_smooth_hose_is_believed() -> None:
    assert names(one_hose(s.hose("5 ft", factor=1.5)), "hose as pipe") == []


def test_thin_hose_between_its_neighbours_is_seen() -> None:
    (found,) = seen(one_hose(s.hose("3 ft", size="3 in")), "thin hose")
    assert figures(found.what) == ["3 in", "4 in", "4 in"]


def test_hose_of_the_same_nominal_size_is_not_seen() -> None:
    assert names(one_hose(s.hose("3 ft", size="98 mm")), "thin hose") == []


def test_reducer_into_a_thin_hose_is_mended_along_with_it() -> None:
    shop = one_hose(s.hose("3 ft", size="3 in"), s.reducer("3 in"))
    (found,) = seen(shop, "thin hose")
    sizes = {round((piece.size_m or 0.0) / 0.0254, 6) for piece in mended(shop, found).runs[0].pieces}
    assert sizes == {4.0}


def test_thin_hose_together_with_a_thin_gate_is_one_finding() -> None:
    rows_ = [s.port("saw", "4 in"), s.hose("3 ft", size="3 in"), s.gate("3 in"), s.pipe("9 ft", "4 in"), s.end()]
    shop = s.shop(s.run("trunk", *rows_))
    assert names(shop, "thin hose") == ["hose in trunk"]
    assert names(shop, "neck") == []


def test_drop_of_one_size_from_hose_to_main_is_no_thin_hose() -> None:
    narrower = [s.hose("3 ft", size="4 in"), s.gate(), s.pipe("9 ft")]
    shop = s.shop(
        s.run("trunk", s.port("saw", "5 in"), *narrower, s.wye("b", "6 in"), s.end()),
        s.run("b", s.port("lathe", "5 in"), *narrower),
    )
    assert names(shop, "thin hose") == []


def test_thin_hose_that_goes_straight_into_the_main_is_seen() -> None:
    shop = s.shop(
        s.run("trunk", s.port("saw", "5 in"), s.gate(), s.pipe("9 ft"), s.wye("b", "6 in"), s.end()),
        s.run("b", s.port("lathe", "5 in"), s.hose("3 ft", size="4 in")),
    )
    (found,) = seen(shop, "thin hose")
    assert figures(found.what) == ["4 in", "5 in", "6 in"]


@pytest.mark.parametrize(
    ("ahead", "count"), [([], 1), ([s.reducer("6 in")], 1), ([s.gate("4 in")], 0), ([s.pipe("2 ft", "4 in")], 0)]
)
def test_hose_far_wider_than_its_port_is_told_and_hung_as_wide_as_that(ahead: list[s.Row], count: int) -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), *ahead, s.hose("3 ft", size="6 in"), s.pipe("9 ft"), s.end()))
    found = seen(shop, "wide hose")
    assert len(found) == count
    for one in found:
        bores = [p.size_m for p in mended(shop, one).runs[0].pieces if p.traits.has_length]
        assert bores == pytest.approx([0.1016, 0.1016])


def test_hose_one_size_wider_than_its_port_is_custom() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.hose("3 ft", size="5 in"), s.pipe("9 ft"), s.end()))
    assert names(shop, "wide hose") == []


def test_wide_hose_is_no_wide_main_as_well() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.hose("3 ft", size="7 in"), s.pipe("9 ft"), s.end()))
    assert [one.rule for one in findings_of(shop).all if one.rule in ("wide hose", "wide main")] == ["wide hose"]
