"""The verdict as text: first the answer, then the machines, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import (
    CasePair,
    KeyFigures,
    by_effect,
    exit_code,
    key_figures,
    leak_share,
    pairs,
    settling_places,
)
from ductcalc.cases.key_machines import KeyMachine
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, Style
from ductcalc.report.check.sentences import case_title, thin_air, verdict, why_no_answer
from ductcalc.report.check.sure import chance_blocks
from ductcalc.report.check.tables import (
    SETTLING,
    WORTH,
    collector_grid,
    machine_grid,
    speed_blocks,
    subject_words,
)
from ductcalc.report.columns import grid_of
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_blocks
from ductcalc.report.grades import grade_note
from ductcalc.report.head_and_foot import Numbered, changed_blocks, general_cautions, noted, program_line
from ductcalc.report.sentences import capitalised, listed, the

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}


def check_blocks(
    check: Check, display: Display, running: Iterable[Block] = (), every_finding: bool = False
) -> Iterator[Block]:
    """Yield the whole report of a verdict; `running`: blocks that stand behind the collector's point."""
    yield Paragraph((Span(verdict(check, display), TONES[exit_code(check)]),))
    yield from changed_blocks(check.changes)
    yield from _provisional(check, display)
    yield from _always_open(check)
    asked = any(case.asked for case in check.loaded)
    if asked:
        yield from _keymachine_blocks(check, display)
    yield from machine_blocks(check, display)
    yield from _far_more(check, display)
    yield from _settling(check, display)
    yield from speed_blocks(check.loaded, display)
    yield from findings_blocks(check.findings, display, every_finding)
    yield from _collector(check, display)
    yield from running
    if asked:
        yield from chance_blocks(check, display)
        yield from assumption_blocks(check, display)
        yield from other_way_blocks(check, display)
    yield from foot_blocks(check, display)
    yield from limit_blocks(check, display)
    yield Paragraph("")
    yield program_line(check.shop)


def _provisional(check: Check, display: Display) -> Iterator[Block]:
    if not check.provisional:
        return
    flows = [_flow_or_none(one.flow_m3_s, display) for one in check.by_curve]
    low, middle, high = flows if len(flows) == 3 else ("none",) * 3
    yield Paragraph(
        (
            Span("PROVISIONAL", "warn"),
            Span(
                f": only two advertised maxima of the blower are known. {capitalised(subject_words(check))}:"
                f" {low} by the low curve, which is counted on; {middle} by the middle one; {high} by the high one."
                " Have the curve or a measurement before buying."
            ),
        )
    )


def _always_open(check: Check) -> Iterator[Block]:
    if check.always_open:
        said = f"Always open, as no gate is on the way: {listed(check.always_open)}; counted open in every case."
        yield Paragraph((Span(said, "warn"),))


def _keymachine_blocks(check: Check, display: Display) -> Iterator[Block]:
    labels = {"Farthest": check.farthest, "Least margin": check.worst, "Largest demand": check.greediest}
    merged: dict[tuple[str, str], list[str]] = {}
    for label, key in labels.items():
        merged.setdefault((key.machine, key.case), []).append(label)
    if set(merged) == {(check.worst.machine, check.worst.case)} and len(check.loaded) == 1:
        merged = {(check.worst.machine, check.worst.case): ["Farthest, least margin"]}
    for labels_of in merged.values():
        key = labels.get(labels_of[0], check.worst)
        yield Paragraph(_key_words(labels_of, key, check, display), rest="  ")


def _key_words(labels: list[str], key: KeyMachine, check: Check, display: Display) -> tuple[Span, ...]:
    figures = key_figures(check, key)
    name = ", ".join([labels[0], *(label.lower() for label in labels[1:])])
    alone = figures.case.alone
    where = "" if alone else f" with {case_title(figures.case)}"
    return (
        Span(f"{name}: ", "strong"),
        Span(f"{the(figures.machine)}{where}, {display.length(figures.length_m)} from the collector, "),
        Span(_air_words(figures, display) + "; " + _suction_words(figures, display) + "."),
    )


def _air_words(figures: KeyFigures, display: Display) -> str:
    wanted = display.flow(figures.wanted_m3_s or 0.0)
    if figures.loaded is None:
        return f"wants {wanted}, no flow found ({why_no_answer(figures.case, display)})"
    clean = f" (clean filter {display.flow_number(figures.clean.flow_m3_s)})" if figures.clean else ""
    got = display.got_number(figures.loaded.flow_m3_s, figures.loaded.wanted_m3_s, figures.loaded.served)
    return f"gets {got} of {wanted} wanted{clean}"


