"""The audit finds what is wrong: an answer that was tampered with never passes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.audit import Audit, PieceTable, audit
from ductcalc.cases.case import read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import build_model
from tests.scenes import two_machines

BOTH = Choice("both", ("band saw", "planer"))


@pytest.fixture
def batch() -> Batch:
    return solve_choices(build_model(two_machines()), [BOTH, Choice("saw", ("band saw",))])


def again(batch: Batch, **parts: np.ndarray) -> Audit:
    solved = replace(batch.solved, **parts)
    return audit(batch.table, batch.asked, batch.state, solved)


def section(batch: Batch, name: str) -> int:
    return next(n for n, s in enumerate(batch.model.sections) if s.name == name)


def test_an_honest_answer_passes(batch: Batch) -> None:
    assert batch.audit.passed.all()


def test_a_flow_that_does_not_add_up_at_a_wye_is_found(batch: Batch) -> None:
    flow = batch.solved.flow.copy()
    flow[section(batch, "drop 1"), 0] *= 1 + 1e-6
    found = again(batch, flow=flow)
    assert found.mass[0] > 1e-8
    assert list(found.passed) == [False, True, True, True]


def test_flows_that_add_up_but_not_their_pressures_are_found(batch: Batch) -> None:
    flow = batch.solved.flow.copy()
    moved = 1e-5 * flow[section(batch, "drop 1"), 0]
    flow[section(batch, "drop 1"), 0] -= moved
    flow[section(batch, "trunk 1"), 0] += moved
    found = again(batch, flow=flow)
    assert found.pressure[0] > 1e-8
    assert not found.passed[0]


def test_an_operating_point_beside_the_curve_is_found(batch: Batch) -> None:
    found = again(batch, flow=batch.solved.flow * (1 + 1e-6), leak=batch.solved.leak * (1 + 1e-6))
    assert (found.blower > 1e-8).all()


def test_a_leak_that_is_not_its_suctions_is_found(batch: Batch) -> None:
    leak, flow = batch.solved.leak.copy(), batch.solved.flow.copy()
    one, main = section(batch, "drop 1"), section(batch, "trunk 2")
    flow[main, 0] += leak[one, 0] * 0.01
    leak[main, 0] -= leak[one, 0] * 0.01
    leak[one, 0] *= 1.01
    assert again(batch, flow=flow, leak=leak).mass[0] > 1e-8


def test_a_number_that_is_none_never_passes(batch: Batch) -> None:
    flow = batch.solved.flow.copy()
    flow[0, 0] = np.nan
    assert not again(batch, flow=flow).passed[0]


def test_an_answer_that_fails_is_not_shown_as_one(batch: Batch) -> None:
    flow = batch.solved.flow.copy()
    flow[section(batch, "drop 1"), 0] *= 1.01
    failing = replace(batch, audit=again(batch, flow=flow))
    case = read_cases(failing)[0]
    assert case.status == "not converged"
    assert case.machines == () and case.collector is None


def test_the_table_has_every_piece_of_the_model(batch: Batch) -> None:
    table = PieceTable.of(batch.model)
    pieces = sum(len(s.body) + sum(map(len, s.heads)) for s in batch.model.sections)
    assert len(table.losses) == pieces


def test_a_shut_gate_takes_nearly_all_the_suction_of_its_branch(batch: Batch) -> None:
    saw_alone = batch.column(1)
    drop = section(batch, "drop 1")
    rows = [n for n, loss in enumerate(batch.table.losses) if batch.table.section[n] == drop and loss.kind == "gate"]
    own = batch.table.by_section(batch.audit.losses, batch.model.tree.size)[drop, saw_alone]
    assert batch.audit.losses[rows[0], saw_alone] > 0.99 * own
