"""What shop.toml says of parts, how they are sold, cut and priced, and of what running costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from ductcalc import catalog
from ductcalc.errors import Notebook, Place
from ductcalc.shop import key_of
from ductcalc.shop.parts import ANY_MAKE, PartsSettings, Price
from ductcalc.shop.settings import MachineCut, RunningSettings
from ductcalc.tables import cells, limits
from ductcalc.tables.section import SettingsSection, read_each, said
from ductcalc.tables.settings_machines import MachineNames
from ductcalc.tables.sheet import sheet_of_mappings
from ductcalc.tables.words import guess, style
from ductcalc.units import UnreadableError, is_unseen, parse, parse_number, quoted, visible

KERF_M = (0.0, 0.02)
SPACING_M = (0.1, 20.0)
YIELD_M = (0.1, 1000.0)
KEEP_M = (0.0, 10.0)
STICK_M = (0.1, 50.0)
_STICKS_HINT = 'write sticks = ["10 ft"], or below [parts.sticks] one line for each make: spiral = ["10 ft"]'
YEAR_S = (0.0, 8784.0 * 3600.0)
TARIFF = (0.0, 1.0e6)
EFFICIENCY = (0.05, 1.0)
FILTER_M2 = (0.01, 1000.0)
DRUM_M3 = (0.001, 100.0)
WOOD_KG_M3 = (80.0, 1300.0)
WIDTH_M = (0.0, 3.0)
DEPTH_M = (0.0, 0.5)
FEED_M_S = (0.0, 3.0)
LONGEST_CURRENCY = 12
_TARIFF_HINT = 'write money for each kWh, from 0 to a million, for example tariff = "0.15 USD"'
_PER_KWH = ("/kwh", "per kwh", "a kwh")
_CUT_EXAMPLE = 'width = "12 in", depth = "1/16 in", feed = "20 ft/min", makes = "shavings"'


def read_parts(values: object, place: Place, notebook: Notebook) -> PartsSettings:
    """Return [parts]; note every problem."""
    section = SettingsSection(values, replace(place, key="parts"), notebook)
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


def _sticks(section: SettingsSection) -> Mapping[str, tuple[float, ...]]:
    value, place = section.take("sticks"), section.at("sticks")
    if value is None:
        return MappingProxyType({})
    if not isinstance(value, Mapping):
        return MappingProxyType({ANY_MAKE: _lengths(value, place, section.notebook, _STICKS_HINT)})
    found: dict[str, tuple[float, ...]] = {}
    for written, lengths in value.items():
        here = replace(place, key=f"parts.sticks.{visible(str(written))}")
        make = section.notebook.read(here, lambda text: style("pipe", text), str(written))
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
    example = hint or f'write {str(place.key).rpartition(".")[2]} = ["10 ft"], with its unit'
    return tuple(sorted(set(read_each(value, _stick, "lengths", example, place, notebook))))


def _kerf(text: str) -> float:
    """Return what a cut takes [m]; 0 needs no unit."""
    if text.strip() in ("0", "0.0", "none"):
        return 0.0
    hint = 'write from 0 to 20 mm (3/4 in), for example "1/8 in" for a saw, 0 for snips'
    return limits.within(parse(text, "length"), KERF_M, text, "a saw cut", hint)


def _stick(text: str) -> float:
    length = cells.length(text, None)
    if not STICK_M[0] <= length <= STICK_M[1]:
        hint = 'write from 0.1 to 50 m, for example "10 ft" or "3 m"'
        raise UnreadableError(f"{quoted(text)} is no length that is sold", hint)
    return length


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
    from ductcalc.tables.stock import PRICE_COLUMNS, PRICE_REQUIRED, prices_of

    sheet = sheet_of_mappings(value, f"{place.file} [[parts.prices]]", PRICE_COLUMNS, PRICE_REQUIRED, notebook)
    return prices_of(sheet, notebook) if sheet else ()


def read_running(values: object, place: Place, machines: MachineNames, notebook: Notebook) -> RunningSettings:
    """Return [running]; note every problem."""
    section = SettingsSection(values, replace(place, key="running"), notebook)
    tariff, currency = section.read_text("tariff", _tariff, _TARIFF_HINT) or (None, "")
    settings = RunningSettings(
        hours_s=_hours(section, "hours"),
        tariff=tariff,
        currency=currency,
        motor_w=section.quantity("motor", "power", (0.0, limits.BLOWER_POWER_W), '"3 hp"', above=True),
        motor_efficiency=_efficiency(section, "motor efficiency", "80 %"),
        fan_efficiency=_efficiency(section, "fan efficiency", "50 %"),
        inside_k=section.quantity("inside", "temperature", limits.TEMPERATURE_K, '"68 F"'),
        outside_k=section.quantity("outside", "temperature", limits.TEMPERATURE_K, '"30 F"'),
        heated_s=_hours(section, "heated hours"),
        filter_m2=section.quantity("filter area", "area", FILTER_M2, '"200 ft2"'),
        drum_m3=section.quantity("drum", "volume", DRUM_M3, '"55 gal"'),
        wood_kg_m3=section.quantity("wood", "density", WOOD_KG_M3, '"40 lb/ft3"'),
        cuts=_cuts(section.take("cuts"), section.at("cuts"), machines, notebook),
    )
    _compare(settings, section)
    section.finish()
    return settings


def _hours(section: SettingsSection, key: str) -> float | None:
    """Return time in a year [s]; a bare number is hours."""
    hint = f'write for example {key.replace(" ", "_")} = "400 h", hours in a year (up to 8784)'

    def read(text: str) -> float:
        return limits.within(parse(text, "time", "h"), YEAR_S, text, key, hint, above=True)

    return section.read_text(key, read, hint)


def _efficiency(section: SettingsSection, key: str, example: str) -> float | None:
    hint = f'write from 5 % to 100 %, for example {key.replace(" ", "_")} = "{example}"'
    return section.read_text(
        key, lambda text: limits.within(cells.share(text, None, key), EFFICIENCY, text, key, hint), hint
    )


def _tariff(text: str) -> tuple[float, str]:
    """Return money for a kilowatt-hour, and its word as written: `0.15`, `0.15 USD`, `0,30 EUR/kWh`."""
    plain = text.strip()
    for ending in _PER_KWH:
        if plain.casefold().endswith(ending):
            plain = plain[: -len(ending)].rstrip()
    number, currency = _parted(plain)
    if not number or len(currency) > LONGEST_CURRENCY or any(map(is_unseen, currency)) or "/" in currency:
        raise UnreadableError(f"{quoted(text)} is no money for a kWh", _TARIFF_HINT)
    return limits.within(parse_number(number), TARIFF, text, "a tariff", _TARIFF_HINT), currency


def _parted(text: str) -> tuple[str, str]:
    """Return a number and the word behind it, or before it as some write money."""
    digits = [place for place, letter in enumerate(text) if letter.isdigit()]
    if not digits:
        return "", text
    first, last = digits[0], digits[-1] + 1
    if text[first - 1 : first] in ("-", ".", "+") and first:
        first -= 1
    words = (text[:first].strip(), text[last:].strip())
    return text[first:last], " ".join(word for word in words if word)


def _compare(settings: RunningSettings, section: SettingsSection) -> None:
    """Note what cannot be true together."""
    if settings.heated_s is not None and settings.hours_s is not None and settings.heated_s > settings.hours_s:
        section.notebook.note(
            section.at("heated_hours"),
            "more heated hours than hours of running",
            "heated_hours is that part of hours in which the room is heated",
        )
    if settings.inside_k is not None and settings.outside_k is not None and settings.inside_k <= settings.outside_k:
        section.notebook.note(
            section.at("outside"),
            "outside is no colder than inside",
            "write the usual temperature outdoors while the room is heated, or leave outside out",
        )


def _cuts(value: Any, place: Place, machines: MachineNames, notebook: Notebook) -> tuple[MachineCut, ...]:
    """Return the cuts by machine, in the order written."""
    if value is None:
        return ()
    if not isinstance(value, Mapping):
        hint = f"write [running.cuts.planer] and below it {_CUT_EXAMPLE}, each on a line"
        notebook.note(place, "running.cuts is not a section", hint, said(value))
        return ()
    found: dict[str, MachineCut | None] = {}
    for name, written in value.items():
        here = replace(place, key=f"running.cuts.{visible(str(name))}")
        machine = machines.find(name, here)
        cut = _cut(machine or str(name), written, here, notebook)
        if machine is not None and key_of(machine) in found:
            notebook.note(here, f"machine {quoted(str(name))} stands twice", "keep one of the two", str(name))
        found.setdefault(key_of(machine or str(name)), cut)
    return tuple(cut for cut in found.values() if cut is not None)


def _cut(machine: str, value: object, place: Place, notebook: Notebook) -> MachineCut | None:
    """Return one cut, None when it lacks something; what it lacks is noted."""
    before = len(notebook.problems)
    section = SettingsSection(value, place, notebook)
    missing = [key for key in ("width", "depth", "feed", "makes") if key not in section.values]
    width_m = section.quantity("width", "length", WIDTH_M, '"12 in"', above=True)
    depth_m = section.quantity("depth", "length", DEPTH_M, '"1/16 in"', above=True)
    feed_m_s = section.quantity("feed", "speed", FEED_M_S, '"20 ft/min"', above=True)
    makes = section.read_text("makes", _bulk, f"known are: {', '.join(catalog.styles('bulk'))}")
    section.finish()
    if missing and isinstance(value, Mapping):
        notebook.note(place, f"this cut has no {' and no '.join(missing)}", f"write for example {_CUT_EXAMPLE}")
    if width_m is None or depth_m is None or feed_m_s is None or makes is None or len(notebook.problems) > before:
        return None
    return MachineCut(machine, width_m, depth_m, feed_m_s, makes)


def _bulk(text: str) -> str:
    """Return the catalog's word for what a cut makes. Raises UnreadableError with the nearest known one."""
    found = catalog.style_key("bulk", text)
    if found is None:
        raise UnreadableError(f"nothing that a cut makes is named {quoted(text)}", guess(text, catalog.styles("bulk")))
    return found
