"""Elbows, hoods, branches and gates: coefficients of the tables, between their rows and beyond them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.catalog import branch_entry, elbow, fact, gate_part_open, hood_entry, opening_of_gate, styles
from ductcalc.errors import InputError

OPENINGS = st.floats(min_value=0.01, max_value=1.0)


@pytest.mark.parametrize(
    ("style", "radius", "angle_deg", "bore_m", "value"),
    [
        ("5-gore", 1.5, 90.0, 0.150, 0.28),
        ("5-gore", 1.5, 90.0, 0.075, 0.51),
        ("stamped", 1.5, 90.0, 0.100, 0.21),
        ("stamped", 1.5, 45.0, 0.150, 0.08),
        ("pleated", 1.5, 90.0, 0.200, 0.34),
        ("pleated", 1.5, 45.0, 0.100, 0.34),
        ("7-gore", 2.5, 90.0, 0.150, 0.12),
        ("3-gore", 1.5, 90.0, 0.150, 0.34),
        ("3-gore", 1.5, 60.0, 0.150, 0.21),
        ("3-gore", 1.5, 45.0, 0.150, 0.17),
        ("3-gore", 0.75, 90.0, 0.150, 0.54),
        ("smooth radius", 1.5, 90.0, 0.150, 0.15),
        ("smooth radius", 0.75, 90.0, 0.150, 0.33),
        ("mitred", None, 90.0, 0.150, 1.2),
        ("mitred", None, 45.0, 0.150, 0.34),
        ("mitred", None, 10.0, 0.150, 0.04),
    ],
)
def test_the_source_is_met_at_its_rows(style, radius, angle_deg, bore_m, value):
    assert elbow(style, radius, angle_deg, bore_m).value == pytest.approx(value, rel=1e-12)


def test_the_default_is_a_5_gore_elbow_of_radius_1_5():
    assert elbow(None, None, 90.0, 0.1) == elbow("5-gore", 1.5, 90.0, 0.1)


def test_the_default_7_gore_elbow_has_the_radius_of_its_source():
    assert elbow("7-gore", None, 90.0, 0.15) == elbow("7-gore", 2.5, 90.0, 0.15)


def test_between_bores_the_logarithm_is_linear_in_the_logarithm_of_the_bore():
    expected = math.exp(math.log(0.51) + math.log(0.28 / 0.51) * math.log(100 / 75) / math.log(150 / 75))
    found = elbow("5-gore", 1.5, 90.0, 0.1)
    assert found.value == pytest.approx(expected, rel=1e-12)
    assert 0.39 < found.value < 0.41


def test_rows_left_out_of_the_table_are_met_by_interpolation():
    assert elbow("stamped", 1.5, 90.0, 0.180).value == pytest.approx(0.12, abs=0.005)
    assert elbow("stamped", 1.5, 90.0, 0.230).value == pytest.approx(0.11, abs=0.005)
    assert elbow("pleated", 1.5, 90.0, 0.350).value == pytest.approx(0.25, abs=0.006)
    assert elbow("5-gore", 1.5, 90.0, 0.450).value == pytest.approx(0.15, abs=0.005)


def test_a_5_gore_elbow_has_the_size_independent_value_as_low_end():
    assert elbow("5-gore", 1.5, 90.0, 0.1).low == 0.24
    assert elbow("5-gore", 1.5, 90.0, 0.38).low == pytest.approx(0.16)


def test_a_bore_outside_the_rows_takes_the_nearest_and_says_so():
    found = elbow("5-gore", 1.5, 90.0, 0.05)
    assert found.value == 0.51
    assert "75 mm" in found.note


def test_another_radius_goes_by_the_size_independent_ratio_and_says_so():
    found = elbow("5-gore", 1.0, 90.0, 0.15)
    assert found.value == pytest.approx(0.28 * 0.33 / 0.24, rel=1e-12)
    assert "R/D 1 " in found.note and "R/D 1.5" in found.note
    assert found.confidence == "computed"


def test_a_radius_outside_the_rows_takes_the_nearest_and_says_so():
    found = elbow("5-gore", 4.0, 90.0, 0.15)
    assert found.value == pytest.approx(0.28 * 0.17 / 0.24, rel=1e-12)
    assert "R/D outside the source's range" in found.note


def test_another_angle_goes_by_the_angle_factors_and_says_so():
    found = elbow("5-gore", 1.5, 45.0, 0.15)
    assert found.value == pytest.approx(0.6 * 0.28, rel=1e-12)
    assert "angle factors" in found.note
    assert elbow("5-gore", 1.5, 180.0, 0.15).value == pytest.approx(1.4 * 0.28, rel=1e-12)
    assert elbow("5-gore", 1.5, 10.0, 0.15).value == pytest.approx(0.31 / 2 * 0.28, rel=1e-12)


def test_angles_between_own_rows_pass_through_them():
    near = elbow("stamped", 1.5, 45.001, 0.125).value
    assert near == pytest.approx(elbow("stamped", 1.5, 45.0, 0.125).value, rel=1e-3)
    assert 0.08 < elbow("stamped", 1.5, 60.0, 0.15).value < 0.14


def test_a_4_gore_elbow_stands_between_5_and_3_pieces():
    found = elbow("4-gore", 1.5, 90.0, 0.15)
    assert found.value == pytest.approx(0.28 * 0.27 / 0.24, rel=1e-12)


def test_one_value_for_all_bores_gets_a_high_end_for_small_bores():
    assert elbow("3-gore", 1.5, 90.0, 0.075).high == pytest.approx(0.51 * 0.34 / 0.24, rel=1e-12)
    assert elbow("smooth radius", 1.5, 90.0, 0.1).high == pytest.approx(0.21, rel=1e-12)
    assert elbow("smooth radius", 1.5, 90.0, 0.25).high == 0.15


def test_a_mitred_elbow_beyond_ninety_degrees_takes_the_nearest_and_says_so():
    found = elbow("mitred", 1.0, 120.0, 0.1)
    assert found.value == 1.2
    assert "outside the source's range" in found.note and "R/D not used" in found.note


def test_no_turn_is_no_loss():
    assert styles("elbow")
    for style in styles("elbow"):
        assert elbow(style, None, 0.0, 0.1).value == 0.0


@given(
    st.sampled_from(styles("elbow")),
    st.none() | st.floats(0.3, 5.0),
    st.floats(0.0, 180.0),
    st.floats(0.03, 1.0),
)
def test_every_elbow_has_a_finite_value_in_its_band(style, radius, angle_deg, bore_m):
    found = elbow(style, radius, angle_deg, bore_m)
    assert 0.0 <= found.low <= found.value <= found.high < 4.0


@given(st.sampled_from(["5-gore", "7-gore", "4-gore", "stamped"]), st.floats(0.03, 1.0), st.floats(0.03, 1.0))
def test_a_wider_bore_never_has_the_larger_coefficient(style, one, other):
    small, large = sorted((one, other))
    assert elbow(style, None, 90.0, large).value <= elbow(style, None, 90.0, small).value * (1 + 1e-12)


def test_an_unknown_build_is_met_with_the_nearest_word():
    with pytest.raises(InputError) as caught:
        elbow("5-gor", None, 90.0, 0.1)
    assert caught.value.problems[0].hint == "did you mean 5-gore?"


@pytest.mark.parametrize(
    ("radius", "angle_deg", "bore_m"),
    [(0.0, 90.0, 0.1), (1.5, -1.0, 0.1), (1.5, 181.0, 0.1), (1.5, 90.0, 0.0), (1.5, float("nan"), 0.1)],
)
def test_numbers_out_of_range_are_refused(radius, angle_deg, bore_m):
    with pytest.raises(ValueError, match="no elbow"):
        elbow("5-gore", radius, angle_deg, bore_m)


@pytest.mark.parametrize(
    ("style", "angle_deg", "value"),
    [
        ("plain", None, 0.93),
        ("flanged", None, 0.49),
        ("straight take-off", None, 0.65),
        ("tapered take-off", None, 0.45),
        ("bellmouth", None, 0.04),
        ("tapered", None, 0.08),
        ("tapered", 45.0, 0.06),
        ("tapered", 105.0, 0.205),
        ("tapered square", 90.0, 0.25),
        ("plain", 45.0, 0.93),
    ],
)
def test_a_hood_entry_is_that_of_the_method(style, angle_deg, value):
    assert hood_entry(style, angle_deg).value == pytest.approx(value, rel=1e-12)


def test_a_plain_end_has_the_conflicting_sources_as_band():
    assert (hood_entry("plain").low, hood_entry("plain").high) == (0.9, 1.0)


def test_a_taper_beyond_the_rows_takes_the_nearest_and_says_so():
    found = hood_entry("tapered", 170.0)
    assert found.value == 0.40
    assert "outside the source's range" in found.note


def test_an_unknown_hood_is_met_with_the_nearest_word():
    with pytest.raises(InputError) as caught:
        hood_entry("flangd")
    assert caught.value.problems[0].hint == "did you mean flanged?"


@pytest.mark.parametrize(
    ("angle_deg", "value"), [(0.0, 0.0), (5.0, 0.03), (30.0, 0.18), (45.0, 0.28), (75.0, 0.72), (90.0, 1.0)]
)
def test_the_sheet_charges_a_branch_by_its_angle(angle_deg, value):
    assert branch_entry(angle_deg).value == pytest.approx(value, rel=1e-12)


def test_a_branch_beyond_ninety_degrees_takes_the_last_row_and_says_so():
    assert branch_entry(100.0).value == 1.0
    assert "outside the source's range" in branch_entry(100.0).note


def test_fully_open_is_exactly_the_open_gate():
    assert gate_part_open(1.0) == fact("gate", "open")
    assert gate_part_open(1.0).value == 0.15


@pytest.mark.parametrize(
    ("eighths", "part"), [(7, 0.07), (6, 0.26), (5, 0.81), (4, 2.06), (3, 5.52), (2, 17.0), (1, 97.8)]
)
def test_the_source_of_gates_is_met_at_its_rows(eighths, part):
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


@given(OPENINGS)
def test_a_coefficient_leads_back_to_its_opening(opening):
    assert opening_of_gate(gate_part_open(opening).value) == pytest.approx(opening, rel=1e-9)


def test_a_gate_that_has_to_burn_nothing_is_open():
    assert opening_of_gate(fact("gate", "open").value) == opening_of_gate(0.0) == 1.0


def test_only_what_lies_between_printed_angles_says_so():
    assert "between the source's angles" not in (hood_entry("tapered", 30.0).note or "")
    assert "between the source's angles" in hood_entry("tapered", 37.0).note
