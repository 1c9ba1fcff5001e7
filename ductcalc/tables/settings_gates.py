"""Gates and their named sets, and what is said of single machines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from ductcalc.errors import Place
from ductcalc.shop import GateSet, GateSettings, MachineSettings, key_of
from ductcalc.tables import limits
from ductcalc.tables.catalog_words import material
from ductcalc.tables.cells import leak, wanted
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.section import Section, said
from ductcalc.tables.words import guess
from ductcalc.units import UnreadableError, is_unseen, quoted, visible


class MachineNames:
    """The machines of the duct table; None when that table could not be read, so that nothing is compared."""

    def __init__(self, names: Sequence[str] | None, notebook: Notebook) -> None:
        """Keep the names by their compared form."""
        self.names = names
        self.by_key = {key_of(name): name for name in names or ()}
        self.notebook = notebook

    def find(self, text: object, place: Place) -> str | None:
        """Return the table's own spelling of a machine; note an unknown one with the nearest."""
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
            self.notebook.note(place, f"no machine is named {quoted(text)}", guess(text, self.names), text)
        return found

    def find_all(self, values: object, place: Place) -> tuple[str, ...]:
        """Return machines of a list, or of one text with commas, each once."""
        if isinstance(values, str):
            values = [part.strip() for part in values.split(",") if part.strip()]
        if not isinstance(values, list | tuple):
            self.notebook.note(
                place, "this is not a list of machines", 'write a list: ["band saw", "sander"]', said(values)
            )
            return ()
        found = (self.find(value, place) for value in values)
        return tuple(dict.fromkeys(name for name in found if name is not None))


def read_gates(values: object, place: Place, machines: MachineNames, notebook: Notebook) -> GateSettings:
    """Return [gates]: the leak of shut gates and the named sets in the order written."""
    section = Section(values, replace(place, key="gates"), notebook)
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
    section = Section(value, place, notebook)
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


def _check_open(gate_set: GateSet, section: Section, notebook: Notebook) -> None:
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


def _flows(values: object, section: Section, machines: MachineNames) -> Mapping[str, float]:
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
        name, flow = machines.find(machine, place), _flow(value, place, section.notebook)
        if name is not None and flow is not None:
            flows[name] = flow
    return MappingProxyType(flows)


def _flow(value: Any, place: Place, notebook: Notebook) -> float | None:
    try:
        found = wanted(said(value), None).flow_m3_s
    except UnreadableError as error:
        notebook.note_unreadable(place, error, said(value))
        return None
    if found is None:
        notebook.note(place, f"{quoted(said(value))} is no flow", 'write for example "500 cfm"', said(value))
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
    section = Section(value, place, notebook)
    settings = MachineSettings(
        name,
        own_blower_pa=section.quantity("own blower", "pressure", limits.OWN_BLOWER_PA, '"150 Pa"'),
        metal=section.flag("metal") if "metal" in section.values else None,
        material=section.read_text("material", material, 'write for example material = "fine dust"'),
    )
    section.finish()
    return settings
