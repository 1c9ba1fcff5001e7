"""What to change first as text: the verdict, the ranked changes, the best pair and three, what they do elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.improve.candidate import Effort
from ductcalc.answers.improve.gain import Gain
from ductcalc.answers.improve.improve import SOME, Improve
from ductcalc.cases.chances import LEAST_BAND
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span, Style, Words
from ductcalc.report.check.text import LIMITS
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_blocks
from ductcalc.report.head_and_foot import changed_blocks, general_cautions, noted, program_line
from ductcalc.report.improve.sentences import left_out, none_together, notes, outdoors_words, told, verdict, who
from ductcalc.report.improve.words import (
    band_words,
    changes_words,
    effect_lines,
    elsewhere,
    grade_of,
    rows_words,
    signed_share,
    worst_elsewhere,
)
from ductcalc.report.parts.words import money
from ductcalc.report.short import PROVISIONAL, Typed, caution_lines, closing_lines, warning_lines

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
MOST_OF_EACH = 2
NAMES: dict[Effort, str] = {"free": "Free", "cheap": "Cheap", "hardware": "Hardware"}


def improve_blocks(answer: Improve, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the whole report."""
    yield Paragraph((Span(verdict(answer, display), TONES[answer.exit_code]),))
    yield from changed_blocks(answer.changes)
    if answer.provisional:
        said = ": only two advertised maxima of the blower are known, the low curve is counted on."
        yield Paragraph((Span("PROVISIONAL", "warn"), Span(said)))
    if answer.case.solved:
        yield from _ranked(answer, display)
        yield from _together(answer, display)
        yield from _others(answer, display)
        yield from _elsewhere(answer, display)
        yield from findings_blocks(answer.findings, display, every_finding)
        yield Heading("Notes")
        yield from (noted(note) for note in notes(answer, display))
    yield from _foot(answer, display)


def _ranked(answer: Improve, display: Display) -> Iterator[Block]:
    if answer.gains:
        yield Heading(f"One change at a time: {who(answer)}")
        yield _grid(answer, [(str(n), one) for n, one in enumerate(answer.gains, 1)], "change", display)
    yield Paragraph(left_out(answer, display))


def _together(answer: Improve, display: Display) -> Iterator[Block]:
    if not answer.gains and not answer.pairs.told:
        return
    yield Heading("Together")
    rows = [pair for pair in named(answer) if len(pair[1].candidates) > 1]
    if rows:
        yield _grid(answer, rows, "changes", display)
    for group in (answer.pairs, answer.threes):
        if not group.told:
            yield Paragraph(none_together(group, answer, display))


def _grid(answer: Improve, rows: list[tuple[str, Gain]], title: str, display: Display) -> Grid:
    flow = display.unit("flow")
    columns = [
        GridColumn(("",), wrap=title == "changes"),
        GridColumn((title,), wrap=True),
        GridColumn(("actual", flow), right=True),
        GridColumn(("more", flow), right=True),
        GridColumn(("more", "%"), right=True, drop=3),
        GridColumn(("speed, %" if answer.settles else "more, %", "80 % band"), right=True, drop=2),
        GridColumn(("then",), wrap=True),
    ]
    if answer.priced:
        columns += [GridColumn(("cost",), right=True), GridColumn((flow, "for 1"), right=True, drop=0)]
    if title == "change":
        columns += [GridColumn(("effort",)), GridColumn(("rows",), wrap=True, drop=1)]
    columns.append(GridColumn(("all cases",), wrap=True))
    return Grid(tuple(columns), tuple(_row(answer, name, one, title, display) for name, one in rows))


def _row(answer: Improve, name: str, one: Gain, title: str, display: Display) -> tuple[Words, ...]:
    cells: list[Words] = [
        name,
        changes_words(one.candidates, display),
        display.got_number(one.flow_m3_s, answer.wanted_m3_s, one.served),
        f"+{display.flow_number(one.gain_m3_s)}" if one.gain_m3_s > 0.0 else display.flow_number(one.gain_m3_s),
        signed_share(one.gain_share),
        band_words(one),
        (*grade_of(one), Span("; in band", "warn")) if one.inside else grade_of(one),
    ]
    if answer.priced:
        cells += _money(one, display)
    if title == "change":
        cells += [one.effort, rows_words(one.candidates[0])]
    said = elsewhere(one)
    cells.append((Span(said, "bad" if one.harms else "good"),) if said else "")
    return tuple(cells)


def _money(one: Gain, display: Display) -> list[Words]:
    if one.price is None:
        return ["", ""]
    unknown = one.price.cost == 0.0 and not one.price.whole
    cost = "?" if unknown else money(one.price.cost) + ("" if one.price.whole else "+")
    return [cost, "" if one.gain_for_money is None else display.fine_flow_number(one.gain_for_money)]


