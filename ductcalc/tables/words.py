"""The closed vocabulary of the tables and of the catalog, and the nearest known word for a mistyped one."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import get_args

from ductcalc import catalog
from ductcalc.shop.kinds import EVERY_ROW, PIECE_KINDS, TRAITS, DuctColumn, PieceKind
from ductcalc.shop.names import key_of
from ductcalc.units import Dimension, UnreadableError, quoted, visible

DUCT_COLUMNS: dict[str, frozenset[PieceKind]] = {
    column: frozenset(kind for kind, traits in TRAITS.items() if column in (*EVERY_ROW, *traits.columns))
    for column in get_args(DuctColumn)
}
"""The columns of the duct table, and the pieces that take them."""
DUCT_REQUIRED = ("run", "piece", "size")
COLLECTOR_COLUMNS = ("item", "flow", "pressure", "collector", "power", "exponent", "note")
COLLECTOR_REQUIRED = ("item", "flow", "pressure")
COLLECTOR_ITEMS = ("blower", "advertised", "cyclone", "filter clean", "filter loaded")

HEADER_DIMENSIONS: dict[str, tuple[Dimension, ...]] = {
    "size": ("length",),
    "length": ("length",),
    "angle": ("angle",),
    "flow": ("flow", "speed"),
    "drop": ("pressure",),
    "inlet": ("area",),
    "roughness": ("length",),
    "opening": ("share",),
    "leak": ("share",),
    "rise": ("length",),
    "pressure": ("pressure",),
    "power": ("power",),
}

OTHER_WORDS: Mapping[str, str] = {
    **{word: kind for kind, traits in TRAITS.items() for word in traits.also},
    "diameter": "size",
}

MOST_LISTED = 30
LONGEST_WORD = 100
"""Longer texts are no mistyped word: nothing is looked up that is spelled like them."""

_JOINTS = re.compile(r"[_\s-]+")


@lru_cache(maxsize=4096)
def word_key(text: str) -> str:
    """Return the form in which words of the vocabulary are compared: `_`, `-` and space are one."""
    return _JOINTS.sub(" ", text.strip()).casefold()


def nearest(text: str, known: Iterable[str]) -> str | None:
    """Return the known word or name that is spelled most like a text, None when nothing is near."""
    if len(text) > LONGEST_WORD:
        return None
    by_key = {key_of(word): word for word in known}
    near = difflib.get_close_matches(key_of(text), list(by_key), n=1, cutoff=0.6)
    return by_key[near[0]] if near else None


def likely(text: str, known: Iterable[str]) -> str | None:
    """Return the known word that was likely meant: another word for it, or the nearest in spelling."""
    words = list(known)
    other = OTHER_WORDS.get(word_key(text))
    return other if other in words else nearest(text, words)


def guess(text: str, known: Iterable[str]) -> str:
    """Return the hint for an unknown word: the likely one, and else all of them, but for a long list its start."""
    words = list(known)
    near = likely(text, words)
    return f"did you mean {visible(near)}?" if near else f"known are: {listed(words)}"


def listed(words: Sequence[str]) -> str:
    """Return words for a message, parted by commas; of a long list the first ones and how many more there are."""
    more = [f"and {len(words) - MOST_LISTED} more"] if len(words) > MOST_LISTED else []
    return ", ".join([*map(visible, words[:MOST_LISTED]), *more])


def with_article(word: str) -> str:
    """Return a piece's word with `a` or `an`."""
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


@lru_cache(maxsize=1024)
def piece_kind(text: str) -> PieceKind:
    """Return the piece that a cell names. Raises UnreadableError with the nearest known one."""
    for kind in PIECE_KINDS:
        if kind == word_key(text):
            return kind
    raise UnreadableError(f"no piece is named {quoted(text)}", guess(text, PIECE_KINDS))


def choice(text: str, known: Iterable[str], what: str) -> str:
    """Return the one of the known words that a text names. Raises UnreadableError with the nearest."""
    words = list(known)
    found = {word_key(word): word for word in words}.get(word_key(text))
    if found is None:
        raise UnreadableError(f"{quoted(text)} is no {what}", guess(text, words))
    return found


@lru_cache(maxsize=4096)
def style(kind: PieceKind, text: str) -> str:
    """Return the catalog's word for a piece's style. Raises UnreadableError with the nearest known one."""
    known = catalog.styles(kind)
    if not known:
        raise UnreadableError(
            f"{with_article(kind)} has no styles to choose from", "leave it blank; free text goes under note"
        )
    found = catalog.style_key(kind, text)
    if found is None:
        raise UnreadableError(f"no {kind} has the style {quoted(text)}", guess(text, known))
    return found


@lru_cache(maxsize=1024)
def material(text: str) -> str:
    """Return the catalog's word for a material. Raises UnreadableError with the nearest known one."""
    found = catalog.material_key(text)
    if found is None:
        raise UnreadableError(f"no material is named {quoted(text)}", guess(text, catalog.materials()))
    return found
