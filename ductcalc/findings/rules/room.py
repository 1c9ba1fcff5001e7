"""Matters of people and property: fumes, fire, collapse, chips that come out."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.arrays import Floats
from ductcalc.catalog import fact, speaks_of_metal
from ductcalc.errors import Place
from ductcalc.findings.observation import Observation
from ductcalc.findings.phrase import Phrase, flow, length, pressure, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject
from ductcalc.model.collector import CurveEnd
from ductcalc.physics.collapse import collapse_pressure
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece

SETTINGS = "shop.toml"
THIN_MAKE = "snap-lock"
PLAIN_MAKES = frozenset({THIN_MAKE, "longitudinal seam"})
"""Makes of plain sheet, which nothing stiffens."""
PLASTIC = "plastic"
NO_METAL = "keep metal work off this duct"


def heater(subject: Subject) -> Iterator[Observation]:
    """See air that is blown outdoors, or nobody said where, while a flued heater burns in the room."""
    room = subject.shop.settings.room
    if room.exhaust == "indoors" or not room.heater or not subject.cases:
        return
    most = max(case.collector_flow_m3_s for case in subject.cases)
    leaves = "{} leave the room, and a flued heater burns in it. Fumes may be drawn down its flue"
    unsaid = "a flued heater burns in the room. If {} are blown outdoors, fumes may be drawn down its flue"
    stays = 'if the air stays in, write exhaust = "indoors" under [room] in shop.toml'
    air_in = "let as much air in elsewhere, and have the draught looked at by a licensed person"
    yield Observation(
        Place(SETTINGS, key="room.heater"),
        "room",
        say(unsaid if room.exhaust is None else leaves, flow(most)),
        say(air_in if room.exhaust else f"{air_in}; {stays}"),
        amount=flow(most),
        share=1.0,
    )


def metal(subject: Subject) -> Iterator[Observation]:
    """See machines on a line for wood that throw metal: that are said to, or are named so and nothing is said."""
    said = {key_of(machine.name): machine for machine in subject.shop.settings.machines if machine.metal is not None}
    for name in subject.model.machines:
        settings = said.get(key_of(name))
        if settings is None and speaks_of_metal(name):
            place = subject.model.hanging.ports[subject.model.ports_of[key_of(name)][0]].hung.piece.place
            key = f'[machines."{name}"]' if '"' not in name else f"[machines.'{name}']"
            cure = say("keep it off this duct; if it works wood alone, write metal = false under {} in shop.toml", key)
            yield _sparks(subject, name, place, f'"{name}" sounds like metal work', cure)
        elif settings is not None and settings.metal:
            place = Place(SETTINGS, key=f"machines.{settings.name}.metal")
            yield _sparks(subject, settings.name, place, "it throws metal", say(NO_METAL))


def _sparks(subject: Subject, name: str, place: Place | None, throws: str, cure: Phrase) -> Observation:
    ports, found = subject.model.ports_of[key_of(name)], subject.case_of(name)
    what, amount = say("{}. Its sparks are soon among the dust in the collector and can start a fire", throws), None
    if found is not None:
        case = subject.cases[found]
        amount = flow(float(case.port_flow_m3_s[list(ports)].sum()))
        seconds = f"{_seconds(subject, ports[0], case.section_flow_m3_s):.1f}"
        what = say(
            "{}. A spark in its {} of air is among the dust in the collector in {} s and can start a fire",
            throws, amount, seconds,
        )
    return Observation(place, name, what, cure, amount=amount, share=1.0)


def _seconds(subject: Subject, port: int, flows: Floats) -> float:
    """Return how long air takes from a port to the collector [s]."""
    total = 0.0
    for number in subject.model.path(port):
        for loss in subject.model.sections[number].body:
            total += loss.length_m * float(bore_area(loss.bore_m)) / max(float(flows[number]), 1e-9)
    return total


def thin_pipe(subject: Subject) -> Iterator[Observation]:
    """See plain sheet pipe that the blower may fold with every gate shut: of a known wall, or snap-lock's usual one."""
    pulls = _shut_off(subject)
    round_ = [one for one in subject.of_kind("pipe") if not isinstance(one.bore_m, Rectangle)]
    walls = [(one, wall) for one in round_ if (wall := _wall(subject, one.piece)) is not None]
    if not walls:
        return
    weakest, wall_m = min(walls, key=lambda found: found[1] / found[0].bore_m)
    stands = _stands(wall_m, weakest.bore_m)
    if pulls <= stands:
        return
    known = _stated_wall(subject, weakest.piece) is not None
    heavier = "take heavier pipe or spiral, and never run with every gate shut"
    asks = f"write its gauge under [pipe] in shop.toml, for example gauge = 26; if it is thin, {heavier}"
    what = "with every gate shut the blower pulls {}. The {} pipe of {}{} is good for about {}"
    usual = "" if known else ", in its usual thin sheet,"
    yield Observation(
        weakest.piece.place,
        f"pipe in {weakest.run.name}",
        say(what, pressure(pulls), weakest.piece.style or "", size(weakest.bore_m), usual, pressure(stands)),
        say(heavier if known else asks),
        amount=pressure(pulls),
        share=min(1.0, pulls / stands - 1.0),
    )


