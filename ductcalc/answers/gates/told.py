"""What a gate report tells unasked: how two ports share, inlets that throttle, own blowers, what is always open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ductcalc.answers.gates.solved import SolvedSets
from ductcalc.answers.gates.verdicts import PortInSet
from ductcalc.cases.solving import collector_of
from ductcalc.cases.words import ROUNDING
from ductcalc.model.model import Model, build_model
from ductcalc.physics.fittings import FLUSH_ENTRY_K, inlet_area_k
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of


@dataclass(frozen=True, slots=True)
class SplitAnswer:
    """A machine alone whose air comes through several ports: what each gets, and the one that is starved."""

    machine: str
    ports: tuple[PortInSet, ...]
    starved: PortInSet | None


@dataclass(frozen=True, slots=True)
class InletAnswer:
    """A machine whose free inlet area [m2] is smaller than its port's: the opening's share of the port's loss.

    share is None when the port's loss was stated outright and the opening is not reckoned.
    """

    machine: str
    run: str
    inlet_m2: float
    port_m2: float
    share: float | None


@dataclass(frozen=True, slots=True)
class BlowerAnswer:
    """A machine with a blower of its own [Pa]: its air [m3/s] alone, with that blower and without."""

    machine: str
    own_pa: float
    flow_m3_s: float | None
    without_m3_s: float | None


@dataclass(frozen=True, slots=True)
class Told:
    """All of these; always_open: machines that no gate shuts; provisional: the blower's curve is a guess."""

    splits: tuple[SplitAnswer, ...]
    inlets: tuple[InletAnswer, ...]
    blowers: tuple[BlowerAnswer, ...]
    always_open: tuple[str, ...]
    provisional: bool
    leak_written: bool


def told(sets: SolvedSets) -> Told:
    """Return what is to be told of a shop's machines; each of them alone is solved if it was not yet."""
    model = sets.model
    sets.add([1 << place for place in range(len(sets.machines))])
    free = (p.machine for p, always in zip(model.ports, model.opening.always_open, strict=True) if always)
    return Told(
        tuple(_splits(sets)),
        tuple(_inlets(model)),
        tuple(_blowers(sets)),
        tuple(dict.fromkeys(free)),
        collector_of(model).provisional,
        _leak_written(model),
    )


def _leak_written(model: Model) -> bool:
    gates = (loss for section in model.sections for loss in section.gates)
    return all(loss.shut_k is None or loss.shut_k.assumed is None for loss in gates)


def _splits(sets: SolvedSets) -> Iterator[SplitAnswer]:
    for place, machine in enumerate(sets.machines):
        row = sets.row[1 << place]
        mine = np.flatnonzero((sets.port_machine == place) & sets.taking[row])
        if len(mine) > 1 and sets.solved[row]:
            ports = tuple(_port(sets, row, int(number)) for number in mine)
            poorest = min(ports, key=lambda port: port.flow_m3_s / port.wanted_m3_s)
            yield SplitAnswer(machine, ports, None if poorest.enough else poorest)


def _port(sets: SolvedSets, row: int, number: int) -> PortInSet:
    port, flow = sets.model.ports[number], float(sets.port_flow_m3_s[row, number])
    return PortInSet(port.machine, port.run, flow, port.wanted_m3_s, flow >= port.wanted_m3_s * (1.0 - ROUNDING))


def _inlets(model: Model) -> Iterator[InletAnswer]:
    for hung, port in zip(model.hanging.ports, model.ports, strict=True):
        piece, area = hung.hung.piece, float(bore_area(port.bore_m))
        if port.off or piece.inlet_m2 is None or piece.inlet_m2 >= area:
            continue
        share = None
        if piece.k is None and piece.drop is None:
            whole = _port_k(model, port.section, port.machine)
            share = (float(inlet_area_k(area, piece.inlet_m2)) - FLUSH_ENTRY_K) / whole
        yield InletAnswer(port.machine, port.run, piece.inlet_m2, area, share)


def _port_k(model: Model, section: int, machine: str) -> float:
    """Return the decided coefficient of a port on its own VP."""
    heads = (head[0] for head in model.sections[section].heads)
    decided = next(loss.k for loss in heads if loss.label == machine and loss.k is not None)
    return decided.value


def _blowers(sets: SolvedSets) -> Iterator[BlowerAnswer]:
    """Solve machines that have their own blower alone, with it and without."""
    shop, names = sets.model.shop, [key_of(machine) for machine in sets.machines]
    own = {key_of(m.name): m.own_blower_pa for m in shop.settings.machines if m.own_blower_pa is not None}
    places = [place for place, name in enumerate(names) if name in own]
    if not places:
        return
    still = tuple(replace(machine, own_blower_pa=None) for machine in shop.settings.machines)
    settings = replace(shop.settings, machines=still)
    model = build_model(replace(shop, settings=settings), sets.model.junction, loading=sets.model.loading)
    without = SolvedSets(model)
    without.add([1 << place for place in places])
    for place in places:
        air = [_alone(one, place) for one in (sets, without)]
        yield BlowerAnswer(sets.machines[place], float(own[names[place]] or 0.0), *air)


def _alone(sets: SolvedSets, place: int) -> float | None:
    row = sets.row[1 << place]
    return float(sets.flow_m3_s[row, place]) if sets.solved[row] else None
