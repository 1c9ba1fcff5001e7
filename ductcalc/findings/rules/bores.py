"""Bores that choke the air or let it go to sleep."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isclose
from typing import NamedTuple

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Choice, usable_machines
from ductcalc.cases.judged import SETTLES
from ductcalc.cases.solving import solve_choices
from ductcalc.cases.variants import outcomes
from ductcalc.catalog import is_adapter, sizes_for
from ductcalc.findings.changes import resized
from ductcalc.findings.observation import Observation, Watch
from ductcalc.findings.phrase import Phrase, say, size, speed
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules.hoses import hung_too_wide
from ductcalc.findings.rules.neighbours import (
    bore_after,
    narrow_sighting,
    narrow_stretches,
    piece_after,
    widest_inlet,
    wye_of,
)
from ductcalc.findings.subject import Subject, case_words
from ductcalc.findings.written import is_doubtful_size
from ductcalc.model.model import build_model
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.change import Change, section_at_most, together
from ductcalc.shop.names import key_of, the


def necks(subject: Subject) -> Iterator[Observation]:
    """See every stretch without hose that is smaller than what is on both sides of it."""
    for narrow in narrow_stretches(subject):
        if any(one.piece.kind == "flex" for one in narrow.pieces):
            continue
        one = next((one for one in narrow.pieces if one.piece.kind != "reducer"), narrow.pieces[0])
        what = say("{} between {} and {} is a neck", size(one.bore_m), size(narrow.before_m), size(narrow.after_m))
        yield narrow_sighting(subject, narrow, one, what, say("take it in {}", size(narrow.wide_m)))


def wide_mains(subject: Subject) -> Iterator[Observation]:
    """See every run that is too wide for a machine on its own: its chips settle behind a narrower drop.

    Where a set asked for may run with the machine in it, its chips move there and nothing needs to be said. Of several
    machines the one whose chips are slowest is told, and of its runs without another cure the worst one. A hose that is
    too wide for its port is told as that.
    """
    told = {one.name for one, _ in hung_too_wide(subject)}
    worst: list[tuple[int, list[int]]] = []
    for run in subject.written_runs:
        sections = [n for n, one in enumerate(subject.model.sections) if one.run == run.name and one.name not in told]
        found = [(place, wide) for place in range(len(subject.cases)) if (wide := _wide_for(subject, place, sections))]
        if found:
            slowest = min(found, key=lambda one: (round(_full_share(subject, one[0], one[1][0]), 2), -len(one[1])))
            worst.append(slowest)
    said: set[tuple[int, Phrase]] = set()
    for place, stretches in sorted(worst, key=lambda one: _full_share(subject, one[0], one[1][0])):
        seen = _wide(subject, place, stretches)
        if seen.change is not None or (place, seen.cure) not in said:
            yield seen
        said.add((place, seen.cure))


def _full_share(subject: Subject, place: int, number: int) -> float:
    case = subject.cases[place]
    return float(case.judged.full_share[number, case.column])


def _wide_for(subject: Subject, place: int, sections: Sequence[int]) -> list[int]:
    """Return which sections are too wide for the machine of a case of one, the slowest first."""
    case = subject.cases[place]
    found = [n for n in sections if case.single and case.settles[n] and _is_wide(subject, case, n)]
    return sorted(found, key=lambda number: _full_share(subject, place, number))


def _is_wide(subject: Subject, case: Case, number: int) -> bool:
    """Whether a section is wider than the drop that its air comes through, and that is why chips settle: in the drop's
    bore they would move, and the air that the machine wants would not move them either.
    """
    model, machine, needed = subject.model, key_of(case.asked[0]), float(case.needed_m_s[number])
    bore = model.sections[number].widest_m or 0.0
    ports = [p for p in model.ports_of[machine] if p in subject.ports_above[number]]
    drop = max((model.ports[p].bore_m for p in ports), default=0.0)
    if not ports or bore <= drop or is_adapter(bore, drop) or is_doubtful_size(bore):
        return False
    slow_if_served = sum(float(case.port_wanted_m3_s[p]) for p in ports) / float(bore_area(bore)) < needed
    fast_in_drop = float(case.section_flow_m3_s[number] / bore_area(drop)) >= needed
    helped = any(machine in other.running_keys and other.may_run for other in subject.together)
    return slow_if_served and fast_in_drop and not helped


def _wide(subject: Subject, place: int, stretches: Sequence[int]) -> Observation:
    """Return what is said of a run's sections that are too wide for a machine alone; stretches: the slowest first."""
    number = stretches[0]
    case, section = subject.cases[place], subject.model.sections[number]
    answer, needed = case.sections[number], float(case.needed_m_s[number])
    now, least = answer.deciding_velocity_m_s, answer.settling_velocity_m_s or 0.0
    bore, others = section.widest_m or 0.0, len(stretches) - 1
    hung = subject.model.hanging.sections[number]
    rows = [h.piece.place for h in hung.pieces if h.bore_m == bore and h.piece.place is not None]
    more = f"; so are {others} more stretches of {section.run}" if others > 1 else ""
    more = f"; so is another stretch of {section.run}" if others == 1 else more
    what = say(
        "{} is wide for {} alone: {}, least {}{}",
        size(bore), the(case.asked[0]), speed(now), speed(least), more,
    )  # fmt: skip
    helper, narrower = _helper(subject, case), _narrower(subject, case, stretches)
    watch, where = Watch(place, section=section.name), rows[0] if rows else None
    gates = [] if helper is None else [say("open the gate of {} with it", the(helper))]
    if narrower is None or narrower.harmed is not None:
        found = Observation(where, section.name, what, gates[0] if gates else _no_cure(narrower), watch=watch)
        return found._replace(amount=speed(now), share=1.0 - now / needed)
    hang = say("hang {} there", size(narrower.bore_m))
    cure = (*gates[0], ", or ", *hang) if gates else hang
    return Observation(where, section.name, what, cure, narrower.change, watch=watch)


