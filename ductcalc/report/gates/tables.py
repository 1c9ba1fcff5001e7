"""The tables of a gate report: machines alone, pairs, named sets, forgotten gates, leaks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.gates.forgotten import LEAKS, LeakAnswer
from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.school import StretchAnswer
from ductcalc.answers.gates.sorting import SizeCount
from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer, PortAnswer
from ductcalc.report.blocks import Grid, GridColumn, Matrix, Span, Words, glued
from ductcalc.report.display import Display
from ductcalc.report.grades import AIR, UNANSWERED, air_span, beside, case_spans

ONE_HOSE = Span("x", "dim")
LEAST_SHOWN = 1e-3
"""Least share of a machine's air that what gates leak must change, for a table of it to say something."""

Row = tuple[Words, ...]


def _letters(case: Case) -> Span:
    """Return a pair's grades in a letter or two: may run (ok, a weaker one with ~), short of air S, chips settle c."""
    if not case.solved:
        return Span("?", "bad")
    if case.may_run:
        return Span("ok", "good") if case.word == "ok" else Span("~", "warn")
    letters = "S" * (case.air == "short") + "c" * (case.chips == "settles")
    return Span(letters, "bad")


def _columns(first: str, display: Display) -> tuple[GridColumn, ...]:
    flow, speed = display.unit("flow"), display.unit("speed")
    return (
        GridColumn((first, ""), wrap=True),
        GridColumn(("wanted", flow), right=True),
        GridColumn(("actual", flow), right=True),
        GridColumn(("slowest", "section"), wrap=True, drop=1),
        GridColumn(("speed", speed), right=True),
        GridColumn(("least", speed), right=True, drop=0),
        GridColumn(("", "verdict"), wrap=True),
    )


def singles_grid(gates: Gates, display: Display) -> Grid:
    """Return each machine alone, numbered, and a line for each further open port."""
    width = len(str(len(gates.machines)))
    rows: list[Row] = []
    for number, answer in enumerate(gates.singles, start=1):
        machine = answer.asked_machines[0] if answer.solved else None
        title = glued(f"{number:>{width}} ") + answer.name
        rows.append((title, *_air(machine, display), *_slowest(answer, display), _words(answer)))
        rows += _ports(answer, machine, display)
    return Grid(_columns("machine", display), tuple(rows))


def named_grid(answers: Sequence[Case], display: Display) -> Grid:
    """Return sets of several machines: a line for the set, one below for each machine and further open port."""
    rows: list[Row] = []
    for answer in answers:
        rows.append((answer.name, "", "", *_slowest(answer, display), case_spans(answer)))
        for machine in answer.asked_machines:
            rows.append((f"- {machine.machine}", *_air(machine, display), "", "", "", (air_span(machine),)))
            rows += _own_ports(machine, display)
        rows += [_port(port, f"- also open: {port.machine}", Span("open"), display) for port in answer.also_open]
    return Grid(_columns("set", display), tuple(rows))


def _words(case: Case) -> tuple[Span, ...]:
    """Return the words of a machine alone."""
    return beside(air_span(case.asked_machines[0]), case.slowest) if case.solved else (UNANSWERED,)


def _air(machine: MachineAnswer | None, display: Display) -> tuple[Words, Words]:
    if machine is None:
        return "", "none"
    enough = machine.served or machine.helper
    return (
        display.flow_number(machine.wanted_m3_s),
        display.got_number(machine.flow_m3_s, machine.wanted_m3_s, enough),
    )


def _slowest(answer: Case, display: Display) -> tuple[Words, Words, Words]:
    slow = answer.slowest
    if slow is None:
        return "", "", ""
    section = slow.section + (" (rising)" if slow.decides == "riser" else "")
    speed, needed = slow.deciding_velocity_m_s, slow.settling_velocity_m_s or 0.0
    return section, display.speed_number(speed), display.speed_number(needed)


def _ports(answer: Case, machine: MachineAnswer | None, display: Display) -> Iterator[Row]:
    if machine is not None:
        yield from _own_ports(machine, display)
    for port in answer.also_open:
        yield _port(port, f"- also open: {port.machine}", Span("open"), display)


def _own_ports(machine: MachineAnswer, display: Display) -> Iterator[Row]:
    ports = [port for port in machine.ports if port.taking]
    if len(ports) > 1:
        for port in ports:
            yield _port(port, f"- port {port.run}", AIR[port.grade], display)


def _port(port: PortAnswer, title: str, word: Span, display: Display) -> Row:
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough or word.text == "open")
    return (title, display.flow_number(port.wanted_m3_s), got, "", "", "", (word,))


def pair_matrix(gates: Gates) -> Matrix:
    """Return every pair by a letter, the machines numbered as in the table of machines alone."""
    place = {machine: number for number, machine in enumerate(gates.machines)}
    sharing = {frozenset((place[a], place[b])) for a, b in gates.sharing}
    asked = gates.asked
    number_of = {asked.opened[n]: n for n in gates.shown if asked.opened[n].bit_count() == 2}

    def word(one: int, other: int) -> Span:
        if frozenset((one, other)) in sharing:
            return ONE_HOSE
        return _letters(asked.case(number_of[1 << one | 1 << other]))

    cells = tuple(tuple(word(row, column) for column in range(row)) for row in range(len(gates.machines)))
    return Matrix(gates.machines, cells)


