"""The documented defaults, in SI units, and the computed rows re-derived."""

from __future__ import annotations

import math

import pint
import pytest
from fluids.friction import friction_factor

from ductcalc.catalog import Fact, fact
from ductcalc.catalog.fact import fact_rows, to_si

INCH_OF_WATER_PA = 249.0889


@pytest.mark.parametrize(
    ("table_name", "item", "value", "low", "high", "unit"),
    [
        ("hose", "factor", 2.4, 1.5, 4.0, "1"),
        ("hose", "bend", 0.5, 0.3, 1.0, "1"),
        ("hose", "default bends", 1.0, 1.0, 1.0, "1"),
        ("gate", "open", 0.15, 0.1, 0.2, "1"),
        ("gate", "leak", 0.01, 0.001, 0.03, "1"),
        ("machine", "unknown", 2.75, 0.5, 5.2, "1"),
        ("machine", "wanted speed", 20.0, 20.0, 20.0, "m/s"),
        ("collector", "cyclone", 2 * INCH_OF_WATER_PA, 1.5 * INCH_OF_WATER_PA, 3 * INCH_OF_WATER_PA, "Pa"),
        ("collector", "filter clean", INCH_OF_WATER_PA, 0.5 * INCH_OF_WATER_PA, 2 * INCH_OF_WATER_PA, "Pa"),
        (
            "collector",
            "loaded above clean",
            2 * INCH_OF_WATER_PA,
            INCH_OF_WATER_PA,
            3 * INCH_OF_WATER_PA,
            "Pa",
        ),
        ("collector", "filter exponent", 1.0, 1.0, 2.0, "1"),
        ("collector", "advertised share", 0.9, 0.9, 1.0, "1"),
        ("collector", "rated flow share", 0.5, 0.5, 0.5, "1"),
        ("air", "temperature", 294.2611111, 294.2611111, 294.2611111, "K"),
        ("air", "standard density", 1.2014, 1.2014, 1.2014, "kg/m3"),
        ("air", "standard viscosity", 1.82e-5, 1.82e-5, 1.82e-5, "Pa s"),
        ("air", "inch of water", INCH_OF_WATER_PA, INCH_OF_WATER_PA, INCH_OF_WATER_PA, "Pa"),
        ("chips", "loading factor", 1.4, 1.0, 2.0, "1"),
        ("chips", "loading, planer at full cut", 0.07, 0.003, 0.07, "1"),
        ("chips", "loading limit", 0.2, 0.2, 0.2, "1"),
        ("joint_leakage", "exponent", 0.65, 0.65, 0.65, "1"),
        ("transport", "graded limit", 17.78, 17.78, 17.78, "m/s"),
        ("verdict", "just short share", 0.9, 0.75, 0.95, "1"),
        ("verdict", "near a limit", 0.03, 0.01, 0.1, "1"),
    ],
)
def test_a_default_is_as_documented(table_name, item, value, low, high, unit):
    found = fact(table_name, item)
    assert (found.value, found.low, found.high) == pytest.approx((value, low, high), rel=1e-9)
    assert found.unit == unit


def test_the_inch_of_water_is_the_same_in_table_and_conversion():
    assert to_si(1.0, "inwg") == fact("air", "inch of water").value


def test_the_temperature_of_the_room_is_70_degrees_fahrenheit():
    assert to_si(32.0, "degF") == pytest.approx(273.15, abs=1e-12)


def test_a_class_is_one_cfm_per_hundred_square_feet():
    worked = fact("joint_leakage", "worked value, class 6 at 2.5 in").value
    exponent = fact("joint_leakage", "exponent").value
    assert to_si(6 * 2.5**exponent, "cfm/100 ft2") == pytest.approx(worked, rel=2e-3)


@pytest.mark.parametrize("name", ["graded", "riser"])
def test_the_share_and_the_limit_below_which_chips_settle_are_one_number(name):
    full = fact("transport", "dry chips").value
    assert fact("transport", f"{name} share").value * full == pytest.approx(
        fact("transport", f"{name} limit").value, rel=1e-6
    )


def test_level_pipe_settles_near_what_official_guidance_asks_for_shavings():
    guidance = fact("transport", "collecting duct, shavings, 50 to 150 g/m3").value
    assert fact("transport", "graded limit").value == pytest.approx(guidance, rel=0.02)


