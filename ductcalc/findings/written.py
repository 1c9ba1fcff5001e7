"""Figures read in the unit that they were likely meant in: the same digits, another unit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from ductcalc.catalog import fact
from ductcalc.findings.phrase import Phrase, say
from ductcalc.shop.piece import Piece
from ductcalc.units import Dimension, Unit, UnreadableError, read, units_of
from ductcalc.units.closed_list import UnitSystem

DIGITS = 4
"""Most significant digits of a number as people write it."""
PRESSURES = ("Pa", "mm water", "inwg")


class Meant(NamedTuple):
    """A number in another unit: its value in SI, and how it is written."""

    value: float
    words: str


def unit_written(text: str | None, value: float, dimension: Dimension) -> Unit | None:
    """Return the unit in which a cell holds a value [SI], its column's heading included; None when it is not known.

    A row that says `like` has no cell of its own: then it is the unit in which the value is a round number.
    """
    for unit in units_of(dimension):
        try:
            found = None if text is None else read(text, (dimension,), unit, times=True)
        except UnreadableError:
            return None
        if found is not None and math.isclose(found.value, value, rel_tol=1e-9):
            return found.unit
    return _roundest(value, units_of(dimension))


def _roundest(value: float, units: Iterable[Unit]) -> Unit | None:
    """Return the unit in which a value [SI] has the fewest digits; None where it has many in all of them."""
    found = [(_digits(unit.from_si(value)), place, unit) for place, unit in enumerate(units)]
    fewest, _, unit = min(found, key=lambda one: one[:2])
    return unit if fewest <= DIGITS else None


def _digits(number: float) -> int:
    """Return how many significant digits a number has, one more than `DIGITS` where they are many."""
    fitting = (n for n in range(1, DIGITS + 1) if math.isclose(number, float(f"{number:.{n}g}"), rel_tol=1e-6))
    return next(fitting, DIGITS + 1)


def in_other_units(text: str | None, value: float, dimension: Dimension) -> Iterator[Meant]:
    """Yield a cell's number in the other units of its kind; nothing when its unit is not known."""
    written = unit_written(text, value, dimension)
    if written is None:
        return
    for unit in units_of(dimension):
        if unit != written:
            yield _meant(written.from_si(value), unit)


def pressures_meant(value_pa: float) -> Iterator[Meant]:
    """Yield what a pressure [Pa] may have been meant as: a round number in one unit, as many of another."""
    units = {unit.name: unit for unit in units_of("pressure")}
    written = _pressure_unit(value_pa)
    if written is not None:
        yield from (_meant(written.from_si(value_pa), units[name]) for name in PRESSURES if name != written.name)


def pressure_written(value_pa: float) -> str | None:
    """Return a pressure [Pa] in the unit in which it is a round number; None where it is one in none."""
    written = _pressure_unit(value_pa)
    return None if written is None else _meant(written.from_si(value_pa), written).words


def _pressure_unit(value_pa: float) -> Unit | None:
    units = {unit.name: unit for unit in units_of("pressure")}
    return _roundest(value_pa, (units[name] for name in PRESSURES))


def _meant(number: float, unit: Unit) -> Meant:
    return Meant(unit.to_si(number), f"{number:.4g} {unit.name}")


def size_meant(piece: Piece, near_m: float) -> Meant | None:
    """Return what a doubtful bore was likely meant as: what is nearest to a bore [m] beside it."""
    assert piece.size_m is not None
    found = in_other_units(piece.cells.get("size"), piece.size_m, "length")
    usual = (meant for meant in found if not is_doubtful_size(meant.value))
    return min(usual, key=lambda meant: abs(math.log(meant.value / near_m)), default=None)


def is_doubtful_size(bore_m: float) -> bool:
    """Whether a bore [m] is one that small shops do not have."""
    return not fact("findings", "narrowest duct").value <= bore_m <= fact("findings", "widest duct").value


def length_meant(piece: Piece, system: UnitSystem) -> Meant | None:
    """Return a very long hose or pipe in feet, where its length is in metres and the table in inches and feet."""
    most = fact("findings", f"longest {piece.traits.word}").value
    if system != "inch" or not piece.length_m or piece.length_m <= most:
        return None
    written = unit_written(piece.cells.get("length"), piece.length_m, "length")
    if written is None or written.name != "m":
        return None
    feet = next(unit for unit in units_of("length") if unit.name == "ft")
    return _meant(written.from_si(piece.length_m), feet)


def unit_question(meant: Meant | None) -> Phrase:
    """Return what mends a figure in a doubtful unit, in words."""
    return say("look at its unit") if meant is None else say("look at its unit: was {} meant?", meant.words)
