"""The card for the wall: text, one sheet of paper, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.gates.card import Card, FilterReading
from ductcalc.answers.gates.sets import any_two_of
from ductcalc.cases.case import Case
from ductcalc.findings.finding import Findings
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, glued
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.draw.picture import Group, Picture, Words
from ductcalc.report.findings import finding_words, findings_blocks
from ductcalc.report.flow import Line, width_of
from ductcalc.report.grades import bracketed, weak_words, why_not
from ductcalc.report.head_and_foot import program_line
from ductcalc.report.html import element, elements, sheet
from ductcalc.report.json_text import GRADES, PROGRAM, fields_of
from ductcalc.report.render import Page, lines_of
from ductcalc.report.sentences import listed, several, the

LONG_NAME = 24
MOST_SETS = MOST_HELPED = 8
PAST_THE_CURVE = "not known: the collector's figures end too early"
NOT_FOUND = "not known: no flow was found that passes its check"
SAFETY = (
    "Fine wood dust burns and can explode: no sparks, no metal, no smoking; keep the duct's ground wires on.",
    "Empty the bin and clean the filter with the power off, and wear a mask for it.",
    "Stop and look when the suction drops: a gate left open, a full bin, a blocked pipe.",
    "A planning estimate, not a safety assessment; local codes and licensed practice decide.",
)


def _why(case: Case) -> str:
    """Say why a set may not run."""
    if case.solved:
        return why_not(case)
    return PAST_THE_CURVE if case.status == "beyond the curve" else NOT_FOUND


def card_blocks(card: Card, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the card."""
    yield Paragraph((Span(f"DUST GATES: {card.shop}", "strong"),))
    if card.provisional:
        said = "PROVISIONAL: these rest on the two numbers on the collector's box. Measure before you trust them."
        yield Paragraph((Span(said, "warn"),))
    if card.always_open:
        yield Paragraph(f"Always open, no gate: {listed(card.always_open)}.")
    if set(card.never_allowed) >= set(card.order):
        yield Paragraph((Span("NO MACHINE MAY RUN with duct and collector as they are.", "bad"),))
    yield from _part("MAY RUN ALONE, only its own gate open", _alone(card))
    yield from _part("MAY RUN ONLY WITH ANOTHER GATE OPEN TOO (the machine at that gate stays off)", _helped(card))
    yield from _part("MAY RUN TOGETHER, two at a time", [*_together(card.any_two_of), *_weak(card)])
    yield from _rest(card)
    yield from _part("THREE OR MORE MACHINES AT ONCE", _three_or_more(card))
    yield from _part("KEEP A GATE OPEN, its machine off, so that chips move", list(_keep_open(card)))
    yield from _part("NAMED SETS", _sets(card))
    never = set(card.never_allowed)
    refused = {case.name: f"{case.name}{bracketed(_opens(card, case))}: {_why(case)}" for case in card.not_allowed}
    yield from _part("MUST NOT RUN until duct or collector is changed", [refused[name] for name in card.never_allowed])
    yield from _part("MUST NOT RUN ALONE", [said for name, said in refused.items() if name not in never])
    yield from _part("ONE HOSE, one at a time", [listed(pair) for pair in card.one_hose])
    yield from _part("OWN BLOWER", [_blower(machine) for machine in card.own_blowers])
    if card.filter is not None:
        yield from _part("CLEAN THE FILTER", [_filter(card.filter, display)])
    yield from _part("SAFETY", [*_cautions(card, display), *_shut(card), *SAFETY])
    yield from _seen(card, display, every_finding)
    yield Paragraph("")
    yield program_line(card.shop)


def _cautions(card: Card, display: Display) -> list[str]:
    """Return what is a matter of safety of what was seen unasked."""
    return [f"{found.name}: {finding_words(found, display)}" for found in card.findings.all if found.caution]


def _seen(card: Card, display: Display, every: bool) -> Iterator[Block]:
    """Yield everything else that was seen when it is asked for: it is for the workbench, not for the wall."""
    others = Findings(tuple(found for found in card.findings.all if not found.caution))
    if every:
        yield from findings_blocks(others, display, every)
    elif others.all:
        more = several(len(others.all), "warning")
        yield Paragraph("")
        yield Paragraph(f"{more}: run ductcalc check.")


