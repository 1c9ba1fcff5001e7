"""Wyes that turn the air too sharply, or squeeze it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile

from ductcalc.catalog import fact, is_adapter
from ductcalc.findings.changes import resized
from ductcalc.findings.observation import Observation, Watch
from ductcalc.findings.phrase import Phrase, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.neighbours import widest_inlet, wye_of
from ductcalc.findings.subject import Subject
from ductcalc.shop.change import cell_value
from ductcalc.shop.kinds import RIGHT_ANGLE_DEG, WYE_ANGLE_DEG
from ductcalc.shop.standing import PlacedPiece, standing


def tees(subject: Subject) -> Iterator[Observation]:
    """See every branch that comes in at a right angle or nearly so."""
    steep = fact("branch_entry", "steep angle").value
    for one in _reckoned(subject):
        widest = max(one.piece.settled_deg)
        if steep <= widest <= RIGHT_ANGLE_DEG:
            yield _sharp(subject, one, say("a branch comes in at {} degrees", f"{widest:g}"))


def against(subject: Subject) -> Iterator[Observation]:
    """See every branch that comes in against the flow."""
    for one in _reckoned(subject):
        widest = max(one.piece.settled_deg)
        if widest > RIGHT_ANGLE_DEG:
            yield _sharp(subject, one, say("a branch comes in against the flow, at {} degrees", f"{widest:g}"))


def _reckoned(subject: Subject) -> Iterator[PlacedPiece]:
    """Yield the wyes whose loss follows from their angles; one with a k of its own says what it takes."""
    return (one for one in subject.of_kind("wye") if one.piece.k is None)


def _sharp(subject: Subject, one: PlacedPiece, what: Phrase) -> Observation:
    angles = one.piece.settled_deg
    eased = tuple(min(angle, WYE_ANGLE_DEG) for angle in angles)
    label = f"{one.run.name}: wye {one.number} at {WYE_ANGLE_DEG:g} degrees"
    return Observation(
        one.piece.place,
        f"wye in {one.run.name}",
        what,
        say("hang a wye of {} degrees with the flow", f"{WYE_ANGLE_DEG:g}"),
        cell_value(one.run.name, "wye", one.number, "angles_deg", eased, label),
        watch=_watch_branch(subject, one),
    )


def _watch_branch(subject: Subject, one: PlacedPiece) -> Watch | None:
    """Return the air to watch: of what comes in at a branch."""
    branches = (stream.section for stream in wye_of(subject, one).streams if not stream.straight)
    ports = tuple(port for section in branches for port in subject.ports_above[section])
    return subject.watch_ports(ports) or subject.watch_piece(one)


def squeezing(subject: Subject) -> Iterator[Observation]:
    """See every wye whose outlet is smaller than an inlet of it."""
    for one in subject.of_kind("wye"):
        wye = wye_of(subject, one)
        widest = max(wye.streams, key=lambda stream: subject.model.sections[stream.section].end_bore_m)
        bore = widest_inlet(subject, wye)
        if bore <= one.bore_m or is_adapter(bore, one.bore_m):
            continue
        label = f"{one.run.name}: wye {one.number} and what follows as wide as its inlet"
        yield Observation(
            one.piece.place,
            f"wye in {one.run.name}",
            say("{} arrives at an outlet of {}", size(bore), size(one.bore_m)),
            say("take the wye, and what follows of its size, in {}", size(bore)),
            resized(one.run.name, _as_wide(one), bore, label),
            watch=subject.watch_ports(subject.ports_above[widest.section]),
        )


def _as_wide(one: PlacedPiece) -> list[int]:
    """Return the places of a wye and of what follows in its bore, up to the next wye."""
    behind = [other for other in standing(one.run) if other.place > one.place]
    same = takewhile(lambda o: o.bore_m == one.bore_m and not o.piece.traits.ends_stretch, behind)
    return [one.place, *(other.place for other in same)]


RULES = (
    Rule(
        "tee", "a branch that comes in at 75 to 90 degrees", "a wye of 45 degrees", "practice", tees, always=True
    ),
    Rule(
        "wye against the flow",
        "a branch that comes in against the flow",
        "turn the wye round",
        "practice",
        against,
        always=True,
    ),
    Rule(
        "narrow outlet", "a wye whose outlet is smaller than an inlet", "an outlet as wide", "practice", squeezing
    ),
)