def _no_cure(narrower: _Narrower | None) -> Phrase:
    """Return what is left where neither a gate nor a size helps without harm."""
    other = "give it a larger port, or a collector of its own"
    if narrower is None:
        return say("one more gate is not enough, nor another size of it alone: {}", other)
    bore, harmed = size(narrower.bore_m), narrower.harmed or ""
    return say("{} would do there, but {} may then not run; else {}", bore, harmed, other)


def _helper(subject: Subject, alone: Case) -> str | None:
    """Return the machine whose gate, open as well, lets a machine run and leaves it most air."""
    machine = alone.asked[0]
    choices = [Choice(m, (machine, m), helpers=(m,)) for m in usable_machines(subject.model) if m != machine]
    possible = [one for one in choices if not _share_a_hose(subject, one)]
    if not possible:
        return None
    cases = read_cases(solve_choices(subject.model, possible, ("loaded",)))
    cured = [case for case in cases if case.may_run]
    best = max(cured, key=lambda case: float(case.judged.case_share[case.column]), default=None)
    return None if best is None else best.name


def _share_a_hose(subject: Subject, choice: Choice) -> bool:
    sections = [{subject.model.ports[p].section for p in subject.model.ports_of[key_of(m)]} for m in choice.machines]
    return bool(sections[0] & sections[1])


class _Narrower(NamedTuple):
    """A bore [m] in which chips move, and the first case that may run now and not then."""

    bore_m: float
    change: Change
    harmed: str | None


