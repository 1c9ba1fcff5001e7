"""Reading a quantity: a number, its unit from the closed list, feet with inches, and `3 x 10 ft`."""

from __future__ import annotations

import difflib
import re
from functools import lru_cache
from typing import NamedTuple

from ductcalc.errors import UnreadableError
from ductcalc.units.closed_list import FOOT_M, INCH_M, Dimension, Unit, UnitSystem, spellings_of, units_of
from ductcalc.units.numbers import leading_number, refuse_non_numbers
from ductcalc.units.wording import quoted

_FEET_MARKS = "'’‘‛′´`ʹʼ‵"
_INCH_MARKS = '"“”„‟″ʺ˝〃‶'
_SPACES = "\u00a0\u2007\u2009\u200a\u202f\u2002\u2003\u2008\u3000\t\n"
_MINUSES = "−‐‑‒–—﹣\u00ad"
_FULL_WIDTH = {chr(code): chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}
_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
_TRANSLATION = str.maketrans(
    {
        **_FULL_WIDTH,
        **dict.fromkeys(_FEET_MARKS, "'"),
        **dict.fromkeys(_INCH_MARKS, '"'),
        **dict.fromkeys(_SPACES, " "),
        **dict.fromkeys(_MINUSES, "-"),
        **{sign: f" {fraction}" for sign, fraction in _VULGAR.items()},
        "⁄": "/", "∕": "/", "×": "x", "°": " deg ", "º": " deg ", "˚": " deg ", "₂": "2",
        "μ": "u", "µ": "u", "⋅": "·", "㎜": "mm", "㎝": "cm", "㎡": "m2", "㎥": "m3",
    }
)  # fmt: skip
_NO_WIDTH = re.compile(r"(?<!\d)[\u200b-\u200f\u2060\ufeff]+|[\u200b-\u200f\u2060\ufeff]+(?!\d)")
_POWERS = re.compile(r"(?<=[a-z\"])(?:\^(?=[23])|(?=[²³]))([23²³])")
_ABBREVIATION_DOT = re.compile(r"(?<=[a-z])\.")
_SLASH = re.compile(r" ?/ ?| per (?=[a-z])")
_FEET_INCHES = re.compile(
    r"([-+]?[^a-z']+?) ?(?:ft|feet|foot|') ?(?:[,-]|and)? ?([^a-z'\"]+?) ?(?:inches|inch|in|\")"
)
_TIMES = re.compile(r"(\d+) ?[x*] ?(?=[\d.])(.*)")
_ANOTHER_NUMBER = re.compile(r"^['\" ]*[+.,²³]*\d|^[²³]|\s[+-]?[.,]?\d")
_MOST_ALIKE = 1000
_FEET_OR_THOUSANDS = re.compile(r"[-+]?\d{1,3}'\d{3}")

UNITLESS: frozenset[Dimension] = frozenset({"angle", "share"})
_EXAMPLES: dict[Dimension, str] = {
    "length": '"6 in" or "150 mm"',
    "area": '"12 in2" or "80 cm2"',
    "flow": '"400 cfm" or "700 m3/h"',
    "speed": '"4000 fpm" or "20 m/s"',
    "pressure": '"4 in wg" or "1000 Pa"',
    "angle": '"45" or "45 deg"',
    "temperature": '"70 F" or "20 C"',
    "density": '"0.075 lb/ft3" or "1.2 kg/m3"',
    "viscosity": '"1.82e-5 Pa s"',
    "power": '"2 hp" or "1.5 kW"',
    "share": '"1 %" or "0.01"',
    "time": '"400 h"',
    "volume": '"55 gal" or "200 l"',
    "mass": '"10 lb" or "5 kg"',
    "energy": '"10 kWh"',
    "filter rate": '"4 cfm/ft2"',
    "current": '"11.5 A"',
}
_WATER = {"in": "inwg (inches of water)", "mm": "mm water (millimetres of water)"}
"""Lengths that are said of a pressure, and what is to be written."""


class Quantity(NamedTuple):
    """A value in SI and the unit that it was written in; None when a bare number was allowed."""

    value: float
    unit: Unit | None


