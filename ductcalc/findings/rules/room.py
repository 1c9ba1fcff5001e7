"""Matters of people and property: fumes, fire, collapse, chips that come out."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import fact
from ductcalc.errors import Place
from ductcalc.findings.phrase import flow, pressure, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.sighting import Sighting
from ductcalc.findings.subject import Floats, Subject
from ductcalc.physics.collapse import collapse_pressure
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of

SETTINGS = "shop.toml"
THIN_MAKE = "snap-lock"


def heater(subject: Subject) -> Iterator[Sighting]:
    """See air that is blown outdoors while a flued heater burns in the room."""
    room = subject.shop.settings.room
    if room.exhaust != "outdoors" or not room.heater or not subject.cases:
        return
    most = max(case.collector_flow_m3_s for case in subject.cases)
    yield Sighting(
        Place(SETTINGS, key="room.heater"),
        "room",
        say("{} leave the room, and a flued heater burns in it: fumes may be drawn down its flue", flow(most)),
        say("let as much air in elsewhere, and have the draught looked at by a licensed person"),
        amount=flow(most),
        share=1.0,
    )


def metal(subject: Subject) -> Iterator[Sighting]:
    """See machines that throw metal on a line for wood."""
    for machine in subject.shop.settings.machines:
        ports = subject.model.ports_of.get(key_of(machine.name), ())
        if not machine.metal or not ports:
            continue
        found = subject.case_of(machine.name)
        after, amount = "", None
        if found is not None:
            case = subject.cases[found]
            after = f" after {_seconds(subject, ports[0], case.section_flow_m3_s):.1f} s"
            amount = flow(float(case.port_flow_m3_s[list(ports)].sum()))
        yield Sighting(
            Place(SETTINGS, key=f"machines.{machine.name}.metal"),
            machine.name,
            say("it throws metal, and a spark in its air is among the dust in the collector{}", after),
            say("never join metal work to a line for wood: take it off, or keep its gate shut for metal"),
            amount=amount,
            share=1.0,
        )


def _seconds(subject: Subject, port: int, flows: Floats) -> float:
    """Return how long air takes from a port to the collector [s]."""
    total = 0.0
    for number in subject.model.path(port):
        for loss in subject.model.sections[number].body:
            total += loss.length_m * float(bore_area(loss.bore_m)) / max(float(flows[number]), 1e-9)
    return total


def thin_pipe(subject: Subject) -> Iterator[Sighting]:
    """See pipe of thin sheet that the blower may fold when every gate is shut."""
    pulls = float(subject.collector.supply("clean").available_at(0.0))
    wall, modulus = fact("findings", "pipe wall").value, fact("findings", "steel modulus").value
    contraction, margin = fact("findings", "steel contraction").value, fact("findings", "collapse margin").value
    thin = [one for one in subject.of_kind("pipe") if one.piece.style == THIN_MAKE]
    if not thin:
        return
    widest = max(thin, key=lambda one: one.bore_m)
    stands = float(collapse_pressure(wall, widest.bore_m, modulus, contraction)) / margin
    if pulls <= stands:
        return
    yield Sighting(
        widest.piece.place,
        f"pipe in {widest.run.name}",
        say(
            "with every gate shut the blower pulls {}; thin {} pipe of {} is good for about {}",
            pressure(pulls), THIN_MAKE, size(widest.bore_m), pressure(stands),
        ),
        say("take spiral or heavier pipe, and never run with every gate shut; thin bins and cans fold sooner"),
        amount=pressure(pulls),
        share=min(1.0, pulls / stands - 1.0),
    )  # fmt: skip


def own_blowers(subject: Subject) -> Iterator[Sighting]:
    """See machines that blow by themselves and can be shut off from the collector."""
    for machine in subject.shop.settings.machines:
        ports = subject.model.ports_of.get(key_of(machine.name), ())
        if not machine.own_blower_pa or not ports:
            continue
        gated = [p for p in ports if not subject.model.opening.always_open[p] and not subject.model.ports[p].off]
        if not gated:
            continue
        yield Sighting(
            Place(SETTINGS, key=f"machines.{machine.name}.own_blower"),
            machine.name,
            say("its own blower pushes with {}: with a gate shut ahead its chips come out elsewhere",
                pressure(machine.own_blower_pa)),
            say("open its way to the collector and start the collector before it runs"),
            amount=pressure(machine.own_blower_pa),
            share=1.0,
        )  # fmt: skip


RULES = (
    Rule(
        "heater",
        "air blown outdoors from a room in which a flued heater burns",
        "air let in elsewhere, the draught looked at",
        "practice",
        heater,
        True,
    ),
    Rule("metal", "a machine that throws metal on a line for wood", "off that line", "practice", metal, True),
    Rule(
        "thin pipe",
        "thin sheet pipe that the blower may fold with every gate shut",
        "heavier pipe, a gate always open",
        "practice",
        thin_pipe,
        True,
    ),
    Rule(
        "own blower",
        "a machine with a blower of its own behind a gate",
        "its way open before it runs",
        "practice",
        own_blowers,
        True,
    ),
)
