"""What shop.toml says of gates and their named sets, of single machines and of collectors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple, cast

from ductcalc.errors import Notebook, Place
from ductcalc.shop import CurveBasis, GateSet, GateSettings, MachineSettings, key_of
from ductcalc.shop.names import parted_at_and
from ductcalc.shop.shop import CollectorPart
from ductcalc.tables import limits
from ductcalc.tables.cells import leak, wanted
from ductcalc.tables.section import SettingsSection, said
from ductcalc.tables.words import choice, guess, material, word_key
from ductcalc.units import UnreadableError, is_unseen, quoted, visible

BASES: tuple[CurveBasis, ...] = ("fan static", "fan total", "inlet suction")
_PART_WORDS: dict[str, CollectorPart] = {
    "cyclone": "cyclone",
    "filter": "filter clean",
    "filter clean": "filter clean",
    "filter loaded": "filter loaded",
}
_RENAMED = "if the machine was renamed, rename it there or delete the set"


class MachineNames:
    """The machines of the duct table; None when that table could not be read, so that nothing is compared."""

    def __init__(self, names: Sequence[str] | None, notebook: Notebook) -> None:
        """Keep the names by their compared form."""
        self.names = names
        self.by_key = {key_of(name): name for name in names or ()}
        self.notebook = notebook

    def find(self, text: object, place: Place, beside: str = "") -> str | None:
        """Return the table's own spelling of a machine; note an unknown one with the nearest and what is beside it."""
        if not isinstance(text, str):
            self.notebook.note(
                place,
                f"{quoted(said(text))} is not a machine's name",
                'write names in quotes: ["band saw"]',
                said(text),
            )
            return None
        if self.names is None:
            return text
        found = self.by_key.get(key_of(text))
        if found is None:
            parts, near = parted_at_and(text, self.by_key), guess(text, self.names)
            each = ", ".join(f'"{self.by_key[key_of(part)]}"' for part in parts)
            hint = f"write each name by itself: [{each}]" if parts else "; ".join(filter(None, [near, beside]))
            self.notebook.note(place, f"no machine is named {quoted(text)}", hint, text)
        return found

    def find_all(self, values: object, place: Place) -> tuple[str, ...]:
        """Return machines of a set's list, or of one text with commas, each once."""
        if isinstance(values, str):
            values = [part.strip() for part in values.split(",") if part.strip()]
        if not isinstance(values, list | tuple):
            self.notebook.note(
                place, "this is not a list of machines", 'write a list: ["band saw", "sander"]', said(values)
            )
            return ()
        found = (self.find(value, place, _RENAMED) for value in values)
        return tuple(dict.fromkeys(name for name in found if name is not None))


def read_gates(values: object, place: Place, machines: MachineNames, notebook: Notebook) -> GateSettings:
    """Return [gates]: the leak of shut gates and the named sets in the order written."""
    section = SettingsSection(values, replace(place, key="gates"), notebook)
    share = section.read_text("leak", lambda text: leak(text, None), 'write for example leak = "1 %"')
    sets = section.take("sets")
    section.finish()
    return GateSettings(leak=share, sets=_sets(sets, replace(place, key="gates.sets"), machines, notebook))


def _sets(values: object, place: Place, machines: MachineNames, notebook: Notebook) -> tuple[GateSet, ...]:
    if values is None:
        return ()
    if not isinstance(values, Mapping):
        notebook.note(
            place,
            "gates.sets is not a section",
            "write [gates.sets] and below it one line for each set",
            said(values),
        )
        return ()
    found: dict[str, GateSet] = {}
    for name, value in values.items():
        here = replace(place, key=f"gates.sets.{visible(str(name))}")
        if key_of(str(name)) in found:
            notebook.note(
                here,
                f"a set named {quoted(str(name))} stands above already",
                "give each set its own name",
                str(name),
            )
        if any(map(is_unseen, str(name))) or len(str(name)) > limits.LONGEST_NAME:
            notebook.note(
                here, "this set's name cannot be printed", "choose a short name on one line", str(name)
            )
        found.setdefault(key_of(str(name)), _set(str(name), value, here, machines, notebook))
    return tuple(found.values())


