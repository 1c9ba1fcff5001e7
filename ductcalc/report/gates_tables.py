"""The tables of a gate report: machines alone, pairs, named sets, forgotten gates, leaks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.gates.forgotten import LEAKS, LeakAnswer
from ductcalc.answers.gates.gates import Gates
from ductcalc.answers.gates.sorting import SizeCount
from ductcalc.answers.gates.verdicts import MachineInSet, PortInSet, SetAnswer, SetWord
from ductcalc.report.blocks import Column, Grid, Matrix, Span, Style, Words, glued
from ductcalc.report.display import Display

WORDS: dict[SetWord, tuple[Span, ...]] = {
    "fine": (Span("OK", "good"),),
    "short": (Span("SHORT", "bad"),),
    "settles": (Span("SETTLES", "bad"),),
    "short and settles": (Span("SHORT", "bad"), Span(", "), Span("SETTLES", "bad")),
    "no answer": (Span("NO ANSWER", "bad"),),
}
LETTERS: dict[SetWord, Span] = {
    "fine": Span("ok", "good"),
    "short": Span("S", "bad"),
    "settles": Span("c", "warn"),
    "short and settles": Span("Sc", "bad"),
    "no answer": Span("?", "bad"),
}
ONE_HOSE = Span("x", "dim")
AT_A_PORT = Span("SHORT AT A PORT", "bad")
LEAST_SHOWN = 1e-3
"""Least share of a machine's air that what gates leak must change, for a table of it to say something."""

Row = tuple[Words, ...]


def set_words(answer: SetAnswer) -> tuple[Span, ...]:
    """Return a set's word; a fine set with little speed in hand says so."""
    slow = answer.slowest
    if answer.word == "fine" and slow is not None and not slow.full_speed:
        return (*WORDS["fine"], Span(", "), Span("SLOW", "warn"))
    return WORDS[answer.word]


def _columns(first: str, display: Display) -> tuple[Column, ...]:
    flow, speed = display.unit("flow"), display.unit("speed")
    return (
        Column((first, ""), wrap=True),
        Column(("wants", flow), right=True),
        Column(("gets", flow), right=True),
        Column(("slowest", "section"), wrap=True, drop=1),
        Column(("speed", speed), right=True),
        Column(("needs", speed), right=True, drop=0),
        Column(("", "verdict"), wrap=True),
    )


def singles_grid(gates: Gates, display: Display) -> Grid:
    """Return each machine alone, numbered, and a line for each further open port."""
    width = len(str(len(gates.machines)))
    rows: list[Row] = []
    for number, answer in enumerate(gates.singles, start=1):
        machine = answer.machines[0] if answer.machines else None
        title = glued(f"{number:>{width}} ") + answer.name
        rows.append((title, *_air(machine, display), *_slowest(answer, display), _single_words(answer)))
        rows += _ports(answer, machine, display)
    return Grid(_columns("machine", display), tuple(rows))


def _single_words(answer: SetAnswer) -> tuple[Span, ...]:
    """Return the word of a machine alone; one whose air would do, were it shared out as wanted, says so."""
    words = set_words(answer)
    if answer.machines and answer.machines[0].short_at_a_port:
        return (AT_A_PORT, *words[1:])
    return words


def named_grid(answers: Sequence[SetAnswer], display: Display) -> Grid:
    """Return sets of several machines: a line for the set, one below for each machine and further open port."""
    rows: list[Row] = []
    for answer in answers:
        rows.append((answer.name, "", "", *_slowest(answer, display), set_words(answer)))
        for machine in answer.machines:
            word: tuple[Span, ...] = (Span("OK", "good"),) if machine.served else (_short(machine.short_at_a_port),)
            word = (Span("HELPS"),) if machine.helper else word
            rows.append((f"- {machine.machine}", *_air(machine, display), "", "", "", word))
            rows += _own_ports(machine, display)
        rows += [_port(port, f"- also open: {port.machine}", "OPEN", display) for port in answer.also_open]
    return Grid(_columns("set", display), tuple(rows))


