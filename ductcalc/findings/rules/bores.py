"""Bores that choke the air or let it go to sleep."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.catalog import is_adapter
from ductcalc.findings.phrase import say, size, speed
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.neighbours import bore_after, bore_before, piece_after
from ductcalc.findings.sighting import Sighting, Watch
from ductcalc.findings.sizes import resized, sizes_of
from ductcalc.findings.subject import SeenCase, Subject
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.change import section_at_most
from ductcalc.shop.standing import Standing


def necks(subject: Subject) -> Iterator[Sighting]:
    """See every stretch without hose that is smaller than what is on both sides of it."""
    for narrow in narrow_stretches(subject):
        if any(one.piece.kind == "flex" for one in narrow.pieces):
            continue
        one = next((one for one in narrow.pieces if one.piece.kind != "reducer"), narrow.pieces[0])
        wide = narrow.wide_m
        yield Sighting(
            one.piece.place,
            f"{one.piece.kind} in {one.run.name}",
            say("{} between {} and {}: a neck", size(one.bore_m), size(narrow.before_m), size(narrow.after_m)),
            say("take it in {}", size(wide)),
            resized(one.run.name, narrow.places, wide, f"{one.run.name}: no neck"),
            watch=subject.watch_piece(one),
        )


def wide_mains(subject: Subject) -> Iterator[Sighting]:
    """See every run that is too wide for a machine on its own: its chips settle behind a narrower drop."""
    for run in subject.shop.runs:
        worst: tuple[float, int, int] | None = None
        for number, section in enumerate(subject.model.sections):
            if section.run != run.name:
                continue
            for place, case in enumerate(subject.cases):
                if case.alone and case.settles[number] and _is_wide(subject, case, number):
                    key = (float(case.speed_m_s[number] / case.needed_m_s[number]), place, number)
                    worst = key if worst is None else min(worst, key)
        if worst is not None:
            yield from _wide(subject, worst[1], worst[2])


def _is_wide(subject: Subject, case: SeenCase, number: int) -> bool:
    """Whether a section is wider than the drop that its air comes through."""
    model = subject.model
    drops = [model.ports[p].bore_m for p in subject.ports_above[number] if case.machines[0] == model.ports[p].machine]
    bore = model.sections[number].widest_m()
    return bool(drops) and bore > max(drops) and not is_adapter(bore, max(drops))


def _wide(subject: Subject, place: int, number: int) -> Iterator[Sighting]:
    case, section = subject.cases[place], subject.model.sections[number]
    flow, bore = float(case.section_flow_m3_s[number]), section.widest_m()
    needed = float(case.needed_m_s[number])
    narrower = [s for s in sizes_of(subject.shop) if s < bore and flow / float(bore_area(s)) >= needed]
    if not narrower:
        return
    hung = subject.model.hanging.sections[number]
    rows = [h.piece.place for h in hung.pieces if h.bore_m == bore and h.piece.place is not None]
    yield Sighting(
        rows[0] if rows else None,
        section.name,
        say(
            "{} is wide for the {} alone: {} where {} needs {}",
            size(bore), case.machines[0], speed(float(case.speed_m_s[number])), "its dust", speed(needed),
        ),
        say("open another gate along with it, or hang {} if the others can spare the air", size(narrower[-1])),
        section_at_most(section.run, int(section.name.rsplit(" ", 1)[1]), narrower[-1]),
        watch=Watch(place, section=section.name),
    )  # fmt: skip


def wide_behind_wye(subject: Subject) -> Iterator[Sighting]:
    """See every wye whose outlet is widened right behind it: the step belongs ahead of the wye."""
    for one in subject.of_kind("wye"):
        behind, after = piece_after(one), bore_after(one)
        if behind is None or after is None or behind.kind == "collector":
            continue
        if after <= one.bore_m or is_adapter(after, one.bore_m):
            continue
        yield Sighting(
            one.piece.place,
            f"wye in {one.run.name}",
            say("two streams meet in {} and only then get {}", size(one.bore_m), size(after)),
            say("take the wye itself with a {} outlet", size(after)),
            resized(one.run.name, [one.place], after, f"{one.run.name}: wye {one.number} as wide as what follows"),
            watch=subject.watch_piece(one),
        )


RULES = (
    Rule("neck", "a piece smaller than both its neighbours", "the size of its neighbours", "practice", necks),
    Rule(
        "wide main",
        "a stretch so wide that the dust of one machine on its own settles in it",
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
