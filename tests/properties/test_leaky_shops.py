"""Unsealed joints behind wide-open ports: while it iterates, the solver may meet a stretch without suction."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ductcalc.cases.solving import solve_choices
from ductcalc.model.model import build_model
from tests.properties.random_shops import Branch, Plan
from tests.properties.test_shops import ALL_AND_FIRST

OPEN_END = Branch(
    bore_m=0.08,
    k=0.0,
    pipe_m=1.0,
    hose_m=0.0,
    bends=None,
    opening=None,
    gated=False,
    angle=30,
    main_bore_m=0.125,
    reduced=False,
)
ENDS = (
    replace(OPEN_END, hose_m=0.5),
    replace(OPEN_END, hose_m=2.0, pipe_m=2.0),
    OPEN_END,
    OPEN_END,
    OPEN_END,
)


@pytest.mark.parametrize("junction", ["momentum", "handbook", "factored"])
def test_open_pipe_ends_with_unsealed_joints_are_solved(junction: str) -> None:
    plan = Plan(ENDS, 0.0, "48", junction, "colebrook", 0.0, 200.0)
    batch = solve_choices(build_model(plan.shop()), ALL_AND_FIRST)
    assert batch.solved.converged.all()
    assert batch.audit.passed.all()
