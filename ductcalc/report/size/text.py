"""A sizing as text: the verdict, stretches, a size up and down beside it, sets now and then, what stands against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.sizing import Option, SizedStretch, Sizing, exit_code
from ductcalc.cases.judged import limits
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span, Style, Words
from ductcalc.report.check.sentences import case_title
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_blocks
from ductcalc.report.grades import case_spans, grade_spans
from ductcalc.report.head_and_foot import changed_blocks, general_cautions, noted, program_line
from ductcalc.report.sentences import capitalised, listed, several
from ductcalc.report.short import Typed, closing_lines, next_line, warning_lines
from ductcalc.report.size import words
from ductcalc.shop.standing import title_between

MOST_STRETCHES, MOST_TOLD, MOST_SETS = 8, 2, 5
TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
WANTED = {
    "sets first": "the named sets first, then every machine alone",
    "sets only": "the named sets",
    "alike": "every machine alone and every named set, alike",
}


def short_size(sizing: Sizing, display: Display, typed: Typed, every: bool = False) -> Iterator[Block]:
    """Yield a sizing in short: what changes and why, a size up and down, which sets fare otherwise."""
    yield Paragraph((Span(words.verdict(sizing, display), TONES[exit_code(sizing)]),))
    changing = [stretch for stretch in sizing.stretches if stretch.changes]
    if changing:
        yield next_line("To write it", typed.again("--write", "NEW-FOLDER"))
    yield from changed_blocks(sizing.changes)
    yield Paragraph("")
    if changing:
        groups = _alike(changing)
        yield _stretches(sizing, groups[:MOST_STRETCHES], display, "why not as now", words.why_changed)
        more = sum(map(len, groups[MOST_STRETCHES:]))
        if more > 0:
            yield Paragraph(f"... and {several(more, 'more stretch', 'more stretches')}: --full.")
        yield Paragraph(f"{several(len(sizing.stretches) - len(changing), 'stretch', 'stretches')} as written.")
        yield Paragraph("")
    yield _options(sizing, display)
    yield from map(Paragraph, words.rather(sizing, display))
    yield from _turned(sizing)
    for one in sizing.collisions[:MOST_TOLD]:
        yield Paragraph(words.collision_words(one, display))
    others = sum(not case.may_run for case in sizing.then) - len(sizing.collisions[:MOST_TOLD])
    if others:
        yield Paragraph(f"{several(others, 'more set')} may not run: --full.")
    yield Paragraph("")
    yield from warning_lines(sizing.findings, display, typed, every)
    for said in words.explanations(sizing, display):
        yield Paragraph(said)
    yield from closing_lines((), typed.again("--full"))


def size_blocks(sizing: Sizing, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the whole report of a sizing."""
    yield Paragraph((Span(words.verdict(sizing, display), TONES[exit_code(sizing)]),))
    yield from changed_blocks(sizing.changes)
    yield Heading("Stretch by stretch, and what the next size down and up would do")
    yield _stretches(sizing, [[stretch] for stretch in sizing.stretches], display, "else", words.why)
    yield Heading("As a whole")
    yield _options(sizing, display)
    yield from map(Paragraph, words.rather(sizing, display))
    lacking = [pair for pair in zip(sizing.now, sizing.then, strict=True) if not all(case.well for case in pair)]
    if lacking:
        yield Heading("Sets that are not fine now or then, dirty filter")
        columns = tuple(GridColumn((title,), wrap=True) for title in ("set", "now", "then"))
        rows = [(case_title(a), words.state_words(a, display), words.state_words(b, display)) for a, b in lacking]
        yield Grid(columns, tuple(rows))
    if sizing.collisions:
        yield Heading("What stands against sets that may not run")
        for one in sizing.collisions:
            yield noted(words.collision_words(one, display))
    yield from findings_blocks(sizing.findings, display, every_finding, "with these sizes")
    for said in words.explanations(sizing, display):
        yield noted(said)
    yield Heading("Notes")
    yield from _notes(sizing, display)
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(sizing.shop)


