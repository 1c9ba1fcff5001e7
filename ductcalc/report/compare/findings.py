"""Findings of shops side by side: all of the first one, and what is gone or new in each other one."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.compare.compare import Comparison
from ductcalc.findings.finding import Finding, Findings
from ductcalc.report.blocks import Block, Heading
from ductcalc.report.closing import noted
from ductcalc.report.display import Display
from ductcalc.report.findings_text import findings_blocks
from ductcalc.report.findings_words import finding_words, where_words
from ductcalc.report.sentences import listed


def compared_findings_blocks(comparison: Comparison, display: Display, every: bool) -> Iterator[Block]:
    """Yield the first shop's findings, then what the others have lost or gained."""
    first = comparison.variants[0]
    yield from findings_blocks(first.check.findings, display, every, f"in {first.letter}")
    changes = changed_findings(comparison)
    if not any(gone or new for _, gone, new in changes):
        return
    yield Heading(f"Of the warnings of {first.letter}")
    for letter, gone, new in changes:
        if gone:
            yield noted(f"gone in {letter}: {listed([_named(found) for found in gone])}.")
        for found in new:
            yield noted(f"new in {letter}: {_named(found)}: {finding_words(found, display)}")


def changed_findings(comparison: Comparison) -> list[tuple[str, list[Finding], list[Finding]]]:
    """Return for each shop but the first its letter, and which of the first one's findings are gone, which new."""
    first, *others = comparison.variants
    seen = first.check.findings
    return [(v.letter, _less(seen, v.check.findings), _less(v.check.findings, seen)) for v in others]


def changed_warnings(comparison: Comparison) -> Iterator[str]:
    """Yield in a line each what is gone and what is new."""
    for letter, gone, new in changed_findings(comparison):
        if gone:
            yield f"Gone in {letter}: {listed([_named(found) for found in gone])}."
        if new:
            yield f"New in {letter}: {listed([_named(found) for found in new])}."


def _less(some: Findings, others: Findings) -> list[Finding]:
    """Return findings of the one that the other has not, told apart by rule and name."""
    known = {(found.rule, found.name) for found in others.all}
    return [found for found in some.all if (found.rule, found.name) not in known]


def _named(found: Finding) -> str:
    return f"{found.rule} ({where_words(found)})"
