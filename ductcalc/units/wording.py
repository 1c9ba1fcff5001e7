"""The one small exception of this room, and how given text is quoted in a message."""

from __future__ import annotations

import unicodedata

LONGEST_QUOTE = 60
_UNSEEN = {"Cc", "Cf", "Zl", "Zp", "Cs", "Co", "Cn"}
_JOINERS = "\u200d\ufe0f"


class UnreadableError(Exception):
    """A text that is not what was wanted: `message` says what is wrong, `hint` how to repair it."""

    def __init__(self, message: str, hint: str) -> None:
        """Keep message and hint; whoever knows the place makes a Problem of them."""
        super().__init__(message)
        self.message = message
        self.hint = hint


def is_unseen(character: str) -> bool:
    """Tell whether a character is a control or other invisible one (emoji joiners excepted)."""
    return character not in _JOINERS and unicodedata.category(character) in _UNSEEN


def quoted(text: str) -> str:
    """Put a text in quotes for a message: unseen characters are spelled out, long texts shortened."""
    return f'"{visible(text)}"'


def visible(text: str) -> str:
    """Spell out the unseen characters of a text and shorten a long one."""
    short = text if len(text) <= LONGEST_QUOTE else f"{text[:LONGEST_QUOTE]}... ({len(text)} characters)"
    if not short.isprintable():
        short = "".join(f"\\u{ord(c):04x}" if is_unseen(c) else c for c in short)
    return short
