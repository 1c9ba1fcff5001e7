"""What shop.toml says of the collectors: [collector], or [collector.NAME] when there are several."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import cast

from ductcalc.errors import Place
from ductcalc.shop import CurveBasis, key_of
from ductcalc.shop.collector import Part
from ductcalc.tables import limits
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.section import Section, said
from ductcalc.tables.words import choice, guess, word_key
from ductcalc.units import UnreadableError, quoted, visible

BASES: tuple[CurveBasis, ...] = ("fan static", "fan total", "inlet suction")
_PART_WORDS: dict[str, Part] = {
    "cyclone": "cyclone",
    "filter": "filter clean",
    "filter clean": "filter clean",
    "filter loaded": "filter loaded",
}
_KEYS = ("curve", "contains", "outlet size", "test pipe", "density", "viscosity")


@dataclass(frozen=True)
class CollectorSettings:
    """What the settings say of one collector, in SI; `key` is the path of its section."""

    key: str
    basis: CurveBasis | None = None
    contains: frozenset[Part] = frozenset()
    outlet_size_m: float | None = None
    test_pipe_m: float | None = None
    density_kg_m3: float | None = None
    viscosity_pa_s: float | None = None


def read_collector_settings(
    values: object, place: Place, names: Sequence[str], notebook: Notebook
) -> dict[str, CollectorSettings]:
    """Return the settings by compared name of the collector; names are those of the collector table."""
    here = replace(place, key="collector")
    if not isinstance(values, Mapping):
        notebook.note(
            here, "collector is not a section", "write [collector] and its keys below", said(values)
        )
        return {}
    sections = {str(key): value for key, value in values.items() if isinstance(value, Mapping)}
    flat = {str(key): value for key, value in values.items() if str(key) not in sections}
    found: dict[str, CollectorSettings] = {}
    if flat:
        settings = _read_one(flat, here, notebook)
        _place_flat(settings, here, names, found, notebook)
    for name, section in sections.items():
        _read_named(name, section, here, names, found, notebook)
    return found


def _place_flat(
    settings: CollectorSettings,
    place: Place,
    names: Sequence[str],
    found: dict[str, CollectorSettings],
    notebook: Notebook,
) -> None:
    """Give a plain [collector] to the only collector."""
    if len(names) > 1:
        notebook.note(
            place,
            f"there are {len(names)} collectors, but [collector] does not say which one is meant",
            f'write a section for each, for example [collector."{names[0]}"]',
        )
    elif names:
        found[key_of(names[0])] = settings


def _read_named(
    name: str,
    section: object,
    place: Place,
    names: Sequence[str],
    found: dict[str, CollectorSettings],
    notebook: Notebook,
) -> None:
    here = replace(place, key=f"collector.{visible(name)}")
    if names and key_of(name) not in map(key_of, names):
        notebook.note(here, f"no collector is named {quoted(name)}", guess(name, names), name)
    elif key_of(name) in found:
        notebook.note(
            here, f"collector {quoted(name)} has settings twice", "keep one of the two sections", name
        )
    found.setdefault(key_of(name), _read_one(section, here, notebook))


def _read_one(values: object, place: Place, notebook: Notebook) -> CollectorSettings:
    section = Section(values, place, notebook)
    settings = CollectorSettings(
        key=place.key or "collector",
        basis=cast("CurveBasis | None", section.word("curve", BASES)),
        contains=_contains(section),
        outlet_size_m=section.bore("outlet size"),
        test_pipe_m=section.bore("test pipe"),
        density_kg_m3=section.quantity("density", "density", limits.DENSITY_KG_M3, '"1.2 kg/m3"'),
        viscosity_pa_s=section.quantity("viscosity", "viscosity", limits.VISCOSITY_PA_S, '"1.82e-5 Pa s"'),
    )
    section.finish()
    _check_basis(settings, values, section, notebook)
    return settings


def _check_basis(settings: CollectorSettings, values: object, section: Section, notebook: Notebook) -> None:
    """A total-pressure curve needs the outlet's size, a suction curve that of the test pipe."""
    written = set(map(word_key, map(str, values))) if isinstance(values, Mapping) else set()
    needs = {
        "fan total": ("outlet size", "the blower's outlet"),
        "inlet suction": ("test pipe", "the pipe it was tested with"),
    }
    if settings.basis not in needs:
        return
    key, what = needs[settings.basis]
    if key not in written:
        notebook.note(
            section.at("curve"),
            f"a curve on the basis {settings.basis} needs the inside diameter of {what}",
            f'add {key.replace(" ", "_")} = "8 in" with your own size',
            settings.basis,
        )


def _contains(section: Section) -> frozenset[Part]:
    """Return the parts that the curve's points already include."""
    values = section.take("contains")
    if values is None:
        return frozenset()
    parts = set()
    for value in values if isinstance(values, list | tuple) else [values]:
        try:
            parts.add(_PART_WORDS[choice(said(value), _PART_WORDS, "part that a curve can contain")])
        except UnreadableError as error:
            section.notebook.note_unreadable(section.at("contains"), error, said(value))
    return frozenset(parts)
