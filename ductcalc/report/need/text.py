"""What a collector must do, as text: the duty, case by case, branches and gates, candidates, what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ductcalc.answers.need.balance import Balance
from ductcalc.answers.need.candidates import Candidate
from ductcalc.answers.need.need import BranchNeed, CaseNeed, Need
from ductcalc.cases.figures import SectionAnswer
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Span, Style, Words
from ductcalc.report.changed_text import changed_blocks
from ductcalc.report.check.sentences import case_title
from ductcalc.report.check.tables import speed_blocks
from ductcalc.report.closing import caution_lines, noted, program_line
from ductcalc.report.display import Display
from ductcalc.report.grades import CHIPS, UNANSWERED, case_spans
from ductcalc.report.need import words
from ductcalc.report.numbered import Numbered
from ductcalc.report.sentences import listed, several
from ductcalc.report.short import Typed, closing_lines, next_line

TONES: dict[int, Style] = {0: "strong", 1: "warn", 3: "bad"}
MOST_CASES, MOST_BRANCHES = 12, 10


def short_need(need: Need, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield a need in short."""
    yield from _opening(need, display)
    if need.candidates:
        yield Paragraph("")
        yield _candidates(need.candidates, display)
    elif need.deciding:
        yield next_line("Next", typed.again("--collector", "A.csv", "--collector", "B.csv"))
    yield Paragraph("")
    shown = _shown(need)
    yield _cases(need, shown, display)
    if len(shown) < len(need.cases):
        yield Paragraph(f"{several(len(need.cases) - len(shown), 'case asks', 'cases ask')} for less: --full.")
    yield from _gates(need, display)
    yield from _balances(need, display)
    yield from _curve(need, display)
    yield Paragraph("")
    if need.deciding:
        yield Paragraph(words.parts_words(need, display))
    yield from closing_lines((), typed.again("--full"))


def _opening(need: Need, display: Display) -> Iterator[Block]:
    yield Paragraph((Span(words.verdict(need, display), TONES[3 if need.unanswered else 1 if need.settling else 0]),))
    for said in (*words.range_words(need, display), *words.air_words(need, display)):
        yield Paragraph(said)
    for said in words.candidate_words(need, display):
        yield Paragraph((Span(said, "strong"),))
    yield from changed_blocks(need.changes)
    if need.always_open:
        yield Paragraph((Span(f"Always open, no gate on the way: {listed(need.always_open)}.", "warn"),))


def _shown(need: Need) -> tuple[CaseNeed, ...]:
    """Return the cases with a line of their own in short: all, or those that decide, settle or have no answer."""
    if len(need.cases) <= MOST_CASES:
        return need.cases
    return tuple(case for case in need.cases if case in (*need.deciding, *need.settling, *need.unanswered))


def need_blocks(need: Need, display: Display) -> Iterator[Block]:
    """Yield the whole report of a need."""
    yield from _opening(need, display)
    if need.candidates:
        yield Heading("Collectors against the need, dirty filter")
        yield _candidates(need.candidates, display)
        yield Heading("Case by case, where each collector really settles")
        yield _settled(need.candidates, display)
        for one in need.candidates:
            for remark in one.remarks:
                yield noted(f"{one.name}: {remark}")
    yield Heading("What a blower must give, at the wanted flows, dirty filter")
    yield _cases(need, need.cases, display, whole=True)
    if need.deciding:
        yield Paragraph(words.parts_words(need, display))
    rows = _rows(need)
    if rows:
        yield Heading("Branch by branch: suction needed at the collector, and the gate that burns what is over")
        yield _branches(rows, display)
        yield from _left_over(rows, display)
    yield from _balances(need, display)
    yield from _curve(need, display)
    yield from speed_blocks([case.case for case in need.cases], display)
    yield from _assumptions(need, display)
    yield Heading("Notes")
    for remark in need.remarks:
        yield noted(remark)
    for note in NOTES:
        yield noted(note)
    if display.system == "inch":
        yield noted("inwg is inches of water; 1 inch of water is 249.0889 Pa.")
    yield from caution_lines()
    yield Paragraph("")
    yield program_line(need.shop)


