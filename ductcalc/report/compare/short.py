"""Shops side by side in short: which is better, what differs, what is new or gone of the warnings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.compare.advice import LEAST_BAND
from ductcalc.answers.compare.compare import Comparison, MachineLine
from ductcalc.report.blocks import Block, Column, Grid, Paragraph, Span, Style, Words
from ductcalc.report.compare.against import cautions, changed_warnings, counted_in_first, headlines, short_differences
from ductcalc.report.compare.sentences import legend, title_of, verdict
from ductcalc.report.display import Display
from ductcalc.report.grades import UNANSWERED, air_span, beside
from ductcalc.report.sentences import several
from ductcalc.report.short import Typed, closing_lines, next_line, warning_lines

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
MOST_ROWS = 8
Key = tuple[bool, str, str]
Cell = tuple[str, tuple[Span, ...]]


def short_compare(
    comparison: Comparison, display: Display, typed: Typed, every: bool = False, first: Typed | None = None
) -> Iterator[Block]:
    """Yield a comparison in short; every: all warnings of the first shop; first: how that one alone is asked for."""
    yield Paragraph((Span(verdict(comparison, display), TONES[comparison.exit_code]),))
    yield from cautions(comparison, display)
    yield from map(Paragraph, headlines(comparison, display))
    for letter, said in legend(comparison, display):
        yield Paragraph((Span(f"{letter}: ", "strong"), Span(said)), rest="   ")
    yield from _differences(comparison, display)
    yield from map(Paragraph, short_differences(comparison, display))
    yield from changed_warnings(comparison)
    if every:
        yield from warning_lines(comparison.variants[0].check.findings, display, first or typed, every)
    elif counted := counted_in_first(comparison):
        yield next_line(counted, (first or typed).line("check"))
    yield from closing_lines((), typed.again("--full"))


def _differences(comparison: Comparison, display: Display) -> Iterator[Block]:
    """Yield what differs, a line a machine and case, those first that turn or change most; the rest is counted."""
    found: dict[Key, list[MachineLine]] = {}
    for line in comparison.machines:
        if line.filter == "loaded":
            found.setdefault((line.alone, line.case, line.machine), []).append(line)
    rows = [(lines, cells) for lines in found.values() if _tells(lines, cells := [_cell(x, display) for x in lines])]
    told = sorted(range(len(rows)), key=lambda number: _weight(*rows[number]), reverse=True)[:MOST_ROWS]
    flow = display.unit("flow")
    letters = [variant.letter for variant in comparison.variants]
    columns = (
        Column(("dirty filter", ""), wrap=True),
        Column(("wanted", flow), right=True),
        *(part for letter in letters for part in (Column((letter, flow), right=True), Column(("", ""), wrap=True))),
    )
    if rows:
        yield Paragraph("")
        yield Grid(columns, tuple(_row(comparison, *rows[number], display) for number in sorted(told)))
    hidden, alike = len(rows) - len(told), len(found) - len(rows)
    said = [f"{hidden} more {'differs' if hidden == 1 else 'differ'}"] if hidden else []
    said += [f"{several(alike, 'other')} alike, air within {display.share(LEAST_BAND)}"] if alike else []
    if said:
        yield Paragraph(f"{'; '.join(said)}.")


def _tells(lines: Sequence[MachineLine], cells: Sequence[Cell]) -> bool:
    """Whether a line's words differ, or its air by more than is ever told."""
    turned, moved = _weight(lines, cells)
    return turned or moved > LEAST_BAND


def _weight(lines: Sequence[MachineLine], cells: Sequence[Cell]) -> tuple[bool, float]:
    """Return how much a line matters: whether its words differ, then by what share of the wanted air it does."""
    moved = (abs(x.flow_difference_m3_s or 0.0) / x.answer.wanted_m3_s for x in lines if x.answer is not None)
    return any(cell[1] != cells[0][1] for cell in cells), max(moved, default=0.0)


def _cell(line: MachineLine, display: Display) -> Cell:
    """Return a machine's air in a variant, and its words."""
    answer = line.answer
    if answer is None:
        there = line.status == "not in this shop"
        return "", (Span("not there", "dim") if there else UNANSWERED,)
    got = display.got_number(answer.flow_m3_s, answer.wanted_m3_s, answer.served or not answer.asked)
    return got, beside(air_span(answer), line.slowest)


def _row(
    comparison: Comparison, lines: Sequence[MachineLine], cells: Sequence[Cell], display: Display
) -> tuple[Words, ...]:
    first = lines[0]
    name = first.machine if first.alone else f"{title_of(comparison, first.case, False)}, {first.machine}"
    wanted = next((display.flow_number(line.answer.wanted_m3_s) for line in lines if line.answer), "")
    return (name, wanted, *(part for cell in cells for part in cell))
