"""Hood entries and branch entries."""

from __future__ import annotations

import pytest

from ductcalc.catalog import branch_entry, hood_entry
from ductcalc.errors import InputError


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
