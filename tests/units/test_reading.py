"""Quantities: units in every spelling, feet with inches, header units, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.units import UnreadableError, header_unit, parse, read, system_of
from ductcalc.units.closed_list import spellings_of, units_of
from ductcalc.units.reading import parse_number

LENGTHS = [
    ("6 in", 0.1524),
    ("6in", 0.1524),
    ('6"', 0.1524),
    ("6”", 0.1524),
    ("6″", 0.1524),
    ("6''", 0.1524),
    ("6 IN.", 0.1524),
    ("6-in", 0.1524),
    ("150mm", 0.15),
    ("15 cm", 0.15),
    ("3,8 m", 3.8),
    ("12 ft 6 in", 3.81),
    ("12ft6in", 3.81),
    ("12' 6\"", 3.81),
    ("12’6”", 3.81),
    ("12′ 6″", 3.81),
    ("12'-6\"", 3.81),
    ("12 ft. 6 in.", 3.81),
    ("12 feet 6 inches", 3.81),
    ("7' 6 1/2\"", 2.2987),
    ("-1 ft 6 in", -0.4572),
    ("6\u00a0in", 0.1524),
    ("\u2009150\u202fmm ", 0.15),
    ("６ｉｎ", 0.1524),
    ("12＇ 6＂", 3.81),
    ("6\u00adin", 0.1524),
    ("6\u200bin", 0.1524),
    ("150 ㎜", 0.15),
    ("1'200 mm", 1.2),
    ("1⅞\"", 0.047625),
]


@pytest.mark.parametrize(("text", "metres"), LENGTHS)
def test_length_in_every_spelling(text: str, metres: float) -> None:
    assert parse(text, "length") == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize("text", ["3 x 10 ft", "3x10 ft", "3 × 10'", "3*10ft"])
def test_several_alike_may_be_written_as_a_length(text: str) -> None:
    assert parse(text, "length", times=True) == pytest.approx(9.144, rel=1e-12)


@pytest.mark.parametrize("count", ["0", "1001"])
def test_as_many_alike_as_nobody_writes_are_refused(count: str) -> None:
    with pytest.raises(UnreadableError, match="counts no usual number"):
        parse(f"{count} x 10 ft", "length", times=True)


@pytest.mark.parametrize(("text", "said"), [("  ", "nothing is written here"), ("3 ft", "is more than a number")])
def test_a_bare_number_is_nothing_else(text: str, said: str) -> None:
    with pytest.raises(UnreadableError, match=said):
        parse_number(text)


def test_several_alike_are_refused_where_one_number_is_wanted() -> None:
    with pytest.raises(UnreadableError, match="two numbers"):
        parse("2 x 4 in", "length")


@pytest.mark.parametrize(
    "text",
    [
        "3.6 inwg",
        "3.6 in wg",
        "3.6 in w.g.",
        "3.6 In. W.G.",
        "3.6 inH2O",
        "3.6 in H₂O",
        "3.6 in wc",
        "3.6 in water",
        "3.6 inches of water",
        '3.6" wg',
        "3.6” WC",
        '3.6"wg',
    ],
)
def test_inch_of_water_in_every_spelling(text: str) -> None:
    assert parse(text, "pressure") == pytest.approx(3.6 * 249.0889, rel=1e-12)


OTHERS = [
    ("400 CFM", "flow", 400 * 0.3048**3 / 60),
    ("400 ft³/min", "flow", 400 * 0.3048**3 / 60),
    ("720 m3/h", "flow", 0.2),
    ("720 m³/h", "flow", 0.2),
    ("720 ㎥/h", "flow", 0.2),
    ("7'200 m³/h", "flow", 2.0),
    ("1％", "share", 0.01),
    ("720 m^3 / h", "flow", 0.2),
    ("12 m3/min", "flow", 0.2),
    ("200 l/s", "flow", 0.2),
    ("12000 L/min", "flow", 0.2),
    ("0.2 m3/s", "flow", 0.2),
    ("4000 fpm", "speed", 20.32),
    ("4000 feet per minute", "speed", 20.32),
    ("20 m/s", "speed", 20.0),
    ("10 ft/s", "speed", 3.048),
    ("90 daPa", "pressure", 900.0),
    ("9 hPa", "pressure", 900.0),
    ("0.9 kPa", "pressure", 900.0),
    ("9 mbar", "pressure", 900.0),
    ("100 mm water", "pressure", 980.665),
    ("100 mmwg", "pressure", 980.665),
    ("100 mmH2O", "pressure", 980.665),
    ("45", "angle", 45.0),
    ("45°", "angle", 45.0),
    ("45 deg", "angle", 45.0),
    ("32 F", "temperature", 273.15),
    ("32 °F", "temperature", 273.15),
    ("20 °C", "temperature", 293.15),
    ("-5 C", "temperature", 268.15),
    ("300 K", "temperature", 300.0),
    ("0.075 lb/ft3", "density", 1.20138475),
    ("1,2 kg/m³", "density", 1.2),
    ("18.2 µPa·s", "viscosity", 18.2e-6),
    ("1.82e-5 Pa s", "viscosity", 18.2e-6),
    ("12 in2", "area", 12 * 0.0254**2),
    ("12 in²", "area", 12 * 0.0254**2),
    ("12 sq. in.", "area", 12 * 0.0254**2),
    ("80 cm2", "area", 0.008),
    ("1 ft2", "area", 0.09290304),
    ("1.5 kW", "power", 1500.0),
    ("2 hp", "power", 1491.39974),
    ("1 %", "share", 0.01),
    ("0.01", "share", 0.01),
]


@pytest.mark.parametrize(("text", "dimension", "value"), OTHERS)
def test_quantity_in_si(text: str, dimension: str, value: float) -> None:
    assert parse(text, dimension) == pytest.approx(value, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "dimension", "message", "hint"),
    [
        ("6", "length", '"6" has no unit', '"6 in"'),
        ("400", "flow", '"400" has no unit', '"400 cfm"'),
        ("6 inhc", "length", "unknown unit", "did you mean in?"),
        ("6 cfm", "length", "is a flow", "units of length"),
        ("400 cmf", "flow", "unknown unit", "did you mean cfm?"),
        ("12.5 ft 6 in", "length", "mixes part feet", '"12 ft 6 in"'),
        ("5 ft 6", "length", "more than one number", '"12 ft 6 in"'),
    ],
)
def test_wrong_unit_is_an_error_with_a_repair(text: str, dimension: str, message: str, hint: str) -> None:
    with pytest.raises(UnreadableError) as caught:
        parse(text, dimension)
    assert message in caught.value.message
    assert hint in caught.value.hint


def test_header_unit_serves_bare_numbers_and_a_cells_own_unit_wins() -> None:
    assert parse("6", "length", "in") == pytest.approx(0.1524)
    assert parse("150 mm", "length", "in") == pytest.approx(0.15)


def test_unit_tells_which_of_several_dimensions_is_meant() -> None:
    assert read("400 cfm", ("flow", "speed")).unit == header_unit("cfm", "flow")
    assert read("20 m/s", ("flow", "speed")).unit == header_unit("m/s", "speed")


@pytest.mark.parametrize(
    ("text", "system"),
    [("6 in", "inch"), ("12' 6\"", "inch"), ("150 mm", "metric"), ("6", None), ("?", None)],
)
def test_unit_system_of_a_text(text: str, system: str | None) -> None:
    assert system_of(text) == system


def test_every_spelling_of_every_unit_is_read() -> None:
    assert units_of()
    for unit in units_of():
        for spelling in (unit.name, *unit.spellings, unit.name.upper()):
            assert parse(f"2 {spelling}", unit.dimension) == pytest.approx(unit.to_si(2.0), rel=1e-12)


def test_no_spelling_means_two_units_of_one_dimension() -> None:
    assert units_of()
    for unit in units_of():
        table = spellings_of(unit.dimension)
        assert all(table[spelling] is unit for spelling in (unit.name.casefold(), *unit.spellings))


@given(st.sampled_from(units_of("length", "flow", "pressure", "speed", "area")), st.floats(0.001, 1e6))
def test_value_written_in_any_unit_comes_back(unit: object, number: float) -> None:
    text = f"{number!r} {unit.name}"
    assert unit.from_si(parse(text, unit.dimension)) == pytest.approx(number, rel=1e-12)


@given(st.integers(0, 200), st.integers(0, 11))
def test_feet_and_inches_equal_all_inches(feet: int, inches: int) -> None:
    assert parse(f"{feet} ft {inches} in", "length") == pytest.approx(
        parse(f"{12 * feet + inches} in", "length"), abs=1e-12
    )


@pytest.mark.parametrize(
    ("text", "hint"),
    [("11 inches", "write 11 inwg (inches of water)"), ('2 1/2"', "write 2 1/2 inwg"), ("60 mm", "write 60 mm water")],
)
def test_length_where_a_pressure_is_wanted_is_told_as_water(text: str, hint: str) -> None:
    with pytest.raises(UnreadableError) as caught:
        parse(text, "pressure")
    assert hint in caught.value.hint
