"""How runs are cut into sections, and what carries on from row to row."""

from __future__ import annotations

import pytest

from ductcalc.shop.hanging import Hanging, hang
from tests.scenes import Rows, cap, elbow, end, gate, hose, piece, pipe, port, run, shop, wye

INCH = 0.0254


def hung(*runs: Rows) -> Hanging:
    return hang(shop(*runs))


def test_sections_are_named_by_run_and_number_counted_from_its_start() -> None:
    found = hung(
        run("trunk", port("saw", "4 in"), wye("a", "5 in"), pipe("3 ft"), wye("b", "6 in"), end()),
        run("a", port("planer", "4 in")),
        run("b", port("lathe", "4 in"), wye("c", "4 in"), pipe("1 ft")),
        run("c", port("sander", "3 in")),
    )
    assert {section.name for section in found.sections} == {
        "trunk 1",
        "trunk 2",
        "trunk 3",
        "a 1",
        "b 1",
        "b 2",
        "c 1",
    }


def test_every_upstream_section_stands_before_the_one_it_flows_into() -> None:
    found = hung(
        run("trunk", port("saw", "4 in"), wye("a", "5 in"), pipe("3 ft"), wye("b", "6 in"), end()),
        run("a", port("planer", "4 in")),
        run("b", port("lathe", "4 in")),
    )
    assert all(stream.section < wye_.outlet for wye_ in found.wyes for stream in wye_.streams)
    assert found.sections[found.root].name == "trunk 3"


def test_a_blank_size_carries_on_from_the_row_before() -> None:
    found = hung(run("trunk", port("saw", "4 in"), pipe("3 ft"), gate("5 in"), elbow(), end()))
    bores = [piece_.bore_m for piece_ in found.sections[0].pieces]
    assert bores == pytest.approx([4 * INCH, 4 * INCH, 5 * INCH, 5 * INCH, 5 * INCH])


def test_a_blank_size_at_the_head_takes_the_next_one_written() -> None:
    found = hung(run("trunk", port("saw"), hose("3 ft", size="4 in"), end()))
    assert [piece_.bore_m for piece_ in found.sections[0].pieces] == pytest.approx([4 * INCH] * 3)


def test_a_wye_passes_its_outlet_on_to_the_rows_behind_it() -> None:
    found = hung(
        run("trunk", port("saw", "4 in"), wye("a", "6 in"), pipe("3 ft"), end()),
        run("a", port("planer", "4 in")),
    )
    last = found.sections[found.root]
    assert last.bore_m == pytest.approx(6 * INCH)
    assert [p.bore_m for p in last.pieces] == pytest.approx([6 * INCH] * 2)


def test_a_wye_without_a_size_has_the_bore_of_the_row_before() -> None:
    found = hung(run("trunk", port("saw", "5 in"), wye("a"), end()), run("a", port("planer", "4 in")))
    assert found.wyes[0].hung.bore_m == pytest.approx(5 * INCH)


def test_a_cap_is_no_piece_and_no_port() -> None:
    found = hung(run("trunk", cap("6 in"), pipe("3 ft"), wye("a"), end()), run("a", port("planer", "4 in")))
    first = next(s for s in found.sections if s.name == "trunk 1")
    assert first.starts == "cap"
    assert [p.piece.kind for p in first.pieces] == ["pipe"]
    assert [p.machine for p in found.ports] == ["planer"]


def test_a_run_may_start_with_a_wye_that_has_branches_only() -> None:
    found = hung(
        run("trunk", wye("a + b", "6 in", angle="45"), pipe("3 ft"), end()),
        run("a", port("planer", "4 in")),
        run("b", port("lathe", "4 in")),
    )
    assert [s.name for s in found.sections] == ["a 1", "b 1", "trunk 1"]
    assert [(s.straight, s.angle_deg) for s in found.wyes[0].streams] == [(False, 45.0), (False, 45.0)]


def test_the_straight_run_comes_first_at_no_angle() -> None:
    found = hung(
        run("trunk", port("saw", "4 in"), wye("a + b", "6 in", angle="30 + 45"), end()),
        run("a", port("planer", "4 in")),
        run("b", port("lathe", "4 in")),
    )
    streams = found.wyes[0].streams
    assert [(found.sections[s.section].run, s.straight, s.angle_deg) for s in streams] == [
        ("trunk", True, 0.0),
        ("a", False, 30.0),
        ("b", False, 45.0),
    ]


def test_a_blank_angle_is_45_degrees() -> None:
    found = hung(run("trunk", port("saw", "4 in"), wye("a", "6 in"), end()), run("a", port("planer", "4 in")))
    assert found.wyes[0].streams[1].angle_deg == 45.0


def test_style_y_brings_the_straight_run_in_at_the_angle_as_well() -> None:
    found = hung(
        run("trunk", port("saw", "4 in"), wye("a", "6 in", angle="30", style="y"), end()),
        run("a", port("planer", "4 in")),
    )
    assert [s.angle_deg for s in found.wyes[0].streams] == [30.0, 30.0]


