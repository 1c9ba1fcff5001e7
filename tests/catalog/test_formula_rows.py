"""Rows that hold the constants of a formula: the formula computes what they say."""

from __future__ import annotations

import math

import pytest

from ductcalc.catalog import fact
from ductcalc.catalog.fact import fact_rows
from ductcalc.physics.fittings import area_ratio, narrowing_k, no_regain_k, widening_k
from ductcalc.physics.junction import empirical_factor, larger_inlet_losses, momentum_losses, ninety_degree_factor

SMALL, LARGE = 0.1, 0.15
CLOSED = 1.0 - area_ratio(SMALL, LARGE)


def transition(item: str) -> float:
    return fact("transition", item).value


def test_tapers_have_the_constants_of_their_rows() -> None:
    sine = math.sin(math.radians(15.0))
    assert widening_k(SMALL, LARGE, 30.0) == pytest.approx(transition("widening") * sine * CLOSED**2, rel=1e-12)
    assert narrowing_k(SMALL, LARGE, 30.0) == pytest.approx(transition("narrowing") * sine * CLOSED, rel=1e-12)
    steep = math.sqrt(math.sin(math.radians(40.0)))
    above = transition("narrowing above the limit") * steep * CLOSED
    assert narrowing_k(SMALL, LARGE, 80.0) == pytest.approx(above, rel=1e-12)
    no_regain = transition("widening by the sheet") * (1.0 - area_ratio(SMALL, LARGE) ** 2)
    assert no_regain_k(SMALL, LARGE) == pytest.approx(no_regain, rel=1e-12)


def test_a_widening_is_abrupt_above_the_limit_of_its_row() -> None:
    limit = transition("widening limit")
    assert widening_k(SMALL, LARGE, limit + 1e-9) == pytest.approx(CLOSED**2, rel=1e-12)
    assert widening_k(SMALL, LARGE, limit) == pytest.approx(2.6 * math.sin(math.radians(limit / 2.0)) * CLOSED**2)


def entry(item: str) -> float:
    return fact("branch_entry", item).value


def test_the_empirical_factor_has_the_constants_of_its_rows() -> None:
    narrow = fact_rows("branch_entry", "factored, narrow branch")[0]
    limit = float(narrow.row["area_ratio"])
    assert empirical_factor(0.3, limit) == narrow.fact.value
    low, share, high = (entry(f"factored, {name}") for name in ("low share", "share limit", "high share"))
    assert empirical_factor(0.1, limit + 1e-9) == pytest.approx(low * 0.9, rel=1e-12)
    assert empirical_factor(0.1, 1.0) == pytest.approx(low * 0.9, rel=1e-12)
    assert empirical_factor(share + 0.05, 1.0) == pytest.approx(high, rel=1e-12)
    assert empirical_factor(share - 0.05, 1.0) > high


def test_the_ninety_degree_factor_goes_through_its_rows() -> None:
    rows = fact_rows("branch_entry", "ninety degree factor")
    for row, part in rows:
        ratio = max(float(row["area_ratio"]), 0.2)
        assert ninety_degree_factor(ratio) == pytest.approx(part.value, rel=1e-12), row
    assert len(rows) == 7


def test_the_balance_and_a_narrow_outlet_have_the_constants_of_their_rows() -> None:
    one_branch = momentum_losses(2.0, [1.0, 0.0], [1.0, 1.0], [0.5, 1.0], 1.0)
    straight = momentum_losses(2.0, [1.0, 0.0], [1.0, 1.0], [1.0, 1.0], 1.0)
    assert one_branch[0] - straight[0] == pytest.approx(0.5 * entry("momentum balance"), rel=1e-12)
    wide = larger_inlet_losses(2.0, [1.0], [2.0], 1.0)
    assert wide[0] == pytest.approx(entry("narrow outlet") * 0.5, rel=1e-12)
