"""Who gets what in some cases, in one short table that check, gates and others share."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from ductcalc.answers.columns import Columns
from ductcalc.cases.case import Case
from ductcalc.cases.chances import Chance
from ductcalc.cases.figures import MachineAnswer, PortAnswer, SectionAnswer
from ductcalc.report.blocks import Block, Paragraph, Span, glued
from ductcalc.report.check.sentences import case_title
from ductcalc.report.columns import grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.grades import AIR, UNANSWERED, Spans, air_span, beside, lacks_at_port
from ductcalc.report.sentences import listed

MOST_OK = 8
"""Machines without a fault that have a line of their own; more are counted."""

SAME = "as above"


ChanceOf = Callable[[Case, str], Chance | None]


def no_chance(case: Case, machine: str) -> None:
    """Return no band, where none was asked for."""


class _Line(NamedTuple):
    """One line of the table: a machine, its port that lacks air or a set, and whether it needs no word of its own."""

    name: str
    case: Case
    taker: MachineAnswer | PortAnswer | None
    slow: SectionAnswer | None
    words: Spans
    plain: bool
    where: str = ""


def case_table(cases: Sequence[Case], display: Display, chance_of: ChanceOf = no_chance) -> Iterator[Block]:
    """Yield who gets what in some cases: what has a fault line by line, all else in a line of its own at the end.

    chance_of: a machine's band in a case, which stands beside its air.
    """
    lines = [line for case in cases for line in _lines(case)]
    plain = [line for line in lines if line.plain]
    hidden = plain if len(plain) < len(lines) and len(lines) > MOST_OK else plain[MOST_OK:]
    shown = list(_named_once([line for line in lines if line not in hidden]))
    band: Columns[_Line] = (titled("band", lambda line: _band(line, display, chance_of), "flow", 1),)
    columns: Columns[_Line] = (
        titled("dirty\nfilter", lambda line: line.name),
        titled("wanted", lambda line: line.taker and line.taker.wanted_m3_s, "flow"),
        titled("actual", lambda line: _got(line, display), "flow"),
        *(band if chance_of is not no_chance else ()),
        titled("slowest stretch", lambda line: line.where),
        titled("speed", lambda line: line.slow and line.slow.deciding_velocity_m_s, "speed", 2),
        titled("least", lambda line: line.slow and (line.slow.settling_velocity_m_s or 0.0), "speed", 0),
        titled("", lambda line: line.words),
    )
    yield grid_of(columns, shown, display)
    if hidden:
        yield Paragraph(f"{_others(hidden, bool(shown))}: ok")


def _named_once(lines: Sequence[_Line]) -> Iterator[_Line]:
    """Yield lines with their slowest stretch, which is not named again where it is that of the line before."""
    above = ""
    for line in lines:
        title = line.slow.title if line.slow else line.where
        yield line._replace(where=SAME if title == above and len(title) > len(SAME) else title)
        above = title


def _others(lines: Sequence[_Line], others: bool) -> str:
    """Return machines and sets that need no line of their own, in a few words."""
    names = [line.name for line in lines]
    if len(names) <= MOST_OK:
        return listed(names)
    return f"{len(names)} {'others' if others else 'machines and sets'}"


def _lines(case: Case) -> Iterator[_Line]:
    """Yield a machine alone, or a set with its machines."""
    if not case.solved:
        yield _Line(_title(case), case, None, None, (UNANSWERED,), False)
    elif case.alone:
        yield from _machine_lines(case, case.machine(case.asked[0]), _title(case))
    elif case.word == "ok":
        yield _Line(_title(case), case, None, case.slowest, (Span("ok", "good"),), True)
    else:
        yield _Line(_title(case), case, None, None, (), False)
        for machine in case.asked_machines:
            yield from _machine_lines(case, machine, machine.machine, "  ")


def _machine_lines(case: Case, machine: MachineAnswer, name: str, indent: str = "") -> Iterator[_Line]:
    """Yield a machine, and below it the one of several ports that decides where air is lacking."""
    slow = case.slowest_on_way(machine.machine) if machine.runs else None
    lacks = machine.runs and lacks_at_port(machine)
    air = AIR[machine.grade] if lacks else air_span(machine)
    yield _Line(glued(indent) + name, case, machine, slow, beside(air, slow), case.word == "ok")
    if lacks:
        port = machine.poorest
        yield _Line(glued(f"{indent}  a port"), case, port, None, (air,), False, port.run)


def _title(case: Case) -> str:
    if case.alone:
        return case.name + (f" (opens {listed(case.opened_with)} too)" if case.opened_with else "")
    return case_title(case)


def _got(line: _Line, display: Display) -> str | None:
    taker = line.taker
    if taker is None:
        return None
    enough = taker.enough if isinstance(taker, PortAnswer) else taker.served or not taker.asked
    return display.got_number(taker.flow_m3_s, taker.wanted_m3_s, enough)


def _band(line: _Line, display: Display, chance_of: ChanceOf) -> str | None:
    """Return the band of a machine's air; of a port alone none is known."""
    if not isinstance(line.taker, MachineAnswer):
        return None
    chance = chance_of(line.case, line.taker.machine)
    return None if chance is None else glued(display.band(chance.low_m3_s, chance.high_m3_s))