def test_the_loss_of_a_stated_suction_is_rederived():
    suctions = {row["kind"]: part.value for row, part in fact_rows("machine", "stated suction")}
    losses = {row["kind"]: part.value for row, part in fact_rows("machine", "loss of stated suction")}
    assert len(suctions) == 4
    for kind, suction_pa in suctions.items():
        assert losses[kind] == pytest.approx(suction_pa / (0.5 * 1.2 * 20.0**2) - 1.0, abs=5e-3)
    assert fact("machine", "unknown").value == losses["middling"]


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_the_leak_share_of_a_damper_class_is_rederived(number):
    speed = fact("gate", f"closed damper class {number}").value
    through_gap = fact("gate", "discharge coefficient").value * math.sqrt(2 * 100.0 / 1.2)
    share = fact("gate", f"leak share of class {number}").value
    assert share == pytest.approx(speed / through_gap, abs=5e-5)


@pytest.mark.parametrize(
    ("item", "degrees", "ratio"),
    [
        ("narrowing 6 to 4 in, 30 degrees", 30.0, (4 / 6) ** 2),
        ("widening 4 to 6 in, 30 degrees", 30.0, (4 / 6) ** 2),
        ("widening 4 to 6 in, 60 degrees", 60.0, (4 / 6) ** 2),
    ],
)
def test_a_reducer_is_rederived_from_the_form_in_the_table(item, degrees, ratio):
    half_sine = math.sin(math.radians(degrees) / 2)
    if item.startswith("narrowing"):
        expected = fact("transition", "narrowing").value * half_sine * (1 - ratio)
    elif degrees <= fact("transition", "widening limit").value:
        expected = fact("transition", "widening").value * half_sine * (1 - ratio) ** 2
    else:
        expected = (1 - ratio) ** 2
    assert fact("transition", item).value == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("item", "bore_m", "flow_m3_s", "rough_m"),
    [
        ("rough end of the handbook range, 4 in", 0.1016, 350 * 4.71947443e-4, 0.003 * 0.3048),
        ("rough end of the handbook range, 6 in", 0.1524, 800 * 4.71947443e-4, 0.003 * 0.3048),
        ("rough category, 4 in", 0.1016, 350 * 4.71947443e-4, 0.01 * 0.3048),
    ],
)
def test_a_hose_ratio_by_roughness_is_rederived(item, bore_m, flow_m3_s, rough_m):
    reynolds = 1.2014 * flow_m3_s / (math.pi / 4 * bore_m) / 1.8187e-5
    rough = friction_factor(Re=reynolds, eD=rough_m / bore_m)
    spiral = friction_factor(Re=reynolds, eD=0.0003 * 0.3048 / bore_m)
    assert fact("hose", item).value == pytest.approx(rough / spiral, abs=0.01)


@pytest.mark.parametrize(("millimetres", "pa_per_m"), [(100, 168.8), (140, 118.3)])
def test_a_hose_ratio_on_spiral_pipe_is_rederived(millimetres, pa_per_m):
    bore_m = millimetres / 1000
    ratios = []
    for density_kg_m3 in (1.25, 1.2014):
        spiral = friction_factor(Re=density_kg_m3 * 25.0 * bore_m / 1.82e-5, eD=0.09e-3 / bore_m)
        ratios.append(pa_per_m / (spiral / bore_m * density_kg_m3 * 25.0**2 / 2))
    found = fact("hose", f"on spiral pipe, {millimetres} mm")
    assert (found.value, found.high) == pytest.approx(tuple(ratios), abs=0.006)


def test_a_fact_cannot_be_changed():
    with pytest.raises(AttributeError):
        fact("gate", "open").value = 0.0  # type: ignore[misc]
    assert isinstance(fact("gate", "open"), Fact)


@pytest.mark.parametrize(
    ("unit", "theirs"),
    [
        ("cfm/100 ft2", "0.01 foot**3 / minute / foot**2"),
        ("m3/(m2 h)", "m / hour"),
        ("fpm", "foot / minute"),
        ("cfm", "foot**3 / minute"),
        ("ft", "foot"),
        ("in", "inch"),
        ("mm", "mm"),
    ],
)
def test_a_conversion_is_that_of_a_general_library(unit: str, theirs: str) -> None:
    assert to_si(1.0, unit) == pytest.approx(pint.UnitRegistry()(theirs).to_base_units().magnitude, rel=1e-9)
