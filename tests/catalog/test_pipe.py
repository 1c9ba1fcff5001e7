"""Roughness, joint leakage, transport speed and sizes."""

from __future__ import annotations

import math

import pytest

from ductcalc.catalog import joint_leakage, pipe_weight, roughness, sizes_sold, transport_speed
from ductcalc.errors import InputError


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
