"""Figures that are likely in another unit, hold in other air, or are too near to call."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import fact
from ductcalc.errors import Place
from ductcalc.findings.phrase import Phrase, flow, pressure, say, share, speed
from ductcalc.findings.rule import Rule
from ductcalc.findings.sighting import Sighting
from ductcalc.findings.subject import Subject
from ductcalc.physics.velocity import velocity

CUBIC_METRES_AN_HOUR = 1.0 / 3600.0
CUBIC_FEET_A_MINUTE = 0.3048**3 / 60.0


def unlikely_wishes(subject: Subject) -> Iterator[Sighting]:
    """See every wanted flow that would rush or crawl through its own port."""
    slow, fast = fact("findings", "slow wish").value, fact("findings", "fast wish").value
    for number, port in enumerate(subject.model.ports):
        if port.off or port.wanted_assumed:
            continue
        through = float(velocity(port.wanted_m3_s, port.bore_m))
        if slow <= through <= fast:
            continue
        piece = subject.model.hanging.ports[number].hung.piece
        yield Sighting(
            piece.place,
            port.machine,
            say("{} wanted is {} through its port", flow(port.wanted_m3_s), speed(through)),
            say("{}", _other_reading(port.wanted_m3_s, through > fast, port.bore_m)),
            amount=speed(through),
            share=1.0,
        )


def _other_reading(wanted_m3_s: float, too_fast: bool, bore_m: float) -> str:
    """Say what was likely meant: the number in the other unit of flow, where that fits the port."""
    number, unit = wanted_m3_s / CUBIC_FEET_A_MINUTE, "m3/h"
    other = number * CUBIC_METRES_AN_HOUR
    if not too_fast:
        number, unit = wanted_m3_s / CUBIC_METRES_AN_HOUR, "cfm"
        other = number * CUBIC_FEET_A_MINUTE
    through = float(velocity(other, bore_m))
    slow, fast = fact("findings", "slow wish").value, fact("findings", "fast wish").value
    if slow <= through <= fast:
        return f"did you mean {number:.0f} {unit}?"
    return "look at the unit of the flow and at the size of the port"


def unlikely_pressures(subject: Subject) -> Iterator[Sighting]:
    """See pressures of the collector's table that no small collector has."""
    weak, strong = fact("findings", "weak blower").value, fact("findings", "strong blower").value
    high = fact("findings", "high part pressure").value
    found = subject.collector.collector
    points = found.blower or tuple(p for p in (found.advertised,) if p is not None)
    most = max(point.pressure_pa for point in points)
    if not weak <= most <= strong:
        yield _doubted(subject, "blower", most, say("its largest pressure is {}", pressure(most)))
    parts = {"cyclone": found.cyclone, "clean filter": found.filter_clean, "loaded filter": found.filter_loaded}
    for name, part in parts.items():
        if part is not None and part.pressure_pa > high:
            yield _doubted(
                subject, name, part.pressure_pa, say("takes {} at {}", pressure(part.pressure_pa), flow(part.flow_m3_s))
            )


def _doubted(subject: Subject, name: str, value_pa: float, what: Phrase) -> Sighting:
    return Sighting(
        subject.collector.collector.place,
        name,
        what,
        say("look at its unit: 1 inch of water is 249 Pa, 25.4 mm of water"),
        amount=pressure(value_pa),
        share=1.0,
    )


def thin_air(subject: Subject) -> Iterator[Sighting]:
    """See a shop so high or so warm that curve, chip speed and readings differ plainly from the tables."""
    rated = subject.collector.rated
    missing = 1.0 - subject.model.air.density_kg_m3 / rated.density_kg_m3
    if missing < fact("findings", "thin air").value:
        return
    here = float(subject.collector.supply("clean").available_at(0.0))
    yield Sighting(
        Place("shop.toml", key="air"),
        "air",
        say(
            "the blower pulls {} less than its curve in standard air (at most {} here), with the same flow",
            share(missing), pressure(here),
        ),
        say(
            "read the local curve; a Pitot tube read by the sea-level constant shows {} too little speed, and chips"
            " need {} more",
            share(1.0 - (1.0 - missing) ** 0.5), share((1.0 - missing) ** -0.5 - 1.0),
        ),
        amount=share(missing),
        share=missing,
    )  # fmt: skip


def close_calls(subject: Subject) -> Iterator[Sighting]:
    """See the machine whose verdict is nearest to the line, when it is nearer than any calculation can tell."""
    limit = fact("findings", "close call").value
    near: list[tuple[float, int]] = []
    for number, port in enumerate(subject.model.ports):
        share_now = subject.share_of(number)
        found = subject.case_of(port.machine)
        if share_now is None or found is None or not subject.cases[found].alone:
            continue
        if abs(share_now - 1.0) < limit:
            near.append((abs(share_now - 1.0), number))
    if not near:
        return
    off, number = min(near)
    port = subject.model.ports[number]
    case = subject.cases[subject.case_of(port.machine) or 0]
    more = f", and {len(near) - 1} more as near" if len(near) > 1 else ""
    got = float(case.port_flow_m3_s[number])
    yield Sighting(
        subject.model.hanging.ports[number].hung.piece.place,
        port.machine,
        say(
            "gets {} of {} wanted, {} off{}: a real system agrees with a good calculation within {} at best",
            flow(got), flow(port.wanted_m3_s), share(off), more, share(2.0 * limit),
        ),
        say("take neither verdict for certain: measure it, or give it more to spare"),
        amount=flow(abs(got - port.wanted_m3_s)),
        share=off,
    )  # fmt: skip


RULES = (
    Rule(
        "unlikely flow",
        "a wanted flow that would rush or crawl through its own port",
        "the right unit",
        "practice",
        unlikely_wishes,
    ),
    Rule(
        "unlikely pressure",
        "a pressure of the collector's table that no small collector has",
        "the right unit",
        "practice",
        unlikely_pressures,
    ),
    Rule("thin air", "air far thinner than the tables'", "the local curve", "ashrae-psychrometrics", thin_air),
    Rule(
        "close call",
        "a verdict nearer to the line than any calculation can tell",
        "a measurement",
        "practice",
        close_calls,
    ),
)
