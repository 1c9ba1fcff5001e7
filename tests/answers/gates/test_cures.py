"""Cures where no gate helps, each held against the check of a table that was edited by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

import ductcalc
from ductcalc.answers.gates.card import card
from ductcalc.answers.gates.cures import CureAnswer
from ductcalc.answers.gates.gates import gates
from ductcalc.report.card import card_blocks
from ductcalc.report.display import Display
from ductcalc.report.render import Page, rendered
from ductcalc.shop import Shop
from tests.gate_shops import row_of_machines
from tests.scenes import NO_PARTS, Row, Rows, end, gate, hose, piece, pipe, points, port, rated, reducer, run, shop, wye

INCH = 0.0254
BLOWER = [
    *points(
        ("0 cfm", "12 inwg"), ("375 cfm", "11.88 inwg"), ("750 cfm", "10.8 inwg"), ("1125 cfm", "7.44 inwg"),
        ("1500 cfm", "0.6 inwg"),
    ),
    rated("cyclone", "800 cfm", "2 inwg"),
    rated("filter clean", "800 cfm", "0.6 inwg"),
    rated("filter loaded", "800 cfm", "2.2 inwg"),
]


def cure_of(made: Shop, name: str) -> CureAnswer:
    return next(cure for cure in gates(made).uncured if cure.before.name == name)


def assert_as_edited(cure: CureAnswer, edited: Shop, machine: str) -> None:
    """The cure's air and word are those of the check on the edited table."""
    assert cure.smaller is not None
    case = ductcalc.check(edited, [ductcalc.Ask.machines(machine)]).loaded[0]
    assert not case.settling and not cure.smaller.after.settling
    assert cure.smaller.after.word == case.word
    assert cure.smaller.after.machine(machine).flow_m3_s == pytest.approx(case.machine(machine).flow_m3_s, rel=1e-9)


def sizes(cure: CureAnswer) -> Sequence[tuple[str, float]]:
    assert cure.smaller is not None
    return [(name, pytest.approx(then / INCH)) for name, _, then in cure.smaller.sections]


def wide_end(far: str) -> Rows:
    """A hose and pipe of 4 in, and a wider pipe behind it that the collector keeps the size of."""
    return run(
        "main", port("saw", "4 in", flow="400 cfm"), hose("14 ft", 1), gate(), pipe("6 ft"), pipe("12 ft", far),
        end("7 in"),
    )


def test_only_what_is_wider_becomes_smaller() -> None:
    cure = cure_of(shop(wide_end("7 in"), table=BLOWER), "saw")
    assert sizes(cure) == [("main 1", 4.0)]
    assert_as_edited(cure, shop(wide_end("4 in"), table=BLOWER), "saw")
    between = ductcalc.check(shop(wide_end("5 in"), table=BLOWER), [ductcalc.Ask.machines("saw")]).loaded[0]
    assert between.settling


def tapered(first: str, second: str) -> tuple[Rows, Rows]:
    """A main that a written reducer widens and another one narrows; its two sections' wide bores."""
    return (
        run(
            "main", port("A", "4 in", flow="300 cfm"), hose("6 ft"), gate(), reducer(first), pipe("12 ft"),
            wye("b", second), pipe("12 ft"), reducer("5 in"), pipe("6 ft"), end("5 in"),
        ),
        run("b", port("B", "4 in", flow="300 cfm"), hose("6 ft"), gate(), pipe("6 ft")),
    )


def test_a_written_reducer_ends_in_the_smaller_pipe() -> None:
    cure = cure_of(shop(*tapered("7 in", "7 in"), table=BLOWER), "A")
    assert sizes(cure) == [("main 1", 5.0), ("main 2", 5.0)]
    assert_as_edited(cure, shop(*tapered("5 in", "5 in"), table=BLOWER), "A")


def alike(first: Sequence[Row], second: Sequence[Row]) -> Shop:
    main = run(
        "main", piece("wye", "5 in", joins="a"), pipe("6 ft"), wye("b", "5 in"), pipe("6 ft"), end("5 in")
    )
    return shop(main, run("a", *first), run("b", *second), table=BLOWER)


def drop(machine: str, size: str) -> list[Row]:
    return [port(machine, "4 in", flow="300 cfm"), hose("6 ft"), gate(), pipe("6 ft", size)]


