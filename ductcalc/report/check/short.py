"""The verdict in short: the answer, what to do next, who gets what, what to watch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import chips_decide, exit_code, first_to_mend, poorest, way_out
from ductcalc.report.blocks import Block, Paragraph, Span, Style
from ductcalc.report.case_table import case_table
from ductcalc.report.check.sentences import case_title, thin_air, verdict
from ductcalc.report.check.sure import sure_words
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import changed_blocks
from ductcalc.report.sentences import listed
from ductcalc.report.short import PROVISIONAL, Typed, caution_lines, closing_lines, next_line, warning_lines

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}


def short_check(
    check: Check, display: Display, typed: Typed, every: bool = False, running: Iterable[Block] = ()
) -> Iterator[Block]:
    """Yield the verdict in short; every: all warnings; running: blocks that stand behind the table."""
    yield Paragraph((Span(verdict(check, display), TONES[exit_code(check)]),))
    yield from _next(check, typed)
    yield from caution_lines(check.findings, display)
    yield from changed_blocks(check.changes)
    yield from _said_first(check, display)
    if any(case.asked for case in check.loaded):
        yield Paragraph("")
        yield from case_table(check.loaded, display, check.chance)
    yield from running
    yield Paragraph("")
    yield from warning_lines(check.findings, display, typed, every)
    yield from how_sure(check, display)
    yield from closing_lines((), typed.again("--full"))


def _next(check: Check, typed: Typed) -> Iterator[Block]:
    """Yield what to do next: mend what is worst; when all is well, hang up the card."""
    case = first_to_mend(check)
    worst = None if case is None else poorest([case])
    if case is None or worst is None:
        return
    way = way_out(check, case) if chips_decide(case) else "improve"
    if way != "improve":
        yield next_line("Do first", typed.line(way))
    elif case.air != "ok" or chips_decide(case):
        whom = ("--set", case.name) if check.by_default and not case.alone else ("--for", worst.machine.machine)
        yield next_line("Do first", typed.line("improve", *whom))
    elif check.by_default:
        yield next_line("Next", typed.line("card"))


def _said_first(check: Check, display: Display) -> Iterator[Block]:
    if check.provisional:
        yield PROVISIONAL
    if check.always_open:
        yield Paragraph((Span(f"Always open, no gate on the way: {listed(check.always_open)}.", "warn"),))


def how_sure(check: Check, display: Display) -> Iterator[Block]:
    """Yield how sure the verdict is, what thin air takes, and what a water tube reads."""
    told = " ".join([*sure_words(check), *thin_air(check, display), *_tube(check, display)])
    if told:
        yield Paragraph(told)


def _tube(check: Check, display: Display) -> Iterator[str]:
    """Yield what a water tube at the collector's inlet reads in the case that decides."""
    case = next(case for case in check.loaded if case.name == check.subject.case)
    clean = check.clean(case)
    if case.collector is None or clean.collector is None or not case.asked:
        return
    reads, cleaned = (display.pressure(one.inlet_static_pa) for one in (case.collector, clean.collector))
    beside = "" if reads == cleaned else f", {cleaned} with a clean filter"
    yield f"A water tube at the collector's inlet reads {reads} with {case_title(case)}{beside}."