def parse(
    text: str, dimension: Dimension, default_unit: Unit | str | None = None, *, times: bool = False
) -> float:
    """Return a written quantity in SI [m, m2, m3/s, m/s, Pa, deg, K, kg/m3, Pa s, W, or a share].

    default_unit: unit of a bare number, as from a column's header. times: `3 x 10 ft` is allowed.
    Raises UnreadableError with a message and a repair.

    >>> round(parse("12' 6\\"", "length"), 4)
    3.81
    """
    return read(text, (dimension,), default_unit, times=times).value


def read(
    text: str,
    dimensions: tuple[Dimension, ...],
    default_unit: Unit | str | None = None,
    *,
    times: bool = False,
) -> Quantity:
    """Read a quantity of one of several dimensions; the unit tells which. Raises UnreadableError."""
    if isinstance(default_unit, str):
        default_unit = header_unit(default_unit, *dimensions)
    return _read(text, dimensions, default_unit, times)


def parse_number(text: str) -> float:
    """Return a bare number written in the same grammar. Raises UnreadableError, also when a unit follows."""
    plain = tidy(text)
    if not plain:
        raise UnreadableError("nothing is written here", "write a number")
    refuse_non_numbers(plain, text)
    number, rest = leading_number(plain, text)
    if rest:
        raise UnreadableError(
            f"{quoted(text)} is more than a number", f"write the number alone, without {quoted(rest)}"
        )
    return number


def header_unit(text: str, *dimensions: Dimension) -> Unit:
    """Return the unit that a column's header names. Raises UnreadableError for an unknown one."""
    return _unit(tidy(text), text, dimensions)


def system_of(
    text: str, dimension: Dimension = "length", default_unit: Unit | str | None = None
) -> UnitSystem | None:
    """Return the unit system that a text is written in, None when it has none or is unreadable."""
    try:
        unit = read(text, (dimension,), default_unit, times=True).unit
    except UnreadableError:
        return None
    return unit.system if unit else None


@lru_cache(maxsize=20_000)
def _read(text: str, dimensions: tuple[Dimension, ...], default_unit: Unit | None, times: bool) -> Quantity:
    plain = tidy(text)
    if not plain:
        raise UnreadableError("nothing is written here", f"write for example {_EXAMPLES[dimensions[0]]}")
    refuse_non_numbers(plain, text)
    if found := _TIMES.fullmatch(plain):
        return _times(found, text, dimensions, default_unit, times)
    if "length" in dimensions and (found := _FEET_INCHES.fullmatch(plain)):
        _refuse_feet_or_thousands(plain, text)
        return _feet_inches(found, text)
    number, rest = leading_number(plain, text)
    unit = _unit(rest, text, dimensions) if rest else _unit_of_bare_number(text, dimensions, default_unit)
    if unit is not None and unit.dimension == "length" and unit.system == "inch":
        _refuse_feet_or_thousands(plain, text)
    return Quantity(unit.to_si(number) if unit else number, unit)


def tidy(text: str) -> str:
    """Return a text in small letters with plain spaces, quotes, minus signs, powers and slashes.

    Signs without width are left out, but not between digits: there nobody sees whether they part two numbers.
    """
    plain = text.translate(_TRANSLATION).casefold().replace("''", '"')
    if not plain.isascii():
        plain = _NO_WIDTH.sub("", plain)
    if "²" in plain or "³" in plain or "^" in plain:
        plain = _POWERS.sub(lambda m: m[1].translate({0xB2: "2", 0xB3: "3"}), plain)
    plain = _ABBREVIATION_DOT.sub("", " ".join(plain.split(" ")))
    return _SLASH.sub("/", " ".join(word for word in plain.split(" ") if word))


def _times(
    found: re.Match[str],
    given: str,
    dimensions: tuple[Dimension, ...],
    default_unit: Unit | None,
    allowed: bool,
) -> Quantity:
    """Read `3 x 10 ft`: so many alike, one after the other."""
    count = float(found[1])
    if not allowed:
        raise UnreadableError(
            f"{quoted(given)} holds two numbers", f"write one, for example {_EXAMPLES[dimensions[0]]}"
        )
    if not 1 <= count <= _MOST_ALIKE:
        raise UnreadableError(f"{quoted(given)} counts no usual number", 'write for example "3 x 10 ft"')
    one = _read(found[2], dimensions, default_unit, False)
    return Quantity(count * one.value, one.unit)


