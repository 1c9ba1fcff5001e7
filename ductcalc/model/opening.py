"""Which ports and gates are open in a case: naming machines opens every gate on their paths and shuts the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ductcalc.arrays import Flags, Places
from ductcalc.model.sections import ModelSection
from ductcalc.shop.hanging import Port
from ductcalc.solve.tree import Tree


@dataclass(frozen=True)
class OpenState:
    """What is open, (rows, cases): ports that take air, gates that are shut (by section), sections with open ports.

    chosen: ports that were named, or that nothing can shut. running: named ones whose machine runs and does not only
    help with air. taking: ports through whose open gates air enters.
    """

    chosen: Flags
    running: Flags
    taking: Flags
    shut: Flags
    live: Flags

    def columns(self, columns: Places) -> OpenState:
        """Return some cases, in any order, also several times."""
        parts = (self.chosen, self.running, self.taking, self.shut, self.live)
        return OpenState(*(part[:, columns] for part in parts))


@dataclass(frozen=True)
class Opening:
    """The rules of what is open on one tree; ports in the order of the table."""

    tree: Tree
    sections: tuple[ModelSection, ...]
    ports: tuple[Port, ...]

    @cached_property
    def gated(self) -> Flags:
        """Sections (sections,) that hold a gate."""
        return np.array([bool(section.gates) for section in self.sections])

    @cached_property
    def off(self) -> Flags:
        """Ports (ports,) that are never used."""
        return np.array([bool(p.hung.piece.wanted and p.hung.piece.wanted.off) for p in self.ports], dtype=bool)

    @cached_property
    def port_section(self) -> Places:
        """Section of each port (ports,)."""
        return np.array([port.section for port in self.ports], dtype=np.intp)

    @cached_property
    def gate_below(self) -> Flags:
        """Sections (sections,) with a gate in them or further down their path."""
        found = self.gated.copy()
        for _, outlet, streams, _ in reversed(self.tree.walk):
            for stream in streams:
                found[stream] |= found[outlet]
        return found

    @cached_property
    def first_of_section(self) -> Flags:
        """Ports (ports,) that are the first usable one of their section; the others share its hose."""
        seen: set[int] = set()
        first = []
        for port, off in zip(self.ports, self.off, strict=True):
            first.append(port.section not in seen and not off)
            if not off:
                seen.add(port.section)
        return np.array(first, dtype=bool)

    @cached_property
    def always_open(self) -> Flags:
        """Ports (ports,) with no gate on their way: always open (the first of a shared hose)."""
        return ~self.gate_below[self.port_section] & self.first_of_section

    def state(self, named: Flags, running: Flags | None = None) -> OpenState:
        """Return what is open when the ports `named` (ports, cases) are; a shared hose is on one of them.

        running: those of them whose machines run, all when left out.
        """
        chosen = named | (self.always_open[:, None] & ~self._shared_with_named(named))
        live = np.zeros((self.tree.size, named.shape[1]), dtype=bool)
        np.logical_or.at(live, self.port_section, chosen)
        for _, outlet, streams, _ in self.tree.walk:
            for stream in streams:
                live[outlet] |= live[stream]
        shut = self.gated[:, None] & ~live
        blocked = shut.copy()
        for _, outlet, streams, _ in reversed(self.tree.walk):
            for stream in streams:
                blocked[stream] |= blocked[outlet]
        idle = self.first_of_section[:, None] & ~self._shared_with_named(chosen) & ~self._off_without_gate
        taking = chosen | (idle & ~blocked[self.port_section])
        return OpenState(chosen, named if running is None else running, taking, shut, live)

    @cached_property
    def _off_without_gate(self) -> Flags:
        return (self.off & ~self.gated[self.port_section])[:, None]

    def _shared_with_named(self, named: Flags) -> Flags:
        """Ports (ports, cases) whose hose is on a named port of the same section."""
        taken = np.zeros((self.tree.size, named.shape[1]), dtype=bool)
        np.logical_or.at(taken, self.port_section, named)
        return taken[self.port_section] & ~named

    @cached_property
    def place(self) -> Places:
        """Which port of its section each port is (ports,): 0 the first, 1 the second..."""
        place = np.zeros(len(self.ports), dtype=np.intp)
        counts: dict[int, int] = {}
        for number, port in enumerate(self.ports):
            place[number] = counts.get(port.section, 0)
            counts[port.section] = int(place[number]) + 1
        return place

    def feeding(self, state: OpenState) -> Places:
        """Return for each section (sections, cases) which port feeds it, the first usable one if none is named."""
        feeding = np.zeros((self.tree.size, state.chosen.shape[1]), dtype=np.intp)
        rests = self.first_of_section[:, None] & ~self._shared_with_named(state.chosen)
        np.maximum.at(feeding, self.port_section, np.where(state.chosen | rests, self.place[:, None], 0))
        return feeding


def sharing(ports: Sequence[Port]) -> dict[int, list[str]]:
    """Return for each section with a shared hose the machines that share it."""
    shared: dict[int, list[str]] = {}
    for port in ports:
        shared.setdefault(port.section, []).append(port.machine)
    return {section: names for section, names in shared.items() if len(names) > 1}
