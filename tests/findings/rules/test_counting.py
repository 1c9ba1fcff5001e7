"""Things counted twice, or by a figure that does not grow with speed."""

from __future__ import annotations

import pytest

from ductcalc.answers.check import check
from ductcalc.shop import Shop
from ductcalc.shop.hanging import spelled_out
from tests import scenes as s
from tests.findings.looking import figures, mended, names, rows, seen, words


def branch(*last: s.Row, first: str = "5 ft") -> Shop:
    """Build a main of two stretches behind the wye at which a branch with some last rows joins."""
    return s.shop(
        s.run("main", s.port("saw", "4 in"), s.gate(), s.pipe("7 ft"), s.wye("b", "4 in"), s.pipe("8 ft"), s.elbow(),
              s.wye("c", "4 in"), s.pipe("9 ft"), s.end()),
        s.run("b", s.port("lathe", "4 in"), s.gate(), s.pipe(first), *last),
        s.run("c", s.port("jointer", "4 in"), s.gate(), s.pipe("6 ft")),
    )  # fmt: skip


def test_branch_that_copies_the_main_to_the_collector_is_seen() -> None:
    shop = branch(s.pipe("8 ft"), s.elbow(), s.pipe("9 ft"))
    (found,) = seen(shop, "main written twice")
    assert figures(found.what) == ["17 ft"] and "3 pieces" in words(found.what) and "main" in words(found.what)
    assert mended(shop, found).runs[1].pieces == spelled_out(branch()).runs[1].pieces


def test_branch_that_copies_the_main_to_the_next_wye_is_seen_once() -> None:
    assert names(branch(s.pipe("8 ft"), s.elbow()), "main written twice") == ["b"]


def test_copied_row_is_the_first_of_them() -> None:
    assert rows(branch(s.pipe("8 ft"), s.elbow()), "main written twice") == [13]


def test_one_piece_that_happens_to_be_alike_is_no_finding() -> None:
    assert names(branch(first="8 ft"), "main written twice") == []


def test_part_of_the_stretch_is_no_finding() -> None:
    assert names(branch(s.elbow(), s.pipe("8 ft")), "main written twice") == []


def test_first_pieces_of_a_longer_stretch_are_no_finding() -> None:
    main = [s.pipe("8 ft"), s.elbow(), s.pipe("9 ft")]
    shop = s.shop(
        s.run("main", s.port("saw", "4 in"), s.gate(), s.pipe("7 ft"), s.wye("b", "4 in"), *main, s.end()),
        s.run("b", s.port("lathe", "4 in"), s.gate(), s.pipe("5 ft"), *main[:2]),
    )
    assert names(shop, "main written twice") == []


def test_other_bore_is_no_copy() -> None:
    assert names(branch(s.pipe("8 ft", "5 in"), s.elbow()), "main written twice") == []


def test_pipe_with_its_own_k_is_seen_and_the_blank_counts_its_friction() -> None:
    rows_ = [s.port("saw", "4 in", k=1.5), s.gate()]
    shop = s.shop(s.run("a", *rows_, s.pipe("20 ft", k=3), s.end()))
    (found,) = seen(shop, "loss by the foot")
    plain = s.shop(s.run("a", *rows_, s.pipe("20 ft"), s.end()))
    assert found.name == "pipe in a"
    assert check(mended(shop, found)).loaded[0].machines[0].flow_m3_s == pytest.approx(
        check(plain).loaded[0].machines[0].flow_m3_s, rel=1e-12
    )


def test_elbow_with_its_own_k_is_no_finding() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.elbow(k=0.4), s.other(1.0), s.pipe("5 ft"), s.end()))
    assert names(shop, "loss by the foot") == []


def stepped(*last: s.Row, wye: str = "6 in") -> Shop:
    return s.shop(
        s.run("main", s.port("saw", "4 in"), s.gate(), s.pipe("7 ft"), s.wye("b", wye), s.pipe("8 ft"), s.end()),
        s.run("b", s.port("lathe", "4 in"), s.gate(), s.pipe("6 ft"), *last),
    )


