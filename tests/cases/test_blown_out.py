"""Air that a machine's own blower would push out of another machine: no figures, and the machine is named."""

from __future__ import annotations

import numpy as np
import pytest

import ductcalc
from ductcalc import Ask
from ductcalc.answers.check import Check
from ductcalc.answers.verdict import exit_code
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import build_model
from ductcalc.report.check.sentences import verdict
from ductcalc.report.display import Display
from ductcalc.report.gates.sentences import past_words
from ductcalc.shop import Shop
from tests.scenes import NO_PARTS, end, gate, pipe, points, port, run, shop, wye

WEAK = points(("0 cfm", "6 inwg"), ("300 cfm", "5 inwg"), ("600 cfm", "3 inwg"), ("3000 cfm", "0 inwg"))
INCH = Display("inch")
METHODS = ("momentum", "handbook", "factored")


def pushing(pascal: float = 2500.0, **settings: object) -> Shop:
    """A planer that pushes into a long main, and a saw and a lathe beside it."""
    main = [port("planer", "6 in", k=1), gate(), pipe("10 ft"), wye("drop", "6 in"), pipe("40 ft")]
    return shop(
        run("main", *main, wye("bench", "6 in"), pipe("5 ft"), end()),
        run("drop", port("saw", "4 in", flow="350 cfm", k=1.5), gate(), pipe("6 ft")),
        run("bench", port("lathe", "4 in", flow="350 cfm", k=1.5), gate(), pipe("6 ft")),
        table=[*WEAK, *NO_PARTS],
        machines={"planer": {"own_blower": f"{pascal} Pa"}},
        **settings,
    )


def both(made: Shop) -> Check:
    return ductcalc.check(made, [Ask.machines("planer", "saw")])


def batch(made: Shop) -> Batch:
    return solve_choices(build_model(made), [Choice("all", ("planer", "saw", "lathe"))], ("loaded",))


@pytest.mark.parametrize("junction", METHODS)
def test_the_machine_that_air_would_blow_out_of_is_named_with_the_cause(junction: str) -> None:
    case = both(pushing(method={"junction": junction}, gates={"leak": "0 %"})).loaded[0]
    assert not case.solved and case.why is not None
    assert "OUT of the saw" in case.why and "the planer's own blower pushes harder" in case.why
    assert "lathe" not in case.why


def test_the_first_line_says_it_and_the_exit_code_is_that_of_no_answer() -> None:
    found = both(pushing())
    assert "OUT of the saw" in verdict(found, INCH).replace("\u00a0", " ")
    assert exit_code(found) == 3


def test_a_shut_gate_that_would_leak_outwards_is_told_as_shut() -> None:
    case = ductcalc.check(pushing(gates={"leak": "5 %"}), [Ask.machines("planer")]).loaded[0]
    assert case.why is not None and "OUT of the saw through its shut gate" in case.why


def test_gates_name_it_where_sets_have_no_answer() -> None:
    found = ductcalc.gates(pushing(gates={"leak": "0 %"}))
    assert found.unsettled == found.asked.store.blown_out.total() > 0
    assert past_words(found) == "air would blow OUT of the saw"


@pytest.mark.parametrize("junction", METHODS)
def test_up_to_the_pressure_that_turns_its_flow_round_the_saw_gets_less_and_less_air(junction: str) -> None:
    flows = []
    for pascal in np.linspace(0.0, 3000.0, 31):
        case = both(pushing(pascal, method={"junction": junction}, gates={"leak": "0 %"})).loaded[0]
        if not case.solved:
            break
        flows.append(case.machine("saw").flow_m3_s)
        assert case.audit is not None and max(case.audit.pressure, case.audit.mass, case.audit.blower) <= 1e-8
    assert 3 < len(flows) < 31
    assert (np.diff(flows) < 0.0).all() and 0.0 < flows[-1] < 0.4 * flows[0]


def test_joints_over_room_pressure_leak_outwards() -> None:
    case = both(pushing(900.0, method={"joint_leakage": 48})).loaded[0]
    assert case.solved
    leaks = {section.section: section.joint_leak_m3_s for section in case.sections}
    assert leaks["main 1"] < 0.0 < leaks["main 2"]


def test_of_what_is_not_computed_nothing_is_kept() -> None:
    solved = batch(pushing()).solved
    assert solved.outward.tolist() == [build_model(pushing()).ports[1].section]
    assert not any(part.any() for part in (solved.flow, solved.leak, solved.start, solved.end))


def test_joints_that_lose_more_than_their_port_lets_in_are_named_by_its_machine() -> None:
    both_push = {"planer": {"own_blower": "2500 Pa"}, "saw": {"own_blower": "150 Pa"}}
    made = shop(
        run("main", port("planer", "6 in", k=1), gate(), pipe("10 ft"), wye("drop", "6 in"), pipe("40 ft"), end()),
        run("drop", port("saw", "4 in", k=1), gate(), pipe("60 ft")),
        table=[*WEAK, *NO_PARTS],
        machines=both_push,
        method={"joint_leakage": 48},
    )
    case = both(made).loaded[0]
    assert case.why is not None and "OUT of the saw" in case.why
    assert "the planer's own blower and the saw's own blower push harder" in case.why
