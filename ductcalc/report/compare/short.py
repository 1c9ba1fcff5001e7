"""Shops side by side in short: which is better, what differs, what is new or gone of the warnings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.compare.compare import Comparison, MachineLine
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.report.blocks import Block, Grid, GridColumn, Paragraph, Span, Style, Words
from ductcalc.report.compare.against import (
    cautions,
    changed_warnings,
    counted_in_first,
    few,
    headlines,
    short_differences,
)
from ductcalc.report.compare.sentences import legend, title_of, verdict
from ductcalc.report.display import Display
from ductcalc.report.grades import UNANSWERED, air_span, beside
from ductcalc.report.sentences import listed, several
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
        GridColumn(("dirty filter", ""), wrap=True),
        GridColumn(("wanted", flow), right=True),
        *(
            part
            for letter in letters
            for part in (GridColumn((letter, flow), right=True), GridColumn(("", ""), wrap=True))
        ),
    )
    if rows:
        yield Paragraph("")
        yield Grid(columns, tuple(_row(comparison, *rows[number], display) for number in sorted(told)))
    hidden, alike = len(rows) - len(told), len(found) - len(rows)
    said = [f"{hidden} more {'differs' if hidden == 1 else 'differ'}"] if hidden else []
    in_band = " or in the band" if any(_unsure(x) for key in found for x in found[key]) else ""
    others = several(alike, "other") if rows else "All"
    said += [f"{others} alike, air within {display.share(LEAST_BAND)}{in_band}"] if alike else []
    if said:
        yield Paragraph(f"{'; '.join(said)}.")
    unsure = [rows[number][0] for number in sorted(told) if any(map(_unsure, rows[number][0]))]
    if unsure:
        names = listed(few([_name(comparison, lines[0]) for lines in unsure]))
        yield Paragraph(f"In band, perhaps no difference: {names}.")


def _tells(lines: Sequence[MachineLine], cells: Sequence[Cell]) -> bool:
    """Whether a line's words differ, or its air for sure and by more than is ever told."""
    turned, _ = _weight(lines, cells)
    return turned or any(_moved(line) > LEAST_BAND and not line.inside for line in lines)


def _weight(lines: Sequence[MachineLine], cells: Sequence[Cell]) -> tuple[bool, float]:
    """Return how much a line matters: whether its words differ, then by what share of the wanted air it does."""
    return any(cell[1] != cells[0][1] for cell in cells), max(map(_moved, lines), default=0.0)


def _unsure(line: MachineLine) -> bool:
    """Whether a difference that would be told lies inside the common band."""
    return bool(line.inside) and _moved(line) > LEAST_BAND


def _moved(line: MachineLine) -> float:
    """Return the difference of a machine's air as a share of what it wants."""
    return 0.0 if line.answer is None else abs(line.flow_difference_m3_s or 0.0) / line.answer.wanted_m3_s


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
    wanted = next((display.flow_number(line.answer.wanted_m3_s) for line in lines if line.answer), "")
    return (_name(comparison, lines[0]), wanted, *(part for cell in cells for part in cell))


def _name(comparison: Comparison, line: MachineLine) -> str:
    return line.machine if line.alone else f"{title_of(comparison, line.case, False)}, {line.machine}"
