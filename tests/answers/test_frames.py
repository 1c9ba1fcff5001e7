"""Answers as pandas tables."""

from __future__ import annotations

import pytest

from ductcalc.answers.check import Check, check
from ductcalc.answers.losses import losses
from ductcalc.tables import read_shop
from tests.scenes import SHOPS

UNITLESS = {
    "case",
    "filter",
    "status",
    "machine",
    "run",
    "asked",
    "runs",
    "open",
    "enough",
    "served",
    "served_chance",
    "moves_chance",
    "word",
    "section",
    "title",
    "material",
    "collector",
    "basis",
    "audit_pressure",
    "audit_mass",
    "audit_blower",
    "group",
    "label",
    "place",
    "coefficient",
    "reason",
    "source",
    "share",
    "shared_by",
    "assumed",
}
UNITS = ("_m3_s", "_m_s", "_pa", "_m")


@pytest.fixture(scope="module")
def verdict() -> Check:
    return check(read_shop(SHOPS / "cellar"))


@pytest.mark.parametrize("table", ["machines", "chances", "sections", "paths", "cases"])
def test_every_column_names_its_unit_or_has_none(verdict: Check, table: str) -> None:
    frame = verdict.frame(table)
    assert len(frame) > 0
    assert all(column in UNITLESS or column.endswith(UNITS) for column in frame.columns)


def test_the_collectors_point_has_its_units(verdict: Check) -> None:
    named = {"flow_m3_s", "inlet_static_pa", "inlet_total_pa", "blower_pa", "wanted_flow_m3_s", "joint_leak_m3_s"}
    named |= {"wanted_suction_total_pa", "margin_pa", "gate_leak_m3_s"}
    assert named <= set(verdict.frame("cases").columns)
    assert {"flow_m3_s", "velocity_m_s", "loss_pa", "wye_loss_pa"} <= set(verdict.frame("sections").columns)
    assert {"suction_total_pa", "excess_pa", "length_m"} <= set(verdict.frame("paths").columns)
    assert {"low_m3_s", "high_m3_s"} <= set(verdict.frame("chances").columns)


def test_machines_have_a_row_for_each_port_of_each_case(verdict: Check) -> None:
    ports = sum(len(machine.ports) for case in verdict.cases for machine in case.machines)
    frame = verdict.frame()
    assert len(frame) == ports
    assert frame["flow_m3_s"].iloc[0] == verdict.cases[0].machines[0].ports[0].flow_m3_s


def test_cases_carry_the_audit(verdict: Check) -> None:
    assert verdict.frame("cases")["audit_pressure"].max() <= 1e-8


def test_unknown_table_is_refused(verdict: Check) -> None:
    with pytest.raises(ValueError, match="machines, chances, sections, paths, cases"):
        verdict.frame("doors")


def test_losses_frame_adds_up() -> None:
    answer = losses(read_shop(SHOPS / "cellar"), machine="planer")
    frame = answer.frame()
    assert frame["loss_pa"].sum() == pytest.approx(answer.total_pa, rel=1e-12)
    assert all(column in UNITLESS or column.endswith(UNITS) for column in frame.columns)