def _alike(stretches: Sequence[SizedStretch]) -> list[list[SizedStretch]]:
    """Return stretches in groups that follow one another in a run and change alike."""
    groups: list[list[SizedStretch]] = []
    for one in stretches:
        last = groups[-1][-1] if groups else None
        follows = last is not None and (last.run, last.ends[1]) == (one.run, one.ends[0]) and one.ends[0] != ""
        if last is not None and follows and (last.now_m, last.chosen_m) == (one.now_m, one.chosen_m):
            groups[-1].append(one)
        else:
            groups.append([one])
    return groups


def _stretches(
    sizing: Sizing, shown: Sequence[Sequence[SizedStretch]], display: Display, head: str, why: words.Why
) -> Grid:
    """Return a row for each group of stretches that change alike; the last column has its head and its words."""
    unit = display.unit("size")
    columns = (
        GridColumn(("stretch", ""), wrap=True),
        GridColumn(("now", unit), right=True),
        GridColumn(("take", unit), right=True),
        GridColumn((head, ""), wrap=True),
    )
    return Grid(columns, tuple(_row(group, display, why(sizing, words.weightiest(group), display)) for group in shown))


def _row(group: Sequence[SizedStretch], display: Display, said: str) -> tuple[Words, ...]:
    first = group[0]
    title = title_between(first.run, first.ends[0], group[-1].ends[1])
    copies = f" (and {several(first.copies, 'copy', 'copies')})" if first.copies else ""
    now, take = ("/".join(map(display.size_number, bores)) for bores in (first.now_m, first.chosen_m))
    return title + copies, now, (Span(take, "strong" if first.changes else ""),), said


def _options(sizing: Sizing, display: Display) -> Grid:
    """Return the designs side by side: sets that may run, the poorest machine, the slowest stretch, cost."""
    these = Option(sizing.then, sizing.cost_then)
    named = [("as written", Option(sizing.now, sizing.cost_now))] if not sizing.why_not else []
    named += [("as written" if sizing.why_not else "these sizes", these)]
    what = "main one size" if len(sizing.then) > 1 else "one size"
    named += [(f"{what} {way}", one) for way, one in (("smaller", sizing.down), ("larger", sizing.up)) if one]
    unit = words.cost_unit(sizing, display)
    columns = (
        GridColumn(("", ""), wrap=True),
        GridColumn(("sets", "run"), right=True),
        GridColumn(("worst machine", ""), wrap=True),
        GridColumn(("air", "%"), right=True),
        GridColumn(("slowest stretch", ""), wrap=True),
        GridColumn(("speed", display.unit("speed")), right=True),
        GridColumn(("cost" if not unit else "duct", unit), right=True),
    )
    return Grid(columns, tuple((title, *_option(sizing, one, display)) for title, one in named))


def _option(sizing: Sizing, option: Option, display: Display) -> tuple[Words, ...]:
    solved = [case for case in option.cases if case.solved]
    machines = [machine for case in solved for machine in case.asked_machines if machine.runs]
    poor = min(machines, key=lambda machine: machine.least_share, default=None)
    slow = min((s for c in solved if (s := c.slowest) is not None), key=lambda s: s.settling_share, default=None)
    return (
        f"{option.may_run}/{len(option.cases)}",
        "" if poor is None else poor.machine,
        "" if poor is None else f"{100.0 * poor.least_share:.0f}",
        "" if slow is None else slow.title,
        "" if slow is None else display.speed_number(slow.deciding_velocity_m_s),
        words.cost_number(sizing, option.cost, display),
    )


def _turned(sizing: Sizing) -> Iterator[Block]:
    """Yield the sets whose grades are others with these sizes."""
    pairs = [(a, b) for a, b in zip(sizing.now, sizing.then, strict=True) if a.word != b.word]
    yield Paragraph("")
    if not pairs:
        return
    columns = tuple(GridColumn((title,), wrap=True) for title in ("dirty filter", "now", "then"))
    shown = pairs[:MOST_SETS]
    yield Grid(columns, tuple((case_title(now), case_spans(now), case_spans(then)) for now, then in shown))
    if len(pairs) > len(shown):
        yield Paragraph(f"... and {several(len(pairs) - len(shown), 'more set')}.")


