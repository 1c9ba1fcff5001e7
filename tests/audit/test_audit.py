"""The audit finds what is wrong: an answer that was tampered with never passes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.audit import Audit, PieceTable, audit
from ductcalc.cases import solving
from ductcalc.cases.case import read_cases
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import Batch, end_flow, solve_choices, wanted_by_port
from ductcalc.cases.worth import sensitivity
from ductcalc.model.decided import Pick, middle
from ductcalc.model.model import Model, build_model
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.operating import at_wanted_flows, operating_point
from tests.scenes import NO_PARTS, STRONG, TIGHT, points, two_machines

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


def at_wanted(batch: Batch, **parts: np.ndarray) -> Audit:
    """Audit the wanted flows of both machines together, some parts of what was solved tampered with."""
    first = np.array([0])
    wanted = wanted_by_port(batch.model, batch.choices)[:, :1]
    leaf = np.full((batch.model.tree.size, 1), np.nan)
    leaf[[port.section for port in batch.model.ports], 0] = wanted[:, 0]
    solved = at_wanted_flows(batch.model.tree, batch.numbers.take(first), batch.model.junction, leaf)
    offered = batch.supplies[0].available(end_flow(batch.model, solved))[0]
    for name, change in parts.items():
        getattr(solved, name)[:] += change
    return audit(batch.table, batch.asked.columns(first), batch.state.columns(first), solved, offered, wanted)


def test_wanted_flows_pass_and_one_path_has_nothing_over(batch: Batch) -> None:
    found = at_wanted(batch)
    assert found.passed.all()
    over = found.excess[[section(batch, "trunk 1"), section(batch, "drop 1")], 0]
    assert over.min() == pytest.approx(0.0, abs=1e-6)
    assert over.max() > 10.0
    assert batch.wanted.over_pa[:, 0] == pytest.approx(over, abs=1e-6)


@pytest.mark.parametrize("change", [-0.001, 0.001])
def test_a_needed_suction_that_is_not_the_least_one_is_found(batch: Batch, change: float) -> None:
    found = at_wanted(batch, end=np.full((batch.model.tree.size, 1), change))
    assert found.pressure[0] > 1e-8
    assert not found.passed[0]


def test_a_port_that_is_not_given_what_it_wants_is_found(batch: Batch) -> None:
    change = np.zeros((batch.model.tree.size, 1))
    change[[section(batch, "drop 1"), section(batch, "trunk 2")]] = 1e-7
    assert at_wanted(batch, flow=change).mass[0] > 1e-8


def test_an_offer_that_is_not_the_collectors_is_found(batch: Batch) -> None:
    offered = batch.solved.end[batch.model.tree.root] * (1 + 1e-6)
    checked = audit(batch.table, batch.asked, batch.state, batch.solved, offered)
    assert (checked.blower > 1e-8).all()
    assert not checked.passed.any()


def test_a_section_that_the_solver_shut_by_itself_is_found(batch: Batch) -> None:
    """Nothing flows in it and everything else agrees, but its gate is open."""
    closed = np.broadcast_to(batch.numbers.closed, batch.state.shut.shape).copy()
    closed[section(batch, "drop 1")] = True
    numbers = replace(batch.numbers, closed=closed)
    solved = operating_point(batch.model.tree, numbers, batch.model.junction, batch.supplies, batch.index)
    assert solved.converged.all()
    assert not audit(batch.table, batch.asked, batch.state, solved).passed.any()


def test_a_filter_in_the_other_state_is_found() -> None:
    batch = solve_choices(build_model(two_machines(table=points(*STRONG))), [BOTH])
    asked = replace(batch.asked, loaded=~batch.asked.loaded)
    assert not audit(batch.table, asked, batch.state, batch.solved).passed.any()


def test_a_refused_case_tells_no_wanted_figure(batch: Batch) -> None:
    failing = replace(batch, audit=replace(batch.audit, mass=batch.audit.mass + 1.0))
    refused = read_cases(failing)
    assert refused
    for case in refused:
        assert case.wanted.suction_total_pa is None
        assert case.wanted.margin_pa is None
        assert case.wanted.paths == ()


def weak() -> Batch:
    """Two machines on a blower whose curve ends before the ducts' flow."""
    table = [*points(("0 cfm", "14 inwg"), ("300 cfm", "13 inwg"), ("400 cfm", "12.5 inwg")), *NO_PARTS]
    return solve_choices(build_model(two_machines(table=table)), [BOTH])


def test_what_is_left_over_past_the_curves_end_is_told_only_when_it_passes(monkeypatch: pytest.MonkeyPatch) -> None:
    case = read_cases(weak())[0]
    assert case.status == "beyond the curve"
    assert case.surplus_pa is not None
    assert case.surplus_pa > 100.0
    true = solving.at_flow

    def broken(*arguments: object) -> Solved:
        solved = true(*arguments)  # type: ignore[arg-type]
        solved.end *= 1.0 + 1e-6
        return solved

    monkeypatch.setattr(solving, "at_flow", broken)
    assert read_cases(weak())[0].surplus_pa is None


def worth_of(model: Model) -> set[float | None]:
    banded = [w for w in sensitivity(model, BOTH, "planer").assumptions if w.assumption.banded]
    return {air for worth in banded for air in (worth.low_m3_s, worth.high_m3_s)}


def test_what_an_assumption_is_worth_is_audited_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """A solver that is wrong only at the ends of assumed numbers."""
    model = build_model(two_machines(table=points(*STRONG)))
    assert None not in worth_of(model)
    true = numbers_of

    def broken(model: Model, state: OpenState, *picks: Pick) -> Numbers:
        found = true(model, state, *picks)
        return found if picks == (middle,) else replace(found, fixed=found.fixed * (1.0 + 1e-5))

    monkeypatch.setattr("ductcalc.cases.variants.numbers_of", broken)
    assert worth_of(model) == {None}


def test_air_that_flows_backwards_never_passes_however_little() -> None:
    batch = solve_choices(build_model(two_machines(**TIGHT)), [Choice("saw", ("band saw",))])
    assert batch.audit.passed.all()
    flow = batch.solved.flow.copy()
    flow[section(batch, "drop 1")] = -1e-30
    found = again(batch, flow=flow)
    assert (np.maximum(found.pressure, found.mass) <= 1e-8).all()
    assert not found.passed.any()


@pytest.mark.parametrize("friction", ["colebrook", "handbook"])
def test_an_honest_answer_passes_with_either_friction(friction: str) -> None:
    assert solve_choices(build_model(two_machines(method={"friction": friction})), [BOTH]).audit.passed.all()
