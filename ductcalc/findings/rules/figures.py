"""Figures that hold in other air, or are too near to call."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.cases.case import Case
from ductcalc.catalog import fact
from ductcalc.errors import Place
from ductcalc.findings.phrase import flow, pressure, say, share
from ductcalc.findings.rule import Rule
from ductcalc.findings.sighting import Sighting
from ductcalc.findings.subject import Subject
from ductcalc.shop.names import key_of


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
            "hold readings against the local curve; a Pitot tube read by the sea-level constant shows {} too little"
            " speed, and chips need {} more",
            share(1.0 - (1.0 - missing) ** 0.5), share((1.0 - missing) ** -0.5 - 1.0),
        ),
        amount=share(missing),
        share=missing,
    )  # fmt: skip


def close_calls(subject: Subject) -> Iterator[Sighting]:
    """See the machine whose verdict is nearest to the line, when it is nearer than any calculation can tell."""
    limit = fact("findings", "close call").value
    near = []
    for place, case in enumerate(subject.cases):
        number = _poorest_port(subject, case)
        if number is None:
            continue
        off = abs(float(case.port_flow_m3_s[number] / case.port_wanted_m3_s[number]) - 1.0)
        if off < limit:
            near.append((off, place, number))
    if not near:
        return
    off, place, number = min(near)
    port, case = subject.model.ports[number], subject.cases[place]
    at = f"its port {port.run} " if len(subject.model.ports_of[key_of(port.machine)]) > 1 else ""
    more = f", and {len(near) - 1} more as near" if len(near) > 1 else ""
    got = float(case.port_flow_m3_s[number])
    yield Sighting(
        subject.model.hanging.ports[number].hung.piece.place,
        port.machine,
        say(
            "{}gets {} of {} wanted, {} off{}: a real system agrees with a good calculation within {} at best",
            at, flow(got), flow(port.wanted_m3_s), share(off), more, share(2.0 * limit),
        ),
        say("take neither verdict for certain: measure it, or give it more to spare"),
        amount=flow(abs(got - port.wanted_m3_s)),
        share=off,
    )  # fmt: skip


def _poorest_port(subject: Subject, case: Case) -> int | None:
    """Return the port on which the verdict of a machine on its own hangs; None in a set of several."""
    if not case.single:
        return None
    ports = [p for p in subject.model.ports_of[key_of(case.asked[0])] if not subject.model.ports[p].off]
    return min(ports, key=lambda p: case.port_flow_m3_s[p] / case.port_wanted_m3_s[p], default=None)


RULES = (
    Rule("thin air", "air far thinner than the tables'", "the local curve", "ashrae-psychrometrics", thin_air),
    Rule(
        "close call",
        "a verdict nearer to the line than any calculation can tell",
        "a measurement",
        "practice",
        close_calls,
    ),
)
