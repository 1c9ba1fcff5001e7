"""What a gate report tells unasked: how two ports share, inlets that throttle, own blowers, what is always open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ductcalc.answers.gates.forgotten import alone_m3_s
from ductcalc.answers.gates.sets import GateSets
from ductcalc.cases.figures import PortAnswer
from ductcalc.cases.solving import collector_of
from ductcalc.model.model import Model, build_model
from ductcalc.physics.fittings import FLUSH_ENTRY_K, inlet_area_k
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of


@dataclass(frozen=True, slots=True)
class SplitAnswer:
    """A machine alone whose air comes through several ports: what each gets, and the one that is starved."""

    machine: str
    ports: tuple[PortAnswer, ...]
    starved: PortAnswer | None


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


def told(sets: GateSets) -> Told:
    """Return what is to be told of a shop's machines."""
    model = sets.model
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


def _splits(sets: GateSets) -> Iterator[SplitAnswer]:
    asked = sets.ask([1 << place for place in range(len(sets.machines))])
    for place, machine in enumerate(sets.machines):
        case = asked.case(place)
        ports = tuple(port for port in case.machine(machine).ports if port.taking) if case.solved else ()
        if len(ports) > 1:
            poorest = min(ports, key=lambda port: port.share)
            yield SplitAnswer(machine, ports, None if poorest.grade == "ok" else poorest)


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


def _blowers(sets: GateSets) -> Iterator[BlowerAnswer]:
    """Solve machines that have their own blower alone, with it and without."""
    shop, names = sets.model.shop, [key_of(machine) for machine in sets.machines]
    own = {key_of(m.name): m.own_blower_pa for m in shop.settings.machines if m.own_blower_pa is not None}
    places = [place for place, name in enumerate(names) if name in own]
    if not places:
        return
    still = tuple(machine._replace(own_blower_pa=None) for machine in shop.settings.machines)
    settings = replace(shop.settings, machines=still)
    model = build_model(replace(shop, settings=settings), sets.model.junction, loading=sets.model.loading)
    air = list(zip(alone_m3_s(sets), alone_m3_s(GateSets(model)), strict=True))
    for place in places:
        yield BlowerAnswer(sets.machines[place], float(own[names[place]] or 0.0), *air[place])
