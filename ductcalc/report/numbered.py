"""Notes that are numbered in the order in which they are first needed."""

from __future__ import annotations


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