def _suction_words(figures: KeyFigures, display: Display) -> str:
    if figures.needed_pa is None and figures.case.own_blowers:
        return "what suction it needs at the wanted flow is not told, as an own blower pushes there"
    if figures.needed_pa is None:
        return "no suction was found that would draw the wanted flow"
    if figures.needed_pa <= 0.0:
        return "at the wanted flow it needs no suction, as its own blower pushes that air"
    needed = display.pressure(figures.needed_pa + figures.static_pa)
    would = f"{display.flow_number(figures.wanted_m3_s or 0.0)} would need {needed} at the collector's inlet"
    if figures.available_pa is None or figures.margin_pa is None:
        return f"{would}; that flow lies beyond the blower's curve"
    if figures.available_pa <= 0.0:
        return f"{would}; the collector has none left at that flow"
    has = display.pressure_number(figures.available_pa + figures.static_pa)
    if has == display.pressure_number(figures.needed_pa + figures.static_pa):
        return f"{would}; the collector has just that"
    return f"{would}; the collector has {has}"


def machine_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield the machines alone, then those of each set."""
    alone = [pair for pair in pairs(check) if pair.alone]
    if alone:
        one = len(alone) == 1
        yield Heading(f"{capitalised(case_title(alone[0].loaded)) if one else 'Each machine alone'}, dirty filter")
        yield machine_grid(alone, display)
    for pair in pairs(check):
        if not pair.alone:
            yield from _one_case(pair, display)


def _one_case(pair: CasePair, display: Display) -> Iterator[Block]:
    yield Heading(f"With {case_title(pair.loaded)}, dirty filter")
    if pair.loaded.asked:
        yield machine_grid([pair], display)
    if not pair.loaded.solved:
        yield Paragraph(capitalised(why_no_answer(pair.loaded, display)) + ".")
    leak = pair.loaded.gate_leak_m3_s
    if leak:
        said = f"leak {display.flow(leak)}" if leak > 0.0 else f"{display.flow(-leak)} more blow out than leak in"
        yield Paragraph(f"Shut gates {said}.")
    if pair.loaded.note:
        yield Paragraph(capitalised(pair.loaded.note) + ".")


def _far_more(check: Check, display: Display) -> Iterator[Block]:
    """Yield who gets far more air than wanted: a remark, no grade."""
    found: dict[str, str] = {}
    for case in check.loaded:
        for machine in case.asked_machines:
            if machine.runs and machine.far_more:
                got = f"{display.flow_number(machine.flow_m3_s)} of {display.flow(machine.wanted_m3_s)}"
                found.setdefault(machine.machine, f"{machine.machine} {got}")
    if found:
        yield Paragraph(f"Far more air than wanted: {', '.join(found.values())}.")


def _settling(check: Check, display: Display) -> Iterator[Block]:
    places = settling_places(check)
    if places:
        yield Heading("Where chips settle, dirty filter")
        yield grid_of(SETTLING, places, display)


def _collector(check: Check, display: Display) -> Iterator[Block]:
    shown = [p for p in pairs(check) if not p.alone or p.loaded.name == check.subject.case]
    cases = [case for pair in shown for case in pair if case.collector]
    if not cases:
        return
    point = cases[0].collector
    assert point is not None
    yield Heading("The collector at work")
    yield collector_grid(cases, display)
    yield Paragraph(
        f"{point.name}: suction is measured where the duct ends, ahead of cyclone and filter; blower pressure is"
        f" {point.basis}{' pressure' if point.basis != 'inlet suction' else ''}."
    )
    if any(case.collector and case.collector.left_of_curve for case in cases):
        yield Paragraph("A flow left of the blower's first point: its pressure there is carried on from the points.")
    yield from _leaks(check, display)


def _leaks(check: Check, display: Display) -> Iterator[Block]:
    case = next(case for case in check.loaded if case.name == check.subject.case)
    if not case.collector or case.joint_leak_m3_s is None or case.gate_leak_m3_s is None:
        return
    both = ((case.joint_leak_m3_s, "joints"), (case.gate_leak_m3_s, "shut gates"))
    subject = capitalised(subject_words(check) if case.asked else case_title(case))
    inwards = [
        f"{display.flow(leak)} ({display.share(leak_share(case, leak))}) through {where}"
        for leak, where in both
        if leak >= 0.0
    ]
    said = [f"of the collector's air {' and '.join(inwards)} leaks in"] if inwards else []
    said += [f"{display.flow(-leak)} more blow out than leak in through {where}" for leak, where in both if leak < 0.0]
    yield Paragraph(f"{subject}: {'; '.join(said)}.")


def assumption_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield what is assumed, the air that hangs on each, and the sources."""
    if not check.assumptions:
        return
    sources = Numbered()
    ordered = by_effect(check)
    banded = [worth for worth in ordered if worth.assumption.banded]
    yield Heading(f"Assumptions, and the air that hangs on each: {subject_words(check)}")
    if banded:
        numbered = [(worth, sources.number(worth.assumption.source)) for worth in banded]
        yield grid_of(WORTH, numbered, display)
    for worth in ordered[len(banded) :]:
        yield noted(worth.assumption.with_places)
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def other_way_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield what other wye methods come to."""
    own = check.subject.answer.flow_m3_s if check.subject.answer else None
    others = ", ".join(f"{one.method} {_flow_or_none(one.flow_m3_s, display)}" for one in check.methods)
    yield Heading(f"With other wye methods: {subject_words(check)}")
    yield Paragraph(f"Wyes by {check.junction} (used here) {_flow_or_none(own, display)}; {others}.")
    if check.chips is not None:
        yield Paragraph(
            f"With chips in the air as at a planer's full cut, {the(check.chips.method)} gets"
            f" {_flow_or_none(check.chips.flow_m3_s, display)}."
        )


def _flow_or_none(flow_m3_s: float | None, display: Display) -> str:
    return "no answer" if flow_m3_s is None else display.flow(flow_m3_s)


LIMITS = (
    "Loss coefficients are rounded judgement as much as measurement: a real system agrees with a good calculation"
    " within 10 to 25 % (from memory).",
    "Density is held constant along the path. Dilute wood dust and chips only: no sparks, no metal, no fumes.",
)


def foot_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield remarks, what is not used yet, and the air."""
    own = [*_crossings(check, display), *_case_notes(check)]
    if own or check.remarks or check.unused:
        yield Heading("Remarks")
    for remark in own:
        yield noted(remark)
    for remark in check.remarks:
        yield noted(remark)
    for unused in check.unused:
        yield noted(f"read, but not used in any figure yet: {unused}")
    yield Heading("Notes")
    yield noted(grade_note())
    yield noted(_air_note(check, display))
    yield from map(noted, thin_air(check, display))
    yield from map(noted, _readings(check, display))
    yield noted(_unit_words(display))
    yield noted(
        f"With every gate shut and a clean filter the collector can pull {display.pressure(check.shut_off_pa)}:"
        " thin pipe must stand that."
    )