def _others(answer: Improve, display: Display) -> Iterator[Block]:
    """Yield what the other machines of the set get."""
    found = told(answer)
    names = [other.machine for other in found[0].others] if found else []
    if not names:
        return
    yield Heading("What the others of the set get")
    flows = (GridColumn((name, display.unit("flow")), right=True) for name in names)
    columns = [GridColumn(("change",), wrap=True), *flows]
    stand = ((display.flow_number(o.before_m3_s), display.flow_number(o.wanted_m3_s)) for o in found[0].others)
    rows: list[tuple[Words, ...]] = [("now", *(f"{got} of {wanted}" for got, wanted in stand))]
    for name, one in named(answer):
        rows.append((name, *(display.flow_number(other.flow_m3_s) for other in one.others)))
    yield Grid(tuple(columns), tuple(rows))


def named(answer: Improve) -> list[tuple[str, Gain]]:
    """Return everything that is told with its number or name."""
    found = [(str(number), one) for number, one in enumerate(answer.gains, 1)]
    for name, group in (("pair", answer.pairs), ("three", answer.threes)):
        found += [(f"best {name}" if one is group.best else f"{name}, no harm", one) for one in group.told]
    return found


def _elsewhere(answer: Improve, display: Display) -> Iterator[Block]:
    """Yield case by case what each change makes worse or better."""
    told_of = [(name, lines) for name, one in named(answer) if (lines := effect_lines(one.effects, display))]
    if told_of:
        yield Heading("Worse or better, case by case")
    for name, lines in told_of:
        yield Paragraph((Span(f"{name}: ", "strong"), Span(". ".join(lines) + ".")), rest="  ")


def _foot(answer: Improve, display: Display) -> Iterator[Block]:
    for limit in LIMITS:
        yield noted(limit)
    yield from (noted(said) for said in outdoors_words(answer, told(answer), display))
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(answer.shop)


def short_improve(answer: Improve, display: Display, typed: Typed, every: bool = False) -> Iterator[Block]:
    """Yield what to change first in short; every: all warnings."""
    yield Paragraph((Span(verdict(answer, display), TONES[answer.exit_code]),))
    yield from caution_lines(answer.findings, display)
    yield from changed_blocks(answer.changes)
    if answer.provisional:
        yield PROVISIONAL
    if any(answer.comes_near(one) for one in (*answer.gains, answer.together) if one is not None):
        yield Paragraph("")
        yield _short_table(answer, display)
        band = display.share(LEAST_BAND)
        small = f"Gains under {band} are not listed."
        if any(one.inside for effort in NAMES for one in _most(answer, effort)):
            small += " In band: it may as well bring nothing."
        if answer.settles:
            small = f"Listed is what moves the chips, or makes up {display.share(SOME)} of the speed they lack."
        yield Paragraph(f"{answer.tried} changes tried.{_no_group(answer)} {small}")
    yield Paragraph("")
    yield from warning_lines(answer.findings, display, typed, every)
    shown = [one for effort in NAMES for one in _most(answer, effort)]
    yield from closing_lines(outdoors_words(answer, shown, display), typed.again("--full"))


def _no_group(answer: Improve) -> str:
    groups = [group for group in (answer.pairs, answer.threes) if group.tried]
    cured = answer.unharming is not None and answer.unharming.cures
    if not groups or cured or any(group.harmless for group in groups):
        return ""
    return " No two or three of them together help without side effects."


def _short_table(answer: Improve, display: Display) -> Grid:
    flow = display.unit("flow")
    columns = [
        GridColumn(("", "")),
        GridColumn(("", "change"), wrap=True),
        GridColumn(("then", flow), right=True),
        GridColumn(("more", flow), right=True),
        GridColumn(("", "rows"), wrap=True, drop=0),
        GridColumn(("", "then; elsewhere"), wrap=True),
    ]
    groups = [(NAMES[effort], _most(answer, effort)) for effort in NAMES]
    best = answer.together
    groups.append(("Together", [best] if best is not None and answer.comes_near(best) else []))
    rows = [
        (Span(name if number == 0 else "", "strong"), one) for name, mine in groups for number, one in enumerate(mine)
    ]
    return Grid(tuple(columns), tuple(((name,), *_short_row(one, display)) for name, one in rows))


def _most(answer: Improve, effort: Effort) -> list[Gain]:
    """Return the changes of an effort that help most, those without harm first, and one with harm at the most.

    Where some change lets the case run only such are shown, else what brings air.
    """
    cured = any(one.case.may_run and one.leads for one in answer.gains)
    shown = [one for one in answer.gains if one.case.may_run or not (cured or one.gain_m3_s < 0.0)]
    mine = [one for one in shown if one.effort == effort and answer.comes_near(one)]
    kind = sorted((one for one in mine if not one.harms), key=lambda one: not one.leads)
    return [*kind, *[one for one in mine if one.harms][:1]][:MOST_OF_EACH]


def _short_row(one: Gain, display: Display) -> tuple[Words, ...]:
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