def _blower(machine: str) -> str:
    return f"{machine}: never run it with its gate shut; its blower pushes chips out at other machines."


def _shut(card: Card) -> Iterator[str]:
    """Yield how to use gates, in a shop that has some to use."""
    if set(card.order) - set(card.always_open):
        shut = "Shut every other gate. " if len(card.order) > 1 else ""
        yield f"{shut}Open the gate before you start the machine."


def _three_or_more(card: Card) -> list[str]:
    """Return the sets of three machines and more that may run, or that none may."""
    if card.three_or_more is None:
        return list(_bounds(card))
    sets = card.three_or_more
    lines = [
        f"{_joined(case.asked)}{bracketed(weak_words(case))}{', or any of them' if parts else ''}"
        for case, parts in sets[:MOST_SETS]
    ]
    if len(sets) > MOST_SETS:
        lines.append(f"and {several(len(sets) - MOST_SETS, 'more set')}: see the whole report of gate sets.")
    return lines or (["Never."] if card.pairs > 2 else [])


def _bounds(card: Card) -> Iterator[str]:
    """Yield what holds of all larger sets though they were not solved: each further gate takes air from the others."""
    groups = [group for group in card.school.one_of if len(group) > 2]
    pairs = [group for group in card.school.one_of if len(group) == 2]
    if card.school.one_of:
        yield "Never two of these in one set: too little air, and each further gate takes more of it."
    yield from (f"one at a time: {_joined(group)}" for group in groups)
    yield from (f"never {said}" for said in _together(pairs))
    yield "Other sets: only those named below."


def _keep_open(card: Card) -> Iterator[str]:
    """Yield of which gates some are kept open in a large shop, and which more machines then may run alone."""
    kept = card.school.keep_open
    if kept is not None:
        more = [name for name in kept.then if name not in kept.now]
        which = "" if len(kept.gates) == kept.least else f"at least {kept.least} of these: "
        yield f"{which}{_joined(kept.gates)}. Then these may run alone too: {_joined(more)}"


def _part(title: str, lines: Sequence[str]) -> Iterator[Block]:
    if lines:
        yield Heading(title)
        for line in lines:
            yield Paragraph(line, "  ", "    ")


def _alone(card: Card) -> list[str]:
    said = [whole(case.name) + bracketed([*weak_words(case), *_opens(card, case)]) for case in card.alone]
    return [", ".join(said)] if said else []


def _opens(card: Card, case: Case) -> list[str]:
    """Say which other machines a machine's gate opens as well."""
    others = [name for name in case.opened_with if name not in card.always_open]
    return [f"opens {listed(others)} too"] if others else []


def _helped(card: Card) -> list[str]:
    """Return machines and then pairs, gathered by the gates that help them and by what is weak of them then."""
    alone: dict[str, list[str]] = {}
    pairs: dict[str, list[tuple[str, ...]]] = {}
    for one in card.with_helper:
        assert one.after is not None
        weak = bracketed(weak_words(one.after))
        if len(one.before.asked) == 1:
            alone.setdefault(f"open {_gates(one.helpers)}{weak}", []).append(one.before.asked[0])
        else:
            pairs.setdefault(f"with {_gates(one.helpers)} open{weak}", []).append(one.before.asked)
    lines = [f"{_joined(some)}: {gates}" for gates, some in alone.items()]
    together = list(_gathered(card, pairs))
    if len(together) > MOST_HELPED:
        many = several(sum(map(len, pairs.values())), "pair")
        together = [f"{many} with a third gate open: name those you want under [gates.sets] in shop.toml."]
    return [*lines, *together]


def _gathered(card: Card, pairs: dict[str, list[tuple[str, ...]]]) -> Iterator[str]:
    """Yield pairs under what holds of them, those of which any two may run together."""
    for title, some in pairs.items():
        groups = any_two_of([(one, other) for one, other in some], card.order)
        yield from (f"{title}: {said}" for said in _together(groups))


