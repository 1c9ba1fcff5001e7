"""What a collector must do, as text: the duty, case by case, branches and gates, candidates, what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from ductcalc.answers.columns import Columns, within
from ductcalc.answers.need.candidates import CandidateCollector
from ductcalc.answers.need.need import (
    BRANCH,
    CURVE,
    FIGURES,
    BranchLine,
    BranchNeed,
    CaseNeed,
    Need,
    NeedWorth,
    branch_lines,
)
from ductcalc.answers.need.system_curve import CurvePoint
from ductcalc.answers.need.throttling import Balance
from ductcalc.cases.case import Case
from ductcalc.cases.figures import PortAnswer
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Span, Style, Words
from ductcalc.report.check.sentences import case_title
from ductcalc.report.check.tables import speed_blocks
from ductcalc.report.columns import grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.grades import CHIPS, UNANSWERED, case_spans
from ductcalc.report.head_and_foot import Numbered, changed_blocks, general_cautions, noted, program_line
from ductcalc.report.need import words
from ductcalc.report.sentences import listed, several
from ductcalc.report.short import Typed, closing_lines, next_line

TONES: dict[int, Style] = {0: "strong", 1: "warn", 3: "bad"}
MOST_CASES, MOST_BRANCHES = 12, 10


def short_need(need: Need, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield a need in short."""
    yield from _first_lines(need, display)
    if need.candidates:
        yield Paragraph("")
        yield _candidates(need.candidates, display)
    elif need.deciding:
        yield next_line("Next", typed.again("--collector", "A.csv", "--collector", "B.csv"))
    yield Paragraph("")
    shown = _shown(need)
    yield _cases(shown, display)
    if len(shown) < len(need.cases):
        yield Paragraph(f"{several(len(need.cases) - len(shown), 'case asks', 'cases ask')} for less: --full.")
    yield from _gates(need, display)
    yield from _balances(need, display)
    yield from _curve(need, display)
    yield Paragraph("")
    if need.deciding:
        yield Paragraph(words.parts_words(need, display))
    yield from closing_lines((), typed.again("--full"))


def _first_lines(need: Need, display: Display) -> Iterator[Block]:
    yield Paragraph((Span(words.verdict(need, display), TONES[3 if need.unanswered else 1 if need.settling else 0]),))
    for said in (*words.speed_words(need, display), *words.range_words(need, display), *words.air_words(need, display)):
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
    yield from _first_lines(need, display)
    if need.candidates:
        yield Heading("Collectors against the need, dirty filter")
        yield _candidates(need.candidates, display)
        yield Heading("Case by case, where each collector really settles")
        yield _settled(need.candidates, display)
        for one in need.candidates:
            for remark in one.remarks:
                yield noted(f"{one.name}: {remark}")
    yield Heading("What a blower must give, at the wanted flows, dirty filter")
    yield _cases(need.cases, display, whole=True)
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
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(need.shop)


NOTES = (
    "At the wanted flows every open port takes what it wants and shut gates leak; the branch that needs most decides,"
    " and the gates of the others burn what they have over.",
    "Suction is what a water tube at the collector's inlet reads. Fan static pressure is what a blower's curve shows:"
    " total suction there, cyclone, dirty filter and outlet. Fan total pressure adds the VP at the blower's outlet.",
    "The opening of a gate is the slide's travel over the bore; sets of coefficients differ by half to twice.",
)


ONLY_WHOLE = ("total", "fan_static", "fan_total")
"""Figures of a case that a report in short leaves to the whole one."""


def _cases(cases: Sequence[CaseNeed], display: Display, whole: bool = False) -> Grid:
    """Return a line for each case."""
    columns: Columns[CaseNeed] = (
        titled("open", lambda case: words.case_name(case.case)),
        *(column for column in FIGURES if whole or column.key not in ONLY_WHOLE),
        titled("worst branch", _worst_name, drop=5),
        titled("slowest", lambda case: case.case.slowest and case.case.slowest.deciding_velocity_m_s, "speed", 4),
        titled("least", lambda case: case.case.slowest and case.case.slowest.settling_velocity_m_s, "speed", 3),
        titled("", _chips_word),
    )
    return grid_of(columns, cases, display)


