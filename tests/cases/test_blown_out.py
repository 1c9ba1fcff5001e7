"""Air that a machine's own blower pushes out of another machine's port: computed, audited and said."""

from __future__ import annotations

import pytest

import ductcalc
from ductcalc import Ask
from ductcalc.answers.check import Check
from ductcalc.report.blown_words import blown_sentences
from ductcalc.report.check_sentences import verdict
from ductcalc.report.display import Display
from ductcalc.shop import Shop
from tests.scenes import CFM, NO_PARTS, end, gate, pipe, points, port, run, shop, wye

WEAK = points(("0 cfm", "6 inwg"), ("300 cfm", "5 inwg"), ("600 cfm", "3 inwg"), ("3000 cfm", "0 inwg"))
INCH = Display("inch")


def pushing(pascal: float = 2500.0, **settings: object) -> Shop:
    """A planer that pushes into a long main, and a saw beside it."""
    return shop(
        run("main", port("planer", "6 in", k=1), gate(), pipe("10 ft"), wye("drop", "6 in"), pipe("40 ft"), end()),
        run("drop", port("saw", "4 in", flow="350 cfm", k=1.5), gate(), pipe("6 ft")),
        table=[*WEAK, *NO_PARTS],
        machines={"planer": {"own_blower": f"{pascal} Pa"}},
        **settings,
    )


def both(made: Shop) -> Check:
    return ductcalc.check(made, [Ask.everything()])


@pytest.mark.parametrize("junction", ["momentum", "handbook", "factored"])
def test_an_open_machine_that_is_blown_back_has_an_audited_negative_flow(junction: str) -> None:
    case = both(pushing(method={"junction": junction, "joint_leakage": 12})).loaded[0]
    assert case.solved and case.audit is not None
    assert max(case.audit.pressure, case.audit.mass, case.audit.blower) <= 1e-8
    assert case.machine("saw").flow_m3_s < -50.0 * CFM
    assert case.machine("saw").word == "short"
    assert case.collector is not None
    total = sum(machine.flow_m3_s for machine in case.machines) + (case.joint_leak_m3_s or 0.0)
    assert total == pytest.approx(case.collector.flow_m3_s, rel=1e-9)


def test_the_report_says_from_which_machine_how_much_and_why() -> None:
    found = both(pushing())
    flow = -found.loaded[0].machine("saw").flow_m3_s / CFM
    (said,) = (sentence.replace("\u00a0", " ") for sentence in blown_sentences(found.loaded, INCH))
    first = verdict(found, INCH).replace("\u00a0", " ")
    for text in (said, first):
        assert "OUT of" in text and "saw" in text and f"{flow:.0f} cfm" in text
    assert "planer's own blower" in said and "350 cfm" in first


def test_a_shut_gate_leaks_outwards_and_is_told_as_shut() -> None:
    made = pushing(gates={"leak": "5 %"})
    found = ductcalc.check(made, [Ask.machines("planer")])
    case = found.loaded[0]
    assert case.solved and case.gate_leak_m3_s is not None and case.gate_leak_m3_s < 0.0
    (said,) = blown_sentences(found.loaded, INCH)
    assert "shut gate" in said


def test_joints_over_room_pressure_leak_outwards() -> None:
    case = both(pushing(method={"joint_leakage": 48})).loaded[0]
    leaks = {section.section: section.joint_leak_m3_s for section in case.sections}
    assert leaks["main 1"] < 0.0 < leaks["main 2"]


def test_a_blower_that_is_too_weak_turns_nothing_round() -> None:
    found = both(pushing(50.0))
    assert found.loaded[0].machine("saw").flow_m3_s > 0.0
    assert not list(blown_sentences(found.loaded, INCH))


def test_losses_of_a_port_that_is_blown_out_of_lead_with_that() -> None:
    found = ductcalc.losses(pushing(), Ask.everything(), "saw")
    assert found.rows[0].flow_m3_s < 0.0 and found.rows[0].loss_pa < 0.0
    assert found.rows[0].coefficient == pytest.approx(-1.0)
    assert found.case.collector is not None
    assert found.total_pa == pytest.approx(found.case.collector.blower_pa, rel=1e-7)


def test_sections_that_flow_backwards_are_said_to() -> None:
    found = both(pushing())
    drop = next(section for section in found.loaded[0].sections if section.section == "drop 1")
    assert drop.velocity_m_s < 0.0 and drop.word == "settles"
