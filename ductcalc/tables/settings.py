"""shop.toml to Settings: every section, with the nearest known word for a mistyped one."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from ductcalc import catalog
from ductcalc.errors import Notebook, Place
from ductcalc.shop import (
    AirSettings,
    FindingSettings,
    ImproveSettings,
    MaterialSettings,
    MethodSettings,
    RoomSettings,
    Settings,
)
from ductcalc.shop.settings import PipeSettings, SizeSettings
from ductcalc.tables import cells, limits
from ductcalc.tables.section import SettingsSection, read_each, said
from ductcalc.tables.settings_costs import read_parts, read_running
from ductcalc.tables.settings_machines import (
    CollectorSettings,
    MachineNames,
    read_collector_settings,
    read_gates,
    read_machines,
)
from ductcalc.tables.words import choice, guess, material
from ductcalc.units import UnreadableError, parse_number, quoted, visible

_AT_LINE = re.compile(r"\s*\(at [^()]*\)$")
_LONGEST_REASON = 200
_DENSITY_FROM = ("altitude", "temperature", "humidity", "pressure")
_NAMES_NEED_QUOTES = 'text and names with spaces stand in quotes: altitude = "1200 ft", [machines."band saw"]'
MOST_SIZES = 20
_SIZES_HINT = 'write sizes = ["4 in", "5 in", "6 in"], each with its unit'
_OFF_HINT = 'write for example off = ["long hose"]; ductcalc tables findings lists the names'
_OFF_AT_HINT = 'write [findings.off_at] and below it, for example, "planer drop" = ["long hose"]'


def read_toml(text: str, file: str, notebook: Notebook) -> Mapping[str, Any]:
    """Return the settings as written; a file that is not TOML is noted and counts as empty."""
    plain = text.replace("\r\n", "\n")
    too_long = next((row for row, line in enumerate(plain.split("\n"), 1) if len(line) > limits.LONGEST_LINE), None)
    if too_long is not None:
        what = f"this line has more than {limits.LONGEST_LINE} characters"
        notebook.note(Place(file, too_long), what, "write a long list on several lines")
        return {}
    try:
        return tomllib.loads(plain)
    except (ValueError, RecursionError) as error:
        found = re.search(r"at line (\d+)", str(error))
        row = int(found[1]) if found else None
        lines = plain.split("\n")
        given = lines[row - 1] if row is not None and row <= len(lines) else None
        message = "it is nested too deep" if isinstance(error, RecursionError) else _AT_LINE.sub("", str(error))
        shown = f"this line cannot be read: {visible(message, _LONGEST_REASON)}"
        notebook.note(Place(file, row), shown, _NAMES_NEED_QUOTES, given)
        return {}


def read_settings(
    values: Mapping[str, Any],
    file: str,
    machines: Sequence[str] | None,
    runs: Sequence[str] | None,
    collectors: Sequence[str],
    notebook: Notebook,
) -> tuple[Settings, dict[str, CollectorSettings]]:
    """Return the settings, and those of each collector by compared name; note every problem.

    machines, runs: names of the duct table, None when they are not known. collectors: names of that table.
    """
    top = SettingsSection(values, Place(file), notebook)
    names = MachineNames(machines, notebook)
    said_of_collectors = read_collector_settings(_taken(top, "collector"), Place(file), collectors, notebook)
    settings = Settings(
        air=_air(_section(top, "air")),
        gates=read_gates(_taken(top, "gates"), Place(file), names, notebook),
        machines=read_machines(_taken(top, "machines"), Place(file), names, notebook),
        material=_material(_section(top, "material")),
        room=_room(_section(top, "room")),
        method=_method(_section(top, "method")),
        parts=read_parts(_taken(top, "parts"), Place(file), notebook),
        improve=_improve(_section(top, "improve")),
        pipe=_pipe(_section(top, "pipe")),
        size=read_sizes(_section(top, "size")),
        running=read_running(_taken(top, "running"), Place(file), names, notebook),
        findings=read_findings(_section(top, "findings"), _names(machines, runs)),
        units=_units(_section(top, "report")),
    )
    top.finish()
    return settings, said_of_collectors


def _names(machines: Sequence[str] | None, runs: Sequence[str] | None) -> list[str] | None:
    return None if machines is None or runs is None else [*machines, *runs]


def _taken(top: SettingsSection, key: str) -> Any:
    value = top.take(key)
    return {} if value is None else value


def _section(top: SettingsSection, key: str) -> SettingsSection:
    return SettingsSection(_taken(top, key), replace(top.place, key=key), top.notebook)


def _air(section: SettingsSection) -> AirSettings:
    _check_density(section)
    settings = AirSettings(
        altitude_m=section.quantity("altitude", "length", limits.ALTITUDE_M, '"1200 ft"'),
        temperature_k=section.quantity("temperature", "temperature", limits.TEMPERATURE_K, '"70 F"'),
        humidity=section.share("humidity", '"50 %"'),
        pressure_pa=section.quantity("pressure", "pressure", limits.AIR_PRESSURE_PA, '"1000 mbar"'),
        density_kg_m3=section.quantity("density", "density", limits.DENSITY_KG_M3, '"1.2 kg/m3"'),
        viscosity_pa_s=section.quantity("viscosity", "viscosity", limits.VISCOSITY_PA_S, '"1.82e-5 Pa s"'),
    )
    section.finish()
    return settings


def _check_density(section: SettingsSection) -> None:
    """Refuse a density beside what it would be computed from: only one of the two can be the shop's."""
    others = [key for key in _DENSITY_FROM if key in section.values]
    if others and "density" in section.values:
        names = " and ".join(others)
        message = f"density is given, and {names} {'gives' if len(others) == 1 else 'give'} one as well"
        written = said(section.values["density"][1])
        section.notebook.note(section.at("density"), message, f"leave out density, or leave out {names}", written)


