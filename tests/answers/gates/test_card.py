"""The wall card's answer."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc.answers.gates.card import card
from ductcalc.answers.gates.gates import gates
from ductcalc.shop import Shop
from tests.answers.gates.test_sets import starving
from tests.gate_shops import row_of_machines
from tests.scenes import STRONG, end, gate, pipe, points, port, rated, run, shop, wye

FILTERED = [
    *points(*STRONG),
    {"item": "cyclone", "pressure": "none"},
    rated("filter clean", "800 cfm", "0.6 inwg"),
    rated("filter loaded", "800 cfm", "2 inwg"),
]


def three(table: list[dict[str, object]] = FILTERED, **settings: object) -> Shop:
    return shop(
        run("main", port("a", "4 in", flow="330 cfm", k=1.5), gate(), pipe("8 ft"), wye("d1", "6 in"), pipe("5 ft"),
            wye("d2", "6 in"), end()),
        run("d1", port("b", "4 in", flow="330 cfm", k=1.5), gate(), pipe("6 ft")),
        run("d2", port("c", "4 in", flow="330 cfm", k=1.5), gate(), pipe("6 ft")),
        table=table, **settings,
    )  # fmt: skip


def test_every_machine_and_pair_stands_in_one_place() -> None:
    made = three()
    found, learned = card(made), gates(made)
    helped = [one.before.asked for one in found.with_helper]
    helped_alone = [machines[0] for machines in helped if len(machines) == 1]
    machines = [*(case.name for case in (*found.alone, *found.not_allowed)), *helped_alone]
    assert sorted(machines) == list(learned.machines)
    fine = {case.asked for case in learned.together if case.may_run}
    assert {case.asked for case in found.together} == fine
    assert not set(helped) & fine
    assert found.pairs == 3


def test_needs_a_helper() -> None:
    found = card(starving())
    assert [(one.before.asked, one.helpers) for one in found.with_helper] == [(("bench",), ("saw",))]
    assert [case.name for case in found.alone] == ["saw"]
    assert found.exit_code == 1


def test_named_sets_with_their_helpers() -> None:
    made = three(gates={"sets": {"rip": {"open": ["a", "b"], "helpers": ["b"]}, "all": ["a", "b", "c"]}})
    rip, every = card(made).named
    assert (rip.case.name, rip.case.running, rip.case.helping) == ("rip", ("a",), ("b",))
    assert (every.case.running, every.case.helping) == (("a", "b", "c"), ())
    assert [rip.case.word, every.case.word] == [case.word for case in gates(made).named]


def test_a_named_set_that_a_further_gate_makes_fine_says_so() -> None:
    found = card(row_of_machines(("a", "b", "c"), gates={"sets": {"both ends": ["a", "c"]}}))
    assert [(one.case.word, one.more_helpers) for one in found.named] == [("settles", ("b",))]
    assert [(one.before.asked, one.helpers) for one in found.with_helper].count((("a", "c"), ("b",))) == 1


def test_filter_reading_is_the_checks_with_the_gate_that_draws_most() -> None:
    made = three()
    found = card(made).filter
    assert found is not None and not found.assumed
    most = max(gates(made).singles, key=lambda case: case.machine(case.name).flow_m3_s)
    assert found.machine == most.name
    loaded, clean = ductcalc.check(made, [ductcalc.Ask.machines(found.machine)]).cases
    assert loaded.collector is not None and clean.collector is not None
    assert (found.loaded_pa, found.clean_pa) == pytest.approx((loaded.collector.filter_pa, clean.collector.filter_pa))
    assert found.loaded_pa > found.clean_pa


def test_a_filter_nobody_stated_is_called_assumed() -> None:
    found = card(three(points(*STRONG))).filter
    assert found is not None and found.assumed


def test_no_filter_no_reading() -> None:
    made = three(
        [*points(*STRONG), *({"item": i, "pressure": "none"} for i in ("cyclone", "filter clean", "filter loaded"))]
    )
    assert card(made).filter is None
