"""What every short report shares: the command to type next, warnings a line each, one line of safety."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from ductcalc.findings.finding import Finding, Findings
from ductcalc.report.blocks import Block, Paragraph, Span
from ductcalc.report.display import Display
from ductcalc.report.findings import finding_words, where_words
from ductcalc.report.sentences import capitalised, listed, several

MOST_WARNINGS = 3
SAFETY = (
    "Planning estimate, good to 10 to 25 %. Wood dust can explode: grounding, make-up air and wiring are for local"
    " codes and licensed practice."
)
ON_THE_BOX = "Provisional: only the two figures on the blower's box are known, counted cautiously. Get its curve."
PROVISIONAL = Paragraph((Span(ON_THE_BOX, "warn"),))


class Typed(NamedTuple):
    """How the program was started, so that the next command can be copied.

    shared: what goes along to any command; own: what only this command takes.
    """

    program: str = "ductcalc"
    command: str = "check"
    shop: str = "SHOP"
    shared: tuple[str, ...] = ()
    own: tuple[str, ...] = ()

    def line(self, command: str, *more: str) -> str:
        """Return another command for the same shop, as it is typed."""
        return shlex.join([*shlex.split(self.program), command, self.shop, *self.shared, *more])

    def again(self, *more: str) -> str:
        """Return the same command with one more option."""
        return self.line(self.command, *self.own, *more)


def next_line(said: str, command: str) -> Paragraph:
    """Return what to do next, as a command to copy."""
    return Paragraph((Span(f"{said}: "), Span(command, "strong")))


def warning_lines(findings: Findings, display: Display, typed: Typed, every: bool = False) -> Iterator[Block]:
    """Yield the worst warnings where something is wanted; the others are counted. Cautions stand higher up."""
    others = [found for found in findings.all if not found.caution]
    shown = others if every else [found for found in others if not found.spares][:MOST_WARNINGS]
    for found in shown:
        yield Paragraph((Span("Warning: ", "warn"), Span(_in_short(found, display))))
    hidden = len(others) - len(shown) + findings.not_weighed
    if hidden:
        yield Paragraph(f"{several(hidden, 'more warning')}: {typed.line('check', '--full')}")
    if findings.switched_off:
        yield Paragraph(f"Switched off in shop.toml: {listed(findings.switched_off)}.")


def caution_lines(findings: Findings, display: Display, where: str = "") -> Iterator[Block]:
    """Yield every caution that this shop gives cause for: they stand before the figures; where: in which shop."""
    for found in findings.all:
        if found.caution:
            yield Paragraph((Span(f"CAUTION{where}: ", "bad"), Span(_in_short(found, display))))


def _in_short(found: Finding, display: Display) -> str:
    """Return where, what is seen, what that is worth, and what to do."""
    return f"{where_words(found)}: {finding_words(found, display)}"


def closing_lines(cautions: Sequence[str], full: str) -> Iterator[Block]:
    """Yield the cautions that this shop gives cause for, one line of safety, and how to see everything."""
    for caution in cautions:
        yield Paragraph(capitalised(caution))
    yield Paragraph(f"{SAFETY} Everything: {full}")
