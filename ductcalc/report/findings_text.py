"""Findings as blocks of a report: a handful, or all of them."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.findings.finding import Finding, Findings
from ductcalc.report.blocks import Block, Heading, Paragraph, Span
from ductcalc.report.display import Display
from ductcalc.report.findings_words import finding_words, where_words
from ductcalc.report.sentences import listed, several


def findings_blocks(findings: Findings, display: Display, every: bool = False, when: str = "") -> Iterator[Block]:
    """Yield what was seen unasked, the heaviest first; every: all of it, not a handful; when: in what shop."""
    shown = findings.all if every else findings.handful
    if shown or findings.switched_off:
        said = f"Warnings {when}".rstrip()
        yield Heading(f"{said}, worst first" if len(shown) > 1 else said)
    for number, finding in enumerate(shown, start=1):
        yield _finding(number, finding, display)
    hidden = len(findings.all) - len(shown)
    if hidden:
        yield Paragraph(f"{several(hidden, 'more warning')}; --all-findings shows {'it' if hidden == 1 else 'them'}.")
    if findings.not_weighed:
        yield Paragraph(f"{several(findings.not_weighed, 'more')} seen and not weighed in a shop of this size.")
    if findings.switched_off:
        yield Paragraph(f"Switched off in shop.toml: {listed(findings.switched_off)}.")


def _finding(number: int, finding: Finding, display: Display) -> Paragraph:
    label = f"CAUTION ({finding.rule})" if finding.caution else finding.rule.upper()
    head = f"{label}, {where_words(finding)}: "
    return Paragraph((Span(head, "warn"), Span(finding_words(finding, display))), f"{number}. ", "   ")
