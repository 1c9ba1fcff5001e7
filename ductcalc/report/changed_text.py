"""The lines of a report that say what was changed of the shop as written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.report.blocks import Block, Paragraph, Span


def changed_blocks(changes: Sequence[str]) -> Iterator[Block]:
    """Yield a line for each change; none when the shop is as written."""
    for label in changes:
        yield Paragraph((Span("Changed", "strong"), Span(f": {label}")), rest="  ")
