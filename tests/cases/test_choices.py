"""What a person may ask for, and what is said when it cannot be."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc import Ask
from ductcalc.cases.choices import Choice, choice_of
from ductcalc.model.model import Model, build_model
from tests.scenes import two_machines

SETS = {"sets": {"both": ["band saw", "planer"], "resawing": {"open": ["band saw"], "flow": {"band saw": "450 cfm"}}}}


@pytest.fixture
def model() -> Model:
    return build_model(two_machines(gates=SETS))


def problem(model: Model, ask: Ask) -> ductcalc.Problem:
    with pytest.raises(ductcalc.InputError) as caught:
        choice_of(model, ask)
    assert len(caught.value.problems) == 1
    return caught.value.problems[0]


def test_machines_are_found_in_any_letter_case_and_each_once(model: Model) -> None:
    assert choice_of(model, Ask.machines("BAND  saw", "band saw")).machines == ("band saw",)


def test_a_mistyped_machine_gets_the_nearest_name(model: Model) -> None:
    found = problem(model, Ask.machines("planner"))
    assert (found.hint, found.given) == ("did you mean planer?", "planner")


@pytest.mark.parametrize("joined", ["planer and Band saw", "planer & band saw", "planer + band saw"])
def test_machines_joined_by_and_are_told_to_be_parted_with_commas(model: Model, joined: str) -> None:
    found = problem(model, Ask.machines(joined))
    assert (found.hint, found.given) == ('part machines with commas: "planer, band saw"', joined)


def test_a_part_of_a_name_is_a_near_name(model: Model) -> None:
    assert problem(model, Ask.machines("saw")).hint == "did you mean band saw?"


def test_a_name_like_no_other_lists_them_all(model: Model) -> None:
    assert problem(model, Ask.machines("xyz")).hint.endswith("band saw, planer")


def test_all_unknown_names_come_together(model: Model) -> None:
    with pytest.raises(ductcalc.InputError) as caught:
        choice_of(model, Ask.machines("planner", "xyz"))
    assert [p.given for p in caught.value.problems] == ["planner", "xyz"]


def test_no_machine_named_is_an_error(model: Model) -> None:
    assert problem(model, Ask.machines()).message == "no machine is named"


def test_nothing_asked_for_is_an_error() -> None:
    with pytest.raises(ductcalc.InputError, match="asked for"):
        ductcalc.check(two_machines(), [])


def test_a_set_is_found_by_its_name(model: Model) -> None:
    found = choice_of(model, Ask.gate_set("Both"))
    assert (found.name, found.machines, found.helpers) == ("both", ("band saw", "planer"), ())


def test_an_unknown_set_gets_the_nearest_name(model: Model) -> None:
    found = problem(model, Ask.gate_set("resaw"))
    assert '"resaw"' in found.message and found.hint == "did you mean resawing?"


def test_an_unknown_set_lists_those_that_are_named(model: Model) -> None:
    assert problem(model, Ask.gate_set("xyz")).hint.endswith("both, resawing")


def test_an_unknown_set_of_a_shop_without_sets() -> None:
    assert "none are written" in problem(build_model(two_machines()), Ask.gate_set("both")).hint


def test_everything(model: Model) -> None:
    assert choice_of(model, Ask.everything()) == Choice("all open", ("band saw", "planer"))


def test_everything_but_some(model: Model) -> None:
    found = choice_of(model, Ask.everything(but=["Planer"]))
    assert (found.name, found.machines) == ("all but planer", ("band saw",))


def test_everything_but_an_unknown_one_is_an_error(model: Model) -> None:
    assert problem(model, Ask.everything(but=["planner"])).hint == "did you mean planer?"


def test_a_finished_choice_is_taken_as_it_is(model: Model) -> None:
    choice = Choice("mine", ("planer",))
    assert choice_of(model, choice) is choice


def test_without_a_choice_every_machine_alone_and_every_set() -> None:
    found = ductcalc.check(two_machines(gates=SETS))
    assert [c.name for c in found.loaded] == ["band saw", "planer", "both", "resawing"]
    assert found.by_default


def test_everything_shut_is_an_answer_of_leaks_and_shut_off_suction() -> None:
    found = ductcalc.check(two_machines(), [Ask.everything(but=["band saw", "planer"])])
    case = found.loaded[0]
    assert case.solved
    assert case.open == ()
    assert case.collector is not None
    leaks = sum(m.flow_m3_s for m in case.machines)
    assert case.gate_leak_m3_s == pytest.approx(leaks, rel=1e-12)
    assert case.joint_leak_m3_s is not None
    assert case.collector.flow_m3_s == pytest.approx(leaks + case.joint_leak_m3_s, rel=1e-9)
    assert case.collector.inlet_total_pa == pytest.approx(found.shut_off_pa, rel=0.02)


def test_everything_shut_and_tight_takes_nothing_at_shut_off_suction() -> None:
    made = two_machines(gates={"leak": "0 %"}, method={"joint_leakage": "none"}, air={"density": "1.2014 kg/m3"})
    found = ductcalc.check(made, [Ask.everything(but=["band saw", "planer"])])
    point = found.loaded[0].collector
    assert point is not None
    assert point.flow_m3_s == 0.0
    assert point.inlet_total_pa == pytest.approx(14 * 249.0889, rel=1e-9)


def test_a_shop_without_a_port_is_told_so() -> None:
    bare = ductcalc.shop_from_rows(
        duct=[
            {"run": "main", "piece": "cap"},
            {"piece": "pipe", "size": "6 in", "length": "9 ft"},
            {"piece": "collector"},
        ],
        collector=[{"item": "blower", "flow": f"{q} cfm", "pressure": f"{p} inwg"} for q, p in ((0, 9), (900, 2))],
    )
    for ask in (ductcalc.check, ductcalc.gates):
        with pytest.raises(ductcalc.InputError, match="no machine"):
            ask(bare)
