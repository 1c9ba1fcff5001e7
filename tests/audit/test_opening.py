"""What is open, found by the audit from the machines asked for, is what the solver is given."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.audit import PieceTable, audit
from ductcalc.cases.choices import Choice
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import build_model
from tests.gate_shops import random_shop
from tests.scenes import cap, end, gate, pipe, port, run, shop, wye

PARTS = ("chosen", "running", "taking", "shut")


def shared_hose() -> Batch:
    """A hose that three machines share, one of them off; a capped stub; a port that nothing shuts; a helper."""
    made = shop(
        run("trunk", port("saw", "4 in"), gate(), pipe("5 ft"), wye("hose", "5 in"), wye("stub + open"), end()),
        run(
            "hose",
            port("off one", "4 in", flow="off"),
            port("lathe", "4 in", k=1),
            port("sander", "4 in", k=3),
            pipe("3 ft"),
            gate(leak="0 %"),
            pipe("2 ft"),
        ),
        run("stub", cap("3 in"), pipe("3 ft")),
        run("open", port("sweep", "3 in"), pipe("3 ft")),
    )
    asked = [("saw",), ("lathe",), ("sander", "saw"), ("sweep",)]
    choices = [Choice(", ".join(names), names, helpers=names[1:]) for names in asked]
    return solve_choices(build_model(made), choices, ("loaded",))


def test_which_port_stands_on_a_shared_hose() -> None:
    batch = shared_hose()
    found = batch.table.ways.opened(batch.asked)
    hose = next(n for n, s in enumerate(batch.model.sections) if s.name == "hose 1")
    assert found.head[hose].tolist() == [1, 1, 2, 1]
    names = [port.machine for port in batch.model.ports]
    assert found.chosen[names.index("sander")].tolist() == [False, False, True, False]
    assert found.chosen[names.index("sweep")].all()
    assert not found.taking[names.index("off one")].any()
    assert found.running[names.index("saw")].tolist() == [True, False, False, False]


def test_no_air_passes_a_cap_or_a_tight_shut_gate() -> None:
    batch = shared_hose()
    found = batch.table.ways.opened(batch.asked)
    still = {s.name: found.still[n].tolist() for n, s in enumerate(batch.model.sections)}
    assert still["stub 1"] == [True] * 4
    assert still["hose 1"] == [True, False, False, True]
    assert still["trunk 1"] == [False] * 4
    assert batch.audit.passed.all()


def test_behind_a_tight_shut_gate_joints_feel_no_suction() -> None:
    made = shop(
        run("trunk", wye("one + two", "5 in"), gate(leak="0 %"), pipe("3 ft"), wye("saw run", "6 in"), end()),
        run("one", port("lathe", "4 in"), pipe("9 ft")),
        run("two", port("sander", "4 in"), gate(), pipe("9 ft")),
        run("saw run", port("saw", "4 in"), gate(), pipe("3 ft")),
        method={"joint_leakage": "unsealed"},
    )
    batch = solve_choices(build_model(made), [Choice("saw", ("saw",))], ("loaded",))
    found = batch.table.ways.opened(batch.asked)
    sealed = {s.name for n, s in enumerate(batch.model.sections) if found.sealed[n, 0]}
    assert sealed == {"one 1", "two 1"}
    assert batch.audit.passed.all()
    leaking = batch.solved.leak.copy()
    leaking[[s.name for s in batch.model.sections].index("one 1"), 0] = 1e-5
    assert not audit(batch.table, batch.asked, batch.state, replace(batch.solved, leak=leaking)).passed[0]


@pytest.mark.parametrize("seed", range(8))
def test_it_is_what_the_solver_is_given_in_random_shops(seed: int) -> None:
    rng = np.random.default_rng(seed)
    model = build_model(random_shop(rng, 5))
    apart = [m for m in model.machines if "twin" not in m]
    choices = [Choice(str(n), tuple(m for m in apart if rng.random() < 0.5) or (apart[0],)) for n in range(20)]
    choices += [Choice(m, (m,)) for m in model.machines]
    batch = solve_choices(model, choices, ("loaded",))
    assert batch.audit.right.all()


@pytest.mark.parametrize("part", PARTS)
def test_a_case_in_which_something_else_is_open_is_not_right(part: str) -> None:
    batch = shared_hose()
    opened = PieceTable.of(batch.model).ways.opened(batch.asked)
    flags = getattr(batch.state, part).copy()
    flags[0, 2] = ~flags[0, 2]
    feeding = batch.model.opening.feeding(batch.state)
    assert opened.agrees(replace(batch.state, **{part: flags}), feeding).tolist() == [True, True, False, True]
    assert opened.agrees(batch.state, feeding).all()
