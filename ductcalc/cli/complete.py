"""What a shell proposes for an option: machines, gate sets and runs of the shop that is named already."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from ductcalc.shop import Shop

NOT_PLAIN = re.compile(r"([^\w@%+=:,./-])")


def machines(context: click.Context, option: click.Parameter, begun: str) -> list[str]:
    """Propose the shop's machines."""
    return _fitting(_machines(_shop(context)), "", begun)


def several_machines(context: click.Context, option: click.Parameter, begun: str) -> list[str]:
    """Propose the shop's machines for a list parted by commas, none of them twice."""
    head, comma, last = begun.rpartition(",")
    blank = last[: len(last) - len(last.lstrip())]
    named = {one.strip().casefold() for one in head.split(",")}
    others = [name for name in _machines(_shop(context)) if name.casefold() not in named]
    return _fitting(others, f"{head}{comma}{blank}", last.strip())


def gate_sets(context: click.Context, option: click.Parameter, begun: str) -> list[str]:
    """Propose the named gate sets of the shop's settings."""
    shop = _shop(context)
    return [] if shop is None else _fitting((one.name for one in shop.settings.gates.sets), "", begun)


def runs(context: click.Context, option: click.Parameter, begun: str) -> list[str]:
    """Propose the runs of the shop's duct table."""
    shop = _shop(context)
    return [] if shop is None else _fitting((run.name for run in shop.runs), "", begun)


def _shop(context: click.Context) -> Shop | None:
    """Return the shop that stands on the line so far; None where it cannot be read: a shell is told no errors.

    While the last option lacks its value the shop is no parameter yet, but a word that is left over.
    """
    from ductcalc.errors import DuctcalcError
    from ductcalc.tables import read_shop

    path = context.params.get("shop") or next(iter(context.args), None)
    try:
        return None if path is None else read_shop(path, context.params.get("collector"))
    except (DuctcalcError, OSError):
        return None


def _machines(shop: Shop | None) -> Iterable[str]:
    from ductcalc.shop.hanging import hang

    return () if shop is None else hang(shop, sound=True).machines()


def _fitting(names: Iterable[str], head: str, begun: str) -> list[str]:
    """Return the names that begin so, each with what stands ahead of it."""
    return [_typed(head + name) for name in names if name.casefold().startswith(begun.casefold())]


def _typed(text: str) -> str:
    """Return text as the shell wants it: bash alone takes it as it would be typed, outside of quotes.

    Its script reads a line in which a backslash hides the next character, hence two of them.
    """
    if os.environ.get("_DUCTCALC_COMPLETE") != "bash_complete" or _in_quotes(os.environ.get("COMP_WORDS", "")):
        return text
    return NOT_PLAIN.sub(r"\\\\\1", text)


def _in_quotes(line: str) -> bool:
    """Whether a quote is open at the end of a line."""
    open_quote = ""
    for character in line:
        if character in "\"'" and open_quote in ("", character):
            open_quote = "" if open_quote else character
    return bool(open_quote)
