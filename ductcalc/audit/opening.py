"""What is open in a case, found again from the machines asked for, along the runs as they hang together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Places
from ductcalc.model.collector import CurveEnd
from ductcalc.model.model import Model
from ductcalc.model.opening import OpenState
from ductcalc.shop.names import key_of


@dataclass(frozen=True)
class Asked:
    """What was asked for in each case, before any rule of what is open is applied.

    open: machines asked to be open, running: those of them that run (machines, cases), in the order of the model.
    loaded: whether the filter is (cases,). end: of a curve of which only the advertised maxima are known.
    """

    open: Flags
    running: Flags
    loaded: Flags
    end: CurveEnd = "low"

    def columns(self, columns: Places) -> Asked:
        """Return some cases, in any order, also several times."""
        return replace(
            self, open=self.open[:, columns], running=self.running[:, columns], loaded=self.loaded[columns]
        )


class Opened(NamedTuple):
    """What is open. chosen, running, taking: ports (ports, cases) that stand open, make chips, take air.

    head: which of its ports feeds a section. shut: its gate is. sealed: it lies behind a tight shut gate, where joints
    feel no suction. still: no air can pass it. All (sections, cases).
    """

    chosen: Flags
    running: Flags
    taking: Flags
    head: Places
    shut: Flags
    sealed: Flags
    still: Flags

    def agrees(self, state: OpenState, head: Places) -> Flags:
        """Return the cases (cases,) in which the solver was given the same."""
        own = (self.chosen, self.running, self.taking, self.shut, self.head)
        others = (state.chosen, state.running, state.taking, state.shut, head)
        same = [(one == other).all(axis=0) for one, other in zip(own, others, strict=True)]
        return np.asarray(np.logical_and.reduce(same))


class Ways:
    """The ways of a model's air: which section follows which, and where gates and caps stand in them."""

    def __init__(self, model: Model, tight: Flags) -> None:
        """Look at every section and port once. tight: sections (sections,) whose shut gate lets nothing through."""
        self.gated, self.tight = np.array([bool(section.gates) for section in model.sections]), tight
        self.port_section = np.array([port.section for port in model.ports], dtype=np.intp)
        machine = {key_of(name): place for place, name in enumerate(model.machines)}
        self.port_machine = np.array([machine[key_of(port.machine)] for port in model.ports], dtype=np.intp)
        self.usable = np.array([not port.off for port in model.ports], dtype=bool)
        below, wyes = model.hanging.wye_below(), model.hanging.wyes
        self.joins = [(section, wyes[wye].outlet) for section, wye in enumerate(below) if wye is not None]

    @cached_property
    def starting(self) -> Flags:
        """Sections (sections,) that no wye feeds."""
        found = np.ones(len(self.gated), dtype=bool)
        found[[outlet for _, outlet in self.joins]] = False
        return found

    @cached_property
    def capped(self) -> Flags:
        """Sections (sections,) with nothing at their start: a cap, or a port that is off and has no gate to leak."""
        found = self.starting.copy()
        found[self.port_section[self.usable | self.gated[self.port_section]]] = False
        return found

    @cached_property
    def gate_ahead(self) -> Flags:
        """Sections (sections,) with a gate in them or between them and the collector."""
        return self._from_the_collector(self.gated[:, None])[:, 0]

    @cached_property
    def shared(self) -> list[Places]:
        """Ports of every section that has several, in the order of the table."""
        sections, counts = np.unique(self.port_section, return_counts=True)
        return [np.flatnonzero(self.port_section == section) for section in sections[counts > 1]]

    def opened(self, asked: Asked) -> Opened:
        """Find what is open: down the ways where air is to pass, up again what shut gates keep from it."""
        named = asked.open[self.port_machine] & self.usable[:, None]
        standing, head = self._on_their_hoses(named)
        chosen = standing & (named | ~self.gate_ahead[self.port_section, None])
        shut = self.gated[:, None] & ~self._live(chosen)
        tight = shut & self.tight[:, None]
        blocked, closed = self._from_the_collector(shut), self._from_the_collector(tight)
        sealed = np.zeros_like(closed)
        for section, outlet in self.joins:
            sealed[section] = closed[outlet]
        return Opened(
            chosen,
            running=standing & named & asked.running[self.port_machine],
            taking=standing & ~blocked[self.port_section],
            head=head,
            shut=shut,
            sealed=sealed,
            still=closed | self.capped[:, None],
        )

    def _on_their_hoses(self, named: Flags) -> tuple[Flags, Places]:
        """Return the ports that stand on their hose (ports, cases), and which one of its section's (sections, cases).

        The first of the table that is asked for stands on a shared hose; where none is, the first that can be used.
        """
        standing = np.broadcast_to(self.usable[:, None], named.shape).copy()
        head = np.zeros((len(self.gated), named.shape[1]), dtype=np.intp)
        for ports in self.shared:
            may = np.where(named[ports].any(axis=0), named[ports], self.usable[ports, None])
            first = head[self.port_section[ports[0]]] = may.argmax(axis=0)
            standing[ports] = may & (np.arange(len(ports))[:, None] == first)
        return standing, head

    def _live(self, chosen: Flags) -> Flags:
        """Return the sections (sections, cases) that air of chosen ports (ports, cases) comes through."""
        live = np.zeros((len(self.gated), chosen.shape[1]), dtype=bool)
        for port, section in enumerate(self.port_section):
            live[section] |= chosen[port]
        for section, outlet in self.joins:
            live[outlet] |= live[section]
        return live

    def _from_the_collector(self, found: Flags) -> Flags:
        """Return what holds of a section or of one between it and the collector (sections, cases)."""
        spread = found.copy()
        for section, outlet in reversed(self.joins):
            spread[section] |= spread[outlet]
        return spread