def test_elbow_as_wide_as_the_wye_at_the_end_of_a_narrow_branch_is_the_wye() -> None:
    shop = stepped(s.elbow("6 in", angle="45"))
    (found,) = seen(shop, "wye as elbow")
    assert (found.name, found.means) == ("elbow in b", "otherwise")
    assert mended(shop, found).runs[1].pieces == spelled_out(stepped()).runs[1].pieces


def test_elbow_behind_a_reducer_is_seen_too() -> None:
    assert names(stepped(s.reducer("6 in"), s.elbow(angle="45")), "wye as elbow") == ["elbow in b"]


@pytest.mark.parametrize(
    "last",
    [
        [s.elbow(angle="45")],
        [s.elbow("5 in")],
        [s.elbow("6 in"), s.pipe("2 ft")],
        [s.pipe("4 ft", "6 in"), s.elbow("6 in")],
    ],
)
def test_elbow_that_a_branch_may_really_have_is_no_finding(last: list[s.Row]) -> None:
    assert names(stepped(*last), "wye as elbow") == []


def test_elbow_in_front_of_the_collector_is_no_finding() -> None:
    shop = s.shop(s.run("a", s.port("saw", "4 in"), s.pipe("6 ft"), s.elbow("6 in"), s.end("6 in")))
    assert names(shop, "wye as elbow") == []


def hood(port: s.Row, *rows_: s.Row) -> Shop:
    return s.shop(s.run("a", port, *rows_, s.pipe("9 ft"), s.end()))


def test_tapered_hood_with_a_narrowing_reducer_counts_its_taper_twice() -> None:
    shop = hood(s.port("lathe", "8 in", style="tapered", angle="60"), s.reducer("4 in"))
    (found,) = seen(shop, "taper twice")
    after = mended(shop, found)
    assert [piece.kind for piece in after.runs[0].pieces] == ["port", "pipe", "collector"]
    assert after.runs[0].pieces[0].size_m == pytest.approx(0.1016)


@pytest.mark.parametrize(
    ("port", "rest"),
    [
        (s.port("lathe", "4 in", style="tapered"), [s.reducer("6 in")]),
        (s.port("lathe", "6 in", style="flanged"), [s.reducer("4 in")]),
        (s.port("lathe", "6 in"), [s.reducer("4 in")]),
        (s.port("lathe", "6 in", style="tapered", k=0.3), [s.reducer("4 in")]),
        (s.port("lathe", "6 in", style="tapered"), [s.gate(), s.reducer("4 in")]),
        (s.port("lathe", "160 mm", style="tapered"), [s.reducer("6.2 in")]),
    ],
)
def test_reducer_that_is_no_hood_of_its_own_is_no_finding(port: s.Row, rest: list[s.Row]) -> None:
    assert names(hood(port, *rest), "taper twice") == []


HANGING = (s.hose("3 ft"), s.gate(), s.pipe("9 ft"))


@pytest.mark.parametrize(
    ("rows_", "row"),
    [
        ([*HANGING, *HANGING], 5),
        ([s.gate(), s.gate(), s.pipe("9 ft")], 3),
        ([s.pipe("9 ft"), s.elbow(), s.pipe("6 ft"), s.pipe("9 ft"), s.elbow(), s.pipe("6 ft")], 5),
    ],
)
def test_rows_that_follow_once_more_are_told_and_deleted_once(rows_: list[s.Row], row: int) -> None:
    shop = s.shop(s.run("a", s.port("saw", "5 in"), *rows_, s.end()))
    (found,) = seen(shop, "rows twice")
    assert found.place is not None and found.place.row == row
    assert names(mended(shop, found), "rows twice") == []


@pytest.mark.parametrize(
    "rows_",
    [
        [s.pipe("10 ft"), s.pipe("10 ft")],
        [s.elbow(), s.pipe("4 ft"), s.elbow(), s.pipe("4 ft")],
        [s.hose("3 ft"), s.hose("3 ft")],
        [s.pipe("5 ft")] * 6,
    ],
)
def test_sticks_on_end_and_pipe_that_climbs_over_something_are_built_like_that(rows_: list[s.Row]) -> None:
    assert names(s.shop(s.run("a", s.port("saw", "5 in"), *rows_, s.end())), "rows twice") == []
