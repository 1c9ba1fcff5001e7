"""Every single fault that is looked for: where, of which sizes, and the changed shops that show it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from ductcalc.answers.diagnose.fitted import Fitted
from ductcalc.cases.bands import Unknowns, picking, unknowns_of
from ductcalc.cases.variants import Variant
from ductcalc.catalog import fact, sizes_for
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model, build_model
from ductcalc.model.tuned import BLOWER as SPEED
from ductcalc.model.tuned import FILTER as CLOTH
from ductcalc.model.tuned import Fact, fact_of
from ductcalc.shop.change import HOLE, changed, holes, sections_sized
from ductcalc.shop.hanging import spelled_out
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Run
from ductcalc.shop.standing import by_section

FaultKind = Literal[
    "no fault", "leak", "gate not closing", "gate not opening", "plug", "hose kinked or longer", "port blocked",
    "wrong size", "filter loaded", "filter torn", "bin leak", "blower slow", "blower reversed", "altitude forgotten",
    "tube on the wrong side", "tube facing the stream", "one column read", "something else",
]  # fmt: skip
SizeOf = Literal["", "open share", "times", "bore", "speed", "altitude"]
LEFT_OPEN = (0.85, 0.7, 0.5, 0.35, 0.25, 0.15, 0.05)
LEAKS, GAPS = (0.03, 0.06, 0.12, 0.25, 0.5), (0.06, 0.12, 0.25, 0.5, 1.0)
HOSE_TIMES, LOADED, TORN = (1.4, 2.0, 3.0, 5.0, 10.0, 30.0), (1.5, 2.0, 3.0, 5.0, 8.0, 12.0), (0.6, 0.3, 0.1)
SLOW, REVERSED = (0.93, 0.88, 0.82, 0.75, 0.68), (0.62, 0.56, 0.5, 0.44, 0.38)
ALTITUDES_M = (600.0, 1200.0, 1800.0, 2500.0)
USUAL_FRICTION = 0.021
"""Friction factor by which a plug in a pipe is turned into a multiple of that pipe's loss."""

ALIKE = 0.9
"""Sizes nearer than this ratio count as one: nobody hangs a size less than a tenth off by mistake and can tell it."""

COLLECTOR, BLOWER, FILTER, ROOM = "collector", "blower", "filter", "whole shop"


@dataclass(frozen=True)
class Fault:
    """One fault at one place, of several sizes; a changed shop for each.

    where: in words that the duct table knows. size_of: what a size is: the share of the bore that is open, how many
    times as much is lost, a bore [m], a share of the blower's speed, an altitude [m]. own: the fact of which a size is
    a multiple, which is not known for sure itself.
    """

    kind: FaultKind
    where: str
    size_of: SizeOf
    sizes: tuple[float, ...]
    variants: tuple[Variant, ...]
    own: Fact | None = None


@dataclass(frozen=True)
class Kit:
    """A model whose numbers stand where the readings of a healthy shop put them, to change further."""

    model: Model
    unknowns: Unknowns
    deviations: tuple[float, ...]

    @classmethod
    def like(cls, model: Model, fitted: Fitted) -> Kit:
        """Return another model of the same shop, its unknowns as fitted to this one."""
        off = {(u.kind, u.where): float(d) for u, d in zip(fitted.unknowns.all, fitted.deviations, strict=True)}
        unknowns = unknowns_of(model)
        return cls(model, unknowns, tuple(off.get((u.kind, u.where), 0.0) for u in unknowns.all))

    @cached_property
    def values(self) -> dict[int, float]:
        """The numbers that are off, by identity."""
        return self.unknowns.values(self.deviations)

    def off(self, values: Mapping[int, float] | None = None, speed: float = 1.0) -> Variant:
        """Return the model with more numbers off, by identity, and its blower at a share of its speed."""
        base = self.unknowns.speed(self.deviations)
        pick = picking({**self.values, **(values or {})})
        return Variant(self.model, pick, speed=base * speed)

    def value(self, decided_id: int, otherwise: float) -> float:
        """Return a number as it stands here."""
        return self.values.get(decided_id, otherwise)


