"""How given text is quoted in a message."""

from __future__ import annotations

import unicodedata

LONGEST_QUOTE = 60
_UNSEEN = {"Cc", "Cf", "Zl", "Zp", "Cs", "Co", "Cn"}
_JOINERS = "\u200d\ufe0f"
_BLANK_LETTERS = "\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0"
"""Letters and signs without ink: to a reader they are blanks, or nothing at all."""


def is_unseen(character: str) -> bool:
    """Tell whether a character is a control or other invisible one (emoji joiners excepted)."""
    return character in _BLANK_LETTERS or (character not in _JOINERS and unicodedata.category(character) in _UNSEEN)


def quoted(text: str) -> str:
    """Put a text in quotes for a message: unseen characters are spelled out, long texts shortened."""
    return f'"{visible(text)}"'


def visible(text: str, longest: int = LONGEST_QUOTE) -> str:
    """Spell out the unseen characters of a text and shorten a long one."""
    return spelled(text if len(text) <= longest else f"{text[:longest]}... ({len(text)} characters)")


def spelled(text: str) -> str:
    """Spell out the unseen characters of a text, so that it can do nothing to a terminal or to the text around it."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(f"\\u{ord(c):04x}" if is_unseen(c) else c for c in text)
