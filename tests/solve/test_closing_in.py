"""The largest flow at which a supply meets what ducts need, closed in on from the right."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from ductcalc.physics.curve import monotone_cubic
from ductcalc.solve.operating import MET, ClosingIn
from ductcalc.solve.supply import Crossing, PowerTerm, Supply

Floats = np.ndarray
Need = Callable[[Floats], Floats]
MOST_TRIALS = 40


def search(supply: Supply, need: Need, push_pa: float = 0.0) -> tuple[float, int]:
    """Return where a search ends, and how many flows it tried."""
    closing = ClosingIn(Crossing([supply]), np.zeros(1, dtype=np.intp), np.full(1, push_pa))
    for trial in range(1, MOST_TRIALS + 1):
        flow, asked = closing.flow, need(closing.flow)
        if closing.met(asked)[0]:
            return float(flow[0]), trial
        closing.go_on(asked, np.arange(1))
    raise AssertionError("no flow was found")


def scanned(supply: Supply, need: Need, last: float) -> float | None:
    """Return the largest flow up to a last one, to one in 200,000, at which a supply falls below a need."""
    flow = np.linspace(0.0, last, 200_001)[1:]
    over = supply.available(flow)[0] - need(flow)
    falls = np.flatnonzero((over[:-1] >= 0.0) & (over[1:] < 0.0))
    return float(flow[falls[-1]]) if len(falls) else None


def drawn(seed: int) -> tuple[Supply, Need, float]:
    """A curve with one slipped point, ducts whose need grows with a power between 1.6 and 2, and an own blower."""
    rng = np.random.default_rng(seed)
    flow = np.linspace(0.0, float(rng.uniform(0.3, 1.2)), int(rng.integers(4, 12)))
    pressure = 3000.0 * (1.0 - 0.95 * (flow / flow[-1]) ** rng.uniform(1.5, 3.0))
    pressure[rng.integers(len(flow))] *= rng.choice([0.1, 0.5, 2.0, 10.0])
    terms = (PowerTerm(float(rng.uniform(0.0, 500.0)), 1.0),)
    square, other, power = rng.uniform(0.0, 20_000.0), rng.uniform(500.0, 8000.0), rng.uniform(1.6, 2.0)
    push = float(rng.choice([0.0, 200.0]))
    return Supply(monotone_cubic(flow, pressure), terms), lambda q: square * q**2 + other * q**power - push, push


def test_it_finds_the_largest_crossing_of_curves_with_a_slip() -> None:
    trials, compared = [], 0
    for seed in range(300):
        supply, need, push = drawn(seed)
        expected = scanned(supply, need, supply.last_flow_m3_s)
        if expected is None:
            continue
        found, tried = search(supply, need, push)
        assert found == pytest.approx(expected, abs=2e-5 * supply.last_flow_m3_s), seed
        trials.append(tried)
        compared += 1
    assert compared > 200
    assert np.median(trials) <= 6


def test_what_is_found_is_met_exactly() -> None:
    supply, need, push = drawn(3)
    found, _ = search(supply, need, push)
    offered = supply.available_at(found)
    assert abs(offered - float(need(np.array(found)))) <= MET * offered


def test_a_dip_before_a_last_point_that_is_too_strong_is_not_passed_over() -> None:
    supply = Supply(monotone_cubic([0.0, 0.2, 0.4, 0.6, 0.8], [3000.0, 2900.0, 2000.0, 400.0, 9000.0]))
    found, _ = search(supply, lambda q: 5000.0 * q**2)
    assert 0.4 < found < 0.6


def test_without_a_dip_the_flow_lies_beyond_the_last_point() -> None:
    supply = Supply(monotone_cubic([0.0, 0.4, 0.8], [3000.0, 2900.0, 2500.0]))
    found, _ = search(supply, lambda q: 500.0 * q**2)
    value, slope = supply.available(np.array([0.8]))
    assert found > 0.8
    assert 500.0 * found**2 == pytest.approx(float(value[0] + slope[0] * (found - 0.8)), rel=1e-9)


def test_each_case_is_searched_on_its_own_supply_with_its_own_bits() -> None:
    made = [drawn(seed) for seed in range(40)]
    made = [one for one in made if scanned(one[0], one[1], one[0].last_flow_m3_s) is not None]
    cases = np.arange(len(made))
    closing = ClosingIn(Crossing([one[0] for one in made]), cases, np.array([one[2] for one in made]))
    found = np.zeros(len(made))
    for _ in range(MOST_TRIALS):
        asked = np.array([made[case][1](flow) for case, flow in zip(cases, closing.flow, strict=True)])
        met = closing.met(asked)
        found[cases[met]] = closing.flow[met]
        going = np.flatnonzero(~met)
        closing.go_on(asked, going)
        cases = cases[going]
        if not len(cases):
            break
    assert found.tolist() == [search(*one)[0] for one in made]
