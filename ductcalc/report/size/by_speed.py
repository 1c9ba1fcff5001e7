"""Sizes chosen by speed before there is a blower's curve: as text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.columns import Columns, records
from ductcalc.answers.need.need import FIGURES, CaseNeed
from ductcalc.answers.size.by_speed import STRETCHES, SpeedSizing, SpeedStretch, hardest
from ductcalc.report.blocks import Block, Heading, Paragraph, Span
from ductcalc.report.check.sentences import case_title
from ductcalc.report.columns import csv_of, grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import changed_blocks, general_cautions, noted, program_line
from ductcalc.report.json_text import PROGRAM, audit_of_cases, fields_of
from ductcalc.report.sentences import capitalised, listed, several
from ductcalc.report.short import Typed, closing_lines, next_line

WAITS = "Without a blower's curve nobody can say which machine gets its air: that verdict waits for one."
MOST_NAMED, MOST_STRETCHES = 3, 12
HOW = (
    "By speed: the largest size in which the air of the set that brings most through a stretch still runs as fast as"
    " its chips need; of all sizes that keep that set moving, it asks least of the fan."
)


def verdict(sizing: SpeedSizing, display: Display) -> str:
    """Return the first line: how many stretches change, and what a blower must give then and now."""
    changing = sum(stretch.changes for stretch in sizing.stretches)
    what = f"{several(changing, 'stretch gets', 'stretches get')} another size" if changing else "The sizes stay"
    duty = f"{_duty(sizing.then, display)}{_before(sizing, display, changing)}"
    return f"{what}, by speed at the wanted flows. {duty}."


def _duty(cases: tuple[CaseNeed, ...], display: Display) -> str:
    most = hardest(cases)
    if most is None or most.flow_m3_s is None or most.rated_static_pa is None:
        return "No suction was found that draws the wanted flows"
    asked = f"{display.pressure(most.rated_static_pa)} of fan static pressure at {display.flow(most.flow_m3_s)}"
    return f"A blower must give {asked} with {case_title(most.case)}"


def _before(sizing: SpeedSizing, display: Display, changing: int) -> str:
    most = hardest(sizing.now)
    if not changing or most is None or most.rated_static_pa is None:
        return ""
    return f" (as written {display.pressure(most.rated_static_pa)} with {case_title(most.case)})"


def _settling(sizing: SpeedSizing) -> Iterator[str]:
    found = [case_title(case.case) for case in sizing.then if case.case.chips == "settles"]
    if found:
        more = [f"{len(found) - MOST_NAMED} more"] if len(found) > MOST_NAMED else []
        yield (
            f"Too little air for these sizes, chips settle: {listed([*found[:MOST_NAMED], *more])}. Open another gate"
            " with them, or ask for more air there."
        )


def short_by_speed(sizing: SpeedSizing, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield sizes by speed in short."""
    yield from _opening(sizing, display)
    if any(stretch.changes for stretch in sizing.stretches):
        yield next_line("To write it", typed.again("--write", "NEW-FOLDER"))
    yield Paragraph("")
    shown = [stretch for stretch in sizing.stretches if stretch.changes][:MOST_STRETCHES]
    if shown:
        yield grid_of(_columns(), shown, display)
    same = len(sizing.stretches) - len(shown)
    if same:
        yield Paragraph(f"All {several(len(sizing.stretches), 'stretch', 'stretches')}, the others too: --full.")
    yield from closing_lines((), typed.again("--full"))


def by_speed_blocks(sizing: SpeedSizing, display: Display) -> Iterator[Block]:
    """Yield the whole report of sizes by speed."""
    yield from _opening(sizing, display)
    yield Heading("Stretch by stretch, the slowest set in each")
    yield grid_of((*_columns(), titled("", lambda one: one.held or "")), sizing.stretches, display)
    for title, cases in (("as written", sizing.now), ("with these sizes", sizing.then)):
        yield Heading(f"What a blower must give {title}, dirty filter")
        columns: Columns[CaseNeed] = (
            titled("open", lambda case: case_title(case.case)),
            *(column for column in FIGURES if column.key in ("flow", "static", "rated_static")),
            titled("", lambda case: "chips settle" if case.case.chips == "settles" else ""),
        )
        yield grid_of(columns, cases, display)
    yield Heading("Notes")
    yield noted(HOW)
    for remark in sizing.remarks:
        yield noted(remark)
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(sizing.shop)


def _opening(sizing: SpeedSizing, display: Display) -> Iterator[Block]:
    yield Paragraph((Span(capitalised(verdict(sizing, display)), "strong"),))
    yield Paragraph((Span(WAITS, "warn"),))
    for said in _settling(sizing):
        yield Paragraph(said)
    yield from changed_blocks(sizing.changes)


def _columns() -> Columns[SpeedStretch]:
    return tuple(column for column in STRETCHES if column.heading is not None)


def by_speed_document(sizing: SpeedSizing, display: Display) -> dict[str, Any]:
    """Return sizes by speed as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(sizing, "shop", "junction", "exit_code"),
        "verdict": verdict(sizing, display).replace("\u00a0", " "),
        "waits_for_a_curve": True,
        "stretches": records(STRETCHES, sizing.stretches),
        "now": _cases(sizing.now),
        "then": _cases(sizing.then),
        "audit": audit_of_cases([case.case for case in sizing.then]),
        "remarks": list(sizing.remarks),
        "changes": list(sizing.changes),
    }


def _cases(cases: tuple[CaseNeed, ...]) -> list[dict[str, Any]]:
    return [
        {"case": need.case.name, "status": need.case.status, **row, "chips": need.case.chips}
        for need, row in zip(cases, records(FIGURES, cases), strict=True)
    ]


def by_speed_csv(sizing: SpeedSizing, display: Display) -> str:
    """Return a line for each stretch."""
    return csv_of(STRETCHES, sizing.stretches, display)
