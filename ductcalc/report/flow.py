"""Words flowed into lines of a width; a word is broken only when it alone is wider than the line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.report.blocks import NO_BREAK, Span, Words, spans_of
from ductcalc.units.wording import is_unseen

Line = tuple[Span, ...]
Word = list[Span]


def flowed(words: Words, width: int | None, encoding: str, hang: int = 0) -> list[Line]:
    """Return words as lines of at most `width` cells, all but the first set in by `hang`; one line if width is None."""
    spans = [Span(carried(span.text, encoding), span.style) for span in spans_of(words)]
    if width is None or sum(width_of(span.text) for span in spans) <= width:
        return [tuple(spans)]
    lines: list[list[Span]] = [[]]
    used = 0
    for word in _broken(_words(spans), max(width, 1)):
        size = _size(word)
        if used and used + 1 + size > width:
            lines.append([Span(" " * hang)] if hang else [])
            used = hang
        if used > (hang if len(lines) > 1 else 0):
            lines[-1].append(Span(" "))
            used += 1
        lines[-1].extend(word)
        used += size
    return [tuple(line) for line in lines]


def longest_word(words: Words, encoding: str) -> int:
    """Return the cells that the longest word takes."""
    spans = [Span(carried(span.text, encoding), span.style) for span in spans_of(words)]
    return max((_size(word) for word in _words(spans)), default=0)


def line_width(line: Sequence[Span]) -> int:
    """Return the cells that a line takes."""
    return _size(line)


def _size(spans: Sequence[Span]) -> int:
    return sum(width_of(span.text) for span in spans)


def _words(spans: Sequence[Span]) -> list[Word]:
    words: list[Word] = [[]]
    for span in spans:
        first, *others = span.text.split(" ")
        words[-1].append(Span(first, span.style))
        words.extend([Span(text, span.style)] for text in others)
    return [word for word in words if any(span.text for span in word)]


def _broken(words: Sequence[Word], width: int) -> Iterator[Word]:
    for word in words:
        if _size(word) <= width:
            yield word
        else:
            yield from _pieces(word, width)


def _pieces(word: Word, width: int) -> Iterator[Word]:
    """Break a word that no line can hold."""
    piece: Word = []
    used = 0
    for span in word:
        for character in span.text:
            size = width_of(character)
            if used and used + size > width:
                yield piece
                piece, used = [], 0
            piece.append(Span(character, span.style))
            used += size
    yield piece


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
