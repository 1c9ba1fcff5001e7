"""What readings say: the diagnosis in plain words, the place first, the log over its dates; text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.diagnose.diagnose import Diagnosis
from ductcalc.answers.diagnose.faults import FaultKind
from ductcalc.answers.diagnose.trend import DAYS, Day, Trend
from ductcalc.answers.diagnose.weighed import SECOND, SUSPECTS, Suspect
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span, glued
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import changed_blocks, noted, program_line
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.report.sentences import capitalised, listed, several, the
from ductcalc.report.short import SAFETY, Typed, closing_lines
from ductcalc.shop.readings import Reading

SAID: dict[FaultKind, str] = {
    "no fault": "nothing that these readings can show",
    "leak": "a leak in {where}",
    "gate not closing": "the gate at {where} does not close",
    "gate not opening": "the gate at {where} is not fully open",
    "plug": "a plug in {where}",
    "hose kinked or longer": "the hose of {where} is kinked or bunched",
    "port blocked": "{machine} is blocked ahead of the tap: hood, port or machine",
    "wrong size": "{where} was built in another size",
    "filter loaded": "the filter is loaded",
    "filter torn": "the filter is torn or bypassed",
    "bin leak": "air leaks in between the duct's end and the cyclone: bin, lid, cleanout",
    "blower slow": "the blower runs slow",
    "blower reversed": "the blower may run backwards",
    "altitude forgotten": "the air is thinner than written",
    "tube on the wrong side": "the tube at {where} was on the other side of the gate",
    "tube facing the stream": "the tube at {where} faced the stream",
    "one column read": "one column of the tube was read, not the difference of both",
    "something else": "something that is not in the list",
}
LOOK: dict[FaultKind, str] = {
    "no fault": "Nothing to do.",
    "leak": "Look for a joint that has come apart, a hole, an open cleanout there.",
    "gate not closing": "Look whether that gate is shut to the end, and for chips in its slot. Another opening there reads alike.",  # noqa: E501
    "gate not opening": "Look whether that gate is open to the end.",
    "plug": "Knock along that stretch, open it and look for chips.",
    "hose kinked or longer": "Pull the hose straight, look for a kink or chips in it, cut it to length.",
    "port blocked": "Stop the machine and look into its hood and port for chips and offcuts.",
    "wrong size": "Measure the pipe there and write what hangs.",
    "filter loaded": "Clean the filter with the power off, and read again.",
    "filter torn": "Look at the filter's cloth and seals.",
    "bin leak": "Look at the bin's seal and lid and at cleanouts ahead of the collector's inlet.",
    "blower slow": "Look at belt and pulleys; voltage and motor are work for an electrician.",
    "blower reversed": "Look at the arrow on the housing; the motor's wiring is work for an electrician.",
    "altitude forgotten": "Write altitude under [air] in shop.toml.",
    "tube on the wrong side": "Read again with the tube on the main's side of the gate.",
    "tube facing the stream": "Read again with the tube flush with the wall.",
    "one column read": "Read both columns and write the difference of their heights.",
    "something else": "Read again, and read more taps.",
}


def said(suspect: Suspect) -> str:
    """Return a fault in words, with its place; of two at once both."""
    words = SAID[suspect.kind].format(where=suspect.where, machine=the(suspect.where))
    return f"{words}, and {said(suspect.second)}" if suspect.second else words


def sized(suspect: Suspect, display: Display) -> str:
    """Return how much of it there is, with its band; nothing where it has no size."""
    if suspect.size is None or suspect.low is None or suspect.high is None:
        return ""
    low, high = suspect.low, suspect.high
    match suspect.size_of:
        case "open share":
            left = "is open" if suspect.kind in ("leak", "gate not closing", "bin leak") else "is left"
            return f"{_to(f'{100 * low:.0f}', f'{100 * high:.0f}')} % of the bore {left}"
        case "times":
            return f"{_to(f'{low:.2g}', f'{high:.2g}')} times its usual loss"
        case "speed":
            return f"{_to(f'{100 * low:.0f}', f'{100 * high:.0f}')} % of its speed"
        case "bore":
            return display.size(suspect.size)
        case "altitude":
            return f"as at {_to(display.altitude(low), display.altitude(high))}"
        case _:
            return ""


def _to(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def chance(probability: float) -> str:
    """Return a chance in whole per cent, never as certain or impossible."""
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"


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
        return f"Most likely all is well: no fault shows in these readings (chance {chance(first.probability)})."
    size = f": {how}" if how and not first.second else ""
    together = first.probability + sum(suspect.probability for suspect in found.alike)
    start = "Most likely" if together >= LIKELY else "Perhaps"
    those = f", {chance(together)} with those below" if len(found.alike) else ""
    return f"{start} {said(first)}{size} (chance {chance(first.probability)}{those})."


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


def trend_blocks(found: Trend, display: Display) -> Iterator[Block]:
    """Yield the filter's state, then the log day by day."""
    yield Paragraph((Span(log_headline(found), "strong"),))
    yield from changed_blocks(found.changes)
    yield from _growing(found, display)
    yield Paragraph("")
    columns = (
        GridColumn(("day", "")),
        GridColumn(("filter", "x clean"), right=True),
        GridColumn(("band", ""), right=True, drop=0),
        GridColumn(("likeliest", ""), wrap=True),
        GridColumn(("how much", ""), wrap=True),
        GridColumn(("chance", ""), right=True),
    )
    yield Grid(columns, tuple(_cells(day, display) for day in found.days))
    yield Paragraph("")
    yield noted("filter: its loss over that of the clean filter at the same air.")
    if found.by_change:
        yield noted("The healthy readings do not fit the shop as it is written: loads are held against them alone.")
    yield Paragraph(SAFETY)


