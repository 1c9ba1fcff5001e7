"""The verdict in short: the answer, what to do next, who gets what, what to watch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import CasePair, by_effect, chips_decide, deciding_case, effect, exit_code, pairs, poorest
from ductcalc.cases.case import Case, MachineAnswer, SectionAnswer
from ductcalc.report.blocks import Block, Column, Grid, Paragraph, Span, Style, Words
from ductcalc.report.blown_words import blown_blocks
from ductcalc.report.changed_text import changed_blocks
from ductcalc.report.check_sentences import case_title, verdict
from ductcalc.report.display import Display
from ductcalc.report.grades import UNANSWERED, Spans, air_span, beside
from ductcalc.report.sentences import capitalised, listed, the
from ductcalc.report.short import Typed, closing_lines, next_line, warning_lines

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
MOST_OK = 8
"""Machines without a fault that have a line of their own; more are counted."""
MOST_HANGING = 2
LEAST_SWING = 0.01
"""Share of the wanted air from which on it is told what a figure hangs on: our judgement, no source."""


class _Line(NamedTuple):
    """One line of the table: a machine or a set, and whether it needs no word of its own."""

    name: str
    case: Case
    machine: MachineAnswer | None
    slow: SectionAnswer | None
    words: Spans
    plain: bool


def short_check(check: Check, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield the verdict in short."""
    yield Paragraph((Span(verdict(check, display), TONES[exit_code(check)]),))
    yield from _next(check, typed)
    yield from changed_blocks(check.changes)
    yield from _said_first(check, display)
    yield from blown_blocks(check.loaded, display)
    if any(case.asked for case in check.loaded):
        yield from _who_gets_what(check, display)
    yield Paragraph("")
    yield from warning_lines(check.findings, display, typed)
    yield from _hangs_on(check, display)
    yield from closing_lines((), typed.line("check", "--full"))


def _next(check: Check, typed: Typed) -> Iterator[Block]:
    """Yield what to do next: mend what is worst; when all is well, hang up the card."""
    case = deciding_case(check)
    if case is None:
        return
    worst = poorest([case])
    if chips_decide(case):
        yield next_line("Do first", typed.line("gates"))
    elif case.air != "ok" and worst is not None:
        whom = ("--for", worst.machine.machine) if case.alone else ("--set", case.name)
        named = case.alone or check.by_default
        yield next_line("Do first", typed.line("improve", *(whom if named else ("--for", worst.machine.machine))))
    elif check.by_default:
        yield next_line("Next", typed.line("card"))


def _said_first(check: Check, display: Display) -> Iterator[Block]:
    if check.provisional:
        said = "Provisional: only the two figures on the blower's box are known, counted cautiously. Get its curve."
        yield Paragraph((Span(said, "warn"),))
    if check.always_open:
        yield Paragraph((Span(f"Always open, no gate on the way: {listed(check.always_open)}.", "warn"),))


def _who_gets_what(check: Check, display: Display) -> Iterator[Block]:
    lines = [line for pair in pairs(check) for line in _lines(pair)]
    plain = [line for line in lines if line.plain]
    hidden = plain if len(plain) < len(lines) and len(lines) > MOST_OK else plain[MOST_OK:]
    shown = [line for line in lines if line not in hidden]
    flow, speed = display.unit("flow"), display.unit("speed")
    columns = (
        Column(("dirty filter", ""), wrap=True),
        Column(("wanted", flow), right=True),
        Column(("actual", flow), right=True),
        Column(("slowest stretch", ""), wrap=True),
        Column(("speed", speed), right=True, drop=1),
        Column(("least", speed), right=True, drop=0),
        Column(("", ""), wrap=True),
    )
    yield Paragraph("")
    yield Grid(columns, tuple(_row(line, display) for line in shown))
    if hidden:
        yield Paragraph(f"{_others(hidden, bool(shown))}: ok")


def _others(lines: Sequence[_Line], others: bool) -> str:
    """Return machines and sets that need no line of their own, in a few words."""
    names = [line.name for line in lines]
    if len(names) <= MOST_OK:
        return listed(names)
    return f"{len(names)} {'others' if others else 'machines and sets'}"


def _lines(pair: CasePair) -> Iterator[_Line]:
    """Yield a machine alone with its ports that lack air, or a set with its machines that do."""
    case = pair.loaded
    if not case.solved:
        yield _Line(_title(case), case, None, None, (UNANSWERED,), False)
    elif case.alone:
        machine = case.machine(case.asked[0])
        slow = case.slowest_on_way(machine.machine)
        yield _Line(_title(case), case, machine, slow, beside(air_span(machine), slow), case.word == "ok")
    else:
        yield from _set_lines(case)


def _set_lines(case: Case) -> Iterator[_Line]:
    if case.word == "ok":
        yield _Line(_title(case), case, None, case.slowest_of_grade, (Span("ok", "good"),), True)
        return
    yield _Line(_title(case), case, None, None, (), False)
    for machine in case.asked_machines:
        slow = case.slowest_on_way(machine.machine) if machine.runs else None
        if machine in case.lacking or (slow is not None and slow.word != "moves"):
            yield _Line(f"  {machine.machine}", case, machine, slow, beside(air_span(machine), slow), False)


def _title(case: Case) -> str:
    if case.alone:
        return case.name + (f" (opens {listed(case.opened_with)} too)" if case.opened_with else "")
    return case_title(case)


def _row(line: _Line, display: Display) -> tuple[Words, ...]:
    machine, slow = line.machine, line.slow
    air: tuple[str, str] = ("", "")
    if machine is not None:
        port = machine.poorest if machine.short_at_a_port else machine
        got = display.got_number(port.flow_m3_s, port.wanted_m3_s, machine.served or not machine.asked)
        air = (display.flow_number(port.wanted_m3_s), got)
    where = ("", "", "")
    if slow is not None:
        least = display.speed_number(slow.needed_velocity_m_s or 0.0)
        where = (slow.title, display.speed_number(slow.deciding_velocity_m_s), least)
    return (line.name, *air, *where, line.words)


def _hangs_on(check: Check, display: Display) -> Iterator[Block]:
    """Yield the assumptions that move the decisive figure most."""
    banded = [one for one in by_effect(check) if one.assumption.banded]
    least = LEAST_SWING * check.subject.wanted_m3_s
    told: list[str] = []
    for one in banded[:MOST_HANGING]:
        if one.low_m3_s is None or one.high_m3_s is None or effect(one) < least:
            continue
        low, high = sorted((one.low_m3_s, one.high_m3_s))
        told.append(f"{one.assumption.key} {display.flow_number(low)} to {display.flow(high)}")
    if told:
        whose = capitalised(the(check.subject.machine))
        yield Paragraph(f"{whose}'s figure hangs on what is assumed: {', '.join(told)}.")
