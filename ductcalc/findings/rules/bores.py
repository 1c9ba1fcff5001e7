"""Bores that choke the air or let it go to sleep."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.cases.case import Case
from ductcalc.catalog import is_adapter, sizes_for
from ductcalc.findings.phrase import say, size, speed
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.neighbours import (
    bore_after,
    narrow_sighting,
    narrow_stretches,
    piece_after,
    widest_inlet,
    wye_of,
)
from ductcalc.findings.sighting import Sighting, Watch
from ductcalc.findings.sizes import resized
from ductcalc.findings.subject import Subject
from ductcalc.findings.written import is_doubtful_size
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.change import section_at_most
from ductcalc.shop.names import key_of, the


def necks(subject: Subject) -> Iterator[Sighting]:
    """See every stretch without hose that is smaller than what is on both sides of it."""
    for narrow in narrow_stretches(subject):
        if any(one.piece.kind == "flex" for one in narrow.pieces):
            continue
        one = next((one for one in narrow.pieces if one.piece.kind != "reducer"), narrow.pieces[0])
        what = say("{} between {} and {}: a neck", size(one.bore_m), size(narrow.before_m), size(narrow.after_m))
        yield narrow_sighting(subject, narrow, one, what, say("take it in {}", size(narrow.wide_m)))


def wide_mains(subject: Subject) -> Iterator[Sighting]:
    """See every run that is too wide for a machine on its own: its chips settle behind a narrower drop.

    Where a case asked for lets the machine run with others and its chips move there, nothing needs to be said.
    """
    sections: dict[str, list[int]] = {}
    for number, section in enumerate(subject.model.sections):
        sections.setdefault(section.run, []).append(number)
    for run in subject.written_runs:
        found = [worst for number in sections.get(run.name, ()) if (worst := _slowest(subject, number)) is not None]
        if found:
            _, place, number = min(found)
            yield _wide(subject, place, number, len(found) - 1)


def _slowest(subject: Subject, number: int) -> tuple[float, int, int] | None:
    """Return speed over needed, case and section where a machine's chips settle most for want of a narrower section."""
    above, bore = frozenset(subject.ports_above[number]), subject.model.sections[number].widest_m or 0.0
    alone = ((place, case) for place, case in enumerate(subject.cases) if case.single and case.settles[number])
    found = [
        (float(case.judged.full_share[number, case.column]), place)
        for place, case in alone
        if _is_wide(subject, case, number, bore, above)
    ]
    cured = (one for one in sorted(found) if _cures(subject, subject.cases[one[1]], number) != (None, False))
    worst = next(cured, None)
    return None if worst is None else (*worst, number)


def _is_wide(subject: Subject, case: Case, number: int, bore: float, above: frozenset[int]) -> bool:
    """Whether a section is wider than the drop that its air comes through, and that is why chips settle: in the drop's
    bore they would move, and the air that the machine wants would not move them either.

    bore: of the section [m]. above: the ports whose air passes it.
    """
    model, machine, needed = subject.model, key_of(case.asked[0]), float(case.needed_m_s[number])
    ports = [p for p in model.ports_of[machine] if p in above]
    drop = max((model.ports[p].bore_m for p in ports), default=0.0)
    if not ports or bore <= drop or is_adapter(bore, drop) or is_doubtful_size(bore):
        return False
    slow_if_served = sum(float(case.port_wanted_m3_s[p]) for p in ports) / float(bore_area(bore)) < needed
    fast_in_drop = float(case.section_flow_m3_s[number] / bore_area(drop)) >= needed
    helped = any(machine in other.running_keys and not other.settles[number] for other in subject.together)
    return slow_if_served and fast_in_drop and not helped


def _cures(subject: Subject, case: Case, number: int) -> tuple[float | None, bool]:
    """Return the widest bore [m] in which chips move and into which all that arrives fits, and whether another
    machine's air passes here too, so that its gate may be opened: one that joins farther on only takes air away.
    """
    model = subject.model
    flow, bore = float(case.section_flow_m3_s[number]), model.sections[number].widest_m or 0.0
    ahead = _widest_ahead(subject, number)
    needed = float(case.needed_m_s[number])
    sizes = [s for s in sizes_for(subject.shop) if ahead <= s < bore and flow / float(bore_area(s)) >= needed]
    above = {key_of(model.ports[p].machine) for p in subject.ports_above[number]}
    return (sizes[-1] if sizes else None), len(above) > 1


def _widest_ahead(subject: Subject, number: int) -> float:
    """Return the largest bore [m] of what arrives at a section, and of the ports whose air passes it."""
    wye = next((wye for wye in subject.model.hanging.wyes if wye.outlet == number), None)
    ports = [subject.model.ports[p].bore_m for p in subject.ports_above[number]]
    return max([0.0 if wye is None else widest_inlet(subject, wye), *ports])


def _wide(subject: Subject, place: int, number: int, others_as_wide: int) -> Sighting:
    case, section = subject.cases[place], subject.model.sections[number]
    now, needed = case.sections[number].velocity_m_s, float(case.needed_m_s[number])
    narrower, others = _cures(subject, case, number)
    bore = section.widest_m or 0.0
    hung = subject.model.hanging.sections[number]
    rows = [h.piece.place for h in hung.pieces if h.bore_m == bore and h.piece.place is not None]
    more = f"; so are {others_as_wide} more stretches of {section.run}" if others_as_wide > 1 else ""
    more = f"; so is another stretch of {section.run}" if others_as_wide == 1 else more
    what = say(
        "{} is wide for {} alone: {} where its dust needs {}{}",
        size(bore), the(case.asked[0]), speed(now), speed(needed), more,
    )  # fmt: skip
    where, name = (rows[0] if rows else None), section.name
    gate = "open another gate along with it, if ductcalc gates names one that helps"
    watch = Watch(place, section=section.name)
    if narrower is None:
        return Sighting(where, name, what, say(gate), watch=watch, amount=speed(now), share=1.0 - now / needed)
    hang = say("hang {} there", size(narrower))
    return Sighting(
        where,
        name,
        what,
        (*hang, f", or {gate}") if others else hang,
        section_at_most(section.run, int(section.name.rsplit(" ", 1)[1]), narrower),
        watch=watch,
    )


def wide_behind_wye(subject: Subject) -> Iterator[Sighting]:
    """See every wye whose outlet is widened right behind it: the step belongs ahead of the wye."""
    for one in subject.of_kind("wye"):
        behind, after = piece_after(one), bore_after(one)
        if behind is None or after is None or behind.traits.ends_stretch:
            continue
        if after <= one.bore_m or is_adapter(after, one.bore_m):
            continue
        if widest_inlet(subject, wye_of(subject, one)) > one.bore_m * (1.0 + 1e-9):
            continue
        yield Sighting(
            one.piece.place,
            f"wye in {one.run.name}",
            say("two streams meet in {} and only then get {}", size(one.bore_m), size(after)),
            say("take the wye itself with an outlet of {}", size(after)),
            resized(one.run.name, [one.place], after, f"{one.run.name}: wye {one.number} as wide as what follows"),
            watch=subject.watch_piece(one),
        )


RULES = (
    Rule("neck", "a piece smaller than both its neighbours", "the size of its neighbours", "practice", necks),
    Rule(
        "wide main",
        "a stretch so wide that the dust of a machine on its own settles in it, with no set that helps",
        "a smaller size, or a second gate open",
        "practice",
        wide_mains,
    ),
    Rule(
        "step behind the wye",
        "a wye that is smaller than the duct right behind it",
        "the wider size from the wye on",
        "practice",
        wide_behind_wye,
    ),
)