NOTES = (
    "At the wanted flows every open port takes what it wants and shut gates leak; the branch that needs most decides,"
    " and the gates of the others burn what they have over.",
    "Suction is what a water tube at the collector's inlet reads. Fan static pressure is what a blower's curve shows:"
    " total suction there, cyclone, dirty filter and outlet. Fan total pressure adds the VP at the blower's outlet.",
    "The opening of a gate is the slide's travel over the bore; sets of coefficients differ by half to twice.",
)


def _cases(need: Need, cases: Sequence[CaseNeed], display: Display, whole: bool = False) -> Grid:
    """Return a line for each case; whole: with what a report in short leaves to the curve's paper."""
    pressure, speed = display.unit("pressure"), display.unit("speed")
    here = ("total", f"suction {pressure}"), ("fan static", f"here {pressure}"), ("fan total", f"here {pressure}")
    columns = (
        Column(("open", ""), wrap=True),
        Column(("air", display.unit("flow")), right=True),
        Column(("suction", pressure), right=True, drop=3),
        Column(("fan static", pressure), right=True),
        *(Column(title, right=True, drop=4 + n) for n, title in enumerate(here) if whole),
        Column(("worst branch", ""), wrap=True, drop=2),
        Column(("slowest", speed), right=True, drop=1),
        Column(("least", speed), right=True, drop=0),
        Column(("", ""), wrap=True),
    )
    return Grid(columns, tuple(_case_row(case, display, whole) for case in cases))


def _case_row(case: CaseNeed, display: Display, whole: bool) -> tuple[Words, ...]:
    if not case.solved:
        return (words.case_name(case.case), *([""] * (9 if whole else 6)), (UNANSWERED,))
    assert case.flow_m3_s is not None and case.worst is not None
    here = (case.total_pa, case.fan_static_pa, case.fan_total_pa) if whole else ()
    chips = case.case.chips
    return (
        words.case_name(case.case),
        display.flow_number(case.flow_m3_s),
        *(_pressure(one, display) for one in (case.static_pa, case.rated_static_pa, *here)),
        _branch_name(case, case.worst.machine, case.worst.run),
        *_slowest(case.case.slowest, display),
        CHIPS[chips] if chips and CHIPS[chips] else (Span("ok", "good"),),
    )


def _slowest(slow: SectionAnswer | None, display: Display) -> tuple[str, str]:
    if slow is None:
        return ("", "")
    least = display.speed_number(slow.settling_velocity_m_s or 0.0)
    return (display.speed_number(slow.deciding_velocity_m_s), least)


def _pressure(pressure_pa: float | None, display: Display) -> str:
    return "" if pressure_pa is None else display.pressure_number(pressure_pa)


def _branch_name(case: CaseNeed, machine: str, run: str) -> str:
    """Return a branch by its machine, and by its run too where the machine has several open ports."""
    alone = sum(path.machine == machine for path in case.paths) == 1
    return machine if alone else f"{machine} ({run})"


def _gates(need: Need, display: Display) -> Iterator[Block]:
    """Yield in short which gates burn what, for sets whose branches differ."""
    rows = _rows(need)
    if need.balances or not any(path.excess_pa > 0.0 for _, path in rows):
        return
    yield Paragraph("")
    yield _branches(rows[:MOST_BRANCHES], display)
    yield from _left_over(rows[:MOST_BRANCHES], display)
    if len(rows) > MOST_BRANCHES:
        yield Paragraph(f"... and {several(len(rows) - MOST_BRANCHES, 'more branch', 'more branches')}: --full.")