def _worst_name(case: CaseNeed) -> str | None:
    return None if case.worst is None else _branch_name(case, case.worst.machine, case.worst.run)


def _chips_word(case: CaseNeed) -> Words:
    if not case.solved:
        return (UNANSWERED,)
    return CHIPS[case.case.chips or "moves"] or (Span("ok", "good"),)


def _branch_name(case: CaseNeed, machine: str, run: str) -> str:
    """Return a branch by its machine, and by its run too where the machine has several open ports."""
    alone = sum(path.machine == machine for path in case.paths) == 1
    return machine if alone else f"{machine} ({run})"


def _gates(need: Need, display: Display) -> Iterator[Block]:
    """Yield in short which gates burn what, for sets whose branches differ."""
    rows = _rows(need)
    if need.balances or not rows:
        return
    yield Paragraph("")
    yield _branches(rows[:MOST_BRANCHES], display)
    yield from _left_over(rows[:MOST_BRANCHES], display)
    if len(rows) > MOST_BRANCHES:
        yield Paragraph(f"... and {several(len(rows) - MOST_BRANCHES, 'more branch', 'more branches')}: --full.")


def _rows(need: Need) -> list[BranchLine]:
    """Return the branches of cases in which several stand open."""
    return branch_lines(tuple(case for case in need.cases if len(case.paths) > 1))


def _left_over(rows: Sequence[BranchLine], display: Display) -> Iterator[Block]:
    """Yield what it means that no gate burns all that a branch has over."""
    if any(line.path and _stays_over(line.path, display) for line in rows):
        yield Paragraph("Left: no gate of its own burns that, so this port takes more air than it wants.")


def _branches(rows: Sequence[BranchLine], display: Display) -> Grid:
    firsts = {line.case.case.name: line for line in reversed(rows)}
    columns: Columns[BranchLine] = (
        titled("open", lambda line: _name(line) if line is firsts[line.case.case.name] else ""),
        titled("branch", lambda line: line.path and _branch_name(line.case, line.path.machine, line.path.run)),
        *within(BranchLine, lambda line: line.path, tuple(column for column in BRANCH if column.heading)),
        titled("gate open", lambda line: _opening(line.path), "share"),
        titled("", lambda line: line.path and _gate_words(line.path, display), drop=0),
    )
    return grid_of(columns, rows, display)


def _name(line: BranchLine) -> str:
    return words.case_name(line.case.case)


def _opening(path: BranchNeed | None) -> float | str | None:
    if path is None:
        return None
    return "no gate" if path.gate_opening is None else path.gate_opening


def _gate_words(path: BranchNeed, display: Display) -> str:
    said = ["decides"] if path.excess_pa == 0.0 else []
    said += [f"by gate of {path.gate_run}"] if path.gate_run is not None and path.gate_run != path.run else []
    said += [f"{display.pressure_number(path.left_pa)} left"] if _stays_over(path, display) else []
    return ", ".join(said)


def _stays_over(path: BranchNeed, display: Display) -> bool:
    return display.pressure_number(path.left_pa) != display.pressure_number(0.0)


def _candidates(candidates: Sequence[CandidateCollector], display: Display) -> Grid:
    columns: Columns[CandidateCollector] = (
        titled("collector", lambda one: one.name + (" (box figures)" if one.provisional else "")),
        titled("to spare", lambda one: words.margin_words(one.tightest, display), "pressure"),
        titled("tightest with", lambda one: words.case_name(one.tightest)),
        titled("then gets", lambda one: _least_share(one.tightest), "share", 1),
        titled("air in\ncases", lambda one: f"{len(one.served)} of {len(one.cases)}", drop=0, right=True),
        titled("", lambda one: (Span(words.lacking_words(one), "good" if one.exit_code == 0 else "bad"),)),
    )
    return grid_of(columns, candidates, display)


def _least_share(case: Case) -> float | str:
    """Return what the machine that lacks most gets of its air: of ample flow much may go elsewhere."""
    shares = [machine.least_share for machine in case.asked_machines if machine.runs] if case.solved else []
    return min(shares) if shares else "none"


