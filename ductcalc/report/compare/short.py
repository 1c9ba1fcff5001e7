"""Shops side by side in short: which is better, what differs, what is new or gone of the warnings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.compare.compare import Comparison, MachineLine
from ductcalc.report.blocks import Block, Column, Grid, Paragraph, Span, Style, Words
from ductcalc.report.compare.findings import changed_warnings
from ductcalc.report.compare.sentences import legend, title_of, verdict
from ductcalc.report.display import Display
from ductcalc.report.grades import UNANSWERED, air_span, beside
from ductcalc.report.sentences import several
from ductcalc.report.short import Typed, closing_lines, warning_lines

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
MOST_ROWS = 12
Key = tuple[bool, str, str]
Cell = tuple[str, tuple[Span, ...]]


def short_compare(comparison: Comparison, display: Display, typed: Typed, every: bool = False) -> Iterator[Block]:
    """Yield a comparison in short; every: all warnings."""
    yield Paragraph((Span(verdict(comparison, display), TONES[comparison.exit_code]),))
    for letter, said in legend(comparison, display):
        yield Paragraph((Span(f"{letter}: ", "strong"), Span(said)), rest="   ")
    yield from _differences(comparison, display)
    yield Paragraph("")
    yield from warning_lines(comparison.variants[0].check.findings, display, typed, every)
    yield from (Paragraph(said) for said in changed_warnings(comparison))
    yield from closing_lines((), typed.again("--full"))


def _differences(comparison: Comparison, display: Display) -> Iterator[Block]:
    """Yield what differs, a line a machine and case; what does not is counted."""
    found: dict[Key, list[MachineLine]] = {}
    for line in comparison.machines:
        if line.filter == "loaded":
            found.setdefault((line.alone, line.case, line.machine), []).append(line)
    rows = [(lines, cells) for lines in found.values() if _differ(cells := [_cell(line, display) for line in lines])]
    flow = display.unit("flow")
    letters = [variant.letter for variant in comparison.variants]
    columns = (
        Column(("dirty filter", ""), wrap=True),
        Column(("wanted", flow), right=True),
        *(part for letter in letters for part in (Column((letter, flow), right=True), Column(("", ""), wrap=True))),
    )
    if rows:
        yield Paragraph("")
        yield Grid(columns, tuple(_row(comparison, lines, cells, display) for lines, cells in rows[:MOST_ROWS]))
    alike, hidden = len(found) - len(rows), max(0, len(rows) - MOST_ROWS)
    if hidden:
        yield Paragraph(f"{several(hidden, 'more line')} differ; --full shows all.")
    if alike:
        yield Paragraph(f"{several(alike, 'other')} unchanged.")


def _cell(line: MachineLine, display: Display) -> Cell:
    """Return a machine's air in a variant, and its words."""
    answer = line.answer
    if answer is None:
        there = line.status == "not in this shop"
        return "", (Span("not there", "dim") if there else UNANSWERED,)
    got = display.got_number(answer.flow_m3_s, answer.wanted_m3_s, answer.served or not answer.asked)
    return got, beside(air_span(answer), line.slowest)


def _differ(cells: Sequence[Cell]) -> bool:
    return any(cell != cells[0] for cell in cells[1:])


def _row(
    comparison: Comparison, lines: Sequence[MachineLine], cells: Sequence[Cell], display: Display
) -> tuple[Words, ...]:
    first = lines[0]
    name = first.machine if first.alone else f"{title_of(comparison, first.case, False)}, {first.machine}"
    wanted = next((display.flow_number(line.answer.wanted_m3_s) for line in lines if line.answer), "")
    return (name, wanted, *(part for cell in cells for part in cell))
