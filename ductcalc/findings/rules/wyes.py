"""Wyes that turn the air too sharply, or squeeze it."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import fact
from ductcalc.findings.phrase import Phrase, say, size
from ductcalc.findings.rule import Rule
from ductcalc.findings.sighting import Sighting, Watch
from ductcalc.findings.sizes import resized
from ductcalc.findings.subject import Subject
from ductcalc.shop.change import cell_value
from ductcalc.shop.hanging import DEFAULT_WYE_ANGLE_DEG, Wye
from ductcalc.shop.names import key_of
from ductcalc.shop.standing import Standing

RIGHT_ANGLE_DEG = 90.0


def tees(subject: Subject) -> Iterator[Sighting]:
    """See every branch that comes in at a right angle or nearly so."""
    steep = fact("branch_entry", "steep angle").value
    for one in subject.of_kind("wye"):
        widest = max(one.piece.angles_deg or (DEFAULT_WYE_ANGLE_DEG,))
        if steep <= widest <= RIGHT_ANGLE_DEG:
            yield _sharp(subject, one, say("a branch comes in at {} degrees", f"{widest:g}"))


def against(subject: Subject) -> Iterator[Sighting]:
    """See every branch that comes in against the flow."""
    for one in subject.of_kind("wye"):
        widest = max(one.piece.angles_deg or (DEFAULT_WYE_ANGLE_DEG,))
        if widest > RIGHT_ANGLE_DEG:
            yield _sharp(subject, one, say("a branch comes in against the flow, at {} degrees", f"{widest:g}"))


def _sharp(subject: Subject, one: Standing, what: Phrase) -> Sighting:
    angles = one.piece.angles_deg or (DEFAULT_WYE_ANGLE_DEG,)
    eased = tuple(min(angle, DEFAULT_WYE_ANGLE_DEG) for angle in angles)
    label = f"{one.run.name}: wye {one.number} at {DEFAULT_WYE_ANGLE_DEG:g} degrees"
    return Sighting(
        one.piece.place,
        f"wye in {one.run.name}",
        what,
        say("hang a wye of {} degrees with the flow", f"{DEFAULT_WYE_ANGLE_DEG:g}"),
        None if one.piece.k is not None else cell_value(one.run.name, "wye", one.number, "angles_deg", eased, label),
        watch=_watch_branch(subject, one),
    )


def _watch_branch(subject: Subject, one: Standing) -> Watch | None:
    """Return the air to watch: of what comes in at the branch."""
    joins = {key_of(name) for name in one.piece.joins}
    ports = tuple(
        number
        for number in subject.ports_above[subject.section_number[one.name]]
        if any(key_of(subject.model.sections[s].run) in joins for s in subject.model.path(number))
    )
    return subject.watch_ports(ports) or subject.watch_piece(one)


def squeezing(subject: Subject) -> Iterator[Sighting]:
    """See every wye whose outlet is smaller than an inlet of it."""
    tree = subject.model.tree
    for wye, shape in zip(subject.model.wyes, tree.wyes, strict=True):
        wide = [s for s in shape.streams if tree.end_area_m2[s] > shape.outlet_area_m2 * (1.0 + 1e-9)]
        if not wide:
            continue
        bore = max(subject.model.sections[s].end_bore_m for s in wide)
        one = next(p for p in subject.of_kind("wye") if p.run.name == wye.hung.run and p.name == _outlet(subject, wye))
        yield Sighting(
            one.piece.place,
            f"wye in {one.run.name}",
            say("{} arrives at an outlet of {}", size(bore), size(one.bore_m)),
            say("take the wye with an outlet of {} or more", size(bore)),
            resized(one.run.name, [one.place], bore, f"{one.run.name}: wye {one.number} as wide as its inlet"),
            watch=subject.watch_ports(subject.ports_above[wide[0]]),
        )


def _outlet(subject: Subject, wye: Wye) -> str:
    return subject.model.sections[wye.outlet].name


RULES = (
    Rule("tee", "a branch that comes in at 75 to 90 degrees", "a wye of 45 degrees", "practice", tees),
    Rule("wye against the flow", "a branch that comes in against the flow", "turn the wye round", "practice", against),
    Rule(
        "narrow outlet", "a wye whose outlet is smaller than an inlet", "an outlet as wide", "practice", squeezing
    ),
)