def _rows(need: Need) -> list[tuple[CaseNeed, BranchNeed]]:
    """Return the branches of cases in which several stand open."""
    return [(case, path) for case in need.cases if len(case.paths) > 1 for path in case.paths]


def _left_over(rows: Sequence[tuple[CaseNeed, BranchNeed]], display: Display) -> Iterator[Block]:
    """Yield what it means that no gate burns all that a branch has over."""
    if any(_stays_over(path, display) for _, path in rows):
        yield Paragraph("Left: no gate of its own burns that, so this port takes more air than it wants.")


def _branches(rows: Sequence[tuple[CaseNeed, BranchNeed]], display: Display) -> Grid:
    pressure = display.unit("pressure")
    columns = (
        Column(("open", ""), wrap=True),
        Column(("branch", ""), wrap=True),
        Column(("needs", pressure), right=True),
        Column(("over", pressure), right=True),
        Column(("gate open", "%"), right=True),
        Column(("", ""), wrap=True, drop=0),
    )
    shown, before = [], None
    for case, path in rows:
        title = "" if case is before else words.case_name(case.case)
        shown.append((title, _branch_name(case, path.machine, path.run), *_branch_row(path, display)))
        before = case
    return Grid(columns, tuple(shown))


def _branch_row(path: BranchNeed, display: Display) -> tuple[Words, ...]:
    opening = "no gate" if path.gate_opening is None else display.share_number(path.gate_opening)
    said = ["decides"] if path.excess_pa == 0.0 else []
    said += [f"by gate of {path.gate_run}"] if path.gate_run is not None and path.gate_run != path.run else []
    said += [f"{display.pressure_number(path.left_pa)} left"] if _stays_over(path, display) else []
    return (
        display.pressure_number(path.need_pa),
        display.pressure_number(path.excess_pa),
        opening,
        ", ".join(said),
    )


def _stays_over(path: BranchNeed, display: Display) -> bool:
    return display.pressure_number(path.left_pa) != display.pressure_number(0.0)


def _candidates(candidates: Sequence[Candidate], display: Display) -> Grid:
    columns = (
        Column(("collector", ""), wrap=True),
        Column(("to spare", display.unit("pressure")), right=True),
        Column(("tightest with", ""), wrap=True),
        Column(("then gives", display.unit("flow")), right=True, drop=1),
        Column(("cases", "served"), right=True, drop=0),
        Column(("", ""), wrap=True),
    )
    return Grid(columns, tuple(_candidate_row(one, display) for one in candidates))


def _candidate_row(candidate: Candidate, display: Display) -> tuple[Words, ...]:
    tightest = candidate.tightest
    point = tightest.collector
    return (
        candidate.name + (" (box figures)" if candidate.provisional else ""),
        words.margin_words(tightest, display),
        words.case_name(tightest),
        "none" if point is None else display.flow_number(point.flow_m3_s),
        f"{len(candidate.served)} of {len(candidate.cases)}",
        (Span(words.lacking_words(candidate), "good" if candidate.exit_code == 0 else "bad"),),
    )


def _settled(candidates: Sequence[Candidate], display: Display) -> Grid:
    pressure = display.unit("pressure")
    columns = (
        Column(("open", ""), wrap=True),
        Column(("collector", ""), wrap=True),
        Column(("to spare", pressure), right=True),
        Column(("gives", display.unit("flow")), right=True),
        Column(("suction", pressure), right=True, drop=1),
        Column(("blower", pressure), right=True, drop=0),
        Column(("", ""), wrap=True),
    )
    rows: list[tuple[Words, ...]] = []
    for number, first in enumerate(candidates[0].cases):
        for one in candidates:
            case = one.cases[number]
            point = case.collector
            title = words.case_name(first) if one is candidates[0] else ""
            figures = (
                ("none", "", "")
                if point is None
                else (
                    display.flow_number(point.flow_m3_s),
                    display.pressure_number(point.inlet_static_pa),
                    display.pressure_number(point.blower_pa),
                )
            )
            rows.append((title, one.name, words.margin_words(case, display), *figures, case_spans(case)))
    return Grid(columns, tuple(rows))