def _material(section: SettingsSection) -> MaterialSettings:
    settings = MaterialSettings(
        default=section.read_text("default", material, 'write for example default = "dry chips"'),
        loading=section.number("loading", limits.LOADING, "0.07 (kg of chips for each kg of air)"),
    )
    section.finish()
    return settings


def _room(section: SettingsSection) -> RoomSettings:
    exhaust: Any = section.word("exhaust", ("indoors", "outdoors"))
    settings = RoomSettings(exhaust=exhaust, heater=section.flag("heater"))
    section.finish()
    return settings


def _improve(section: SettingsSection) -> ImproveSettings:
    settings = ImproveSettings(least_hose_m=section.quantity("least hose", "length", limits.LEAST_HOSE_M, '"3 ft"'))
    section.finish()
    return settings


def _units(section: SettingsSection) -> Any:
    units = section.word("units", ("inch", "metric"))
    section.finish()
    return units


def _method(section: SettingsSection) -> MethodSettings:
    junction: Any = section.word("junction", ("momentum", "handbook", "factored"))
    friction: Any = section.word("friction", ("colebrook", "handbook"))
    settings = MethodSettings(
        junction=junction,
        friction=friction,
        flex_factor=section.number("flex factor", limits.HOSE_FACTOR, "2.4"),
        hose_bend_k=section.number("hose bend k", limits.HOSE_BEND_K, "0.5"),
        joint_leakage_class=section.read_text(
            "joint leakage", _joint_leakage, 'write for example joint_leakage = "sealed"'
        ),
        machine_k=section.number("machine k", limits.MACHINE_K, "2.75"),
    )
    section.finish()
    return settings


def _joint_leakage(text: str) -> float:
    """Return a leakage class from a number or a word of the catalog (sealed, taped, unsealed, none)."""
    word = catalog.style_key("joints", text)
    if word is not None:
        return catalog.joint_leakage(word).value
    try:
        value = parse_number(text)
    except UnreadableError:
        hint = guess(text, catalog.styles("joints"))
        raise UnreadableError(
            f"{quoted(text)} is neither a leakage class nor a word for joints",
            f"{hint} (or write a class number such as 12)",
        ) from None
    return limits.within(
        value, limits.JOINT_LEAKAGE_CLASS, text, "a leakage class", "write from 0 to 500: a class such as 3, 12 or 30"
    )


def _pipe(section: SettingsSection) -> PipeSettings:
    """Return [pipe]: its gauge, or the wall itself."""
    gauge = section.read_text("gauge", cells.wall, "write for example gauge = 26")
    wall = section.read_text("wall", cells.wall, 'write for example wall = "0.5 mm"')
    section.finish()
    return PipeSettings(gauge if wall is None else wall)


def read_sizes(section: SettingsSection) -> SizeSettings:
    """Return [size]; note every problem."""
    value, place = section.take("sizes"), section.at("sizes")
    section.finish()
    if value is None:
        return SizeSettings()
    sizes = read_each(value, lambda text: cells.size(text, None), "sizes", _SIZES_HINT, place, section.notebook)
    found = set(sizes)
    if len(found) > MOST_SIZES:
        section.notebook.note(place, f"{len(found)} sizes are too many", f"write {MOST_SIZES} at the most")
    return SizeSettings(tuple(sorted(found)))


def read_findings(section: SettingsSection, names: Sequence[str] | None) -> FindingSettings:
    """Return which warnings are switched off, and where; note every name that is not known.

    names: of all machines and runs, None when they could not be read.
    """
    written, places = section.take("off"), section.take("off at")
    section.finish()
    if written is None and places is None:
        return FindingSettings()
    # only a shop that switches something off pays for loading the rules
    from ductcalc.findings.rules import RULES

    known, notebook = [rule.name for rule in RULES], section.notebook
    off = _rule_names(written or [], known, section.at("off"), notebook)
    at = section.at("off at")
    if not isinstance(places or {}, Mapping):
        notebook.note(at, f"{quoted(said(places))} is not a section", _OFF_AT_HINT, said(places))
        return FindingSettings(off)
    found: dict[str, tuple[str, ...]] = {}
    for name, rules in (places or {}).items():
        where = name if names is None else notebook.read(at, lambda text: choice(text, names, "run or machine"), name)
        found[where or name] = _rule_names(rules, known, replace(at, key=f"{at.key}.{visible(name)}"), notebook)
    return FindingSettings(off, found)


def _rule_names(written: object, known: Sequence[str], at: Place, notebook: Notebook) -> tuple[str, ...]:
    """Return the names of warnings in a list, or in one text."""
    if isinstance(written, str):
        written = [written]
    if not isinstance(written, list):
        notebook.note(at, f"{quoted(said(written))} is not a list of names", _OFF_HINT, said(written))
        return ()
    read = (notebook.read(at, lambda text: choice(text, known, "finding"), said(name)) for name in written)
    return tuple(dict.fromkeys(name for name in read if name is not None))
