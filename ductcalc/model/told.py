"""What had to be assumed about the ducts, told in one line each with the places it holds for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ductcalc.model.assumption import Assumption
from ductcalc.model.decided import Decided
from ductcalc.model.loss import Loss
from ductcalc.model.machine import MACHINE, OPEN_MOUTH
from ductcalc.model.pieces import ELBOW_BUILD, GATE_LEAK, HOSE_BENDS, HOSE_FACTOR, PIPE_MAKE

if TYPE_CHECKING:
    from ductcalc.model.model import Model

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