def _wall(subject: Subject, piece: Piece) -> float | None:
    """Return the wall [m] of plain sheet pipe as stated; of snap-lock the usual one where nothing is; else None."""
    stated = _stated_wall(subject, piece)
    if piece.style not in PLAIN_MAKES or stated is not None:
        return stated if piece.style in PLAIN_MAKES else None
    return fact("findings", "pipe wall").value if piece.style == THIN_MAKE else None


def _stated_wall(subject: Subject, piece: Piece) -> float | None:
    return subject.shop.settings.pipe.wall_m if piece.wall_m is None else piece.wall_m


def _stands(wall_m: float, bore_m: float) -> float:
    """Return the suction [Pa] that plain steel pipe is good for."""
    modulus, contraction = fact("findings", "steel modulus").value, fact("findings", "steel contraction").value
    return float(collapse_pressure(wall_m, bore_m, modulus, contraction)) / fact("findings", "collapse margin").value


def plastic_pipe(subject: Subject) -> Iterator[Observation]:
    """See plastic pipe: what slides through it charges it."""
    rows = [one for one in subject.of_kind("pipe") if one.piece.style == PLASTIC]
    if not rows:
        return
    long = sum(one.piece.length_m or 0.0 for one in rows)
    yield Observation(
        rows[0].piece.place,
        f"pipe in {rows[0].run.name}",
        say("{} of plastic pipe: moving dust charges it, and it gives shocks", length(long)),
        say("metal pipe leads the charge off; whether plastic is allowed is for local codes"),
        amount=length(long),
        share=0.1,
    )


def _shut_off(subject: Subject) -> float:
    """Return what the blower pulls with every gate shut [Pa]: by the hopeful curve, where only its ends are known."""
    end: CurveEnd = "high" if subject.collector.provisional else "low"
    return float(subject.collector.supply("clean", end=end).available_at(0.0))


def nothing_open(subject: Subject) -> Iterator[Observation]:
    """See every named set in which the blower runs against shut gates alone."""
    if subject.model.opening.always_open.any():
        return
    for gate_set in subject.shop.settings.gates.sets:
        if gate_set.open:
            continue
        yield Observation(
            Place(SETTINGS, key=f"gates.sets.{gate_set.name}"),
            f'set "{gate_set.name}"',
            say("with every gate shut the blower pulls {} on pipe, bin and hose", pressure(_shut_off(subject))),
            say("leave a gate open while it runs: thin pipe, plastic bins and cans may fold"),
            amount=pressure(_shut_off(subject)),
            share=1.0,
        )


def own_blowers(subject: Subject) -> Iterator[Observation]:
    """See machines that blow by themselves and can be shut off from the collector."""
    for machine in subject.shop.settings.machines:
        ports = subject.model.ports_of.get(key_of(machine.name), ())
        if not machine.own_blower_pa or not ports:
            continue
        gated = [p for p in ports if not subject.model.opening.always_open[p] and not subject.model.ports[p].off]
        if not gated:
            continue
        yield Observation(
            Place(SETTINGS, key=f"machines.{machine.name}.own_blower"),
            machine.name,
            say("it blows its own chips, with {}. If its gate is shut they come back into the room",
                pressure(machine.own_blower_pa)),
            say("open its gate first, and start the collector before it"),
            amount=pressure(machine.own_blower_pa),
            share=1.0,
        )  # fmt: skip


RULES = (
    Rule(
        "heater",
        "air that is not said to stay in a room in which a flued heater burns",
        "air let in elsewhere, the draught looked at",
        "practice",
        heater,
        True,
    ),
    Rule(
        "metal",
        "a machine that throws metal, or is named so, on a line for wood",
        "off that line",
        "practice",
        metal,
        True,
    ),
    Rule(
        "thin pipe",
        "thin sheet pipe that the blower may fold with every gate shut",
        "heavier pipe, a gate always open",
        "practice",
        thin_pipe,
        True,
    ),
    Rule(
        "plastic pipe",
        "plastic pipe, which dust charges",
        "metal pipe, bonded and grounded",
        "practice",
        plastic_pipe,
        True,
    ),
    Rule(
        "every gate shut",
        "a named set that opens nothing",
        "a gate always open",
        "practice",
        nothing_open,
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
