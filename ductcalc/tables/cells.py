"""One function per kind of cell: its text and the header's unit to a value in SI, range checked.

Each raises UnreadableError with a message and a repair. Equal texts are read once.
"""

from __future__ import annotations

import re
from functools import lru_cache

from ductcalc import catalog
from ductcalc.shop import Drop, PieceKind, Wanted
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.kinds import TRAITS
from ductcalc.tables import limits
from ductcalc.tables.words import style, with_article
from ductcalc.units import Unit, UnreadableError, is_unseen, parse_number, quoted, read
from ductcalc.units.numbers import is_sheets_error, refuse_formula

_CACHE = 4096
_AT = re.compile(r"(?:\s|(?<=\w))(?:at|@)\s*(?=[\d.,½¼¾])", re.IGNORECASE)
_DROP_WORDS = re.compile(r"\b(static|total|suction|loss|pressure)\b", re.IGNORECASE)
_SIDES = re.compile(r"(?=[^x×*]*\d)(?P<width>[^x×*]*)[x×*](?=[^x×*]*\d)(?P<height>[^x×*]*)", re.IGNORECASE)
_BARE_NUMBER = re.compile(r"[\d.,/\s½¼¾⅛⅜⅝⅞-]+")
_THOUSANDS_POINT = re.compile(r"\s*[1-9]\d{0,2}\.\d{3}(?![\d.,])")
_WALL = re.compile(r"(?P<make>.*?)[\s,]+(?P<wall>[\d.,/]+\s*(?:gauge|ga\.?|mm|in))", re.IGNORECASE)
_GAUGE = re.compile(r"(\d+)(?:\s*(?:gauge|ga\.?))?", re.IGNORECASE)
CAP = "cap"


def refuse_point_of_thousands(text: str) -> None:
    """Refuse `1.200` in a file with decimal commas, where the point may part thousands."""
    found = _THOUSANDS_POINT.match(text)
    if found:
        whole, tail = found[0].strip().split(".")
        decimals = tail.rstrip("0")
        decimal = f"{whole},{decimals}" if decimals else whole
        raise UnreadableError(
            f"{quoted(text)} can be read in two ways: beside decimal commas the point may part thousands",
            f"write {whole}{tail} or {decimal}, whichever was meant",
        )


@lru_cache(_CACHE)
def size(text: str, unit: Unit | None, kind: PieceKind = "port") -> float:
    """Return an inside diameter [m], or a rectangle, as in `10 x 4 in`, of a piece that may be one."""
    sides = _SIDES.fullmatch(text)
    if sides is None:
        return limits.bore(read(text, ("length",), unit), text)
    if not TRAITS[kind].any_shape:
        raise UnreadableError(
            f"{quoted(text)} is a rectangle, but {with_article(TRAITS[kind].word)} is round",
            'write its inside diameter, for example "6 in", with a reducer between it and rectangular duct',
        )
    return rectangle(sides["width"].strip(), sides["height"].strip(), text, unit)


def has_sides(text: str) -> bool:
    """Tell whether a size is that of a rectangle."""
    return _SIDES.fullmatch(text) is not None


def rectangle(width: str, height: str, text: str, unit: Unit | None) -> Rectangle:
    """Return a rectangle of two sides; a side without a unit has that of the other one."""
    for side, other in ((width, height), (height, width)):
        if _BARE_NUMBER.fullmatch(side) and not _BARE_NUMBER.fullmatch(other):
            common = read(other, ("length",)).unit
            first, second = (read(one, ("length",), common) for one in (width, height))
            return Rectangle(limits.bore(first, text), limits.bore(second, text))
    first, second = (read(one, ("length",), unit) for one in (width, height))
    return Rectangle(limits.bore(first, text), limits.bore(second, text))


def make_and_wall(text: str) -> tuple[str, float | None]:
    """Return the make of a pipe and its wall [m]: `snap-lock`, `snap-lock 26 gauge`, `steel 0.5 mm`."""
    found = _WALL.fullmatch(text.strip())
    if found is None:
        return style("pipe", text), None
    return style("pipe", found["make"]), wall(found["wall"])


@lru_cache(_CACHE)
def wall(text: str) -> float:
    """Return the thickness of sheet [m]: a gauge, or a length."""
    found = _GAUGE.fullmatch(text.strip())
    if found is None:
        hint = 'write for example "26 gauge" or "0.5 mm"'
        try:
            value = read(text, ("length",)).value
        except UnreadableError:
            raise UnreadableError(f"{quoted(text)} is neither a gauge nor a thickness of sheet", hint) from None
        return limits.within(value, limits.WALL_M, text, "a thickness of sheet", hint)
    try:
        return catalog.fact("findings", f"gauge {found[1]}").value
    except KeyError:
        known = "gauges from 22 to 30 in twos are known: write one, or the thickness, for example 0.5 mm"
        raise UnreadableError(f"{quoted(text)} is no known gauge of sheet", known) from None


