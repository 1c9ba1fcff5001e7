"""Flows, sizes and lengths that are likely in another unit."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ductcalc.catalog import fact, inside_of
from ductcalc.findings.changes import resized
from ductcalc.findings.observation import Observation, Watch
from ductcalc.findings.phrase import Phrase, flow, length, say, size, speed
from ductcalc.findings.rule import Rule
from ductcalc.findings.subject import Subject
from ductcalc.findings.written import (
    Meant,
    in_other_units,
    is_doubtful_size,
    length_meant,
    size_meant,
    unit_question,
    unit_written,
)
from ductcalc.physics.velocity import velocity
from ductcalc.shop.change import cell_value, together
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece
from ductcalc.shop.standing import PlacedPiece, standing


def unlikely_wishes(subject: Subject) -> Iterator[Observation]:
    """See every wanted flow that would rush or crawl through its own port."""
    told: set[tuple[float, float]] = set()
    for number, port in enumerate(subject.model.ports):
        if port.off or port.wanted_assumed:
            continue
        if key_of(port.run) in subject.copies and (port.wanted_m3_s, port.bore_m) in told:
            continue
        piece = subject.model.hanging.ports[number].hung.piece
        through = float(velocity(port.wanted_m3_s, port.bore_m))
        meant = _flow_meant(piece, port.wanted_m3_s, port.bore_m)
        if _is_usual(through) and not (meant and _in_strange_unit(subject, piece, port.wanted_m3_s)):
            continue
        told.add((port.wanted_m3_s, port.bore_m))
        yield Observation(
            piece.place,
            port.machine,
            say("{} wanted is {} through its port of {}", flow(port.wanted_m3_s), speed(through), size(port.bore_m)),
            _other_reading(meant, port.bore_m),
            amount=speed(through),
            share=1.0,
        )


def _is_usual(through_m_s: float) -> bool:
    return fact("findings", "slow wish").value <= through_m_s <= fact("findings", "fast wish").value


def _flow_meant(piece: Piece, wanted_m3_s: float, bore_m: float) -> Meant | None:
    """Return a wish in another unit of flow that makes its speed more usual, when it is plainly unusual."""
    usual = fact("machine", "wanted speed").value

    def off(flow_m3_s: float) -> float:
        return abs(math.log(float(velocity(flow_m3_s, bore_m)) / usual))

    odd = math.log(fact("findings", "odd wish").value)
    if off(wanted_m3_s) < odd:
        return None
    found = min(in_other_units(piece.cells.get("flow"), wanted_m3_s, "flow"), key=lambda m: off(m.value), default=None)
    return found if found is not None and off(found.value) < odd else None


def _in_strange_unit(subject: Subject, piece: Piece, wanted_m3_s: float) -> bool:
    """Whether a wish is written in a unit of the system that the shop's table does not use."""
    unit = unit_written(piece.cells.get("flow"), wanted_m3_s, "flow")
    return unit is not None and unit.system not in (None, subject.shop.system)


def _other_reading(meant: Meant | None, bore_m: float) -> Phrase:
    if meant is None:
        return say("look at the unit of the flow and at the size of the port")
    through = float(velocity(meant.value, bore_m))
    return say("look at its unit, {} would be {}; else give it a port of another size", meant.words, speed(through))


def unlikely_sizes(subject: Subject) -> Iterator[Observation]:
    """See every stretch of a bore that small shops do not have."""
    for one in subject.pieces:
        if not is_doubtful_size(one.bore_m) or _goes_on(one):
            continue
        meant, places = size_meant(one.piece, _other_bore(one)), _same_bore(one)
        label = f"{one.run.name}: another size"
        yield Observation(
            one.piece.place,
            f"{one.piece.kind} in {one.run.name}",
            say("it is {} wide inside, which no small shop has", size(one.bore_m)),
            unit_question(meant),
            None if meant is None else resized(one.run.name, places, meant.value, label),
            "otherwise",
            _watch_speed(subject, one) or subject.watch_piece(one),
            size(one.bore_m),
            share=1.0,
        )


