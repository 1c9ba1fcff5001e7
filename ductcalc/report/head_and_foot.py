"""Head and foot of a report: what was changed; numbered notes, cautions, the shop and the program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.report.blocks import Block, Paragraph, Span


def changed_blocks(changes: Sequence[str]) -> Iterator[Block]:
    """Yield a line for each change; none when the shop is as written."""
    for label in changes:
        yield Paragraph((Span("Changed", "strong"), Span(f": {label}")), rest="  ")


CAUTIONS = (
    "This is a planning estimate, not an assessment of safety; local codes and licensed practice decide.",
    "Fine wood dust burns and can explode, and moving chips charge the duct: bonding, grounding and the place of the"
    " collector are matters of code.",
    "Air blown outdoors must come back in: where a fuel-burning heater or stove stands in the room, have its draught"
    " looked at first.",
    "Wiring and motors are work for a licensed electrician. Fine dust harms the lungs: what a filter lets"
    " through is not judged here.",
)


def general_cautions() -> Iterator[Block]:
    """Yield the short cautions."""
    for caution in CAUTIONS:
        yield noted(caution)


def noted(text: str) -> Paragraph:
    """Return a line of a list of notes."""
    return Paragraph(text, "- ", "  ")


def program_line(shop: str) -> Paragraph:
    """Return the last line: program, version, shop; no date, so that the same shop gives the same bytes."""
    from ductcalc import __version__

    return Paragraph((Span(f"ductcalc {__version__}, shop {shop}", "dim"),))


class Numbered:
    """Gives equal notes one number; numbers start at 1."""

    def __init__(self) -> None:
        """Start without notes."""
        self._numbers: dict[str, int] = {}

    def number(self, note: str) -> int:
        """Return the number of a note."""
        return self._numbers.setdefault(note, len(self._numbers) + 1)

    def lines(self) -> list[tuple[int, str]]:
        """Return numbers and notes in order."""
        return [(number, note or "no source") for note, number in self._numbers.items()]