def _short(at_a_port: bool) -> Span:
    return AT_A_PORT if at_a_port else Span("SHORT", "bad")


def _air(machine: MachineInSet | None, display: Display) -> tuple[Words, Words]:
    if machine is None:
        return "", "none"
    enough = machine.served or machine.helper
    return (
        display.flow_number(machine.wanted_m3_s),
        display.got_number(machine.flow_m3_s, machine.wanted_m3_s, enough),
    )


def _slowest(answer: SetAnswer, display: Display) -> tuple[Words, Words, Words]:
    slow = answer.slowest
    if slow is None:
        return "", "", ""
    section = slow.section + (" (rising)" if slow.rises else "")
    return section, display.speed_number(slow.velocity_m_s), display.speed_number(slow.needed_velocity_m_s)


def _ports(answer: SetAnswer, machine: MachineInSet | None, display: Display) -> Iterator[Row]:
    if machine is not None:
        yield from _own_ports(machine, display)
    for port in answer.also_open:
        yield _port(port, f"- also open: {port.machine}", "OPEN", display)


def _own_ports(machine: MachineInSet, display: Display) -> Iterator[Row]:
    if len(machine.ports) > 1:
        for port in machine.ports:
            yield _port(port, f"- port {port.run}", "OK" if port.enough else "SHORT", display)


def _port(port: PortInSet, title: str, word: str, display: Display) -> Row:
    styles: dict[str, Style] = {"OK": "good", "SHORT": "bad"}
    got = display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough or word == "OPEN")
    return (title, display.flow_number(port.wanted_m3_s), got, "", "", "", (Span(word, styles.get(word, "")),))


def pair_matrix(gates: Gates) -> Matrix:
    """Return every pair by a letter, the machines numbered as in the table of machines alone."""
    place = {machine: number for number, machine in enumerate(gates.machines)}
    sharing = {frozenset((place[a], place[b])) for a, b in gates.sharing}
    judged = gates.judged
    number_of = {judged.open[n]: n for n in gates.shown if judged.open[n].bit_count() == 2}

    def word(one: int, other: int) -> Span:
        if frozenset((one, other)) in sharing:
            return ONE_HOSE
        return LETTERS[judged.word(number_of[1 << one | 1 << other])]

    cells = tuple(tuple(word(row, column) for column in range(row)) for row in range(len(gates.machines)))
    return Matrix(gates.machines, cells)


def left_open_grid(gates: Gates, display: Display) -> Grid:
    """Return for each machine alone the forgotten gate that costs it most air; chips are not judged here."""
    flow = display.unit("flow")
    columns = (
        Column(("machine", ""), wrap=True),
        Column(("wants", flow), right=True, drop=0),
        Column(("alone", flow), right=True),
        Column(("worst forgotten", "gate"), wrap=True),
        Column(("then gets", flow), right=True),
        Column(("air", "enough?"), wrap=True),
    )
    return Grid(
        columns,
        tuple(
            (
                left.machine,
                display.flow_number(left.wanted_m3_s),
                display.flow_number(left.alone_m3_s),
                left.worst_gate,
                display.got_number(left.worst_m3_s, left.wanted_m3_s, left.enough),
                (Span("yes", "good"),) if left.enough else (_short(left.worst_m3_s >= left.wanted_m3_s),),
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
    own = () if same else (Column((written, flow), right=True),)
    columns = (Column(("machine", ""), wrap=True), *own, *(Column((title, flow), right=True) for title in titles))
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
    """Return how many sets of each size are fine, settle, are short."""
    columns = (
        Column(("machines", "open"), right=True),
        Column(("sets", ""), right=True),
        Column(("", "ok"), right=True),
        Column(("chips", "settle"), right=True),
        Column(("", "short"), right=True),
        Column(("short and", "settle"), right=True),
        Column(("no", "answer"), right=True, drop=0),
    )
    rows = tuple((str(c.machines), str(c.sets), *(str(number) for _, number in c.by_word)) for c in counts)
    return Grid(columns, rows)