def _crossings(check: Check, display: Display) -> Iterator[str]:
    """Say where ducts and a humped curve agree at several flows."""
    for case in check.cases:
        if case.collector is not None and case.other_crossings_m3_s:
            flows = sorted([*case.other_crossings_m3_s, case.collector.flow_m3_s])
            yield (
                f"{case_title(case)}, {case.filter} filter: ducts and blower agree at"
                f" {listed([display.flow(flow) for flow in flows])}; the largest steady one is taken. Doubt the"
                " blower's points: a curve that falls and rises again is rare."
            )


def _case_notes(check: Check) -> Iterator[str]:
    return (f"{case_title(case)}: {case.note}." for case in check.loaded if case.note)


def limit_blocks(check: Check, display: Display) -> Iterator[Block]:
    """Yield limits and cautions; what leaves the room first."""
    for limit in LIMITS:
        yield noted(limit)
    flows = [case.collector.flow_m3_s for case in check.cases if case.collector is not None]
    if check.room.exhaust == "outdoors" and flows and not check.room.heater:
        yield noted(f"Exhausts outdoors: up to {display.flow(max(flows))} leave the room and come back in.")
    yield from general_cautions()


def _air_note(check: Check, display: Display) -> str:
    air = check.air
    said = f"Air: {display.density(air.density_kg_m3)}, {air.says}"
    if air.stated:
        return f"{said}."
    return (
        f"{said} ({display.altitude(air.altitude_m)}, {display.temperature(air.temperature_k)}, humidity"
        f" {display.share(air.humidity)})."
    )


def _readings(check: Check, display: Display) -> Iterator[str]:
    """Say how readings must be taken in thin air."""
    if check.thin_air:
        slow = display.share(1.0 - (1.0 - check.thin_air) ** 0.5)
        yield f"A Pitot tube read by the sea-level constant shows {slow} too little speed here."


def _unit_words(display: Display) -> str:
    if display.system == "metric":
        return "Pressures in pascal; 1 inch of water is 249.0889 Pa."
    return "inwg is inches of water; 1 inch of water is 249.0889 Pa."
