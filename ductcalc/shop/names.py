"""How names are compared, letter case and stray spaces never make two names, and how they stand in a sentence."""

from __future__ import annotations


def key_of(name: str) -> str:
    """Return the form in which two names are compared: folded case, single spaces."""
    return " ".join(name.split()).casefold()


def the(name: str) -> str:
    """Put `the` before a name that starts with a small letter, as a common noun does, and ends in no number."""
    return f"the {name}" if name[:1].islower() and not name[-1:].isdigit() else name