def _growing(found: Trend, display: Display) -> Iterator[Block]:
    """Say how the fault of the last day has grown over the days on which it showed."""
    seen = [(day.when, day.last) for day in found.days if day.last is not None and day.last.size is not None]
    if len(seen) > 1:
        steps = ", ".join(f"{sized(suspect, display)} on {when}" for when, suspect in seen)
        yield Paragraph(f"Day by day {said(seen[-1][1])}: {steps}.")


def _cells(day: Day, display: Display) -> tuple[str, ...]:
    load, band = ("", "") if day.times is None else (f"{day.times:.1f}", f"{day.low:.1f} to {day.high:.1f}")
    if day.suspect is None:
        return day.when, load, band, "Healthy by the log", "", ""
    suspect = day.suspect
    much = "" if suspect.second else sized(suspect, display)
    return day.when, load, band, capitalised(said(suspect)), much, chance(suspect.probability)


def log_headline(found: Trend) -> str:
    """Say how the filter stands to its cleaning line."""
    loads = [day for day in found.days if day.times is not None]
    if not loads:
        return "The log holds no drop across the filter, so its load cannot be told."
    last = loads[-1]
    stands = f"the filter stood at {last.times:.1f} times its clean loss on {last.when}"
    if found.line is None:
        return f"{capitalised(stands)}; no cleaning line is known."
    line = f"{found.line:.1f} times"
    if found.crossed is not None:
        now = "Clean it." if (last.times or 0.0) >= found.line else "It was cleaned since."
        return f"The filter crossed its cleaning line, {line} its clean loss, about {found.crossed}; {stands}. {now}"
    if found.ahead is not None:
        return f"{capitalised(stands)}; at this rate it reaches its cleaning line, {line}, about {found.ahead}."
    return f"{capitalised(stands)}; its cleaning line is {line}."


def trend_document(found: Trend) -> dict[str, Any]:
    """Return the log over its dates as nested plain values."""
    return {
        **PROGRAM,
        "shop": found.shop,
        "changes": list(found.changes),
        "cleaning_line": found.line,
        **fields_of(found, "crossed", "ahead", "by_change"),
        "days": records(DAYS, found.days),
    }


def trend_csv(found: Trend, display: Display) -> str:
    """Return a line for each day."""
    return csv_of(DAYS, found.days, display)


def diagnosis_document(found: Diagnosis) -> dict[str, Any]:
    """Return a diagnosis as nested plain values, SI units; the chances of all faults add up to one."""
    further = found.further
    return {
        **PROGRAM,
        **fields_of(found, "shop", "when", "baseline", "unseen"),
        "changes": list(found.changes),
        "faults": records((*SUSPECTS, *SECOND), found.suspects),
        "further": None
        if further is None
        else {**fields_of(further, "where", "first_pa", "second_pa", "apart"), "open": list(further.open)},
        "readings": [
            {
                "where": reading.where.written,
                "open": list(reading.open),
                **fields_of(reading, "when", "kind", "value", "sigma", "instrument"),
                "healthy": healthy,
                "first": first,
            }
            for reading, healthy, first in zip(found.now, found.healthy_now, found.first.then, strict=True)
        ],
        "unused": [reading.where.written for reading in found.unused],
    }


def diagnosis_csv(found: Diagnosis, display: Display) -> str:
    """Return a line for each fault, likeliest first."""
    return csv_of((*SUSPECTS, *SECOND), found.suspects, display)
