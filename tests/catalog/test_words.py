"""Words of the trade: accepted in any writing, each with one meaning, each meaning with its numbers."""

from __future__ import annotations

import pytest

from ductcalc.catalog import (
    default_style,
    elbow,
    hood_entry,
    joint_leakage,
    material_key,
    materials,
    roughness,
    style_key,
    styles,
    table,
    transport_speed,
)


@pytest.mark.parametrize(
    ("kind", "text", "style"),
    [
        ("elbow", "5 gore", "5-gore"),
        ("elbow", "FIVE GORE", "5-gore"),
        ("elbow", "5-piece", "5-gore"),
        ("elbow", "segmented", "5-gore"),
        ("elbow", "smooth", "smooth radius"),
        ("elbow", " Die-stamped ", "stamped"),
        ("elbow", "mitered", "mitred"),
        ("pipe", "Snap Lock", "snap-lock"),
        ("pipe", "PVC", "plastic"),
        ("pipe", "aluminum", "aluminium"),
        ("port", "flange", "flanged"),
        ("port", "straight takeoff", "straight take-off"),
        ("port", "square taper", "tapered square"),
        ("wye", "Y", "y"),
    ],
)
def test_a_word_is_understood_in_any_writing(kind, text, style):
    assert style_key(kind, text) == style


@pytest.mark.parametrize(
    ("kind", "text"), [("elbow", "6-gore"), ("pipe", ""), ("port", "long radius"), ("gate", "x")]
)
def test_an_unknown_word_has_no_style(kind, text):
    assert style_key(kind, text) is None


def test_no_word_of_a_kind_has_two_meanings():
    bare: dict[tuple[str, str], str] = {}
    assert table("words").rows
    for row in table("words").rows:
        letters = "".join(letter for letter in row["word"].casefold() if letter.isalnum())
        assert bare.setdefault((row["kind"], letters), row["style"]) == row["style"]


def test_every_style_is_a_word_for_itself():
    assert table("words").rows
    for row in table("words").rows:
        assert style_key(row["kind"], row["style"]) == row["style"]


def test_the_documented_defaults():
    assert default_style("pipe") == "spiral"
    assert default_style("elbow") == "5-gore"
    assert default_style("joints") == "sealed"
    assert default_style("material") == "dry chips"
    assert default_style("port") is None


@pytest.mark.parametrize("style", styles("pipe"))
def test_every_pipe_style_has_a_roughness(style):
    assert roughness(style).unit == "m"


@pytest.mark.parametrize("style", styles("elbow"))
def test_every_elbow_style_has_a_coefficient(style):
    assert elbow(style, None, 90.0, 0.125).value > 0.0


@pytest.mark.parametrize("style", styles("port"))
def test_every_port_style_has_an_entry_coefficient(style):
    assert 0.0 < hood_entry(style).value <= 1.0


@pytest.mark.parametrize("style", styles("joints"))
def test_every_joint_style_has_a_class(style):
    assert joint_leakage(style).unit == "class"


def test_materials_have_speeds_and_rise_with_weight():
    assert materials() == ("dry chips", "fine dust", "damp chips")
    speeds = [transport_speed(name).value for name in ("fine dust", "dry chips", "damp chips")]
    assert speeds == [15.0, 20.0, 28.0]
    assert material_key("Wet chips") == "damp chips"
