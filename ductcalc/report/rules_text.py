"""What is looked for unasked: every rule with its condition, its cure and its source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.catalog import cite
from ductcalc.findings.every_rule import RULES
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Span
from ductcalc.report.csv_text import csv_text
from ductcalc.report.numbered import Numbered

HEAD = ("finding", "looks for", "mended by", "source")
SWITCH = 'Any of them is switched off by name in shop.toml: [findings] off = ["long hose"].'


def rules_blocks() -> Iterator[Block]:
    """Yield the list of rules; * marks cautions."""
    sources = Numbered()
    said = f"{len(RULES)} things are looked for unasked; what counts is solved with and without the cure."
    yield Paragraph((Span(said, "strong"),))
    yield Paragraph(f"{SWITCH} A caution (*) is shown however many there are.")
    yield Paragraph("")
    columns = (
        Column((HEAD[0],)),
        Column((HEAD[1],), wrap=True),
        Column((HEAD[2],), wrap=True),
        Column((HEAD[3],), right=True, drop=0),
    )
    named = {rule: f"{rule.name} *" if rule.caution else rule.name for rule in RULES}
    rows = tuple(
        (named[rule], rule.catches, rule.cure, f"[{sources.number(cite(rule.source))}]") for rule in RULES
    )
    yield Grid(columns, rows)
    yield Heading("Sources of the rules")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")
    yield Paragraph("")


def rules_rows() -> list[dict[str, Any]]:
    """Return the rules as plain values."""
    return [
        {
            "finding": rule.name,
            "looks_for": rule.catches,
            "mended_by": rule.cure,
            "caution": rule.caution,
            "source": cite(rule.source),
        }
        for rule in RULES
    ]


def rules_csv() -> str:
    """Return the rules as CSV."""
    rows = rules_rows()
    return csv_text(tuple(rows[0]), (list(row.values()) for row in rows))
