"""Every way in which runs can hang together wrongly: what is said, where, and which repair is offered."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc.shop import Shop
from ductcalc.shop.hanging import hang
from tests.scenes import Rows, cap, elbow, end, gate, piece, pipe, port, reducer, run, shop, wye

TRUNK = run("trunk", port("saw", "4 in"), pipe("6 ft"), end())
DROP = run("drop", port("planer", "4 in"), pipe("3 ft"))


def problems(*runs: Rows) -> tuple[ductcalc.Problem, ...]:
    with pytest.raises(ductcalc.InputError) as caught:
        shop(*runs)
    return caught.value.problems


def only(*runs: Rows) -> ductcalc.Problem:
    found = problems(*runs)
    assert len(found) == 1, found
    return found[0]


def joined(joins: str, *rest: Rows, **cells: object) -> tuple[Rows, ...]:
    return (run("trunk", port("saw", "4 in"), pipe("6 ft"), wye(joins, "6 in", **cells), end()), *rest)


def check(problem: ductcalc.Problem, row: int, column: str, says: str, hint: str) -> None:
    assert problem.place is not None
    assert (problem.place.row, problem.place.column) == (row, column)
    assert says in problem.message
    assert hint in problem.hint


def test_a_shop_without_runs_is_refused() -> None:
    with pytest.raises(ductcalc.InputError, match="no run is written"):
        hang(Shop("empty", ()))


def test_a_run_that_joins_nothing() -> None:
    check(only(TRUNK, DROP), 4, "run", '"drop" joins nothing', "joins")


def test_a_run_that_comes_in_at_two_wyes() -> None:
    found = only(run("trunk", port("saw", "4 in"), wye("drop", "6 in"), pipe("3 ft"), wye("drop"), end()), DROP)
    check(found, 6, "run", "2 wyes", "one wye")


def test_a_wye_that_joins_an_unknown_run_names_the_nearest() -> None:
    found = problems(*joined("drup", DROP))
    check(found[0], 3, "joins", '"drup"', "did you mean drop?")
    assert found[0].given == "drup"


def test_a_wye_that_joins_a_run_unlike_any_other() -> None:
    found = problems(*joined("zzz", DROP))
    check(found[0], 3, "joins", '"zzz"', "cap")


def test_a_wye_that_joins_nobody() -> None:
    found = problems(run("trunk", port("saw", "4 in"), piece("wye", "6 in"), end()))
    check(found[0], 2, "joins", "which run", "cap")


def test_two_runs_of_one_name() -> None:
    found = problems(*joined("drop", DROP, run("rear", port("lathe", "4 in")), run("Drop", port("x", "4 in"))))
    assert any('"Drop"' in p.message and "above" in p.message for p in found)


def test_two_runs_that_end_at_a_collector() -> None:
    check(
        only(TRUNK, run("second", port("planer", "4 in"), end())),
        5,
        "piece",
        '"trunk" and "second"',
        "folder",
    )


def test_no_run_ends_at_the_collector() -> None:
    found = problems(run("trunk", port("saw", "4 in"), pipe("6 ft")))
    check(found[0], 2, "piece", "collector", "collector")


def test_two_outlet_ducts() -> None:
    outlet = (run("out", end("6 in"), pipe("2 ft")), run("also out", end("6 in"), pipe("2 ft")))
    check(only(TRUNK, *outlet), 6, "piece", "both start", "one")


def test_a_gate_in_the_outlet_duct() -> None:
    found = only(TRUNK, run("out", end("6 in"), gate(), pipe("2 ft")))
    check(found, 5, "piece", "gate", "pipe")


def test_a_run_that_goes_on_after_the_collector() -> None:
    found = problems(run("trunk", port("saw", "4 in"), end(), pipe("3 ft")))
    check(found[0], 2, "piece", "after the collector", "run of its own")


def test_a_port_in_the_middle() -> None:
    found = only(run("trunk", port("saw", "4 in"), pipe("3 ft"), port("planer"), end()))
    check(found, 3, "piece", "port in the middle", "wye")


def test_a_cap_in_the_middle() -> None:
    found = only(run("trunk", port("saw", "4 in"), cap("4 in"), end()))
    check(found, 2, "piece", "upstream", "remove")


def test_a_run_that_starts_with_a_pipe() -> None:
    found = only(run("trunk", pipe("3 ft", "4 in"), end()))
    check(found, 1, "piece", "starts with a pipe", "port")


def test_a_collector_run_that_also_comes_in_at_a_wye() -> None:
    found = problems(run("trunk", port("saw", "4 in"), wye("trunk", "6 in"), end()))
    assert any("also comes in at a wye" in p.message for p in found)


def test_runs_that_join_each_other_in_a_ring() -> None:
    found = only(
        TRUNK,
        run("one", port("planer", "4 in"), wye("two", "4 in")),
        run("two", port("lathe", "4 in"), wye("one", "4 in")),
    )
    assert "ring" in found.message
    assert "one" in found.message and "two" in found.message
    assert "collector" in found.hint


def test_a_run_that_joins_itself() -> None:
    found = only(TRUNK, run("one", port("planer", "4 in"), wye("one", "4 in")))
    assert "one" in found.message and "ring" in found.message


def test_three_angles_for_two_runs() -> None:
    found = only(*joined("drop + rear", DROP, run("rear", port("lathe", "4 in")), angle="30 + 45 + 60"))
    check(found, 3, "angle", "3 angles for 2", "one angle")


def test_a_symmetric_wye_takes_one_angle_more() -> None:
    made = shop(*joined("drop", DROP, angle="30 + 45", style="y"))
    streams = hang(made).wyes[0].streams
    assert [(s.angle_deg, s.straight) for s in streams] == [(30.0, True), (45.0, False)]


def test_no_row_of_a_run_has_a_size() -> None:
    found = only(*joined("drop", run("drop", port("planer"), pipe("3 ft"))))
    check(found, 5, "size", '"drop"', "blank")


def test_a_reducer_without_its_size() -> None:
    found = only(run("trunk", port("saw", "4 in"), piece("reducer"), end()))
    check(found, 2, "size", "needs the size", "downstream")


def test_a_wye_that_starts_its_run_with_nothing_but_a_cap() -> None:
    found = only(run("trunk", wye("cap", "6 in"), pipe("3 ft"), wye("drop"), end()), DROP)
    check(found, 1, "joins", "no air", "cap")


def test_one_machine_twice_on_one_hose() -> None:
    found = only(run("trunk", port("saw", "4 in"), port("Saw", "4 in"), pipe("3 ft"), end()))
    check(found, 2, "machine", "twice", "wye")


class TestLike:
    def joins(self, *rest: Rows) -> tuple[Rows, ...]:
        return joined("drop + copy", DROP, *rest)

    def test_of_an_unknown_run_names_the_nearest(self) -> None:
        found = only(*self.joins(run("copy", piece("like", joins="drap", machine="lathe"))))
        check(found, 7, "joins", '"drap"', "did you mean drop?")

    def test_of_nothing(self) -> None:
        found = problems(*self.joins(run("copy", piece("like", machine="lathe"))))
        assert any("copies" in p.message for p in found)

    def test_of_two_runs(self) -> None:
        found = problems(*self.joins(run("copy", piece("like", joins="drop + trunk", machine="lathe"))))
        assert any("copies" in p.message for p in found)

    def test_of_itself(self) -> None:
        found = problems(*self.joins(run("copy", piece("like", joins="copy", machine="lathe"))))
        assert any('"copy"' in p.message and "itself" in p.message for p in found)

    def test_of_each_other(self) -> None:
        found = problems(
            *joined(
                "a + b",
                run("a", piece("like", joins="b", machine="x")),
                run("b", piece("like", joins="a", machine="y")),
            )
        )
        assert {p.message for p in found} == {'run "a" is like itself', 'run "b" is like itself'}

    def test_of_a_run_with_a_wye(self) -> None:
        found = only(
            *joined(
                "drop + copy",
                run("drop", port("planer", "4 in"), wye("cap", "4 in")),
                run("copy", piece("like", joins="drop", machine="lathe")),
            )
        )
        check(found, 7, "joins", "has a wye", "wye")

    def test_of_the_collector_run(self) -> None:
        found = only(
            run("trunk", port("saw", "4 in"), end()), run("copy", piece("like", joins="trunk", machine="lathe"))
        )
        check(found, 3, "joins", "has a collector", "port")

    def test_of_a_run_whose_hose_is_shared(self) -> None:
        found = only(
            *joined(
                "drop + copy",
                run("drop", port("planer", "4 in"), port("lathe", "4 in"), pipe("3 ft")),
                run("copy", piece("like", joins="drop", machine="sander")),
            )
        )
        check(found, 8, "joins", "shared", "one port")

    def test_with_rows_beside_it(self) -> None:
        found = problems(*self.joins(run("copy", piece("like", joins="drop", machine="lathe"), pipe("3 ft", "4 in"))))
        assert any("beside `like`" in p.message for p in found)


def test_all_problems_come_together_in_the_order_of_the_table() -> None:
    found = problems(
        run("trunk", port("saw", "4 in"), wye("nowhere", "6 in"), cap("6 in"), end()),
        run("drop", elbow("4 in")),
        run("rear", port("lathe", "4 in"), piece("reducer")),
    )
    rows = [p.place.row for p in found if p.place and p.place.row]
    assert len(found) >= 4
    assert rows == sorted(rows)


def test_a_reducer_row_is_no_problem_where_it_has_a_size() -> None:
    made = shop(run("trunk", port("saw", "4 in"), reducer("5 in"), end()))
    assert len(hang(made).sections) == 1


def test_a_ring_is_named_also_when_no_run_ends_at_the_collector() -> None:
    rows = [
        {"run": "a", "piece": "port", "machine": "saw", "size": "4 in"},
        {"piece": "wye", "joins": "b"},
        {"run": "b", "piece": "port", "machine": "planer", "size": "4 in"},
        {"piece": "wye", "joins": "a"},
    ]
    with pytest.raises(ductcalc.InputError) as caught:
        ductcalc.shop_from_rows(duct=rows)
    said = [problem.message for problem in caught.value.problems]
    assert any("ends at the collector" in message for message in said)
    assert sum("ring" in message for message in said) == 1
