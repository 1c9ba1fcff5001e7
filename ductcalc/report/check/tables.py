"""The tables of a verdict: machines, where chips settle, the collector's point, assumptions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from ductcalc.answers.check import Check
from ductcalc.answers.verdict import CasePair, SettlingPlace
from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer, PortAnswer, SectionAnswer
from ductcalc.cases.worth import WorthAnswer
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Words
from ductcalc.report.check.sentences import case_title
from ductcalc.report.display import Display
from ductcalc.report.grades import AIR, UNANSWERED, air_span, beside

Row = tuple[Words, ...]
CASES_BESIDE = 8
"""Cases whose speeds stand side by side."""


def machine_grid(pairs: Sequence[CasePair], display: Display) -> Grid:
    """Return the machines asked for in some cases, a line each, and one below for each port when there are several."""
    flow, speed = display.unit("flow"), display.unit("speed")
    columns = (
        Column(("machine", ""), wrap=True),
        Column(("wanted", flow), right=True),
        Column(("actual", flow), right=True),
        Column(("clean", flow), right=True, drop=0),
        Column(("slowest", "section"), wrap=True, drop=3),
        Column(("speed", speed), right=True, drop=2),
        Column(("least", speed), right=True, drop=1),
        Column(("", "verdict"), wrap=True),
    )
    return Grid(columns, tuple(row for pair in pairs for row in _rows(pair, display)))


def _rows(pair: CasePair, display: Display) -> Iterator[Row]:
    loaded, clean = pair
    if not loaded.solved:
        for name in loaded.asked or (loaded.name,):
            yield (name, "", "none", "", "", "", "", (UNANSWERED,))
        return
    for machine in loaded.machines:
        if machine.asked or (machine.open and not pair.alone):
            twin = clean.machine(machine.machine) if clean.solved else None
            slow = loaded.slowest_on_way(machine.machine) if machine.runs else None
            yield _machine_row(machine, twin, slow, display)
            if len(machine.ports) > 1:
                yield from _port_rows(machine, twin, display)


def _machine_row(
    machine: MachineAnswer, clean: MachineAnswer | None, slow: SectionAnswer | None, display: Display
) -> Row:
    enough = machine.served or not machine.asked
    return (
        machine.machine,
        display.flow_number(machine.wanted_m3_s),
        display.got_number(machine.flow_m3_s, machine.wanted_m3_s, enough),
        display.flow_number(clean.flow_m3_s) if clean else "none",
        slow.section if slow else "",
        display.speed_number(slow.deciding_velocity_m_s) if slow else "",
        display.speed_number(slow.settling_velocity_m_s or 0.0) if slow else "",
        beside(air_span(machine), slow),
    )


def _port_rows(machine: MachineAnswer, clean: MachineAnswer | None, display: Display) -> Iterator[Row]:
    others: Iterable[PortAnswer | None] = clean.ports if clean else [None] * len(machine.ports)
    for port, other in zip(machine.ports, others, strict=True):
        yield (
            f"- port {port.run}",
            display.flow_number(port.wanted_m3_s),
            display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough),
            display.flow_number(other.flow_m3_s) if other else "none",
            "",
            "",
            "",
            (AIR[port.grade],),
        )


def settling_grid(places: Sequence[SettlingPlace], display: Display) -> Grid:
    """Return the sections in which chips settle: the worst case of each."""
    speed = display.unit("speed")
    columns = (
        Column(("section", ""), wrap=True),
        Column(("speed", speed), right=True),
        Column(("aim", speed), right=True, drop=1),
        Column(("least", speed), right=True),
        Column(("for", ""), wrap=True, drop=2),
        Column(("worst with", ""), wrap=True),
        Column(("in", "cases"), right=True, drop=0),
    )
    return Grid(columns, tuple(_settling_row(place, display) for place in places))


def _settling_row(place: SettlingPlace, display: Display) -> Row:
    section = place.section
    return (
        section.section + (" (rising)" if section.decides == "riser" else ""),
        display.speed_number(section.deciding_velocity_m_s),
        display.speed_number(section.needed_velocity_m_s or 0.0),
        display.speed_number(section.settling_velocity_m_s or 0.0),
        section.material or "",
        case_title(place.case),
        str(place.times),
    )


def speed_blocks(cases: Sequence[Case], display: Display) -> Iterator[Block]:
    """Yield the speed of every section in every case, cases side by side, some at a time."""
    solved = [case for case in cases if case.solved]
    if not solved:
        return
    yield Heading(f"Speed of every section, {display.unit('speed')}, dirty filter")
    for first in range(0, len(solved), CASES_BESIDE):
        some = solved[first : first + CASES_BESIDE]
        numbers = range(first + 1, first + 1 + len(some))
        columns = (Column(("section",), wrap=True), *(Column((str(number),), right=True) for number in numbers))
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
    pressure = display.unit("pressure")
    columns = (
        Column(("open", ""), wrap=True),
        Column(("filter", "")),
        Column(("flow", display.unit("flow")), right=True),
        Column(("static", f"suction {pressure}"), right=True),
        Column(("total", f"suction {pressure}"), right=True, drop=2),
        Column(("blower", pressure), right=True, drop=3),
        Column(("cyclone", pressure), right=True, drop=0),
        Column(("filter", pressure), right=True, drop=1),
    )
    rows = [_collector_row(case, display) for case in cases if case.collector]
    powers = [case.collector.power_w for case in cases if case.collector]
    if all(power is None for power in powers):
        return Grid(columns, tuple(rows))
    shown = ["" if power is None else display.power_number(power) for power in powers]
    power_column = Column(("power", display.unit("power")), right=True, drop=4)
    return Grid((*columns, power_column), tuple((*row, power) for row, power in zip(rows, shown, strict=True)))


def _collector_row(case: Case, display: Display) -> Row:
    point = case.collector
    assert point is not None
    parts = [display.pressure_number(p) if p is not None else "none" for p in (point.cyclone_pa, point.filter_pa)]
    return (
        case_title(case),
        case.filter,
        display.flow_number(point.flow_m3_s),
        display.pressure_number(point.inlet_static_pa),
        display.pressure_number(point.inlet_total_pa),
        display.pressure_number(point.blower_pa),
        *parts,
    )


def worth_grid(worths: Sequence[WorthAnswer], notes: Sequence[int], display: Display) -> Grid:
    """Return the assumptions with a band and the subject's air at both ends; `notes` number their sources."""
    flow = display.unit("flow")
    columns = (
        Column(("assumed", ""), wrap=True),
        Column(("from", flow), right=True),
        Column(("to", flow), right=True),
        Column(("note", ""), right=True),
    )
    return Grid(columns, tuple(_worth_row(w, n, display) for w, n in zip(worths, notes, strict=True)))


def _worth_row(worth: WorthAnswer, note: int, display: Display) -> Row:
    ends = (worth.low_m3_s, worth.high_m3_s)
    shown = [display.flow_number(end) if end is not None else "none" for end in sorted(ends, key=lambda e: e or 0.0)]
    return (assumption_words(worth), *shown, f"[{note}]")


def assumption_words(worth: WorthAnswer) -> str:
    """Return an assumption with the places it holds for."""
    where = worth.assumption.where
    return worth.assumption.text + (f" ({', '.join(where)})" if where else "")


def subject_words(check: Check) -> str:
    """Return the machine and case that assumptions and other methods are shown for."""
    case = next(case for case in check.loaded if case.name == check.subject.case)
    return check.subject.machine + (" alone" if case.alone else f" with {case_title(case)}")
