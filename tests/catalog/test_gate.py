"""Gates part open."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.catalog import fact, gate_part_open

OPENINGS = st.floats(min_value=0.01, max_value=1.0)


def test_fully_open_is_exactly_the_open_gate():
    assert gate_part_open(1.0) == fact("gate", "open")
    assert gate_part_open(1.0).value == 0.15


@pytest.mark.parametrize(
    ("eighths", "part"), [(7, 0.07), (6, 0.26), (5, 0.81), (4, 2.06), (3, 5.52), (2, 17.0), (1, 97.8)]
)
def test_the_source_is_met_at_its_rows(eighths, part):
    assert gate_part_open(eighths / 8).value == pytest.approx(0.15 + part, rel=1e-12)


@given(OPENINGS, OPENINGS)
def test_more_opening_never_costs_more(one, other):
    small, large = sorted((one, other))
    assert gate_part_open(small).value >= gate_part_open(large).value * (1 - 1e-12)


@given(OPENINGS)
def test_the_value_lies_in_its_band(opening):
    found = gate_part_open(opening)
    assert found.low <= found.value <= found.high


def test_the_coefficient_runs_smoothly_into_the_open_gate():
    assert gate_part_open(0.9999).value == pytest.approx(0.15, abs=1e-3)


def test_below_the_smallest_row_it_grows_with_the_square_and_says_so():
    found = gate_part_open(1 / 16)
    assert found.value == pytest.approx(4 * 97.95)
    assert "below the source's smallest opening" in found.note


def test_a_nearly_shut_gate_costs_what_its_gap_would():
    """A crescent of travel h has the area share 4 h / (pi D): K = 1 / (0.61 share)^2 within a quarter."""
    share = 4 * 0.02 / 3.14159265
    assert gate_part_open(0.02).value == pytest.approx(1 / (0.61 * share) ** 2, rel=0.25)


@pytest.mark.parametrize("opening", [0.0, -0.1, 1.01, float("nan")])
def test_an_opening_outside_its_range_is_refused(opening):
    with pytest.raises(ValueError, match="opening"):
        gate_part_open(opening)