@lru_cache(_CACHE)
def length(text: str, unit: Unit | None) -> float:
    """Return a length [m], which may be 0; `3 x 10 ft` is 30 ft."""
    value = read(text, ("length",), unit, times=True).value
    hint = 'write a length from 0 to 10 km, for example "10 ft"'
    return limits.within(value, limits.LENGTH_M, text, "a length", hint)


@lru_cache(_CACHE)
def rise(text: str, unit: Unit | None) -> float:
    """Return how much of a length goes up [m]; negative goes down."""
    value = read(text, ("length",), unit, times=True).value
    most = limits.LENGTH_M[1]
    return limits.within(
        value, (-most, most), text, "a rise", "write how much of the length goes up, 10 km at most; down is negative"
    )


@lru_cache(_CACHE)
def angles(text: str, unit: Unit | None, kind: PieceKind) -> tuple[float, ...]:
    """Return the angles [deg] of a piece; only a wye may have several, as in `30 + 45`."""
    parts = text.split("+")
    if len(parts) > 1 and kind != "wye":
        raise UnreadableError(
            f"{quoted(text)} gives several angles to one {kind}", "write one angle, for example 90"
        )
    span, hint = {
        "wye": (limits.WYE_DEG, "write the angle to the straight run, above 0 and up to 180; 45 is usual"),
        "elbow": (limits.ELBOW_DEG, "write an angle above 0 and up to 180, for example 90"),
    }.get(
        kind,
        (limits.TAPER_DEG, "write the included angle of the taper, above 0 and up to 180, for example 30"),
    )
    values = (read(part, ("angle",), unit).value for part in parts)
    return tuple(
        limits.within(value, span, text, f"the angle of {with_article(kind)}", hint, above=True)
        for value in values
    )


@lru_cache(_CACHE)
def count(text: str, kind: PieceKind) -> int:
    """Return how many alike, or the bends of a hose, which may have none."""
    value = parse_number(text)
    least, most = (1 if TRAITS[kind].alike else 0), limits.COUNT[1]
    if value != int(value):
        raise UnreadableError(f"{quoted(text)} is no whole number", "count whole pieces: 1, 2, 3")
    hint = f"write a whole number from {least} to {most}"
    return int(limits.within(value, (least, most), text, "a count", hint))


@lru_cache(_CACHE)
def joins(text: str) -> tuple[str, ...]:
    """Return the runs that come in, `cap` in small letters."""
    return listed_names(text)


@lru_cache(_CACHE)
def wanted(text: str, unit: Unit | None) -> Wanted:
    """Return the air wanted at a port: a flow, a speed or `off`."""
    if text.strip().casefold() == "off":
        return Wanted(off=True)
    reading = read(text, ("flow", "speed"), unit)
    if reading.value == 0.0:
        raise UnreadableError(
            f"{quoted(text)} wants no air", "write off for a port that is never used, or the air wanted"
        )
    if reading.unit is not None and reading.unit.dimension == "speed":
        return Wanted(speed_m_s=_speed(reading.value, text))
    return Wanted(flow_m3_s=_flow(reading.value, text))


def _speed(value: float, text: str) -> float:
    hint = 'write a speed from 1 to 80 m/s (200 to 15700 fpm), for example "20 m/s"'
    return limits.within(value, limits.SPEED_M_S, text, "a speed in a port", hint)


def _flow(value: float, text: str) -> float:
    hint = 'write a flow from 1 cfm to 10 m3/s, for example "400 cfm" or "700 m3/h"'
    return limits.within(value, limits.FLOW_M3_S, text, "the flow of a port", hint)


@lru_cache(_CACHE)
def drop(text: str, unit: Unit | None) -> Drop:
    """Return a machine's stated suction, as in `900 Pa at 20 m/s` or `900 Pa total at 400 cfm`."""
    refuse_formula(text.strip(), text)
    total = bool(re.search(r"\btotal\b", text, re.IGNORECASE))
    parts = _AT.split(_DROP_WORDS.sub(" ", text), maxsplit=1)
    if len(parts) != 2:
        raise UnreadableError(
            f"{quoted(text)} does not say at which speed or flow",
            'write for example "900 Pa at 20 m/s" or "3.6 inwg at 400 cfm"',
        )
    pressure = read(parts[0].strip(), ("pressure",), unit).value
    limits.within(
        pressure,
        limits.DROP_PA,
        text,
        "a machine's suction",
        'write above 0 and up to 20 kPa (80 inwg), for example "900 Pa at 20 m/s"',
        above=True,
    )
    at = read(parts[1].strip(), ("speed", "flow"))
    if at.unit is not None and at.unit.dimension == "speed":
        return Drop(pressure, speed_m_s=_speed(at.value, text), total=total)
    return Drop(pressure, flow_m3_s=_flow(at.value, text), total=total)


@lru_cache(_CACHE)
def inlet(text: str, unit: Unit | None) -> float:
    """Return a free area [m2]."""
    value = read(text, ("area",), unit).value
    hint = 'write the free area above 0 and up to 1 m2, for example "12 in2"'
    return limits.within(value, limits.INLET_M2, text, "a free inlet area", hint, above=True)


