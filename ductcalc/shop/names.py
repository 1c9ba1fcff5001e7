"""How names are compared, letter case and stray spaces never make two names, and how they stand in a sentence."""

from __future__ import annotations

import re
from collections.abc import Container
from functools import lru_cache

_AND = re.compile(r"\s*(?:\band\b|[&+;/])\s*", re.IGNORECASE)


@lru_cache(10_000)  # a search through many changed shops asks for the same few names all the time
def key_of(name: str) -> str:
    """Return the form in which two names are compared: folded case, single spaces."""
    return " ".join(name.split()).casefold()


def parted_at_and(text: str, known: Container[str]) -> tuple[str, ...]:
    """Return the names in a list joined by `and`, &, + or the like, if all are among the known keys; else none."""
    names = tuple(name.strip() for name in _AND.split(text))
    return names if len(names) > 1 and all(key_of(name) in known for name in names) else ()


def the(name: str) -> str:
    """Put `the` before a name that starts with a small letter, as a common noun does, and ends in no number."""
    return f"the {name}" if name[:1].islower() and not name[-1:].isdigit() else name
