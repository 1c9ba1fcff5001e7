"""What to change first in short: the subject, the best change without side effects, changes by what they take."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.improve.candidate import Effort
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.improve import SOME, Improve
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.report.blocks import Block, Column, Grid, Paragraph, Span, Style, Words
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import changed_blocks
from ductcalc.report.improve.sentences import outdoors_words, verdict
from ductcalc.report.improve.words import changes_words, grade_of, rows_words, worst_elsewhere
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
    if any(map(answer.comes_near, answer.gains)):
        yield Paragraph("")
        yield _table(answer, display)
        band = display.share(LEAST_BAND)
        small = f"Gains under {band} are not listed."
        if any(one.inside for effort in NAMES for one in _most(answer, effort)):
            small += " In band: it may as well bring nothing."
        if answer.settles:
            small = f"Listed is what moves the chips, or makes up {display.share(SOME)} of the speed they lack."
        yield Paragraph(f"{answer.tried} changes tried.{_together(answer)} {small}")
    yield Paragraph("")
    yield from warning_lines(answer.findings, display, typed, every)
    shown = [one for effort in NAMES for one in _most(answer, effort)]
    yield from closing_lines(outdoors_words(answer, shown, display), typed.again("--full"))


def _together(answer: Improve) -> str:
    groups = [group for group in (answer.pairs, answer.threes) if group.tried]
    cured = answer.unharming is not None and answer.unharming.cures
    if not groups or cured or any(group.harmless for group in groups):
        return ""
    return " No two or three of them together help without side effects."


def _table(answer: Improve, display: Display) -> Grid:
    flow = display.unit("flow")
    columns = [
        Column(("", "")),
        Column(("", "change"), wrap=True),
        Column(("then", flow), right=True),
        Column(("more", flow), right=True),
        Column(("", "rows"), wrap=True, drop=0),
        Column(("", "then; elsewhere"), wrap=True),
    ]
    groups = [(NAMES[effort], _most(answer, effort)) for effort in NAMES]
    best = answer.together
    groups.append(("Together", [best] if best is not None and answer.comes_near(best) else []))
    rows = [
        (Span(name if number == 0 else "", "strong"), one) for name, mine in groups for number, one in enumerate(mine)
    ]
    return Grid(tuple(columns), tuple(((name,), *_row(one, display)) for name, one in rows))


def _most(answer: Improve, effort: Effort) -> list[Gain]:
    """Return the changes of an effort that help most, those without harm first, and one with harm at the most.

    Where some change lets the case run only such are shown, else what brings air.
    """
    cured = any(one.case.may_run and one.leads for one in answer.gains)
    shown = [one for one in answer.gains if one.case.may_run or not (cured or one.gain_m3_s < 0.0)]
    mine = [one for one in shown if one.effort == effort and answer.comes_near(one)]
    kind = sorted((one for one in mine if not one.harms), key=lambda one: not one.leads)
    return [*kind, *[one for one in mine if one.harms][:1]][:MOST_OF_EACH]


def _row(one: Gain, display: Display) -> tuple[Words, ...]:
    said = worst_elsewhere(one)
    side = (Span("; "), Span(said, "bad" if one.harms else "good")) if said else ()
    if one.inside:
        side = (Span("; in band", "warn"), *side)
    return (
        changes_words(one.candidates, display),
        display.flow_number(one.flow_m3_s),
        f"{'+' if one.gain_m3_s > 0.0 else ''}{display.flow_number(one.gain_m3_s)}",
        rows_words(one.candidates[0]) if len(one.candidates) == 1 else "",
        (*grade_of(one), *side),
    )