def stretch_grid(gates: Gates, display: Display, most: int | None = None) -> Grid:
    """Return the shared stretches in which chips settle with one machine open, and how many gates keep them moving."""
    speed = display.unit("speed")
    columns = (
        GridColumn(("chips settle in", ""), wrap=True),
        GridColumn(("with only one of these open", speed), wrap=True),
        GridColumn(("least", speed), right=True),
        GridColumn(("keep open", "gates"), right=True),
        GridColumn(("such sets", "that may run"), right=True, drop=0),
    )
    return Grid(columns, tuple(_stretch(stretch, display, most) for stretch in gates.school.stretches[:most]))


def _stretch(stretch: StretchAnswer, display: Display, most: int | None) -> Row:
    speeds = [glued(f"{name} {display.speed_number(speed)}") for name, speed in stretch.settles]
    more = f" and {len(speeds) - most} more" if most is not None and len(speeds) > most else ""
    return (
        stretch.title,
        ", ".join(speeds[:most]) + more,
        display.speed_number(stretch.least_m_s),
        "none do" if stretch.keep_open is None else f"{stretch.keep_open} of {len(stretch.machines)}",
        f"{stretch.may_run} of {stretch.sets}" if stretch.sets else "",
    )


def left_open_grid(gates: Gates, display: Display) -> Grid:
    """Return for each machine alone the forgotten gate that costs it most air; chips are not judged here."""
    flow = display.unit("flow")
    columns = (
        GridColumn(("machine", ""), wrap=True),
        GridColumn(("wanted", flow), right=True, drop=0),
        GridColumn(("alone", flow), right=True),
        GridColumn(("worst forgotten", "gate"), wrap=True),
        GridColumn(("then", flow), right=True),
        GridColumn(("", "air"), wrap=True),
    )
    return Grid(
        columns,
        tuple(
            (
                left.machine,
                display.flow_number(left.wanted_m3_s),
                display.flow_number(left.alone_m3_s),
                left.worst_gate,
                display.got_number(left.worst_m3_s, left.wanted_m3_s, left.grade == "ok"),
                (AIR[left.grade],),
            )
            for left in gates.left_open
            if left.worst_gate is not None and left.worst_m3_s is not None
        ),
    )


def leaks_matter(gates: Gates) -> bool:
    """Whether what shut gates leak changes any machine's air by more than the last digit shown."""
    return any(_spread(leak) > LEAST_SHOWN for leak in gates.leaks)


def _spread(leak: LeakAnswer) -> float:
    flows = [flow for _, flow in leak.by_share if flow is not None]
    return 0.0 if len(flows) < 2 else 1.0 - min(flows) / max(flows)


def leak_grid(gates: Gates, display: Display) -> Grid:
    """Return each machine alone with gates that leak 0, 1 and 3 % of their bore, and as written where that differs."""
    flow = display.unit("flow")
    written = "as written" if gates.told.leak_written else "assumed"
    same = [place for place in range(len(LEAKS)) if all(_alike(leak, place) for leak in gates.leaks)]
    titles = [f"{display.share_number(share)} %" for share in LEAKS]
    titles = [f"{title} ({written})" if place in same else title for place, title in enumerate(titles)]
    own = () if same else (GridColumn((written, flow), right=True),)
    at_ends = (GridColumn((title, flow), right=True) for title in titles)
    columns = (GridColumn(("machine", ""), wrap=True), *own, *at_ends)
    rows = []
    for leak in gates.leaks:
        airs = [*(() if same else (leak.stated_m3_s,)), *(air for _, air in leak.by_share)]
        rows.append((leak.machine, *(_flow(air, display) for air in airs)))
    return Grid(columns, tuple(rows))


def _alike(leak: LeakAnswer, place: int) -> bool:
    """Whether gates that leak one of the shares give a machine the same air as those that leak as written."""
    flow, stated = leak.by_share[place][1], leak.stated_m3_s
    if flow is None or stated is None:
        return flow is stated
    return abs(flow - stated) <= 1e-9 * stated


def _flow(flow_m3_s: float | None, display: Display) -> str:
    return "none" if flow_m3_s is None else display.flow_number(flow_m3_s)


def sizes_grid(counts: Sequence[SizeCount]) -> Grid:
    """Return how many sets of each size may run, are short of air, let chips settle."""
    columns = (
        GridColumn(("machines", "open"), right=True),
        GridColumn(("sets", ""), right=True),
        GridColumn(("may", "run"), right=True),
        GridColumn(("short", "of air"), right=True),
        GridColumn(("chips", "settle"), right=True),
        GridColumn(("no", "answer"), right=True, drop=0),
    )
    return Grid(columns, tuple(tuple(map(str, count)) for count in counts))
