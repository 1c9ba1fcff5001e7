"""Text that the page can carry: unseen characters spelled out, substitutes where the encoding lacks a character."""

from __future__ import annotations

from ductcalc.report.blocks import NO_BREAK
from ductcalc.units.wording import is_unseen

SUBSTITUTES = {"█": "#", "├": "|", "└": "`", "│": "|", "─": "-", NO_BREAK: " "} | dict.fromkeys("┌┐┘┤┬┴┼", "+")


def carried(text: str, encoding: str) -> str:
    """Return text whose every character the encoding has and a reader can see."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(_carried_character(character, encoding) for character in text)


def _carried_character(character: str, encoding: str) -> str:
    if character != NO_BREAK and is_unseen(character):
        return f"\\u{ord(character):04x}"
    try:
        character.encode(encoding)
    except UnicodeEncodeError:
        return SUBSTITUTES.get(character) or character.encode(encoding, "backslashreplace").decode(encoding)
    return character


def width_of(text: str) -> int:
    """Return how many terminal cells a text takes."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len

    return cell_len(text)


def encoding_or_ascii(name: str | None) -> str:
    """Return an encoding that exists, ASCII where none is told."""
    try:
        "a".encode(name or "ascii")
    except LookupError:
        return "ascii"
    return name or "ascii"
