"""What readings say, in plain words and the place first; the tables behind the whole form."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.diagnose.diagnose import Diagnosis
from ductcalc.answers.diagnose.weighed import Suspect
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span, glued
from ductcalc.report.diagnose.words import LOOK, chance, said, sized
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import changed_blocks, noted, program_line
from ductcalc.report.sentences import capitalised, listed, several
from ductcalc.report.short import Typed, closing_lines
from ductcalc.shop.readings import Reading

MOST_SUSPECTS, MOST_ALIKE = 4, 4
FINE_PA = 250.0
"""Pressures below it are shown to one digit more."""

LIKELY, TOLD, SURE = 0.5, 0.01, 0.8
"""Chance from which on a suspect is called likely, below which it is not told in short, and above which a healthy shop
needs no further reading."""


def short_diagnosis(found: Diagnosis, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield the diagnosis in short: what is wrong where, what to look at, what to read next."""
    yield from _head(found, display)
    told = [suspect for suspect in found.suspects[:MOST_SUSPECTS] if suspect.probability >= TOLD]
    if len(told) > 1:
        yield Paragraph("")
        yield _suspects(told, display)
    yield from closing_lines((), typed.again("--full"))


def diagnosis_blocks(found: Diagnosis, display: Display) -> Iterator[Block]:
    """Yield the whole diagnosis: every suspect worth a word, and every reading beside what it is held against."""
    yield from _head(found, display)
    yield Heading("Suspects, likeliest first")
    yield _suspects([s for s in found.suspects if s.probability >= TOLD / 10] or [found.first], display)
    yield Heading("Readings")
    yield _readings(found, display)
    yield Heading("Notes")
    yield noted("healthy: what a healthy shop would read, by calculation and by the healthy readings there are.")
    yield noted("first: what it would read with the likeliest fault.")
    yield noted("A change under 10 % of pressure is no finding: a reading that is taken again may differ as much.")
    yield noted(
        "What readings alone cannot tell: a plug from a half-shut gate, an open gate from another opening there, a belt"
        " from other blower trouble. Look at all of them."
    )
    if found.unseen:
        yield noted(f"{several(found.unseen, 'fault')} of the list would not show in these readings at all.")
    yield Paragraph("")
    yield program_line(found.shop)


def _head(found: Diagnosis, display: Display) -> Iterator[Block]:
    yield Paragraph((Span(headline(found, display), "strong"),))
    yield from changed_blocks(found.changes)
    if found.unexplained:
        said_so = "No fault of the list explains these readings well. Read again before you act."
        yield Paragraph((Span(said_so, "warn"),))
    if found.alike and found.first.kind != "no fault":
        names = [f"{said(s)} ({chance(s.probability)})" for s in found.alike[:MOST_ALIKE]]
        more = len(found.alike) - MOST_ALIKE
        tail = f"; {several(more, 'more place')}" if more > 0 else ""
        yield Paragraph(f"Cannot be told apart from it: {listed(names)}{tail}.")
    if found.first.kind != "no fault":
        yield Paragraph(LOOK[found.first.kind])
        if found.first.second:
            yield Paragraph(LOOK[found.first.second.kind])
    yield from _further(found, display)
    yield Paragraph(_against(found))
    if found.unused:
        yield Paragraph(f"Not used: {listed([r.where.written for r in found.unused])}. Nothing is calculated for it.")


def headline(found: Diagnosis, display: Display) -> str:
    """Say what is likeliest, the place first, with its chance."""
    first = found.first
    how = sized(first, display)
    if first.kind == "no fault":
        return f"Most likely all is well: no fault shows in these readings ({chance(first.probability)})."
    size = f": {how}" if how and not first.second else ""
    together = first.probability + sum(suspect.probability for suspect in found.alike)
    start = "Most likely" if together >= LIKELY else "Perhaps"
    those = f", {chance(together)} with those below" if len(found.alike) else ""
    return f"{start} {said(first)}{size} ({chance(first.probability)}{those})."


def _further(found: Diagnosis, display: Display) -> Iterator[Block]:
    further, rival = found.further, found.rival
    if further is None or rival is None or (found.first.kind == "no fault" and found.first.probability > SURE):
        return
    fine = max(further.first_pa, further.second_pa) < FINE_PA
    one, other = (display.pressure(pressure, fine) for pressure in (further.first_pa, further.second_pa))
    yield Paragraph(
        f"To be surer read {further.where} with {listed(further.open)} open: {one} {_if(found.first)},"
        f" {other} {_if(rival)}."
    )


def _if(suspect: Suspect) -> str:
    if suspect.kind == "no fault":
        return "if all is well"
    words = said(suspect)
    noun = suspect.kind in ("leak", "plug", "something else")
    return f"if it is {words}" if noun else f"if {words}"


def _against(found: Diagnosis) -> str:
    read = f"{several(len(found.now), 'reading')} of {found.when}"
    if found.by_change:
        return (
            f"{capitalised(read)}, held against healthy readings up to {found.baseline} alone: these do not fit the"
            " shop as it is written. Check the tables against what hangs."
        )
    if found.baseline:
        return f"{capitalised(read)}, held against healthy readings up to {found.baseline} and against calculation."
    return f"{capitalised(read)}, held against calculation alone: healthy readings beside them would tell more."


def _suspects(suspects: list[Suspect], display: Display) -> Grid:
    columns = (
        GridColumn(("fault", ""), wrap=True),
        GridColumn(("how much", ""), wrap=True),
        GridColumn(("chance", ""), right=True),
    )
    rows = [(capitalised(said(s)), "" if s.second else sized(s, display), chance(s.probability)) for s in suspects]
    return Grid(columns, tuple(rows))


def _readings(found: Diagnosis, display: Display) -> Grid:
    columns = (
        GridColumn(("tap", ""), wrap=True),
        GridColumn(("open", ""), wrap=True),
        GridColumn(("kind", ""), wrap=True, drop=0),
        GridColumn(("read", ""), right=True),
        GridColumn(("healthy", ""), right=True),
        GridColumn(("first", ""), right=True),
    )
    rows = [
        (reading.where.written, listed(reading.open), reading.kind, *(_value(v, reading, display) for v in values))
        for reading, *values in zip(
            found.now, (r.value for r in found.now), found.healthy_now, found.first.then, strict=True
        )
    ]
    return Grid(columns, tuple(rows))


def _value(value: float, reading: Reading, display: Display) -> str:
    if reading.kind == "speed":
        return display.speed(value)
    return glued(f"{display.pressure_number(value, fine=True)} {display.unit('pressure')}")
