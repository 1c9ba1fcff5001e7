"""Names of runs and machines: free text without commas, plus signs and unseen characters."""

from __future__ import annotations

from functools import lru_cache

from ductcalc.tables.limits import LONGEST_NAME
from ductcalc.units import UnreadableError, is_unseen, quoted
from ductcalc.units.numbers import is_sheets_error, refuse_formula

CAP = "cap"


@lru_cache(maxsize=8192)
def name(text: str, what: str) -> str:
    """Return a name with single spaces. Raises UnreadableError for one that cannot be used."""
    if any(map(is_unseen, text)):
        raise UnreadableError(
            f"the {what} {quoted(text)} holds a control or other unseen character",
            "type the name anew, on one line",
        )
    if is_sheets_error(text):
        refuse_formula(text, text)
    plain = " ".join(text.split())
    for sign, other in ((",", "a space"), ("+", '"and"')):
        if sign in plain:
            raise UnreadableError(
                f'the {what} {quoted(text)} holds "{sign}", which parts names', f"write {other} instead"
            )
    if len(plain) > LONGEST_NAME:
        raise UnreadableError(
            f"the {what} {quoted(text)} is longer than {LONGEST_NAME} characters",
            "write a shorter one and use the note",
        )
    if not plain:
        raise UnreadableError(f"the {what} is empty", "write a name")
    return plain


def run_name(text: str) -> str:
    """Return a run's name; `cap` is taken, it means a closed inlet of a wye."""
    plain = name(text, "run name")
    if plain.casefold() == CAP:
        raise UnreadableError(
            "a run cannot be named cap", "choose another name: cap under joins means closed for now"
        )
    return plain


def listed_names(text: str) -> tuple[str, ...]:
    """Return names parted by plus signs, `cap` in small letters. Raises UnreadableError."""
    if "," in text:
        raise UnreadableError(
            f"{quoted(text)} holds a comma", "part several runs with a plus sign, as in a + b"
        )
    parts = text.split("+")
    if any(not part.strip() for part in parts):
        raise UnreadableError(
            f"{quoted(text)} has a plus sign with no name beside it", "write a + b, or one name"
        )
    found = tuple(name(part.strip(), "run name") for part in parts)
    return tuple(CAP if part.casefold() == CAP else part for part in found)