def test_a_wye_closed_by_a_cap_lets_the_straight_run_through_alone() -> None:
    found = hung(run("trunk", port("saw", "4 in"), wye("cap", "6 in"), pipe("3 ft"), end()))
    assert [s.straight for s in found.wyes[0].streams] == [True]
    assert [s.name for s in found.sections] == ["trunk 1", "trunk 2"]


def test_a_cap_beside_a_run_keeps_the_runs_own_angle() -> None:
    found = hung(
        run("trunk", port("saw", "4 in"), wye("cap + a", "6 in", angle="30 + 60"), end()),
        run("a", port("planer", "4 in")),
    )
    assert [s.angle_deg for s in found.wyes[0].streams] == [0.0, 60.0]


def test_ports_at_the_head_of_a_run_share_its_section() -> None:
    found = hung(run("trunk", port("saw", "4 in"), port("planer", "5 in"), hose("3 ft", size="4 in"), end()))
    assert [(p.machine, p.section) for p in found.ports] == [("saw", 0), ("planer", 0)]
    assert [p.hung.bore_m for p in found.ports] == pytest.approx([4 * INCH, 5 * INCH])


def test_a_port_without_a_name_is_called_like_its_run() -> None:
    found = hung(run("band saw", {"piece": "port", "size": "4 in"}, end()))
    assert found.machines() == ("band saw",)


def test_a_machine_is_spelled_as_in_its_first_row() -> None:
    found = hung(run("trunk", port("Table Saw", "4 in"), wye("a", "6 in"), end()), run("a", port("table  saw", "4 in")))
    assert found.machines() == ("Table Saw",)
    assert {p.machine for p in found.ports} == {"Table Saw"}


class TestLike:
    @pytest.fixture
    def copied(self) -> Hanging:
        return hung(
            run("trunk", port("saw", "4 in"), wye("one", "6 in"), pipe("1 ft"), wye("two"), end()),
            run("one", port("planer", "5 in", flow="500 cfm", k=2), gate(machine="red gate"), pipe("7 ft")),
            run("two", piece("like", joins="one", machine="jointer", flow="300 cfm")),
        )

    def test_copies_the_pieces(self, copied: Hanging) -> None:
        one, two = (next(s for s in copied.sections if s.run == name) for name in ("one", "two"))
        assert [(p.piece.kind, p.bore_m, p.piece.length_m, p.piece.k) for p in one.pieces] == [
            (p.piece.kind, p.bore_m, p.piece.length_m, p.piece.k) for p in two.pieces
        ]

    def test_has_its_own_machine_and_flow(self, copied: Hanging) -> None:
        jointer = next(p for p in copied.ports if p.run == "two")
        assert jointer.machine == "jointer"
        assert jointer.hung.piece.wanted is not None
        assert jointer.hung.piece.wanted.flow_m3_s == pytest.approx(300 * 0.3048**3 / 60)

    def test_does_not_copy_the_gates_own_name(self, copied: Hanging) -> None:
        two = next(s for s in copied.sections if s.run == "two")
        assert [p.piece.machine for p in two.pieces if p.piece.kind == "gate"] == [None]

    def test_a_copy_of_a_copy_is_a_copy(self) -> None:
        found = hung(
            run("trunk", port("saw", "4 in"), wye("one + two + three", "6 in"), end()),
            run("one", port("planer", "5 in"), pipe("7 ft")),
            run("two", piece("like", joins="three", machine="jointer")),
            run("three", piece("like", joins="one", machine="lathe")),
        )
        assert sorted(p.machine for p in found.ports) == ["jointer", "lathe", "planer", "saw"]
        assert [len(s.pieces) for s in found.sections if s.run in ("one", "two", "three")] == [2, 2, 2]


def test_the_outlet_duct_stands_apart_from_the_tree() -> None:
    found = hung(run("trunk", port("saw", "4 in"), end("6 in")), run("out", end("6 in"), pipe("5 ft"), elbow("7 in")))
    assert [(p.piece.kind, round(p.bore_m / INCH, 6)) for p in found.outlet] == [
        ("collector", 6.0),
        ("pipe", 6.0),
        ("elbow", 7.0),
    ]
    assert all(s.run == "trunk" for s in found.sections)


def test_a_chain_of_thousands_of_runs_hangs_without_recursion() -> None:
    deep = 3000
    rows = [run("r0", port("m0", "4 in"), wye("r1", "4 in"), end())]
    rows += [run(f"r{n}", port(f"m{n}", "4 in"), wye(f"r{n + 1}", "4 in")) for n in range(1, deep)]
    rows.append(run(f"r{deep}", port(f"m{deep}", "4 in")))
    assert len(hung(*rows).sections) == 2 * deep + 1
