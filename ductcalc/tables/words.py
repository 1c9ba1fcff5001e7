"""The closed vocabulary of the tables and of the catalog, and the nearest known word for a mistyped one."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
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
MACHINE_COLUMNS = ("machine", "kind", "flow", "port", "along", "height", "reach", "note")
MACHINE_REQUIRED = ("machine", "port", "along", "height")
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
    "port": ("length",),
    "along": ("length",),
    "height": ("length",),
    "reach": ("length",),
    "value": ("pressure", "speed", "current"),
    "uncertainty": ("pressure", "speed", "current", "share"),
}

OTHER_WORDS: Mapping[str, str] = {word: kind for kind, traits in TRAITS.items() for word in traits.also}
COLUMN_MEANINGS: Mapping[str, str] = {
    "run": "the run's name, in its first row",
    "piece": "pipe, elbow, wye and the like",
    "machine": "the machine's name, on its port row",
    "style": "how the piece is built",
    "size": "the inside diameter of any piece; the free area of a machine's openings is inlet",
    "length": "of pipe and hose",
    "angle": "of an elbow, wye or taper",
    "count": "how many elbows alike, or the bends in a hose",
    "joins": "on a wye, the run that comes in",
    "flow": "the air wanted at a port; of a collector, the flow of the point",
    "drop": "a machine's own suction",
    "pressure": "of the collector's points",
    "port": "the inside diameter of the machine's port",
    "along": "how far along the main from the collector's end",
    "height": "from the port up to the main",
    "reach": "from the main sideways to the machine",
    "note": "free text",
}
"""What the columns mean that are often written under another name."""
OTHER_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "run": ("run name", "branch", "line", "duct run"),
    "piece": ("part", "item", "type", "fitting", "component", "kind"),
    "machine": ("machine name", "tool"),
    "style": ("build",),
    "size": ("diameter", "diam", "dia", "inlet size", "port size", "pipe size", "duct size", "bore", "inside diameter"),
    "length": ("len", "pipe length", "distance"),
    "angle": ("degrees", "deg"),
    "count": ("bends", "qty", "quantity", "pieces", "how many"),
    "joins": ("join", "joined", "connects to", "into", "branch run"),
    "flow": ("air", "airflow", "air flow", "cfm", "wanted", "volume"),
    "drop": ("pressure drop", "loss", "suction"),
    "pressure": ("sp", "static", "static pressure", "suction", "head"),
    "port": ("port size", "size", "diameter", "diam", "dia", "inlet", "inlet size", "connection"),
    "along": ("distance", "place", "position", "x"),
    "height": ("rise", "up", "riser"),
    "reach": ("sideways", "offset", "away"),
    "note": ("notes", "comment", "comments", "remark", "remarks"),
}
"""What people call a column; where one name may mean two, the table that has one of them decides."""

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
    near = difflib.get_close_matches(key_of(text), list(by_key), cutoff=0.6)
    return by_key[near[0]] if near else None


def likely(text: str, known: Iterable[str]) -> str | None:
    """Return the known word that was likely meant: another word for it, or the nearest in spelling."""
    words = list(known)
    other = OTHER_WORDS.get(word_key(text))
    return other if other in words else nearest(text, words)


def column_meant(text: str, known: Sequence[str], present: Collection[str] = ()) -> str | None:
    """Return the column that a header's word means, None for a word that is near none.

    It is a slip of one or two letters, or another name for a column that is not present under its own.
    """
    key = word_key(text)
    others = [column for column in known if key in OTHER_COLUMNS.get(column, ()) and column not in present]
    slips = [column for column in known if _slips(key, column) <= (1 if len(column) < 6 else 2)]
    return next(iter(slips + others), None)


def column_hint(column: str) -> str:
    """Return the hint for a column written under another name."""
    meaning = COLUMN_MEANINGS.get(column)
    return f"did you mean {column}?" + (f" ({meaning})" if meaning else "")


def _slips(text: str, word: str) -> int:
    """Count the letters to add, drop, change or swap with their neighbour that make one word of the other."""
    if abs(len(text) - len(word)) > 2:
        return 3
    before, last = list[int](), list(range(len(word) + 1))
    for i, letter in enumerate(text, start=1):
        row = [i]
        for j, other in enumerate(word, start=1):
            least = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == word[j - 2] and text[i - 2] == other:
                least = min(least, before[j - 2] + 1)
            row.append(least)
        before, last = last, row
    return last[-1]


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
    """Return the piece that a cell names; a hose is a flex. Raises UnreadableError with the nearest known one."""
    key = word_key(text)
    for kind in PIECE_KINDS:
        if key in (kind, TRAITS[kind].word):
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
