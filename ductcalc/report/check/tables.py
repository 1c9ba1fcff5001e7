"""The tables of a verdict: machines, where chips settle, the collector's point, assumptions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from ductcalc.answers.check import Check
from ductcalc.answers.columns import Columns
from ductcalc.answers.verdict import CasePair, SettlingPlace
from ductcalc.cases.case import Case
from ductcalc.cases.figures import CollectorAnswer, MachineAnswer, PortAnswer, SectionAnswer
from ductcalc.cases.worth import WorthAnswer
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Words
from ductcalc.report.check.sentences import case_title
from ductcalc.report.columns import grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.grades import AIR, UNANSWERED, air_span, beside

CASES_BESIDE = 8
"""Cases whose speeds stand side by side."""


class _Line(NamedTuple):
    """A machine or one of its ports: its air with the dirty filter and with a clean one, its slowest section."""

    name: str
    air: MachineAnswer | PortAnswer | None
    enough: bool
    clean: MachineAnswer | PortAnswer | None
    slow: SectionAnswer | None
    word: Words


def machine_grid(pairs: Sequence[CasePair], display: Display) -> Grid:
    """Return the machines asked for in some cases, a line each, and one below for each port when there are several."""

    def got(line: _Line) -> str:
        air = line.air
        return "none" if air is None else display.got_number(air.flow_m3_s, air.wanted_m3_s, line.enough)

    def clean(line: _Line) -> float | str | None:
        return None if line.air is None else line.clean.flow_m3_s if line.clean else "none"

    columns: Columns[_Line] = (
        titled("machine", lambda line: line.name),
        titled("wanted", lambda line: line.air and line.air.wanted_m3_s, "flow"),
        titled("actual", got, "flow"),
        titled("clean", clean, "flow", 0),
        titled("slowest\nsection", lambda line: line.slow and line.slow.section, drop=3),
        titled("speed", lambda line: line.slow and line.slow.deciding_velocity_m_s, "speed", 2),
        titled("least", lambda line: line.slow and (line.slow.settling_velocity_m_s or 0.0), "speed", 1),
        titled("\nverdict", lambda line: line.word),
    )
    return grid_of(columns, (line for pair in pairs for line in _lines(pair)), display)


def _lines(pair: CasePair) -> Iterator[_Line]:
    loaded, clean = pair
    if not loaded.solved:
        for name in loaded.asked or (loaded.name,):
            yield _Line(name, None, False, None, None, (UNANSWERED,))
        return
    for machine in loaded.machines:
        if machine.asked or (machine.open and not pair.alone):
            twin = clean.machine(machine.machine) if clean.solved else None
            slow = loaded.slowest_on_way(machine.machine) if machine.runs else None
            enough = machine.served or not machine.asked
            yield _Line(machine.machine, machine, enough, twin, slow, beside(air_span(machine), slow))
            if len(machine.ports) > 1:
                yield from _port_lines(machine, twin)


def _port_lines(machine: MachineAnswer, clean: MachineAnswer | None) -> Iterator[_Line]:
    others: Iterable[PortAnswer | None] = clean.ports if clean else [None] * len(machine.ports)
    for port, other in zip(machine.ports, others, strict=True):
        yield _Line(f"- port {port.run}", port, port.enough, other, None, (AIR[port.grade],))


SETTLING: Columns[SettlingPlace] = (
    titled("section", lambda place: place.section.section + " (rising)" * (place.section.decides == "riser")),
    titled("speed", lambda place: place.section.deciding_velocity_m_s, "speed"),
    titled("aim", lambda place: place.section.needed_velocity_m_s or 0.0, "speed", 1),
    titled("least", lambda place: place.section.settling_velocity_m_s or 0.0, "speed"),
    titled("for", lambda place: place.section.material, drop=2),
    titled("worst with", lambda place: case_title(place.case)),
    titled("in\ncases", lambda place: place.times, drop=0, right=True),
)
"""Sections in which chips settle: the worst case of each."""


def speed_blocks(cases: Sequence[Case], display: Display) -> Iterator[Block]:
    """Yield the speed of every section in every case, cases side by side, some at a time."""
    solved = [case for case in cases if case.solved]
    if not solved:
        return
    yield Heading(f"Speed of every section, {display.unit('speed')}, dirty filter")
    for first in range(0, len(solved), CASES_BESIDE):
        some = solved[first : first + CASES_BESIDE]
        numbers = range(first + 1, first + 1 + len(some))
        columns = (GridColumn(("section",), wrap=True), *(GridColumn((str(n),), right=True) for n in numbers))
        rows = zip(*(case.sections for case in some), strict=True)
        yield Grid(columns, tuple((row[0].title, *(_speed(one, display) for one in row)) for row in rows))
        yield Paragraph("; ".join(f"{n} {case_title(case)}" for n, case in zip(numbers, some, strict=True)) + ".")
    yield Paragraph("~ chips slow, ! chips settle, - no chips pass.")


def _speed(section: SectionAnswer, display: Display) -> Words:
    if section.needed_velocity_m_s is None:
        return "-"
    mark = {"slow": "~", "settles": "!"}.get(section.word, "")
    return display.speed_number(section.deciding_velocity_m_s) + mark


def collector_grid(cases: Sequence[Case], display: Display) -> Grid:
    """Return the collector's point in some cases: what flows, and the suctions at the duct's end."""
    lines = [(case, case.collector) for case in cases if case.collector]
    powered = any(point.power_w is not None for _, point in lines)
    return grid_of(COLLECTOR if powered else COLLECTOR[:-1], lines, display)


_Point = tuple[Case, CollectorAnswer]
COLLECTOR: Columns[_Point] = (
    titled("open", lambda line: case_title(line[0])),
    titled("filter", lambda line: line[0].filter),
    titled("flow", lambda line: line[1].flow_m3_s, "flow"),
    titled("static\nsuction", lambda line: line[1].inlet_static_pa, "pressure"),
    titled("total\nsuction", lambda line: line[1].inlet_total_pa, "pressure", 2),
    titled("blower", lambda line: line[1].blower_pa, "pressure", 3),
    titled("cyclone", lambda line: _or_none(line[1].cyclone_pa), "pressure", 0),
    titled("filter", lambda line: _or_none(line[1].filter_pa), "pressure", 1),
    titled("power", lambda line: line[1].power_w, "power", 4),
)


def _or_none(value: float | None) -> float | str:
    return "none" if value is None else value


_Worth = tuple[WorthAnswer, int]
WORTH: Columns[_Worth] = (
    titled("assumed", lambda line: line[0].assumption.with_places),
    titled("from", lambda line: _or_none(_ends(line[0])[0]), "flow"),
    titled("to", lambda line: _or_none(_ends(line[0])[1]), "flow"),
    titled("note", lambda line: f"[{line[1]}]", right=True),
)
"""Assumptions with a band: the subject's air at both ends, and the number of the note on the source."""


def _ends(worth: WorthAnswer) -> list[float | None]:
    return sorted((worth.low_m3_s, worth.high_m3_s), key=lambda end: end or 0.0)


def subject_words(check: Check) -> str:
    """Return the machine and case that assumptions and other methods are shown for."""
    case = next(case for case in check.loaded if case.name == check.subject.case)
    return check.subject.machine + (" alone" if case.alone else f" with {case_title(case)}")
