"""The log over its dates as text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.diagnose.trend import DAYS, Day, Trend
from ductcalc.report.blocks import Block, Grid, GridColumn, Paragraph, Span
from ductcalc.report.columns import csv_of
from ductcalc.report.diagnose.words import chance, said, sized
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import changed_blocks, noted
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.report.sentences import capitalised
from ductcalc.report.short import SAFETY


def trend_blocks(found: Trend, display: Display) -> Iterator[Block]:
    """Yield the filter's state, then the log day by day."""
    yield Paragraph((Span(headline(found), "strong"),))
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


def headline(found: Trend) -> str:
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
