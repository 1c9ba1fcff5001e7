"""Every factor of the closed list against pint's own full registry, which shares no number with it."""

from __future__ import annotations

import subprocess
import sys

import pint
import pytest

from ductcalc.units import quantity, to_display, units_of

PINT_NAMES = {
    "in": "inch",
    "ft": "foot",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in2": "inch**2",
    "ft2": "foot**2",
    "mm2": "millimeter**2",
    "cm2": "centimeter**2",
    "m2": "meter**2",
    "cfm": "foot**3/minute",
    "m3/h": "meter**3/hour",
    "m3/min": "meter**3/minute",
    "m3/s": "meter**3/second",
    "l/s": "liter/second",
    "l/min": "liter/minute",
    "fpm": "foot/minute",
    "ft/s": "foot/second",
    "m/s": "meter/second",
    "m/min": "meter/minute",
    "inwg": "inch*kilogram/liter*standard_gravity",
    "Pa": "pascal",
    "daPa": "decapascal",
    "hPa": "hectopascal",
    "kPa": "kilopascal",
    "mbar": "millibar",
    "mm water": "millimeter*kilogram/liter*standard_gravity",
    "deg": "degree",
    "F": "degree_Fahrenheit",
    "C": "degree_Celsius",
    "K": "kelvin",
    "lb/ft3": "pound/foot**3",
    "kg/m3": "kilogram/meter**3",
    "Pa s": "pascal*second",
    "mPa s": "millipascal*second",
    "uPa s": "micropascal*second",
    "lb/ft s": "pound/foot/second",
    "W": "watt",
    "kW": "kilowatt",
    "hp": "horsepower",
    "%": "percent",
    "BTU/h": "Btu_it/hour",
    "h": "hour",
    "min": "minute",
    "A": "ampere",
    "ft3": "foot**3",
    "gal": "gallon",
    "l": "liter",
    "m3": "meter**3",
    "lb": "pound",
    "kg": "kilogram",
    "kWh": "kilowatt*hour",
    "cfm/ft2": "foot/minute",
    "m3/h per m2": "meter/hour",
}
SI = {
    "length": "meter",
    "area": "meter**2",
    "flow": "meter**3/second",
    "speed": "meter/second",
    "pressure": "pascal",
    "angle": "degree",
    "temperature": "kelvin",
    "density": "kilogram/meter**3",
    "viscosity": "pascal*second",
    "power": "watt",
    "share": "dimensionless",
    "time": "second",
    "volume": "meter**3",
    "mass": "kilogram",
    "energy": "joule",
    "filter rate": "meter/second",
    "current": "ampere",
}


@pytest.fixture(scope="module")
def full_registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize("unit", units_of(), ids=lambda unit: unit.name)
def test_factor_agrees_with_pint(unit, full_registry) -> None:
    for number in (1.0, 37.5):
        theirs = full_registry.Quantity(number, PINT_NAMES[unit.name]).to(SI[unit.dimension]).magnitude
        tolerance = 5e-8 if unit.name == "inwg" else 1e-12
        assert unit.to_si(number) == pytest.approx(theirs, rel=tolerance)


def test_every_unit_is_checked_against_pint() -> None:
    assert set(PINT_NAMES) == {unit.name for unit in units_of()}


@pytest.mark.parametrize(
    ("value", "dimension", "name", "expected"),
    [
        (0.1524, "length", "inch", 6.0),
        (0.1524, "length", "mm", 152.4),
        (0.2, "flow", "m**3/h", 720.0),
        (0.18877897728, "flow", "cfm", 400.0),
        (249.0889, "pressure", "inwg", 1.0),
        (294.2611111111111, "temperature", "degF", 70.0),
        (1500.0, "power", "kW", 1.5),
    ],
)
def test_pint_quantity_converts_to_the_closed_list(
    value: float, dimension: str, name: str, expected: float
) -> None:
    assert quantity(value, dimension).to(name).magnitude == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "dimension", "inch", "metric"),
    [
        (0.1524, "size", (6.0, "in"), (152.4, "mm")),
        (3.048, "length", (10.0, "ft"), (3.048, "m")),
        (0.18877897728, "flow", (400.0, "cfm"), (679.604318, "m3/h")),
        (20.32, "speed", (4000.0, "fpm"), (20.32, "m/s")),
        (996.3556, "pressure", (4.0, "inwg"), (996.3556, "Pa")),
        (294.2611111, "temperature", (70.0, "F"), (21.1111111, "C")),
        (1.20138475, "density", (0.075, "lb/ft3"), (1.20138475, "kg/m3")),
        (0.05, "share", (5.0, "%"), (5.0, "%")),
        (1000.0, "heat", (3412.14163, "BTU/h"), (1.0, "kW")),
        (7.2e6, "energy", (2.0, "kWh"), (2.0, "kWh")),
        (0.2, "volume", (7.06293334, "ft3"), (200.0, "l")),
        (0.02032, "filter rate", (4.0, "cfm/ft2"), (73.152, "m3/h per m2")),
    ],
)
def test_display_in_both_systems(value: float, dimension: str, inch: tuple, metric: tuple) -> None:
    for system, (number, label) in (("inch", inch), ("metric", metric)):
        shown, unit = to_display(value, dimension, system)
        assert (shown, unit) == (pytest.approx(number, rel=1e-8), label)


def test_importing_units_imports_neither_pint_nor_numpy() -> None:
    code = "import sys, ductcalc.units; print([m for m in ('pint', 'numpy', 'pandas') if m in sys.modules])"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"