def _speed_note(display: Display) -> Block:
    """Return what the least speed is, and how it stands to the full one."""
    level, riser = display.share(limits().level), display.share(limits().riser)
    return noted(
        f"Least is the speed below which chips settle: {level} of the full speed in level pipe, {riser} in a riser."
        " From there to the full speed they move, slowly."
    )


def _notes(sizing: Sizing, display: Display) -> Iterator[Block]:
    yield noted(f"Best found of {sizing.solved:,} designs tried. Wanted: {WANTED[sizing.wish]}; no set worse than now.")
    yield noted(
        "A drop has its port's size, or one more where that earns it, hose and gate with it. The main is as wide as all"
        " that flows in, and changes size where it saves more than a taper. Written reducers follow; the collector's"
        " inlet and the ports keep their sizes."
    )
    for said in sizing.breaks:
        yield noted(f"As written {said}.")
    yield _speed_note(display)
    if sizing.cost_kind == "weight":
        yield noted(
            "Duct is weighed as spiral pipe of 26 gauge (common practice, no source): pipe and hose of any make, elbows"
            " by their middle line; wyes, gates and reducers are not weighed. Write [[parts.prices]] for money."
        )
    else:
        yield noted("Pipe and hose are priced by length at the cheapest length sold, not by whole sticks: see parts.")
        if sizing.unpriced:
            yield noted(f"Without a price, so not counted: {listed(sizing.unpriced)}.")
    for remark in sizing.remarks:
        yield noted(remark)


def drop_blocks(drop: DropSizing, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the report of one run at every size sold."""
    tone: Style = "good" if drop.best is not None else "bad"
    yield Paragraph((Span(words.drop_verdict(drop, display), tone),))
    yield from changed_blocks(drop.changes)
    yield Heading(f"{capitalised(drop.run)} at each size sold, all else as written, dirty filter")
    yield _sizes(drop, display)
    yield from findings_blocks(drop.findings, display, every_finding, "as written")
    yield Heading("Notes")
    names = listed(drop.machines)
    yield noted(f"Air that passes {drop.run}: that of {names}. Judged by: {listed(drop.sets)}.")
    yield noted("Shown are the poorest port and the section nearest to settling over all of these.")
    yield _speed_note(display)
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(drop.shop)


def _sizes(drop: DropSizing, display: Display) -> Grid:
    flow, speed = display.unit("flow"), display.unit("speed")
    columns = (
        GridColumn(("size", display.unit("size")), right=True),
        GridColumn(("poorest", ""), wrap=True, drop=2),
        GridColumn(("actual", flow), right=True),
        GridColumn(("wanted", flow), right=True),
        GridColumn(("slowest", "section"), wrap=True, drop=1),
        GridColumn(("speed", speed), right=True),
        GridColumn(("least", speed), right=True),
        GridColumn(("sets", "fine"), right=True),
        GridColumn(("", "verdict"), wrap=True),
    )
    return Grid(columns, tuple(_size_row(size, display) for size in drop.sizes))


def _size_row(size: DropSize, display: Display) -> tuple[Words, ...]:
    port = None if size.poorest is None else size.poorest[1]
    slow = None if size.slowest is None else size.slowest[1]
    more = [", under its port"] * size.under_port + [", now"] * size.now
    return (
        display.size_number(size.size_m),
        "" if port is None else port.machine,
        "" if port is None else display.got_number(port.flow_m3_s, port.wanted_m3_s, size.air == "ok"),
        "" if port is None else display.flow_number(port.wanted_m3_s),
        "" if slow is None else slow.title,
        "" if slow is None else display.speed_number(slow.deciding_velocity_m_s),
        "" if slow is None else display.speed_number(slow.settling_velocity_m_s or 0.0),
        f"{size.fine}/{size.sets}",
        (*grade_spans(None if size.unanswered else size.air, size.chips), *map(Span, more)),
    )
