"""The words of the trade that the duct table may use, and the one style that each of them means."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from ductcalc.catalog.read import table
from ductcalc.errors import InputError, Problem
from ductcalc.units.wording import quoted


def styles(piece_kind: str) -> tuple[str, ...]:
    """Return the known styles of a kind of piece (pipe, elbow, port, wye); empty if none."""
    return tuple(dict.fromkeys(row["style"] for row in table("words").rows if row["kind"] == piece_kind))


@cache
def default_style(kind: str) -> str | None:
    """Return the style that a blank stands for, None where there is none."""
    rows = table("words").rows
    return next((row["style"] for row in rows if row["kind"] == kind and row["default"] == "yes"), None)


def style_key(kind: str, text: str) -> str | None:
    """Return the style that a word means, None when the word is not known.

    Letter case, hyphens and spaces do not matter.

    >>> style_key("elbow", "Five Gore")
    '5-gore'
    """
    return words_of(kind).get(bare(text))


def materials() -> tuple[str, ...]:
    """Return the known materials."""
    return styles("material")


def material_key(text: str) -> str | None:
    """Return the material that a word means, None when the word is not known."""
    return style_key("material", text)


def known_style(kind: str, text: str | None) -> str:
    """Return the style that a word means, the default for None.

    Raises InputError when the word is not known or a blank has no meaning.
    """
    style = default_style(kind) if text is None else style_key(kind, text)
    if style is None:
        raise InputError([_unknown(kind, text or "")])
    return style


@cache
def speaks_of_metal(name: str) -> bool:
    """Whether a machine's name holds a word of metal work, in one of the languages of table `metal_names`."""
    words = re.findall(r"[^\W\d_]+", name.casefold())
    return any(_holds(word, row["where"], row["word"]) for row in table("metal_names").rows for word in words)


def _holds(word: str, where: str, metal: str) -> bool:
    match where:
        case "begins":
            return word.startswith(metal)
        case "part":
            return metal in word
        case _:
            return word == metal


@cache
def words_of(kind: str) -> Mapping[str, str]:
    """Return what each word of a kind means, by the form in which words are compared."""
    rows = (row for row in table("words").rows if row["kind"] == kind)
    return MappingProxyType({bare(row["word"]): row["style"] for row in rows})


def bare(text: str) -> str:
    """Return the form in which words are compared: small letters and digits alone."""
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def _unknown(kind: str, text: str) -> Problem:
    from difflib import get_close_matches

    near = get_close_matches(bare(text), list(words_of(kind)))
    known = ", ".join(styles(kind))
    hint = f"did you mean {words_of(kind)[near[0]]}?" if near else f"known are {known or 'none'}"
    return Problem(f"{quoted(text)} is not a known word for {kind}", hint, given=text)