def test_of_runs_that_are_alike_only_the_one_in_question_becomes_smaller() -> None:
    made = alike(drop("A", "6 in"), [piece("like", machine="B", joins="a")])
    for machine, other, rows in (
        ("A", "B", lambda size: alike(drop("A", size), drop("B", "6 in"))),
        ("B", "A", lambda size: alike(drop("A", "6 in"), drop("B", size))),
    ):
        cure = cure_of(made, machine)
        (name, size), *_ = sizes(cure)
        assert name == f"{machine.lower()} 1" and other.lower() not in [n[0] for n, _ in sizes(cure)]
        assert_as_edited(cure, rows(f"{size.expected:g} in"), machine)


@pytest.mark.parametrize("left_out", [("5 in", "7 in"), ("7 in", "5 in")])
def test_no_step_can_be_left_out(left_out: tuple[str, str]) -> None:
    case = ductcalc.check(shop(*tapered(*left_out), table=BLOWER), [ductcalc.Ask.machines("A")]).loaded[0]
    assert case.settling


def pushing(**settings: Mapping[str, object]) -> Shop:
    table = [
        *points(
            ("0 cfm", "7 inwg"), ("375 cfm", "6.93 inwg"), ("750 cfm", "6.3 inwg"), ("1125 cfm", "4.34 inwg"),
            ("1500 cfm", "0.35 inwg"),
        ),
        *BLOWER[5:],
    ]
    return shop(
        run(
            "main", port("sander", "4 in", flow="250 cfm", material="fine dust"), hose("3 ft", 1), gate(), pipe("6 ft"),
            wye("lathe", "6.6 in"), pipe("10 ft"), end(),
        ),
        run("lathe", port("planer", "4 in", flow="200 cfm"), hose("8 ft", 1), gate(), pipe("6 ft")),
        table=table,
        **settings,
    )


def test_a_helper_whose_own_blower_stands_still_helps_no_more_than_without_one() -> None:
    still = gates(pushing())
    own = gates(pushing(machines={"planer": {"own_blower": "600 Pa"}}))
    assert not still.helped
    assert [h.helpers for h in own.helped if h.before.name == "sander"] == []
    forgotten = [next(f for f in found.left_open if f.machine == "sander") for found in (still, own)]
    assert forgotten[0].worst_m3_s == pytest.approx(forgotten[1].worst_m3_s, rel=1e-12)
    pair = [found.pair("sander", "planer") for found in (still, own)]
    assert pair[0] is not None and pair[1] is not None
    assert pair[1].machine("planer").flow_m3_s > 1.05 * pair[0].machine("planer").flow_m3_s


@pytest.mark.parametrize(("flow", "grade", "alone"), [("800 cfm", "just short", True), ("900 cfm", "short", False)])
def test_machines_that_may_run_one_after_the_other_are_told_so(flow: str, grade: str, alone: bool) -> None:
    found = gates(row_of_machines(("a", "b", "c"), flow, gates={"sets": {"both ends": ["a", "c"]}}))
    assert {case.air for case in found.singles} == {grade}
    cure = next(cure for cure in found.uncured if cure.before.name == "both ends")
    assert (cure.before.word, cure.alone_fine) == ("short, settles", alone)


def ending_early() -> Shop:
    """A blower whose points end before the wide drop's air is reached."""
    return shop(
        run(
            "main", port("far", "3 in", flow="150 cfm"), hose("3 ft", 1), gate(), pipe("9 ft"), wye("wide", "7 in"),
            pipe("6 ft"), end(),
        ),
        run("wide", port("hog", "6 in", flow="300 cfm", k=1), gate(), pipe("4 ft")),
        table=[*points(("0 cfm", "9 inwg"), ("500 cfm", "8.5 inwg"), ("600 cfm", "8 inwg")), *NO_PARTS],
    )


def test_a_set_without_an_answer_is_not_called_short() -> None:
    found = gates(ending_early())
    assert [a.word for a in found.singles] == ["settles", "no answer"]
    assert found.no_answer == 2 and found.forbidden == () and found.never_served == ()
    said = rendered(card_blocks(card(ending_early()), Display("inch")), Page(None))
    assert "hog: not known" in said
