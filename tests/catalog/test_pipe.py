"""Roughness, joint leakage, transport speed, sizes and lengths sold."""

from __future__ import annotations

import math

import pytest

from ductcalc.catalog import fact, joint_leakage, lengths_sold, pipe_weight, roughness, sizes_sold, transport_speed
from ductcalc.errors import InputError

FOOT = 0.3048


@pytest.mark.parametrize(
    ("style", "feet"), [(None, 0.0003), ("spiral", 0.0003), ("snap-lock", 0.0005), ("plastic", 0.00005)]
)
def test_roughness_is_that_of_the_method(style, feet):
    assert roughness(style).value == pytest.approx(feet * 0.3048, rel=1e-12)


def test_spiral_roughness_has_the_published_range():
    assert (roughness().low, roughness().high) == pytest.approx((0.0002 * 0.3048, 0.0004 * 0.3048))


def test_an_unknown_pipe_is_met_with_the_nearest_word():
    with pytest.raises(InputError) as caught:
        roughness("spirel")
    assert caught.value.problems[0].hint == "did you mean spiral?"


@pytest.mark.parametrize(
    ("word", "number"),
    [(None, 3.0), ("sealed", 3.0), ("taped", 12.0), ("Unsealed", 30.0), ("none", 0.0), ("7.5", 7.5)],
)
def test_joint_leakage_by_word_or_number(word, number):
    assert joint_leakage(word).value == number


@pytest.mark.parametrize("text", ["", "-3", "nan", "inf", "1.2.3", "leaky"])
def test_joint_leakage_refuses_anything_else(text):
    with pytest.raises(InputError):
        joint_leakage(text)


def test_transport_speed_has_its_band():
    fine = transport_speed("fine dust")
    assert (fine.value, fine.low, fine.high) == (15.0, 12.7, 20.0)


def test_the_default_material_is_dry_chips():
    assert transport_speed(None) == transport_speed("dry chips")


def test_sizes_sold_rise_and_are_in_metres():
    spiral = sizes_sold("spiral")
    assert list(spiral) == sorted(set(spiral))
    assert any(abs(size - 0.1524) < 1e-9 for size in spiral) and 0.15 in spiral
    assert sizes_sold("cardboard") == ()


def test_pipe_weighs_what_its_table_says_and_a_straight_line_between_and_beyond():
    pound_a_foot = 0.45359237 / 0.3048
    weights = [pipe_weight(inches * 0.0254) / pound_a_foot for inches in (3, 4, 5, 6, 8, 12)]
    assert weights == pytest.approx([0.85, 1.1, 1.35, 1.6, 2.1, 3.1])


def test_pipe_is_heavier_than_its_plain_sheet_by_the_lock_seam():
    for inches in (4, 6, 8):
        plain = math.pi * inches * 0.0254 * 0.00055 * 7850.0
        assert 1.1 < pipe_weight(inches * 0.0254) / plain < 1.2


@pytest.mark.parametrize(
    ("make", "unit", "lengths"),
    [
        ("spiral", "ft", (10 * FOOT,)),
        ("spiral", "m", (3.0,)),
        ("snap lock", "ft", (5 * FOOT,)),
        ("plastic", None, (10 * FOOT,)),
        ("hose", "ft", tuple(n * FOOT for n in (5, 10, 20, 25, 50))),
        ("hose", "m", (5.0, 10.0)),
        ("steel", None, ()),
        ("snap-lock", "m", ()),
    ],
)
def test_lengths_sold_rise_and_are_in_metres(make: str, unit: str | None, lengths: tuple[float, ...]) -> None:
    assert lengths_sold(make, unit) == pytest.approx(lengths)


def test_the_yield_of_a_tube_is_below_that_of_a_bead_with_nothing_lost() -> None:
    """300 ml in a bead of 6 mm: the row's high end is that length, its value less."""
    found = fact("parts", "sealant yield")
    bead_m = 300e-6 / (3.141592653589793 * 0.003**2)
    assert found.high == pytest.approx(bead_m, rel=0.01)
    assert found.value < found.high


def test_round_metric_rules_agree_with_those_in_feet() -> None:
    for item in ("hanger spacing", "keep"):
        assert fact("parts", f"{item} metric").value == pytest.approx(fact("parts", item).value, rel=0.02)