def _other_bore(one: PlacedPiece) -> float:
    """Return the bore [m] of the nearest row of its run that is not doubtful; without one, a middling bore."""
    usual = [n for n, piece in enumerate(one.run.pieces) if piece.size_m and not is_doubtful_size(piece.size_m)]
    near = min(usual, key=lambda n: abs(n - one.place), default=None)
    if near is None:
        return math.sqrt(fact("findings", "narrowest duct").value * fact("findings", "widest duct").value)
    return one.run.pieces[near].size_m or 0.0


def _goes_on(one: PlacedPiece) -> bool:
    """Whether the row before has the same bore, so that it was told there."""
    return one.place > 0 and one.run.pieces[one.place - 1].size_m == one.bore_m


def _same_bore(one: PlacedPiece) -> list[int]:
    """Return the places of the pieces from here on that have the same bore."""
    places = [one.place]
    while places[-1] + 1 < len(one.run.pieces) and one.run.pieces[places[-1] + 1].size_m == one.bore_m:
        places.append(places[-1] + 1)
    return places


def _watch_speed(subject: Subject, one: PlacedPiece) -> Watch | None:
    """Return the speed to watch: in the piece's section, in the first case in which chips pass."""
    number = subject.section_number.get(one.name)
    cases = (place for place, case in enumerate(subject.cases) if number is not None and case.needed_m_s[number] > 0.0)
    place = next(cases, None)
    return None if place is None else Watch(place, section=one.name)


def unlikely_lengths(subject: Subject) -> Iterator[Observation]:
    """See every very long hose or straight pipe in metres, in a table that is otherwise in inches and feet."""
    for one in subject.straights():
        meant = length_meant(one.piece, subject.shop.system)
        if meant is None:
            continue
        kind = one.piece.traits.word
        label = f"{one.run.name}: {kind} {one.number} of {meant.words}"
        yield Observation(
            one.piece.place,
            f"{kind} in {one.run.name}",
            say("{} of {} in one row", length(one.piece.length_m or 0.0), kind),
            say("look at its unit: were {} meant?", meant.words),
            cell_value(one.run.name, one.piece.kind, one.number, "length_m", meant.value, label),
            "otherwise",
            subject.watch_piece(one),
        )


def outside_diameters(subject: Subject) -> Iterator[Observation]:
    """See plastic pipe of sizes by which drain pipe is named outside, all of them told at once for the shop."""
    read = [(one, inside_of(one.piece, one.bore_m)) for one in subject.of_kind("pipe")]
    pipes = [one for one, inside_m in read if inside_m is not None]
    inside = {one.bore_m: inside_m for one, inside_m in read if inside_m is not None}
    if not pipes:
        return
    each = " and ".join("{}" for _ in inside)
    yield Observation(
        pipes[0].piece.place,
        f"pipe in {pipes[0].run.name}",
        say(
            f"plastic drain pipe of {each} is named by its outside; inside it is about {each}",
            *map(size, inside), *map(size, inside.values()),
        ),
        say(f"write inside diameters: {each}", *map(size, inside.values())),
        together("inside diameters", [
            resized(run.name, [one.place for one in standing(run) if _is_drain(one, outside_m)], inside_m, run.name)
            for run in subject.written_runs
            for outside_m, inside_m in inside.items()
        ]),
        "otherwise",
        subject.watch_piece(pipes[0]),
        size(pipes[0].bore_m),
    )  # fmt: skip


def _is_drain(one: PlacedPiece, bore_m: float) -> bool:
    """Whether a piece is drain pipe of this size [m], or a fitting of it."""
    fitting = one.piece.kind in ("elbow", "wye", "reducer")
    return one.bore_m == bore_m and (fitting or inside_of(one.piece, bore_m) is not None)


RULES = (
    Rule(
        "unlikely flow",
        "a wanted flow that would rush or crawl through its own port",
        "the right unit",
        "practice",
        unlikely_wishes,
    ),
    Rule(
        "unlikely size",
        "a bore that no small shop has",
        "the right unit",
        "practice",
        unlikely_sizes,
    ),
    Rule(
        "outside diameter",
        "plastic pipe in a size by which it is named outside",
        "its inside diameter",
        "practice",
        outside_diameters,
        always=True,
        moves_all=True,
    ),
    Rule(
        "unlikely length",
        "a very long hose or straight pipe in metres, in a table of inches and feet",
        "the right unit",
        "practice",
        unlikely_lengths,
    ),
)
