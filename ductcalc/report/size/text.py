"""A sizing as text: the verdict, stretches, a size up and down beside it, sets now and then, what stands against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from ductcalc.answers.columns import Columns
from ductcalc.answers.size.drop import DropSize, DropSizing
from ductcalc.answers.size.sizing import Option, SizedStretch, Sizing, exit_code
from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer, PortAnswer, SectionAnswer
from ductcalc.cases.judged import limits
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Span, Style, Words
from ductcalc.report.check.sentences import case_title
from ductcalc.report.columns import grid_of, titled
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
    yield from _turned(sizing, display)
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
        columns: Columns[tuple[Case, Case]] = (
            titled("set", lambda pair: case_title(pair[0])),
            titled("now", lambda pair: words.state_words(pair[0], display)),
            titled("then", lambda pair: words.state_words(pair[1], display)),
        )
        yield grid_of(columns, lacking, display)
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
    columns: Columns[Sequence[SizedStretch]] = (
        titled("stretch", _group_title),
        titled("now", lambda group: "/".join(map(display.size_number, group[0].now_m)), "size"),
        titled("take", lambda group: _taken(group[0], display), "size"),
        titled(head, lambda group: why(sizing, words.weightiest(group), display)),
    )
    return grid_of(columns, shown, display)


def _group_title(group: Sequence[SizedStretch]) -> str:
    first = group[0]
    copies = f" (and {several(first.copies, 'copy', 'copies')})" if first.copies else ""
    return title_between(first.run, first.ends[0], group[-1].ends[1]) + copies


def _taken(first: SizedStretch, display: Display) -> Words:
    take = "/".join(map(display.size_number, first.chosen_m))
    return (Span(take, "strong" if first.changes else ""),)


class _Design(NamedTuple):
    """A design as a whole beside others."""

    title: str
    option: Option

    @property
    def poorest(self) -> MachineAnswer | None:
        """The running machine that gets least of its air in any set."""
        machines = (m for case in self.option.cases if case.solved for m in case.asked_machines if m.runs)
        return min(machines, key=lambda machine: machine.least_share, default=None)

    @property
    def slowest(self) -> SectionAnswer | None:
        """The section nearest to settling in any set."""
        found = (case.slowest for case in self.option.cases if case.solved)
        return min((s for s in found if s is not None), key=lambda s: s.settling_share, default=None)


def _options(sizing: Sizing, display: Display) -> Grid:
    """Return the designs side by side: sets that may run, the poorest machine, the slowest stretch, cost."""
    named = [_Design("as written", Option(sizing.now, sizing.cost_now))] if not sizing.why_not else []
    named += [_Design("as written" if sizing.why_not else "these sizes", Option(sizing.then, sizing.cost_then))]
    what = "main one size" if len(sizing.then) > 1 else "one size"
    named += [_Design(f"{what} {way}", one) for way, one in (("smaller", sizing.down), ("larger", sizing.up)) if one]
    unit = words.cost_unit(sizing, display)
    columns: Columns[_Design] = (
        titled("", lambda one: one.title),
        titled("sets\nrun", lambda one: f"{one.option.may_run}/{len(one.option.cases)}", right=True),
        titled("worst machine", lambda one: one.poorest and one.poorest.machine),
        titled("air", lambda one: one.poorest and one.poorest.least_share, "share"),
        titled("slowest stretch", lambda one: one.slowest and one.slowest.title),
        titled("speed", lambda one: one.slowest and one.slowest.deciding_velocity_m_s, "speed"),
        titled(
            f"duct\n{unit}" if unit else "cost",
            lambda one: words.cost_number(sizing, one.option.cost, display),
            right=True,
        ),
    )
    return grid_of(columns, named, display)


def _turned(sizing: Sizing, display: Display) -> Iterator[Block]:
    """Yield the sets whose grades are others with these sizes."""
    pairs = [(a, b) for a, b in zip(sizing.now, sizing.then, strict=True) if a.word != b.word]
    yield Paragraph("")
    if not pairs:
        return
    columns: Columns[tuple[Case, Case]] = (
        titled("dirty filter", lambda pair: case_title(pair[0])),
        titled("now", lambda pair: case_spans(pair[0])),
        titled("then", lambda pair: case_spans(pair[1])),
    )
    shown = pairs[:MOST_SETS]
    yield grid_of(columns, shown, display)
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
    columns: Columns[DropSize] = (
        titled("size", lambda size: size.size_m, "size"),
        titled("poorest", lambda size: size.poorest and size.poorest[1].machine, drop=2),
        titled("actual", lambda size: size.poorest and _got(size.poorest[1], size, display), "flow"),
        titled("wanted", lambda size: size.poorest and size.poorest[1].wanted_m3_s, "flow"),
        titled("slowest\nsection", lambda size: size.slowest and size.slowest[1].title, drop=1),
        titled("speed", lambda size: size.slowest and size.slowest[1].deciding_velocity_m_s, "speed"),
        titled("least", lambda size: size.slowest and (size.slowest[1].settling_velocity_m_s or 0.0), "speed"),
        titled("sets\nfine", lambda size: f"{size.fine}/{size.sets}", right=True),
        titled("\nverdict", _size_words),
    )
    return grid_of(columns, drop.sizes, display)


def _got(port: PortAnswer, size: DropSize, display: Display) -> str:
    return display.got_number(port.flow_m3_s, port.wanted_m3_s, size.air == "ok")


def _size_words(size: DropSize) -> Words:
    more = [", under its port"] * size.under_port + [", now"] * size.now
    return (*grade_spans(None if size.unanswered else size.air, size.chips), *map(Span, more))
