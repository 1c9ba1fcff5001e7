"""The shop with every coefficient decided: sections, wyes, ports, air, collector, and what was assumed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ductcalc.arrays import Floats
from ductcalc.catalog import branch_entry, fact, joint_leakage, transport_speed
from ductcalc.errors import InputError, Problem
from ductcalc.model.air import Air, local_air
from ductcalc.model.assumption import Assumption
from ductcalc.model.collector import ModelCollector, model_collector
from ductcalc.model.decided import Decided, from_fact, given
from ductcalc.model.loss import Loss
from ductcalc.model.machine import MACHINE, OPEN_MOUTH, wanted_flow
from ductcalc.model.opening import Opening
from ductcalc.model.pieces import ELBOW_BUILD, GATE_LEAK, HOSE_BENDS, HOSE_FACTOR, PIPE_MAKE
from ductcalc.model.sections import ModelSection, SectionCache, model_section
from ductcalc.model.tuned import Tuning
from ductcalc.physics.conveying import thin_air_speed_factor
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.hanging import Hanging, Port, Wye, hang
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Friction, Junction, Settings
from ductcalc.shop.shop import Collector, Shop
from ductcalc.shop.standing import section_titles
from ductcalc.solve.tree import Tree, WyeShape

JOINT_LEAKAGE = "joint leakage"


@dataclass(frozen=True)
class ModelPort:
    """A port: its machine, run, section, bore [m], air wanted [m3/s] (assumed or written), material."""

    machine: str
    run: str
    section: int
    bore_m: float
    wanted_m3_s: float
    wanted_assumed: bool
    off: bool
    material: str


@dataclass(frozen=True)
class Model:
    """Everything decided about a shop; numbers for the solver are made from it, and reports explain it.

    collector: None without a blower's curve.
    """

    shop: Shop
    hanging: Hanging
    junction: Junction
    friction: Friction
    air: Air
    sections: tuple[ModelSection, ...]
    ports: tuple[ModelPort, ...]
    tree: Tree
    leakage_class: Decided
    collector: ModelCollector | None
    loading: float

    @cached_property
    def opening(self) -> Opening:
        """The rules of what is open."""
        return Opening(self.tree, self.sections, self.hanging.ports)

    @cached_property
    def machines(self) -> tuple[str, ...]:
        """Machine names in the order of the table."""
        return self.hanging.machines()

    @cached_property
    def titles(self) -> tuple[str, ...]:
        """Every section by a name that people understand."""
        return section_titles(self.hanging)

    @cached_property
    def ports_of(self) -> dict[str, tuple[int, ...]]:
        """Ports of each machine, by the form in which names are compared."""
        found: dict[str, tuple[int, ...]] = {}
        for number, port in enumerate(self.ports):
            found[key_of(port.machine)] = (*found.get(key_of(port.machine), ()), number)
        return found

    @cached_property
    def always_open(self) -> tuple[str, ...]:
        """Machines with a port that no gate can shut."""
        free = zip(self.ports, self.opening.always_open, strict=True)
        return tuple(dict.fromkeys(port.machine for port, is_free in free if is_free))

    @cached_property
    def wyes(self) -> tuple[Wye, ...]:
        """The wyes in the order of the solver's tree."""
        by_outlet = {wye.outlet: wye for wye in self.hanging.wyes}
        return tuple(by_outlet[shape.outlet] for shape in self.tree.wyes)

    @cached_property
    def assumptions(self) -> tuple[Assumption, ...]:
        """What had to be assumed, ducts first, then the collector."""
        own = self.collector.assumptions if self.collector else ()
        return (*assumptions_of(self), *own)

    @cached_property
    def _next_section(self) -> tuple[int | None, ...]:
        """For each section the one behind the wye at its end; None for the last."""
        wyes = self.hanging.wyes
        return tuple(None if wye is None else wyes[wye].outlet for wye in self.hanging.wye_below())

    def path(self, port: int) -> tuple[int, ...]:
        """Sections from a port to the collector."""
        walked, section = [], self.ports[port].section
        while True:
            walked.append(section)
            following = self._next_section[section]
            if following is None:
                return tuple(walked)
            section = following

    @cached_property
    def _way_m(self) -> Floats:
        """Length of pipe and hose [m] from the start of each section to the collector (sections,)."""
        way = np.array([section.length_m for section in self.sections])
        for section in range(len(way) - 1, -1, -1):
            following = self._next_section[section]
            if following is not None:
                way[section] += way[following]
        return way

    def length_m(self, port: int) -> float:
        """Length of pipe and hose [m] from a port to the collector."""
        return float(self._way_m[self.ports[port].section])

    def needed_speed(self, material: str) -> float:
        """Least air speed [m/s] for a material in the shop's air: the tabled one times sqrt(1.2 / density)."""
        return float(transport_speed(material).value * thin_air_speed_factor(self.air.density_kg_m3))


