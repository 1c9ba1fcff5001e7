"""A change is one thing: words for the reader, and a new shop of a shop."""

from __future__ import annotations

import pytest

from ductcalc.shop import Shop
from ductcalc.shop.change import BLEED, air_bleed, cell_value, changed, gate_leak, place_of, sections_sized
from ductcalc.shop.hanging import spelled_out
from tests.scenes import end, pipe, port, reducer, run, shop, two_machines, wye


def sizes(made: Shop, number: int) -> list[float | None]:
    return [piece.size_m for piece in made.runs[number].pieces]


def test_changes_are_applied_in_order_and_leave_their_words() -> None:
    bore = [cell_value("trunk", "pipe", 1, "size_m", size, f"pipe {size}") for size in (0.1, 0.2)]
    made = changed(two_machines(), bore)
    assert made.runs[0].pieces[3].size_m == 0.2
    assert made.changes == ("pipe 0.1", "pipe 0.2")
    assert changed(made, [gate_leak(0.0)]).changes[:2] == made.changes


def test_no_change_is_the_same_shop() -> None:
    assert changed(two_machines(), []) == two_machines()


def test_the_shop_that_is_changed_stays_as_it_was() -> None:
    found = two_machines()
    changed(spelled_out(found), [sections_sized({("trunk", 1): 0.15}), gate_leak(0.03), air_bleed("trunk", 2, 1e-3)])
    assert found == two_machines() and found.changes == ()


def test_one_field_of_one_piece_alone_is_replaced() -> None:
    found = two_machines()
    made = changed(found, [cell_value(" TRUNK", "pipe", 2, "length_m", 9.0, "longer")])
    differing = [
        (old, new)
        for run, other in zip(found.runs, made.runs, strict=True)
        for old, new in zip(run.pieces, other.pieces, strict=True)
        if old != new
    ]
    assert [(old.kind, new.length_m) for old, new in differing] == [("pipe", 9.0)]


@pytest.mark.parametrize(("kind", "number"), [("pipe", 3), ("pipe", 0), ("elbow", 1)])
def test_a_piece_that_is_not_there_is_an_error(kind: str, number: int) -> None:
    with pytest.raises(ValueError, match=f"has no {kind} {number}"):
        changed(two_machines(), [cell_value("trunk", kind, number, "k", 1.0, "")])  # type: ignore[arg-type]


def test_pieces_are_counted_by_kind_from_the_run_s_start() -> None:
    first = two_machines().runs[0]
    assert [place_of(first, "pipe", number) for number in (1, 2, 3)] == [3, 5, None]


def test_gate_leak_holds_for_every_gate() -> None:
    made = changed(two_machines(), [gate_leak(0.03)])
    assert made.settings.gates.leak == 0.03
    assert made.changes == ("every shut gate leaks 3 % of its bore",)


def test_another_size_of_a_section_leaves_port_and_collector() -> None:
    made = changed(spelled_out(two_machines()), [sections_sized({("trunk", 1): 0.125})])
    assert sizes(made, 0)[0] == sizes(two_machines(), 0)[0]
    assert sizes(made, 0)[1:4] == [0.125] * 3
    assert made.changes == ("trunk 1: bore 125 mm",)


def test_reducers_lead_to_what_follows_them_in_its_new_size() -> None:
    rows = (port("saw", "4 in"), pipe("9 ft"), reducer("5 in"))
    made = spelled_out(shop(run("hose", *rows, pipe("9 ft"), wye("drop", "6 in"), pipe("9 ft"), reducer("7 in"), end()),
                            run("drop", port("a", "4 in"), pipe("4 ft"))))  # fmt: skip
    behind = changed(made, [sections_sized({("hose", 2): 0.16})])
    assert [round(size, 3) for size in sizes(behind, 0)[3:]] == [0.127, 0.16, 0.16, 0.178, 0.178]
    ahead = changed(made, [sections_sized({("hose", 1): 0.15})])
    assert [round(size, 3) for size in sizes(ahead, 0)[:5]] == [0.102, 0.15, 0.15, 0.15, 0.152]


def test_air_bleed_comes_in_where_the_section_begins() -> None:
    made = changed(two_machines(), [air_bleed("trunk", 2, 1e-3)])
    assert made.runs[-1].name == BLEED
    assert made.runs[0].pieces[4].joins == ("drop", BLEED)
