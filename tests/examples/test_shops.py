"""The invented shops that ship with the project: they are read, they have answers, they show what they say."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

import ductcalc
from ductcalc.answers.check import Check

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("creamery", "joinery-class", "one-machine")


@cache
def checked(name: str) -> Check:
    return ductcalc.check(ductcalc.read_shop(EXAMPLES / name))


def test_these_are_all_there_are() -> None:
    assert sorted(p.name for p in EXAMPLES.iterdir() if p.is_dir()) == sorted(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_every_case_has_an_audited_answer(name: str) -> None:
    for case in checked(name).cases:
        assert case.status == "solved"
        assert case.audit is not None
        assert max(case.audit.pressure, case.audit.mass, case.audit.blower) <= 1e-8


@pytest.mark.parametrize("name", NAMES)
def test_the_worst_branch_adds_up(name: str) -> None:
    found = ductcalc.losses(ductcalc.read_shop(EXAMPLES / name))
    assert found.rows[-1].running_total_pa == pytest.approx(sum(row.loss_pa for row in found.rows))
    alone = [case for case in checked(name).loaded if len(case.asked) == 1]
    assert found.machine == min(alone, key=lambda case: case.wanted.margin_pa or 0.0).name


class TestCreamery:
    def alone(self) -> list[ductcalc.Case]:
        return [case for case in checked("creamery").loaded if len(case.asked) == 1]

    def test_has_nine_machines(self) -> None:
        assert len(self.alone()) == 9

    def test_exactly_one_machine_alone_is_not_served(self) -> None:
        assert [case.name for case in self.alone() if case.lacking] == ["planer"]

    def test_exactly_one_machine_alone_lets_chips_settle(self) -> None:
        assert [case.name for case in self.alone() if case.settling] == ["fret bench"]

    def test_help_keeps_the_fret_benchs_dust_moving(self) -> None:
        helped = next(case for case in checked("creamery").loaded if case.name == "fretting with help")
        assert helped.settling == ()
        assert helped.machine("jointer").runs is False

    def test_is_written_in_inches(self) -> None:
        assert ductcalc.read_shop(EXAMPLES / "creamery").first_units == "inch"


class TestJoineryClass:
    def test_is_written_in_metric_and_has_about_twenty_ports(self) -> None:
        shop = ductcalc.read_shop(EXAMPLES / "joinery-class")
        ports = sum(len(machine.ports) for machine in checked("joinery-class").loaded[0].machines)
        assert shop.first_units == "metric"
        assert 18 <= ports + 1 <= 22  # one port is off

    def test_a_bench_taken_out_is_no_case(self) -> None:
        names = [case.name for case in checked("joinery-class").loaded]
        assert "Bank 11" in names and "Bank 12" not in names
        assert checked("joinery-class").loaded[0].machine("Bank 12").word == "off"

    def test_nothing_is_left_open(self) -> None:
        assert checked("joinery-class").always_open == ()


class TestOneMachine:
    def test_is_provisional_and_gives_three_curves(self) -> None:
        found = checked("one-machine")
        assert found.provisional
        flows = [m.flow_m3_s for m in found.by_curve]
        assert all(flow is not None for flow in flows)
        assert flows == sorted(flow for flow in flows if flow is not None)

    def test_its_machine_is_always_open(self) -> None:
        assert checked("one-machine").always_open == ("thickness planer",)

    def test_a_planer_is_also_judged_at_full_cut(self) -> None:
        found = checked("one-machine")
        cut, idle = found.chips, found.loaded[0].machine("thickness planer").flow_m3_s
        assert cut is not None and cut.method == "thickness planer" and cut.flow_m3_s is not None
        assert 0.9 * idle < cut.flow_m3_s < idle
