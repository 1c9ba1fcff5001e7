"""[parts]: how pipe and hose are sold and cut, what hangs and seals them, what things cost."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from ductcalc.errors import Place
from ductcalc.shop.parts import ANY_MAKE, PartsSettings, Price
from ductcalc.tables import cells, limits
from ductcalc.tables.catalog_words import style
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.section import Section, said
from ductcalc.tables.sheet import sheet_of_mappings
from ductcalc.tables.stock import PRICE_COLUMNS, PRICE_REQUIRED, prices_of
from ductcalc.units import UnreadableError, parse, quoted, visible

KERF_M = (0.0, 0.02)
SPACING_M = (0.1, 20.0)
YIELD_M = (0.1, 1000.0)
KEEP_M = (0.0, 10.0)
STICK_M = (0.1, 50.0)
_STICKS_HINT = 'write sticks = ["10 ft"], or below [parts.sticks] one line for each make: spiral = ["10 ft"]'


def read_parts(values: object, place: Place, notebook: Notebook) -> PartsSettings:
    """Return [parts]; note every problem."""
    section = Section(values, replace(place, key="parts"), notebook)
    settings = PartsSettings(
        sticks_m=_sticks(section),
        hose_m=_lengths(section.take("hose"), section.at("hose"), notebook),
        kerf_m=section.read_text("kerf", _kerf, 'write for example kerf = "1/8 in", or 0'),
        hanger_spacing_m=section.quantity("hanger spacing", "length", SPACING_M, '"5 ft"'),
        sealant_yield_m=section.quantity("sealant yield", "length", YIELD_M, '"30 ft" (of joint for each tube)'),
        keep_m=section.quantity("keep", "length", KEEP_M, '"1 ft" (shortest left-over worth keeping)'),
        prices=_prices(section.take("prices"), section.at("prices"), notebook),
    )
    section.finish()
    return settings


def _sticks(section: Section) -> Mapping[str, tuple[float, ...]]:
    value, place = section.take("sticks"), section.at("sticks")
    if value is None:
        return MappingProxyType({})
    if not isinstance(value, Mapping):
        return MappingProxyType({ANY_MAKE: _lengths(value, place, section.notebook, _STICKS_HINT)})
    found: dict[str, tuple[float, ...]] = {}
    for written, lengths in value.items():
        here = replace(place, key=f"parts.sticks.{visible(str(written))}")
        make = _noted(lambda text: style("pipe", text), str(written), here, section.notebook)
        lengths_m = _lengths(lengths, here, section.notebook)
        if make in found:
            section.notebook.note(here, f"{make} stands twice", "keep one of the two", str(written))
        if make is not None:
            found[make] = lengths_m
    return MappingProxyType(found)


def _lengths(value: object, place: Place, notebook: Notebook, hint: str = "") -> tuple[float, ...]:
    """Return lengths sold [m], rising, from one text or a list."""
    if value is None:
        return ()
    entries = [value] if isinstance(value, str) else value
    if not isinstance(entries, list) or not entries or not all(isinstance(entry, str) for entry in entries):
        example = hint or f'write {str(place.key).rpartition(".")[2]} = ["10 ft"], with its unit'
        notebook.note(place, f"{quoted(said(value))} is not a list of lengths", example, said(value))
        return ()
    found = [_noted(_stick, entry, place, notebook) for entry in entries]
    return tuple(sorted({length for length in found if length is not None}))


def _kerf(text: str) -> float:
    """Return what a cut takes [m]; 0 needs no unit."""
    if text.strip() in ("0", "0.0", "none"):
        return 0.0
    hint = 'write from 0 to 20 mm (3/4 in), for example "1/8 in" for a saw, 0 for snips'
    return limits.within(parse(text, "length"), KERF_M, text, "a saw cut", hint)


def _stick(text: str) -> float:
    length = cells.length(text, None)
    if not STICK_M[0] <= length <= STICK_M[1]:
        raise UnreadableError(f"{quoted(text)} is no length that is sold", 'write for example "10 ft" or "3 m"')
    return length


def _noted(reader: Callable[[str], Any], text: str, place: Place, notebook: Notebook) -> Any:
    try:
        return reader(text)
    except UnreadableError as error:
        notebook.note_unreadable(place, error, text)
        return None


def _prices(value: object, place: Place, notebook: Notebook) -> tuple[Price, ...]:
    """Return prices from a list of tables, each like a row of a price list."""
    if value is None:
        return ()
    if not isinstance(value, list) or not all(isinstance(row, Mapping) for row in value):
        hint = 'write [[parts.prices]] and below it piece = "gate", size = "4 in", price = 12.5, each on a line'
        notebook.note(place, "parts.prices is not a list of prices", hint, said(value))
        return ()
    if not value:
        return ()
    sheet = sheet_of_mappings(value, f"{place.file} [[parts.prices]]", PRICE_COLUMNS, PRICE_REQUIRED, notebook)
    return prices_of(sheet, notebook) if sheet else ()