def through_k(open_share: float) -> float:
    """Return what a narrowing to a share of the bore loses, in VP of the bore: a sharp edge's, less an open bore's."""
    discharge = fact("gate", "discharge coefficient").value
    return float((1.0 / open_share**2 - 1.0) / discharge**2)


def faults_of(fitted: Fitted, baseline: bool) -> Iterator[Fault]:
    """Yield every fault of a shop. baseline: readings of a healthy time stand beside, so it was built as it should."""
    kit = Kit.like(fitted.unknowns.model, fitted)
    yield from _in_ducts(kit)
    yield from _leaks(kit.model, fitted)
    yield from _at_collector(kit)
    if not baseline:
        yield from _wrong_sizes(kit.model, fitted)
        yield from _altitude(kit.model, fitted)


def _in_ducts(kit: Kit) -> Iterator[Fault]:
    for number, section in enumerate(kit.model.sections):
        title = kit.model.titles[number]
        for head in section.heads:
            yield _narrowed(kit, "port blocked", head[0].label, head[0])
        for place, loss in enumerate(section.body):
            if loss.kind == "hose" and loss.has_friction:
                yield _hose(kit, section.run, loss)
            if loss.shut_k is not None:
                name = loss.label if loss.label != "gate" else section.run
                yield _narrowed(kit, "gate not opening", name, loss)
                if loss.shut_k.value > 0.0:
                    yield _gap(kit, name, loss)
            behind = any(other.shut_k is not None for other in section.body[place:])
            if loss.kind == "pipe" and loss.has_friction and not behind and loss is _longest(section.body[place:]):
                yield _plug(kit, title, loss)


def _longest(body: tuple[Loss, ...]) -> Loss:
    return max((loss for loss in body if loss.kind == "pipe"), key=lambda loss: loss.length_m)


def _narrowed(kit: Kit, kind: FaultKind, where: str, loss: Loss) -> Fault:
    assert loss.k is not None
    now = kit.value(id(loss.k), loss.k.value)
    variants = tuple(kit.off({id(loss.k): now + through_k(share)}) for share in LEFT_OPEN)
    return Fault(kind, where, "open share", LEFT_OPEN, variants)


def _gap(kit: Kit, where: str, loss: Loss) -> Fault:
    assert loss.k is not None and loss.shut_k is not None
    variants = tuple(kit.off({id(loss.shut_k): loss.k.value + through_k(share)}) for share in GAPS)
    return Fault("gate not closing", where, "open share", GAPS, variants)


def _hose(kit: Kit, where: str, loss: Loss) -> Fault:
    assert loss.factor is not None
    now = kit.value(id(loss.factor), loss.factor.value)
    variants = tuple(kit.off({id(loss.factor): now * times}) for times in HOSE_TIMES)
    return Fault("hose kinked or longer", where, "times", HOSE_TIMES, variants, fact_of(loss.factor))


def _plug(kit: Kit, where: str, loss: Loss) -> Fault:
    assert loss.factor is not None
    straight = USUAL_FRICTION * loss.length_m / loss.bore_m
    more = [loss.factor.value + through_k(share) / straight for share in LEFT_OPEN]
    variants = tuple(kit.off({id(loss.factor): factor}) for factor in more)
    return Fault("plug", where, "open share", LEFT_OPEN, variants)


def _at_collector(kit: Kit) -> Iterator[Fault]:
    made = kit.model.collector
    assert made is not None
    ranges: tuple[tuple[FaultKind, tuple[float, ...]], ...] = (("blower slow", SLOW), ("blower reversed", REVERSED))
    for kind, speeds in ranges:
        yield Fault(kind, BLOWER, "speed", speeds, tuple(kit.off(speed=share) for share in speeds), (SPEED, ""))
    if made.filter_clean is not None:
        pressure = made.filter_clean.pressure_pa
        now = kit.value(id(pressure), pressure.value)
        loads: tuple[tuple[FaultKind, tuple[float, ...]], ...] = (("filter loaded", LOADED), ("filter torn", TORN))
        for kind, times in loads:
            variants = tuple(kit.off({id(pressure): now * share}) for share in times)
            yield Fault(kind, FILTER, "times", times, variants, (CLOTH, ""))


