"""How names are compared: letter case and stray spaces never make two names."""

from __future__ import annotations


def key_of(name: str) -> str:
    """Return the form in which two names are compared: folded case, single spaces."""
    return " ".join(name.split()).casefold()
