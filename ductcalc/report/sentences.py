"""Small turns of phrase that several reports share."""

from __future__ import annotations

from collections.abc import Sequence

from ductcalc.shop.names import the as the


def listed(names: Sequence[str]) -> str:
    """Return names as a list in a sentence: `a`, `a and b`, `a, b and c`."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def several(count: int, noun: str, plural: str | None = None) -> str:
    """Return a count with its noun."""
    return f"{count} {noun if count == 1 else plural or noun + 's'}"


def capitalised(sentence: str) -> str:
    """Return a sentence with a capital first letter."""
    return sentence[:1].upper() + sentence[1:]