def _balances(need: Need, display: Display) -> Iterator[Block]:
    paths = {(case.case.name, path.run): path for case in need.cases for path in case.paths}
    for balance in need.balances:
        yield Heading(words.balance_words(balance, display))
        if balance.case.solved:
            yield _balance(balance, paths, display)


def _balance(balance: Balance, paths: Mapping[tuple[str, str], BranchNeed], display: Display) -> Grid:
    columns = (
        Column(("machine", ""), wrap=True),
        Column(("port of run", ""), wrap=True),
        Column(("gate open", "%"), right=True),
        Column(("wanted", display.unit("flow")), right=True),
        Column(("gets", display.unit("flow")), right=True),
    )
    set_to = {gate.run: gate.opening for gate in balance.gates}

    def opening(run: str) -> str:
        path = paths[balance.name, run]
        return "no gate" if path.gate_opening is None else display.share_number(set_to.get(path.gate_run or "", 1.0))

    rows = [
        (
            port.machine,
            port.run,
            opening(port.run),
            display.flow_number(port.wanted_m3_s),
            display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough),
        )
        for machine in balance.case.machines
        for port in machine.ports
        if port.taking
    ]
    return Grid(columns, tuple(rows))


def _curve(need: Need, display: Display) -> Iterator[Block]:
    if not need.curve:
        return
    pressure = display.unit("pressure")
    columns = (
        Column(("system curve", ""), wrap=True),
        Column(("flow", display.unit("flow")), right=True),
        Column(("suction", pressure), right=True, drop=1),
        Column(("total", f"suction {pressure}"), right=True, drop=0),
        Column(("fan static", pressure), right=True),
        Column(("gates fully", f"open {pressure}"), right=True),
    )
    rows: list[tuple[Words, ...]] = []
    titles = {case.case.name: words.case_name(case.case) for case in need.cases}
    before = None
    for point in need.curve:
        rows.append(
            (
                "" if point.case == before else titles[point.case],
                display.flow_number(point.flow_m3_s),
                *(
                    _pressure(one, display)
                    for one in (point.static_pa, point.total_pa, point.fan_static_pa, point.open_fan_static_pa)
                ),
            )
        )
        before = point.case
    yield Heading("System curve in the shop's air, dirty filter")
    yield Grid(columns, tuple(rows))


def _assumptions(need: Need, display: Display) -> Iterator[Block]:
    if not need.deciding:
        return
    sources, pressure = Numbered(), display.unit("pressure")
    first = case_title(need.deciding[0].case)
    yield Heading(f"Assumptions, and the fan static pressure that hangs on each, with {first}")
    columns = (
        Column(("assumed", ""), wrap=True),
        Column(("from", pressure), right=True),
        Column(("to", pressure), right=True),
        Column(("note", ""), right=True),
    )
    rows: list[tuple[Words, ...]] = []
    for worth in words.by_swing(need):
        ends = [end for end in (worth.low_pa, worth.high_pa) if end is not None]
        shown = [display.pressure_number(end, fine=True) for end in sorted(ends)] or ["", ""]
        where = f" ({', '.join(worth.assumption.where)})" if worth.assumption.where else ""
        rows.append((worth.assumption.text + where, *shown[:2], f"[{sources.number(worth.assumption.source)}]"))
    yield Grid(columns, tuple(rows))
    told = [f"{m.method} {_pressure(m.fan_static_pa, display) or 'no answer'}" for m in need.methods]
    yield Paragraph(f"With other wye-loss methods, {pressure}: {', '.join(told)}.")
    yield Paragraph("The range at the top adds the swings of all assumptions as squares, since they are independent.")
    yield Heading("Where the assumptions come from")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")
