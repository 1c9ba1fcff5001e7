"""What to change first in short: the subject, the best change without side effects, changes by what they take."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.improve.candidate import EFFORT, LAST, Effort
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.improve import Improve
from ductcalc.report.blocks import Block, Column, Grid, Paragraph, Span, Style, Words, glued
from ductcalc.report.changed_text import changed_blocks
from ductcalc.report.display import Display
from ductcalc.report.grades import AIR, AT_A_PORT
from ductcalc.report.improve.sentences import outdoors_words, verdict
from ductcalc.report.improve.words import changes_words, elsewhere, rows_words
from ductcalc.report.short import PROVISIONAL, Typed, caution_lines, closing_lines, warning_lines

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
MOST_OF_EACH = 2
NAMES: dict[Effort, str] = {"free": "Free", "cheap": "Cheap", "hardware": "Hardware"}


def short_improve(answer: Improve, display: Display, typed: Typed, every: bool = False) -> Iterator[Block]:
    """Yield what to change first in short; every: all warnings."""
    yield Paragraph((Span(verdict(answer, display), TONES[answer.exit_code]),))
    yield from caution_lines(answer.findings, display)
    yield from changed_blocks(answer.changes)
    if answer.provisional:
        yield PROVISIONAL
    if answer.gains:
        yield Paragraph("")
        yield _table(answer, display)
        band = display.share(answer.band.share)
        small = f"Gains under {band} are not listed: wye methods differ by that."
        yield Paragraph(f"{answer.tried} changes tried.{_together(answer)} {small}")
    yield Paragraph("")
    yield from warning_lines(answer.findings, display, typed, every)
    shown = [one for effort in NAMES for one in _most(answer, effort)]
    yield from closing_lines(outdoors_words(answer, shown, display), typed.again("--full"))


def _together(answer: Improve) -> str:
    groups = [group for group in (answer.pairs, answer.threes) if group.tried]
    if not groups or any(group.harmless for group in groups):
        return ""
    return " No two or three of them together help without side effects."


def _table(answer: Improve, display: Display) -> Grid:
    flow = display.unit("flow")
    columns = [
        Column(("", ""), wrap=True),
        Column(("then", flow), right=True),
        Column(("more", flow), right=True),
        Column(("", "air"), wrap=True),
        Column(("", "rows"), wrap=True, drop=0),
        Column(("side", "effects"), wrap=True),
    ]
    rows: list[tuple[Words, ...]] = []
    for effort, name in NAMES.items():
        mine = _most(answer, effort)
        if mine:
            rows.append(((Span(name, "strong"),), "", "", "", "", ""))
        rows += [_row(one, display) for one in mine]
    together = answer.threes.harmless or answer.pairs.harmless
    if together is not None:
        rows += [((Span("Together", "strong"),), "", "", "", "", ""), _row(together, display)]
    return Grid(tuple(columns), tuple(rows))


def _most(answer: Improve, effort: Effort) -> list[Gain]:
    """Return the changes of an effort that bring most: those without harm first, those that lead no advice last."""
    mine = [one for one in answer.gains if EFFORT[one.kinds[0]] == effort]
    return sorted(mine, key=lambda one: (one.kinds[0] in LAST, bool(one.harms)))[:MOST_OF_EACH]


def _row(one: Gain, display: Display) -> tuple[Words, ...]:
    said = elsewhere(one)
    return (
        glued("  ") + changes_words(one.candidates, display),
        display.flow_number(one.flow_m3_s),
        f"{'+' if one.gain_m3_s > 0.0 else ''}{display.flow_number(one.gain_m3_s)}",
        ((AT_A_PORT if one.short_at_a_port else AIR)[one.case.air or "short"],),
        rows_words(one.candidates[0]) if len(one.candidates) == 1 else "",
        (Span(said, "bad" if one.harms else "good"),) if said else "",
    )