def _together(groups: Sequence[Sequence[str]]) -> list[str]:
    """Return groups of which any two may run, then the pairs that are left by their first machine."""
    partners: dict[str, list[str]] = {}
    for pair in groups:
        if len(pair) == 2:
            partners.setdefault(pair[0], []).append(pair[1])
    lines = [f"any two of: {_joined(group)}" for group in groups if len(group) > 2]
    return [*lines, *(f"{whole(one)} with {_joined(others)}" for one, others in partners.items())]


def _weak(card: Card) -> Iterator[str]:
    """Yield the pairs that may run but are weak, gathered by what is weak of them."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for case in card.together:
        if weak := weak_words(case):
            found.setdefault(", ".join(weak), []).append(case.asked)
    return _gathered(card, found)


def _joined(names: Sequence[str]) -> str:
    return ", ".join(map(whole, names))


def whole(name: str) -> str:
    """Return a name that no line end parts, unless it is long."""
    return glued(name) if len(name) <= LONG_NAME else name


def _rest(card: Card) -> Iterator[Block]:
    helped = sum(len(one.before.asked) == 2 for one in card.with_helper)
    rest = card.pairs - len(card.together) - helped
    if rest:
        yield Paragraph("")
        which = "No two machines" if rest == card.pairs else "No other two"
        said = "may run together" + ("" if card.pairs == 1 else f" ({several(rest, 'pair')})")
        why = "too little air, or chips settle in the pipe" + (", or not known" if card.unknown_pairs else "")
        yield Paragraph((Span(f"{which} {said}: {why}.", "bad"),))


def _sets(card: Card) -> list[str]:
    lines = []
    for case, one in ((one.case, one) for one in card.named):
        if not (case.asked or card.always_open):
            lines.append(f"{case.name}: every gate shut - NOT ALLOWED: thin pipe, bin and hose may fold")
            continue
        said = f"{case.name}: {listed(case.running)}"
        if case.helping:
            said += f", with {_gates(case.helping)} open for air only"
        if case.may_run:
            said += f" - ALLOWED{bracketed(weak_words(case))}"
        elif one.helped is not None and one.helped.after is not None:
            weak = bracketed(weak_words(one.helped.after))
            said += f" - ALLOWED with {_gates(one.more_helpers)} open too{weak}"
        else:
            said += f" - NOT ALLOWED: {_why(case)}"
        lines.append(said)
    return lines


def _gates(names: Sequence[str]) -> str:
    return f"{listed([the(name) + chr(39) + 's' for name in names])} gate" + ("s" if len(names) > 1 else "")


def _filter(reading: FilterReading, display: Display) -> str:
    open_ = f"with only {the(reading.machine)}'s gate open" if reading.gated else "with the blower running"
    off = " and no machine running" if reading.machine_off or not reading.gated else ""
    said = (
        f"When the gauge across the filter reads {display.pressure(reading.loaded_pa)} {open_}{off}."
        f" Just cleaned it reads {display.pressure(reading.clean_pa)}."
    )
    if reading.assumed:
        said += " ASSUMED: not stated for this filter; go by what its maker says."
    return said


FEWEST, MOST = 34, 200
"""Columns of the sheet at the largest and the smallest type that is tried."""
TALL = 1.3
"""Height of the sheet over its width, within the margins of A4 and of letter paper alike."""
ROW = 2.0
"""Height of a row over the width of a column."""
SHEET_MM = 186.0
"""Width of the sheet [mm] within the margins of A4 and of letter paper alike."""
LETTER = 0.52
"""Width of the average letter over its size, generously."""
STYLE = """
body { max-width: %(columns).0fch; font-size: clamp(1rem, 2.2vw, 2rem); }
h2 { font-size: 1em; margin: .9em 0 0; } p { margin: 0; padding-left: 1em; text-indent: -1em; }
@media print { @page { margin: 10mm; } body { max-width: none; font-size: %(size).2fmm; line-height: 1.2; }
  h1 { font-size: 1.3em; } h2 { font-size: 1em; margin: .8em 0 0; } p { margin: 0; } }
