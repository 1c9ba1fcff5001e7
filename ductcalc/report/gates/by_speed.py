"""Which machines may run together as far as speed tells, as text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.columns import Columns, records
from ductcalc.answers.gates.by_speed import SETS, SpeedGates
from ductcalc.answers.need.need import CaseNeed
from ductcalc.report.blocks import Block, Heading, Matrix, Paragraph, Span
from ductcalc.report.check.sentences import case_title
from ductcalc.report.columns import csv_of, grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.grades import CHIPS, UNANSWERED, Spans
from ductcalc.report.head_and_foot import changed_blocks, general_cautions, noted, program_line
from ductcalc.report.json_text import PROGRAM, audit_of_cases, fields_of
from ductcalc.report.sentences import listed, several
from ductcalc.report.short import Typed, closing_lines, next_line

WAITS = "Speed alone is judged here, at the wanted flows: who gets his air waits for a blower's curve."
LETTERS = {"moves": Span("ok", "good"), "slow": Span("slow", "warn"), "settles": Span("SETT", "bad")}
KEY = "ok chips move, slow they move slowly, SETT chips settle, hose: one hose, one at a time, ? no answer."


def verdict(gates: SpeedGates, display: Display) -> str:
    """Return the first line: in how many sets chips move, and what a blower must give for the hardest one."""
    solved = [need for need in gates.sets if need.solved]
    moving = sum(need.case.chips != "settles" for need in solved)
    said = f"At the wanted flows chips move in {moving or 'none'} of {several(len(gates.sets), 'set')} of machines."
    most = gates.deciding[0] if gates.deciding else None
    if most is None or most.rated_static_pa is None or most.flow_m3_s is None:
        return said
    asked = f"{display.flow(most.flow_m3_s)} at {display.pressure(most.rated_static_pa)}"
    return f"{said} The hardest asks {asked} of fan static pressure ({case_title(most.case)})."


def short_gates(gates: SpeedGates, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield the sets in short: pairs in a matrix, machines alone and named sets in a table."""
    yield from _opening(gates, display)
    yield next_line("What to buy", typed.line("need"))
    yield Paragraph("")
    yield grid_of(_columns(), gates.asked, display)
    if len(gates.machines) > 1:
        yield Paragraph("")
        yield _pairs(gates)
        yield Paragraph(KEY)
    yield from closing_lines((), typed.again("--full"))


def gates_blocks(gates: SpeedGates, display: Display) -> Iterator[Block]:
    """Yield the whole report: every set."""
    yield from _opening(gates, display)
    if len(gates.machines) > 1:
        yield Heading("Pairs")
        yield _pairs(gates)
        yield Paragraph(KEY)
    yield Heading("Every set, dirty filter")
    yield grid_of(_columns(), gates.sets, display)
    yield Heading("Notes")
    for remark in gates.remarks:
        yield noted(remark)
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(gates.shop)


def _opening(gates: SpeedGates, display: Display) -> Iterator[Block]:
    yield Paragraph((Span(verdict(gates, display), "strong"),))
    yield Paragraph((Span(WAITS, "warn"),))
    yield from changed_blocks(gates.changes)
    if gates.always_open:
        yield Paragraph((Span(f"Always open, no gate on the way: {listed(gates.always_open)}.", "warn"),))


def _columns() -> Columns[CaseNeed]:
    figures = (column for column in SETS if column.heading is not None)
    return (titled("open", lambda need: case_title(need.case)), *figures, titled("", _word))


def _word(need: CaseNeed) -> Spans:
    if not need.solved:
        return (UNANSWERED,)
    return CHIPS[need.case.chips or "moves"] or (Span("ok", "good"),)


def _pairs(gates: SpeedGates) -> Matrix:
    sharing = {frozenset(pair) for pair in gates.sharing}

    def letters(one: str, other: str) -> Span:
        if frozenset((one, other)) in sharing:
            return Span("hose", "dim")
        need = gates.pair(one, other)
        return LETTERS[need.case.chips] if need is not None and need.case.chips else Span("?", "bad")

    names = gates.machines
    return Matrix(names, tuple(tuple(letters(row, names[n]) for n in range(place)) for place, row in enumerate(names)))


def gates_document(gates: SpeedGates, display: Display) -> dict[str, Any]:
    """Return the sets as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(gates, "shop", "junction", "exit_code"),
        "verdict": verdict(gates, display).replace("\u00a0", " "),
        "waits_for_a_curve": True,
        "filter": "loaded",
        "machines": list(gates.machines),
        "sharing": [list(pair) for pair in gates.sharing],
        "sets": records(SETS, gates.sets),
        "deciding": [need.case.name for need in gates.deciding],
        "always_open": list(gates.always_open),
        "audit": audit_of_cases([need.case for need in gates.sets]),
        "remarks": list(gates.remarks),
        "changes": list(gates.changes),
    }


def gates_csv(gates: SpeedGates, display: Display) -> str:
    """Return a line for each set."""
    return csv_of(SETS, gates.sets, display)
