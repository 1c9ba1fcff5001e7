"""A sizing as text: the verdict, stretch by stretch with the reason, sets now and then, what must give."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.drop import exit_code as drop_exit_code
from ductcalc.answers.size.sizing import SizedStretch, Sizing, exit_code
from ductcalc.cases.judged import limits
from ductcalc.report import size_words as words
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Span, Style
from ductcalc.report.changed_text import changed_blocks
from ductcalc.report.check_sentences import case_title
from ductcalc.report.closing import caution_lines, noted, program_line
from ductcalc.report.display import Display
from ductcalc.report.findings_text import findings_blocks
from ductcalc.report.grades import case_spans, grade_spans
from ductcalc.report.sentences import capitalised, listed, several
from ductcalc.report.short import Typed, closing_lines, next_line, warning_lines

MOST_STRETCHES = 10
SAME_M = 1e-6
"""Difference of bores [m] that is nothing but rounding."""
TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}


def size_blocks(sizing: Sizing, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the whole report of a sizing."""
    yield Paragraph((Span(words.verdict(sizing, display), TONES[exit_code(sizing)]),))
    yield from changed_blocks(sizing.changes)
    yield Heading("Stretch by stretch")
    yield _stretches(sizing, display)
    yield from _totals(sizing, display)
    yield from _sets(sizing, display)
    if sizing.giving:
        yield Heading("Which wish must give")
        for one in sizing.giving:
            yield noted(capitalised(words.giving_words(one, display)))
    yield from findings_blocks(sizing.findings, display, every_finding, "with these sizes")
    yield Heading("Notes")
    yield noted(words.sureness(sizing))
    yield _speed_note("A speed is told beside the full speed of what is carried.", display)
    yield from _notes(sizing)
    yield from caution_lines()
    yield Paragraph("")
    yield program_line(sizing.shop)


def short_size(sizing: Sizing, display: Display, typed: Typed, every: bool = False) -> Iterator[Block]:
    """Yield a sizing in short: what changes, what it costs, which sets fare otherwise; every: all warnings."""
    yield Paragraph((Span(words.verdict(sizing, display), TONES[exit_code(sizing)]),))
    changing = [s for s in sizing.stretches if s.held is None and _changes(s)]
    if changing:
        yield next_line("To write it", typed.line("size", "--write", "NEW-FOLDER"))
    yield from changed_blocks(sizing.changes)
    if changing:
        yield Paragraph("")
        unit = display.unit("size")
        columns = (Column(("stretch", "")), Column(("now", unit), right=True), Column(("take", unit), right=True))
        rows = [(s.stretch, _bores(s.now_m, display), _bores(s.chosen_m, display)) for s in changing[:MOST_STRETCHES]]
        yield Grid(columns, tuple(rows))
        if len(changing) > MOST_STRETCHES:
            yield Paragraph(f"... and {several(len(changing) - MOST_STRETCHES, 'more stretch', 'more stretches')}.")
    yield Paragraph(f"{several(len(sizing.stretches) - len(changing), 'stretch', 'stretches')} as written.")
    yield from _totals(sizing, display)
    yield from _turned(sizing)
    yield Paragraph("")
    yield from warning_lines(sizing.findings, display, typed, every)
    yield from closing_lines((), typed.line("size", "--full"))


def _changes(stretch: SizedStretch) -> bool:
    return any(abs(bore - stretch.chosen_m[0]) > SAME_M for bore in stretch.now_m)


def _turned(sizing: Sizing) -> Iterator[Block]:
    """Yield the sets whose grades are others with these sizes, and those that are not well then."""
    pairs = [(a, b) for a, b in zip(sizing.now, sizing.then, strict=True) if a.word != b.word or not b.well]
    if pairs:
        yield Paragraph("")
        columns = (Column(("dirty filter",), wrap=True), Column(("now",), wrap=True), Column(("then",), wrap=True))
        yield Grid(columns, tuple((case_title(now), case_spans(now), case_spans(then)) for now, then in pairs))


def _stretches(sizing: Sizing, display: Display) -> Grid:
    unit = display.unit("size")
    columns = (
        Column(("stretch", "")),
        Column(("now", unit), right=True),
        Column(("take", unit), right=True),
        Column(("why", ""), wrap=True),
    )
    return Grid(columns, tuple(_row(sizing, stretch, display) for stretch in sizing.stretches))


def _row(sizing: Sizing, stretch: SizedStretch, display: Display) -> tuple[str | Sequence[Span], ...]:
    changed = _changes(stretch)
    name = stretch.stretch + (f" (and {several(stretch.copies, 'copy', 'copies')})" if stretch.copies else "")
    return (
        name,
        _bores(stretch.now_m, display),
        (Span(_bores(stretch.chosen_m, display), "strong" if changed else ""),),
        words.why(sizing, stretch, display),
    )