"""


def fitted(blocks: Sequence[Block]) -> tuple[int, list[Line]]:
    """Return the fewest columns at which the card fits on a sheet, and its lines."""
    for columns in range(FEWEST, MOST):
        lines = lines_of(blocks, Page(columns))
        if ROW * len(lines) <= TALL * columns:
            break
    return columns, lines


def card_html(shop: str, blocks: Iterable[Block]) -> str:
    """Return the card as one file."""
    told = tuple(blocks)
    columns, _ = fitted(told)
    style = STYLE % {"columns": columns, "size": SHEET_MM / columns / LETTER}
    title = f"Dust gates of {shop}"
    return sheet(title, element("main", element("h1", title), *elements(told[1:], "card", "h2")), style=style)


def card_picture(shop: str, blocks: Iterable[Block]) -> Picture:
    """Return the card as a picture of its lines."""
    columns, lines = fitted(tuple(blocks))
    words, said = [], []
    for row, line in enumerate(lines):
        at = 0
        for span in line:
            text = span.text.replace("\u00a0", " ")
            if text.strip():
                blank = len(text) - len(text.lstrip())
                words.append(Words((float(at + blank), float(row)), text.strip(), span.style))
            at += width_of(text)
        said.append("".join(span.text for span in line).strip())
    return Picture(columns, len(lines), f"Dust gates of {shop}", " ".join(said), (Group("card", shop, tuple(words)),))


def card_document(card: Card) -> dict[str, Any]:
    """Return the card as nested plain values."""
    return {
        **PROGRAM,
        "shop": card.shop,
        "exit_code": card.exit_code,
        "alone": [case.name for case in card.alone],
        "with_helper": [
            {"open": list(one.before.asked), "helpers": list(one.helpers), **fields_of(one.after, *GRADES)}
            for one in card.with_helper
        ],
        "together": [list(case.asked) for case in card.together],
        "named": [
            {
                **fields_of(one.case, "name", "running", "helping"),
                **fields_of(one, "more_helpers"),
                **fields_of(one.case, *GRADES),
            }
            for one in card.named
        ],
        "not_allowed": [{"machine": case.name, **fields_of(case, *GRADES)} for case in card.not_allowed],
        "never_allowed": list(card.never_allowed),
        "three_or_more": None
        if card.three_or_more is None
        else [
            {"open": list(case.asked), "all_parts": parts, **fields_of(case, *GRADES)}
            for case, parts in card.three_or_more
        ],
        "one_of": [list(group) for group in card.school.one_of],
        "keep_open": None
        if card.school.keep_open is None
        else fields_of(card.school.keep_open, "least", "gates", "now", "then"),
        "own_blowers": list(card.own_blowers),
        "one_hose": [list(pair) for pair in card.one_hose],
        "always_open": list(card.always_open),
        "provisional": card.provisional,
        "filter": None
        if card.filter is None
        else fields_of(card.filter, "machine", "machine_off", "gated", "clean_pa", "loaded_pa", "assumed"),
    }


class _Line(NamedTuple):
    kind: str
    machines: Sequence[str]
    word: str
    helpers: Sequence[str] = ()


LINES: Columns[_Line] = (
    Column("kind", lambda line: line.kind),
    Column("machines", lambda line: " + ".join(line.machines)),
    Column("helpers", lambda line: " + ".join(line.helpers)),
    Column("word", lambda line: line.word),
)


def card_csv(card: Card, display: Display) -> str:
    """Return a line for each thing that the card allows or forbids."""
    return csv_of(LINES, _lines(card), display)


def _lines(card: Card) -> Iterator[_Line]:
    for case in card.alone:
        yield _Line("alone", [case.name], case.word)
    for one in card.with_helper:
        assert one.after is not None
        yield _Line("with helper", one.before.asked, one.after.word, one.helpers)
    for case in card.together:
        yield _Line("together", case.asked, case.word)
    for case in (named.case for named in card.named):
        yield _Line(f"set {case.name}", case.running, case.word, case.helping)
    for case in card.not_allowed:
        yield _Line("not alone", [case.name], case.word)
    for pair in card.one_hose:
        yield _Line("one hose", pair, "one at a time")
