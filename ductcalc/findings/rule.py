"""A rule: its name, what it catches, what mends it, where it comes from, and the function that looks."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from ductcalc.findings.observation import Observation
from ductcalc.findings.subject import Subject

Look = Callable[[Subject], Iterable[Observation]]


class Rule(NamedTuple):
    """One unasked warning.

    name: by which it is switched off. catches: its condition in plain words. cure: what would mend it, in short.
    source: key of `catalog.sources()` for the judgement that it is a fault. caution: it is about harm to people or
    property and is always shown. always: told however little it matters. least: row of table findings that says what
    share of the wanted air or speed its change must be worth. symptom: about slow chips, and not told where the cure of
    another finding gives the machine the air that moves them. moves_all: what it doubts moves every figure of the shop;
    it is told ahead of what concerns one place.
    """

    name: str
    catches: str
    cure: str
    source: str
    look: Look
    caution: bool = False
    always: bool = False
    least: str = "least effect"
    symptom: bool = False
    moves_all: bool = False