def _bores(bores_m: Sequence[float], display: Display) -> str:
    return "/".join(display.size_number(bore) for bore in bores_m)


def _totals(sizing: Sizing, display: Display) -> Iterator[Block]:
    now, then = (words.cost(sizing, value, display) for value in (sizing.cost_now, sizing.cost_then))
    yield Paragraph(f"Total {words.cost_name(sizing)}: now {now}, then {then}.")
    bad_now, bad_then = (sum(not case.well for case in cases) for cases in (sizing.now, sizing.then))
    yield Paragraph(f"Sets not fine: now {bad_now}, then {bad_then}, of {len(sizing.then)}.")


def _sets(sizing: Sizing, display: Display) -> Iterator[Block]:
    pairs = [pair for pair in zip(sizing.now, sizing.then, strict=True) if not all(case.well for case in pair)]
    if not pairs:
        return
    yield Heading("Sets that are not fine now or then, dirty filter")
    columns = (Column(("set",), wrap=True), Column(("now",), wrap=True), Column(("then",), wrap=True))
    rows = [(case_title(now), words.state_words(now, display), words.state_words(then, display)) for now, then in pairs]
    yield Grid(columns, tuple(rows))


def _speed_note(first: str, display: Display) -> Block:
    """Return at which speed chips settle, as the other reports tell it."""
    return noted(
        f"{first} Down to {display.share(limits().level)} of it in level pipe, and {display.share(limits().riser)} in a"
        " riser, chips still move, slowly; below that they settle."
    )


def _notes(sizing: Sizing) -> Iterator[Block]:
    wanted = "every named set" if sizing.sets_only else "every machine alone and every named set"
    yield noted(
        f"Wanted: {wanted}, each with its air at the dirty filter and nothing settling. Where that cannot be, first as"
        " few sets as possible that are not fine, then the least worst lack in whole per cents, then the least cost."
    )
    if sizing.cost_kind == "weight":
        yield noted(
            "Sheet is that of spiral pipe of 26 gauge (common practice, no source): pipe, elbows by their middle line,"
            " hose as if it were pipe; wyes, gates and reducers are not weighed. Write [[parts.prices]] for money."
        )
    else:
        yield noted("Pipe and hose are priced by length at the cheapest length sold, not by whole sticks: see parts.")
        if sizing.unpriced:
            yield noted(f"Without a price, so not counted: {listed(sizing.unpriced)}.")
    yield noted(
        "A stretch is the pipe, hose, elbows and gates between two wyes, with the outlet of the wye it starts from;"
        " ports, written reducers and the collector's inlet keep their sizes."
    )
    for remark in sizing.remarks:
        yield noted(remark)


def drop_blocks(drop: DropSizing, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the report of one run at every size sold."""
    yield Paragraph((Span(words.drop_verdict(drop, display), TONES[drop_exit_code(drop)]),))
    yield from changed_blocks(drop.changes)
    yield Heading(f"{capitalised(drop.run)} at each size sold, all else as written, dirty filter")
    yield _sizes(drop, display)
    yield from findings_blocks(drop.findings, display, every_finding, "as written")
    yield Heading("Notes")
    names = listed(drop.machines)
    yield noted(f"Air that passes {drop.run}: that of {names}. Judged by: {listed(drop.sets)}.")
    yield noted("Shown are the poorest port and the section nearest to settling over all of these.")
    yield _speed_note("Needs is the full speed of what is carried.", display)
    yield from caution_lines()
    yield Paragraph("")
    yield program_line(drop.shop)


def _sizes(drop: DropSizing, display: Display) -> Grid:
    flow, speed = display.unit("flow"), display.unit("speed")
    columns = (
        Column(("size", display.unit("size")), right=True),
        Column(("poorest", ""), wrap=True, drop=2),
        Column(("actual", flow), right=True),
        Column(("wanted", flow), right=True),
        Column(("slowest", "section"), wrap=True, drop=1),
        Column(("speed", speed), right=True),
        Column(("least", speed), right=True),
        Column(("sets", "fine"), right=True),
        Column(("", "verdict"), wrap=True),
    )
    return Grid(columns, tuple(_size_row(size, display) for size in drop.sizes))


def _size_row(size: DropSize, display: Display) -> tuple[str | Sequence[Span], ...]:
    poor, slow = size.poorest, size.slowest
    return (
        display.size_number(size.size_m),
        "" if poor is None else str(poor.machine),
        "" if poor is None else display.got_number(poor.flow_m3_s, poor.wanted_m3_s, size.air == "ok"),
        "" if poor is None else display.flow_number(poor.wanted_m3_s),
        "" if slow is None else str(slow.section),
        "" if slow is None else display.speed_number(slow.velocity_m_s),
        "" if slow is None else display.speed_number(slow.needed_m_s),
        f"{size.fine}/{size.sets}",
        (*grade_spans(None if size.unanswered else size.air, size.chips), *((Span(", now"),) if size.now else ())),
    )