def _leaks(model: Model, fitted: Fitted) -> Iterator[Fault]:
    """Yield a leak in every section with length, and one between the duct's end and the cyclone."""
    spelled = spelled_out(model.shop)
    spots = [spot for run in spelled.runs if not run.is_outlet for spot in _spots(run)]
    places, where = [(run, place) for run, place, _ in spots], [section for _, _, section in spots]
    titles = {section.name: title for section, title in zip(model.sections, model.titles, strict=True)}
    leaky = build_model(changed(spelled, [holes(places)]), model.junction, loading=model.loading)
    kit = Kit.like(leaky, fitted)
    bleeds = {key_of(port.machine): port for port in leaky.ports if key_of(port.machine).startswith(f"{HOLE} ")}
    tight: dict[int, float] = {}
    mouths = {}
    for number in range(1, len(places) + 1):
        port = bleeds[key_of(f"{HOLE} {number}")]
        k = leaky.sections[port.section].heads[0][0].k
        assert k is not None
        mouths[number], tight[id(k)] = k, SEALED_K
    for number, name in enumerate(where, start=1):
        k = mouths[number]
        variants = tuple(kit.off({**tight, id(k): _hole_k(share)}) for share in LEAKS)
        if name:
            yield Fault("leak", titles[name], "open share", LEAKS, variants)
        else:
            yield Fault("bin leak", COLLECTOR, "open share", LEAKS, variants)


def _spots(run: Run) -> Iterator[tuple[str, int, str]]:
    """Yield where a run may leak (its name, place of a piece, its section): the longest pipe of each section, else its
    hose; and ahead of the collector, which has no section."""
    for number, pieces in by_section(run).items():
        long = [one for one in pieces if one.piece.traits.has_length and one.piece.length_m]
        if long:
            spot = max(long, key=lambda one: (one.piece.kind == "pipe", one.piece.length_m))
            yield run.name, spot.place, f"{run.name} {number}"
    if run.is_last:
        yield run.name, len(run.pieces) - 1, ""


SEALED_K = 1e10
"""Loss of a hole that is not there: next to nothing passes."""


def _hole_k(share: float) -> float:
    """Return what an opening of a share of the duct's bore loses, in VP of the bore, beyond that VP itself."""
    return float((1.0 / (fact("gate", "discharge coefficient").value * share)) ** 2 - 1.0)


def _wrong_sizes(model: Model, fitted: Fitted) -> Iterator[Fault]:
    """Yield every section with length in the next smaller and the next larger size that is sold."""
    spelled = spelled_out(model.shop)
    sold = sizes_for(model.shop)
    for section, title in zip(model.sections, model.titles, strict=True):
        bore = section.widest_m
        if bore is None:
            continue
        key = key_of(section.run), int(section.name.rpartition(" ")[2])
        smaller, larger = [s for s in sold if s < ALIKE * bore], [s for s in sold if s * ALIKE > bore]
        sizes = (*smaller[-1:], *larger[:1])
        models = [
            build_model(sections_sized({key: size}).apply(spelled), model.junction, loading=model.loading)
            for size in sizes
        ]
        for size, other in zip(sizes, models, strict=True):
            yield Fault("wrong size", title, "bore", (size,), (Kit.like(other, fitted).off(),))


def _altitude(model: Model, fitted: Fitted) -> Iterator[Fault]:
    air = model.shop.settings.air
    if air.altitude_m is not None or air.density_kg_m3 is not None or air.pressure_pa is not None:
        return
    variants = []
    for height in ALTITUDES_M:
        settings = replace(model.shop.settings, air=air._replace(altitude_m=height))
        high = build_model(replace(model.shop, settings=settings), model.junction, loading=model.loading)
        variants.append(Kit.like(high, fitted).off())
    yield Fault("altitude forgotten", ROOM, "altitude", ALTITUDES_M, tuple(variants))