def _narrower(subject: Subject, alone: Case, stretches: Sequence[int]) -> _Narrower | None:
    """Return the widest bore of some stretches that keeps a machine's chips moving, one that harms no case first.

    Every size is solved in every case: what is named cures.
    """
    model, ahead = subject.model, _widest_ahead(subject, stretches)
    widest = max(model.sections[number].widest_m or 0.0 for number in stretches)
    sizes = [size_m for size_m in sizes_for(subject.shop) if ahead <= size_m < widest]
    changes = [together(f"{size_m:.4g} m", [_at_most(subject, n, size_m) for n in stretches]) for size_m in sizes]
    models = [build_model(change.apply(model.shop), model.junction, loading=model.loading) for change in changes]
    place, found = subject.cases.index(alone), list[_Narrower]()
    for size_m, change, judged in zip(sizes, changes, outcomes(models, subject.choices), strict=True):
        moves = judged.solved[place] and (judged.chips[list(stretches), place] != SETTLES).all()
        harmed = (case_words(case) for n, case in enumerate(subject.cases) if case.may_run and not judged.may_run[n])
        if moves:
            found.append(_Narrower(size_m, change, next(harmed, None)))
    return max(found, key=lambda one: (one.harmed is None, one.bore_m), default=None)


def _at_most(subject: Subject, number: int, size_m: float) -> Change:
    section = subject.model.sections[number]
    return section_at_most(section.run, int(section.name.rsplit(" ", 1)[1]), size_m)


def _widest_ahead(subject: Subject, stretches: Sequence[int]) -> float:
    """Return the largest bore [m] that arrives at some sections from others, and of the ports whose air passes them."""
    model = subject.model
    streams = [stream.section for wye in model.hanging.wyes if wye.outlet in stretches for stream in wye.streams]
    ports = [model.ports[p].bore_m for number in stretches for p in subject.ports_above[number]]
    return max([*ports, *(model.sections[number].end_bore_m for number in streams if number not in stretches)])


def wide_behind_wye(subject: Subject) -> Iterator[Observation]:
    """See every wye whose outlet is widened right behind it: the step belongs ahead of the wye."""
    for one in subject.of_kind("wye"):
        behind, after = piece_after(one), bore_after(one)
        if behind is None or after is None or behind.traits.ends_stretch:
            continue
        if after <= one.bore_m or is_adapter(after, one.bore_m):
            continue
        if widest_inlet(subject, wye_of(subject, one)) > one.bore_m * (1.0 + 1e-9):
            continue
        yield Observation(
            one.piece.place,
            f"wye in {one.run.name}",
            say("two streams meet in {} and get {} only behind it", size(one.bore_m), size(after)),
            say("take the wye with an outlet of {}", size(after)),
            resized(one.run.name, [one.place], after, f"{one.run.name}: wye {one.number} as wide as what follows"),
            watch=subject.watch_piece(one),
        )


def same_size_reducers(subject: Subject) -> Iterator[Observation]:
    """See every reducer that ends in the size that arrives at it."""
    for one in subject.of_kind("reducer"):
        before = one.run.pieces[one.place - 1].size_m if one.place else None
        if before is None or not isclose(before, one.bore_m, rel_tol=1e-6):
            continue
        after = bore_after(one)
        cure = say("delete it, or write its size")
        if after is not None and not is_adapter(after, one.bore_m):
            cure = say("write its downstream size, {}", size(after))
        yield Observation(
            one.piece.place,
            f"reducer in {one.run.name}",
            say("it goes from {} to {} and changes nothing", size(before), size(one.bore_m)),
            cure,
            amount=size(one.bore_m),
        )


RULES = (
    Rule("neck", "a piece smaller than both its neighbours", "the size of its neighbours", "practice", necks),
    Rule(
        "reducer to itself",
        "a reducer that ends in the size that arrives",
        "its downstream size",
        "practice",
        same_size_reducers,
    ),
    Rule(
        "wide main",
        "a stretch so wide that the dust of a machine on its own settles in it, with no set that helps",
        "a smaller size, or a second gate open",
        "practice",
        wide_mains,
        symptom=True,
    ),
    Rule(
        "step behind the wye",
        "a wye that is smaller than the duct right behind it",
        "the wider size from the wye on",
        "practice",
        wide_behind_wye,
    ),
)