@lru_cache(_CACHE)
def coefficient(text: str) -> float:
    """Return an own loss coefficient from 0 to a million."""
    value = parse_number(text)
    hint = "write 0 or a number above it, up to 1000000"
    return limits.within(value, limits.COEFFICIENT, text, "a loss coefficient", hint)


@lru_cache(_CACHE)
def radius(text: str) -> float:
    """Return a bend radius over diameter."""
    value = parse_number(text)
    hint = "write the bend's radius over its diameter, from 0.3 to 10; 1.5 is usual"
    return limits.within(value, limits.RADIUS, text, "R/D", hint)


@lru_cache(_CACHE)
def hose_factor(text: str) -> float:
    """Return the friction of a hose over that of pipe."""
    value = parse_number(text)
    hint = "write how many times the friction of pipe, from 1 to 20"
    return limits.within(value, limits.HOSE_FACTOR, text, "a hose factor", hint)


@lru_cache(_CACHE)
def roughness(text: str, unit: Unit | None) -> float:
    """Return a wall roughness [m]."""
    value = read(text, ("length",), unit).value
    hint = 'write a roughness from 0 to 5 mm, for example "0.09 mm" or "0.0003 ft"'
    return limits.within(value, limits.ROUGHNESS_M, text, "a roughness", hint)


@lru_cache(_CACHE)
def opening(text: str, unit: Unit | None) -> float:
    """Return the open share of a gate's travel, above 0 and up to 1."""
    value = share(text, unit, "a gate's opening")
    if value == 0.0:
        raise UnreadableError(
            f"{quoted(text)} is a shut gate",
            "leave the cell blank: which gates are open is chosen when asking",
        )
    return value


@lru_cache(_CACHE)
def leak(text: str, unit: Unit | None) -> float:
    """Return a gate's leak as a share of its bore. Only 0 goes without a unit: 0.5 may be half a per cent or half."""
    reading = read(text, ("share",), unit)
    if reading.unit is None and reading.value != 0.0:
        shares = [value for value in (reading.value, 100.0 * reading.value) if 0.0 < value <= 100.0] or [1.0]
        readings = " or ".join(f'"{value:g} %"' for value in shares)
        raise UnreadableError(f"{quoted(text)} has no unit", f"write {readings} of the bore, whichever was meant")
    return share(text, unit, "a leak")


def share(text: str, unit: Unit | None, what: str) -> float:
    """Return a share from 0 to 1."""
    reading = read(text, ("share",), unit)
    number = f"{reading.value:g}"
    hint = (
        f'write "{number} %"'
        if reading.unit is None and 1.0 < reading.value <= 100.0
        else 'write from "0 %" to "100 %", or from 0 to 1'
    )
    return limits.within(reading.value, (0.0, 1.0), text, what, hint)


@lru_cache(_CACHE)
def machine(text: str) -> str:
    """Return a machine's, gate's or collector's name."""
    return name(text, "name")


@lru_cache(maxsize=8192)
def name(text: str, what: str) -> str:
    """Return a name with single spaces. Raises UnreadableError for one that cannot be used."""
    if any(map(is_unseen, text)):
        raise UnreadableError(
            f"the {what} {quoted(text)} holds a control or other unseen character",
            "type the name anew, on one line",
        )
    if is_sheets_error(text):
        refuse_formula(text, text)
    plain = " ".join(text.split())
    for sign, other in ((",", "a space"), ("+", '"and"')):
        if sign in plain:
            raise UnreadableError(
                f'the {what} {quoted(text)} holds "{sign}", which parts names', f"write {other} instead"
            )
    if len(plain) > limits.LONGEST_NAME:
        raise UnreadableError(
            f"the {what} {quoted(text)} is longer than {limits.LONGEST_NAME} characters",
            "write a shorter one and use the note",
        )
    if not plain:
        raise UnreadableError(f"the {what} is empty", "write a name")
    return plain


def run_name(text: str) -> str:
    """Return a run's name; `cap` is taken, it means a closed inlet of a wye."""
    plain = name(text, "run name")
    if plain.casefold() == CAP:
        raise UnreadableError(
            "a run cannot be named cap", "choose another name: cap under joins means closed for now"
        )
    return plain


def listed_names(text: str) -> tuple[str, ...]:
    """Return names parted by plus signs, `cap` in small letters. Raises UnreadableError."""
    if "," in text:
        raise UnreadableError(
            f"{quoted(text)} holds a comma", "part several runs with a plus sign, as in a + b"
        )
    parts = text.split("+")
    if any(not part.strip() for part in parts):
        raise UnreadableError(
            f"{quoted(text)} has a plus sign with no name beside it", "write a + b, or one name"
        )
    found = tuple(name(part.strip(), "run name") for part in parts)
    return tuple(CAP if part.casefold() == CAP else part for part in found)