def _gives(case: Case) -> float | str:
    return case.collector.flow_m3_s if case.collector else "none"


class _Settled(NamedTuple):
    title: str
    name: str
    case: Case


def _settled(candidates: Sequence[CandidateCollector], display: Display) -> Grid:
    """Return where each candidate really settles, case by case."""
    rows = [
        _Settled(words.case_name(one.cases[number]) if one is candidates[0] else "", one.name, one.cases[number])
        for number in range(len(candidates[0].cases))
        for one in candidates
    ]
    columns: Columns[_Settled] = (
        titled("open", lambda row: row.title),
        titled("collector", lambda row: row.name),
        titled("to spare", lambda row: words.margin_words(row.case, display), "pressure"),
        titled("gives", lambda row: _gives(row.case), "flow"),
        titled("suction", lambda row: row.case.collector and row.case.collector.inlet_static_pa, "pressure", 1),
        titled("blower", lambda row: row.case.collector and row.case.collector.blower_pa, "pressure", 0),
        titled("", lambda row: case_spans(row.case)),
    )
    return grid_of(columns, rows, display)


def _balances(need: Need, display: Display) -> Iterator[Block]:
    paths = {(case.case.name, path.run): path for case in need.cases for path in case.paths}
    for balance in need.balances:
        yield Heading(words.balance_words(balance, display))
        if balance.case.solved:
            yield _balance(balance, paths, display)


def _balance(balance: Balance, paths: Mapping[tuple[str, str], BranchNeed], display: Display) -> Grid:
    set_to = {gate.run: gate.opening for gate in balance.gates}

    def opening(port: PortAnswer) -> float | str:
        path = paths[balance.name, port.run]
        return "no gate" if path.gate_opening is None else set_to.get(path.gate_run or "", 1.0)

    columns: Columns[PortAnswer] = (
        titled("machine", lambda port: port.machine),
        titled("port of run", lambda port: port.run),
        titled("gate open", opening, "share"),
        titled("wanted", lambda port: port.wanted_m3_s, "flow"),
        titled("gets", lambda port: display.got_number(port.flow_m3_s, port.wanted_m3_s, port.enough), "flow"),
    )
    ports = (port for machine in balance.case.machines for port in machine.ports if port.taking)
    return grid_of(columns, ports, display)


def _curve(need: Need, display: Display) -> Iterator[Block]:
    if not need.curve:
        return
    titles = {case.case.name: words.case_name(case.case) for case in need.cases}
    columns: Columns[CurvePoint] = (
        titled("system curve", lambda point: titles[point.case] if point.share == need.curve[0].share else ""),
        *CURVE,
    )
    yield Heading("System curve in the shop's air, dirty filter")
    yield grid_of(columns, need.curve, display)


def _assumptions(need: Need, display: Display) -> Iterator[Block]:
    if not need.deciding:
        return
    sources = Numbered()

    def end(worth: NeedWorth, which: int) -> float | None:
        ends = sorted(end for end in (worth.low_pa, worth.high_pa) if end is not None)
        return ends[which] if ends else None

    columns: Columns[NeedWorth] = (
        titled("assumed", lambda worth: worth.assumption.with_places),
        titled("from", lambda worth: end(worth, 0), "pressure"),
        titled("to", lambda worth: end(worth, -1), "pressure"),
        titled("note", lambda worth: f"[{sources.number(worth.assumption.source)}]", right=True),
    )
    first = case_title(need.deciding[0].case)
    yield Heading(f"Assumptions, and the fan static pressure that hangs on each, with {first}")
    yield grid_of(columns, words.by_swing(need), display, fine=True)
    told = [
        f"{one.method} {'no answer' if one.fan_static_pa is None else display.pressure_number(one.fan_static_pa)}"
        for one in need.methods
    ]
    yield Paragraph(f"With other wye-loss methods, {display.unit('pressure')}: {', '.join(told)}.")
    yield Paragraph("The range at the top adds the swings of all assumptions as squares, since they are independent.")
    yield Heading("Where the assumptions come from")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")