def _feet_inches(found: re.Match[str], given: str) -> Quantity:
    """Read `12 ft 6 in`: whole feet and inches; a minus in front holds for both."""
    feet, inches = _whole_number(found[1], given), _whole_number(found[2], given)
    if feet != int(feet) or inches < 0:
        raise UnreadableError(
            f"{quoted(given)} mixes part feet with inches",
            'write whole feet and inches, for example "12 ft 6 in"',
        )
    negative = found[1].startswith("-")
    metres = abs(feet) * FOOT_M + inches * INCH_M
    return Quantity(-metres if negative else metres, spellings_of("length")["ft"])


def _refuse_feet_or_thousands(plain: str, given: str) -> None:
    """Refuse `1'200 in`: the mark may say feet or part thousands."""
    if _FEET_OR_THOUSANDS.match(plain):
        raise UnreadableError(
            f"{quoted(given)} can be read in two ways: the mark ' may mean feet or part thousands",
            'write for example "1200 ft", or "12 ft 6 in"',
        )


def _whole_number(text: str, given: str) -> float:
    """Read a text that is a number and nothing else."""
    number, rest = leading_number(text.strip(), given)
    if rest:
        raise _leftover(rest, given)
    return number


def _unit_of_bare_number(
    given: str, dimensions: tuple[Dimension, ...], default_unit: Unit | None
) -> Unit | None:
    if default_unit is not None or dimensions[0] in UNITLESS:
        return default_unit
    examples = " or ".join(_EXAMPLES[d] for d in dimensions)
    raise UnreadableError(f"{quoted(given)} has no unit", f"write the unit, for example {examples}")


def _unit(plain: str, given: str, dimensions: tuple[Dimension, ...]) -> Unit:
    """Return the unit that a tidied text spells, of one of the dimensions."""
    spelling = plain[1:].lstrip() if plain.startswith("-") else plain
    unit = spellings_of(*dimensions).get(spelling)
    if unit is not None:
        return unit
    if _ANOTHER_NUMBER.search(spelling):
        raise _leftover(spelling, given)
    raise _unknown_unit(spelling, given, dimensions)


def _leftover(rest: str, given: str) -> UnreadableError:
    """Say that more than one number stands where one is wanted."""
    return UnreadableError(
        f"{quoted(given)} holds more than one number ({quoted(rest)} is left over)",
        'write one number with its unit, for example "6 in", "1 1/2 in" or "12 ft 6 in"',
    )


def _unknown_unit(spelling: str, given: str, dimensions: tuple[Dimension, ...]) -> UnreadableError:
    """Say that a unit is unknown, or belongs to something else, with the nearest known one."""
    what = " or ".join(dimensions)
    names = ", ".join(unit.name for unit in units_of(*dimensions))
    stranger = spellings_of().get(spelling)
    if stranger is not None and stranger.name in _WATER and "pressure" in dimensions:
        amount = tidy(given).removesuffix(spelling)
        return UnreadableError(
            f"{quoted(given)} is a length, but {what} is wanted",
            f"write {amount.strip()} {_WATER[stranger.name]}".replace("  ", " "),
        )
    if stranger is not None:
        article = "an" if stranger.dimension[0] == "a" else "a"
        return UnreadableError(
            f"{quoted(given)} is {article} {stranger.dimension}, but {what} is wanted",
            f"units of {what}: {names}",
        )
    known = spellings_of(*dimensions)
    names_first = [unit.name.casefold() for unit in units_of(*dimensions)], list(known)
    near = [word for words in names_first for word in difflib.get_close_matches(spelling, words, cutoff=0.5)]
    guess = f"did you mean {known[near[0]].name}? " if near else ""
    return UnreadableError(
        f"{quoted(given)} has an unknown unit, {quoted(spelling)}", f"{guess}units of {what}: {names}"
    )