def build_model(
    shop: Shop,
    junction: Junction | None = None,
    collector: str | None = None,
    loading: float | None = None,
    hanging: Hanging | None = None,
    made: SectionCache | None = None,
) -> Model:
    """Decide every number of a shop. Options left None follow the shop's settings, then the documented defaults.

    hanging: how the shop hangs together, when that is known already. made: sections of other variants of this shop,
    added to here.

    Raises InputError for runs that do not hang together and for a collector that lacks what its basis needs.
    """
    hanging = hanging or hang(shop)
    settings = shop.settings
    method = settings.method
    junction = junction or method.junction or "momentum"
    friction = method.friction or "colebrook"
    air = local_air(settings.air)
    feeding: dict[int, list[Port]] = {}
    for port in hanging.ports:
        feeding.setdefault(port.section, []).append(port)
    decide = model_section if made is None else made.section
    sections = tuple(
        decide(section, tuple(feeding.get(number, ())), settings, junction)
        for number, section in enumerate(hanging.sections)
    )
    chosen, tuning = written_collector(shop, hanging, collector), Tuning(shop.tuned)
    leakage = _leakage_class(method.joint_leakage_class)
    if shop.tuned:
        sections, leakage = tuple(map(tuning.section, sections)), tuning.leakage_class(leakage)
    made_collector = None
    if chosen is not None and chosen.has_curve:
        made_collector = tuning.collector(
            model_collector(tuning.blower(chosen), hanging.outlet, air, settings, junction)
        )
    share = loading if loading is not None else settings.material.loading
    return Model(
        shop=shop,
        hanging=hanging,
        junction=junction,
        friction=friction,
        air=air,
        sections=sections,
        ports=tuple(_port(port, settings) for port in hanging.ports),
        tree=_tree(hanging, sections),
        leakage_class=leakage,
        collector=made_collector,
        loading=share if share is not None else fact("chips", "loading").value,
    )


def written_collector(shop: Shop, hanging: Hanging, name: str | None) -> Collector | None:
    """Return the collector that the duct table names, or the only one."""
    wanted, named = name or hanging.collector.machine, {key_of(c.name): c for c in shop.collectors}
    if wanted is not None and key_of(wanted) in named:
        return named[key_of(wanted)]
    if len(shop.collectors) > 1:
        raise InputError(
            [
                Problem(
                    "several collectors are written, and the duct table does not say which one it ends at",
                    "write its name under machine in the collector row: " + ", ".join(c.name for c in shop.collectors),
                    hanging.collector.place,
                )
            ]
        )
    return shop.collectors[0] if shop.collectors else None


def _port(port: Port, settings: Settings) -> ModelPort:
    piece = port.hung.piece
    wanted, assumed = wanted_flow(piece, port.hung.bore_m)
    of_machine = {key_of(m.name): m.material for m in settings.machines}.get(key_of(port.machine))
    material = piece.material or of_machine or settings.material.default or "dry chips"
    off = piece.wanted is not None and piece.wanted.off
    return ModelPort(port.machine, port.run, port.section, port.hung.bore_m, wanted, assumed and not off, off, material)


def _leakage_class(stated: float | None) -> Decided:
    if stated is not None:
        return given(stated, "joint leakage class of the settings")
    return from_fact(joint_leakage(None), "joints taken as sealed", JOINT_LEAKAGE)


