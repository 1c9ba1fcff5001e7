"""Curves with a slipped point: every case that has a crossing gets the largest one, audited; the others are exact."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from ductcalc.cases import reading
from ductcalc.cases.choices import Choice
from ductcalc.cases.reading import other_crossings
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.model.model import build_model
from ductcalc.shop import Shop
from ductcalc.solve.newton import Solved
from ductcalc.solve.operating import at_flow, operating_point
from tests.scenes import NO_PARTS, elbow, end, gate, hose, pipe, points, port, rated, run, shop, wye

SHOPS, SAMPLES = 200, 300
MOST_PA = 24_000.0
PARTS = [
    rated("cyclone", "0.4 m3/s", "400 Pa"),
    rated("filter clean", "0.4 m3/s", "150 Pa"),
    rated("filter loaded", "0.4 m3/s", "500 Pa"),
]


def drawn(seed: int, slip: bool = True) -> tuple[Shop, list[Choice]]:
    """A shop of one to six machines whose blower has one point too high or too low, and its cases."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 7))

    def branch(number: int) -> list[dict[str, object]]:
        size = str(rng.choice(["4 in", "5 in", "6 in"]))
        rows = [port(f"m{number}", size, flow="20 m/s", k=float(rng.choice([0.5, 1.5, 2.75])))]
        return [*rows, hose(f"{rng.uniform(0.5, 3.0):.3f} m"), gate(), pipe(f"{rng.uniform(0.5, 8.0):.3f} m")]

    size, rows, runs = str(rng.choice(["5 in", "6 in", "7 in", "8 in"])), branch(0), []
    for number in range(1, count):
        rows += [wye(f"r{number}", size, angle=str(rng.choice([30, 45, 60]))), pipe(f"{rng.uniform(0.5, 6.0):.3f} m")]
        runs.append(run(f"r{number}", *branch(number)))
    share = np.linspace(0.0, 1.0, int(rng.integers(4, 10)))
    pressure = rng.uniform(1500.0, 4000.0) * (1.0 - 0.95 * share ** rng.uniform(1.5, 3.5))
    place, times = int(rng.integers(len(share))), float(rng.choice([10.0, 5.0, 2.0, 0.5, 0.1]))
    last = rng.uniform(0.4, 1.2)
    if slip:
        pressure[place] = min(pressure[place] * times, MOST_PA)
    curve = [(f"{q} m3/s", f"{p} Pa") for q, p in zip((last * share).tolist(), pressure.tolist(), strict=True)]
    made = shop(
        run("main", *rows, elbow(), end()),
        *runs,
        table=[*points(*curve), *(PARTS if rng.random() < 0.6 else NO_PARTS)],
        gates={"leak": f"{rng.choice([0.0, 0.5, 2.0])} %"},
        method={
            "junction": str(rng.choice(["momentum", "handbook", "factored"])),
            "joint_leakage": int(rng.choice([0, 3, 12, 30])),
        },
    )
    names = [f"m{number}" for number in range(count)]
    return made, [Choice("all", tuple(names)), *(Choice(name, (name,)) for name in names[1:])]


@cache
def solved(seed: int, slip: bool = True) -> Batch:
    made, choices = drawn(seed, slip)
    return solve_choices(build_model(made), choices, ("loaded",))


def scanned(batch: Batch, column: int) -> tuple[np.ndarray, np.ndarray]:
    """Return many flows up to the curve's last point, and what the blower has over there [Pa]."""
    supply = batch.supply_of(column)
    flows = np.union1d(np.linspace(0.0, supply.last_flow_m3_s, SAMPLES + 1), supply.curve.breaks)
    numbers = batch.numbers.take(np.full(len(flows) - 1, column))
    found = at_flow(batch.model.tree, numbers, batch.model.junction, flows[1:])
    assert found.converged.all()
    start = supply.available(np.zeros(1))[0]
    return flows, np.append(start, supply.available(flows[1:])[0] - found.end[batch.model.tree.root])


def test_the_largest_of_all_crossings_is_found_and_audited_wherever_there_is_one() -> None:
    compared = several = 0
    for seed in range(SHOPS):
        batch = solved(seed)
        for column in range(len(batch.choices)):
            flows, over = scanned(batch, column)
            falls = np.flatnonzero((over[:-1] >= 0.0) & (over[1:] < 0.0))
            if not len(falls):
                continue
            found = float(batch.collector_flow[column])
            assert batch.solved.converged[column] and batch.audit.passed[column], (seed, column)
            assert flows[falls[-1]] * (1.0 - 1e-9) <= found <= flows[falls[-1] + 1] * (1.0 + 1e-9), (seed, column)
            compared, several = compared + 1, several + (len(falls) > 1)
    assert compared > 500 and several > 20


def test_other_crossings_are_exact_and_all_that_a_scan_finds() -> None:
    told = 0
    for seed in range(SHOPS // 2):
        batch = solved(seed)
        for column in range(len(batch.choices)):
            if not batch.audit.passed[column]:
                continue
            others = np.array(other_crossings(batch, column))
            flows, over = scanned(batch, column)
            turns = np.flatnonzero(np.sign(over[:-1]) * np.sign(over[1:]) < 0.0)
            own = float(batch.collector_flow[column])
            expected = [turn for turn in turns if not flows[turn] <= own <= flows[turn + 1]]
            assert len(others) == len(expected)
            for other, turn in zip(others, expected, strict=True):
                assert flows[turn] <= other <= flows[turn + 1]
            if len(others):
                numbers = batch.numbers.take(np.full(len(others), column))
                need = at_flow(batch.model.tree, numbers, batch.model.junction, others).end[batch.model.tree.root]
                offered, slope = batch.supply_of(column).available(others)
                np.testing.assert_allclose((offered - need) / (np.abs(slope) * others + need), 0.0, atol=1e-10)
            told += len(others)
    assert told > 15


def test_crossings_that_the_audit_refuses_are_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def all_told() -> int:
        batches = [solved(seed) for seed in range(20)]
        return sum(len(other_crossings(b, column)) for b in batches for column in np.flatnonzero(b.audit.passed))

    def broken(*arguments: Any) -> Solved:
        found = at_flow(*arguments)
        found.end *= 1.0 + 1e-6
        return found

    assert all_told() >= 2
    monkeypatch.setattr(reading, "at_flow", broken)
    assert all_told() == 0


def test_without_the_slip_the_way_by_given_flows_finds_the_same() -> None:
    for seed in range(40):
        batch = solved(seed, slip=False)
        model = batch.model
        sure = operating_point(model.tree, batch.numbers, model.junction, batch.supplies, batch.index, sure=True)
        assert sure.converged.all() and batch.solved.converged.all()
        np.testing.assert_allclose(sure.flow, batch.solved.flow, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("slip", [False, True])
def test_a_case_has_the_same_bits_alone_and_among_others(slip: bool) -> None:
    for seed in range(30):
        batch, model = solved(seed, slip), build_model(drawn(seed, slip)[0])
        for column, choice in enumerate(batch.choices):
            alone = solve_choices(model, [choice], ("loaded",))
            assert alone.solved.flow[:, 0].tobytes() == batch.solved.flow[:, column].tobytes()
