"""Elbows that stand badly, or that nobody wrote."""

from __future__ import annotations

import pytest

from ductcalc.shop import Shop
from tests import scenes as s
from tests.findings.looking import figures, mended, names, rows, seen


def straight(*rows_: s.Row, bore: str = "4 in") -> Shop:
    return s.shop(s.run("trunk", s.port("saw", bore), s.gate(), *rows_, s.end(bore)))


def test_elbows_back_to_back_are_seen_at_the_second_one() -> None:
    shop = straight(s.pipe("9 ft"), s.elbow(), s.elbow(), s.pipe("9 ft"))
    assert rows(shop, "close bends") == [5]


@pytest.mark.parametrize(("between", "seen_rows"), [("7 in", [6]), ("8 in", []), ("3 ft", [])])
def test_two_bores_of_straight_pipe_between_are_enough(between: str, seen_rows: list[int]) -> None:
    shop = straight(s.pipe("9 ft"), s.elbow(), s.pipe(between), s.elbow(), s.pipe("9 ft"))
    assert rows(shop, "close bends") == seen_rows


def test_two_gentle_bends_may_follow_each_other() -> None:
    gentle = [s.elbow(angle="45"), s.elbow(angle="45")]
    assert names(straight(s.pipe("9 ft"), *gentle, s.pipe("9 ft")), "close bends") == []


def test_three_elbows_in_a_row_are_two_close_pairs() -> None:
    shop = straight(s.pipe("9 ft"), s.elbow(), s.elbow(), s.elbow(), s.pipe("9 ft"))
    assert rows(shop, "close bends") == [5, 6]


def test_close_bend_counts_four_tenths_of_one_bend_more() -> None:
    shop = straight(s.pipe("9 ft"), s.elbow(k=0.5), s.elbow(k=0.5), s.pipe("9 ft"))
    (found,) = seen(shop, "close bends")
    extra = [piece for piece in mended(shop, found).runs[0].pieces if piece.kind == "other"]
    assert [piece.k for piece in extra] == [pytest.approx(0.2)]


@pytest.mark.parametrize(("ahead", "count"), [("9 in", 1), ("10 in", 0)])
def test_elbow_at_the_inlet_needs_two_bores_of_straight_pipe(ahead: str, count: int) -> None:
    shop = straight(s.pipe("9 ft"), s.elbow(), s.pipe(ahead), bore="5 in")
    assert len(seen(shop, "elbow at the inlet")) == count


def test_reducer_between_elbow_and_inlet_does_not_hide_it() -> None:
    assert names(straight(s.pipe("9 ft"), s.elbow(), s.reducer("5 in"), bore="4 in"), "elbow at the inlet") == [
        "elbow in trunk"
    ]


def test_gentle_bend_at_the_inlet_is_not_seen() -> None:
    assert names(straight(s.pipe("9 ft"), s.elbow(angle="45", count=2)), "elbow at the inlet") == []


def test_riser_that_goes_over_into_level_pipe_lacks_an_elbow() -> None:
    shop = straight(s.pipe("6 ft", rise="6 ft"), s.pipe("9 ft"))
    (found,) = seen(shop, "missing elbow")
    assert (found.place.row if found.place else None) == 4
    assert figures(found.what) == ["6 ft"]


def test_level_pipe_that_goes_over_into_a_faller_lacks_an_elbow() -> None:
    down = [s.pipe("5 ft", rise="-5 ft"), s.pipe("1 ft", rise="-1 ft")]
    (found,) = seen(straight(s.pipe("9 ft"), *down), "missing elbow")
    assert figures(found.what) == ["9 ft"]


@pytest.mark.parametrize(
    "between", [[s.elbow()], [s.hose("3 ft")], [s.elbow(angle="45"), s.pipe("1 ft", rise="8 in"), s.elbow(angle="45")]]
)
def test_what_can_turn_the_air_is_an_elbow_enough(between: list[s.Row]) -> None:
    assert names(straight(s.pipe("6 ft", rise="6 ft"), *between, s.pipe("9 ft")), "missing elbow") == []


def test_pipe_that_slopes_a_little_is_level() -> None:
    assert names(straight(s.pipe("6 ft", rise="1 ft"), s.pipe("9 ft")), "missing elbow") == []


def test_riser_that_is_followed_by_the_main_written_again_lacks_no_elbow() -> None:
    main = [s.pipe("9 ft"), s.elbow(), s.pipe("4 ft")]
    drop = [s.port("lathe", "4 in"), s.gate(), s.pipe("6 ft", rise="6 ft")]
    trunk = s.run("trunk", s.port("saw", "4 in"), s.gate(), s.pipe("9 ft"), s.wye("b", "4 in"), *main, s.end("4 in"))
    assert names(s.shop(trunk, s.run("b", *drop, *main)), "missing elbow") == []
    assert names(s.shop(trunk, s.run("b", *drop, s.pipe("3 ft"))), "missing elbow") == ["pipe in b"]