def _set(name: str, value: object, place: Place, machines: MachineNames, notebook: Notebook) -> GateSet:
    """Return one set, in its short form (a list) or its long one (open, helpers, flow)."""
    if not isinstance(value, Mapping):
        return GateSet(name, machines.find_all(value, place))
    section = SettingsSection(value, place, notebook)
    opened, helpers, flow = section.take("open"), section.take("helpers"), section.take("flow")
    section.finish()
    if opened is None:
        notebook.note(place, f"the set {quoted(name)} opens nothing", 'write open = ["band saw"]')
        return GateSet(name, ())
    gate_set = GateSet(
        name,
        machines.find_all(opened, section.at("open")),
        machines.find_all(helpers, section.at("helpers")) if helpers is not None else (),
        _flows(flow, section, machines) if flow is not None else MappingProxyType({}),
    )
    _check_open(gate_set, section, notebook)
    return gate_set


def _check_open(gate_set: GateSet, section: SettingsSection, notebook: Notebook) -> None:
    """Helpers and wanted flows belong to machines that are open in the set."""
    opened = set(map(key_of, gate_set.open))
    for key, names in (("helpers", gate_set.helpers), ("flow", tuple(gate_set.flow_m3_s))):
        for name in names:
            if key_of(name) not in opened:
                notebook.note(
                    section.at(key),
                    f"{quoted(name)} is not open in this set",
                    "add it to open, or take it out here",
                    name,
                )


def _flows(values: object, section: SettingsSection, machines: MachineNames) -> Mapping[str, float]:
    """Return the flows [m3/s] wanted in one set, by machine."""
    if not isinstance(values, Mapping):
        section.notebook.note(
            section.at("flow"),
            "flow is not a list of machines",
            'write flow = { "band saw" = "500 cfm" }',
            said(values),
        )
        return MappingProxyType({})
    flows = {}
    for machine, value in values.items():
        place = section.at(f"flow.{machine}")
        name, flow = machines.find(machine, place, _RENAMED), section.notebook.read(place, _flow, said(value))
        if name is not None and flow is not None:
            flows[name] = flow
    return MappingProxyType(flows)


def _flow(text: str) -> float:
    found = wanted(text, None).flow_m3_s
    if found is None:
        raise UnreadableError(f"{quoted(text)} is no flow", 'write for example "500 cfm"')
    return found


def read_machines(
    values: object, place: Place, machines: MachineNames, notebook: Notebook
) -> tuple[MachineSettings, ...]:
    """Return [machines."NAME"]: own blower, metal, material."""
    here = replace(place, key="machines")
    if not isinstance(values, Mapping):
        notebook.note(
            here, "machines is not a section", 'write [machines."band saw"] and its keys below', said(values)
        )
        return ()
    found: dict[str, MachineSettings] = {}
    for name, value in values.items():
        at = replace(place, key=f"machines.{visible(str(name))}")
        known = machines.find(name, at)
        settings = _machine(known or str(name), value, at, notebook)
        if key_of(settings.name) in found:
            notebook.note(
                at, f"machine {quoted(str(name))} stands twice", "keep one of the two sections", str(name)
            )
        found.setdefault(key_of(settings.name), settings)
    return tuple(found.values())


def _machine(name: str, value: object, place: Place, notebook: Notebook) -> MachineSettings:
    section = SettingsSection(value, place, notebook)
    settings = MachineSettings(
        name,
        own_blower_pa=section.quantity("own blower", "pressure", limits.OWN_BLOWER_PA, '"150 Pa"'),
        metal=section.flag("metal") if "metal" in section.values else None,
        material=section.read_text("material", material, 'write for example material = "fine dust"'),
    )
    section.finish()
    return settings


class CollectorSettings(NamedTuple):
    """What the settings say of one collector, in SI; `key` is the path of its section."""

    key: str
    basis: CurveBasis | None = None
    contains: frozenset[CollectorPart] = frozenset()
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
    section = SettingsSection(values, place, notebook)
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


def _check_basis(settings: CollectorSettings, values: object, section: SettingsSection, notebook: Notebook) -> None:
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


def _contains(section: SettingsSection) -> frozenset[CollectorPart]:
    """Return the parts that the curve's points already include."""
    values = section.take("contains")
    if values is None:
        return frozenset()
    given = values if isinstance(values, list | tuple) else [values]
    read = (section.notebook.read(section.at("contains"), _part, said(value)) for value in given)
    return frozenset(part for part in read if part is not None)


def _part(text: str) -> CollectorPart:
    return _PART_WORDS[choice(text, _PART_WORDS, "part that a curve can contain")]