def _tree(hanging: Hanging, sections: Sequence[ModelSection]) -> Tree:
    start = np.array([float(bore_area(section.start_bore_m)) for section in sections])
    end = np.array([float(bore_area(section.end_bore_m)) for section in sections])
    return Tree(start, end, tuple(_wye(wye) for wye in hanging.wyes))


def _wye(wye: Wye) -> WyeShape:
    entries = (branch_entry(s.angle_deg).value if s.angle_deg > 0.0 else 0.0 for s in wye.streams)
    return WyeShape(
        tuple(stream.section for stream in wye.streams),
        wye.outlet,
        float(bore_area(wye.hung.bore_m)),
        tuple(stream.angle_deg for stream in wye.streams),
        tuple(stream.straight for stream in wye.streams),
        tuple(entries),
        wye.hung.piece.k,
    )


WANTED, REDUCER, CAPPED = "air wanted", "reducers", "ports capped"

TEXTS = {
    MACHINE: "machine resistance not stated: loses 2.75 times its VP (about 900 Pa or 3.6 in of water at 20 m/s)",
    OPEN_MOUTH: "machine behind a port not stated, only the port's shape: an open mouth of that shape, at worst an"
    " unknown machine (2.75 VP); write drop, inlet or k",
    HOSE_BENDS: "bends in the hose not counted: one 90 degree bend each, 0.5 VP",
    HOSE_FACTOR: "hose, pulled straight, loses 2.4 times as much as spiral pipe",
    ELBOW_BUILD: "build of elbows not stated: 5-gore, radius 1.5 times the bore",
    PIPE_MAKE: "make of pipe not stated: spiral",
    GATE_LEAK: "a shut gate leaks through 1 % of its bore",
}


def assumptions_of(model: Model) -> Iterator[Assumption]:
    """Yield what was assumed about machines, ducts, gates and joints."""
    where: dict[str, dict[str, None]] = {}
    sources: dict[str, dict[str, None]] = {}
    for section in model.sections:
        losses = [*(loss for head in section.heads for loss in head), *section.body]
        for loss, decided in _decided(losses):
            if decided.assumed in TEXTS:
                name = loss.label if loss.kind == "machine" else section.run
                where.setdefault(decided.assumed, {})[name] = None
                sources.setdefault(decided.assumed, {})[decided.source] = None
    for _, decided in _decided(list(model.collector.outlet) if model.collector else []):
        if decided.assumed in TEXTS:
            where.setdefault(decided.assumed, {})["outlet"] = None
            sources.setdefault(decided.assumed, {})[decided.source] = None
    for key, text in TEXTS.items():
        if key in where:
            yield Assumption(key, text, tuple(where[key]), source="; ".join(sources[key]))
    leakage = model.leakage_class
    if leakage.assumed:
        yield Assumption(
            leakage.assumed,
            "joints of pipe and hose taken as sealed (leakage class 3)",
            source=leakage.source,
        )
    yield from _without_band(model)


def _decided(losses: list[Loss]) -> Iterator[tuple[Loss, Decided]]:
    for loss in losses:
        for decided in (loss.k, loss.shut_k, loss.roughness_m, loss.factor):
            if decided is not None and decided.assumed is not None:
                yield loss, decided


def _without_band(model: Model) -> Iterator[Assumption]:
    wanted = tuple(dict.fromkeys(port.machine for port in model.ports if port.wanted_assumed))
    if wanted:
        yield Assumption(
            WANTED, "air wanted not stated: 20 m/s (3937 fpm) in the machine's own port", wanted, banded=False
        )
    reducers = tuple(
        f"{section.name} at {loss.place}" if loss.place else section.name
        for section in model.sections
        for loss in (*(part for head in section.heads for part in head), *section.body)
        if loss.assumed
    )
    if reducers:
        yield Assumption(
            REDUCER,
            "unlike neighbours with no reducer between them: a 30 degree taper each",
            reducers,
            banded=False,
        )
    capped = tuple(port.machine for port in model.ports if port.off and not model.sections[port.section].gates)
    if capped:
        yield Assumption(CAPPED, "flow is off and there is no gate to shut: taken as capped", capped, banded=False)
