"""Pressures that are likely in another unit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from ductcalc.catalog import fact
from ductcalc.errors import Place
from ductcalc.findings.changes import collector_changed
from ductcalc.findings.observation import Observation, Watch
from ductcalc.findings.phrase import Amount, Phrase, flow, pressure, say
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject
from ductcalc.findings.written import Meant, pressure_written, pressures_meant, unit_question
from ductcalc.model.machine import port_k
from ductcalc.shop.change import Change, cell_value
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Drop, Piece
from ductcalc.shop.shop import Collector, FlowPressure

LABEL = "a pressure of the collector in another unit"


def unlikely_pressures(subject: Subject) -> Iterator[Observation]:
    """See pressures of blower, cyclone, filter or machine that no small shop has.

    Where the blower's is doubted, cyclone and filter most likely are in the same unit.
    """
    blower = tuple(_blower_pressure(subject))
    yield from blower or _part_pressures(subject)
    yield from _machine_pressures(subject)


def _blower_pressure(subject: Subject) -> Iterator[Observation]:
    weak, strong = fact("findings", "weak blower").value, fact("findings", "strong blower").value
    found, most = subject.collector.collector, _strongest(subject)
    if weak <= most.pressure_pa <= strong or (most.pressure_pa > strong and _may_be_a_vacuum(found)):
        return
    meant = next((m for m in pressures_meant(most.pressure_pa) if weak < m.value < strong), None)
    change = None
    if meant is not None:
        factor = meant.value / most.pressure_pa
        change = collector_changed(subject, LABEL, lambda collector: _stronger(collector, factor))
    what = say("its largest pressure is {}", _as_written(most.pressure_pa))
    yield _doubted(most.place or found.place, "blower", what, meant, change, subject.watch_worst(), most.pressure_pa)


def _may_be_a_vacuum(collector: Collector) -> bool:
    """Whether a blower moves no more air than a shop vacuum, which may pull far more than a fan."""
    points = (*collector.blower, *(p for p in (collector.advertised,) if p is not None))
    return max(point.flow_m3_s for point in points) <= fact("findings", "vacuum flow").value


def _as_written(value_pa: float) -> str | Amount:
    """Return a pressure [Pa] as it was likely written: small ones would be nothing in the reader's unit."""
    words = pressure_written(value_pa)
    return pressure(value_pa) if words is None else words


def _strongest(subject: Subject) -> FlowPressure:
    """Return the blower's point of the largest pressure, or the advertised one."""
    found = subject.collector.collector
    points = found.blower or tuple(p for p in (found.advertised,) if p is not None)
    return max(points, key=lambda point: point.pressure_pa)


def _stronger(collector: Collector, factor: float) -> Collector:
    """Return a collector whose blower's pressures are so many times as large."""
    points = tuple(replace(p, pressure_pa=p.pressure_pa * factor) for p in collector.blower)
    both = collector.advertised
    scaled = None if both is None else replace(both, pressure_pa=both.pressure_pa * factor)
    return replace(collector, blower=points, advertised=scaled)


def _part_pressures(subject: Subject) -> Iterator[Observation]:
    found, blower = subject.collector.collector, _strongest(subject).pressure_pa
    high = min(fact("findings", "high part pressure").value, fact("findings", "high part share").value * blower)
    low = fact("findings", "low part pressure").value
    for field in ("cyclone", "filter_clean", "filter_loaded"):
        part: FlowPressure | None = getattr(found, field)
        if part is None or low <= part.pressure_pa <= high:
            continue
        meant = next((m for m in pressures_meant(part.pressure_pa) if low <= m.value < high), None)
        change = None if meant is None else _part_changed(subject, field, replace(part, pressure_pa=meant.value))
        most = say("and the blower has {} at most", pressure(blower))
        beside = say("next to nothing") if part.pressure_pa < low else most
        what = (*say("it takes {} at {}, ", _as_written(part.pressure_pa), flow(part.flow_m3_s)), *beside)
        place, name = part.place or found.place, field.replace("_", " ")
        yield _doubted(place, name, what, meant, change, subject.watch_worst(), part.pressure_pa)


def _part_changed(subject: Subject, field: str, part: FlowPressure) -> Change:
    fields: dict[str, Any] = {field: part}
    return collector_changed(subject, LABEL, lambda collector: replace(collector, **fields))


def _machine_pressures(subject: Subject) -> Iterator[Observation]:
    high = fact("findings", "high port loss").value
    for number, (port, hung) in enumerate(zip(subject.model.ports, subject.model.hanging.ports, strict=True)):
        piece, drop = hung.hung.piece, hung.hung.piece.drop
        if port.off or key_of(port.run) in subject.copies or drop is None or piece.k is not None:
            continue
        if _k(subject, piece, drop, port.bore_m) < high:
            continue
        read_as = ((meant, replace(drop, pressure_pa=meant.value)) for meant in pressures_meant(drop.pressure_pa))
        fits = (found for found in read_as if 0.0 < _k(subject, piece, found[1], port.bore_m) < high)
        meant, other = next(fits, (None, None))
        place_in_run = [p for p in subject.model.hanging.ports if key_of(p.run) == key_of(hung.run)].index(hung) + 1
        change = None if other is None else cell_value(hung.run, "port", place_in_run, "drop", other, "another unit")
        what = say("it is said to need {} of suction, far more than any machine", pressure(drop.pressure_pa))
        watch = subject.watch_ports((number,))
        yield _doubted(piece.place, port.machine, what, meant, change, watch, drop.pressure_pa)


def _k(subject: Subject, piece: Piece, drop: Drop, bore_m: float) -> float:
    """Return the loss of a port on its VP when this were its stated suction."""
    return port_k(replace(piece, drop=drop), bore_m, subject.shop.settings.method).value


def _doubted(
    place: Place | None,
    name: str,
    what: Phrase,
    meant: Meant | None,
    change: Change | None,
    watch: Watch | None,
    value_pa: float,
) -> Observation:
    """Return the observation of a pressure, with the other reading weighed where there is one."""
    watched = None if change is None else watch
    return Observation(
        place, name, what, unit_question(meant), change, "otherwise", watched, pressure(value_pa), share=1.0
    )


RULES = (
    Rule(
        "unlikely pressure",
        "a pressure of blower, cyclone, filter or machine that no small shop has",
        "the right unit",
        "practice",
        unlikely_pressures,
        moves_all=True,
    ),
)
